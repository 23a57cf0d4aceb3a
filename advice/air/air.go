// Package air gives the properties of the air that an engine breathes: density,
// humidity, viscosity, the standard atmosphere and the pressure of moving air.
// It also gives the density of the water in a U-tube.
//
// All values are SI: pascal (absolute where it says pressure), kelvin, kg/m3,
// m/s; relative humidity is a share between 0 and 1. The functions are pure and
// don't judge their input: a caller that reads what people write must check the
// range first. Start with State.
package air

import "math"

const (
	// Zero is 0 degC in kelvin, exact by definition of the Celsius scale.
	Zero = 273.15
	// GasDry is the specific gas constant of dry air in J/(kg K), ISO 2533:1975
	// (from memory).
	GasDry = 287.058
	// GasVapour is the specific gas constant of water vapour in J/(kg K).
	GasVapour = 461.495
	// Gravity is standard gravity in m/s2, exact (CGPM 1901).
	Gravity = 9.80665
)

// State is the open air: temperature in K, absolute pressure in Pa, relative
// humidity as a share.
type State struct{ Temperature, Pressure, Humidity float64 }

// Reference is the reference air of ISO 1585 and UN R85: 25 degC and a dry
// pressure of 99 kPa.
var Reference = State{Temperature: 298.15, Pressure: 99e3}

// Gas is what pipe flow needs to know of the air: density in kg/m3 and dynamic
// viscosity in Pa s.
type Gas struct{ Density, Viscosity float64 }

// Gas gives the density and viscosity of the air.
func (s State) Gas() Gas {
	return Gas{Density: s.Density(), Viscosity: Viscosity(s.Temperature)}
}

// Density is the density of moist air in kg/m3 by the CIPM-2007 equation, with
// 400 ppm of carbon dioxide. Source: Picard, Davis, Glaser, Fujii, Metrologia
// 45 (2008) 149. Its stated range is 600-1100 hPa and 15-27 degC; outside it
// the error stays far below what intake tests can resolve (0.1 % at 35 degC).
func (s State) Density() float64 {
	const (
		molarAir   = 28.96546e-3 // kg/mol at 400 ppm CO2
		molarWater = 18.01528e-3 // kg/mol
		gas        = 8.314472    // J/(mol K), the value the equation was fitted with
	)
	x := s.vapourFraction()
	z := compressibility(s.Pressure, s.Temperature, x)
	return s.Pressure * molarAir / (z * gas * s.Temperature) * (1 - x*(1-molarWater/molarAir))
}

// vapourFraction is the mole fraction of water vapour, CIPM-2007.
func (s State) vapourFraction() float64 {
	t := s.Temperature - Zero
	enhancement := 1.00062 + 3.14e-8*s.Pressure + 5.6e-7*t*t
	return s.Humidity * enhancement * Saturation(s.Temperature) / s.Pressure
}

// Compressibility is the factor Z of CIPM-2007.
func (s State) Compressibility() float64 {
	return compressibility(s.Pressure, s.Temperature, s.vapourFraction())
}

func compressibility(p, temperature, x float64) float64 {
	t := temperature - Zero
	r := p / temperature
	first := 1.58123e-6 - 2.9331e-8*t + 1.1043e-10*t*t + (5.707e-6-2.051e-8*t)*x + (1.9898e-4-2.376e-6*t)*x*x
	second := 1.83e-11 - 0.765e-8*x*x
	return 1 - r*first + r*r*second
}

// Saturation is the pressure of saturated water vapour in Pa over water at a
// temperature in K, CIPM-2007.
func Saturation(temperature float64) float64 {
	t := temperature
	return math.Exp(1.2378847e-5*t*t - 1.9121316e-2*t + 33.93711047 - 6343.1645/t)
}

// SaturationMagnus is the saturation pressure in Pa by the Magnus form of WMO
// No. 8 (coefficients from memory), an independent check of Saturation within
// 0.3 %.
func SaturationMagnus(temperature float64) float64 {
	t := temperature - Zero
	return 611.2 * math.Exp(17.62*t/(243.12+t))
}

// VapourPressure is the partial pressure of water vapour in Pa.
func (s State) VapourPressure() float64 { return s.Humidity * Saturation(s.Temperature) }

// DryPressure is the pressure of the air without its vapour in Pa, on which the
// power corrections of ISO 1585 and UN R85 rest.
func (s State) DryPressure() float64 { return s.Pressure - s.VapourPressure() }

