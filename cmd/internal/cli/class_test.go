package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"runtime/metrics"
	"strings"
	"syscall"
	"testing"
	"time"

	"dropwalk/advice/class"
	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/classroom"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
)

// finishedRecord is a whole test with three runs at three stations.
const finishedRecord = "../../../testdata/records/v1/intake-finished.jsonl"

// itsStations are those of that record, as the air passes them.
var itsStations = []string{"duct", "box-entry", "duct-2"}

// lazyDisk never waits for the disk: it makes records for tests, hundreds of them.
type lazyDisk struct{ record.Disk }

func (d lazyDisk) OpenFile(name string, flag int, perm fs.FileMode) (record.File, error) {
	f, err := d.Disk.OpenFile(name, flag, perm)
	if err != nil {
		return nil, err
	}
	return lazyFile{f}, nil
}

func (lazyDisk) SyncDir(string) error { return nil }

type lazyFile struct{ record.File }

func (lazyFile) Sync() error { return nil }

// taught is a class in a folder of its own, all of whose groups measured one simulated
// car.
type taught struct {
	t        testing.TB
	dir      string
	class    *classroom.Class
	template *record.Content
	car      *practice.Car
	at       []string // stations of the car that stand for those of the record
	clock    time.Time
	lines    int // of the record that are made; 0 for all
}

// newTaught makes the class, with groups called G01, G02 and so on.
func newTaught(t testing.TB, groups int) *taught {
	t.Helper()
	c := &taught{t: t, dir: filepath.Join(t.TempDir(), "autumn"), clock: time.Date(2026, 11, 25, 14, 0, 0, 0, time.UTC)}
	var err error
	if c.template, err = record.View(finishedRecord); err != nil {
		t.Fatal(err)
	}
	kept, _, err := session.Events(c.template.Lines)
	if err != nil {
		t.Fatal(err)
	}
	var people []classroom.Person
	for i := range groups {
		name := fmt.Sprintf("G%02d", i+1)
		for k := range 3 {
			people = append(people, classroom.Person{ID: fmt.Sprintf("%s-%d", name, k+1), Name: fmt.Sprintf("Person %d of %s", k+1, name), Group: name, Drives: true})
		}
	}
	c.class = &classroom.Class{ID: classroom.Code("taught"), Title: "Autumn class", Made: c.clock, Until: c.clock.Add(48 * time.Hour), Rotate: classroom.ByRun,
		Groups: classroom.Grouped(people), Procedures: []classroom.Pinned{{Name: c.template.Header.Procedure, SHA256: record.Hash([]byte(kept.Text))}}}
	material := classroom.Material{People: people, Procedures: map[string][]byte{c.template.Header.Procedure: []byte(kept.Text)}}
	if err := classroom.New(c.dir, c.class, material, record.Env{}); err != nil {
		t.Fatal(err)
	}
	for seed := uint64(40); len(c.at) != len(itsStations); seed++ {
		c.car = practice.Draw(seed, practice.Options{})
		c.at = nil
		s := c.car.Session(1, practice.Setup{}).Describe(practice.Full)
		for _, name := range s.Stations() {
			if s.TapAt(name) != sheet.TapNone && name != sheet.OpenAir {
				c.at = append(c.at, name)
			}
		}
		if len(c.at) > len(itsStations) {
			c.at = append(c.at[:2], c.at[len(c.at)-1])
		}
	}
	return c
}

// read is what a group writes down: three runs at each station of the record, by a
// visit of its own to the simulated car, with taps fitted anew. One of a group that
// leaks at the second station reads two fifths less there.
func (c *taught) read(seed uint64, leaks bool) map[string][]string {
	c.t.Helper()
	s := c.car.Session(seed, practice.Setup{Place: "rolling-road", Fine: practice.No, Zeros: practice.Yes})
	dice := rand.New(rand.NewPCG(seed, 5))
	out := map[string][]string{}
	for i, name := range itsStations {
		readings, err := s.Measure(sheet.OpenAir, c.at[i], s.Gauges[0].Name, 3)
		if err != nil {
			c.t.Fatal(err)
		}
		fitted := 1 + 0.01*dice.NormFloat64()
		if leaks && i == 1 {
			fitted *= 0.6
		}
		for _, r := range readings {
			out[name] = append(out[name], quantity.ShowIn(r.Value.SI*fitted, quantity.PressureDiff, "inH2O"))
		}
	}
	return out
}

