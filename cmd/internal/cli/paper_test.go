package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

// clerk types a paper in. What stands on the paper are answers by step; slips are
// what is typed in their place, by the address of the question and which time it
// is typed.
type clerk struct {
	*terminal.Lines
	paper  tester
	slips  map[string]string
	screen bytes.Buffer
	open   engine.Prompt
	asked  int
	leave  int // pause at this prompt; 0 for never
}

func (c *clerk) Read(p []byte) (int, error) {
	time := "first"
	for _, word := range []string{"Second", "Third"} {
		if strings.HasPrefix(c.open.Text, word+" time: ") {
			time = strings.ToLower(word)
		}
	}
	text := c.paper.answer(c.open)
	if len(c.open.Group) > 0 || c.open.Kind == engine.Do || c.open.Kind == engine.Owed {
		text = "done"
	}
	if slip, ok := c.slips[c.open.Slot+" "+time]; ok {
		text = slip
		delete(c.slips, c.open.Slot+" "+time)
	}
	return copy(p, text+"\n"), nil
}

func (c *clerk) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	c.open = p
	if c.asked++; c.asked == c.leave {
		return engine.Answer{}, session.ErrPause
	}
	if c.asked > 2000 {
		panic("stuck at " + p.Slot)
	}
	return c.Lines.Ask(ctx, p, refused)
}

// shelf keeps what a record would be handed, line by line.
type shelf struct{ lines []record.Line }

func (s *shelf) Append(kind string, body any) error {
	text, err := json.Marshal(body)
	if err != nil {
		return err
	}
	s.lines = append(s.lines, record.Line{Seq: len(s.lines) + 1, Kind: kind, Body: text})
	return nil
}

// events are those of the shelf, as a record holds them, without what may differ
// between two ways of answering.
func (s *shelf) events(t *testing.T, without ...string) []map[string]any {
	t.Helper()
	var list []map[string]any
	for _, line := range s.lines {
		if line.Kind == session.TypedKind || line.Kind == session.ProcedureKind {
			continue
		}
		event := map[string]any{}
		if err := json.Unmarshal(line.Body, &event); err != nil {
			t.Fatal(err)
		}
		event["kind"] = line.Kind
		for _, key := range without {
			delete(event, key)
		}
		list = append(list, event)
	}
	return list
}

// typedIn types a paper in, in as many sittings as it takes: each ends at the
// prompt with the number that leave has for it.
func typedIn(t *testing.T, c *clerk, leave ...int) (*shelf, int) {
	t.Helper()
	return typedInOf(t, loadIntake(t), c, leave...)
}

func typedInOf(t *testing.T, p *engine.Procedure, c *clerk, leave ...int) (*shelf, int) {
	t.Helper()
	kept, _ := json.Marshal(session.Procedure{Name: "intake", Text: "here"})
	store := &shelf{lines: []record.Line{{Seq: 1, Kind: session.ProcedureKind, Body: kept}}}
	return store, store.goOn(t, p, c, 0, leave...)
}

// goOn types on what the shelf has, from a sitting on, and gives the number of prompts.
func (s *shelf) goOn(t *testing.T, p *engine.Procedure, c *clerk, from int, leave ...int) int {
	t.Helper()
	store, prompts := s, 0
	for sitting := from; ; sitting++ {
		c.Lines = terminal.NewLines(terminal.Streams{In: c, Err: &c.screen, Width: 80})
		c.SetBrief(true)
		c.asked, c.leave = 0, 0
		if sitting < len(leave) {
			c.leave = leave[sitting]
		}
		run := engine.NewRun(p, &advice.Matter{})
		_, events, err := session.Events(store.lines)
		if err != nil {
			t.Fatal(err)
		}
		session.Replay(run, events)
		waiting, onPaper := session.Waiting(store.lines)
		if sitting > 0 && !onPaper {
			t.Fatal("a paper is not known to be one when it goes on")
		}
		s := &session.Session{Run: run, Store: store, Asker: c, By: session.OnPaper, Paper: true, Earlier: waiting}
		if sitting == 0 {
			err = s.Begin(nil)
		} else {
			err = s.Continue()
		}
		if err != nil {
			t.Fatal(err)
		}
		err = s.Drive(t.Context())
		prompts += c.asked
		if err == nil {
			return prompts
		}
		if !errors.Is(err, session.ErrPause) {
			t.Fatalf("%v at %s\n%s", err, c.open.Slot, tail(c.screen.String()))
		}
	}
}

