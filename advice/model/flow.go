package model

import (
	"math"

	"dropwalk/advice/air"
	"dropwalk/advice/sheet"
)

// guess is the logarithm of a flow and its standard deviation.
type guess struct{ ln, sd float64 }

// join weighs two independent guesses by their variances.
func join(a, b guess) guess {
	wa, wb := 1/(a.sd*a.sd), 1/(b.sd*b.sd)
	return guess{(wa*a.ln + wb*b.ln) / (wa + wb), 1 / math.Sqrt(wa+wb)}
}

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

// Figures for an estimate of the flow. Volumetric efficiency at peak power:
// 80-90 % for natural induction (Heywood, Internal Combustion Engine
// Fundamentals, 2.10, from memory); the rest is common practice without source.
const (
	naturalVE, naturalVESD = 0.87, 0.07
	boostedVE, boostedVESD = 0.92, 0.07
	statedVESD             = 0.03
	guessedRPMSD           = 0.10
	compressor             = 0.70 // isentropic efficiency
	cooler, coolerSD       = 0.60, 0.04
	turboBoost             = 70e3
	dieselBoost            = 120e3
	blowerBoost            = 50e3
	guessedBoostSD         = 0.17 // log SD of the charge density
	statedBoostSD          = 0.02
)

// estimate is the flow by displacement, joined with that by peak power where
// the sheet states it.
func (c *Car) estimate() guess {
	e := c.Sheet.Car.Engine
	g := c.byDisplacement(e)
	if p, ok := byPower(e); ok {
		g = join(g, p)
	}
	return g
}

func (c *Car) byDisplacement(e sheet.Engine) guess {
	ve, variance := naturalVE, square(naturalVESD)
	if boosted(e) {
		ve, variance = boostedVE, square(boostedVESD)
	}
	if e.Induction == "" {
		variance += square(0.15) // perhaps boosted, nobody said
	}
	if e.VolumetricEfficiency.Known() && e.VolumetricEfficiency.SI > 0 {
		ve, variance = e.VolumetricEfficiency.SI, square(statedVESD)
	}
	if c.RPMAssumed {
		variance += square(guessedRPMSD)
	}
	charge, sd := c.charge(e)
	variance += square(sd)
	turns := 120.0
	if e.Strokes == 2 {
		turns = 60
	}
	m := ve * c.Density * charge * e.Displacement.SI * c.RPM / turns
	return guess{math.Log(max(m, 1e-6)), math.Sqrt(variance)}
}

// charge is the density of the charge over that of the open air, and its log SD.
func (c *Car) charge(e sheet.Engine) (ratio, sd float64) {
	if !boosted(e) {
		return 1, 0
	}
	boost, sd := turboBoost, guessedBoostSD
	switch {
	case e.Boost.Known() && e.Boost.SI > 0:
		boost, sd = e.Boost.SI, statedBoostSD
	case e.Induction == "supercharged":
		boost = blowerBoost
	case e.Fuel == "diesel":
		boost = dieselBoost
	}
	pr := (c.Air.Pressure + boost) / c.Air.Pressure
	rise := (math.Pow(pr, 0.4/1.4) - 1) / compressor * (1 - cooler)
	return pr / (1 + rise), math.Hypot(sd, coolerSD)
}

// Air per power at full load, in kg/s per W. Petrol: 280 g/kWh at an air-fuel
// ratio of 12.8 is about 1 g/s a kW. Diesel: 220 g/kWh at 20 (both from memory).
const (
	petrolAir, petrolAirSD = 1.0e-6, 0.10
	dieselAir, dieselAirSD = 1.22e-6, 0.18
)

func byPower(e sheet.Engine) (guess, bool) {
	if !e.PeakPower.Known() || e.PeakPower.SI <= 0 {
		return guess{}, false
	}
	if e.Fuel == "diesel" {
		return guess{math.Log(dieselAir * e.PeakPower.SI), dieselAirSD}, true
	}
	return guess{math.Log(petrolAir * e.PeakPower.SI), petrolAirSD}, true
}

func square(x float64) float64 { return x * x }

// control is how the flow follows the open air: with pressure to the power a,
// with absolute temperature to the power -b.
type control struct{ a, aSD, b, bSD float64 }

// controlOf gives the exponents as the middle of their range and its width
// over the root of twelve. Natural induction or a held pressure ratio: a = 1, b
// between 0.5 and 1. Held absolute boost: a = 0, b between 0 and 0.5. Unknown:
// a between 0 and 1.
func controlOf(e sheet.Engine) control {
	const half = 0.5 / 3.4641016
	switch {
	case e.Induction == "natural" || e.BoostControl == "ratio":
		return control{a: 1, b: 0.75, bSD: half}
	case e.BoostControl == "absolute":
		return control{b: 0.25, bSD: half}
	case e.Induction == "supercharged":
		return control{a: 0.9, aSD: 0.15, b: 0.7, bSD: half}
	case e.Induction == "":
		return control{a: 0.8, aSD: 0.25, b: 0.6, bSD: 1.5 * half}
	}
	return control{a: 0.5, aSD: 2 * half, b: 0.4, bSD: 1.7 * half}
}

// way is how far a run was from the reference point, in logarithms.
type way struct {
	rpm, pressure, temperature float64 // of the run over the reference
	density                    float64
	measured                   float64 // flow over the nominal one, where hasFlow
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

// flow is the logarithm of the run's mass flow over the nominal one.
func (w way) flow(k control) float64 {
	if w.hasFlow {
		return w.measured
	}
	return w.rpm + k.a*w.pressure - k.b*w.temperature
}
