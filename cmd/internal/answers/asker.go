package answers

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// Asker implements session.Asker from a file. Each answer is given once.
type Asker struct {
	file  *File
	err   io.Writer
	width int

	used  map[*queue]int
	bound map[string]*set // by the slot of a round
	taken map[*set]bool
	owed  map[string]bool // what was used of File.owed
	last  said
}

// NewAsker returns an asker that has given no answer yet. What a person must
// know goes to err, in lines of width columns.
func (f *File) NewAsker(err io.Writer, width int) *Asker {
	return &Asker{file: f, err: err, width: width,
		used: map[*queue]int{}, bound: map[string]*set{}, taken: map[*set]bool{}, owed: map[string]bool{}}
}

// Missing is a pause at a question that the file doesn't answer.
type Missing struct{ Wanted }

func (m *Missing) Error() string { return fmt.Sprintf("the file has no answer to %s", m.Where) }

// Unwrap makes it a pause.
func (m *Missing) Unwrap() error { return session.ErrPause }

// Ask implements session.Asker.
func (a *Asker) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	if ctx.Err() != nil {
		return engine.Answer{}, context.Cause(ctx)
	}
	if refused != nil {
		return engine.Answer{}, strictyaml.Faults{a.fault(refused)}
	}
	if p.Kind == engine.Tell {
		a.Say(session.Message{Title: p.Text})
	}
	s, ok := a.take(p)
	if !ok {
		return engine.Answer{}, &Missing{a.file.table.wanted(a, p)}
	}
	a.last = s
	return s.answer, nil
}

// Decide implements session.Decider: a further round ends where the file has none and
// says that no more were made.
func (a *Asker) Decide(e engine.Event) engine.Event {
	id, number := cutNumber(lastSegment(e.Slot))
	g := a.file.table.rounds[id]
	if e.Kind != engine.Chosen || g == nil || e.Taken == nil || !*e.Taken || number <= a.file.table.step[id].AtLeast || !slices.Contains(a.file.noMore, g.rows) {
		return e
	}
	around := a.file.root
	if at := strings.LastIndex(e.Slot, "/"); at >= 0 {
		around = a.bound[e.Slot[:at]]
	}
	if a.bind(around, e.Slot, e.Offer.Values) != nil {
		return e
	}
	no := false
	e.Taken, e.Offer, e.Why = &no, nil, "no more "+g.rows+" were made"
	return e
}

// Say implements session.Asker. Remarks that only follow from an answer are
// left out: nobody reads along.
func (a *Asker) Say(m session.Message) {
	if m.Title == "" {
		return
	}
	text := terminal.Wrap(terminal.CleanLine(m.Title), a.width, "", "")
	for i, line := range m.Lines {
		first := ""
		if m.Steps {
			first = fmt.Sprintf("  %d) ", i+1)
		}
		text += terminal.Wrap(terminal.CleanLine(line), a.width, first, strings.Repeat(" ", len(first)))
	}
	io.WriteString(a.err, text)
}

// fault is the last answer as the engine refused it.
func (a *Asker) fault(r *subject.Refusal) strictyaml.Fault {
	return a.file.refusal(a.last.at, r)
}

func (f *File) refusal(at *strictyaml.Node, r *subject.Refusal) strictyaml.Fault {
	fault := strictyaml.Fault{File: f.name, What: r.What, Expected: onwards(r.Expected)}
	if at != nil {
		fault.Line, fault.Col, fault.Path = at.Line, at.Col, at.Path()
	}
	var ways []string
	for _, choice := range r.Choices {
		if !leadsBack(choice) {
			ways = append(ways, quoted(choice))
		}
	}
	if d := r.Doubt; d != nil {
		ways = append(ways, quoted(d.Keep))
		if d.Doubtful != "" {
			ways = append(ways, quoted(d.Doubtful+"why"))
		}
	}
	if len(ways) > 0 {
		fault.Hint = "write one of: " + strings.Join(ways, "; ")
	}
	return fault
}

