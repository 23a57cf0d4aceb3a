package strictyaml

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// Fault is one thing that is wrong, with its place.
type Fault struct {
	File     string `json:"file"`
	Line     int    `json:"line"` // 1-based; 0 where the fault has no place
	Col      int    `json:"column"`
	Path     string `json:"path,omitzero"` // such as path[2].diameter; list items count from one
	What     string `json:"what"`
	Expected string `json:"expected,omitzero"`
	Hint     string `json:"hint,omitzero"` // a whole clause, such as: did you mean "limit"?
	Warning  bool   `json:"warning,omitzero"`
	Code     string `json:"code,omitzero"` // name of the rule that is broken, where rules have names
}

// MarshalJSON adds how bad the fault is as a word.
func (f Fault) MarshalJSON() ([]byte, error) {
	type plain Fault
	return json.Marshal(struct {
		plain
		Severity string `json:"severity"`
	}{plain(f), f.severity()})
}

func (f Fault) severity() string {
	if f.Warning {
		return "warning"
	}
	return "error"
}

// Error gives one line: file:line:col: path: what, expected what (hint) [code].
func (f Fault) Error() string {
	var b strings.Builder
	b.WriteString(f.place())
	if f.Path != "" {
		b.WriteString(f.Path + ": ")
	}
	if f.Warning {
		b.WriteString("warning: ")
	}
	b.WriteString(f.What)
	if f.Expected != "" {
		b.WriteString(", expected " + f.Expected)
	}
	if f.Hint != "" {
		b.WriteString(" (" + f.Hint + ")")
	}
	if f.Code != "" {
		b.WriteString(" [" + f.Code + "]")
	}
	return Clean(b.String())
}

// place is file:line:col with a colon behind it, less where less is known.
func (f Fault) place() string {
	switch {
	case f.Line > 0:
		return fmt.Sprintf("%s:%d:%d: ", f.File, f.Line, f.Col)
	case f.File != "":
		return f.File + ": "
	}
	return ""
}

// Faults is what is wrong with one text. Use Err where an error is wanted: a
// nil Faults in an error is not a nil error.
type Faults []Fault

// Error gives one line for each fault, in the order of their places.
func (fs Faults) Error() string {
	lines := make([]string, 0, len(fs))
	for _, f := range fs.Sorted() {
		lines = append(lines, f.Error())
	}
	return strings.Join(lines, "\n")
}

// Err is nil where nothing is worse than a warning.
func (fs Faults) Err() error {
	if bad := fs.Errors(); len(bad) > 0 {
		return bad
	}
	return nil
}

// Errors leaves the warnings out.
func (fs Faults) Errors() Faults { return fs.pick(false) }

// Warnings leaves everything else out.
func (fs Faults) Warnings() Faults { return fs.pick(true) }

// Coded gives the faults that have no code one.
func (fs Faults) Coded(code string) Faults {
	for i := range fs {
		fs[i].Code = cmp.Or(fs[i].Code, code)
	}
	return fs
}

func (fs Faults) pick(warning bool) Faults {
	var out Faults
	for _, f := range fs {
		if f.Warning == warning {
			out = append(out, f)
		}
	}
	return out
}

// Sorted returns the faults in the order of their places, each once.
func (fs Faults) Sorted() Faults {
	out := slices.Clone(fs)
	slices.SortStableFunc(out, func(a, b Fault) int {
		return cmp.Or(strings.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col))
	})
	return slices.Compact(out)
}

// Format prints the faults in order: "text" is one line each, "json" one JSON
// array, "github" one workflow annotation each.
func (fs Faults) Format(form string) (string, error) {
	switch form {
	case "text":
		return fs.Error(), nil
	case "json":
		out := fs.Sorted()
		if out == nil {
			out = Faults{}
		}
		b, err := json.MarshalIndent(out, "", "  ")
		return string(b), err
	case "github":
		var lines []string
		for _, f := range fs.Sorted() {
			lines = append(lines, f.annotation())
		}
		return strings.Join(lines, "\n"), nil
	}
	return "", errors.New("unknown form of faults; expected text, json or github")
}

func (f Fault) annotation() string {
	text := strings.TrimPrefix(f.Error(), Clean(f.place()))
	return fmt.Sprintf("::%s file=%s,line=%d,col=%d::%s", f.severity(), Clean(f.File), f.Line, f.Col, text)
}

// Quote returns the lines of src at which the faults stand, each with a mark
// below the place, ready to print under Error. Empty where the place lies
// outside src.
func (f Fault) Quote(src []byte, firstLine int) string {
	lines := splitLines(string(src))
	at := f.Line - firstLine
	if at < 0 || at >= len(lines) {
		return ""
	}
	line := []rune(Clean(strings.ReplaceAll(lines[at], "\t", " ")))
	col := min(max(f.Col, 1), len(line)+1)
	const width = 60 // enough of the line to find the place, short enough for a telephone
	from := max(0, col-width/2)
	to := min(len(line), from+width)
	return fmt.Sprintf("  %d | %s\n  %*s | %*s", f.Line, string(line[from:to]), len(fmt.Sprint(f.Line)), "", col-from, "^")
}

// Clean replaces what a terminal might obey, control characters and marks that
// change the direction of writing, with a question mark.
func Clean(s string) string {
	if strings.IndexFunc(s, harmful) < 0 {
		return s
	}
	return strings.Map(func(r rune) rune {
		if harmful(r) {
			return '?'
		}
		return r
	}, s)
}

// harmful tells whether r has no business in a name or a line of text.
func harmful(r rune) bool {
	switch {
	case unicode.IsControl(r), r == '\u2028', r == '\u2029', r == '\uFEFF', r == '\uFFFE', r == '\uFFFF':
		return true
	case r >= '\u202A' && r <= '\u202E', r >= '\u2066' && r <= '\u2069', r == '\u200E', r == '\u200F', r == '\u061C':
		return true
	}
	return false
}
