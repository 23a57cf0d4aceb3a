package compare

import (
	"slices"
	"strings"

	"dropwalk/advice/infer"
	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
)

// block is one sheet at the common reference point.
type block struct {
	at    int // its place among the blocks
	sheet *sheet.Sheet
	car   *model.Car
	order map[int]float64 // place of each reading of the sheet among all runs of the test
}

// run is what one run says of a pair: the mean where it was read more than once.
// Readings of one run are no repeats: they share the run.
type run struct {
	at      float64 // its place among all runs of the test
	value   float64 // Pa at the reference point
	numbers []int   // of its readings in car.Readings
}

// newBlocks brings all sheets to the reference point of the first. Runs are counted
// through from the first sheet to the last: what drifts goes on drifting.
func newBlocks(sheets []*sheet.Sheet) []block {
	point := PointOf(sheets[0])
	var blocks []block
	ran := 0.0
	for i, s := range sheets {
		blocks = append(blocks, point.block(i, s, &ran))
	}
	return blocks
}

// block is a sheet at this point; ran counts the runs before it and goes on counting.
func (p Point) block(at int, s *sheet.Sheet, ran *float64) block {
	same := *s
	same.Reference = sheet.Reference{RPM: p.rpm, Air: p.air}
	b := block{at: at, sheet: &same, car: model.New(&same), order: map[int]float64{}}
	seen := map[int]float64{}
	for k, r := range s.Readings {
		place, old := seen[r.Run]
		if !old || r.Run == 0 {
			*ran++
			place = *ran
			seen[r.Run] = place
		}
		b.order[k] = place
	}
	return b
}

// span is a pair of stations by name.
type span struct{ from, to string }

// spans are the pairs that a block read, in the order of its sheet.
func (b *block) spans() []span {
	var out []span
	for _, r := range b.sheet.Readings {
		if p := (span{r.From, r.To}); !slices.Contains(out, p) {
			out = append(out, p)
		}
	}
	return out
}

// runs are those that read a pair and speak for its mean: readings off the scale and
// doubtful ones don't.
func (b *block) runs(p span) []run {
	var out []run
	at := map[float64]int{}
	for i, r := range b.car.Readings {
		in := b.sheet.Readings[r.At]
		if in.From != p.from || in.To != p.to || r.Bound != infer.Value || in.Doubtful != "" {
			continue
		}
		k, old := at[b.order[r.At]]
		if !old {
			k = len(out)
			at[b.order[r.At]] = k
			out = append(out, run{at: b.order[r.At]})
		}
		n := float64(len(out[k].numbers))
		out[k].value = (out[k].value*n + r.Value) / (n + 1)
		out[k].numbers = append(out[k].numbers, i)
	}
	return out
}

// left tells how many readings of a pair don't speak for its mean.
func (b *block) left(p span) (doubtful, beyond int) {
	for _, r := range b.sheet.Readings {
		switch {
		case r.From != p.from || r.To != p.to:
		case r.Doubtful != "":
			doubtful++
		default:
			beyond++
		}
	}
	for _, r := range b.runs(p) {
		beyond -= len(r.numbers)
	}
	return doubtful, beyond
}

// first is the first reading of a run, as the sheet has it.
func (b *block) first(r run) *sheet.Reading {
	return &b.sheet.Readings[b.car.Readings[r.numbers[0]].At]
}

// kind of the component just ahead of a station.
func (b *block) kind(station string) string {
	if c := b.sheet.ComponentByName(station); c != nil {
		return c.Kind
	}
	return station
}

// pieces are the components between two stations.
func (b *block) pieces(p span) []string {
	var out []string
	for _, c := range b.sheet.Path[b.sheet.Index(p.from):b.sheet.Index(p.to)] {
		out = append(out, c.Name)
	}
	return out
}

// describe is the block as the result names it.
func (b *block) describe() Block {
	var done []string
	for _, c := range b.sheet.Changes {
		text := c.What
		if c.Component != "" {
			text = c.Component + ": " + text
		}
		done = append(done, text)
	}
	return Block{b.sheet.Title, b.sheet.Car.Name, b.sheet.Date, strings.Join(done, "; ")}
}

// sameDay tells whether two blocks were measured on one day that both state.
func sameDay(a, b *block) bool { return a.sheet.Date != "" && a.sheet.Date == b.sheet.Date }

// sameGauge tells whether two sheets describe one gauge by this name.
func sameGauge(a, b *block, name string) bool {
	x, y := a.sheet.GaugeByName(name), b.sheet.GaugeByName(name)
	if x == nil || y == nil {
		return x == y
	}
	return x.Range.SI == y.Range.SI && x.Accuracy.SI == y.Accuracy.SI && slices.EqualFunc(x.Correction, y.Correction, func(p, q sheet.Correction) bool {
		return p.Shown.SI == q.Shown.SI && p.True.SI == q.True.SI
	})
}

// sameMouth tells whether the path begins at the same place of the car. What the wind
// does to a mouth goes with its place much more than with its shape.
func sameMouth(a, b *block) bool { return a.sheet.Path[0].Name == b.sheet.Path[0].Name }

// sameBore tells whether the air passes a station as fast in both blocks, as far as
// the sheets know.
func sameBore(a, b *block, station string) bool {
	p, q := a.sheet.Passage(station), b.sheet.Passage(station)
	if !p.Known || !q.Known {
		return true
	}
	return p.Still == q.Still && p.Share == q.Share && near(p.Area, q.Area)
}

// near leaves room for a bore that was measured twice, by half a per cent.
func near(a, b float64) bool { return a == b || a > 0 && b > 0 && max(a/b, b/a) < 1.01 }
