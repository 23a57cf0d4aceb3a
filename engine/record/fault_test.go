package record

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// faulty returns a world with a disk whose faults the test sets.
func faulty() (Env, *faultyDisk) {
	env, disk := testEnv(), &faultyDisk{}
	env.FS = disk
	return env, disk
}

// openFaulty makes a record with two answers and opens it on a faulty disk.
func openFaulty(t *testing.T) (*Log, *faultyDisk) {
	t.Helper()
	path, _ := makeRecord(t, t.TempDir(), 2)
	env, disk := faulty()
	l, _ := mustOpen(t, path, env)
	return l, disk
}

// mustFail appends the next answer and fails unless the error is want.
func mustFail(t *testing.T, l *Log, want error) error {
	t.Helper()
	_, err := l.Append("answered", answerNo(l.Seq()+1))
	if !errors.Is(err, want) {
		t.Fatalf("Append: got %v, want an error that is %v", err, want)
	}
	if strings.Contains(err.Error(), "\n") {
		t.Errorf("the message has several lines: %q", err)
	}
	return err
}

func TestDiskFullInMidLine(t *testing.T) {
	for _, written := range []int{0, 1, 100, -1} { // bytes before the disk is full; -1 is all but one
		t.Run(fmt.Sprint(written), func(t *testing.T) {
			l, disk := openFaulty(t)
			before := readBytes(t, l.Path())
			disk.write = func(_ string, b []byte) (int, error) {
				return (written + len(b)) % len(b), syscall.ENOSPC
			}
			err := mustFail(t, l, ErrFull)
			if !strings.Contains(err.Error(), "not saved: the disk is full: free some space and try again") {
				t.Errorf("message: %v", err)
			}
			if got := readBytes(t, l.Path()); !bytes.Equal(got, before) {
				t.Errorf("the part that was written is still there: %q", got[len(before):])
			}
			mustFail(t, l, ErrFull)
			disk.write = nil // space is freed
			appendAnswers(t, l, 2)
			after := mustView(t, l.Path())
			checkAnswers(t, after, 4)
			checkFindings(t, after.Findings, nil)
		})
	}
}

// What was acknowledged was synced before, and the folder after a file was made.
func TestSyncComesBeforeTheAcknowledgement(t *testing.T) {
	var did []string
	note := func(what, name string) { did = append(did, what+" "+filepath.Base(name)) }
	env, disk := faulty()
	disk.write = func(name string, b []byte) (int, error) { note("write", name); return len(b), nil }
	disk.sync = func(name string) error { note("sync", name); return nil }
	disk.syncDir = func(name string) error { note("sync folder", name); return nil }
	dir := filepath.Join(t.TempDir(), "outer", "records")
	l, err := Create(dir, "yellow", testHeader, env)
	if err != nil {
		t.Fatal(err)
	}
	parent := filepath.Base(filepath.Dir(filepath.Dir(dir)))
	checkDid(t, "Create", &did, "sync folder outer", "sync folder "+parent, "write yellow.jsonl", "sync yellow.jsonl", "sync folder records")
	appendAnswers(t, l, 1)
	checkDid(t, "Append", &did, "write yellow.jsonl", "sync yellow.jsonl")
	l.Close()
	checkDid(t, "Close", &did)
	l, _ = mustOpen(t, l.Path(), env)
	checkDid(t, "Open", &did, "sync yellow.jsonl")
	l.Close()
	writeBytes(t, l.Path(), append(readBytes(t, l.Path()), "torn"...))
	_, rec := mustOpen(t, l.Path(), env)
	moved := filepath.Base(rec.Torn.MovedTo)
	checkDid(t, "Open with a torn tail", &did, "write "+moved, "sync "+moved, "sync folder records", "sync yellow.jsonl", "sync yellow.jsonl")
	if err := ReplaceFile(filepath.Join(dir, "report"), []byte("x"), 0o600, env); err != nil {
		t.Fatal(err)
	}
	if len(did) != 3 || !strings.HasPrefix(did[1], "sync report.new-") || did[2] != "sync folder records" {
		t.Errorf("ReplaceFile did %q, want a write, a sync and a sync of the folder", did)
	}
}

