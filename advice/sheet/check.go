package sheet

import (
	"fmt"
	"slices"

	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
)

// checker holds what the table of keys can't see: what one part of a sheet says
// about another. It works on the tree, for the places, and on the sheet that
// was read from it, for the values.
type checker struct {
	*strictyaml.Report
	root     *strictyaml.Node
	s        *Sheet
	stations []string       // what readings may name, the open air first
	index    map[string]int // of each station, the first of a name
	gauges   []string
}

func newChecker(file string, root *strictyaml.Node, s *Sheet) *checker {
	c := &checker{Report: &strictyaml.Report{File: file}, root: root, s: s, stations: s.Stations(), index: map[string]int{}}
	for i, name := range c.stations {
		if _, seen := c.index[name]; !seen {
			c.index[name] = i
		}
	}
	for _, g := range s.Gauges {
		c.gauges = append(c.gauges, g.Name)
	}
	return c
}

func (c *checker) all() {
	c.engine()
	c.names("path", "component")
	c.names("gauges", "gauge")
	for i, item := range c.items("path") {
		c.component(item, &c.s.Path[i], i)
	}
	for i, item := range c.items("gauges") {
		c.gauge(item, &c.s.Gauges[i])
	}
	for _, item := range c.items("checks") {
		c.station(item.Get("at"), false)
	}
	c.readings()
	for _, item := range c.items("changes") {
		c.changed(item.Get("component"))
	}
}

// items lists the rows at key, none where the shape there is wrong.
func (c *checker) items(key string) []*strictyaml.Node {
	n := c.root.Get(key)
	if n == nil || n.Kind != strictyaml.List {
		return nil
	}
	return n.Items
}

// engine warns of what is stated and can't be used: a sheet may keep a line
// for boost whatever the engine.
func (c *checker) engine() {
	n := c.root.Get("car").Get("engine")
	e := &c.s.Car.Engine
	if e.Induction != Natural {
		return
	}
	const expected = "induction: turbo or induction: supercharged"
	if n.Has("boost") {
		c.Warn(n.Get("boost"), "boost of an engine without a blower is not used", expected, "")
	}
	if n.Has("boost_control") && e.BoostControl != "unknown" {
		c.Warn(n.Get("boost_control"), "boost control of an engine without a blower is not used", expected, "")
	}
}

// names sees to it that each name stands once and that none means the open air.
func (c *checker) names(key, what string) {
	first := map[string]*strictyaml.Node{}
	for _, item := range c.items(key) {
		n := item.Get("name")
		switch {
		case n.Str() == "":
		case n.Str() == OpenAir:
			c.At(n, fmt.Sprintf("%q is the open air itself", OpenAir), "another name", "")
		case first[n.Str()] != nil:
			c.At(n, fmt.Sprintf("a second %s is called %q", what, n.Str()), "a name that stands once", firstOn(first[n.Str()]))
		default:
			first[n.Str()] = n
		}
	}
}

// firstOn tells where the first of two stands, if it stands in a file.
func firstOn(n *strictyaml.Node) string {
	if n.Line == 0 {
		return ""
	}
	return fmt.Sprintf("the first is on line %d", n.Line)
}

func (c *checker) component(n *strictyaml.Node, p *Component, i int) {
	c.size(n)
	if n.Has("radius") && n.Get("edge").Str() != Rounded {
		c.AtKey(n, "radius", "a radius of an edge that is not rounded", "edge: rounded beside radius", "the radius of a bend stands in bends")
	}
	c.belongs(n, p, "face", Filter)
	c.belongs(n, p, "open_area", Screen)
	if p.Kind == Mouth && i > 0 {
		c.Warn(n.Get("kind"), "a mouth that is not the first of the path", "the opening to the air as the first", "")
	}
	if p.Kind == Throttle && c.s.Car.Engine.Induction == Natural {
		c.Warn(n.Get("kind"), "a throttle in the path of an engine without a blower", "a path that ends at the throttle inlet", "")
	}
}

// size sees to it that a passage is either round or rectangular.
func (c *checker) size(n *strictyaml.Node) {
	width, height := n.Has("width"), n.Has("height")
	switch {
	case n.Has("diameter") && (width || height):
		key := "width"
		if !width {
			key = "height"
		}
		c.AtKey(n, key, key+" beside diameter", "diameter for a round passage, width and height for a rectangular one", "")
	case width && !height:
		c.AtKey(n, "width", "width without height", "both", "")
	case height && !width:
		c.AtKey(n, "height", "height without width", "both", "")
	}
}

