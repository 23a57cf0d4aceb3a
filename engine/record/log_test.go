package record

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"
)

func TestCreateAppendView(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a", "records")
	l, err := Create(dir, "yellow", testHeader, testEnv())
	if err != nil {
		t.Fatal(err)
	}
	line, err := l.Append("answered", answerNo(2))
	if err != nil {
		t.Fatal(err)
	}
	c := mustView(t, l.Path()) // while it is open
	checkAnswers(t, c, 1)
	if d := diff(c.Lines[0], line); d != "" {
		t.Errorf("the line that Append returned and the one read differ: %s", d)
	}
	if d := diff(c.Header, l.Header()); d != "" {
		t.Errorf("header: %s", d)
	}
	if c.Header.ID == "" || c.Header.Zone != "CET" || c.Header.Format != 1 || c.Header.Car != "yellow-estate" || c.Header.Created.IsZero() {
		t.Errorf("header not completed: %+v", c.Header)
	}
	if len(c.Findings) != 0 {
		t.Errorf("findings in a sound record: %v", c.Findings)
	}
	if line.Mono <= 0 {
		t.Errorf("monotonic time: got %d, want more than 0", line.Mono)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	if got := dirNames(t, dir); len(got) != 1 || got[0] != "yellow.jsonl" {
		t.Errorf("left after Close: %v, want yellow.jsonl alone", got)
	}
}

func TestOpenGoesOn(t *testing.T) {
	path, _ := makeRecord(t, t.TempDir(), 3)
	l, rec := mustOpen(t, path, testEnv())
	if len(rec.Did) != 0 || len(rec.Lines) != 3 {
		t.Fatalf("recovery of a sound record: did %v, %d lines", rec.Did, len(rec.Lines))
	}
	appendAnswers(t, l, 2)
	checkAnswers(t, mustView(t, path), 5)
}

func TestPermissions(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows has no such mode bits; the user's folder is private there")
	}
	dir := filepath.Join(t.TempDir(), "records")
	l, err := Create(dir, "yellow", testHeader, testEnv())
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for path, want := range map[string]os.FileMode{dir: 0o700, l.Path(): 0o600, stem(l.Path()) + lockExt: 0o600} {
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		if got := info.Mode().Perm(); got != want {
			t.Errorf("%s: got mode %04o, want %04o", path, got, want)
		}
	}
}

func TestCreateRefusesATakenName(t *testing.T) {
	dir := t.TempDir()
	_, before := makeRecord(t, dir, 1)
	for _, name := range []string{"yellow", "Yellow", "YELLOW"} {
		if _, err := Create(dir, name, testHeader, testEnv()); !errors.Is(err, ErrExists) {
			t.Errorf("Create %s: got %v, want ErrExists", name, err)
		}
	}
	if got := readBytes(t, filepath.Join(dir, "yellow.jsonl")); string(got) != string(before) {
		t.Error("the record that was there has changed")
	}
}

func TestAppendRefuses(t *testing.T) {
	dir := t.TempDir()
	l, err := Create(dir, "yellow", testHeader, testEnv())
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range []string{"", "header", "Answered", "a b", "a\"b", strings.Repeat("k", 33)} {
		if _, err := l.Append(kind, nil); !errors.Is(err, ErrBody) {
			t.Errorf("kind %q: got %v, want ErrBody", kind, err)
		}
	}
	if _, err := l.Append("noted", strings.Repeat("x", MaxBody)); !errors.Is(err, ErrBody) {
		t.Errorf("a body too large: got %v, want ErrBody", err)
	}
	note := strings.Repeat("n", 1<<20)
	if _, err := l.Append("noted", map[string]string{"text": note}); err != nil {
		t.Errorf("a note of 1 MiB: %v", err)
	}
	l.Close()
	if _, err := l.Append("noted", nil); !errors.Is(err, ErrClosed) {
		t.Errorf("after Close: got %v, want ErrClosed", err)
	}
	c := mustView(t, l.Path())
	if len(c.Lines) != 1 || len(c.Lines[0].Body) != len(note)+len(`{"text":""}`) {
		t.Errorf("after refusals: %d lines, want the large note alone", len(c.Lines))
	}
}

func TestUnknownKindsAreKept(t *testing.T) {
	l, err := Create(t.TempDir(), "yellow", testHeader, testEnv())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.Append("weighed-by-a-later-release", []int{1, 2}); err != nil {
		t.Fatal(err)
	}
	l.Close()
	_, rec := mustOpen(t, l.Path(), testEnv())
	if len(rec.Lines) != 1 || rec.Lines[0].Kind != "weighed-by-a-later-release" || string(rec.Lines[0].Body) != "[1,2]" {
		t.Errorf("got %+v", rec.Lines)
	}
}

