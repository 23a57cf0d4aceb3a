package strictyaml

import (
	"fmt"
	"regexp"
	"strings"
)

// slip is a common mistake of writing at a place, lines counted from 1.
type slip struct {
	line, col            int
	what, expected, hint string
	felt                 int // line at which the parser stumbles over it
}

// nearestSlip picks the slip that explains an error near line. The library's
// lines are right within one, except for what is left open until the end.
func nearestSlip(slips []slip, line int, msg string) (slip, bool) {
	best, found := slip{}, false
	for _, s := range slips {
		if d := abs(s.felt - line); d <= 1 && (!found || d < abs(best.felt-line)) {
			best, found = s, true
		}
	}
	open := strings.Contains(msg, "end of stream") || strings.Contains(msg, "',' or") || strings.Contains(msg, "unknown anchor") ||
		strings.Contains(msg, "expected key")
	if !found && open && len(slips) > 0 {
		return slips[0], true
	}
	return best, found
}

func abs(x int) int { return max(x, -x) }

// bracket is one that is open.
type bracket struct {
	r         rune
	line, col int
}

// slipFinder walks a text as a hurried reader would: enough YAML to know what
// is quoted and what is bracketed, and no more. It runs only on texts that are
// already known to be broken.
type slipFinder struct {
	slips   []slip
	flow    []bracket
	quote   bracket // r is 0 outside quotes
	block   int     // lines indented deeper than this belong to a block scalar; -1 outside
	line    int
	keyCol  int  // column of the last key of the line
	keySeen bool // the line, or the entry inside brackets, has its key already
	valued  bool // the line above has a key and its value
	indents []int
}

func findSlips(lines []string) []slip {
	f := &slipFinder{block: -1}
	for i, text := range lines {
		f.line = i + 1
		f.scanLine([]rune(text))
	}
	if f.quote.r != 0 {
		f.add(f.quote.line, f.quote.col-1, fmt.Sprintf("the quote %c is not closed", f.quote.r), "a closing quote", "")
	} else if len(f.flow) > 0 {
		b := f.flow[len(f.flow)-1]
		f.add(b.line, b.col-1, fmt.Sprintf("the bracket %c is not closed", b.r), fmt.Sprintf("a closing %c", closer(b.r)), "")
	}
	return f.slips
}

func closer(r rune) rune {
	if r == '{' {
		return '}'
	}
	return ']'
}

func (f *slipFinder) add(line, i int, what, expected, hint string) {
	f.slips = append(f.slips, slip{line, i + 1, what, expected, hint, f.line})
}

func (f *slipFinder) scanLine(r []rune) {
	i := 0
	for i < len(r) && r[i] == ' ' {
		i++
	}
	if i == len(r) || f.block >= 0 && i > f.block {
		return
	}
	f.block = -1
	if f.quote.r != 0 {
		end := quoteEnd(r, 0, f.quote.r)
		if end < 0 {
			return
		}
		if q := f.quote; !f.closesWell(r, end+1) {
			f.add(q.line, q.col-1, fmt.Sprintf("the quote %c is not closed on its line", q.r), "a closing quote", "")
		}
		f.quote, i = bracket{}, end+1
	} else if len(f.flow) == 0 {
		f.keySeen = false
		f.indented(i, r)
	}
	f.valued = false
	for i < len(r) {
		i = f.token(r, i)
	}
}

// indented compares the indentation of a line with those that are open above
// it.
func (f *slipFinder) indented(i int, r []rune) {
	if r[i] == '#' {
		return
	}
	top, closed := -1, false
	for n := len(f.indents); n > 0; n = len(f.indents) {
		if top = f.indents[n-1]; top <= i {
			break
		}
		top, closed, f.indents = -1, true, f.indents[:n-1]
	}
	switch {
	case closed && top != i:
		f.add(f.line, i, fmt.Sprintf("an indentation of %d that fits no line above", i), "the indentation of the line that it belongs with", "")
	case f.valued && top >= 0 && r[i] == '-' && ends(r, i+1) && f.keyCol == i:
		f.add(f.line, i, "a list below a key that has its value already", "the value or the list", "")
	case f.valued && top >= 0 && i > top && strings.Contains(string(r[i:])+" ", ": "):
		f.add(f.line, i, "a line indented below one that has its value already", fmt.Sprintf("an indentation of %d", top), "")
	}
}

func (f *slipFinder) opens(i int) {
	if n := len(f.indents); len(f.flow) == 0 && (n == 0 || f.indents[n-1] < i) {
		f.indents = append(f.indents, i)
	}
}

var blockHeader = regexp.MustCompile(`^[|>][-+0-9]*\s*(#.*)?$`)

