package table

import (
	"bytes"
	"slices"
	"strconv"
	"strings"
)

// Kind is how the cells of a column are written.
type Kind int

// Kinds of column.
const (
	Number Kind = iota
	Clock       // 17:58:02.288, also behind a date; given as seconds since the midnight before the first
	Words       // text; not read, given as empty
)

// Column is one column of the table.
type Column struct {
	Name string // as in the head, without its unit; "column 3" where the table has no head
	Unit string // as written, "" where none is
	Kind Kind
}

// Full is the name with its unit, as most heads have it.
func (c Column) Full() string {
	if c.Unit == "" {
		return c.Name
	}
	return c.Name + " [" + c.Unit + "]"
}

// Form is how a table is written.
type Form struct {
	Encoding     string
	Delimiter    byte
	DecimalComma bool
	Head         bool // the table has a row of names
	HeadLine     int  // line of the names, 0 if none
	FirstLine    int  // line of the first row of numbers
}

// delimiters in the order in which they win a draw.
const delimiters = "\t;|,"

// sampled is how many lines are looked at to find the form.
const sampled = 400

// line is one line of the sample.
type line struct {
	number int
	text   []byte
}

// sample cuts the beginning of the text into lines, leaving out comments and
// blank lines, and the last if it is cut off.
func sample(head []byte, whole bool) []line {
	var list []line
	for n := 1; len(head) > 0 && len(list) < sampled; n++ {
		text, rest, ended := bytes.Cut(head, []byte("\n"))
		if !ended && !whole {
			break
		}
		head = rest
		text = bytes.TrimSuffix(text, []byte("\r"))
		if !isComment(text) {
			list = append(list, line{n, text})
		}
	}
	return list
}

// isComment tells whether a line says nothing about the table: a blank one, or
// one that begins with # or //.
func isComment(text []byte) bool {
	text = bytes.TrimLeft(text, " \t")
	return len(text) == 0 || text[0] == '#' || bytes.HasPrefix(text, []byte("//"))
}

// findForm finds delimiter, decimal sign and head from the sample. It returns
// false where nothing looks like a table of numbers.
func findForm(lines []line) (Form, []Column, bool) {
	best, bestScore := Form{}, 0
	var columns []Column
	for i := range len(delimiters) {
		for _, comma := range []bool{false, true} {
			f := Form{Delimiter: delimiters[i], DecimalComma: comma}
			if cols, score := f.fit(lines); score > bestScore {
				best, bestScore, columns = f, score, cols
			}
		}
	}
	return best, columns, bestScore > 0
}

// fit reads the sample in one form. The score is how many cells it makes sense
// of: those that are numbers or times, in columns that mostly are.
func (f *Form) fit(lines []line) ([]Column, int) {
	rows := make([][]string, len(lines))
	for i, l := range lines {
		rows[i] = f.split(l.text)
	}
	width := usualWidth(rows)
	first := slices.IndexFunc(rows, func(cells []string) bool { return f.isData(cells, width) })
	if width < 2 || first < 0 {
		return nil, 0
	}
	f.FirstLine = lines[first].number
	columns := make([]Column, width)
	head := f.findHead(rows[:first], width)
	if head >= 0 {
		f.Head, f.HeadLine = true, lines[head].number
		width = max(width, filled(rows[head]))
		columns = make([]Column, width)
		f.name(columns, rows[head:first])
	}
	for i := range columns {
		if columns[i].Name == "" {
			columns[i].Name = "column " + strconv.Itoa(i+1)
		}
	}
	return columns, f.kinds(columns, rows[first:])
}

// usualWidth is the number of cells that most lines have, not counting empty
// ones at the end of the line.
func usualWidth(rows [][]string) int {
	count := map[int]int{}
	for _, cells := range rows {
		count[filled(cells)]++
	}
	width, most := 0, 0
	for w, n := range count {
		if n > most || n == most && w > width {
			width, most = w, n
		}
	}
	return width
}

// filled is the number of cells up to the last that isn't empty.
func filled(cells []string) int {
	for i := len(cells); i > 0; i-- {
		if cells[i-1] != "" {
			return i
		}
	}
	return 0
}

