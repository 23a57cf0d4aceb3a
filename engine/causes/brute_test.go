package causes

import (
	"math"
	"math/rand/v2"
	"slices"
)

// random is a small model. Where the openings are chained, each cause needs the
// first so many of them; else any of them.
func random(r *rand.Rand, causes, openings, checks int, chained bool) *Model {
	m := &Model{Unfound: 60 + 60*r.Float64()}
	for range openings {
		m.Openings = append(m.Openings, 1+20*r.Float64())
	}
	need := func() Set {
		if chained {
			return Set(1)<<r.IntN(openings+1) - 1
		}
		return Set(r.IntN(1 << openings))
	}
	weights := make([]float64, causes+1)
	sum := 0.0
	for i := range weights {
		weights[i] = 0.05 + r.Float64()
		sum += weights[i]
	}
	for i := range causes {
		m.Causes = append(m.Causes, Cause{Chance: weights[i] / sum, Cost: 1 + 40*r.Float64(), Opens: need()})
	}
	m.None = weights[causes] / sum
	for range checks {
		c := Check{Cost: 0.5 + 8*r.Float64(), Opens: need()}
		yes, no := make([]float64, causes+1), make([]float64, causes+1)
		for i := range yes {
			yes[i] = []float64{0.03, 0.1, 0.5, 0.9, 0.97}[r.IntN(5)]
			no[i] = 1 - yes[i]
		}
		c.Likely = [][]float64{yes, no}
		m.Checks = append(m.Checks, c)
	}
	return m
}

// bruteRepair tries every order and every place to give up.
func bruteRepair(m *Model, b Belief, open Set) float64 {
	best := m.Unfound
	var try func(order []int, open Set, spent, left float64)
	try = func(order []int, open Set, spent, left float64) {
		best = min(best, spent+left*m.Unfound)
		for i := range m.Causes {
			if slices.Contains(order, i) {
				continue
			}
			c := left * (m.Causes[i].Cost + m.opening(m.Causes[i].Opens, open))
			try(append(slices.Clone(order), i), open|m.Causes[i].Opens, spent+c, left-b[i])
		}
	}
	try(nil, open, 0, 1)
	return best
}

// bruteBest is the least expected cost of any plan at all: any check or any
// putting right at any time, with what was seen taken into account.
func bruteBest(m *Model, b Belief, open Set, done, fixed uint) float64 {
	best := m.Unfound
	for k := range m.Checks {
		if done&(1<<k) != 0 {
			continue
		}
		c := m.takes(k, open)
		for o := range m.Checks[k].Likely {
			next, chance := m.after(b, k, o)
			c += chance * bruteBest(m, next, open|m.Checks[k].Opens, done|1<<k, fixed)
		}
		best = min(best, c)
	}
	for i := range m.Causes {
		if fixed&(1<<i) != 0 {
			continue
		}
		c := m.Causes[i].Cost + m.opening(m.Causes[i].Opens, open)
		if left := 1 - b[i]; left > 1e-9 {
			next := slices.Clone(b)
			next[i] = 0
			c += left * bruteBest(m, next.scaled(), open|m.Causes[i].Opens, done, fixed|1<<i)
		}
		best = min(best, c)
	}
	return best
}

// planned is the expected cost of doing what Next says until it ends, and then
// putting right in order.
func planned(m *Model, s State) float64 {
	verdict, list := m.Next(s)
	if verdict != GoOn {
		return m.Repair(s.Belief, s.Open)
	}
	k := list[0].Check
	c := m.takes(k, s.Open)
	for o := range m.Checks[k].Likely {
		_, chance := m.after(s.Belief, k, o)
		c += chance * planned(m, m.Made(s, k, o))
	}
	return c
}

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance*max(1, math.Abs(b)) }
