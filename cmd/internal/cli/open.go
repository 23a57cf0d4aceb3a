package cli

import (
	"errors"
	"fmt"
	"io"

	"dropwalk/advice"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
)

// loadProcedure checks src against what advice knows. Units are those in which
// the prompts of a run are shown.
func loadProcedure(file string, src []byte, units quantity.System) (*engine.Procedure, *advice.Matter, strictyaml.Faults) {
	matter := &advice.Matter{Units: units}
	p, faults := engine.Load(file, src, matter)
	return p, matter, faults
}

// rebuilt is a run as its record tells it.
type rebuilt struct {
	run    *engine.Run
	events []engine.Event
	units  quantity.System
	later  error // not nil where the record can be shown but not continued
}

// rebuild replays the lines of a record.
func rebuild(name string, lines []record.Line) (*rebuilt, error) {
	kept, events, err := session.Events(lines)
	if err != nil && !errors.Is(err, session.ErrLater) {
		return nil, input(fmt.Errorf("%s: %w", name, err), "dropwalk records check "+name)
	}
	units, unitErr := quantity.ParseSystem(kept.Units)
	if unitErr != nil {
		return nil, input(fmt.Errorf("%s: %w", name, unitErr), "")
	}
	p, matter, faults := loadProcedure(name+" (its procedure)", []byte(kept.Text), units)
	if fault := faults.Err(); fault != nil {
		return nil, fault
	}
	run := engine.NewRun(p, matter)
	session.Replay(run, events)
	return &rebuilt{run: run, events: events, units: units, later: err}, nil
}

// view reads a record without touching it. What is wrong with it is told on
// standard error; what can be read is used.
func (a *app) view(path string) (*record.Content, error) {
	c, err := record.View(path)
	if err != nil {
		return nil, err
	}
	if c.Bad != nil && c.Bad.Line <= 1 {
		return nil, input(fmt.Errorf("%s: %v", path, *c.Bad), "dropwalk records check "+record.Name(path))
	}
	if worst := c.Worst(); worst != nil {
		fmt.Fprintf(a.Err, "%s: %v\n", path, *worst)
	}
	return c, nil
}

// sheetOf is the test sheet that a record makes.
func (a *app) sheetOf(path string) (*sheet.Sheet, error) {
	c, err := a.view(path)
	if err != nil {
		return nil, err
	}
	r, err := rebuild(record.Name(path), c.Lines)
	if err != nil {
		return nil, err
	}
	s, faults := sheet.FromEntries(advice.SheetEntries(r.run.Entries()))
	if fault := faults.Err(); fault != nil {
		return nil, &hinted{input(fault, ""), "the test has not come far enough for a sheet: dropwalk resume " + record.Name(path)}
	}
	return s, nil
}

// printFaults writes faults one a line, warnings too.
func printFaults(w io.Writer, faults strictyaml.Faults) {
	for _, f := range faults.Sorted() {
		fmt.Fprintln(w, f)
	}
}
