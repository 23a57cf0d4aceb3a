package record

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// startChild runs this test binary on a job.
func startChild(t *testing.T, job, path, failpoint string) (*exec.Cmd, io.WriteCloser, io.Reader, *bytes.Buffer) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), childVariable+"="+job+":"+path, FailpointVariable+"="+failpoint)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	in, err1 := cmd.StdinPipe()
	out, err2 := cmd.StdoutPipe()
	if err := also(err1, err2); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, in, out, &stderr
}

// runKilled runs a job to its failpoint and returns what was acknowledged: the
// words, and the number of the last saved line.
func runKilled(t *testing.T, job, path, failpoint string) (words string, saved int) {
	t.Helper()
	cmd, _, out, stderr := startChild(t, job, path, failpoint)
	said, err := io.ReadAll(out)
	if err != nil {
		t.Fatal(err)
	}
	cmd.Wait()
	checkKilled(t, cmd.ProcessState)
	name, _, _ := strings.Cut(failpoint, ":")
	if !strings.Contains(stderr.String(), "failpoint "+name+" reached") {
		t.Fatalf("job %s never came to the failpoint %s: %s%s", job, failpoint, said, stderr)
	}
	return string(said), lastSaved(string(said))
}

// checkKilled fails unless the process was ended from outside.
func checkKilled(t *testing.T, state *os.ProcessState) {
	t.Helper()
	if status, ok := state.Sys().(syscall.WaitStatus); ok && os.PathSeparator == '/' {
		if !status.Signaled() || status.Signal() != syscall.SIGKILL {
			t.Fatalf("the process ended with %v, want kill -9", state)
		}
	} else if state.Success() {
		t.Fatalf("the process ended by itself")
	}
}

func lastSaved(said string) int {
	last := 0
	for line := range strings.Lines(said) {
		if n, ok := strings.CutPrefix(strings.TrimSpace(line), "saved "); ok {
			last, _ = strconv.Atoi(n)
		}
	}
	return last
}

// goOn opens the record after a kill and fails unless every acknowledged line is
// there, at most one more, and the next append works.
func goOn(t *testing.T, path string, saved int) {
	t.Helper()
	l, rec, err := Open(path, testEnv())
	if err != nil {
		t.Fatalf("after the kill: %v", err)
	}
	defer l.Close()
	last := len(rec.Lines) + 1
	if last < saved || last > saved+1 {
		t.Errorf("the record ends with line %d, acknowledged were %d", last, saved)
	}
	checkAnswers(t, rec.Content, len(rec.Lines))
	appendAnswers(t, l, 1)
	checkAnswers(t, mustView(t, path), len(rec.Lines)+1)
}

// kills says which job comes to which failpoint. A count in the name is part of
// the case.
var kills = []struct{ job, failpoint string }{
	{"create", "create-locked"}, {"create", "create-empty"}, {"create", "create-named"},
	{"create", "append-start"}, {"create", "append-half"}, {"create", "append-written"}, {"create", "append-synced"},
	{"create", "append-half:3"}, {"create", "close-start"},
	{"open", "append-start"}, {"open", "append-half"}, {"open", "append-written"}, {"open", "append-synced"},
	{"open", "append-start:3"}, {"open", "append-half:2"}, {"open", "append-written:3"}, {"open", "append-synced:2"},
	{"open", "open-locked"}, {"open", "close-start"},
	{"full", "tail-cut"},
	{"rewrite", "replace-half"}, {"rewrite", "replace-ready"}, {"rewrite", "replace-kept"},
	{"rewrite", "replace-renamed"}, {"rewrite", "replace-done"}, {"rewrite", "replace-kept:2"}, {"rewrite", "append-synced:2"},
}

func TestKillAtEachFailpoint(t *testing.T) {
	for _, k := range kills {
		t.Run(k.job+"/"+k.failpoint, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			path := Path(dir, "yellow")
			before := 0
			if k.job != "create" {
				makeRecord(t, dir, 2)
				before = 3
			}
			words, saved := runKilled(t, k.job, path, k.failpoint)
			if saved = max(saved, before); saved == 0 && !strings.Contains(words, "created") {
				checkUnborn(t, dir, path)
				return
			}
			goOn(t, path, max(saved, 1))
		})
	}
}

// checkUnborn fails unless a record whose Create was never acknowledged is
// either not there, or without a header and said to be so, or sound and empty.
func checkUnborn(t *testing.T, dir, path string) {
	t.Helper()
	if _, err := os.Stat(path); os.IsNotExist(err) {
		l, err := Create(dir, "yellow", testHeader, testEnv())
		if err != nil {
			t.Fatalf("the name is blocked: %v", err)
		}
		l.Close()
		return
	}
	c := mustView(t, path)
	if c.CanContinue() == nil {
		goOn(t, path, 1)
		return
	}
	if w := c.Worst(); w == nil || !strings.Contains(w.What, "no header") {
		t.Errorf("worst finding: got %v, want one about the header", w)
	}
	if err := Remove(path, testEnv()); err != nil || len(dirNames(t, dir)) != 0 {
		t.Errorf("Remove: %v, left %v", err, dirNames(t, dir))
	}
}

func TestKillDuringTailRepair(t *testing.T) {
	for _, failpoint := range []string{"tail-saving", "tail-saved", "tail-cut", "tail-done"} {
		t.Run(failpoint, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			path, data := makeRecord(t, dir, 2)
			tail := `{"crc":"12345678","r":{"v":1`
			writeBytes(t, path, append(bytes.Clone(data), tail...))
			runKilled(t, "open", path, failpoint)
			goOn(t, path, 3)
			for _, name := range dirNames(t, dir) {
				if strings.Contains(name, tornExt) && string(readBytes(t, filepath.Join(dir, name))) == tail {
					return
				}
			}
			t.Errorf("the tail is nowhere: %v", dirNames(t, dir))
		})
	}
}

