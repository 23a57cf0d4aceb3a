package model

import (
	"math"
	"strings"
	"testing"

	"dropwalk/advice/sheet"
)

func car(t *testing.T, text string) *Car {
	t.Helper()
	s, faults := sheet.Read("test.yaml", []byte("sheet: 1\n"+text))
	if s == nil {
		t.Fatal(faults)
	}
	return New(s)
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.6g, want %.6g within %.2g", what, got, want, tol)
	}
}

const (
	inch   = 249.08891 // Pa
	engine = "car: {engine: {displacement: 2 L, fuel: petrol, induction: natural, mass_flow: 118 g/s}}\nreference: {rpm: 6000}\nair: {temperature: 25 C, pressure: 99 kPa}\nplace: rolling-road\n"
	pieces = "path: [{name: mouth, kind: mouth, diameter: 60 mm}, {name: box, kind: box-entry, diameter: 60 mm}, {name: filter, kind: filter}, {name: tube, kind: duct, diameter: 65 mm}]\n"
)

func TestStations(t *testing.T) {
	c := car(t, engine+pieces)
	for name, want := range map[string]struct {
		still bool
		tap   string
	}{"mouth": {false, "none"}, "box": {true, "drill"}, "filter": {true, "drill"}, "tube": {false, "drill"}} {
		s := c.Stations[c.Index(name)]
		if s.Still != want.still || s.Tap != want.tap {
			t.Errorf("%s: still %v, tap %q, want %v, %q", name, s.Still, s.Tap, want.still, want.tap)
		}
	}
	// m^2/(2 rho A^2) with rho of the open air; lost pressure thins it by some per cent.
	area := math.Pi / 4 * 0.065 * 0.065
	plain := 0.118 * 0.118 / (2 * c.Density * area * area)
	q := c.Stations[c.Index("tube")].Head
	if q < plain || q > 1.08*plain {
		t.Errorf("velocity head = %.1f Pa, want between %.1f and 8 %% more", q, plain)
	}
}

// A tap bore that is stated beats the kind.
func TestTapBore(t *testing.T) {
	c := car(t, engine+"path: [{name: a, kind: filter, tap_bore: 63 mm}, {name: b, kind: duct, diameter: 65 mm, tap_bore: still}]\n")
	if c.Stations[1].Still || c.Stations[1].Head <= 0 {
		t.Error("tap_bore: 63 mm after a filter: want moving air")
	}
	if !c.Stations[2].Still {
		t.Error("tap_bore: still after a duct: want still air")
	}
}

// From 100 to 90 kPa the square law says with natural induction that a drop
// falls by 10 %, with held boost that it rises by 11 % (flow p^a, drop m^2/rho).
func TestDropFollowsTheControl(t *testing.T) {
	reading := "readings: [{from: open-air, to: tube, value: 3 kPa, rpm: 6000, air: {temperature: 25 C, pressure: %s}}]\n"
	phi := func(control, pressure string) float64 {
		text := "car: {engine: {displacement: 2 L, fuel: petrol, " + control + ", mass_flow: 118 g/s}}\nreference: {rpm: 6000, air: {temperature: 25 C, pressure: 100 kPa, humidity: 0 %}}\n" + pieces
		return car(t, text+strings.Replace(reading, "%s", pressure, 1)).Readings[0].Phi
	}
	near(t, "natural", phi("induction: natural", "90 kPa"), 0.90, 0.002)
	near(t, "held boost", phi("induction: turbo, boost_control: absolute", "90 kPa"), 1/0.90, 0.002)
	near(t, "the same day", phi("induction: natural", "100 kPa"), 1, 1e-9)
}

// Drop goes with the square of the rpm.
func TestDropFollowsTheSpeed(t *testing.T) {
	c := car(t, engine+pieces+"readings: [{from: open-air, to: tube, value: 3 kPa, rpm: 5400}]\n")
	near(t, "factor", c.Readings[0].Phi, 0.81, 0.002)
	near(t, "value", c.Readings[0].Value, 3000/0.81, 10)
}

// Zeros are written at the ends of a set of runs; the run in the middle has
// none of its own and still gets theirs.
func TestZerosOfASet(t *testing.T) {
	c := car(t, engine+pieces+`gauges: [{name: g, range: 25 inH2O, division: 0.5 inH2O, accuracy: 2 %}]
readings:
  - {run: 1, from: open-air, to: tube, gauge: g, value: 12 inH2O, rpm: 6000, zero_before: 1 inH2O}
  - {run: 2, from: open-air, to: tube, gauge: g, value: 12 inH2O, rpm: 6000}
  - {run: 3, from: open-air, to: tube, gauge: g, value: 12 inH2O, rpm: 6000, zero_after: 1 inH2O}
`)
	for i, r := range c.Readings {
		near(t, "reading "+string(rune('1'+i)), r.Value, 11*inch, 1)
	}
}

