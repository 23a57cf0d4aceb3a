package practice

import (
	"fmt"
	"math"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// Detail is how much of the path the tester measured with a tape.
type Detail int

// Details.
const (
	Full   Detail = iota // every piece, as well as a tape does it
	Partly               // here and there
	Bare                 // names and kinds only
)

// String names a detail.
func (d Detail) String() string { return [...]string{"full", "partly", "bare"}[d] }

// scribe writes a sheet as an honest tester would: sizes with the error of a
// tape, figures from papers with theirs, gaps where nobody looked.
type scribe struct {
	dice
	s      *Session
	detail Detail
}

// Describe is the sheet before the first reading. The same session gives the
// same description each time.
func (s *Session) Describe(detail Detail) *sheet.Sheet {
	w := &scribe{roll(s.Seed^scramble(s.Car.Seed), "describe"), s, detail}
	sh := &sheet.Sheet{
		Title:     fmt.Sprintf("Practice car %d, visit %d", s.Car.Seed, s.Seed),
		Date:      fmt.Sprintf("2026-%02d-%02d", 1+w.IntN(12), 1+w.IntN(28)),
		Place:     s.Place,
		Car:       sheet.Car{Name: fmt.Sprintf("practice-%d", s.Car.Seed), Engine: w.engine()},
		Reference: sheet.Reference{RPM: s.Car.Engine.RPM},
	}
	if s.carName != "" {
		sh.Title, sh.Car.Name = s.title, s.carName
	}
	for i := range s.Car.Path {
		sh.Path = append(sh.Path, w.component(&s.Car.Path[i]))
	}
	for i := range s.Gauges {
		sh.Gauges = append(sh.Gauges, s.Gauges[i].entry())
	}
	if s.notes.air {
		sh.Air = entryOf(s.told)
	}
	if s.notes.check {
		sh.Checks = []sheet.Check{s.leakCheck()}
	}
	return sh
}

// entryOf rounds the air as a weather station shows it.
func entryOf(w weather) sheet.Air {
	return sheet.Air{
		Temperature: amount(quantity.Temperature, w.temperature-273.15, 0, "C"),
		Pressure:    amount(quantity.Pressure, w.pressure/1e3, 1, "kPa"),
		Humidity:    amount(quantity.Share, 100*w.humidity, 0, "%"),
	}
}

func (s *Session) leakCheck() sheet.Check {
	end := s.Car.Path[len(s.Car.Path)-1].Name
	return sheet.Check{
		Kind: "leak", At: end, Seconds: 30,
		Start: amount(quantity.PressureDiff, s.leak[0], 1, "inH2O"),
		End:   amount(quantity.PressureDiff, s.leak[1], 1, "inH2O"),
	}
}

// engine is what the papers, the scan tool and the tester's memory give.
func (w *scribe) engine() sheet.Engine {
	e := &w.s.Car.Engine
	off := w.s.m.spread // errors have this hand's tails
	out := sheet.Engine{
		Displacement: amount(quantity.Volume, e.Displacement*1e6, 0, "cc"),
		Strokes:      4, Fuel: e.Fuel, Induction: e.Induction, Cylinders: e.Cylinders,
	}
	if given, v := w.chance(0.25), 100*e.Filling*off(w.dice, 0.04); given && e.Induction == natural {
		out.VolumetricEfficiency = amount(quantity.Share, v, 0, "%")
	}
	if given, v := w.chance(0.3), 1e3*e.MassFlow*off(w.dice, 0.03); given {
		out.MassFlow = amount(quantity.MassFlow, v, 0, "g/s")
		out.MassFlowUncertainty = amount(quantity.Share, 3, 0, "%")
	}
	if given, v := w.chance(0.65), e.Power/1e3*off(w.dice, 0.03); given {
		out.PeakPower = amount(quantity.Power, v, 0, "kW")
	}
	w.boost(&out, e)
	return out
}

func (w *scribe) boost(out *sheet.Engine, e *Engine) {
	known, control := w.chance(0.75), w.chance(0.35)
	v := e.Boost / 1e3 * w.s.m.spread(w.dice, 0.05)
	if e.Induction == natural {
		return
	}
	if known {
		out.Boost = amount(quantity.GaugePressure, v, 0, "kPa")
	}
	out.BoostControl = "unknown"
	if control {
		out.BoostControl = e.BoostControl
	}
}

// component is one piece of the path as seen from outside, with a tape.
func (w *scribe) component(c *Component) sheet.Component {
	out := sheet.Component{Name: c.Name, Kind: c.Kind, Tap: c.Tap}
	if c.Share < 1 {
		out.Share = amount(quantity.Share, 100*c.Share, 0, "%")
	}
	if c.Kind == throttle {
		out.Fixed = new(true)
	}
	if w.chance(0.3) {
		out.Effort = c.Effort
	}
	w.passage(&out, c)
	w.form(&out, c)
	return out
}

// sees tells whether the tester measured a thing that can be seen.
func (w *scribe) sees(usually float64) bool {
	seen := w.Float64()
	switch w.detail {
	case Full:
		return seen < usually
	case Partly:
		return seen < 0.55*usually
	}
	return false
}

// mm is a size in m by the tape, to a millimetre.
func (w *scribe) mm(size float64) quantity.Amount {
	return amount(quantity.Length, max(5, 1e3*(size+w.s.m.tape*w.NormFloat64())), 0, "mm")
}

func (w *scribe) passage(out *sheet.Component, c *Component) {
	if c.Kind == filter {
		if area := c.Face * w.about(1, 0.05); w.sees(1) {
			out.Face = amount(quantity.Area, area, 4, "m2")
		}
		return
	}
	wall := 0.0
	if outer := w.chance(w.s.m.outside); outer && c.Kind == duct && c.Surface == ribbed {
		wall = 0.006 // both walls of a hose
	}
	round, width, height := w.mm(c.Bore+wall), w.mm(c.Width), w.mm(c.Height)
	switch seen := w.sees(1); {
	case !seen:
	case c.Width > 0:
		out.Width, out.Height = width, height
	default:
		out.Diameter = round
	}
}

// form is everything but the passage.
func (w *scribe) form(out *sheet.Component, c *Component) {
	if area := 100*c.OpenArea + w.normal(0, 4); c.Kind == screen && w.sees(0.8) {
		out.OpenArea = amount(quantity.Share, clamp(round(area, 5), 20, 90), 0, "%")
	}
	w.edge(out, c)
	if c.Kind != duct && c.Kind != resonator {
		return
	}
	if length := 1e3 * c.Length * w.about(1, 0.03); w.sees(1) {
		out.Length = amount(quantity.Length, max(10, round(length, 10)), 0, "mm")
	}
	if c.Kind == duct && w.sees(0.95) {
		out.Surface = c.Surface
	}
	if w.sees(1) {
		for _, b := range c.Bends {
			out.Bends = append(out.Bends, w.bend(b))
		}
	}
}

func (w *scribe) edge(out *sheet.Component, c *Component) {
	wrong := w.chance(w.s.m.unlikely)
	radius := w.mm(c.EdgeRadius * w.about(1, 0.15))
	if c.Edge == "" || !w.sees(0.95) {
		return
	}
	out.Edge = c.Edge
	switch {
	case wrong && c.Edge == protruding:
		out.Edge = flush
	case wrong && c.Edge == flush:
		out.Edge = protruding
	}
	if out.Edge == rounded && w.sees(0.9) {
		out.Radius = radius
	}
}

func (w *scribe) bend(b Bend) sheet.Bend {
	angle := b.Angle*180/math.Pi + w.normal(0, 5)
	out := sheet.Bend{Angle: amount(quantity.Angle, clamp(round(angle, 15), 15, 180), 0, "deg")}
	if radius := 1e3 * b.Radius * w.about(1, 0.12); w.sees(0.85) {
		out.Radius = amount(quantity.Length, max(10, round(radius, 5)), 0, "mm")
	}
	return out
}
