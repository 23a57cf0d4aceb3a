package sheet

import (
	"math"

	"dropwalk/engine/quantity"
)

// Stations lists the stations in the order of the flow, the open air first.
func (s *Sheet) Stations() []string {
	names := []string{OpenAir}
	for i := range s.Path {
		names = append(names, s.Path[i].Name)
	}
	return names
}

// Index tells where a station stands: 0 is the open air, i the place just
// downstream of component i counted from 1; -1 where there is no such station.
// The components between two stations a and b are s.Path[Index(a):Index(b)].
func (s *Sheet) Index(station string) int {
	if station == OpenAir {
		return 0
	}
	for i := range s.Path {
		if s.Path[i].Name == station {
			return i + 1
		}
	}
	return -1
}

// ComponentByName returns the component, nil where there is none.
func (s *Sheet) ComponentByName(name string) *Component {
	if i := s.Index(name); i > 0 {
		return &s.Path[i-1]
	}
	return nil
}

// TapAt tells how a station can be tapped: port, drill or none. The open air
// counts as a port: there the gauge is left open. A station that does not exist
// gives none.
func (s *Sheet) TapAt(station string) string {
	if station == OpenAir {
		return TapPort
	}
	c := s.ComponentByName(station)
	switch {
	case c == nil:
		return TapNone
	case c.Tap != "":
		return c.Tap
	case c.Kind == Mouth || c.Kind == Meter || c.Kind == Throttle:
		return TapNone
	}
	return TapDrill
}

// Passage is what the air passes at a station.
type Passage struct {
	Area  float64 // m2 of one piece; 0 where still or unknown
	Share float64 // of the whole flow that passes this piece, 1 for all of it
	Still bool    // the air stands still at the tap: no velocity head
	Known bool    // Still, or Area is known
}

// Passage describes the passage at a station: still in the open air and after
// box-entry and filter, else that of the station's own component, unless
// tap_bore says otherwise. A component that states no size gives no area; the
// size of its neighbour would be a guess.
func (s *Sheet) Passage(station string) Passage {
	if station == OpenAir {
		return Passage{Share: 1, Still: true, Known: true}
	}
	c := s.ComponentByName(station)
	if c == nil {
		return Passage{Share: 1}
	}
	p := Passage{Share: c.FlowShare()}
	switch {
	case c.TapStill:
		p.Still = true
	case c.TapBore.Known():
		p.Area = circle(c.TapBore.SI)
	case c.Kind == BoxEntry || c.Kind == Filter:
		p.Still = true
	default:
		p.Area, _ = c.Area()
	}
	p.Known = p.Still || p.Area > 0
	return p
}

func circle(diameter float64) float64 { return math.Pi / 4 * diameter * diameter }

// Area is the cross-section of the component's own passage in m2, false where
// no size is stated.
func (c *Component) Area() (float64, bool) {
	switch {
	case c.Diameter.Known():
		return circle(c.Diameter.SI), true
	case c.Width.Known() && c.Height.Known():
		return c.Width.SI * c.Height.SI, true
	}
	return 0, false
}

// HydraulicDiameter is four times the cross-section over the wetted perimeter,
// in m, false where no size is stated.
func (c *Component) HydraulicDiameter() (float64, bool) {
	switch {
	case c.Diameter.Known():
		return c.Diameter.SI, true
	case c.Width.Known() && c.Height.Known():
		return 2 * c.Width.SI * c.Height.SI / (c.Width.SI + c.Height.SI), true
	}
	return 0, false
}

// FlowShare is the share of the whole flow that passes this piece, 1 where not
// stated.
func (c *Component) FlowShare() float64 {
	if c.Share.Known() {
		return c.Share.SI
	}
	return 1
}

// IsFixed tells whether the component is never to be changed; a meter is so
// where nothing is stated.
func (c *Component) IsFixed() bool {
	if c.Fixed != nil {
		return *c.Fixed
	}
	return c.Kind == Meter
}

// FixedAt is IsFixed by name; false where there is no such component.
func (s *Sheet) FixedAt(name string) bool {
	c := s.ComponentByName(name)
	return c != nil && c.IsFixed()
}

// GaugeByName returns the gauge, nil where there is none.
func (s *Sheet) GaugeByName(name string) *Gauge {
	for i := range s.Gauges {
		if name != "" && s.Gauges[i].Name == name {
			return &s.Gauges[i]
		}
	}
	return nil
}

// AirOf is the open air during a reading: what the reading states itself, and
// what the sheet states for the rest. Amounts that neither states are absent.
func (s *Sheet) AirOf(r *Reading) Air { return r.Air.or(s.Air) }

// ReferenceAir is the air at which losses are quoted: 25 C, 99 kPa and 0 %
// where the sheet does not say, so every amount is exact.
func (s *Sheet) ReferenceAir() Air { return s.Reference.Air.or(standardAir) }

var standardAir = Air{
	Temperature: must("25 C", quantity.Temperature),
	Pressure:    must("99 kPa", quantity.Pressure),
	Humidity:    must("0 %", quantity.Share),
}

func must(text string, k quantity.Kind) quantity.Amount {
	a, err := quantity.Read(text, quantity.Want{Kind: k})
	if err != nil {
		panic("sheet: " + err.Error())
	}
	return a
}

// or fills what a does not state from b.
func (a Air) or(b Air) Air {
	pick := func(x, y quantity.Amount) quantity.Amount {
		if x.Known() {
			return x
		}
		return y
	}
	return Air{pick(a.Temperature, b.Temperature), pick(a.Pressure, b.Pressure), pick(a.Humidity, b.Humidity)}
}
