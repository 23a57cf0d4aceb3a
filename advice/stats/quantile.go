package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Endless is the freedom of a variance that is known and not estimated.
var Endless = math.Inf(1)

// endless is a freedom from which on t is normal to every digit that a float64
// holds at the quantiles in use.
const endless = 1e15

// TQuantile is the p-quantile of Student's t, p between 0 and 1. Freedom may be
// any number above nought, whole or not, and Endless.
func TQuantile(p, freedom float64) float64 {
	switch {
	case p < 0.5:
		return -TQuantile(1-p, freedom)
	case freedom > endless:
		return distuv.UnitNormal.Quantile(p)
	}
	// Brought home from where the library starts: its own quantile loses digits
	// in the tails.
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}
	x := t.Quantile(p)
	for range 4 {
		step := (TTail(x, freedom) - (1 - p)) / t.Prob(x)
		if math.IsNaN(step) || math.Abs(step) < 1e-15*math.Abs(x) {
			break
		}
		x += step
	}
	return x
}

// TTail is the chance that Student's t exceeds x.
func TTail(x, freedom float64) float64 {
	switch {
	case freedom > endless:
		return upper(x)
	case x < 0:
		return 1 - TTail(-x, freedom)
	}
	return mathext.RegIncBeta(freedom/2, 0.5, freedom/(freedom+x*x)) / 2
}

// FQuantile is the p-quantile of F with the freedoms of its numerator and its
// denominator, whole or not.
func FQuantile(p, above, below float64) float64 {
	f := distuv.F{D1: above, D2: below}
	x := f.Quantile(p)
	for range 4 {
		step := (p - f.CDF(x)) / f.Prob(x)
		if math.IsNaN(step) || math.Abs(step) < 1e-15*x {
			break
		}
		x += step
	}
	return x
}

// FTail is the chance that F exceeds x.
func FTail(x, above, below float64) float64 { return distuv.F{D1: above, D2: below}.Survival(x) }

// ChiSquareQuantile is the p-quantile of chi-square.
func ChiSquareQuantile(p, freedom float64) float64 {
	return distuv.ChiSquared{K: freedom}.Quantile(p)
}
