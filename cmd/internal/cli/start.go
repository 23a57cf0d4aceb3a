package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

// usualProcedure is what start runs where nothing is named.
const usualProcedure = "intake"

func (a *app) start() *cobra.Command {
	var answersFile, template string
	var from origin
	var view view
	var paper onPaper
	cmd := &cobra.Command{
		Use:   "start [PROCEDURE]",
		Short: "take one car through a test, from the first question to closing up",
		Long: "PROCEDURE is one that comes with the program (usually " + usualProcedure + "), one of your own, or the path of a file. Every answer is saved before " +
			"the next question shows. help, back, pause and stop work at every prompt: see dropwalk help words.\n\n" +
			"With --answers a test that was written down elsewhere becomes a record without a terminal: see dropwalk help answers. " +
			"With --from-paper a worksheet of dropwalk procedures print is typed in: part by part, each number twice, with what differs asked a third time.",
		Example: `dropwalk start
dropwalk start --sheet last-visit.yaml   take over the car from an earlier sheet
dropwalk start --view brief              a line a step, for who knows the work
dropwalk start --from-paper              type in a worksheet that was filled in
dropwalk start my-procedure.yaml
dropwalk start --answers-template > answers.yaml   a file of answers to fill in
dropwalk start --answers answers.yaml    run it without a terminal`,
		Args: arguments(0, 1, "[PROCEDURE]"),
		RunE: func(cmd *cobra.Command, args []string) error {
			word := usualProcedure
			if len(args) > 0 {
				word = args[0]
			}
			if err := view.check(); err != nil {
				return err
			}
			fromFile := cmd.Flags().Changed("answers")
			switch {
			case fromFile && answersFile == "":
				return &usageError{"--answers names no file", "the path of a file of answers, or - for standard input"}
			case template != "" && fromFile:
				return &usageError{"--answers and --answers-template don't go together", "one prints a file to fill in, the other runs it"}
			case template != "":
				return a.answersTemplate(word, from, template)
			case paper.set && (fromFile || cmd.Flags().Changed("view")):
				return &usageError{"--from-paper goes with neither --answers nor --view", "one way of answering"}
			case paper.date != "" && !paper.set:
				return &usageError{"--date is about a paper that is typed in", "--from-paper beside it"}
			case fromFile:
				return a.answered(word, from, answersFile)
			case paper.set:
				return a.typeIn(word, from, paper)
			}
			return a.begin(word, from, view)
		},
	}
	cmd.Flags().StringVar(&from.sheet, "sheet", "", "`file` of an earlier visit: its car, path and gauges are taken over")
	cmd.Flags().StringVar(&answersFile, "answers", "", "`file` of answers, - for standard input: run without a terminal")
	cmd.Flags().StringVar(&template, "answers-template", "", "print a file of answers to fill in; `form` schema: its JSON Schema, for an editor")
	cmd.Flags().Lookup("answers-template").NoOptDefVal = yamlForm
	from.costs.flag(cmd)
	view.flag(cmd)
	from.priors.flag(cmd)
	paper.flags(cmd)
	return cmd
}

// origin is what a new test takes over from files.
type origin struct {
	sheet  string // of an earlier visit; "" for none
	costs  costs
	priors priors
}

// beginning is a test that is about to begin.
type beginning struct {
	procedure *engine.Procedure
	matter    *advice.Matter
	given     []subject.Entry
	store     *newRecord
}

// prepare finds what a new test needs. Nothing is recorded by it.
func (a *app) prepare(word string, from origin) (*beginning, error) {
	units, err := a.system()
	if err != nil {
		return nil, err
	}
	p, err := a.findProcedure(word, units)
	if err != nil {
		return nil, err
	}
	table, costsText, err := a.costsAndText(from.costs)
	if err != nil {
		return nil, err
	}
	learnt, priorsText, err := a.priorsAndText(from.priors)
	if err != nil {
		return nil, err
	}
	given, err := a.carried(from.sheet)
	if err != nil {
		return nil, err
	}
	given = append(given, subject.Entry{Path: "date", Text: a.now().Format(time.DateOnly)})
	dir, err := a.folder()
	if err != nil {
		return nil, err
	}
	if err := a.ready(dir); err != nil {
		return nil, err
	}
	env, err := a.world()
	if err != nil {
		return nil, err
	}
	kept := session.Procedure{Name: p.Name, Units: units.String(), Text: string(p.Source), Costs: costsText, Priors: priorsText}
	return &beginning{
		procedure: p, matter: &advice.Matter{Units: units, Options: advice.Options{Costs: table, Priors: learnt.modelOrNil()}, Cards: a.cards()}, given: given,
		store: &newRecord{dir: dir, env: env, procedure: p, kept: kept, now: a.now},
	}, nil
}

