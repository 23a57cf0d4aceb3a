//go:build linux

package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"
	"unsafe"

	"github.com/creack/pty"
)

// window is the program in a terminal window of its own.
type window struct {
	*sitting
	keys, slave *os.File
	before      syscall.Termios // how the terminal was set when the program came
}

// link is the path of the program under its own name, which is how TestMain
// knows that it is to be the program.
func link(t *testing.T) string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "dropwalk")
	if err := os.Symlink(self, path); err != nil {
		t.Fatal(err)
	}
	return path
}

func openWindow(t *testing.T, dir string, args ...string) *window {
	t.Helper()
	return openWindowOf(t, link(t), append(args, "--dir", dir)...)
}

// openWindowOf opens a window in which a program of any kind runs.
func openWindowOf(t *testing.T, program string, args ...string) *window {
	t.Helper()
	w := &window{sitting: &sitting{t: t, cmd: exec.Command(program, args...)}}
	w.cmd.Env = append(os.Environ(), "TERM=xterm", "LANG=C.UTF-8", "LC_ALL=", "ACCESSIBLE=", "MSYSTEM=")
	var err error
	if w.keys, w.slave, err = pty.Open(); err != nil {
		t.Fatal(err)
	}
	// A file that the runtime polls can be closed while it is read. No other
	// window's program may inherit it: this window could not be closed then.
	fd, _, errno := syscall.Syscall(syscall.SYS_FCNTL, w.keys.Fd(), syscall.F_DUPFD_CLOEXEC, 0)
	if errno != 0 {
		t.Fatal(errno)
	}
	if err := syscall.SetNonblock(int(fd), true); err != nil {
		t.Fatal(err)
	}
	w.keys.Close()
	w.keys = os.NewFile(fd, "keys")
	if err := pty.Setsize(w.keys, &pty.Winsize{Cols: 80, Rows: 24}); err != nil {
		t.Fatal(err)
	}
	w.before = w.mode()
	w.cmd.Stdin, w.cmd.Stdout, w.cmd.Stderr = w.slave, w.slave, w.slave
	w.cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := w.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = w.cmd.Process.Kill(); w.slave.Close(); w.keys.Close() })
	go func() {
		data := make([]byte, 4096)
		for {
			n, err := w.keys.Read(data)
			if err != nil {
				return
			}
			w.Write(data[:n])
		}
	}()
	return w
}

// ready waits until keys are read.
func (w *window) ready() {
	w.t.Helper()
	w.wait(func() bool { return strings.HasSuffix(w.screen(), "\x1b[?25h") })
}

func (w *window) wait(holds func() bool) {
	w.t.Helper()
	for end := time.Now().Add(8 * time.Second); !holds(); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(end) {
			w.t.Fatalf("it does not come; shown: %q", w.screen())
		}
	}
}

func (w *window) types(keys string) {
	w.t.Helper()
	if _, err := w.keys.WriteString(keys); err != nil {
		w.t.Fatal(err)
	}
}

// mode is how the terminal is set now.
func (w *window) mode() syscall.Termios {
	w.t.Helper()
	var mode syscall.Termios
	if _, _, errno := syscall.Syscall(syscall.SYS_IOCTL, w.slave.Fd(), syscall.TCGETS, uintptr(unsafe.Pointer(&mode))); errno != 0 {
		w.t.Fatal(errno)
	}
	return mode
}

// cooked tells whether the terminal echoes, edits lines and makes signals.
func (w *window) cooked() bool {
	w.t.Helper()
	const want = syscall.ECHO | syscall.ICANON | syscall.ISIG
	return w.mode().Lflag&want == want
}

// foreground is the process group that the keys of the terminal go to.
func (w *window) foreground() int {
	w.t.Helper()
	var group int32
	if _, _, errno := syscall.Syscall(syscall.SYS_IOCTL, w.keys.Fd(), syscall.TIOCGPGRP, uintptr(unsafe.Pointer(&group))); errno != 0 {
		w.t.Fatal(errno)
	}
	return int(group)
}

// However a window's sitting ends, the terminal is as it was, what was answered
// is kept, and the command that goes on is shown.
func TestWindowLeavesEverythingSaved(t *testing.T) {
	leave := map[string]func(*window){
		"Ctrl-C": func(w *window) { w.types("12\x03") },
		"Ctrl-D": func(w *window) { w.types("12\x04") },
		"pause":  func(w *window) { w.types("pause\r") },
		"SIGTERM": func(w *window) {
			w.types("12")
			_ = w.cmd.Process.Signal(syscall.SIGTERM)
		},
		"SIGHUP": func(w *window) { _ = w.cmd.Process.Signal(syscall.SIGHUP) },
	}
	for name, do := range leave {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			w := openWindow(t, dir, "start")
			for _, text := range answers[:3] {
				w.ready()
				w.types(text + "\r")
				w.wait(func() bool { return strings.Contains(w.screen(), "\x1b[J> "+text) })
			}
			w.ready()
			if w.cooked() {
				t.Fatal("keys are not read one by one")
			}
			do(w)
			if got, want := w.end(), 3; got != want {
				t.Errorf("exit code %d, want %d", got, want)
			}
			w.wait(func() bool { return strings.Contains(w.screen(), "dropwalk resume grey-van-") })
			if !w.cooked() {
				t.Error("the terminal isn't set back")
			}
			wantAnswers(t, dir, answers[:3])
			wantBy(t, dir, `"by":"prompts"`)
		})
	}
}

