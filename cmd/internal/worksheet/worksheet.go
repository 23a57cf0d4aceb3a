package worksheet

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/advice/report"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/rules"
	"dropwalk/engine/subject"
)

// Options are what a paper is made of beside its procedure.
type Options struct {
	Matter subject.Subject
	Given  []subject.Entry // what an earlier document brings; asks that it fills are printed with its answer
	Units  quantity.System // of the printed units; as typed, those of the examples
	Brief  bool            // one line a step, without explanations
	Rounds int             // how often rounds are printed that hold other rounds; 0 for the usual number
	Head   []Label         // what is written at the top already, such as the name of a group
	Rules  []string        // rules of the place, as Markdown; they stand in a frame at the top

	// Signs is who signs each hold beside the one in charge, such as "instructor"; ""
	// for nobody.
	Signs string
	// Without are the choices of an ask, by its path, that are not offered; what would
	// follow from them alone is left out.
	Without map[string][]string

	// TypedIn is the command that types the paper in afterwards; "" for that of a
	// procedure under its name.
	TypedIn string
}

// Label is a line at the top of a paper, already filled in.
type Label struct{ Name, Text string }

// usualRounds is how often rounds with rounds inside are printed: most tests end
// within that many, and each takes half a page.
const usualRounds = 3

// What is filled in with a pencil, as it stands in the Markdown.
const (
	box    = "`[ ]`"
	short  = "`____`"
	medium = "`________`"
	long   = "`____________________`"
	line   = "`________________________________________`"
	tied   = "&nbsp;" // between a blank and its unit
)

// Markdown is the paper of p.
func Markdown(p *engine.Procedure, o Options) string {
	m := newMaker(p, o)
	m.head()
	for i, part := range p.Parts {
		m.part(part, i)
	}
	m.tail()
	return m.String()
}

// maker writes one paper.
type maker struct {
	strings.Builder
	p     *engine.Procedure
	o     Options
	view  subject.View
	given map[string]string       // by path: the first text that an earlier document has
	asks  map[string]*engine.Step // by the fact that follows from their answer alone
	brief bool                    // of what is being written
	at    engine.CarState         // that the part being written begins with
	wrote map[*engine.Step]bool   // steps that stand on the paper already: in a further block they are brief
	// values are those of the block that is being written, nil where they are open.
	values map[string]string
	table  *engine.Step // the rounds of whose rows the steps are being told, nil elsewhere
}

func newMaker(p *engine.Procedure, o Options) *maker {
	m := &maker{p: p, o: o, view: o.Matter.Look(o.Given), given: map[string]string{}, asks: map[string]*engine.Step{},
		brief: o.Brief, wrote: map[*engine.Step]bool{}}
	for _, e := range o.Given {
		if m.given[e.Path] == "" {
			m.given[e.Path] = e.Text
		}
	}
	for s := range p.Steps() {
		for _, path := range s.Fills {
			if !strings.Contains(path, "[]") {
				m.asks[named(path)] = s
			}
		}
	}
	return m
}

// named is the last name of a path; a fact that follows from one answer alone is
// called so.
func named(path string) string { return path[strings.LastIndex(path, ".")+1:] }

func (m *maker) put(format string, args ...any) { fmt.Fprintf(m, format, args...) }

// part writes one part, unless it is left out whatever is answered.
func (m *maker) part(part *engine.Part, i int) {
	if m.leftOut(part.When) || m.firstOf(part.Steps) == "" {
		return
	}
	m.at = part.Car
	m.put("\n## %d. %s (car %s)\n\n", i+1, part.Title, part.Car)
	after := ""
	for _, next := range m.p.Parts[i+1:] {
		if after == "" && !m.leftOut(next.When) {
			after = m.firstOf(next.Steps)
		}
	}
	if told := m.told(part.When); told != "" {
		m.put("*Only if %s%s.*\n\n", told, elseTo(after))
	}
	m.steps(part.Steps, after)
}

// leftOut tells whether a rule is false whatever is answered.
func (m *maker) leftOut(rule *rules.Rule) bool {
	return rule != nil && (rule.Eval(m.settled) == rules.False || m.without(rule))
}

// without tells whether a rule is false whichever of the choices is taken that are
// still offered.
func (m *maker) without(rule *rules.Rule) bool {
	for path := range m.o.Without {
		fact := named(path)
		asked := m.asks[fact]
		if asked == nil || !slices.Contains(asked.Fills, path) || !slices.Contains(rule.Facts(), fact) {
			continue
		}
		open := slices.ContainsFunc(m.offeredAt(path), func(choice string) bool {
			return rule.Eval(func(name string) subject.Value {
				if name == fact {
					return subject.Value{Known: true, Word: choice, Text: choice}
				}
				return m.settled(name)
			}) != rules.False
		})
		if !open {
			return true
		}
	}
	return false
}

