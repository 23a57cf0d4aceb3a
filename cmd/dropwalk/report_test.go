//go:build linux

package main

import (
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

var looks = regexp.MustCompile(`\x1b\[[0-9;]*m`)

// A report on a terminal that answers no question asks none, and holds no escape
// but those that set the look of characters; with NO_COLOR, --plain or a dumb
// terminal it holds none. No line is wider than the window.
func TestReportOnATerminal(t *testing.T) {
	path, err := filepath.Abs(filepath.Join("..", "internal", "cli", "testdata", "reports", "whole-path.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name, env string
		args      []string
		cols      int
		looks     bool
	}{
		{"tester", "A=b", nil, 80, true},
		{"tester, narrow", "A=b", nil, 40, true},
		{"customer, wide", "A=b", []string{"--for", "customer"}, 120, true},
		{"NO_COLOR", "NO_COLOR=1", nil, 80, false},
		{"--plain", "A=b", []string{"--plain"}, 40, false},
		{"dumb", "TERM=dumb", nil, 40, false},
		{"no names, accessible", "ACCESSIBLE=1", []string{"--no-names"}, 80, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := reportWindow(t, tt.env, tt.cols, append([]string{"report", path}, tt.args...)...)
			if got := strings.Contains(w, "\x1b["); got != tt.looks {
				t.Errorf("looks: %v, want %v", got, tt.looks)
			}
			shown := looks.ReplaceAllString(w, "")
			if i := strings.IndexByte(shown, 0x1b); i >= 0 {
				t.Errorf("an escape that is no look: %q", shown[i:min(len(shown), i+20)])
			}
			for line := range strings.SplitSeq(shown, "\r\n") {
				if n := len([]rune(line)); n > tt.cols {
					t.Errorf("a line has %d columns of %d: %q", n, tt.cols, line)
				}
			}
			if !strings.Contains(shown, "The whole path") && !strings.Contains(tt.name, "names") {
				t.Errorf("no report came: %q", shown)
			}
		})
	}
}

// reportWindow runs the program in a window of so many columns with a variable of
// the environment, types nothing, and returns what it showed.
func reportWindow(t *testing.T, env string, cols int, args ...string) string {
	t.Helper()
	w := openWindowOf(t, "/bin/sh", append([]string{"-c", `stty cols "$0"; exec env "$@"`, strconv.Itoa(cols), env, link(t)}, args...)...)
	if err := w.cmd.Wait(); err != nil {
		t.Fatalf("%v: %s", err, w.screen())
	}
	w.wait(func() bool { return strings.Contains(w.screen(), "licensed") })
	time.Sleep(20 * time.Millisecond) // the rest of what the window holds
	return w.screen()
}
