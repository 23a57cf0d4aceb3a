package practice

import (
	"fmt"
	"slices"
)

// Kinds of component, as the sheet names them.
const (
	mouth     = "mouth"
	duct      = "duct"
	boxEntry  = "box-entry"
	filter    = "filter"
	boxExit   = "box-exit"
	meter     = "meter"
	resonator = "resonator"
	screen    = "screen"
	throttle  = "throttle"
)

// Taps and edges, as the sheet names them.
const (
	port, drill, noTap            = "port", "drill", "none"
	protruding, flush, rounded    = "protruding", "flush", "rounded"
	smooth, ribbed                = "smooth", "ribbed"
	shortest, longest             = 4, 10 // components of a path
	natural, turbo, blown, diesel = "natural", "turbo", "supercharged", "diesel"
)

// Bend is one bend of a duct: its angle in rad, its centre-line radius in m.
type Bend struct{ Angle, Radius float64 }

// Component is one true piece of a path. What stands in its fields is what
// somebody with calipers inside the part would find.
type Component struct {
	Name, Kind    string
	Bore          float64 // m, of the passage; of equal area where it is rectangular
	Width, Height float64 // m, of a rectangular passage, else 0
	Length        float64 // m
	Surface, Edge string
	EdgeRadius    float64 // m, of a rounded edge
	Bends         []Bend
	Face          float64 // m2, of a filter
	OpenArea      float64 // share, of a screen as made
	Share         float64 // of the flow
	Fixed         bool
	Effort        int
	Tap           string
	Fault         Fault

	clean     bool    // downstream of the filter
	law       law     // its loss
	best      float64 // loss of a well-made replacement at the reference point, nominal density, Pa
	profile   float64 // velocity-head factor at its tap
	tapError  float64 // of its tap, share of the velocity head
	narrowing float64 // share of its area left at a hidden narrow place; 1 for none
}

// still tells whether the air is at rest at the station after c.
func (c *Component) still() bool { return c.Kind == boxEntry || c.Kind == filter }

// tappable tells whether a gauge can be connected at the station after c.
func (c *Component) tappable() bool { return c.Tap != noTap }

// layOut draws the order of the path. Faults that need a component get one.
func layOut(d dice, e *Engine, faults []Fault) []Component {
	needs := func(f Fault) bool { return slices.Contains(faults, f) }
	kinds := dirtySide(d, needs(BlockedScreen), needs(CrushedDuct) || needs(CollapsingDuct))
	kinds = append(kinds, boxEntry, filter, boxExit)
	kinds = append(kinds, cleanSide(d, e, needs(NarrowedTube))...)
	kinds = trim(kinds)
	path := make([]Component, len(kinds))
	clean := false
	for i, kind := range kinds {
		path[i] = Component{Kind: kind, Share: 1, clean: clean, narrowing: 1}
		clean = clean || kind == filter
	}
	if e.Displacement > 2.8e-3 && e.Cylinders >= 6 && d.chance(0.2) {
		for i := range path {
			if path[i].Kind == filter {
				break
			}
			path[i].Share = 0.5
		}
	}
	nameAll(path)
	return path
}

func dirtySide(d dice, needScreen, needDuct bool) []string {
	kinds := []string{mouth}
	if d.chance(0.22) || needScreen {
		kinds = append(kinds, screen)
	}
	ducts := d.pick(0.06, 0.72, 0.22)
	if needDuct {
		ducts = max(1, ducts)
	}
	for i := range ducts {
		kinds = append(kinds, duct)
		if i == 0 && d.chance(0.15) {
			kinds = append(kinds, resonator)
		}
	}
	return kinds
}

func cleanSide(d dice, e *Engine, needTube bool) []string {
	tubes := d.pick(0.07, 0.65, 0.28)
	if needTube {
		tubes = max(1, tubes)
	}
	var kinds []string
	if d.chance(0.65) && tubes > 0 {
		kinds = append(kinds, meter)
	}
	for i := range tubes {
		kinds = append(kinds, duct)
		if i == 0 && tubes > 1 && d.chance(0.3) {
			kinds = append(kinds, resonator)
		}
	}
	if e.Induction == blown && d.chance(0.5) {
		kinds = append(kinds, throttle)
	}
	return kinds
}

// trim keeps a path within its longest and shortest form.
func trim(kinds []string) []string {
	for _, spare := range []string{resonator, resonator, throttle} {
		if i := slices.Index(kinds, spare); i >= 0 && len(kinds) > longest {
			kinds = slices.Delete(kinds, i, i+1)
		}
	}
	return kinds
}

// nameAll gives each component the name that a tester would write.
func nameAll(path []Component) {
	used := map[string]int{}
	for i := range path {
		c := &path[i]
		name := map[string]string{duct: "snorkel", boxEntry: "box-in", boxExit: "box-out"}[c.Kind]
		switch {
		case c.Kind == duct && c.clean:
			name = "tube"
		case name == "":
			name = c.Kind
		}
		if used[name]++; used[name] > 1 {
			name = fmt.Sprintf("%s-%d", name, used[name])
		}
		c.Name = name
	}
}

// placeTaps says where a gauge can be connected, and what changing a part costs
// in effort. The end of the path can always be tapped: the whole-path reading
// needs it.
func placeTaps(d dice, path []Component) {
	for i := range path {
		c := &path[i]
		c.Effort = map[string]int{mouth: 2, duct: 3, boxEntry: 4, filter: 1, boxExit: 3, meter: 5, resonator: 3, screen: 1, throttle: 5}[c.Kind]
		c.Fixed = c.Kind == meter || c.Kind == throttle
		odds := tapOdds(c)
		c.Tap = [...]string{port, drill, noTap}[d.pick(odds[:]...)]
		if i == len(path)-1 {
			c.Tap = [...]string{port, drill}[d.pick(0.45, 0.55)]
		}
	}
}

// tapOdds of port, drill and none. No hole in ribbed hose, none at meters and mouths.
func tapOdds(c *Component) [3]float64 {
	switch c.Kind {
	case boxEntry:
		return [3]float64{0.10, 0.78, 0.12}
	case filter:
		return [3]float64{0.30, 0.62, 0.08}
	case boxExit:
		return [3]float64{0.05, 0.60, 0.35}
	case resonator:
		return [3]float64{0.35, 0, 0.65}
	case duct:
		if c.Surface == ribbed {
			return [3]float64{0.20, 0, 0.80}
		}
		return [3]float64{0.08, 0.72, 0.20}
	}
	return [3]float64{0, 0, 1}
}
