package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/engine/quantity"
)

// digits is how many significant digits a conversion is shown with. Machines
// get them all.
const digits = 6

func (a *app) convert() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "convert TEXT UNIT",
		Short: "convert a quantity to another unit",
		Long: "TEXT is a number with its unit, as it would be written on a test sheet; a swing (12-13 inH2O) and a bound (>25 inH2O) too. UNIT is any unit of the same kind. " +
			"The inch of water is the conventional one, 249.08891 Pa; inH2O@4C, inH2O@60F and inH2O@20C are the others.",
		Example: `dropwalk convert "12.5 inH2O" kPa
dropwalk convert "12 1/2 in wc" mbar
dropwalk convert "118 g/s" lb/min --json`,
		Args: arguments(2, 2, "TEXT UNIT"),
		RunE: func(_ *cobra.Command, args []string) error {
			found, err := converted(args[0], args[1])
			if err != nil {
				return conversionError(err)
			}
			if asJSON {
				return a.writeJSON(found)
			}
			fmt.Fprintln(a.Out, found)
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with all digits")
	return cmd
}

// conversion is a quantity in another unit.
type conversion struct {
	Value float64  `json:"value"` // the middle of a swing, the bound of a bound
	Unit  string   `json:"unit"`
	Low   *float64 `json:"low,omitempty"` // of a swing
	High  *float64 `json:"high,omitempty"`
	Bound string   `json:"bound,omitempty"` // above or below
}

func (c conversion) String() string {
	text := quantity.Format(c.Value, digits)
	switch {
	case c.Low != nil:
		text = quantity.Format(*c.Low, digits) + "-" + quantity.Format(*c.High, digits)
	case c.Bound == above:
		text = ">" + text
	case c.Bound == below:
		text = "<" + text
	}
	return text + " " + c.Unit
}

const (
	above = "above"
	below = "below"
)

// converted reads text as a gauge is read: a value, a swing or a bound.
func converted(text, to string) (conversion, error) {
	value, unit, err := quantity.Convert(text, to)
	if err == nil {
		return conversion{Value: value, Unit: unit}, nil
	}
	for _, kind := range quantity.KindOf(to) {
		a, fault := quantity.Read(text, quantity.Want{Kind: kind, Swing: true, Bounds: true})
		if fault != nil || a.Form == quantity.Exact {
			continue
		}
		in := func(si float64) float64 {
			v, fault := quantity.In(si, kind, to)
			err = fault
			return v
		}
		c := conversion{Value: in(a.SI), Unit: canonical(to)}
		switch a.Form {
		case quantity.Swing:
			low, high := in(a.Low), in(a.High)
			c.Low, c.High = &low, &high
		case quantity.Above:
			c.Bound = above
		case quantity.Below:
			c.Bound = below
		}
		return c, err
	}
	return conversion{}, err
}

// canonical is the usual name of a unit.
func canonical(unit string) string {
	if _, name, err := quantity.Convert("1 "+unit, unit); err == nil {
		return name
	}
	return unit
}

// conversionError turns choices into a hint. Nobody can be asked here.
func conversionError(err error) error {
	if choice, ok := errors.AsType[*quantity.Ambiguous](err); ok {
		return &hinted{choice, "write one of them out: " + strings.Join(choice.Choices, ", ")}
	}
	return &hinted{err, fmt.Sprintf("%s help units lists the units", program)}
}