func tail(s string) string { return s[max(0, len(s)-1500):] }

// filled is a paper of the whole job: its numbers are those that a pencil wrote.
var filled = tester{
	"car-name": "yellow-estate", "displacement": "1998 cc", "cylinders": "4", "fuel": "petrol", "induction": "natural", "peak-rpm": "6000", "measure-pieces": "later",
	"gauge": "25 inH2O by 0.5 inH2O", "air": "18 C, 1011 hPa, 60 %", "place": "track", "leak-numbers": "15 inH2O, 14.8 inH2O, 30", "zero": "0 inH2O",
	"value": "12.5 at 6000", "zero-after": "0 inH2O", "lamps": "none",
}

// guidedRun answers the same at the car.
func guidedRun(t *testing.T) []map[string]any {
	t.Helper()
	answers := tester{}
	for k, v := range filled {
		answers[k] = v
	}
	_, events := inView(t, false, nil, answers, "", nil)
	for _, e := range events {
		for _, key := range apart {
			delete(e, key)
		}
	}
	return events
}

// apart is what may differ between two ways of answering.
var apart = []string{"raw", "by", "first"}

// A test that was done on paper is typed in afterwards, with two slips of the
// hand: one in the first entry, one in the second. Both are found, the paper is
// looked at again, and the record is that of the same test at the prompts, event
// by event. It says what was on paper, and keeps what was typed first.
func TestAPaperIsTypedIn(t *testing.T) {
	c := &clerk{paper: filled, slips: map[string]string{
		"walk.1/runs.2/value first":  "15.2 at 6000",
		"displacement second":        "1989 cc",
		"walk.1/leak-numbers first":  "15 inH2O; 14.8 inH2O; 30",
		"walk.1/runs.1/value second": "12,5 inH2O at 6000",
		"walk.1/runs.3/value first":  "note the needle shook",
		"walk.1/runs.2/value third":  "12.5 at 6000",
	}}
	store, prompts := typedIn(t, c)
	got := store.events(t, apart...)
	notes := 0
	for i := 0; i < len(got); i++ {
		if got[i]["kind"] == engine.Noted {
			got = append(got[:i:i], got[i+1:]...)
			notes++
		}
	}
	if diff := cmp.Diff(guidedRun(t), got); diff != "" {
		t.Errorf("events differ (-at the car +from paper):\n%.3000s", diff)
	}
	if notes != 1 {
		t.Errorf("%d remarks, want the one that was typed", notes)
	}
	screen := strings.Join(strings.Fields(c.screen.String()), " ")
	for _, want := range []string{
		"These differ. Look at the paper once more:", "First: 15.2 at 6000. Then: 12.5 at 6000.", "First: 1998 cc. Then: 1989 cc.", "HOLD 4.4 Is the place fit for the test?",
	} {
		if !strings.Contains(screen, want) {
			t.Errorf("the screen lacks %q", want)
		}
	}
	if n := strings.Count(screen, "Third time: "); n < 2 {
		t.Errorf("%d numbers were asked a third time, want both slips", n)
	}
	ticked, first := 0, map[any]any{}
	for _, e := range store.events(t) {
		if e["by"] != session.OnPaper {
			t.Errorf("%v is by %v", e["slot"], e["by"])
		}
		if e["raw"] == engine.OnPaper {
			ticked++
		} else if e["text"] == "ready" || e["text"] == "done" {
			t.Errorf("%v is kept as %v, and was ticked on paper", e["slot"], e["raw"])
		}
		if e["first"] != nil {
			first[e["slot"]] = e["first"]
		}
	}
	if ticked < 20 {
		t.Errorf("%d were ticked on paper", ticked)
	}
	want := map[any]any{"walk.1/runs.2/value": "15.2 at 6000; then 12.5 at 6000", "displacement": "1998 cc; then 1989 cc",
		"walk.1/runs.1/value": "12.5 at 6000", "walk.1/leak-numbers": "15 inH2O; 14.8 inH2O; 30"}
	if diff := cmp.Diff(want, first); diff != "" {
		t.Errorf("what was typed first (-want +got):\n%s", diff)
	}
	t.Logf("%d prompts for %d events, %d ticked on paper", prompts, len(got), ticked)
}