func TestAppendFromSeveralGoroutines(t *testing.T) {
	env := testEnv()
	l, err := Create(t.TempDir(), "yellow", testHeader, env)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 5 {
				if _, err := l.Append("noted", "x"); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	l.Close()
	if c := mustView(t, l.Path()); len(c.Lines) != 40 || len(c.Findings) != 0 {
		t.Errorf("got %d lines and %v, want 40 and none", len(c.Lines), c.Findings)
	}
}

func TestClockFaultsAreNotedAndKeepTheOrder(t *testing.T) {
	at := func(s string) time.Time {
		v, err := time.Parse(time.RFC3339, s)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, c := range []struct {
		name  string
		times []string // of the header and two lines
		want  []string
	}{
		{"set back by an hour", []string{"2026-11-25T10:00:00+01:00", "2026-11-25T10:01:00+01:00", "2026-11-25T09:01:00+01:00"},
			[]string{"line 3: note: the clock was set back by 1h0m0s"}},
		{"another time zone is no fault", []string{"2026-11-25T10:00:00+01:00", "2026-11-25T10:01:00+01:00", "2026-11-25T09:02:00Z"}, nil},
		{"end of summer time is no fault", []string{"2026-10-25T02:30:00+02:00", "2026-10-25T02:59:00+02:00", "2026-10-25T02:01:00+01:00"}, nil},
		{"never set", []string{"1970-01-01T00:00:10Z", "1970-01-01T00:00:20Z", "1970-01-01T00:00:30Z"},
			[]string{"line 1: note: the clock of the computer was not set"}},
		{"lost in between", []string{"2026-11-25T10:00:00Z", "2026-11-25T10:01:00Z", "1970-01-01T00:00:30Z"},
			[]string{"line 3: note: the clock was set back by", "line 3: note: the clock of the computer was not set"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			env, n := testEnv(), 0
			env.Now = func() time.Time { return at(c.times[n]) }
			l, err := Create(t.TempDir(), "yellow", testHeader, env)
			for n = 1; n < 3 && err == nil; n++ {
				_, err = l.Append("answered", answerNo(n+1))
			}
			n = 0
			if err != nil {
				t.Fatal(err)
			}
			l.Close()
			_, rec := mustOpen(t, l.Path(), testEnv())
			checkAnswers(t, rec.Content, 2)
			checkFindings(t, rec.Findings, c.want)
			for i, line := range rec.Lines {
				if want := at(c.times[i+1]); line.Time.Format(time.RFC3339) != want.Format(time.RFC3339) {
					t.Errorf("line %d: got time %v, want %v", line.Seq, line.Time, want)
				}
			}
		})
	}
}

// checkFindings fails unless each finding begins with the text wanted of it.
func checkFindings(t *testing.T, got []Finding, want []string) {
	t.Helper()
	ok := len(got) == len(want)
	for i := 0; ok && i < len(want); i++ {
		ok = strings.HasPrefix(got[i].String(), want[i])
	}
	if !ok {
		t.Errorf("findings:\n got %q\nwant %q", got, want)
	}
}

func TestChangedProcedureShows(t *testing.T) {
	// The value for the empty text is that of FIPS 180-4's examples (from memory).
	if got, want := Hash(nil), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"; got != want {
		t.Errorf("Hash of nothing: got %s, want %s", got, want)
	}
	path, _ := makeRecord(t, t.TempDir(), 0)
	h := mustView(t, path).Header
	if h.ProcedureSHA256 != Hash([]byte("procedure: 1\n")) || h.ProcedureSHA256 == Hash([]byte("procedure: 2\n")) {
		t.Errorf("hash in the header: %s", h.ProcedureSHA256)
	}
}

func TestNoHostNameInTheFiles(t *testing.T) {
	host, err := os.Hostname()
	if err != nil || len(host) < 3 {
		t.Skip("no host name to look for")
	}
	dir := t.TempDir()
	l, err := Create(dir, "yellow", testHeader, testEnv())
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for _, name := range dirNames(t, dir) {
		if data := readBytes(t, filepath.Join(dir, name)); strings.Contains(string(data), host) {
			t.Errorf("%s holds the host name %s", name, host)
		}
	}
}

func ExampleView() {
	dir, _ := os.MkdirTemp("", "")
	defer os.RemoveAll(dir)
	l, err := Create(dir, "yellow-estate", Header{Program: "dropwalk"}, Env{})
	if err != nil {
		fmt.Println(err)
		return
	}
	l.Append("answered", map[string]string{"step": "displacement", "text": "1998 cc"})
	l.Close()
	c, err := View(l.Path())
	fmt.Println(len(c.Lines), c.Lines[0].Kind, string(c.Lines[0].Body), err)
	// Output: 1 answered {"step":"displacement","text":"1998 cc"} <nil>
}
