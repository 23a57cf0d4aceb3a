package answers

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"dropwalk/engine"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// Version is the version of the file format.
const Version = 1

// Keys of a file.
const (
	versionKey   = "answers"
	procedureKey = "procedure"
	holdsKey     = "holds"
	stepsKey     = "steps"
	noMoreKey    = "no-more"
)

// What an answer can be other than a text.
const (
	answerKey = "answer"
	skipKey   = "skip"
	cannotKey = "cannot"
	stopKey   = "stop"
	noteKey   = "note"
)

// doneWord answers a step that is done, and allDuties stands for every duty.
const (
	doneWord  = "done"
	allDuties = "all"
)

// Limits of a file, in runes: those of an answer and of a name.
const (
	longestAnswer = 2000
	longestName   = 64
)

// group is a set of steps that are answered together: all of those outside
// rounds, or those of one round.
type group struct {
	rows   string        // the key of its list in a file; "" outside rounds
	keys   []subject.Key // what tells one of its rounds from another
	source string
	judged bool
	least  int // rounds that are asked for in any case
	steps  []*engine.Step
	inner  []*group
}

// table is where in a file the steps of a procedure are answered. Lists whose
// items have a key stand at the top of the file, because their order is not for
// the file to choose; other lists stand inside the round that they belong to.
type table struct {
	proc   *engine.Procedure
	matter subject.Subject
	root   *group
	rounds map[string]*group       // by the id of the rounds
	step   map[string]*engine.Step // by id
	part   map[string]*engine.Part // by the id of a step
	home   map[string]*group       // by the id of a step
	owedID string
}

func tableOf(p *engine.Procedure, matter subject.Subject) *table {
	t := &table{proc: p, matter: matter, root: &group{}, rounds: map[string]*group{}, step: map[string]*engine.Step{}, part: map[string]*engine.Part{}, home: map[string]*group{}}
	for _, part := range p.Parts {
		t.add(t.root, part, part.Steps)
	}
	return t
}

func (t *table) add(g *group, part *engine.Part, steps []*engine.Step) {
	for _, s := range steps {
		t.step[s.ID], t.part[s.ID], t.home[s.ID] = s, part, g
		switch s.Kind {
		case engine.Rounds:
			source, _ := t.matter.Source(s.Source)
			t.rounds[s.ID] = t.list(g, s, source)
			t.add(t.rounds[s.ID], part, s.Each)
		case engine.Checks:
			t.add(g, part, t.proc.Search.Openings)
			t.add(g, part, s.Each)
		case engine.Owed:
			t.owedID = s.ID
			g.steps = append(g.steps, s)
		default:
			g.steps = append(g.steps, s)
		}
	}
}

// list finds or makes the list of rounds. Two rounds with one source share it.
func (t *table) list(g *group, s *engine.Step, source subject.Source) *group {
	if len(source.Keys) > 0 {
		g = t.root
	}
	rows := source.Rows
	if rows == "" {
		rows = s.ID
	}
	for _, there := range g.inner {
		if there.rows == rows {
			return there
		}
	}
	made := &group{rows: rows, keys: source.Keys, source: s.Source, judged: source.Judged, least: s.AtLeast}
	g.inner = append(g.inner, made)
	return made
}

// sole is the one ask of a list without keys, whose items then can be bare
// texts; nil where there is none.
func (g *group) sole() *engine.Step {
	var found *engine.Step
	for _, s := range g.steps {
		switch s.Kind {
		case engine.Ask:
			if found != nil {
				return nil
			}
			found = s
		case engine.Do, engine.Owed:
			return nil
		}
	}
	if len(g.keys) > 0 || len(g.inner) > 0 {
		return nil
	}
	return found
}

// needs tells whether a round of g can't do without answers of its own.
func (g *group) needs() bool {
	return slices.ContainsFunc(g.steps, func(s *engine.Step) bool { return s.Kind == engine.Ask || s.Kind == engine.Do }) ||
		slices.ContainsFunc(g.inner, (*group).needs)
}

