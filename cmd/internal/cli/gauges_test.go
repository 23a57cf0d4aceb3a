package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml/schematest"
)

// atHome runs the program with data folders below home; "" stands for those of the
// machine.
func atHome(t testing.TB, home, typed string, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	a := &app{
		Streams: terminal.Streams{In: strings.NewReader(typed), Out: &o, Err: &e, Width: 80},
		env:     func(name string) string { return map[string]string{"XDG_DATA_HOME": home}[name] },
		now:     func() time.Time { return time.Date(2026, 12, 1, 10, 0, 0, 0, time.UTC) },
	}
	code = a.run(args)
	return code, o.String(), e.String()
}

// added keeps a card and fails the test where that fails.
func added(t *testing.T, home string, args ...string) {
	t.Helper()
	if code, _, errs := atHome(t, home, "", append([]string{"gauges", "add"}, args...)...); code != exitDone {
		t.Fatalf("gauges add %v ends with %d: %s", args, code, errs)
	}
}

// A card from options, from a file, in the list, on the screen, replaced, and gone.
func TestTheLifeOfACard(t *testing.T) {
	home := t.TempDir()
	_, out, errs := atHome(t, home, "", "gauges")
	if out != "" || !strings.Contains(errs, "no cards of gauges in "+filepath.Join(home, "dropwalk", "gauges")) {
		t.Errorf("without cards: %q, %q", out, errs)
	}
	added(t, home, "g25", "--range", "25 inH2O", "--division", "0,5 inH2O", "--accuracy", "2 %", "--checked", "2025-01-15", "--correction", "10 inH2O = 10.4 inH2O, 20 inH2O = 20.8 inH2O")
	file := filepath.Join(t.TempDir(), "mine.yaml")
	if err := os.WriteFile(file, []byte("gauge: 1\nname: g5\nrange: 5 inH2O\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	added(t, home, file)
	_, out, _ = atHome(t, home, "", "gauges")
	for _, said := range []string{"g25", "0.5 inH2O", "2025-01-15, over a year ago", "2 rows", "g5"} {
		if !strings.Contains(out, said) {
			t.Errorf("the list doesn't say %q:\n%s", said, out)
		}
	}
	if _, out, _ = atHome(t, home, "", "gauges", "show", "g25"); !strings.Contains(out, "10 inH2O  10.4 inH2O") {
		t.Errorf("the card shows as\n%s", out)
	}
	code, _, errs := atHome(t, home, "", "gauges", "add", "g25", "--range", "30 inH2O")
	if code != exitInput || !strings.Contains(errs, "--replace") {
		t.Errorf("a second card of one name: %d, %s", code, errs)
	}
	added(t, home, "g25", "--range", "30 inH2O", "--replace")
	if code, _, _ = atHome(t, home, "g5\n", "gauges", "remove", "g25"); code != exitStopped {
		t.Errorf("removed under another name: %d", code)
	}
	if code, _, errs = atHome(t, home, "g25\n", "gauges", "remove", "g25"); code != exitDone {
		t.Errorf("not removed: %d, %s", code, errs)
	}
	code, _, errs = atHome(t, home, "", "gauges", "show", "g25")
	if code != exitInput || !strings.Contains(errs, `did you mean "g5"?`) && !strings.Contains(errs, "one of: g5") {
		t.Errorf("a card that is gone: %d, %s", code, errs)
	}
}

// What programs read: the list, and a card in the form of its own file.
func TestCardsAsJSON(t *testing.T) {
	home := t.TempDir()
	added(t, home, "g25", "--range", "25 inH2O", "--checked", "2025-01-15", "--note", `glass "new"`)
	broken := filepath.Join(home, "dropwalk", "gauges", "g9.yaml")
	if err := os.WriteFile(broken, []byte("gauge: 1\nname: g9\nrange: 9\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	var list struct {
		Gauges int
		Folder string
		List   []struct {
			Name, File, Fault string
			Overdue           bool
			Card              json.RawMessage
		}
	}
	_, out, _ := atHome(t, home, "", "gauges", "--json")
	if err := json.Unmarshal([]byte(out), &list); err != nil {
		t.Fatal(err)
	}
	if list.Gauges != 1 || len(list.List) != 2 || !list.List[0].Overdue || string(list.List[1].Card) != "null" || !strings.Contains(list.List[1].Fault, "g9.yaml:3:8") {
		t.Errorf("%+v", list)
	}
	_, out, _ = atHome(t, home, "", "gauges", "show", "g25", "--json")
	if err := schematest.Validate(t, sheet.CardSchema(), []byte(out)); err != nil {
		t.Error(err)
	}
	if c, faults := sheet.ReadCard("g25.json", []byte(out)); c == nil || c.Note != `glass "new"` {
		t.Errorf("it doesn't read back: %v", faults)
	}
	code, _, errs := atHome(t, home, "", "gauges", "show", "g9")
	if code != exitInput || !strings.Contains(errs, "g9.yaml:3:8: range: 9 has no unit") {
		t.Errorf("a broken card: %d, %s", code, errs)
	}
}

// What can't be kept is refused, with what would do.
func TestCardsThatAreRefused(t *testing.T) {
	home := t.TempDir()
	for _, c := range []struct {
		want string
		args []string
	}{
		{`--range: 25 has no unit; expected`, []string{"g25", "--range", "25"}},
		{"a card needs at least the range", []string{"g25", "--accuracy", "2 %"}},
		{`--division: the division "50 inH2O" is larger`, []string{"g25", "--range", "25 inH2O", "--division", "50 inH2O"}},
		{"--correction: ", []string{"g25", "--range", "25 inH2O", "--correction", "10"}},
		{`--position: "tilted" is not known here; expected upright or flat`, []string{"g25", "--range", "25 inH2O", "--position", "tilted"}},
		{`"back" means something else`, []string{"back", "--range", "25 inH2O"}},
		{`"path" means something else`, []string{"path", "--range", "25 inH2O"}},
		{`"dial" means something else`, []string{"dial", "--range", "25 inH2O"}},
		{`there is no file "../g25"`, []string{"../g25"}},
		{`"25" is no name for a card`, []string{"25", "--range", "25 inH2O"}},
		{"a file and options don't go together", []string{"./g25.yaml", "--range", "25 inH2O"}},
	} {
		code, _, errs := atHome(t, home, "", append([]string{"gauges", "add"}, c.args...)...)
		if code != exitInput || !strings.Contains(errs, c.want) || !strings.Contains(errs, "hint:") {
			t.Errorf("%v: %d, %s\nwant %s", c.args, code, errs, c.want)
		}
	}
	if _, err := os.Stat(filepath.Join(home, "dropwalk")); err == nil {
		t.Error("something was written all the same")
	}
}

// A test takes what stands on the card that day, and keeps it when the card changes
// and when it is gone.
func TestAnOldTestKeepsItsCard(t *testing.T) {
	home := t.TempDir()
	added(t, home, "g25", "--range", "25 inH2O", "--division", "0.5 inH2O", "--accuracy", "2 %", "--checked", "2025-01-15")
	code, _, errs := atHome(t, home, "yellow-estate\n1998 cc\n4\npetrol\nnatural\n6000\n?\n?\n?\nlater\nnone\ng25\npause\n", "start")
	if code != exitStopped {
		t.Fatalf("start ends with %d: %s", code, errs)
	}
	for _, said := range []string{"Or one of yours: g25.", "card g25: accuracy 2 %, checked 2025-01-15"} {
		if !strings.Contains(strings.Join(strings.Fields(errs), " "), said) {
			t.Errorf("the prompts don't say %q:\n%s", said, errs)
		}
	}
	names, err := record.Names(filepath.Join(home, "dropwalk", "records"))
	if err != nil || len(names) != 1 {
		t.Fatal(names, err)
	}
	_, before, errs := atHome(t, home, "", "sheet", names[0])
	if !strings.Contains(before, "name: g25") || !strings.Contains(before, "checked: 2025-01-15") {
		t.Fatalf("the sheet says\n%s%s", before, errs)
	}
	added(t, home, "g25", "--range", "30 inH2O", "--correction", "10 inH2O = 11 inH2O", "--replace")
	if _, after, _ := atHome(t, home, "", "sheet", names[0]); after != before {
		t.Errorf("with another card the old sheet says\n%s", after)
	}
	atHome(t, home, "", "gauges", "remove", "g25", "--yes")
	if _, after, _ := atHome(t, home, "", "sheet", names[0]); after != before {
		t.Errorf("without the card the old sheet says\n%s", after)
	}
	// Going back to the question, Enter keeps what was recorded.
	atHome(t, home, "back gauge\n\npause\n", "resume")
	if _, after, _ := atHome(t, home, "", "sheet", names[0]); after != before {
		t.Errorf("after Enter at the question the old sheet says\n%s", after)
	}
}

// A card that can't be read stops no test: it is told and left out.
func TestABrokenCardStopsNoTest(t *testing.T) {
	home := t.TempDir()
	added(t, home, "g25", "--range", "25 inH2O")
	if err := os.WriteFile(filepath.Join(home, "dropwalk", "gauges", "g9.yaml"), []byte("gauge: 1\nname: other\nrange: 9 inH2O\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, _, errs := atHome(t, home, "yellow\npause\n", "start")
	if !strings.Contains(errs, `the card of g9 is left out: g9.yaml calls its gauge "other"`) || !strings.Contains(errs, "Everything is saved") {
		t.Errorf("start says\n%s", errs)
	}
}

// Readings from a log can name a gauge by its card: the sheet has it from then on.
func TestPullsTakeACard(t *testing.T) {
	home := t.TempDir()
	added(t, home, "probe", "--range", "30 kPa", "--accuracy", "1 %")
	to := filepath.Join(home, "with.yaml")
	code, _, errs := atHome(t, home, "", "pulls", "../../../testdata/logs/yellow-estate.csv", "--into", "../../../testdata/sheets/yellow-estate.yaml", "--to", "tube", "--gauge", "probe", "--out", to)
	if code != exitDone {
		t.Fatalf("pulls ends with %d: %s", code, errs)
	}
	src, err := os.ReadFile(to)
	if err != nil {
		t.Fatal(err)
	}
	s, faults := sheet.Read(to, src)
	if s == nil {
		t.Fatal(faults)
	}
	if g := s.GaugeByName("probe"); g == nil || g.Range.SI != 30000 || s.Readings[len(s.Readings)-1].Gauge != "probe" {
		t.Errorf("the sheet has %v", s.Gauges)
	}
	if !strings.Contains(string(src), "#") || strings.Contains(errs, "its comments") {
		t.Errorf("the comments of the sheet are gone: %s", errs)
	}
	code, _, errs = atHome(t, home, "", "pulls", "../../../testdata/logs/yellow-estate.csv", "--into", "../../../testdata/sheets/yellow-estate.yaml", "--to", "tube", "--gauge", "prob", "--out", to)
	if code != exitInput || !strings.Contains(errs, `did you mean "probe"?`) {
		t.Errorf("a gauge that nobody knows: %d, %s", code, errs)
	}
}
