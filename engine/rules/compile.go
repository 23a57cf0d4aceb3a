package rules

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/engine/quantity"
	"dropwalk/engine/spell"
	"dropwalk/engine/subject"
)

// Limits of one rule. They bound the work that a stranger's rule can cause.
const (
	longest = 500 // bytes
	deepest = 40  // parentheses and nots within each other
)

// Names is what a rule may name.
type Names interface {
	Fact(name string) (subject.Fact, bool)
	FactNames() []string // for "did you mean"
}

// Error is a fault in a rule. Col counts runes from 1.
type Error struct {
	Col                  int
	What, Expected, Hint string
}

func (e *Error) Error() string {
	s := fmt.Sprintf("column %d: %s", e.Col, e.What)
	if e.Expected != "" {
		s += ", expected " + e.Expected
	}
	if e.Hint != "" {
		s += " (" + e.Hint + ")"
	}
	return s
}

// Rule is a compiled rule.
type Rule struct{ root node }

// Compile reads a rule. Every name, word and unit is checked here, so that
// nothing is left to go wrong when the rule is used. Its error is nil or one
// fault, the first.
func Compile(text string, names Names) (*Rule, *Error) {
	c := &compiler{text: []rune(text), names: names}
	if len(text) > longest {
		return nil, &Error{Col: 1, What: fmt.Sprintf("the rule is %d bytes long", len(text)), Expected: fmt.Sprintf("at most %d", longest)}
	}
	c.next()
	root := c.either(0)
	if c.err == nil && c.tok.kind != end {
		c.fail("nothing can stand after the rule's end", "and, or, or the end", chained(c.tok))
	}
	if c.err != nil {
		return nil, c.err
	}
	return &Rule{root}, nil
}

func chained(t token) string {
	if t.kind == operator {
		return "compare two things at a time and join the comparisons with and"
	}
	return ""
}

type tokenKind int

const (
	end tokenKind = iota
	name
	operator // > >= < <=
	number   // digits with the unit that follows
	open
	closing
	bad
)

type token struct {
	kind tokenKind
	text string
	col  int // runes from 0
}

// compiler is a recursive-descent reader. After the first fault it goes on
// without effect; depth is bounded, and each step consumes a token.
type compiler struct {
	text  []rune
	at    int
	tok   token
	names Names
	err   *Error
}

func (c *compiler) fail(what, expected, hint string) {
	if c.err == nil {
		c.err = &Error{Col: c.tok.col + 1, What: what, Expected: expected, Hint: hint}
	}
	c.tok = token{kind: end, col: len(c.text)}
	c.at = len(c.text)
}

// next reads the next token.
func (c *compiler) next() {
	for c.at < len(c.text) && c.text[c.at] == ' ' {
		c.at++
	}
	start := c.at
	if start >= len(c.text) {
		c.tok = token{end, "", start}
		return
	}
	switch r := c.text[start]; {
	case r == '(' || r == ')':
		c.at++
		c.tok = token{map[rune]tokenKind{'(': open, ')': closing}[r], string(r), start}
	case r == '<' || r == '>':
		c.at++
		if c.at < len(c.text) && c.text[c.at] == '=' {
			c.at++
		}
		c.tok = token{operator, string(c.text[start:c.at]), start}
	case isLetter(r):
		c.word(start)
	case isDigit(r) || r == '-' || r == '+' || r == '.':
		c.quantity(start)
	default:
		c.tok = token{bad, string(r), start}
	}
}

func (c *compiler) word(start int) {
	for c.at < len(c.text) && (isLetter(c.text[c.at]) || isDigit(c.text[c.at]) || c.text[c.at] == '-' || c.text[c.at] == '_') {
		c.at++
	}
	c.tok = token{name, string(c.text[start:c.at]), start}
}

// quantity takes a number and the unit after it: everything up to a word of
// the language, a parenthesis, an operator or the end.
func (c *compiler) quantity(start int) {
	for c.at < len(c.text) && !strings.ContainsRune("()<>", c.text[c.at]) && !c.joins() {
		c.at++
	}
	c.tok = token{number, strings.TrimSpace(string(c.text[start:c.at])), start}
}

// joins tells whether a word that joins comparisons begins at the place.
func (c *compiler) joins() bool {
	if c.at == 0 || c.text[c.at-1] != ' ' {
		return false
	}
	rest := string(c.text[c.at:])
	for _, w := range []string{"and", "or"} {
		if after, ok := strings.CutPrefix(rest, w); ok && (after == "" || after[0] == ' ' || after[0] == '(') {
			return true
		}
	}
	return false
}

