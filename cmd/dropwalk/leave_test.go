//go:build linux

package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
)

// stage is one prompt of the test of an invented car.
type stage struct {
	slot, question, answer string
	lines                  int // of the record when it shows
}

// told answers the questions that need a certain answer, by a piece of each.
var told = [][2]string{
	{"What do you call", "grey van"}, {"How large is the engine", "1998 cc"}, {"How many cylinders", "4"}, {"Which fuel", "petrol"},
	{"How does it breathe", "natural"}, {"does it make peak power", "6000"}, {"Which pieces", "mouth, filter, duct"},
	{"Can you measure", "now"}, {"What size is", "60 mm"}, {"range of the gauge", "25 inH2O by 0.5 inH2O"}, {"Where will you run", "track"},
	{"leak check show", "15 inH2O, 14.8 inH2O, 30"}, {"gauge show at rest", "0 inH2O"}, {"Which warning lamps", "none"},
	{"keep         it", "keep"}, {"What did the gauge show", "12.5 inH2O at 6000"},
	{"Type ready", "ready"}, {"when it is done", "done"}, {"Press Enter to go on", ""},
}

// act plays the whole intake and returns its prompts, by step, and the lines of
// its record. The first lines of a record are a record themselves: of the test as
// it stood then.
func act(t *testing.T) (map[string]stage, [][]byte) {
	t.Helper()
	dir := t.TempDir()
	s := sit(t, dir, "start")
	done := make(chan int, 1)
	go func() { done <- s.end() }()
	seen := 0
	for n := 1; ; n++ {
		for strings.Count(s.screen(), "\n> ") < n {
			select {
			case code := <-done:
				if code != 0 {
					t.Fatalf("exit code %d:\n%s", code, s.screen())
				}
				return stagesOf(t, filepath.Join(dir, onlyRecord(t, dir)))
			case <-time.After(time.Millisecond):
			}
		}
		shown := strings.Join(strings.Fields(s.screen()[seen:]), " ")
		seen = len(s.screen())
		answer := "?"
		for _, a := range told {
			if strings.Contains(shown, strings.Join(strings.Fields(a[0]), " ")) {
				answer = a[1]
				break
			}
		}
		s.typeLine(answer)
	}
}

func onlyRecord(t *testing.T, dir string) string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.jsonl"))
	if err != nil || len(files) != 1 {
		t.Fatalf("records %v, %v; want one", files, err)
	}
	return filepath.Base(files[0])
}

// stagesOf reads the prompts of a record from their answers.
func stagesOf(t *testing.T, path string) (map[string]stage, [][]byte) {
	t.Helper()
	file := bytes.SplitAfter(read(t, path), []byte("\n"))
	stages := map[string]stage{}
	for i, line := range file {
		var l struct {
			R struct {
				Kind string
				Body struct{ Slot, Step, Seen, Raw string }
			}
		}
		if len(line) == 0 {
			continue
		}
		if err := json.Unmarshal(line, &l); err != nil {
			t.Fatal(err)
		}
		e := l.R.Body
		if _, known := stages[e.Step]; l.R.Kind != "answered" || known {
			continue
		}
		stages[e.Step] = stage{e.Slot, question(e.Seen), e.Raw, i}
	}
	return stages, file
}

// question is the question in a text that was shown, behind the cautions and
// before the lines of a hold. A page has none.
func question(seen string) string {
	for line := range strings.SplitSeq(seen, "\n") {
		if !regexp.MustCompile(`^(danger|warning|caution|notice): `).MatchString(line) {
			return strings.Join(strings.Fields(line), " ")
		}
	}
	return ""
}

// prompts at which sittings are left, every kind of them.
var left = []string{
	"displacement", "fuel", "peak-rpm", "mass-flow", "pieces", "measure-pieces", "size", "no-tap", "gauge", "air", "place", "place-hold",
	"people-hold", "off-hold", "hose", "drill", "connect", "leak-check", "leak-numbers", "zero", "run", "parked", "value", "standing", "owed", "lamps",
}

// ways to leave a sitting at a prompt at which half an answer is typed. Each
// returns the exit code that it leads to.
var ways = []struct {
	name  string
	alone bool // nobody is left to read
	leave func(*window) int
}{
	{"Ctrl-C", false, func(w *window) int { w.types("\x03"); return w.end() }},
	{"Ctrl-D", false, func(w *window) int { w.types("\x04"); return w.end() }},
	{"SIGQUIT", false, func(w *window) int { _ = w.cmd.Process.Signal(syscall.SIGQUIT); return w.end() }},
	{"SIGTERM", false, func(w *window) int { _ = w.cmd.Process.Signal(syscall.SIGTERM); return w.end() }},
	{"window closed", true, func(w *window) int { w.slave.Close(); w.keys.Close(); return w.end() }},
	{"kill -9", true, func(w *window) int { _ = w.cmd.Process.Kill(); return w.end() }},
	{"resize", false, func(w *window) int {
		if err := pty.Setsize(w.keys, &pty.Winsize{Cols: 40, Rows: 24}); err != nil {
			w.t.Fatal(err)
		}
		return 0
	}},
}

