package worksheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"dropwalk/advice/report"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// steps writes a list of steps. After is where it goes on behind the list.
func (m *maker) steps(list []*engine.Step, after string) {
	list = slices.DeleteFunc(slices.Clone(list), func(s *engine.Step) bool { return m.leftOut(s.When) })
	last := ""
	for i, s := range list {
		told := m.told(s.When)
		if told != "" && told != last {
			m.put("*Only if %s%s:*\n\n", told, elseTo(m.otherwise(list[i+1:], told, after)))
		}
		last = told
		m.step(s, m.otherwise(list[i+1:], "", after))
	}
}

// otherwise is the number of the first step of a list that has another rule.
func (m *maker) otherwise(list []*engine.Step, told, after string) string {
	for _, s := range list {
		if now := m.told(s.When); now == "" || now != told {
			return m.firstOf([]*engine.Step{s})
		}
	}
	return after
}

func (m *maker) step(s *engine.Step, after string) {
	defer func(brief bool) { m.brief = brief }(m.brief)
	m.brief = m.brief || m.wrote[s]
	m.wrote[s] = true
	switch s.Kind {
	case engine.Rounds:
		m.rounds(s, after)
		return
	case engine.Checks:
		m.checks(s, after)
		return
	}
	if m.answered(s) {
		m.answeredAlready(s)
		return
	}
	if s.Kind != engine.Examine {
		m.notices(s)
	}
	switch s.Kind {
	case engine.Do:
		m.put("- %s**%s** %s\n", m.unless(box+" "), s.Number, m.filled(s.Text))
		m.more("Look for: ", s.See)
		m.more("If it can't be done: ", s.Cannot)
		m.more("If it is left out: ", s.Skip)
	case engine.Ask:
		m.ask(s)
	case engine.Hold:
		m.hold(s)
	case engine.Examine:
		m.check(s)
	case engine.Tell:
		m.put("- **%s** %s%s\n", s.Number, m.filled(s.Text), m.backTo(s))
	case engine.Show:
		m.put("- **%s** On screen the program shows the %s here. On paper go on, or type this in first.\n", s.Number, s.Page)
	case engine.Owed:
		m.owed(s)
	}
	if s.AgainAfterPause && !m.brief {
		m.put("  - After a break: once more.\n")
	}
	m.put("\n")
}

// more adds what a step says besides, on full paper.
func (m *maker) more(label, text string) {
	if text != "" && !m.brief {
		m.put("  - %s%s\n", label, m.filled(text))
	}
}

// notices stand before their step.
func (m *maker) notices(s *engine.Step) { m.cautions(s.Notices) }

func (m *maker) cautions(list []engine.Notice) {
	for _, n := range list {
		from, so, avoid := m.filled(n.From), m.filled(n.So), m.filled(n.Avoid)
		if m.brief {
			m.put("> **%s: %s** (%s). %s.\n\n", strings.ToUpper(n.Level), from, so, report.UpFirst(avoid))
			continue
		}
		m.put("> **%s: %s.** What can happen: %s. To avoid it: %s.\n\n", strings.ToUpper(n.Level), from, so, avoid)
	}
}

func (m *maker) hold(s *engine.Step) {
	m.put("- `HOLD` **%s** %s\n", s.Number, m.filled(s.Text))
	m.lines(s.Lines)
	then := ""
	if s.ThenCar != "" {
		then = fmt.Sprintf("From here the car is %s.", s.ThenCar)
	}
	if ready := m.unless("Ready: initials "+medium+" time "+short+m.signed()+". ") + then; ready != "" {
		m.put("  - %s\n", strings.TrimSpace(ready))
	}
}

// signed is the place for the initials of who signs holds besides.
func (m *maker) signed() string {
	if m.o.Signs == "" {
		return ""
	}
	return "; " + m.o.Signs + " " + medium
}

// lines are those of a hold: with a box each, or in a table with the number of
// their box.
func (m *maker) lines(list []string) {
	for i, text := range list {
		mark := box
		if m.table != nil {
			mark = fmt.Sprintf("%d:", i+1)
		}
		m.put("  - %s %s\n", mark, m.filled(text))
	}
}

// unless is a mark to fill in, which stands in the rows where there is a table.
func (m *maker) unless(mark string) string {
	if m.table != nil {
		return ""
	}
	return mark
}

