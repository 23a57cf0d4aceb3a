package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropwalk/advice/compare"
	"dropwalk/engine/record"
)

// Three sheets of an invented car: as it was, with another mouth, as it was.
const (
	yellowBefore = "../../../testdata/sheets/yellow-before.yaml"
	yellowAfter  = "../../../testdata/sheets/yellow-after.yaml"
	yellowAgain  = "../../../testdata/sheets/yellow-again.yaml"
	yellowThree  = yellowBefore + " " + yellowAfter + " " + yellowAgain
)

// compared is the object that compare prints.
func compared(t *testing.T, args ...string) *compare.Comparison {
	t.Helper()
	code, out, errs := tried(t, "", append(append([]string{"compare"}, args...), "--json")...)
	if code != exitDone {
		t.Fatalf("compare ends with %d: %s", code, errs)
	}
	if faults := compare.Check("compare", []byte(out)); len(faults) > 0 {
		t.Fatal(faults)
	}
	var c compare.Comparison
	if err := json.Unmarshal([]byte(out), &c); err != nil {
		t.Fatal(err)
	}
	return &c
}

// The flared mouth helped, and the pieces behind it are as they were. Before and
// before again show no change.
func TestCompareSheets(t *testing.T) {
	dir := t.TempDir()
	c := compared(t, yellowBefore, yellowAfter, yellowAgain, "--dir", dir)
	if c.Total.Verdict != compare.Better || c.Losses[0].Verdict != compare.Better || c.Losses[1].Verdict == compare.Better {
		t.Errorf("verdicts: total %s, pieces %s and %s", c.Total.Verdict, c.Losses[0].Verdict, c.Losses[1].Verdict)
	}
	if c.Total.Refit.From != compare.RefitUsual {
		t.Errorf("refit scatter from %q, want usual", c.Total.Refit.From)
	}
	same := compared(t, yellowBefore, yellowAgain, "--worth", "8%", "--refit", "0.02 inH2O", "--dir", dir)
	if same.Total.Verdict != compare.NoChange || same.Total.Refit.From != compare.RefitStated {
		t.Errorf("before and before again: %s, refit scatter from %q", same.Total.Verdict, same.Total.Refit.From)
	}
}

// The page for people has every part, and fits 40 columns.
func TestComparePage(t *testing.T) {
	code, out, errs := tried(t, "", "compare", yellowBefore, yellowAfter, yellowAgain, "--dir", t.TempDir())
	if code != exitDone {
		t.Fatalf("it ends with %d: %s", code, errs)
	}
	for _, want := range []string{
		"It helped.", "flared mouth of the same bore", "open-air to tube: better", "box-out, meter and tube: can't tell",
		"Power: ", "a guess for want of a better one", "11 in 100", "19 in 100", "drift from run to run",
	} {
		if !strings.Contains(strings.Join(strings.Fields(out), " "), want) {
			t.Errorf("%q is missing in:\n%s", want, out)
		}
	}
}

