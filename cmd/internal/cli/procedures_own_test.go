package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dropwalk/cmd/internal/terminal"
)

// owner is somebody with a folder of their own for data.
type owner struct {
	t    *testing.T
	data string
}

func newOwner(t *testing.T) owner {
	t.Helper()
	o := owner{t, t.TempDir()}
	if err := os.MkdirAll(o.folder(), 0o755); err != nil {
		t.Fatal(err)
	}
	return o
}

func (o owner) folder() string { return filepath.Join(o.data, "dropwalk", "procedures") }

// writes puts a file into the folder of the procedures.
func (o owner) writes(name, text string) string {
	o.t.Helper()
	path := filepath.Join(o.folder(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		o.t.Fatal(err)
	}
	return path
}

// runs runs one command line of theirs.
func (o owner) runs(args ...string) ran {
	var out, errs bytes.Buffer
	a := &app{
		Streams: terminal.Streams{In: strings.NewReader(""), Out: &out, Err: &errs, Width: 80},
		env: func(name string) string {
			if name == "XDG_DATA_HOME" {
				return o.data
			}
			return ""
		},
		now: func() time.Time { return time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC) },
	}
	code := a.run(args)
	return ran{code, out.String(), errs.String()}
}

// own is the starter under another name.
func own(t *testing.T, name string) string {
	t.Helper()
	text, err := newProcedure(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// One's own procedure is found by its name, beside those that come with the
// program, and the list says which is which.
func TestOwnProcedureIsFoundByName(t *testing.T) {
	o := newOwner(t)
	if r := o.runs("procedures", "where"); r.out != o.folder()+"\n" {
		t.Fatalf("the folder is %q, want %q", r.out, o.folder())
	}
	o.writes("bore-check.yaml", own(t, "bore-check"))
	r := o.runs("procedures")
	for _, want := range []string{"intake ", "Yours:\n  bore-check "} {
		if r.code != exitDone || !strings.Contains(r.out, want) {
			t.Errorf("the list lacks %q:\n%s%s", want, r.out, r.err)
		}
	}
	for _, args := range [][]string{{"procedures", "show", "bore-check"}, {"procedures", "check", "--strict", "bore-check"}, {"procedures", "try", "bore-check"}} {
		if r := o.runs(args...); r.code != exitDone {
			t.Errorf("%v ends with %d: %s", args, r.code, r.err)
		}
	}
	if r := o.runs("start", "bore-check", "--dir", t.TempDir()); !strings.Contains(r.err, "Are hose and gauge tight?") {
		t.Errorf("start says\n%s", r.err)
	}
	if r := o.runs("procedures", "show", "bore-chekc"); !strings.Contains(r.err, `did you mean "bore-check"?`) {
		t.Errorf("a slip in its name: %s", r.err)
	}
}

// A procedure that comes with the program goes first, and never in silence.
func TestOwnProcedureShadowsNothing(t *testing.T) {
	o := newOwner(t)
	file := o.writes("intake.yaml", strings.ReplaceAll(own(t, "my-check"), "my-check", "intake"))
	if r := o.runs("procedures"); !strings.Contains(r.err, "intake means the one that comes with dropwalk; yours is called by its path: "+file) {
		t.Errorf("the list says\n%s%s", r.out, r.err)
	}
	r := o.runs("procedures", "show", "intake")
	if !strings.Contains(r.out, "Where does the intake path lose power?") || !strings.Contains(r.err, file) {
		t.Errorf("by its name comes\n%.200s\nand is said\n%s", r.out, r.err)
	}
	if r := o.runs("procedures", "show", file); !strings.Contains(r.out, "Are hose and gauge tight?") || !strings.Contains(r.err, "This file calls itself intake") {
		t.Errorf("by its path comes\n%.200s\nand is said\n%s", r.out, r.err)
	}
}

// What can't be called by name, or run, is told and hides nothing else.
func TestStrangeFilesInTheFolder(t *testing.T) {
	o := newOwner(t)
	o.writes("sound.yaml", own(t, "sound"))
	o.writes("other-name.yaml", own(t, "sound"))
	o.writes("broken.yaml", "procedure: 1\nnam: broken\n")
	o.writes("Has Blanks.yaml", own(t, "sound"))
	o.writes("..yaml", own(t, "sound"))
	o.writes("red\x1b[31m.yaml", own(t, "sound"))
	o.writes("notes.txt", "no procedure")
	if err := os.Mkdir(filepath.Join(o.folder(), "folder.yaml"), 0o755); err != nil {
		t.Fatal(err)
	}
	r := o.runs("procedures")
	if r.code != exitDone || strings.ContainsRune(r.out+r.err, '\x1b') {
		t.Errorf("the list ends with %d, or holds an escape: %q", r.code, r.out+r.err)
	}
	all := strings.Join(strings.Fields(r.out), " ")
	for _, want := range []string{"Are hose and gauge tight?", "other-name", `calls itself "sound"`, "can't be run: broken.yaml:"} {
		if !strings.Contains(all, want) {
			t.Errorf("the list lacks %q:\n%s", want, r.out)
		}
	}
	for _, want := range []string{`"Has Blanks.yaml" can't be called by name`, `"folder.yaml" can't`, `"red\x1b[31m.yaml" can't`} {
		if !strings.Contains(r.err, want) {
			t.Errorf("nothing says %q:\n%s", want, r.err)
		}
	}
	var list struct{ List []listedProcedure }
	if err := json.Unmarshal([]byte(o.runs("procedures", "--json").out), &list); err != nil || len(list.List) != len(shipped())+3 {
		t.Errorf("as JSON there are %d, %v", len(list.List), err)
	}
	if r := o.runs("start", "other-name"); r.code != exitInput || !strings.Contains(r.err, "write name: other-name in it") {
		t.Errorf("start of a file under another name ends with %d: %s", r.code, r.err)
	}
}

// No name leads out of the folder, and a folder that isn't there is no fault.
func TestNamesStayInTheFolder(t *testing.T) {
	o := newOwner(t)
	secret := own(t, "secret")
	if err := os.WriteFile(filepath.Join(o.data, "secret.yaml"), []byte(secret), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"../../secret", "..%2f..%2fsecret", "secret", ".", "..", "", "~", "secret\x00", "CON", strings.Repeat("a", 5000)} {
		if r := o.runs("procedures", "show", name); r.code != exitInput || strings.Contains(r.out, "hose") {
			t.Errorf("%.20q ends with %d: %.100s", name, r.code, r.out)
		}
	}
	none := owner{t, filepath.Join(o.data, "nothing")}
	if r := none.runs("procedures"); r.code != exitDone || r.err != "" {
		t.Errorf("without a folder the list ends with %d: %s", r.code, r.err)
	}
}

func TestNewProcedure(t *testing.T) {
	o := newOwner(t)
	file := filepath.Join(o.folder(), "pipe-check.yaml")
	if r := o.runs("procedures", "new", "pipe-check", "--out", file); r.code != exitDone {
		t.Fatalf("new ends with %d: %s", r.code, r.err)
	}
	if r := o.runs("procedures", "new", "pipe-check", "--out", file); r.code != exitInput || !strings.Contains(r.err, "already") {
		t.Errorf("writing over a file ends with %d: %s", r.code, r.err)
	}
	if r := o.runs("procedures", "check", "--strict", "pipe-check"); r.code != exitDone || r.err != "" {
		t.Errorf("it is not sound: %s", r.err)
	}
	r := o.runs("procedures", "try", "pipe-check", "--json")
	var tried struct {
		Files []struct{ Steps, Reached, Branches, Taken int }
	}
	if err := json.Unmarshal([]byte(r.out), &tried); err != nil || len(tried.Files) != 1 {
		t.Fatalf("%v: %s", err, r.out)
	}
	if f := tried.Files[0]; f.Steps == 0 || f.Reached != f.Steps || f.Taken != f.Branches {
		t.Errorf("walking it comes to %+v", f)
	}
	for _, name := range []string{"intake", "Pipe", "../x", "", strings.Repeat("a", 80)} {
		if r := o.runs("procedures", "new", name); r.code != exitInput || r.out != "" {
			t.Errorf("new %q ends with %d: %.100s", name, r.code, r.out)
		}
	}
}

// The schema that is printed is the one that the promise names.
func TestSchemaIsPrinted(t *testing.T) {
	want, err := os.ReadFile("../../../engine/procedure-1.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	if r := runLine("procedures schema"); r.code != exitDone || r.out != string(want) {
		t.Errorf("it ends with %d and differs from the file", r.code)
	}
}

// Every procedure that comes with the program is walked to its last branch.
func TestShippedProceduresAreWalked(t *testing.T) {
	r := runLine("procedures try --json")
	var tried struct {
		Files []struct {
			Name                            string
			Steps, Reached, Branches, Taken int
			Idle                            []string `json:"idle_rules"`
		}
	}
	if err := json.Unmarshal([]byte(r.out), &tried); err != nil || r.code != exitDone || len(tried.Files) != len(shipped()) {
		t.Fatalf("it ends with %d, %v: %s%s", r.code, err, r.out, r.err)
	}
	for _, f := range tried.Files {
		t.Logf("%s: %d of %d steps, %d of %d branches", f.Name, f.Reached, f.Steps, f.Taken, f.Branches)
		if f.Reached != f.Steps || f.Taken != f.Branches || len(f.Idle) > 0 {
			t.Errorf("%s is not walked whole: %+v", f.Name, f)
		}
	}
}

// The starter does what it says: a leak leads back to the check, and the test
// ends once it holds.
func TestStarterFindsALeak(t *testing.T) {
	file := filepath.Join(t.TempDir(), "my-check.yaml")
	if err := os.WriteFile(file, []byte(own(t, "my-check")), 0o600); err != nil {
		t.Fatal(err)
	}
	lines := []string{"25 inH2O by 0.5 inH2O", "ready", "done", "done", "15 inH2O, 12 inH2O, 30", "", "done", "15 inH2O, 14.9 inH2O, 30", "done"}
	code, _, errs := tried(t, strings.Join(lines, "\n")+"\n", "start", file, "--dir", t.TempDir())
	if code != exitDone || strings.Count(errs, "There is a leak.") != 1 || !strings.Contains(errs, "The test is over: complete.") {
		t.Errorf("it ends with %d:\n%s", code, errs)
	}
}
