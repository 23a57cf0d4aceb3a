package cli

import (
	"errors"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice/compare"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

func (a *app) compare() *cobra.Command {
	asJSON := false
	cmd := &cobra.Command{
		Use:   "compare BEFORE AFTER [AGAIN]",
		Short: "say whether a change helped",
		Long: "BEFORE, AFTER and AGAIN are records or test sheets of one car: as it was, changed, and as it was once more. With AGAIN a drift of " +
			"the engine, the gauge or the weather is told from the change. Each needs two runs or more between the same two stations; three are usual. " +
			"Earlier visits of the car in the folder of records tell how far it scatters from one fitting to the next, unless --refit does.",
		Example: `dropwalk compare yellow-before yellow-after yellow-again
dropwalk compare before.yaml after.yaml --worth "0.5 inH2O"
dropwalk compare before.yaml after.yaml --refit "0.1 inH2O" --json`,
		Args: arguments(2, 3, "BEFORE AFTER [AGAIN]"),
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	textOptions(cmd,
		"worth", "smallest `change` worth having, as a pressure or in %; 5 % of the reading before or 0.3 inH2O where not stated, whichever is larger",
		"refit", "standard `deviation` of a block from one fitting of the parts to the next")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		units, err := a.system()
		if err != nil {
			return err
		}
		in := &options{cmd: cmd, units: units}
		o := in.comparing()
		if in.bad != nil {
			return in.bad
		}
		return a.compareAll(args, o, asJSON)
	}
	return cmd
}

// comparing reads what the user says about a comparison.
func (o *options) comparing() compare.Options {
	c := compare.Options{Refit: o.amount("refit", quantity.PressureDiff, "", anyAbove, 0)}
	raw, _ := o.cmd.Flags().GetString("worth")
	if strings.HasSuffix(strings.TrimSpace(raw), "%") {
		c.WorthShare = o.amount("worth", quantity.Share, "%", span{1e-6, 1}, 0)
		return c
	}
	c.Worth = o.amount("worth", quantity.PressureDiff, "", anyAbove, 0)
	return c
}

func (a *app) compareAll(words []string, o compare.Options, asJSON bool) error {
	var sheets []*sheet.Sheet
	for _, word := range words {
		s, err := a.oneSheet(word)
		if err != nil {
			return err
		}
		sheets = append(sheets, s)
	}
	if o.Refit == 0 {
		o.History = compare.NewHistory(a.otherVisits(words, sheets[0].Car.Name))
	}
	c, err := compare.Sheets(sheets, o)
	if err != nil {
		return refused(err)
	}
	if asJSON {
		return a.writeJSON(c)
	}
	units, err := a.system()
	if err != nil {
		return err
	}
	return a.show(report.Compared(c, sheets[0], report.Options{Units: units}))
}

// refused is a refusal of the comparison with its hint.
func refused(err error) error {
	if r, ok := errors.AsType[*compare.Refusal](err); ok {
		return input(r, r.Hint)
	}
	return err
}

// otherVisits are the sheets of the other records of the same car, in the order of
// their dates. The sheets that are compared are not among them: what is asked is
// whether they differ by more than fitting. A record that makes no sheet is no help
// here and no fault either.
func (a *app) otherVisits(words []string, car string) []*sheet.Sheet {
	visits, err := a.visitsOf(car)
	if err != nil || car == "" {
		return nil
	}
	var out []*sheet.Sheet
	for _, v := range visits {
		asked := slices.ContainsFunc(words, func(word string) bool {
			src, err := a.findSource(word)
			return err == nil && sameFile(src.path, v.path)
		})
		if !asked {
			out = append(out, v.sheet)
		}
	}
	return out
}
