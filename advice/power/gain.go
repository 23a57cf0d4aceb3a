package power

import "math"

// Band is an estimate with its central 90 % interval.
type Band struct{ Median, Low, High float64 }

// At reads the band as a distribution: the value at a probability between 0 and
// 1, straight lines between Low (5 %), Median and High (95 %) and held beyond.
func (b Band) At(u float64) float64 {
	switch {
	case u <= 0.05:
		return b.Low
	case u <= 0.5:
		return b.Low + (u-0.05)/0.45*(b.Median-b.Low)
	case u < 0.95:
		return b.Median + (u-0.5)/0.45*(b.High-b.Median)
	}
	return b.High
}

// Response is how power answers to the pressure in front of the engine: power goes
// with that pressure to the power of Exponent.
type Response struct {
	Exponent Band
	Known    bool
	Note     string // what it rests on, or why nothing can be said
}

// perKilopascal turns a published loss in % for each kPa into an exponent: the
// publications are for air of about 99 kPa.
func perKilopascal(low, median, high float64) Band {
	const f = 0.99
	return Band{Median: median * f, Low: low * f, High: high * f}
}

// The published figures, in % of power for each kPa: petrol 1.0 to 1.5, diesel 0.4
// to 0.6, averages over the literature of Dziubak & Karczewski, Energies 15 (2022)
// 3285.
const (
	petrolLow, petrolHigh = 1.0, 1.5
	dieselLow, dieselHigh = 0.4, 0.6
)

var (
	// petrolNatural: mass of air alone gives 1.0, ISO 1585 and UN R85 give 1.2; an
	// inlet loss also leaves the exhaust pressure where it is and costs some pumping,
	// so the published 1.5 % bounds it above.
	petrolNatural = Band{Median: 1.2, Low: 1.0, High: petrolHigh * 0.99}
	dieselNatural = perKilopascal(dieselLow, 0.5, dieselHigh)
	// petrolRatio: the charge goes with the inlet pressure as in a natural engine, but
	// a warmer or cooler compressor shifts it.
	petrolRatio = Band{Median: 1.1, Low: 0.8, High: petrolHigh * 0.99}
	dieselRatio = perKilopascal(0.3, 0.5, 0.7)
	// petrolHeld: the boost control makes good for the loss. What stays is a hotter
	// charge (0.14 % of density for each kPa) and compressor work (0.16 % of power
	// for each kPa, of which the exhaust pays a part), by the compressor formulas at
	// a pressure ratio of two.
	petrolHeld = perKilopascal(0, 0.22, dieselHigh)
	dieselHeld = perKilopascal(0, 0.15, dieselHigh)
	// Nobody knows what is held: from nothing to all of it.
	petrolUnknown = Band{Median: 0.45, Low: 0, High: petrolHigh * 0.99}
	dieselUnknown = perKilopascal(0, 0.3, dieselHigh)
	// Natural, fuel not stated: either.
	eitherNatural = Band{Median: 1.1, Low: dieselLow * 0.99, High: petrolHigh * 0.99}
)

// Notes are shown to the user as they stand, after a colon or in brackets.
const (
	notePetrolNatural = "petrol, natural: pressure ratio to the power of 1.2 (ISO 1585), 1.0 at the least; published 1.0 to 1.5 % for each kPa"
	noteDieselNatural = "diesel: published 0.4 to 0.6 % for each kPa"
	noteRatio         = "the pressure ratio is held, so the charge follows the inlet pressure"
	noteHeld          = "the boost is held, so the control makes good for most of the loss until it runs out of reserve"
	noteUnknownBoost  = "what the boost control holds is not stated, so the gain may be anything from nothing up"
	noteMechanical    = "a mechanical blower keeps about the same pressure ratio, so the charge follows the inlet pressure"
	noteNoFuel        = "the fuel is not stated: petrol and diesel both lie in the band"
	noteNothing       = "neither fuel nor induction is stated, so nothing can be said about power"
	noteNoInduction   = "the induction is not stated, so nothing can be said about power"
	noteBeyond        = "the pressure at the engine would leave the range in which the formulas hold"
)

