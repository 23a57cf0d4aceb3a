package terminal

import (
	"regexp"
	"strconv"
	"strings"
)

// Plain sets Markdown as plain text of at most width columns. It knows what
// our own texts and reports use: headings, paragraphs, lists, quotes, tables,
// fenced code, emphasis, links. What it doesn't know stays as it is written;
// nothing vanishes, raw angle brackets included. The result ends with a
// newline, or is empty.
func Plain(markdown string, width int) string {
	return Dressed(markdown, width, func(p Part) string { return p.Text })
}

// Part is a heading or a run of prose on its way to the page.
type Part struct {
	Markdown    string // cleaned, its marks in place; a newline is a hard break
	Level       int    // 1 to 6 for a heading, 0 for prose
	Text        string // set in lines, each with its newline
	First, Rest string // what the first line of Text and the others begin with
}

// Dressed is Plain whose headings and prose pass dress on their way; it returns
// Text, to which it may have added what a terminal doesn't show. Where dress
// returns Text as it is, the result is that of Plain.
func Dressed(markdown string, width int, dress func(Part) string) string {
	s := setter{width: width, dress: dress}
	for line := range strings.SplitSeq(Clean(markdown), "\n") {
		s.line(line)
	}
	s.flush()
	return s.out.String()
}

// setter gathers the lines of a block and sets the block when it ends.
type setter struct {
	width       int
	dress       func(Part) string
	out         strings.Builder
	kind        block
	text        []string // lines of the block so far
	first, rest string   // what its first line and its other lines begin with
	fence       string   // what ends the fenced code that we are in
	tight       bool     // the block before was a list item
}

type block int

const (
	none block = iota
	paragraph
	listItem
	quote
	table
)

var (
	heading     = regexp.MustCompile(`^(#{1,6})\s+(.*?)\s*#*$`)
	bullet      = regexp.MustCompile(`^(\s*)([-*+]|\d{1,3}[.)])\s+(.*)$`)
	rule        = regexp.MustCompile(`^\s*([-*_])(\s*[-*_]){2,}\s*$`)
	columnsRule = regexp.MustCompile(`^\s*\|?\s*:?-+:?\s*(\|\s*:?-+:?\s*)*\|?\s*$`)
)

func (s *setter) line(line string) {
	trimmed := strings.TrimSpace(line)
	switch {
	case s.fence != "":
		s.code(line, trimmed)
	case strings.HasPrefix(trimmed, "```"), strings.HasPrefix(trimmed, "~~~"):
		s.flush()
		s.fence = trimmed[:3]
		s.gap(false)
	case trimmed == "":
		s.flush()
	case heading.MatchString(trimmed):
		s.heading(heading.FindStringSubmatch(trimmed))
	case rule.MatchString(line) && s.kind != table:
		s.flush()
		s.gap(false)
		s.out.WriteString(strings.Repeat("-", min(s.width, 20)) + "\n")
	case bullet.MatchString(line):
		s.item(bullet.FindStringSubmatch(line))
	case strings.HasPrefix(trimmed, ">"):
		s.open(quote, "  | ", "  | ")
		s.text = append(s.text, strings.TrimPrefix(strings.TrimPrefix(trimmed, ">"), " "))
	case strings.HasPrefix(trimmed, "|"):
		s.open(table, "", "")
		s.text = append(s.text, trimmed)
	default:
		s.prose(line)
	}
}

// prose adds a line to the item or paragraph that is open, or opens a
// paragraph.
func (s *setter) prose(line string) {
	if s.kind != listItem && s.kind != paragraph {
		s.open(paragraph, "", "")
	}
	s.text = append(s.text, line)
}

func (s *setter) code(line, trimmed string) {
	if strings.HasPrefix(trimmed, s.fence) {
		s.fence = ""
		return
	}
	s.out.WriteString(strings.TrimRight("    "+strings.ReplaceAll(line, "\t", "    "), " ") + "\n")
}

func (s *setter) heading(m []string) {
	s.flush()
	s.gap(false)
	title := Wrap(inline(m[2]), s.width, "", "")
	s.out.WriteString(s.dress(Part{Markdown: m[2], Level: len(m[1]), Text: title}))
	if mark := map[int]string{1: "=", 2: "-"}[len(m[1])]; mark != "" {
		longest := 0
		for row := range strings.SplitSeq(title, "\n") {
			longest = max(longest, columns(row))
		}
		s.out.WriteString(strings.Repeat(mark, longest) + "\n")
	}
}

func (s *setter) item(m []string) {
	s.flush()
	depth := strings.Repeat(" ", min(len(m[1]), 8))
	mark := m[2]
	if len(mark) == 1 {
		mark = "-"
	}
	s.kind, s.first, s.rest = listItem, depth+mark+" ", depth+strings.Repeat(" ", len(mark)+1)
	s.text = []string{m[3]}
}

// open begins a block of the given kind, unless it is open already.
func (s *setter) open(kind block, first, rest string) {
	if s.kind == kind {
		return
	}
	s.flush()
	s.kind, s.first, s.rest = kind, first, rest
}

// gap writes the empty line between blocks; items of a list stand together.
func (s *setter) gap(item bool) {
	if s.out.Len() > 0 && !(item && s.tight) {
		s.out.WriteByte('\n')
	}
	s.tight = item
}

// flush sets the open block.
func (s *setter) flush() {
	if s.kind == none {
		return
	}
	s.gap(s.kind == listItem)
	switch s.kind {
	case table:
		s.out.WriteString(setTable(s.text, s.width))
	default:
		text := joined(s.text)
		set := Wrap(inline(text), s.width, s.first, s.rest)
		s.out.WriteString(s.dress(Part{Markdown: text, Text: set, First: s.first, Rest: s.rest}))
	}
	s.kind, s.text = none, nil
}