// offeredAt are the choices at a place in the document that are offered.
func (m *maker) offeredAt(path string) []string {
	f, _ := m.o.Matter.Field(path)
	return slices.DeleteFunc(slices.Clone(f.Choices), func(c string) bool { return slices.Contains(m.o.Without[path], c) })
}

// settled is the value of a fact that no answer changes any more.
func (m *maker) settled(name string) subject.Value {
	if text := m.values[name]; text != "" {
		return engine.RoundValue(text)
	}
	f, ok := m.o.Matter.Fact(name)
	if s := m.asks[name]; ok && (f.Brought || s != nil && m.answered(s)) {
		return m.view.Value(name)
	}
	return subject.Value{}
}

// answered tells whether an earlier document fills everything that s asks.
func (m *maker) answered(s *engine.Step) bool {
	return s.Kind == engine.Ask && !slices.ContainsFunc(s.Fills, func(path string) bool { return m.given[path] == "" })
}

// firstOf is the number of the first step of a list, "" where it has none.
func (m *maker) firstOf(list []*engine.Step) string {
	for _, s := range list {
		if m.leftOut(s.When) {
			continue
		}
		if s.Number != "" {
			return s.Number
		}
		if n := m.firstOf(slices.Concat(m.ahead(s), s.Each)); n != "" {
			return n
		}
	}
	return ""
}

// ahead are the steps that a search takes ahead of its checks.
func (m *maker) ahead(s *engine.Step) []*engine.Step {
	if s.Kind != engine.Checks {
		return nil
	}
	return m.p.Ahead()
}

func elseTo(number string) string {
	if number == "" {
		return ""
	}
	return "; else go to " + number
}

// told says a rule in words, "" where nothing about it is open.
func (m *maker) told(rule *rules.Rule) string {
	if rule == nil {
		return ""
	}
	return rule.Told(m.settled, m.compared)
}

// compared says one comparison in words. An answer is named by its number.
func (m *maker) compared(c rules.Comparison) string {
	f, _ := m.o.Matter.Fact(c.Fact)
	what, isWhether := strings.CutPrefix(f.Doc, "whether ")
	isWhether = isWhether && (f.Kind == quantity.Truth || slices.Equal(f.Choices, []string{"yes", "no"}))
	switch s := m.asks[c.Fact]; {
	case s != nil:
		what = "the answer to " + s.Number
	case isWhether && (c.Op == "is") == (c.Other == "yes"):
		return what
	case isWhether:
		return "it is not so that " + what
	case f.Judged:
		what = "the " + strings.ReplaceAll(c.Fact, "_", " ") + ", as the program works it out,"
	case f.Doc == "" && m.number(c.Fact):
		what = "the " + m.roundValue(c.Fact).Doc
	case f.Doc == "":
		what = `"` + c.Fact + `"`
	default:
		what = "the " + f.Doc
	}
	other := c.Other
	if o, _ := m.o.Matter.Fact(c.Other); c.Facts && o.Doc != "" {
		other = "the " + o.Doc
	}
	return what + " " + compares[c.Op] + " " + other
}

var compares = map[string]string{"is": "is", "is not": "is not", ">": "is above", "<": "is below", ">=": "is at least", "<=": "is at most"}

// filled is a text of the procedure with its names in braces filled in: with what
// is known already, else with a blank, or with dots where the row of a table
// tells.
func (m *maker) filled(text string) string {
	return engine.Filled(text, func(name string) string {
		if v := m.settled(name); v.Known && v.Text != "" {
			return report.Escape(v.Text)
		}
		switch {
		case m.table != nil && m.offers(m.table, name):
			return "(" + name + ")"
		case m.table != nil:
			return "..."
		case m.number(name):
			return short
		}
		return medium
	})
}

// number tells whether a name in braces stands for a number of the rounds.
func (m *maker) number(name string) bool {
	return m.roundValue(name).Kind == quantity.Number
}

// roundValue describes a value of the rounds of the procedure.
func (m *maker) roundValue(name string) subject.Fact {
	if name == "round" {
		return subject.Fact{Name: name, Kind: quantity.Number, Doc: "number of the round"}
	}
	var found subject.Fact
	for s := range m.p.Steps() {
		source, _ := m.o.Matter.Source(s.Source)
		for _, f := range source.Values {
			if f.Name == name {
				found = f
			}
		}
	}
	return found
}
