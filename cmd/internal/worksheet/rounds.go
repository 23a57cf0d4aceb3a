package worksheet

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/engine"
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
	blocks := min(s.AtMost, max(s.AtLeast, m.o.Rounds))
	m.put("**%s: a block each, %s.** More than stand here: print or copy the last block once more.\n\n", name, rule)
	brief := m.brief
	for n := 1; n <= blocks; n++ {
		m.put("### %s, block %d:", name, n)
		for _, f := range m.offered(s) {
			m.put(" %s %s", f.Name, medium)
		}
		m.put("\n\n")
		next := after
		if n < blocks {
			next = "the next block"
		}
		m.brief = brief || n > 1
		m.steps(s.Each, next)
	}
	m.brief = brief
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
