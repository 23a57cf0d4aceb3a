package rules

import "strings"

// Comparison is one comparison of a rule, for whoever tells rules in words.
type Comparison struct {
	Fact  string
	Op    string // is, is not, >, >=, <, <=
	Other string // a word, a value with its unit, or the name of another fact; yes for a fact that stands alone
	Facts bool   // Other is the name of a fact
}

// Told tells the rule in words, each comparison as say has it. What is settled
// for the given facts already is left out; a rule that is settled as a whole is
// told as "".
func (r *Rule) Told(values Values, say func(Comparison) string) string {
	if r.root.eval(values) != Unknown {
		return ""
	}
	return r.root.told(values, say)
}

func (n flag) told(_ Values, say func(Comparison) string) string {
	return say(Comparison{Fact: n.fact, Op: "is", Other: "yes"})
}

func (n match) told(_ Values, say func(Comparison) string) string {
	if n.negated {
		return say(Comparison{Fact: n.fact, Op: "is not", Other: n.word})
	}
	return say(Comparison{Fact: n.fact, Op: "is", Other: n.word})
}

func (n order) told(_ Values, say func(Comparison) string) string {
	return say(Comparison{Fact: n.fact, Op: n.op, Other: n.right(), Facts: n.other != ""})
}

func (n negation) told(v Values, say func(Comparison) string) string {
	return "it is not so that " + n.inner.told(v, say)
}

func (n join) told(v Values, say func(Comparison) string) string {
	var parts []string
	for _, t := range n.terms {
		if t.eval(v) != Unknown {
			continue // it was settled, and left the rest open
		}
		part := t.told(v, say)
		if inner, ok := t.(join); ok && inner.op != n.op {
			part = "(" + part + ")"
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, " "+n.op+" ")
}
