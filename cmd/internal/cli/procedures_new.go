package cli

import (
	_ "embed"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/engine"
)

// starter is a procedure to begin one's own from, under the name starterName.
//
//go:embed starter/my-check.yaml
var starter string

const starterName = "my-check"

func (a *app) proceduresNew() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "new NAME",
		Short: "print a procedure to begin your own from",
		Long: "It is a small procedure that passes its check and can be run as it is, with a remark on every key. NAME is what it will be called: " +
			"small letters, digits and hyphens. Put it into the folder that dropwalk procedures where names, as NAME.yaml, to start it by its name.",
		Example: `dropwalk procedures new my-check > my-check.yaml
dropwalk procedures new my-check --out my-check.yaml`,
		Args: arguments(1, 1, "NAME"),
		RunE: func(_ *cobra.Command, args []string) error {
			text, err := newProcedure(args[0])
			if err != nil {
				return err
			}
			if out == "" {
				_, err = a.Out.Write(text)
				return err
			}
			if _, err := os.Lstat(out); err == nil {
				return input(fmt.Errorf("there is a file %q already", out), "another name, or remove it first")
			}
			return a.save(out, text)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "`file` to write, instead of printing")
	return cmd
}

// newProcedure is the starter under another name.
func newProcedure(name string) ([]byte, error) {
	switch {
	case !engine.IsName(name) || len(name) > 60:
		return nil, &usageError{fmt.Sprintf("%q is no name for a procedure", name), "small letters, digits and hyphens, beginning with a letter, such as " + starterName}
	case slices.Contains(shipped(), name):
		return nil, &usageError{fmt.Sprintf("a procedure that comes with %s is called %q", program, name), "a name of its own"}
	}
	return []byte(strings.ReplaceAll(starter, starterName, name)), nil
}

func (a *app) proceduresSchema() *cobra.Command {
	return &cobra.Command{
		Use:     "schema",
		Short:   "print the JSON Schema of a procedure, for editors",
		Long:    "Editors complete keys and mark faults by it. It holds the form only; dropwalk procedures check holds the rest.",
		Example: `dropwalk procedures schema > procedure-1.schema.json`,
		Args:    arguments(0, 0, ""),
		RunE: func(*cobra.Command, []string) error {
			_, err := a.Out.Write(engine.Schema())
			return err
		},
	}
}
