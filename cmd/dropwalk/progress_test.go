//go:build linux

package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// What takes longer than half a second says so on a terminal, on one line that
// is gone at the end; results go where they are sent. Plain terminals and
// standard errors that are none are left alone.
func TestProgressShowsWhereSomebodyWatches(t *testing.T) {
	src, err := os.ReadFile("../../testdata/sheets/yellow-estate.yaml")
	if err != nil {
		t.Fatal(err)
	}
	src = regexp.MustCompile(`(?m)^ *boost.*\n`).ReplaceAll(src, nil) // each of them warns that there is no blower
	sheets := filepath.Join(t.TempDir(), "sheets.yaml")
	const many = 80
	if err := os.WriteFile(sheets, bytes.Repeat(append([]byte("---\n"), src...), many), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, command string
		want          bool
	}{
		{"a terminal", "assess --json " + sheets, true},
		{"plain", "assess --json --plain " + sheets, false},
		{"no terminal", "assess --json " + sheets + " 2> /dev/null", false},
		{"quick", "convert '12.5 inH2O' kPa", false},
		{"a study", "study --cars 30 --walk full --json", true},
	} {
		out := filepath.Join(t.TempDir(), "out")
		w := openWindowOf(t, "/bin/sh", "-c", link(t)+" "+c.command+" > "+out)
		if code := w.end(); code != 0 {
			t.Fatalf("%s: exit code %d: %q", c.name, code, w.screen())
		}
		if !c.want {
			if w.screen() != "" {
				t.Errorf("%s: it shows %q", c.name, w.screen())
			}
			continue
		}
		w.wait(func() bool { return strings.HasSuffix(w.screen(), "\r\x1b[K") })
		if !strings.Contains(w.screen(), "judging sheet ") && !strings.Contains(w.screen(), " of 30 cars") {
			t.Errorf("%s: it shows %q", c.name, w.screen())
		}
		if strings.Contains(w.screen(), "\n") {
			t.Errorf("%s: the line is not one: %q", c.name, w.screen())
		}
		if src, err := os.ReadFile(out); err != nil || bytes.Contains(src, []byte("\x1b")) || len(src) == 0 {
			t.Errorf("%s: the result holds %.200q, %v", c.name, src, err)
		}
	}
}
