package cli

import (
	"bytes"
	"fmt"
	"hash/crc32"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine/record"
)

// tried is the program on streams of its own: what a person types and sees.
func tried(t testing.TB, typed string, args ...string) (code int, out, errs string) {
	t.Helper()
	return atHome(t, "", typed, args...)
}

// kept copies a record of an older release to a folder of its own.
func kept(t *testing.T, name string) (dir, path string, data []byte) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "..", "testdata", "records", "v1", name+".jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	dir = t.TempDir()
	path = record.Path(dir, name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return dir, path, data
}

// oldRecords were made with an intake.yaml of an older release, which stands
// inside them. Beside each lies the sheet that the release of that day made of
// it.
var oldRecords = []struct{ name, hash, title, was, is string }{
	{name: "intake-finished", hash: "883033dc094180b66361482ec4b6f9f3a79275689ff892752e6ad4866fb190f3", title: "# Intake test: grey-van\n"},
	{name: "intake-paused", hash: "34bf609a7636c9f002bf94aafb35b472a962382ab22e3b7326c2a341a2fb153b", title: "# Intake test: grey-van\n"},
	// Nothing was known in this one. A gauge that no reading names may be called
	// otherwise today.
	{name: "intake-unknown", hash: "f968e5e1f7dec3e82f05cc98ca4cc6c139e9c389b19f1401b9e96fcd44e42fb0", title: "# Intake test\n", was: "{name: gauge,", is: "{name: dial,"},
}

// After an upgrade an old record opens with the procedure that it was made
// with, whatever today's says, and makes the same sheet, so that the same is
// assessed.
func TestOldRecordMakesTheSameSheet(t *testing.T) {
	today := loadIntake(t).Source
	for _, old := range oldRecords {
		dir, path, data := kept(t, old.name)
		if got := record.Hash(data); got != old.hash {
			t.Fatalf("%s has changed: SHA-256 %s, want %s", old.name, got, old.hash)
		}
		if inside := procedureIn(t, path); inside == string(today) {
			t.Errorf("%s: its procedure is today's; this test shows nothing", old.name)
		}
		want, err := os.ReadFile(filepath.Join("..", "..", "..", "testdata", "records", "v1", old.name+".yaml"))
		if err != nil {
			t.Fatal(err)
		}
		code, got, errs := tried(t, "", "sheet", old.name, "--dir", dir)
		if code != exitDone || errs != "" {
			t.Errorf("%s: sheet ends with %d and says %q", old.name, code, errs)
		}
		want = bytes.Replace(want, []byte(old.was), []byte(old.is), 1)
		if diff := cmp.Diff(string(want), got); diff != "" {
			t.Errorf("%s: the sheet differs from that of its day (-then +now):\n%s", old.name, diff)
		}
		sameAssessment(t, dir, old.name, want)
		if code, page, errs := tried(t, "", "report", old.name, "--dir", dir); code != exitDone || errs != "" || !strings.Contains(page, old.title) {
			t.Errorf("%s: report ends with %d, says %q and prints\n%s", old.name, code, errs, page)
		}
		if after, err := os.ReadFile(path); err != nil || !bytes.Equal(after, data) {
			t.Errorf("%s: reading it has changed it, %v", old.name, err)
		}
	}
}

func procedureIn(t *testing.T, path string) string {
	t.Helper()
	c, err := record.View(path)
	if err != nil {
		t.Fatal(err)
	}
	p, _, err := session.Events(c.Lines)
	if err != nil {
		t.Fatal(err)
	}
	return p.Text
}

// sameAssessment holds that the record is judged as the sheet of its day is.
func sameAssessment(t *testing.T, dir, name string, written []byte) {
	t.Helper()
	s, faults := sheet.Read(name, written)
	if s == nil {
		t.Fatal(faults)
	}
	want, err := jsonLine(advice.Assess(s, advice.Options{}))
	if err != nil {
		t.Fatal(err)
	}
	code, got, errs := tried(t, "", "assess", "--json", name, "--dir", dir)
	if code != exitDone || errs != "" || got != string(want) {
		t.Errorf("%s: assess ends with %d, says %q and differs (-sheet +record):\n%s", name, code, errs, cmp.Diff(string(want), got))
	}
}

// An old record goes on where it stood, with the questions of its own
// procedure, and only grows.
func TestOldRecordGoesOn(t *testing.T) {
	dir, path, data := kept(t, "intake-paused")
	// The leak check is made again, so the hold on what is closed up comes again too.
	lines := []string{"ready", "done", "ready", "3.5 at 6010", "ready", "ready", "3.5 at 5990"}
	code, _, errs := tried(t, strings.Join(lines, "\n")+"\n", "resume", "intake-paused", "--dir", dir)
	if code != exitStopped {
		t.Fatalf("resume ends with %d, want %d:\n%s", code, exitStopped, errs)
	}
	for _, want := range []string{"Going on with intake-paused, begun 2026-11-25 15:16.", "3.5 inH2O", "What does the gauge show at rest now?", "Everything is saved."} {
		if !strings.Contains(errs, want) {
			t.Errorf("the screen lacks %q:\n%s", want, errs)
		}
	}
	after, err := os.ReadFile(path)
	if err != nil || !bytes.HasPrefix(after, data) || len(after) == len(data) {
		t.Errorf("the record has not just grown, %v", err)
	}
	if code, out, errs := tried(t, "", "records", "check", "intake-paused", "--dir", dir); code != exitDone || errs != "" {
		t.Errorf("records check ends with %d: %s%s", code, out, errs)
	}
	_, got, _ := tried(t, "", "sheet", "intake-paused", "--dir", dir)
	if n := strings.Count(got, "run: "); n != 6 {
		t.Errorf("the sheet has %d runs, want 6:\n%s", n, got)
	}
}

