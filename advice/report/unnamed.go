package report

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"dropwalk/advice/sheet"
)

// leftOut stands for a text that must not be empty.
const leftOut = "(left out)"

// Unnamed is a copy of a sheet without anything that people typed as a name or
// as free text: the car is called car, pieces and gauges are called after their
// kind, readers, title, notes, reasons and costs are gone. Sizes, readings,
// dates, place and weather stay. The figures of an assessment don't depend on
// names, so the copy can be judged in place of the sheet.
func Unnamed(s *sheet.Sheet) *sheet.Sheet { return namesOf(s).clear(s) }

// UnnamedCourse is the course of a test whose sheet is s, likewise.
func UnnamedCourse(c *Course, s *sheet.Sheet) *Course { return namesOf(s).course(c) }

// PieceNames says what each piece of a sheet is called where names are left out.
func PieceNames(s *sheet.Sheet) map[string]string { return namesOf(s).pieces }

// names says what each name of a sheet is replaced by.
type names struct{ pieces, gauges map[string]string }

// gaugeKind is what a gauge is called without a name of its own.
const gaugeKind = "gauge"

func namesOf(s *sheet.Sheet) names {
	var pieces, gauges neutral
	for _, c := range s.Path {
		pieces.meet(c.Name, c.Kind)
	}
	for _, g := range s.Gauges {
		gauges.meet(g.Name, gaugeKind)
	}
	return names{pieces.names(), gauges.names()}
}

// neutral finds names after the kind: duct, duct-2. A thing that is called so
// already keeps its name.
type neutral struct {
	order [][2]string // name and kind
	taken map[string]bool
}

func (n *neutral) meet(name, kind string) {
	if n.taken == nil {
		n.taken = map[string]bool{}
	}
	n.order = append(n.order, [2]string{name, kind})
	if number, ok := strings.CutPrefix(name, kind+"-"); ok && isNumber(number) || name == kind {
		n.taken[name] = true
	}
}

func isNumber(text string) bool {
	_, err := strconv.Atoi(text)
	return err == nil && len(text) < 4
}

func (n *neutral) names() map[string]string {
	all := map[string]string{"": "", sheet.OpenAir: sheet.OpenAir}
	own := maps.Clone(n.taken)
	for _, x := range n.order {
		name, kind := x[0], x[1]
		if own[name] {
			all[name] = name
			continue
		}
		free := kind
		for i := 2; n.taken[free]; i++ {
			free = fmt.Sprintf("%s-%d", kind, i)
		}
		n.taken[free] = true
		all[name] = free
	}
	return all
}

func (n names) clear(s *sheet.Sheet) *sheet.Sheet {
	out := *s
	out.Title = ""
	if out.Car.Name != "" {
		out.Car.Name = "car"
	}
	out.Path, out.Gauges, out.Checks = slices.Clone(s.Path), slices.Clone(s.Gauges), slices.Clone(s.Checks)
	out.Readings, out.Changes = slices.Clone(s.Readings), slices.Clone(s.Changes)
	for i := range out.Path {
		c := &out.Path[i]
		c.Name, c.Cost = n.pieces[c.Name], ""
	}
	for i := range out.Gauges {
		out.Gauges[i].Name = n.gauges[out.Gauges[i].Name]
	}
	for i := range out.Checks {
		out.Checks[i].At = n.pieces[out.Checks[i].At]
	}
	for i := range out.Readings {
		n.reading(&out.Readings[i])
	}
	for i := range out.Changes {
		c := &out.Changes[i]
		c.Component = n.pieces[c.Component]
		if c.What != "" {
			c.What = leftOut
		}
	}
	return &out
}

func (n names) reading(r *sheet.Reading) {
	r.From, r.To, r.Gauge = n.pieces[r.From], n.pieces[r.To], n.gauges[r.Gauge]
	r.Reader, r.Note = "", ""
	if r.Doubtful != "" {
		r.Doubtful = leftOut
	}
}

// course takes the names out of what a record tells. What was asked holds names
// of pieces; what was typed is gone.
func (n names) course(c *Course) *Course {
	if c == nil {
		return nil
	}
	out := &Course{Program: c.Program, Ended: c.Ended, Changed: c.Changed, Owed: []Duty{}, Notes: []string{}}
	swap := n.swapper(c.Names)
	for _, d := range c.Owed {
		out.Owed = append(out.Owed, Duty{Text: swap(d.Text), Level: d.Level, Why: without(d.Why)})
	}
	open := func(list []Open) []Open {
		out := []Open{}
		for _, o := range list {
			out = append(out, Open{What: swap(o.What), Why: without(o.Why), So: swap(o.So), Check: o.Check, Times: o.Times})
		}
		return out
	}
	out.Skipped, out.Unknown = open(c.Skipped), open(c.Unknown)
	if c.LeftOut != nil {
		out.LeftOut = open(c.LeftOut)
	}
	out.Lamps = c.Lamps
	if !c.NoLamps() {
		out.Lamps = without(c.Lamps)
	}
	return out
}

// without stands for a text that somebody typed.
func without(text string) string {
	if text == "" {
		return ""
	}
	return leftOut
}

// swapper replaces whole names in a text, all at once. A name that is on the
// sheet no more becomes a word that says as much.
func (n names) swapper(ever []string) func(string) string {
	to := map[string]string{}
	for _, name := range ever {
		if name != sheet.OpenAir && name != "" {
			to[name] = leftOut
		}
	}
	for _, from := range []map[string]string{n.pieces, n.gauges} {
		for name, neutral := range from {
			if name != "" {
				to[name] = neutral
			}
		}
	}
	var order []string
	for name := range to {
		order = append(order, name)
	}
	slices.SortFunc(order, func(a, b string) int {
		return cmp.Or(cmp.Compare(len(b), len(a)), cmp.Compare(a, b))
	})
	return func(text string) string { return swapped(text, order, to) }
}

// swapped goes through a text once; the longest name counts.
func swapped(text string, order []string, to map[string]string) string {
	var b strings.Builder
	before := ' '
	for text != "" {
		name, found := nameAt(text, before, order)
		if found {
			b.WriteString(to[name])
			before, _ = utf8.DecodeLastRuneInString(name)
			text = text[len(name):]
			continue
		}
		r, size := utf8.DecodeRuneInString(text)
		b.WriteString(text[:size])
		before, text = r, text[size:]
	}
	return b.String()
}

// nameAt finds the name with which text begins, if it stands there as a whole.
func nameAt(text string, before rune, order []string) (string, bool) {
	for _, name := range order {
		rest, ok := strings.CutPrefix(text, name)
		first, _ := utf8.DecodeRuneInString(name)
		last, _ := utf8.DecodeLastRuneInString(name)
		after, _ := utf8.DecodeRuneInString(rest)
		if ok && !(inWord(before) && inWord(first)) && !(rest != "" && inWord(last) && inWord(after)) {
			return name, true
		}
	}
	return "", false
}

func inWord(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }
