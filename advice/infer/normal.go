package infer

import "math"

// NormalCDF is the chance that a standard normal variable lies below z.
func NormalCDF(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// NormalPDF is the density of the standard normal distribution at z.
func NormalPDF(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

// NormalQuantile is the z below which a standard normal variable lies with
// chance p, for 0 < p < 1; the infinities at the ends.
func NormalQuantile(p float64) float64 {
	if p > 0.5 {
		return -NormalQuantile(1 - p)
	}
	return -math.Sqrt2 * math.Erfcinv(2*p)
}

// upperQuantile is the z above which a standard normal variable lies with
// chance p. It keeps its digits where p is tiny, which 1-p would lose.
func upperQuantile(p float64) float64 {
	const tiny = 1e-300
	return math.Sqrt2 * math.Erfcinv(2*math.Max(p, tiny))
}

// ChiSquareTail is the chance that a chi-square variable with nu degrees of
// freedom (nu > 0, whole or not) exceeds x. Series and continued fraction of
// the incomplete gamma function: Abramowitz and Stegun 6.5.29 and 6.5.31.
func ChiSquareTail(x, nu float64) float64 {
	switch {
	case x <= 0 || nu <= 0:
		return 1
	case x < nu+2:
		return 1 - gammaSeries(nu/2, x/2)
	default:
		return gammaFraction(nu/2, x/2)
	}
}

const (
	gammaTerms = 500
	gammaClose = 1e-15
)

func gammaFront(a, x float64) float64 {
	lg, _ := math.Lgamma(a)
	return math.Exp(a*math.Log(x) - x - lg)
}

func gammaSeries(a, x float64) float64 {
	term := 1 / a
	sum := term
	for n := 1; n < gammaTerms && term > sum*gammaClose; n++ {
		term *= x / (a + float64(n))
		sum += term
	}
	return sum * gammaFront(a, x)
}

func gammaFraction(a, x float64) float64 {
	const floor = 1e-300 // keeps the recursion away from division by nought
	b := x + 1 - a
	c, d := 1/floor, 1/b
	h := d
	for n := 1.0; n < gammaTerms; n++ {
		an := -n * (n - a)
		b += 2
		d = 1 / (an*d + b)
		c = b + an/c
		h *= c * d
		if math.Abs(c*d-1) < gammaClose {
			break
		}
	}
	return h * gammaFront(a, x)
}
