package cli

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/record"
)

func (a *app) records() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "records",
		Short: "list the tests that are kept, or look after them",
		Long:  "How a test is called, what its file holds and where it lies: dropwalk help folder.",
		Example: `dropwalk records
dropwalk records show yellow
dropwalk records check
dropwalk records rename yellow-estate-2026-11-25 first-visit`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return a.listRecords(asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with the list")
	cmd.AddCommand(a.recordsShow(), a.recordsCheck(), a.recordsSalvage(), a.recordsRename(), a.recordsRemove(), a.recordsWhere())
	return cmd
}

// listed is one record in a list, for machines. Times are RFC 3339.
type listed struct {
	Name      string     `json:"name"`
	Path      string     `json:"path"`
	Procedure string     `json:"procedure"`
	Car       string     `json:"car"`
	Begun     *time.Time `json:"begun"`
	Last      *time.Time `json:"last"` // of the last sound line
	Lines     int        `json:"lines"`
	State     string     `json:"state"` // open, finished, empty, damaged or unreadable
	Problem   string     `json:"problem,omitzero"`
	Stopped   bool       `json:"stopped"` // somebody stopped it
	Ended     string     `json:"ended"`   // how it ended, "" where it is not finished
	Owed      []string   `json:"owed"`    // what is still to be put back
}

func (a *app) listRecords(asJSON bool) error {
	dir, err := a.folder()
	if err != nil {
		return err
	}
	if asJSON {
		return a.listJSON(dir)
	}
	rows := [][]string{{"record", "car", "procedure", "begun", "state"}}
	err = record.Each(dir, func(s record.Summary, c *record.Content) {
		st := a.outcomeIn(c)
		rows = append(rows, []string{s.Name, terminal.CleanLine(st.car), s.Header.Procedure, minute(s.Header.Created), a.state(s, st)})
	})
	if err != nil {
		return plainPath(err)
	}
	if len(rows) == 1 {
		fmt.Fprintf(a.Err, "no records in %s\n", dir)
		return nil
	}
	_, err = fmt.Fprint(a.Out, terminal.Table(rows, a.Width))
	return err
}

func (a *app) listJSON(dir string) error {
	rows := []listed{}
	err := record.Each(dir, func(s record.Summary, c *record.Content) {
		st := a.outcomeIn(c)
		row := listed{Name: s.Name, Path: s.Path, Procedure: s.Header.Procedure, Car: st.car,
			Begun: moment(s.Header.Created), Last: moment(s.LastTime), Lines: s.Lines, State: stateOf(s),
			Stopped: st.stopped, Ended: st.ended, Owed: append([]string{}, st.owed...)}
		switch {
		case s.Err != nil:
			row.Problem = s.Err.Error()
		case s.Worst != nil:
			row.Problem = s.Worst.String()
		}
		rows = append(rows, row)
	})
	if err != nil {
		return plainPath(err)
	}
	return a.writeVersioned("records", struct {
		Folder string   `json:"folder"`
		List   []listed `json:"list"`
	}{dir, rows})
}

