package prompts

import (
	"os"

	"dropwalk/cmd/internal/terminal"
)

// Usable tells whether an Asker can work: in and err are real terminals whose
// cursor can be moved, and nobody asked for text that stays where it is. Goos
// names the operating system as the runtime does.
func Usable(in, err *os.File, env func(string) string, goos string) bool {
	return terminal.Repaints(env, goos) && terminal.IsTerminal(in) && terminal.IsTerminal(err)
}
