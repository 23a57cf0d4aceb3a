package cli

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"dropwalk/advice/plan"
)

// costs are what readings cost, where the user has a table of that.
type costs struct{ file string }

func (c *costs) flag(cmd *cobra.Command) {
	cmd.Flags().StringVar(&c.file, "costs", "", "`file` of what a reading costs you: fitted, port, drill and run, in % of power")
}

// readCosts gives the user's table, nil where there is none.
func (a *app) readCosts(c costs) (*plan.Costs, error) {
	table, _, err := a.costsAndText(c)
	return table, err
}

// costsAndText gives the table and the file that it was read from.
func (a *app) costsAndText(c costs) (*plan.Costs, string, error) {
	if c.file == "" {
		return nil, "", nil
	}
	src, err := readBounded(c.file)
	if os.IsNotExist(err) {
		return nil, "", &usageError{fmt.Sprintf("--costs: there is no file %q", c.file), "a table such as: drill: 0.02"}
	}
	if err != nil {
		return nil, "", plainPath(err)
	}
	table, faults := plan.ReadCosts(c.file, src)
	printFaults(a.Err, faults)
	if len(faults.Errors()) > 0 {
		return nil, "", shown(errInput)
	}
	return &table, string(src), nil
}