// Whichever prompt a sitting is left at, and however: what was answered is on
// the disk, half an answer is none, the terminal is as it was, and the command
// that goes on is shown to whoever is there.
func TestLeaveAnywhere(t *testing.T) {
	stages, file := act(t)
	type job struct{ step, way int }
	jobs := make(chan job)
	var workers sync.WaitGroup
	for range 6 { // a sitting mostly waits
		workers.Go(func() {
			for j := range jobs {
				t.Run(left[j.step]+"/"+ways[j.way].name, func(t *testing.T) {
					s, ok := stages[left[j.step]]
					if !ok {
						t.Fatalf("the intake never comes to %s", left[j.step])
					}
					leaveAt(t, s, file[:s.lines], j.way)
				})
			}
		})
	}
	for step := range left {
		for way := range ways {
			jobs <- job{step, way}
		}
	}
	close(jobs)
	workers.Wait()
}

func leaveAt(t *testing.T, s stage, file [][]byte, way int) {
	dir := t.TempDir()
	path := filepath.Join(dir, "grey-van.jsonl")
	if err := os.WriteFile(path, slices.Concat(file...), 0o600); err != nil {
		t.Fatal(err)
	}
	w := openWindow(t, dir, "resume")
	w.reach(s.question)
	before := read(t, path)
	half := s.answer[:len(s.answer)/2]
	w.types(half)
	w.wait(func() bool { return strings.HasSuffix(w.screen(), "\x1b[?25h"+half) })
	code := ways[way].leave(w)
	switch ways[way].name {
	case "resize":
		answerOn(t, w, s, path, before)
		return
	case "kill -9":
		if code != -1 {
			t.Errorf("exit code %d, want -1", code)
		}
	default:
		if code != 3 {
			t.Errorf("exit code %d, want 3: %v", code, w.cmd.ProcessState)
		}
	}
	sameRecord(t, path, before)
	if !ways[way].alone {
		w.wait(func() bool { return strings.Contains(w.screen(), "dropwalk resume grey-van") })
		w.restored()
	}
	if ways[way].name == "kill -9" {
		w.cursorShown()
		check := sit(t, dir, "records", "check", "grey")
		if got := check.end(); got != 0 {
			t.Errorf("the record is not sound any more: %s", check.screen())
		}
	}
}

