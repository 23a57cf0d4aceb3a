package sheet

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"

	"dropwalk/engine/strictyaml"
)

// ReadAll reads one sheet after another from r and yields each, or its faults
// where it has any (the sheet is then nil; warnings come with a sheet). It
// stops where yield returns false.
//
// A stream that begins with { is JSON, one object after another. Anything else
// is YAML, split at lines that begin with --- before parsing, so that a fault
// in one sheet can't hide the next. Lines are counted through the whole stream.
// No more than one sheet is held in memory; one of more than 1 MiB is refused
// and passed over.
func ReadAll(file string, r io.Reader, yield func(*Sheet, strictyaml.Faults) bool) {
	in := &lineReader{r: bufio.NewReaderSize(r, 64<<10)}
	var parts interface{ next() (parsed, bool) } = &yamlParts{file: file, in: in}
	if first := in.firstByte(); first == '{' {
		parts = &jsonParts{file: file, in: in}
	}
	found := false
	for {
		p, ok := parts.next()
		if !ok {
			break
		}
		found = true
		if !yield(fromTree(file, p)) {
			return
		}
	}
	switch {
	case in.err != nil && !errors.Is(in.err, io.EOF):
		yield(nil, placed(file, in.number+1, "reading broke off: "+in.err.Error(), "the rest of the file"))
	case !found:
		yield(nil, placed(file, 1, "no sheet stands here", "a test sheet, which begins with sheet: 1"))
	}
}

func placed(file string, line int, what, expected string) strictyaml.Faults {
	return strictyaml.Faults{{File: file, Line: line, Col: 1, What: what, Expected: expected}}
}

func tooLarge(file string, line int) parsed {
	return parsed{nil, placed(file, line, "the sheet that begins here is too large", fmt.Sprintf("at most %d KiB", strictyaml.MaxBytes/1024))}
}

// lineReader reads lines with their ends and counts them. Of a line longer than
// a whole sheet may be it keeps only so much that the sheet is refused.
type lineReader struct {
	r      *bufio.Reader
	number int // of the line read last
	err    error
	again  []byte // a line that was given back
	back   bool
}

// firstByte is the first byte of the stream that shows, 0 where there is none.
// The byte order mark and blank lines are passed over and stay to be read.
func (l *lineReader) firstByte() byte {
	for n := 1; ; n++ {
		peek, err := l.r.Peek(n)
		if len(peek) < n {
			return 0
		}
		rest := bytes.TrimLeft(bytes.TrimPrefix(peek, []byte("\uFEFF")), " \t\r\n")
		if len(rest) > 0 && (n >= 3 || peek[0] != 0xEF) {
			return rest[0]
		}
		if err != nil {
			return 0
		}
	}
}

// next returns the next line, which is good until the call after. A lone
// carriage return ends no line here; the parser sees to that.
func (l *lineReader) next() ([]byte, bool) {
	if l.back {
		l.back = false
		l.number++
		return l.again, true
	}
	line := l.again[:0]
	for {
		part, err := l.r.ReadSlice('\n')
		if len(line) <= strictyaml.MaxBytes {
			line = append(line, part...)
		}
		if errors.Is(err, bufio.ErrBufferFull) {
			continue
		}
		if err != nil {
			l.err = err
		}
		break
	}
	l.again = line
	if len(line) == 0 {
		return nil, false
	}
	l.number++
	return line, true
}

// unread gives the line read last back.
func (l *lineReader) unread() { l.back = true; l.number-- }

// yamlParts splits a YAML stream.
type yamlParts struct {
	file string
	in   *lineReader
	buf  []byte
}

var separator = []byte("---")

func (y *yamlParts) next() (parsed, bool) {
	for {
		start := y.in.number + 1
		y.buf = y.buf[:0]
		shows, large := false, false
		for {
			line, ok := y.in.next()
			if !ok {
				break
			}
			if bytes.HasPrefix(line, separator) {
				if y.in.number > start || len(y.buf) > 0 {
					y.in.unread()
					break
				}
				line = behindSeparator(line)
			}
			shows = shows || says(line)
			if large = large || len(y.buf)+len(line) > strictyaml.MaxBytes; !large {
				y.buf = append(y.buf, line...)
			}
		}
		switch {
		case large:
			return tooLarge(y.file, start), true
		case shows:
			return one(strictyaml.ParseYAML(y.file, y.buf, start)), true
		case y.in.number < start:
			return parsed{}, false
		}
	}
}

