package cli

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/answers"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// exampleAnswers is a whole test of an invented car, with every form that an
// answer can have.
const exampleAnswers = "../../../testdata/answers/yellow-estate.yaml"

func readExample(t *testing.T) *answers.File { return readMore(t, "") }

// readMore reads the example with more behind it.
func readMore(t *testing.T, more string) *answers.File {
	t.Helper()
	src, err := os.ReadFile(exampleAnswers)
	if err != nil {
		t.Fatal(err)
	}
	f, faults := answers.Read("yellow-estate.yaml", append(src, more...), loadIntake(t), &advice.Matter{})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return f
}

// hiddenExample is an example in a template, behind its #.
var hiddenExample = regexp.MustCompile(`(?m)^( *)#([a-z-])`)

// The template of the shipped procedure reads back as it stands; with its
// examples filled in it runs the test to its end. So it does for a second visit,
// whose car and path an earlier sheet describes.
func TestTemplateOfIntake(t *testing.T) {
	src, err := os.ReadFile("../../../testdata/sheets/yellow-estate.yaml")
	if err != nil {
		t.Fatal(err)
	}
	earlier, faults := sheet.Read("yellow-estate.yaml", src)
	if earlier == nil {
		t.Fatal(faults)
	}
	for name, given := range map[string][]subject.Entry{"first visit": nil, "second visit": advice.Carried(earlier)} {
		t.Run(name, func(t *testing.T) {
			p := loadIntake(t)
			template := answers.Template(p, &advice.Matter{}, given)
			if f, faults := answers.Read("t.yaml", template, p, &advice.Matter{}); f == nil || len(faults) > 0 {
				t.Fatalf("it doesn't read back: %v", faults)
			}
			filled := hiddenExample.ReplaceAll(template, []byte("$1$2"))
			f, faults := answers.Read("f.yaml", filled, p, &advice.Matter{})
			if f == nil || len(faults) > 0 {
				t.Fatalf("filled in it has faults: %v", faults)
			}
			if found := f.Rehearse(given); len(found.Faults)+len(found.Certain) > 0 {
				t.Fatalf("faults %v, missing %v", found.Faults, found.Certain)
			}
			s := &session.Session{Run: engine.NewRun(p, &advice.Matter{}), Store: memory{}, Asker: f.NewAsker(discard{}, 78), By: answersAsker}
			if err := s.Begin(given); err != nil {
				t.Fatal(err)
			}
			if err := s.Drive(t.Context()); err != nil {
				t.Fatal(err)
			}
			if how, ended := s.Run.Ended(); how != "complete" || !ended {
				t.Errorf("it ends %q, %v", how, ended)
			}
		})
	}
}

// Every question of the shipped procedure stands in its template, with what a
// person can ask for at the prompt.
func TestTemplateAsksEverything(t *testing.T) {
	p := loadIntake(t)
	template := string(answers.Template(p, &advice.Matter{}, nil))
	var count int
	for s := range p.Steps() {
		if s.Kind == engine.Ask || s.Kind == engine.Do && s.ID != "port" {
			count++
			for _, text := range []string{s.ID, s.Why, s.Unknown} {
				first, _, _ := strings.Cut(text, " ")
				if !strings.Contains(template, first) {
					t.Errorf("%s: %q is not in the template", s.ID, text)
				}
			}
		}
	}
	if count < 25 {
		t.Errorf("%d questions, want those of the whole test", count)
	}
}

// A reading that nobody asks for is read all the same: its unit has to be
// right. Whether it is far from what was expected is asked of asked ones only.
func TestReadingsThatNobodyAsksForAreRead(t *testing.T) {
	const more = "- {from: box-exit, to: meter, runs: [24 inH2O at 6000, 24 furlongs at 6000]}\n"
	found := readMore(t, more).Rehearse(nil)
	if len(found.Faults) != 1 || !strings.Contains(found.Faults.Error(), "furlongs") {
		t.Errorf("faults %v, want that of the unit", found.Faults)
	}
	asked := strings.Replace(more, "box-exit, to: meter", "open-air, to: tube", 1)
	if found := readMore(t, asked).Rehearse(nil); len(found.Faults) != 1 {
		t.Errorf("faults %v, want that of the unit", found.Faults)
	}
}

// What a rehearsal costs is told; half a minute would be a hang, on any machine.
func TestAnswersAreQuick(t *testing.T) {
	f := readExample(t)
	begun := time.Now()
	f.Rehearse(nil)
	if took := time.Since(begun); took > 30*time.Second {
		t.Errorf("the rehearsal takes %v", took)
	} else {
		t.Logf("rehearsal: %v", took)
	}
}

// Every list of an answers file has a name that is no key of the file, and no
// step inside a round of it is called like one of its keys. Two sources share a
// list where they bring the same, as readings do, and never in one procedure.
func TestListsHaveNamesOfTheirOwn(t *testing.T) {
	matter := &advice.Matter{}
	bring := map[string][]subject.Key{"answers": nil, "procedure": nil, "holds": nil, "steps": nil}
	for _, name := range matter.Names().Sources {
		source, _ := matter.Source(name)
		if keys, taken := bring[source.Rows]; source.Rows == "" || taken && (keys == nil || !cmp.Equal(keys, source.Keys)) {
			t.Errorf("the rounds of %s are called %q", name, source.Rows)
		}
		bring[source.Rows] = source.Keys
		for _, k := range source.Keys {
			if f, ok := matter.Fact(k.Among); !ok {
				t.Errorf("%s: nobody knows the fact %q", name, f.Name)
			}
		}
	}
	for _, name := range shipped() {
		if twice := listsTwice(t, name, matter); len(twice) > 0 {
			t.Errorf("%s has two lists of one name: %v", name, twice)
		}
	}
	root, faults := strictyaml.ParseJSON("schema", answers.Schema(loadIntake(t), matter), 1)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for _, list := range []string{"readings", "sizes", "taps"} {
		if root.Get("properties").Get(list) == nil {
			t.Errorf("the schema has no %s", list)
		}
	}
}

// fullAfter is a disk that has room for so many events.
type fullAfter struct{ left, refused int }

func (f *fullAfter) Append(string, any) error {
	if f.left > 0 {
		f.left--
		return nil
	}
	f.refused++
	return record.ErrFull
}

// A full disk ends a run from a file: nobody is there to make room, and asking
// again would put the next answer in the place of the one that wasn't saved.
func TestFullDiskEndsARunFromAFile(t *testing.T) {
	disk := &fullAfter{left: 6}
	s := &session.Session{Run: engine.NewRun(loadIntake(t), &advice.Matter{}), Store: unattended{disk}, Asker: readExample(t).NewAsker(discard{}, 78), By: answersAsker}
	if err := s.Begin(nil); err != nil {
		t.Fatal(err)
	}
	err := s.Drive(t.Context())
	if got, want := exitCode(err), exitFault; err == nil || got != want {
		t.Errorf("it ends with %v, exit code %d, want %d", err, got, want)
	}
	if disk.refused != 1 {
		t.Errorf("%d answers were handed to a full disk, want 1", disk.refused)
	}
	if p, _ := s.Run.Next(); p.Step != "induction" {
		t.Errorf("the run stands at %q, want the question whose answer was not saved", p.Step)
	}
}

// A signal ends a run from a file between two answers.
func TestSignalEndsARunFromAFile(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	s := &session.Session{Run: engine.NewRun(loadIntake(t), &advice.Matter{}), Store: memory{}, Asker: readExample(t).NewAsker(discard{}, 78), By: answersAsker}
	if err := s.Begin(nil); err != nil {
		t.Fatal(err)
	}
	if got, want := exitCode(s.Drive(ctx)), exitStopped; got != want {
		t.Errorf("exit code %d, want %d", got, want)
	}
}