// answerOn answers the prompt after its window changed its size, and leaves.
func answerOn(t *testing.T, w *window, s stage, path string, before []byte) {
	shown := strings.Count(w.screen(), "[Part")
	w.types(s.answer[len(s.answer)/2:] + "\r")
	var after []byte
	w.wait(func() bool { after = read(t, path); return len(after) > len(before) })
	if !bytes.HasPrefix(after, before) {
		t.Error("the record lost what stood in it")
	}
	line, _, _ := bytes.Cut(after[len(before):], []byte("\n"))
	for _, want := range []string{`"kind":"answered"`, `"slot":"` + s.slot, `"raw":"` + s.answer + `"`} {
		// A page answers with nothing; a hold or a step with its word.
		if !bytes.Contains(line, []byte(want)) && !(s.answer == "" && strings.Contains(want, "raw")) {
			t.Errorf("the answer is recorded without %s: %s", want, line)
		}
	}
	w.wait(func() bool {
		text := w.screen()
		return strings.Count(text, "[Part") > shown && strings.HasSuffix(text, "\x1b[?25h") || strings.Contains(text, "The test is over")
	})
	w.types("\x04")
	if got := w.end(); got != 3 && got != 0 {
		t.Errorf("exit code %d, want 3", got)
	}
	w.restored()
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// sameRecord holds that the record is what it was, byte for byte.
func sameRecord(t *testing.T, path string, before []byte) {
	t.Helper()
	if after := read(t, path); !bytes.Equal(before, after) {
		t.Errorf("the record has changed:\nbefore %s\nafter  %s", before, after)
	}
}

// tail is the screen from the last prompt on.
func (w *window) tail() string {
	text := w.screen()
	return text[max(0, strings.LastIndex(text, "[Part")):]
}

// reach answers what comes first after a pause until want shows: the car, the
// leak check with its numbers, the hose, and what is closed up.
func (w *window) reach(want string) {
	w.t.Helper()
	if want == "" { // a page
		want = "Press Enter to go on."
	}
	typed := 0
	for range 8 {
		w.wait(func() bool { return len(w.screen()) > typed+20 && strings.HasSuffix(w.screen(), "\x1b[?25h") })
		shown := strings.Join(strings.Fields(w.tail()), " ")
		answer := ""
		switch {
		case strings.Contains(shown, want):
			return
		case strings.Contains(shown, "Type ready"):
			answer = "ready"
		case strings.Contains(shown, "with a syringe"), strings.Contains(shown, "Connect the hose"):
			answer = "done"
		case strings.Contains(shown, "leak check show"):
			answer = "?"
		default:
			w.t.Fatalf("%q doesn't come; shown: %q", want, w.screen())
		}
		typed = len(w.screen()) + len(answer)
		w.types(answer + "\r")
	}
	w.t.Fatalf("%q doesn't come; shown: %q", want, w.screen())
}

// restored holds that the terminal is set as it was before the program came.
func (w *window) restored() {
	w.t.Helper()
	if now := w.mode(); now != w.before {
		w.t.Errorf("the terminal is set to %+v, want %+v", now, w.before)
	}
	w.cursorShown()
}

func (w *window) cursorShown() {
	w.t.Helper()
	if text := w.screen(); strings.LastIndex(text, "\x1b[?25l") > strings.LastIndex(text, "\x1b[?25h") {
		w.t.Errorf("the cursor is hidden; shown: %q", text)
	}
}

// A killed program can't set its terminal back. The shell that it was called
// from does: it is as usable as before.
func TestShellSetsTheTerminalBackAfterAKill(t *testing.T) {
	shell, err := exec.LookPath("bash")
	if err != nil {
		t.Skip("there is no bash here")
	}
	dir := t.TempDir()
	w := openWindowOf(t, shell, "--norc", "--noprofile", "-i")
	self := link(t)
	w.types(self + " start --dir " + dir + "\n")
	w.wait(func() bool {
		return strings.HasSuffix(w.screen(), "\x1b[?25h") && strings.Contains(w.screen(), "What do you call")
	})
	w.types("grey van\r")
	w.wait(func() bool {
		return strings.HasSuffix(w.screen(), "\x1b[?25h") && strings.Contains(w.screen(), "How large")
	})
	if w.cooked() {
		t.Fatal("keys are not read one by one")
	}
	if err := syscall.Kill(w.foreground(), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	w.wait(func() bool { return strings.Contains(w.screen(), "Killed") })
	w.types("echo still $((6*7))\n")
	w.wait(func() bool { return strings.Contains(w.screen(), "still 42") })
	w.types("stty -a\n")
	w.wait(func() bool { return strings.Contains(w.screen(), " echo ") && strings.Contains(w.screen(), " icanon ") })
	w.types("exit\n")
	time.Sleep(10 * time.Millisecond)
}

// A reading far from what can be expected is asked back, on prompts and on plain
// lines alike; marked as doubtful it stands on the sheet with its reason, and as it
// was typed in the record.
func TestDoubtfulReadingComesToTheSheet(t *testing.T) {
	stages, file := act(t)
	s := stages["value"]
	for _, plain := range []bool{false, true} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "grey-van.jsonl"), slices.Concat(file[:s.lines]...), 0o600); err != nil {
			t.Fatal(err)
		}
		args := []string{"resume"}
		if plain {
			args = append(args, "--plain")
		}
		w := openWindow(t, dir, args...)
		for n, line := range []string{"ready", "done", "?", "done", "ready", "0.3 at 6000", "doubtful it hung", "pause"} {
			if plain {
				w.wait(func() bool { return strings.Count(w.screen(), "\n> ") > n })
				w.types(line + "\n")
				continue
			}
			w.wait(func() bool {
				return strings.Count(w.screen(), "\x1b[2K> ") > n && strings.HasSuffix(w.screen(), "\x1b[?25h")
			})
			w.types(line + "\r")
		}
		if code := w.end(); code != 3 {
			t.Fatalf("plain %v: exit code %d: %s", plain, code, w.screen())
		}
		show := sit(t, dir, "sheet", "grey")
		if code := show.end(); code != 0 || !strings.Contains(show.screen(), "doubtful: it hung") || !strings.Contains(show.screen(), "0.3 inH2O") {
			t.Errorf("plain %v: the sheet (%d) is\n%s", plain, code, show.screen())
		}
		wantBy(t, dir, `"raw":"0.3 at 6000, doubtful: it hung"`)
	}
}

// What was typed and is asked back when a sitting ends is no answer yet; it is
// kept as a note all the same.
func TestLeaveInDoubt(t *testing.T) {
	stages, file := act(t)
	for _, way := range ways[:4] {
		dir := t.TempDir()
		path := filepath.Join(dir, "grey-van.jsonl")
		if err := os.WriteFile(path, slices.Concat(file[:stages["value"].lines]...), 0o600); err != nil {
			t.Fatal(err)
		}
		w := openWindow(t, dir, "resume")
		w.reach(stages["value"].question)
		before := read(t, path)
		w.types("0.3 at 6000\r")
		w.wait(func() bool {
			return strings.Contains(w.tail(), "doubtful WHY") && strings.HasSuffix(w.screen(), "\x1b[?25h")
		})
		if got := way.leave(w); got != 3 {
			t.Errorf("%s: exit code %d, want 3", way.name, got)
		}
		after := read(t, path)
		if !bytes.HasPrefix(after, before) {
			t.Errorf("%s: the record lost what stood in it", way.name)
		}
		added := string(after[min(len(before), len(after)):])
		if !strings.Contains(added, `"kind":"noted"`) || !strings.Contains(added, "not taken yet: 0.3 at 6000") || strings.Count(added, "\n") != 1 {
			t.Errorf("%s: the record gained %s, want a note alone", way.name, added)
		}
		if !way.alone {
			w.restored()
		}
	}
}
