package table

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"dropwalk/engine/strictyaml"
)

// Bounds of what is read.
const (
	headSize   = 128 << 10 // the form is found in so many bytes
	bufferSize = 1 << 20
	mostLine   = bufferSize / 2
	mostColumn = 1000
	shownFault = 3  // faults kept of one column
	shownTotal = 30 // of the whole table
)

// noPoint is a decimal sign that no text has.
const noPoint = 0xff

// Reader gives one row after the other.
type Reader struct {
	Form

	name    string
	in      io.Reader
	buf     []byte
	at, end int // what is not read yet: buf[at:end]
	done    bool
	failed  error // of in

	columns []Column
	row     []float64
	line    int // of the row that was given last
	passed  int // lines read so far
	point   byte
	days    []float64 // midnights that passed, in seconds, by column
	clocks  []float64 // last time of day, by column
	faults  strictyaml.Faults
	bad     []int // cells that are no number, by column
	wide    int   // rows with too many cells
}

// Open looks at the beginning of a text and finds its form. The error is
// strictyaml.Faults where the text is no table of numbers.
func Open(name string, in io.Reader) (*Reader, error) {
	r := &Reader{name: name, in: in, buf: make([]byte, bufferSize)}
	r.fill(headSize)
	if r.failed != nil {
		return nil, r.failed
	}
	encoding, mark := encodingOf(r.buf[:r.end])
	r.at = mark
	if encoding == UTF16LE || encoding == UTF16BE {
		rest := append([]byte(nil), r.buf[mark:r.end]...)
		var all io.Reader = bytes.NewReader(rest)
		if !r.done {
			all = io.MultiReader(all, in)
		}
		*r = Reader{name: name, in: newUTF16(all, encoding == UTF16BE), buf: r.buf}
		r.fill(headSize)
	}
	return r, r.start(encoding)
}

// start finds the form and stands before the first row of numbers.
func (r *Reader) start(encoding string) error {
	head := r.buf[r.at:r.end]
	if at := bytes.IndexByte(head, 0); at >= 0 {
		return r.noTable("it is no text: a byte of nought stands in it", "CSV, as recorders write it")
	}
	head, sep := cutSeparator(head)
	form, columns, ok := findForm(sample(head, r.done))
	switch {
	case len(bytes.TrimSpace(head)) == 0:
		return r.noTable("it is empty", "a table of numbers")
	case !ok:
		return r.noTable("no table of numbers was found in it", "columns parted by a comma, semicolon, tab or |, with time in one of them")
	case len(columns) > mostColumn:
		return r.noTable(fmt.Sprintf("it has %d columns", len(columns)), fmt.Sprintf("at most %d", mostColumn))
	}
	form.Encoding = encoding
	r.Form, r.columns = form, columns
	r.FirstLine += sep
	if r.HeadLine > 0 {
		r.HeadLine += sep
	}
	r.point = '.'
	switch {
	case form.DecimalComma && form.Delimiter == ',':
		r.point = noPoint // "12,5" in quotes is one cell, 12,5 is two
	case form.DecimalComma:
		r.point = ','
	}
	r.row = make([]float64, len(columns))
	r.days, r.clocks, r.bad = make([]float64, len(columns)), make([]float64, len(columns)), make([]int, len(columns))
	for r.passed < r.FirstLine-1 {
		if _, ok := r.nextLine(); !ok {
			break
		}
	}
	return nil
}

// cutSeparator cuts a first line off that says which delimiter follows,
// "sep=;", as some spreadsheets want it. It returns how many lines it cut.
func cutSeparator(head []byte) ([]byte, int) {
	first, rest, found := bytes.Cut(head, []byte("\n"))
	if found && len(first) < 8 && bytes.HasPrefix(bytes.ToLower(first), []byte("sep=")) {
		return rest, 1
	}
	return head, 0
}

func (r *Reader) noTable(what, expected string) error {
	return strictyaml.Faults{{File: r.name, What: what, Expected: expected}}
}

// Columns are those of the table, from left to right.
func (r *Reader) Columns() []Column { return r.columns }

// Line is the line of the row that was given last, counted from 1.
func (r *Reader) Line() int { return r.line }

// Next gives the next row, NaN for an empty cell; the slice is used again by
// the next call. It returns nil at the end, or where reading fails; see Err.
func (r *Reader) Next() []float64 {
	for {
		text, ok := r.nextLine()
		if !ok {
			return nil
		}
		if len(text) == 0 || text[0] == '#' || text[0] == '/' && isComment(text) {
			continue
		}
		r.line = r.passed
		if r.take(text) {
			return r.row
		}
	}
}

// Err is what broke the reading off, nil at a proper end.
func (r *Reader) Err() error { return r.failed }

// Faults are the cells and rows that could not be read, with their places; of
// each column the first few, then how many more there were. Columns of words
// have none.
func (r *Reader) Faults() strictyaml.Faults {
	list := r.faults.Sorted()
	for i, n := range r.bad {
		if n > shownFault {
			list = append(list, strictyaml.Fault{File: r.name, Warning: true,
				What: fmt.Sprintf("%d more cells of column %q are no number; they count as empty", n-shownFault, r.columns[i].Name)})
		}
	}
	return list
}

// Bad is how many cells of a column were no number.
func (r *Reader) Bad(column int) int { return r.bad[column] }

