package duct

import "math"

// WallShear is the shear at the wall of a duct in Pa from the Darcy friction
// factor, the density and the mean speed in m/s: f rho V^2/8.
func WallShear(friction, density, speed float64) float64 {
	return friction * density * speed * speed / 8
}

// TapReynolds is the bore of a tap in wall units, d u/nu with u = sqrt(shear over
// density): tap bore in m, shear in Pa, density in kg/m3, kinematic viscosity in
// m2/s. The error of a clean tap is a function of it (Shaw 1960).
func TapReynolds(bore, shear, density, kinematic float64) float64 {
	return bore * math.Sqrt(shear/density) / kinematic
}

// TapError is about how much too high in Pa a sharp clean tap of some millimetres
// reads: 2.5 times the wall shear (Shaw 1960 by his curve, from memory, medium
// confidence). At 50 m/s in a 70 mm duct that is 1 % of the velocity head.
func TapError(shear float64) float64 { return 2.5 * shear }
