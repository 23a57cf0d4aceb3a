package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// sitting is the program at work, with a person who types through a pipe.
type sitting struct {
	t    *testing.T
	cmd  *exec.Cmd
	keys io.WriteCloser
	mu   sync.Mutex
	seen bytes.Buffer
}

// Write takes what the program shows.
func (s *sitting) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.seen.Write(p)
}

func (s *sitting) screen() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.seen.String()
}

// sit starts the program under its own name, which is how TestMain knows that it
// is to be the program.
func sit(t *testing.T, dir string, args ...string) *sitting {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("signals are sent in another way there")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "dropwalk")
	if err := os.Symlink(self, path); err != nil {
		t.Fatal(err)
	}
	s := &sitting{t: t, cmd: exec.Command(path, append(args, "--dir", dir)...)}
	s.cmd.Stdout, s.cmd.Stderr = s, s
	if s.keys, err = s.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.cmd.Process.Kill() })
	return s
}

// await waits for the n-th prompt.
func (s *sitting) await(n int) {
	s.t.Helper()
	for deadline := time.Now().Add(time.Minute); time.Now().Before(deadline); time.Sleep(time.Millisecond) {
		if strings.Count(s.screen(), "\n> ") >= n {
			return
		}
	}
	s.t.Fatalf("prompt %d didn't come:\n%s", n, s.screen())
}

func (s *sitting) typeLine(text string) {
	s.t.Helper()
	if _, err := io.WriteString(s.keys, text+"\n"); err != nil {
		s.t.Fatal(err)
	}
}

// end waits for the program and returns its exit code, -1 where a signal ended
// it.
func (s *sitting) end() int {
	s.t.Helper()
	hung := time.AfterFunc(time.Minute, func() {
		s.t.Errorf("the program doesn't end; shown: %q", s.screen())
		_ = s.cmd.Process.Kill()
	})
	defer hung.Stop()
	_ = s.cmd.Wait() // what it says is in the state
	return s.cmd.ProcessState.ExitCode()
}

// answers open a test of an invented car.
var answers = []string{"grey van", "2198 cc", "4", "petrol", "natural", "5600"}

// Whoever ends a sitting by a signal finds everything saved and the command
// that goes on.
func TestSignalsLeaveEverythingSaved(t *testing.T) {
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGQUIT} {
		t.Run(signal.String(), func(t *testing.T) {
			dir := t.TempDir()
			s := sit(t, dir, "start")
			for i, text := range answers[:3] {
				s.await(i + 1)
				s.typeLine(text)
			}
			s.await(4)
			if err := s.cmd.Process.Signal(signal); err != nil {
				t.Fatal(err)
			}
			if got, want := s.end(), 3; got != want {
				t.Errorf("exit code %d, want %d", got, want)
			}
			if want := "dropwalk resume grey-van-"; !strings.Contains(s.screen(), want) {
				t.Errorf("the screen lacks %q:\n%s", want, s.screen())
			}
			wantAnswers(t, dir, answers[:3])
		})
	}
}

// kill -9 at any prompt loses nothing of what was answered before it, and the
// test goes on from there.
func TestKillLosesNoAnswer(t *testing.T) {
	for n := 1; n <= len(answers); n++ {
		t.Run(fmt.Sprintf("after %d answers", n), func(t *testing.T) {
			dir := t.TempDir()
			s := sit(t, dir, "start")
			for i, text := range answers[:n] {
				s.await(i + 1)
				s.typeLine(text)
			}
			s.await(n + 1)
			if err := s.cmd.Process.Kill(); err != nil {
				t.Fatal(err)
			}
			if got, want := s.end(), -1; got != want {
				t.Errorf("exit code %d, want %d", got, want)
			}
			wantAnswers(t, dir, answers[:n])

			again := sit(t, dir, "resume")
			again.await(1)
			again.keys.Close()
			if got, want := again.end(), 3; got != want {
				t.Errorf("resume: exit code %d, want %d:\n%s", got, want, again.screen())
			}
		})
	}
}

// wantAnswers reads the only record in dir, as a user would.
func wantAnswers(t *testing.T, dir string, want []string) {
	t.Helper()
	s := sit(t, dir, "records", "show", "grey", "--events")
	if got := s.end(); got != 0 {
		t.Fatalf("records show: exit code %d:\n%s", got, s.screen())
	}
	var got []string
	for line := range strings.Lines(s.screen()) {
		if strings.Contains(line, `"kind":"answered"`) {
			got = append(got, line)
		}
	}
	if len(got) != len(want) {
		t.Fatalf("%d answers are kept, want %d:\n%s", len(got), len(want), s.screen())
	}
	for i, text := range want {
		if !strings.Contains(got[i], text) {
			t.Errorf("answer %d is %s, want %q", i+1, got[i], text)
		}
	}
}
