package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
)

// folder is a folder with one paused test, called grey-van-2026-12-01.
func pausedTest(t *testing.T) (dir string, data []byte) {
	t.Helper()
	dir = t.TempDir()
	if code, _, errs := tried(t, "grey van\n2198 cc\n4\n4\n", "start", "--dir", dir); code != exitStopped {
		t.Fatalf("start ends with %d: %s", code, errs)
	}
	data, err := os.ReadFile(record.Path(dir, "grey-van-2026-12-01"))
	if err != nil {
		t.Fatal(err)
	}
	return dir, data
}

func put(t *testing.T, dir, name string, data []byte) {
	t.Helper()
	if err := os.WriteFile(record.Path(dir, name), data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// head is the first n lines of a record.
func head(data []byte, n int) []byte {
	return bytes.Join(bytes.SplitAfter(data, []byte("\n"))[:n], nil)
}

// states of everything that can lie in the folder.
func damagedFolder(t *testing.T) (dir string) {
	t.Helper()
	dir, data := pausedTest(t)
	put(t, dir, "cut", data[:len(data)-20])
	put(t, dir, "begun", head(data, 1))
	put(t, dir, "nothing", nil)
	put(t, dir, "late damage", bytes.Replace(data, []byte("2198 cc"), []byte("2199 cc"), -1))
	put(t, dir, "early", bytes.Replace(data, []byte(`"procedure":"intake"`), []byte(`"procedure":"intoke"`), 1))
	put(t, dir, "mailed", bytes.ReplaceAll(data, []byte("\n"), []byte("\r\n")))
	put(t, dir, "other", []byte("hello\n"))
	if bytes.Count(data, []byte("2198 cc")) == 0 || bytes.HasSuffix(bytes.TrimSpace(data), []byte("2198 cc")) {
		t.Fatalf("the answer isn't in the middle of\n%s", data)
	}
	return dir
}

func TestListAsJSON(t *testing.T) {
	dir := damagedFolder(t)
	code, out, _ := tried(t, "", "records", "--json", "--dir", dir)
	var got struct {
		Version int    `json:"records"`
		Folder  string `json:"folder"`
		List    []struct {
			Name, State, Problem, Car string
			Lines                     int
			Last                      *time.Time
		} `json:"list"`
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || code != exitDone || got.Version != 1 || got.Folder != dir {
		t.Fatalf("it ends with %d, %v: %s", code, err, out)
	}
	want := map[string]string{"cut": "open", "begun": "empty", "nothing": "empty", "late damage": "damaged", "early": "damaged",
		"mailed": "damaged", "other": "unreadable", "grey-van-2026-12-01": "open"}
	for _, r := range got.List {
		if r.State != want[r.Name] {
			t.Errorf("%s is %s, want %s", r.Name, r.State, want[r.Name])
		}
		if (r.State == "damaged" || r.State == "unreadable") && r.Problem == "" {
			t.Errorf("%s: no problem is named", r.Name)
		}
		if r.State == "open" && (r.Car != "grey van" || r.Last == nil) {
			t.Errorf("%s: car %q, last %v", r.Name, r.Car, r.Last)
		}
		delete(want, r.Name)
	}
	if len(want) > 0 {
		t.Errorf("not in the list: %v", want)
	}
}

func TestRecordAsJSON(t *testing.T) {
	dir, _ := pausedTest(t)
	code, out, _ := tried(t, "", "records", "show", "grey", "--json", "--dir", dir)
	var got struct {
		Version    int `json:"record"`
		Name       string
		Header     record.Header
		Unverified []int `json:"unverified_lines"`
		Events     []struct {
			Line             int
			Time             time.Time
			Kind, Step, Text string
		}
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || code != exitDone || got.Version != 1 || got.Header.Car != "grey van" {
		t.Fatalf("it ends with %d, %v: %s", code, err, out)
	}
	if len(got.Events) < 3 || got.Events[0].Kind != "started" || got.Events[0].Line != 3 || got.Events[0].Time.IsZero() || got.Unverified == nil {
		t.Errorf("it is %+v", got)
	}
	if code, _, errs := tried(t, "", "records", "show", "grey", "--json", "--events", "--dir", dir); code != exitInput {
		t.Errorf("both forms at once end with %d: %s", code, errs)
	}
}

func TestCheckAsJSON(t *testing.T) {
	dir := damagedFolder(t)
	code, out, _ := tried(t, "", "records", "check", "--json", "--dir", dir)
	if code != exitInput {
		t.Errorf("it ends with %d, want %d", code, exitInput)
	}
	type result struct {
		Version    int `json:"record_check"`
		Name       string
		Sound      bool
		Repairable bool
		Lines      int `json:"sound_lines"`
		Findings   []struct{ Level, What string }
	}
	seen := map[string]result{}
	for line := range strings.Lines(out) {
		var r result
		if err := json.Unmarshal([]byte(line), &r); err != nil || r.Version != 1 {
			t.Fatalf("%v: %s", err, line)
		}
		seen[r.Name] = r
	}
	if r := seen["grey-van-2026-12-01"]; !r.Sound || len(r.Findings) > 0 {
		t.Errorf("the sound one is %+v", r)
	}
	if r := seen["mailed"]; r.Sound || !r.Repairable {
		t.Errorf("the one that mail has changed is %+v", r)
	}
	if r := seen["late damage"]; r.Sound || r.Repairable || r.Lines == 0 || r.Findings[0].Level != "damage" {
		t.Errorf("the damaged one is %+v", r)
	}
}

// hinted command in what the program says, "" where there is none.
func advised(said string) string {
	hint := regexp.MustCompile(`(?m)^hint: .*?dropwalk (\w+(?: (?:check|show|salvage|remove))?)`).FindStringSubmatch(said)
	if hint == nil {
		return ""
	}
	return hint[1]
}

// Whoever follows the hints comes to something that works: no command sends to
// one that sends back.
func TestHintsDoNotGoInCircles(t *testing.T) {
	for _, name := range []string{"cut", "begun", "nothing", "late damage", "early", "mailed"} {
		for _, first := range []string{"resume", "report", "sheet", "records salvage", "records check"} {
			t.Run(name+" "+first, func(t *testing.T) {
				dir := damagedFolder(t)
				seen := map[string]bool{}
				for command := first; ; {
					args := append(strings.Fields(command), name, "--dir", dir)
					if command == "start" || command == "records show" || command == "records remove" {
						return // they work by themselves
					}
					if seen[command] {
						t.Fatalf("%s comes again after %v", command, seen)
					}
					seen[command] = true
					if command == "records check" && name == "mailed" {
						args = append(args, "--repair")
					}
					code, _, errs := tried(t, "", args...)
					if code == exitDone || code == exitStopped {
						return
					}
					if command = advised(errs); command == "" {
						t.Fatalf("%v ends with %d and leads nowhere: %s", args, code, errs)
					}
				}
			})
		}
	}
}

func TestCheckTellsOfSoundRecords(t *testing.T) {
	dir := damagedFolder(t)
	for name, want := range map[string]string{
		"grey-van-2026-12-01": "grey-van-2026-12-01: sound, 6 lines\n",
		"begun":               "begun: sound, but nothing was answered in it\n",
	} {
		if _, out, errs := tried(t, "", "records", "check", name, "--dir", dir); out != want || errs != "" {
			t.Errorf("of %s it says %q and %q, want %q", name, out, errs, want)
		}
	}
}

func TestSalvage(t *testing.T) {
	dir := damagedFolder(t)
	before, _ := os.ReadFile(record.Path(dir, "late damage"))
	code, _, errs := tried(t, "", "records", "check", "late damage", "--dir", dir)
	if want := "hint: dropwalk records salvage 'late damage' --dir " + dir + " makes a new record of the 4 lines before the damage"; code != exitInput || !strings.Contains(errs, want) {
		t.Errorf("check ends with %d and says\n%s\nwant %s", code, errs, want)
	}
	code, _, errs = tried(t, "", "records", "salvage", "late damage", "--dir", dir)
	if code != exitDone || !strings.Contains(errs, "late-damage-sound holds the 4 sound lines") || !strings.Contains(errs, "dropwalk resume late-damage-sound") {
		t.Fatalf("salvage ends with %d and says %s", code, errs)
	}
	if !strings.Contains(errs, "  - How large is the engine? 2199 cc (this line was altered)\n  - How many cylinders has it? 4\n") {
		t.Errorf("what stands behind the damage isn't listed:\n%s", errs)
	}
	if after, _ := os.ReadFile(record.Path(dir, "late damage")); !bytes.Equal(before, after) {
		t.Error("the damaged file was changed")
	}
	code, _, errs = tried(t, "ready\n", "resume", "late-damage-sound", "--dir", dir)
	if code != exitStopped || !strings.Contains(errs, "How large is the engine?") {
		t.Errorf("going on ends with %d and says\n%s", code, errs)
	}
	put(t, dir, "late-damage-copy", before)
	for _, c := range []struct{ args, want string }{
		{"records salvage grey", "grey-van-2026-12-01 needs no salvage"},
		{"records salvage mailed", "--repair"},
		{"records salvage early", "no answer stands before the damage"},
		{"records salvage late-damage-copy grey-van-2026-12-01", "hint: another name"},
		{"records salvage late-damage-copy ä/ö", `hint: such as "ae-oe"`},
	} {
		code, _, errs := tried(t, "", append(strings.Fields(c.args), "--dir", dir)...)
		if code != exitInput || !strings.Contains(errs, c.want) {
			t.Errorf("%s ends with %d and says %q, want %q", c.args, code, errs, c.want)
		}
	}
}

// Going on with a damaged record leads to its salvage at once.
func TestResumeOfADamagedRecord(t *testing.T) {
	dir := damagedFolder(t)
	code, _, errs := tried(t, "", "resume", "late damage", "--dir", dir)
	if want := "hint: dropwalk records salvage 'late damage'"; code != exitInput || !strings.Contains(errs, want) {
		t.Errorf("it ends with %d and says %q, want %q", code, errs, want)
	}
}

// A record goes by the name of its car too, as a person writes it, and every
// hint can be typed as it stands.
func TestNamesOfPeople(t *testing.T) {
	dir := t.TempDir()
	if code, _, errs := tried(t, "Grüner Kombi\n", "start", "--dir", dir); code != exitStopped || !strings.Contains(errs, "resume gruener-kombi-2026-12-01") {
		t.Fatalf("start ends with %d: %s", code, errs)
	}
	data, _ := os.ReadFile(record.Path(dir, "gruener-kombi-2026-12-01"))
	put(t, dir, "mein schöner wagen", data)
	for _, name := range []string{"Grüner Kombi", "grüner", "gruener", "mein schöner wagen", "mein"} {
		if code, out, errs := tried(t, "", "records", "show", name, "--dir", dir); code != exitDone || !strings.Contains(out, "car Grüner Kombi") {
			t.Errorf("%q: it ends with %d: %s", name, code, errs)
		}
	}
	code, _, errs := tried(t, "", "report", "mein", "--dir", dir)
	if want := "hint: dropwalk resume 'mein schöner wagen' --dir "; code != exitInput || !strings.Contains(errs, want) {
		t.Errorf("it ends with %d and says %q, want %q", code, errs, want)
	}
}

func TestTooEarlySaysWhatIsMissing(t *testing.T) {
	dir := t.TempDir()
	tried(t, "grey van\n", "start", "--dir", dir)
	for _, command := range []string{"report", "sheet", "assess"} {
		code, _, errs := tried(t, "", command, "grey", "--dir", dir)
		if code != exitInput || !strings.Contains(errs, "still missing: how large the engine is") || !strings.Contains(errs, "hint: dropwalk resume grey-van-2026-12-01 --dir "+dir+" goes on and asks for it") {
			t.Errorf("%s ends with %d and says\n%s", command, code, errs)
		}
	}
}

// A folder that isn't there is named, not the file that would have been written
// on the way.
func TestOutIntoNoFolder(t *testing.T) {
	dir, _ := pausedTest(t)
	none := filepath.Join(dir, "none")
	for _, command := range []string{"report", "sheet"} {
		code, _, errs := tried(t, "", command, "grey", "--dir", dir, "--out", filepath.Join(none, "x.md"))
		if want := fmt.Sprintf("dropwalk: there is no folder %q\nhint: ", none); code != exitInput || !strings.HasPrefix(errs, want) {
			t.Errorf("%s ends with %d and says %q, want %q", command, code, errs, want)
		}
	}
}

// Nor is it named where a folder stands in the way, or a file in place of one.
func TestPathsOfTheWrongKind(t *testing.T) {
	dir, _ := pausedTest(t)
	file := record.Path(dir, "grey-van-2026-12-01")
	for _, c := range []struct{ line, want string }{
		{"sheet grey --dir " + dir + " --out " + dir, fmt.Sprintf("dropwalk: %q is a folder\nhint: name a file in it", dir)},
		{"records --dir " + file, fmt.Sprintf("dropwalk: %q is a file, or lies in one\nhint: name a folder there", file)},
		{"report grey --dir " + file, fmt.Sprintf("dropwalk: %q is a file, or lies in one\n", file)},
		{"sheet grey --dir " + dir + " --out " + filepath.Join(file, "x"), "is a file, or lies in one\n"},
	} {
		code, _, errs := tried(t, "", strings.Fields(c.line)...)
		if code != exitInput || !strings.Contains(errs, c.want) || strings.Contains(errs, ".new-") {
			t.Errorf("%s ends with %d and says %q, want %q", c.line, code, errs, c.want)
		}
	}
}

// The sheet of a test is the same in both forms.
func TestSheetAsJSON(t *testing.T) {
	dir, _ := pausedTest(t)
	file := filepath.Join(dir, "sheet.json")
	if code, _, errs := tried(t, "", "sheet", "grey", "--json", "--dir", dir, "--out", file); code != exitDone {
		t.Fatalf("it ends with %d: %s", code, errs)
	}
	text, err := os.ReadFile(file)
	if err != nil || !bytes.HasPrefix(text, []byte(`{"sheet":1,`)) || bytes.Count(text, []byte("\n")) != 1 {
		t.Fatalf("%v: %s", err, text)
	}
	_, yaml, _ := tried(t, "", "sheet", "grey", "--dir", dir)
	if err := os.WriteFile(filepath.Join(dir, "sheet.yaml"), []byte(yaml), 0o600); err != nil {
		t.Fatal(err)
	}
	_, a, _ := tried(t, "", "assess", "--json", file)
	_, b, _ := tried(t, "", "assess", "--json", filepath.Join(dir, "sheet.yaml"))
	if a != b || a == "" {
		t.Errorf("the JSON form is judged\n%s\nthe YAML form\n%s", a, b)
	}
}

func TestEmptyFolder(t *testing.T) {
	code, out, _ := tried(t, "", "records", "--json", "--dir", filepath.Join(t.TempDir(), "none"))
	if code != exitDone || !strings.HasSuffix(out, `"list":[]}`+"\n") {
		t.Errorf("it ends with %d and prints %s", code, out)
	}
	if clean := terminal.Clean(out); clean != out {
		t.Errorf("%q isn't safe to show", out)
	}
}
