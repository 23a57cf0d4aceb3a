//go:build linux

package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A test that was paused is on the menu with its car and its place; the menu
// goes on with it, and Ctrl-D there leaves as it does anywhere.
func TestMenuGoesOnWithATest(t *testing.T) {
	dir := t.TempDir()
	pause := exec.Command(link(t), "start", "--dir", dir)
	pause.Stdin = strings.NewReader("grey van\n2198 cc\n")
	_ = pause.Run() // ends with 3
	w := openWindow(t, dir)
	w.ready()
	for _, want := range []string{"resume    go on with car grey van, last answer just now, at part 1 of", "start", "results", "demo", "leave"} {
		if !strings.Contains(w.screen(), want) {
			t.Errorf("the menu lacks %q: %q", want, w.screen())
		}
	}
	w.types("res\r")
	w.wait(func() bool { return strings.Contains(w.screen(), "type a number or one of: resume") })
	w.ready()
	w.types("resume\r")
	w.wait(func() bool { return strings.Contains(w.screen(), "Going on with grey-van-") })
	w.wait(func() bool { return strings.Contains(w.screen(), "[Part 1 of") })
	w.ready()
	w.types("\x04")
	if code := w.end(); code != 3 {
		t.Errorf("it ends with %d, want 3", code)
	}
	if w.mode() != w.before {
		t.Error("the terminal isn't set as it was")
	}
}

// Whoever looks at something comes back to the menu; without a test there is
// nothing to go on with.
func TestMenuComesBack(t *testing.T) {
	w := openWindow(t, t.TempDir())
	w.ready()
	if strings.Contains(w.screen(), "resume") || strings.Contains(w.screen(), "results") {
		t.Errorf("it offers what isn't there: %q", w.screen())
	}
	w.types("demo\r")
	w.wait(func() bool {
		return strings.Count(w.screen(), "What now?") == 2 && strings.Contains(w.screen(), "invented")
	})
	w.ready()
	w.types("help\r")
	w.wait(func() bool { return strings.Count(w.screen(), "What now?") == 3 })
	w.ready()
	w.types("leave\r")
	if code := w.end(); code != 0 {
		t.Errorf("it ends with %d, want 0", code)
	}
}

// Ctrl-C and Ctrl-D leave without a word of complaint, and nothing is made.
func TestMenuIsLeftQuietly(t *testing.T) {
	for name, env := range map[string]string{"prompts": "TERM=xterm", "lines": "TERM=dumb"} {
		for key, code := range map[string]int{"\x03": 3, "\x04": 3} {
			t.Run(name, func(t *testing.T) {
				dir := filepath.Join(t.TempDir(), "records")
				w := openWindowOf(t, "/usr/bin/env", env, link(t), "--dir", dir)
				w.wait(func() bool {
					return strings.Contains(w.screen(), "or its word.") && (strings.HasSuffix(w.screen(), "> ") || strings.HasSuffix(w.screen(), "\x1b[?25h"))
				})
				w.types(key)
				if got := w.end(); got != code {
					t.Errorf("%q ends it with %d, want %d", key, got, code)
				}
				if s := w.screen(); strings.Contains(s, "dropwalk:") || strings.Contains(s, "hint:") {
					t.Errorf("it says %q", s)
				}
				if name == "lines" && strings.Contains(w.screen(), "\x1b") {
					t.Errorf("plain lines hold an escape: %q", w.screen())
				}
				if _, err := os.Stat(dir); err == nil {
					t.Error("a folder was made")
				}
				if w.mode() != w.before {
					t.Error("the terminal isn't set as it was")
				}
			})
		}
	}
}

// Where nobody sits at a terminal it is the help, and nothing waits.
func TestNoMenuWithoutATerminal(t *testing.T) {
	cmd := exec.Command(link(t), "--dir", t.TempDir())
	out, err := cmd.CombinedOutput()
	if err != nil || !strings.Contains(string(out), "\nCommands:\n") || strings.Contains(string(out), "What now?") {
		t.Errorf("%v: %s", err, out)
	}
}