// onwards is what would do, without what a person at the prompts could do first:
// in a file nothing goes back.
func onwards(expected string) string {
	parts := slices.DeleteFunc(strings.Split(expected, "; "), leadsBack)
	return strings.Join(parts, "; ")
}

func leadsBack(text string) bool {
	move := string(engine.Back) + " "
	return strings.HasPrefix(text, move) || strings.Contains(text, " "+move)
}

// quoted is an answer as it stands in a file.
func quoted(text string) string { return strings.TrimPrefix(line("x", text), "x: ") }

// take is the next answer to p. It reports false where there is none.
func (a *Asker) take(p engine.Prompt) (said, bool) {
	switch p.Kind {
	case engine.Tell, engine.Show:
		return said{}, true
	case engine.Owed:
		return a.duty(p)
	}
	if q := a.queue(p.Slot, p.Round); q != nil && a.left(q) > 0 {
		a.used[q]++
		return q.said[a.used[q]-1], true
	}
	if p.Kind == engine.Hold && a.file.onPaper {
		return said{answer: engine.Answer{Text: engine.OnPaper}}, true
	}
	return said{}, false
}

func (a *Asker) left(q *queue) int {
	if q == nil {
		return 0
	}
	return len(q.said) - a.used[q]
}

// duty answers what is owed: by the address of the step that left it, by its
// id, or for all of them.
func (a *Asker) duty(p engine.Prompt) (said, bool) {
	_, from, _ := strings.Cut(p.Slot, "/")
	for _, key := range []string{from, lastSegment(from), allDuties} {
		if s, ok := a.file.owed[key]; ok {
			a.owed[key] = true
			return s, true
		}
	}
	return said{}, false
}

func lastSegment(slot string) string { return slot[strings.LastIndex(slot, "/")+1:] }

// queue finds the answers to the step at slot, nil where the file has none.
func (a *Asker) queue(slot string, round subject.Round) *queue {
	if q := a.file.address[slot]; a.left(q) > 0 {
		return q
	}
	in := a.file.root
	segments := strings.Split(slot, "/")
	for i := range segments[:len(segments)-1] {
		in = a.bind(in, strings.Join(segments[:i+1], "/"), round.Values)
	}
	if in == nil {
		return nil
	}
	return in.answers[segments[len(segments)-1]]
}

// bind finds the answers to the round at slot and keeps to them from then on;
// nil where the file has none. Around is what surrounds it.
func (a *Asker) bind(around *set, slot string, values map[string]string) *set {
	if s, ok := a.bound[slot]; ok {
		return s
	}
	id, _ := cutNumber(lastSegment(slot))
	g := a.file.table.rounds[id]
	if g == nil {
		return nil
	}
	found := a.choose(a.candidates(g, around, values), g)
	if found != nil {
		a.bound[slot], a.taken[found] = found, true
	}
	return found
}

// candidates are the items of the file that can be about a round.
func (a *Asker) candidates(g *group, around *set, values map[string]string) []*set {
	if len(g.keys) > 0 {
		around = a.file.root
	}
	if around == nil {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(around.rows[g.rows]), func(s *set) bool { return !matches(s, values) })
}

// matches tells whether an item is about the round with these values.
func matches(s *set, values map[string]string) bool {
	return !slices.ContainsFunc(s.group.keys, func(k subject.Key) bool { return s.keys[k.Name] != values[k.Name] })
}

// choose takes the first candidate that is new. Where the advice comes back to
// the same pair and the file has no further item for it, the last one serves
// once more as long as it has runs that nobody has asked for.
func (a *Asker) choose(candidates []*set, g *group) *set {
	for _, s := range candidates {
		if !a.taken[s] {
			return s
		}
	}
	if len(candidates) == 0 || len(g.keys) == 0 {
		return nil
	}
	last := candidates[len(candidates)-1]
	for _, rows := range last.rows {
		if slices.ContainsFunc(rows, func(s *set) bool { return !a.taken[s] }) {
			for _, q := range last.answers {
				delete(a.used, q)
			}
			return last
		}
	}
	return nil
}

