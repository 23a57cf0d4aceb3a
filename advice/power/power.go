// Package power gives the air that an engine draws and the power that a loss on
// its way in costs.
//
// All values are SI: Pa, K, kg/s, m3, W; engine speed is in revolutions per
// minute, as everybody has it. A field at nought is unknown. The functions are
// pure and read no text.
//
// Start with Engine: AirFlow says how much air it draws, Response how strongly
// its power answers to the pressure of the air, Gain what a change of loss is
// worth. Where nothing honest can be said, Known is false and Note says why.
//
// What is not here: knock, mixture, ram tuning, and the time that a turbocharger
// takes to come up. Settle closes the loop that less loss draws more air, which
// loses more elsewhere.
package power

import "math"

// Engine is what matters here of the one in the car.
type Engine struct {
	Displacement         float64 // m3
	RPM                  float64 // at which it is looked at
	Cylinders            int
	Strokes              int     // 2 or 4; 0 counts as 4
	Fuel                 string  // petrol, diesel
	Induction            string  // natural, turbo, supercharged
	Boost                float64 // gauge pressure in the manifold, Pa
	BoostControl         string  // absolute, ratio
	VolumetricEfficiency float64 // share
	Power                float64 // peak power, W
}

// MassFlow is the air in kg/s that an engine draws: volumetric efficiency,
// density of the charge in kg/m3, displacement in m3, rpm, strokes (2 or 4). For a
// four-stroke ve rho Vd n/120. Source: Heywood, chapter 2 (from memory).
func MassFlow(efficiency, density, displacement, rpm float64, strokes int) float64 {
	return efficiency * density * displacement * fills(rpm, strokes)
}

// Efficiency is the volumetric efficiency that belongs to a mass flow.
func Efficiency(massFlow, density, displacement, rpm float64, strokes int) float64 {
	return massFlow / (density * displacement * fills(rpm, strokes))
}

// fills is how often a second the displacement is filled.
func fills(rpm float64, strokes int) float64 {
	if strokes == 2 {
		return rpm / 60
	}
	return rpm / 120
}

// PulseFrequency is the number of intake strokes a second of all cylinders in Hz.
func PulseFrequency(rpm float64, cylinders, strokes int) float64 {
	return fills(rpm, strokes) * float64(cylinders)
}

// BrakePower is torque times angular speed in W: torque in N m.
func BrakePower(torque, rpm float64) float64 { return torque * rpm * 2 * math.Pi / 60 }

// MeanPressure is the brake mean effective pressure in Pa.
func MeanPressure(power, displacement, rpm float64, strokes int) float64 {
	return power / (displacement * fills(rpm, strokes))
}

// SpecificAir is the air per unit of work, fuel per unit of work times the
// air-fuel ratio, in the unit of the fuel figure.
func SpecificAir(specificFuel, airFuel float64) float64 { return specificFuel * airFuel }

// Typical figures where the sheet has none.
const (
	// usualEfficiency is the middle of 0.80-0.90 as the most of a naturally
	// aspirated engine (Heywood, section 2.10, from memory, high confidence) and of
	// 0.95-1.05 of well-tuned ones with four valves (from memory, medium
	// confidence), at peak power. usualEfficiencySD covers both.
	usualEfficiency   = 0.89
	usualEfficiencySD = 0.08
	// statedSD is the log standard deviation of a flow from an efficiency that the
	// user states: it is seldom measured at the same point.
	statedSD = 0.04
	// airPerWatt is the air in kg/s for a watt of petrol engine at full load: 280
	// g/kWh at 12.8 is 0.996 g/s for each kW; 0.94 to 1.10 is the span (from memory,
	// medium confidence).
	airPerWatt   = 1.0e-6
	airPerWattSD = 0.08
	// Usual boost in Pa at full load and its effect on the flow (common practice, no
	// source).
	petrolBoost, dieselBoost = 70e3, 120e3
	unknownBoostSD           = 0.20
)

// AirFlow estimates the air in kg/s that the engine draws at its rpm from air of a
// pressure in Pa, temperature in K and density in kg/m3, with the standard
// deviation of its logarithm. The density of the charge of a boosted engine comes
// from the compressor and cooler formulas with usual efficiencies. Without
// displacement or rpm the peak power of a petrol engine has to do; without that
// too, ok is false.
func (e Engine) AirFlow(pressure, temperature, density float64) (massFlow, logSD float64, ok bool) {
	bySize, sizeSD, sized := e.flowBySize(pressure, temperature, density)
	byPower, powered := e.flowByPower()
	switch {
	case sized && powered && e.VolumetricEfficiency <= 0:
		// Two independent estimates, each with the weight of its certainty.
		a, b := 1/(sizeSD*sizeSD), 1/(airPerWattSD*airPerWattSD)
		mean := (a*math.Log(bySize) + b*math.Log(byPower)) / (a + b)
		// Where the two disagree by more than they should, the doubt grows with it.
		apart := math.Abs(math.Log(bySize / byPower))
		return math.Exp(mean), max(math.Sqrt(1/(a+b)), apart/4), true
	case sized:
		return bySize, sizeSD, true
	case powered:
		return byPower, airPerWattSD * 1.5, true
	}
	return 0, 0, false
}

func (e Engine) flowBySize(pressure, temperature, density float64) (massFlow, logSD float64, ok bool) {
	if !(e.Displacement > 0 && e.RPM > 0 && density > 0) {
		return 0, 0, false
	}
	ve, sd := e.VolumetricEfficiency, statedSD
	if ve <= 0 {
		ve, sd = usualEfficiency, usualEfficiencySD
	}
	if e.Boosted() {
		boost := e.Boost
		if boost <= 0 {
			boost = petrolBoost
			if e.Fuel == "diesel" {
				boost = dieselBoost
			}
			sd = math.Hypot(sd, unknownBoostSD)
		}
		density *= chargeRatio((pressure+boost)/pressure, temperature)
		sd = math.Hypot(sd, 0.05) // compressor and cooler differ
	}
	return MassFlow(ve, density, e.Displacement, e.RPM, e.Strokes), sd, true
}

// flowByPower holds for petrol only: a diesel's surplus of air is its own.
func (e Engine) flowByPower() (massFlow float64, ok bool) {
	return e.Power * airPerWatt, e.Power > 0 && e.Fuel == "petrol"
}

// Boosted says whether a blower stands in the path.
func (e Engine) Boosted() bool { return e.Induction == "turbo" || e.Induction == "supercharged" }
