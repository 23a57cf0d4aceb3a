package model

import (
	"math"
	"testing"
)

// The causes that two readings share give the covariance that Problem states, and
// each has the reach that its name tells.
func TestCausesMakeTheCovariance(t *testing.T) {
	c := car(t, `car: {engine: {displacement: 2 L, fuel: petrol, induction: natural}}
reference: {rpm: 6000}
place: track
`+pieces+`gauges: [{name: g, range: 25 inH2O, division: 0.5 inH2O}]
air: {temperature: 5 C, pressure: 95 kPa}
readings:
- {run: 1, from: open-air, to: tube, gauge: g, value: 8 inH2O, rpm: 5900}
- {run: 2, from: open-air, to: filter, gauge: g, value: 5 inH2O, rpm: 5900}
`)
	first, second := map[string]Cause{}, 0.0
	for _, cause := range c.Causes(0) {
		first[cause.Name] = cause
	}
	for _, cause := range c.Causes(1) {
		second += cause.Pa * first[cause.Name].Pa
	}
	if want := c.noise().At(0, 1); math.Abs(second-want) > 1e-9*math.Abs(want) || want == 0 {
		t.Errorf("covariance by causes %g, by the problem %g", second, want)
	}
	for name, of := range map[string]Origin{
		"flow of the day": Day, "scale g": Scale, "local g 0 4": Scale, "zero g": Zero, "mouth in the wind": Mouth, "head tube": Head,
		"temperature exponent": Law, "loss exponent": Law,
	} {
		if cause, ok := first[name]; !ok || cause.Of != of {
			t.Errorf("%s: got %+v, want origin %d", name, cause, of)
		}
	}
}
