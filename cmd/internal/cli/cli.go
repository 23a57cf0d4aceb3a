package cli

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"runtime"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
)

const program = "dropwalk"

// app is what every command shares: where it reads and writes, and the options
// that stand before or behind any command.
type app struct {
	terminal.Streams
	env func(string) string
	now func() time.Time

	dir   string // --dir
	units string // --units
	plain bool   // --plain

	asking *asking                      // nil until something is asked
	loaded map[string]*engine.Procedure // procedures out of records, by their text
	known  session.Known                // the same as their records hold them
}

// Main runs the program on this process's arguments and streams and returns
// its exit code.
func Main() int {
	a := &app{
		Streams: terminal.Open(os.Stdin, os.Stdout, os.Stderr, os.Getenv),
		env:     os.Getenv,
		now:     time.Now,
	}
	return a.run(os.Args[1:])
}

func (a *app) run(args []string) int {
	root := a.root()
	root.SetArgs(minusSigns(root, args))
	err := root.Execute()
	a.complain(err)
	return exitCode(err)
}

// complain prints err for a person: the fault, then a hint. Faults of a file
// begin with their place, as editors know it. A hint is never broken into
// lines, since it can hold a command to be copied.
func (a *app) complain(err error) {
	if err == nil || errors.Is(err, errShown) {
		return
	}
	for line := range strings.SplitSeq(err.Error(), "\n") {
		switch {
		case isA[strictyaml.Faults](err):
			fmt.Fprintln(a.Err, line)
		case a.seen():
			fmt.Fprint(a.Err, terminal.Wrap(terminal.CleanLine(program+": "+line), a.Width, "", "  "))
		default:
			fmt.Fprintf(a.Err, "%s: %s\n", program, line)
		}
	}
	if hint := cmp.Or(hintOf(err), usualHint(err)); hint != "" {
		fmt.Fprintf(a.Err, "hint: %s\n", hint)
	}
}

// root is the command tree.
func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:           program,
		Short:         "find where a car's intake path loses power",
		Long:          "Without a command it is a short menu, on a terminal, and this help elsewhere.",
		Args:          cobra.ArbitraryArgs,
		SilenceErrors: true,
		SilenceUsage:  true,
		Version:       version(),
		Example: `dropwalk start                          take one car through the whole test
dropwalk resume                         go on after a pause
dropwalk demo                           see a finished test of an invented car
dropwalk report yellow                  what the test of that car says
dropwalk assess sheet.yaml              judge a test sheet that exists
dropwalk convert "12.5 inH2O" kPa       convert a reading`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			if a.watched() {
				return a.menu(cmd)
			}
			return a.showHelp(cmd)
		},
	}
	flags := root.PersistentFlags()
	flags.StringVar(&a.dir, "dir", "", "`folder` of the records; see: dropwalk records where")
	flags.StringVar(&a.units, "units", "as-typed", "`system` in which quantities are shown: metric, imperial or as-typed")
	flags.BoolVar(&a.plain, "plain", false, "plain numbered lines, nothing repainted; fit for screen readers")
	flags.BoolP("help", "h", false, "show examples and options")
	root.Flags().Bool("version", false, "show the version and the formats it knows")
	root.SetOut(a.Out)
	root.SetErr(a.Err)
	root.SetIn(a.In)
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetVersionTemplate("{{.Version}}\n")
	root.SetFlagErrorFunc(flagError)
	root.SetHelpFunc(func(cmd *cobra.Command, _ []string) { _ = a.showHelp(cmd) })
	root.PersistentPreRunE = func(*cobra.Command, []string) error {
		_, err := a.system()
		return err
	}
	root.AddCommand(a.start(), a.resume(), a.records(), a.assess(), a.report(), a.compare(), a.history(), a.sheet(), a.pulls(), a.class(), a.procedures(), a.gauges(), a.convert(), a.calc(), a.study(), a.learn(), a.demo(), a.practice(), a.completion())
	help := a.help()
	root.SetHelpCommand(help)
	root.AddCommand(help)
	a.completes(root)
	return root
}

// system is the system of units that the user asked for.
func (a *app) system() (quantity.System, error) {
	sys, err := quantity.ParseSystem(a.units)
	if err != nil {
		return sys, &usageError{fmt.Sprintf("--units: %v", err), "one of metric, imperial, as-typed"}
	}
	return sys, nil
}

// folder is where the records live.
func (a *app) folder() (string, error) {
	if a.dir != "" {
		return a.dir, nil
	}
	dir, err := record.Place(runtime.GOOS, a.env, os.UserHomeDir)
	if err != nil {
		return "", &hinted{err, "such as --dir records"}
	}
	return dir, nil
}

// world is what records need of the world. A failpoint is armed only by tests.
func (a *app) world() (record.Env, error) {
	return record.WithFailpoint(record.Env{}, a.env(record.FailpointVariable))
}
