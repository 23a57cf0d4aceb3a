package answers

import (
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
)

const whole = `answers: 1
procedure: dig
holds: done-on-paper
steps:
  name: Long Acre
  soil: sand
  owed: done
  weeds: none
beds:
- {row: south, side: west, mark: done, digs: [15, 16]}
- {row: north, side: east, mark: done, digs: [25, 26]}
`

func read(t *testing.T, text string) *File {
	t.Helper()
	f, faults := Read("a.yaml", []byte(text), dig(t), garden{})
	if len(faults) > 0 {
		t.Fatalf("faults:\n%v", faults)
	}
	return f
}

// memory is a store that keeps events.
type memory struct{ events []engine.Event }

func (m *memory) Append(_ string, body any) error {
	m.events = append(m.events, session.EventIn(body))
	return nil
}

// run answers the procedure from a file and returns what a record would hold,
// as "slot text".
func run(t *testing.T, f *File) (lines []string, asker *Asker, err error) {
	t.Helper()
	var m memory
	asker = f.NewAsker(io.Discard, 78)
	s := &session.Session{Run: engine.NewRun(dig(t), garden{}), Store: &m, Asker: asker, By: "answers"}
	if err := s.Begin(nil); err != nil {
		t.Fatal(err)
	}
	err = s.Drive(t.Context())
	for _, e := range m.events {
		switch e.Kind {
		case engine.Answered, engine.Finished:
			lines = append(lines, strings.TrimSpace(e.Slot+" "+e.Text))
		case engine.Refused, engine.Skipped, engine.Noted, engine.Corrected, engine.Stopped:
			lines = append(lines, e.Kind+" "+e.Slot+" "+e.Text+e.Why)
		}
	}
	return lines, asker, err
}

// The advice chooses the order of the beds, the file may have any.
func TestBedsAreFoundByTheirKeys(t *testing.T) {
	got, asker, err := run(t, read(t, whole))
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"name Long Acre", "soil sand", "clear ready",
		"walk.1/mark done", "walk.1/dig.1/yours ready", "walk.1/dig.1/depth 25", "walk.1/dig.2/yours ready", "walk.1/dig.2/depth 26",
		"walk.2/mark done", "walk.2/dig.1/yours ready", "walk.2/dig.1/depth 15", "walk.2/dig.2/yours ready", "walk.2/dig.2/depth 16",
		"owed/walk.2/mark done", "owed/walk.1/mark done", "weeds none", "complete",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("the record (-want +got):\n%s", diff)
	}
	if left := asker.Unasked(); len(left) > 0 {
		t.Errorf("not asked for: %v", left)
	}
}

// JSON says the same.
func TestJSON(t *testing.T) {
	want, _, _ := run(t, read(t, whole))
	got, _, err := run(t, read(t, `{"answers": 1, "procedure": "dig", "holds": "done-on-paper",
 "steps": {"name": "Long Acre", "soil": "sand", "owed": {"all": "done"}, "weeds": "none"},
 "beds": [{"row": "north", "side": "east", "mark": "done", "digs": [25, {"depth": 26}]},
          {"row": "south", "side": "west", "mark": {"answer": "done"}, "digs": ["15", "16"]}]}`))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("JSON (-YAML +JSON):\n%s", diff)
	}
}

// Everything that a person can do at a prompt can stand in a file: notes, what
// can't be done, a hold that was refused at first, one answer after the other,
// an answer under its address, duties one by one.
func TestEverythingAPersonCanDo(t *testing.T) {
	text := strings.NewReplacer(
		"soil: sand", "soil: [clay, {answer: sand, note: dug again}]\n  water: 3\n  clear: [2, 1]\n  walk.1/dig.2/depth: 9",
		"owed: done", `owed: {all: done, mark: {cannot: "rusted in"}, walk.1/mark: done}`,
		"row: north, side: east, mark: done", "row: north, side: east, mark: [{cannot: it broke}, done]",
	).Replace(whole)
	got, asker, err := run(t, read(t, text))
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"name Long Acre", "soil clay", "water 3", "refused clear Shoes are on.", "refused clear Nobody stands near.", "clear ready",
		"corrected soil Clay this wet can't be dug.", "noted soil dug again", "soil sand", "clear ready",
		"refused walk.1/mark it broke", "walk.1/mark done",
		"walk.1/dig.1/yours ready", "walk.1/dig.1/depth 25", "walk.1/dig.2/yours ready", "walk.1/dig.2/depth 9",
		"walk.2/mark done", "walk.2/dig.1/yours ready", "walk.2/dig.1/depth 15", "walk.2/dig.2/yours ready", "walk.2/dig.2/depth 16",
		"skipped owed/walk.2/mark rusted in", "owed/walk.1/mark done", "weeds none", "complete with 1 open",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("the record (-want +got):\n%s", diff)
	}
	// The second dig of the bed lost to the one under its address, and "all"
	// was never needed.
	wantLeft := []string{
		`a.yaml:10:15: warning: owed (all) was not asked for and is not in the record`,
		`a.yaml:14:73: warning: beds (row north, side east), digs 2 was not asked for and is not in the record`,
	}
	if diff := cmp.Diff(wantLeft, texts(asker)); diff != "" {
		t.Errorf("not asked for (-want +got):\n%s", diff)
	}
}