// moment is t, nil where it isn't known.
func moment(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

func minute(t time.Time) string {
	if t.IsZero() {
		return "?"
	}
	return t.Format("2006-01-02 15:04")
}

// States of a record, as far as its last line tells.
const (
	isOpen       = "open"
	isFinished   = "finished"
	isEmpty      = "empty" // nothing was answered
	isDamaged    = "damaged"
	isUnreadable = "unreadable"
)

func stateOf(s record.Summary) string {
	begun := s.LastKind != "" && s.LastKind != record.HeaderKind && s.LastKind != session.ProcedureKind
	switch {
	case s.Err != nil:
		return isUnreadable
	case s.Size == 0, s.GoesOn && !begun:
		return isEmpty
	case s.LastKind == engine.Finished && (s.Worst == nil || s.Worst.Level < record.Damage):
		return isFinished
	case !s.GoesOn:
		return isDamaged
	}
	return isOpen
}

// state says how far a record has come, and what to do where it is no good.
func (a *app) state(s record.Summary, st outcome) string {
	switch is := stateOf(s); is {
	case isUnreadable:
		return "can't be read: " + s.Err.Error()
	case isDamaged:
		return "damaged: " + a.command("records check", quoted(s.Name))
	case isEmpty:
		return "empty, nothing was answered"
	default:
		return st.told(is)
	}
}

// unsafe is what a shell doesn't take as part of a plain word.
var unsafe = regexp.MustCompile(`[^\pL\pN_.,:/@%+=-]`)

// quoted is a word as it has to be typed in a shell.
func quoted(word string) string {
	if word != "" && !unsafe.MatchString(word) {
		return word
	}
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}

func (a *app) recordsShow() *cobra.Command {
	var events, asJSON bool
	cmd := &cobra.Command{
		Use:   "show RECORD",
		Short: "tell what happened in a test, corrections included",
		Example: `dropwalk records show yellow
dropwalk records show yellow --events`,
		Args: arguments(1, 1, "RECORD"),
		RunE: func(_ *cobra.Command, args []string) error {
			if events && asJSON {
				return &usageError{"--events and --json are two forms of the same", "one of the two"}
			}
			path, err := a.findRecord(args[0])
			if err != nil {
				return err
			}
			c, err := a.view(path)
			switch {
			case err != nil:
				return err
			case events:
				return a.printEvents(c)
			case asJSON:
				return a.eventsJSON(c)
			}
			return a.tellEvents(c)
		},
	}
	cmd.Flags().BoolVar(&events, "events", false, "print the events as JSON, one a line, without what differs between two ways of answering")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with everything that happened, and when")
	return cmd
}

// eachEvent calls do with the events of a record, its procedure left out. What
// can't be read is told on standard error.
func (a *app) eachEvent(c *record.Content, do func(record.Line, engine.Event)) {
	for _, line := range c.Lines {
		if line.Kind == session.ProcedureKind || line.Kind == session.TypedKind {
			continue
		}
		e, err := session.EventOf(line)
		if err != nil {
			fmt.Fprintf(a.Err, "%v\n", err)
			continue
		}
		do(line, e)
	}
}

// eventsJSON prints a whole record but for its procedure.
func (a *app) eventsJSON(c *record.Content) error {
	type happened struct {
		Line int       `json:"line"`
		Time time.Time `json:"time"`
		engine.Event
	}
	list, unverified, st := []happened{}, []int{}, a.outcomeIn(c)
	a.eachEvent(c, func(line record.Line, e engine.Event) {
		list = append(list, happened{line.Seq, line.Time, e})
	})
	for _, u := range c.Unverified {
		unverified = append(unverified, u.Number)
	}
	return a.writeVersioned("record", struct {
		Name       string        `json:"name"`
		Path       string        `json:"path"`
		Header     record.Header `json:"header"`
		Events     []happened    `json:"events"`
		Unverified []int         `json:"unverified_lines"`
		Car        string        `json:"car"`  // the name that it bears now
		Owed       []string      `json:"owed"` // what is still to be put back
	}{record.Name(c.Path), c.Path, c.Header, list, unverified, st.car, append([]string{}, st.owed...)})
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
	h, st := c.Header, a.outcomeIn(c)
	head := fmt.Sprintf("%s: %s, begun %s", record.Name(c.Path), h.Procedure, minute(h.Created))
	if st.car != "" {
		head += ", car " + st.car
	}
	fmt.Fprint(a.Out, terminal.Wrap(terminal.CleanLine(head), a.Width, "", "  "))
	a.eachEvent(c, func(line record.Line, e engine.Event) {
		if text := session.Account(e); text != "" {
			fmt.Fprint(a.Out, terminal.Wrap(terminal.CleanLine(text), a.Width, line.Time.Format("15:04 "), "      "))
		}
	})
	if len(st.owed) > 0 {
		fmt.Fprint(a.Out, terminal.Wrap("The car is not as it was: "+st.told("open")+".", a.Width, "", "  "))
		for _, duty := range st.owed {
			fmt.Fprint(a.Out, terminal.Wrap(terminal.CleanLine(duty), a.Width, "  - ", "    "))
		}
	}
	for _, u := range c.Unverified {
		fmt.Fprintf(a.Err, "line %d is unverified\n", u.Number)
	}
	return nil
}

func (a *app) recordsCheck() *cobra.Command {
	var repair, asJSON bool
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
				if err := a.checkRecord(path, repair, asJSON); err != nil {
					a.complain(err)
					bad = fmt.Errorf("%w%w", errShown, silent{err})
				}
			}
			return bad
		},
	}
	cmd.Flags().BoolVar(&repair, "repair", false, "put right what can be put right without losing a line; the old file is kept")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object a record, one a line")
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

