package rules

import (
	"slices"
	"strings"
	"unicode/utf8"
)

type tokenKind int

const (
	end tokenKind = iota
	word
	operator // > >= < <=
	number   // a number with the unit that follows it
	open
	closing
	bad
)

type token struct {
	kind tokenKind
	text string
	col  int // runes from 0
}

var operators = []string{">", ">=", "<", "<="}

// lexer cuts a rule into tokens.
type lexer struct {
	text []rune
	at   int
}

// next takes the next token. At the end it gives end tokens for ever.
func (l *lexer) next() token {
	l.at += l.run(l.at, isSpace)
	start := l.at
	if start == len(l.text) {
		return token{end, "", start}
	}
	kind := bad
	switch r := l.text[start]; {
	case r == '(':
		kind, l.at = open, start+1
	case r == ')':
		kind, l.at = closing, start+1
	case isMark(r):
		l.at = start + l.run(start, isMark)
		if slices.Contains(operators, string(l.text[start:l.at])) {
			kind = operator
		}
	case isLetter(r):
		kind, l.at = word, start+l.run(start, isWord)
	case startsQuantity(r):
		kind, l.at = number, l.endOfQuantity()
	default:
		l.at = start + 1
	}
	return token{kind, strings.TrimSpace(string(l.text[start:l.at])), start}
}

// again takes the text from a token on as one word. A choice may begin with a
// digit, which by itself looks like a number.
func (l *lexer) again(t token) token {
	if t.kind != number {
		return t
	}
	l.at = t.col + l.run(t.col, isWord)
	return token{word, string(l.text[t.col:l.at]), t.col}
}

// run counts the runes from a place on that belong together.
func (l *lexer) run(from int, belongs func(rune) bool) int {
	n := 0
	for from+n < len(l.text) && belongs(l.text[from+n]) {
		n++
	}
	return n
}

// endOfQuantity looks for what ends a number with its unit: a parenthesis, an
// operator, a word that joins, or the end of the rule.
func (l *lexer) endOfQuantity() int {
	at := l.at + 1
	for at < len(l.text) && !strings.ContainsRune("()", l.text[at]) && !isMark(l.text[at]) && !l.joinsAt(at) {
		at++
	}
	return at
}

// joinsAt tells whether one of the words that join comparisons stands at a place.
func (l *lexer) joinsAt(at int) bool {
	if !isSpace(l.text[at-1]) {
		return false
	}
	w := string(l.text[at : at+l.run(at, isWord)])
	return w == "and" || w == "or"
}

func isSpace(r rune) bool  { return r == ' ' || r == '\t' || r == '\n' || r == '\r' }
func isMark(r rune) bool   { return strings.ContainsRune("<>=!&|", r) }
func isLetter(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }
func isDigit(r rune) bool  { return r >= '0' && r <= '9' }
func isWord(r rune) bool   { return isLetter(r) || isDigit(r) || r == '_' || r == '-' }

// startsQuantity knows the signs and fractions that quantity.Read knows.
func startsQuantity(r rune) bool {
	return isDigit(r) || r < utf8.RuneSelf && strings.ContainsRune("+-.,", r) || strings.ContainsRune("\u2212½¼¾⅓⅔⅛⅜⅝⅞", r)
}
