package session

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

const filling = `procedure: 1
name: filling
title: Fill the tank
purpose: Fill a tank and close it.
if-stopped:
  parked: [Close the valve., Step back.]
on-return:
  parked: {hold: "Is the tank shut?"}
parts:
- part: The tank
  car: parked
- ask: What is it called?
  id: called
  fills: name
- ask: How deep is it?
  id: depth
  fills: depth
  unknown: It is filled by eye.
- hold: Open the lid.
  id: lid
  lines: [Nobody smokes., The hatch is dry.]
- do: Turn the valve.
  id: valve
  warning: {from: pressure, so: the hose jumps, avoid: hold it}
  skip: The tank stays as it is.
  cannot: Fetch a spanner.
  undo: Turn the valve back.
- part: The end
  car: parked
- owed: all
  id: owed
`

// tank is a matter with two fields, look what there is to see of it.
type (
	tank struct{}
	look struct{}
)

func (tank) Field(path string) (subject.Field, bool) {
	switch path {
	case "name":
		return subject.Field{Path: path, Kind: quantity.Text, Required: true}, true
	case "depth":
		return subject.Field{Path: path, Kind: quantity.Length}, true
	}
	return subject.Field{}, false
}
func (tank) Fact(string) (subject.Fact, bool)                  { return subject.Fact{}, false }
func (tank) Source(string) (subject.Source, bool)              { return subject.Source{}, false }
func (tank) Page(string) bool                                  { return false }
func (tank) Names() subject.Names                              { return subject.Names{Fields: []string{"depth", "name"}} }
func (tank) Look([]subject.Entry) subject.View                 { return look{} }
func (look) Picture(string, subject.Round) subject.Picture     { return subject.Picture{} }
func (look) Page(string) string                                { return "" }
func (look) Value(string) subject.Value                        { return subject.Value{} }
func (look) Offer(string, subject.Round) (subject.Offer, bool) { return subject.Offer{}, false }

func (look) Read(paths []string, _ subject.Round, raw string) (subject.Reply, error) {
	switch {
	case raw == "?":
		return subject.Reply{Unknown: true}, nil
	case raw == "90 m":
		return subject.Reply{}, &subject.Refusal{What: "far too deep", Doubt: &subject.Doubt{Keep: "90 m, keep"}}
	case raw == "1,250 m":
		return subject.Reply{}, &subject.Refusal{What: "two meanings", Choices: []string{"1.25 m", "1250 m"}}
	}
	return subject.Reply{Parts: []subject.Part{{Path: paths[0], Text: raw}}, Echo: echoOf(paths[0], raw)}, nil
}

func echoOf(path, raw string) string {
	if path == "depth" {
		return raw + " it is"
	}
	return ""
}

// journal is a store and an asker that write down, in one list, what they are
// handed. Answers come from a list; an empty list pauses.
type journal struct {
	answers []engine.Answer
	seen    []string
	bodies  []any
	faults  map[string]error // by kind of event; each strikes once
	onAsk   func(n int)
	asked   int
}

func (j *journal) Append(kind string, body any) error {
	if err := j.faults[kind]; err != nil {
		delete(j.faults, kind)
		j.seen = append(j.seen, "fault at "+kind)
		return err
	}
	j.seen = append(j.seen, "save "+kind)
	j.bodies = append(j.bodies, body)
	return nil
}

func (j *journal) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	j.asked++
	if j.onAsk != nil {
		j.onAsk(j.asked)
	}
	if err := context.Cause(ctx); err != nil {
		return engine.Answer{}, err
	}
	line := "ask " + p.Slot
	if refused != nil {
		line += " again: " + refused.What
	}
	j.seen = append(j.seen, line)
	if len(j.answers) == 0 {
		return engine.Answer{}, ErrPause
	}
	a := j.answers[0]
	j.answers = j.answers[1:]
	return a, nil
}

func (j *journal) Say(m Message) {
	j.seen = append(j.seen, strings.Join(append(strings.Fields("say "+m.Title), m.Lines...), " "))
}

func newSession(t *testing.T, j *journal) *Session {
	t.Helper()
	p, faults := engine.Load("filling.yaml", []byte(filling), tank{})
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	return &Session{Run: engine.NewRun(p, tank{}), Store: j, Asker: j, By: "test"}
}

