package model

import (
	"math"

	"dropwalk/advice/duct"
	"dropwalk/advice/infer"
	"dropwalk/advice/sheet"
)

// spoiled holds, by kind, the chance that a component is crushed, blocked,
// collapsed or dirty: about every second car that somebody bothers to test has
// such a one (common practice, no source).
var spoiled = map[string]float64{
	"mouth": 0.08, "duct": 0.10, "box-entry": 0.07, "filter": 0.18, "box-exit": 0.07,
	"meter": 0.015, "resonator": 0.06, "screen": 0.12, "throttle": 0.015, "other": 0.08,
}

const (
	// spoiledBy is the loss in Pa that a spoilt component usually has too much,
	// two and a half inches of water, with its log SD (common practice, no source).
	spoiledBy   = 620.0
	spoiledSD   = 0.8
	leastMedian = 1.0 // Pa
	// usualOpen is the open share of a screen that nobody described (common
	// practice, no source).
	usualOpen = 0.65
	// wellMade is the chance that an opening of which nobody described the edge is
	// rounded or flared after all (common practice, no source).
	wellMade   = 0.25
	wellMadeSD = 0.6
	// common is the log SD of a factor that all handbook losses of one car share:
	// fittings closer than five bores disturb each other, so that sums of handbook
	// values are good to 20 to 30 % only (from memory, medium confidence).
	common = 0.15
	// A clean element usually costs about an inch of water (common practice); it
	// counts as one more opinion beside the handbook's.
	usualFilter, usualFilterSD = 249.0, 0.5
)

func (c *Car) setPieces() {
	gas := c.Air.Gas()
	before := 0.0
	for i, p := range c.Sheet.Path {
		q := pieceOf(p)
		q.Before = before
		l := c.expect(i, q, duct.Air(gas))
		c.Pieces = append(c.Pieces, c.piece(i, l, c.blocked(q, duct.Air(gas))))
		before = boreAfter(p, before)
	}
}

// expect is the handbook's loss of component i. Where its bore is not known but
// another one's is, that one stands in: within one car bores were made for each
// other. A screen is put where the passage is wide, a filter has no bore.
func (c *Car) expect(i int, q duct.Piece, gas duct.Air) duct.Loss {
	p := c.Sheet.Path[i]
	if _, _, known := passage(p); known || c.pace > 0 || p.Kind == "screen" || p.Kind == "filter" {
		return duct.Handbook(q, c.Flow, gas)
	}
	area, sd := c.area(i)
	q.Diameter = math.Sqrt(4 * area / math.Pi)
	q.Before = 0 // a step between a guess and a bore says nothing
	l := duct.Handbook(q, c.Flow, gas)
	l.Known, l.LogSD = false, math.Hypot(l.LogSD, 2*sd)
	return l
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

// blocked is what a screen loses when leaves and insects cover half of its
// openings, by the same handbook; 0 for other kinds.
func (c *Car) blocked(q duct.Piece, gas duct.Air) float64 {
	if q.Kind != "screen" {
		return 0
	}
	if q.OpenArea <= 0 || q.OpenArea >= 1 {
		q.OpenArea = usualOpen
	}
	q.OpenArea /= 2
	return duct.Handbook(q, c.Flow, gas).MedianPa
}

func (c *Car) piece(i int, l duct.Loss, blocked float64) Piece {
	p := c.Sheet.Path[i]
	out := Piece{Name: p.Name, Kind: p.Kind, Known: l.Known, Fixed: l.Fixed, Effort: p.Effort}
	if p.Fixed != nil {
		out.Fixed = *p.Fixed
	}
	median, sd := max(l.MedianPa, leastMedian), min(max(l.LogSD, 0.05), 2)
	switch p.Kind {
	default:
		if !l.Known {
			sd = math.Sqrt(max(sd*sd-4*square(c.pace), 0.0025))
		}
	case "filter":
		out.Steady = true
		a, b := 1/square(sd), 1/square(usualFilterSD)
		median = math.Exp((a*math.Log(median) + b*math.Log(usualFilter)) / (a + b))
	}
	out.Median, out.LogSD, out.BookSD = median, sd, sd
	spoilt := max(median+spoiledBy, blocked)
	out.Group = GroupOf(p, l.Known)
	if c.priors != nil {
		out.Median, out.LogSD = c.priors.piece(out.Group, median, sd)
	}
	out.Best = min(l.Best, out.Median)
	out.States = states(p, out, spoilt, c.priors.spoilt(p.Kind))
	if !l.Known {
		out.Doubt = c.doubt(i, sd)
	}
	return out
}

// doubt is the share of component i's handbook log variance, sd squared, that
// comes from a size nobody gave, what the whole car shares left out: of a filter the
// face, whose absence widens 0.45 to 0.65 (package duct), else the bore.
func (c *Car) doubt(i int, sd float64) float64 {
	p := c.Sheet.Path[i]
	if p.Kind == "filter" {
		return 1 - square(0.45/0.65)
	}
	bore := c.ownSpeedSD()
	if c.pace == 0 && p.Kind != "screen" {
		_, bore = c.area(i)
	}
	return min(1, 4*square(bore)/square(sd))
}

// Spoilt is the number of the spoilt state among the States of a piece.
const Spoilt = 0

// states are what a component can be: as the handbook has it, better made than
// described, spoilt.
func states(p sheet.Component, q Piece, spoilt, bad float64) infer.Piece {
	out := infer.Piece{{Share: bad, Median: spoilt, LogSD: spoiledSD}}
	left := 1 - bad
	if p.Edge == "" && (p.Kind == "mouth" || p.Kind == "box-exit" || p.Kind == "box-entry") {
		out = append(out, infer.State{Share: left * wellMade, Median: max(2*q.Best, leastMedian), LogSD: wellMadeSD})
		left *= 1 - wellMade
	}
	if p.Kind == "resonator" {
		// A side branch costs next to nothing, a chamber in the way up to a whole
		// velocity head; seen from outside they look alike (common practice, no
		// source).
		out = append(out, infer.State{Share: left / 2, Median: max(q.Best, leastMedian), LogSD: wellMadeSD})
		left /= 2
	}
	return append(out, infer.State{Share: left, Median: q.Median, LogSD: q.LogSD})
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

// HandbookSD is the log SD of what the handbook expects of component i, the
// flow and what all losses share included.
func (c *Car) HandbookSD(i int) float64 {
	v := square(c.Pieces[i].LogSD) + square(common) + square(2*c.FlowSD)
	if !c.Pieces[i].Steady {
		v += square(2 * c.pace)
	}
	return math.Sqrt(v)
}
