package practice

import "math"

// Fault is what is wrong with one component of a car.
type Fault string

// Faults of components. Sound is none.
const (
	Sound          Fault = ""
	DirtyFilter    Fault = "dirty filter"
	CrushedDuct    Fault = "crushed duct"
	CollapsingDuct Fault = "collapsing duct"
	SmallMouth     Fault = "undersized mouth"
	BlockedScreen  Fault = "blocked screen"
	SharpExit      Fault = "sharp exit"
	NarrowedTube   Fault = "narrowed tube"
	EntryAtWall    Fault = "entry against a wall"
)

// Faults lists them all, without Sound.
func Faults() []Fault {
	return []Fault{DirtyFilter, CrushedDuct, CollapsingDuct, SmallMouth, BlockedScreen, SharpExit, NarrowedTube, EntryAtWall}
}

// faultWeights are shares of cars by first fault, Sound last: our choice, no source.
var faultWeights = []float64{17, 12, 7, 13, 6, 9, 9, 5, 22}

// drawFaults gives none, one or, in a car in ten, two.
func drawFaults(d dice, weights []float64) []Fault {
	all := append(Faults(), Sound)
	first := all[d.pick(weights...)]
	if first == Sound {
		return nil
	}
	faults := []Fault{first}
	if second := all[d.pick(weights...)]; d.chance(0.1) && second != Sound && second != first {
		faults = append(faults, second)
	}
	return faults
}

// kindOf is the kind of component that a fault sits in.
func (f Fault) kindOf() string {
	switch f {
	case DirtyFilter:
		return filter
	case SmallMouth:
		return mouth
	case BlockedScreen:
		return screen
	case SharpExit:
		return boxExit
	case EntryAtWall:
		return boxEntry
	}
	return duct
}

// sits tells whether the fault belongs in c.
func (f Fault) sits(c *Component) bool {
	return c.Kind == f.kindOf() && (f.kindOf() != duct || c.clean == (f == NarrowedTube))
}

// afflict puts each fault into one component that it fits and that is sound.
func afflict(d dice, path []Component, faults []Fault) {
	for _, f := range faults {
		var fit []int
		for i := range path {
			if f.sits(&path[i]) && path[i].Fault == Sound {
				fit = append(fit, i)
			}
		}
		if len(fit) == 0 {
			continue
		}
		c := &path[fit[d.IntN(len(fit))]]
		c.Fault = f
		c.spoil(d)
	}
}

// spoil changes what a fault changes in shape. How much it costs follows from
// the laws of loss.
func (c *Component) spoil(d dice) {
	switch c.Fault {
	case CrushedDuct, NarrowedTube:
		c.narrowing = d.between(0.46, 0.70)
	case CollapsingDuct:
		c.narrowing = d.between(0.48, 0.70)
	case SmallMouth:
		c.shrink(d.between(0.66, 0.82))
		c.Edge, c.EdgeRadius = [...]string{protruding, flush}[d.pick(0.6, 0.4)], 0
	case SharpExit:
		c.shrink(d.between(0.78, 0.92))
		c.Edge, c.EdgeRadius = [...]string{protruding, flush}[d.pick(0.7, 0.3)], 0
	}
	if c.Fault == NarrowedTube {
		c.Surface = ribbed
	}
}

func (c *Component) shrink(by float64) {
	c.Bore *= by
	c.Width *= by
	c.Height *= by
}

// throat is the loss coefficient, on the full passage, of a narrow place that
// leaves that share of the area: sudden enlargement from a jet contracted after
// Weisbach (0.63 + 0.37 r^3, from memory).
func throat(share float64) float64 {
	jet := share * (0.63 + 0.37*math.Pow(share, 3))
	return (1/jet - 1) * (1/jet - 1)
}
