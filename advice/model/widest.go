package model

import "dropwalk/advice/infer"

// Width is what makes the total uncertain most.
type Width string

// Widths.
const (
	ByWind    Width = "wind"    // at the mouth and at the gauge's open port
	ByFlow    Width = "flow"    // of the velocity head at the last tap
	ByBore    Width = "bore"    // the same
	ByGauge   Width = "gauge"   // its scale and its zero
	ByWeather Width = "weather" // the way from the run to the reference point
	ByRuns    Width = "runs"    // their scatter
	ByRange   Width = "range"   // the needle left its scale
)

var widthOf = map[Origin]Width{
	Law: ByWeather, Day: ByWeather, Scale: ByGauge, Zero: ByGauge, Mouth: ByWind, Port: ByWind, Head: ByBore,
}

// Widest is what makes the reading farthest down the path uncertain most, "" where
// nothing was read.
func (c *Car) Widest() Width {
	at, n := c.farthest()
	if at < 0 {
		return ""
	}
	far := c.Readings[at]
	if far.Bound != infer.Value {
		return ByRange
	}
	share := map[Width]float64{ByRuns: far.Own / n, ByFlow: square(2 * c.FlowSD * far.Head), ByBore: square(2 * c.pace * far.Head)}
	for _, cause := range c.Causes(at) {
		share[widthOf[cause.Of]] += square(cause.Pa)
	}
	widest := ByRuns
	for _, w := range []Width{ByWind, ByFlow, ByBore, ByGauge, ByWeather} {
		if share[w] > share[widest] {
			widest = w
		}
	}
	return widest
}

// farthest is a reading of the stretch that reaches farthest down the path, one that
// gave a value before one that didn't, and how many there are of it; -1 where there
// is none.
func (c *Car) farthest() (at int, n float64) {
	at = -1
	for i, r := range c.Readings {
		switch {
		case at < 0, r.To > c.Readings[at].To, r.To == c.Readings[at].To && r.Bound == infer.Value && c.Readings[at].Bound != infer.Value:
			at, n = i, 1
		case r.To == c.Readings[at].To && r.From == c.Readings[at].From && r.Bound == c.Readings[at].Bound:
			n++
		}
	}
	return at, n
}
