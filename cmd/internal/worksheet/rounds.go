package worksheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"dropwalk/advice/report"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// Limits of a table of rounds: what the margins of A4 leave, in mm, and rows beyond
// which another sheet is taken.
const (
	tableWidth = 176
	mostRows   = 10
)

// rounds writes steps that are repeated: as a table with a row for each round
// where they fit one, else one block after the other.
func (m *maker) rounds(s *engine.Step, after string) {
	rule := fmt.Sprintf("at least %d, at most %d", s.AtLeast, s.AtMost)
	if s.AtLeast == s.AtMost {
		rule = fmt.Sprint(s.AtMost)
	}
	name := m.called(s)
	if m.tabular(s) {
		m.put("**%s: a row each, %s.**\n\n", name, rule)
		m.table = s
		m.steps(s.Each, "the next row")
		m.table = nil
		m.rowsOf(s)
		return
	}
	known := m.known(s)
	blocks := m.blocks(s, len(known))
	m.put("**%s: a block each, %s.**", name, rule)
	if blocks < s.AtMost && len(known) == 0 {
		m.put(" More than stand here: print or copy the last block once more.")
	}
	m.put("\n\n")
	outer := m.values
	for n := 1; n <= blocks; n++ {
		if m.values = outer; n <= len(known) {
			m.values = known[n-1]
		}
		m.put("### %s, block %d:%s\n\n", name, n, m.heading(s))
		next := after
		if n < blocks {
			next = "the next block"
		}
		m.steps(s.Each, next)
	}
	m.values = outer
}

// blocks is how many blocks are printed, where so many are known.
func (m *maker) blocks(s *engine.Step, known int) int {
	if m.o.Rounds > 0 || known == 0 {
		return min(s.AtMost, max(s.AtLeast, cmp.Or(m.o.Rounds, usualRounds)))
	}
	return known
}

// heading tells one block from another.
func (m *maker) heading(s *engine.Step) string {
	list := m.offered(s)
	if len(list) > 1 {
		list = slices.DeleteFunc(list, func(f subject.Fact) bool { return m.values[f.Name] != "" && !keyed(m.sourceOf(s), f.Name) })
	}
	text := ""
	for _, f := range list {
		switch value := m.values[f.Name]; {
		case value == "":
			text += " " + f.Name + " " + medium
		case value != "" && len(list) == 1:
			text += " " + report.Escape(value)
		default:
			text += " " + f.Name + " " + report.Escape(value)
		}
	}
	return text
}

func (m *maker) sourceOf(s *engine.Step) subject.Source {
	source, _ := m.o.Matter.Source(s.Source)
	return source
}

func keyed(source subject.Source, name string) bool {
	return slices.ContainsFunc(source.Keys, func(k subject.Key) bool { return k.Name == name })
}

// known are the values of the rounds that are known before anything is answered,
// in their order: what is offered with what an earlier document has, and where a
// choice tells one from another, its choices.
func (m *maker) known(s *engine.Step) []map[string]string {
	source := m.sourceOf(s)
	list := m.aheadOf(s, source)
	for _, f := range source.Values {
		if len(source.Keys) == 1 && source.Keys[0].Name == f.Name {
			for _, choice := range f.Choices[min(len(list), len(f.Choices)):min(s.AtMost, len(f.Choices))] {
				list = append(list, map[string]string{f.Name: choice})
			}
		}
	}
	return list
}

// aheadOf are the values of the rounds that an earlier document settles.
func (m *maker) aheadOf(s *engine.Step, source subject.Source) []map[string]string {
	if source.Ahead == "" || m.settled(source.Ahead).Word != "yes" {
		return nil
	}
	var list []map[string]string
	entries := slices.Clone(m.o.Given)
	for len(list) < s.AtMost {
		offer, ok := m.o.Matter.Look(entries).Offer(s.Source, subject.Round{Done: len(list), Least: s.AtLeast, Values: m.values})
		if !ok {
			break
		}
		list = append(list, offer.Values)
		for _, p := range offer.Parts {
			entries = append(entries, subject.Entry{Path: p.Path, Row: fmt.Sprintf("%s.%d", s.ID, len(list)), Text: p.Text})
		}
	}
	return list
}

// called names rounds by what their rows are called elsewhere.
func (m *maker) called(s *engine.Step) string {
	if source, _ := m.o.Matter.Source(s.Source); source.Rows != "" {
		return strings.ToUpper(source.Rows[:1]) + source.Rows[1:]
	}
	return "Round " + s.ID
}

// tabular tells whether a round fits a row.
func (m *maker) tabular(s *engine.Step) bool {
	inner := slices.ContainsFunc(s.Each, func(s *engine.Step) bool { return s.Kind == engine.Rounds })
	width := 0.0
	for _, c := range m.columns(s) {
		width += c.width()
	}
	return !inner && width <= tableWidth
}

// column is a column of a table of rounds.
type column struct{ head, cell string }

// width is what a column takes at least, in mm, as worksheet.css sets it: its
// heading breaks between words, its boxes stand below one another.
func (c column) width() float64 {
	const letter, padding = 2.2, 5.0 // of bold 9.5 point, at its widest
	widest := 0
	for word := range strings.FieldsSeq(c.head) {
		widest = max(widest, len(word))
	}
	least := max(8, letter*float64(widest))
	for blank, mm := range map[string]float64{short: 14, medium: 22, long: 42} {
		if strings.Contains(c.cell, blank) {
			least = max(least, mm)
		}
	}
	return least + padding
}

// columns are those of the rounds of s: their number, what tells one from
// another, and what is ticked or filled in at each step.
func (m *maker) columns(s *engine.Step) []column {
	list := []column{{"no.", ""}}
	for _, f := range m.offered(s) {
		list = append(list, column{f.Name, medium})
	}
	for _, step := range s.Each {
		if m.leftOut(step.When) {
			continue
		}
		switch step.Kind {
		case engine.Do:
			list = append(list, column{step.Number, box})
		case engine.Hold:
			list = append(list, column{step.Number + " hold", strings.Repeat(box+" ", max(1, len(step.Lines))) + short})
			if m.o.Signs != "" {
				list = append(list, column{step.Number + " " + m.o.Signs, short})
			}
		case engine.Ask:
			list = append(list, m.askColumns(step)...)
		}
	}
	return list
}

func (m *maker) askColumns(s *engine.Step) []column {
	var list []column
	units := m.unitsOf(s)
	for i, path := range s.Fills {
		f, _ := m.o.Matter.Field(path)
		c := column{s.Number + " " + word(path), medium}
		switch {
		case len(f.Choices) > 0:
			c.cell = box + " " + strings.Join(m.offeredAt(path), " "+box+" ")
		case !measured(f):
			c.cell = long
		case units[i] != "" && units[i] != word(path):
			c.head += ", " + units[i]
		}
		list = append(list, c)
	}
	return list
}

// rowsOf writes the table.
func (m *maker) rowsOf(s *engine.Step) {
	list := m.columns(s)
	var heads, rules []string
	for _, c := range list {
		heads, rules = append(heads, c.head), append(rules, "---")
	}
	row := func(cells []string) { m.put("| %s |\n", strings.Join(cells, " | ")) }
	row(heads)
	row(rules)
	n := min(s.AtMost, max(s.AtLeast, mostRows))
	for i := range n {
		cells := []string{fmt.Sprint(i + 1)}
		for _, c := range list[1:] {
			cells = append(cells, c.cell)
		}
		row(cells)
	}
	m.put("\n")
	if n < s.AtMost {
		m.put("More: on the back, in the same columns.\n\n")
	}
}
