package record

import (
	"errors"
	"fmt"
	"strings"
)

// Place returns the folder in which records live where the user names none:
//
//   - $XDG_DATA_HOME/dropwalk/records, or ~/.local/share/dropwalk/records where
//     the variable is unset or not absolute, on Linux and other Unix systems
//     (XDG Base Directory Specification 0.8)
//   - ~/Library/Application Support/dropwalk/records on macOS
//   - %LocalAppData%\dropwalk\records on Windows: records belong to one machine,
//     so the roaming profile is not for them
//
// goos is runtime.GOOS, getenv is os.Getenv and home is os.UserHomeDir, or their
// like in a test. The folder isn't made; Create does that.
func Place(goos string, getenv func(string) string, home func() (string, error)) (string, error) {
	switch goos {
	case "windows":
		if base := getenv("LocalAppData"); base != "" {
			return join(`\`, base, "dropwalk", "records"), nil
		}
		return inHome(home, `\`, "AppData", "Local", "dropwalk", "records")
	case "darwin", "ios":
		return inHome(home, "/", "Library", "Application Support", "dropwalk", "records")
	}
	if base := getenv("XDG_DATA_HOME"); strings.HasPrefix(base, "/") {
		return join("/", base, "dropwalk", "records"), nil
	}
	return inHome(home, "/", ".local", "share", "dropwalk", "records")
}

func inHome(home func() (string, error), sep string, parts ...string) (string, error) {
	base, err := home()
	if err == nil && base == "" {
		err = errors.New("no home folder is set")
	}
	if err != nil {
		return "", fmt.Errorf("no folder for records: %w; name one with --dir", err)
	}
	return join(sep, append([]string{base}, parts...)...), nil
}

// join doesn't use path/filepath, which knows only the system it runs on.
func join(sep string, parts ...string) string {
	parts[0] = strings.TrimRight(parts[0], sep)
	return strings.Join(parts, sep)
}