func (a *app) checkRecord(path string, repair, asJSON bool) error {
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
	if asJSON {
		if err := a.checkJSON(report); err != nil {
			return err
		}
	}
	switch {
	case !report.Sound():
		var lines []string
		for _, f := range report.Findings {
			lines = append(lines, fmt.Sprintf("%s: %v", path, f))
		}
		return input(errors.New(strings.Join(lines, "\n")), a.wayOut(report))
	case !asJSON:
		a.tellSound(report)
	}
	return nil
}

// tellSound says that a record is sound, and what is worth knowing about it all
// the same.
func (a *app) tellSound(r *record.Report) {
	what := fmt.Sprintf("sound, %d lines", r.Lines)
	if c, err := record.View(r.Path); err == nil && !answered(c.Lines) {
		what = "sound, but nothing was answered in it"
	}
	fmt.Fprintf(a.Out, "%s: %s\n", record.Name(r.Path), what)
	for _, f := range r.Findings {
		fmt.Fprint(a.Out, terminal.Wrap(terminal.CleanLine(f.String()), a.Width, "  ", "    "))
	}
}

func (a *app) checkJSON(r *record.Report) error {
	type finding struct {
		Line  int    `json:"line"` // 0 where it concerns the whole file
		Level string `json:"level"`
		What  string `json:"what"`
		Do    string `json:"do,omitzero"`
	}
	list := []finding{}
	for _, f := range r.Findings {
		list = append(list, finding{f.Line, f.Level.String(), f.What, f.Do})
	}
	return a.writeVersioned("record_check", struct {
		Name       string    `json:"name"`
		Path       string    `json:"path"`
		Sound      bool      `json:"sound"`
		Lines      int       `json:"sound_lines"`
		Unverified int       `json:"unverified_lines"`
		Repairable bool      `json:"repairable"`
		Findings   []finding `json:"findings"`
	}{record.Name(r.Path), r.Path, r.Sound(), r.Lines, r.Unverified, r.Repairable, list})
}

// wayOut is the command that helps with what a check found. It never leads
// back to the check.
func (a *app) wayOut(r *record.Report) string {
	name := quoted(record.Name(r.Path))
	if r.Repairable {
		return a.command("records check", name, "--repair")
	}
	c, err := record.View(r.Path)
	switch {
	case err != nil, len(r.Findings) > 0 && r.Lines == 0 && r.Unverified == 0:
		return "no answer is in it; if you don't need it: " + a.command("records remove", name)
	case c.Newer > 0:
		return "a newer release of " + program + " can go on with it; " + a.command("report", name) + " shows what this one can read"
	case c.Bad == nil:
		return a.command("resume", name) + " goes on with what is whole"
	case !answered(c.Lines):
		return "no answer stands before the damage; put a copy from elsewhere in its place, or begin anew: " + a.command("start")
	}
	return a.command("records salvage", name) + fmt.Sprintf(" makes a new record of the %d lines before the damage", r.Lines)
}

// answered tells whether lines are enough of a record to go on with.
func answered(lines []record.Line) bool {
	_, events, err := session.Events(lines)
	return err == nil && len(events) > 0
}

func (a *app) recordsSalvage() *cobra.Command {
	return &cobra.Command{
		Use:   "salvage RECORD [NAME]",
		Short: "make a new record of what stands before the damage",
		Long: "The damaged file stays as it is. NAME is what the new record is called; without it, the old name with -sound behind it. " +
			"What was answered after the damage is asked again.",
		Example: `dropwalk records salvage yellow
dropwalk records salvage yellow-estate-2026-11-25 second-try`,
		Args: arguments(1, 2, "RECORD [NAME]"),
		RunE: func(_ *cobra.Command, args []string) error {
			path, err := a.findRecord(args[0])
			if err != nil {
				return err
			}
			as := ""
			if len(args) > 1 {
				as = args[1]
			}
			return a.salvage(path, as)
		},
	}
}