// backTo says where a text leads.
func (m *maker) backTo(s *engine.Step) string {
	var numbers []string
	for other := range m.p.Steps() {
		if slices.Contains(s.BackTo, other.ID) {
			numbers = append(numbers, other.Number)
		}
	}
	if len(numbers) == 0 {
		return ""
	}
	return " **Go back to " + strings.Join(numbers, " and ") + ".**"
}

// answeredAlready is an ask that an earlier document answers.
func (m *maker) answeredAlready(s *engine.Step) {
	var texts []string
	for _, path := range s.Fills {
		texts = append(texts, report.Escape(m.given[path]))
	}
	m.put("- **%s** %s **%s** (from the earlier sheet)\n", s.Number, m.filled(s.Text), strings.Join(texts, ", "))
}

func (m *maker) ask(s *engine.Step) {
	m.put("- **%s** %s", s.Number, m.filled(s.Text))
	if m.table == nil {
		m.put(" %s", strings.Join(m.blanks(s), " "))
	}
	if _, free := m.choices(s); free && s.Like != "" && !strings.Contains(s.Like, "{") && !m.brief {
		m.put(" (for example %s)", m.filled(s.Like))
	}
	m.put("\n")
}

// choices are the words that an ask takes; free where it takes others.
func (m *maker) choices(s *engine.Step) (words []string, free bool) {
	if len(s.Fills) == 1 {
		f, _ := m.o.Matter.Field(s.Fills[0])
		words = f.Choices
	}
	return words, len(words) == 0
}

// blanks are what is filled in for an ask, field by field.
func (m *maker) blanks(s *engine.Step) []string {
	var list []string
	units := m.unitsOf(s)
	for i, path := range s.Fills {
		f, _ := m.o.Matter.Field(path)
		label := ""
		if len(s.Fills) > 1 && word(path) != units[i] {
			label = word(path) + tied
		}
		switch {
		case len(f.Choices) > 0:
			for _, c := range m.offeredAt(path) {
				list = append(list, box+tied+c)
			}
			if !f.Required && !slices.Contains(f.Choices, "unknown") {
				list = append(list, box+tied+"not known")
			}
		case measured(f):
			list = append(list, strings.TrimSuffix(label+medium+tied+units[i], tied))
		default:
			list = append(list, label+line)
		}
	}
	return list
}

// word is what a place in the document is called on paper.
func word(path string) string { return strings.ReplaceAll(named(path), "_", " ") }

// owed lists what has to be put back, the latest first, each with the number of
// the step that leaves it.
func (m *maker) owed(s *engine.Step) {
	m.put("- **%s** Put back everything that was done, the latest first:\n", s.Number)
	for _, d := range slices.Backward(m.duties()) {
		for range d.times {
			m.put("  - %s %s (if %s was done)\n", box, m.filled(d.step.Undo), d.step.Number)
			for _, n := range d.step.Undoing.Notices {
				m.put("    - **%s: %s** (%s). %s.\n", strings.ToUpper(n.Level), m.filled(n.From), m.filled(n.So), report.UpFirst(m.filled(n.Avoid)))
			}
		}
	}
}

// duty is an undo and how many lines it gets.
type duty struct {
	step  *engine.Step
	times int
}

// last is 1 for a duty that stands at the end of the list, which is read backward.
func (d duty) last() int {
	if d.step.Undoing.First {
		return 1
	}
	return 0
}

// mostDuties is how many lines the undo of one step gets: one for each time that
// it can have been done, within reason.
const mostDuties = 3

// duties are what has to be put back, in the order in which it was done, and behind
// that what comes first in any case: the list is read from its end.
func (m *maker) duties() []duty {
	var list []duty
	var walk func([]*engine.Step, int)
	walk = func(steps []*engine.Step, times int) {
		for _, s := range steps {
			switch {
			case m.leftOut(s.When):
			case s.Kind == engine.Rounds:
				walk(s.Each, times*s.AtMost)
			case s.Kind == engine.Checks:
				walk(slices.Concat(m.ahead(s), s.Each), times)
			case s.Kind == engine.Examine && slices.ContainsFunc(list, func(d duty) bool { return d.step.Undo == s.Undo }):
			case s.Undo != "":
				list = append(list, duty{s, min(times, mostDuties)})
			}
		}
	}
	for _, part := range m.p.Parts {
		if !m.leftOut(part.When) {
			walk(part.Steps, 1)
		}
	}
	slices.SortStableFunc(list, func(a, b duty) int { return cmp.Compare(a.last(), b.last()) })
	return list
}

