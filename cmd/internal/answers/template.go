package answers

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/rules"
	"dropwalk/engine/subject"
)

// columns is the width of a template: that of the file, whatever the terminal.
const columns = 78

// Template is a file of answers to p to fill in: every question with what a
// person would see, and an example behind a # that is to be taken away. Given is
// what an earlier document brought. The pairs of stations and the number of
// runs are those that the advice asks for where every answer is the example.
func Template(p *engine.Procedure, matter subject.Subject, given []subject.Entry) []byte {
	t := tableOf(p, matter)
	w := &writer{table: t, trial: t.try(given)}
	w.head()
	w.WriteString("\n" + stepsKey + ":\n")
	w.parts()
	for _, g := range t.root.inner {
		w.list(g)
	}
	return []byte(w.String())
}

// trial is a run in which every answer is the example.
type trial struct {
	asked  map[string]engine.Prompt // by the id of the step, as first asked
	said   map[string]string        // what was taken in place of the example, by the round and the step
	duties []string
	rounds map[string][]map[string]string // the values of the rounds by the name of their list, each once
	runs   map[string]int                 // the rounds in the first round around them, by the name of their list
	view   subject.View
}

func (t *table) try(given []subject.Entry) *trial {
	tr := &trial{asked: map[string]engine.Prompt{}, said: map[string]string{}, rounds: map[string][]map[string]string{}, runs: map[string]int{}}
	run := engine.NewRun(t.proc, t.matter)
	run.Apply(run.Start(given))
	for range mostPrompts {
		if e, due := run.Settle(); due {
			tr.opened(t, e)
			run.Apply(e)
			continue
		}
		p, open := run.Next()
		if !open {
			break
		}
		tr.answer(t, run, p)
	}
	tr.view = run.View()
	return tr
}

// opened notes a round.
func (tr *trial) opened(t *table, e engine.Event) {
	id, number := cutNumber(lastSegment(e.Slot))
	g := t.rounds[id]
	if e.Kind != engine.Chosen || g == nil || !*e.Taken {
		return
	}
	if len(g.keys) == 0 {
		if _, known := tr.runs[g.rows]; !known || number > 1 && tr.runs[g.rows] == number-1 {
			tr.runs[g.rows] = number
		}
		return
	}
	for _, values := range tr.rounds[g.rows] {
		if sameKeys(g, values, e.Offer.Values) {
			return
		}
	}
	tr.rounds[g.rows] = append(tr.rounds[g.rows], e.Offer.Values)
}

func sameKeys(g *group, a, b map[string]string) bool {
	for _, k := range g.keys {
		if a[k.Name] != b[k.Name] {
			return false
		}
	}
	return true
}

// answer answers p with its example, or goes past it.
func (tr *trial) answer(t *table, run *engine.Run, p engine.Prompt) {
	if _, known := tr.asked[p.Step]; !known {
		tr.asked[p.Step] = p
	}
	key := t.around(p) + p.Step
	text := firstOf(tr.said[key], exampleOf(p))
	switch p.Kind {
	case engine.Owed:
		tr.duties = append(tr.duties, p.Text)
	case engine.Hold:
		text = engine.OnPaper
	case engine.Show, engine.Tell:
		run.Apply(engine.Event{Kind: engine.Answered, Slot: p.Slot, Step: p.Step, Text: "read", Seen: p.Seen})
		return
	}
	events, err := run.Propose(p, engine.Answer{Text: text})
	for range mostHalvings {
		refusal, ok := errors.AsType[*subject.Refusal](err)
		if !ok || refusal.Doubt == nil {
			break
		}
		text = halved(text)
		events, err = run.Propose(p, engine.Answer{Text: text})
		tr.said[key] = text
	}
	if err != nil {
		events = []engine.Event{{Kind: engine.Answered, Slot: p.Slot, Step: p.Step, Seen: p.Seen, Unknown: true}}
	}
	for _, e := range events {
		run.Apply(e)
	}
}

// mostHalvings bounds the search for an example that isn't doubted.
const mostHalvings = 8

var firstNumber = regexp.MustCompile(`\d+(\.\d+)?`)

// halved is an example with half of its first number: one that fits the whole
// of something can be doubted of a part.
func halved(text string) string {
	at := firstNumber.FindStringIndex(text)
	if at == nil {
		return text
	}
	n, _ := strconv.ParseFloat(text[at[0]:at[1]], 64)
	return text[:at[0]] + quantity.Format(n/2, 2) + text[at[1]:]
}

// around names the round with keys that p stands in, "" where there is none.
func (t *table) around(p engine.Prompt) string {
	name := ""
	for segment := range strings.SplitSeq(p.Slot, "/") {
		id, _ := cutNumber(segment)
		if g := t.rounds[id]; g != nil && len(g.keys) > 0 {
			name = called(g, p.Round.Values)
		}
	}
	return name
}