func texts(list ...string) []engine.Answer {
	var answers []engine.Answer
	for _, text := range list {
		answers = append(answers, engine.Answer{Text: text})
	}
	return answers
}

// What was typed first and was in doubt is kept, whatever comes of it.
func TestDoubtKeepsWhatWasTypedFirst(t *testing.T) {
	note := engine.Answer{Move: engine.Note, Text: "muddy"}
	for _, c := range []struct {
		name    string
		answers []engine.Answer
		want    string // of the last event: kind, raw, first, text
	}{
		{"retyped", texts("90 m", "9 m"), "answered 9 m|90 m|9 m"},
		{"kept", texts("90 m", "90 m, keep"), "answered 90 m, keep||90 m, keep"},
		{"twice in doubt", texts("90 m", "90 m", "9 m"), "answered 9 m|90 m|9 m"},
		{"never in doubt", texts("9 m"), "answered 9 m||9 m"},
		{"a note first", append(texts("90 m"), note), "noted |90 m|muddy"},
		{"back", append(texts("90 m"), engine.Answer{Move: engine.Back}), "corrected |90 m|"},
		{"left", texts("90 m"), "noted ||typed, and not taken yet: 90 m"},
	} {
		j := &journal{answers: append(texts("north"), c.answers...)}
		s := newSession(t, j)
		if err := s.Begin(nil); err != nil {
			t.Fatal(err)
		}
		if err := s.Drive(t.Context()); !errors.Is(err, ErrPause) {
			t.Fatalf("%s: %v", c.name, err)
		}
		e := EventIn(j.bodies[len(j.bodies)-1])
		if got := e.Kind + " " + e.Raw + "|" + e.First + "|" + e.Text; got != c.want {
			t.Errorf("%s: the last event is %q, want %q", c.name, got, c.want)
		}
	}
}

// Every answer is saved before the next prompt shows, and what came of it is
// told after it is saved.
func TestDriveOrder(t *testing.T) {
	j := &journal{answers: append(texts("north", "1,250 m", "1.25 m", "2", "ready"),
		engine.Answer{Move: engine.Note, Text: "damp"},
		engine.Answer{Move: engine.Cannot, Why: "stuck"},
		engine.Answer{Text: "done"}, engine.Answer{Text: "done"})}
	s := newSession(t, j)
	if err := s.Begin(nil); err != nil {
		t.Fatal(err)
	}
	if err := s.Drive(t.Context()); err != nil {
		t.Fatalf("Drive = %v, want nil", err)
	}
	if _, ended := s.Run.Ended(); !ended {
		t.Error("the run has not ended")
	}
	want := []string{
		"save started",
		"ask called", "save answered",
		"ask depth", "ask depth again: two meanings", "save answered", "say 1.25 m it is",
		"ask lid", "save refused", "say Not yet: The hatch is dry. Put that right first, then answer again. pause and stop are always open.",
		"ask lid", "save answered",
		"ask valve", "save noted", "say Kept.",
		"ask valve", "save refused", "say Fetch a spanner.",
		"ask valve", "save answered",
		"ask owed/valve", "save answered",
		"save finished",
	}
	if diff := cmp.Diff(want, j.seen); diff != "" {
		t.Errorf("what happened differs (-want +got):\n%s", diff)
	}
}

// A stop shows what to do first before anything is saved, then what is owed.
func TestStopShowsSafetyFirst(t *testing.T) {
	j := &journal{answers: append(texts("north", "2 m"), engine.Answer{Move: engine.Stop}, engine.Answer{Move: engine.Stop})}
	s := newSession(t, j)
	_ = s.Begin(nil)
	if err := s.Drive(t.Context()); err != nil {
		t.Fatalf("Drive = %v, want nil", err)
	}
	want := []string{
		"ask lid", "say STOP. Do this first: Close the valve. Step back.", "ask lid again: stop ends this test for good", "save stopped",
		"say The test is stopped. Nothing is owed to the car.", "save finished",
	}
	if diff := cmp.Diff(want, j.seen[len(j.seen)-len(want):]); diff != "" {
		t.Errorf("what happened at the end differs (-want +got):\n%s", diff)
	}
}