// fill reads until so many bytes are there or the text ends.
func (r *Reader) fill(want int) {
	if r.at > 0 {
		copy(r.buf, r.buf[r.at:r.end])
		r.at, r.end = 0, r.end-r.at
	}
	idle := 0
	for r.end < want && !r.done {
		n, err := r.in.Read(r.buf[r.end:])
		r.end += n
		if n == 0 && err == nil {
			if idle++; idle > 100 {
				err = io.ErrNoProgress
			}
		}
		if err != nil {
			r.done = true
			if !errors.Is(err, io.EOF) {
				r.failed = err
			}
		}
	}
}

// nextLine is the next line without its end. It is good until the next call.
func (r *Reader) nextLine() ([]byte, bool) {
	n := bytes.IndexByte(r.buf[r.at:r.end], '\n')
	for n < 0 && !r.done && r.end-r.at < mostLine {
		seen := r.end - r.at
		r.fill(min(seen+bufferSize/2, len(r.buf)))
		if n = bytes.IndexByte(r.buf[r.at+seen:r.end], '\n'); n >= 0 {
			n += seen
		}
	}
	switch {
	case n >= 0:
	case r.end-r.at >= mostLine:
		r.passed++
		r.fault(0, "", fmt.Sprintf("a line is longer than %d bytes", mostLine), "a table with a row a line")
		r.done, r.at = true, r.end
		return nil, false
	case r.at == r.end:
		return nil, false
	default:
		n = r.end - r.at
	}
	text := r.buf[r.at : r.at+n]
	r.at = min(r.at+n+1, r.end)
	r.passed++
	if n > 0 && text[n-1] == '\r' {
		text = text[:n-1]
	}
	return text, true
}

// take reads the cells of one line into the row. It returns false where there
// is nothing in it.
func (r *Reader) take(text []byte) bool {
	filled := false
	rest, last := text, len(r.row)-1
	for i := range r.row {
		kind := r.columns[i].Kind
		if kind == Number {
			switch v, n := quick(rest, r.point); {
			case n > 0 && n == len(rest):
				r.row[i] = v
				r.blank(i + 1)
				return true
			case n > 0 && rest[n] == r.Delimiter && i < last:
				r.row[i], filled = v, true
				rest = rest[n+1:]
				continue
			case len(rest) > 0 && rest[0] == r.Delimiter && i < last:
				r.row[i] = math.NaN()
				rest = rest[1:]
				continue
			}
		}
		cell, after, more := cutCell(rest, r.Delimiter)
		r.row[i] = r.cell(i, cell, len(text)-len(rest), text)
		filled = filled || r.row[i] == r.row[i]
		if !more {
			r.blank(i + 1)
			return filled
		}
		rest = after
	}
	r.rest(rest, text)
	return filled
}

// blank empties the row from a column on.
func (r *Reader) blank(from int) {
	for i := from; i < len(r.row); i++ {
		r.row[i] = math.NaN()
	}
}

// rest looks at what stands behind the last column: nothing, or empty cells.
func (r *Reader) rest(rest, text []byte) {
	if len(bytes.Trim(rest, string([]byte{r.Delimiter, ' '}))) == 0 {
		return
	}
	if r.wide++; r.wide <= shownFault {
		r.faultAt(text, len(text)-len(rest), "more cells than the table has columns; they were left out", fmt.Sprintf("%d cells", len(r.row)))
	}
}

// cell reads one cell that needs a closer look.
func (r *Reader) cell(i int, cell []byte, offset int, text []byte) float64 {
	switch r.columns[i].Kind {
	case Words:
		return math.NaN()
	case Clock:
		if seconds, ok := parseClock(cell); ok {
			return r.pastMidnight(i, seconds)
		}
	default:
		if v, ok := parseNumber(cell, r.DecimalComma); ok {
			return v
		}
	}
	if isEmpty(cell) {
		return math.NaN()
	}
	if r.bad[i]++; r.bad[i] <= shownFault {
		want := "a number"
		if r.columns[i].Kind == Clock {
			want = "a time such as 17:58:02.3"
		}
		r.faultAt(text, offset, fmt.Sprintf("%q in column %q counts as empty", short(cell), r.columns[i].Name), want)
	}
	return math.NaN()
}

// pastMidnight adds a day for each midnight that passed: the clock falls back
// by more than half a day.
func (r *Reader) pastMidnight(i int, seconds float64) float64 {
	const day = 24 * 3600
	if seconds < r.clocks[i]-day/2 {
		r.days[i] += day
	}
	r.clocks[i] = seconds
	return r.days[i] + seconds
}

func (r *Reader) faultAt(text []byte, offset int, what, expected string) {
	r.fault(utf8.RuneCount(text[:offset])+1, "", what, expected)
}

func (r *Reader) fault(col int, path, what, expected string) {
	if len(r.faults) < shownTotal {
		r.faults = append(r.faults, strictyaml.Fault{File: r.name, Line: r.passed, Col: max(col, 1), Path: path, What: what, Expected: expected, Warning: true})
	}
}

// short is a cell for a message.
func short(cell []byte) string {
	text := strings.TrimSpace(latin1(cell))
	if len(text) > 40 {
		return text[:40] + "..."
	}
	return strconv.QuoteToASCII(text)[1 : len(strconv.QuoteToASCII(text))-1]
}
