package compare_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"dropwalk/advice/compare"
	"dropwalk/advice/stats"
)

// tests is how often each simulated test is made.
var tests = flag.Int("tests", 2000, "`number` of simulated tests of each kind")

// Where nothing changed, one verdict in twenty at most says so all the same: with
// drift, with scatter from fitting to fitting that is known, and with both. So do the
// intervals that leave nought out, which no worth makes fewer. Both are held to what
// one in twenty gives by chance (one-sided 99 %).
func TestFalseVerdicts(t *testing.T) {
	for i, s := range []simulated{
		{scatter: 0.25}, {scatter: 0.25, drift: 0.125}, {scatter: 0.25, refit: 0.25}, {scatter: 0.25, refit: 0.125, drift: 0.125},
	} {
		t.Run(fmt.Sprintf("%+v", s), func(t *testing.T) {
			t.Parallel()
			got := s.rates(t, uint64(i+1), max(s.refit, 1e-9), *tests)
			t.Logf("%+v", got)
			if most := 0.05 + 2.33*math.Sqrt(0.05*0.95/float64(*tests)); got.changed > most || got.verdicts > most {
				t.Errorf("false verdicts %.4f, intervals that leave nought out %.4f, want at most 0.05 (%.4f by chance)", got.verdicts, got.changed, most)
			}
			if got.covered < 0.93 || got.covered > 0.97 {
				t.Errorf("covered %.4f, want 0.93 to 0.97", got.covered)
			}
		})
	}
}

// A change of one and a half times what such a test detects four times in five is
// found in nine tests of ten and more, and the interval holds it as often as it says.
func TestTrueChangeIsFound(t *testing.T) {
	for i, s := range []simulated{{scatter: 0.25}, {scatter: 0.25, refit: 0.125, drift: 0.05}} {
		t.Run(fmt.Sprintf("%+v", s), func(t *testing.T) {
			t.Parallel()
			v, freedom := stats.Combined(stats.Part{Variance: s.scatter * s.scatter * 3 / 8, Freedom: 9}, stats.Part{Variance: 1.5 * s.refit * s.refit, Freedom: stats.Endless})
			detectable := 0.0
			for stats.TPower(freedom, detectable/math.Sqrt(v), stats.Size) < stats.Power {
				detectable += 0.001
			}
			s.change = -1.5 * detectable
			got := s.rates(t, uint64(i+11), max(s.refit, 1e-9), *tests)
			t.Logf("change %.3f inH2O: %+v", s.change, got)
			if got.changed < 0.90 || got.covered < 0.93 || got.covered > 0.97 {
				t.Errorf("found %.4f, covered %.4f; want 0.90 or more, and 0.93 to 0.97", got.changed, got.covered)
			}
		})
	}
}

// What the page says of a scatter from fitting to fitting that is taken half as large
// as it is: compare.UnderstatedLow of all intervals leave nought out where it is half
// of what one run scatters, compare.UnderstatedHigh where it is as large.
func TestRefitUnderstatedByHalf(t *testing.T) {
	for _, row := range []struct {
		s    simulated
		want float64
	}{{simulated{scatter: 0.25, refit: 0.125}, compare.UnderstatedLow}, {simulated{scatter: 0.25, refit: 0.25}, compare.UnderstatedHigh}} {
		t.Run(fmt.Sprintf("%+v", row.s), func(t *testing.T) {
			t.Parallel()
			got := row.s.rates(t, 21, row.s.refit/2, *tests/2)
			t.Logf("%+v", got)
			if math.Abs(got.changed-row.want) > 0.02 {
				t.Errorf("intervals that leave nought out %.4f, want about %.2f", got.changed, row.want)
			}
		})
	}
}

// A dial that is read to half an inch rounds all runs of a block alike where they
// scatter by less: the interval allows for that.
func TestCoarseScaleCovers(t *testing.T) {
	t.Parallel()
	const cars = 500
	s := simulated{scatter: 0.05, refit: 0.12, change: -0.8}
	dice := rand.New(rand.NewPCG(9, 9))
	covered := 0.0
	for range cars {
		sheets, off := s.sheets(dice), dice.Float64()/2
		for _, sh := range sheets {
			sh.Gauges[0].Division.SI = inch / 2
			for i := range sh.Readings {
				sh.Readings[i].Value.SI = math.Round((sh.Readings[i].Value.SI/inch+off)*2) / 2 * inch
			}
		}
		if p := compared(t, compare.Options{Refit: s.refit * inch}, sheets...).Pairs[0]; p.Change.Low <= s.change*inch && s.change*inch <= p.Change.High {
			covered++
		}
	}
	t.Logf("covered %.3f", covered/cars)
	if covered < 0.93*cars {
		t.Errorf("covered %.3f, want 0.93 or more", covered/cars)
	}
}
