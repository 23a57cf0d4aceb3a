package duct

import "math"

// A gauge hose is a laminar resistance with a small volume at its end. Formulas
// from Hagen-Poiseuille and isothermal filling, of the kind in Sinclair & Robins,
// NACA TN 2793 (1952).

// HoseLag is the time constant in s with which a gauge at the end of a hose
// follows the pressure: 128 mu L V/(pi d^4 p). Bore and length in m, volume of
// the gauge and half the hose in m3, viscosity in Pa s, absolute pressure in Pa.
// Isothermal; if the air changes without taking up heat it is 1.4 times less.
func HoseLag(bore, length, volume, viscosity, pressure float64) float64 {
	d2 := bore * bore
	return 128 * viscosity * length * volume / (math.Pi * d2 * d2 * pressure)
}

// HoseVolume is the volume in m3 that HoseLag wants: the gauge and half the hose.
func HoseVolume(gauge, bore, length float64) float64 { return gauge + area(bore)*length/2 }

// Passes is the share of a swing of a frequency in Hz that gets through a lag in
// s: 1/sqrt(1 + (2 pi f tau)^2). A laminar restrictor keeps the mean; one with a
// square law shifts it.
func Passes(frequency, lag float64) float64 {
	return 1 / math.Hypot(1, 2*math.Pi*frequency*lag)
}

// QuarterWave is the lowest frequency in Hz at which the air in a hose closed by
// a gauge sings: c/4L, with the speed of sound in m/s.
func QuarterWave(length, sound float64) float64 { return sound / (4 * length) }

// Helmholtz is the frequency in Hz of the air in a hose swinging on the volume
// behind it: c/(2 pi) sqrt(A/(L V)).
func Helmholtz(bore, length, volume, sound float64) float64 {
	return sound / (2 * math.Pi) * math.Sqrt(area(bore)/(length*volume))
}

// UTubePeriod is the time in s of one swing of the liquid in a U-tube, from the
// length of the liquid in m: 2 pi sqrt(L/2g).
func UTubePeriod(liquid float64) float64 {
	const gravity = 9.80665
	return 2 * math.Pi * math.Sqrt(liquid/(2*gravity))
}

// PulsationBias is the factor by which pulsation raises the mean of a pressure
// that goes with the square of the speed: 1 + e^2, e the rms swing of the speed
// over its mean.
func PulsationBias(swing float64) float64 { return 1 + swing*swing }