// isData tells whether a line is a row of numbers: more than half of what is
// filled, or half of it in a line that is as wide as the table.
func (f *Form) isData(cells []string, width int) bool {
	good, full := 0, 0
	for _, c := range cells {
		if c == "" {
			continue
		}
		full++
		if kindOf(c, f.DecimalComma) != Words {
			good++
		}
	}
	wide := len(cells) >= width
	return good > 0 && len(cells) >= min(width, 2) && (2*good > full || wide && 2*good == full)
}

// findHead is the row of names among those before the numbers: the first that
// is as wide as the table, else the first that nearly is; -1 if none.
func (f *Form) findHead(before [][]string, width int) int {
	near := -1
	for i, cells := range before {
		switch n := filled(cells); {
		case n >= width:
			return i
		case near < 0 && n >= 2 && n >= width*2/3:
			near = i
		}
	}
	return near
}

// name takes names and units from the head, and units from a row below it.
func (f *Form) name(columns []Column, head [][]string) {
	for i := range columns {
		if i < len(head[0]) {
			columns[i].Name, columns[i].Unit = nameAndUnit(head[0][i])
		}
		if len(head) > 1 && i < len(head[1]) && columns[i].Unit == "" {
			columns[i].Unit = strings.Trim(head[1][i], "[](){} ")
		}
	}
}

// nameAndUnit parts "Intake pressure [kPa]", "Intake pressure (kPa)" and
// "pressure_kPa"; the last only where the end is known as a unit.
func nameAndUnit(cell string) (name, unit string) {
	for _, pair := range []string{"[]", "()", "{}"} {
		open := strings.LastIndexByte(cell, pair[0])
		if open >= 0 && strings.HasSuffix(cell, pair[1:]) {
			return strings.TrimSpace(cell[:open]), strings.TrimSpace(cell[open+1 : len(cell)-1])
		}
	}
	return cell, ""
}

// kinds finds how each column is written and counts the cells that make sense.
func (f *Form) kinds(columns []Column, rows [][]string) int {
	score := 0
	for i := range columns {
		var count [3]int
		for _, cells := range rows {
			if i < len(cells) && cells[i] != "" {
				count[kindOf(cells[i], f.DecimalComma)]++
			}
		}
		columns[i].Kind = Number
		switch most := max(count[Number], count[Clock], count[Words]); {
		case most == 0:
		case most == count[Words]:
			columns[i].Kind = Words
		case most == count[Clock]:
			columns[i].Kind = Clock
			score += 3 * count[Clock]
		default:
			// A whole number is as good as one in two halves.
			score += 3 * count[Number]
		}
		score -= count[Words]
	}
	return score
}

// kindOf tells how one cell is written.
func kindOf(cell string, comma bool) Kind {
	if isEmpty([]byte(cell)) {
		return Number
	}
	if _, ok := parseNumber([]byte(cell), comma); ok {
		return Number
	}
	if _, ok := parseClock([]byte(cell)); ok {
		return Clock
	}
	return Words
}

// split cuts one line into its cells, for the sample only.
func (f *Form) split(text []byte) []string {
	var cells []string
	for {
		cell, rest, more := cutCell(text, f.Delimiter)
		cells = append(cells, strings.TrimSpace(latin1(cell)))
		if !more {
			return cells
		}
		text = rest
	}
}

// cutCell cuts the first cell off; its quotes are taken away.
func cutCell(text []byte, delimiter byte) (cell, rest []byte, more bool) {
	trimmed := bytes.TrimLeft(text, " ")
	if len(trimmed) == 0 || trimmed[0] != '"' {
		return bytes.Cut(text, []byte{delimiter})
	}
	end, doubled := closing(trimmed)
	if end < 0 {
		return trimmed[1:], nil, false
	}
	cell = trimmed[1:end]
	if doubled {
		cell = bytes.ReplaceAll(cell, []byte(`""`), []byte(`"`))
	}
	_, rest, more = bytes.Cut(trimmed[end+1:], []byte{delimiter})
	return cell, rest, more
}

// closing is the place of the quote that ends the one text begins with, -1 if
// there is none.
func closing(text []byte) (end int, doubled bool) {
	for i := 1; i < len(text); i++ {
		if text[i] != '"' {
			continue
		}
		if i+1 < len(text) && text[i+1] == '"' {
			doubled = true
			i++
			continue
		}
		return i, doubled
	}
	return -1, doubled
}
