package model

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice/assessment"
)

// visit is a full walk along the handbook's own car, an invented one, three runs
// a station; change alters what the gauge shows at a station.
func visit(t *testing.T, more string, change func(station string, pa, head float64) float64) []Finding {
	t.Helper()
	const path = "path: [{name: mouth, kind: mouth, diameter: 60 mm, edge: flush}, {name: box, kind: box-entry, diameter: 60 mm}, " +
		"{name: filter, kind: filter, face: 0.04 m2}, {name: out, kind: box-exit, diameter: 65 mm, edge: flush}, {name: tube, kind: duct, diameter: 65 mm, length: 400 mm, surface: smooth}]\n"
	head := engine + more + path + "gauges: [{name: g, range: 25 inH2O, division: 0.1 inH2O, accuracy: 1 %}]\n"
	c := car(t, head)
	text, run, loss := head+"readings:\n", 0, 0.0
	for k, p := range c.Pieces {
		loss += p.Median
		st := c.Stations[k+1]
		if st.Tap == "none" {
			continue
		}
		for i := range 3 {
			run++
			pa := change(st.Name, loss+st.Head, st.Head) * (1 + 0.005*float64(i-1))
			text += fmt.Sprintf("- {run: %d, from: open-air, to: %s, gauge: g, value: %.1f Pa, rpm: 6000, gear: 2, zero_before: 0 Pa, zero_after: 0 Pa}\n", run, st.Name, pa)
		}
	}
	return car(t, text).Checks()
}

func codes(found []Finding) []string {
	out := []string{}
	for _, f := range found {
		out = append(out, f.Code)
	}
	return out
}

func TestHandbookCarIsSound(t *testing.T) {
	if found := visit(t, "", func(_ string, pa, _ float64) float64 { return pa }); len(found) > 0 {
		t.Errorf("got %v for a car right out of the handbook, want nothing", codes(found))
	}
}

// A dirty filter is a fault of the car: everything behind it shows more.
func TestDirtyFilterIsNoFaultOfTheSetup(t *testing.T) {
	found := visit(t, "", func(station string, pa, _ float64) float64 {
		if station == "box" {
			return pa
		}
		return pa + 1200
	})
	if len(found) > 0 {
		t.Errorf("got %v for a dirty filter, want nothing", codes(found))
	}
}

// A leak at one tap leaves a part of the suction there. The loss before it comes
// out too small, the next too large, and that both happen in one car is rare.
func TestLeakAtOneTap(t *testing.T) {
	found := visit(t, "", func(station string, pa, _ float64) float64 {
		if station == "box" {
			return 0.35 * pa
		}
		return pa
	})
	if len(found) == 0 {
		t.Fatal("nothing found")
	}
	for _, f := range found {
		if f.Code == assessment.TapDoubtful && strings.Contains(f.Text, "at box") && slices.Equal(f.Runs, []int{1, 2, 3}) {
			return
		}
	}
	t.Errorf("got %+v, want the tap at box in doubt and its runs named", found)
}

// A hose that leaks makes every reading low by the same share; a leak check that
// was passed speaks against it.
func TestLeakInTheHose(t *testing.T) {
	third := func(_ string, pa, _ float64) float64 { return 0.3 * pa }
	if found := visit(t, "", third); len(found) == 0 || !found[0].Grave {
		t.Errorf("got %+v, want a grave finding", found)
	}
	some := func(_ string, pa, _ float64) float64 { return 0.6 * pa }
	const check = "checks: [{kind: leak, at: tube, start: 12 inH2O, end: 11.9 inH2O, seconds: 30}]\n"
	open, passed := visit(t, "", some), visit(t, check, some)
	if !slices.Contains(codes(open), assessment.Leak) {
		t.Errorf("got %v without a leak check, want a leak named", codes(open))
	}
	if slices.Contains(codes(passed), assessment.Leak) {
		t.Errorf("got %v after a passed leak check, want no leak named", codes(passed))
	}
}

