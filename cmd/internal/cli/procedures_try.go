package cli

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/cmd/internal/trial"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
)

// errUnsound ends a trial that found steps without a way to them or on from
// them.
var errUnsound = fmt.Errorf("%w: steps that nobody comes to, or dead ends", errInput)

func (a *app) proceduresTry() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "try [FILE...]",
		Short: "walk every branch of a procedure without a car",
		Long: "Every answer is given once, every when is made true, false and undecided, rounds come as seldom and as often as they may, and at " +
			"every step somebody says stop. What a reading would say is supposed, not worked out. Steps that nobody comes to and dead ends are " +
			"faults; a when that makes no difference is told. Without a name, those of the program are tried.",
		Example: `dropwalk procedures try my-procedure.yaml
dropwalk procedures try`,
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				args = shipped()
			}
			return a.tryProcedures(args, asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with the counts")
	return cmd
}

// triedFile is what walking one procedure came to, for machines.
type triedFile struct {
	File string `json:"file"`
	Name string `json:"name"`
	*trial.Trial
}

func (a *app) tryProcedures(words []string, asJSON bool) error {
	list := []triedFile{}
	sound := true
	for _, word := range words {
		w, err := a.procedureText(word)
		if err != nil {
			return err
		}
		p, err := a.findProcedure(word, quantity.AsTyped)
		if err != nil {
			return err
		}
		t := trial.Walk(p, &advice.Matter{}, trial.Usual)
		sound = sound && t.Sound()
		list = append(list, triedFile{filepath.ToSlash(w.file), p.Name, t})
		if !asJSON {
			a.tellTried(strictyaml.Clean(filepath.ToSlash(w.file)), t)
		}
	}
	if asJSON {
		if err := a.writeVersioned("procedures_try", struct {
			Files []triedFile `json:"files"`
		}{list}); err != nil {
			return err
		}
	}
	if !sound {
		return shown(errUnsound)
	}
	return nil
}

// mostNamed bounds how many branches are named.
const mostNamed = 20

// tellTried prints the counts, then what is to be put right.
func (a *app) tellTried(file string, t *trial.Trial) {
	say := func(format string, args ...any) {
		fmt.Fprint(a.Out, terminal.Wrap(terminal.CleanLine(fmt.Sprintf(format, args...)), a.Width, "  ", "    "))
	}
	fmt.Fprintf(a.Out, "%s:\n", file) // never broken into lines: it can be copied
	say("%d of %d steps reached, %d of %d branches taken, on %d paths of %d prompts in all", t.Reached, t.Steps, t.Taken, t.Branches, t.Paths, t.Prompts)
	for _, d := range t.DeadEnds {
		say("dead end at %s: %s", d.Step, d.Why)
	}
	if len(t.Never) > 0 {
		say("nobody comes to: %s", shortList(t.Never))
	}
	if len(t.Idle) > 0 {
		say("the when makes no difference at: %s", shortList(t.Idle))
	}
	if !t.Whole {
		say("The procedure is too large to be walked to the end: %d branches were not tried.", len(t.Untaken))
	} else if len(t.Untaken) > 0 {
		var names []string
		for _, b := range t.Untaken {
			names = append(names, b.String())
		}
		say("not taken: %s", shortList(names))
	}
}

func shortList(names []string) string {
	if len(names) > mostNamed {
		return strings.Join(names[:mostNamed], ", ") + fmt.Sprintf(" and %d more", len(names)-mostNamed)
	}
	return strings.Join(names, ", ")
}
