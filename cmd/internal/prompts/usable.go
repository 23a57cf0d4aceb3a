package prompts

import (
	"os"
	"strings"

	"dropwalk/cmd/internal/terminal"
)

// Usable tells whether an Asker can work: in and err are real terminals whose
// cursor can be moved, and nobody asked for text that stays where it is. Goos
// names the operating system as the runtime does.
func Usable(in, err *os.File, env func(string) string, goos string) bool {
	return allowed(env, goos) && terminal.IsTerminal(in) && terminal.IsTerminal(err)
}

// allowed is the part of Usable that the surroundings decide. ACCESSIBLE is the
// convention of command-line programs by which a screen reader's user asks for
// text that is never repainted.
func allowed(env func(string) string, goos string) bool {
	switch strings.ToLower(env("ACCESSIBLE")) {
	case "", "0", "false":
	default:
		return false
	}
	term := env("TERM")
	return goos != "windows" && env("MSYSTEM") == "" && term != "" && term != "dumb"
}