// behindSeparator blanks the dashes at the start of a line, so that what stands
// behind them keeps its column.
func behindSeparator(line []byte) []byte {
	dashes := len(line) - len(bytes.TrimLeft(line, "-"))
	return append(bytes.Repeat([]byte(" "), dashes), line[dashes:]...)
}

// says tells whether a line holds anything but a comment, a directive or the
// mark of an end.
func says(line []byte) bool {
	text := bytes.TrimSpace(bytes.TrimPrefix(line, []byte("\uFEFF")))
	return len(text) > 0 && text[0] != '#' && line[0] != '%' && !bytes.Equal(text, []byte("..."))
}

// jsonParts splits a stream of JSON objects. Where an object is broken it goes
// on at the next line that looks like the start of a sheet. A line is gathered
// mostLooks times at most, so that the work grows with the length of the stream
// whatever stands in it.
type jsonParts struct {
	file   string
	in     *lineReader
	lines  []jsonLine // read and not yet used, from the start of an object on
	passed int        // the first line that may begin a sheet and was given up; 0 none
	looks  int        // lines gathered so far, each as often as it was
	broken int        // objects since the last that has a version
}

// jsonLine is one line, or the rest of one.
type jsonLine struct {
	text        []byte
	number, col int
	looks       int // how many objects it was gathered for
}

const (
	// mostLooks is for how many broken objects a line may be gathered. The
	// brackets that stay open in so many in a row are more than slips of a hand.
	mostLooks = 8
	// mostBroken is how many objects in a row that are broken, or no sheets, are
	// told one by one. After that only what is surely a sheet is one.
	mostBroken = 1000
)

func (j *jsonParts) next() (parsed, bool) {
	if j.passed > 0 {
		return j.givenUp(), true
	}
	if !j.skipBlank() {
		return parsed{}, false
	}
	first := j.lines[0]
	end, large := j.gather()
	switch {
	case large:
		j.resume(1)
		return tooLarge(j.file, first.number), true
	case first.text[0] != '{':
		j.resume(1)
		return parsed{nil, strictyaml.Faults{{File: j.file, Line: first.number, Col: first.col,
			What: fmt.Sprintf("%q where a sheet should begin", []rune(string(first.text))[0]), Expected: "{ or the end of the file"}}}, true
	}
	n, faults := strictyaml.ParseJSONAt(j.file, j.join(end), first.number, first.col)
	switch {
	case n != nil && n.Get("sheet") != nil:
		j.broken = 0
		j.cut(end)
	case n != nil:
		j.cut(end)
		j.alien()
	case end.line > 0 && j.surely(end.line):
		j.resume(end.line)
	default:
		j.resume(1)
	}
	return parsed{n, faults}, true
}

// alien counts an object that is no sheet, and goes on where it was one too many.
func (j *jsonParts) alien() {
	if j.broken++; j.broken < mostBroken {
		return
	}
	if len(bytes.TrimSpace(j.lines[0].text)) > 0 {
		j.passed = j.lines[0].number
	}
	j.resume(0)
}

// givenUp tells of the lines that resume gave up.
func (j *jsonParts) givenUp() parsed {
	p := parsed{nil, strictyaml.Faults{{File: j.file, Line: j.passed, Col: 1,
		What: "what begins here is passed over", Expected: `an object whose first key is "sheet"`,
		Hint: "too many objects that are broken, or no sheets, stand before it"}}}
	j.passed = 0
	return p
}

// position is a byte in the gathered lines: just behind the end of an object.
type position struct{ line, at int }

// skipBlank drops blank space and reads on until something shows.
func (j *jsonParts) skipBlank() bool {
	for {
		for len(j.lines) > 0 {
			l := &j.lines[0]
			rest := bytes.TrimLeft(bytes.TrimPrefix(l.text, []byte("\uFEFF")), " \t\r\n")
			if len(rest) > 0 {
				l.col += columns(l.text[:len(l.text)-len(rest)])
				l.text = rest
				return true
			}
			j.lines = j.lines[1:]
		}
		if !j.read() {
			return false
		}
	}
}

