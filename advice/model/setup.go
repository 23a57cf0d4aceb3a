package model

import (
	"maps"
	"math"
	"slices"

	"dropwalk/advice/assessment"
	"dropwalk/advice/infer"
)

// This file asks whether a fault of the setup explains readings better than any
// car does: Bayes' rule over a short list of faults, each with the sizes that it
// takes. The evidence is that of the walk: neighbouring stations that were read
// from the open air, and what the handbook believes of the pieces between them.

// How often a visit has a fault of each kind that nobody noticed on the spot,
// shared out over stations (common practice, no source).
const (
	oftenLeak   = 0.05 // one tap leaks
	oftenSlack  = 0.03 // the pedal was not down on the runs of one tap
	oftenSwap   = 0.025
	oftenBurr   = 0.025
	oftenHose   = 0.05 // the hose leaks
	oftenLazy   = 0.02 // the pedal was not down on any run
	afterCheck  = 0.1  // what a passed leak check leaves of a leak
	unlikeBooks = 0.12 // share of pieces that are like no handbook entry, over and above the spoilt
	unlikeSD    = 0.9
)

// From these chances on a fault is named, which asks for a look that costs
// little, and is grave, which asks for new readings.
const (
	namedFrom = 0.3
	graveFrom = 0.8
)

// walk is what was read from the open air, in the order of the flow.
type walk struct {
	at       []int     // stations
	y, head  []float64 // Pa at the reference point, mean of the runs
	stretch  []*infer.Sum
	scale    [5]float64 // of what all handbook losses of one car share
	fast     [5]float64 // of the velocity heads then
	sets     [][]int    // readings
	checked  map[string]bool
	anywhere bool // some leak check was passed
}

// fiveScales and fiveWeights integrate over a normal variable (Gauss and
// Hermite; Abramowitz and Stegun 1964, table 25.10, for the standard normal).
var (
	fiveScales  = [5]float64{-2.8569700, -1.3556262, 0, 1.3556262, 2.8569700}
	fiveWeights = [5]float64{0.0112574, 0.2220759, 0.5333333, 0.2220759, 0.0112574}
)

func (c *Car) walk(n network) walk {
	order := n.outward()
	w := walk{checked: map[string]bool{}}
	top := 0.0
	for _, k := range order {
		w.at, w.y, w.head = append(w.at, n.to[k]), append(w.y, n.y[k]), append(w.head, n.head[k])
		w.sets = append(w.sets, n.sets[k])
		top = max(top, n.y[k])
	}
	from, before := 0, -1
	for _, k := range order {
		v := n.noise.At(k, k)
		if before >= 0 {
			v += n.noise.At(before, before) - 2*n.noise.At(before, k)
		}
		w.stretch = append(w.stretch, infer.NewSum(c.doubted(from, n.to[k]), max(2*top, 2000), math.Sqrt(max(v, 1))))
		from, before = n.to[k], k
	}
	for i, z := range fiveScales {
		moves := 2 * math.Hypot(c.FlowSD, c.pace)
		sd := math.Hypot(common, moves)
		w.scale[i], w.fast[i] = math.Exp(z*sd), math.Exp(z*moves*moves/sd)
	}
	w.takeChecks(c)
	return w
}

// outward are the sets that were read from the open air, in the order of the flow;
// of two gauges at one station the surer.
func (n network) outward() []int {
	at := map[int]int{}
	for k := range n.sets {
		if n.from[k] != 0 {
			continue
		}
		if other, seen := at[n.to[k]]; !seen || n.noise.At(k, k) < n.noise.At(other, other) {
			at[n.to[k]] = k
		}
	}
	var order []int
	for _, to := range slices.Sorted(maps.Keys(at)) {
		order = append(order, at[to])
	}
	return order
}

// doubted are the priors of some pieces with room for what no handbook knows.
func (c *Car) doubted(from, to int) []infer.Piece {
	var out []infer.Piece
	for _, p := range c.Pieces[from:to] {
		if !p.Known {
			out = append(out, p.States) // wide enough as it is
			continue
		}
		wide := infer.Piece{{Share: unlikeBooks, Median: p.Median, LogSD: max(unlikeSD, p.LogSD)}}
		for _, s := range p.States {
			s.Share *= 1 - unlikeBooks
			wide = append(wide, s)
		}
		out = append(out, wide)
	}
	return out
}

func (w *walk) takeChecks(c *Car) {
	for _, k := range c.Sheet.Checks {
		if lost, ok := leakLost(k); ok && -leakShare/2 <= lost && lost <= leakShare*1.001 {
			w.checked[k.At], w.anywhere = true, true
		}
	}
}

// evidence is the logarithm of the density of readings y, were they sound.
func (w *walk) evidence(y []float64) float64 {
	var parts [5]float64
	for i, scale := range w.scale {
		parts[i] = math.Log(fiveWeights[i]) - float64(len(y))*math.Log(scale)
		before, head := 0.0, 0.0
		for k := range y {
			loss := y[k] - before - w.fast[i]*(w.head[k]-head)
			parts[i] += w.stretch[k].LogDensity(loss / scale)
			before, head = y[k], w.head[k]
		}
	}
	return logSum(parts[:])
}

func logSum(x []float64) float64 {
	top := slices.Max(x)
	sum := 0.0
	for _, v := range x {
		sum += math.Exp(v - top)
	}
	return top + math.Log(sum)
}