// writer writes a template.
type writer struct {
	strings.Builder
	table  *table
	trial  *trial
	around string // the round with keys that is being written
}

// say writes a comment.
func (w *writer) say(indent int, text string) {
	blank := strings.Repeat(" ", indent)
	w.WriteString(terminal.Wrap(terminal.CleanLine(text), columns, blank+"# ", blank+"# "))
}

// more writes a comment that belongs to the one above it.
func (w *writer) more(indent int, label, text string) {
	if text != "" {
		blank := strings.Repeat(" ", indent)
		w.WriteString(terminal.Wrap(label+terminal.CleanLine(text), columns, blank+"#   ", blank+"#     "))
	}
}

// fill writes lines behind a # that is to be taken away.
func (w *writer) fill(indent int, lines string) {
	for row := range strings.SplitSeq(lines, "\n") {
		w.WriteString(strings.Repeat(" ", indent) + "#" + row + "\n")
	}
}

func (w *writer) head() {
	p := w.table.proc
	w.say(0, "Answers to the procedure "+p.Name+": "+p.Title)
	for _, text := range []string{
		"",
		"A # with a letter or a hyphen right behind it hides an example. Take the # away and write your own answer in its place. Leave the rest hidden.",
		`"?" with its quotes says that you don't know. Texts with : or # in them, and texts that begin with > or ?, need quotes too.`,
		"In place of an answer there can stand {skip: why}, {cannot: why} or {stop: why}. {answer: 1998 cc, note: from the papers} keeps a remark with the answer. A list holds the answers to a question that comes more than once, in their order.",
		"A step can also stand under its address, such as walk.1/zero. dropwalk records show RECORD --events has the addresses.",
	} {
		w.say(0, text)
	}
	fmt.Fprintf(w, "%s: %d\n%s: %s\n\n", versionKey, Version, procedureKey, p.Name)
	w.say(0, "A hold stands between the steps to keep people and car from harm. Work through each one on paper, line by line, where and when it belongs. With the next line you say that all of them were, and the record says so too.")
	w.fill(0, line(holdsKey, engine.OnPaper))
	if rows := w.table.furtherRows(); len(rows) > 0 {
		w.WriteString("\n")
		w.say(0, "The advice can ask for more than were made. With the next line the lists that it names end with what stands here, once the procedure has the least that it needs; without it the test pauses there.")
		w.fill(0, noMoreKey+": ["+strings.Join(rows, ", ")+"]")
	}
}

// parts writes the steps outside rounds.
func (w *writer) parts() {
	for _, part := range w.table.proc.Parts {
		w.WriteString("\n")
		w.say(2, fmt.Sprintf("== %s (car %s) ==", part.Title, part.Car))
		w.only(2, part.When)
		for _, s := range part.Steps {
			switch s.Kind {
			case engine.Checks:
				w.checks()
				continue
			case engine.Rounds:
			default:
				w.step(s)
				continue
			}
			w.WriteString("\n")
			w.say(2, "Here the rounds of "+w.table.rounds[s.ID].rows+" are asked for; they stand below.")
			w.only(2, s.When)
		}
	}
}

func (w *writer) only(indent int, rule *rules.Rule) {
	if rule != nil {
		w.more(indent, "Only where ", rule.String())
	}
}

// step writes one step outside rounds.
func (w *writer) step(s *engine.Step) {
	p := w.note(s, 2, nil)
	switch s.Kind {
	case engine.Ask, engine.Examine:
		w.fill(2, line(s.ID, exampleOf(p)))
	case engine.Do, engine.Owed:
		w.fill(2, line(s.ID, doneWord))
	}
}

// checks writes the rows of a search, with what is opened for them.
func (w *writer) checks() {
	w.WriteString("\n")
	w.say(2, "Here checks follow. The one worth most comes first, so not all of them are asked for. Answer those that were made.")
	for _, list := range [][]*engine.Step{w.table.proc.Search.Openings, w.table.proc.Search.Checks} {
		for _, s := range list {
			w.step(s)
		}
	}
}

// unasked is the prompt of a step that the trial didn't come to, with its
// texts as the file has them.
func (w *writer) unasked(s *engine.Step, values map[string]string) engine.Prompt {
	p := engine.Prompt{Kind: s.Kind, Step: s.ID, Text: withValues(s.Text, values), Why: s.Why, Like: s.Like, Unknown: s.Unknown,
		Skip: s.Skip, Cannot: s.Cannot, See: s.See, Lines: s.Lines, Notices: s.Notices}
	if s.Check != nil {
		p.Row = s.Row()
	}
	for _, path := range s.Fills {
		if f, ok := w.table.matter.Field(path); ok {
			p.Fields = append(p.Fields, f)
		}
	}
	return p
}

