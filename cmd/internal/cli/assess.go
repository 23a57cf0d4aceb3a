package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
)

func (a *app) assess() *cobra.Command {
	var asJSON bool
	var prices costs
	var own priors
	cmd := &cobra.Command{
		Use:   "assess FILE|RECORD...",
		Short: "judge test sheets: losses, what to attack, the next reading",
		Long: "FILE is a test sheet in YAML or JSON, or several in one stream; - is standard input. A sheet with a fault gives no result: " +
			"its faults go to standard error with line and column, and the sheets around it are judged all the same.",
		Example: `dropwalk assess sheet.yaml
dropwalk assess yellow
dropwalk assess sheet.yaml --priors workshop.yaml
dropwalk assess --json - < sheets.yaml`,
		Args: arguments(1, -1, "FILE|RECORD..."),
		RunE: func(_ *cobra.Command, args []string) error {
			units, err := a.system()
			if err != nil {
				return err
			}
			table, err := a.readCosts(prices)
			if err != nil {
				return err
			}
			learnt, _, err := a.priorsAndText(own)
			if err != nil {
				return err
			}
			run := &assessor{app: a, asJSON: asJSON, units: units, options: advice.Options{Costs: table, Priors: learnt.modelOrNil()}, progress: a.progress()}
			defer run.progress.Clear()
			defer gatherSeldom()()
			for _, arg := range args {
				if err := run.take(arg); err != nil {
					return err
				}
			}
			return run.bad
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object a sheet, one a line")
	prices.flag(cmd)
	own.flag(cmd)
	return cmd
}

// gatherSeldom lets the heap grow to three and a half times what lives before it is gathered, until
// what it returns is called. Next to nothing lives on from one sheet or record to the next, and with the
// usual twofold a tenth of the time of a long stream went into gathering. Who sets GOGC knows better.
func gatherSeldom() (asUsual func()) {
	if os.Getenv("GOGC") != "" {
		return func() {}
	}
	before := debug.SetGCPercent(250)
	return func() { debug.SetGCPercent(before) }
}

// assessor judges sheets one after the other and prints each at once, so that
// a long stream needs no more memory than a short one.
type assessor struct {
	*app
	asJSON  bool
	units   quantity.System
	options advice.Options
	judged  int   // sheets
	shown   int   // assessments printed
	bad     error // what the command ends with: a sheet had a fault

	progress *terminal.Progress
}

// take judges what one argument calls. Faults of its content don't end the
// command; its error does, because nothing more can be printed.
func (r *assessor) take(arg string) error {
	src, err := r.findSource(arg)
	if err != nil {
		r.blame(err)
		return nil
	}
	if src.isRecord {
		s, _, kept, err := r.testWith(src.path)
		if err != nil {
			r.blame(err)
			return nil
		}
		o := r.options
		if o.Priors == nil {
			o.Priors = kept
		}
		return r.judge(s, o)
	}
	in := r.In
	if src.path != "" {
		file, err := os.Open(src.path)
		if err != nil {
			r.blame(plainPath(err))
			return nil
		}
		defer file.Close()
		in = file
	}
	return r.stream(src.name, in)
}

func (r *assessor) stream(name string, in io.Reader) (err error) {
	sheet.ReadAll(name, in, func(s *sheet.Sheet, faults strictyaml.Faults) bool {
		if len(faults) > 0 {
			r.progress.Clear()
			printFaults(r.Err, faults)
		}
		if s == nil {
			r.bad = shown(errInput)
			return true
		}
		err = r.judge(s, r.options)
		return err == nil
	})
	return err
}

// blame tells a fault and goes on.
func (r *assessor) blame(err error) {
	r.progress.Clear()
	r.complain(err)
	r.bad = shown(err)
}

// shown is an error with the exit code of err whose text is on the screen
// already.
func shown(err error) error { return errors.Join(errShown, err) }

func (r *assessor) judge(s *sheet.Sheet, o advice.Options) error {
	r.judged++
	r.progress.Tell(fmt.Sprintf("judging sheet %d", r.judged))
	judged := advice.Assess(s, o)
	if r.OutTTY {
		r.progress.Clear()
	}
	if r.asJSON {
		return r.writeJSON(judged)
	}
	if r.shown++; r.shown > 1 {
		fmt.Fprintln(r.Out)
	}
	show := report.Options{Units: r.units}
	if !r.spoken() {
		show.Pictures, show.Columns = report.Drawn, r.Width-codeIndent
	}
	_, err := io.WriteString(r.Out, terminal.Plain(report.Plain(judged, s, show), r.Width))
	return err
}