// A check against a standard is applied straight between its rows.
func TestGaugeCorrection(t *testing.T) {
	c := car(t, engine+pieces+`gauges: [{name: g, range: 25 inH2O, correction: [{shown: 10 inH2O, true: 10.4 inH2O}, {shown: 20 inH2O, true: 20 inH2O}]}]
readings: [{from: open-air, to: tube, gauge: g, value: 15 inH2O, rpm: 6000}, {from: open-air, to: tube, gauge: g, value: 5 inH2O, rpm: 6000}]
`)
	near(t, "between the rows", c.Readings[0].Shown, 15.2*inch, 0.01)
	near(t, "between nought and the first row", c.Readings[1].Shown, 5.2*inch, 0.01)
}

// Errors that go with the size of a reading must not make the low ones of a
// set look surer: a mean weighed that way would come out below all repeats.
func TestRepeatsWeighAlike(t *testing.T) {
	c := car(t, engine+pieces+`gauges: [{name: g, range: 25 inH2O, division: 0.5 inH2O, accuracy: 2 %}]
readings:
  - {run: 1, from: open-air, to: tube, gauge: g, value: 11 inH2O, rpm: 6000}
  - {run: 2, from: open-air, to: tube, gauge: g, value: 13 inH2O, rpm: 6000}
`)
	n := c.noise()
	near(t, "variances", n.At(0, 0)/n.At(1, 1), 1, 1e-9)
	if n.At(0, 1) <= 0 || n.At(0, 1) >= n.At(0, 0) {
		t.Errorf("covariance %.0f of variance %.0f: want a part in common", n.At(0, 1), n.At(0, 0))
	}
}

// A swing counts as its middle, and as surer than its ends.
func TestSwing(t *testing.T) {
	c := car(t, engine+pieces+"readings: [{from: open-air, to: tube, value: 12-13 inH2O, rpm: 6000}]\n")
	r := c.Readings[0]
	near(t, "value", r.Value, 12.5*inch, 1)
	if sd := math.Sqrt(r.Own); sd < 0.1*inch || sd > 0.6*inch {
		t.Errorf("own deviation %.2f inH2O, want between a tenth and the half width and scatter", sd/inch)
	}
}

// A doubtful reading stays and weighs less.
func TestDoubtfulWeighsLess(t *testing.T) {
	c := car(t, engine+pieces+"readings: [{from: open-air, to: tube, value: 12 inH2O, rpm: 6000}, {from: open-air, to: tube, value: 12 inH2O, rpm: 6000, doubtful: lifted}]\n")
	if a, b := c.Readings[0].Own, c.Readings[1].Own; b < 4*a {
		t.Errorf("variances %.0f and %.0f: want the doubtful one at least four times as large", a, b)
	}
}

// Measured beats estimated; a flow on a run comes next.
func TestFlow(t *testing.T) {
	near(t, "measured", car(t, engine+pieces).Flow, 0.118, 1e-6)
	small := "car: {engine: {displacement: 2 L, fuel: petrol, induction: natural}}\nreference: {rpm: 6000}\nair: {temperature: 25 C, pressure: 99 kPa}\n" + pieces
	estimated := car(t, small)
	// 2.0 L at 6000 rpm, efficiency 0.89, 1.157 kg/m3: 103 g/s.
	near(t, "estimated", estimated.Flow, 0.103, 0.001)
	onRun := car(t, small+"readings: [{from: open-air, to: tube, value: 3 kPa, rpm: 6000, mass_flow: 110 g/s}]\n")
	near(t, "measured on a run", onRun.Flow, 0.110, 0.0005)
	if !(car(t, engine+pieces).FlowSD < estimated.FlowSD) {
		t.Error("a measured flow is no surer than an estimate")
	}
}

// The gauge for a reading is the finest that holds it.
func TestSuitable(t *testing.T) {
	c := car(t, engine+pieces+"gauges: [{name: coarse, range: 25 inH2O}, {name: fine, range: 5 inH2O}]\n")
	for _, x := range []struct {
		middle, most float64
		want         string
	}{{1, 3, "fine"}, {4, 8, "coarse"}, {20, 30, "coarse"}, {40, 60, ""}} {
		if got := c.Suitable(x.middle*inch, x.most*inch); got != x.want {
			t.Errorf("%g to %g inH2O: gauge %q, want %q", x.middle, x.most, got, x.want)
		}
	}
}

// On a rolling road there is no ram; on the road an unknown one widens.
func TestRoadIsLessSure(t *testing.T) {
	reading := pieces + "readings: [{from: open-air, to: tube, value: 12 inH2O, rpm: 6000}]\n"
	still := car(t, engine+reading).noise().At(0, 0)
	road := "car: {engine: {displacement: 2 L, fuel: petrol, induction: natural, mass_flow: 118 g/s}}\nreference: {rpm: 6000}\nair: {temperature: 25 C, pressure: 99 kPa}\nplace: road\n"
	if moving := car(t, road+reading).noise().At(0, 0); moving < still+square(50) {
		t.Errorf("variance %.0f on the road, %.0f on the rollers: want more on the road", moving, still)
	}
}