// --plain in the same window sends no escape, and says so in the record.
func TestWindowPlain(t *testing.T) {
	dir := t.TempDir()
	w := openWindow(t, dir, "start", "--plain")
	for n, text := range answers[:2] {
		w.wait(func() bool { return strings.Count(w.screen(), "\n> ") > n })
		w.types(text + "\n")
	}
	w.wait(func() bool { return strings.Count(w.screen(), "\n> ") > 2 })
	w.types("pause\n")
	if got, want := w.end(), 3; got != want {
		t.Errorf("exit code %d, want %d", got, want)
	}
	if strings.Contains(w.screen(), "\x1b") {
		t.Errorf("plain lines hold an escape: %q", w.screen())
	}
	wantBy(t, dir, `"by":"lines"`)
}

// Where nobody wants prompts that are repainted there are none, and no escape
// reaches the terminal.
func TestWindowStaysPlain(t *testing.T) {
	for _, variable := range []string{"ACCESSIBLE=1", "TERM=dumb", "MSYSTEM=MINGW64"} {
		dir := t.TempDir()
		w := openWindowOf(t, "/usr/bin/env", variable, link(t), "start", "--dir", dir)
		for n, text := range []string{"grey van", "pause"} {
			w.wait(func() bool { return strings.Count(w.screen(), "\n> ") > n })
			w.types(text + "\n")
		}
		if got, want := w.end(), 3; got != want {
			t.Errorf("%s: exit code %d, want %d", variable, got, want)
		}
		if strings.Contains(w.screen(), "\x1b") {
			t.Errorf("%s: an escape is shown: %q", variable, w.screen())
		}
		wantBy(t, dir, `"by":"lines"`)
	}
}

// Prompts use no colour, so that there is none to be taken out.
func TestWindowHasNoColour(t *testing.T) {
	for _, variable := range []string{"NO_COLOR=1", "NO_COLOR="} {
		dir := t.TempDir()
		w := openWindowOf(t, "/usr/bin/env", variable, link(t), "start", "--dir", dir)
		w.ready()
		w.types("grey van\r")
		w.wait(func() bool { return strings.Contains(w.screen(), "How large") })
		w.ready()
		w.types("\t\x04")
		w.end()
		if colour := regexp.MustCompile(`\x1b\[[0-9;]*m`).FindString(w.screen()); colour != "" {
			t.Errorf("%s: the screen holds %q", variable, colour)
		}
	}
}

// What goes through a pipe stays free of prompts: they show on the terminal that
// is left, and where no terminal is left to write to, lines are plain.
func TestWindowWithAPipe(t *testing.T) {
	for _, c := range []struct{ redirect, by, want string }{
		{"> $OUT", `"by":"prompts"`, ""},
		{"2> $OUT", `"by":"lines"`, "How large is the engine?"},
	} {
		dir, out := t.TempDir(), filepath.Join(t.TempDir(), "out")
		w := openWindowOf(t, "/bin/sh", "-c", "OUT="+out+"; "+link(t)+" start --dir "+dir+" "+c.redirect)
		shown := func() string {
			src, _ := os.ReadFile(out) // it may not be there yet
			return w.screen() + string(src)
		}
		w.wait(func() bool { return strings.Contains(shown(), "yellow-estate") })
		if c.want == "" {
			w.ready()
		}
		w.types("grey van\r")
		w.wait(func() bool { return strings.Contains(shown(), "How large is the engine?") })
		if c.want == "" {
			w.ready()
		}
		w.types("\x04")
		if got := w.end(); got != 3 {
			t.Errorf("%s: exit code %d, want 3", c.redirect, got)
		}
		src, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		if got := string(src); strings.Contains(got, "\x1b") || !strings.Contains(got, c.want) || c.want == "" && got != "" {
			t.Errorf("%s: the file holds %q, want %q without escapes", c.redirect, got, c.want)
		}
		wantBy(t, dir, c.by)
	}
}

// A window that is closed ends the program; what was answered is kept.
func TestWindowClosed(t *testing.T) {
	dir := t.TempDir()
	w := openWindow(t, dir, "start")
	for _, text := range answers[:2] {
		w.ready()
		w.types(text + "\r")
		w.wait(func() bool { return strings.Contains(w.screen(), "\x1b[J> "+text) })
	}
	w.ready()
	w.types("12")
	w.slave.Close()
	w.keys.Close()
	ended := make(chan int, 1)
	go func() { ended <- w.end() }()
	select {
	case got := <-ended:
		if want := 3; got != want {
			t.Errorf("exit code %d, want %d", got, want)
		}
	case <-time.After(8 * time.Second):
		t.Fatal("the program goes on without its window")
	}
	wantAnswers(t, dir, answers[:2])
}

// wantBy looks for text in the only record in dir.
func wantBy(t *testing.T, dir, text string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.jsonl"))
	if err != nil || len(files) != 1 {
		t.Fatalf("records %v, %v; want one", files, err)
	}
	src, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(src), text) {
		t.Errorf("the record lacks %s:\n%s", text, src)
	}
}
