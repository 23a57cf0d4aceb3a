package practice

import "math"

// gasConstant of dry air, J/(kg K).
const gasConstant = 287.05

// inch is one inch of water, conventional, in Pa.
const inch = 249.08891

// weather is a state of the open air.
type weather struct {
	temperature float64 // K
	pressure    float64 // Pa
	humidity    float64 // share
}

// referenceAir is the air at which sheets quote losses unless they say otherwise.
var referenceAir = weather{temperature: 298.15, pressure: 99e3}

// What the laws of loss divide by.
var (
	referenceDensity   = referenceAir.density()
	referenceViscosity = viscosity(referenceAir.temperature)
)

// density in kg/m3: ideal gas, lightened by its water vapour. Vapour pressure by
// the Magnus form (coefficients from memory), within 0.1 % of the full formula.
func (w weather) density() float64 {
	t := w.temperature - 273.15
	vapour := w.humidity * 611.2 * math.Exp(17.62*t/(243.12+t))
	return (w.pressure - 0.378*vapour) / (gasConstant * w.temperature)
}

// viscosity of air in Pa s by a power law of temperature (from memory), within
// 1 % of the usual formula between 250 and 330 K.
func viscosity(temperature float64) float64 {
	return 1.716e-5 * math.Pow(temperature/273.15, 0.74)
}
