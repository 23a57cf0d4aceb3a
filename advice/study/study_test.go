package study

import (
	"context"
	"math"
	"runtime"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/practice"
)

func plan(cars int) Plan {
	return Plan{Cars: cars, Seed: 11, Hands: practice.Hands(), Walk: Full}
}

// The same seed gives the same report on one core and on several.
func TestRunFollowsFromTheSeed(t *testing.T) {
	alone := runtime.GOMAXPROCS(1)
	one := Run(t.Context(), plan(6), nil)
	runtime.GOMAXPROCS(max(alone, 3))
	many := Run(t.Context(), plan(6), nil)
	runtime.GOMAXPROCS(alone)
	if diff := cmp.Diff(one, many); diff != "" {
		t.Errorf("one core and several differ: %s", diff)
	}
	if one.Done != 6 || one.With.Cars != 3 || one.Without.Cars != 3 {
		t.Errorf("got %d cars, %d with and %d without sizes, want 6, 3, 3", one.Done, one.With.Cars, one.Without.Cars)
	}
	other := plan(6)
	other.Seed = 12
	if cmp.Equal(one.With, Run(t.Context(), other, nil).With) {
		t.Error("another seed gives the same cars")
	}
}

// Whoever ends a study gets what is done.
func TestRunStops(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	last := 0
	r := Run(ctx, plan(500), func(done int) {
		last = done
		if done >= 2 {
			stop()
		}
	})
	if r.Done < 2 || r.Done >= 500 || r.Asked != 500 || last != r.Done {
		t.Errorf("got %d of %d cars, told of %d, want some of 500", r.Done, r.Asked, last)
	}
	if r.With.Coverage == nil {
		t.Error("the cars that were done give no coverage")
	}
}

func held(low, high, truth float64) claim {
	return claim{practice.Interval{Low: low, High: high}, truth}
}

// Two cars worked by hand: 3 of 4 components held; the interval that misses by 1 Pa
// scores its width of 2 and 2/0.1 for the miss (Gneiting and Raftery, 2007).
func TestScoreByHand(t *testing.T) {
	cars := []*outcome{
		{parts: []claim{held(1, 3, 2), held(1, 3, 4)}, kinds: []string{"mouth", "duct"}, total: held(0, 9, 6),
			stands: true, standsGroup: true, picked: true, worth: true, stations: 2, regret: 0.2, alarm: true, blame: true, falls: true,
			fault: practice.Burr, noticed: true},
		{parts: []claim{held(1, 5, 2), held(0, 4, 4)}, kinds: []string{"duct", "duct"}, total: held(0, 1, 6),
			stations: 4, fault: practice.Burr},
	}
	s := tally(1).score(cars)
	for _, c := range []struct {
		name string
		f    *Figure
		want float64
		n    int
	}{
		{"coverage", s.Coverage, 0.75, 4},
		{"coverage of ducts", s.CoverageKind["duct"], 2.0 / 3, 3},
		{"interval score", s.IntervalScore, (2 + 22 + 4 + 4) / 4.0, 4},
		{"total", s.Total, 0.5, 2},
		{"right picks", s.RightPicks, 1, 1},
		{"right picks worth it", s.WorthPicks, 1, 1},
		{"right picks of full walks", s.FullPicks, 0, 1},
		{"groups", s.Grouped, 1, 1},
		{"stations", s.Stations, 2, 1},
		{"all stations", s.AllTapped, 3, 2},
		{"regret", s.Regret, 0.1, 2},
		{"alarms", s.Alarms, 0.5, 2},
		{"falling", s.Falling, 1, 1},
		{"remarks", s.Blame, 0.5, 2},
		{"burrs", s.Noticed["burr at one tap"], 0.5, 2},
	} {
		if c.f == nil || math.Abs(c.f.Value-c.want) > 1e-12 || c.f.Items != c.n {
			t.Errorf("%s: got %+v, want %g of %d", c.name, c.f, c.want, c.n)
		}
	}
	if s.Gain != nil || s.Noticed["part load"] != nil {
		t.Errorf("got %+v and %+v where no car had anything to say", s.Gain, s.Noticed["part load"])
	}
	// Wilson's interval of one in one: 1/(1 + 1.96^2).
	if got := s.RightPicks.Low; math.Abs(got-0.20654) > 1e-5 {
		t.Errorf("one of one: from %g, want 0.20654", got)
	}
}

// Every setup fault has remarks that name it, and a car gets only faults whose
// harm is worth noticing.
func TestFaultsAreTried(t *testing.T) {
	for _, f := range practice.SetupFaults() {
		if len(remarks[f]) == 0 {
			t.Errorf("no remark names %q", f)
		}
	}
	r := Run(t.Context(), plan(24), nil)
	tried := 0
	for _, half := range []Score{r.With, r.Without} {
		for _, f := range half.Noticed {
			if f != nil {
				tried += f.Items
			}
		}
		if half.AllTapped.Value < 1 {
			t.Errorf("%g stations tapped on average, want one at the least", half.AllTapped.Value)
		}
	}
	if tried < 12 || tried > 24 {
		t.Errorf("%d faults tried on 24 cars, want one on most", tried)
	}
}
