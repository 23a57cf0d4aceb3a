package study

import (
	"flag"
	"fmt"
	"math"
	"testing"

	"dropwalk/advice/learn"
	"dropwalk/advice/practice"
)

var schoolCars = flag.Int("school", 36, "`number` of cars that are learned from, and of others that are judged; README has the figures of 300")

// pooled is the coverage and the interval score over all pieces of a report.
func pooled(r *Report) (coverage, score float64) {
	items := 0.0
	for _, s := range []Score{r.With, r.Without} {
		n := float64(s.Coverage.Items)
		coverage, score, items = coverage+n*s.Coverage.Value, score+n*s.IntervalScore.Value, items+n
	}
	return coverage / items, score / items
}

// What cars of a school teach helps with others of that school, whose physics knows
// nothing of the estimator: intervals hold the truth at least as nearly nine times in
// ten, and score better. Few cars leave chance some room.
func TestASchoolLearnsFromItsCars(t *testing.T) {
	if testing.Short() {
		t.Skip("two studies take their time")
	}
	p := Plan{Cars: *schoolCars, Seed: 21, Hands: practice.Hands(), Walk: Full, School: practice.Invented()}
	var visits []learn.Visit
	for i := range p.Cars {
		visits = append(visits, learn.Visit{Name: fmt.Sprint(i), Sheet: p.Sheet(i)})
	}
	learnt, err := learn.Fit(t.Context(), visits, learn.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p.Seed = 22
	before, old := pooled(Run(t.Context(), p, nil))
	p.Priors = learnt.Model()
	after, score := pooled(Run(t.Context(), p, nil))
	t.Logf("%d cars, %d rounds: coverage %.4f before and %.4f after, score %.1f and %.1f Pa", p.Cars, learnt.Steps, before, after, old, score)
	room := 0.25 / math.Sqrt(float64(p.Cars))
	if p.Cars >= 300 {
		room = 0
	}
	if math.Abs(after-0.9) > math.Abs(before-0.9)+room || score >= old*(1+room) {
		t.Errorf("coverage %.4f before, %.4f after; score %.1f Pa before, %.1f after", before, after, old, score)
	}
}

// A school's cars differ from others in what it says, and the same seed gives the same
// car otherwise: an engine and a layout don't know where they are tested.
func TestASchoolIsAnotherPlace(t *testing.T) {
	p := Plan{Cars: 1, Seed: 3, Hands: practice.Hands()}
	anywhere, _, _ := p.draw(0)
	p.School = &practice.School{Factors: map[string]float64{"filter": 2}}
	there, _, _ := p.draw(0)
	for i, c := range anywhere.Path {
		want := 1.0
		if c.Kind == "filter" {
			want = 2
		}
		if got := there.Truth.Loss[i] / anywhere.Truth.Loss[i]; math.Abs(got-want) > 0.08*want {
			t.Errorf("%s costs %.3f times as much there, want %g", c.Name, got, want)
		}
	}
}