func isLetter(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }
func isDigit(r rune) bool  { return r >= '0' && r <= '9' }

func (c *compiler) is(word string) bool { return c.tok.kind == name && c.tok.text == word }

func (c *compiler) either(depth int) node {
	left := c.both(depth)
	for c.is("or") {
		c.next()
		left = join{"or", left, c.both(depth)}
	}
	return left
}

func (c *compiler) both(depth int) node {
	left := c.single(depth)
	for c.is("and") {
		c.next()
		left = join{"and", left, c.single(depth)}
	}
	return left
}

func (c *compiler) single(depth int) node {
	if depth > deepest {
		c.fail("the rule is nested too deep", "a simpler rule", "")
		return flag{}
	}
	switch {
	case c.is("not"):
		c.next()
		return negation{c.single(depth + 1)}
	case c.tok.kind == open:
		c.next()
		inner := c.either(depth + 1)
		if c.tok.kind != closing {
			c.fail("a parenthesis is not closed", ")", "")
		}
		c.next()
		return inner
	}
	return c.comparison()
}

var reserved = []string{"and", "or", "not", "is"}

// fact reads the name of a fact.
func (c *compiler) fact() (subject.Fact, bool) {
	if c.tok.kind != name || slices.Contains(reserved, c.tok.text) {
		what := "the rule ends too early"
		if c.tok.kind != end {
			what = fmt.Sprintf("%q can't stand here", c.tok.text)
		}
		c.fail(what, "the name of a fact", "")
		return subject.Fact{}, false
	}
	f, ok := c.names.Fact(c.tok.text)
	if !ok {
		hint := ""
		if near, found := spell.Nearest(c.tok.text, c.names.FactNames()); found {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		c.fail(fmt.Sprintf("nobody knows the fact %q", c.tok.text), "the name of a fact", hint)
		return subject.Fact{}, false
	}
	f.Name = c.tok.text
	c.next()
	return f, true
}

func (c *compiler) comparison() node {
	f, ok := c.fact()
	if !ok {
		return flag{}
	}
	switch {
	case c.is("is"):
		return c.choice(f)
	case c.tok.kind == operator:
		return c.order(f)
	case f.Kind != quantity.Truth:
		c.fail(fmt.Sprintf("%q says nothing by itself", f.Name), comparisonFor(f), "")
	}
	return flag{f.Name}
}

func comparisonFor(f subject.Fact) string {
	if f.Kind == quantity.Choice || f.Kind == quantity.Text {
		return "is or is not, and a word"
	}
	return "a comparison such as " + f.Name + " > and a value"
}

func (c *compiler) choice(f subject.Fact) node {
	if f.Kind != quantity.Choice {
		c.fail(fmt.Sprintf("%q is a %s, not a choice of words", f.Name, f.Kind), comparisonFor(f), "")
		return flag{}
	}
	c.next()
	negated := c.is("not")
	if negated {
		c.next()
	}
	if !slices.Contains(f.Choices, c.tok.text) {
		hint := ""
		if near, ok := spell.Nearest(c.tok.text, f.Choices); ok {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		c.fail(fmt.Sprintf("%q is none of the words of %s", c.tok.text, f.Name), strings.Join(f.Choices, ", "), hint)
		return flag{}
	}
	n := match{f.Name, c.tok.text, negated}
	c.next()
	return n
}

func measured(k quantity.Kind) bool {
	switch k {
	case quantity.Choice, quantity.Text, quantity.Truth, quantity.Date:
		return false
	}
	return true
}

func (c *compiler) order(f subject.Fact) node {
	if !measured(f.Kind) {
		c.fail(fmt.Sprintf("%q can't be larger or smaller", f.Name), comparisonFor(f), "")
		return flag{}
	}
	o := order{fact: f.Name, op: c.tok.text}
	c.next()
	if c.tok.kind == name {
		g, ok := c.fact()
		if ok && g.Kind != f.Kind {
			c.fail(fmt.Sprintf("a %s is compared with a %s", f.Kind, g.Kind), "two facts of one kind", "")
		}
		o.other = g.Name
		return o
	}
	if c.tok.kind != number {
		c.fail("nothing is compared with "+f.Name, "a value or a fact", "")
		return o
	}
	unit := ""
	if f.Kind == quantity.Rotation {
		unit = "rpm"
	}
	a, err := quantity.Read(c.tok.text, quantity.Want{Kind: f.Kind, Unit: unit})
	if err != nil {
		c.fail(err.Error(), "", "")
		return o
	}
	o.value, o.shown = a.SI, a.Text()
	c.next()
	return o
}
