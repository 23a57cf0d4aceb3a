package cli

import (
	"os"
	"testing"

	"dropwalk/advice"
	"dropwalk/advice/sheet"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// loadIntake reads the shipped procedure.
func loadIntake(t *testing.T) *engine.Procedure {
	t.Helper()
	return shippedHere(t, "intake")
}

// tester answers prompts: by step, else with what its kind takes at least.
type tester map[string]string

func (answers tester) answer(p engine.Prompt) string {
	if text, ok := answers[p.Step]; ok {
		return text
	}
	switch p.Kind {
	case engine.Hold:
		return "ready"
	case engine.Ask:
		return "?"
	}
	return ""
}

// tally is what a journey took.
type tally struct{ prompts, holds, readings int }

// journey walks until the place that until names and counts the prompts on
// the way; "" walks to the end.
func journey(t *testing.T, given []subject.Entry, answers tester, until string) (tally, *engine.Run) {
	t.Helper()
	r := engine.NewRun(loadIntake(t), &advice.Matter{})
	r.Apply(r.Start(given))
	var n tally
	through(t, r, func(p engine.Prompt) (engine.Answer, bool) {
		switch {
		case p.Kind == engine.Hold:
			n.holds++
		case p.Step == "value":
			n.readings++
		default:
			n.prompts++
		}
		return engine.Answer{Text: answers.answer(p)}, p.Slot != until
	})
	return n, r
}

// firstTimer knows the engine's size and nothing else.
var firstTimer = tester{
	"displacement": "1998 cc", "measure-pieces": "later", "place": "track", "value": "12.5 inH2O at 6000",
}

// A first-timer who doesn't know reaches the result of the whole path in at
// most 45 prompts besides holds; the readings count here.
func TestFirstTimerReachesTheResult(t *testing.T) {
	n, r := journey(t, nil, firstTimer, "walk.1/standing")
	t.Logf("%d prompts with %d readings, besides %d holds", n.prompts+n.readings, n.readings, n.holds)
	if got := n.prompts + n.readings; got > 45 {
		t.Errorf("%d prompts, want at most 45", got)
	}
	if p, _ := r.Next(); p.Page == "" {
		t.Error("the result is empty")
	}
}

// From a finished sheet of the same car it takes at most 15 prompts besides
// readings and holds.
func TestFromASheet(t *testing.T) {
	src, err := os.ReadFile("../../../testdata/sheets/yellow-estate.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, faults := sheet.Read("yellow-estate.yaml", src)
	if s == nil {
		t.Fatal(faults)
	}
	for _, place := range []string{"track", "rolling-road", "road"} {
		answers := tester{"place": place, "value": "12.5 inH2O at 6000", "road-speed": "13 km/h, 100 km/h"}
		n, _ := journey(t, advice.Carried(s), answers, "walk.1/standing")
		t.Logf("%s: %d prompts besides %d readings and %d holds", place, n.prompts, n.readings, n.holds)
		if n.prompts > 15 {
			t.Errorf("%s: %d prompts, want at most 15", place, n.prompts)
		}
	}
}

// The whole job ends, with everything undone that was done.
func TestWholeJob(t *testing.T) {
	answers := tester{"lamps": "none"}
	for k, v := range firstTimer {
		answers[k] = v
	}
	n, r := journey(t, nil, answers, "")
	t.Logf("%d prompts with %d readings, besides %d holds", n.prompts+n.readings, n.readings, n.holds)
	if how, ended := r.Ended(); how != "complete" || !ended {
		t.Errorf("ended %q, %v", how, ended)
	}
	if owed := r.Owed(); len(owed) > 0 {
		t.Errorf("still owed: %v", owed)
	}
	if n.readings < 3 {
		t.Errorf("%d readings, want 3 or more", n.readings)
	}
}

// Holds are never traded for speed: the holds on place, people, car and engine
// stand before the first run, and each run has two of its own.
func TestHoldsStandBeforeTheRun(t *testing.T) {
	n, _ := journey(t, nil, firstTimer, "walk.1/runs.1/run")
	if n.holds != 6 {
		t.Errorf("%d holds up to the first run, want place, people, car, engine off, closed up and the run's own", n.holds)
	}
	all, _ := journey(t, nil, firstTimer, "walk.1/zero-after")
	if got, want := all.holds-n.holds, 2*all.readings-1; got != want {
		t.Errorf("%d holds in %d runs, want two a run", got+1, all.readings)
	}
}

// A public road is refused while the speed is above the limit or not known.
func TestPublicRoadIsRefused(t *testing.T) {
	for _, c := range []struct {
		answers tester
		refused bool
	}{
		{tester{"road-speed": "13 km/h, 50 km/h"}, true},
		{tester{"road-speed": "13 km/h, 100 km/h"}, false},
		{tester{"road-speed": "13 km/h"}, true},
		{tester{"road-speed": "?, 100 km/h"}, true},
		{tester{"road-speed": "?"}, true},
		{tester{"road-speed": "8 mph, 60 mph"}, false},
	} {
		c.answers["displacement"], c.answers["measure-pieces"] = "2 L", "later"
		c.answers["place"], c.answers["peak-rpm"] = "road", "6000"
		r := engine.NewRun(loadIntake(t), &advice.Matter{})
		r.Apply(r.Start(nil))
		at := ""
		for range 60 {
			p, open := r.Next()
			if at = p.Slot; !open || at == "too-fast" || at == "place-hold" {
				break
			}
			events, err := r.Propose(p, engine.Answer{Text: c.answers.answer(p)})
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range events {
				r.Apply(e)
			}
		}
		if got := at == "too-fast"; got != c.refused {
			t.Errorf("%v comes to %q, refused %v, want %v", c.answers, at, got, c.refused)
		}
	}
}
