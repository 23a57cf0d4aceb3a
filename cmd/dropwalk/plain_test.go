//go:build linux

package main

import (
	"strings"
	"testing"
)

// shownIn is what a command shows in a terminal window with a variable set.
func shownIn(t *testing.T, variable string, args ...string) string {
	t.Helper()
	w := openWindowOf(t, "/usr/bin/env", append([]string{variable, link(t)}, args...)...)
	if code := w.end(); code != 0 {
		t.Errorf("%s %v ends with %d", variable, args, code)
	}
	w.wait(func() bool { return strings.HasSuffix(w.screen(), "\n") || strings.HasSuffix(w.screen(), "\x1b[0m") })
	return w.screen()
}

// Plain means that no escape reaches the terminal, whatever is shown. Without
// that wish a long page is set off.
func TestPlainHoldsNoEscape(t *testing.T) {
	pages := [][]string{{"demo"}, {"help"}, {"help", "cautions"}, {"procedures", "show", "intake"}, {"records", "where"}, {"help", "--man"}}
	for _, page := range pages {
		for _, variable := range []string{"TERM=dumb", "NO_COLOR=1", "ACCESSIBLE=1"} {
			if s := shownIn(t, variable, page...); strings.ContainsAny(s, "\x1b\u009b") || s == "" {
				t.Errorf("%s %v shows %.200q", variable, page, s)
			}
		}
		if s := shownIn(t, "X=1", append(page, "--plain")...); strings.Contains(s, "\x1b") {
			t.Errorf("--plain %v shows %.200q", page, s)
		}
	}
	if s := shownIn(t, "X=1", "demo"); !strings.Contains(s, "\x1b[") {
		t.Errorf("a long page isn't set off: %.200q", s)
	}
}

// In a C locale everything is ASCII.
func TestPlainLocaleIsASCII(t *testing.T) {
	for _, page := range [][]string{{"demo", "--plain"}, {"help", "units", "--plain"}, {"procedures", "show", "intake", "--plain"}} {
		for _, r := range shownIn(t, "LC_ALL=C", page...) {
			if r > 0x7e {
				t.Errorf("%v shows %q", page, r)
				break
			}
		}
	}
}
