package compare_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"dropwalk/advice/compare"
	"dropwalk/advice/internal/published"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
)

const inch = 249.08891 // Pa

// An invented car; no car of this world.
const invented = `sheet: 1
date: 2026-11-25
place: rolling-road
car:
  name: yellow-estate
  engine: {displacement: 1998 cc, fuel: petrol, induction: natural}
reference: {rpm: 6000, air: {temperature: 18 C, pressure: 101.1 kPa, humidity: 60 %}}
path:
  - {name: mouth,   kind: mouth,     diameter: 60 mm}
  - {name: snorkel, kind: duct,      diameter: 60 mm, length: 450 mm}
  - {name: box-in,  kind: box-entry, diameter: 60 mm}
  - {name: filter,  kind: filter,    face: 0.040 m2}
  - {name: box-out, kind: box-exit,  diameter: 65 mm}
  - {name: tube,    kind: duct,      diameter: 65 mm, length: 500 mm}
gauges:
  - {name: g25, range: 25 inH2O, division: 0.01 inH2O, accuracy: 2 %}
air: {temperature: 18 C, pressure: 101.1 kPa, humidity: 60 %}
`

// read makes a sheet of a text and panics on a fault: the text is part of the test.
func read(text string) *sheet.Sheet {
	var out *sheet.Sheet
	sheet.ReadAll("test", strings.NewReader(text), func(s *sheet.Sheet, faults strictyaml.Faults) bool {
		if err := faults.Err(); err != nil {
			panic(err)
		}
		out = s
		return true
	})
	return out
}

// fresh is a copy of the invented car's sheet that can be changed.
func fresh() *sheet.Sheet {
	s := *inventedSheet()
	s.Path, s.Gauges = slices.Clone(s.Path), slices.Clone(s.Gauges)
	return &s
}

var inventedSheet = sync.OnceValue(func() *sheet.Sheet { return read(invented) })

// visit is the invented car with readings in inH2O between two stations.
func visit(from, to string, values ...float64) *sheet.Sheet {
	s := fresh()
	take(s, from, to, values...)
	return s
}

func take(s *sheet.Sheet, from, to string, values ...float64) {
	for _, v := range values {
		pa := v * inch
		s.Readings = append(s.Readings, sheet.Reading{
			Run: len(s.Readings) + 1, From: from, To: to, Gauge: "g25", RPM: 6000,
			Value: quantity.Amount{Kind: quantity.PressureDiff, Form: quantity.Exact, SI: pa, Low: pa, High: pa},
		})
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: got %.8g, want %.8g within %g", what, got, want, tol)
	}
}

