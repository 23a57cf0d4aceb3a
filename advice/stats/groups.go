package stats

import (
	"math"
	"slices"
)

// Sizes of the tests on groups, as ISO 5725-2 takes them: beyond the first a group
// is a straggler, beyond the second an outlier.
const (
	StragglerSize = 0.05
	OutlierSize   = 0.01
)

// Limits are the critical values of a statistic at StragglerSize and OutlierSize.
type Limits struct{ Straggler, Outlier float64 }

func limits(at func(size float64) float64) Limits {
	return Limits{at(StragglerSize), at(OutlierSize)}
}

// CochranTest is the test of the largest variance of groups.
type CochranTest struct {
	Group  int     // that stands out most
	C      float64 // share of its sum of squares in that of all
	Limits Limits
	P      float64 // chance of one so large where all groups scatter alike, at the most
}

// Cochran tests whether one group scatters more than the others; false where fewer
// than two groups have two numbers or more, or none scatters at all. Groups need not
// be of one size: each is held to the limit for its own freedom (R. 't Lam, Analytica
// Chimica Acta 659 (2010) 68, from memory). Where they are, it is the C of ISO 5725-2.
func Cochran(groups [][]float64) (CochranTest, bool) {
	var freedoms, sums []float64
	var at []int
	all, freedom := 0.0, 0.0
	for i, g := range groups {
		if len(g) > 1 {
			at, freedoms, sums = append(at, i), append(freedoms, float64(len(g)-1)), append(sums, squares(g))
			all, freedom = all+squares(g), freedom+float64(len(g)-1)
		}
	}
	best := CochranTest{P: math.Inf(1)}
	if len(at) < 2 || !(all > 0) {
		return best, false
	}
	n := float64(len(at))
	for i := range at {
		c, own, rest := sums[i]/all, freedoms[i], freedom-freedoms[i]
		p := 0.0
		if c < 1 {
			p = n * FTail(c/(1-c)*rest/own, own, rest)
		}
		if p < best.P {
			best = CochranTest{at[i], c, limits(func(size float64) float64 { return shareLimit(size/n, own, rest) }), p}
		}
	}
	best.P = min(best.P, 1)
	return best, true
}

// shareLimit is what the share of a sum of squares in that of all exceeds with a
// chance of size, where own is the freedom of the one and rest that of the others.
func shareLimit(size, own, rest float64) float64 {
	f := FQuantile(1-size, own, rest)
	return f * own / (f*own + rest)
}

// CochranLimit is the critical value of C for groups of one size.
func CochranLimit(groups, numbers int, size float64) float64 {
	own := float64(numbers - 1)
	return shareLimit(size/float64(groups), own, own*float64(groups-1))
}

// GrubbsTest is the test of the number farthest from the mean.
type GrubbsTest struct {
	At     int     // of the number
	G      float64 // its distance from the mean in standard deviations
	High   bool    // it lies above the mean
	Limits Limits  // two-sided
	P      float64 // chance of one so far on either side, at the most
}

// Grubbs tests whether one number lies apart from the others, on either side; false
// of fewer than three numbers, or where all are alike. Of three it can hardly ever
// say anything: G never exceeds 1.1547.
func Grubbs(x []float64) (GrubbsTest, bool) {
	sd, mean := SD(x), Mean(x)
	if len(x) < 3 || !(sd > 0) {
		return GrubbsTest{}, false
	}
	var t GrubbsTest
	for i, v := range x {
		if g := math.Abs(v-mean) / sd; g > t.G {
			t.At, t.G, t.High = i, g, v > mean
		}
	}
	t.Limits = limits(func(size float64) float64 { return GrubbsLimit(len(x), size/2) })
	t.P = min(1, 2*GrubbsTail(len(x), t.G))
	return t, true
}

// GrubbsLimit is the critical value of G for n numbers, of one side with that size;
// of either side with half of it.
func GrubbsLimit(n int, size float64) float64 {
	k := float64(n)
	t := TQuantile(1-size/k, k-2)
	return (k - 1) / math.Sqrt(k) * math.Sqrt(t*t/(k-2+t*t))
}

// GrubbsTail is the size of which g is the critical value, of one side: the chance
// of one so far at the most.
func GrubbsTail(n int, g float64) float64 {
	k := float64(n)
	left := (k-1)*(k-1)/k - g*g
	if !(left > 0) {
		return 0
	}
	return k * TTail(g*math.Sqrt((k-2)/left), k-2)
}

// Mandel is h and k of one group, the consistency statistics of ISO 5725-2: how its
// mean lies among the means, in their standard deviations, and how it scatters
// beside all together. K is NaN of a group with one number.
type Mandel struct {
	H, K       float64
	HLimits    Limits // of the size of H
	KLimits    Limits
	HOff, KOff int // 0, 1 beyond the straggler's limit, 2 beyond the outlier's
}

// MandelOf is h and k of each group; nil of fewer than three groups.
func MandelOf(groups [][]float64) []Mandel {
	if len(groups) < 3 {
		return nil
	}
	var means []float64
	all, freedom := 0.0, 0.0
	for _, g := range groups {
		means = append(means, Mean(g))
		all, freedom = all+squares(g), freedom+float64(len(g)-1)
	}
	middle, sd := Mean(means), SD(means)
	var out []Mandel
	for i, g := range groups {
		m := Mandel{K: math.NaN(), HLimits: limits(func(size float64) float64 { return MandelHLimit(len(groups), size) })}
		if sd > 0 {
			m.H = (means[i] - middle) / sd
		}
		if own := float64(len(g) - 1); own > 0 && freedom > own && all > 0 {
			m.K = math.Sqrt(squares(g) / own / (all / freedom))
			m.KLimits = limits(func(size float64) float64 {
				return math.Sqrt(freedom / own * shareLimit(size, own, freedom-own))
			})
		}
		m.HOff, m.KOff = m.HLimits.passed(math.Abs(m.H)), m.KLimits.passed(m.K)
		out = append(out, m)
	}
	return out
}

func (l Limits) passed(x float64) int {
	switch {
	case x > l.Outlier:
		return 2
	case x > l.Straggler:
		return 1
	}
	return 0
}

// MandelHLimit is the indicator value of |h| among so many groups.
func MandelHLimit(groups int, size float64) float64 {
	p := float64(groups)
	t := TQuantile(1-size/2, p-2)
	return (p - 1) * t / math.Sqrt(p*(t*t+p-2))
}

// MandelKLimit is the indicator value of k for groups of one size.
func MandelKLimit(groups, numbers int, size float64) float64 {
	own := float64(numbers - 1)
	return math.Sqrt(float64(groups) * shareLimit(size, own, own*float64(groups-1)))
}

// PairLimit is the factor of ISO 5725-6 from a standard deviation to the difference
// of two results that is seldom exceeded, in one case of twenty: 1.96 times the
// square root of two, rounded as there.
const PairLimit = 2.8

// Median of some numbers, NaN of none.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(x))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// MAD is the median of the distances from the median, times the factor that makes it
// a standard deviation where the numbers are normal and many.
func MAD(x []float64) float64 {
	middle := Median(x)
	var far []float64
	for _, v := range x {
		far = append(far, math.Abs(v-middle))
	}
	return Median(far) / normalQuartile
}

// normalQuartile is the 75 % quantile of the normal distribution.
const normalQuartile = 0.674489750196082
