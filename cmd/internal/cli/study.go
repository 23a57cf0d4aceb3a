package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
	"dropwalk/advice/study"
	"dropwalk/engine/record"
)

// mostCars of a study keep its results in memory.
const mostCars = 100_000

func (a *app) study() *cobra.Command {
	var plan study.Plan
	var hand, walk, sheets string
	var asJSON, school bool
	var own priors
	cmd := &cobra.Command{
		Use:   "study",
		Short: "try the advice on simulated cars and say how good it is",
		Long: "Each car is drawn with a hidden truth, tested by the program's own advice and compared with it. A hand is who makes the cars: " +
			"another manner of physics, scatter and care. --walk says on whose readings the intervals are judged: full (every station) or advice. " +
			"Ctrl-C prints what is done by then.\n\n" +
			"--school draws the cars of an invented school whose pieces differ from the handbook. With --sheets it writes their test sheets and judges nothing; " +
			"dropwalk learn learns from them, and --priors shows how much better cars of another seed are then judged.",
		Example: `dropwalk study --cars 1000 --seed 7
dropwalk study --hand tinker --walk full --json
dropwalk study --school --cars 300 --sheets school
dropwalk study --school --cars 300 --seed 2 --priors school.yaml`,
		Args: arguments(0, 0, "OPTION..."),
		RunE: func(*cobra.Command, []string) error {
			var err error
			if plan.Hands, err = hands(hand); err != nil {
				return err
			}
			if plan.Walk, err = walkOf(walk); err != nil {
				return err
			}
			if plan.Cars < 1 || plan.Cars > mostCars {
				return &usageError{fmt.Sprintf("--cars: %d is not possible", plan.Cars), fmt.Sprintf("from 1 to %d", mostCars)}
			}
			if school {
				plan.School = practice.Invented()
			}
			if sheets != "" {
				return a.studySheets(plan, sheets)
			}
			learnt, _, err := a.priorsAndText(own)
			if err != nil {
				return err
			}
			plan.Priors = learnt.modelOrNil()
			return a.runStudy(plan, asJSON)
		},
	}
	cmd.Flags().IntVar(&plan.Cars, "cars", 300, "`number` of cars")
	cmd.Flags().Uint64Var(&plan.Seed, "seed", 1, "`number` that the cars follow from")
	cmd.Flags().StringVar(&hand, "hand", "all", "`name` of who makes the cars: draughtsman, fitter, tinker or all")
	cmd.Flags().StringVar(&walk, "walk", string(study.Full), "`visit` whose readings are judged: full or advice")
	cmd.Flags().BoolVar(&school, "school", false, "the cars of an invented school whose pieces differ from the handbook")
	cmd.Flags().StringVar(&sheets, "sheets", "", "`folder` to write the test sheets of the cars to, one file a car; nothing is judged then")
	own.flag(cmd)
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with all digits")
	return cmd
}

func hands(word string) ([]practice.Hand, error) {
	if word == "all" {
		return practice.Hands(), nil
	}
	known := []string{"all"}
	for _, h := range practice.Hands() {
		if h.String() == word {
			return []practice.Hand{h}, nil
		}
		known = append(known, h.String())
	}
	return nil, noSuch("hand", word, known)
}

func walkOf(word string) (study.Walk, error) {
	known := []string{string(study.Full), string(study.Advice)}
	if !slices.Contains(known, word) {
		return "", noSuch("walk", word, known)
	}
	return study.Walk(word), nil
}

func noSuch(option, word string, known []string) error {
	hint := "one of: " + strings.Join(known, ", ")
	if near, ok := nearest(word, known); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	return &usageError{fmt.Sprintf("--%s: there is no %q", option, word), hint}
}

// studySheets writes the test sheets of a study's cars into a folder.
func (a *app) studySheets(plan study.Plan, dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return plainPath(err)
	}
	env, err := a.world()
	if err != nil {
		return err
	}
	for i := range plan.Cars {
		path := filepath.Join(dir, fmt.Sprintf("car-%05d.yaml", i+1))
		if err := record.ReplaceFile(path, sheet.Write(plan.Sheet(i)), savedMode, env); err != nil {
			return plainPath(err)
		}
	}
	fmt.Fprintf(a.Err, "%d sheets written to %s\n", plan.Cars, dir)
	return nil
}

func (a *app) runStudy(plan study.Plan, asJSON bool) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	progress := a.progress()
	found := study.Run(ctx, plan, func(done int) { progress.Tell(fmt.Sprintf("%d of %d cars", done, plan.Cars)) })
	progress.Clear()
	if asJSON {
		if err := a.writeJSON(found); err != nil {
			return err
		}
	} else {
		studyPage(a.Out, found)
	}
	if ctx.Err() != nil && found.Done < found.Asked {
		return errors.Join(errShown, context.Canceled)
	}
	return nil
}

// studyPage prints the report of a study as a table for people.
func studyPage(w io.Writer, r *study.Report) {
	fmt.Fprintf(w, "%d of %d cars, seed %d, made by %s, intervals after the %s walk\n", r.Done, r.Asked, r.Seed, strings.Join(r.Hands, ", "), r.Walk)
	fmt.Fprintf(w, "95 %% intervals in brackets, by drawing whole cars again\n")
	for _, half := range []struct {
		title string
		study.Score
	}{{"With the sizes of the path", r.With}, {"With names and kinds only", r.Without}} {
		fmt.Fprintf(w, "\n%s (%d cars)\n", half.title, half.Cars)
		scorePage(w, half.Score)
	}
}

func scorePage(w io.Writer, s study.Score) {
	percent := func(name string, f *study.Figure) { figure(w, name, f, 100, 1, " %") }
	percent("90 % intervals hold the loss", s.Coverage)
	for _, kind := range slices.Sorted(maps.Keys(s.CoverageKind)) {
		mark := ""
		if kind == s.Worst {
			mark = " (worst)"
		}
		percent("- "+kind+mark, s.CoverageKind[kind])
	}
	figure(w, "mean interval score", s.IntervalScore, 1, 0, " Pa")
	percent("total loss held", s.Total)
	percent("gain held", s.Gain)
	percent("gain of everything held", s.GainAll)
	percent("right pick, one stands out", s.RightPicks)
	percent("- and a change is worth it", s.WorthPicks)
	percent("- the same by a full walk", s.FullPicks)
	percent("- of them groups", s.Grouped)
	figure(w, "- stations tapped", s.Stations, 1, 2, "")
	figure(w, "stations tapped, all cars", s.AllTapped, 1, 2, "")
	percent("visits without an end", s.Unended)
	figure(w, "regret, % of power", s.Regret, 1, 3, "")
	percent("false alarms", s.Alarms)
	percent("- gauge falls downstream", s.Falling)
	percent("false alarms or remarks", s.Blame)
	for _, fault := range practice.SetupFaults() {
		percent("noticed: "+string(fault), s.Noticed[string(fault)])
	}
}

// figure prints one line of the table.
func figure(w io.Writer, name string, f *study.Figure, times float64, digits int, unit string) {
	if f == nil {
		fmt.Fprintf(w, "  %-30s -\n", name)
		return
	}
	fmt.Fprintf(w, "  %-30s %.*f%s (%.*f to %.*f) n %d\n", name, digits, times*f.Value, unit, digits, times*f.Low, digits, times*f.High, f.Items)
}
