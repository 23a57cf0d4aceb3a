package model

import (
	"cmp"
	"math"
	"slices"

	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
	"dropwalk/advice/stats"
)

// This file looks at how readings grow with rpm. Those far below the reference rpm
// that were taken beside one near it say that, and nothing more about the loss at the
// reference point than the near one does. A test over several engine speeds asks for
// nothing else.

const (
	// SteepGrowth is the exponent of a reading over rpm from which a path is said to
	// close up: 2 for a path that keeps its shape, up to half more by an engine that
	// fills better and better (common practice, no source).
	SteepGrowth = 2.5
	// growthSD is the log SD of one reading for this purpose, rev counter included.
	growthSD = 0.04
)

// slowReading tells whether sheet reading i was read far below the reference rpm
// with nothing but the rpm to go by.
func (c *Car) slowReading(r sheet.Reading) bool {
	return r.RPM > 0 && r.RPM < farRPM*c.RPM && !r.MassFlow.Known()
}

// partSlow takes the slow readings out of those that are used, where the same
// stations were read near the reference rpm as well.
func (c *Car) partSlow() {
	near := map[[2]int]bool{}
	for _, r := range c.Readings {
		if !c.slowReading(c.Sheet.Readings[r.At]) {
			near[[2]int{r.From, r.To}] = true
		}
	}
	c.Readings = slices.DeleteFunc(c.Readings, func(r Reading) bool {
		slow := c.slowReading(c.Sheet.Readings[r.At]) && near[[2]int{r.From, r.To}]
		if slow {
			c.slow = append(c.slow, r)
		}
		return slow
	})
}

// checkGrowth says what the slow readings were used for, and what they show.
func (c *Car) checkGrowth() []Finding {
	if len(c.slow) == 0 {
		return nil
	}
	var runs []int
	steepest, at := 0.0, -1
	for i, s := range c.slow {
		runs = append(runs, c.run(s.At)...)
		if n, sd := c.growth(s); n-2*sd > max(steepest, SteepGrowth) {
			steepest, at = n-2*sd, i
		}
	}
	out := []Finding{finding(false, assessment.NotFullLoad, runs, "read far below the reference of %.0f rpm beside other runs: used only to see how the reading grows with rpm", c.RPM)}
	if at >= 0 {
		n, _ := c.growth(c.slow[at])
		out = append(out, finding(false, assessment.ClosesUp, runs, "the reading from %s grows with rpm to the power of %.1f, where a path that keeps its shape has 2: something closes up under suction", c.span(c.slow[at].At), n))
	}
	return out
}

// growth is the exponent of the reading over rpm between slow reading s and the
// mean of those near the reference rpm, with its standard deviation; 0 where
// there is none.
func (c *Car) growth(s Reading) (exponent, sd float64) {
	value, rpm, n := 0.0, 0.0, 0.0
	for _, r := range c.Readings {
		in := c.Sheet.Readings[r.At]
		if r.From == s.From && r.To == s.To && r.Bound == 0 && in.RPM > 0 && r.Shown > 0 {
			value, rpm, n = value+math.Log(r.Shown), rpm+math.Log(in.RPM), n+1
		}
	}
	if n == 0 || s.Bound != 0 || s.Shown <= 0 {
		return 0, 0
	}
	g := c.gauge(c.Sheet.Readings[s.At])
	way := rpm/n - math.Log(c.Sheet.Readings[s.At].RPM)
	off := math.Hypot(g.reading(c.Sheet.Readings[s.At].Value), g.accuracy*g.full/2) / s.Shown
	return (value/n - math.Log(s.Shown)) / way, math.Hypot(growthSD, off) / way
}

// Growth is how the readings of one stretch grow with the engine speed.
type Growth struct {
	Exponent stats.Estimate // of the reading over rpm
	Speeds   []Speed        // from the lowest
}

// Speed is one engine speed of a Growth.
type Speed struct {
	RPM   float64 // mean of its runs
	Shown float64 // mean of what the gauge showed, zero and correction applied, Pa
	Runs  int
	sd    float64 // of ln Shown, what all speeds share left out
}

