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
		Long: "TEXT is a number with its unit, as it would be written on a test sheet. UNIT is any unit of the same kind. " +
			"The inch of water is the conventional one, 249.08891 Pa; inH2O@4C, inH2O@60F and inH2O@20C are the others.",
		Example: `dropwalk convert "12.5 inH2O" kPa
dropwalk convert "12 1/2 in wc" mbar
dropwalk convert "118 g/s" lb/min --json`,
		Args: arguments(2, 2, "TEXT UNIT"),
		RunE: func(_ *cobra.Command, args []string) error {
			value, unit, err := quantity.Convert(args[0], args[1])
			if err != nil {
				return conversionError(err)
			}
			if asJSON {
				return a.writeJSON(struct {
					Value float64 `json:"value"`
					Unit  string  `json:"unit"`
				}{value, unit})
			}
			fmt.Fprintf(a.Out, "%s %s\n", quantity.Format(value, digits), unit)
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with all digits")
	return cmd
}

// conversionError turns choices into a hint. Nobody can be asked here.
func conversionError(err error) error {
	if choice, ok := errors.AsType[*quantity.Ambiguous](err); ok {
		return &hinted{choice, "write one of them out: " + strings.Join(choice.Choices, ", ")}
	}
	return &hinted{err, fmt.Sprintf("%s help units lists the units", program)}
}
