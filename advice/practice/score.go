package practice

import (
	"math"
	"slices"
)

// Interval is a claim: the quantity lies between Low and High with a stated
// probability.
type Interval struct{ Low, High float64 }

// Holds tells whether x lies within, ends included.
func (i Interval) Holds(x float64) bool { return i.Low <= x && x <= i.High }

// Score is the interval score of a central interval that is to miss with
// probability alpha: its width, and 2/alpha for each unit by which x lies
// outside. Smaller is better; it is in the unit of x (Gneiting and Raftery, 2007).
func (i Interval) Score(x, alpha float64) float64 {
	return i.High - i.Low + 2/alpha*(max(0, i.Low-x)+max(0, x-i.High))
}

// normalQuantile is the standard normal quantile of p.
func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// Wilson is the score interval of a rate: k of n, with that confidence.
func Wilson(k, n int, confidence float64) Interval {
	if n == 0 {
		return Interval{0, 1}
	}
	z := normalQuantile((1 + confidence) / 2)
	count, p := float64(n), float64(k)/float64(n)
	middle := (p + z*z/(2*count)) / (1 + z*z/count)
	half := z / (1 + z*z/count) * math.Sqrt(p*(1-p)/count+z*z/(4*count*count))
	out := Interval{max(0, middle-half), min(1, middle+half)}
	if k == 0 {
		out.Low = 0
	}
	if k == n {
		out.High = 1
	}
	return out
}

// CountBand is the central band of a binomial count: n trials of probability p,
// ends at the quantiles (1-mass)/2 and (1+mass)/2. A count outside it says that
// the true probability is another.
func CountBand(n int, p, mass float64) (low, high int) {
	low = -1
	sum := 0.0
	for k := range n + 1 {
		sum += math.Exp(logBinomial(n, k, p))
		if low < 0 && sum >= (1-mass)/2 {
			low = k
		}
		if sum >= (1+mass)/2 {
			return low, k
		}
	}
	return max(low, 0), n
}

func logBinomial(n, k int, p float64) float64 {
	all, _ := math.Lgamma(float64(n + 1))
	in, _ := math.Lgamma(float64(k + 1))
	out, _ := math.Lgamma(float64(n - k + 1))
	return all - in - out + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p)
}

// NormalCRPS is the continuous ranked probability score of a normal forecast, in
// the unit of x; smaller is better.
func NormalCRPS(mean, sd, x float64) float64 {
	z := (x - mean) / sd
	density := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
	return sd * (z*(2*normalCDF(z)-1) + 2*density - 1/math.Sqrt(math.Pi))
}

// SampleCRPS is the same for a forecast that is a sample.
func SampleCRPS(sample []float64, x float64) float64 {
	off, among := 0.0, 0.0
	for _, a := range sample {
		off += math.Abs(a - x)
		for _, b := range sample {
			among += math.Abs(a - b)
		}
	}
	n := float64(len(sample))
	return off/n - among/(2*n*n)
}

// Brier is the mean squared miss of stated probabilities.
func Brier(p []float64, came []bool) float64 {
	s := 0.0
	for i, q := range p {
		if came[i] {
			q = 1 - q
		}
		s += q * q
	}
	return s / float64(len(p))
}

// LogLoss is the mean of -ln of the probability that was given to what came.
func LogLoss(p []float64, came []bool) float64 {
	s := 0.0
	for i, q := range p {
		if !came[i] {
			q = 1 - q
		}
		s -= math.Log(q)
	}
	return s / float64(len(p))
}

// Mean is a mean over cars with its interval.
type Mean struct {
	Value    float64
	Interval Interval
	Cars     int
	Items    int // what was averaged: components, readings, cars
}

// CarMean averages what was found on each car, one row a car of any length, and
// gives the percentile interval of a bootstrap that draws whole cars: the
// components of one car share its flow, its gauge and its weather, so they count
// as one. The seed makes it repeatable. No items at all gives NaN.
func CarMean(cars [][]float64, confidence float64, seed uint64) Mean {
	sums := make([]float64, len(cars))
	out := Mean{Cars: len(cars)}
	for i, row := range cars {
		sums[i] = sum(row)
		out.Items += len(row)
	}
	out.Value = sum(sums) / float64(out.Items)
	if out.Items == 0 {
		out.Interval = Interval{math.NaN(), math.NaN()}
		return out
	}
	const draws = 2000
	means := make([]float64, 0, draws)
	d := roll(seed, "bootstrap")
	for range draws {
		if m, ok := resample(d, sums, cars); ok {
			means = append(means, m)
		}
	}
	slices.Sort(means)
	out.Interval = Interval{quantile(means, (1-confidence)/2), quantile(means, (1+confidence)/2)}
	return out
}

// resample is the mean over as many cars drawn with replacement; false where
// none of them has an item.
func resample(d dice, sums []float64, cars [][]float64) (float64, bool) {
	total, items := 0.0, 0
	for range cars {
		i := d.IntN(len(cars))
		total += sums[i]
		items += len(cars[i])
	}
	return total / float64(items), items > 0
}

// quantile of sorted xs, straight lines between the order statistics.
func quantile(xs []float64, p float64) float64 {
	at := p * float64(len(xs)-1)
	i := min(int(at), len(xs)-2)
	if i < 0 {
		return xs[0]
	}
	return xs[i] + (at-float64(i))*(xs[i+1]-xs[i])
}

// Coverage is the share of truths that their intervals hold, cars resampled. One
// row a car.
func Coverage(claims [][]Interval, truths [][]float64, confidence float64, seed uint64) Mean {
	return each(claims, truths, confidence, seed, func(i Interval, x float64) float64 {
		if i.Holds(x) {
			return 1
		}
		return 0
	})
}

// MeanScore is the mean interval score of central intervals that are to miss
// with probability alpha, cars resampled.
func MeanScore(claims [][]Interval, truths [][]float64, alpha, confidence float64, seed uint64) Mean {
	return each(claims, truths, confidence, seed, func(i Interval, x float64) float64 { return i.Score(x, alpha) })
}

func each(claims [][]Interval, truths [][]float64, confidence float64, seed uint64, f func(Interval, float64) float64) Mean {
	rows := make([][]float64, len(claims))
	for c := range claims {
		for k, i := range claims[c] {
			rows[c] = append(rows[c], f(i, truths[c][k]))
		}
	}
	return CarMean(rows, confidence, seed)
}

// Regret is the gain that was left behind by changing component picked rather
// than the best one, in the unit of gains; -1 stands for leaving the car alone.
func Regret(gains []float64, picked int) float64 {
	best := 0.0
	for _, g := range gains {
		best = max(best, g)
	}
	return best - gainOf(gains, picked)
}

// RegretAgainst is the gain that picked gives less than other does: what a short
// visit lost against one that measured everything. Negative where it did better.
func RegretAgainst(gains []float64, picked, other int) float64 {
	return gainOf(gains, other) - gainOf(gains, picked)
}

func gainOf(gains []float64, i int) float64 {
	if i < 0 {
		return 0
	}
	return gains[i]
}
