package cli

import (
	"bufio"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/record"
)

func (a *app) records() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "records",
		Short: "list the tests that are kept, or look after them",
		Example: `dropwalk records
dropwalk records show yellow
dropwalk records check
dropwalk records rename yellow-estate-2026-11-25 first-visit`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return a.listRecords()
		},
	}
	cmd.AddCommand(a.recordsShow(), a.recordsCheck(), a.recordsRename(), a.recordsRemove(), a.recordsWhere())
	return cmd
}

func (a *app) listRecords() error {
	dir, err := a.folder()
	if err != nil {
		return err
	}
	list, err := record.List(dir)
	if err != nil {
		return plainPath(err)
	}
	if len(list) == 0 {
		fmt.Fprintf(a.Err, "no records in %s\n", dir)
		return nil
	}
	rows := [][]string{{"record", "procedure", "begun", "state"}}
	for _, s := range list {
		rows = append(rows, []string{s.Name, s.Header.Procedure, minute(s.Header.Created), state(s)})
	}
	_, err = fmt.Fprint(a.Out, terminal.Table(rows, a.Width))
	return err
}

func minute(t time.Time) string {
	if t.IsZero() {
		return "?"
	}
	return t.Format("2006-01-02 15:04")
}

// state is how far a record has come, as far as its last line tells.
func state(s record.Summary) string {
	switch {
	case s.Err != nil:
		return "can't be read: " + s.Err.Error()
	case s.Worst != nil && s.Worst.Level == record.Damage:
		return "damaged: dropwalk records check " + s.Name
	case s.LastKind == engine.Finished:
		return "finished"
	}
	return "open"
}

func (a *app) recordsShow() *cobra.Command {
	var events bool
	cmd := &cobra.Command{
		Use:   "show RECORD",
		Short: "tell what happened in a test, corrections included",
		Example: `dropwalk records show yellow
dropwalk records show yellow --events`,
		Args: arguments(1, 1, "RECORD"),
		RunE: func(_ *cobra.Command, args []string) error {
			path, err := a.findRecord(args[0])
			if err != nil {
				return err
			}
			c, err := a.view(path)
			if err != nil {
				return err
			}
			if events {
				return a.printEvents(c)
			}
			return a.tellEvents(c)
		},
	}
	cmd.Flags().BoolVar(&events, "events", false, "print the events as JSON, one a line, without what differs between two ways of answering")
	return cmd
}

// printEvents prints what two records have in common if the same was answered:
// no id, time, checksum, text as typed, nor who asked.
func (a *app) printEvents(c *record.Content) error {
	_, events, err := session.Events(c.Lines)
	if err != nil && len(events) == 0 {
		return input(err, "")
	}
	for _, e := range events {
		e.Raw, e.First = "", ""
		if err := a.writeJSON(e); err != nil {
			return err
		}
	}
	return err
}

func (a *app) tellEvents(c *record.Content) error {
	h := c.Header
	head := fmt.Sprintf("%s: %s, begun %s", record.Name(c.Path), h.Procedure, minute(h.Created))
	if h.Car != "" {
		head += ", car " + h.Car
	}
	fmt.Fprint(a.Out, terminal.Wrap(terminal.CleanLine(head), a.Width, "", "  "))
	for _, line := range c.Lines {
		if line.Kind == session.ProcedureKind {
			continue
		}
		e, err := session.EventOf(line)
		if err != nil {
			fmt.Fprintf(a.Err, "%v\n", err)
			continue
		}
		if text := session.Account(e); text != "" {
			fmt.Fprint(a.Out, terminal.Wrap(terminal.CleanLine(text), a.Width, line.Time.Format("15:04 "), "      "))
		}
	}
	for _, u := range c.Unverified {
		fmt.Fprintf(a.Err, "line %d is unverified\n", u.Number)
	}
	return nil
}

func (a *app) recordsCheck() *cobra.Command {
	var repair bool
	cmd := &cobra.Command{
		Use:   "check [RECORD...]",
		Short: "look for damage and say what to do; all records if none is named",
		Example: `dropwalk records check
dropwalk records check yellow --repair`,
		RunE: func(_ *cobra.Command, args []string) error {
			paths, err := a.recordPaths(args)
			if err != nil {
				return err
			}
			var bad error
			for _, path := range paths {
				if err := a.checkRecord(path, repair); err != nil {
					a.complain(err)
					bad = fmt.Errorf("%w%w", errShown, silent{err})
				}
			}
			return bad
		},
	}
	cmd.Flags().BoolVar(&repair, "repair", false, "put right what can be put right without losing a line; the old file is kept")
	return cmd
}