// shape is the table of keys of a file. Addresses are those that the file
// uses beside the ids.
func (t *table) shape(addresses map[string]*engine.Step) *strictyaml.Shape {
	steps := keysOf(t.root)
	for _, at := range slices.Sorted(maps.Keys(addresses)) {
		steps.Add(strictyaml.Key{Name: at, Shape: answerShape(addresses[at])})
	}
	top := strictyaml.Keys(
		strictyaml.Key{Name: versionKey, Shape: strictyaml.Whole(Version, Version), Required: true, Doc: "version of this file format", Example: Version},
		strictyaml.Key{Name: procedureKey, Shape: strictyaml.Words(t.proc.Name), Required: true, Doc: "name of the procedure that is answered", Example: t.proc.Name},
		strictyaml.Key{Name: holdsKey, Shape: strictyaml.Words(engine.OnPaper), Doc: "says that every hold was worked through on paper, line by line", Example: engine.OnPaper},
		strictyaml.Key{Name: stepsKey, Shape: strictyaml.OneOf(steps, strictyaml.Nothing()), Doc: "answers by the id of their step"},
	).Called("a file of answers, which begins with answers: 1")
	if rows := t.furtherRows(); len(rows) > 0 {
		name := strictyaml.Words(rows...)
		top.Add(strictyaml.Key{Name: noMoreKey, Shape: strictyaml.OneOf(name, strictyaml.ListOf(name, 1)),
			Doc: "lists of which no more were made than stand here: where more than the procedure needs at least are asked for, they end"})
	}
	for _, g := range t.root.inner {
		top.Add(strictyaml.Key{Name: g.rows, Shape: listShape(g), Doc: listDoc(g)})
	}
	return top
}

// furtherRows names the lists of which more can be asked for than the procedure
// needs at least.
func (t *table) furtherRows() []string {
	var rows []string
	for id, g := range t.rounds {
		if s := t.step[id]; s.AtLeast > 0 && s.AtMost > s.AtLeast && !slices.Contains(rows, g.rows) {
			rows = append(rows, g.rows)
		}
	}
	slices.Sort(rows)
	return rows
}

// elsewhere says of a key that can't stand among the steps outside rounds what
// it is and where it belongs; "" where nobody knows it.
func (t *table) elsewhere(key string) (what, expected string) {
	for _, g := range t.root.inner {
		if g.rows == key {
			return key + " is no step", key + ": without an indent, beside steps"
		}
	}
	switch s := t.step[key]; {
	case s == nil || s.Kind == engine.Rounds:
		return "", ""
	case s.Kind == engine.Tell || s.Kind == engine.Show:
		return key + " only tells something", "no answer to it"
	case t.home[key] != t.root:
		return key + " is asked in rounds", "it in an item of " + t.home[key].rows
	}
	return "", ""
}

func listDoc(g *group) string {
	if len(g.keys) == 0 {
		return "in the order in which they are asked"
	}
	return "in any order, each by " + strings.Join(keyNames(g), " and ")
}

func keyNames(g *group) []string {
	var names []string
	for _, k := range g.keys {
		names = append(names, k.Name)
	}
	return names
}

func listShape(g *group) *strictyaml.Shape {
	row := strictyaml.Keys()
	for _, k := range g.keys {
		row.Add(strictyaml.Key{Name: k.Name, Shape: strictyaml.Text(longestName), Required: true, Doc: "which one it is"})
	}
	row.Add(keysOf(g).Table()...)
	for _, inner := range g.inner {
		row.Add(strictyaml.Key{Name: inner.rows, Shape: listShape(inner), Doc: listDoc(inner)})
	}
	if sole := g.sole(); sole != nil {
		return strictyaml.OneOf(strictyaml.ListOf(strictyaml.OneOf(strictyaml.Text(longestAnswer), row), 0), strictyaml.Nothing())
	}
	return strictyaml.OneOf(strictyaml.ListOf(row, 0), strictyaml.Nothing())
}

