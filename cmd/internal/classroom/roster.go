package classroom

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
)

// Person is one row of a roster.
type Person struct {
	ID     string // made of the group and a number: nobody is called by name on a screen for all
	Name   string
	Group  string
	Drives bool // may drive; true where the roster has no such column
}

// Columns of a roster.
const (
	columnName   = "name"
	columnGroup  = "group"
	columnDrives = "drives"
)

var rosterColumns = []string{columnName, columnGroup, columnDrives}

// Bounds of a roster.
const (
	mostRoster = 1 << 20 // bytes
	mostText   = 64      // characters of a name
	mostGroup  = 16
)

// ReadRoster reads a table of people: a heading line with name and group, and drives if
// it is known who may; parted by commas, semicolons, tabs or bars. Every fault comes
// with its line and column, counted in characters.
func ReadRoster(file string, src []byte) ([]Person, strictyaml.Faults) {
	r := &rosterReader{file: file}
	switch {
	case len(src) > mostRoster:
		r.fault(1, 1, "this is too large for a roster", "at most a megabyte", "")
		return nil, r.faults
	case !utf8.Valid(src):
		line := 1 + bytes.Count(src[:firstBad(src)], []byte("\n"))
		r.fault(line, 1, "there is a character that is no UTF-8", "a table in UTF-8", `save it as "CSV UTF-8"`)
		return nil, r.faults
	}
	src = bytes.TrimPrefix(src, []byte("\xef\xbb\xbf"))
	r.in = csv.NewReader(bytes.NewReader(src))
	r.in.Comma, r.in.FieldsPerRecord = delimiter(src), -1
	head, err := r.in.Read()
	if err != nil {
		r.broken(err, "the roster is empty", "a heading line with name and group, then one person a line")
		return nil, r.faults
	}
	if !r.heading(head) {
		return nil, r.faults
	}
	people := r.rows()
	if len(people) == 0 && len(r.faults) == 0 {
		r.fault(1, 1, "nobody stands below the heading", "one person a line", "")
	}
	if len(r.faults) > 0 {
		return nil, r.faults
	}
	number := map[string]int{}
	for i := range people {
		number[people[i].Group]++
		people[i].ID = fmt.Sprintf("%s%d", people[i].Group, number[people[i].Group])
		if last := people[i].Group[len(people[i].Group)-1]; last >= '0' && last <= '9' {
			people[i].ID = fmt.Sprintf("%s-%d", people[i].Group, number[people[i].Group])
		}
	}
	return people, nil
}