func (w *writer) question(s *engine.Step, p engine.Prompt, indent int) {
	for _, n := range p.Notices {
		w.say(indent, strings.ToUpper(n.Level)+": "+n.From+". What can happen: "+n.So+". To avoid it: "+n.Avoid+".")
	}
	switch s.Kind {
	case engine.Hold:
		w.say(indent, "HOLD: "+p.Text)
		for i, line := range p.Lines {
			w.more(indent, fmt.Sprintf("%d) ", i+1), line)
		}
	case engine.Owed:
		w.say(indent, "What has to be put back. One done says it of everything; else each by the step that left it, as in {hose: done, gauge-fixed: {cannot: why}}.")
		for _, duty := range w.trial.duties {
			w.more(indent, "- ", duty)
		}
	default:
		w.say(indent, p.Text)
	}
	w.only(indent, s.When)
	w.more(indent, "Look for: ", p.See)
	w.more(indent, "Why: ", p.Why)
	w.more(indent, "One of: ", strings.Join(p.Choices(), ", "))
	w.more(indent, "Not known: ", unknownText(p))
	w.more(indent, "If it is skipped: ", p.Skip)
	w.more(indent, "If it can't be done: ", p.Cannot)
}

func unknownText(p engine.Prompt) string {
	if p.Kind != engine.Ask {
		return ""
	}
	for _, f := range p.Fields {
		if f.Required {
			return "this one is needed."
		}
	}
	return firstOf(p.Unknown, "the result only gets wider.")
}

// list writes one list of rounds.
func (w *writer) list(g *group) {
	w.WriteString("\n")
	w.say(0, "== "+g.rows+": "+listDoc(g)+" ==")
	if g.judged {
		w.say(0, "The advice chooses them one after the other. Write one item for each that you have, in any order. Where it asks for one that isn't here, the test pauses, and dropwalk resume goes on. Those below are what it asks for where every answer is the example.")
	}
	w.fill(0, g.rows+":")
	for i, values := range w.items(g) {
		w.item(g, values, 0, i == 0)
	}
}

// items are the rounds that the trial came to, or could have come to.
func (w *writer) items(g *group) []map[string]string {
	if list := w.trial.rounds[g.rows]; len(list) > 0 {
		return list
	}
	if len(g.keys) == 0 {
		return make([]map[string]string, max(1, w.trial.runs[g.rows]))
	}
	var list []map[string]string
	for n := 0; !g.judged && w.trial.view != nil; n++ {
		offer, more := w.trial.view.Offer(g.source, subject.Round{Done: n})
		if !more {
			break
		}
		list = append(list, offer.Values)
	}
	if list == nil {
		list = append(list, nil)
	}
	return list
}

// example is an answer to a step in the round that is being written.
func (w *writer) example(s *engine.Step, values map[string]string) string {
	return firstOf(w.trial.said[w.around+s.ID], likeOf(s, values))
}

// item writes one round; the first of a list with what a person would see.
func (w *writer) item(g *group, values map[string]string, indent int, first bool) {
	if sole := g.sole(); sole != nil {
		if first {
			for _, s := range g.steps {
				w.note(s, indent, values)
			}
		}
		w.fill(indent, "- "+quoted(w.example(sole, values)))
		return
	}
	dash := "- "
	put := func(text string) {
		if dash != "" {
			w.fill(indent, dash+text)
		} else {
			w.fill(indent+2, text)
		}
		dash = ""
	}
	if len(g.keys) > 0 {
		w.around = called(g, values)
	}
	for _, k := range g.keys {
		put(line(k.Name, firstOf(values[k.Name], "...")))
	}
	for _, s := range g.steps {
		if leftOut(s, values) {
			continue
		}
		if first {
			w.note(s, indent+2, values)
		}
		if s.Kind == engine.Ask || s.Kind == engine.Do {
			put(line(s.ID, w.example(s, values)))
		}
	}
	for _, inner := range g.inner {
		if first {
			w.WriteString("\n")
			w.say(indent+2, inner.rows+": "+listDoc(inner))
		}
		put(inner.rows + ":")
		for i, v := range w.items(inner) {
			w.item(inner, v, indent+2, first && i == 0)
		}
	}
}

// note writes what a person would see of a step.
func (w *writer) note(s *engine.Step, indent int, values map[string]string) engine.Prompt {
	p, asked := w.trial.asked[s.ID]
	if !asked {
		p = w.unasked(s, values)
	}
	if s.Kind != engine.Show && len(s.BackTo) == 0 {
		w.WriteString("\n")
		w.question(s, p, indent)
	}
	return p
}
