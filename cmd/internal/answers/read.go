package answers

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"dropwalk/engine"
	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// File is a file of answers as read. It doesn't change.
type File struct {
	name    string
	table   *table
	root    *set
	address map[string]*queue // by the address of a step, ahead of everything else
	onPaper bool
	noMore  []string        // lists of which no more were made
	owed    map[string]said // by the id or the address of the step that left the duty, or allDuties
}

// set is the answers to one group of steps.
type set struct {
	node    *strictyaml.Node
	at      string // as a message calls it
	around  *set
	group   *group
	keys    map[string]string
	answers map[string]*queue // by the id of the step
	rows    map[string][]*set // by the name of the list
}

// queue is what is answered at a step, one after the other.
type queue struct {
	step *engine.Step
	at   string // as a message calls it
	said []said
}

// said is one answer, with its place in the file.
type said struct {
	at     *strictyaml.Node
	answer engine.Answer
}

// Read reads a file of answers to p, YAML or, where it begins with {, JSON. The
// file is nil where there is any fault; warnings leave it whole. Faults come in
// the order of their places.
func Read(name string, src []byte, p *engine.Procedure, matter subject.Subject) (*File, strictyaml.Faults) {
	parse := strictyaml.ParseYAML
	if bytes.HasPrefix(bytes.TrimLeft(bytes.TrimPrefix(src, []byte("\uFEFF")), " \t\r\n"), []byte("{")) {
		parse = strictyaml.ParseJSON
	}
	root, faults := parse(name, src, 1)
	if root == nil {
		return nil, faults
	}
	if n := root.Get(versionKey); n.Int() > Version {
		return nil, append(faults, strictyaml.Fault{File: name, Line: n.Line, Col: n.Col, Path: n.Path(),
			What:     fmt.Sprintf("a file of answers of version %d, which this release can't read", n.Int()),
			Expected: fmt.Sprintf("version %d", Version), Hint: "a newer release reads it"})
	}
	if n := root.Get(procedureKey); ofAnother(n, p.Name) {
		return nil, append(faults, strictyaml.Fault{File: name, Line: n.Line, Col: n.Col, Path: n.Path(),
			What: fmt.Sprintf("these are answers to %q, and %s is what begins here", n.Str(), p.Name), Expected: "answers to " + p.Name,
			Hint: "for that one: start " + n.Str() + " --answers " + name})
	}
	t := tableOf(p, matter)
	f := &File{name: name, table: t, address: map[string]*queue{}, owed: map[string]said{}}
	addresses := t.addressesIn(root.Get(stepsKey))
	known, strays := t.withoutStrays(name, root)
	faults = slices.Concat(faults, strays, t.shape(addresses).Check(name, known)).Sorted()
	if len(faults.Errors()) > 0 {
		return nil, faults
	}
	f.fill(root, addresses)
	return f, faults
}

// ofAnother tells whether a file names a procedure that is not the one it is read for,
// nor that one with a slip: then nothing else in it fits either.
func ofAnother(n *strictyaml.Node, procedure string) bool {
	if n == nil || n.Str() == "" || n.Str() == procedure {
		return false
	}
	_, slip := spell.Nearest(n.Str(), []string{procedure})
	return !slip
}

// withoutStrays reports keys that stand among the steps and belong elsewhere,
// and returns the tree without them.
func (t *table) withoutStrays(name string, root *strictyaml.Node) (*strictyaml.Node, strictyaml.Faults) {
	steps := root.Get(stepsKey)
	if steps == nil {
		return root, nil
	}
	report := &strictyaml.Report{File: name}
	known := *steps
	known.Pairs = nil
	for _, p := range steps.Pairs {
		if what, expected := t.elsewhere(p.Key); what != "" {
			report.AtKey(steps, p.Key, what, expected, "")
			continue
		}
		known.Pairs = append(known.Pairs, p)
	}
	if len(report.Faults) == 0 {
		return root, nil
	}
	whole := *root
	whole.Pairs = slices.Clone(root.Pairs)
	return whole.Set(stepsKey, &known), report.Faults
}

// Schema is the JSON Schema of files that answer p, draft 7, for editors.
func Schema(p *engine.Procedure, matter subject.Subject) []byte {
	return tableOf(p, matter).shape(nil).Schema("", "Answers to the procedure "+p.Name+", version 1")
}

