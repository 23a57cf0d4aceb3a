package cli

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A car that was named wrong is called by its right name from then on: where
// tests are listed, where one is looked for, and to programs.
func TestTheNameThatStandsNow(t *testing.T) {
	for _, first := range []string{"?", "grey van"} {
		t.Run(first, func(t *testing.T) {
			dir := t.TempDir()
			if code, _, errs := tried(t, first+"\nback\nBlue Hatch\n2198 cc\n", "start", "--dir", dir); code != exitStopped {
				t.Fatalf("start ends with %d: %s", code, errs)
			}
			if _, out, _ := tried(t, "", "records", "--dir", dir); !strings.Contains(out, "Blue Hatch") || strings.Contains(out, "grey van") {
				t.Errorf("the list is\n%s", out)
			}
			for _, word := range []string{"Blue Hatch", "blue", "BLUE-HATCH"} {
				if code, out, errs := tried(t, "", "records", "show", word, "--dir", dir); code != exitDone || !strings.Contains(out, "car Blue Hatch") {
					t.Errorf("%q: it ends with %d: %s%s", word, code, out, errs)
				}
			}
			_, out, _ := tried(t, "", "records", "--json", "--dir", dir)
			var got struct{ List []struct{ Car string } }
			if err := json.Unmarshal([]byte(out), &got); err != nil || len(got.List) != 1 || got.List[0].Car != "Blue Hatch" {
				t.Errorf("%v: %s", err, out)
			}
		})
	}
}

// Two records of one car are named where its name fits both.
func TestOneNameOfTwoRecords(t *testing.T) {
	dir := t.TempDir()
	for range 2 {
		tried(t, "?\nback\nBlue Hatch\n", "start", "--dir", dir)
	}
	code, _, errs := tried(t, "", "records", "show", "blue", "--dir", dir)
	if want := "one of: intake-2026-12-01, intake-2026-12-01-2"; code != exitInput || !strings.Contains(errs, want) {
		t.Errorf("it ends with %d and says %q, want %q", code, errs, want)
	}
}

// oneHose is a procedure that leaves a hose and a fitting at the car.
const oneHose = `procedure: 1
name: lap
title: A lap
purpose: Lay a hose and take it out.
if-stopped:
  parked: [Engine off.]
on-return:
  parked: {hold: "Is the car parked?"}
parts:
- part: The lap
  car: parked
- ask: What do you call this car?
  id: car-name
  fills: car.name
- do: Push the fitting in.
  id: fitting
  undo: Take the fitting out.
- do: Lay the hose.
  id: hose
  undo: Take the hose out.
- part: The end
  car: parked
- owed: all
  id: owed
`

// A test that was stopped is not called finished where something is still to be
// put back: not in the list, not where it is told, and not to programs.
func TestWhatIsStillToBePutBackIsListed(t *testing.T) {
	file := filepath.Join(t.TempDir(), "lap.yaml")
	if err := os.WriteFile(file, []byte(oneHose), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, typed, state string
		owed               []string
	}{
		{"all skipped", "stop\nstop\ncannot it is stuck\ncannot it is stuck\n", "stopped; 2 things to put back", []string{"Take the hose out.", "Take the fitting out."}},
		{"one skipped", "stop\nstop\ndone\ncannot it is stuck\n", "stopped; 1 thing to put back", []string{"Take the fitting out."}},
		{"left in the list", "stop\nstop\n", "stopped, not closed up; 2 things to put back", []string{"Take the hose out.", "Take the fitting out."}},
		{"all put back", "stop\nstop\ndone\ndone\n", "stopped", []string{}},
		{"to its end, one skipped", "done\ncannot it is stuck\n", "finished; 1 thing to put back", []string{"Take the fitting out."}},
		{"to its end", "done\ndone\n", "finished", []string{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			tried(t, "grey van\n\n\n"+c.typed, "start", file, "--dir", dir)
			if _, out, _ := tried(t, "", "records", "--dir", dir); !strings.Contains(flat(out), c.state) || c.state == "stopped" && strings.Contains(out, "put back") {
				t.Errorf("the list is\n%s\nwant %q", out, c.state)
			}
			_, out, _ := tried(t, "", "records", "show", "grey", "--dir", dir)
			if n := len(c.owed); n > 0 && strings.Contains(out, "finished, ") && !strings.Contains(out, fmt.Sprintf(" with %d open", n)) {
				t.Errorf("it ends with another number of open steps than %d:\n%s", n, out)
			}
			for _, text := range c.owed {
				if !strings.Contains(out, "  - "+text) {
					t.Errorf("it is told as\n%s\nwithout %q", out, text)
				}
			}
			if _, out, _ = tried(t, "", "records", "--json", "--dir", dir); !strings.Contains(out, `"owed":`+asJSON(t, c.owed)) {
				t.Errorf("programs are told %s", out)
			}
			if _, out, _ = tried(t, "", "records", "show", "grey", "--json", "--dir", dir); !strings.Contains(out, `"owed":`+asJSON(t, c.owed)) {
				t.Errorf("programs are told %s", out)
			}
		})
	}
}

// flat is a table with its cells on one line each.
func flat(table string) string {
	return strings.Join(strings.Fields(table), " ")
}

func asJSON(t *testing.T, v any) string {
	t.Helper()
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
