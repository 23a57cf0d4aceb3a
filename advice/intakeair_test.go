package advice

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice/finding"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// places are entries outside rounds: a path and its text, in turn.
func places(pairs ...string) []subject.Entry {
	var out []subject.Entry
	for i := 0; i < len(pairs); i += 2 {
		e := subject.Entry{Path: pairs[i], Text: pairs[i+1]}
		out = append(out, e)
	}
	return out
}

// inRows are entries of rounds, one row each: "drives.1", "drives.2", and so on, with
// one text for each path.
func inRows(rounds string, paths []string, rows ...[]string) []subject.Entry {
	var out []subject.Entry
	for i, texts := range rows {
		for j, path := range paths {
			out = append(out, subject.Entry{Path: path, Row: fmt.Sprintf("%s.%d", rounds, i+1), Text: texts[j]})
		}
	}
	return out
}

// drives are readings in steady driving, intake less open air at 18 C.
func drives(rises ...float64) []subject.Entry {
	var rows [][]string
	for _, r := range rises {
		rows = append(rows, []string{steadyState, "18 C", fmt.Sprintf("%g C", 18+r)})
	}
	return inRows("drives", []string{heatState, heatOutside, heatIntake}, rows...)
}

// figure holds a figure of a finding against what was worked out by hand; NaN is for an
// end that isn't known.
func figure(t *testing.T, f *finding.Finding, name string, value, low, high, within float64) {
	t.Helper()
	x, ok := f.Figure(name)
	if !ok {
		t.Errorf("no figure %s", name)
		return
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{{"value", x.Value, value}, {"low", x.Low, low}, {"high", x.High, high}} {
		if math.IsNaN(c.want) != math.IsNaN(c.got) || math.Abs(c.got-c.want) > within {
			t.Errorf("%s, %s: %v, want %v", name, c.what, c.got, c.want)
		}
	}
}

var overnight = places(coldOutside, "12 C", coldIntake, "13 C", thermoStep, "1 K")

// Rises of 12, 13 and 11 K with thermometers that show 1 K apart on a cold car, by hand:
// the mean is 12 - 1 = 11 K. Its variance is 1/3 (scatter) + 1/6 (two scales of 1 K at
// each reading) + 1/6 (at the comparison) = 2/3; the freedom (2/3)^2 / ((1/3)^2/2) = 8;
// t(0.95, 8) = 1.8595, so 11 +- 1.5183 K. At 291.15 K the exponent 0.6 of ISO 1585 costs
// 1 - (291.15/302.15)^0.6 = 2.2005 %; the gas law makes it 3.6406 % thinner.
func TestIntakeAirByHand(t *testing.T) {
	entries := slices.Concat(overnight, places("car.engine.fuel", "petrol", "car.engine.induction", "natural", stoodOutside, "18 C", stoodIntake, "44 C"), drives(12, 13, 11))
	f := Found(entries, Options{})
	if f.Verdict != airWarm {
		t.Errorf("verdict %s", f.Verdict)
	}
	figure(t, f, "rise-steady", 11, 11-1.5183, 11+1.5183, 1e-3)
	// One reading: 25 K; scale 1/6, comparison 1/6 and 3 K either way, which is 3, give
	// sqrt(10/3), times 1.64485.
	figure(t, f, "rise-standing", 25, 25-3.0031, 25+3.0031, 1e-3)
	// Ends of cost: sqrt((cost(11) - cost(9.4817))^2 + (cost at 0.6 - cost at 0.5)^2), and
	// upwards with 12.5183 K and the exponent 1 of the mass of air.
	figure(t, f, "cost", 0.0220053, 0.0173182, 0.0367022, 1e-5)
	figure(t, f, "thinner", 0.0364058, 0.0315392, 0.0412236, 1e-5)
	if x, _ := f.Figure("rise-full-load"); x.Given() || x.How != finding.NotTested {
		t.Errorf("full load: %+v", x)
	}
}

// Each outcome follows from its readings.
func TestIntakeAirOutcomes(t *testing.T) {
	standing := func(in string) []subject.Entry { return places(stoodOutside, "18 C", stoodIntake, in) }
	pulls := inRows("pulls", []string{heatState, heatOutside, heatIntake}, []string{loadedState, "18 C", "20 C"}, []string{loadedState, "18 C", "20 C"}, []string{loadedState, "18 C", "21 C"})
	for _, c := range []struct {
		name    string
		entries []subject.Entry
		want    string
	}{
		{"warm", slices.Concat(overnight, drives(12, 13, 12)), airWarm},
		{"cool", slices.Concat(overnight, drives(3, 3, 4)), airCool},
		{"cool, and cool after standing", slices.Concat(overnight, drives(3, 3, 4), standing("21 C")), airCool},
		{"cool, and warm after standing", slices.Concat(overnight, drives(3, 3, 4), standing("44 C")), airSoaks},
		{"near the mark", slices.Concat(overnight, drives(5, 7, 6)), finding.CannotTell},
		{"a scatter that hides it", slices.Concat(overnight, drives(2, 14, 8)), finding.CannotTell},
		{"thermometers that nobody compared", drives(6, 6, 6), finding.CannotTell},
		{"warm, but cool at full load, which is what counts", slices.Concat(overnight, drives(12, 13, 12), pulls), airCool},
		{"one drive, which shows no scatter", slices.Concat(overnight, drives(12)), finding.NotYet},
		{"no reading that counts", slices.Concat(overnight, inRows("drives", []string{heatState, heatOutside, heatIntake}, []string{steadyState, "?", "?"})), finding.NotYet},
	} {
		if f := Found(c.entries, Options{}); f == nil || f.Verdict != c.want {
			t.Errorf("%s: %+v, want %s", c.name, f, c.want)
		}
	}
}

// On an engine with a blower a hot pull alone says nothing: the blower heats what it
// presses. A warm intake in steady driving is warm all the same, and without a blower the
// pulls decide.
func TestAHotPullBehindABlowerIsNoWarmIntake(t *testing.T) {
	hot := inRows("pulls", []string{heatState, heatOutside, heatIntake}, []string{loadedState, "18 C", "38 C"}, []string{loadedState, "18 C", "39 C"}, []string{loadedState, "18 C", "38 C"})
	for _, c := range []struct {
		induction string
		rises     []float64
		want      string
		says      bool // that a blower may be at work
	}{
		{"turbo", []float64{3, 3, 4}, finding.CannotTell, true},
		{"supercharged", []float64{5, 7, 6}, finding.CannotTell, true},
		{"turbo", nil, finding.CannotTell, true},
		{"", []float64{3, 3, 4}, finding.CannotTell, true},
		{"turbo", []float64{12, 13, 12}, airWarm, false},
		{"natural", []float64{3, 3, 4}, airWarm, false},
	} {
		entries := slices.Concat(overnight, places("car.engine.induction", c.induction), drives(c.rises...), hot)
		f := Found(entries, Options{})
		said := strings.Contains(strings.Join(f.Sentences, " "), "A blower heats the air")
		if f.Verdict != c.want || said != c.says {
			t.Errorf("%s, steady %v: %s, %q, want %s", c.induction, c.rises, f.Verdict, f.Sentences, c.want)
		}
		if cost, ok := f.Figure("cost"); c.says && ok && cost.Value > 0.02 {
			t.Errorf("%s, steady %v: the blower's heat costs %g of power", c.induction, c.rises, cost.Value)
		}
	}
}

// The sensor goes ahead of a blower where there is one or may be one.
func TestTheSensorSitsAheadOfABlower(t *testing.T) {
	for induction, want := range map[string]string{"natural": "no", "turbo": "yes", "supercharged": "yes", "": "yes"} {
		if got := (&Matter{}).Look(places("car.engine.induction", induction)).Value("blower").Word; got != want {
			t.Errorf("%q: %s, want %s", induction, got, want)
		}
	}
}

// An intake that is colder than the open air gives power back, and an engine that nobody
// described leaves the cost wide.
func TestIntakeAirAtItsEdges(t *testing.T) {
	f := Found(slices.Concat(overnight, drives(-4, -4, -4)), Options{})
	if x, _ := f.Figure("cost"); f.Verdict != airCool || x.Value >= 0 || x.Low > x.Value || x.High < x.Value {
		t.Errorf("%s, %+v", f.Verdict, x)
	}
	known := Found(slices.Concat(overnight, places("car.engine.fuel", "petrol", "car.engine.induction", "natural"), drives(12, 12, 12)), Options{})
	open := Found(slices.Concat(overnight, drives(12, 12, 12)), Options{})
	narrow, _ := known.Figure("cost")
	wide, _ := open.Figure("cost")
	if !(wide.Low < narrow.Low && wide.High > narrow.High) {
		t.Errorf("known %+v, open %+v", narrow, wide)
	}
}

// Repeats go on while they lie apart, and stop when they don't.
func TestRepeatsGoOnWhileTheyLieApart(t *testing.T) {
	m := &Matter{}
	offer := func(entries []subject.Entry, done int) (subject.Offer, bool) {
		return m.Look(entries).Offer("next-drive", subject.Round{Slot: fmt.Sprintf("drives.%d", done+1), Done: done, Least: 3})
	}
	if o, ok := offer(nil, 0); !ok || o.Parts[0] != (subject.Part{Path: heatState, Text: steadyState}) || o.Values["repeats"] != "3" {
		t.Errorf("the first: %+v, %v", o, ok)
	}
	if _, ok := offer(drives(6, 7, 8), 3); ok {
		t.Error("one more although they lie together")
	}
	if o, ok := offer(drives(6, 7, 12), 3); !ok || o.Reason == "" || o.Values["repeats"] != "4 (they lie apart)" {
		t.Errorf("none although they lie apart: %+v", o)
	}
	unread := inRows("drives", []string{heatState, heatOutside, heatIntake}, []string{steadyState, "18 C", "24 C"}, []string{steadyState, "", ""}, []string{steadyState, "", ""})
	if _, ok := offer(unread, 3); !ok {
		t.Error("none although only one could be read")
	}
}

// What a test is, the places tell that it fills; verdicts in Go are those of its file.
func TestFurtherTestsAreWhole(t *testing.T) {
	m := &Matter{}
	for _, x := range tests {
		want := append(slices.Clone(x.verdicts), finding.NotYet)
		slices.Sort(want)
		if got := finding.VerdictsOf(x.name); !slices.Equal(got, want) {
			t.Errorf("%s: the file has %v, the table %v", x.name, got, want)
		}
		for _, place := range x.places {
			if _, ok := m.Field(place); !ok && !ownList(place) && !strings.HasPrefix(place, "visits[].") { // parts of a round are no fields
				t.Errorf("%s: %s is neither a place nor in a list of its own nor a part of a visit", x.name, place)
			}
			if got := testOf([]subject.Entry{{Path: place, Text: "1"}}); got == nil || got.name != x.name {
				t.Errorf("%s is told as %v", place, got)
			}
		}
		if f := NotYet(x.places); f == nil || f.Test != x.name {
			t.Errorf("%s: nothing found so far is %+v", x.name, f)
		}
	}
	if f := Found(places("car.engine.displacement", "1998 cc"), Options{}); f != nil || NotYet([]string{readingPath}) != nil {
		t.Errorf("the test of the whole path counts as %+v", f)
	}
	if v := m.Look(nil).Value("finding"); v.Word != finding.NotYet {
		t.Errorf("before any answer the verdict is %+v", v)
	}
}

// Where names are left out the same name becomes the same neutral one.
func TestNamesOfFurtherTests(t *testing.T) {
	for _, x := range tests {
		for path, kind := range x.named {
			got := UnnamedEntries([]subject.Entry{{Path: path, Row: "1", Text: "left lip, Right lip"}, {Path: path, Row: "2", Text: "right lip"}, {Path: "car.name", Text: "yellow"}})
			if got[0].Text != kind+" 1, "+kind+" 2" || got[1].Text != kind+" 2" || got[2].Text != "yellow" {
				t.Errorf("%s: %+v", path, got)
			}
		}
	}
}

// What people typed as a reason for doubt goes with the names.
func TestReasonsForDoubtAreLeftOut(t *testing.T) {
	got := UnnamedEntries([]subject.Entry{{Path: "heat[].doubtful", Row: "drives.1", Text: "doubtful: Anna slipped"}, {Path: heatIntake, Row: "drives.1", Text: "24 C"}})
	if got[0].Text != "doubtful: (left out)" || got[1].Text != "24 C" {
		t.Errorf("%+v", got)
	}
}

// A sheet holds nothing of a further test, and an answer to one is taken where there is
// no sheet yet.
func TestFurtherTestsStayOffTheSheet(t *testing.T) {
	for _, e := range SheetEntries(slices.Concat(overnight, drives(3))) {
		if e.Path == heatIntake || e.Path == coldIntake {
			t.Errorf("on the sheet: %+v", e)
		}
	}
	reply, err := (&Matter{Units: quantity.AsTyped}).Look(nil).Read([]string{heatOutside, heatIntake}, subject.Round{Slot: "drives.1"}, "18 C, 24 C")
	if err != nil || len(reply.Parts) != 2 || reply.Parts[1].Text != "24 C" {
		t.Errorf("%+v, %v", reply, err)
	}
}

// Two temperatures without a unit are asked back once, each choice a whole answer; and
// a bare distance of two thermometers is offered with the units it can have.
func TestTemperaturesWithoutAUnitAreAskedOnce(t *testing.T) {
	for _, c := range []struct {
		paths []string
		raw   string
		want  []string
	}{
		{[]string{"heat[].outside", "heat[].intake"}, "24, 18", []string{"24 C, 18 C", "24 F, 18 F"}},
		{[]string{"air.temperature", "air.pressure", "air.humidity"}, "18, 1011 hPa, 60 %", []string{"18 C, 1011 hPa, 60 %", "18 F, 1011 hPa, 60 %"}},
		{[]string{"test.thermometer_division"}, "1", []string{"1 K", "1 F"}},
	} {
		_, err := (&Matter{}).Look(nil).Read(c.paths, subject.Round{}, c.raw)
		r, ok := errors.AsType[*subject.Refusal](err)
		if !ok || strings.Join(r.Choices, "|") != strings.Join(c.want, "|") {
			t.Errorf("%q comes to %+v, %v; want the choices %q", c.raw, r, err, c.want)
		}
	}
}
