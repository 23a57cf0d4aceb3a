package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropwalk/engine/record"
)

// recorded runs a test from a shipped file of answers into dir, and names its record.
func recorded(t *testing.T, dir, procedure, answers string) string {
	t.Helper()
	text, err := os.ReadFile("../../../testdata/answers/" + answers + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "a.yaml")
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	before, err := record.Names(dir)
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	if code, _, errs := tried(t, "", "start", procedure, "--answers", path, "--dir", dir); code != exitDone {
		t.Fatalf("%s ends with %d: %s", answers, code, errs)
	}
	after, err := record.Names(dir)
	if err != nil || len(after) != len(before)+1 {
		t.Fatalf("records %v, %v", after, err)
	}
	for _, name := range after {
		if !strings.Contains("\n"+strings.Join(before, "\n")+"\n", "\n"+name+"\n") {
			return name
		}
	}
	t.Fatal("no new record")
	return ""
}

// A further test stands in a history by its own finding: it read a piece, or none, and
// says nothing of the whole path. A record without a sheet is found by its name and by
// its car.
func TestHistoryOfFurtherTests(t *testing.T) {
	dir := t.TempDir()
	air := recorded(t, dir, "intake-air", "yellow-intake-air")
	piece := recorded(t, dir, "one-component", "yellow-one-component")
	for _, word := range []string{air, piece, "yellow-estate"} {
		code, out, errs := tried(t, "", "history", word, "--dir", dir)
		flat := strings.Join(strings.Fields(out), " ")
		if code != exitDone || !strings.Contains(flat, "A further test: ") || strings.Contains(flat, "whole path loses") || strings.Contains(flat, "One more reading") {
			t.Errorf("%s ends with %d:\n%s%s", word, code, out, errs)
		}
	}
	code, out, errs := tried(t, "", "history", "yellow-estate", "--dir", dir, "--json")
	var h struct {
		Visits []struct {
			Name, Verdict string
			Test          *string
			Loss          *struct{} `json:"total_loss_pa"`
		}
	}
	if err := json.Unmarshal([]byte(out), &h); code != exitDone || err != nil {
		t.Fatalf("it ends with %d, %v: %s", code, err, errs)
	}
	if len(h.Visits) != 2 {
		t.Fatalf("visits %+v, want two", h.Visits)
	}
	for _, v := range h.Visits {
		if v.Test == nil || v.Verdict == "measure" || v.Loss != nil {
			t.Errorf("the visit is %+v, want a further test with a verdict of its own", v)
		}
	}
}

// Of two words, the one that calls nothing is named, whatever is wrong with the other;
// and no test is compared with itself.
func TestCompareNamesWhatIsMissing(t *testing.T) {
	dir := t.TempDir()
	air := recorded(t, dir, "intake-air", "yellow-intake-air")
	for _, row := range []struct{ before, after, want string }{
		{air, "nosuch", `there is no record "nosuch"`},
		{air, air[:8], "one and the same test: " + air},
		{yellowBefore, "../cli/" + yellowBefore, "one and the same test"},
		{air, yellowBefore, air + " has no readings between places of the intake path"},
	} {
		code, out, errs := tried(t, "", "compare", row.before, row.after, "--dir", dir)
		if code == exitDone || out != "" || !strings.Contains(errs, row.want) || !strings.Contains(errs, "hint:") {
			t.Errorf("%s %s ends with %d: %q, want %q", row.before, row.after, code, errs, row.want)
		}
	}
}
