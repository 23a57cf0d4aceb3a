package record

import (
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

var sittings atomic.Int64

// testEnv is a world in which the clock runs one second a look. Each sitting
// begins an hour after the one before and has other ids.
func testEnv() Env {
	sitting := sittings.Add(1)
	now := time.Date(2026, 11, 25, 10, 2, 3, 123e6, time.FixedZone("CET", 3600)).Add(time.Duration(sitting) * time.Hour)
	mono := time.Duration(0)
	return Env{
		Now:    func() time.Time { now = now.Add(time.Second); return now },
		Mono:   func() time.Duration { mono += time.Second; return mono },
		Random: rand.NewChaCha8([32]byte{byte(sitting), byte(sitting >> 8), byte(sitting >> 16)}),
	}
}

type answer struct {
	Step string `json:"step"`
	Raw  string `json:"raw"`
}

var testHeader = Header{Program: "dropwalk test", Procedure: "intake", ProcedureSHA256: Hash([]byte("procedure: 1\n")), Car: "yellow-estate"}

// makeRecord writes a record with n answers and returns its path and bytes.
func makeRecord(t testing.TB, dir string, n int) (path string, data []byte) {
	t.Helper()
	l, err := Create(dir, "yellow", testHeader, testEnv())
	if err != nil {
		t.Fatal(err)
	}
	appendAnswers(t, l, n)
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	return l.Path(), readBytes(t, l.Path())
}

func appendAnswers(t testing.TB, l *Log, n int) {
	t.Helper()
	for range n {
		if _, err := l.Append("answered", answerNo(l.Seq()+1)); err != nil {
			t.Fatal(err)
		}
	}
}

// answerNo is the answer that the tests expect in the line seq.
func answerNo(seq int) answer { return answer{Step: fmt.Sprintf("step-%d", seq), Raw: "12,5"} }

func readBytes(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func writeBytes(t testing.TB, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

func mustView(t testing.TB, path string) *Content {
	t.Helper()
	c, err := View(path)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func mustOpen(t testing.TB, path string, env Env) (*Log, *Recovery) {
	t.Helper()
	l, rec, err := Open(path, env)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l, rec
}

// checkAnswers fails unless c holds the answers 2 to n+1 and nothing else.
func checkAnswers(t testing.TB, c *Content, n int) {
	t.Helper()
	if len(c.Lines) != n {
		t.Fatalf("%s has %d proved answers, want %d; findings %v", c.Path, len(c.Lines), n, c.Findings)
	}
	for i, line := range c.Lines {
		want := fmt.Sprintf(`{"step":"step-%d","raw":"12,5"}`, i+2)
		if line.Seq != i+2 || string(line.Body) != want {
			t.Errorf("line %d: got seq %d and body %s, want %s", i+2, line.Seq, line.Body, want)
		}
	}
}

// dirNames lists a folder.
func dirNames(t testing.TB, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

// only returns the one file in dir whose name holds part.
func only(t testing.TB, dir, part string) string {
	t.Helper()
	var found []string
	for _, name := range dirNames(t, dir) {
		if strings.Contains(name, part) {
			found = append(found, filepath.Join(dir, name))
		}
	}
	if len(found) != 1 {
		t.Fatalf("files with %q in the name: got %v, want one", part, found)
	}
	return found[0]
}

// lines cuts a record into lines with their line feeds.
func lines(data []byte) []string {
	return strings.SplitAfter(strings.TrimSuffix(string(data), "\n"), "\n")
}

func joinLines(parts ...string) []byte {
	for i, p := range parts {
		parts[i] = strings.TrimSuffix(p, "\n") + "\n"
	}
	return []byte(strings.Join(parts, ""))
}

// faultyDisk is a disk on which single operations can be made to fail. A hook
// that is nil lets the operation through.
type faultyDisk struct {
	Disk
	open    func(name string, flag int) error
	write   func(name string, b []byte) (int, error) // how much to write, and the error after it
	sync    func(name string) error
	trunc   func(name string) error
	rename  func(from, to string) error
	link    func(from, to string) error
	syncDir func(name string) error
	lock    func(name string) error
	mkdir   func(name string) error
}

func (d *faultyDisk) OpenFile(name string, flag int, perm fs.FileMode) (File, error) {
	if d.open != nil {
		if err := d.open(name, flag); err != nil {
			return nil, err
		}
	}
	f, err := d.Disk.OpenFile(name, flag, perm)
	if err != nil {
		return nil, err
	}
	return &faultyFile{f, name, d}, nil
}

func (d *faultyDisk) Rename(from, to string) error {
	if d.rename != nil {
		if err := d.rename(from, to); err != nil {
			return err
		}
	}
	return d.Disk.Rename(from, to)
}

func (d *faultyDisk) Link(from, to string) error {
	if d.link != nil {
		if err := d.link(from, to); err != nil {
			return err
		}
	}
	return d.Disk.Link(from, to)
}

func (d *faultyDisk) SyncDir(name string) error {
	if d.syncDir != nil {
		if err := d.syncDir(name); err != nil {
			return err
		}
	}
	return d.Disk.SyncDir(name)
}

func (d *faultyDisk) MkdirAll(name string, perm fs.FileMode) error {
	if d.mkdir != nil {
		if err := d.mkdir(name); err != nil {
			return err
		}
	}
	return d.Disk.MkdirAll(name, perm)
}

func (d *faultyDisk) Lock(name, note string) (func() error, error) {
	if d.lock != nil {
		if err := d.lock(name); err != nil {
			return nil, err
		}
	}
	return d.Disk.Lock(name, note)
}

type faultyFile struct {
	File
	name string
	disk *faultyDisk
}

func (f *faultyFile) Write(b []byte) (int, error) {
	if f.disk.write == nil {
		return f.File.Write(b)
	}
	n, fault := f.disk.write(f.name, b)
	if n, err := f.File.Write(b[:n]); err != nil {
		return n, err
	}
	return n, fault
}

func (f *faultyFile) Sync() error {
	if f.disk.sync != nil {
		if err := f.disk.sync(f.name); err != nil {
			return err
		}
	}
	return f.File.Sync()
}

func (f *faultyFile) Truncate(size int64) error {
	if f.disk.trunc != nil {
		if err := f.disk.trunc(f.name); err != nil {
			return err
		}
	}
	return f.File.Truncate(size)
}

// diff is cmp.Diff for records.
func diff(got, want any) string { return cmp.Diff(want, got) }