// recordPaths finds the records that args call, or all there are.
func (a *app) recordPaths(args []string) ([]string, error) {
	if len(args) == 0 {
		dir, err := a.folder()
		if err != nil {
			return nil, err
		}
		names, err := record.Names(dir)
		if err != nil {
			return nil, plainPath(err)
		}
		for i, name := range names {
			names[i] = record.Path(dir, name)
		}
		return names, nil
	}
	var paths []string
	for _, arg := range args {
		path, err := a.findRecord(arg)
		if err != nil {
			return nil, err
		}
		paths = append(paths, path)
	}
	return paths, nil
}

func (a *app) checkRecord(path string, repair bool) error {
	report, err := record.Check(path)
	if err != nil {
		return err
	}
	if repair && report.Repairable {
		env, err := a.world()
		if err != nil {
			return err
		}
		kept, err := record.Repair(path, env)
		if err != nil {
			return err
		}
		fmt.Fprintf(a.Err, "%s: put right; the file as it was is %s\n", path, kept)
		if report, err = record.Check(path); err != nil {
			return err
		}
	}
	name := record.Name(path)
	if !report.Sound() {
		var lines []string
		for _, f := range report.Findings {
			lines = append(lines, fmt.Sprintf("%s: %v", path, f))
		}
		return input(errors.New(strings.Join(lines, "\n")), repairHint(report))
	}
	fmt.Fprintf(a.Out, "%s: %v\n", name, report)
	return nil
}

func repairHint(report *record.Report) string {
	if report.Repairable {
		return fmt.Sprintf("dropwalk records check %s --repair", record.Name(report.Path))
	}
	return ""
}

func (a *app) recordsRename() *cobra.Command {
	return &cobra.Command{
		Use:     "rename RECORD NAME",
		Short:   "give a record another name",
		Example: `dropwalk records rename yellow-estate-2026-11-25 first-visit`,
		Args:    arguments(2, 2, "RECORD NAME"),
		RunE: func(_ *cobra.Command, args []string) error {
			path, err := a.findRecord(args[0])
			if err != nil {
				return err
			}
			env, err := a.world()
			if err != nil {
				return err
			}
			to, err := record.Rename(path, args[1], env)
			if errors.Is(err, record.ErrName) {
				return &hinted{err, fmt.Sprintf("such as %q", record.NameFrom(args[1]))}
			}
			if err != nil {
				return err
			}
			fmt.Fprintf(a.Err, "%s is now called %s\n", record.Name(path), record.Name(to))
			return nil
		},
	}
}

func (a *app) recordsRemove() *cobra.Command {
	var yes bool
	cmd := &cobra.Command{
		Use:   "remove RECORD",
		Short: "delete a record for good, once its name is typed again",
		Example: `dropwalk records remove yellow-estate-2026-11-25
dropwalk records remove yellow-estate-2026-11-25 --yes`,
		Args: arguments(1, 1, "RECORD"),
		RunE: func(_ *cobra.Command, args []string) error {
			path, err := a.findRecord(args[0])
			if err != nil {
				return err
			}
			if !yes && !a.confirm(record.Name(path)) {
				return errNotConfirmed
			}
			env, err := a.world()
			if err != nil {
				return err
			}
			if err := record.Remove(path, env); err != nil {
				return err
			}
			fmt.Fprintf(a.Err, "%s is deleted\n", record.Name(path))
			return nil
		},
	}
	cmd.Flags().BoolVar(&yes, "yes", false, "don't ask")
	return cmd
}

// confirm has name typed again. The end of the input is a no.
func (a *app) confirm(name string) bool {
	fmt.Fprintf(a.Err, "This deletes %s for good. Type its name to go on:\n> ", name)
	line, _ := bufio.NewReader(a.In).ReadString('\n')
	return strings.TrimSpace(line) == name
}

func (a *app) recordsWhere() *cobra.Command {
	return &cobra.Command{
		Use:     "where",
		Short:   "name the folder in which records are kept",
		Example: `dropwalk records where`,
		Args:    arguments(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			dir, err := a.folder()
			if err == nil {
				fmt.Fprintln(a.Out, dir)
			}
			return err
		},
	}
}
