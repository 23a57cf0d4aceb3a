package compare_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"dropwalk/advice/compare"
	"dropwalk/advice/internal/published"
	"dropwalk/advice/sheet"
)

// Five visits with nothing changed between them: the constructed example of
// testdata/published/class_example.csv, whose scatter between the groups is 0.2905455
// inH2O by ISO 5725-2.
func TestHistoryPublished(t *testing.T) {
	values := map[string][]float64{}
	for _, row := range published.Table(t, "class_example.csv")[1:] {
		values[row[0]] = append(values[row[0]], published.Number(t, row[2]))
	}
	var visits []*sheet.Sheet
	for _, group := range []string{"1", "2", "3", "4", "5"} {
		visits = append(visits, visit("open-air", "tube", values[group]...))
	}
	h := compare.NewHistory(visits)
	if len(h.Spans) != 1 || h.Spans[0].Visits != 5 {
		t.Fatalf("got %+v, want one pair that five visits tell", h.Spans)
	}
	near(t, "scatter", h.Spans[0].SD/inch, 0.2905455, 2e-6)
}

// Only visits that differ by refitting alone tell its scatter. Names stand for visits:
// a change as the sheet states it, "" for none.
func TestWhichVisitsTellRefitting(t *testing.T) {
	for _, story := range []struct {
		name    string
		changes []string
		visits  int
	}{
		{"nothing changed", []string{"", "", ""}, 3},
		{"before and after", []string{"", "flare"}, 0},
		{"before, after and, as far as the sheet says, still so", []string{"", "flare", ""}, 0},
		{"the change stated anew each time", []string{"", "flare", "", "flare"}, 4},
		{"after the change nothing more", []string{"", "flare", "flare", "flare"}, 3},
		{"put back, and a later visit", []string{"", "flare", "put back as it was", "", ""}, 2},
	} {
		var visits []*sheet.Sheet
		for i, what := range story.changes {
			s := visit("open-air", "tube", 12+0.1*float64(i%2), 12.05, 11.95)
			if what != "" {
				s.Changes = []sheet.Change{{Component: "mouth", What: what}}
			}
			visits = append(visits, s)
		}
		got := 0
		for _, f := range compare.NewHistory(visits).Spans {
			got += f.Visits
		}
		if got != story.visits {
			t.Errorf("%s: %d visits tell it, want %d", story.name, got, story.visits)
		}
	}
	other := visit("open-air", "tube", 12, 12.1, 11.9)
	other.Path[0].Diameter.SI = 0.07
	if h := compare.NewHistory([]*sheet.Sheet{visit("open-air", "tube", 12, 12.1, 11.9), other}); len(h.Spans) != 0 {
		t.Errorf("another mouth: got %+v", h.Spans)
	}
}

// What the car's own visits show takes the place of the usual figure, with the freedom
// that so many visits give: false verdicts stay near one in twenty where the car
// scatters much more than is usual.
func TestHistoryKeepsVerdictsHonest(t *testing.T) {
	s := simulated{scatter: 0.1, refit: 0.4}
	const cars = 400
	dice := rand.New(rand.NewPCG(5, 5))
	own, usual := 0.0, 0.0
	for range cars {
		var past []*sheet.Sheet
		for range 6 {
			level := 12 + s.refit*dice.NormFloat64()
			past = append(past, visit("open-air", "tube", level+s.scatter*dice.NormFloat64(), level+s.scatter*dice.NormFloat64(), level+s.scatter*dice.NormFloat64()))
		}
		now := s.sheets(dice)
		if compared(t, compare.Options{History: compare.NewHistory(past)}, now...).Pairs[0].Measurable {
			own++
		}
		if compared(t, compare.Options{}, now...).Pairs[0].Measurable {
			usual++
		}
	}
	t.Logf("intervals that leave nought out: %.3f by the car's own scatter, %.3f by the usual one", own/cars, usual/cars)
	if most := 0.05 + 2.33*math.Sqrt(0.05*0.95/cars); own/cars > most+0.02 {
		t.Errorf("by the car's own scatter %.3f, want near 0.05 (%.3f)", own/cars, most+0.02)
	}
	if usual < 3*own {
		t.Errorf("the usual figure gives %.3f, so this test shows nothing", usual/cars)
	}
}

// What a class scatters by is taken as it stands, ahead of the car's own visits and
// behind what the user says; nought, or a pair that the class didn't read, leaves it to
// them. Other cars of a workshop come last, ahead of the guess.
func TestClassGivesRefit(t *testing.T) {
	sheets := []*sheet.Sheet{visit("open-air", "tube", 12, 12.2, 12.1), visit("open-air", "tube", 11.8, 12, 11.9)}
	of := func(sd float64, to string) *compare.History {
		return &compare.History{Spans: []compare.Fitted{{From: "open-air", To: to, SD: sd, Freedom: 4, Visits: 5}}}
	}
	for _, row := range []struct {
		name string
		o    compare.Options
		from string
		sd   float64
	}{
		{"the class", compare.Options{Class: of(72.5, "tube"), History: of(30, "tube")}, compare.RefitClass, 72.5},
		{"stated", compare.Options{Refit: 20, Class: of(72.5, "tube")}, compare.RefitStated, 20},
		{"nought", compare.Options{Class: of(0, "tube"), History: of(30, "tube")}, compare.RefitHistory, 30},
		{"another pair", compare.Options{Class: of(72.5, "filter")}, compare.RefitUsual, 30},
		{"other cars", compare.Options{Learnt: compare.Learnt{Share: 0.02, Freedom: 12}}, compare.RefitLearnt, 60},
		{"own visits before other cars", compare.Options{Learnt: compare.Learnt{Share: 0.02, Freedom: 12}, History: of(60, "tube")}, compare.RefitHistory, 60},
	} {
		got := compared(t, row.o, sheets...).Pairs[0].Refit
		if got.From != row.from || math.Abs(got.SD-row.sd) > 0.05*row.sd {
			t.Errorf("%s: got %+v, want %g by %s", row.name, got, row.sd, row.from)
		}
	}
}
