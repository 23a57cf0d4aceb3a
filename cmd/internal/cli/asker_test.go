//go:build linux

package cli

import (
	"context"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/creack/pty"
	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/cmd/internal/prompts"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// typing is a person at a sitting, who types line by line what a step has in
// store, and when that is used up what its kind takes.
type typing struct {
	session.Asker
	mu    sync.Mutex
	p     engine.Prompt
	store map[string][]string
	lines int

	script func(engine.Prompt) string // in place of the store, where there is one
}

func (y *typing) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	y.mu.Lock()
	y.p = p
	y.mu.Unlock()
	return y.Asker.Ask(ctx, p, refused)
}

func (y *typing) line() string {
	y.mu.Lock()
	defer y.mu.Unlock()
	if y.lines++; y.lines > 2000 {
		panic("stuck at " + y.p.Slot)
	}
	if y.script != nil {
		return y.script(y.p)
	}
	if left := y.store[y.p.Step]; len(left) > 0 {
		y.store[y.p.Step] = left[1:]
		return left[0]
	}
	switch y.p.Kind {
	case engine.Hold:
		return "ready"
	case engine.Do, engine.Owed:
		return "done"
	case engine.Ask:
		return "?"
	}
	return ""
}

// Read is a keyboard whose lines come through a pipe.
func (y *typing) Read(p []byte) (int, error) { return copy(p, y.line()+"\n"), nil }

// atPrompts types on a terminal, with slips of the hand in every line, as soon
// as a line is waited for.
func (y *typing) atPrompts(t *testing.T) {
	t.Helper()
	master, slave, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { slave.Close(); master.Close() })
	if err := pty.Setsize(master, &pty.Winsize{Cols: 80, Rows: 24}); err != nil {
		t.Fatal(err)
	}
	go func() {
		var shown string
		data := make([]byte, 4096)
		for {
			n, err := master.Read(data)
			if err != nil {
				return
			}
			shown += string(data[:n])
			if strings.HasSuffix(shown, "\x1b[?25h") {
				shown = ""
				master.WriteString("\x1b[1;5C\x1b[15~" + y.line() + "x\x1bq\x7f\r")
			}
		}
	}()
	if y.Asker, err = prompts.New(slave, slave, terminal.Open(slave, slave, slave, os.Getenv)); err != nil {
		t.Fatal(err)
	}
}

// diary keeps what a record would be handed, as it would stand there.
type diary struct{ lines []map[string]any }

func (d *diary) Append(kind string, body any) error {
	text, err := json.Marshal(body)
	if err != nil {
		return err
	}
	line := map[string]any{}
	if err := json.Unmarshal(text, &line); err != nil {
		return err
	}
	line["kind"] = kind
	d.lines = append(d.lines, line)
	return nil
}

// sitting runs the whole shipped procedure with slips, words and corrections
// on the way.
func (y *typing) sitting(t *testing.T, by string) []map[string]any {
	t.Helper()
	y.store = map[string][]string{
		"car-name":       {"help", "note it rains", "yellow estate"},
		"displacement":   {"", "NaN", "1e999 L", "12,5 furlongs", "1998 cc", "2.0 L"},
		"cylinders":      {"back", "", "4"},
		"fuel":           {"trubo", "petrol"},
		"induction":      {"4", "1"},
		"air":            {"18 C, 1011 hPa, 60 %"},
		"place":          {"track"},
		"measure-pieces": {"later"},
		"place-hold":     {"", "yes", "1", "ready"},
		"value":          {"125C at 6000", "12,5 at 6000", "12.4 inH2O at 6000"},
		"lamps":          {"none"},
	}
	for range 40 {
		y.store["value"] = append(y.store["value"], "12.5 inH2O at 6000")
	}
	var d diary
	s := &session.Session{Run: engine.NewRun(loadIntake(t), &advice.Matter{}), Store: &d, Asker: y, By: by}
	if err := s.Begin(nil); err != nil {
		t.Fatal(err)
	}
	if err := s.Drive(t.Context()); err != nil {
		t.Fatalf("at %s: %v", y.p.Slot, err)
	}
	return d.lines
}

// How a line is typed changes nothing in a record but the name of the way.
func TestAskersGiveTheSameEvents(t *testing.T) {
	plain := &typing{}
	plain.Asker = terminal.NewLines(terminal.Streams{In: plain, Err: discard{}, Width: 78})
	want := plain.sitting(t, linesAsker)

	rich := &typing{}
	rich.atPrompts(t)
	got := rich.sitting(t, promptsAsker)

	for name, lines := range map[string][]map[string]any{linesAsker: want, promptsAsker: got} {
		for i, line := range lines {
			if line["by"] != name {
				t.Fatalf("event %d is by %v, want %s", i, line["by"], name)
			}
			delete(line, "by")
			delete(line, "raw")
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("events differ (-plain lines +prompts):\n%.4000s", diff)
	}
	kinds := map[any]int{}
	for _, line := range want {
		kinds[line["kind"]]++
	}
	t.Logf("%d lines typed, events: %v", plain.lines, kinds)
	for _, kind := range []string{engine.Answered, engine.Corrected, engine.Refused, engine.Noted, engine.Chosen, engine.Finished} {
		if kinds[kind] == 0 {
			t.Errorf("no event %q in the sitting", kind)
		}
	}
	if plain.lines != rich.lines || !slices.Equal(keys(plain.store), keys(rich.store)) {
		t.Errorf("%d lines at plain lines, %d at prompts", plain.lines, rich.lines)
	}
}

func keys(m map[string][]string) []string {
	var list []string
	for k, left := range m {
		if len(left) > 0 {
			list = append(list, k)
		}
	}
	slices.Sort(list)
	return list
}

// --plain and whatever is no terminal come to plain lines.
func TestAskerOfPipes(t *testing.T) {
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	defer w.Close()
	env := func(string) string { return "xterm" }
	a := &app{Streams: terminal.Open(r, w, w, env), env: env}
	if _, by := a.asker(); by != linesAsker {
		t.Errorf("a pipe is asked by %s", by)
	}
}
