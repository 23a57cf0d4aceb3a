package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine/spell"
)

// Views of a procedure on the screen.
const (
	guidedView = "guided"
	briefView  = "brief"
)

var views = []string{guidedView, briefView}

// view is how prompts are shown at the start of a sitting. The words of the same
// name change it.
type view string

func (v *view) flag(cmd *cobra.Command) {
	cmd.Flags().StringVar((*string)(v), "view", guidedView, "`view`: guided (everything) or brief (a line a step, steps together)")
}

func (v view) check() error {
	if slices.Contains(views, string(v)) {
		return nil
	}
	hint := "one of " + strings.Join(views, ", ")
	if near, ok := spell.Nearest(string(v), views); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	return &usageError{fmt.Sprintf("--view: there is no view %q", string(v)), hint}
}

// set has asker show prompts so.
func (v view) set(asker session.Asker) {
	if a, ok := asker.(interface{ SetBrief(bool) }); ok {
		a.SetBrief(v == briefView)
	}
}

// viewOf is the option with which a test goes on in the view in which it was left:
// the view belongs to whoever answers, so that no record holds it.
func viewOf(asker session.Asker) []string {
	if a, ok := asker.(interface{ Brief() bool }); ok && a.Brief() {
		return []string{"--view", briefView}
	}
	return nil
}