// keysOf is the table of the steps of one group. A step with the name of a
// key of its round can only be answered by its address.
func keysOf(g *group) *strictyaml.Shape {
	shape := strictyaml.Keys()
	taken := keyNames(g)
	for _, inner := range g.inner {
		taken = append(taken, inner.rows)
	}
	for _, s := range g.steps {
		if s.Kind != engine.Tell && s.Kind != engine.Show && !slices.Contains(taken, s.ID) {
			shape.Add(strictyaml.Key{Name: s.ID, Shape: answerShape(s), Doc: s.Text})
		}
	}
	return shape
}

// answerShape is what can stand at a step: one answer, or a list of those that
// are given one after the other.
func answerShape(s *engine.Step) *strictyaml.Shape {
	switch s.Kind {
	case engine.Hold:
		return holdShape(s)
	case engine.Owed:
		return strictyaml.OneOf(strictyaml.Words(doneWord), strictyaml.MapOf(strictyaml.OneOf(strictyaml.Words(doneWord), moves(strictyaml.Words(doneWord)))))
	case engine.Do:
		return several(strictyaml.Words(doneWord))
	}
	return several(strictyaml.Text(longestAnswer))
}

func several(text *strictyaml.Shape) *strictyaml.Shape {
	one := []*strictyaml.Shape{text, moves(text)}
	return strictyaml.OneOf(append(one, strictyaml.ListOf(strictyaml.OneOf(one...), 1))...)
}

// holdShape takes the numbers of lines that were not true at first. That a
// hold was passed is said once, for all of them.
func holdShape(s *engine.Step) *strictyaml.Shape {
	paper := strictyaml.Words(engine.OnPaper)
	if len(s.Lines) == 0 {
		return paper
	}
	line := strictyaml.Whole(1, len(s.Lines)).Called(fmt.Sprintf("the number of a line that was not true at first, 1 to %d", len(s.Lines)))
	return strictyaml.OneOf(line, paper, strictyaml.ListOf(line, 1))
}

// moves is an answer with more to say than a text.
func moves(text *strictyaml.Shape) *strictyaml.Shape {
	why := func() *strictyaml.Shape { return strictyaml.Text(longestAnswer) }
	return strictyaml.Keys(
		strictyaml.Key{Name: answerKey, Shape: text, Doc: "the answer, where a note goes with it"},
		strictyaml.Key{Name: skipKey, Shape: why(), Doc: "left out, and why"},
		strictyaml.Key{Name: cannotKey, Shape: why(), Doc: "it could not be done, and why"},
		strictyaml.Key{Name: stopKey, Shape: why(), Doc: "the test was stopped here, and why"},
		strictyaml.Key{Name: noteKey, Shape: why(), Doc: "a remark to keep"},
	).Also(oneMove)
}

func oneMove(n *strictyaml.Node, r *strictyaml.Report) {
	count := 0
	for _, key := range []string{answerKey, skipKey, cannotKey, stopKey} {
		if n.Has(key) {
			count++
		}
	}
	if count != 1 {
		r.At(n, fmt.Sprintf("%d answers in one place", count), "one of answer, skip, cannot or stop, and perhaps a note", "")
	}
}

// resolve finds the step at an address such as walk.2/runs.3/value, nil where
// there is none.
func (t *table) resolve(address string) *engine.Step {
	var in []*engine.Step
	for _, part := range t.proc.Parts {
		in = append(in, part.Steps...)
	}
	segments := strings.Split(address, "/")
	for i, segment := range segments {
		id, number := cutNumber(segment)
		at := slices.IndexFunc(in, func(s *engine.Step) bool { return s.ID == id })
		last := i == len(segments)-1
		if at < 0 || last != (number == 0) || last != (in[at].Kind != engine.Rounds) {
			return nil
		}
		if last {
			return in[at]
		}
		in = in[at].Each
	}
	return nil
}

// cutNumber parts the id of rounds from the number of the round; 0 where the
// segment has none.
func cutNumber(segment string) (id string, number int) {
	id, text, found := strings.Cut(segment, ".")
	n, err := strconv.Atoi(text)
	if !found || err != nil || n < 1 {
		return segment, 0
	}
	return id, n
}

func isAddress(key string) bool { return strings.ContainsAny(key, "./") }
