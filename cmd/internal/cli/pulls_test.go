package cli

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"dropwalk/advice/pulls"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/terminal"
)

const (
	madeLog   = "../../../testdata/logs/yellow-estate.csv"
	madeSheet = "../../../testdata/sheets/yellow-estate.yaml"
)

// sheetCopy is a copy of the invented sheet, changed if that is wanted.
func sheetCopy(t *testing.T, change func(string) string) string {
	t.Helper()
	text, err := os.ReadFile(madeSheet)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "sheet.yaml")
	if change == nil {
		change = func(s string) string { return s }
	}
	if err := os.WriteFile(path, []byte(change(string(text))), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func readSheet(t *testing.T, path string) (*sheet.Sheet, string) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, faults := sheet.Read(path, text)
	if s == nil {
		t.Fatalf("%s doesn't read back: %v", path, faults)
	}
	return s, string(text)
}

// A person sees what was taken for what, the pull and its reading, at any
// width; a program gets one object.
func TestPullsOfTheInventedLog(t *testing.T) {
	r := runLine("pulls " + madeLog)
	for _, part := range []string{"1 full-load pull, 1 reading", "Intake suction dp", "gear 3 of 4", "Readings at 6300 rpm", "while the engine stood"} {
		if !strings.Contains(r.out, part) {
			t.Errorf("the page doesn't say %q:\n%s", part, r.out)
		}
	}
	r = runLine("pulls --json --rpm 6000 " + madeLog)
	var got pulls.Result
	if err := json.Unmarshal([]byte(r.out), &got); err != nil || strings.Count(r.out, "\n") != 1 {
		t.Fatalf("%v: %s", err, r.out)
	}
	if len(got.Found) != 1 || len(got.Readings) != 1 || got.Readings[0].Pa.Low > 3050 || got.Readings[0].Pa.High < 3050 {
		t.Errorf("found %+v, readings %+v; the log was made with 3050 Pa", got.Found, got.Readings)
	}
	if keys := keysOf(t, r.out); !strings.HasPrefix(keys, "pulls") {
		t.Errorf("keys %s", keys)
	}
}