func (a *app) begin(word string, from origin, how view) error {
	b, err := a.prepare(word, from)
	if err != nil {
		return err
	}
	defer b.store.close()
	asker, by := a.asker()
	how.set(asker)
	s := &session.Session{Run: engine.NewRun(b.procedure, b.matter), Store: b.store, Asker: asker, By: by}
	s.Asker.Say(introduction(b.procedure))
	if err := s.Begin(b.given); err != nil {
		return err
	}
	return a.drive(s, func() *record.Log { return b.store.log })
}

// carried is what an earlier sheet brings to a new visit.
func (a *app) carried(file string) ([]subject.Entry, error) {
	if file == "" {
		return nil, nil
	}
	s, err := a.oneSheet(file)
	if err != nil {
		return nil, err
	}
	return advice.Carried(s), nil
}

// introduction is what a person should know before the first question.
func introduction(p *engine.Procedure) session.Message {
	m := session.Message{Title: p.Title, Lines: []string{p.Purpose}}
	say := func(label string, items []string) {
		if len(items) > 0 {
			m.Lines = append(m.Lines, label+": "+strings.Join(items, "; ")+".")
		}
	}
	if p.Takes != "" {
		say("Takes", []string{p.Takes})
	}
	say("People", p.People)
	say("You need", p.Tools)
	say("Stop at once if there is", p.StopIf)
	m.Lines = append(m.Lines, "Local law and the maker's instructions come first. At every prompt: help, back, pause, stop.")
	return m
}

// drive runs a sitting until it ends, with signals as a way to leave. Open
// is its record, nil while there is none.
func (a *app) drive(s *session.Session, open func() *record.Log) error {
	return a.driven(s, open, func(log *record.Log) error {
		a.farewell(s, log.Name())
		return nil
	})
}

// driven is drive with what is said once all is done.
func (a *app) driven(s *session.Session, open func() *record.Log, said func(*record.Log) error) error {
	ctx, stop := untilSignal()
	defer stop()
	err := s.Drive(ctx)
	log := open()
	switch {
	case err == nil:
		return said(log)
	case log != nil && (errors.Is(err, session.ErrPause) || errors.Is(err, context.Canceled)):
		if lost := a.missing(log); lost != nil {
			return lost
		}
		fmt.Fprintf(a.Err, "Everything is saved. To go on:\n  %s\n", a.command(append([]string{"resume", log.Name()}, viewOf(s.Asker)...)...))
		return shown(err)
	}
	return a.stuck(log, err)
}

// untilSignal is a context that ends at the first signal to leave, so that
// whoever waits can put the terminal right.
func untilSignal() (context.Context, context.CancelFunc) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGQUIT)
	// Once the first signal has come the next one ends the process at once. Not so
	// where a window closes: its end may be read before its signal comes, or the
	// signal comes twice, and what is left to do must not be cut short. Ignoring it
	// won't do: one that is on its way would still kill.
	// A second Ctrl-\ would have the runtime dump its stacks over the farewell.
	signal.Notify(make(chan os.Signal, 1), syscall.SIGHUP, syscall.SIGQUIT)
	context.AfterFunc(ctx, stop)
	return ctx, stop
}

func (a *app) farewell(s *session.Session, name string) {
	how, _ := s.Run.Ended()
	if owed := s.Run.Owed(); len(owed) > 0 {
		m := session.Message{Title: "The car is not as it was. Still to be put back:", Steps: true}
		for _, duty := range owed {
			m.Lines = append(m.Lines, duty.Text)
		}
		s.Asker.Say(m)
	}
	a.takeAsked(s.Run, name)
	text := fmt.Sprintf("The test is over: %s. It is kept as %s. To read the result again:", how, name)
	fmt.Fprintf(a.Err, "\n%s  %s\n", terminal.Wrap(text, a.Width, "", ""), a.command(tells(s.Run), name))
}

// tells is the command that says what a test found.
func tells(run *engine.Run) string {
	if len(advice.Blocks(run.Entries())) > 1 {
		return "compare"
	}
	return "report"
}

// command is a command line that works from here.
func (a *app) command(parts ...string) string {
	line := program + " " + strings.Join(parts, " ")
	if a.dir == "" {
		return line
	}
	if strings.ContainsAny(a.dir, " \t'\"$&;|<>()*?") {
		return line + " --dir '" + strings.ReplaceAll(a.dir, "'", `'\''`) + "'"
	}
	return line + " --dir " + a.dir
}
