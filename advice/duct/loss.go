package duct

import "math"

// Head is the velocity head 0.5 rho V^2 in Pa of a mass flow in kg/s in a round
// bore in m: m^2/(2 rho A^2).
func Head(massFlow, bore, density float64) float64 {
	g := massFlow / area(bore)
	return g * g / (2 * density)
}

// Reynolds is the Reynolds number of a mass flow in kg/s in a round bore in m at
// a dynamic viscosity in Pa s: 4 m/(pi D mu).
func Reynolds(massFlow, bore, viscosity float64) float64 {
	return 4 * massFlow / (math.Pi * bore * viscosity)
}

// Single values of K on the head in the duct.
const (
	// SharpFlush is a sharp mouth in a wall: 0.50 by Idel'chik, Crane and
	// Blevins, 0.51 Miller, 0.49 ACGIH (2001), 0.57 Rennels.
	SharpFlush = 0.50
	// SharpFlushRennels is the higher value of Rennels & Hudson, Pipe Flow (2012).
	SharpFlushRennels = 0.57
	// PlainEnd is a plain duct end with no flange, ACGIH Industrial Ventilation,
	// 24th ed. (2001).
	PlainEnd = 0.93
	// FlangedEnd is a flanged duct end, same source.
	FlangedEnd = 0.49
	// Bellmouth is a bellmouth, same source.
	Bellmouth = 0.04
	// SharpOrifice is a sharp-edged orifice at the start of a duct, on the head
	// in the orifice, same source.
	SharpOrifice = 1.78
	// ThickProjecting is a mouth that stands out of a wall, any length, by Crane
	// TP-410 (2009).
	ThickProjecting = 0.78
	// Dump is the exit from a duct into still air: the whole head is lost.
	Dump = 1.0
)

// Projecting is K of a mouth that stands out of a wall: wall thickness of the
// duct over its bore, and the length that stands out over the bore. Source:
// Idel'chik (1966).
func Projecting(wall, length float64) float64 { return reentrant.at(wall, length) }

// ProjectingRennels is K of a mouth that stands well out of a wall, for a wall
// thickness over bore up to 0.05: 1.12 - 22x + 216x^2 + 80x^3. Source: Rennels
// & Hudson (2012).
func ProjectingRennels(wall float64) float64 {
	x := min(wall, 0.05)
	return 1.12 + x*(-22+x*(216+x*80))
}

// Rounded is K of a flush mouth with a rounded edge, edge radius over bore: the
// mean of Idel'chik (1966) and Crane TP-410 (2009).
func Rounded(radius float64) float64 {
	return (RoundedIdelchik(radius) + RoundedCrane(radius)) / 2
}

// RoundedIdelchik is K of a flush mouth with a rounded edge, edge radius over
// bore, by Idel'chik (1966).
func RoundedIdelchik(radius float64) float64 { return roundedIdelchik.at(radius) }

// RoundedCrane is the same by Crane TP-410 (2009).
func RoundedCrane(radius float64) float64 { return roundedCrane.at(radius) }

// RoundedHarris is the same by Harris, the lowest of the three.
func RoundedHarris(radius float64) float64 { return roundedHarris.at(radius) }

// RoundedRennels is the same by Rennels & Hudson (2012), diagram 9.2, for an
// edge radius over bore up to 1.
func RoundedRennels(radius float64) float64 {
	r := min(radius, 1)
	jet := 1 - 0.30*math.Sqrt(r) - 0.70*r
	jet *= jet
	l := 1 + 0.622*jet*jet
	return 0.0696*(1-0.569*r)*l*l + (l-1)*(l-1)
}

// RoundedFree is K of a rounded mouth that stands free, with no wall round it:
// edge radius over bore. Source: Idel'chik diagram 3-4, ASHRAE ED1-2 (from
// memory, medium confidence).
func RoundedFree(radius float64) float64 { return roundedUnflanged.at(radius) }

// Bevelled is K of a flush mouth with a conical bevel: bevel length over bore,
// full cone angle in rad. Source: Idel'chik (1966).
func Bevelled(length, angle float64) float64 { return bevelled.at(length, degrees(angle)) }

// Expansion is K on the head in the narrow bore of a sudden step from a narrow
// to a wide bore, (1 - A1/A2)^2 (Borda-Carnot).
func Expansion(narrow, wide float64) float64 {
	s := 1 - areaRatio(narrow, wide)
	return s * s
}

