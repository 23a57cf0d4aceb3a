package cli

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"dropwalk/advice"
	"dropwalk/advice/learn"
	"dropwalk/advice/model"
	"dropwalk/advice/plan"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// keptProcedure is the procedure that a record holds. A folder has many records with one
// procedure, so a sound one is read once.
func (a *app) keptProcedure(record, text string, matter *advice.Matter) (*engine.Procedure, error) {
	if p, ok := a.loaded[text]; ok {
		return p, nil
	}
	p, faults := engine.Load(record+" (its procedure)", []byte(text), matter)
	if err := faults.Err(); err != nil {
		return nil, err
	}
	if a.loaded == nil {
		a.loaded = map[string]*engine.Procedure{}
	}
	a.loaded[text] = p
	return p, nil
}

// rebuilt is a run as its record tells it.
type rebuilt struct {
	run    *engine.Run
	matter *advice.Matter
	events []engine.Event
	units  quantity.System
	later  error // not nil where the record can be shown but not continued
}

// rebuild replays the lines of a record.
func (a *app) rebuild(name string, lines []record.Line) (*rebuilt, error) {
	if len(lines) == 0 {
		return nil, input(fmt.Errorf("%s is empty: nothing was answered", name), "if you don't need it: "+a.command("records remove", quoted(name)))
	}
	progress := a.progress()
	defer progress.Clear()
	progress.Tell("going through " + name)
	kept, events, err := a.known.Events(lines)
	if err != nil && !errors.Is(err, session.ErrLater) {
		return nil, input(fmt.Errorf("%s: %w", name, err), a.command("records show", quoted(name))+" shows what can be read")
	}
	units, unitErr := quantity.ParseSystem(kept.Units)
	if unitErr != nil {
		return nil, input(fmt.Errorf("%s: %w", name, unitErr), a.command("records show", quoted(name))+" shows what can be read")
	}
	matter := &advice.Matter{Units: units}
	p, fault := a.keptProcedure(name, kept.Text, matter)
	if fault != nil {
		return nil, &hinted{fault, a.command("records show", quoted(name)) + " shows what was answered; the procedure in the record can't be read here"}
	}
	if kept.Costs != "" {
		table, faults := plan.ReadCosts(name+" (its costs)", []byte(kept.Costs))
		if fault := faults.Err(); fault != nil {
			return nil, &hinted{fault, a.command("records show", quoted(name)) + " shows what was answered; the table of costs in the record can't be read here"}
		}
		matter.Options.Costs = &table
	}
	if kept.Priors != "" {
		learnt, faults := learn.Read(name+" (its priors)", []byte(kept.Priors))
		if fault := faults.Err(); fault != nil {
			return nil, &hinted{fault, a.command("records show", quoted(name)) + " shows what was answered; the priors in the record can't be read here"}
		}
		matter.Options.Priors = learnt.Model()
	}
	run := engine.NewRun(p, matter)
	session.Replay(run, events)
	return &rebuilt{run: run, matter: matter, events: events, units: units, later: err}, nil
}

// view reads a record without touching it. What is wrong with it is told on
// standard error; what can be read is used.
func (a *app) view(path string) (*record.Content, error) {
	progress := a.progress()
	progress.Tell("reading " + record.Name(path))
	c, err := record.View(path)
	progress.Clear()
	if err != nil {
		return nil, err
	}
	if c.Bad != nil && c.Bad.Line <= 1 {
		return nil, input(fmt.Errorf("%s: %v", path, *c.Bad), a.command("records check", quoted(record.Name(path))))
	}
	if worst := c.Worst(); worst != nil {
		fmt.Fprintf(a.Err, "%s: %v\n", path, *worst)
	}
	return c, nil
}

// sheetOf is the test sheet that a record makes.
func (a *app) sheetOf(path string) (*sheet.Sheet, error) {
	s, _, err := a.testOf(path)
	return s, err
}

// testOf is the test sheet that a record makes, and how the test went.
func (a *app) testOf(path string) (*sheet.Sheet, *report.Course, error) {
	s, course, _, err := a.testWith(path)
	return s, course, err
}

// testWith is testOf with the priors that the test went by, nil for the handbook alone.
func (a *app) testWith(path string) (*sheet.Sheet, *report.Course, *model.Priors, error) {
	c, r, err := a.opened(path)
	if err != nil {
		return nil, nil, nil, err
	}
	s, course, err := a.sheetIn(c, r)
	return s, course, r.matter.Options.Priors, err
}

// opened is a record and its run.
func (a *app) opened(path string) (*record.Content, *rebuilt, error) {
	c, err := a.view(path)
	if err != nil {
		return nil, nil, err
	}
	r, err := a.rebuild(record.Name(path), c.Lines)
	if err != nil {
		return nil, nil, a.strangeProcedure(record.Name(path), c.Header, err)
	}
	return c, r, nil
}

// sheetIn is testOf of a record that is open.
func (a *app) sheetIn(c *record.Content, r *rebuilt) (*sheet.Sheet, *report.Course, error) {
	entries := advice.SheetEntries(r.run.Entries())
	s, faults := sheet.FromEntries(entries)
	if fault := faults.Err(); fault != nil {
		if foundIn(r) != nil || r.run.Standing() != nil {
			return nil, nil, a.noSheet(record.Name(c.Path))
		}
		return nil, nil, a.tooEarly(c, entries, fault)
	}
	return s, courseOf(c, r), nil
}

// tooEarly says what a test still lacks before anything can be said about it.
func (a *app) tooEarly(c *record.Content, entries []subject.Entry, fault error) error {
	name := record.Name(c.Path)
	missing := lacking(entries)
	if len(missing) == 0 {
		return input(fmt.Errorf("%s makes no sheet: %w", name, fault), a.command("records show", quoted(name))+" shows what was answered")
	}
	hint := a.command("resume", quoted(name)) + " goes on and asks for it"
	if c.Bad != nil {
		hint = a.wayOutOf(c.Path)
	}
	return input(fmt.Errorf("%s has not come far enough for a result; still missing: %s", name, strings.Join(missing, ", ")), hint)
}

// needed is what every result rests on: entries of a sheet, and what people call
// them.
var needed = []struct{ path, called string }{
	{"car.engine.displacement", "how large the engine is"},
	{"path[].kind", "the pieces of the path"},
}

func lacking(entries []subject.Entry) []string {
	var list []string
	for _, n := range needed {
		if !slices.ContainsFunc(entries, func(e subject.Entry) bool { return e.Path == n.path }) {
			list = append(list, n.called)
		}
	}
	return list
}

// printFaults writes faults one a line, warnings too.
func printFaults(w io.Writer, faults strictyaml.Faults) {
	for _, f := range faults.Sorted() {
		fmt.Fprintln(w, f)
	}
}
