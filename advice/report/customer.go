package report

import (
	"math"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/remedy"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// glosses say in plain words what a kind of piece is.
var glosses = map[string]string{
	sheet.Mouth:     "the opening for the air",
	sheet.Duct:      "the duct",
	sheet.BoxEntry:  "the entry of the filter box",
	sheet.Filter:    "the air filter",
	sheet.BoxExit:   "the outlet of the filter box",
	sheet.Meter:     "the air-flow meter",
	sheet.Resonator: "the intake silencer",
	sheet.Screen:    "the screen",
	sheet.Throttle:  "the throttle",
}

// Gloss says what a component is, in plain words, with its own name where it
// has one: "the duct called snorkel".
func (p *page) Gloss(name string) string {
	if name == sheet.OpenAir {
		return "the open air"
	}
	kind := p.kind(name)
	if kind == "" {
		for i := range p.S.Path {
			if p.S.Path[i].Name == name {
				kind = p.S.Path[i].Kind
			}
		}
	}
	gloss, ok := glosses[kind]
	switch {
	case !ok && name == "":
		return "a piece of the path"
	case !ok:
		return "the piece called " + esc(name)
	case name == kind:
		return gloss
	}
	return gloss + " called " + esc(name)
}

// Glossed names several components.
func (p *page) Glossed(list []string) string {
	var out []string
	for _, name := range list {
		out = append(out, p.Gloss(name))
	}
	return joined(out)
}

// Place is where a tap sits, in plain words.
func (p *page) Place(station string) string {
	if station == sheet.OpenAir {
		return "the open air"
	}
	return "behind " + p.Gloss(station)
}

var places = map[string]string{sheet.Track: "on a closed track", sheet.Road: "on a road", sheet.RollingRoad: "on a rolling road"}

// When says when and where the visit was: "on 2026-11-25, on a closed track",
// "" where nothing is known.
func (p *page) When() string {
	day := ""
	if p.S.Date != "" {
		day = "on " + esc(p.S.Date)
	}
	return given([]string{day, places[p.S.Place]})
}

// air is the usual pressure of the air at sea level, Pa (ISO 2533).
const air = 101325

// Unit is the unit of the page, with what it means: how many of it the air
// around us presses with.
func (p *page) Unit() string {
	unit := p.pressure()
	many, err := quantity.In(air, quantity.PressureDiff, unit)
	if err != nil {
		return unit
	}
	gloss := "a unit of pressure"
	if words, ok := units[unit]; ok {
		gloss = words + ", a unit of pressure"
	}
	return unit + " is " + gloss + "; the air around us presses with about " + quantity.Format(many, 1) + " of them"
}

var units = map[string]string{"inH2O": "inches of water", "mmH2O": "millimetres of water", "cmH2O": "centimetres of water", "inHg": "inches of mercury", "mmHg": "millimetres of mercury"}

// Parts writes a gain in per cent as parts of power: "about 1 to 3 of 100 parts
// of power".
func (p *page) Parts(e assessment.Estimate) string {
	low, high := e.Low, e.High
	if math.IsNaN(low+high) || math.IsInf(low+high, 0) {
		return "an unknown share of power"
	}
	low, high = max(0, low), max(0, high)
	from, to := part(low), part(high)
	switch {
	case to == "0":
		return "nothing that can be named"
	case from == "0":
		return "at most about " + to + " of 100 parts of power"
	case from == to:
		return "about " + to + " of 100 parts of power"
	}
	return "about " + from + " to " + to + " of 100 parts of power"
}

// part writes a share so finely as a customer needs it: tenths below two.
func part(percent float64) string {
	if percent < 2 {
		return quantity.Format(math.Round(10*percent)/10, 2)
	}
	return quantity.Format(math.Round(percent), 3)
}

// Kilowatts writes the same gain as a power; "" where it isn't known.
func (p *page) Kilowatts(g assessment.Gain) string {
	if g.PowerKW == nil {
		return ""
	}
	unit := p.unit(quantity.Power, 1000*g.PowerKW.High)
	low, err := quantity.In(1000*max(0, g.PowerKW.Low), quantity.Power, unit)
	high, err2 := quantity.In(1000*max(0, g.PowerKW.High), quantity.Power, unit)
	if err != nil || err2 != nil || math.IsNaN(low+high) || math.IsInf(low+high, 0) {
		return ""
	}
	from, to := part(low), part(high)
	switch {
	case to == "0":
		return ""
	case from == "0":
		return "at most " + to + " " + unit
	case from == to:
		return to + " " + unit
	}
	return from + " to " + to + " " + unit
}

// Stated is what the sheet says of effort and cost of some components, escaped;
// "" where it says nothing.
func (p *page) Stated(list []string) string {
	var out []string
	for i := range p.S.Path {
		c := &p.S.Path[i]
		for _, name := range list {
			if c.Name != name {
				continue
			}
			var facts []string
			if c.Effort > 0 {
				facts = append(facts, "effort "+effort(c.Effort))
			}
			if c.Cost != "" {
				facts = append(facts, "cost "+esc(c.Cost))
			}
			if len(facts) > 0 && len(list) > 1 {
				facts[0] = esc(name) + ": " + facts[0]
			}
			out = append(out, facts...)
		}
	}
	return strings.Join(out, ", ")
}

// Others are the pieces beside the first that the advice covers and that may be
// changed.
func (p *page) Others() []string {
	var out []string
	for i, w := range p.Works() {
		if i > 0 && !w.Fixed {
			out = append(out, w.Names...)
		}
	}
	return out
}

// few is how many remedies stand on the one page of a customer.
const few = 2

// Few are the first remedies of a list.
func (w work) Few() []remedy.Remedy { return w.Remedies[:min(few, len(w.Remedies))] }

// More tells whether there are others.
func (w work) More() bool { return len(w.Remedies) > few }

// hours is an effort without its number.
func hours(n int) string {
	_, text, _ := strings.Cut(effort(n), ", ")
	return text
}
