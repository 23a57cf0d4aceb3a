package rules

import (
	"math"
	"slices"
	"strings"

	"dropwalk/engine/subject"
)

// Values supplies the facts of one moment.
type Values func(name string) subject.Value

// node is a part of a rule. Its work is bounded by the length of its text.
type node interface {
	eval(Values) Truth
	facts() []string
	// text prints the node so that it compiles to the same again, in
	// parentheses where it binds no tighter than the level asks.
	text(level int) string
	// missing lists the facts for whose sake the node is unknown.
	missing(Values) []string
	// told prints the node in words, leaving out what is settled.
	told(Values, func(Comparison) string) string
	// points lists the numbers that facts are compared with.
	points() []float64
}

// Levels of binding, loosest first.
const (
	inNothing = iota
	inOr
	inAnd
	inNot
)

// Eval is the truth of the rule for the given facts. A fact that is not known,
// or a number that is not finite, makes its comparison unknown.
func (r *Rule) Eval(values func(name string) subject.Value) Truth { return r.root.eval(values) }

// Facts lists the facts that the rule names, sorted, each once.
func (r *Rule) Facts() []string { return sorted(r.root.facts()) }

// Missing lists what an unknown outcome waits for, sorted: the facts that are
// not known and could still decide it. It is empty where the rule is true or
// false already.
func (r *Rule) Missing(values func(name string) subject.Value) []string {
	return sorted(r.root.missing(values))
}

// String prints the rule in canonical form: units by their usual names, no
// parentheses that make no difference. The form compiles to the same rule,
// unless it has grown beyond the length that Compile takes.
func (r *Rule) String() string { return r.root.text(inNothing) }

func sorted(names []string) []string {
	slices.Sort(names)
	return slices.Compact(names)
}

// flag is a fact of yes or no that stands alone.
type flag struct{ fact string }

func (n flag) eval(v Values) Truth {
	x := v(n.fact)
	if !x.Known {
		return Unknown
	}
	return truthOf(x.Truth)
}

func (n flag) facts() []string { return []string{n.fact} }
func (n flag) text(int) string { return n.fact }

func (n flag) missing(v Values) []string { return unknown(n, v, n.fact) }

// unknown names the fact of a comparison that is unknown.
func unknown(n node, v Values, fact string) []string {
	if n.eval(v) != Unknown {
		return nil
	}
	return []string{fact}
}

// match compares a choice with one of its words.
type match struct {
	fact, word string
	negated    bool
}

func (n match) eval(v Values) Truth {
	x := v(n.fact)
	if !x.Known {
		return Unknown
	}
	return truthOf((x.Word == n.word) != n.negated)
}

func (n match) facts() []string { return []string{n.fact} }

func (n match) text(int) string {
	if n.negated {
		return n.fact + " is not " + n.word
	}
	return n.fact + " is " + n.word
}

func (n match) missing(v Values) []string { return unknown(n, v, n.fact) }

// order compares a fact with a value or with another fact.
type order struct {
	fact, op string
	other    string  // "" for a value
	value    float64 // SI
	shown    string  // the value in its unit
}

func (n order) eval(v Values) Truth {
	a, b := v(n.fact), subject.Value{Known: true, Number: n.value}
	if n.other != "" {
		b = v(n.other)
	}
	if !usable(a) || !usable(b) {
		return Unknown
	}
	switch n.op {
	case ">":
		return truthOf(a.Number > b.Number)
	case ">=":
		return truthOf(a.Number >= b.Number)
	case "<":
		return truthOf(a.Number < b.Number)
	default:
		return truthOf(a.Number <= b.Number)
	}
}

func usable(x subject.Value) bool {
	return x.Known && !math.IsNaN(x.Number) && !math.IsInf(x.Number, 0)
}

func (n order) facts() []string {
	if n.other == "" {
		return []string{n.fact}
	}
	return []string{n.fact, n.other}
}

func (n order) text(int) string { return n.fact + " " + n.op + " " + n.right() }

func (n order) right() string {
	if n.other == "" {
		return n.shown
	}
	return n.other
}

func (n order) missing(v Values) []string {
	return slices.DeleteFunc(n.facts(), func(name string) bool { return usable(v(name)) })
}

// negation is not.
type negation struct{ inner node }

func (n negation) eval(v Values) Truth       { return n.inner.eval(v).Not() }
func (n negation) facts() []string           { return n.inner.facts() }
func (n negation) text(int) string           { return "not " + n.inner.text(inNot) }
func (n negation) missing(v Values) []string { return n.inner.missing(v) }

// join is two or more terms with and or or between them.
type join struct {
	op    string
	terms []node
}

func (n join) eval(v Values) Truth {
	all := n.terms[0].eval(v)
	for _, t := range n.terms[1:] {
		if n.op == "and" {
			all = all.And(t.eval(v))
		} else {
			all = all.Or(t.eval(v))
		}
	}
	return all
}

func (n join) facts() []string {
	var list []string
	for _, t := range n.terms {
		list = append(list, t.facts()...)
	}
	return list
}

func (n join) text(level int) string {
	own := inOr
	if n.op == "and" {
		own = inAnd
	}
	parts := make([]string, len(n.terms))
	for i, t := range n.terms {
		parts[i] = t.text(own)
	}
	s := strings.Join(parts, " "+n.op+" ")
	if level > own {
		return "(" + s + ")"
	}
	return s
}

// missing asks the terms that are unknown; the others are settled and do not
// decide it.
func (n join) missing(v Values) []string {
	if n.eval(v) != Unknown {
		return nil
	}
	var list []string
	for _, t := range n.terms {
		if t.eval(v) == Unknown {
			list = append(list, t.missing(v)...)
		}
	}
	return list
}