func TestAnotherGearIsNamed(t *testing.T) {
	c := car(t, engine+pieces+"readings:\n"+
		"- {run: 1, from: open-air, to: tube, value: 12 inH2O, rpm: 6000, gear: 2}\n"+
		"- {run: 2, from: open-air, to: tube, value: 12 inH2O, rpm: 6000, gear: 2}\n"+
		"- {run: 3, from: open-air, to: tube, value: 12 inH2O, rpm: 6000, gear: 3}\n"+
		"- {run: 4, from: open-air, to: tube, value: 12 inH2O, rpm: 6000}\n")
	for _, f := range c.Checks() {
		if f.Code == assessment.NotFullLoad {
			if !slices.Equal(f.Runs, []int{3}) || f.Grave {
				t.Errorf("got %+v, want run 3 named, not gravely", f)
			}
			return
		}
	}
	t.Error("a run in third gear among runs in second is not named")
}

// A plain number at the end of the scale is a needle at its stop.
func TestPeggedNeedleIsABound(t *testing.T) {
	const gauges = "gauges: [{name: g, range: 10 inH2O, division: 0.2 inH2O}]\nreadings:\n"
	for shown, want := range map[string]bool{"10 inH2O": true, "9.9 inH2O": false, "9-9.8 inH2O": false} {
		c := car(t, engine+pieces+gauges+"- {run: 1, from: open-air, to: tube, gauge: g, value: \""+shown+"\", rpm: 6000}\n")
		if got := slices.Contains(codes(c.Checks()), assessment.OffScale); got != want {
			t.Errorf("%s of 10: off the scale %v, want %v", shown, got, want)
		}
	}
}

// What lies off the scale can't lie inside a stretch that shows little.
func TestBoundsAgainstValues(t *testing.T) {
	line := func(run int, from, to, value string) string {
		return fmt.Sprintf("- {run: %d, from: %s, to: %s, gauge: g, value: %q, rpm: 6000}\n", run, from, to, value)
	}
	const head = engine + pieces + "gauges: [{name: g, range: 25 inH2O, division: 0.5 inH2O}]\nreadings:\n"
	for _, story := range []struct {
		name, readings string
		grave          bool
	}{
		{"a part above the scale of the whole", line(1, "open-air", "tube", "8 inH2O") + line(2, "open-air", "filter", ">25 inH2O"), true},
		{"the same stretch, twice", line(1, "open-air", "tube", "8 inH2O") + line(2, "open-air", "tube", ">25 inH2O"), true},
		{"a part below what a part of it shows", line(1, "box", "tube", "9 inH2O") + line(2, "open-air", "tube", "<0.5 inH2O"), true},
		{"the whole above, a part on the scale", line(1, "open-air", "tube", ">25 inH2O") + line(2, "open-air", "filter", "18 inH2O"), false},
	} {
		found := car(t, head+story.readings).Checks()
		if got := slices.ContainsFunc(found, func(f Finding) bool { return f.Grave }); got != story.grave {
			t.Errorf("%s: grave %v, want %v (%v)", story.name, got, story.grave, codes(found))
		}
	}
}

// reading is one line of a sheet from the open air to the tube.
func reading(run int, value, more string) string {
	return fmt.Sprintf("- {run: %d, from: open-air, to: tube, gauge: g, value: %q, %s}\n", run, value, more)
}

const dial = "gauges: [{name: g, range: 25 inH2O, division: 0.2 inH2O}, {name: h, range: 25 inH2O, division: 0.2 inH2O}]\nreadings:\n"

