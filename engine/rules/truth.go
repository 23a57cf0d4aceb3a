// Package rules is the language of `when`: comparisons of facts with numbers,
// words and other facts, joined by and, or and not. It compares and does
// nothing else; computing is for whoever supplies the facts. A rule whose facts
// are not known is neither true nor false but unknown.
//
// Start with Compile, then Rule.Eval.
//
//	restriction > 10 inH2O and fuel is petrol
//	not (place is road or place is track)
//
// Grammar, loosest first: or; and; not; a comparison with > >= < <=, or with
// is / is not for words; a fact of yes or no; a rule in parentheses.
package rules

// Truth is one of three values, by Kleene's strong tables.
type Truth int8

// Truth values, in the order in which and takes the least and or the greatest.
const (
	False Truth = iota
	Unknown
	True
)

func (t Truth) String() string { return [...]string{"false", "unknown", "true"}[t] }

// And is true where both are, false where one is.
func (t Truth) And(u Truth) Truth { return min(t, u) }

// Or is true where one is, false where both are.
func (t Truth) Or(u Truth) Truth { return max(t, u) }

// Not turns true and false round and leaves unknown.
func (t Truth) Not() Truth { return True - t }

func truthOf(b bool) Truth {
	if b {
		return True
	}
	return False
}