func texts(a *Asker) []string {
	var list []string
	for _, f := range a.Unasked() {
		list = append(list, f.Error())
	}
	return list
}

// A stop leads to what is owed; the rest of the file was never asked for.
func TestStop(t *testing.T) {
	got, asker, err := run(t, read(t, strings.Replace(whole, "side: west, mark: done", "side: west, mark: {stop: it rains}", 1)))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := got[len(got)-3:], []string{"stopped walk.2/mark it rains", "owed/walk.1/mark done", "stopped"}; !slices.Equal(got, want) {
		t.Errorf("it ends %q, want %q", got, want)
	}
	if n := len(asker.Unasked()); n != 3 {
		t.Errorf("%d answers not asked for, want two digs and the weeds: %v", n, texts(asker))
	}
}

// Where the advice asks for a bed that the file doesn't have, the run pauses
// and says which; a rehearsal has nothing against such a file.
func TestPausesWhereTheFileEnds(t *testing.T) {
	for _, c := range []struct{ cut, with, where string }{
		{"- {row: south, side: west, mark: done, digs: [15, 16]}\n", "", "beds (row south, side west)"},
		{"digs: [25, 26]", "digs: [45, 26]", "beds (row north, side east)"},
	} {
		f := read(t, strings.Replace(whole, c.cut, c.with, 1))
		if found := f.Rehearse(nil); len(found.Faults)+len(found.Certain) > 0 {
			t.Errorf("%s: the rehearsal finds %v", c.where, found)
		}
		_, _, err := run(t, f)
		missing, ok := errors.AsType[*Missing](err)
		if !ok || !errors.Is(err, session.ErrPause) || missing.Where != c.where {
			t.Errorf("it ends with %v, want a pause at %s", err, c.where)
			continue
		}
		if !strings.Contains(missing.Tell(78, false), "to know more of") {
			t.Errorf("what is wanted doesn't say why:\n%s", missing.Tell(78, false))
		}
	}
}

// What a pause shows as the form of the missing item goes into the file as it
// stands, and the run goes to its end.
func TestWhatIsWantedReadsBack(t *testing.T) {
	short := strings.Replace(whole, "- {row: south, side: west, mark: done, digs: [15, 16]}\n", "", 1)
	_, _, err := run(t, read(t, short))
	missing, ok := errors.AsType[*Missing](err)
	if !ok {
		t.Fatal(err)
	}
	item := strings.TrimPrefix(missing.Example(""), "beds:\n")
	got, asker, err := run(t, read(t, short+item))
	if err != nil || got[len(got)-1] != "complete" || len(asker.Unasked()) > 0 {
		t.Errorf("with\n%s it ends with %v, %v", item, err, texts(asker))
	}
}

// Runs that one visit to a bed didn't need serve the next visit.
func TestFurtherRunsServeTheNextVisit(t *testing.T) {
	got, asker, err := run(t, read(t, strings.Replace(whole, "digs: [25, 26]", "digs: [45, 46, 47, 48]", 1)))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"walk.3/mark done", "walk.3/dig.1/depth 47", "walk.3/dig.2/depth 48"} {
		if !slices.Contains(got, want) {
			t.Errorf("the record lacks %q: %q", want, got)
		}
	}
	if left := asker.Unasked(); len(left) > 0 {
		t.Errorf("not asked for: %v", left)
	}
}

