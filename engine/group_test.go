package engine

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"dropwalk/engine/subject"
)

const ticked = `procedure: 1
name: ticked
title: Steps in a row
purpose: To be done together.
if-stopped: {parked: [Sit down.]}
parts:
- part: One
  car: parked
- do: Sweep the floor.
  id: sweep
  undo: Put the broom away.
- do: Wipe the bench.
  id: wipe
  caution: {from: glass, so: cuts, avoid: wear gloves}
  skip: It stays dusty.
- do: Open the window.
  id: window
  undo: Close the window.
- do: Lift the engine out.
  id: lift
  danger: {from: a load overhead, so: people are killed, avoid: stand clear}
- do: Lay out the tools.
  id: tools
- hold: Is it quiet?
  id: quiet
- do: Start to listen.
  id: listen
- part: Two
  car: parked
- do: Go home.
  id: home
- owed: all
  id: owed
`

func slots(list []Prompt) string {
	var names []string
	for _, p := range list {
		names = append(names, p.Step)
	}
	return strings.Join(names, " ")
}

// Steps that follow one another are answered together: no further than a danger, a
// hold or the end of their part. Each remains an event of its own.
func TestTogether(t *testing.T) {
	p, faults := Load("ticked.yaml", []byte(ticked), &shop{})
	if p == nil {
		t.Fatal(faults)
	}
	r := NewRun(p, &shop{})
	r.Apply(r.Start(nil))
	var groups []string
	for {
		if e, due := r.Settle(); due {
			r.Apply(e)
			continue
		}
		list := r.Together()
		if len(list) == 0 {
			break
		}
		groups = append(groups, slots(list))
		events, err := r.ProposeTogether(list, nil, "done")
		if list[0].Kind == Hold {
			events, err = r.Propose(list[0], Answer{Text: "ready"})
		}
		if err != nil || len(events) != len(list) {
			t.Fatalf("%s: %v, %v", slots(list), events, err)
		}
		for _, e := range events {
			if e.Kind != Answered || e.Raw == "" {
				t.Errorf("the event is %+v", e)
			}
			r.Apply(e)
		}
	}
	want := []string{"sweep wipe window", "lift", "tools", "quiet", "listen", "home", "owed owed"}
	if !slices.Equal(groups, want) {
		t.Errorf("asked together: %q, want %q", groups, want)
	}
	if how, ended := r.Ended(); !ended || how != "complete" || len(r.Owed()) != 0 {
		t.Errorf("ended %v %q, owed %v", ended, how, r.Owed())
	}
}

// What could not be done stays open and comes by itself; what was done beside it
// is kept, with what it owes.
func TestTogetherButOne(t *testing.T) {
	p, faults := Load("ticked.yaml", []byte(ticked), &shop{})
	if p == nil {
		t.Fatal(faults)
	}
	r := NewRun(p, &shop{})
	r.Apply(r.Start(nil))
	list := r.Together()
	before, _ := r.Next()
	events, err := r.ProposeTogether(list, []int{1}, "2")
	if err != nil || len(events) != 2 {
		t.Fatalf("%v, %v", events, err)
	}
	if after, _ := r.Next(); after.Slot != before.Slot {
		t.Errorf("proposing moved the run to %s", after.Slot)
	}
	for _, e := range events {
		r.Apply(e)
	}
	if open, _ := r.Next(); open.Slot != "wipe" {
		t.Errorf("open is %s, want what could not be done", open.Slot)
	}
	if got := len(r.Owed()); got != 2 {
		t.Errorf("%d are owed, want those of both steps that were done", got)
	}
	open, _ := r.Next()
	skipped, err := r.Propose(open, Answer{Move: Skip, Why: "no cloth"})
	if err != nil {
		t.Fatal(err)
	}
	r.Apply(skipped[0])
	if open, _ := r.Next(); open.Slot != "lift" {
		t.Errorf("it goes on at %s, want lift", open.Slot)
	}
	if _, err := NewRun(p, &shop{}).ProposeTogether(list, []int{7}, "8"); !isRefusal(err) {
		t.Errorf("a number beyond the list: %v", err)
	}
}

func isRefusal(err error) bool {
	_, ok := errors.AsType[*subject.Refusal](err)
	return ok
}