// Unasked warns of every answer of the file that nobody has asked for. An item
// that was never used is told as one.
func (a *Asker) Unasked() strictyaml.Faults {
	var faults strictyaml.Faults
	left := a.leftover()
	told := map[*group]bool{}
	for _, l := range left {
		if l.queue == nil {
			if why := a.reason(l.set.group); why != "" {
				if !told[l.set.group] {
					told[l.set.group] = true
					faults = append(faults, a.unaskedList(left, l.set.group, why))
				}
				continue
			}
			faults = append(faults, a.unasked(l.set.node, l.set.at))
			continue
		}
		for _, s := range l.queue.said[a.used[l.queue]:] {
			faults = append(faults, a.unasked(s.at, l.queue.at))
		}
	}
	for key, s := range a.file.owed {
		if !a.owed[key] {
			faults = append(faults, a.unasked(s.at, a.file.table.owedID+" ("+key+")"))
		}
	}
	return faults.Sorted()
}

// reason is the answer of the file that kept a whole list from being asked for:
// "measure-pieces is later"; "" where no answer did.
func (a *Asker) reason(g *group) string {
	t := a.file.table
	for id, rounds := range t.rounds {
		if rounds != g || t.step[id].When == nil {
			continue
		}
		for _, fact := range t.step[id].When.Facts() {
			for asked, q := range a.file.root.answers {
				if s := t.step[asked]; len(q.said) > 0 && s != nil && slices.ContainsFunc(s.Fills, func(path string) bool { return named(path) == fact }) {
					return asked + " is " + q.said[0].answer.Text
				}
			}
		}
	}
	return ""
}

// named is the last name of a path in the sheet; a fact that follows from one
// answer alone is called so.
func named(path string) string { return path[strings.LastIndex(path, ".")+1:] }

// unaskedList warns once of all items of a list that nobody has asked for.
func (a *Asker) unaskedList(left []rest, g *group, why string) strictyaml.Fault {
	var at *strictyaml.Node
	n := 0
	for _, l := range left {
		if l.queue == nil && l.set.group == g {
			if n++; at == nil || l.set.node.Line < at.Line {
				at = l.set.node
			}
		}
	}
	items := "the item was not asked for and is"
	if n > 1 {
		items = fmt.Sprintf("%d items were not asked for and are", n)
	}
	return strictyaml.Fault{File: a.file.name, Line: at.Line, Col: at.Col, Warning: true,
		What: fmt.Sprintf("%s: %s not in the record, because %s", g.rows, items, why)}
}

func (a *Asker) unasked(at *strictyaml.Node, what string) strictyaml.Fault {
	return strictyaml.Fault{File: a.file.name, Line: at.Line, Col: at.Col, Warning: true,
		What: what + " was not asked for and is not in the record"}
}

// rest is a queue that isn't used up, or, where queue is nil, an item that was
// never used.
type rest struct {
	set   *set
	queue *queue
}

func (a *Asker) leftover() []rest {
	var list []rest
	for _, q := range a.file.address {
		list = a.lefts(list, a.file.root, q)
	}
	return a.leftIn(list, a.file.root)
}

func (a *Asker) leftIn(list []rest, s *set) []rest {
	for _, q := range s.answers {
		list = a.lefts(list, s, q)
	}
	for _, rows := range s.rows {
		for _, item := range rows {
			if a.taken[item] {
				list = a.leftIn(list, item)
			} else {
				list = append(list, rest{set: item})
			}
		}
	}
	return list
}

func (a *Asker) lefts(list []rest, s *set, q *queue) []rest {
	if a.left(q) > 0 {
		list = append(list, rest{s, q})
	}
	return list
}
