package compare

import (
	"math"
	"sort"

	"dropwalk/advice/stats"
)

// How often an interval leaves nought out where nothing changed and the scatter from
// fitting to fitting is taken half as large as it is: where that is half of what one
// run scatters, and where it is as large. Simulated, 4-4-4 runs
// (TestRefitUnderstatedByHalf); with the right figure it is one in twenty.
const (
	UnderstatedLow  = 0.11
	UnderstatedHigh = 0.19
)

// What a change must reach to be worth having where the user doesn't say (common
// practice, no source).
const (
	worthShare = 0.05            // of the reading before
	worthLeast = 0.3 * 249.08891 // Pa
)

// worth of a pair or a stretch that loses so much before the change.
func (o Options) worth(before float64) float64 {
	switch {
	case o.Worth > 0:
		return o.Worth
	case o.WorthShare > 0:
		return o.WorthShare * math.Abs(before)
	}
	return max(worthShare*math.Abs(before), worthLeast)
}

// judge makes the result of an effect.
func (e *effect) judge(worth float64) Change {
	all := e.total()
	low, high := all.Interval(intervalLevel)
	c := Change{
		From: e.from, To: e.to, Change: Estimate{tidy(all.Value), tidy(low), tidy(high)},
		Measurable: low > 0 || high < 0, BeyondWorth: low > worth || high < -worth,
		Before: tidy(e.before), After: tidy(e.after), Heads: tidy(e.heads), Worth: tidy(worth),
		Error: tidy(all.SE), Scatter: tidy(e.sd), Refit: Refit{tidy(e.refit.SD), e.refit.From},
		Shared: tidy(math.Sqrt(e.shared())), Runs: e.counts, Pieces: []string{}, Values: e.values,
	}
	if all.Freedom < mostFreedom {
		c.Freedom = new(tidy(all.Freedom))
	}
	if e.drift != nil {
		low, high := e.drift.Interval(intervalLevel)
		c.Drift = &Estimate{tidy(e.drift.Value), tidy(low), tidy(high)}
	}
	switch inLow, inHigh := all.Interval(1 - 2*stats.Size); {
	case inLow > -worth && inHigh < worth:
		c.Verdict = NoChange
	case high < 0:
		c.Verdict = Better
	case low > 0:
		c.Verdict = Worse
	default:
		c.Verdict = CannotTell
		c.needs(e, worth)
	}
	return c
}

// mostFreedom is where a freedom counts as endless.
const mostFreedom = 1e6

// needs finds out what would settle a change that can't be told: further runs in
// each block, or else further rounds of before and after.
func (c *Change) needs(e *effect, worth float64) {
	if n, ok := least(1, mostFurtherRuns, func(n int) bool { return e.settles(n, 1, worth) }); ok {
		c.Cure, c.RunsNeeded = cureRuns, &n
		return
	}
	if r, ok := least(2, mostRounds, func(r int) bool { return e.settles(0, r, worth) }); ok {
		c.Cure, c.RefitsNeeded = cureRefits, new(r-1)
		return
	}
	c.Cure = cureNone
}

// least is the least number from low to high that will do, where every larger one
// does too; false where none does.
func least(low, high int, does func(int) bool) (int, bool) {
	if !does(high) {
		return 0, false
	}
	n := sort.Search(high-low, func(i int) bool { return does(low + i) })
	return low + n, true
}

// Where the search ends. A page says so where the figure is more than a test on a car
// can be.
const (
	mostFurtherRuns = 100
	mostRounds      = 20
)

// settles tells whether a test with so many further runs in each block, done so
// many times over, would see a change that is worth having, and would show that
// there is none, each with a chance of stats.Power or more. Scatter of the runs and
// of refitting falls with every round; what gauges are off does not.
func (e *effect) settles(further, rounds int, worth float64) bool {
	n := float64(rounds)
	parts := []stats.Part{{Variance: e.blocks.Variance / n, Freedom: e.blocks.Freedom}, {Variance: e.shared(), Freedom: stats.Endless}}
	for _, p := range e.longer(further) {
		parts = append(parts, stats.Part{Variance: p.Variance / n, Freedom: p.Freedom * n})
	}
	v, freedom := stats.Combined(parts...)
	size := worth / math.Sqrt(v)
	return stats.TPower(freedom, size, stats.Size) >= stats.Power && stats.EquivalencePower(freedom, 0, size, stats.Size) >= stats.Power
}

// longer is the scatter of the runs in the mean with further runs in each block:
// it falls as the blocks grow, and its freedom grows with them.
func (e *effect) longer(further int) []stats.Part {
	var out []stats.Part
	for i, p := range e.runs {
		was, is, freedom := 0.0, 0.0, p.Freedom
		for k, n := range e.counts {
			if len(e.runs) == len(e.counts) && k != i {
				continue // each block has a part of its own
			}
			was += square(e.weigh[k]) / float64(n)
			is += square(e.weigh[k]) / float64(n+further)
			freedom += float64(further)
		}
		out = append(out, stats.Part{Variance: p.Variance * is / was, Freedom: freedom})
	}
	return out
}

// tidy keeps six digits: more would only show the last bits of the machine.
func tidy(x float64) float64 { return stats.Digits(x, 6) }