func TestPullsPageFitsItsWidth(t *testing.T) {
	f, err := os.Open(madeLog)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	result, _, err := pulls.Read("log.csv", f, pulls.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, width := range []int{40, 80} {
		for line := range strings.Lines(terminal.Plain(pullsPage(result, 0, pullsBlocks(pullsPictures(result, 0, 0), false, width-codeIndent)), width)) {
			if n := terminal.Width(strings.TrimRight(line, "\n")); n > width {
				t.Errorf("%d columns in %d: %q", n, width, line)
			}
		}
	}
}

// The reading comes to the sheet, comments and all else stay, and a second log
// is a second run.
func TestPullsIntoASheet(t *testing.T) {
	path := sheetCopy(t, nil)
	old, oldText := readSheet(t, path)
	r := runLine("pulls " + madeLog + " " + madeLog + " --to tube --into " + path)
	if r.code != exitDone || !strings.Contains(r.err, "2 readings added: open-air to tube, runs 4 to 5") {
		t.Fatalf("code %d: %s", r.code, r.err)
	}
	got, text := readSheet(t, path)
	if len(got.Readings) != len(old.Readings)+2 {
		t.Fatalf("%d readings", len(got.Readings))
	}
	for line := range strings.Lines(oldText) {
		if !strings.Contains(text, line) {
			t.Errorf("the line %q is gone", line)
		}
	}
	x := got.Readings[3]
	if x.Gauge != "g25" || x.RPM != 6000 || x.Value.Unit != "inH2O" || x.Value.PlusMinus <= 0 || x.Doubtful != "" {
		t.Errorf("reading %+v", x)
	}
	// 3050 Pa, as the log was made.
	if d := x.Value.SI - 3050; d < -2*x.Value.PlusMinus || d > 2*x.Value.PlusMinus {
		t.Errorf("%v Pa, want 3050", x.Value.SI)
	}
}

// Sheets of other layouts keep their values too, and where comments go it is
// said.
func TestPullsIntoOtherLayouts(t *testing.T) {
	oneLine := func(s string) string {
		head, tail, _ := strings.Cut(s, "readings:\n")
		_, tail, _ = strings.Cut(tail, "changes:")
		return head + "readings: [{from: open-air, to: tube, value: 12 inH2O}]\nchanges:" + tail
	}
	for name, c := range map[string]struct {
		change func(string) string
		lost   bool
	}{
		"Windows":     {func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }, false},
		"no readings": {func(s string) string { head, _, _ := strings.Cut(s, "readings:\n"); return head }, false},
		"readings last": {func(s string) string {
			head, _, _ := strings.Cut(s, "changes:\n")
			return strings.TrimSuffix(head, "\n")
		}, false},
		"not indented": {func(s string) string { return strings.ReplaceAll(s, "  - {run", "- {run") }, false},
		"on one line":  {oneLine, true},
	} {
		path := sheetCopy(t, c.change)
		old, oldText := readSheet(t, path)
		r := runLine("pulls " + madeLog + " --to tube --into " + path)
		if r.code != exitDone {
			t.Errorf("%s: code %d: %s", name, r.code, r.err)
			continue
		}
		got, text := readSheet(t, path)
		kept := *got
		kept.Readings = kept.Readings[:len(old.Readings)]
		if string(sheet.Write(&kept)) != string(sheet.Write(old)) || len(got.Readings) != len(old.Readings)+1 {
			t.Errorf("%s: the sheet is now\n%s", name, text)
		}
		if said := strings.Contains(r.err, "comments and its layout are gone"); said != c.lost {
			t.Errorf("%s: said of comments: %v, want %v", name, said, c.lost)
		}
		if head, _, _ := strings.Cut(oldText, "readings:"); !c.lost && !strings.HasPrefix(text, strings.TrimRight(head, "\r\n")) {
			t.Errorf("%s: what stands ahead of the readings changed:\n%s", name, text)
		}
	}
}

func TestPullsIntoJSON(t *testing.T) {
	s, _ := readSheet(t, sheetCopy(t, nil))
	form, err := sheetJSON(s)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "sheet.json")
	if err := os.WriteFile(path, form, 0o644); err != nil {
		t.Fatal(err)
	}
	r := runLine("pulls " + madeLog + " --to tube --into " + path)
	got, text := readSheet(t, path)
	if r.code != exitDone || len(got.Readings) != 4 || !strings.HasPrefix(text, "{") {
		t.Errorf("code %d, %d readings: %s\n%s", r.code, len(got.Readings), r.err, text)
	}
}

// Another file takes the sheet with its readings, and the old one stays.
func TestPullsIntoAnotherFile(t *testing.T) {
	path := sheetCopy(t, nil)
	_, before := readSheet(t, path)
	out := filepath.Join(t.TempDir(), "new.yaml")
	r := runLine("pulls " + madeLog + " --to tube --into " + path + " --out " + out)
	if r.code != exitDone {
		t.Fatal(r.err)
	}
	if _, after := readSheet(t, path); after != before {
		t.Error("the old sheet changed")
	}
	if got, _ := readSheet(t, out); len(got.Readings) != 4 {
		t.Errorf("%d readings", len(got.Readings))
	}
}