// Whoever leaves in the middle, wherever, goes on where the paper was left, and
// types nothing again.
func TestAPaperIsLeftAnywhere(t *testing.T) {
	want, prompts := typedIn(t, &clerk{paper: filled})
	every := 8
	if testing.Short() {
		every = 50
	}
	for at := 1; at <= prompts; at += every {
		got, n := typedIn(t, &clerk{paper: filled, slips: map[string]string{}}, at, 2)
		if diff := cmp.Diff(want.events(t), got.events(t)); diff != "" {
			t.Fatalf("left at prompt %d the record differs (-never left +left):\n%.2000s", at, diff)
		}
		// A list of ticks and the prompt at which somebody leaves come once more.
		if n > prompts+3 {
			t.Errorf("left at prompt %d it takes %d prompts, without leaving %d", at, n, prompts)
		}
	}
}

// A power cut can leave any line as the last one, also in the middle of a block whose
// events are being recorded. Whoever goes on from there comes to the same record.
func TestAPaperIsCutAnywhere(t *testing.T) {
	slips := func() map[string]string {
		return map[string]string{"cylinders first": "6", "fuel first": "back", "walk.1/runs.2/value first": "15.2 at 6000", "displacement second": "1989 cc", "place-hold first": "2"}
	}
	whole, _ := typedIn(t, &clerk{paper: filled, slips: slips()})
	want := whole.events(t, apart...)
	every := 19
	if testing.Short() {
		every = 71
	}
	for n := 2; n < len(whole.lines); n += every {
		cut := &shelf{lines: slices.Clone(whole.lines[:n])}
		cut.goOn(t, loadIntake(t), &clerk{paper: filled}, 1)
		if diff := cmp.Diff(want, cut.events(t, apart...)); diff != "" {
			t.Fatalf("cut behind line %d, %s %s, the record differs (-whole +cut):\n%.2000s", n, whole.lines[n-1].Kind, whole.lines[n-1].Body, diff)
		}
	}
}

// Going back in a block takes back the latest entry, and what is typed in its
// place counts.
func TestAPaperGoesBack(t *testing.T) {
	c := &clerk{paper: filled, slips: map[string]string{"cylinders first": "6", "fuel first": "back"}}
	store, _ := typedIn(t, c)
	if diff := cmp.Diff(guidedRun(t), store.events(t, apart...)); diff != "" {
		t.Errorf("events differ (-at the car +from paper):\n%.3000s", diff)
	}
}

// A line of a hold that has no tick comes by itself, and is no more passed there
// than at the car.
func TestAPaperWithoutATick(t *testing.T) {
	c := &clerk{paper: filled, slips: map[string]string{"place-hold first": "2"}}
	seen := map[string]int{}
	store, _ := typedIn(t, c)
	for _, e := range store.events(t) {
		seen[fmt.Sprint(e["slot"], " ", e["kind"])]++
	}
	if seen["people-hold answered"] != 1 || seen["place-hold answered"] != 1 {
		t.Errorf("%v", seen)
	}
	if !regexp.MustCompile(`(?s)4\.6 Are the people ready\?\s+\(ready, or a number\)`).MatchString(c.screen.String()) {
		t.Error("the hold without a tick did not come by itself")
	}
}