// record makes the record of such a visit and gives its bytes.
func (c *taught) record(name string, seed uint64, leaks bool) []byte {
	c.t.Helper()
	dir := filepath.Join(c.dir, "..", "records")
	h := c.template.Header
	h.ID, h.Car, h.Created = "", "club-car", c.clock
	log, err := record.Create(dir, name, h, record.Env{FS: lazyDisk{}})
	if err != nil {
		c.t.Fatal(err)
	}
	values := c.read(seed, leaks)
	station := ""
	for i, line := range c.template.Lines {
		if c.lines > 0 && i == c.lines {
			break
		}
		var body map[string]any
		if err := json.Unmarshal(line.Body, &body); err != nil {
			c.t.Fatal(err)
		}
		parts, _ := body["parts"].([]any)
		if offer, ok := body["offer"].(map[string]any); ok {
			parts, _ = offer["parts"].([]any)
		}
		for _, p := range parts {
			part := p.(map[string]any)
			switch part["path"] {
			case "readings[].to":
				station = part["text"].(string)
			case "readings[].value":
				part["text"], values[station] = values[station][0], values[station][1:]
			}
		}
		kind := line.Kind
		if kind == engine.Skipped { // all is put back
			kind = engine.Answered
			body["kind"], body["text"], body["raw"] = kind, "done", "done"
		}
		if _, err := log.Append(kind, body); err != nil {
			c.t.Fatal(err)
		}
	}
	path := log.Path()
	if err := log.Close(); err != nil {
		c.t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		c.t.Fatal(err)
	}
	if err := os.Remove(path); err != nil {
		c.t.Fatal(err)
	}
	return data
}

// handIn hands a record in.
func (c *taught) handIn(group, name string, data []byte) classroom.Head {
	c.t.Helper()
	c.clock = c.clock.Add(time.Second)
	text, head, err := classroom.Pack(c.class.ID, group, name, data, "dropwalk test", c.clock)
	if err != nil {
		c.t.Fatal(err)
	}
	c.put(head.File(), text)
	return head
}

func (c *taught) put(name string, text []byte) {
	c.t.Helper()
	if err := os.WriteFile(filepath.Join(c.dir, classroom.HandInDir, name), text, 0o644); err != nil {
		c.t.Fatal(err)
	}
}

// summary is the object that the command prints.
func (c *taught) summary(t *testing.T) *class.Class {
	t.Helper()
	code, out, errs := tried(t, "", "class", "summary", c.dir, "--json")
	if code != exitDone {
		t.Fatalf("it ends with %d: %s", code, errs)
	}
	if faults := class.Check("summary", []byte(out)); len(faults) > 0 {
		t.Fatal(faults)
	}
	var doc class.Class
	if err := json.Unmarshal([]byte(out), &doc); err != nil {
		t.Fatal(err)
	}
	return &doc
}

