package cli

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/engine"
)

// inchWater is the conventional inch of water in Pa (NIST SP 811, appendix B).
const inchWater = 249.08891

// wholeBox is a car whose box takes a tap ahead of the filter, behind it and behind its
// outlet, and whose tube takes one as well.
var wholeBox = tester{
	"displacement": "1998 cc", "induction": "natural", "fuel": "petrol", "peak-rpm": "6000", "mass-flow": "118 g/s", "place": "track",
	"pieces": "mouth, snorkel (duct), box-in (box-entry), filter, box-out (box-exit), meter, tube (duct)", "measure-pieces": "now", "gauge": "25 inH2O by 0.1 inH2O",
	"air": "25 C, 990 hPa, 0 %", "zero": "0", "zero-after": "0", "lamps": "none",
}

// wholeSizes are the sizes of its pieces, by name.
var wholeSizes = map[string]string{
	"mouth": "60 mm, bellmouth", "snorkel": "60 mm, 450 mm long", "box-in": "60 mm", "filter": "0.040 m2", "box-out": "65 mm, bellmouth", "meter": "65 mm", "tube": "65 mm, 500 mm long",
}

// smallEngine draws half the air through the same path.
var smallEngine = with(wholeBox, tester{"displacement": "1198 cc", "mass-flow": "60 g/s"})

func with(all, more tester) tester {
	out := maps.Clone(all)
	maps.Copy(out, more)
	return out
}

// depressions are what a gauge from the open air shows at each place at 6000 rpm, in inH2O.
type depressions map[string]float64

// lost is a reading that nobody could read.
var lost = math.NaN()

// showing answers for such a gauge, with the sizes of wholeSizes.
func showing(at depressions) func(engine.Prompt) string {
	return func(p engine.Prompt) string {
		switch p.Step {
		case "size":
			return wholeSizes[p.Round.Values["piece"]]
		case "value":
			x := at[p.Round.Values["to"]] - at[p.Round.Values["from"]]
			if math.IsNaN(x) {
				return "?"
			}
			return fmt.Sprintf("%.2f inH2O at 6000, keep", x)
		}
		return ""
	}
}

// A walk reads every place that can take a tap once, the whole path first. Between two
// places where the air stands still the loss is the difference of what the gauge shows
// and nothing else: from 5.0 to 7.5 inH2O the filter costs 2.5.
func TestComponentWalkGivesEveryPiece(t *testing.T) {
	var order []string
	show := showing(depressions{"snorkel": 4.5, "box-in": 5.0, "filter": 7.5, "box-out": 10.2, "tube": 11})
	w := walked(t, "component-walk", nil, wholeBox, func(p engine.Prompt) string {
		if p.Step == "zero" {
			order = append(order, p.Round.Values["to"])
		}
		return show(p)
	})
	if diff := cmp.Diff([]string{"tube", "box-out", "filter", "box-in", "snorkel"}, order); diff != "" {
		t.Errorf("places (-want +got):\n%s", diff)
	}
	a := advice.Assess(w.sheet(t), advice.Options{})
	for _, c := range a.Components {
		t.Logf("%s: %.2f (%.2f to %.2f) inH2O, %s", c.Name, c.Loss.Median/inchWater, c.Loss.Low/inchWater, c.Loss.High/inchWater, c.RestsOn)
		if c.Name == "filter" && (math.Abs(c.Loss.Median/inchWater-2.5) > 0.15 || c.RestsOn != "readings") {
			t.Errorf("the filter costs %.2f inH2O and rests on %s, want 2.5 and readings", c.Loss.Median/inchWater, c.RestsOn)
		}
	}
	for _, name := range []string{"mouth", "snorkel", "box-in", "filter", "box-out", "meter", "tube"} {
		if !strings.Contains(w.pages["losses"], name) {
			t.Errorf("the last page says nothing of %s:\n%s", name, w.pages["losses"])
		}
	}
	w.closes(t)
}

// Who has enough ends the walk; where the whole path costs little the walk says so.
func TestComponentWalkEnds(t *testing.T) {
	w := walked(t, "component-walk", nil, with(smallEngine, tester{"walk-on": "no"}), showing(depressions{"tube": 3}))
	if n := w.prompts.readings; n != 3 || !slices.Contains(w.steps, "little-to-win") {
		t.Errorf("%d readings and the steps %v", n, w.steps)
	}
	w.closes(t)
}

// Each verdict has its next step, and no other.
func TestComponentWalkHasANextStep(t *testing.T) {
	for _, c := range []struct {
		verdict, step string
		car           tester
		shows         depressions
	}{
		{assessment.Attack, "next-change", wholeBox, depressions{"snorkel": 10, "box-in": 11, "filter": 12, "box-out": 14.6, "tube": 15.5}},
		{assessment.LeaveAlone, "next-leave", smallEngine, depressions{"snorkel": 1.1, "box-in": 1.2, "filter": 1.6, "box-out": 2.3, "tube": 2.5}},
		{assessment.Recheck, "next-recheck", wholeBox, depressions{"snorkel": 11, "box-in": 14, "filter": 6, "box-out": 7, "tube": 5}},
		{assessment.Measure, "next-read", wholeBox, depressions{"snorkel": lost, "box-in": lost, "filter": lost, "box-out": lost, "tube": lost}},
	} {
		w := walked(t, "component-walk", nil, c.car, showing(c.shows))
		if got := advice.Assess(w.sheet(t), advice.Options{}).Verdict; got != c.verdict {
			t.Errorf("the verdict is %s, want %s:\n%s", got, c.verdict, w.pages["losses"])
		}
		if got := w.among("next-change", "next-read", "next-recheck", "next-leave"); !slices.Equal(got, []string{c.step}) {
			t.Errorf("%s leads to %v, want %s", c.verdict, got, c.step)
		}
	}
}
