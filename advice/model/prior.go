package model

import (
	"math"

	"dropwalk/advice/duct"
	"dropwalk/advice/infer"
	"dropwalk/advice/sheet"
)

// spoiled holds, by kind, the chance that a component is crushed, blocked,
// collapsed or dirty (common practice, no source).
var spoiled = map[string]float64{
	"mouth": 0.05, "duct": 0.06, "box-entry": 0.04, "filter": 0.10, "box-exit": 0.04,
	"meter": 0.03, "resonator": 0.05, "screen": 0.07, "throttle": 0.02, "other": 0.06,
}

const (
	// spoiledBy is the loss in Pa that a spoilt component usually has too much,
	// two and a half inches of water, with its log SD (common practice, no source).
	spoiledBy   = 620.0
	spoiledSD   = 0.6
	leastMedian = 1.0 // Pa
)

func (c *Car) setPieces() {
	gas := c.Air.Gas()
	before := 0.0
	for i, p := range c.Sheet.Path {
		q := pieceOf(p)
		q.Before = before
		l := duct.Handbook(q, c.Flow, duct.Air(gas))
		c.Pieces = append(c.Pieces, c.piece(i, l))
		before = boreAfter(p, before)
	}
}

// boreAfter is the bore in which the air leaves a component moving, 0 where it
// comes to rest or nobody knows.
func boreAfter(p sheet.Component, before float64) float64 {
	if stillAfter(p.Kind) {
		return 0
	}
	if a, _, ok := passage(p); ok {
		return math.Sqrt(4 * a / math.Pi)
	}
	return 0
}

func (c *Car) piece(i int, l duct.Loss) Piece {
	p := c.Sheet.Path[i]
	out := Piece{Name: p.Name, Kind: p.Kind, Known: l.Known, Fixed: l.Fixed || p.Kind == "meter", Effort: p.Effort}
	if p.Fixed != nil {
		out.Fixed = *p.Fixed
	}
	median := max(l.MedianPa, leastMedian)
	out.Piece = infer.Piece{
		Median: median, LogSD: min(max(l.LogSD, 0.05), 2),
		Spoilt: spoiled[p.Kind], SpoiltMedian: median + spoiledBy, SpoiltLogSD: spoiledSD,
	}
	out.Best = min(l.Best, median)
	if !l.Known {
		out.Doubt = min(1, 4*square(usualSpeedSD)/square(out.LogSD))
	}
	return out
}

func pieceOf(p sheet.Component) duct.Piece {
	q := duct.Piece{
		Kind: p.Kind, Edge: p.Edge, Surface: p.Surface,
		Diameter: known(p.Diameter, 0), Width: known(p.Width, 0), Height: known(p.Height, 0),
		Length: known(p.Length, 0), Radius: known(p.Radius, 0), Face: known(p.Face, 0),
		OpenArea: known(p.OpenArea, 0), Share: known(p.Share, 0),
	}
	for _, b := range p.Bends {
		q.Bends = append(q.Bends, duct.Bending{Angle: known(b.Angle, 0), Radius: known(b.Radius, 0)})
	}
	return q
}