// swapped is the example file of answers with something put in place of a line
// that begins as key does.
func swapped(t *testing.T, swaps ...string) string {
	t.Helper()
	src, err := os.ReadFile(exampleAnswers)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(string(src), "\n")
	for i, line := range lines {
		for n := 0; n < len(swaps); n += 2 {
			if strings.HasPrefix(strings.TrimSpace(line), swaps[n]) {
				lines[i] = line[:len(line)-len(strings.TrimLeft(line, " "))] + swaps[n+1] + "\n"
			}
		}
	}
	file := filepath.Join(t.TempDir(), "answers.yaml")
	if err := os.WriteFile(file, []byte(strings.Join(lines, "")), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// Sizes that an answer of the same file sets aside are told in one line, with
// that answer.
func TestWhyAListWasNotAskedFor(t *testing.T) {
	file := swapped(t, "measure-pieces:", "measure-pieces: later")
	code, _, errs := tried(t, "", "start", "--answers", file, "--dir", t.TempDir())
	if want := "sizes: 7 items were not asked for and are not in the record, because measure-pieces is later\n"; code != exitDone || !strings.Contains(errs, want) || strings.Count(errs, "not asked for") != 1 {
		t.Errorf("it ends with %d and says\n%s\nwant %q alone", code, errs, want)
	}
}

// What a person would be told to go back for is not told to a file: there, the
// value itself has to be changed.
func TestAFileIsNotSentBack(t *testing.T) {
	file := swapped(t, "gauge:", `gauge: "5 inH2O by 0.1 inH2O"`)
	code, _, errs := tried(t, "", "start", "--answers", file, "--dir", t.TempDir())
	if code != exitInput || strings.Contains(errs, "back") || !strings.Contains(errs, "lies beyond it, expected what it showed (") {
		t.Errorf("it ends with %d and says\n%s", code, errs)
	}
}

// listsTwice are the lists that two sources of a procedure would fill.
func listsTwice(t *testing.T, name string, matter *advice.Matter) (twice []string) {
	t.Helper()
	p, err := findProcedure(name, quantity.AsTyped)
	if err != nil {
		t.Fatal(err)
	}
	by := map[string]string{}
	for s := range p.Steps() {
		if source, ok := matter.Source(s.Source); ok {
			if by[source.Rows] != "" && by[source.Rows] != s.Source {
				twice = append(twice, source.Rows)
			}
			by[source.Rows] = s.Source
		}
	}
	return twice
}

// A finished paper with runs that scatter: the advice would have more of them. The
// pause says that first, and what ends the runs; with it the test goes to its end
// with the runs that there are.
func TestNoMoreRunsWereMade(t *testing.T) {
	file := swapped(t, "- 12.4 inH2O at 6010", "- 9.1 inH2O at 6010")
	code, _, errs := tried(t, "", "start", "--answers", file, "--dir", t.TempDir())
	cause, rest := strings.Index(errs, "The test pauses: "), strings.Index(errs, "not asked for")
	if code != exitStopped || cause < 0 || rest < cause || !strings.Contains(errs, "runs 4") || !strings.Contains(errs, "    no-more: [runs]\n") {
		t.Fatalf("it ends with %d and says\n%s", code, errs)
	}
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, append(src, "no-more: [runs, readings]\n"...), 0o600); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	code, out, errs := tried(t, "", "start", "--answers", file, "--dir", dir)
	if code != exitDone {
		t.Fatalf("it ends with %d and says\n%s", code, errs)
	}
	kept, err := os.ReadFile(record.Path(dir, strings.TrimSpace(out)))
	if err != nil || !strings.Contains(string(kept), "no more runs were made") {
		t.Errorf("the record doesn't say why its runs end: %v", err)
	}
	if code, _, errs := tried(t, "", "records", "check", strings.TrimSpace(out), "--dir", dir); code != exitDone {
		t.Errorf("the record doesn't check: %s", errs)
	}
}