// Two items for the same bed are two visits.
func TestTwoItemsAreTwoVisits(t *testing.T) {
	text := strings.Replace(whole, "digs: [25, 26]", "digs: [45, 46]", 1) + "- {row: north, side: east, mark: done, digs: [1, 2]}\n"
	got, _, err := run(t, read(t, text))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"walk.1/dig.1/depth 45", "walk.3/dig.1/depth 1", "walk.3/dig.2/depth 2"} {
		if !slices.Contains(got, want) {
			t.Errorf("the record lacks %q: %q", want, got)
		}
	}
}

// All faults of a file come at once, each with its place.
func TestFaultsAtOnce(t *testing.T) {
	_, faults := Read("a.yaml", []byte(`answers: 1
procedure: dug
holds: "yes"
steps:
  nmae: Long Acre
  too-wet: done
  walk.1/makr: done
  clear: 3
  weeds: {skip: a, cannot: b}
  mark: done
  beds: [{row: north, side: east}]
beds:
- {row: north, mark: dnoe, digs: [[1]]}
`), dig(t), garden{})
	want := []string{
		`a.yaml:2:12: procedure: "dug" is not known here, expected dig (did you mean "dig"?)`,
		`a.yaml:3:8: holds: "yes" is not known here, expected done-on-paper`,
		`a.yaml:5:3: steps.nmae: unknown key "nmae" (did you mean "name"?)`,
		`a.yaml:6:3: steps.too-wet: too-wet only tells something, expected no answer to it`,
		`a.yaml:7:3: steps."walk.1/makr": unknown key "walk.1/makr", expected name, soil, water, clear, owed or weeds`,
		`a.yaml:8:10: steps.clear: 3 is out of range, expected the number of a line that was not true at first, 1 to 2`,
		`a.yaml:9:10: steps.weeds: 2 answers in one place, expected one of answer, skip, cannot or stop, and perhaps a note`,
		`a.yaml:10:3: steps.mark: mark is asked in rounds, expected it in an item of beds`,
		`a.yaml:11:3: steps.beds: beds is no step, expected beds: without an indent, beside steps`,
		`a.yaml:13:3: beds[1]: the key "side" is missing, expected side: text`,
		`a.yaml:13:22: beds[1].mark: "dnoe" is not known here, expected done (did you mean "done"?)`,
		`a.yaml:13:35: beds[1].digs[1]: a list stands here, expected text or a map of keys`,
	}
	if diff := cmp.Diff(want, strings.Split(faults.Error(), "\n")); diff != "" {
		t.Errorf("faults (-want +got):\n%s", diff)
	}
}

// A rehearsal reads every answer, those that nobody asks for too, and knows the
// names that keys can have.
func TestRehearsalFindsWhatCantBeTaken(t *testing.T) {
	f := read(t, strings.NewReplacer("soil: sand", "soil: snad", "row: south", "row: suoth", "25, 26", "25, deep, 3, shallow").Replace(whole))
	found := f.Rehearse(nil)
	want := []string{
		`a.yaml:6:9: steps.soil: snad is no soil, expected sand, clay (write one of: sand; clay)`,
		`a.yaml:10:9: beds[1].row: there is no place called "suoth", expected hedge, north or south (did you mean "south"?)`,
		`a.yaml:11:51: beds[2].digs[2]: deep is no number, expected a number`,
		`a.yaml:11:60: beds[2].digs[4]: shallow is no number, expected a number`,
	}
	if diff := cmp.Diff(want, strings.Split(found.Faults.Error(), "\n")); diff != "" {
		t.Errorf("faults (-want +got):\n%s", diff)
	}
}

func wheres(list []Wanted) []string {
	var out []string
	for _, w := range list {
		out = append(out, w.Where)
	}
	return out
}