// belongs warns of a key that says something only of one kind of component.
func (c *checker) belongs(n *strictyaml.Node, p *Component, key, kind string) {
	if n.Has(key) && p.Kind != "" && p.Kind != kind {
		c.Warn(n.Get(key), fmt.Sprintf("%s of a %s is not used", key, p.Kind), key+" only of a "+kind, "")
	}
}

func (c *checker) gauge(n *strictyaml.Node, g *Gauge) {
	if g.Range.Known() && g.Division.Known() && g.Division.SI > g.Range.SI {
		c.At(n.Get("division"), fmt.Sprintf("the division %q is larger than the range %q", n.Get("division").Str(), n.Get("range").Str()), "a division smaller than the range", "")
	}
	rows := n.Get("correction")
	if rows == nil || rows.Kind != strictyaml.List {
		return
	}
	for i, row := range g.Correction {
		if i > 0 && row.Shown.Given() && row.Shown.SI <= g.Correction[i-1].Shown.SI {
			c.At(rows.Items[i].Get("shown"), fmt.Sprintf("%q does not rise above the row before", rows.Items[i].Get("shown").Str()), "rows in rising order of shown", "")
		}
	}
}

// station checks a name of a station and returns its index, -1 where it has
// none.
func (c *checker) station(n *strictyaml.Node, openAir bool) int {
	names := c.stations
	name := n.Str()
	i, found := c.index[name]
	if !openAir {
		names = names[1:]
	}
	switch {
	case name == "" || len(names) < 1: // another fault says so already
		return -1
	case !found:
		c.At(n, fmt.Sprintf("no component of the path is called %q", name), oneOfNames(names), didYouMean(name, names))
		return -1
	case i == 0 && !openAir:
		c.At(n, "a leak check in the open air", oneOfNames(names), "")
	}
	return i
}

// namesShown is how many names a fault lists.
const namesShown = 12

func oneOfNames(names []string) string {
	if len(names) > namesShown {
		return "the name of a component"
	}
	return strictyaml.Either(names)
}

// namesCompared bounds the work of a hint: nobody has a path of more pieces.
const namesCompared = 200

func didYouMean(name string, known []string) string {
	known = known[:min(len(known), namesCompared)]
	if near, ok := spell.Nearest(name, known); ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return ""
}

func (c *checker) readings() {
	seen := map[string]*strictyaml.Node{}
	for i, item := range c.items("readings") {
		from, to := c.station(item.Get("from"), true), c.station(item.Get("to"), true)
		if from >= 0 && to >= 0 {
			c.order(item, from, to)
		}
		c.namedGauge(item.Get("gauge"))
		r := &c.s.Readings[i]
		key := fmt.Sprintf("%d\n%s\n%s\n%s", r.Run, r.From, r.To, r.Gauge)
		if before := seen[key]; before != nil && r.Run > 0 {
			c.Warn(item.Get("run"), fmt.Sprintf("run %d has this reading twice", r.Run), "a run of its own for each reading between two stations",
				firstOn(before))
		}
		seen[key] = item
	}
}

// order sees to it that from stands upstream of to.
func (c *checker) order(item *strictyaml.Node, from, to int) {
	switch {
	case from == to:
		c.At(item.Get("to"), fmt.Sprintf("from and to are both %q", item.Get("to").Str()), "two different stations", "")
	case from > to:
		c.At(item.Get("from"), fmt.Sprintf("%q lies downstream of %q", item.Get("from").Str(), item.Get("to").Str()), "from upstream of to",
			"swap them; a value measured the other way round is negative")
	}
}

func (c *checker) namedGauge(n *strictyaml.Node) {
	names := c.gauges
	if n.Str() == "" || slices.Contains(names, n.Str()) {
		return
	}
	expected := "one that gauges lists"
	if len(names) > 0 {
		expected = oneOfNames(names)
	}
	c.At(n, fmt.Sprintf("no gauge is called %q", n.Str()), expected, didYouMean(n.Str(), names))
}

// changed warns of a change to what the path no longer has: that may well be.
func (c *checker) changed(n *strictyaml.Node) {
	names := c.stations[1:]
	if i := c.index[n.Str()]; n.Str() == "" || i > 0 {
		return
	}
	c.Warn(n, fmt.Sprintf("no component of the path is called %q", n.Str()), oneOfNames(names), didYouMean(n.Str(), names))
}