// What can't be compared is refused with a reason and a hint, never guessed.
func TestCompareRefuses(t *testing.T) {
	dir := t.TempDir()
	text, err := os.ReadFile(yellowAfter)
	if err != nil {
		t.Fatal(err)
	}
	write := func(name string, edit func(string) string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(edit(string(text))), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	single := write("single.yaml", func(s string) string {
		head, runs, _ := strings.Cut(s, "readings:\n")
		_, rest, _ := strings.Cut(runs, "changes:")
		first, _, _ := strings.Cut(runs, "\n")
		return head + "readings:\n" + first + "\nchanges:" + rest
	})
	other := write("other.yaml", func(s string) string { return strings.Replace(s, "yellow-estate", "green-van", 1) })
	for _, row := range []struct {
		args []string
		want []string
	}{
		{[]string{yellowBefore, single}, []string{"a single run, and one run has no spread", "hint: a mean without spread proves nothing"}},
		{[]string{yellowBefore, other}, []string{"two cars", "hint: sheets of one car"}},
		{[]string{yellowBefore}, []string{"alone can't be compared", "hint: dropwalk compare BEFORE AFTER"}},
		{[]string{yellowBefore, yellowAfter, "--worth", "3"}, []string{"--worth: the unit is missing"}},
		{[]string{yellowBefore, yellowAfter, "--refit", "-1 inH2O"}, []string{"--refit"}},
		{[]string{yellowBefore, "nobody"}, []string{`there is no record "nobody"`}},
	} {
		code, out, errs := tried(t, "", append(append([]string{"compare"}, row.args...), "--dir", dir)...)
		if code != exitInput || out != "" {
			t.Errorf("%v: ends with %d and prints %q", row.args, code, out)
		}
		for _, want := range row.want {
			if !strings.Contains(errs, want) {
				t.Errorf("%v: %q is missing in %q", row.args, want, errs)
			}
		}
	}
}

// History shows each visit with what it brought. Visits in a row with nothing changed
// tell how far the car scatters from one fitting to the next.
func TestHistoryOfSheets(t *testing.T) {
	code, out, errs := tried(t, "", "history", yellowBefore, yellowAfter, yellowAgain)
	if code != exitDone {
		t.Fatalf("it ends with %d: %s", code, errs)
	}
	flat := strings.Join(strings.Fields(out), " ")
	for _, want := range []string{"mouth: flared mouth", "tube: better", "tube: worse", "No two visits in a row"} {
		if !strings.Contains(flat, want) {
			t.Errorf("%q is missing in:\n%s", want, out)
		}
	}
	code, out, errs = tried(t, "", "history", yellowBefore, yellowAgain, yellowBefore, "--json")
	if code != exitDone {
		t.Fatalf("it ends with %d: %s", code, errs)
	}
	var h struct {
		Refit []compare.Fitted `json:"refit"`
	}
	if err := json.Unmarshal([]byte(out), &h); err != nil {
		t.Fatal(err)
	}
	if len(h.Refit) != 2 || h.Refit[0].Visits != 3 || h.Refit[0].To != "tube" {
		t.Errorf("refit scatter %+v, want two pairs that three visits tell", h.Refit)
	}
}

// Two cars have no history together, and an unknown one has none at all.
func TestHistoryRefuses(t *testing.T) {
	dir := t.TempDir()
	code, _, errs := tried(t, "", "history", "nobody", "--dir", dir)
	if code != exitInput || !strings.Contains(errs, `no car and no record "nobody"`) || !strings.Contains(errs, "hint:") {
		t.Errorf("an unknown car: %d, %s", code, errs)
	}
	text, err := os.ReadFile(yellowAfter)
	if err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "other.yaml")
	if err := os.WriteFile(other, []byte(strings.Replace(string(text), "yellow-estate", "green-van", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, errs := tried(t, "", "history", yellowBefore, other); code != exitInput || !strings.Contains(errs, "two cars") {
		t.Errorf("two cars: %d, %s", code, errs)
	}
}

// A car is found by its name among the records, and its history is what compare
// reckons with: the records that are compared don't count among it.
func TestHistoryOfRecords(t *testing.T) {
	dir := t.TempDir()
	answers, err := os.ReadFile("../../../testdata/answers/yellow-estate.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		path := filepath.Join(t.TempDir(), "a.yaml")
		if err := os.WriteFile(path, answers, 0o600); err != nil {
			t.Fatal(err)
		}
		if code, _, errs := tried(t, "", "start", "--answers", path, "--dir", dir); code != exitDone {
			t.Fatalf("start ends with %d: %s", code, errs)
		}
	}
	names, err := record.Names(dir)
	if err != nil || len(names) != 3 {
		t.Fatalf("records %v, %v", names, err)
	}
	code, out, errs := tried(t, "", "history", "yellow-estate", "--dir", dir)
	flat := strings.Join(strings.Fields(out), " ")
	if code != exitDone || strings.Count(flat, "The verdict") != 3 || !strings.Contains(flat, "3 visits with nothing changed") {
		t.Errorf("it ends with %d:\n%s%s", code, out, errs)
	}
	if c := compared(t, names[0], names[1], "--dir", dir); c.Total.Refit.From != compare.RefitUsual {
		t.Errorf("one other visit: refit scatter from %q, want usual", c.Total.Refit.From)
	}
	if c := compared(t, yellowBefore, yellowAfter, "--dir", dir); c.Total.Refit.From != compare.RefitHistory {
		t.Errorf("three other visits: refit scatter from %q, want history", c.Total.Refit.From)
	}
}

// The keys of both objects are promised, and so is their order.
func TestKeysOfComparisons(t *testing.T) {
	for line, want := range map[string]string{
		"history " + yellowThree: "history car visits refit",
		"compare " + yellowThree: "compare pairs total power_percent power_note losses design blocks reference notes",
	} {
		code, out, errs := tried(t, "", append(words(line), "--json", "--dir", t.TempDir())...)
		if code != exitDone || strings.Count(out, "\n") != 1 {
			t.Fatalf("%s ends with %d: %s", line, code, errs)
		}
		if got := keysOf(t, out); got != want {
			t.Errorf("%s has the keys %q, want %q", line, got, want)
		}
	}
}

// The page can be had as a file in each form, with the picture in all but the JSON;
// a reader who listens has no picture of characters.
func TestCompareToAFile(t *testing.T) {
	dir := t.TempDir()
	for end, wants := range map[string][]string{
		".md":   {"**It helped.**", "```picture changes", "from here on a change counts"},
		".txt":  {"It helped.", "What changed, and what counts", "-1.8 (-2.2 to -1.3)"},
		".html": {"<svg class=\"picture\"", "It helped.", "</html>"},
		".json": {`{"compare":1,`},
	} {
		path := filepath.Join(dir, "page"+end)
		code, out, errs := tried(t, "", "compare", yellowBefore, yellowAfter, yellowAgain, "--out", path, "--dir", dir)
		text, err := os.ReadFile(path)
		if code != exitDone || out != "" || err != nil {
			t.Fatalf("%s: ends with %d, prints %q, %v: %s", end, code, out, err, errs)
		}
		for _, want := range wants {
			if !strings.Contains(string(text), want) {
				t.Errorf("%s: %q is missing in\n%.600s", end, want, text)
			}
		}
	}
	_, out, _ := tried(t, "", "compare", yellowBefore, yellowAfter, "--plain", "--dir", dir)
	if strings.Contains(out, "■") || !strings.Contains(out, "better") {
		t.Errorf("plain lines hold a picture:\n%s", out)
	}
	for args, want := range map[string]string{"--out page.pdf": `the ending ".pdf"`, "--out page.md --json": "contradict each other"} {
		code, _, errs := tried(t, "", append([]string{"compare", yellowBefore, yellowAfter, "--dir", dir}, words(args)...)...)
		if code != exitInput || !strings.Contains(errs, want) {
			t.Errorf("%s: ends with %d: %s", args, code, errs)
		}
	}
}
