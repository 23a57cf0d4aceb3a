package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// actor answers as a tester does and, at some steps, does something else first.
type actor struct {
	tester
	moves map[string][]engine.Answer // by step, taken in turn
	leave string                     // the slot at which the person leaves
}

func (a *actor) Ask(_ context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	if refused != nil || p.Slot == a.leave {
		return engine.Answer{}, session.ErrPause
	}
	if list := a.moves[p.Step]; len(list) > 0 {
		a.moves[p.Step] = list[1:]
		return list[0], nil
	}
	return engine.Answer{Text: a.answer(p)}, nil
}

func (a *actor) Say(session.Message) {}

// play makes a record of a test and returns its folder and name.
func play(t *testing.T, a *actor) (dir, name string) {
	t.Helper()
	p, err := findProcedure(usualProcedure, quantity.AsTyped)
	if err != nil {
		t.Fatal(err)
	}
	dir = t.TempDir()
	store := &newRecord{dir: dir, procedure: p, kept: session.Procedure{Name: p.Name, Units: quantity.AsTyped.String(), Text: string(p.Source)},
		now: func() time.Time { return time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC) }}
	defer store.close()
	s := &session.Session{Run: engine.NewRun(p, &advice.Matter{}), Store: store, Asker: a}
	if err := s.Begin(nil); err != nil {
		t.Fatal(err)
	}
	if err := s.Drive(t.Context()); err != nil && a.leave == "" {
		t.Fatalf("the test came to a halt: %v", err)
	}
	return dir, store.logName()
}

// many are the names that people type: each begins with a letter that stands in
// no other word of a report.
func many() *actor {
	note := func(text string) engine.Answer { return engine.Answer{Move: engine.Note, Text: text} }
	skip := func(why string) engine.Answer { return engine.Answer{Move: engine.Skip, Why: why} }
	return &actor{
		tester: tester{
			"car-name": "Žcar", "displacement": "1998 cc", "fuel": "petrol", "induction": "natural",
			"pieces":         "Žmouth (mouth), Žearly (duct), box-entry, Žfilter (filter), box-exit, Žtube (duct)",
			"measure-pieces": "later", "place": "track", "value": "12.5 inH2O at 6000", "lamps": "Žlamp",
		},
		moves: map[string][]engine.Answer{
			"hose":   {note("Žnote on Žtube")},
			"owed":   {skip("Žreason")},
			"joints": {skip("Žwhy")},
			// The name of a piece is corrected after a hole was made there.
			"gauge": {{Move: engine.Back, Text: "pieces"},
				{Text: "25 inH2O by 0.5 inH2O"}},
			"no-tap": {{Text: "none"}, {Text: "none"}},
		},
	}
}

// Nothing that somebody typed as a name or as free text is in any form of the
// unnamed report, and every form says what remains.
func TestNoNamesNamesNobody(t *testing.T) {
	a := many()
	a.moves["pieces"] = []engine.Answer{
		{Text: "Žmouth (mouth), Žearly (duct), box-entry, Žfilter (filter), box-exit, Žtube (duct)"},
		{Text: "Žmouth (mouth), Žlate (duct), box-entry, Žfilter (filter), box-exit, Žtube (duct)"},
	}
	dir, name := play(t, a)
	_, with, _ := tried(t, "", "report", name, "--dir", dir)
	for _, want := range []string{"Žcar", "Žmouth", "Žlate", "Žtube", "Žlamp", "Žnote", "Žreason", "Žwhy"} {
		if !strings.Contains(with, want) {
			t.Errorf("the named report lacks %q: this test shows nothing:\n%s", want, with)
		}
	}
	for _, args := range [][]string{{}, {"--for", "customer"}, {"--json"}, {"--units", "imperial"}} {
		code, out, errs := tried(t, "", append([]string{"report", name, "--dir", dir, "--no-names"}, args...)...)
		if code != exitDone || errs != "" {
			t.Errorf("%v ends with %d: %s", args, code, errs)
		}
		if i := strings.Index(out, "Ž"); i >= 0 {
			t.Errorf("%v still says %q", args, out[i:min(len(out), i+40)])
		}
		if len(args) == 0 && !strings.Contains(out, "What remains: the date and times, the place, the weather") {
			t.Errorf("nothing says what remains:\n%s", out)
		}
	}
}

// Taking the names out changes no figure.
func TestNoNamesKeepsTheFigures(t *testing.T) {
	for _, path := range append(reportSheets(t), filepath.Join("..", "..", "..", "testdata", "sheets", "yellow-estate.yaml")) {
		with, without := jsonReport(t, path), jsonReport(t, path, "--no-names")
		if diff := cmp.Diff(figures(with.Assessment), figures(without.Assessment)); diff != "" {
			t.Errorf("%s: figures differ (-with +without names):\n%s", path, diff)
		}
		if without.Sheet.Car.Name != "car" || !with.Names || without.Names {
			t.Errorf("%s: car %q, names %v and %v", path, without.Sheet.Car.Name, with.Names, without.Names)
		}
	}
}

