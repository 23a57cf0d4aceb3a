package prompts

import (
	"context"

	"dropwalk/cmd/internal/terminal"
)

// Choose shows a menu and waits for one of its rows, as terminal.Lines does. Tab
// lists the words.
func (a *Asker) Choose(ctx context.Context, m terminal.Menu) (int, error) {
	a.lines.Fit(terminal.Columns(a.typist.out))
	return a.lines.Choose(ctx, m)
}
