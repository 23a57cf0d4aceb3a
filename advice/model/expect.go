package model

import (
	"math"
	"slices"

	"dropwalk/advice/infer"
	"dropwalk/advice/sheet"
)

// Expect is what a gauge between two stations is expected to show before any
// reading, and a value that it seldom exceeds, Pa.
func (c *Car) Expect(from, to int) (middle, most float64) {
	middle = c.Stations[to].Shown() - c.Stations[from].Shown()
	variance := 0.0
	for _, p := range c.Pieces[from:to] {
		m, v := p.States.Moments()
		middle, variance = middle+m, variance+v
	}
	variance += square(2*c.FlowSD*middle) + square(common*middle)
	return middle, middle + 2*math.Sqrt(variance)
}

// Suitable names the gauge with the smallest range that holds the most that is
// to be expected; failing that the one with the largest range, if it holds the
// middle; else "". A gauge of unknown range is taken as a usual one.
func (c *Car) Suitable(middle, most float64) string {
	type ranged struct {
		name string
		full float64
	}
	var all []ranged
	for _, g := range c.Sheet.Gauges {
		all = append(all, ranged{g.Name, c.gauge(sheet.Reading{Gauge: g.Name}).full})
	}
	slices.SortStableFunc(all, func(a, b ranged) int {
		switch {
		case a.full < b.full:
			return -1
		case a.full > b.full:
			return 1
		}
		return 0
	})
	for _, g := range all {
		if g.full >= most {
			return g.name
		}
	}
	if n := len(all); n > 0 && all[n-1].full >= 1.1*middle {
		return all[n-1].name
	}
	return ""
}

// Runs counts the readings between two stations that gave a value.
func (c *Car) Runs(from, to int) int {
	n := 0
	for _, r := range c.Readings {
		if r.From == from && r.To == to && r.Bound == infer.Value {
			n++
		}
	}
	return n
}
