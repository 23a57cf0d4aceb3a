package model

import (
	"math"

	"dropwalk/advice/sheet"
)

// Group is pieces that are alike: one kind, and how it is made as far as that is
// known.
type Group struct {
	Kind string
	Form string // an edge, a surface, Unsized, or "" for all others of the kind
}

// Unsized is the form of pieces of which nobody gave the size that counts.
const Unsized = "no-sizes"

// GroupOf is the group of a component; sized where its bore, of a filter its face, is
// known.
func GroupOf(p sheet.Component, sized bool) Group {
	g := Group{Kind: p.Kind}
	switch {
	case !sized:
		g.Form = Unsized
	case p.Kind == sheet.Duct:
		g.Form = p.Surface
	case p.Kind == sheet.Mouth, p.Kind == sheet.BoxEntry, p.Kind == sheet.BoxExit:
		g.Form = p.Edge
	}
	return g
}

// Forms are the forms that pieces of a kind can have, "" left out.
func Forms(kind string) []string {
	switch kind {
	case sheet.Duct:
		return []string{sheet.Smooth, sheet.Ribbed, Unsized}
	case sheet.Mouth, sheet.BoxEntry, sheet.BoxExit:
		return []string{sheet.Protruding, sheet.Flush, sheet.Rounded, sheet.Bellmouth, Unsized}
	}
	return []string{Unsized}
}

// Priors are what is believed of the pieces of one workshop's cars before any
// reading, where that is more than the handbook says. What they leave out is as the
// handbook has it; a nil Priors leaves out everything.
type Priors struct {
	Cars    int // that they were learnt from
	Loss    map[Group]Belief
	Spoilt  map[string]float64 // chance that a piece of a kind is spoilt
	Scatter float64            // of runs over the usual one; 0: 1
}

// Belief is what cars tell of a group of pieces.
type Belief struct {
	Factor float64 // on the handbook's median; 0: 1
	Spread float64 // on the scatter of single pieces about it; 0: 1
	Weight float64 // of these cars against the handbook, 0 to 1: how well Factor is known
}

// Handbook scatter has two parts: what all like pieces of one workshop share, which
// its cars can tell, and what is each piece's own.
const (
	// sharedSD is the log SD of the shared part; within the handbook's 25 % for single
	// pieces (common practice, no source).
	sharedSD = 0.18
	// mostShared bounds it as a share of the handbook's variance.
	mostShared = 0.75
)

// Parts splits the handbook's log SD of a piece into the variance that like pieces of
// one workshop share and that of its own.
func Parts(sd float64) (shared, own float64) {
	shared = min(square(sharedSD), mostShared*square(sd))
	return shared, square(sd) - shared
}

// piece is the median and the log SD of a sound piece whose handbook values are
// given.
func (p *Priors) piece(g Group, median, sd float64) (float64, float64) {
	b, ok := p.Loss[g]
	if !ok {
		b, ok = p.Loss[Group{Kind: g.Kind}]
	}
	if !ok {
		return median, sd
	}
	shared, own := Parts(sd)
	return max(median*first(b.Factor, 1), leastMedian), math.Sqrt(square(first(b.Spread, 1))*own + (1-b.Weight)*shared)
}

// spoilt is the chance that a piece of a kind is spoilt.
func (p *Priors) spoilt(kind string) float64 {
	if p != nil {
		if v, ok := p.Spoilt[kind]; ok {
			return v
		}
	}
	return spoiled[kind]
}

// UsualSpoilt is the handbook's chance that a piece of a kind is spoilt.
func UsualSpoilt(kind string) float64 { return spoiled[kind] }

func (p *Priors) scatter() float64 { return first(p.Scatter, 1) }

func first(x, other float64) float64 {
	if x > 0 {
		return x
	}
	return other
}