// A fault on the way to a file names the file that was asked for, not the one that
// was to be renamed to it, also where the disk is full.
func TestReplaceFileNamesItsFile(t *testing.T) {
	for _, no := range []error{syscall.ENOSPC, syscall.EIO} {
		env, disk := faulty()
		disk.write = func(name string, _ []byte) (int, error) { return 0, &fs.PathError{Op: "write", Path: name, Err: no} }
		dir := t.TempDir()
		err := ReplaceFile(filepath.Join(dir, "report.html"), []byte("x"), 0o600, env)
		if err == nil || strings.Contains(err.Error(), newExt) || !strings.Contains(err.Error(), "report.html: ") {
			t.Errorf("it fails with %v", err)
		}
		if errors.Is(err, ErrFull) != (no == syscall.ENOSPC) {
			t.Errorf("a full disk or not: %v", err)
		}
		if left, _ := os.ReadDir(dir); len(left) > 0 {
			t.Errorf("%s is left behind", left[0].Name())
		}
	}
}

func checkDid(t *testing.T, call string, did *[]string, want ...string) {
	t.Helper()
	if d := diff(strings.Join(*did, "\n"), strings.Join(want, "\n")); d != "" {
		t.Errorf("%s (-want +got):\n%s", call, d)
	}
	*did = nil
}

func TestShortWriteWithoutAnError(t *testing.T) {
	l, disk := openFaulty(t)
	disk.write = func(_ string, b []byte) (int, error) { return len(b) / 2, nil }
	if _, err := l.Append("answered", answerNo(4)); err == nil {
		t.Fatal("half a line was acknowledged")
	}
	disk.write = nil
	appendAnswers(t, l, 1)
	checkAnswers(t, mustView(t, l.Path()), 3)
}

// Where the part of a line can't be cut off, the record is written anew without
// it, and if the process ends before that, the next Open sets it aside.
func TestDiskFullAndCuttingFailsToo(t *testing.T) {
	l, disk := openFaulty(t)
	disk.write = func(_ string, b []byte) (int, error) { return 30, syscall.ENOSPC }
	disk.trunc = func(string) error { return syscall.EIO }
	mustFail(t, l, syscall.EIO)
	mustFail(t, l, ErrFull)
	part := readBytes(t, l.Path())
	c := mustView(t, l.Path())
	checkAnswers(t, c, 2)
	if c.Torn == nil || c.Torn.Bytes != 30 {
		t.Errorf("torn tail: got %+v, want 30 bytes", c.Torn)
	}
	disk.write, disk.trunc = nil, nil
	appendAnswers(t, l, 1)
	checkAnswers(t, mustView(t, l.Path()), 3)

	again := filepath.Join(t.TempDir(), "again.jsonl")
	writeBytes(t, again, part)
	_, rec := mustOpen(t, again, testEnv())
	checkAnswers(t, rec.Content, 2)
	if rec.Torn == nil || len(readBytes(t, rec.Torn.MovedTo)) != 30 {
		t.Error("the next Open doesn't set the part aside")
	}
}

func TestFailedSyncIsAnsweredByANewFile(t *testing.T) {
	for _, links := range []bool{true, false} {
		t.Run(fmt.Sprintf("links %v", links), func(t *testing.T) {
			l, disk := openFaulty(t)
			before, err := os.Stat(l.Path())
			if err != nil {
				t.Fatal(err)
			}
			failing := l.Path()
			disk.sync = func(name string) error {
				if name == failing {
					failing = "" // once: a second sync of the same file would report success
					return syscall.EIO
				}
				return nil
			}
			if !links {
				disk.link = func(string, string) error { return syscall.EPERM }
			}
			appendAnswers(t, l, 2)
			checkAnswers(t, mustView(t, l.Path()), 4)
			checkFindings(t, l.Warnings(), []string{"line 4: warning: the disk failed in the middle of a write, so the record was written anew; the old file is kept as yellow.kept-"})
			kept := only(t, filepath.Dir(l.Path()), keptExt)
			checkAnswers(t, mustView(t, kept), 3)
			after, err := os.Stat(l.Path())
			if err != nil {
				t.Fatal(err)
			}
			if os.SameFile(before, after) {
				t.Error("the file that was not synced is still in use")
			}
			l.Close()
			_, rec := mustOpen(t, l.Path(), testEnv())
			checkAnswers(t, rec.Content, 4)
			checkFindings(t, rec.Findings, nil)
		})
	}
}