// What is missing comes in two lists: what is asked for in any case, and what
// depends on an answer that is missing itself.
func TestMissing(t *testing.T) {
	for _, c := range []struct {
		text           string
		certain, maybe []string
	}{
		{"", []string{"name", "soil", "holds", "beds", "weeds"}, []string{"water", "soil (once more)"}},
		{"steps: {name: Long Acre}", []string{"soil", "holds", "beds", "weeds"}, []string{"water", "beds (row north, side east)", "soil (once more)"}},
		{"steps: {name: Long Acre, soil: sand}", []string{"holds", "beds (row north, side east)", "weeds"}, nil},
		{"steps: {name: Long Acre, soil: clay}", []string{"water", "holds", "beds", "weeds"}, []string{"soil (once more)", "beds (row north, side east)"}},
		{"holds: done-on-paper\nsteps: {name: Long Acre, soil: clay, water: 3, weeds: none, owed: done}\nbeds: [{row: north, side: east, mark: done, digs: [1, 2]}]",
			[]string{"soil (once more)"}, nil},
		{"holds: done-on-paper\nsteps: {name: Long Acre, soil: sand, weeds: none, owed: {soil: done}}\nbeds: [{row: north, side: east, digs: [1]}]",
			[]string{"beds (row north, side east): mark", "beds (row north, side east), digs 2", "owed: walk.1/mark"}, nil},
		{strings.TrimPrefix(whole, "answers: 1\nprocedure: dig\n"), nil, nil},
	} {
		found := read(t, "answers: 1\nprocedure: dig\n"+c.text).Rehearse(nil)
		if len(found.Faults) > 0 {
			t.Errorf("%q: faults %v", c.text, found.Faults)
		}
		if diff := cmp.Diff([][]string{c.certain, c.maybe}, [][]string{wheres(found.Certain), wheres(found.Maybe)}); diff != "" {
			t.Errorf("%q: certain and maybe (-want +got):\n%s", c.text, diff)
		}
	}
}

// A file of a later version is refused as such, whatever else is in it.
func TestLaterVersion(t *testing.T) {
	_, faults := Read("a.yaml", []byte("answers: 2\nnews: true\n"), dig(t), garden{})
	if got, want := faults.Error(), "a.yaml:1:10: answers: a file of answers of version 2, which this release can't read, expected version 1 (a newer release reads it)"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

var hidden = regexp.MustCompile(`(?m)^( *)#([a-z-])`)

// filled is a template with its examples in force.
func filled(template []byte) []byte { return hidden.ReplaceAll(template, []byte("$1$2")) }

// A template reads back as it stands, and with its examples filled in it
// answers the whole procedure.
func TestTemplate(t *testing.T) {
	template := Template(dig(t), garden{}, nil)
	f, faults := Read("t.yaml", template, dig(t), garden{})
	if f == nil || len(faults) > 0 {
		t.Fatalf("the template doesn't read back: %v\n%s", faults, template)
	}
	if found := f.Rehearse(nil); len(found.Certain) == 0 {
		t.Error("the bare template answers everything")
	}
	for row := range strings.SplitSeq(string(template), "\n") {
		if len([]rune(row)) > columns {
			t.Errorf("%d columns: %q", len(row), row)
		}
	}
	f, faults = Read("t.yaml", filled(template), dig(t), garden{})
	if len(faults) > 0 {
		t.Fatalf("filled in it has faults: %v\n%s", faults, filled(template))
	}
	lines, asker, err := run(t, f)
	if err != nil || lines[len(lines)-1] != "complete" {
		t.Errorf("it ends %q, %v\n%s", lines, err, filled(template))
	}
	if got, want := texts(asker), []string{"t.yaml:42:10: warning: water was not asked for and is not in the record"}; !slices.Equal(got, want) {
		t.Errorf("not asked for: %q, want %q", got, want)
	}
}

// A file that answers another procedure is told so in one line: nothing else in it
// would fit.
func TestAnswersOfAnotherProcedure(t *testing.T) {
	_, faults := Read("a.yaml", []byte("answers: 1\nprocedure: water-the-beds\nsteps: {hose: long, tap: open}\n"), dig(t), garden{})
	want := `a.yaml:2:12: procedure: these are answers to "water-the-beds", and dig is what begins here, expected answers to dig (for that one: start water-the-beds --answers a.yaml)`
	if got := faults.Error(); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Half of an example reads as a person writes it.
func TestHalvedExamples(t *testing.T) {
	for text, want := range map[string]string{"420 mm": "210 mm", "5 inH2O at 6000": "2.5 inH2O at 6000", "by eye": "by eye"} {
		if got := halved(text); got != want {
			t.Errorf("half of %q is %q, want %q", text, got, want)
		}
	}
}
