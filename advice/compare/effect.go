package compare

import (
	"math"

	"dropwalk/advice/model"
	"dropwalk/advice/stats"
)

// effect is a change between two stations with all that makes it uncertain.
type effect struct {
	span
	value  float64      // Pa, of the loss
	heads  float64      // velocity heads that were taken off, Pa
	before float64      // mean reading of the first blocks
	after  float64      // and of the changed one
	runs   []stats.Part // scatter of the runs in the mean
	weigh  []float64    // what each block counts for: -1/2, 1, -1/2
	counts []int
	values [][]float64 // of the runs of each block
	sd     float64     // scatter of one run
	refit  Refit       // of one block
	blocks stats.Part  // what refitting adds to the change
	fixed  float64     // variance of reading the scale and of the zeros
	causes []cause     // in the order in which they came up
	gauges bool        // not all runs were read with one gauge
	drift  *stats.Estimate
	made   bool // of two pairs, not read itself
}

// cause is what moves several runs together, and from which block on: where its
// reach ends, the same name is another cause.
type cause struct {
	name  string
	block int
	pa    float64 // of the change, for one standard deviation
}

func (e *effect) add(name string, block int, pa float64) {
	for i := range e.causes {
		if e.causes[i].name == name && e.causes[i].block == block {
			e.causes[i].pa += pa
			return
		}
	}
	e.causes = append(e.causes, cause{name, block, pa})
}

// measure works out the effect from the runs of each block.
func measure(p span, blocks []block, runs [][]run) (effect, error) {
	e := effect{span: p}
	for _, r := range runs {
		e.counts, e.values = append(e.counts, len(r)), append(e.values, valuesOf(r))
	}
	weights, err := e.fit(runs)
	if err != nil {
		return e, err
	}
	for i := range blocks {
		total := 0.0
		for k, r := range runs[i] {
			total += weights[i][k]
			e.take(&blocks[i], blocks, r, weights[i][k])
		}
		e.weigh = append(e.weigh, total)
		mean := stats.Mean(valuesOf(runs[i]))
		if i == 1 {
			e.after = mean
		} else {
			e.before += mean / float64(len(blocks)-1)
		}
		e.takeHeads(&blocks[i], blocks, total)
		e.takeScale(&blocks[i], runs[i], total)
	}
	e.value -= e.heads
	e.gauges = otherGauges(blocks, runs)
	return e, nil
}

// fit is Welch's difference for two blocks, least squares with a term for drift for
// three. It returns what each run counts for.
func (e *effect) fit(runs [][]run) ([][]float64, error) {
	if len(runs) == 2 {
		a, b := valuesOf(runs[0]), valuesOf(runs[1])
		e.value = stats.Mean(b) - stats.Mean(a)
		na, nb := float64(len(a)), float64(len(b))
		e.runs = []stats.Part{{Variance: stats.Variance(a) / na, Freedom: na - 1}, {Variance: stats.Variance(b) / nb, Freedom: nb - 1}}
		e.sd = math.Sqrt((stats.Variance(a)*(na-1) + stats.Variance(b)*(nb-1)) / (na + nb - 2))
		return [][]float64{repeat(-1/na, len(a)), repeat(1/nb, len(b))}, nil
	}
	var design [][]float64
	var y []float64
	for i, block := range runs {
		fitted := 0.0
		if i == 1 {
			fitted = 1
		}
		for _, r := range block {
			design, y = append(design, []float64{1, fitted, r.at}), append(y, r.value)
		}
	}
	fit, err := stats.LeastSquares(design, y)
	if err != nil {
		return nil, err
	}
	change, drift := fit.Estimate(1), fit.Estimate(2)
	e.value, e.sd, e.drift = change.Value, fit.Residual, &drift
	e.runs = []stats.Part{{Variance: change.SE * change.SE, Freedom: change.Freedom}}
	weights, out := fit.Weights(1), [][]float64{}
	for _, block := range runs {
		out, weights = append(out, weights[:len(block)]), weights[len(block):]
	}
	return out, nil
}

func valuesOf(runs []run) []float64 {
	var out []float64
	for _, r := range runs {
		out = append(out, r.value)
	}
	return out
}

func repeat(v float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

// take adds what one run shares with others to the causes of the change.
func (e *effect) take(b *block, blocks []block, r run, weight float64) {
	for _, i := range r.numbers {
		gauge := b.sheet.Readings[b.car.Readings[i].At].Gauge
		for _, c := range b.car.Causes(i) {
			e.add(c.Name, reach(c, gauge, b, blocks), weight*c.Pa/float64(len(r.numbers)))
		}
	}
}

// reach is the first block that has a cause in common with b, so that it cancels
// between them.
func reach(c model.Cause, gauge string, b *block, blocks []block) int {
	for i := range blocks {
		a := &blocks[i]
		same := true
		switch c.Of {
		case model.Day:
			same = sameDay(a, b)
		case model.Scale:
			same = sameGauge(a, b, gauge)
		case model.Zero:
			same = sameDay(a, b) && sameGauge(a, b, gauge)
		case model.Mouth:
			same = sameMouth(a, b)
		case model.Port:
			// Where nobody said where the port stood, it need not be the same place.
			same = sameDay(a, b) || c.Name != unknownPort && c.Name != unknownPort+"unknown"
		case model.Head:
			same = sameBore(a, b, c.Name[len(headName):])
		}
		if same {
			return a.at
		}
	}
	return b.at
}

// Names of causes, as package model gives them.
const (
	unknownPort = "port in the wind "
	headName    = "head "
)

// takeHeads takes off what other bores at the taps add to the reading of a block
// over the first one.
func (e *effect) takeHeads(b *block, blocks []block, weight float64) {
	for _, end := range []struct {
		station string
		sign    float64
	}{{e.to, 1}, {e.from, -1}} {
		if !sameBore(&blocks[0], b, end.station) {
			now, was := b.car.Stations[b.car.Index(end.station)].Shown(), blocks[0].car.Stations[blocks[0].car.Index(end.station)].Shown()
			e.heads += weight * end.sign * (now - was)
		}
	}
}

// Shares of what a sheet may leave open about a gauge (common practice, no
// source): the same as package model takes.
const (
	usualRange     = 6227. // Pa, 25 inH2O
	usualDivisions = 50.
)

// takeScale adds what no repeat shows: a scale is read to its divisions, so runs
// that scatter by less than one all round to the same side, and the zero was read
// once or twice for all of them.
func (e *effect) takeScale(b *block, runs []run, weight float64) {
	phi := b.car.Readings[runs[0].numbers[0]].Phi
	division := divisionOf(b, b.first(runs[0]).Gauge)
	// What rounding leaves in the mean of runs that scatter by sd (W. R. Bennett 1948,
	// from memory): its first harmonic.
	blur := math.Exp(-square(2 * math.Pi * e.sd * phi / division))
	v := square(division) / 12 * blur
	for _, r := range runs {
		if in := b.first(r); in.ZeroBefore.Known() && in.ZeroAfter.Known() {
			v += square(division/6) + square(in.ZeroAfter.SI-in.ZeroBefore.SI)/12
			break
		}
	}
	e.fixed += square(weight/phi) * v
}

// divisionOf is the division of a gauge, Pa.
func divisionOf(b *block, name string) float64 {
	g := b.sheet.GaugeByName(name)
	switch {
	case g == nil:
		return usualRange / usualDivisions
	case g.Division.Known():
		return g.Division.SI
	case g.Range.Known():
		return g.Range.SI / usualDivisions
	}
	return usualRange / usualDivisions
}

// otherGauges tells whether the blocks were read with gauges that are not the same.
func otherGauges(blocks []block, runs [][]run) bool {
	first := blocks[0].first(runs[0][0]).Gauge
	for i := range blocks {
		for _, r := range runs[i] {
			name := blocks[i].first(r).Gauge
			if name != first || !sameGauge(&blocks[0], &blocks[i], name) {
				return true
			}
		}
	}
	return false
}

// refitted adds what taking the part off and fitting it again does to each block.
func (e *effect) refitted(r Refit, freedom float64) {
	e.refit = r
	for _, w := range e.weigh {
		e.blocks.Variance += square(w * r.SD)
	}
	e.blocks.Freedom = freedom
}

// shared is the variance of what blocks have in common and of what doesn't cancel.
func (e *effect) shared() float64 {
	v := e.fixed
	for _, c := range e.causes {
		v += square(c.pa)
	}
	return v
}

// total is the change with its whole error.
func (e *effect) total() stats.Estimate {
	parts := append([]stats.Part{e.blocks, {Variance: e.shared(), Freedom: stats.Endless}}, e.runs...)
	v, freedom := stats.Combined(parts...)
	return stats.Estimate{Value: e.value, SE: math.Sqrt(v), Freedom: freedom}
}

func square(x float64) float64 { return x * x }
