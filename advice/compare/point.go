package compare

import (
	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
)

// Point is the engine speed and the air to which readings of several sheets are
// brought, so that they compare.
type Point struct {
	rpm float64
	air sheet.Air
}

// PointOf is the reference point of a sheet.
func PointOf(s *sheet.Sheet) Point { return Point{model.New(s).RPM, s.ReferenceAir()} }

// Reference is the point as documents give it.
func (p Point) Reference(s *sheet.Sheet) Reference {
	var ran float64
	c := p.block(0, s, &ran).car
	return Reference{tidy(c.RPM), tidy(c.Density)}
}

// Pair is what one sheet says of two stations.
type Pair struct {
	From, To string
	Runs     []float64 // Pa at the point, one value a run; readings that don't speak for the mean are not among them
	Left     int       // readings that don't: off the scale, doubtful, unreadable
}

// Pairs are those that a sheet reads, brought to the point, in the order of the sheet.
func (p Point) Pairs(s *sheet.Sheet) []Pair {
	var ran float64
	b := p.block(0, s, &ran)
	var out []Pair
	for _, at := range b.spans() {
		doubtful, beyond := b.left(at)
		out = append(out, Pair{at.from, at.to, valuesOf(b.runs(at)), doubtful + beyond})
	}
	return out
}
