package terminal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

func linesOver(in io.Reader, width int) (*Lines, *bytes.Buffer) {
	var b bytes.Buffer
	return NewLines(Streams{In: in, Err: &b, Width: width, InTTY: true}), &b
}

func TestAsk(t *testing.T) {
	p := asks
	p.Car = engine.Parked
	p.Place = engine.Place{Part: "The car", PartNo: 1, Parts: 7, StepNo: 2, Steps: 31, Skipped: 1}
	p.Why = "With the rpm it gives the air flow."
	l, out := linesOver(strings.NewReader("help\n\n1998 cc\n"), 78)
	got, err := l.Ask(t.Context(), p, nil)
	if err != nil || got != (engine.Answer{Text: "1998 cc"}) {
		t.Fatalf("Ask = %+v, %v; want the answer 1998 cc", got, err)
	}
	want := `
[Part 1 of 7, The car; step 2 of 31; 1 skipped; car parked]

How large is the engine?
For example: 1998 cc.
> Why: With the rpm it gives the air flow.
For example: 1998 cc
Not known: this one is needed; pause, find it out, and go on later
  "..."       an answer that begins with one of these words
  why         why this is asked
  back        go back one answer; back WORD finds an earlier one
  note TEXT   keep a remark
  brief       a line a step from now on; guided turns it back
  pause       leave for now; everything is saved
  stop        end the test; shows what to make safe first

[Part 1 of 7, The car; step 2 of 31; 1 skipped; car parked]

How large is the engine?
For example: 1998 cc.
> ? an answer is needed here, such as 1998 cc
How large is the engine?
> `
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Errorf("screen differs (-want +got):\n%s", diff)
	}
}

func TestAskHoldWithNotice(t *testing.T) {
	p := holds
	p.Notices = []engine.Notice{{Level: "danger", From: "a moving car", So: "someone is hurt", Avoid: "use a closed track"}}
	l, out := linesOver(strings.NewReader("\n2\n"), 39)
	got, err := l.Ask(t.Context(), p, nil)
	if err != nil || got.Text != "2" {
		t.Fatalf("Ask = %+v, %v; want line 2", got, err)
	}
	want := `
[]

! DANGER: a moving car
  What can happen: someone is hurt.
  To avoid it: use a closed track.

Before the run:
  1) The road is dry and empty.
  2) The bonnet is latched.
  3) Belts are on.
Type ready if every line is true, or
the number of one that isn't.
> ? type ready if every line is true, or
  the number of one that isn't
Before the run:
  1) The road is dry and empty.
  2) The bonnet is latched.
  3) Belts are on.
> `
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Errorf("screen differs (-want +got):\n%s", diff)
	}
}

func TestAskAfterRefusal(t *testing.T) {
	refused := &subject.Refusal{What: `"1,250 kPa" can be read in two ways`, Choices: []string{"1.25 kPa", "1250 kPa"}}
	l, out := linesOver(strings.NewReader("2\n"), 78)
	got, err := l.Ask(t.Context(), asks, refused)
	if err != nil || got.Text != "1250 kPa" {
		t.Fatalf("Ask = %+v, %v; want 1250 kPa", got, err)
	}
	want := `? "1,250 kPa" can be read in two ways
  1) 1.25 kPa
  2) 1250 kPa
Which one? Type its number, or the answer anew.
> `
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Errorf("screen differs (-want +got):\n%s", diff)
	}
}

func TestAskEnds(t *testing.T) {
	for name, in := range map[string]string{
		"pause":                         "pause\n",
		"end of input":                  "",
		"end of input in mid-line":      "199",
		"end of input in a longer line": strings.Repeat("9", 2*longestLine),
	} {
		l, _ := linesOver(strings.NewReader(in), 78)
		if got, err := l.Ask(t.Context(), asks, nil); !errors.Is(err, session.ErrPause) {
			t.Errorf("%s: Ask = %+v, %v; want ErrPause", name, got, err)
		}
	}
}

func TestAskFaultOfInput(t *testing.T) {
	fault := errors.New("cable pulled")
	l, _ := linesOver(io.MultiReader(strings.NewReader("x"), &failing{fault}), 78)
	if _, err := l.Ask(t.Context(), asks, nil); !errors.Is(err, fault) {
		t.Errorf("Ask = %v, want %v", err, fault)
	}
}

type failing struct{ err error }

func (f *failing) Read([]byte) (int, error) { return 0, f.err }

func TestAskLongLine(t *testing.T) {
	l, out := linesOver(strings.NewReader(strings.Repeat("9", 5*longestLine)+"\n1998 cc\n"), 78)
	got, err := l.Ask(t.Context(), asks, nil)
	if err != nil || got.Text != "1998 cc" {
		t.Fatalf("Ask = %.40q, %v; want the line behind the long one", got.Text, err)
	}
	if want := fmt.Sprintf("longer than %d", longestLine); !strings.Contains(out.String(), want) {
		t.Errorf("screen lacks %q:\n%s", want, out)
	}
}

