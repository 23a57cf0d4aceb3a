package model

import (
	"math"

	"dropwalk/advice/air"
	"dropwalk/advice/power"
	"dropwalk/advice/sheet"
)

// guess is the logarithm of a flow and its standard deviation.
type guess struct{ ln, sd float64 }

// meterSD is the log SD of a flow that an air-flow meter or scan tool gives,
// where the sheet states none (common practice, no source).
const meterSD = 0.04

// setFlow finds the mass flow at the reference point. What was measured beats
// every estimate.
func (c *Car) setFlow() {
	e := c.Sheet.Car.Engine
	var g guess
	if e.MassFlow.Known() && e.MassFlow.SI > 0 {
		g, c.FlowFrom = guess{math.Log(e.MassFlow.SI), known(e.MassFlowUncertainty, meterSD)}, "measured"
		if e.MassFlow.PlusMinus > 0 && !e.MassFlowUncertainty.Known() {
			g.sd = e.MassFlow.PlusMinus / 2 / e.MassFlow.SI
		}
	} else if on, ok := c.flowOnRuns(); ok {
		g, c.FlowFrom = on, "run"
	} else {
		g, c.FlowFrom = c.estimate(), "estimate"
	}
	c.Flow, c.FlowSD = math.Exp(g.ln), min(max(g.sd, 0.005), 0.5)
}

// flowOnRuns carries flows that were measured on runs to the reference point.
func (c *Car) flowOnRuns() (guess, bool) {
	sum, n, drift := 0.0, 0.0, 0.0
	for _, r := range c.Sheet.Readings {
		if r.MassFlow.Known() && r.MassFlow.SI > 0 {
			way := c.way(r)
			ln := way.flow(c.control)
			sum += math.Log(r.MassFlow.SI) - ln
			drift += math.Abs(ln)
			n++
		}
	}
	if n == 0 {
		return guess{}, false
	}
	return guess{sum / n, math.Hypot(meterSD, 0.3*drift/n)}, true
}

// guessedRPMSD is the log SD of the flow where nobody stated an engine speed;
// unsaidSD where nobody stated the induction: perhaps there is a blower (common
// practice, no source).
const (
	guessedRPMSD = 0.10
	unsaidSD     = 0.15
)

// estimate is the flow by displacement and, where it is stated, peak power.
func (c *Car) estimate() guess {
	m, sd, ok := c.Engine.AirFlow(c.Air.Pressure, c.Air.Temperature, c.Density)
	if !ok || !(m > 0) {
		return guess{math.Log(usualFlow), 0.5}
	}
	if c.RPMAssumed {
		sd = math.Hypot(sd, guessedRPMSD)
	}
	if c.Engine.Induction == "" {
		sd = math.Hypot(sd, unsaidSD)
	}
	return guess{math.Log(m), sd}
}

// usualFlow is the flow of a middling engine, kg/s.
const usualFlow = 0.1

// engineOf is the engine of the sheet at the reference rpm.
func engineOf(e sheet.Engine, rpm float64) power.Engine {
	return power.Engine{
		Displacement: known(e.Displacement, 0), RPM: rpm, Cylinders: e.Cylinders, Strokes: e.Strokes,
		Fuel: e.Fuel, Induction: e.Induction, Boost: known(e.Boost, 0), BoostControl: stated(e.BoostControl),
		VolumetricEfficiency: known(e.VolumetricEfficiency, 0), Power: known(e.PeakPower, 0),
	}
}

func stated(word string) string {
	if word == "unknown" {
		return ""
	}
	return word
}

func square(x float64) float64 { return x * x }

// control is how the flow follows the open air: with pressure to the power a,
// with absolute temperature to the power -b.
type control struct{ a, aSD, b, bSD float64 }

// controlOf takes the middle of each exponent's band as its mean, and the
// band for a flat distribution.
func controlOf(e power.Engine) control {
	a, b := e.FlowResponse()
	width := func(x power.Band) float64 { return (x.High - x.Low) / math.Sqrt(12) }
	return control{a.Median, width(a), b.Median, width(b)}
}