// sameSpeed is how far apart two runs may be, as a share, to be runs of one speed.
const sameSpeed = 0.06

// GrowthBetween fits a power of rpm to the readings between two stations, speed by
// speed: least squares on the logarithms, each speed weighed by its own error. It is
// false where fewer than three speeds could be read or a reading isn't above nought.
func (c *Car) GrowthBetween(from, to string) (Growth, bool) {
	var list []Reading
	for _, r := range slices.Concat(c.Readings, c.slow) {
		in := c.Sheet.Readings[r.At]
		if in.From == from && in.To == to && r.Bound == 0 && in.RPM > 0 && in.Doubtful == "" {
			list = append(list, r)
		}
	}
	slices.SortStableFunc(list, func(a, b Reading) int {
		return cmp.Compare(c.Sheet.Readings[a.At].RPM, c.Sheet.Readings[b.At].RPM)
	})
	var g Growth
	zero := 0.0
	for len(list) > 0 {
		n := 1
		for n < len(list) && c.Sheet.Readings[list[n].At].RPM <= (1+sameSpeed)*c.Sheet.Readings[list[0].At].RPM {
			n++
		}
		speed, z := c.speedOf(list[:n])
		g.Speeds, zero = append(g.Speeds, speed), max(zero, z)
		list = list[n:]
	}
	e, ok := exponentOf(g.Speeds, 0)
	if !ok {
		return g, false
	}
	// A zero that is off moves all speeds alike in Pa, and the exponent with them.
	moved, ok := exponentOf(g.Speeds, zero)
	if !ok {
		return g, false
	}
	e.SE = math.Hypot(e.SE, moved.Value-e.Value)
	g.Exponent = e
	return g, true
}

// speedOf is the mean of runs at one speed, and what the zero of their gauge may be
// off in Pa.
func (c *Car) speedOf(runs []Reading) (Speed, float64) {
	n := float64(len(runs))
	s := Speed{Runs: len(runs)}
	own, zero := 0.0, 0.0
	var g gauge
	for _, r := range runs {
		in := c.Sheet.Readings[r.At]
		g = c.gauge(in)
		s.RPM, s.Shown = s.RPM+in.RPM/n, s.Shown+r.Shown/n
		own += square(scatterShare*r.Shown) + square(scatterFloor) + square(g.reading(in.Value)) + square(2*rpmSD*r.Shown)
		z := c.zeroOf(r.At)
		zero = max(zero, math.Hypot(g.division/4, z.moved/math.Sqrt(12)))
		if !z.before && !z.after {
			zero = max(zero, math.Hypot(g.division/2, g.accuracy*g.full/math.Sqrt(12)))
		}
	}
	local := 0.5 * g.accuracy * g.full / math.Sqrt(3) * math.Sqrt(min(math.Abs(s.Shown)/g.full, 1.2))
	s.sd = math.Hypot(math.Sqrt(own)/n, local) / s.Shown
	return s, zero
}

// leastSpeeds is how many speeds an exponent takes: two give one without a check.
const leastSpeeds = 3

// exponentOf fits the exponent once shift Pa were taken off every speed.
func exponentOf(speeds []Speed, shift float64) (stats.Estimate, bool) {
	if len(speeds) < leastSpeeds {
		return stats.Estimate{}, false
	}
	var design [][]float64
	var y []float64
	for _, s := range speeds {
		if s.Shown-shift <= 0 || s.Shown <= 0 {
			return stats.Estimate{}, false
		}
		design = append(design, []float64{1 / s.sd, math.Log(s.RPM) / s.sd})
		y = append(y, math.Log(s.Shown-shift)/s.sd)
	}
	fit, err := stats.LeastSquares(design, y)
	if err != nil {
		return stats.Estimate{}, false
	}
	variance := 0.0
	for _, w := range fit.Weights(1) {
		variance += w * w
	}
	// Where the speeds scatter more than their errors allow, the errors were too small.
	return stats.Estimate{Value: fit.Coefficients[1], SE: math.Sqrt(variance) * max(1, fit.Residual), Freedom: stats.Endless}, true
}
