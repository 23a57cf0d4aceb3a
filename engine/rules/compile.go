package rules

import (
	"errors"
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

// Error is a fault in a rule.
type Error struct {
	Col      int    // in runes, from 1
	What     string // what is wrong
	Expected string // what would do, or ""
	Hint     string // a whole clause, such as: did you mean "turbo"? Or ""
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
// nothing is left to go wrong when the rule is used. The error is nil or the
// first fault.
func Compile(text string, names Names) (*Rule, *Error) {
	if len(text) > longest {
		return nil, &Error{Col: 1, What: fmt.Sprintf("the rule is %d bytes long", len(text)), Expected: fmt.Sprintf("at most %d", longest)}
	}
	c := &compiler{lexer: lexer{text: []rune(text)}, names: names}
	c.advance()
	root := c.either(0)
	if c.err == nil && c.tok.kind != end {
		c.unexpected(afterRule)
	}
	if c.err != nil {
		return nil, c.err
	}
	return &Rule{root}, nil
}

// compiler is a recursive-descent reader. After the first fault it sees
// nothing but the end; depth is bounded, and each step takes a token.
type compiler struct {
	lexer
	tok   token
	names Names
	err   *Error
}

func (c *compiler) advance() { c.tok = c.next() }

func (c *compiler) is(w string) bool { return c.tok.kind == word && c.tok.text == w }

// fail notes the first fault, at a token.
func (c *compiler) fail(at token, what, expected, hint string) {
	if c.err == nil {
		c.err = &Error{Col: at.col + 1, What: what, Expected: expected, Hint: hint}
	}
	c.at = len(c.text)
	c.tok = token{end, "", c.at}
}

func didYouMean(word string, known []string) string {
	if near, ok := spell.Nearest(word, known); ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return ""
}

// foreign tells how other languages' marks are written here.
var foreign = map[string]string{
	"=": "is, or >= and <= for numbers", "==": "is, or >= and <= for numbers",
	"!=": "is not", "<>": "is not", "!": "not", "&&": "and", "&": "and", "||": "or", "|": "or",
	"=>": ">=", "=<": "<=",
}

// afterRule is what can follow a whole rule.
const afterRule = "and, or, or the end of the rule"

// unexpected refuses the present token.
func (c *compiler) unexpected(expected string) {
	hint := ""
	switch {
	case c.tok.kind == operator:
		hint = "compare two things at a time and join the comparisons with and"
	case c.tok.kind == word:
		hint = didYouMean(c.tok.text, reserved)
	}
	if instead, ok := foreign[c.tok.text]; ok {
		expected = instead
	}
	c.fail(c.tok, fmt.Sprintf("%q can't stand here", c.tok.text), expected, hint)
}

func (c *compiler) either(depth int) node { return c.joined("or", depth, c.both) }
func (c *compiler) both(depth int) node   { return c.joined("and", depth, c.single) }

// joined reads terms with one word between them.
func (c *compiler) joined(op string, depth int, term func(int) node) node {
	terms := flat(op, nil, term(depth))
	for c.is(op) {
		c.advance()
		terms = flat(op, terms, term(depth))
	}
	if len(terms) == 1 {
		return terms[0]
	}
	return join{op, terms}
}

// flat adds a term, or its own terms where it is joined by the same word.
func flat(op string, terms []node, t node) []node {
	if j, ok := t.(join); ok && j.op == op {
		return append(terms, j.terms...)
	}
	return append(terms, t)
}

func (c *compiler) single(depth int) node {
	if depth > deepest {
		c.fail(c.tok, "the rule is nested too deep", "a simpler rule", "")
		return flag{}
	}
	switch {
	case c.is("not"):
		c.advance()
		return negation{c.single(depth + 1)}
	case c.tok.kind == open:
		c.advance()
		inner := c.either(depth + 1)
		if c.tok.kind == end {
			c.fail(c.tok, "a parenthesis is not closed", ")", "")
		} else if c.tok.kind != closing {
			c.unexpected("and, or, or )")
		}
		c.advance()
		return inner
	}
	return c.comparison()
}

var reserved = []string{"and", "or", "not", "is"}

// fact reads the name of a fact.
func (c *compiler) fact() (subject.Fact, token, bool) {
	at := c.tok
	if at.kind == end {
		what := "the rule ends too early"
		if len(strings.TrimSpace(string(c.text))) == 0 {
			what = "the rule is empty"
		}
		c.fail(at, what, "the name of a fact", "")
		return subject.Fact{}, at, false
	}
	if at.kind != word || slices.Contains(reserved, at.text) {
		c.unexpected("the name of a fact")
		return subject.Fact{}, at, false
	}
	f, ok := c.names.Fact(at.text)
	if !ok {
		c.fail(at, fmt.Sprintf("nobody knows the fact %q", at.text), "the name of a fact", didYouMean(at.text, c.names.FactNames()))
		return subject.Fact{}, at, false
	}
	f.Name = at.text
	c.advance()
	return f, at, true
}

func (c *compiler) comparison() node {
	f, at, ok := c.fact()
	switch {
	case !ok:
		return flag{}
	case c.is("is"):
		return c.choice(f)
	case c.tok.kind == operator:
		return c.order(f)
	case c.tok.kind == bad:
		c.unexpected(comparisonFor(f))
	case f.Kind != quantity.Truth:
		c.fail(at, fmt.Sprintf("%q says nothing by itself", f.Name), comparisonFor(f), "")
	}
	return flag{f.Name}
}

// comparisonFor says how a fact can be compared.
func comparisonFor(f subject.Fact) string {
	switch {
	case f.Kind == quantity.Choice:
		return fmt.Sprintf("%s is, or is not, one of: %s", f.Name, strings.Join(f.Choices, ", "))
	case f.Kind == quantity.Truth:
		return fmt.Sprintf("%s or not %s", f.Name, f.Name)
	case measures(f.Kind):
		return "a comparison with > >= < <= such as " + f.Name + " > and a value"
	}
	return "another fact"
}

// choice reads what stands after "fact": is or is not, and a word.
func (c *compiler) choice(f subject.Fact) node {
	if f.Kind != quantity.Choice {
		c.fail(c.tok, fmt.Sprintf("%q is a %s, not a choice of words", f.Name, f.Kind), comparisonFor(f), "")
		return flag{}
	}
	c.advance()
	negated := c.is("not")
	if negated {
		c.advance()
	}
	c.tok = c.again(c.tok)
	list := strings.Join(f.Choices, ", ")
	switch {
	case c.tok.kind == end:
		c.fail(c.tok, "the rule ends too early", "one of: "+list, "")
	case !slices.Contains(f.Choices, c.tok.text):
		c.fail(c.tok, fmt.Sprintf("%q is none of the words of %s", c.tok.text, f.Name), list, didYouMean(c.tok.text, f.Choices))
	}
	n := match{f.Name, c.tok.text, negated}
	c.advance()
	return n
}

// measures tells whether values of a kind can be larger and smaller.
func measures(k quantity.Kind) bool {
	switch k {
	case quantity.Choice, quantity.Text, quantity.Truth, quantity.Date:
		return false
	}
	return true
}

// order reads an operator and what stands after it: a value, or a fact of the
// same kind.
func (c *compiler) order(f subject.Fact) node {
	if !measures(f.Kind) {
		c.fail(c.tok, fmt.Sprintf("%q can't be larger or smaller", f.Name), comparisonFor(f), "")
		return flag{}
	}
	o := order{fact: f.Name, op: c.tok.text}
	c.advance()
	switch c.tok.kind {
	case word:
		g, at, ok := c.fact()
		if ok && plain(g.Kind) != plain(f.Kind) {
			c.fail(at, fmt.Sprintf("%q is a %s and %q is a %s", f.Name, f.Kind, g.Name, g.Kind), "two facts of one kind", "")
		}
		o.other = g.Name
	case number:
		o.value, o.shown = c.value(f.Kind)
	case bad:
		c.unexpected("a value or a fact")
	default:
		c.fail(c.tok, "nothing is compared with "+f.Name, "a value or a fact", "")
	}
	return o
}

// plain takes whole numbers for numbers, which they may be compared with.
func plain(k quantity.Kind) quantity.Kind {
	if k == quantity.Whole {
		return quantity.Number
	}
	return k
}

// value reads a number with its unit. Revolutions per minute are a plain
// number everywhere in the trade, so that unit may be left out.
func (c *compiler) value(k quantity.Kind) (si float64, shown string) {
	want := quantity.Want{Kind: plain(k)}
	if k == quantity.Rotation {
		want.Unit = "rpm"
	}
	a, err := quantity.Read(c.tok.text, want)
	if err == nil {
		c.advance()
		return a.SI, a.Text()
	}
	if asked, ok := errors.AsType[*quantity.Ambiguous](err); ok {
		c.fail(c.tok, fmt.Sprintf("%q can mean several things", asked.Text), strings.Join(asked.Choices, " or "), "")
		return 0, ""
	}
	fault, ok := errors.AsType[*quantity.Fault](err)
	if !ok {
		fault = &quantity.Fault{What: err.Error()}
	}
	hint := ""
	if fault.Hint != "" {
		hint = fmt.Sprintf("did you mean %q?", fault.Hint)
	}
	c.fail(c.tok, fault.What, fault.Expected, hint)
	return 0, ""
}