func firstBad(src []byte) int {
	for i := 0; i < len(src); {
		r, n := utf8.DecodeRune(src[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return len(src)
}

// delimiter is the sign that parts the heading line.
func delimiter(src []byte) rune {
	head, _, _ := bytes.Cut(src, []byte("\n"))
	best, most := ',', 0
	for _, d := range []rune{',', ';', '\t', '|'} {
		if n := bytes.Count(head, []byte(string(d))); n > most {
			best, most = d, n
		}
	}
	return best
}

type rosterReader struct {
	file   string
	in     *csv.Reader
	at     map[string]int // place of each column
	width  int
	faults strictyaml.Faults
}

func (r *rosterReader) fault(line, col int, what, expected, hint string) {
	r.faults = append(r.faults, strictyaml.Fault{File: r.file, Line: line, Col: col, What: what, Expected: expected, Hint: hint})
}

// broken is a fault that the reader of the table found; empty and expected are for its
// end.
func (r *rosterReader) broken(err error, empty, expected string) {
	if errors.Is(err, io.EOF) {
		r.fault(1, 1, empty, expected, "")
		return
	}
	if p, ok := errors.AsType[*csv.ParseError](err); ok {
		r.fault(p.Line, p.Column, fmt.Sprintf("the table can't be read on: %v", p.Err), "a quote only around a whole cell, and two for one inside it", "")
		return
	}
	r.fault(1, 1, err.Error(), "a table", "")
}

// place is where a field stands.
func (r *rosterReader) place(field int) (line, col int) { return r.in.FieldPos(field) }

func (r *rosterReader) heading(head []string) bool {
	r.at, r.width = map[string]int{}, len(head)
	for i, cell := range head {
		name := strings.ToLower(strings.TrimSpace(cell))
		line, col := r.place(i)
		switch _, twice := r.at[name]; {
		case !slices.Contains(rosterColumns, name):
			hint := "other columns are to be taken out: who sees the class need not see them"
			if near, ok := spell.Nearest(name, rosterColumns); ok {
				hint = fmt.Sprintf("did you mean %q?", near)
			}
			r.fault(line, col, fmt.Sprintf("there is no column %q in a roster", strings.TrimSpace(cell)), "name, group and, if you like, drives", hint)
		case twice:
			r.fault(line, col, fmt.Sprintf("the column %q stands there twice", name), "each once", "")
		default:
			r.at[name] = i
		}
	}
	for _, need := range []string{columnName, columnGroup} {
		if _, ok := r.at[need]; !ok {
			r.fault(1, 1, fmt.Sprintf("the heading has no column %q", need), "a heading line such as: name,group", "")
		}
	}
	return len(r.faults) == 0
}

func (r *rosterReader) rows() []Person {
	var people []Person
	seen := map[string]int{}
	spelt := map[string]string{} // group by its small letters
	for {
		row, err := r.in.Read()
		if errors.Is(err, io.EOF) {
			return people
		}
		if err != nil {
			r.broken(err, "", "")
			return people
		}
		line, col := r.place(0)
		if len(row) != r.width {
			r.fault(line, col, fmt.Sprintf("this line has %s", cells(len(row))), fmt.Sprintf("%s, as the heading has", cells(r.width)), "")
			continue
		}
		p := Person{Name: strings.TrimSpace(row[r.at[columnName]]), Group: strings.TrimSpace(row[r.at[columnGroup]]), Drives: true}
		line, col = r.place(r.at[columnName])
		switch before, twice := seen[strings.ToLower(p.Name)]; {
		case p.Name == "":
			r.fault(line, col, "there is no name", "one person a line", "")
		case utf8.RuneCountInString(p.Name) > mostText || strictyaml.Clean(p.Name) != p.Name:
			r.fault(line, col, "this can't be a name", fmt.Sprintf("at most %d characters, none of them for control", mostText), "")
		case strings.IndexAny(p.Name, "=+-@＝＋－＠") == 0:
			r.fault(line, col, "a name that begins like a formula", "a letter first", "a spreadsheet would work it out as soon as the roster is opened")
		case twice:
			r.fault(line, col, fmt.Sprintf("%q stands in line %d already", p.Name, before), "each person once", "of two people with one name, give one another letter")
		}
		seen[strings.ToLower(p.Name)] = line
		line, col = r.place(r.at[columnGroup])
		if err := CheckGroup(p.Group); err != nil {
			r.fault(line, col, err.Error(), "letters a-z, digits and dashes, such as A or north-2", "")
		} else if first, ok := spelt[strings.ToLower(p.Group)]; ok && first != p.Group {
			r.fault(line, col, fmt.Sprintf("the group %q was written %q before", p.Group, first), "one way of writing", "")
		} else {
			spelt[strings.ToLower(p.Group)] = p.Group
		}
		r.drives(row, &p)
		people = append(people, p)
	}
}

func (r *rosterReader) drives(row []string, p *Person) {
	i, known := r.at[columnDrives]
	if !known {
		return
	}
	switch cell := strings.ToLower(strings.TrimSpace(row[i])); cell {
	case "yes", "y", "true", "x":
	case "no", "n", "false", "", "-":
		p.Drives = false
	default:
		line, col := r.place(i)
		r.fault(line, col, fmt.Sprintf("%q says neither that the person may drive nor that not", row[i]), "yes or no", "")
	}
}

func cells(n int) string {
	if n == 1 {
		return "1 cell"
	}
	return fmt.Sprintf("%d cells", n)
}

// leastAlike is how long a part of a name is from which on it is found within the name
// of a group; a shorter one has to be a whole part of it.
const leastAlike = 4

// CalledLike lists the groups that are called like somebody in the roster, each with a
// person's name. Names of groups are seen by everybody.
func CalledLike(people []Person) map[string]string {
	out := map[string]string{}
	for _, group := range Grouped(people) {
		name := strings.ToLower(group.Name)
		parts := strings.FieldsFunc(name, func(r rune) bool { return r == '-' || r >= '0' && r <= '9' })
		for _, p := range people {
			like := slices.ContainsFunc(strings.FieldsFunc(folded(p.Name), func(r rune) bool { return r < 'a' || r > 'z' }), func(word string) bool {
				return len(word) > 1 && slices.Contains(parts, word) || len(word) >= leastAlike && strings.Contains(name, word)
			})
			if like && out[group.Name] == "" {
				out[group.Name] = p.Name
			}
		}
	}
	return out
}

// plainLetters are letters of names as they are written where there are none but a to z.
var plainLetters = strings.NewReplacer("ä", "a", "à", "a", "á", "a", "â", "a", "ã", "a", "å", "a", "ç", "c", "č", "c", "ć", "c", "è", "e", "é", "e", "ê", "e", "ë", "e", "ě", "e",
	"ì", "i", "í", "i", "î", "i", "ï", "i", "ł", "l", "ñ", "n", "ń", "n", "ö", "o", "ò", "o", "ó", "o", "ô", "o", "õ", "o", "ø", "o", "ř", "r", "š", "s", "ś", "s", "ß", "ss",
	"ü", "u", "ù", "u", "ú", "u", "û", "u", "ů", "u", "ý", "y", "ž", "z", "ź", "z", "ż", "z", "'", "", "’", "")

func folded(name string) string { return plainLetters.Replace(strings.ToLower(name)) }

// CheckGroup says what is wrong with the name of a group, or nil. It becomes part of
// the names of files.
func CheckGroup(name string) error {
	ok := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-'
	}
	switch {
	case name == "":
		return errors.New("there is no group")
	case len(name) > mostGroup:
		return fmt.Errorf("the name of the group is longer than %d characters", mostGroup)
	case strings.HasPrefix(name, "-") || strings.HasSuffix(name, "-") || strings.ContainsFunc(name, func(r rune) bool { return !ok(r) }):
		return fmt.Errorf("%q can't be the name of a group", name)
	}
	return nil
}