// A hose that is sucked flat makes the reading grow faster than the square of the
// rpm; one that keeps its shape does not.
func TestGrowthOverRPM(t *testing.T) {
	for slow, want := range map[string]bool{"6 inH2O": false, "3.4 inH2O": true} {
		found := car(t, engine+pieces+dial+reading(1, "13.4 inH2O", "rpm: 6000")+reading(2, "13.6 inH2O", "rpm: 6000")+reading(3, slow, "rpm: 4000")).Checks()
		if got := slices.Contains(codes(found), assessment.ClosesUp); got != want {
			t.Errorf("13.5 inH2O at 6000 rpm and %s at 4000: closes up %v, want %v", slow, got, want)
		}
		for _, f := range found {
			if f.Grave {
				t.Errorf("%s at 4000 rpm is called a contradiction: %s", slow, f.Text)
			}
		}
	}
}

func TestTwoGaugesThatQuarrel(t *testing.T) {
	other := strings.ReplaceAll(reading(2, "17 inH2O", "rpm: 6000")+reading(3, "17 inH2O", "rpm: 6000"), "gauge: g", "gauge: h")
	found := car(t, engine+pieces+dial+reading(1, "13 inH2O", "rpm: 6000")+other).Checks()
	for _, f := range found {
		if f.Code == assessment.RunsDisagree && f.Grave && strings.Contains(f.Text, "gauges g and h") {
			return
		}
	}
	t.Errorf("got %+v, want the two gauges named", found)
}

func TestNumbersThatCannotBe(t *testing.T) {
	for _, story := range []struct {
		name, readings, code string
		grave                bool
	}{
		{"beyond the gauge", reading(1, "40 inH2O", "rpm: 6000"), assessment.OffScale, true},
		{"at the end of its scale", reading(1, "25 inH2O", "rpm: 6000"), assessment.OffScale, false},
		{"far above the reference rpm", reading(1, "13 inH2O", "rpm: 9000"), assessment.FarRPM, false},
		{"a tenth of the flow", reading(1, "13 inH2O", "rpm: 6000, mass_flow: 12 g/s"), assessment.FlowDoubtful, true},
	} {
		head := engine
		if story.code == assessment.FlowDoubtful {
			head = strings.Replace(engine, ", mass_flow: 118 g/s", "", 1)
		}
		found := car(t, head+pieces+dial+story.readings).Checks()
		at := slices.IndexFunc(found, func(f Finding) bool { return f.Code == story.code })
		if at < 0 || found[at].Grave != story.grave {
			t.Errorf("%s: got %+v, want %s, grave %v", story.name, found, story.code, story.grave)
		}
	}
}

// A leak check that gains pressure is no check that was passed.
func TestLeakCheckThatRises(t *testing.T) {
	const rises = "checks: [{kind: leak, at: tube, start: 12 inH2O, end: 13 inH2O, seconds: 30}]\n"
	if found := car(t, engine+rises+pieces+dial+reading(1, "13 inH2O", "rpm: 6000")).Checks(); !slices.Contains(codes(found), assessment.Leak) {
		t.Errorf("got %v, want a word on the leak check", codes(found))
	}
}

// What makes a total wide is named by what would cure it.
func TestWidest(t *testing.T) {
	for more, want := range map[string]Width{
		reading(1, "13 inH2O", "rpm: 6000, zero_before: 0 Pa, zero_after: 0 Pa"): ByBore,
		reading(1, ">25 inH2O", "rpm: 6000"):                                     ByRange,
		"":                                                                       "",
	} {
		bores := strings.ReplaceAll(strings.ReplaceAll(pieces, ", diameter: 60 mm", ""), ", diameter: 65 mm", "")
		head := engine + bores + dial
		if more == "" {
			head = engine + bores
		}
		if got := car(t, head+more).Widest(); got != want {
			t.Errorf("%q: %q, want %q", more, got, want)
		}
	}
	road := strings.Replace(engine, "place: rolling-road", "place: road", 1)
	if got := car(t, road+pieces+dial+reading(1, "3 inH2O", "rpm: 6000, zero_before: 0 Pa, zero_after: 0 Pa")).Widest(); got != ByWind {
		t.Errorf("a small reading on the road: %q, want the wind", got)
	}
}