// Six groups on one car, of which one has a leak at a tap: the summary names group and
// tap, and what it says of scatter goes into a comparison. Another group's damaged file
// hides nobody; names stand on the instructor's page alone.
func TestClass(t *testing.T) {
	c := newTaught(t, 6)
	for i, g := range c.class.Groups[:5] {
		c.handIn(g.Name, "first", c.record("r", uint64(i+1), i == 3))
	}
	text, head, err := classroom.Pack(c.class.ID, "G06", "first", c.record("r", 6, false), "dropwalk test", c.clock)
	if err != nil {
		t.Fatal(err)
	}
	c.put(head.File(), text[:len(text)*4/5])

	doc := c.summary(t)
	if len(doc.Stations) != 3 || len(doc.Groups) != 6 || doc.Stations[0].To != "duct" || doc.Stations[2].To != "duct-2" {
		t.Fatalf("got pairs %+v of groups %v", doc.Stations, doc.Groups)
	}
	if len(doc.Taps) != 1 || doc.Taps[0].Group != "G04" || doc.Taps[0].Stations[0] != "box-entry" {
		t.Errorf("got %+v, want G04 at box-entry", doc.Taps)
	}
	last := doc.HandIns[len(doc.HandIns)-1]
	if last.Group != "G06" || !last.Counts || last.Remarks[0].Code != classroom.Damaged {
		t.Errorf("the damaged file: got %+v", last)
	}

	page := showsOf(t, "class", "summary", c.dir)
	for _, want := range []string{"Group G04: look at its tap at box-entry", "runs agree to", "lines are proved, and no other can count", "G01 (1)"} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is missing in:\n%s", want, page)
		}
	}
	if strings.Contains(page, "Person") {
		t.Error("the page that everybody sees has names of people")
	}
	if page := showsOf(t, "class", "summary", c.dir, "--names"); !strings.Contains(page, "G04-2 Person 2 of G04") {
		t.Errorf("the instructor's page lacks names:\n%s", page)
	}

	file := filepath.Join(t.TempDir(), "class.json")
	if code, _, errs := tried(t, "", "class", "summary", c.dir, "--out", file); code != exitDone {
		t.Fatalf("it ends with %d: %s", code, errs)
	}
	renamed := func(path string) string { // the stations of the class are not those of this car
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		to := filepath.Join(t.TempDir(), path)
		if err := os.WriteFile(to, bytes.ReplaceAll(text, []byte(`"to":"duct-2"`), []byte(`"to":"tube"`)), 0o644); err != nil {
			t.Fatal(err)
		}
		return to
	}
	compared := compared(t, yellowBefore, yellowAfter, yellowAgain, "--class", renamed("tube.json"), "--dir", t.TempDir())
	if got, want := compared.Total.Refit, *doc.Stations[2].Between; got.From != "class" || got.SD-want > 0.01 || want-got.SD > 0.01 {
		t.Errorf("got %+v, want %g Pa from the class", got, want)
	}
	told := showsOf(t, "compare", yellowBefore, yellowAfter, yellowAgain, "--class", renamed("again.json"), "--dir", t.TempDir())
	if !strings.Contains(told, "how far the groups of a class differed") {
		t.Errorf("the page doesn't say whose scatter it is:\n%s", told)
	}
}

// showsOf is what a command prints, its lines joined.
func showsOf(t *testing.T, args ...string) string {
	t.Helper()
	code, out, errs := tried(t, "", args...)
	if code != exitDone {
		t.Fatalf("%v ends with %d: %s", args, code, errs)
	}
	return strings.Join(strings.Fields(out), " ")
}

// Commands from the roster to the summary, as an instructor and a group type them.
func TestClassFromTheCommandLine(t *testing.T) {
	dir := t.TempDir()
	roster, room, stick := filepath.Join(dir, "roster.csv"), filepath.Join(dir, "autumn"), filepath.Join(dir, "stick")
	if err := os.WriteFile(roster, []byte("name;group;drives\nAda;A;yes\nBen;A;no\nCleo;B;yes\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(stick, 0o755); err != nil {
		t.Fatal(err)
	}
	page := showsOf(t, "class", "new", room, "--roster", roster, "--sheet", yellowBefore, "--until", "17:00")
	if !strings.Contains(page, "3 people in 2 groups: A, B.") {
		t.Errorf("got %s", page)
	}
	for _, name := range []string{"A.html", "B.html"} {
		paper, err := os.ReadFile(filepath.Join(room, classroom.WorksheetDir, name))
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(paper, []byte("Ada")) || name == "A.html" && !bytes.Contains(paper, []byte("A1 drives, A2 reads, and writes once the car stands")) {
			t.Errorf("%s has names, or lacks who drives", name)
		}
		if want := "dropwalk start " + filepath.Join(room, "procedures", usualProcedure+".yaml") + " --sheet " + filepath.Join(room, "car.yaml") + " --from-paper"; !bytes.Contains(paper, []byte(want)) {
			t.Errorf("%s lacks how it is typed in: %q", name, want)
		}
	}
	held, err := classroom.Open(room)
	if err != nil {
		t.Fatal(err)
	}
	code, out, errs := tried(t, "", "class", "hand-in", finishedRecord, "--group", "a", "--to", room)
	if code != exitDone || !strings.Contains(errs, "group A") {
		t.Fatalf("it ends with %d: %s%s", code, out, errs)
	}
	first := strings.TrimSpace(out)
	if told := showsOf(t, "class", "hand-in", finishedRecord, "--group", "A", "--to", room, "--json"); !strings.HasPrefix(told, `{"class_hand_in":1,"class":"`+held.ID+`","group":"A"`) || !strings.Contains(told, `"before":true,"remarks":[{"code":"other-text"`) {
		t.Errorf("got %s", told)
	}
	code, out, _ = tried(t, "", "class", "hand-in", finishedRecord, "--group", "B", "--class", strings.ToLower(held.ID), "--to", stick)
	if code != exitDone {
		t.Fatalf("to the stick: it ends with %d", code)
	}
	page = showsOf(t, "class", "collect", room, "--from", stick, "--code", first, "--code", strings.TrimSpace(out), "--code", "222222", "--code", "22222O")
	for _, want := range []string{"2 files came in", "1 file copied", first + ": came in from group A", "another text than that of the class", "handed in by group A first", "B: missing", "222222: nothing with this code", "is no code"} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is missing in:\n%s", want, page)
		}
	}
	if again := showsOf(t, "class", "collect", room, "--from", stick); strings.Contains(again, "copied") {
		t.Errorf("a second time: %s", again)
	}
	records := filepath.Join(dir, "records")
	if page := showsOf(t, "class", "collect", room, "--records", records); !strings.Contains(page, "1 file written") {
		t.Errorf("got %s", page)
	}
	if page := showsOf(t, "report", "a-", "--dir", records); !strings.Contains(page, "What was measured") {
		t.Errorf("a record that was collected makes no report: %s", page)
	}
}