// way is how far a run was from the reference point, in logarithms.
type way struct {
	rpm, pressure, temperature float64 // of the run over the reference
	density                    float64
	measured                   float64 // flow over the nominal one by the meter, where hasFlow
	hasFlow                    bool
	rpmKnown, airKnown         bool
}

func (c *Car) way(r sheet.Reading) way {
	w := way{airKnown: c.knowsAir(r)}
	st := c.airOf(r)
	if r.RPM > 0 {
		w.rpm, w.rpmKnown = math.Log(r.RPM/c.RPM), true
	}
	w.pressure = math.Log(st.Pressure / c.Air.Pressure)
	w.temperature = math.Log(st.Temperature / c.Air.Temperature)
	w.density = math.Log(st.Density() / c.Density)
	if r.MassFlow.Known() && r.MassFlow.SI > 0 && c.Flow > 0 {
		w.measured, w.hasFlow = math.Log(r.MassFlow.SI/c.Flow), true
	}
	return w
}

func (c *Car) knowsAir(r sheet.Reading) bool {
	has := func(a sheet.Air) bool { return a.Temperature.Known() || a.Pressure.Known() }
	return has(r.Air) || has(c.Sheet.Air)
}

// airOf is the air on a run: its own, else the sheet's, else the reference
// air. Where the temperature in the intake was read, that is the air that
// flows.
func (c *Car) airOf(r sheet.Reading) air.State {
	st := stateOf(r.Air, stateOf(c.Sheet.Air, c.Air))
	if r.IntakeTemperature.Known() && r.IntakeTemperature.SI > 0 {
		st.Temperature = r.IntakeTemperature.SI
		st.Humidity = 0 // the moisture at another temperature is not known, and small
	}
	return st
}

// flow is the logarithm of the run's mass flow over the nominal one, by rpm and
// weather.
func (w way) flow(k control) float64 {
	return w.rpm + k.a*w.pressure - k.b*w.temperature
}

// doubt is the log SD of flow apart from rpm.
func (w way) doubt(k control) float64 {
	return math.Sqrt(square(k.aSD*w.pressure) + square(k.bSD*w.temperature) + square(wayFloor))
}

// wayFloor is the log SD of the way from a run to the reference point that no
// exponent explains: heat in the engine bay, knock control, fuel (common
// practice, no source).
const wayFloor = 0.012

// drift is what flows that were measured on the runs say about the day, beyond
// rpm and weather. The meter's own scale and that of the nominal flow are of
// no help to it, so it is weighed against them; where the nominal flow comes
// from the same meter there is nothing left to say.
type drift struct {
	mean   float64 // log of the meter's flow over that by rpm and weather
	weight float64 // of mean in the flow
	sd     float64 // log SD that is left, shared by the runs
	known  bool
}

func (c *Car) driftOfDay() drift {
	sum, doubt, n := 0.0, 0.0, 0.0
	for _, r := range c.Sheet.Readings {
		if w := c.way(r); w.hasFlow {
			sum += w.measured - w.flow(c.control)
			doubt += w.doubt(c.control)
			n++
		}
	}
	if n == 0 {
		return drift{}
	}
	own, scale := square(doubt/n), square(meterSD)+square(c.FlowSD)
	if c.FlowFrom == "run" {
		return drift{sd: 0, known: true}
	}
	return drift{sum / n, own / (own + scale), math.Sqrt(own * scale / (own + scale)), true}
}

// ofRun is the logarithm of one run's flow over the nominal one: by rpm and
// weather, moved by what the meter says of the day and half way to what it says
// of this run beside the others (a meter and a rev counter are about equally
// steady from run to run).
func (c *Car) ofRun(w way) float64 {
	flow := w.flow(c.control)
	if !w.hasFlow {
		return flow
	}
	if !w.rpmKnown {
		return w.measured - c.day.mean*(1-c.day.weight)
	}
	own := w.measured - flow - c.day.mean
	return flow + c.day.weight*c.day.mean + own/2
}
