package engine

import "testing"

const gated = `procedure: 1
name: gated
title: A hold
purpose: To be passed.
if-stopped: {parked: [Sit down.]}
parts:
- part: One
  car: parked
- hold: Is it so?
  id: so
  lines: [This is true.]
`

// A hold that was done on paper is passed as any other; that it was on paper
// stands in what was typed, and nowhere else.
func TestHoldOnPaper(t *testing.T) {
	p, faults := Load("gated.yaml", []byte(gated), &shop{})
	if p == nil {
		t.Fatal(faults)
	}
	propose := func(text string) Event {
		t.Helper()
		r := NewRun(p, &shop{})
		r.Apply(r.Start(nil))
		open, _ := r.Next()
		events, err := r.Propose(open, Answer{Text: text})
		if err != nil || len(events) != 1 {
			t.Fatalf("%q: %v, %v", text, events, err)
		}
		return events[0]
	}
	ready, paper := propose("ready"), propose(OnPaper)
	if got, want := paper.Raw, "done-on-paper"; got != want {
		t.Errorf("typed: %q, want %q", got, want)
	}
	ready.Raw, paper.Raw = "", ""
	if ready.Text != "ready" || paper.Text != ready.Text || paper.Seen != ready.Seen || paper.Slot != ready.Slot || paper.Kind != ready.Kind {
		t.Errorf("on paper %+v, at the car %+v", paper, ready)
	}
	for _, near := range []string{"done on paper", "DONE-ON-PAPER", "paper", ""} {
		r := NewRun(p, &shop{})
		r.Apply(r.Start(nil))
		open, _ := r.Next()
		if events, err := r.Propose(open, Answer{Text: near}); err == nil {
			t.Errorf("%q passes the hold: %v", near, events)
		}
	}
}