// head is what stands above the steps.
func (m *maker) head() {
	p := m.p
	m.put("# %s\n\n", p.Title)
	for _, l := range m.o.Head {
		m.put("%s: **%s**\\\n", l.Name, report.Escape(l.Text))
	}
	car := medium
	if name := m.given["car.name"]; name != "" {
		car = "**" + report.Escape(name) + "**"
	}
	m.put("Car %s Date %s Sheets %s\\\n", car, medium, short)
	for _, who := range p.People {
		m.put("%s %s ", report.UpFirst(who), long)
	}
	m.put("\\\nPlace %s\n\n", line)
	m.put("Procedure %s, file %s. Typed in afterwards with: `%s`\n\n", p.Name, p.SHA256()[:8], cmp.Or(m.o.TypedIn, "dropwalk start "+p.Name+" --from-paper"))
	if !m.brief {
		m.put("%s\n\n", p.Purpose)
		if p.Takes != "" {
			m.put("It takes about %s.\n\n", p.Takes)
		}
		if len(p.Tools) > 0 {
			m.put("You need:\n\n")
			for _, tool := range p.Tools {
				m.put("- %s %s\n", box, tool)
			}
			m.put("\n")
		}
	}
	for _, rule := range m.o.Rules {
		m.put("> %s\n\n", rule)
	}
	m.stopping()
	m.put("Swinging needle: 12-13. Off the scale: >25. Not known, or not read: ?. Where you don't know whether an \"only if\" is so, do the step. Where a printed unit isn't that of your instrument, strike it out and write yours. " +
		"A step that couldn't be done: write why beside its box.\n")
	if !m.brief {
		m.put("\nA HOLD is passed with every box ticked and initials, never before. Nobody writes in a moving car. Local law and the maker's instructions come first.\n")
	}
}

// stopping says what ends the work, and what to do first then.
func (m *maker) stopping() {
	if list := m.p.StopIf; len(list) > 0 {
		m.put("**Stop at once if there is** %s. Either person says stop, and it ends.\n\n", strings.Join(list, "; "))
	}
	for _, car := range []engine.CarState{engine.Moving, engine.Idling, engine.Parked, engine.Off} {
		if list := m.p.IfStopped[car]; len(list) > 0 {
			m.put("- Stopped with the car %s: %s\n", car, strings.Join(list, " "))
		}
	}
	if len(m.duties()) > 0 {
		m.put("- Then put back what was done to the car: see the list at %s.\n", m.listed())
	}
	m.put("\n")
}

// listed is the number of the step that lists what is owed.
func (m *maker) listed() string {
	number := "the end"
	for s := range m.p.Steps() {
		if s.Kind == engine.Owed {
			number = s.Number
		}
	}
	return number
}

// tail is what stands below them.
func (m *maker) tail() {
	if len(m.p.OnReturn) > 0 && !m.brief {
		m.put("\n## After a break\n\n")
		for _, car := range []engine.CarState{engine.Off, engine.Parked, engine.Idling} {
			if g := m.p.OnReturn[car]; g.Text != "" {
				m.cautions(g.Notices)
				m.put("- `HOLD` Where the car is to be %s: %s\n", car, g.Text)
				m.lines(g.Lines)
				m.put("  - Ready: initials %s time %s%s\n\n", medium, short, m.signed())
			}
		}
	}
	m.put("\n## Notes\n\n%s\n\n%s\n\n%s\n", line, line, line)
}

// offered are the values of rounds that have to be written down: those that tell
// one round from another, and those that its rules ask for.
func (m *maker) offered(s *engine.Step) []subject.Fact {
	source, _ := m.o.Matter.Source(s.Source)
	var list []subject.Fact
	for _, f := range source.Values {
		keyed := slices.ContainsFunc(source.Keys, func(k subject.Key) bool { return k.Name == f.Name })
		// Numbers of rounds stand on the paper already.
		if keyed || f.Kind != quantity.Number && asksFor(s.Each, f.Name) {
			list = append(list, f)
		}
	}
	return list
}

// offers tells whether a value of rounds has to be written down.
func (m *maker) offers(s *engine.Step, name string) bool {
	return slices.ContainsFunc(m.offered(s), func(f subject.Fact) bool { return f.Name == name })
}

func asksFor(list []*engine.Step, name string) bool {
	return slices.ContainsFunc(list, func(s *engine.Step) bool {
		return s.When != nil && slices.Contains(s.When.Facts(), name) || asksFor(s.Each, name)
	})
}
