package cli

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
)

// meddler is what a person types, with something that happens to the folder
// between two lines.
type meddler struct {
	lines []string
	then  func()
}

func (m *meddler) Read(p []byte) (int, error) {
	if len(m.lines) == 0 {
		return 0, io.EOF
	}
	line := m.lines[0]
	if m.lines = m.lines[1:]; line == "" {
		m.then()
		return m.Read(p)
	}
	return copy(p, line+"\n"), nil
}

// meddled runs a test in dir while then happens behind the second answer.
func meddled(t *testing.T, dir string, then func(), rest ...string) (int, string) {
	t.Helper()
	var e bytes.Buffer
	a := &app{
		Streams: terminal.Streams{In: &meddler{append([]string{"grey van", "2198 cc", ""}, rest...), then}, Out: io.Discard, Err: &e, Width: 200},
		env:     func(string) string { return "" },
		now:     func() time.Time { return time.Date(2026, 12, 1, 10, 0, 0, 0, time.UTC) },
	}
	return a.run([]string{"start", "--dir", dir}), e.String()
}

// A record that is deleted under a running test is written anew; only the answer
// that found it gone has to be given again. So it is where the person leaves.
func TestRecordDeletedUnderATest(t *testing.T) {
	for name, c := range map[string]struct {
		rest  []string
		whole bool // the folder goes too
	}{
		"before an answer": {[]string{"4", "4"}, false}, "before leaving": {nil, false}, "with its folder": {[]string{"4"}, true},
	} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "kept")
			path := record.Path(dir, "grey-van-2026-12-01")
			code, errs := meddled(t, dir, func() {
				var err error
				if c.whole {
					err = os.RemoveAll(dir)
				} else {
					err = os.Remove(path)
				}
				if err != nil {
					t.Error(err)
				}
			}, c.rest...)
			if code != exitFault || !strings.Contains(errs, "was deleted or moved while the test ran") || !strings.Contains(errs, "dropwalk resume grey-van-2026-12-01") {
				t.Errorf("it ends with %d and says\n%s", code, errs)
			}
			if _, out, errs := tried(t, "", "records", "show", "grey", "--dir", dir); !strings.Contains(out, "2198 cc") {
				t.Errorf("the record holds\n%s%s", out, errs)
			}
			if code, _, errs := tried(t, "ready\n4\n", "resume", "grey", "--dir", dir); code != exitStopped {
				t.Errorf("going on ends with %d: %s", code, errs)
			}
		})
	}
}

// Where another file stands in its place, or lines were added to it, what was
// answered goes beside it and the other is left alone.
func TestRecordAlteredUnderATest(t *testing.T) {
	for name, meddle := range map[string]func(path string) error{
		"another file": func(path string) error {
			if err := os.Remove(path); err != nil {
				return err
			}
			return os.WriteFile(path, []byte("mine\n"), 0o600)
		},
		"added to": func(path string) error {
			f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
			if err != nil {
				return err
			}
			if _, err := f.WriteString("mine\n"); err != nil {
				return err
			}
			return f.Close()
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			path := record.Path(dir, "grey-van-2026-12-01")
			code, errs := meddled(t, dir, func() {
				if err := meddle(path); err != nil {
					t.Error(err)
				}
			}, "4")
			if code != exitFault || !strings.Contains(errs, "was changed by something else") || !strings.Contains(errs, "dropwalk resume grey-van-2026-12-01-2") {
				t.Errorf("it ends with %d and says\n%s", code, errs)
			}
			if data, _ := os.ReadFile(path); !bytes.HasSuffix(data, []byte("mine\n")) {
				t.Error("what stood in its place was touched")
			}
			if _, out, _ := tried(t, "", "records", "show", "grey-van-2026-12-01-2", "--dir", dir); !strings.Contains(out, "2198 cc") {
				t.Errorf("the new record holds\n%s", out)
			}
		})
	}
}

// A folder that takes no record is told before anything is asked.
func TestFolderIsTriedFirst(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	places := []string{filepath.Join(file, "records")}
	locked := filepath.Join(t.TempDir(), "locked")
	if err := os.Mkdir(locked, 0o500); err != nil {
		t.Fatal(err)
	}
	if os.WriteFile(filepath.Join(locked, "x"), nil, 0o600) != nil { // not for one who may do everything
		places = append(places, locked, filepath.Join(locked, "below"))
	}
	for _, dir := range places {
		code, _, errs := tried(t, "grey van\n", "start", "--dir", dir)
		if code == exitDone || strings.Contains(errs, "What do you call") || !strings.Contains(errs, "--dir FOLDER takes another folder") {
			t.Errorf("%s: it ends with %d and says\n%s", dir, code, errs)
		}
	}
	dir := filepath.Join(t.TempDir(), "new")
	if code, _, _ := tried(t, "", "start", "--dir", dir); code != exitStopped || isThere(dir) {
		t.Errorf("where nothing was answered it ends with %d and leaves %s: %v", code, dir, isThere(dir))
	}
}

// Without a home folder the option that names another one is the hint.
func TestNoHomeFolder(t *testing.T) {
	t.Setenv("HOME", "")
	code, _, errs := tried(t, "", "records")
	if code == exitDone || !strings.Contains(errs, "hint: such as --dir records") {
		t.Errorf("it ends with %d and says %s", code, errs)
	}
}
