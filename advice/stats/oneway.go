package stats

import "math"

// OneWay is the analysis of groups of numbers, each group with one number or
// more.
type OneWay struct {
	Between, Within               float64 // sums of squares
	BetweenFreedom, WithinFreedom float64
	size                          float64 // of a group, as it counts in the mean square between
}

// NewOneWay parts the scatter of all numbers into that between the groups and that
// within them. What all numbers share is taken off first: it costs digits.
func NewOneWay(groups [][]float64) OneWay {
	var o OneWay
	base := groups[0][0]
	n, sum, sumSquares := 0.0, 0.0, 0.0
	var means, sizes []float64
	for _, g := range groups {
		rest := make([]float64, len(g))
		for i, v := range g {
			rest[i] = v - base
		}
		size := float64(len(g))
		means, sizes = append(means, Mean(rest)), append(sizes, size)
		o.Within += squares(rest)
		n, sum, sumSquares = n+size, sum+size*Mean(rest), sumSquares+size*size
	}
	for i, m := range means {
		o.Between += sizes[i] * (m - sum/n) * (m - sum/n)
	}
	o.BetweenFreedom, o.WithinFreedom = float64(len(groups)-1), n-float64(len(groups))
	o.size = (n - sumSquares/n) / o.BetweenFreedom
	return o
}

// F is the ratio of the mean squares.
func (o OneWay) F() float64 { return o.meanBetween() / o.meanWithin() }

// Share is the share of the scatter that lies between the groups, R squared.
func (o OneWay) Share() float64 { return o.Between / (o.Between + o.Within) }

func (o OneWay) meanBetween() float64 { return o.Between / o.BetweenFreedom }
func (o OneWay) meanWithin() float64  { return o.Within / o.WithinFreedom }

// Repeatability is the standard deviation within a group, the s_r of ISO 5725-2.
func (o OneWay) Repeatability() float64 { return math.Sqrt(o.meanWithin()) }

// Groups is the standard deviation that groups have beyond that of their numbers,
// the s_L of ISO 5725-2, nought where chance explains more. The freedom of its
// square is that of Welch and Satterthwaite, that between the groups at the most
// and one at the least.
func (o OneWay) Groups() (sd, freedom float64) {
	b, w := o.meanBetween()/o.size, o.meanWithin()/o.size
	v := b - w
	if !(v > 0) {
		return 0, o.BetweenFreedom
	}
	freedom = v * v / (b*b/o.BetweenFreedom + w*w/o.WithinFreedom)
	return math.Sqrt(v), min(max(freedom, 1), o.BetweenFreedom)
}

// Reproducibility is the standard deviation of one number of any group, the s_R of
// ISO 5725-2, with its freedom.
func (o OneWay) Reproducibility() (sd, freedom float64) {
	s, _ := o.Groups()
	if s == 0 {
		return o.Repeatability(), o.WithinFreedom
	}
	v, freedom := Combined(Part{o.meanBetween() / o.size, o.BetweenFreedom}, Part{o.meanWithin() * (1 - 1/o.size), o.WithinFreedom})
	return math.Sqrt(v), freedom
}

// Pool puts several analyses of like scatter together.
func Pool(list []OneWay) OneWay {
	var o OneWay
	for _, p := range list {
		o.Between, o.Within = o.Between+p.Between, o.Within+p.Within
		o.BetweenFreedom, o.WithinFreedom = o.BetweenFreedom+p.BetweenFreedom, o.WithinFreedom+p.WithinFreedom
		o.size += p.BetweenFreedom * p.size
	}
	o.size /= o.BetweenFreedom
	return o
}
