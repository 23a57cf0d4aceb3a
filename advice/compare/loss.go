package compare

import (
	"math"
	"slices"

	"dropwalk/advice/power"
	"dropwalk/advice/stats"
)

// losses are the changes between neighbouring stations that were read from the
// open air, each the difference of two pairs; a pair that was read across the
// stretch itself stands in where it says more.
func losses(pairs []effect, first *block) []effect {
	var out []effect
	reached := walk(pairs, first)
	for i, e := range reached {
		stretch := *e
		if i > 0 {
			stretch = less(e, reached[i-1])
		}
		for k := range pairs {
			if pairs[k].span == stretch.span && pairs[k].total().SE < stretch.total().SE {
				stretch = pairs[k]
			}
		}
		out = append(out, stretch)
	}
	return out
}

// walk are the pairs from the open air, in the order of the path.
func walk(pairs []effect, first *block) []*effect {
	var out []*effect
	for i := range pairs {
		if first.sheet.Index(pairs[i].from) == 0 {
			out = append(out, &pairs[i])
		}
	}
	slices.SortStableFunc(out, func(a, b *effect) int { return first.sheet.Index(a.to) - first.sheet.Index(b.to) })
	return out
}

// less is the change beyond that of a shorter pair. What the two share cancels;
// scatter of runs and of refitting, which may come from either, adds up.
func less(long, short *effect) effect {
	e := *long
	e.from = short.to
	e.value, e.heads = long.value-short.value, long.heads-short.heads
	e.before, e.after = long.before-short.before, long.after-short.after
	e.runs = slices.Concat(long.runs, short.runs)
	e.sd = math.Hypot(long.sd, short.sd)
	e.refit.SD = math.Hypot(long.refit.SD, short.refit.SD)
	v, freedom := stats.Combined(long.blocks, short.blocks)
	e.blocks = stats.Part{Variance: v, Freedom: freedom}
	e.fixed, e.gauges = long.fixed+short.fixed, long.gauges || short.gauges
	e.causes = slices.Clone(long.causes)
	for _, c := range short.causes {
		e.add(c.name, c.block, -c.pa)
	}
	e.drift, e.made = nil, true
	return e
}

// gain is what the change of the whole path is worth in power, in %, with its 95 %
// interval: every change within its error with every exponent within its band.
func gain(e *effect, b *block) (*Estimate, string) {
	r := b.car.Engine.Response()
	if !r.Known {
		return nil, r.Note
	}
	change := e.total()
	open, before := b.car.Air.Pressure, e.before-head(e, b)
	if g := b.car.Engine.Gain(open, before, before+change.Value); !g.Known {
		return nil, g.Note
	}
	var all []float64
	var off [gainSteps]float64 // of the change, in standard errors
	for i := range gainSteps / 2 {
		off[i] = stats.TQuantile(middle(i), change.Freedom)
		off[gainSteps-1-i] = -off[i]
	}
	for i := range gainSteps {
		at := open - before - change.Value - change.SE*off[i]
		for k := range gainSteps {
			all = append(all, 100*(power.PressureFactor(open-before, max(at, 1), r.Exponent.At(middle(k)))-1))
		}
	}
	slices.Sort(all)
	tail := int(math.Round((1 - intervalLevel) / 2 * float64(len(all))))
	mid := 100 * (power.PressureFactor(open-before, open-before-change.Value, r.Exponent.Median) - 1)
	return &Estimate{tidy(mid), tidy(min(mid, all[tail])), tidy(max(mid, all[len(all)-1-tail]))}, r.Note
}

// gainSteps is the number of equally likely values that stand for a distribution.
const gainSteps = 41

func middle(i int) float64 { return (float64(i) + 0.5) / gainSteps }

// head is the velocity head in a reading, which is no loss.
func head(e *effect, b *block) float64 {
	return b.car.Stations[b.car.Index(e.to)].Shown() - b.car.Stations[b.car.Index(e.from)].Shown()
}
