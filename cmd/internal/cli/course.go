package cli

import (
	"slices"
	"strings"

	"dropwalk/advice"
	"dropwalk/advice/report"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

// lampsPath is the answer on warning lamps after the drive.
const lampsPath = "test.lamps"

// courseOf is what the record of a test tells beside its sheet.
func courseOf(c *record.Content, r *rebuilt) *report.Course {
	t := teller{r: r, steps: stepsOf(r.run.Procedure())}
	course := &report.Course{
		Record: record.Name(c.Path), Program: c.Header.Program, Ended: t.ended(),
		Owed: t.owed(), Skipped: []report.Open{}, Unknown: []report.Open{}, Notes: []string{}, Names: t.names(c.Header.Car),
		Changed: len(advice.Blocks(r.run.Entries())) > 1,
	}
	for _, e := range r.run.Passed() {
		switch {
		case e.Step == string(engine.Owed): // told as what is owed
		case e.Kind == engine.Skipped:
			course.Skipped = append(course.Skipped, t.open(e, func(s *engine.Step) string { return s.Skip }))
		case e.Outcome != "": // a check: told with what it moved
		case e.Unknown:
			course.Unknown = append(course.Unknown, t.open(e, func(s *engine.Step) string { return s.Unknown }))
		}
	}
	for _, s := range r.run.NeverReached() {
		course.LeftOut = append(course.LeftOut, report.Open{What: s.Remains(), So: t.filled(s.Skip, s.ID), Check: true})
	}
	for _, e := range r.run.Entries() {
		if e.Path == lampsPath {
			course.Lamps = e.Text
		}
	}
	for _, e := range r.events {
		if e.Kind == engine.Noted {
			course.Notes = append(course.Notes, e.Text)
		}
	}
	return course
}

// teller tells a run, with the steps of its procedure at hand.
type teller struct {
	r     *rebuilt
	steps map[string]*engine.Step // by id
}

// stepsOf are the steps of a procedure by id, with those that open something for a
// check.
func stepsOf(p *engine.Procedure) map[string]*engine.Step {
	all := map[string]*engine.Step{}
	for s := range p.Steps() {
		all[s.ID] = s
	}
	if p.Search != nil {
		for _, s := range p.Search.Openings {
			all[s.ID] = s
		}
	}
	return all
}

func (t teller) ended() string {
	how, ended := t.r.run.Ended()
	if !ended && t.r.run.Aborted() {
		return "stopped, and not closed up yet"
	}
	return how
}

// owed lists what is still to be put back, each with the gravest signal word of
// the step that left it.
func (t teller) owed() []report.Duty {
	skipped := map[string]string{} // why, by slot
	for _, e := range t.r.run.Passed() {
		if e.Step == string(engine.Owed) && e.Kind == engine.Skipped {
			skipped[e.Slot] = e.Why
		}
	}
	duties := []report.Duty{}
	for _, open := range t.r.run.Owed() {
		d := report.Duty{Text: open.Text}
		if s := t.steps[stepOf(open.Slot)]; s != nil {
			for _, n := range slices.Concat(s.Notices, s.Undoing.Notices) {
				d.Level = report.Graver(d.Level, n.Level)
			}
		}
		for slot, why := range skipped {
			if strings.HasSuffix(slot, "/"+open.Slot) {
				d.Why = why
			}
		}
		duties = append(duties, d)
	}
	return duties
}

// stepOf is the id of the step at a slot such as "walk.1/taps.2/drill~1".
func stepOf(slot string) string {
	id, _, _ := strings.Cut(slot[strings.LastIndex(slot, "/")+1:], "~")
	return id
}

// open is a step without its answer.
func (t teller) open(e engine.Event, follows func(*engine.Step) string) report.Open {
	o := report.Open{What: session.Question(e), Why: e.Why}
	if s := t.steps[e.Step]; s != nil {
		o.So = t.filled(follows(s), e.Slot)
		o.Check = slices.ContainsFunc(s.Fills, isCheck) || s.AgainAfterPause
	}
	return o
}

// isCheck tells whether a place of the sheet says how far to trust the rest.
func isCheck(path string) bool {
	return strings.HasPrefix(path, "checks[]") || strings.HasPrefix(path, "zeros[]") || path == lampsPath
}

// filled puts the values of its rounds into a text of the procedure. It is ""
// where something else would have to be known.
func (t teller) filled(text, slot string) string {
	for _, e := range t.r.events {
		if e.Kind == engine.Chosen && e.Offer != nil && strings.HasPrefix(slot, e.Slot+"/") {
			for name, value := range e.Offer.Values {
				text = strings.ReplaceAll(text, "{"+name+"}", value)
			}
		}
	}
	if strings.Contains(text, "{") {
		return ""
	}
	return text
}

// namePaths are the places where people name things.
var namePaths = []string{"title", "car.name", "path", "path[].name", "sizes[].name", "gauges[].name", "test.no_tap", "readings[].reader"}

// names lists every name that was ever typed, also those that were corrected
// later, and those that the advice chose.
func (t teller) names(car string) []string {
	all := []string{car}
	places := append(advice.NamePlaces(), namePaths...)
	take := func(path, text string) {
		if slices.Contains(places, path) {
			for item := range strings.SplitSeq(text, ", ") {
				name, _, _ := strings.Cut(item, " (")
				all = append(all, item, name)
			}
		}
	}
	for _, e := range t.r.events {
		for _, p := range e.Parts {
			take(p.Path, p.Text)
			all = append(all, advice.CardIn(p))
		}
		for _, given := range e.Given {
			take(given.Path, given.Text)
		}
		if e.Offer != nil {
			all = append(all, chosenNames(e.Offer)...)
		}
	}
	slices.Sort(all)
	return slices.DeleteFunc(slices.Compact(all), func(name string) bool { return name == "" })
}

// chosenNames are the names in an offer of the advice.
func chosenNames(o *subject.Offer) []string {
	var names []string
	for _, key := range []string{"piece", "station", "from", "to", "gauge"} {
		names = append(names, o.Values[key])
	}
	return names
}