// addressesIn lists those keys of n that are addresses of steps.
func (t *table) addressesIn(n *strictyaml.Node) map[string]*engine.Step {
	found := map[string]*engine.Step{}
	if n == nil {
		return found
	}
	for _, p := range n.Pairs {
		if s := t.resolve(p.Key); isAddress(p.Key) && s != nil && s.Kind != engine.Tell && s.Kind != engine.Show && s.Kind != engine.Owed {
			found[p.Key] = s
		}
	}
	return found
}

// fill takes in a tree whose form is right.
func (f *File) fill(root *strictyaml.Node, addresses map[string]*engine.Step) {
	f.onPaper = root.Get(holdsKey).Str() == engine.OnPaper
	if n := root.Get(noMoreKey); n != nil {
		f.noMore = n.Strs()
	}
	f.root = newSet(root, f.table.root)
	if steps := root.Get(stepsKey); steps != nil {
		f.root.node = steps
		for _, p := range steps.Pairs {
			switch s := f.table.step[p.Key]; {
			case addresses[p.Key] != nil:
				f.address[p.Key] = &queue{addresses[p.Key], p.Key, saidIn(p.Value)}
			case s.Kind == engine.Owed:
				f.owe(p.Value)
			default:
				f.root.answers[s.ID] = &queue{s, s.ID, saidIn(p.Value)}
			}
		}
	}
	for _, g := range f.table.root.inner {
		f.root.rows[g.rows] = f.readRows(root.Get(g.rows), g, f.root)
	}
}

func newSet(n *strictyaml.Node, g *group) *set {
	return &set{node: n, group: g, keys: map[string]string{}, answers: map[string]*queue{}, rows: map[string][]*set{}}
}

// readRows reads a list of rounds that stands in around.
func (f *File) readRows(n *strictyaml.Node, g *group, around *set) []*set {
	if n == nil {
		return nil
	}
	var list []*set
	for i, item := range n.Items {
		s := newSet(item, g)
		s.around = around
		for _, k := range g.keys {
			s.keys[k.Name] = item.Get(k.Name).Str()
		}
		s.at = strings.TrimPrefix(around.at+", "+nameOf(g, i, s.keys), ", ")
		list = append(list, s)
		if item.Kind == strictyaml.Scalar {
			sole := g.sole()
			s.answers[sole.ID] = &queue{sole, s.at, saidIn(item)}
			continue
		}
		f.readItem(s)
	}
	return list
}

func (f *File) readItem(s *set) {
	for _, step := range s.group.steps {
		if _, isKey := s.keys[step.ID]; isKey {
			continue
		}
		if v := s.node.Get(step.ID); v != nil {
			s.answers[step.ID] = &queue{step, s.at + ": " + step.ID, saidIn(v)}
		}
	}
	for _, inner := range s.group.inner {
		s.rows[inner.rows] = f.readRows(s.node.Get(inner.rows), inner, s)
	}
}

func nameOf(g *group, i int, keys map[string]string) string {
	if len(g.keys) > 0 {
		return called(g, keys)
	}
	return fmt.Sprintf("%s %d", g.rows, i+1)
}

// called names a round by its keys: readings (from open-air, to tube).
func called(g *group, values map[string]string) string {
	var parts []string
	for _, k := range g.keys {
		parts = append(parts, k.Name+" "+values[k.Name])
	}
	return g.rows + " (" + strings.Join(parts, ", ") + ")"
}

// owe reads what is said of duties.
func (f *File) owe(n *strictyaml.Node) {
	if n.Kind == strictyaml.Scalar {
		f.owed[allDuties] = saidIn(n)[0]
		return
	}
	for _, p := range n.Pairs {
		list := saidIn(p.Value)
		f.owed[p.Key] = list[len(list)-1]
	}
}

// saidIn reads what stands at a step.
func saidIn(n *strictyaml.Node) []said {
	var list []said
	add := func(at *strictyaml.Node, a engine.Answer) { list = append(list, said{at, a}) }
	switch n.Kind {
	case strictyaml.List:
		for _, item := range n.Items {
			list = append(list, saidIn(item)...)
		}
	case strictyaml.Map:
		if note := n.Get(noteKey); note != nil {
			add(note, engine.Answer{Move: engine.Note, Text: note.Str()})
		}
		for key, move := range map[string]engine.Move{skipKey: engine.Skip, cannotKey: engine.Cannot, stopKey: engine.Stop} {
			if why := n.Get(key); why != nil {
				add(why, engine.Answer{Move: move, Why: why.Str()})
			}
		}
		if text := n.Get(answerKey); text != nil {
			add(text, engine.Answer{Text: text.Str()})
		}
	default:
		add(n, engine.Answer{Text: n.Str()})
	}
	return list
}
