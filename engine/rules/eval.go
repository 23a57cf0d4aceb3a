package rules

import (
	"fmt"
	"math"
	"slices"

	"dropwalk/engine/subject"
)

// Values supplies the facts of one moment.
type Values func(name string) subject.Value

type node interface {
	eval(Values) Truth
	facts([]string) []string
	// text prints the node so that it reads back to the same; inner is true
	// inside another node.
	text(inner bool) string
}

// Eval is the truth of the rule for the given facts.
func (r *Rule) Eval(values func(name string) subject.Value) Truth { return r.root.eval(values) }

// Facts lists the facts that the rule names, sorted, each once.
func (r *Rule) Facts() []string {
	list := r.root.facts(nil)
	slices.Sort(list)
	return slices.Compact(list)
}

// Missing lists the facts that are not known, sorted: what an unknown outcome
// waits for.
func (r *Rule) Missing(values func(name string) subject.Value) []string {
	return slices.DeleteFunc(r.Facts(), func(name string) bool { return values(name).Known })
}

// String prints the rule in a form that compiles to the same rule.
func (r *Rule) String() string { return r.root.text(false) }

// flag is a fact of yes or no that stands alone.
type flag struct{ fact string }

func (n flag) eval(v Values) Truth {
	x := v(n.fact)
	if !x.Known {
		return Unknown
	}
	return truthOf(x.Truth)
}

func (n flag) facts(list []string) []string { return append(list, n.fact) }
func (n flag) text(bool) string             { return n.fact }

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

func (n match) facts(list []string) []string { return append(list, n.fact) }

func (n match) text(bool) string {
	if n.negated {
		return n.fact + " is not " + n.word
	}
	return n.fact + " is " + n.word
}

// order compares a fact with a value or with another fact.
type order struct {
	fact, op string
	other    string // "" for a value
	value    float64
	shown    string // the value as written
}

func (n order) eval(v Values) Truth {
	left, right := v(n.fact), subject.Value{Known: true, Number: n.value}
	if n.other != "" {
		right = v(n.other)
	}
	if !left.Known || !right.Known || !finite(left.Number) || !finite(right.Number) {
		return Unknown
	}
	switch a, b := left.Number, right.Number; n.op {
	case ">":
		return truthOf(a > b)
	case ">=":
		return truthOf(a >= b)
	case "<":
		return truthOf(a < b)
	default:
		return truthOf(a <= b)
	}
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func (n order) facts(list []string) []string {
	if n.other != "" {
		list = append(list, n.other)
	}
	return append(list, n.fact)
}

func (n order) text(bool) string {
	if n.other != "" {
		return fmt.Sprintf("%s %s %s", n.fact, n.op, n.other)
	}
	return fmt.Sprintf("%s %s %s", n.fact, n.op, n.shown)
}

// negation is not.
type negation struct{ inner node }

func (n negation) eval(v Values) Truth          { return n.inner.eval(v).Not() }
func (n negation) facts(list []string) []string { return n.inner.facts(list) }
func (n negation) text(bool) string             { return "not " + n.inner.text(true) }

// join is and or or. A join inside another stands in parentheses.
type join struct {
	op          string
	left, right node
}

func (n join) eval(v Values) Truth {
	if n.op == "and" {
		return n.left.eval(v).And(n.right.eval(v))
	}
	return n.left.eval(v).Or(n.right.eval(v))
}

func (n join) facts(list []string) []string { return n.right.facts(n.left.facts(list)) }

func (n join) text(inner bool) string {
	left := n.left.text(true)
	// A chain of one kind needs no parentheses, which would nest ever deeper.
	if l, ok := n.left.(join); ok && l.op == n.op {
		left = l.text(false)
	}
	s := left + " " + n.op + " " + n.right.text(true)
	if inner {
		return "(" + s + ")"
	}
	return s
}
