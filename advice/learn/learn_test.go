package learn_test

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/learn"
	"dropwalk/advice/model"
	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// school are visits to cars of an invented school, sizes given of every second one.
func school(n int, s *practice.School) []learn.Visit {
	var out []learn.Visit
	for i := range n {
		car := practice.Draw(uint64(500+i), practice.Options{Hand: practice.Hands()[i%3], School: s})
		out = append(out, learn.Visit{Name: fmt.Sprintf("car %d", i), Sheet: car.Session(uint64(i), practice.Setup{}).FullWalk(practice.Detail(2 * (i % 2)))})
	}
	return out
}

func fit(t *testing.T, visits []learn.Visit) *learn.Priors {
	t.Helper()
	p, err := learn.Fit(context.Background(), visits, learn.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func groupOf(t *testing.T, p *learn.Priors, kind, form string) learn.Group {
	t.Helper()
	for _, g := range p.Groups {
		if g.Kind == kind && g.Form == form {
			return g
		}
	}
	t.Fatalf("no %s %s among %+v", kind, form, p.Groups)
	return learn.Group{}
}

// Two schools that differ in nothing but what box exits cost differ by that in what
// they teach, and by little in all else.
func TestWhatDiffersIsLearnt(t *testing.T) {
	if testing.Short() {
		t.Skip("48 cars are solved anew in every step")
	}
	usual := fit(t, school(24, nil))
	dear := fit(t, school(24, &practice.School{Factors: map[string]float64{"box-exit": 1.8}}))
	for _, g := range usual.Groups {
		ratio := groupOf(t, dear, g.Kind, g.Form).Factor / g.Factor
		switch {
		case g.Kind == "box-exit" && g.Form == "" && ratio < 1.1:
			t.Errorf("box exits that cost 1.8 times as much teach %.2f times", ratio)
		case g.Kind == "filter" && (ratio < 0.93 || ratio > 1.07):
			t.Errorf("filters, which don't differ, teach %.2f times", ratio)
		}
	}
}

// Three cars hardly move anything: no factor leaves the handbook's own band, none counts
// for half, and the handbook lies within what holds each factor nine times in ten.
func TestThreeCarsHardlyMove(t *testing.T) {
	p := fit(t, school(3, practice.Invented()))
	if p.Cars != 3 {
		t.Fatalf("%d cars", p.Cars)
	}
	for _, g := range p.Groups {
		low, high := g.Interval()
		if g.Weight < 0 || g.Weight >= 0.5 || low > 1 || high < 1 || g.Factor < 0.8 || g.Factor > 1.25 {
			t.Errorf("%+v, from %.2f to %.2f", g, low, high)
		}
	}
	for _, k := range p.Kinds {
		if k.Spread < 0.8 || k.Spread > 1.25 || math.Abs(k.Spoilt-model.UsualSpoilt(k.Kind)) > 0.12 {
			t.Errorf("%+v, usual %.2f", k, model.UsualSpoilt(k.Kind))
		}
	}
}

// The same visits teach the same on one core and on several.
func TestFitIsTheSameOnAnyCores(t *testing.T) {
	visits := school(4, nil)
	before := runtime.GOMAXPROCS(1)
	one := fit(t, visits)
	runtime.GOMAXPROCS(max(before, 3))
	many := fit(t, visits)
	runtime.GOMAXPROCS(before)
	if diff := cmp.Diff(one, many); diff != "" {
		t.Error(diff)
	}
}

// reading is a visit to an invented car of three pieces.
func reading(name, date, doubt string, pa ...float64) learn.Visit {
	s := &sheet.Sheet{Date: date, Path: []sheet.Component{{Name: "mouth", Kind: sheet.Mouth}, {Name: "tube", Kind: sheet.Duct}}}
	s.Car.Name = name
	s.Car.Engine.Displacement = quantity.Amount{Kind: quantity.Volume, Form: quantity.Exact, SI: 2e-3, Low: 2e-3, High: 2e-3}
	for i, v := range pa {
		s.Readings = append(s.Readings, sheet.Reading{Run: i + 1, From: sheet.OpenAir, To: "tube", RPM: 6000, Doubtful: doubt,
			Value: quantity.Amount{Kind: quantity.PressureDiff, Form: quantity.Exact, SI: v, Low: v, High: v, Unit: "Pa"}})
	}
	return learn.Visit{Name: name + " " + date, Sheet: s}
}

// Visits that say nothing are named; of several visits of one car one tells of its
// pieces, and all of its runs and fittings.
func TestWhichVisitsCount(t *testing.T) {
	p := fit(t, []learn.Visit{
		reading("yellow-estate", "2026-01-01", "", 2000, 2010, 2020), reading("Yellow Estate", "2026-02-01", "", 2100, 2110, 2090),
		reading("green-van", "2026-01-01", "the hose slipped", 900), reading("blue-coupe", "2026-01-01", ""), reading("", "2026-01-01", "", 1500, 1500), reading("", "2026-01-01", "", 1800, 1790),
	})
	want := []learn.LeftOut{{Name: "green-van 2026-01-01", Reason: learn.Doubtful}, {Name: "blue-coupe 2026-01-01", Reason: learn.NoReadings},
		{Name: "yellow-estate 2026-01-01", Reason: learn.SameCar}}
	if diff := cmp.Diff(p.Left, want); diff != "" {
		t.Error(diff)
	}
	if p.Cars != 3 || p.Runs.Freedom != 6 {
		t.Errorf("%d cars, %g degrees of freedom of runs, want 3 and 6", p.Cars, p.Runs.Freedom)
	}
	// Two visits with nothing changed between them, 2010 and 2100 Pa: 64 Pa or 3 %
	// scatter, with one degree of freedom beside eight of 1 %.
	if p.Refits.Visits != 2 || p.Refits.Share < 0.013 || p.Refits.Share > 0.016 || math.Abs(p.Refits.Weight-1.0/9) > 0.02 {
		t.Errorf("fittings %+v", p.Refits)
	}
}

// Runs that scatter half as far as usual teach that, as far as they weigh.
func TestRunsTeach(t *testing.T) {
	var calm, wild []learn.Visit
	for i := range 6 {
		calm = append(calm, reading(fmt.Sprint("car", i), "2026-01-01", "", 2000, 2001, 2002, 2001, 2000))
		wild = append(wild, reading(fmt.Sprint("car", i), "2026-01-01", "", 2000, 2400, 1600, 2300, 1700))
	}
	if p := fit(t, calm); p.Runs.Scatter > 0.8 || math.Abs(p.Runs.Weight-24.0/54) > 1e-3 {
		t.Errorf("calm runs: %+v", p.Runs)
	}
	if p := fit(t, wild); p.Runs.Scatter < 1.3 {
		t.Errorf("wild runs: %+v", p.Runs)
	}
}

// A fit that is ended says so.
func TestFitEnds(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := learn.Fit(ctx, school(2, nil), learn.Options{}); err == nil {
		t.Error("nothing said that it was ended")
	}
}
