package advice

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"dropwalk/engine/subject"
)

// on reads a value off a scale.
func on(step, x float64) float64 { return math.Round(x/step) * step }

// The intervals hold what they say: of simulated tests whose truth is known, about nine in
// ten have it between the ends. Fewer would be a false claim; all of them would be none.
func TestIntervalsOfFurtherTestsHoldTheTruth(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	either := func(half float64) float64 { return (2*r.Float64() - 1) * half }
	const tests = 400
	for _, c := range []struct {
		name, figure string
		truth        float64
		one          func() []subject.Entry
	}{
		{"intake air", "rise-steady", 11, func() []subject.Entry {
			off := either(2) // the thermometer in the intake, whenever it is read
			entries := places(thermoStep, "1 K", coldOutside, fmt.Sprintf("%g C", on(1, 12+either(0.5))), coldIntake, "")
			entries[2].Text = fmt.Sprintf("%g C", on(1, 12+either(0.5)+off))
			var rows [][]string
			for range 3 {
				open := 18 + either(1)
				rows = append(rows, []string{steadyState, fmt.Sprintf("%g C", on(1, open)), fmt.Sprintf("%g C", on(1, open+11+off+0.7*r.NormFloat64()))})
			}
			return slices.Concat(entries, inRows("drives", []string{heatState, heatOutside, heatIntake}, rows...))
		}},
		{"places on the body", "more", 0.5 * inch, func() []subject.Entry {
			zero := either(0.2)
			at := func(p float64) []float64 {
				var both []float64
				for range 6 {
					both = append(both, on(0.1, p+zero+0.06*r.NormFloat64()))
				}
				return both
			}
			return slices.Concat(surveyed("grille, cowl"), passes(1, "grille", at(0.42)...), passes(2, "cowl", at(0.92)...))
		}},
		{"charge cooler", "effectiveness", 0.68, func() []subject.Entry {
			hot, cold, open := either(2), either(2), either(2)
			var rows [][]string
			for range 3 {
				in := 118 + 2*r.NormFloat64()
				rows = append(rows, []string{"92 kPa", "86 kPa", "5500 rpm", fmt.Sprintf("%g C", in+hot), fmt.Sprintf("%g C", in-0.68*(in-21)+cold), fmt.Sprintf("%g C", 21+open)})
			}
			return slices.Concat(boosted, charged(rows...))
		}},
		{"drop of the charge cooler", "drop", 7000, func() []subject.Entry {
			apart := either(2)
			entries := slices.Concat(boosted, places(pairAhead, fmt.Sprintf("%g kPa", on(2, 100+either(1))), pairBehind, ""))
			entries[len(entries)-1].Text = fmt.Sprintf("%g kPa", on(2, 100+either(1)-apart))
			var rows [][]string
			for range 3 {
				ahead := 92 + 2*r.NormFloat64()
				rows = append(rows, []string{fmt.Sprintf("%g kPa", on(2, ahead)), fmt.Sprintf("%g kPa", on(2, ahead-7-apart+0.5*r.NormFloat64())), "5500 rpm", "118 C", "52 C", "21 C"})
			}
			return slices.Concat(entries, charged(rows...))
		}},
		{"exhaust", "exponent", 1.9, func() []subject.Entry {
			var all []float64
			for range 2 {
				for _, rpm := range []float64{1500, 2000, 2500, 3000} {
					all = append(all, on(0.2, 8*math.Pow(rpm/2500, 1.9)*(1+0.05*r.NormFloat64())), rpm)
				}
			}
			return slices.Concat(backGauge, revved(all...))
		}},
	} {
		held := 0
		for range tests {
			x, ok := Found(c.one(), Options{}).Figure(c.figure)
			if !ok || !x.Known() {
				t.Fatalf("%s: no %s", c.name, c.figure)
			}
			if x.Low <= c.truth && c.truth <= x.High {
				held++
			}
		}
		share := float64(held) / tests
		t.Logf("%s: %.1f %% of the intervals of %s hold the truth", c.name, 100*share, c.figure)
		// 400 tests scatter by 1.5 % about 90 %.
		if share < 0.86 || share > 0.995 {
			t.Errorf("%s: %.1f %%", c.name, 100*share)
		}
	}
}