// The paper of a class has a place for the instructor's initials at each hold, says that
// the recorder stays outside, and offers no public road, nor what follows from one.
func TestClassPaperKeepsPeopleSafe(t *testing.T) {
	dir := t.TempDir()
	roster, room := filepath.Join(dir, "roster.csv"), filepath.Join(dir, "room")
	if err := os.WriteFile(roster, []byte("name,group\nAda,A\nBen,A\nCleo,A\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	args := []string{"class", "new", room, "--roster", roster}
	for _, name := range shipped() {
		args = append(args, "--procedure", name)
	}
	showsOf(t, args...)
	for _, name := range shipped() {
		src, err := os.ReadFile(filepath.Join(room, classroom.WorksheetDir, "A-"+name+".html"))
		if err != nil {
			t.Fatal(err)
		}
		paper := string(src)
		holds := strings.Count(paper, `<strong class="hold">`)
		signs := strings.Count(paper, "; instructor <span") + strings.Count(paper, " instructor</th>")
		if holds == 0 || signs != holds {
			t.Errorf("%s: %d holds and %d places for the instructor's initials", name, holds, signs)
		}
		for _, want := range []string{"The recorder stays outside the car", "never a public road", "licence, insurance and age", "A3 writes, outside the car"} {
			if !strings.Contains(paper, want) {
				t.Errorf("%s: %q is missing", name, want)
			}
		}
	}
	road := regexp.MustCompile(`aria-label="box to tick"></span>(&nbsp;|\x{a0})road`)
	speed := "What road speed does the car do per 1000 rpm"
	paper, err := os.ReadFile(filepath.Join(room, classroom.WorksheetDir, "A-intake.html"))
	if err != nil {
		t.Fatal(err)
	}
	if road.Match(paper) || bytes.Contains(paper, []byte(speed)) {
		t.Error("the paper of a class offers a public road")
	}
	alone := filepath.Join(dir, "alone.html")
	showsOf(t, "procedures", "print", "intake", "--out", alone)
	if paper, err = os.ReadFile(alone); err != nil || !road.Match(paper) || !bytes.Contains(paper, []byte(speed)) || bytes.Contains(paper, []byte("instructor")) {
		t.Errorf("the paper of a single tester has no road, or an instructor (%v)", err)
	}
	help := showsOf(t, "help", "class-room")
	for _, want := range []string{"The recorder stays outside", "The instructor signs each hold", "never on a public road", "licence, insurance and age"} {
		if !strings.Contains(help, want) {
			t.Errorf("the help on a class lacks %q", want)
		}
	}
}

// What no reading can be had of counts neither for collect nor for the summary; a test
// that was left with a fitting in the car counts for both, and both say how it stands.
func TestClassHasOneRuleForWhatCounts(t *testing.T) {
	c := newTaught(t, 4)
	for i, g := range c.class.Groups[:2] {
		c.handIn(g.Name, "first", c.record("r", uint64(i+1), false))
	}
	text, head, err := classroom.Pack(c.class.ID, "G03", "first", c.record("r", 3, false), "dropwalk test", c.clock)
	if err != nil {
		t.Fatal(err)
	}
	c.put(head.File(), text[:9000]) // the procedure alone is longer
	c.lines = 100                   // behind the last reading, ahead of what is put back
	c.handIn("G04", "first", c.record("r", 4, false))

	var collected struct {
		Items   []classroom.Item
		Missing []string
	}
	_, out, errs := tried(t, "", "class", "collect", c.dir, "--json")
	if err := json.Unmarshal([]byte(out), &collected); err != nil {
		t.Fatal(err, errs)
	}
	doc := c.summary(t)
	if len(collected.Items) != 4 || len(doc.HandIns) != 4 {
		t.Fatalf("got %d and %d files, want 4", len(collected.Items), len(doc.HandIns))
	}
	for k, i := range collected.Items {
		h := doc.HandIns[k]
		if i.Counts != h.Counts || len(i.Remarks) != len(h.Remarks) {
			t.Errorf("%s: collect says %v %v, the summary %v %v", i.File, i.Counts, i.Remarks, h.Counts, h.Remarks)
		}
	}
	cut, left := collected.Items[2], collected.Items[3]
	if cut.Counts || !cut.Has(classroom.NoReadings) || len(collected.Missing) != 1 || collected.Missing[0] != "G03" {
		t.Errorf("the file that was cut: got %+v, missing %v", cut, collected.Missing)
	}
	if !left.Counts || !left.Has(classroom.Unfinished) {
		t.Errorf("the test that was left: got %+v", left)
	}
	for _, word := range []string{"collect", "summary"} {
		page := showsOf(t, "class", word, c.dir)
		if want := "the test is not finished; still to be done to the car: Take the fitting out of"; !strings.Contains(page, want) {
			t.Errorf("%s: %q is missing in:\n%s", word, want, page)
		}
	}
	page := showsOf(t, "class", "collect", c.dir)
	if !strings.Contains(page, "4 files came in, 3 of them count.") || !strings.Contains(page, "G03: missing") || strings.Contains(page, "proved and count") {
		t.Errorf("got %s", page)
	}
}

// Where a class tells nought for a pair, the comparison says so and what it takes
// instead; where a tap of the pair was flagged, it warns.
func TestCompareSaysWhatTheClassTold(t *testing.T) {
	for text, want := range map[string]string{
		`{"class":1,"stations":[{"from":"open-air","to":"tube","groups":5,"s_L_pa":0}]}`:                                                                          "the class told nought",
		`{"class":1,"stations":[{"from":"open-air","to":"tube","groups":5,"s_L_pa":40}],"taps":[{"group":"D","stations":["tube"],"off_pa":9,"level":"outlier"}]}`: "group D of the class had a bad tap at tube",
	} {
		file := filepath.Join(t.TempDir(), "class.json")
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		page := showsOf(t, "compare", yellowBefore, yellowAfter, yellowAgain, "--class", file, "--dir", t.TempDir())
		if !strings.Contains(page, want) {
			t.Errorf("%q is missing in:\n%s", want, page)
		}
	}
}

// A code from paper is told of the file that counts, whatever copies of it came in.
func TestCodeOfAFileWithACopy(t *testing.T) {
	c := newTaught(t, 2)
	head := c.handIn("G01", "first", c.record("r", 1, false))
	src, err := os.ReadFile(filepath.Join(c.dir, classroom.HandInDir, head.File()))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"A-copy.handin", "z-copy.handin"} {
		c.put(name, src)
	}
	page := showsOf(t, "class", "collect", c.dir, "--code", head.Code)
	if want := head.Code + ": came in from group G01: first."; !strings.Contains(page, want) {
		t.Errorf("%q is missing in:\n%s", want, page)
	}
}

// The page that names people says so first, in its title and in a frame; the one that is
// projected does not.
func TestPageForTheInstructorIsToldApart(t *testing.T) {
	c := newTaught(t, 3)
	for i, g := range c.class.Groups {
		c.handIn(g.Name, "first", c.record("r", uint64(i+1), false))
	}
	made := func(more ...string) string {
		file := filepath.Join(t.TempDir(), "x.html")
		showsOf(t, append([]string{"class", "summary", c.dir, "--out", file}, more...)...)
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	mine, all := made("--names"), made()
	for _, want := range []string{"<title>For the instructor only: ", "<blockquote>\n<p><strong>For the instructor only.</strong>", "main{border:6px double"} {
		if !strings.Contains(mine, want) || strings.Contains(all, want) {
			t.Errorf("%q: on the page with names %v, on that for everybody %v; want true and false", want, strings.Contains(mine, want), strings.Contains(all, want))
		}
	}
	if at := strings.Index(mine, "<blockquote>"); at > strings.Index(mine, "<h2") {
		t.Error("the word to the instructor doesn't stand first")
	}
}

// A group that is called like somebody in the roster is told of when the class is made.
func TestGroupsCalledLikePeople(t *testing.T) {
	dir := t.TempDir()
	roster := filepath.Join(dir, "roster.csv")
	if err := os.WriteFile(roster, []byte("name,group\nAda Beam,Beam\nCleo Dale,north\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	_, out, errs := tried(t, "", "class", "new", filepath.Join(dir, "room"), "--roster", roster)
	if errs = strings.Join(strings.Fields(errs), " "); !strings.Contains(errs, `The group Beam is called like "Ada Beam"`) || strings.Contains(errs, "group north") {
		t.Errorf("got %s", errs)
	}
	if !strings.Contains(out, "2 people in 2 groups") {
		t.Errorf("got %s", out)
	}
	if err := os.WriteFile(roster, []byte("name,group\nAda Beam,A\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if out := showsOf(t, "class", "new", filepath.Join(dir, "one"), "--roster", roster); !strings.Contains(out, "1 person in 1 group: A.") {
		t.Errorf("got %s", out)
	}
}

// What collect will say of a record is said when it is handed in, where the folder of
// the class is at hand.
func TestHandInWarnsOfTheProcedure(t *testing.T) {
	dir := t.TempDir()
	roster, room := filepath.Join(dir, "roster.csv"), filepath.Join(dir, "room")
	if err := os.WriteFile(roster, []byte("name,group\nAda,A\nBen,B\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	showsOf(t, "class", "new", room, "--roster", roster, "--procedure", "component-walk")
	code, out, errs := tried(t, "", "class", "hand-in", finishedRecord, "--group", "A", "--to", room)
	if want := "made with the procedure intake, which the class doesn't use. It is handed in and does not count."; code != exitDone || out == "" || !strings.Contains(strings.Join(strings.Fields(errs), " "), want) {
		t.Errorf("it ends with %d and says %s, want among it %q", code, errs, want)
	}
	if page := showsOf(t, "class", "collect", room); !strings.Contains(page, "0 of them count") {
		t.Errorf("got %s", page)
	}
}

// What can't be done with a class is refused with a reason and a way on.
func TestClassRefuses(t *testing.T) {
	dir := t.TempDir()
	roster := filepath.Join(dir, "roster.csv")
	if err := os.WriteFile(roster, []byte("name,group\nAda,A\nBen,B\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	room := filepath.Join(dir, "room")
	showsOf(t, "class", "new", room, "--roster", roster)
	for _, row := range []struct {
		args []string
		want []string
	}{
		{[]string{"class", "new", room, "--roster", roster}, []string{"holds a class already", "never overwritten"}},
		{[]string{"class", "new", filepath.Join(dir, "x")}, []string{"--roster names no file"}},
		{[]string{"class", "new", filepath.Join(dir, "x"), "--roster", roster, "--rotate", "week"}, []string{"can't change by \"week\"", "run or round"}},
		{[]string{"class", "new", filepath.Join(dir, "x"), "--roster", roster, "--until", "soon"}, []string{`"soon" is no time`}},
		{[]string{"class", "new", filepath.Join(dir, "x"), "--roster", roster, "--procedure", "intak"}, []string{`no procedure "intak"`, `"intake"`}},
		{[]string{"class", "hand-in", finishedRecord, "--to", room}, []string{"--group names no group", "one of A, B"}},
		{[]string{"class", "hand-in", finishedRecord, "--group", "Z", "--to", room}, []string{`no group "Z"`, "A, B"}},
		{[]string{"class", "hand-in", finishedRecord, "--group", "A", "--to", dir}, []string{"is not the folder of a class", "--class CODE"}},
		{[]string{"class", "hand-in", finishedRecord, "--group", "A", "--class", "K7M4Q0", "--to", dir}, []string{"never in one"}},
		{[]string{"class", "hand-in", roster, "--group", "A", "--to", room}, []string{"no record"}},
		{[]string{"class", "collect", dir}, []string{"holds no class", "class new"}},
		{[]string{"class", "summary", room, "--out", "x.pdf"}, []string{`".pdf"`}},
		{[]string{"class", "summary", room, "--about", "nobody"}, []string{"no group tested a car"}},
		{[]string{"compare", yellowBefore, yellowAfter, "--class", roster}, []string{"roster.csv:1:1"}},
		{[]string{"compare", yellowBefore, yellowAfter, "--class", roster, "--refit", "10 Pa"}, []string{"--refit and --class"}},
	} {
		code, out, errs := tried(t, "", row.args...)
		if code != exitInput || out != "" {
			t.Errorf("%v ends with %d and prints %q, want %d and nothing", row.args, code, out, exitInput)
		}
		for _, want := range row.want {
			if !strings.Contains(strings.Join(strings.Fields(errs), " "), want) {
				t.Errorf("%v: %q is missing in %s", row.args, want, errs)
			}
		}
	}
	if page := showsOf(t, "class", "summary", room); !strings.Contains(page, "nothing can be compared yet") {
		t.Errorf("a class that handed nothing in: %s", page)
	}
}

// The codes in the examples of the help are codes.
func TestCodesOfExamples(t *testing.T) {
	found := 0
	for _, cmd := range commands((&app{}).root()) {
		for _, m := range regexp.MustCompile(`--(?:class|code) ([A-Z0-9]{6})\b`).FindAllStringSubmatch(cmd.Example, -1) {
			found++
			if _, err := classroom.ReadCode(m[1]); err != nil {
				t.Errorf("%s: %v", called(cmd), err)
			}
		}
	}
	if found < 3 {
		t.Errorf("%d codes were found, so this test shows nothing", found)
	}
}

// A stick that can only be read, and one that is full, are said to be so.
func TestClassOnABadStick(t *testing.T) {
	err := classFault(&fs.PathError{Op: "open", Path: "/media/stick/x", Err: syscall.EROFS})
	if hint := hintOf(err); !strings.Contains(hint, "can only be read") || exitCode(err) != exitFault {
		t.Errorf("a stick for reading: exit code %d, hint %q", exitCode(err), hint)
	}
	full := classFault(fmt.Errorf("%w: x", record.ErrFull))
	if hint := usualHint(full); !strings.Contains(hint, "make room") || exitCode(full) != exitFault {
		t.Errorf("a full stick: exit code %d, hint %q", exitCode(full), hint)
	}
}

// fill hands in so many records of each group.
func (c *taught) fill(each int) {
	c.t.Helper()
	var pool [][]byte
	for i := range 24 { // visits that differ; the records that are made of them have ids of their own
		pool = append(pool, c.record("r", uint64(i+1), false))
	}
	for i, g := range c.class.Groups {
		for k := range each {
			data := pool[(i*each+k)%len(pool)]
			if i*each+k >= len(pool) {
				data = c.copied(data, i*each+k)
			}
			c.handIn(g.Name, fmt.Sprintf("visit-%d", k+1), data)
		}
	}
}

// copied is a record with the lines of another and an id of its own.
func (c *taught) copied(data []byte, n int) []byte {
	c.t.Helper()
	content, err := record.Read("r", data)
	if err != nil {
		c.t.Fatal(err)
	}
	h := content.Header
	h.ID = fmt.Sprintf("copy-%d", n)
	log, err := record.Create(filepath.Join(c.dir, "..", "records"), "copy", h, record.Env{FS: lazyDisk{}})
	if err != nil {
		c.t.Fatal(err)
	}
	for _, line := range content.Lines {
		if _, err := log.Append(line.Kind, line.Body); err != nil {
			c.t.Fatal(err)
		}
	}
	path := log.Path()
	if err := log.Close(); err != nil {
		c.t.Fatal(err)
	}
	out, err := os.ReadFile(path)
	if err != nil {
		c.t.Fatal(err)
	}
	os.Remove(path)
	return out
}

// A class of thirty groups with eight records each is collected and summarised.
// CLASS_GROUPS sets another number of groups; the memory in use while it runs is told.
func BenchmarkClass(b *testing.B) {
	groups := 30
	if n := os.Getenv("CLASS_GROUPS"); n != "" {
		fmt.Sscan(n, &groups)
	}
	c := newTaught(b, groups)
	c.fill(8)
	for b.Loop() {
		stop, most := make(chan struct{}), make(chan uint64)
		runtime.GC()
		go watchHeap(stop, most)
		for _, args := range [][]string{{"class", "collect", c.dir}, {"class", "summary", c.dir, "--json"}} {
			if code, out, errs := tried(b, "", args...); code != exitDone || !strings.Contains(out, "G01") {
				b.Fatalf("%v ends with %d: %s", args, code, errs)
			}
		}
		close(stop)
		b.ReportMetric(float64(<-most)/1e6, "MB-at-peak")
	}
}

// watchHeap tells how much memory was in use at the most.
func watchHeap(stop chan struct{}, most chan uint64) {
	top := uint64(0)
	sample := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	for {
		select {
		case <-stop:
			most <- top
			return
		case <-time.After(5 * time.Millisecond):
			metrics.Read(sample)
			top = max(top, sample[0].Value.Uint64())
		}
	}
}

// leastType is the height of the smallest type on the page for a class, in pixels of a
// screen 1280 wide: at 4 m from a picture 1.5 m wide 20 pixels of type have capitals of
// 14 minutes of arc, above the least of 10 that is still read (ISO 9241-303, from memory).
const leastType = 20

// The summary reads in a browser on a phone, a tablet and a desk, and on a screen of 1280
// by 720 pixels in type that a class sees from 4 m; what matters most is on the first
// screen.
func TestClassInABrowser(t *testing.T) {
	b := startBrowser(t)
	b.tab()
	c := newTaught(t, 7)
	for i, g := range c.class.Groups[:6] {
		c.handIn(g.Name, "first", c.record("r", uint64(i+1), i == 3))
	}
	c.put("holiday.txt", []byte("see you on Monday\n"))
	dir := t.TempDir()
	for name, more := range map[string][]string{"class": nil, "class-names": {"--names"}} {
		file := filepath.Join(dir, name+".html")
		if code, _, errs := tried(t, "", append([]string{"class", "summary", c.dir, "--out", file}, more...)...); code != exitDone {
			t.Fatal(errs)
		}
		b.look(file)
		if name != "class" {
			continue
		}
		b.open(file, 1280, "light")
		smallest := b.number(`Math.min(...[...document.querySelectorAll("p,li,h1,h2")].map(e => parseFloat(getComputedStyle(e).fontSize)))`)
		drawn := b.number(`Math.min(...[...document.querySelectorAll("svg text")].map(e => e.getBoundingClientRect().height))`)
		if smallest < leastType || drawn < leastType {
			t.Errorf("the smallest type is %g pixels, in the picture %g, want %d or more", smallest, drawn, leastType)
		}
		if y := b.number(`document.querySelector("main strong").getBoundingClientRect().bottom`); y > 400 {
			t.Errorf("the main sentence ends %g pixels down, want it on the first screen", y)
		}
		if *looks != "" {
			b.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": 1280, "height": 720, "deviceScaleFactor": 1, "mobile": false})
			for i := range 4 {
				b.number(fmt.Sprintf("window.scrollTo(0, %d), 0", i*680))
				b.save(fmt.Sprintf("screen-%d.png", i), field[string](t, b.call("Page.captureScreenshot", nil), "data"))
			}
		}
	}
}