func TestKillDuringRepair(t *testing.T) {
	for _, failpoint := range []string{"replace-half", "replace-ready", "replace-kept", "replace-renamed", "replace-done"} {
		t.Run(failpoint, func(t *testing.T) {
			t.Parallel()
			path, data := makeRecord(t, t.TempDir(), 3)
			writeBytes(t, path, bytes.ReplaceAll(data, []byte("\n"), []byte("\r\n")))
			runKilled(t, "repair", path, failpoint)
			checkAnswers(t, mustView(t, path), 3)
			if _, err := Repair(path, testEnv()); err != nil {
				t.Fatal(err)
			}
			goOn(t, path, 4)
		})
	}
}

func TestKillDuringRename(t *testing.T) {
	for _, failpoint := range []string{"rename-start", "rename-moved"} {
		t.Run(failpoint, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			path, _ := makeRecord(t, dir, 3)
			writeBytes(t, stem(path)+tornExt+"x", []byte("tail"))
			runKilled(t, "rename", path, failpoint)
			names, err := Names(dir)
			if err != nil || len(names) != 1 {
				t.Fatalf("records: got %v, %v, want one", names, err)
			}
			goOn(t, Path(dir, names[0]), 4)
			only(t, dir, tornExt)
		})
	}
}

func TestKillDuringRemove(t *testing.T) {
	for _, failpoint := range []string{"remove-start", "remove-sides", "remove-gone"} {
		t.Run(failpoint, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			path, _ := makeRecord(t, dir, 3)
			writeBytes(t, stem(path)+tornExt+"x", []byte("tail"))
			runKilled(t, "remove", path, failpoint)
			if failpoint != "remove-gone" {
				checkAnswers(t, mustView(t, path), 3)
				if err := Remove(path, testEnv()); err != nil {
					t.Fatalf("asked again: %v", err)
				}
			}
			if names, err := Names(dir); len(names) != 0 || err != nil {
				t.Errorf("left: %v, %v", names, err)
			}
		})
	}
}

func TestKillWhileAReportIsReplaced(t *testing.T) {
	for _, c := range []struct{ failpoint, want string }{
		{"replace-half", "old report\n"}, {"replace-ready", "old report\n"},
		{"replace-renamed", newReport}, {"replace-done", newReport},
	} {
		t.Run(c.failpoint, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "report.md")
			writeBytes(t, path, []byte("old report\n"))
			runKilled(t, "report", path, c.failpoint)
			if got := string(readBytes(t, path)); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

func TestEveryFailpointIsUsedByAKillTest(t *testing.T) {
	used := map[string]bool{}
	for _, k := range kills {
		name, _, _ := strings.Cut(k.failpoint, ":")
		used[name] = true
	}
	source := string(readBytes(t, "kill_test.go"))
	for _, f := range Failpoints {
		if !used[f.Name] && !strings.Contains(source, `"`+f.Name+`"`) {
			t.Errorf("no test is killed at %s (%s)", f.Name, f.Where)
		}
	}
	if len(Failpoints) < 12 {
		t.Errorf("%d failpoints, want 12 or more", len(Failpoints))
	}
}

func TestKillAtRandomTimes(t *testing.T) {
	path, _ := makeRecord(t, t.TempDir(), 0)
	saved, torn, extra := 1, 0, 0
	for range 50 {
		cmd, _, out, stderr := startChild(t, "endless", path, "")
		r := bufio.NewReader(out)
		first, err := r.ReadString('\n')
		if err != nil {
			t.Fatalf("%v: %s", err, stderr)
		}
		time.Sleep(time.Duration(rand.IntN(8000)) * time.Microsecond)
		cmd.Process.Kill()
		rest, _ := io.ReadAll(r)
		cmd.Wait()
		saved = lastSaved(first + string(rest))
		l, rec, err := Open(path, Env{})
		if err != nil {
			t.Fatal(err)
		}
		last := l.Seq()
		if last < saved || last > saved+1 {
			t.Fatalf("the record ends with line %d, acknowledged were %d", last, saved)
		}
		extra += last - saved
		if rec.Torn != nil {
			torn++
		}
		checkAnswers(t, rec.Content, last-1)
		l.Close()
	}
	t.Logf("50 kills, %d lines saved, 0 acknowledged lost; %d torn tails, %d lines kept that were not yet acknowledged", saved, torn, extra)
}

func TestWithFailpoint(t *testing.T) {
	for _, text := range []string{"nowhere", "append-half:0", "append-half:x", "append-half:", ":1"} {
		if env, err := WithFailpoint(Env{}, text); err == nil || env.trap != nil {
			t.Errorf("%q: got no error", text)
		}
	}
	if env, err := WithFailpoint(Env{}, ""); err != nil || env.trap != nil {
		t.Errorf("empty: got %v, want nothing armed", err)
	}
	var sprung []string
	tr := &trap{name: appendHalf, left: 2, spring: func(name string) { sprung = append(sprung, name) }}
	for range 4 {
		tr.at(appendStart)
		tr.at(appendHalf)
	}
	if fmt.Sprint(sprung) != "[append-half]" {
		t.Errorf("sprung %v, want once at the second time", sprung)
	}
}
