package class

import (
	"slices"

	"dropwalk/advice/compare"
	"dropwalk/advice/sheet"
)

// Gatherer takes the sheets of a class one by one.
type Gatherer struct {
	begun     bool
	point     compare.Point
	reference compare.Reference
	car       string
	spans     []*span
	groups    []string
	stations  []string // in the order of the path
}

// span is a pair of stations with what the groups read.
type span struct {
	from, to string
	runs     map[string][]float64 // by group, Pa
	sheets   map[string]int       // how many of each group read it
	left     map[string]int       // readings that don't speak for the mean
}

// Car is the name of the car so far, "" where no sheet names it.
func (g *Gatherer) Car() string { return g.car }

// Groups is how many groups have a sheet so far.
func (g *Gatherer) Groups() int { return len(g.groups) }

// Said is what one sheet says, little as that is.
type Said struct{ pairs []saidOf }

type saidOf struct {
	span *span
	runs []float64
	left int
}

// Take reads one sheet of the car. The first one sets the reference point, whether or
// not it is added.
func (g *Gatherer) Take(s *sheet.Sheet) Said {
	if !g.begun {
		g.begun, g.point = true, compare.PointOf(s)
		g.reference = g.point.Reference(s)
	}
	if g.car == "" {
		g.car = s.Car.Name
	}
	for _, name := range s.Stations() {
		if !slices.Contains(g.stations, name) {
			g.stations = append(g.stations, name)
		}
	}
	var said Said
	for _, p := range g.point.Pairs(s) {
		said.pairs = append(said.pairs, saidOf{g.span(p.From, p.To), p.Runs, p.Left})
	}
	return said
}

// Add counts what a sheet of a group says. A group with several sheets of the car has
// all its runs counted together.
func (g *Gatherer) Add(group string, said Said) {
	if !slices.Contains(g.groups, group) {
		g.groups = append(g.groups, group)
	}
	for _, p := range said.pairs {
		p.span.runs[group] = append(p.span.runs[group], p.runs...)
		p.span.left[group] += p.left
		if len(p.runs) > 0 {
			p.span.sheets[group]++
		}
	}
}

func (g *Gatherer) span(from, to string) *span {
	for _, s := range g.spans {
		if s.from == from && s.to == to {
			return s
		}
	}
	s := &span{from, to, map[string][]float64{}, map[string]int{}, map[string]int{}}
	g.spans = append(g.spans, s)
	return s
}

// readers are the groups that have runs of a pair, in the order of their names.
func (s *span) readers() []string {
	var list []string
	for name, runs := range s.runs {
		if len(runs) > 0 {
			list = append(list, name)
		}
	}
	slices.Sort(list)
	return list
}

// inOrder sorts pairs as the air passes them: by where they end, the longest first.
func (g *Gatherer) inOrder() []*span {
	at := func(name string) int { return slices.Index(g.stations, name) }
	list := slices.Clone(g.spans)
	slices.SortStableFunc(list, func(a, b *span) int {
		if d := at(a.to) - at(b.to); d != 0 {
			return d
		}
		return at(a.from) - at(b.from)
	})
	return list
}