// DensityIdeal is the density in kg/m3 of air and vapour as ideal gases. It is
// 0.04 % below CIPM-2007 at 20 degC.
func (s State) DensityIdeal() float64 {
	pv := s.VapourPressure()
	return (s.Pressure-pv)/(GasDry*s.Temperature) + pv/(GasVapour*s.Temperature)
}

// DensityOIML is the density in kg/m3 by the short formula of OIML R 111-1, E.3
// (from memory), stated there to be good to 2e-4.
func (s State) DensityOIML() float64 {
	t := s.Temperature - Zero
	return (0.34848*s.Pressure/100 - 0.009*100*s.Humidity*math.Exp(0.061*t)) / s.Temperature
}

// Density of an ideal gas in kg/m3 from pressure in Pa, temperature in K and
// specific gas constant in J/(kg K).
func Density(pressure, temperature, gas float64) float64 { return pressure / (gas * temperature) }

// Viscosity is the dynamic viscosity of air in Pa s at a temperature in K:
// Sutherland's form with the constants of the US Standard Atmosphere 1976. Good
// from 100 K to 1900 K (range from memory).
func Viscosity(temperature float64) float64 {
	return 1.458e-6 * temperature * math.Sqrt(temperature) / (temperature + 110.4)
}

// Standard is the standard atmosphere of ISO 2533:1975 (constants from memory)
// at a geopotential height in m up to 11 000: dry air.
func Standard(height float64) State {
	const (
		sea   = 288.15   // K
		lapse = 0.0065   // K/m
		power = 5.255880 // g/(R lapse)
	)
	t := sea - lapse*height
	return State{Temperature: t, Pressure: 101325 * math.Pow(t/sea, power)}
}

// StandardGas is the specific gas constant of ISO 2533 in J/(kg K).
const StandardGas = 287.05287

// Geopotential is the geopotential height in m that belongs to a geometric
// height in m: r z/(r+z) with the Earth radius of ISO 2533, 6 356 766 m.
func Geopotential(geometric float64) float64 {
	const radius = 6356766
	return radius * geometric / (radius + geometric)
}

// Water is the density of air-free water in kg/m3 at 101.325 kPa and a
// temperature in K between 0 and 40 degC. Source: Tanaka et al., Metrologia 38
// (2001) 301.
func Water(temperature float64) float64 {
	t := temperature - Zero
	d := t - 3.983035
	return 999.974950 * (1 - d*d*(t+301.797)/(522528.9*(t+69.34881)))
}

// Column is the pressure in Pa of a column of liquid: density in kg/m3, height
// in m, standard gravity.
func Column(density, height float64) float64 { return density * Gravity * height }

// VelocityHead is 0.5 rho V^2 in Pa: density in kg/m3, speed in m/s. At road
// speed it is the ram pressure of a mouth at the stagnation point. Air is taken
// as incompressible: 1 % low at Mach 0.2, about 68 m/s.
func VelocityHead(density, speed float64) float64 { return 0.5 * density * speed * speed }

// CompressibleHead is the factor by which the stagnation pressure rise exceeds
// 0.5 rho V^2 at a Mach number: the first term 1 + M^2/4 of the isentropic
// series.
func CompressibleHead(mach float64) float64 { return 1 + mach*mach/4 }

// Sound is the speed of sound in dry air in m/s at a temperature in K, with a
// ratio of specific heats of 1.4.
func Sound(temperature float64) float64 { return math.Sqrt(1.4 * GasDry * temperature) }

// NormalGravity is the gravity in m/s2 on the ellipsoid of the Geodetic Reference
// System 1980 at a latitude in rad, less what a height in m above it takes away.
// Source: Moritz, Geodetic Reference System 1980, Journal of Geodesy 74 (2000) 128,
// formula of Somigliana; the free-air gradient of 3.086e-6 /s2. Local rock changes it
// by some 5e-4 m/s2.
func NormalGravity(latitude, height float64) float64 {
	const (
		equator  = 9.7803267715
		k        = 0.001931851353
		squashed = 0.0066943800229 // eccentricity squared
		freeAir  = 3.086e-6
	)
	s := math.Sin(latitude) * math.Sin(latitude)
	return equator*(1+k*s)/math.Sqrt(1-squashed*s) - freeAir*height
}
