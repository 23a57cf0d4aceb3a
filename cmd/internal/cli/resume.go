package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
)

func (a *app) resume() *cobra.Command {
	var view view
	cmd := &cobra.Command{
		Use:   "resume [RECORD]",
		Short: "go on with a test after a pause or a crash",
		Long: "Without RECORD the unfinished test is taken; where there are several you choose. A paper that was being typed in goes on being typed in; " +
			"with --view the test goes on at the car.",
		Example: `dropwalk resume
dropwalk resume yellow`,
		Args: arguments(0, 1, "[RECORD]"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := view.check(); err != nil {
				return err
			}
			asker, by := a.asker()
			view.set(asker)
			// Whoever names a view goes on at the car.
			atTheCar := cmd.Flags().Changed("view")
			path, err := a.unfinished(asker, args)
			if err != nil {
				return err
			}
			return a.goOn(asker, by, path, atTheCar)
		},
	}
	view.flag(cmd)
	return cmd
}

// goOn goes on with the test in a record. One that was typed in from a paper goes
// on so, unless somebody is at the car now.
func (a *app) goOn(asker session.Asker, by, path string, atTheCar bool) error {
	env, err := a.world()
	if err != nil {
		return err
	}
	progress := a.progress()
	progress.Tell("reading " + record.Name(path))
	log, found, err := record.Open(path, env)
	progress.Clear()
	if err != nil {
		return a.refusedRecord(path, err)
	}
	defer log.Close()
	for _, did := range append(found.Did, log.Warnings()...) {
		fmt.Fprintf(a.Err, "%s: %v\n", log.Name(), did)
	}
	r, err := a.rebuild(log.Name(), found.Lines)
	if err != nil {
		return a.strangeProcedure(log.Name(), found.Header, err)
	}
	if r.later != nil {
		return &hinted{r.later, "a newer release of " + program + " can go on with it; report and records show work"}
	}
	if how, ended := r.run.Ended(); ended {
		return &usageError{fmt.Sprintf("%s is finished: %s", log.Name(), how), a.command("report", log.Name())}
	}
	r.matter.Cards = a.cards()
	fmt.Fprint(a.Err, terminal.Wrap(fmt.Sprintf("Going on with %s, begun %s.", log.Name(), minute(found.Header.Created)), a.Width, "", "  "))
	s := &session.Session{Run: r.run, Store: oldRecord{log}, Asker: asker, By: by}
	if entries, paper := session.Waiting(found.Lines); paper && !atTheCar {
		a.ofPaper(s, entries)
	}
	drive := a.drive
	if isPractice(found.Header) {
		at, _, err := benchOf(found.Header, r.events)
		if err != nil {
			return input(fmt.Errorf("%s: %w", log.Name(), err), "a newer release of "+program+" may know the car")
		}
		s, drive = a.benched(r.run, oldRecord{log}, asker, by, at), a.driveBench
	}
	if err := s.Continue(); err != nil {
		return err
	}
	return drive(s, func() *record.Log { return log })
}

// refusedRecord adds advice to the reasons why a record can't go on.
func (a *app) refusedRecord(path string, err error) error {
	if r, ok := errors.AsType[*record.ReadOnlyError](err); ok && r.Content.Newer > 0 {
		return a.laterRecord(r)
	}
	switch {
	case errors.Is(err, record.ErrLocked):
		return &hinted{err, "close the other window in which this test is open"}
	case errors.Is(err, record.ErrReadOnly), errors.Is(err, record.ErrNoHeader):
		return &hinted{err, a.wayOutOf(path)}
	}
	return plainPath(err)
}

// wayOutOf is the command that helps with a record that can't go on.
func (a *app) wayOutOf(path string) string {
	report, err := record.Check(path)
	if err != nil || report.Sound() {
		return a.command("records check", quoted(record.Name(path)))
	}
	return a.wayOut(report)
}