// Where lines don't come from a keyboard, what was read stands behind the
// prompt, so that the output reads like the sitting.
func TestAskWritesDownWhatWasRead(t *testing.T) {
	var b bytes.Buffer
	l := NewLines(Streams{In: strings.NewReader("1998 cc\n"), Err: &b, Width: 78})
	if _, err := l.Ask(t.Context(), asks, nil); err != nil {
		t.Fatal(err)
	}
	if !strings.HasSuffix(b.String(), "> 1998 cc\n") {
		t.Errorf("screen ends otherwise:\n%s", &b)
	}
}

// A signal ends the wait for a line at once.
func TestAskInterrupted(t *testing.T) {
	in, w := io.Pipe()
	defer w.Close()
	cause := errors.New("interrupted")
	ctx, cancel := context.WithCancelCause(t.Context())
	time.AfterFunc(10*time.Millisecond, func() { cancel(cause) })
	l, _ := linesOver(in, 78)
	if _, err := l.Ask(ctx, asks, nil); !errors.Is(err, cause) {
		t.Errorf("Ask = %v, want %v", err, cause)
	}
}

// Hostile text from a procedure or a person reaches the screen as plain text.
func TestAskHostileText(t *testing.T) {
	p := holds
	p.Text, p.Lines = "Run\x1b[2J at \u202estation", []string{"a\x1b]0;title\ab\nc"}
	p.Place = engine.Place{Part: "x\x1b[31m", PartNo: 1, Parts: 1}
	p.Notices = []engine.Notice{{Level: "danger\x1b[0m", From: "\x1b[8m", So: "a\rb", Avoid: "c\x9b1m"}}
	p.Page, p.Why, p.See = "\x1b[2J", "\x1b[2J", "\x1b[2J"
	l, out := linesOver(strings.NewReader("help\nready\n"), 78)
	if _, err := l.Ask(t.Context(), p, &subject.Refusal{What: "\x1b[2J", Choices: []string{"\x1b[2J"}}); err != nil {
		t.Fatal(err)
	}
	l.Say(session.Message{Title: "\x1b[2J", Lines: []string{"\x1b[2J"}})
	if i := strings.IndexFunc(out.String(), hostile); i >= 0 {
		t.Errorf("screen holds %q:\n%q", out.String()[i:i+1], out)
	}
}

func TestSay(t *testing.T) {
	l, out := linesOver(strings.NewReader(""), 30)
	l.Say(session.Message{Title: "First make it safe:", Steps: true, Lines: []string{"Ease off.", "Signal, then stop in a safe place."}})
	l.Say(session.Message{Lines: []string{"12.5 inH2O = 3.11 kPa"}})
	want := "\nFirst make it safe:\n  1) Ease off.\n  2) Signal, then stop in a\n     safe place.\n12.5 inH2O = 3.11 kPa\n"
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Errorf("Say differs (-want +got):\n%s", diff)
	}
}

// A slip below a long page doesn't bring the page again, only how to answer.
func TestASlipBelowAPage(t *testing.T) {
	var b bytes.Buffer
	page := engine.Prompt{Kind: engine.Show, Page: strings.Repeat("A long line of the advice.\n\n", 30)}
	lines := NewLines(Streams{In: strings.NewReader("what\n\n"), Err: &b, Width: 78, InTTY: true})
	if _, err := lines.Ask(t.Context(), page, nil); err != nil {
		t.Fatal(err)
	}
	if got := strings.Count(b.String(), "A long line of the advice."); got != 30 {
		t.Errorf("the page's line stands %d times, want 30", got)
	}
	if got := strings.Count(b.String(), "Press Enter to go on."); got != 2 {
		t.Errorf("how to answer stands %d times, want 2:\n%s", got, b.String())
	}
}

// Numbers of ways back don't stand any more once the question came again with
// numbers of its own.
func TestNumbersOfWaysBackEndWithTheQuestion(t *testing.T) {
	for typed, want := range map[string]engine.Answer{
		"1\n":       {Move: engine.Back, Text: "car-name (What do you call this car?)"},
		"what\n1\n": {Text: "natural"},
	} {
		lines := NewLines(Streams{In: strings.NewReader(typed), Err: io.Discard, Width: 78, InTTY: true})
		got, err := lines.Ask(t.Context(), chooses, &subject.Refusal{What: "x", Choices: []string{"back car-name (What do you call this car?)"}})
		if err != nil || got != want {
			t.Errorf("%q comes to %+v, %v; want %+v", typed, got, err, want)
		}
	}
}

// A total that rounds or rules ahead may still change says so.
func TestTotalThatMayChange(t *testing.T) {
	p := engine.Prompt{Place: engine.Place{Part: "The car", PartNo: 1, Parts: 7, StepNo: 2, Steps: 31, About: true}}
	if got, want := place(p), "[Part 1 of 7, The car; step 2 of about 31]"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// What is drawn keeps its columns, and can't reach the terminal's controls.
func TestSayDrawn(t *testing.T) {
	l, out := linesOver(strings.NewReader(""), 20)
	l.Say(session.Message{Title: "The dial:", Drawn: []string{"  10      11", "  |---.---|", "      ^\x1b[2J"}})
	want := "\nThe dial:\n  10      11\n  |---.---|\n      ^"
	if !strings.HasPrefix(out.String(), want) || strings.Contains(out.String(), "\x1b") {
		t.Errorf("shown as %q, want %q", out.String(), want)
	}
}