// While no file can be synced nothing is acknowledged; once one can, the same
// log goes on, and the answers that failed are not in it twice.
func TestSyncFailsForAWhile(t *testing.T) {
	for _, fault := range []error{syscall.EIO, syscall.ENOSPC} {
		t.Run(fault.Error(), func(t *testing.T) {
			l, disk := openFaulty(t)
			disk.sync = func(string) error { return fault }
			mustFail(t, l, ErrNoSync)
			mustFail(t, l, fault)
			if fault == syscall.ENOSPC {
				mustFail(t, l, ErrFull)
			}
			disk.sync = nil
			appendAnswers(t, l, 2)
			l.Close()
			c := mustView(t, l.Path())
			checkAnswers(t, c, 4)
			checkFindings(t, c.Findings, nil)
			for _, name := range dirNames(t, filepath.Dir(l.Path())) {
				if strings.Contains(name, newExt) {
					t.Errorf("left behind: %s", name)
				}
			}
		})
	}
}

// After a failed sync the file must read back as it was acknowledged, or
// nothing is built on it.
func TestFailedSyncAndTheFileHasLostLines(t *testing.T) {
	for name, spoil := range map[string]func(b []byte) []byte{
		"shorter": func(b []byte) []byte { return b[:200] },
		"altered": func(b []byte) []byte { b[len(b)/2] ^= 1; return b },
	} {
		t.Run(name, func(t *testing.T) {
			l, disk := openFaulty(t)
			before := readBytes(t, l.Path())
			disk.sync = func(path string) error {
				if path == l.Path() {
					writeBytes(t, path, spoil(bytes.Clone(before)))
					return syscall.EIO
				}
				return nil
			}
			mustFail(t, l, ErrNoSync)
			mustFail(t, l, ErrChanged)
			if got := readBytes(t, l.Path()); bytes.Contains(got, []byte("step-4")) {
				t.Error("a new line was built on lost ones")
			}
		})
	}
}

func TestFaultsWhileRewriting(t *testing.T) {
	for name, set := range map[string]func(d *faultyDisk){
		"rename":      func(d *faultyDisk) { d.rename = func(string, string) error { return syscall.EIO } },
		"folder sync": func(d *faultyDisk) { d.syncDir = func(string) error { return syscall.EIO } },
		"new file": func(d *faultyDisk) {
			d.open = func(name string, _ int) error {
				if strings.Contains(name, newExt) {
					return syscall.EROFS
				}
				return nil
			}
		},
		"second name": func(d *faultyDisk) {
			d.link = func(string, string) error { return syscall.EPERM }
			d.open = func(name string, _ int) error {
				if strings.Contains(name, keptExt) {
					return syscall.EROFS
				}
				return nil
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			l, disk := openFaulty(t)
			set(disk)
			disk.sync = func(name string) error {
				if name == l.Path() {
					return syscall.EIO
				}
				return nil
			}
			mustFail(t, l, ErrNoSync)
			if c := mustView(t, l.Path()); len(c.Lines) < 2 {
				t.Fatalf("acknowledged answers are gone: %d left", len(c.Lines))
			}
			*disk = faultyDisk{}
			appendAnswers(t, l, 2)
			c := mustView(t, l.Path())
			checkAnswers(t, c, 4)
			checkFindings(t, c.Findings, nil)
		})
	}
}

