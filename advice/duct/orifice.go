package duct

import "math"

// Taps is where the two taps of an orifice plate sit.
type Taps int

// The three places that ISO 5167-2 knows.
const (
	CornerTaps Taps = iota
	RadiusTaps      // one bore upstream, half a bore downstream
	FlangeTaps      // 25.4 mm from each face
)

// spans are the distances of the two taps from the faces of the plate, over the
// bore of the pipe.
func (t Taps) spans(pipe float64) (upstream, downstream float64) {
	switch t {
	case RadiusTaps:
		return 1, 0.47
	case FlangeTaps:
		return 0.0254 / pipe, 0.0254 / pipe
	}
	return 0, 0
}

// OrificeCoefficient is the discharge coefficient of a sharp orifice plate by
// Reader-Harris and Gallagher, ISO 5167-2: bores of pipe and orifice in m, the
// Reynolds number of the pipe.
func OrificeCoefficient(pipe, bore, re float64, taps Taps) float64 {
	b := bore / pipe
	b4 := math.Pow(b, 4)
	a := math.Pow(19000*b/re, 0.8)
	l1, l2 := taps.spans(pipe)
	m := 2 * l2 / (1 - b)
	c := 0.5961 + 0.0261*b*b - 0.216*b4*b4 +
		0.000521*math.Pow(1e6*b/re, 0.7) +
		(0.0188+0.0063*a)*math.Pow(b, 3.5)*math.Pow(1e6/re, 0.3) +
		(0.043+0.080*math.Exp(-10*l1)-0.123*math.Exp(-7*l1))*(1-0.11*a)*b4/(1-b4) -
		0.031*(m-0.8*math.Pow(m, 1.1))*math.Pow(b, 1.3)
	if pipe < 0.07112 {
		c += 0.011 * (0.75 - b) * (2.8 - pipe/0.0254)
	}
	return c
}

// OrificeExpansibility corrects an orifice for the expansion of the gas, ISO
// 5167-2: bores in m, absolute pressures before and behind in Pa, isentropic
// exponent.
func OrificeExpansibility(pipe, bore, before, behind, kappa float64) float64 {
	b4 := math.Pow(bore/pipe, 4)
	return 1 - (0.351+0.256*b4+0.93*b4*b4)*(1-math.Pow(behind/before, 1/kappa))
}

// NozzleExpansibility does so for a nozzle or a Venturi tube, ISO 5167-4.
func NozzleExpansibility(pipe, bore, before, behind, kappa float64) float64 {
	b4 := math.Pow(bore/pipe, 4)
	tau := behind / before
	t2k := math.Pow(tau, 2/kappa)
	return math.Sqrt(kappa * t2k / (kappa - 1) *
		((1 - b4) / (1 - b4*t2k)) *
		((1 - math.Pow(tau, (kappa-1)/kappa)) / (1 - tau)))
}

// ApproachFactor is the velocity of approach factor 1/sqrt(1 - (d/D)^4).
func ApproachFactor(pipe, bore float64) float64 {
	return 1 / math.Sqrt(1-math.Pow(bore/pipe, 4))
}

// Plate is an orifice plate in a pipe with what flows through it.
type Plate struct {
	Pipe, Bore         float64 // m
	Taps               Taps
	Density, Viscosity float64 // kg/m3, Pa s
	Before             float64 // absolute pressure, Pa
	Kappa              float64 // isentropic exponent; 0 for a liquid
}

// MassFlow is the flow in kg/s at a pressure difference in Pa, ISO 5167-2. The
// coefficient depends on the flow, so it is found in a few rounds.
func (p Plate) MassFlow(drop float64) float64 {
	e := 1.0
	if p.Kappa > 0 {
		e = OrificeExpansibility(p.Pipe, p.Bore, p.Before, p.Before-drop, p.Kappa)
	}
	ideal := e * ApproachFactor(p.Pipe, p.Bore) * area(p.Bore) * math.Sqrt(2*p.Density*drop)
	m := 0.6 * ideal
	for range 30 {
		next := ideal * OrificeCoefficient(p.Pipe, p.Bore, Reynolds(m, p.Pipe, p.Viscosity), p.Taps)
		if math.Abs(next-m) < 1e-13*m {
			return next
		}
		m = next
	}
	return m
}

// OrificeFlow is Cd A sqrt(2 rho dp) in kg/s, an orifice between two big rooms:
// bore in m, drop in Pa, density in kg/m3.
func OrificeFlow(coefficient, bore, drop, density float64) float64 {
	return coefficient * area(bore) * math.Sqrt(2*density*drop)
}

// OrificeLoss is the lasting loss in Pa of an orifice plate from its pressure
// difference, ISO 5167-2.
func OrificeLoss(pipe, bore, coefficient, drop float64) float64 {
	b := bore / pipe
	root := math.Sqrt(1 - math.Pow(b, 4)*(1-coefficient*coefficient))
	jet := coefficient * b * b
	return drop * (root - jet) / (root + jet)
}
