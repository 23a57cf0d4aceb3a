package worksheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"dropwalk/advice/report"
	"dropwalk/engine"
	"dropwalk/engine/causes"
)

// checks writes a search: what is opened for checks that need it, then the checks.
// On paper nobody works out which one tells most, so they stand in the order of
// the file, and may be made in another.
func (m *maker) checks(s *engine.Step, after string) {
	m.put("**Checks: at most %d. On screen the program picks the one that tells most for its time; on paper take the quick ones first.**\n\n", min(s.AtMost, len(s.Each)))
	if opened := m.p.Search.Openings; len(opened) > 0 {
		m.put("Only where a check asks for it, with the car %s, and once more where it was closed meanwhile:\n\n", m.at)
		m.steps(opened, m.firstOf(s.Each))
	}
	m.steps(s.Each, after)
	m.causes()
}

// check writes one check. One that has the car in another state stands between two
// holds, those that the screen has, each time that there is such a check:
// whatever comes before it on paper or behind, the car is as it has to be.
func (m *maker) check(s *engine.Step) {
	there, back := m.gate(s.Check.Car), m.gate(m.at)
	between := s.Check.Car != m.at && there != nil && back != nil
	if between {
		m.put("*Ahead of %s:*\n\n", s.Number)
		m.hold(there)
		m.put("\n")
	}
	m.notices(s)
	m.row(s)
	if between {
		m.put("\n*Behind %s, also where it can't be made:*\n\n", s.Number)
		m.hold(back)
	}
}

// gate is the hold that leads the car to a state between two checks, nil where the
// search has none.
func (m *maker) gate(state engine.CarState) *engine.Step {
	for _, s := range m.p.Search.Gates {
		if s.ThenCar == state {
			return s
		}
	}
	return nil
}

// row writes the row of one check: where, when and with what, what is expected,
// and where each outcome leads.
func (m *maker) row(s *engine.Step) {
	c := s.Check
	m.put("- **%s** %s", s.Number, m.filled(s.Text))
	if c.Expect != nil {
		m.put(" %s%s%s", medium, tied, c.Expect.Unit)
	}
	m.put("\n")
	m.needs(s)
	for _, o := range c.Outcomes {
		m.put("  - %s%s%s", box, tied, m.filled(o.Word))
		if o.Says != "" && !m.brief {
			m.put(": %s", m.filled(o.Says))
		}
		m.put("%s\n", m.leads(o.Then))
	}
	m.put("  - %s%scan't be made", box, tied)
	if s.Cannot != "" && !m.brief {
		m.put(": %s", m.filled(s.Cannot))
	}
	m.put("\n")
}

// needs says what a check takes.
func (m *maker) needs(s *engine.Step) {
	c, row := s.Check, s.Row()
	var parts []string
	add := func(label, text string) {
		if text != "" {
			parts = append(parts, label+" "+strings.TrimSuffix(m.filled(text), "."))
		}
	}
	add("expected:", row.Expect)
	add("where:", row.Where)
	add("when:", row.Condition)
	add("with:", row.Tool)
	add("car", string(c.Car))
	add("first:", strings.Join(m.numbersOf(c.Opens), ", "))
	if c.Minutes > 0 {
		parts = append(parts, "takes "+causes.Minutes(row.Minutes))
	}
	if !m.brief {
		add("by:", row.Source)
	}
	if len(parts) > 0 {
		m.put("  - %s.\n", report.UpFirst(strings.Join(parts, "; ")))
	}
}

// numbersOf are the numbers of openings.
func (m *maker) numbersOf(ids []string) []string {
	var list []string
	for _, s := range m.p.Search.Openings {
		if slices.Contains(ids, s.ID) {
			list = append(list, s.Number)
		}
	}
	return list
}

// leads says where an outcome leads in any case.
func (m *maker) leads(then string) string {
	if then == "" {
		return ""
	}
	for _, s := range m.p.Search.Checks {
		if s.ID == then {
			return " **Go to " + s.Number + ".**"
		}
	}
	return " **The search ends.**"
}

// causes lists what it can be, the likeliest first, with what to do about each.
func (m *maker) causes() {
	list := slices.Clone(m.p.Search.Causes)
	slices.SortStableFunc(list, func(a, b *engine.Cause) int { return cmp.Compare(b.Chance, a.Chance) })
	m.put("**What it can be, the likeliest before any check first:**\n\n")
	for _, c := range list {
		if m.leftOut(c.When) {
			continue
		}
		chance := fmt.Sprintf("%.0f %%", 100*c.Chance)
		if told := m.told(c.When); told != "" {
			chance += ", only if " + told
		}
		m.put("- %s%s%s (%s)\n", box, tied, m.filled(c.Text), chance)
		m.more("", c.Remedy)
	}
	m.put("- %s%snone of these\n", box, tied)
	m.more("", m.p.Search.None.Text)
	m.put("\n")
}
