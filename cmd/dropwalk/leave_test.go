//go:build linux

package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"

	"dropwalk/advice"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
	"dropwalk/procedures"
)

// stage is one prompt of the test of an invented car.
type stage struct {
	prompt engine.Prompt
	lines  int    // of the record when it shows
	answer string // what is typed there
}

// actor answers a whole test and remembers every prompt.
type actor struct {
	log    *record.Log
	stages map[string]stage // by step: the first prompt of each
}

// lines answer the steps that need a certain answer.
var lines = map[string]string{
	"displacement": "1998 cc", "measure-pieces": "now", "place": "track", "peak-rpm": "6000", "fuel": "petrol",
	"induction": "natural", "gauge": "25 inH2O by 0.5 inH2O", "leak-numbers": "15 inH2O, 14.8 inH2O, 30", "zero": "0 inH2O",
	"zero-after": "0 inH2O", "value": "12.5 inH2O at 6000", "lamps": "none", "size": "60 mm",
	"car-name": "grey van", "cylinders": "4", "pieces": "mouth, filter, duct",
}

func lineFor(p engine.Prompt) string {
	if text, ok := lines[p.Step]; ok {
		return text
	}
	switch p.Kind {
	case engine.Ask:
		return "?"
	case engine.Hold:
		return "ready"
	case engine.Do, engine.Owed:
		return "done"
	}
	return ""
}

// Ask implements session.Asker.
func (a *actor) Ask(_ context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	if refused != nil {
		if refused.Doubt == nil {
			return engine.Answer{}, fmt.Errorf("at %s: %w", p.Slot, refused)
		}
		return engine.Answer{Text: refused.Doubt.Keep}, nil
	}
	if _, seen := a.stages[p.Step]; !seen {
		a.stages[p.Step] = stage{p, a.log.Seq(), lineFor(p)}
	}
	return engine.Answer{Text: lineFor(p)}, nil
}

// Say implements session.Asker.
func (a *actor) Say(session.Message) {}

// Append implements session.Store.
func (a *actor) Append(kind string, body any) error {
	_, err := a.log.Append(kind, body)
	return err
}

// act plays the whole intake in this process and returns its prompts and the
// lines of its record. The first lines of a record are a record themselves: of
// the test as it stood then.
func act(t *testing.T) (map[string]stage, [][]byte) {
	t.Helper()
	src, err := procedures.FS.ReadFile("intake.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, faults := engine.Load("intake.yaml", src, &advice.Matter{})
	if p == nil {
		t.Fatal(faults)
	}
	log, err := record.Create(t.TempDir(), "grey-van", record.Header{Program: "dropwalk", Procedure: p.Name, ProcedureSHA256: p.SHA256(), Car: "grey van"}, record.Env{})
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	a := &actor{log: log, stages: map[string]stage{}}
	if err := a.Append(session.ProcedureKind, session.Procedure{Name: p.Name, Units: "as-typed", Text: string(src)}); err != nil {
		t.Fatal(err)
	}
	s := &session.Session{Run: engine.NewRun(p, &advice.Matter{}), Store: a, Asker: a, By: "test"}
	if err := s.Begin(nil); err != nil {
		t.Fatal(err)
	}
	if err := s.Drive(t.Context()); err != nil {
		t.Fatal(err)
	}
	file, err := os.ReadFile(log.Path())
	if err != nil {
		t.Fatal(err)
	}
	return a.stages, bytes.SplitAfter(file, []byte("\n"))
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
	w.reach(s.prompt)
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
	for _, want := range []string{`"kind":"answered"`, `"slot":"` + s.prompt.Slot, `"raw":"` + s.answer + `"`} {
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

// sameRecord holds that the record is what it was, and opens.
func sameRecord(t *testing.T, path string, before []byte) {
	t.Helper()
	if after := read(t, path); !bytes.Equal(before, after) {
		t.Errorf("the record has changed:\nbefore %s\nafter  %s", before, after)
	}
	log, found, err := record.Open(path, record.Env{})
	if err != nil {
		t.Fatalf("the record doesn't open: %v", err)
	}
	defer log.Close()
	if len(found.Did) > 0 || len(log.Warnings()) > 0 {
		t.Errorf("opening it takes %v, %v; want nothing", found.Did, log.Warnings())
	}
}

// tail is the screen from the last prompt on.
func (w *window) tail() string {
	text := w.screen()
	return text[max(0, strings.LastIndex(text, "[Part")):]
}

// reach answers what comes first after a pause until p shows: the car, and the
// leak check with its numbers.
func (w *window) reach(p engine.Prompt) {
	w.t.Helper()
	want := strings.Join(strings.Fields(p.Text), " ")
	if p.Kind == engine.Show {
		want = "Press Enter to go on."
	}
	typed := 0
	for range 5 {
		w.wait(func() bool { return len(w.screen()) > typed+20 && strings.HasSuffix(w.screen(), "\x1b[?25h") })
		shown := strings.Join(strings.Fields(w.tail()), " ")
		answer := ""
		switch {
		case strings.Contains(shown, want):
			return
		case strings.Contains(shown, "Type ready"):
			answer = "ready"
		case strings.Contains(shown, "with a syringe"):
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