// Who types what made him stop isn't sent away: it is asked once more, and the reason is
// kept.
func TestStopKeepsWhatStandsBehindIt(t *testing.T) {
	j := &journal{answers: append(texts("north", "2 m"), engine.Answer{Move: engine.Stop, Text: "alarm sounds"}, engine.Answer{Move: engine.Stop})}
	s := newSession(t, j)
	var why string
	_ = s.Begin(nil)
	s.Store = reasons{j, &why}
	if err := s.Drive(t.Context()); err != nil {
		t.Fatal(err)
	}
	if why != "alarm sounds" {
		t.Errorf("the stop has the reason %q, want what was typed behind it", why)
	}
}

// reasons keeps the reason of a stop.
type reasons struct {
	*journal
	why *string
}

func (r reasons) Append(kind string, body any) error {
	if e, ok := body.(entry); ok && kind == engine.Stopped {
		*r.why = e.Why
	}
	return r.journal.Append(kind, body)
}

// What a stop has left out is said at the end, where something was done before.
func TestStopTellsWhatItLeftOut(t *testing.T) {
	p, faults := engine.Load("filling.yaml", []byte(filling+"- do: Look for drops.\n  id: drops\n"), tank{})
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		answers []engine.Answer
		said    bool
	}{
		"before anything was done": {append(texts("north"), engine.Answer{Move: engine.Stop, Why: "rain"}), false},
		"after the valve":          {append(texts("north", "2 m", "ready", "done", "done"), engine.Answer{Move: engine.Stop, Why: "rain"}), true},
	} {
		j := &journal{answers: c.answers}
		s := &Session{Run: engine.NewRun(p, tank{}), Store: j, Asker: j, By: "test"}
		_ = s.Begin(nil)
		if err := s.Drive(t.Context()); err != nil {
			t.Fatal(err)
		}
		if said := slices.ContainsFunc(j.seen, func(line string) bool { return strings.HasSuffix(line, "- Look for drops.") }); said != c.said {
			t.Errorf("%s: told %v, want %v; what happened:\n%s", name, said, c.said, strings.Join(j.seen, "\n"))
		}
	}
}

func TestSkipAndUnknown(t *testing.T) {
	j := &journal{answers: append(texts("north", "?", "ready"), engine.Answer{Move: engine.Skip, Why: "rusty"})}
	s := newSession(t, j)
	_ = s.Begin(nil)
	if err := s.Drive(t.Context()); err != nil {
		t.Fatalf("Drive = %v, want nil", err)
	}
	for _, want := range []string{"say Taken as not known. It is filled by eye.", "say The tank stays as it is."} {
		if !slices.Contains(j.seen, want) {
			t.Errorf("%q was not said; what happened:\n%s", want, strings.Join(j.seen, "\n"))
		}
	}
}