func TestReadOnlyFolderAndFile(t *testing.T) {
	path, data := makeRecord(t, t.TempDir(), 2)
	readOnly := func(name string, flag int) error {
		if flag&(os.O_WRONLY|os.O_RDWR|os.O_CREATE) != 0 {
			return &fs.PathError{Op: "open", Path: name, Err: syscall.EROFS}
		}
		return nil
	}
	env, disk := faulty()
	disk.open = readOnly
	disk.lock = func(name string) error { return &fs.PathError{Op: "open", Path: name, Err: syscall.EROFS} }
	if _, _, err := Open(path, env); !errors.Is(err, syscall.EROFS) {
		t.Errorf("Open in a read-only folder: got %v", err)
	}
	if c, err := view(disk, path); err != nil || len(c.Lines) != 2 {
		t.Errorf("View in a read-only folder: got %v", err)
	}
	if _, err := Create(filepath.Dir(path), "second", testHeader, env); !errors.Is(err, syscall.EROFS) {
		t.Errorf("Create in a read-only folder: got %v", err)
	}
	disk.mkdir = func(name string) error { return &fs.PathError{Op: "mkdir", Path: name, Err: syscall.EACCES} }
	if _, err := Create(filepath.Join(filepath.Dir(path), "sub"), "second", testHeader, env); !errors.Is(err, fs.ErrPermission) {
		t.Errorf("Create where no folder can be made: got %v", err)
	}
	disk.lock = nil // the folder can be written to, the file can't
	if _, _, err := Open(path, env); !errors.Is(err, syscall.EROFS) || !strings.Contains(err.Error(), "yellow.jsonl") {
		t.Errorf("Open of a read-only file: got %v", err)
	}
	if got := readBytes(t, path); !bytes.Equal(got, data) {
		t.Error("the file has changed")
	}
	if got := dirNames(t, filepath.Dir(path)); len(got) != 1 {
		t.Errorf("left behind: %v", got)
	}
}

func TestFolderDeletedUnderUs(t *testing.T) {
	skipOnWindows(t, "an open file can't be deleted there")
	l, _ := openFaulty(t)
	dir := filepath.Dir(l.Path())
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	mustFail(t, l, ErrChanged)
	mustFail(t, l, fs.ErrNotExist)
	rescue := filepath.Join(t.TempDir(), "rescued.jsonl")
	if err := l.SaveTo(rescue); err != nil {
		t.Fatal(err)
	}
	checkAnswers(t, mustView(t, rescue), 2)
	if err := l.SaveTo(rescue); !errors.Is(err, fs.ErrExist) {
		t.Errorf("SaveTo a file that is there: got %v, want ErrExist", err)
	}
}

// The folder vanishes between the check before the write and the check after it.
func TestFolderDeletedDuringTheWrite(t *testing.T) {
	skipOnWindows(t, "an open file can't be deleted there")
	l, disk := openFaulty(t)
	dir := filepath.Dir(l.Path())
	away := dir + "-away"
	disk.sync = func(string) error { return os.Rename(dir, away) }
	mustFail(t, l, ErrChanged)
	disk.sync = nil
	if err := os.Rename(away, dir); err != nil { // it was a stick that came back
		t.Fatal(err)
	}
	appendAnswers(t, l, 1)
	checkAnswers(t, mustView(t, l.Path()), 3)
}

func TestSomethingElseWritesToTheFile(t *testing.T) {
	for name, meddle := range map[string]func(t *testing.T, path string, data []byte){
		"appends": func(t *testing.T, path string, data []byte) { writeBytes(t, path, append(data, 'x')) },
		"cuts":    func(t *testing.T, path string, data []byte) { writeBytes(t, path, data[:len(data)-1]) },
		"puts another file there": func(t *testing.T, path string, data []byte) {
			writeBytes(t, path+"2", data)
			if err := os.Rename(path+"2", path); err != nil {
				t.Fatal(err)
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			l, _ := openFaulty(t)
			meddle(t, l.Path(), readBytes(t, l.Path()))
			changed := readBytes(t, l.Path())
			mustFail(t, l, ErrChanged)
			if got := readBytes(t, l.Path()); !bytes.Equal(got, changed) {
				t.Error("written all the same")
			}
		})
	}
}

func TestCreateLeavesNothingBehindAfterAFault(t *testing.T) {
	for name, set := range map[string]func(d *faultyDisk){
		"disk full":   func(d *faultyDisk) { d.write = func(string, []byte) (int, error) { return 10, syscall.ENOSPC } },
		"sync":        func(d *faultyDisk) { d.sync = func(string) error { return syscall.EIO } },
		"folder sync": func(d *faultyDisk) { d.syncDir = func(string) error { return syscall.EIO } },
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			env, disk := faulty()
			set(disk)
			if _, err := Create(dir, "yellow", testHeader, env); err == nil {
				t.Fatal("no error")
			}
			if got := dirNames(t, dir); len(got) > 0 {
				t.Errorf("left behind: %v", got)
			}
			l, err := Create(dir, "yellow", testHeader, testEnv())
			if err != nil {
				t.Fatalf("the name is blocked: %v", err)
			}
			l.Close()
		})
	}
}

