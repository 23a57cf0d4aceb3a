package terminal

import (
	"strings"

	"github.com/rivo/uniseg"
)

// Wrap breaks text into lines of at most width columns, measured as a terminal
// shows them. The first line begins with first, the others with rest. Line
// breaks in text stay; a word wider than the line is broken between
// characters. No line ends in a blank.
func Wrap(text string, width int, first, rest string) string {
	var b strings.Builder
	indent := first
	for line := range strings.SplitSeq(text, "\n") {
		for _, row := range wrapLine(line, width, indent, rest) {
			b.WriteString(strings.TrimRight(row, " "))
			b.WriteByte('\n')
		}
		indent = rest
	}
	return b.String()
}

func wrapLine(line string, width int, first, rest string) []string {
	var rows []string
	row, used, empty := first, columns(first), true
	next := func() {
		rows = append(rows, row)
		row, used, empty = rest, columns(rest), true
	}
	for _, word := range strings.Fields(line) {
		if !empty && used+1+columns(word) > width {
			next()
		}
		if !empty {
			row, used = row+" ", used+1
		}
		for columns(word) > max(1, width-used) {
			head, tail := splitAt(word, width-used)
			if tail == "" { // one character that is wider than the line
				break
			}
			row, word = row+head, tail
			next()
		}
		row, used, empty = row+word, used+columns(word), false
	}
	return append(rows, row)
}

// splitAt cuts word before it grows wider than width, but never to nothing.
func splitAt(word string, width int) (head, tail string) {
	g := uniseg.NewGraphemes(word)
	used, end := 0, 0
	for g.Next() {
		w := g.Width()
		if end > 0 && used+w > width {
			break
		}
		used += w
		_, end = g.Positions()
	}
	return word[:end], word[end:]
}

func columns(s string) int { return uniseg.StringWidth(s) }

// pad fills s with blanks up to width columns.
func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-columns(s)))
}

// Width is the number of columns in which a terminal shows s.
func Width(s string) int { return columns(s) }