var (
	lineVersion = regexp.MustCompile(`^\{"v":1,`)
	lineBefore  = regexp.MustCompile(`"prev":"[0-9a-f]{8}"`)
)

// later writes a record as a release of the future would: lines of format
// lines under a header of format head, sound in themselves, with texts changed.
func later(t *testing.T, data []byte, head, lines int, changes ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	before := "00000000"
	for i, line := range slices.Collect(bytes.Lines(data)) {
		_, body, ok := bytes.Cut(bytes.TrimRight(line, "\n"), []byte(`"r":`))
		if !ok {
			t.Fatalf("line %d is no line of a record", i+1)
		}
		body = lineVersion.ReplaceAll(body[:len(body)-1], fmt.Appendf(nil, `{"v":%d,`, lines))
		body = lineBefore.ReplaceAll(body, fmt.Appendf(nil, `"prev":"%s"`, before))
		body = bytes.Replace(body, []byte(`"format":1,"program":"dropwalk (devel)"`), fmt.Appendf(nil, `"format":%d,"program":"dropwalk 3.1.0"`, head), 1)
		body = []byte(strings.NewReplacer(changes...).Replace(string(body)))
		before = fmt.Sprintf("%08x", crc32.Checksum(body, crc32.MakeTable(crc32.Castagnoli)))
		fmt.Fprintf(&b, "{\"crc\":\"%s\",\"r\":%s}\n", before, body)
	}
	return b.Bytes()
}

// A record of a later format is refused kindly: the message says which release
// it needs, what can be read is shown, and not a byte is touched.
func TestFutureRecordIsRefusedAndLeft(t *testing.T) {
	tests := []struct {
		name        string
		head, lines int
		hint        string
	}{
		{"begun by a later release", 2, 2, "hint: go on with dropwalk 3.1.0 or later; here you can read it: dropwalk report intake-paused"},
		{"a later header over lines of today", 2, 1, "hint: go on with dropwalk 3.1.0 or later; here you can read it: dropwalk report intake-paused"},
		{"continued by a later release", 1, 2, "hint: go on with a release of dropwalk that knows record format 2; here you can read it: dropwalk report intake-paused"},
	}
	for _, tt := range tests {
		dir, path, data := kept(t, "intake-paused")
		data = later(t, data, tt.head, tt.lines)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		code, out, errs := tried(t, "ready\n", "resume", "intake-paused", "--dir", dir)
		if code != exitInput || out != "" || !strings.Contains(errs, "is a record of format 2") || !strings.Contains(errs, tt.hint) {
			t.Errorf("%s: resume ends with %d and says\n%swant %d and %q", tt.name, code, errs, exitInput, tt.hint)
		}
		if code, page, errs := tried(t, "", "report", "intake-paused", "--dir", dir); code != exitDone || !strings.Contains(page, "14-15 inH2O") || !strings.Contains(errs, "later release") {
			t.Errorf("%s: report ends with %d, says %q and prints\n%s", tt.name, code, errs, page)
		}
		if after, err := os.ReadFile(path); err != nil || !bytes.Equal(after, data) {
			t.Errorf("%s: the record was touched, %v", tt.name, err)
		}
		if names, err := os.ReadDir(dir); err != nil || len(names) != 1 {
			t.Errorf("%s: the folder holds %v, want the record alone, %v", tt.name, names, err)
		}
	}
}

// Where the procedure inside is one of a later release, that is said kindly too,
// and what was answered can still be read.
func TestFutureProcedureIsRefusedAndLeft(t *testing.T) {
	for _, change := range [][2]string{{`"text":"procedure: 1\n`, `"text":"procedure: 2\n`}, {`fills: car.name`, `fills: car.smell`}} {
		dir, path, data := kept(t, "intake-paused")
		data = later(t, data, 1, 1, change[0], change[1], "dropwalk (devel)", "dropwalk 3.1.0")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, command := range []string{"resume", "report", "sheet"} {
			code, out, errs := tried(t, "ready\n", command, "intake-paused", "--dir", dir)
			if code != exitInput || out != "" || !strings.Contains(errs, "has a procedure inside that this release") ||
				!strings.Contains(errs, "\nhint: use dropwalk 3.1.0, which began it, or a later one; here you can read what was answered: dropwalk records show intake-paused") {
				t.Errorf("%q: %s ends with %d, prints %q and says\n%s", change[1], command, code, out, errs)
			}
		}
		if code, out, _ := tried(t, "", "records", "show", "intake-paused", "--dir", dir); code != exitDone || !strings.Contains(out, "14-15 inH2O") {
			t.Errorf("records show ends with %d and prints\n%s", code, out)
		}
		if after, err := os.ReadFile(path); err != nil || !bytes.Equal(after, data) {
			t.Errorf("the record was touched, %v", err)
		}
	}
}
