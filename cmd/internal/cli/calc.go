package cli

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/engine/quantity"
)

// calc is the group of single formulas.
func (a *app) calc() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "calc",
		Short: "work out one figure: air, flow, loss, power and the like",
		Example: `dropwalk calc air --temperature "20 C" --pressure "101.325 kPa" --humidity "50 %"
dropwalk calc loss --kind mouth --edge flush --diameter "70 mm" --flow "100 g/s"
dropwalk calc runs --scatter "0.3 inH2O" --change "0.5 inH2O"`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return a.showHelp(cmd)
		},
	}
	cmd.AddCommand(a.calcAir(), a.calcFlow(), a.calcLoss(), a.calcFriction(), a.calcPower(), a.calcCorrection(),
		a.calcColumn(), a.calcRam(), a.calcSpeed(), a.calcHose(), a.calcRuns())
	return cmd
}

// answer is what a calculation found: the object for machines, and lines for
// people.
type answer struct {
	object  any
	lines   []string
	sources []string // also in object
}

func (r *answer) say(format string, args ...any) {
	r.lines = append(r.lines, fmt.Sprintf(format, args...))
}

// calculation makes the command of one formula. Work reads the options and
// works it out.
func (a *app) calculation(cmd *cobra.Command, work func(in *options) (answer, error)) *cobra.Command {
	asJSON := false
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with all digits")
	cmd.Args = arguments(0, 0, "OPTION...")
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		units, err := a.system()
		if err != nil {
			return err
		}
		in := &options{cmd: cmd, units: units}
		found, err := work(in)
		if err := errors.Join(in.bad, err); err != nil {
			return err
		}
		if asJSON {
			return a.writeJSON(found.object)
		}
		for _, line := range found.lines {
			fmt.Fprintln(a.Out, line)
		}
		fmt.Fprintf(a.Out, "source: %s\n", strings.Join(found.sources, "; "))
		return nil
	}
	return cmd
}

// options reads the options of a calculation. The first fault stays in bad, and
// what is read after it doesn't count.
type options struct {
	cmd   *cobra.Command
	units quantity.System
	bad   error
}

// textOptions declares options whose values are texts; pairs of name and usage.
func textOptions(cmd *cobra.Command, pairs ...string) {
	for i := 0; i < len(pairs); i += 2 {
		cmd.Flags().String(pairs[i], "", pairs[i+1])
	}
}

func (o *options) given(name string) bool { return o.cmd.Flags().Changed(name) }

func (o *options) fail(err error) {
	if o.bad == nil {
		o.bad = err
	}
}

func (o *options) refuse(hint, format string, args ...any) {
	o.fail(&usageError{fmt.Sprintf(format, args...), hint})
}

// word is an option that must be one of some words; "" where it isn't given.
func (o *options) word(name string, known ...string) string {
	w, _ := o.cmd.Flags().GetString(name) // declared beside its use
	if !o.given(name) {
		return ""
	}
	for _, k := range known {
		if strings.EqualFold(k, strings.TrimSpace(w)) {
			return k
		}
	}
	hint := "one of: " + strings.Join(known, ", ")
	if near, ok := nearest(w, known); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	o.refuse(hint, "--%s: there is no %q", name, w)
	return ""
}

// span is what a quantity may be, in SI.
type span struct{ low, high float64 }

// Spans of quantities: wide enough for any car and any weather, narrow enough to
// catch a wrong unit.
var (
	anyAbove  = span{math.SmallestNonzeroFloat64, math.MaxFloat64}
	fromZero  = span{0, math.MaxFloat64}
	weather   = span{193.15, 353.15} // K
	barometer = span{30e3, 200e3}    // Pa
	shares    = span{0, 1}
	lengths   = span{1e-5, 100} // m
	airWeight = span{0.3, 3}    // kg/m3
	speeds    = span{1, 50000}  // rpm
)

// need is a quantity that must be given.
func (o *options) need(name string, kind quantity.Kind, unit string, within span) float64 {
	if !o.given(name) {
		o.refuse("it goes: "+strings.TrimSpace(strings.Split(o.cmd.Example, "\n")[0]), "%s needs --%s", strings.TrimPrefix(o.cmd.CommandPath(), program+" "), name)
		return within.low
	}
	return o.amount(name, kind, unit, within, within.low)
}

// amount is a quantity, or otherwise where it isn't given. Unit is that of a bare
// number, "" where a number needs one.
func (o *options) amount(name string, kind quantity.Kind, unit string, within span, otherwise float64) float64 {
	if !o.given(name) {
		return otherwise
	}
	raw, _ := o.cmd.Flags().GetString(name)
	v, err := readQuantity(raw, kind, unit)
	if err != nil {
		o.fail(optionError(name, err))
		return otherwise
	}
	if !(v >= within.low && v <= within.high) {
		hint := within.hint(kind)
		if whole := 100 * v; kind == quantity.Share && whole >= within.low && whole <= within.high {
			hint = fmt.Sprintf("did you mean %q?", quantity.ShowIn(whole, kind, "%"))
		}
		o.refuse(hint, "--%s: %s can't be right", name, strings.TrimSpace(raw))
		return otherwise
	}
	return v
}

func readQuantity(raw string, kind quantity.Kind, unit string) (float64, error) {
	a, err := quantity.Read(raw, quantity.Want{Kind: kind, Unit: unit})
	return a.SI, err
}

func (s span) hint(kind quantity.Kind) string {
	switch {
	case s == anyAbove:
		return "more than nought"
	case s == fromZero:
		return "nought or more"
	}
	return fmt.Sprintf("from %s to %s", quantity.Show(s.low, kind, quantity.Metric), quantity.Show(s.high, kind, quantity.Metric))
}

// optionError puts the name of the option before a fault of its text.
func optionError(name string, err error) error {
	if choice, ok := errors.AsType[*quantity.Ambiguous](err); ok {
		return &hinted{fmt.Errorf("--%s: %w", name, err), "write one of them out: " + strings.Join(choice.Choices, ", ")}
	}
	return &hinted{fmt.Errorf("--%s: %w", name, err), fmt.Sprintf("%s help units lists the units", program)}
}

// show is a quantity in the units that the user asked for.
func (o *options) show(si float64, kind quantity.Kind) string {
	return quantity.Show(si, kind, o.units)
}

// showAs is show, but that units as typed are those of an option, where they are
// of this kind too.
func (o *options) showAs(name string, si float64, kind quantity.Kind) string {
	raw, _ := o.cmd.Flags().GetString(name)
	a, err := quantity.Read(raw, quantity.Want{Kind: kind})
	if err != nil || o.units != quantity.AsTyped || a.Unit == "" {
		return o.show(si, kind)
	}
	return quantity.ShowIn(si, kind, a.Unit)
}

// plain is a number without a unit.
func plain(v float64) string { return quantity.Format(v, digits) }

// banded is an estimate for machines.
type banded struct {
	Median float64 `json:"median"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
}