// made is a report in its JSON form, read back.
type made struct {
	Version    int             `json:"report"`
	Names      bool            `json:"names"`
	RawSheet   json.RawMessage `json:"sheet"`
	RawJudged  json.RawMessage `json:"assessment"`
	Course     *report.Course  `json:"course"`
	Sheet      *sheet.Sheet    `json:"-"`
	Assessment *assessment.Assessment
}

func jsonReport(t *testing.T, args ...string) made {
	t.Helper()
	code, out, errs := tried(t, "", append([]string{"report", "--json"}, args...)...)
	if code != exitDone || strings.Count(out, "\n") != 1 {
		t.Fatalf("report --json %v ends with %d and prints %d lines: %s", args, code, strings.Count(out, "\n"), errs)
	}
	return readReport(t, []byte(out))
}

// readReport reads the JSON form: its sheet is a test sheet, its assessment one
// by the schema.
func readReport(t *testing.T, src []byte) made {
	t.Helper()
	var m made
	if err := json.Unmarshal(src, &m); err != nil || m.Version != 1 {
		t.Fatalf("report version %d, %v", m.Version, err)
	}
	var errs any
	if m.Sheet, errs = sheet.Read("sheet", m.RawSheet); m.Sheet == nil {
		t.Fatal(errs)
	}
	if m.Assessment, errs = assessment.Parse("assessment", m.RawJudged); m.Assessment == nil {
		t.Fatal(errs)
	}
	return m
}

// figures are the numbers of an assessment in their order.
func figures(a *assessment.Assessment) []any {
	list := []any{a.Verdict, a.TotalLoss, a.TotalGauge, a.Reference, a.Gain, a.GainAll}
	for _, c := range a.Components {
		list = append(list, c.Kind, c.Loss, c.Handbook, c.Recoverable, c.ChanceFirst, c.RestsOn)
	}
	return list
}

// The JSON form of a record's report holds a sheet that is judged as the report
// says, and how the test went.
func TestReportJSON(t *testing.T) {
	dir, _, _ := kept(t, "intake-finished")
	m := jsonReport(t, "intake-finished", "--dir", dir)
	if diff := cmp.Diff(m.Assessment, advice.Assess(m.Sheet, advice.Options{})); diff != "" {
		t.Errorf("the sheet inside is judged otherwise (-report +sheet):\n%s", diff)
	}
	c := m.Course
	if c == nil || c.Ended != "complete with 4 open" || c.Lamps != "none" || len(c.Owed) != 3 || len(c.Skipped) != 1 {
		t.Fatalf("course = %+v", c)
	}
	want := report.Duty{Text: "Plug the hole at box-entry with a screw-in plug or an oil-resistant sealant, and let it cure.", Level: "notice", Why: "no plug of that size"}
	if diff := cmp.Diff(want, c.Owed[0]); diff != "" {
		t.Errorf("the first duty differs (-want +got):\n%s", diff)
	}
	if so := "Air that enters unmeasured can upset the mixture."; c.Skipped[0].So != so || c.Skipped[0].Why != "no light left" {
		t.Errorf("skipped: %+v", c.Skipped[0])
	}
	if n := len(c.Unknown); n < 3 || !c.Unknown[n-1].Check {
		t.Errorf("not known: %+v", c.Unknown)
	}
	if m := jsonReport(t, filepath.Join("..", "..", "..", "testdata", "sheets", "yellow-estate.yaml")); m.Course != nil {
		t.Errorf("a sheet has no course, got %+v", m.Course)
	}
}

// A test that is not over, or that was stopped, says what is owed to the car.
func TestReportSaysWhatIsOwed(t *testing.T) {
	dir, name := play(t, &actor{tester: firstTimer, leave: "walk.1/connect"})
	_, page, errs := tried(t, "", "report", name, "--dir", dir, "--for", "customer")
	if top, _, _ := strings.Cut(page, "\n## "); !strings.Contains(top, "WARNING: the test is not finished, and the car is not as it was.") ||
		!strings.Contains(top, "- Warning: Take every hose out of the cabin and the engine bay. It is not done yet.") {
		t.Errorf("the top of the page is\n%s%s", top, errs)
	}
	stop := &actor{tester: firstTimer, moves: map[string][]engine.Answer{"connect": {{Move: engine.Stop, Why: "smoke"}}, "owed": {{Move: engine.Skip, Why: "too hot"}}}}
	dir, name = play(t, stop)
	_, page, _ = tried(t, "", "report", name, "--dir", dir)
	if top, _, _ := strings.Cut(page, "\n## "); !strings.Contains(top, "It was skipped: too hot.") || strings.Contains(top, "not finished") {
		t.Errorf("the top of the report is\n%s", top)
	}
	if !strings.Contains(page, "The test is over: stopped with 1 open.") {
		t.Errorf("how it ended isn't told:\n%s", page)
	}
}

