package cli

import (
	"github.com/spf13/cobra"

	"dropwalk/advice/sheet"
)

func (a *app) sheet() *cobra.Command {
	return &cobra.Command{
		Use:   "sheet RECORD",
		Short: "print what was measured in a test, as a test sheet",
		Example: `dropwalk sheet yellow
dropwalk sheet yellow > sheet.yaml`,
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
			_, err = a.Out.Write(sheet.Write(s))
			return err
		},
	}
}
