package model

import (
	"math"
	"slices"

	"dropwalk/advice/infer"
	"dropwalk/advice/stats"
)

// This file looks at one stretch of the path by itself: what its own readings say,
// and what the handbook says, each without the other.

// Measured is what the readings of one stretch say at the reference point, in Pa.
type Measured struct {
	Shown stats.Estimate // by the gauge
	Heads stats.Estimate // velocity head at the end less that at the beginning: no loss
	Loss  stats.Estimate // what is left
	Runs  int            // that count for it: neither doubtful nor beyond the scale
	Most  float64        // the highest bound where the needle went off its scale, NaN for none
}

// Measured gathers the readings between two stations. Without one that counts
// Runs is nought, and only Most may say something.
func (c *Car) Measured(from, to string) Measured {
	m := Measured{Most: math.NaN()}
	a, b := c.Index(from), c.Index(to)
	var list []Reading
	for _, r := range c.Readings {
		switch {
		case r.From != a || r.To != b || c.Sheet.Readings[r.At].Doubtful != "":
		case r.Bound == infer.Value:
			list = append(list, r)
		case r.Bound == infer.AtLeast && !(m.Most >= r.Value):
			m.Most = r.Value
		}
	}
	m.Runs = len(list)
	if m.Runs == 0 {
		return m
	}
	n := float64(m.Runs)
	mean, own, all, bare := 0.0, 0.0, 0.0, 0.0
	for _, r := range list {
		mean, own = mean+r.Value/n, own+r.Own/(n*n)
		for _, q := range list {
			all += meet(r.load, q.load) / (n * n)
			bare += meet(c.withoutHeads(r.load), c.withoutHeads(q.load)) / (n * n)
		}
	}
	head := list[0].Head
	flow := square(2 * c.FlowSD * head) // a head goes with the flow squared, and so does its error
	m.Shown = stats.Estimate{Value: mean, SE: math.Sqrt(own + bare), Freedom: stats.Endless}
	m.Heads = stats.Estimate{Value: head, SE: math.Sqrt(max(all-bare, 0) + flow), Freedom: stats.Endless}
	m.Loss = stats.Estimate{Value: mean - head, SE: math.Sqrt(own + all + flow), Freedom: stats.Endless}
	return m
}

// withoutHeads is a load without the errors of velocity heads.
func (c *Car) withoutHeads(l load) load {
	out := load{}
	for k, v := range l {
		if !slices.ContainsFunc(c.Stations, func(s Station) bool {
			at, ok := c.factors.at["head "+s.Name]
			return ok && at == k
		}) {
			out[k] = v
		}
	}
	return out
}

// Unread is the loss of the given components together where nobody read them apart, in
// Pa: any of them may be spoilt, which the handbook's figure leaves out.
func (c *Car) Unread(pieces ...int) stats.Estimate {
	sum, variance := 0.0, 0.0
	for _, i := range pieces {
		m, v := c.Pieces[i].States.Moments()
		sum, variance = sum+m, variance+v
	}
	_, shared := c.Expected(pieces...)
	return stats.Estimate{Value: sum, SE: math.Hypot(math.Sqrt(variance), sum*shared), Freedom: stats.Endless}
}

// Expected is the handbook's loss of the given components together, as they would
// be unspoilt: the median in Pa and its log SD. Their flow and what all losses of a
// car share they have in common; the rest they have each for itself.
func (c *Car) Expected(pieces ...int) (median, logSD float64) {
	own, shared := 0.0, square(common)+square(2*c.FlowSD)
	moves := false
	for _, i := range pieces {
		p := c.Pieces[i]
		median += p.Median
		own += square(p.Median * p.LogSD)
		moves = moves || !p.Steady
	}
	if median == 0 {
		return 0, 0
	}
	if moves {
		shared += square(2 * c.pace)
	}
	return median, math.Sqrt(own/square(median) + shared)
}