func TestOpenChangesNothingWhenTheTailCantBeSaved(t *testing.T) {
	path, data := makeRecord(t, t.TempDir(), 2)
	torn := append(bytes.Clone(data), `{"crc":"00`...)
	for name, set := range map[string]func(d *faultyDisk){
		"disk full": func(d *faultyDisk) { d.write = func(string, []byte) (int, error) { return 2, syscall.ENOSPC } },
		"sync":      func(d *faultyDisk) { d.sync = func(string) error { return syscall.EIO } },
	} {
		writeBytes(t, path, torn)
		env, disk := faulty()
		set(disk)
		if _, _, err := Open(path, env); err == nil {
			t.Fatalf("%s: no error", name)
		}
		if got := readBytes(t, path); !bytes.Equal(got, torn) {
			t.Errorf("%s: the tail was cut although its copy failed", name)
		}
		if got := dirNames(t, filepath.Dir(path)); len(got) != 1 {
			t.Errorf("%s: left behind: %v", name, got)
		}
	}
}

func TestReplaceFileKeepsTheOldOneUntilTheNewOneIsWhole(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "report.md")
	for name, set := range map[string]func(d *faultyDisk){
		"disk full": func(d *faultyDisk) { d.write = func(string, []byte) (int, error) { return 3, syscall.ENOSPC } },
		"sync":      func(d *faultyDisk) { d.sync = func(string) error { return syscall.EIO } },
		"rename":    func(d *faultyDisk) { d.rename = func(string, string) error { return syscall.EACCES } },
	} {
		writeBytes(t, path, []byte("old"))
		env, disk := faulty()
		set(disk)
		if err := ReplaceFile(path, []byte("brand new"), 0o644, env); err == nil {
			t.Fatalf("%s: no error", name)
		}
		if got := string(readBytes(t, path)); got != "old" || len(dirNames(t, dir)) != 1 {
			t.Errorf("%s: got %q and files %v, want the old report alone", name, got, dirNames(t, dir))
		}
	}
	if err := ReplaceFile(path, []byte("brand new"), 0o644, testEnv()); err != nil || string(readBytes(t, path)) != "brand new" {
		t.Errorf("without a fault: %v", err)
	}
	if err := ReplaceFile(dir, []byte("x"), 0o644, testEnv()); !errors.Is(err, syscall.EISDIR) {
		t.Errorf("over a folder: got %v", err)
	}
}

func TestLargeFilesAreRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "large.jsonl")
	writeBytes(t, path, nil)
	if err := os.Truncate(path, MaxFile+1); err != nil {
		t.Skip(err) // the file is sparse; not every file system can do that
	}
	if _, err := View(path); err == nil || !strings.Contains(err.Error(), "too large for a record") {
		t.Errorf("got %v", err)
	}
}

// A file of rubbish behind a header must not fill the memory.
func TestRubbishIsCountedNotKept(t *testing.T) {
	path, data := makeRecord(t, t.TempDir(), 1)
	writeBytes(t, path, append(data, strings.Repeat("x\n", 50_000)...))
	c := mustView(t, path)
	if len(c.Unverified) != maxUnverified || c.Unshown != 50_000-maxUnverified {
		t.Errorf("got %d unverified and %d more, want %d in all", len(c.Unverified), c.Unshown, 50_000)
	}
	if r, err := Check(path); err != nil || r.Unverified != 50_000 {
		t.Errorf("Check counts %d, %v, want 50000", r.Unverified, err)
	}
	if s := scan(path, bytes.Repeat([]byte("\n"), 1000), true); cap(s.Lines) > 10 {
		t.Errorf("room for %d lines in a file of line feeds", cap(s.Lines))
	}
}

func skipOnWindows(t *testing.T, why string) {
	t.Helper()
	if os.PathSeparator == '\\' {
		t.Skip(why)
	}
}