// columns counts the runes of s but for a byte order mark, which has no column.
func columns(s []byte) int { return len([]rune(string(bytes.TrimPrefix(s, []byte("\uFEFF"))))) }

func (j *jsonParts) read() bool {
	line, ok := j.in.next()
	if ok {
		j.lines = append(j.lines, jsonLine{bytes.Clone(line), j.in.number, 1, 0})
	}
	return ok
}

// gather reads lines until the object that begins the first of them has ended
// or can no longer end well: a quote that a line leaves open, another sheet
// that begins inside it, too much depth, too many bytes, or the end of the file.
func (j *jsonParts) gather() (end position, large bool) {
	depth, size := 0, 0
	for i := 0; j.has(i); i++ {
		j.lines[i].looks++
		j.looks++
		text := j.lines[i].text
		if size += len(text); size > strictyaml.MaxBytes {
			return position{i, len(text)}, true
		}
		at, open := ended(text, &depth)
		if at >= 0 {
			return position{i, at}, false
		}
		if open || depth > strictyaml.MaxDepth+1 || i == 0 && text[0] != '{' || i > 0 && j.surely(i) {
			return position{i, len(text)}, false
		}
	}
	return position{len(j.lines) - 1, len(j.lines[len(j.lines)-1].text)}, false
}

// has tells whether there is an i-th line, and reads it if need be.
func (j *jsonParts) has(i int) bool { return i < len(j.lines) || j.read() }

var (
	versionKey = regexp.MustCompile(`^\s*"sheet"\s*:`)
	sheetStart = regexp.MustCompile(`^\s*\{\s*"sheet"\s*:`)
)

// surely tells whether a sheet begins with the i-th line, whatever stands
// before: no sheet holds an object whose first key is the version.
func (j *jsonParts) surely(i int) bool {
	text := j.lines[i].text
	if len(bytes.TrimSpace(text)) == 1 {
		return bytes.TrimSpace(text)[0] == '{' && j.has(i+1) && versionKey.Match(j.lines[i+1].text)
	}
	return sheetStart.Match(text)
}

// ended follows the brackets of one line and returns the place just behind the
// one that brings the depth to nought, else -1; open tells of a quote that the
// line leaves open.
func ended(text []byte, depth *int) (at int, open bool) {
	quoted := false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{' || c == '[':
			*depth++
		case c == '}' || c == ']':
			if *depth--; *depth <= 0 {
				return i + 1, false
			}
		}
	}
	return -1, quoted
}

// join returns the text up to end.
func (j *jsonParts) join(end position) []byte {
	var b []byte
	for i := 0; i < end.line; i++ {
		b = append(b, j.lines[i].text...)
	}
	return append(b, j.lines[end.line].text[:end.at]...)
}

// cut drops the text up to end.
func (j *jsonParts) cut(end position) {
	j.lines = j.lines[end.line:]
	l := &j.lines[0]
	l.col += columns(l.text[:end.at])
	l.text = l.text[end.at:]
}

// resume drops lines from the from-th on until one looks like the start of a
// sheet. One that stands behind too much that is broken is given up.
func (j *jsonParts) resume(from int) {
	j.broken++
	j.lines = j.lines[from:]
	for {
		for i, l := range j.lines {
			switch {
			case l.col != 1 || !beginsSheet(l.text):
			case l.looks < mostLooks && (j.broken < mostBroken || j.surely(i)):
				j.lines = j.lines[i:]
				return
			case j.passed == 0:
				j.passed = l.number
			}
		}
		j.lines = j.lines[:0]
		if !j.read() {
			return
		}
	}
}

// beginsSheet tells whether a line looks like the start of a sheet rather than
// of an object inside one: it opens a bracket and either stops there or names
// the version.
func beginsSheet(line []byte) bool {
	line = bytes.TrimSpace(line)
	return len(line) == 1 && line[0] == '{' || len(line) > 1 && line[0] == '{' && bytes.Contains(line, []byte(`"sheet"`))
}