// laterRecord says which release a record of a later format needs. The header
// names the release that began the record; which one went on with it, nothing
// tells but the format.
func (a *app) laterRecord(r *record.ReadOnlyError) error {
	c, name := r.Content, record.Name(r.Path)
	needed := fmt.Sprintf("a release of %s that knows record format %d", program, c.Newer)
	if c.Header.Format == c.Newer && c.Header.Program != "" {
		needed = terminal.CleanLine(c.Header.Program) + " or later"
	}
	what := fmt.Errorf("%s is a record of format %d, and this release, %s %s, writes format %d; it was left as it is%w",
		name, c.Newer, program, release(), record.Format, silent{record.ErrReadOnly})
	return &hinted{what, fmt.Sprintf("go on with %s; here you can read it: %s", needed, a.command("report", quoted(name)))}
}

// strangeProcedure says which release a record needs whose procedure this one
// can't read: one of a later release speaks of steps and places of its own.
func (a *app) strangeProcedure(name string, h record.Header, err error) error {
	if !isA[strictyaml.Faults](err) {
		return err
	}
	needed := "the release that began it"
	if h.Program != "" {
		needed = terminal.CleanLine(h.Program) + ", which began it, or a later one"
	}
	what := fmt.Errorf("%s has a procedure inside that this release, %s %s, can't read; it was left as it is\n%w", name, program, release(), err)
	return input(what, fmt.Sprintf("use %s; here you can read what was answered: %s", needed, a.command("records show", quoted(name))))
}

// unfinished finds the record to go on with: the one that is named, the only
// one that is open, or the one that the person chooses.
func (a *app) unfinished(asker session.Asker, args []string) (string, error) {
	if len(args) > 0 {
		return a.findRecord(args[0])
	}
	dir, err := a.folder()
	if err != nil {
		return "", err
	}
	list, err := record.List(dir)
	if err != nil {
		return "", plainPath(err)
	}
	open := unfinishedOf(list)
	switch len(open) {
	case 0:
		for _, s := range list {
			if stateOf(s) == isDamaged {
				return "", &usageError{"there is no unfinished test in " + dir + " that can go on; " + s.Name + " is damaged",
					a.command("records check", quoted(s.Name))}
			}
		}
		hint := a.command("start") + " begins one"
		if open := a.openPractice(""); open != "" {
			hint = "of practice there is one: " + a.command("resume", open)
		}
		return "", &usageError{"there is no unfinished test in " + dir, hint}
	case 1:
		return open[0].Path, nil
	}
	return a.choose(asker, open)
}

// unfinishedOf picks the tests that can go on, the latest first.
func unfinishedOf(list []record.Summary) []record.Summary {
	open := slices.DeleteFunc(slices.Clone(list), func(s record.Summary) bool { return stateOf(s) != isOpen })
	slices.SortFunc(open, func(x, y record.Summary) int { return y.LastTime.Compare(x.LastTime) })
	return open
}

// choose has the person choose a test, the latest first.
func (a *app) choose(asker session.Asker, open []record.Summary) (string, error) {
	names := "one of: " + strings.Join(namesOf(open), ", ")
	ask, ok := asker.(chooser)
	if !ok {
		return "", &usageError{fmt.Sprintf("%d tests are unfinished", len(open)), names}
	}
	title, ways := a.waysOf("Which test goes on?", open, a.whereItStands)
	n, err := a.chosen(ask, terminal.Menu{Title: title, First: true}, ways)
	if err != nil && !a.InTTY {
		return "", &hinted{session.ErrPause, "name the test that is to go on, " + names}
	}
	if err != nil {
		return "", err
	}
	return open[n].Path, nil
}

func namesOf(list []record.Summary) []string {
	var names []string
	for _, s := range list {
		names = append(names, s.Name)
	}
	return names
}

func orUnknown(s string) string {
	if s == "" {
		return "without a name"
	}
	return s
}

// age says how long ago something was, roughly.
func age(d time.Duration) string {
	switch {
	case d < 2*time.Minute:
		return "just now"
	case d < 2*time.Hour:
		return fmt.Sprintf("%d minutes ago", int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d hours ago", int(d.Hours()))
	}
	return fmt.Sprintf("%d days ago", int(d.Hours()/24))
}