// token looks at what begins at i and returns where it ends.
func (f *slipFinder) token(r []rune, i int) int {
	c := r[i]
	switch {
	case c == ' ' || c == '\t':
		return i + 1
	case c == '#' && (i == 0 || r[i-1] == ' '):
		return len(r)
	case c == '{' || c == '[':
		f.flow = append(f.flow, bracket{c, f.line, i + 1})
		f.keySeen = false
		return i + 1
	case c == '}' || c == ']':
		return f.close(r, i)
	case c == ',' && len(f.flow) > 0:
		f.keySeen = false
		return i + 1
	case c == ':' && ends(r, i+1):
		f.keySeen = true
		return i + 1
	case c == '-' && ends(r, i+1) && len(f.flow) == 0:
		f.keySeen = false
		f.opens(i)
		return i + 1
	case c == '"' || c == '\'':
		return f.quoted(r, i)
	case c == '|' || c == '>':
		if len(f.flow) == 0 && blockHeader.MatchString(string(r[i:])) {
			f.block = f.keyCol
			return len(r)
		}
		f.needsQuotes(r, i)
	case strings.ContainsRune("*&!%@`", c), c == '?' && (len(f.flow) > 0 || ends(r, i+1)):
		f.needsQuotes(r, i)
	}
	return f.plain(r, i)
}

func ends(r []rune, i int) bool { return i >= len(r) || r[i] == ' ' }

func (f *slipFinder) needsQuotes(r []rune, i int) {
	f.add(f.line, i, fmt.Sprintf("a text that begins with %c without quotes", r[i]), "quotes round the text",
		f.quoteHint(r, i))
}

// quoteHint shows the text at i in quotes.
func (f *slipFinder) quoteHint(r []rune, i int) string {
	j := i
	for j < len(r) && !(len(f.flow) > 0 && strings.ContainsRune(",{}[]", r[j])) {
		j++
	}
	text := strings.TrimSpace(string(r[i:j]))
	if len(f.flow) > 0 {
		return fmt.Sprintf("inside %c texts with commas, ? or > need quotes: write %q", f.flow[len(f.flow)-1].r, text)
	}
	return fmt.Sprintf("write %q", text)
}

func (f *slipFinder) close(r []rune, i int) int {
	c := r[i]
	if len(f.flow) == 0 {
		f.add(f.line, i, fmt.Sprintf("the bracket %c closes nothing", c), "an opening bracket before it", "")
		return i + 1
	}
	b := f.flow[len(f.flow)-1]
	if closer(b.r) != c {
		f.add(f.line, i, fmt.Sprintf("the bracket %c does not fit the %c on line %d", c, b.r, b.line), string(closer(b.r)), "")
	}
	f.flow = f.flow[:len(f.flow)-1]
	f.keySeen, f.valued = true, len(f.flow) == 0
	if len(f.flow) == 0 && b.line == f.line && !f.closesWell(r, i+1) {
		f.needsQuotes(r, b.col-1)
		return len(r)
	}
	return i + 1
}

func (f *slipFinder) quoted(r []rune, i int) int {
	end := quoteEnd(r, i+1, r[i])
	if end < 0 {
		f.quote = bracket{r[i], f.line, i + 1}
		return len(r)
	}
	j := afterSpace(r, end+1)
	if !f.closesWell(r, j) {
		f.add(f.line, j, "text after the closing quote", "the whole text in one pair of quotes", "")
	}
	if j < len(r) && r[j] == ':' && !f.keySeen {
		f.keyCol = i
		f.opens(i)
	}
	f.valued = f.keySeen
	return end + 1
}

func afterSpace(r []rune, i int) int {
	for i < len(r) && r[i] == ' ' {
		i++
	}
	return i
}

// closesWell tells whether what stands at i may follow a closing quote.
func (f *slipFinder) closesWell(r []rune, i int) bool {
	i = afterSpace(r, i)
	return i >= len(r) || strings.ContainsRune(":#", r[i]) || len(f.flow) > 0 && strings.ContainsRune(",}]", r[i])
}

func quoteEnd(r []rune, i int, q rune) int {
	for ; i < len(r); i++ {
		switch {
		case q == '"' && r[i] == '\\':
			i++
		case q == '\'' && r[i] == q && i+1 < len(r) && r[i+1] == q:
			i++
		case r[i] == q:
			return i
		}
	}
	return -1
}

// plain passes over a text without quotes. A second ": " in it is the slip that
// the reader calls a mapping value.
func (f *slipFinder) plain(r []rune, from int) int {
	i := from
	for ; i < len(r); i++ {
		switch {
		case len(f.flow) > 0 && strings.ContainsRune(",{}[]", r[i]) && i > from:
			return i
		case len(f.flow) > 0 && r[i] == '?' && i > from && i+1 < len(r) && strings.ContainsRune(",}]", r[i+1]):
			f.add(f.line, from, "a text with a ? inside brackets without quotes", "quotes round the text", f.quoteHint(r, from))
		case r[i] == '#' && i > from && r[i-1] == ' ':
			return len(r)
		case r[i] == ':' && ends(r, i+1):
			if f.keySeen {
				f.add(f.line, i, `": " inside a text without quotes`, "quotes round the text", "")
			} else {
				f.keyCol = from
				f.opens(from)
			}
			return i
		}
	}
	f.valued = f.keySeen
	return i
}