func TestPauseAndSignal(t *testing.T) {
	j := &journal{answers: texts("north")}
	s := newSession(t, j)
	_ = s.Begin(nil)
	if err := s.Drive(t.Context()); !errors.Is(err, ErrPause) {
		t.Errorf("Drive = %v, want ErrPause", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	j = &journal{answers: texts("north", "2 m", "ready"), onAsk: func(n int) {
		if n == 2 {
			cancel()
		}
	}}
	s = newSession(t, j)
	_ = s.Begin(nil)
	if err := s.Drive(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("Drive = %v, want context.Canceled", err)
	}
	if got, want := len(j.bodies), 2; got != want {
		t.Errorf("%d events are saved, want %d", got, want)
	}
}

// Where an event can't be saved, the run stays where it is: the same prompt
// comes again, and nothing that was not saved counts.
func TestUnsavedAnswerIsAskedAgain(t *testing.T) {
	for _, fault := range []error{record.ErrFull, record.ErrNoSync, record.ErrBody} {
		j := &journal{answers: texts("north", "south"), faults: map[string]error{engine.Answered: fmt.Errorf("here: %w", fault)}}
		s := newSession(t, j)
		_ = s.Begin(nil)
		if err := s.Drive(t.Context()); !errors.Is(err, ErrPause) {
			t.Errorf("%v: Drive = %v, want ErrPause", fault, err)
		}
		if got, want := s.Run.Entries(), []subject.Entry{{Path: "name", Text: "south"}}; !cmp.Equal(got, want) {
			t.Errorf("%v: entries are %v, want %v", fault, got, want)
		}
		if !strings.HasPrefix(j.seen[3], "say NOT SAVED: ") || strings.Count(j.seen[3], "saved") > 1 {
			t.Errorf("%v: after the fault came %q, want a message", fault, j.seen[3])
		}
	}
	gone := errors.New("the folder is gone")
	j := &journal{answers: texts("north", "south"), faults: map[string]error{engine.Answered: gone}}
	s := newSession(t, j)
	_ = s.Begin(nil)
	if err := s.Drive(t.Context()); !errors.Is(err, gone) {
		t.Errorf("Drive = %v, want %v", err, gone)
	}
}

// A run that is rebuilt from its saved events stands where it stood.
func TestReplayFromRecord(t *testing.T) {
	j := &journal{answers: texts("north", "2 m")}
	s := newSession(t, j)
	_ = s.Begin(nil)
	_ = s.Drive(t.Context())

	p, events, err := Events(linesOf(t, j.bodies))
	if err != nil || p.Name != "filling" {
		t.Fatalf("Events = %q, %v; want filling, nil", p.Name, err)
	}
	again := newSession(t, &journal{})
	Replay(again.Run, events)
	if diff := cmp.Diff(s.Run.Entries(), again.Run.Entries()); diff != "" {
		t.Errorf("entries differ (-first +rebuilt):\n%s", diff)
	}
	first, _ := s.Run.Next()
	second, _ := again.Run.Next()
	if diff := cmp.Diff(first, second, cmpopts.IgnoreFields(engine.Prompt{}, "Picture", "Earlier")); diff != "" {
		t.Errorf("the open prompt differs (-first +rebuilt):\n%s", diff)
	}
	k := &journal{answers: texts("ready")}
	again.Store, again.Asker = k, k
	if err := again.Continue(); err != nil {
		t.Fatal(err)
	}
	_ = again.Drive(t.Context())
	want := []string{"say The last answers were: What is it called? north How deep is it? 2 m", "save resumed", "ask return.1", "save answered", "ask lid"}
	if diff := cmp.Diff(want, k.seen); diff != "" {
		t.Errorf("what happened after the pause differs (-want +got):\n%s", diff)
	}
}

// linesOf is the lines of a record that holds the procedure and bodies.
func linesOf(t *testing.T, bodies []any) []record.Line {
	t.Helper()
	kept, err := json.Marshal(Procedure{Name: "filling", Units: "metric", Text: filling})
	if err != nil {
		t.Fatal(err)
	}
	lines := []record.Line{{Seq: 2, Kind: ProcedureKind, Body: kept}}
	for i, body := range bodies {
		b, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, record.Line{Seq: i + 3, Kind: EventIn(body).Kind, Body: b})
	}
	return lines
}

func TestEventsFaults(t *testing.T) {
	good := linesOf(t, []any{entry{Event: engine.Event{Kind: engine.Started}}})
	later := append(good[:2:2], record.Line{Seq: 4, Kind: "weighed", Body: json.RawMessage(`{}`)})
	if _, events, err := Events(later); !errors.Is(err, ErrLater) || len(events) != 1 {
		t.Errorf("a later kind: %d events, %v; want 1, ErrLater", len(events), err)
	}
	broken := append(good[:2:2], record.Line{Seq: 4, Kind: engine.Answered, Body: json.RawMessage(`[]`)})
	if _, _, err := Events(broken); err == nil || errors.Is(err, ErrLater) || !strings.Contains(err.Error(), "line 4") {
		t.Errorf("a body of another form: %v, want a fault at line 4", err)
	}
	if _, _, err := Events(good[1:]); err == nil || !strings.Contains(err.Error(), "no procedure") {
		t.Errorf("no procedure: %v", err)
	}
}

func TestAccount(t *testing.T) {
	yes, no := true, false
	seen := "warning: pressure; the hose jumps; hold it\nTurn the valve."
	tests := []struct {
		e    engine.Event
		want string
	}{
		{engine.Event{Kind: engine.Answered, Seen: seen, Text: "done"}, "Turn the valve. done"},
		{engine.Event{Kind: engine.Answered, Seen: "How deep?", Unknown: true}, "How deep? not known"},
		{engine.Event{Kind: engine.Answered, Seen: "How deep?", Text: "9 m", First: "90 m"}, "How deep? 9 m (typed first: 90 m)"},
		{engine.Event{Kind: engine.Skipped, Seen: seen, Why: "rusty"}, "Turn the valve. skipped: rusty"},
		{engine.Event{Kind: engine.Refused, Seen: "Open.\nDry.", Why: "Dry."}, "Open. not so: Dry."},
		{engine.Event{Kind: engine.Corrected, Step: "depth"}, "back to depth"},
		{engine.Event{Kind: engine.Noted, Text: "damp"}, "note: damp"},
		{engine.Event{Kind: engine.Chosen, Taken: &yes, Offer: &subject.Offer{Reason: "it splits"}}, "advice: it splits"},
		{engine.Event{Kind: engine.Chosen, Taken: &no, Offer: &subject.Offer{Reason: "it splits"}}, ""},
		{engine.Event{Kind: engine.Stopped}, "STOPPED"},
		{engine.Event{Kind: engine.Finished, Text: "complete"}, "finished, complete"},
	}
	for _, tt := range tests {
		if got := Account(tt.e); got != tt.want {
			t.Errorf("Account(%+v) = %q, want %q", tt.e, got, tt.want)
		}
	}
}

// The last answers that are shown again are answers: a text or a page that was
// only read isn't among them.
func TestTextsAreNoLastAnswers(t *testing.T) {
	shown := strings.Replace(filling, "- hold: Open the lid.", "- tell: Mind the hatch.\n  id: hatch\n- hold: Open the lid.", 1)
	p, faults := engine.Load("filling.yaml", []byte(shown), tank{})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	j := &journal{answers: texts("north", "2 m", "")}
	s := &Session{Run: engine.NewRun(p, tank{}), Store: j, Asker: j}
	_ = s.Begin(nil)
	if err := s.Drive(t.Context()); !errors.Is(err, ErrPause) {
		t.Fatalf("Drive = %v, want ErrPause", err)
	}
	j.seen = nil
	if err := s.Continue(); err != nil {
		t.Fatal(err)
	}
	if all := strings.Join(j.seen, "\n"); !strings.Contains(all, "What is it called? north") || !strings.Contains(all, "How deep is it? 2 m") || strings.Contains(all, "hatch") {
		t.Errorf("shown again: %q", j.seen)
	}
}

// What comes of a check is told once it is saved: what the outcome means, or that
// nothing follows from what can't be told.
func TestChecksAreTold(t *testing.T) {
	const leak = `procedure: 1
name: leak
title: Where does it leak?
purpose: Find out.
if-stopped:
  parked: [Step back.]
causes:
- {cause: The valve is open., id: valve, chance: 50 %, basis: invented, time: 30 min, remedy: Shut it.}
- {cause: The tank is holed., id: hole, chance: 40 %, basis: invented, time: 90 min, remedy: Mend it.}
no-fault-found: {say: Wait., time: 500 min}
parts:
- part: Looking
  car: off
- checks: by-worth
  each:
  - check: How deep is it?
    id: deep
    time: 1 min
    source: invented
    cannot: It stays open.
    expect: {from: 2 m}
    below: {says: It runs out., usually: 10 %, if: {hole: 90 %}}
    inside: {says: It holds.}
  - check: How is the valve?
    id: valve-look
    time: 1 min
    source: invented
    cannot: Feel for it.
    answers:
      shut: {says: It is not that., usually: 90 %, if: {valve: 20 %}}
      open: {says: That is it.}
- page: causes
`
	p, faults := engine.Load("leak.yaml", []byte(leak), tank{})
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	j := &journal{answers: append(texts("1 m"), engine.Answer{Move: engine.Cannot, Why: "it is dark"})}
	s := &Session{Run: engine.NewRun(p, tank{}), Store: j, Asker: j, By: "test"}
	_ = s.Begin(nil)
	if err := s.Drive(t.Context()); !errors.Is(err, ErrPause) {
		t.Fatal(err)
	}
	for _, want := range []string{"say That is less than expected (at least 2 m). It runs out.", "say Not checked. Feel for it."} {
		if !slices.Contains(j.seen, want) {
			t.Errorf("%q was not said; what happened:\n%s", want, strings.Join(j.seen, "\n"))
		}
	}
	var told []string
	for _, body := range j.bodies {
		if e := EventIn(body); e.Outcome != "" {
			told = append(told, Account(e))
		}
	}
	if diff := cmp.Diff([]string{"How deep is it? 1 m, below", "How is the valve? not checked: it is dark"}, told); diff != "" {
		t.Errorf("the account differs (-want +got):\n%s", diff)
	}
}
