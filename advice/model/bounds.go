package model

import (
	"math"

	"dropwalk/advice/assessment"
	"dropwalk/advice/infer"
)

// farBound is how many standard deviations a bound and a reading may lie on the
// wrong sides of each other; one-sided chance 5e-4.
const farBound = 3.3

// checkBounds compares readings that left the scale with readings that gave a
// value. Losses only grow along the path, so a stretch that holds another loses at
// least as much.
func (c *Car) checkBounds(n network) []Finding {
	noise := c.noise()
	for i, b := range c.Readings {
		if b.Bound == infer.Value {
			continue
		}
		for k := range n.sets {
			outer := n.from[k] <= b.From && b.To <= n.to[k]
			inner := b.From <= n.from[k] && n.to[k] <= b.To
			room := (n.y[k] - n.head[k]) - (b.Value - b.Head)
			if b.Bound == infer.AtMost {
				outer, room = inner, -room
			}
			sd := math.Sqrt(noise.At(i, i) + n.noise.At(k, k) + square(2*c.FlowSD*(n.head[k]-b.Head)))
			if outer && room < -farBound*sd {
				runs := append(c.run(b.At), c.runs(n.sets[k])...)
				return []Finding{finding(true, assessment.RunsDisagree, runs, "the reading from %s lies beyond the scale, but the one from %s leaves no room for that: read both again", c.span(b.At), c.span(c.Readings[n.sets[k][0]].At))}
			}
		}
	}
	return nil
}