// joined makes one line of several, but for hard breaks: two blanks or a
// backslash at the end of a line.
func joined(lines []string) string {
	var b strings.Builder
	for i, line := range lines {
		hard := strings.HasSuffix(line, "  ") || strings.HasSuffix(line, `\`)
		b.WriteString(strings.TrimSpace(strings.TrimSuffix(line, `\`)))
		switch {
		case i == len(lines)-1:
		case hard:
			b.WriteByte('\n')
		default:
			b.WriteByte(' ')
		}
	}
	return b.String()
}

// setTable sets the lines of a table; they are kept as they are where they
// don't make one.
func setTable(lines []string, width int) string {
	if len(lines) < 2 || !columnsRule.MatchString(lines[1]) {
		return Wrap(inline(strings.Join(lines, "\n")), width, "", "")
	}
	rows := [][]string{cells(lines[0])}
	for _, line := range lines[2:] {
		rows = append(rows, cells(line))
	}
	right := make([]bool, len(rows[0]))
	for i, c := range cells(lines[1]) {
		if i < len(right) {
			right[i] = strings.HasSuffix(c, ":") && !strings.HasPrefix(c, ":")
		}
	}
	return setRows(rows, right, width)
}

// Table sets rows in columns, the first row being their headings; or, where
// they don't fit, each row as a list of "heading: cell", so that no cell is cut
// and no unit lost.
func Table(rows [][]string, width int) string {
	clean := make([][]string, len(rows))
	for i, row := range rows {
		for _, c := range row {
			clean[i] = append(clean[i], CleanLine(c))
		}
	}
	return setRows(clean, make([]bool, len(rows[0])), width)
}

func setRows(rows [][]string, right []bool, width int) string {
	widths := make([]int, len(rows[0]))
	total := 2 * (len(widths) - 1)
	for i := range widths {
		for _, row := range rows {
			widths[i] = max(widths[i], columns(cell(row, i)))
		}
		total += widths[i]
	}
	if total <= width {
		return inColumns(rows, widths, right)
	}
	return asList(rows, width)
}

func cells(line string) []string {
	line = strings.TrimSuffix(strings.TrimPrefix(strings.TrimSpace(line), "|"), "|")
	var row []string
	for _, c := range strings.Split(strings.ReplaceAll(line, `\|`, "\x00"), "|") {
		row = append(row, inline(strings.TrimSpace(strings.ReplaceAll(c, "\x00", "|"))))
	}
	return row
}

func cell(row []string, i int) string {
	if i < len(row) {
		return row[i]
	}
	return ""
}

func inColumns(rows [][]string, widths []int, right []bool) string {
	var b strings.Builder
	for n, row := range rows {
		var parts, line []string
		for i, w := range widths {
			c := pad(cell(row, i), w)
			if right[i] {
				c = strings.Repeat(" ", w-columns(cell(row, i))) + cell(row, i)
			}
			parts = append(parts, c)
			line = append(line, strings.Repeat("-", w))
		}
		b.WriteString(strings.TrimRight(strings.Join(parts, "  "), " ") + "\n")
		if n == 0 {
			b.WriteString(strings.Join(line, "  ") + "\n")
		}
	}
	return b.String()
}

func asList(rows [][]string, width int) string {
	var b strings.Builder
	for n, row := range rows[1:] {
		if n > 0 {
			b.WriteByte('\n')
		}
		for i := range rows[0] {
			head, text := rows[0][i], cell(row, i)
			if text == "" {
				continue
			}
			if head != "" {
				text = head + ": " + text
			}
			indent := "  "
			if i == 0 {
				indent = ""
			}
			b.WriteString(Wrap(text, width, indent, "    "))
		}
	}
	return b.String()
}

var (
	literal = regexp.MustCompile("\\\\[!-/:-@\\[-`{-~]|`[^`]+`")
	aside   = regexp.MustCompile(`\x00\d+\x00`)
	link    = regexp.MustCompile(`(!?)\[([^\]]*)\]\(([^()\s]+)\)`)
	strong  = regexp.MustCompile(`\*\*([^*\s](?:[^*]*[^*\s])?)\*\*|__([^_\s](?:[^_]*[^_\s])?)__`)
	stress  = regexp.MustCompile(`\*([^*\s](?:[^*]*[^*\s])?)\*`)
	named   = strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&", "&quot;", `"`, "&nbsp;", " ")
)

// inline takes the marks out of a run of text. Text in backquotes and
// characters behind a backslash are kept as they are: they are set aside while
// the marks are looked for.
func inline(text string) string {
	var kept []string
	keep := func(s string) string {
		kept = append(kept, s)
		return "\x00" + strconv.Itoa(len(kept)-1) + "\x00"
	}
	text = literal.ReplaceAllStringFunc(text, func(m string) string {
		if m[0] == '\\' {
			return keep(m[1:])
		}
		return keep(strings.Trim(m, "`"))
	})
	text = link.ReplaceAllStringFunc(text, func(m string) string {
		part := link.FindStringSubmatch(m)
		switch label := part[2]; {
		case label == part[3]:
			return keep(label)
		case part[1] != "":
			return "picture: " + label + " (" + keep(part[3]) + ")"
		default:
			return label + " (" + keep(part[3]) + ")"
		}
	})
	text = strong.ReplaceAllString(text, "$1$2")
	text = stress.ReplaceAllString(text, "$1")
	text = named.Replace(text)
	for aside.MatchString(text) {
		text = aside.ReplaceAllStringFunc(text, func(m string) string {
			n, _ := strconv.Atoi(strings.Trim(m, "\x00"))
			return kept[n]
		})
	}
	return text
}
