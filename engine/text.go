package engine

import "strings"

// unknownText stands in a sentence for a value that nobody knows yet.
const unknownText = "(not known yet)"

// Filled returns text with each {name} replaced by what value has for it.
func Filled(text string, value func(name string) string) string {
	return braces(text, func(name string, _ int) string { return value(name) })
}

// braces calls visit for each {name} in text, with the column (in runes, from
// nought) of the brace, and returns the text with each replaced by what visit
// returns. A brace without an end is left as it stands.
func braces(text string, visit func(name string, col int) string) string {
	if !strings.Contains(text, "{") {
		return text
	}
	var b strings.Builder
	col := 0
	for {
		open := strings.IndexByte(text, '{')
		if open < 0 {
			break
		}
		end := strings.IndexByte(text[open:], '}')
		if end < 0 {
			break
		}
		b.WriteString(text[:open])
		col += len([]rune(text[:open]))
		b.WriteString(visit(text[open+1:open+end], col))
		col += len([]rune(text[open : open+end+1]))
		text = text[open+end+1:]
	}
	b.WriteString(text)
	return b.String()
}
