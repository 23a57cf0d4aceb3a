package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropwalk/engine/quantity"
)

func TestProceduresAsJSON(t *testing.T) {
	r := runLine("procedures --json")
	var got struct {
		Version int `json:"procedures"`
		List    []struct {
			Name, Title, SHA256 string
			Parts               []string
		}
	}
	if err := json.Unmarshal([]byte(r.out), &got); err != nil || r.code != exitDone || got.Version != 1 {
		t.Fatalf("it ends with %d, %v: %s", r.code, err, r.out)
	}
	p, err := findProcedure(usualProcedure, quantity.AsTyped)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range got.List {
		if row.Name == p.Name && row.SHA256 == p.SHA256() && len(row.Parts) == len(p.Parts) && len(got.List) == len(shipped()) {
			return
		}
	}
	t.Errorf("it is %+v", got)
}

// The JSON form of a procedure is the same procedure: checked without a fault,
// and shown alike.
func TestProcedureAsJSONIsTheSame(t *testing.T) {
	r := runLine("procedures show intake --json")
	file := filepath.Join(t.TempDir(), "intake.yaml")
	if err := os.WriteFile(file, []byte(r.out), 0o600); err != nil {
		t.Fatal(err)
	}
	if r := runLine("procedures check " + file); r.code != exitDone || r.err != "" {
		t.Errorf("the check ends with %d: %.300s", r.code, r.err)
	}
	if got, want := runLine("procedures show "+file).out, runLine("procedures show intake").out; got != want || want == "" {
		t.Error("it is shown in another way than the file")
	}
	if r := runLine("procedures show intake --json --source"); r.code != exitInput {
		t.Errorf("both forms at once end with %d", r.code)
	}
}

func TestProcedureCheckAsJSON(t *testing.T) {
	broken := filepath.Join(t.TempDir(), "my.yaml")
	if err := os.WriteFile(broken, []byte("procedure: 1\nnam: x\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	r := runLine("procedures check intake " + broken + " --json")
	var got struct {
		Version int `json:"procedures_check"`
		Files   []struct {
			File   string
			Sound  bool
			Parts  int
			Faults []struct {
				Line     int
				Expected string
			}
		}
	}
	if err := json.Unmarshal([]byte(r.out), &got); err != nil || r.code != exitInput || r.err != "" || got.Version != 1 {
		t.Fatalf("it ends with %d, %v, %q: %s", r.code, err, r.err, r.out)
	}
	if len(got.Files) != 2 || !got.Files[0].Sound || got.Files[0].Parts == 0 || got.Files[0].Faults == nil {
		t.Errorf("the sound one is %+v", got.Files)
	}
	if f := got.Files[1]; f.Sound || len(f.Faults) == 0 || f.Faults[0].Line == 0 {
		t.Errorf("the broken one is %+v", f)
	}
	array := runLine("procedures check " + broken + " --format json")
	var faults []any
	if err := json.Unmarshal([]byte(array.out), &faults); err != nil || len(faults) != len(got.Files[1].Faults) {
		t.Errorf("--format json has %d faults, --json %d: %v", len(faults), len(got.Files[1].Faults), err)
	}
	if r := runLine("procedures check intake --json --format github"); r.code != exitInput || !strings.Contains(r.err, "hint: ") {
		t.Errorf("both forms at once end with %d: %s", r.code, r.err)
	}
}

// Every command that prints a result has --json; the others say why not.
func TestEveryResultCanBeJSON(t *testing.T) {
	without := map[string]string{
		"start": "a sitting", "resume": "a sitting", "help": "text for people", "completion": "a script",
		"procedures new": "a file to begin from", "procedures print": "a paper", "procedures schema": "JSON already",
		"gauges add": "no result", "gauges remove": "no result",
		"records rename": "no result", "records remove": "no result", "records salvage": "no result",
	}
	for _, cmd := range commands((&app{}).root()) {
		if cmd.Flags().Lookup("json") == nil && without[called(cmd)] == "" {
			t.Errorf("%s has no --json", called(cmd))
		}
	}
}