// A paper on which the test was stopped ends as it would at the car: with what was
// put back.
func TestAPaperOfAStoppedTest(t *testing.T) {
	paper := tester{}
	for step, answer := range filled {
		paper[step] = answer
	}
	paper["zero"] = "stop"
	store, _ := typedIn(t, &clerk{paper: paper})
	last := store.events(t)
	if how := last[len(last)-1]; how["kind"] != engine.Finished || !strings.HasPrefix(fmt.Sprint(how["text"]), "stopped") {
		t.Errorf("it ends with %v", how)
	}
	owed := 0
	for _, e := range last {
		if e["step"] == "owed" && e["kind"] == engine.Answered {
			owed++
		}
	}
	if owed < 3 {
		t.Errorf("%d were put back", owed)
	}
}

// A search on paper goes in check by check, in the order in which the program
// chooses them, with what it takes to open.
func TestAPaperOfASearch(t *testing.T) {
	for _, name := range []string{"filter-due", "power-down"} {
		p, err := findProcedure(name, quantity.AsTyped)
		if err != nil {
			t.Fatal(err)
		}
		paper := tester{"fuel": "petrol", "induction": "natural"}
		leaves(p.Search.Checks, func(s *engine.Step) {
			paper[s.ID] = "?"
			if words := s.Row().Words; len(words) > 0 {
				paper[s.ID] = words[0]
			} else if s.Check.Expect != nil {
				paper[s.ID] = s.Check.Sample(engine.Inside)
			}
		})
		store, prompts := typedInOf(t, p, &clerk{paper: paper})
		var at diary
		k := &knowing{answers: paper}
		k.Lines = terminal.NewLines(terminal.Streams{In: k, Err: &k.typed, Width: 80})
		s := &session.Session{Run: engine.NewRun(p, &advice.Matter{}), Store: &at, Asker: k, By: linesAsker}
		if err := errors.Join(s.Begin(nil), s.Drive(t.Context())); err != nil {
			t.Fatal(err)
		}
		for _, e := range at.lines {
			for _, key := range apart {
				delete(e, key)
			}
		}
		if diff := cmp.Diff(at.lines, store.events(t, apart...)); diff != "" {
			t.Errorf("%s: events differ (-at the car +from paper):\n%.3000s", name, diff)
		}
		t.Logf("%s: %d prompts", name, prompts)
	}
}

// At the terminal it takes an option, and a paper is of a day.
func TestFromPaperOption(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--from-paper", "--view", "brief"}, "goes with neither"},
		{[]string{"--from-paper", "--date", "25.11.2026"}, `"25.11.2026" is no day`},
		{[]string{"--date", "2026-11-25"}, "about a paper"},
	} {
		if code, _, errs := tried(t, "", append([]string{"start", "--dir", dir}, c.args...)...); code != exitInput || !strings.Contains(errs, c.want) {
			t.Errorf("%v: %d, %s", c.args, code, errs)
		}
	}
	code, _, errs := tried(t, "van\n2 L\n", "start", "--from-paper", "--date", "2026-10-01", "--dir", dir)
	if code != exitStopped || !strings.Contains(errs, "Typing in: ") {
		t.Fatalf("%d: %s", code, errs)
	}
	name := "van-2026-12-01"
	code, _, errs = tried(t, "4\n", "resume", "--dir", dir)
	if code != exitStopped || !strings.Contains(errs, "1.3 How many cylinders") || strings.Contains(errs, "1.2 How large") {
		t.Errorf("the paper doesn't go on where it was left: %d: %s", code, errs)
	}
	code, out, errs := tried(t, "", "records", "show", name, "--json", "--dir", dir)
	if code != exitDone || !strings.Contains(out, "2026-10-01") {
		t.Errorf("%d: the day of the paper is not in the record: %s%s", code, out, errs)
	}
	if code, out, errs := tried(t, "", "records", "--dir", dir); code != exitDone || !strings.Contains(out, "open") {
		t.Errorf("%d: %s%s", code, out, errs)
	}
	code, _, errs = tried(t, "ready\n", "resume", "--view", "guided", "--dir", dir)
	if code != exitStopped || !strings.Contains(errs, "What do you call this car?") {
		t.Errorf("with a view it doesn't go on at the car: %d: %s", code, errs)
	}
}
