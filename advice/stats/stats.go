// Package stats is the statistics that is not about cars: quantiles, differences
// of means, least squares, analysis of groups, and how many runs it takes to see
// a change in readings that scatter. Quantiles and the QR factors come from a
// library, for which this package is the one door.
//
//	stats.go       planning of repeat runs; power of tests
//	quantile.go    t, F and chi-square, freedoms whole or not
//	sample.go      mean, standard deviation, autocorrelation
//	difference.go  Welch, pooled, paired; intervals; equivalence; combined freedom
//	fit.go         least squares by QR
//	oneway.go      groups of numbers: within and between
//	groups.go      which group stands out: Cochran, Grubbs, Mandel; medians
//
// The test of Runs is A-B-A with a term for drift: runs as the car is, runs with the
// part fitted, runs as it was before; reading = level + change [fitted] + slope
// (run number) + scatter. The change is judged by a two-sided t test. Scatter
// from taking the part off and fitting it again is not counted: more runs
// don't cure that.
//
// The numbers of Runs are in units of the scatter of one run, so that any unit
// will do.
package stats

import "math"

// Size is the chance of seeing a change where there is none, Power the chance of
// seeing the one that is looked for.
const (
	Size  = 0.05
	Power = 0.80
)

// MostRuns is where Runs gives up: a block of that many full-load runs is no
// test on a car.
const MostRuns = 1000

// leastRuns in a block leave three degrees of freedom for the scatter.
const leastRuns = 2

// Runs is the least number of runs in each of the three blocks of an A-B-A test
// with drift that sees a change, in standard deviations of one run, with a
// chance of at least Power; false where MostRuns don't do.
func Runs(change float64) (int, bool) {
	change = math.Abs(change)
	sees := func(n int) bool { return seen(n, n, n, change) >= Power }
	if !(change > 0) || !sees(MostRuns) {
		return 0, false
	}
	low, high := leastRuns-1, MostRuns // low doesn't do, high does
	for high-low > 1 {
		if n := (low + high) / 2; sees(n) {
			high = n
		} else {
			low = n
		}
	}
	return high, true
}

// Detectable is the change, in standard deviations of one run, that an A-B-A test
// with blocks of these many runs sees with a given chance.
func Detectable(first, fitted, last int, power float64) float64 {
	low, high := 0.0, 1.0
	for seen(first, fitted, last, high) < power {
		high *= 2
	}
	return bisect(low, high, func(c float64) bool { return seen(first, fitted, last, c) >= power })
}

// HalfWidth is half the 95 % interval of the change, in standard deviations of
// one run.
func HalfWidth(first, fitted, last int) float64 {
	return TQuantile(1-Size/2, float64(first+fitted+last-3)) * math.Sqrt(variance(first, fitted, last))
}

// seen is the chance that the test sees a change.
func seen(first, fitted, last int, change float64) float64 {
	return TPower(float64(first+fitted+last-3), change/math.Sqrt(variance(first, fitted, last)), Size)
}

// variance of the estimated change by least squares: what is left of the
// indicator of the fitted runs when a level and a slope over the run number are
// taken out of it. Blocks of equal length give 3/(2n).
func variance(first, fitted, last int) float64 {
	n := float64(first + fitted + last)
	share := float64(fitted) / n
	// Run numbers are centred; those of the fitted block lie off by the mean of it.
	off := float64(first) + float64(fitted+1)/2 - (n+1)/2
	spread := n * (n*n - 1) / 12
	along := float64(fitted) * off
	return 1 / (float64(fitted)*(1-share) - along*along/spread)
}

// TPower is the chance that a two-sided t test of a size, with so many degrees of
// freedom, sees a shift that is so many standard errors: the noncentral t
// distribution, both tails.
func TPower(freedom float64, shift, size float64) float64 {
	return beyond(freedom, shift, TQuantile(1-size/2, freedom))
}

// steps of the trapezium rule. The integrand falls off smoothly at both ends, where
// that rule gains digits with every step: these reach what float64 holds.
const steps = 240

// beyond is the chance that |(z + shift)/s| exceeds limit, where z is normal and s
// is the root of chi-square over its freedom: the mean over s of the normal tails.
func beyond(nu, shift, limit float64) float64 {
	return overSpread(nu, func(s float64) float64 { return upper(limit*s-shift) + upper(limit*s+shift) })
}

// EquivalencePower is the chance that the two one-sided tests, each of a size, show
// a truth to lie within margin of nought. Truth and margin are in standard errors.
func EquivalencePower(freedom, truth, margin, size float64) float64 {
	t := TQuantile(1-size, freedom)
	return overSpread(freedom, func(s float64) float64 {
		return max(0, upper(t*s-margin-truth)-upper(margin-t*s-truth))
	})
}

// PairSize is the number in each of two groups, not rounded, with which a two-sided
// test at Size sees a difference, in standard deviations of one number, with a
// chance of power.
func PairSize(difference, power float64) float64 {
	high := 2.0
	sees := func(n float64) bool {
		return TPower(2*n-2, difference*math.Sqrt(n/2), Size) >= power
	}
	for !sees(high) {
		high *= 2
	}
	return bisect(1.01, high, sees)
}

// overSpread is the mean of what over s, the root of chi-square over its freedom.
// The integral runs over ln s.
func overSpread(nu float64, what func(s float64) float64) float64 {
	if nu > endless {
		return what(1)
	}
	half, _ := math.Lgamma(nu / 2)
	scale := math.Ln2 + nu/2*math.Log(nu/2) - half
	wide := 9 / math.Sqrt(nu)
	from, to := -wide-37/nu, math.Log1p(wide)
	h := (to - from) / steps
	sum := 0.0
	for i := range steps + 1 {
		x := from + float64(i)*h
		s := math.Exp(x)
		sum += math.Exp(scale+nu*(x-s*s/2)) * what(s)
	}
	return sum * h
}

// upper is the chance that a normal number exceeds z.
func upper(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }

// bisect finds where done turns true between low and high.
func bisect(low, high float64, done func(float64) bool) float64 {
	for range 60 {
		if mid := (low + high) / 2; done(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}