func compared(t *testing.T, o compare.Options, sheets ...*sheet.Sheet) *compare.Comparison {
	t.Helper()
	c, err := compare.Sheets(sheets, o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The constructed test of testdata/published/aba_example.csv (worked out in R): with
// no scatter from refitting to speak of, the change and its interval are those of
// least squares with a term for drift. The interval may be wider by 1 %: what the way to
// the reference point may be off goes with the size of the change; without that part the
// error is the published one.
func TestBeforeAfterBefore(t *testing.T) {
	blocks := map[string][2][]float64{}
	for _, row := range published.Table(t, "aba_example.csv")[1:] {
		b := blocks[row[1]]
		b[0], b[1] = append(b[0], published.Number(t, row[3])), append(b[1], published.Number(t, row[4]))
		blocks[row[1]] = b
	}
	o := compare.Options{Refit: 1e-6, Worth: 0.3 * inch}
	whole := func(i int, name string) *sheet.Sheet {
		s := visit("open-air", "tube", blocks[name][i]...)
		s.Gauges[0].Accuracy.SI = 1e-6 // what a gauge may be off is no part of that example
		return s
	}
	c := compared(t, o, whole(0, "A1"), whole(0, "B"), whole(0, "A2"))
	p := c.Pairs[0]
	near(t, "change", p.Change.Median/inch, -0.605, 1e-5)
	near(t, "low", p.Change.Low/inch, -0.68951832639, 0.01)
	near(t, "high", p.Change.High/inch, -0.52048167361, 0.01)
	near(t, "error of the runs", math.Sqrt(p.Error*p.Error-p.Shared*p.Shared)/inch, 0.037361827808, 1e-4)
	near(t, "drift", p.Drift.Median/inch, -0.031503497, 1e-5)
	near(t, "scatter", p.Scatter/inch, 0.061011609, 1e-5)
	if p.Verdict != compare.Better || !p.BeyondWorth || !p.Measurable {
		t.Errorf("got %+v, want better, measurable and beyond what is worth having", p)
	}
	null := compared(t, o, whole(1, "A1"), whole(1, "B"), whole(1, "A2")).Pairs[0]
	near(t, "null case", null.Change.Median/inch, 0.015, 1e-4)
	if null.Verdict != compare.NoChange || null.Measurable {
		t.Errorf("null case: got %s, measurable %t; want no-meaningful-change, false", null.Verdict, null.Measurable)
	}
}

// A change that is sure but smaller than what is worth having is both: measurable,
// and no change that means anything.
func TestSureButSmall(t *testing.T) {
	c := compared(t, compare.Options{Refit: 1e-6, Worth: inch},
		visit("open-air", "tube", 12, 12.05, 11.95, 12), visit("open-air", "tube", 11.6, 11.65, 11.55, 11.6))
	if p := c.Pairs[0]; p.Verdict != compare.NoChange || !p.Measurable || p.BeyondWorth {
		t.Errorf("got %s, measurable %t, beyond %t", p.Verdict, p.Measurable, p.BeyondWorth)
	}
}

// Where the runs scatter, more runs are asked for; where fitting does, more fittings;
// where two gauges may be off, neither cures it.
func TestWhatWouldSettleIt(t *testing.T) {
	rough := []float64{12, 12.8, 11.4, 12.2}
	smooth := []float64{12, 12.05, 11.95, 12.02}
	moved := func(by float64, from []float64) []float64 {
		var out []float64
		for _, v := range from {
			out = append(out, v+by)
		}
		return out
	}
	for _, story := range []struct {
		name          string
		refit         float64
		before, after []float64
		gauge         string
		runs, refits  bool
		cure          string
	}{
		{"rough runs", 0.02, rough, moved(-0.3, rough), "g25", true, false, "runs"},
		{"rough fitting", 0.4, smooth, moved(-0.3, smooth), "g25", false, true, "refits"},
		{"two gauges", 0.02, smooth, moved(-0.3, smooth), "other", false, false, "neither"},
	} {
		after := visit("open-air", "tube", story.after...)
		for i := range after.Readings {
			after.Readings[i].Gauge = story.gauge
		}
		p := compared(t, compare.Options{Refit: story.refit * inch, Worth: 0.6 * inch}, visit("open-air", "tube", story.before...), after).Pairs[0]
		if p.Verdict != compare.CannotTell || (p.RunsNeeded != nil) != story.runs || (p.RefitsNeeded != nil) != story.refits || p.Cure != story.cure {
			t.Errorf("%s: got %s, cure %q (%+v)", story.name, p.Verdict, p.Cure, p)
		}
	}
}

// With a scatter of 0.3 inH2O from fitting to fitting, 3-3-3 runs never prove that
// nothing changed, however calm they are.
func TestRefitScatterForbidsProof(t *testing.T) {
	calm := []float64{12, 12.001, 11.999}
	p := compared(t, compare.Options{Refit: 0.3 * inch}, visit("open-air", "tube", calm...), visit("open-air", "tube", calm...), visit("open-air", "tube", calm...)).Pairs[0]
	if p.Verdict != compare.CannotTell || p.RefitsNeeded == nil {
		t.Errorf("got %s, %+v", p.Verdict, p)
	}
}

func TestRefusals(t *testing.T) {
	three := []float64{12, 12.1, 11.9}
	other := visit("open-air", "tube", three...)
	other.Car.Name = "green-van"
	swapped := visit("open-air", "tube", three...)
	swapped.Path[5].Kind = "resonator"
	for _, story := range []struct {
		name   string
		sheets []*sheet.Sheet
		what   string
	}{
		{"one sheet", []*sheet.Sheet{visit("open-air", "tube", three...)}, "1 sheets can't be compared"},
		{"single runs", []*sheet.Sheet{visit("open-air", "tube", 12), visit("open-air", "tube", 11)}, "single run"},
		{"other stations", []*sheet.Sheet{visit("open-air", "tube", three...), visit("open-air", "filter", three...)}, "no reading that counts"},
		{"another car", []*sheet.Sheet{visit("open-air", "tube", three...), other}, "two cars"},
		{"another kind of piece", []*sheet.Sheet{visit("open-air", "tube", three...), swapped}, "after a duct in sheet 1, after a resonator in sheet 2"},
		{"no readings", []*sheet.Sheet{fresh(), fresh()}, "no readings"},
	} {
		_, err := compare.Sheets(story.sheets, compare.Options{})
		refusal, ok := err.(*compare.Refusal)
		if !ok || !strings.Contains(refusal.What, story.what) || refusal.Hint == "" {
			t.Errorf("%s: got %v, want a refusal with %q and a hint", story.name, err, story.what)
		}
	}
}

// A name written another way is the same car.
func TestSameCar(t *testing.T) {
	for _, row := range []struct {
		a, b string
		same bool
	}{{"yellow-estate", "Yellow Estate", true}, {"yellow_estate", "yellow  estate", true}, {"", "grey van", true}, {"grey van", "grey van 2", false}} {
		if got := compare.SameCar(row.a, row.b); got != row.same {
			t.Errorf("%q and %q: got %t", row.a, row.b, got)
		}
	}
}

// What differs between the visits widens the answer, and the result says so.
func TestWhatWidens(t *testing.T) {
	three := []float64{12, 12.1, 11.9}
	with := func(edit func(s *sheet.Sheet)) *sheet.Sheet {
		s := visit("open-air", "tube", three...)
		edit(s)
		return s
	}
	o := compare.Options{Refit: 0.05 * inch}
	plain := compared(t, o, visit("open-air", "tube", three...), visit("open-air", "tube", three...)).Pairs[0].Error
	for _, story := range []struct {
		name, code string
		after      *sheet.Sheet
	}{
		{"another day", compare.OtherDay, with(func(s *sheet.Sheet) { s.Date = "2026-12-02" })},
		{"no date", compare.OtherDay, with(func(s *sheet.Sheet) { s.Date = "" })},
		{"another gauge", compare.OtherGauge, with(func(s *sheet.Sheet) { s.Gauges[0].Name = "h"; rename(s, "h") })},
		{"another bore", compare.OtherBore, with(func(s *sheet.Sheet) { s.Path[5].Diameter.SI = 0.070 })},
	} {
		c := compared(t, o, visit("open-air", "tube", three...), story.after)
		if got := c.Pairs[0].Error; !(got > 1.2*plain) {
			t.Errorf("%s: error %g, want well above %g", story.name, got, plain)
		}
		if !has(c, story.code) {
			t.Errorf("%s: notes %v, want %q", story.name, c.Notes, story.code)
		}
	}
}

func rename(s *sheet.Sheet, gauge string) {
	for i := range s.Readings {
		s.Readings[i].Gauge = gauge
	}
}

func has(c *compare.Comparison, code string) bool {
	for _, n := range c.Notes {
		if n.Code == code {
			return true
		}
	}
	return false
}

// A boosted engine on a day of other weather: how its flow follows the weather is
// not known, so the answer is wider than for one that breathes by itself.
func TestBoostedIsWider(t *testing.T) {
	width := func(induction string) float64 {
		before, after := visit("open-air", "tube", 12, 12.1, 11.9), visit("open-air", "tube", 12, 12.1, 11.9)
		for _, s := range []*sheet.Sheet{before, after} {
			s.Car.Engine.Induction = induction
		}
		after.Date, after.Air.Pressure.SI = "2026-12-02", 95e3
		c := compared(t, compare.Options{}, before, after)
		if boosted := induction == "turbo"; has(c, compare.Boosted) != boosted {
			t.Errorf("%s: notes %v", induction, c.Notes)
		}
		return c.Pairs[0].Error
	}
	if natural, turbo := width("natural"), width("turbo"); !(turbo > 1.2*natural) {
		t.Errorf("error %g natural, %g boosted; want the latter well above", natural, turbo)
	}
}

// A wider tube makes the tap at its end read less without any loss saved: the
// velocity head is taken off.
func TestOtherBoreIsNoGain(t *testing.T) {
	before, after := visit("open-air", "tube", 12, 12.1, 11.9), visit("open-air", "tube", 12, 12.1, 11.9)
	after.Path[5].Diameter.SI = 0.075
	p := compared(t, compare.Options{}, before, after).Pairs[0]
	if !(p.Heads < -0.5*inch) || math.Abs(p.Change.Median+p.Heads) > 1 {
		t.Errorf("heads %g Pa, change %g Pa; want less head in the reading, and as much more loss", p.Heads, p.Change.Median)
	}
}

// The losses between the stations add up to the whole, and the piece that was
// changed has the change.
func TestLosses(t *testing.T) {
	sheets := []*sheet.Sheet{fresh(), fresh()}
	for i, s := range sheets {
		less := 3 * float64(i)
		take(s, "open-air", "tube", 12-less, 12.05-less, 11.95-less)
		take(s, "open-air", "snorkel", 6-less, 6.05-less, 5.95-less)
		take(s, "open-air", "filter", 8-less, 8.05-less, 7.95-less)
	}
	c := compared(t, compare.Options{}, sheets...)
	sum := 0.0
	for _, l := range c.Losses {
		sum += l.Change.Median
	}
	near(t, "sum", sum, c.Total.Change.Median, 1e-5)
	if got := fmt.Sprint(c.Losses[0].Pieces, c.Losses[1].Pieces, c.Losses[2].Pieces); got != "[mouth snorkel] [box-in filter] [box-out tube]" {
		t.Errorf("stretches: %s", got)
	}
	if c.Losses[0].Verdict != compare.Better || c.Losses[1].Verdict == compare.Better || c.Losses[2].Verdict == compare.Better {
		t.Errorf("verdicts %s, %s, %s", c.Losses[0].Verdict, c.Losses[1].Verdict, c.Losses[2].Verdict)
	}
	// 3 inH2O of 101.1 kPa at the exponent 1.2, with the band from 1.0 to 1.5 %/kPa.
	if p := c.Power; !(p.Low > 0.5 && p.Median > 0.85 && p.Median < 1.0 && p.High < 1.3) {
		t.Errorf("power %+v, want about 0.9 %%", p)
	}
}

// A scale that is read to half an inch says little, even where every run reads alike.
func TestCoarseScale(t *testing.T) {
	coarse := func(v float64) *sheet.Sheet {
		s := visit("open-air", "tube", v, v, v)
		s.Gauges[0].Division.SI = 0.5 * inch
		return s
	}
	p := compared(t, compare.Options{Refit: 1e-6, Worth: inch}, coarse(12), coarse(11.5)).Pairs[0]
	near(t, "error", p.Error/inch, 0.5/math.Sqrt(6), 3e-3) // and what the way to the reference point adds
	if p.Verdict == compare.Better {
		t.Error("one division of the scale was taken for a change")
	}
}

// The same sheets give the same bytes, and these keep the promised form.
func TestDocument(t *testing.T) {
	c := compared(t, compare.Options{}, visit("open-air", "tube", 12, 12.9, 11.2), visit("open-air", "tube", 11.8, 12, 11.1), visit("open-air", "tube", 12, 12.1, 11.9))
	first, err := c.Line()
	if err != nil {
		t.Fatal(err)
	}
	if faults := compare.Check("line", first); len(faults) > 0 {
		t.Error(faults)
	}
	for range 20 {
		again, _ := compared(t, compare.Options{}, visit("open-air", "tube", 12, 12.9, 11.2), visit("open-air", "tube", 11.8, 12, 11.1), visit("open-air", "tube", 12, 12.1, 11.9)).Line()
		if string(again) != string(first) {
			t.Fatalf("other bytes:\n%s\n%s", first, again)
		}
	}
}

// simulated is a test of three visits on one day: 4 runs each of about 12 inH2O, in
// inH2O.
type simulated struct {
	scatter, refit, drift, change float64
}

func (s simulated) sheets(dice *rand.Rand) []*sheet.Sheet {
	var out []*sheet.Sheet
	at := 0.0
	for block := range 3 {
		level := 12 + s.refit*dice.NormFloat64()
		if block == 1 {
			level += s.change
		}
		var values []float64
		for range 4 {
			values = append(values, level+s.drift*at+s.scatter*dice.NormFloat64())
			at++
		}
		out = append(out, visit("open-air", "tube", values...))
	}
	return out
}

// rates are shares of many simulated tests.
type rates struct {
	verdicts float64 // better or worse, with the usual worth
	changed  float64 // the interval leaves nought out
	covered  float64 // the interval holds the truth
}

// rates makes many tests with a refit scatter as it is believed to be, in inH2O.
func (s simulated) rates(t *testing.T, seed uint64, believed float64, tests int) rates {
	t.Helper()
	dice := rand.New(rand.NewPCG(seed, 1))
	var r rates
	one := 1 / float64(tests)
	for range tests {
		p := compared(t, compare.Options{Refit: believed * inch}, s.sheets(dice)...).Pairs[0]
		if p.Verdict == compare.Better || p.Verdict == compare.Worse {
			r.verdicts += one
		}
		if p.Measurable {
			r.changed += one
		}
		if p.Change.Low <= s.change*inch && s.change*inch <= p.Change.High {
			r.covered += one
		}
	}
	return r
}