// Recovery is the rise of static pressure over a sudden expansion in heads of
// the narrow bore, 2 (A1/A2)(1 - A1/A2); its peak is 0.5 at twice the area.
func Recovery(narrow, wide float64) float64 {
	r := areaRatio(narrow, wide)
	return 2 * r * (1 - r)
}

// ContractionCrane is K on the head in the narrow bore of a sudden contraction,
// 0.5 (1 - A2/A1). Source: Crane TP-410 (2009).
func ContractionCrane(wide, narrow float64) float64 { return 0.5 * (1 - areaRatio(narrow, wide)) }

// ContractionRennels is the same by Rennels & Hudson (2012), from the velocity
// of the contracted jet.
func ContractionRennels(wide, narrow float64) float64 {
	b := narrow / wide
	b5 := math.Pow(b, 5)
	l := 1 + 0.622*(1-0.215*b*b-0.785*b5)
	return 0.0696*(1-b5)*l*l + (l-1)*(l-1)
}

// ContractionHooper is the same by Hooper (1988) for Re above 2500 in the wide
// bore, from its friction factor.
func ContractionHooper(wide, narrow, friction float64) float64 {
	return (0.6 + 0.48*friction) * (1 - areaRatio(narrow, wide))
}

// Contraction is the mean of Crane and Rennels.
func Contraction(wide, narrow float64) float64 {
	return (ContractionCrane(wide, narrow) + ContractionRennels(wide, narrow)) / 2
}

// DiffuserRennels is K on the head at the narrow end of a conical diffuser with
// a full angle in rad and the friction factor of its wall. Source: Rennels &
// Hudson (2012).
func DiffuserRennels(narrow, wide, angle, friction float64) float64 {
	r := areaRatio(narrow, wide)
	b4, step := r*r, (1-r)*(1-r)
	wall := friction * (1 - b4) / (8 * math.Sin(angle/2))
	a := degrees(angle)
	switch {
	case a <= 20:
		return 8.30*math.Pow(math.Tan(angle/2), 1.75)*step + wall
	case a <= 60:
		k := 1.366*math.Sqrt(math.Sin(2*math.Pi*(a-15)/180)) - 0.170
		if b4 < 0.0625 {
			k -= 3.28 * (0.0625 - b4) * math.Sqrt((a-20)/40)
		}
		return k*step + wall
	case b4 < 0.0625:
		return (1.205 - 3.28*(0.0625-b4) - 12.8*b4*r*math.Sqrt((a-60)/120)) * step
	}
	return (1.205 - 0.20*math.Sqrt((a-60)/120)) * step
}

// DiffuserCrane is the same by Crane TP-410 (2009): 2.6 sin(angle/2) of the
// sudden step up to 45 degrees, the whole step above.
func DiffuserCrane(narrow, wide, angle float64) float64 {
	return min(2.6*math.Sin(angle/2), 1) * Expansion(narrow, wide)
}

// DiffuserIdelchik is the same by Idel'chik (1966): his table of the expansion
// and the friction of the wall.
func DiffuserIdelchik(narrow, wide, angle, friction float64) float64 {
	r := areaRatio(narrow, wide)
	return diffuser.at(r, degrees(angle)) + friction*(1-r*r)/(8*math.Sin(angle/2))
}

// Diffuser is the geometric mean of the three authors and half the spread
// between the highest and the lowest as a log standard deviation.
func Diffuser(narrow, wide, angle, friction float64) (k, logSD float64) {
	r := DiffuserRennels(narrow, wide, angle, friction)
	i := DiffuserIdelchik(narrow, wide, angle, friction)
	c := DiffuserCrane(narrow, wide, angle)
	return math.Cbrt(r * i * c), math.Log(max(r, i, c)/min(r, i, c)) / 2
}

// BernoulliPressure is the static pressure in Pa after a piece, from the
// pressure before it, the speeds in m/s, the loss in Pa, the density in kg/m3 and
// the kinetic-energy factor of the velocity profile (1.06 in turbulent flow).
func BernoulliPressure(before, speedBefore, speedAfter, loss, density, profile float64) float64 {
	return before + profile*density*(speedBefore*speedBefore-speedAfter*speedAfter)/2 - loss
}

func areaRatio(narrow, wide float64) float64 {
	b := narrow / wide
	return b * b
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }
