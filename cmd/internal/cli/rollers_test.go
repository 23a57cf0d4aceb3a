package cli

import (
	"slices"
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/engine"
)

// onRollers is the car of wholeBox on a rolling road.
var onRollers = with(wholeBox, tester{"place": "rolling-road"})

// The run on rollers holds the speed, cools between runs, and owes the straps as well.
// What comes out is a sheet whose place is the rolling road, where the model knows of
// no wind of driving.
func TestRollers(t *testing.T) {
	show := showing(depressions{"snorkel": 10, "box-in": 11, "filter": 12, "box-out": 14.6, "tube": 15.5})
	owed := 0
	w := walked(t, "rollers", nil, onRollers, func(p engine.Prompt) string {
		if strings.Contains(p.Text, "straps taken off") {
			owed++
		}
		return show(p)
	})
	if s := w.sheet(t); s.Place != "rolling-road" {
		t.Errorf("the place is %q", s.Place)
	}
	runs, cooled := 0, 0
	for _, step := range w.steps {
		switch step {
		case "run":
			runs++
		case "cool":
			cooled++
		}
	}
	// Every run but the first of a reading is behind a pause to cool.
	if readings := runs / 3; runs%3 != 0 || cooled != runs-readings {
		t.Errorf("%d runs and %d pauses to cool", runs, cooled)
	}
	if owed != 1 {
		t.Errorf("the straps are owed %d times", owed)
	}
	w.closes(t)
}

// Every hold of the rolling road stands ahead of the first run, and the two that can
// kill are dangers.
func TestRollersHolds(t *testing.T) {
	w := walked(t, "rollers", nil, onRollers, showing(depressions{"snorkel": 10, "box-in": 11, "filter": 12, "box-out": 14.6, "tube": 15.5}))
	first := slices.Index(w.steps, "run")
	for _, step := range []string{"straps", "roller-hold", "crew-hold", "fan-hold", "car-hold", "off-hold", "closed-hold"} {
		if at := slices.Index(w.steps, step); at < 0 || at > first {
			t.Errorf("%s stands at %d, the first run at %d", step, at, first)
		}
	}
	steps := stepsOf(shippedHere(t, "rollers"))
	for _, step := range []string{"straps", "crew-hold"} {
		if n := steps[step].Notices; n[0].Level != "danger" {
			t.Errorf("%s begins with a %s", step, n[0].Level)
		}
	}
}

// A place that is none leads back to the question: the cautions here are those of a
// rolling road.
func TestRollersAreForARollingRoad(t *testing.T) {
	asked := 0
	w := walked(t, "rollers", nil, onRollers, func(p engine.Prompt) string {
		if p.Step == "place" {
			if asked++; asked == 1 {
				return "track"
			}
		}
		return showing(depressions{"snorkel": 10, "box-in": 11, "filter": 12, "box-out": 14.6, "tube": 15.5})(p)
	})
	if asked != 2 || !slices.Contains(w.steps, "not-rollers") {
		t.Errorf("the place was asked for %d times", asked)
	}
	if place := w.sheet(t).Place; place != "rolling-road" {
		t.Errorf("the place is %q", place)
	}
	w.closes(t)
}

// Straps that don't hold end the test ahead of the first run.
func TestRollersWithoutStraps(t *testing.T) {
	w := walked(t, "rollers", nil, onRollers, func(p engine.Prompt) string {
		switch p.Step {
		case "straps":
			return cannotBecause + "an eye is torn"
		case "size":
			return wholeSizes[p.Round.Values["piece"]]
		}
		return ""
	})
	if how, ended := w.Ended(); !ended || !strings.Contains(how, "stopped") || slices.Contains(w.steps, "run") {
		t.Errorf("it ended %q, %v, behind %v", how, ended, w.steps)
	}
}

// Each verdict has its next step here as well.
func TestRollersHaveANextStep(t *testing.T) {
	for _, c := range []struct {
		verdict, step string
		car           tester
		shows         depressions
	}{
		{assessment.Attack, "next-change", onRollers, depressions{"snorkel": 10, "box-in": 11, "filter": 12, "box-out": 14.6, "tube": 15.5}},
		{assessment.LeaveAlone, "next-leave", with(smallEngine, onlyPlace), depressions{"snorkel": 1.1, "box-in": 1.2, "filter": 1.6, "box-out": 2.3, "tube": 2.5}},
		{assessment.Recheck, "next-recheck", onRollers, depressions{"snorkel": 1, "box-in": 1, "filter": 1, "box-out": 1, "tube": 0.5}},
		{assessment.Measure, "next-read", onRollers, depressions{"snorkel": lost, "box-in": lost, "filter": lost, "box-out": lost, "tube": lost}},
	} {
		w := walked(t, "rollers", nil, c.car, showing(c.shows))
		if got := advice.Assess(w.sheet(t), advice.Options{}).Verdict; got != c.verdict {
			t.Errorf("the verdict is %s, want %s:\n%s", got, c.verdict, w.pages["advice"])
		}
		if got := w.among("next-change", "next-read", "next-recheck", "next-leave"); !slices.Equal(got, []string{c.step}) {
			t.Errorf("%s leads to %v, want %s", c.verdict, got, c.step)
		}
	}
}

var onlyPlace = tester{"place": "rolling-road"}
