package cli

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/cmd/internal/worksheet"
)

// paperEndings are those of the files of a worksheet.
var paperEndings = []ending{{endHTML, "a page for a browser, which prints it on A4 or Letter"}, {endMarkdown, "Markdown"}, {endText, "plain text, sheet by sheet"}}

// mostBlocks is how often rounds may be printed: as often as there can be some.
const mostBlocks = 100

func (a *app) proceduresPrint() *cobra.Command {
	var sheet, out string
	var o worksheet.Options
	cmd := &cobra.Command{
		Use:   "print PROCEDURE",
		Short: "make a worksheet of a procedure, to be filled in with a pencil",
		Long: "It has the steps under the numbers that the screen shows, boxes to tick, lines with units for numbers, and places for initials. " +
			"What a sheet of an earlier visit tells is printed on it, and steps that this settles are left out. " +
			"dropwalk start PROCEDURE --from-paper types it in afterwards.",
		Example: `dropwalk procedures print intake --out worksheet.html
dropwalk procedures print intake --brief --sheet last-visit.yaml --out worksheet.txt
dropwalk procedures print my-check.yaml --out my-check.md`,
		Args: arguments(1, 1, "PROCEDURE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("rounds") && (o.Rounds < 1 || o.Rounds > mostBlocks) {
				return &usageError{fmt.Sprintf("--rounds %d", o.Rounds), fmt.Sprintf("1 to %d", mostBlocks)}
			}
			if end := endOf(out); out != "" && !slices.ContainsFunc(paperEndings, func(e ending) bool { return e.end == end }) {
				return wrongEnding("worksheet", out, paperEndings)
			}
			return a.printProcedure(args[0], sheet, out, o)
		},
	}
	cmd.Flags().BoolVar(&o.Brief, "brief", false, "one line a step, without explanations")
	cmd.Flags().StringVar(&sheet, "sheet", "", "`file` of an earlier visit: what it tells of the car is printed")
	cmd.Flags().IntVar(&o.Rounds, "rounds", 0, "how `often` rounds with rounds inside are printed (usually 3)")
	cmd.Flags().StringVar(&out, "out", "", "`file` to write: "+endingWords(paperEndings))
	return cmd
}

func (a *app) printProcedure(word, sheet, out string, o worksheet.Options) error {
	units, err := a.system()
	if err != nil {
		return err
	}
	p, err := a.findProcedure(word, units)
	if err != nil {
		return err
	}
	if o.Given, err = a.carried(sheet); err != nil {
		return err
	}
	if sameFile(out, word) || sameFile(out, sheet) {
		return &usageError{"--out " + out + " would replace what the worksheet is made of", "another file name"}
	}
	o.Matter, o.Units = &advice.Matter{Units: units}, units
	var text []byte
	switch endOf(out) {
	case endHTML:
		if text, err = worksheet.HTML(p, o); err != nil {
			return err
		}
	case endMarkdown:
		text = []byte(terminal.Clean(worksheet.Markdown(p, o)))
	default:
		text = []byte(worksheet.Text(p, o))
	}
	return a.put(out, text)
}
