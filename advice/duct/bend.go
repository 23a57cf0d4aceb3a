package duct

import "math"

// BendRennels is K of a smooth bend, friction of its arc included: centre-line
// radius over bore, angle in rad, friction factor of the duct. Source: Rennels
// & Hudson, Pipe Flow (2012).
func BendRennels(radius, angle, friction float64) float64 {
	return friction*angle*radius + turning(radius, angle, friction)
}

// turning is BendRennels without the friction of the arc.
func turning(radius, angle, friction float64) float64 {
	s := math.Sin(angle / 2)
	return (0.10+2.4*friction)*s + 6.6*friction*(math.Sqrt(s)+s)/math.Pow(radius, 4*angle/math.Pi)
}

// BendMiller is K of a smooth bend at Re 1e5 in a smooth duct, friction of its
// arc included, read from his curves for a radius over bore between 0.75 and 5;
// the effect of the angle is that of his bend of radius 1. Source: Miller,
// Internal Flow Systems (1990).
func BendMiller(radius, angle float64) float64 {
	a := bendMillerAngle
	return bendMiller.at(radius) * a.at(degrees(angle)) / a.y[len(a.y)-1]
}

// BendCrane is K of a smooth bend by Crane TP-410 (2009) from the friction factor
// of fully turbulent flow in the duct.
func BendCrane(radius, angle, turbulent float64) float64 {
	k := bendCrane.at(radius)
	quarters := angle / (math.Pi / 2)
	return turbulent * ((quarters-1)*(0.25*math.Pi*radius+0.5*k) + k)
}

// FullyTurbulent is the friction factor of a rough duct at a high Reynolds
// number, 0.25/log10(e/3.7D)^2.
func FullyTurbulent(roughness float64) float64 {
	l := math.Log10(roughness / 3.7)
	return 0.25 / (l * l)
}

// BendIto is K of a smooth 90 degree bend in turbulent flow by Ito (1960), as
// given by Blevins: 0.00241 a 90 Re^-0.17 (R/r)^0.84 with r the radius of the
// duct. It holds for Re (r/R)^2 above 91.
func BendIto(radius, re float64) float64 {
	a := 1.0
	if radius < 9.85 {
		a = 0.95 + 4.42*math.Pow(radius, -1.96)
	}
	return 0.00241 * a * 90 * math.Pow(re, -0.17) * math.Pow(2*radius, 0.84)
}

// Bend is the central K of a smooth bend between Rennels and Miller, friction of
// its arc included, and half the spread of the two as a log standard deviation.
// Rennels carries the friction factor of the duct; Miller's curves are for a
// smooth duct at Re 1e5 and are moved in the same ratio. Below a radius of half
// the bore the inner wall of the bend is a sharp corner, and the bend is a mitre.
func Bend(radius, angle, friction float64) (k, logSD float64) {
	const smooth = 0.0179898 // Colebrook, smooth, Re 1e5: the state of Miller's curves
	radius = max(radius, 0.5)
	r := BendRennels(radius, angle, friction)
	// Beyond the ends of Miller's curves only the ratio at the end is known.
	at := min(max(radius, 0.75), 5)
	half := math.Log(BendMiller(at, angle)/BendRennels(at, angle, smooth)) / 2
	k = r * math.Exp(half)
	return min(k, Mitre(angle)), math.Abs(half)
}

// Mitre is K of a single mitre bend: 0.42 s + 2.56 s^3 with s = sin(angle/2).
// Source: Rennels & Hudson (2012).
func Mitre(angle float64) float64 {
	s := math.Sin(angle / 2)
	return 0.42*s + 2.56*s*s*s
}

// MitreBlevins is the same by Blevins (1984), whose figures are for Re 2e5 and
// fall with Re^0.2.
func MitreBlevins(angle, re float64) float64 {
	return mitreBlevins.at(degrees(angle)) * math.Pow(2e5/re, 0.2)
}

// MitreCrane is the same by Crane TP-410 (2009) as a multiple of the friction
// factor of fully turbulent flow.
func MitreCrane(angle float64) float64 { return mitreCrane.at(degrees(angle)) }

// AcrossBend is the difference of static pressure between the outer and the
// inner wall of a bend in velocity heads, 2 D/R: dp/dr = rho V^2/r. It is why a
// tap must not be in a bend. Order of magnitude only.
func AcrossBend(radius float64) float64 { return 2 / radius }
