package model

import (
	"math"
	"slices"

	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
)

// This file looks at readings far below the reference rpm that were taken beside
// one near it: they say how the pressure grows with rpm, and nothing more about the
// loss at the reference point than the near one does.

const (
	// steepGrowth is the exponent of a reading over rpm from which a path is said to
	// close up: 2 for a path that keeps its shape, up to half more by an engine that
	// fills better and better (common practice, no source).
	steepGrowth = 2.5
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
		if n, sd := c.growth(s); n-2*sd > max(steepest, steepGrowth) {
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