// What can't be done is told before anything is written, with what would do.
func TestPullsSlips(t *testing.T) {
	path := sheetCopy(t, nil)
	_, before := readSheet(t, path)
	guessed := filepath.Join(t.TempDir(), "guessed.csv")
	text, err := os.ReadFile(madeLog)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(guessed, []byte(strings.Replace(string(text), "Engine speed [rpm]", "channel 2", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	for line, want := range map[string]string{
		"pulls":                                                 "needs more than that",
		"pulls gone.csv":                                        "gone.csv",
		"pulls " + path:                                         "no table of numbers",
		"pulls %log --column rmp=x":                             `did you mean "rpm"`,
		"pulls %log --column rpm":                               "it goes: rpm=NAME",
		"pulls %log --column pressure=Pedall":                   `did you mean "Pedal"`,
		"pulls %log --rpm 6000000":                              "from 300 to 25000",
		"pulls %log --rpm fast":                                 "--rpm",
		"pulls %log --to tube":                                  "--into SHEET",
		"pulls %log --into %sheet":                              "--to STATION",
		"pulls %log --into %sheet --to tub":                     `did you mean "tube"`,
		"pulls %log --into %sheet --from tube --to filter":      "upstream",
		"pulls %log --into %sheet --to tube --gauge g26":        `did you mean "g25"`,
		"pulls %log --into nowhere.yaml --to tube":              "nowhere.yaml",
		"pulls " + guessed + " --into %sheet --to tube":         `confirm it: --column "rpm=channel 2"`,
		"pulls %log --into %sheet --to tube --column load=Time": "no column tells the time",
	} {
		line = strings.NewReplacer("%log", madeLog, "%sheet", path).Replace(line)
		if r := runLine(line); r.code != exitInput || !strings.Contains(r.err, want) {
			t.Errorf("%s: code %d, %q; want %q", line, r.code, r.err, want)
		}
	}
	if _, after := readSheet(t, path); after != before {
		t.Error("a slip changed the sheet")
	}
}

// A log without a pull leaves the sheet as it is.
func TestPullsWithoutAPull(t *testing.T) {
	path := sheetCopy(t, nil)
	_, before := readSheet(t, path)
	log := filepath.Join(t.TempDir(), "idle.csv")
	var b strings.Builder
	b.WriteString("t [s],rpm,dp [kPa]\n")
	for i := range 100 {
		fmt.Fprintf(&b, "%d,%d,0.0%d\n", i, 800+i%7, i%5)
	}
	if err := os.WriteFile(log, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	r := runLine("pulls " + log + " --to tube --into " + path)
	if r.code != exitInput || !strings.Contains(r.err, "no reading was found") {
		t.Errorf("code %d: %s", r.code, r.err)
	}
	if _, after := readSheet(t, path); after != before {
		t.Error("the sheet changed")
	}
}

// The rule that help publishes has the figures that the code goes by.
func TestPullsRuleIsThatOfTheCode(t *testing.T) {
	for _, part := range []string{"more than 2 %", "a fifth of its own span", "upper quarter", "a twentieth of the time", "holds for 3 s", "5 fresh samples", "lasts 1.5 s"} {
		if !strings.Contains(pullsRule, part) {
			t.Errorf("help doesn't say %q", part)
		}
	}
}

// A log of a bench, without engine speed, still tells about its gauges.
func TestPullsOfABench(t *testing.T) {
	r := runLine("pulls ../../../testdata/published/recorder/two_gauges.csv")
	for _, part := range []string{"None: the log has no engine speed.", "to the power of 1.97", "seem to be on one place", "stands at the end of its range"} {
		if !strings.Contains(r.out, part) {
			t.Errorf("the page doesn't say %q:\n%s", part, r.out)
		}
	}
}

// severalPulls is a log of n pulls of an invented car, each a little higher than the
// one before, with names that try to be markup.
func severalPulls(t *testing.T, n int) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("Time [s],Engine speed [rpm],Pedal [%],\"Suction *dp* <b>[x](y)</b> [Pa]\"\n")
	at := 0
	row := func(rpm, pedal, pa float64) {
		fmt.Fprintf(&b, "%.1f,%.0f,%.0f,%.1f\n", float64(at)*0.1, rpm, pedal, pa)
		at++
	}
	for range 60 {
		row(0, 0, 40)
	}
	for pull := range n {
		for i := range 40 {
			row(850+float64(i%5), 0, 60)
		}
		for i := range 50 {
			rpm := 2000 + 80*float64(i)
			row(rpm, 100, 40+3000*(rpm/6000)*(rpm/6000)*(1+0.01*float64(pull))+10*math.Sin(float64(7*i+pull)))
		}
		for i := range 30 {
			row(5900-150*float64(i), 0, 100)
		}
	}
	path := filepath.Join(t.TempDir(), "six.csv")
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// The page goes to a file in every form; the pictures are images in a browser and
// characters elsewhere, and several logs make one page.
func TestPullsAsAFile(t *testing.T) {
	log := severalPulls(t, 6)
	page := written(t, "p.html", "pulls", madeLog, log)
	if n := strings.Count(page, `<svg class="picture"`); n != 5 {
		t.Errorf("%d pictures, want 5: one of the first log, three pulls and their order of the second", n)
	}
	if ids := regexp.MustCompile(`id="([^"]+)"`).FindAllStringSubmatch(page, -1); len(ids) == 0 {
		t.Error("no picture has a name")
	} else {
		met := map[string]bool{}
		for _, id := range ids {
			if met[id[1]] {
				t.Errorf("the name %q stands twice", id[1])
			}
			met[id[1]] = true
		}
	}
	for _, part := range []string{"They drift: with each pull 0.1", "Pulls in their order", "Read from it at 5800 rpm", "Suction *dp* &lt;b&gt;"} {
		if !strings.Contains(page, part) {
			t.Errorf("the page for a browser lacks %q", part)
		}
	}
	if drawnBars.MatchString(page) || regexp.MustCompile(`(?i)<script|<b>|<a |https?://`).MatchString(page) {
		t.Error("the page holds bars of characters, markup of the log or an address")
	}
	for name, part := range map[string]string{"p.md": "```picture pulls-1-1", "p.txt": "pull 6", "p.json": `{"pulls":1,`} {
		if text := written(t, name, "pulls", log); !strings.Contains(text, part) {
			t.Errorf("%s lacks %q:\n%s", name, part, text)
		}
	}
	if text := written(t, "p.json", "pulls", log, madeLog); strings.Count(text, "\n") != 2 {
		t.Errorf("two logs give %d lines", strings.Count(text, "\n"))
	}
}

// The picture of a pull shows the samples and the reading of the page.
func TestPictureOfAPull(t *testing.T) {
	f, err := os.Open(severalPulls(t, 6))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, _, err := pulls.Read("six.csv", f, pulls.Options{RPM: 6000})
	if err != nil || len(r.Readings) != 6 || len(r.Plots) != 6 {
		t.Fatalf("%d readings, %d of them for pictures: %v", len(r.Readings), len(r.Plots), err)
	}
	for i, p := range r.Plots {
		x := r.Readings[i]
		if p.Reading != i || len(p.Points) < x.Samples || p.At(x.RPM) != x.Pa {
			t.Errorf("the picture of reading %d has %d points and reads %+v, want %d and %+v", i, len(p.Points), p.At(x.RPM), x.Samples, x.Pa)
		}
		for _, q := range p.Points {
			if want := 3000 * (q.RPM / 6000) * (q.RPM / 6000) * (1 + 0.01*float64(i)); math.Abs(q.Pa-want) > 40 {
				t.Errorf("pull %d at %.0f rpm: %.0f Pa, made with %.0f", i+1, q.RPM, q.Pa, want)
			}
		}
	}
}

// A day's log makes no page without end: of many pulls some are drawn, the first and
// the last among them, and the picture says so.
func TestManyPullsAreThinned(t *testing.T) {
	page := runLine("pulls " + severalPulls(t, 90)).out
	_, drawn, _ := strings.Cut(page, "Pulls in their order")
	if n := strings.Count(drawn, "    pull "); n != mostInOrder || !strings.Contains(drawn, "    pull 1 ") || !strings.Contains(drawn, "    pull 90 ") {
		t.Errorf("%d pulls are drawn, want %d with the first and the last:\n%s", n, mostInOrder, drawn)
	}
	if said := strings.Join(strings.Fields(drawn), " "); !strings.Contains(said, "Drawn are 40 of 90 pulls.") {
		t.Errorf("nothing says how many are drawn: %s", said)
	}
}
