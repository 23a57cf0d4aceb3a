package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// walker types what a first-timer would: "don't know" wherever it is taken. It
// answers through the real line asker and looks at every screen.
type walker struct {
	t       *testing.T
	width   int
	typed   map[string]string // by step; where it is missing: ?, ready, done or Enter
	asked   map[engine.Kind]int
	tallest int
	screen  string // the tallest one
}

func (w *walker) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	if refused != nil {
		w.t.Fatalf("at %s the answer was refused: %v", p.Slot, refused)
	}
	w.asked[p.Kind]++
	var b bytes.Buffer
	asker := terminal.NewLines(terminal.Streams{In: strings.NewReader(w.line(p) + "\n"), Err: &b, Width: w.width, InTTY: true})
	answer, err := asker.Ask(ctx, p, nil)
	if errors.Is(err, session.ErrPause) {
		w.t.Fatalf("at %s the line %q was not taken:\n%s", p.Slot, w.line(p), &b)
	}
	w.look(p, b.String())
	return answer, err
}

// look holds every screen but the pages of results to one screen.
func (w *walker) look(p engine.Prompt, screen string) {
	for line := range strings.SplitSeq(screen, "\n") {
		if len([]rune(line)) > w.width {
			w.t.Errorf("at %s a line is wider than %d columns: %q", p.Slot, w.width, line)
		}
	}
	if n := strings.Count(screen, "\n"); p.Kind != engine.Show && n > w.tallest {
		w.tallest, w.screen = n, screen
	}
}

func (w *walker) line(p engine.Prompt) string {
	if text, ok := w.typed[p.Step]; ok {
		return text
	}
	switch p.Kind {
	case engine.Hold:
		return "ready"
	case engine.Do, engine.Owed:
		return "done"
	case engine.Ask:
		return "?"
	}
	return ""
}

func (w *walker) Say(session.Message) {}

// memory is a store that forgets.
type memory struct{}

func (memory) Append(string, any) error { return nil }

// discard takes what nobody reads.
type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }

// least is what has to be answered; the readings are those of an invented
// car.
var least = map[string]string{
	"displacement": "1998 cc", "measure-pieces": "later", "place": "track", "value": "12.5 inH2O at 6000",
}

func walk(t *testing.T, w *walker) {
	t.Helper()
	p, err := findProcedure(usualProcedure, quantity.AsTyped)
	if err != nil {
		t.Fatal(err)
	}
	w.t, w.asked = t, map[engine.Kind]int{}
	s := &session.Session{Run: engine.NewRun(p, &advice.Matter{}), Store: memory{}, Asker: w}
	if err := s.Begin(nil); err != nil {
		t.Fatal(err)
	}
	if err := s.Drive(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// tallestScreen is the height of the smallest terminal that is promised.
const tallestScreen = 24

// The whole test, from the first question to closing up: each prompt is one
// screen, and no line is wider than the terminal. At 40 columns a screen may
// scroll.
func TestEveryPromptIsOneScreen(t *testing.T) {
	for _, width := range []int{78, 39} {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			for _, place := range []string{"track", "rolling-road"} {
				w := &walker{width: width, typed: map[string]string{}}
				for step, text := range least {
					w.typed[step] = text
				}
				w.typed["place"] = place
				walk(t, w)
				if width == 78 && w.tallest > tallestScreen {
					t.Errorf("%s: a prompt takes %d lines, want at most %d:\n%s", place, w.tallest, tallestScreen, w.screen)
				}
				t.Logf("%s: tallest prompt at %d columns: %d lines; asked %v", place, width, w.tallest, w.asked)
			}
		})
	}
}