// suspicion is one fault with the logarithm of its prior chance times the
// evidence for it.
type suspicion struct {
	kind  fault
	at    []int // stations, by their place in the walk
	weigh float64
}

type fault int

const (
	noFault fault = iota
	lowAt
	swapAt
	burrAt
	lowAll
)

// Shares of the true suction that a leak or a lazy pedal leaves, and shares of
// a velocity head that a burr adds.
var (
	lowShares  = []float64{0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.85}
	hoseShares = []float64{0.35, 0.45, 0.55, 0.65, 0.75, 0.85}
	burrHeads  = []float64{-0.9, -0.6, -0.3, 0.3, 0.6, 0.9}
)

// leak is how often a leak is to blame: what is left of it after a leak check
// that was passed.
func (w *walk) leak(often float64, checked bool) float64 {
	if checked {
		return often * afterCheck
	}
	return often
}

// suspicions are all faults, no fault first.
func (c *Car) suspicions(w *walk) []suspicion {
	out := []suspicion{{noFault, nil, math.Log(1-oftenLeak-oftenSlack-oftenSwap-oftenBurr-oftenHose-oftenLazy) + w.evidence(w.y)}}
	m := float64(len(w.at))
	for k, at := range w.at {
		if m == 1 {
			break // one station alone is every reading: see lowAll
		}
		often := (w.leak(oftenLeak, w.checked[c.Stations[at].Name]) + oftenSlack) / m
		out = append(out, w.suspect(lowAt, []int{k}, often, lowShares, func(y []float64, s float64) float64 {
			y[k] /= s
			return -math.Log(s)
		}))
		if k > 0 {
			out = append(out, w.suspect(swapAt, []int{k - 1, k}, oftenSwap/m, []float64{1}, func(y []float64, _ float64) float64 {
				y[k-1], y[k] = y[k], y[k-1]
				return 0
			}))
		}
		if !c.Stations[at].Still {
			out = append(out, w.suspect(burrAt, []int{k}, oftenBurr/m, burrHeads, func(y []float64, s float64) float64 {
				y[k] -= s * w.head[k]
				return 0
			}))
		}
	}
	often := w.leak(oftenHose, w.anywhere) + oftenLazy
	if m == 1 {
		often += w.leak(oftenLeak, w.anywhere) + oftenSlack
	}
	return append(out, w.suspect(lowAll, nil, often, hoseShares, func(y []float64, s float64) float64 {
		for k := range y {
			y[k] /= s
		}
		return -m * math.Log(s)
	}))
}

// suspect averages the evidence over the sizes that a fault can have. Undo takes
// the fault out of y and returns the logarithm of what that does to a density.
func (w *walk) suspect(kind fault, at []int, often float64, sizes []float64, undo func(y []float64, size float64) float64) suspicion {
	parts := make([]float64, len(sizes))
	for i, size := range sizes {
		y := slices.Clone(w.y)
		parts[i] = undo(y, size)
		parts[i] += w.evidence(y)
	}
	return suspicion{kind, at, math.Log(often/float64(len(sizes))) + logSum(parts)}
}

// checkSetup names the fault that explains the readings better than any car.
func (c *Car) checkSetup(n network) []Finding {
	w := c.walk(n)
	if len(w.at) == 0 {
		return nil
	}
	all := c.suspicions(&w)
	weights := make([]float64, len(all))
	best := 0
	for i, s := range all {
		weights[i] = s.weigh
		if i > 0 && (best == 0 || s.weigh > all[best].weigh) {
			best = i
		}
	}
	total := logSum(weights)
	chance := 1 - math.Exp(all[0].weigh-total)
	if best == 0 || chance < namedFrom {
		return nil
	}
	return c.accuse(&w, all[best], chance > graveFrom)
}

func (c *Car) accuse(w *walk, s suspicion, grave bool) []Finding {
	var runs []int
	var names []string
	for _, k := range s.at {
		runs = append(runs, c.runs(w.sets[k])...)
		names = append(names, c.Stations[w.at[k]].Name)
	}
	say := "look there before you change a part"
	if grave {
		say = "look there, then read again"
	}
	switch s.kind {
	case swapAt:
		return []Finding{finding(grave, assessment.Swapped, runs, "the readings at %s and %s would fit the path better the other way round: check whether the hoses or the lines on the sheet were swapped", names[0], names[1])}
	case burrAt:
		return []Finding{finding(grave, assessment.TapDoubtful, runs, "the reading at %s does not go well with the path and its neighbours; a burr or a jet at that tap would explain it: %s", names[0], say)}
	case lowAt:
		slack := finding(grave, assessment.NotFullLoad, runs, "the reading at %s is low for this path, its neighbours are not; a pedal that was not down on those runs would explain it", names[0])
		if w.checked[names[0]] {
			return []Finding{slack}
		}
		return []Finding{finding(grave, assessment.TapDoubtful, runs, "the reading at %s is low for this path, its neighbours are not; a leak or a kink at that tap would explain it: %s", names[0], say), slack}
	}
	for _, set := range w.sets {
		runs = append(runs, c.runs(set)...)
	}
	slack := finding(grave, assessment.NotFullLoad, runs, "every reading is low for this path; an engine that was not at full load would explain it, or a bore on the sheet that is smaller than the true one")
	if w.anywhere {
		return []Finding{slack}
	}
	return []Finding{finding(grave, assessment.Leak, runs, "every reading is low for this path; a leak or a kink in the hose would explain it: %s", say), slack}
}
