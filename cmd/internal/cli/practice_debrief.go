package cli

import (
	"context"
	"fmt"

	"dropwalk/cmd/internal/html"
	"dropwalk/cmd/internal/lesson"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
)

// benchOf is the simulated car of a record, as its events have left it.
func benchOf(header record.Header, events []engine.Event) (*lesson.Bench, simulated, error) {
	made, ok := readSimulated(header.Simulated)
	if !ok {
		return nil, made, fmt.Errorf("its header names no simulated car that this release knows: %q", header.Simulated)
	}
	at, err := made.bench()
	if err != nil {
		return nil, made, err
	}
	for _, e := range events {
		at.Apply(e)
	}
	return at, made, nil
}

// practiceDebrief tells the truth about a practice that has ended.
func (a *app) practiceDebrief(o practiceOptions) error {
	path, err := a.practiceRecord(o.debrief)
	if err != nil {
		return err
	}
	if sameFile(o.out, path) {
		return &usageError{fmt.Sprintf("--out %s would replace the record", o.out), "another file name"}
	}
	d, err := a.debriefOf(path)
	if err != nil {
		return err
	}
	return a.showDebrief(d, o)
}

// debriefOf works out the debrief of a record.
func (a *app) debriefOf(path string) (*lesson.Debrief, error) {
	c, err := a.view(path)
	if err != nil {
		return nil, err
	}
	name := record.Name(path)
	if !isPractice(c.Header) {
		return nil, input(fmt.Errorf("%s is the test of a real car: nobody knows its truth", name), a.command("report", quoted(name)))
	}
	r, err := a.rebuild(name, c.Lines)
	if err != nil {
		return nil, a.strangeProcedure(name, c.Header, err)
	}
	if _, ended := r.run.Ended(); !ended {
		return nil, input(fmt.Errorf("%s goes on: the truth would spoil it", name), a.command("resume", quoted(name))+" goes on; stop ends it")
	}
	at, made, err := benchOf(c.Header, r.events)
	if err != nil {
		return nil, input(fmt.Errorf("%s: %w", name, err), "dropwalk practice --list shows the cars")
	}
	best, err := made.bench()
	if err != nil {
		return nil, err
	}
	progress := a.progress()
	defer progress.Clear()
	progress.Tell("following the program's own advice on the same car")
	usual, err := a.findProcedure(usualProcedure, quantity.AsTyped)
	if err != nil {
		return nil, err
	}
	if _, err := lesson.Play(context.Background(), usual, best, nil); err != nil {
		return nil, err
	}
	return lesson.Debriefed(at, best, lesson.Judge(r.run), made.seed), nil
}

// debriefAfter shows the debrief at the end of a practice.
func (a *app) debriefAfter(path string) error {
	d, err := a.debriefOf(path)
	if err != nil {
		return err
	}
	if err := a.showDebrief(d, practiceOptions{}); err != nil {
		return err
	}
	text := "To read this again, or to keep it as a page:"
	fmt.Fprintf(a.Err, "\n%s  %s\n", terminal.Wrap(text, a.Width, "", ""), a.command("practice", "--debrief", record.Name(path)))
	fmt.Fprintf(a.Err, "%s  %s\n", terminal.Wrap("The next car:", a.Width, "", ""), a.command("practice"))
	return nil
}

// showDebrief prints or writes a debrief in the form that was asked for.
func (a *app) showDebrief(d *lesson.Debrief, o practiceOptions) error {
	if o.asJSON {
		return a.putJSON(o.out, d)
	}
	units, err := a.system()
	if err != nil {
		return err
	}
	return a.putPage(o.out, d.Page(units), html.Options{})
}
