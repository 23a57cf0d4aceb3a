package engine

import (
	"slices"
	"strings"
	"testing"
)

// hotJob is a job on something that gets hot: its own way to what is owed passes a hold
// that waits until it is cold.
const hotJob = `procedure: 1
name: hot
title: A hot job
purpose: Read something that gets hot.
if-stopped:
  parked: [Lock up.]
  off: [Touch nothing.]
on-return:
  off: {hold: "Is the oven off?", lines: [The plug is out.], caution: {from: heat, so: burns, avoid: wait}}
parts:
- part: Ready
  car: off
- do: Lay the cable.
  id: cable
  see: It lies flat.
  undo: Take the cable away.
  undoing: {first: true}
- do: Screw the probe in.
  id: probe
  caution: {from: sharp edges, so: cuts, avoid: wear gloves}
  see: It holds a pull.
  undo: Screw the probe out and close its hole.
  undoing: {see: "The hole is closed.", warning: {from: an open hole, so: hot gas burns people, avoid: heat nothing before it is closed}}
- do: Take the cover off.
  id: cover
  caution: {from: "sharp edges of {name}", so: cuts, avoid: wear gloves}
  undo: Put the cover back.
- hold: Switch it on.
  id: on
  then-car: idling
- hold: Switch it off.
  id: off
  then-car: off
- ask: Which colour did it show?
  id: colour
  fills: colour
- part: Closing
  car: off
- hold: Is it cold?
  id: cold
  warning: {from: hot metal, so: burns, avoid: wait until no heat is felt}
  lines: [A hand near it feels no heat.]
- owed: all
  id: owed
`

func hotBench(t *testing.T) *bench {
	t.Helper()
	return benchOf(t, hotJob, 1)
}

// After a stop what was hot may be hot still: the hold of the procedure's own way to
// what is owed comes first, and again after a pause.
func TestStopNeverLeadsHandsOntoHotMetal(t *testing.T) {
	b := hotBench(t)
	b.say("done", "done", "done", "ready", "ready")
	b.at("colour")
	if err := b.do(Answer{Move: Stop}); err != nil {
		t.Fatal(err)
	}
	p := b.at("rest.1")
	if p.Text != "Is it cold?" || len(p.Lines) != 1 || len(p.Notices) != 1 || p.Notices[0].Level != "warning" {
		t.Errorf("ahead of what is owed comes %+v, want the hold that waits until it is cold", p)
	}
	if want := "warning: hot metal; burns; wait until no heat is felt\nIs it cold?\nA hand near it feels no heat."; p.Seen != want {
		t.Errorf("the record keeps %q, want %q", p.Seen, want)
	}
	b.say("ready")
	b.at("owed/cable")
	b.apply(b.run.Resume())
	b.at("rest.2")
	b.say("ready", "done")
	b.at("owed/cover")
	b.say("done", "done")
	b.prompt()
	if _, ended := b.run.Ended(); !ended {
		t.Error("the run didn't end")
	}
}

// Where nothing ran there is nothing to cool.
func TestStopBeforeTheEngineRanAsksForNoHold(t *testing.T) {
	b := hotBench(t)
	b.say("done", "done", "done")
	if err := b.do(Answer{Move: Stop}); err != nil {
		t.Fatal(err)
	}
	b.at("owed/cable")
}

// A pause in the list of what is owed goes on with that hold too, and one elsewhere with
// that of on-return and its caution.
func TestPauseInTheClosingListAsksForTheColdHold(t *testing.T) {
	b := hotBench(t)
	b.say("done", "done", "done", "ready", "ready")
	b.apply(b.run.Resume())
	if p := b.at("return.1"); p.Text != "Is the oven off?" || len(p.Notices) != 1 || p.Notices[0].Level != "caution" {
		t.Errorf("after the pause comes %+v, want the hold of on-return with its caution", p)
	}
	b.say("ready", "red", "ready", "done")
	b.at("owed/cover")
	b.apply(b.run.Resume())
	if p := b.at("return.2"); p.Text != "Is it cold?" {
		t.Errorf("after a pause in the list comes %q, want the hold that waits until it is cold", p.Text)
	}
}

// A duty bears the cautions of putting it back, else those of its step, and one that
// comes first stands ahead of what was done later.
func TestDutiesBearCautions(t *testing.T) {
	b := hotBench(t)
	b.say("done", "done", "done", "ready", "ready", "red", "ready")
	var got []string
	for range 3 {
		p := b.prompt()
		level := ""
		for _, n := range p.Notices {
			level += n.Level + " " + n.From + ";"
		}
		got = append(got, strings.Join([]string{p.Slot, level, p.See}, "|"))
		b.say("done")
	}
	want := []string{"owed/cable||", "owed/cover|caution sharp edges of (not known yet);|", "owed/probe|warning an open hole;|The hole is closed."}
	if !slices.Equal(got, want) {
		t.Errorf("what is owed is %q, want %q", got, want)
	}
}

// A file that says how to undo what nobody has to undo has a fault.
func TestUndoingNeedsAnUndo(t *testing.T) {
	_, faults := Load("hot.yaml", []byte(strings.Replace(hotJob, "  undo: Take the cable away.\n", "", 1)), &shop{})
	if err := faults.Err(); err == nil || !strings.Contains(err.Error(), "nothing is left to undo here") {
		t.Errorf("loading gives %v, want a fault of undoing", err)
	}
}

// A hold ahead of a check at idle that was passed under an earlier release's words
// stands.
func TestOlderHoldAheadOfIdleStands(t *testing.T) {
	b := benchOf(t, bell, 0)
	b.check("which", "red")
	b.check("look", "tied")
	p := b.at("search.2/to-idling")
	events, err := b.run.Propose(p, Answer{Text: "ready"})
	if err != nil {
		t.Fatal(err)
	}
	events[0].Seen = "Start the engine and let it idle. Does the mill idle safely?\nNobody is near."
	b.apply(events[0])
	b.at("hear")
}

// What a stop leaves out is said as something to see to, never as a bare question.
func TestRemainsSaysWhatToSeeTo(t *testing.T) {
	for _, c := range []struct {
		step Step
		want string
	}{
		{Step{Kind: Hold, Text: "Take a short drive. Are you parked again?", Lines: []string{"It is parked."}}, "Take a short drive."},
		{Step{Kind: Hold, Text: "Is it ready?", Lines: []string{"The hole is closed.", "Nobody is near."}}, "The hole is closed. Nobody is near."},
		{Step{Kind: Ask, Text: "Which lamps are on?"}, "Nobody answered: Which lamps are on?"},
		{Step{Kind: Do, Text: "Look for drops."}, "Look for drops."},
	} {
		if got := c.step.Remains(); got != c.want {
			t.Errorf("%q leaves %q, want %q", c.step.Text, got, c.want)
		}
	}
}
