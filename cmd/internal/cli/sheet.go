package cli

import (
	"github.com/spf13/cobra"

	"dropwalk/advice/sheet"
	"dropwalk/engine/strictyaml"
)

func (a *app) sheet() *cobra.Command {
	var asJSON bool
	var out string
	cmd := &cobra.Command{
		Use:   "sheet RECORD",
		Short: "print what was measured in a test, as a test sheet",
		Long:  "Of a damaged record it takes what was written before the damage.",
		Example: `dropwalk sheet yellow
dropwalk sheet yellow --out sheet.yaml
dropwalk sheet yellow --json`,
		Args: arguments(1, 1, "RECORD"),
		RunE: func(_ *cobra.Command, args []string) error {
			path, err := a.findRecord(args[0])
			if err != nil {
				return err
			}
			s, err := a.sheetOf(path)
			if err != nil {
				return err
			}
			text := sheet.Write(s)
			if asJSON {
				if text, err = sheetJSON(s); err != nil {
					return err
				}
				text = append(text, '\n')
			}
			if out != "" {
				return a.save(out, text)
			}
			_, err = a.Out.Write(text)
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the sheet as one JSON object")
	cmd.Flags().StringVar(&out, "out", "", "`file` to write; an old one is replaced at one stroke")
	return cmd
}

// sheetJSON is the JSON form of a sheet, which reads back equal to it.
func sheetJSON(s *sheet.Sheet) ([]byte, error) {
	tree, faults := strictyaml.ParseYAML("sheet", sheet.Write(s), 1)
	if err := faults.Err(); err != nil {
		return nil, err
	}
	return nodeJSON(tree), nil
}