// Response gives the exponent for an engine. Known is false where fuel and
// induction leave everything open.
func (e Engine) Response() Response {
	fuel := func(petrol, diesel Band, note string) Response {
		switch e.Fuel {
		case "petrol":
			return Response{petrol, true, note}
		case "diesel":
			return Response{diesel, true, note}
		}
		return Response{span(petrol, diesel), true, note + "; " + noteNoFuel}
	}
	switch e.Induction {
	case "natural":
		switch e.Fuel {
		case "petrol":
			return Response{petrolNatural, true, notePetrolNatural}
		case "diesel":
			return Response{dieselNatural, true, noteDieselNatural}
		}
		return Response{eitherNatural, true, noteNoFuel}
	case "turbo", "supercharged":
		switch {
		case e.BoostControl == "absolute":
			return fuel(petrolHeld, dieselHeld, noteHeld)
		case e.BoostControl == "ratio":
			return fuel(petrolRatio, dieselRatio, noteRatio)
		case e.Induction == "supercharged":
			return fuel(petrolRatio, dieselRatio, noteMechanical)
		}
		return fuel(petrolUnknown, dieselUnknown, noteUnknownBoost)
	}
	if e.Fuel == "" {
		return Response{Note: noteNothing}
	}
	return Response{Note: noteNoInduction}
}

// span covers two bands.
func span(a, b Band) Band {
	return Band{Median: (a.Median + b.Median) / 2, Low: min(a.Low, b.Low), High: max(a.High, b.High)}
}

// Gain is what a change of loss is worth, in % of power; more loss gives negative
// figures.
type Gain struct {
	Percent Band
	Known   bool
	Note    string
}

// Gain gives the change of power at an ambient pressure in Pa when the loss before
// the engine goes from before to after, in Pa, both at the flow that then passes
// (see Settle). The formulas are made for 80 to 110 kPa (UN R85); beyond 60 to 115
// kPa, which leaves room for hills and clogged elements, nothing is said.
func (e Engine) Gain(pressure, before, after float64) Gain {
	r := e.Response()
	if !r.Known {
		return Gain{Note: r.Note}
	}
	was, is := pressure-before, pressure-after
	if !within(pressure) || !within(was) || !within(is) {
		return Gain{Note: noteBeyond}
	}
	percent := func(n float64) float64 { return 100 * (PressureFactor(was, is, n) - 1) }
	low, high := percent(r.Exponent.Low), percent(r.Exponent.High)
	return Gain{
		Percent: Band{Median: percent(r.Exponent.Median), Low: min(low, high), High: max(low, high)},
		Known:   true,
		Note:    r.Note,
	}
}

// within is false for NaN too.
func within(p float64) bool { return p >= 60e3 && p <= 115e3 }

// PressureFactor is the factor on power when the pressure in front of the engine
// goes from was to is: (is/was)^exponent.
func PressureFactor(was, is, exponent float64) float64 { return math.Pow(is/was, exponent) }

// FlowResponse is how the flow of an engine at a given rpm goes with the pressure
// in front of it (power a) and with its temperature (power -b): natural or with a
// held pressure ratio a is 1 and b 0.5 to 1, with held boost a is 0 and b 0 to 0.5,
// unknown control lets both be open. On the open log of a boosted engine the flow
// followed the intake temperature with an exponent near 0.13.
func (e Engine) FlowResponse() (a, b Band) {
	free := Band{Median: 0.75, Low: 0.5, High: 1}
	switch {
	case e.Induction == "natural",
		e.Boosted() && e.BoostControl == "ratio",
		e.Induction == "supercharged" && e.BoostControl != "absolute":
		return Band{1, 1, 1}, free
	case e.Boosted() && e.BoostControl == "absolute":
		return Band{}, Band{Median: 0.2, Low: 0, High: 0.5}
	}
	return Band{Median: 0.5, Low: 0, High: 1}, Band{Median: 0.5, Low: 0, High: 1}
}

// Settle finds the flow in kg/s and the loss in Pa after a change, given the flow
// and the loss before it: less loss draws more air, which loses more elsewhere.
// The loss after the change is a function of the flow and must not fall with it;
// a is how the flow goes with the pressure (FlowResponse). It solves
// m = m0 ((p - after(m))/(p - before))^a by the secant method. A loss of nine
// tenths of the pressure is the most it reckons with.
func Settle(massFlow, pressure, before float64, after func(massFlow float64) float64, a float64) (settled, loss float64) {
	left := func(loss float64) float64 { return max(pressure-loss, 0.1*pressure) }
	was := left(before)
	off := func(m float64) float64 { return massFlow*math.Pow(left(after(m))/was, a) - m }
	m0, m1 := massFlow, massFlow+off(massFlow)
	f0 := m1 - m0
	for range 50 {
		f1 := off(m1)
		if math.Abs(f1) <= 1e-12*massFlow || f1 == f0 {
			break
		}
		m0, m1, f0 = m1, max(m1-f1*(m1-m0)/(f1-f0), massFlow/1e3), f1
	}
	return m1, after(m1)
}