func (a *app) salvage(path, as string) error {
	name := quoted(record.Name(path))
	report, err := record.Check(path)
	switch {
	case err != nil:
		return err
	case report.Sound():
		return &usageError{fmt.Sprintf("%s needs no salvage: it is sound", record.Name(path)), a.command("records show", name) + " tells what is in it"}
	}
	c, err := record.View(path)
	if err != nil {
		return err
	}
	if report.Repairable || c.Newer > 0 || c.Bad == nil || !answered(c.Lines) {
		return input(fmt.Errorf("%s is not to be salvaged", record.Name(path)), a.wayOut(report))
	}
	env, err := a.world()
	if err != nil {
		return err
	}
	if as == "" {
		if as, err = record.FreeName(filepath.Dir(path), record.NameFrom(record.Name(path)+"-sound"), env); err != nil {
			return err
		}
	}
	to, err := record.Salvage(path, as, env)
	if err != nil {
		return named(err, as)
	}
	fmt.Fprintf(a.Err, "%s holds the %d sound lines of %s, up to %s. Not taken over: %d.\n",
		record.Name(to), report.Lines, record.Name(path), minute(c.Lines[len(c.Lines)-1].Time), report.Unverified)
	a.tellLost(c)
	fmt.Fprintf(a.Err, "To go on:\n  %s\n", a.command("resume", record.Name(to)))
	return nil
}

// tellLost lists what can be read behind the damage, so that it can be typed
// again. Nothing proves these lines, so a person has to look at them.
func (a *app) tellLost(c *record.Content) {
	var lines []string
	unread := c.Unshown
	for _, u := range c.Unverified {
		line := u.Line
		if line == nil {
			line = asItReads(c.Path, u.Number)
		}
		if line == nil {
			unread++
			continue
		}
		e, err := session.EventOf(*line)
		if err != nil || e.Kind != engine.Answered && e.Kind != engine.Skipped && e.Kind != engine.Noted {
			continue
		}
		text := session.Account(e)
		if !u.Intact {
			text += " (this line was altered)"
		}
		lines = append(lines, text)
	}
	if len(lines) > 0 {
		fmt.Fprint(a.Err, terminal.Wrap("What can be read behind the damage, to look at and to type again:", a.Width, "", ""))
	}
	for _, text := range lines {
		fmt.Fprint(a.Err, terminal.Wrap(terminal.CleanLine(text), a.Width, "  - ", "    "))
	}
	if unread > 0 {
		fmt.Fprintf(a.Err, "Lines that can't be read: %d.\n", unread)
	}
}

// asItReads is a line whose checksum is wrong, as far as a person can make use of
// it; nil where it is no whole line.
func asItReads(path string, number int) *record.Line {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil
	}
	lines := bytes.Split(data, []byte("\n"))
	if number < 1 || number > len(lines) {
		return nil
	}
	var frame struct {
		R struct {
			Kind string          `json:"kind"`
			Body json.RawMessage `json:"body"`
		} `json:"r"`
	}
	if json.Unmarshal(lines[number-1], &frame) != nil || frame.R.Kind == "" {
		return nil
	}
	return &record.Line{Seq: number, Kind: frame.R.Kind, Body: frame.R.Body}
}

// named adds a hint to the faults of a name for a record.
func named(err error, name string) error {
	switch {
	case errors.Is(err, record.ErrName):
		return &hinted{err, fmt.Sprintf("such as %q", record.NameFrom(name))}
	case errors.Is(err, record.ErrExists):
		return &hinted{err, "another name"}
	}
	return err
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
			if err != nil {
				return named(err, args[1])
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
			if !yes && !a.confirm(record.Name(path), record.Name(path)) {
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

// confirm has the name of what is to be deleted typed again. The end of the input
// is a no.
func (a *app) confirm(what, name string) bool {
	fmt.Fprintf(a.Err, "This deletes %s for good. Type its name to go on:\n> ", what)
	line, _ := bufio.NewReader(a.In).ReadString('\n')
	return strings.TrimSpace(line) == name
}

func (a *app) recordsWhere() *cobra.Command {
	return a.where("records", "name the folder in which records are kept", "print a JSON object", a.folder)
}

// where is the command that names the folder of one kind of thing.
func (a *app) where(kind, short, jsonHelp string, folder func() (string, error)) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "where",
		Short:   short,
		Example: "dropwalk " + kind + " where",
		Args:    arguments(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			dir, err := folder()
			if err != nil {
				return err
			}
			if asJSON {
				return a.writeVersioned(kind+"_where", struct {
					Folder string `json:"folder"`
				}{dir})
			}
			fmt.Fprintln(a.Out, dir)
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, jsonHelp)
	return cmd
}
