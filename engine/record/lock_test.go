package record

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
)

// hold starts a process that holds a record and returns how to kill it.
func hold(t *testing.T, job, path string) (pid int, kill func()) {
	t.Helper()
	cmd, _, out, stderr := startChild(t, job, path, "")
	if said, err := bufio.NewReader(out).ReadString('\n'); said != "held\n" {
		t.Fatalf("the other process says %q, %v: %s", said, err, stderr)
	}
	done := false
	kill = func() {
		if !done {
			done = true
			cmd.Process.Kill()
			io.Copy(io.Discard, out)
			cmd.Wait()
		}
	}
	t.Cleanup(kill)
	return cmd.Process.Pid, kill
}

func TestTwoWritersAndAStaleLock(t *testing.T) {
	for _, c := range []struct {
		job      string
		fallback bool
	}{{"hold", false}, {"hold-file", true}} {
		t.Run(c.job, func(t *testing.T) {
			path, _ := makeRecord(t, t.TempDir(), 2)
			env, disk := faulty()
			if c.fallback {
				disk.lock = func(string) error { return errors.ErrUnsupported }
			}
			pid, kill := hold(t, c.job, path)
			_, _, err := Open(path, env)
			if !errors.Is(err, ErrLocked) || !strings.Contains(err.Error(), fmt.Sprintf("(process %d, since 20", pid)) {
				t.Fatalf("Open while it is held: got %v, want ErrLocked and the process", err)
			}
			for name, call := range map[string]func() error{
				"Remove": func() error { return Remove(path, env) },
				"Rename": func() error { _, err := Rename(path, "green", env); return err },
				"Repair": func() error { _, err := Repair(path, env); return err },
			} {
				if err := call(); !errors.Is(err, ErrLocked) {
					t.Errorf("%s while it is held: got %v, want ErrLocked", name, err)
				}
			}
			checkAnswers(t, mustView(t, path), 2) // reading needs no lock
			kill()
			l, rec, err := Open(path, env)
			if err != nil {
				t.Fatalf("after kill -9 of the holder: %v", err)
			}
			checkAnswers(t, rec.Content, 2)
			if got := len(l.Warnings()); (got == 1) != c.fallback {
				t.Errorf("warnings: got %v", l.Warnings())
			}
			l.Close()
			if got := dirNames(t, filepath.Dir(path)); len(got) != 1 {
				t.Errorf("left behind: %v", got)
			}
		})
	}
}

func TestTwoLogsInOneProcess(t *testing.T) {
	path, _ := makeRecord(t, t.TempDir(), 1)
	l, _ := mustOpen(t, path, testEnv())
	if _, _, err := Open(path, testEnv()); !errors.Is(err, ErrLocked) {
		t.Errorf("second Open: got %v, want ErrLocked", err)
	}
	if _, err := Create(filepath.Dir(path), "yellow", testHeader, testEnv()); !errors.Is(err, ErrLocked) {
		t.Errorf("Create: got %v, want ErrLocked", err)
	}
	l.Close()
	l.Close()
	again, _ := mustOpen(t, path, testEnv())
	again.Close()
}

// A file lock of another machine, or one that can't be read, is never taken
// away: its holder may live.
func TestForeignLockFilesAreRespected(t *testing.T) {
	path, _ := makeRecord(t, t.TempDir(), 1)
	env, disk := faulty()
	disk.lock = func(string) error { return errors.ErrUnsupported }
	held := stem(path) + heldExt
	for _, note := range []string{
		"pid 1073741824 since 2026-11-25T10:00:00Z machine abc-0123456789abcdef",
		"pid 1073741824 since 2026-11-25T10:00:00Z machine abc-unknown",
		fmt.Sprintf("pid %d since 2026-11-25T10:00:00Z machine %s", os.Getpid(), machineMark("abc")),
		"", "something else", "pid x since y machine z",
	} {
		writeBytes(t, held, []byte(note))
		_, _, err := Open(path, env)
		if !errors.Is(err, ErrLocked) || !strings.Contains(err.Error(), "delete "+held) {
			t.Errorf("%q: got %v, want ErrLocked and what to do", note, err)
		}
		if got := string(readBytes(t, held)); got != note {
			t.Errorf("%q: the file was changed to %q", note, got)
		}
	}
	dead := fmt.Sprintf("pid %d since 2026-11-25T10:00:00Z machine %s", 1<<30, machineMark("abc"))
	writeBytes(t, held, []byte(dead))
	l, _ := mustOpen(t, path, env)
	l.Close()
}

func TestLockFileLeftByACopyDoesNoHarm(t *testing.T) {
	path, _ := makeRecord(t, t.TempDir(), 1)
	writeBytes(t, stem(path)+lockExt, []byte("\x00pid 1 since 2026-11-25T10:00:00Z machine a-b\n"))
	l, _ := mustOpen(t, path, testEnv())
	if got := lockNote(stem(path) + lockExt); !strings.Contains(got, fmt.Sprint(os.Getpid())) {
		t.Errorf("note of the holder: got %q, want this process", got)
	}
	l.Close()
}

// The lock file is removed with each unlock, so that some lock a file that is
// just being removed; still no two may hold the lock at once.
func TestLockFileThatComesAndGoes(t *testing.T) {
	name := filepath.Join(t.TempDir(), "x.lock")
	contend(t, 500, func() (func() error, error) { return Disk{}.Lock(name, "note") })
}

// The same for the lock of last resort, with a dead holder each time.
func TestHeldFileThatIsTakenOver(t *testing.T) {
	name := filepath.Join(t.TempDir(), "x.held")
	env := Env{}.filled()
	dead := holder{pid: 1 << 30, since: "2026-11-25T10:00:00Z", machine: machineMark("abc")}
	mine := holder{pid: os.Getpid(), since: "2026-11-25T10:00:00Z", machine: machineMark("abc")}
	writeBytes(t, name, []byte(dead.note()))
	contend(t, 100, func() (func() error, error) {
		if _, err := lockByFile(env, name, mine.note()); err != nil {
			return nil, err
		}
		return func() error { // the holder ends without giving the lock back
			return ReplaceFile(name, []byte(dead.note()), 0o600, env)
		}, nil
	})
}

// contend lets eight at a lock and fails if two have it at once.
func contend(t *testing.T, rounds int, lock func() (func() error, error)) {
	t.Helper()
	var inside, taken atomic.Int32
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range rounds {
				unlock, err := lock()
				if errors.Is(err, ErrLocked) {
					continue
				}
				if err != nil {
					t.Error(err)
					return
				}
				taken.Add(1)
				if inside.Add(1) > 1 {
					t.Error("two hold the lock")
				}
				runtime.Gosched()
				inside.Add(-1)
				if err := unlock(); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	if taken.Load() == 0 {
		t.Error("nobody ever had the lock")
	}
}
