package duct

import "math"

// Laminar is the Darcy friction factor of laminar flow in a round tube, 64/Re
// (Hagen-Poiseuille).
func Laminar(re float64) float64 { return 64 / re }

// Haaland is the Darcy friction factor of turbulent flow by Haaland's explicit
// form, within 2 % of Colebrook. Relative roughness is e/D.
func Haaland(re, roughness float64) float64 {
	root := -1.8 * math.Log10(math.Pow(roughness/3.7, 1.11)+6.9/re)
	return 1 / (root * root)
}

// SwameeJain is the Darcy friction factor by the explicit form of Swamee and
// Jain, for 5e3 < Re < 1e8 and 1e-6 < e/D < 1e-2.
func SwameeJain(re, roughness float64) float64 {
	l := math.Log10(roughness/3.7 + 5.74/math.Pow(re, 0.9))
	return 0.25 / (l * l)
}

// Blasius is the Darcy friction factor of a smooth tube, 0.3164 Re^-0.25, for
// 3e3 < Re < 1e5.
func Blasius(re float64) float64 { return 0.3164 / math.Sqrt(math.Sqrt(re)) }

// Colebrook is the Darcy friction factor that solves
// 1/sqrt f = -2 log10(e/3.7D + 2.51/(Re sqrt f)). Newton's method from
// Haaland's value; two or three rounds reach float64.
func Colebrook(re, roughness float64) float64 {
	x := 1 / math.Sqrt(Haaland(re, roughness))
	a, b := roughness/3.7, 2.51/re
	for range 6 {
		inner := a + b*x
		step := (x + 2/math.Ln10*math.Log(inner)) / (1 + 2/math.Ln10*b/inner)
		x -= step
		if math.Abs(step) < 1e-13*x {
			break
		}
	}
	return 1 / (x * x)
}

// Laminar flow holds below lower, turbulent flow above upper; pipe flow between
// them jumps to and fro.
const lower, upper = 2000.0, 4000.0

// Friction is the Darcy friction factor at any Reynolds number above nought:
// laminar below 2000, Colebrook above 4000, and a smooth blend in log Re between
// them, so that a solver meets no step. In the blend it is an interpolation, not
// a measured law.
func Friction(re, roughness float64) float64 {
	switch {
	case re <= lower:
		return Laminar(re)
	case re >= upper:
		return Colebrook(re, roughness)
	}
	s := math.Log(re/lower) / math.Log(upper/lower)
	s *= s * (3 - 2*s)
	return math.Exp((1-s)*math.Log(Laminar(lower)) + s*math.Log(Colebrook(upper, roughness)))
}

// frictionExponent is the power of the flow with which the loss by friction
// grows: 2 + d ln f / d ln Re, from Haaland's form. It is 1 in laminar flow,
// about 1.8 in smooth ducts and 2 in fully rough ones.
func frictionExponent(re, roughness float64) float64 {
	if re <= lower {
		return 1
	}
	re = max(re, upper)
	inner := math.Pow(roughness/3.7, 1.11) + 6.9/re
	return 2 + 2*(6.9/re/inner)/math.Log(inner)
}

// HydraulicDiameter of a rectangular passage in m, 4 area / perimeter.
func HydraulicDiameter(width, height float64) float64 {
	return 2 * width * height / (width + height)
}

// EqualFriction is the bore in m of the round duct that has the same friction
// loss at the same volume flow as a rectangular one:
// 1.30 (ab)^0.625/(a+b)^0.25. Source: Huebscher (1948), ASHRAE (from memory).
func EqualFriction(width, height float64) float64 {
	return 1.30 * math.Pow(width*height, 0.625) / math.Pow(width+height, 0.25)
}

// LaminarRectangular is f Re of laminar flow in a rectangular passage, on the
// hydraulic diameter, by the exact series: 64 becomes 56.9 for a square and 96
// for a flat gap.
func LaminarRectangular(width, height float64) float64 {
	a := min(width, height) / max(width, height)
	var sum float64
	for n := 1.0; n < 60; n += 2 {
		sum += math.Tanh(n*math.Pi/(2*a)) / math.Pow(n, 5)
	}
	return 96 / ((1 + a) * (1 + a) * (1 - 192*a/math.Pow(math.Pi, 5)*sum))
}

// EffectiveReynolds is the Reynolds number at which a round duct has the
// friction factor of a rectangular one, given the Reynolds number on the
// hydraulic diameter: 2/3 + 11/24 a (2-a) with a the shorter side over the
// longer. Source: Jones, J. Fluids Eng. 98 (1976) 173 (from memory).
func EffectiveReynolds(re, width, height float64) float64 {
	a := min(width, height) / max(width, height)
	return re * (2.0/3 + 11.0/24*a*(2-a))
}

// BoreForHead is the bore in m of a smooth round duct in which a volume flow in
// m3/s over a length in m loses a head in m of the flowing fluid, given its
// kinematic viscosity in m2/s. Solved by bisection on the Darcy-Weisbach
// equation with Colebrook.
func BoreForHead(flow, length, head, kinematic float64) float64 {
	const gravity = 9.80665
	lo, hi := 1e-4, 10.0
	for range 80 {
		d := math.Sqrt(lo * hi)
		v := flow / area(d)
		f := Friction(v*d/kinematic, 0)
		if f*length/d*v*v/(2*gravity) > head {
			lo = d
		} else {
			hi = d
		}
	}
	return math.Sqrt(lo * hi)
}

func area(bore float64) float64 { return math.Pi / 4 * bore * bore }

// DarcyFactor is the friction factor that belongs to a measured drop in Pa over
// a length in m of a duct: drop (D/L) / (0.5 rho V^2).
func DarcyFactor(drop, length, bore, density, velocity float64) float64 {
	return drop * bore / length / (0.5 * density * velocity * velocity)
}
