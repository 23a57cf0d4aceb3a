package engine

import (
	"strings"

	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Choices lists the words that the prompt takes as its answer; none where the
// answer is free.
func (p Prompt) Choices() []string {
	if p.Row != nil {
		return p.Row.Words
	}
	if p.Kind != Ask || len(p.Fields) != 1 {
		return nil
	}
	if f := p.Fields[0]; f.Kind == quantity.Truth && len(f.Choices) == 0 {
		return []string{"yes", "no"}
	}
	return p.Fields[0].Choices
}

// Offered lists names of the person's own things that the prompt takes as its
// whole answer, beside free ones. What a record keeps of the prompt doesn't hold
// them: they can differ the next time.
func (p Prompt) Offered() []string {
	if p.Kind != Ask || len(p.Fields) == 0 {
		return nil
	}
	return p.Fields[0].Offered
}

// ask builds the prompt of a step at its place.
func (w *walker) ask(s *Step, slot string, round subject.Round) *Prompt {
	say := func(text string) string { return w.say(text, round) }
	p := &Prompt{
		Slot: slot, Step: s.ID, Number: s.Number, Kind: s.Kind, Car: w.car, Round: round,
		Text: say(s.Text), See: say(s.See), Why: say(s.Why), Like: say(s.Like),
		Unknown: say(s.Unknown), Skip: say(s.Skip), Cannot: say(s.Cannot), Shows: s.Shows,
	}
	p.Notices = w.notices(s.Notices, round)
	for _, line := range s.Lines {
		p.Lines = append(p.Lines, say(line))
	}
	for _, path := range s.Fills {
		if f, ok := w.run.matter.Field(path); ok {
			p.Fields = append(p.Fields, f)
		}
	}
	switch {
	case s.Page == causesPage && w.run.proc.Search != nil:
		p.Page = w.standing().Page()
	case s.Page != "":
		p.Page = w.see().Page(s.Page)
	}
	if s.Check != nil {
		p.Row = w.row(s, round.Slot)
	}
	p.Seen = w.seen(s, round)
	return p
}

// seen is the text of a step as the record keeps it.
func (w *walker) seen(s *Step, round subject.Round) string {
	lines := told(w.notices(s.Notices, round))
	lines = append(lines, w.say(s.Text, round))
	for _, line := range s.Lines {
		lines = append(lines, w.say(line, round))
	}
	return strings.Join(lines, "\n")
}

// notices are cautions with the names in braces filled in.
func (w *walker) notices(list []Notice, round subject.Round) []Notice {
	var out []Notice
	for _, n := range list {
		out = append(out, Notice{n.Level, w.say(n.From, round), w.say(n.So, round), w.say(n.Avoid, round)})
	}
	return out
}

// told are cautions as the record keeps them, a line each.
func told(list []Notice) []string {
	var lines []string
	for _, n := range list {
		lines = append(lines, n.Level+": "+n.From+"; "+n.So+"; "+n.Avoid)
	}
	return lines
}

// say puts values in place of names in braces: those of the round first, then
// facts.
func (w *walker) say(text string, round subject.Round) string {
	return braces(text, func(name string, _ int) string {
		if value, ok := round.Values[name]; ok {
			return value
		}
		if v := w.see().Value(name); v.Known {
			return v.Text
		}
		return unknownText
	})
}