func TestReportByEnding(t *testing.T) {
	dir, _, _ := kept(t, "intake-finished")
	out := t.TempDir()
	run := func(args ...string) (int, string, string) {
		return tried(t, "", append([]string{"report", "intake-finished", "--dir", dir}, args...)...)
	}
	read := func(name string) []byte {
		data, err := os.ReadFile(filepath.Join(out, name))
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	for _, name := range []string{"a.md", "a.TXT", "a.json"} {
		if code, shown, errs := run("--out", filepath.Join(out, name)); code != exitDone || shown != "" || !strings.HasPrefix(errs, "written to ") {
			t.Errorf("%s: ends with %d, shows %q, says %q", name, code, shown, errs)
		}
	}
	_, shown, _ := run()
	if string(read("a.md")) != shown {
		t.Error("the Markdown file differs from what is shown")
	}
	if text := read("a.TXT"); string(text) != terminal.Plain(shown, 78) || bytes.ContainsAny(text, "*|") {
		t.Errorf("the plain text is not plain:\n%s", text)
	}
	_, asJSON, _ := run("--json")
	if string(read("a.json")) != asJSON {
		t.Error("the JSON file differs from what is shown")
	}
	refused := map[string]string{
		"--out x.pdf":       `no report can be written with the ending ".pdf"` + "\nhint: one of .md (Markdown), .txt (plain text), .html (a page for a browser and for paper, with pictures), ",
		"--out x":           `no report can be written with the ending ""` + "\nhint: one of .md",
		"--json --out x.md": "contradict each other\nhint: an ending of .json, or no --json\n",
		"--for custmer":     `there is no report for "custmer"` + "\nhint: did you mean \"customer\"?\n",
		"--for all":         `there is no report for "all"` + "\nhint: one of tester, customer\n",
		"--for customer --out " + filepath.Join(out, "b.json"): "the JSON form has everything\nhint: leave out --for, or --json\n",
	}
	for args, want := range refused {
		code, shown, errs := run(strings.Fields(args)...)
		if code != exitInput || shown != "" || !strings.Contains(errs, want) {
			t.Errorf("%s ends with %d, shows %q, says %q; want %d and %q", args, code, shown, errs, exitInput, want)
		}
	}
	if list, _ := os.ReadDir(out); len(list) != 3 {
		t.Errorf("the folder holds %v, want three reports", list)
	}
}

// onePage is what fits a sheet of paper, in lines of 78 columns.
const onePage = 66

// A customer's report is one page, on paper and without looks; every screen of
// it keeps to its width.
func TestCustomerPageIsOnePage(t *testing.T) {
	for _, name := range reportSheets(t) {
		code, page, errs := tried(t, "", "report", name, "--for", "customer")
		if code != exitDone {
			t.Fatalf("%s: %s", name, errs)
		}
		if n := strings.Count(terminal.Plain(page, reportWidth), "\n"); n > onePage {
			t.Errorf("%s: the page has %d lines, want at most %d:\n%s", name, n, onePage, terminal.Plain(page, reportWidth))
		}
	}
}

// Every report keeps to the width of its screen, says nothing twice in a row,
// and shows no figure that isn't one.
func TestReportsReadWellAtEveryWidth(t *testing.T) {
	odd := regexp.MustCompile(`NaN|Inf\b|%!|<nil>|  \.|\.\.|,,|\(\)| ,|\{\{|unknown kind`)
	for _, name := range reportSheets(t) {
		for _, args := range [][]string{{}, {"--for", "customer"}, {"--no-names"}} {
			for _, width := range []int{39, 78, 118} {
				page := atWidth(t, width, append([]string{"report", name}, args...)...)
				if m := odd.FindString(page); m != "" {
					t.Errorf("%s %v holds %q:\n%s", name, args, m, page)
				}
				for line := range strings.Lines(terminal.Plain(page, width)) {
					if w := terminal.Width(strings.TrimSuffix(line, "\n")); w > width {
						t.Errorf("%s %v: at %d columns a line has %d: %q", name, args, width, w, line)
					}
				}
			}
		}
	}
}

// atWidth is what a command prints where lines have so many columns.
func atWidth(t *testing.T, width int, args ...string) string {
	t.Helper()
	var o, e bytes.Buffer
	a := &app{Streams: terminal.Streams{In: strings.NewReader(""), Out: &o, Err: &e, Width: width}, env: func(string) string { return "" }, now: time.Now}
	if code := a.run(args); code != exitDone {
		t.Fatalf("%v ends with %d: %s", args, code, e.String())
	}
	return o.String()
}

// reportSheets are sheets of invented cars: one to leave alone, one that asks
// for a reading, one to work on, one that contradicts itself, a boosted one, a
// diesel, one without readings, and one without sizes.
func reportSheets(t *testing.T) []string {
	t.Helper()
	list, err := filepath.Glob(filepath.Join("testdata", "reports", "*.yaml"))
	if err != nil || len(list) < 8 {
		t.Fatalf("only %d sheets: %v", len(list), err)
	}
	return list
}

// The sheets come to every verdict, so that each kind of report is read.
func TestReportSheetsCoverEveryVerdict(t *testing.T) {
	met := map[string]bool{}
	for _, name := range reportSheets(t) {
		met[jsonReport(t, name).Assessment.Verdict] = true
	}
	for _, verdict := range assessment.Verdicts() {
		if !met[verdict] {
			t.Errorf("no sheet comes to %q", verdict)
		}
	}
}
