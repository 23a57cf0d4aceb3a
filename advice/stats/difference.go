package stats

import "math"

// Estimate is a number that is normal about the truth, with the standard error
// of it and the freedom of that.
type Estimate struct{ Value, SE, Freedom float64 }

// Part is one share of a variance and how well it is known.
type Part struct{ Variance, Freedom float64 }

// Combined adds up variances; the freedom of the sum is that of Welch and
// Satterthwaite (JCGM 100:2008, G.4.1). A part that is known has the freedom
// Endless.
func Combined(parts ...Part) (variance, freedom float64) {
	below := 0.0
	for _, p := range parts {
		variance += p.Variance
		if p.Variance > 0 {
			below += p.Variance * p.Variance / p.Freedom
		}
	}
	if below == 0 {
		return variance, Endless
	}
	return variance, variance * variance / below
}

// Welch is the mean of b less the mean of a, for scatters that may differ. Each
// has two numbers or more.
func Welch(a, b []float64) Estimate {
	na, nb := float64(len(a)), float64(len(b))
	v, freedom := Combined(Part{Variance(a) / na, na - 1}, Part{Variance(b) / nb, nb - 1})
	return Estimate{Mean(b) - Mean(a), math.Sqrt(v), freedom}
}

// Pooled is the mean of b less the mean of a, for one scatter.
func Pooled(a, b []float64) Estimate {
	na, nb := float64(len(a)), float64(len(b))
	v := (squares(a) + squares(b)) / (na + nb - 2)
	return Estimate{Mean(b) - Mean(a), math.Sqrt(v * (1/na + 1/nb)), na + nb - 2}
}

// Paired is the mean of b[i] less a[i].
func Paired(a, b []float64) Estimate {
	d := make([]float64, len(a))
	for i := range a {
		d[i] = b[i] - a[i]
	}
	n := float64(len(d))
	return Estimate{Mean(d), SD(d) / math.Sqrt(n), n - 1}
}

// T is the estimate in standard errors.
func (e Estimate) T() float64 { return e.Value / e.SE }

// P is the chance of an estimate as far from nought, or farther, where the truth
// is nought.
func (e Estimate) P() float64 { return 2 * TTail(math.Abs(e.T()), e.Freedom) }

// Interval is the central interval that holds the truth with a chance of level.
func (e Estimate) Interval(level float64) (low, high float64) {
	half := TQuantile((1+level)/2, e.Freedom) * e.SE
	return e.Value - half, e.Value + half
}

// Equivalent is the p-value of the two one-sided tests (TOST) of the truth lying
// within margin of nought. It is below 0.05 where the 90 % interval does so.
func (e Estimate) Equivalent(margin float64) float64 {
	return max(TTail((e.Value+margin)/e.SE, e.Freedom), TTail((margin-e.Value)/e.SE, e.Freedom))
}
