package model

import (
	"math"
	"slices"

	"dropwalk/advice/air"
	"dropwalk/advice/infer"
	"dropwalk/advice/power"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// Car is one sheet in numbers.
type Car struct {
	Sheet  *sheet.Sheet
	Engine power.Engine

	RPM        float64 // at the reference point
	RPMAssumed bool    // nobody stated it
	Air        air.State
	Density    float64 // of the reference air, kg/m3
	Flow       float64 // nominal mass flow at the reference point, kg/s
	FlowSD     float64 // log SD
	FlowFrom   string  // measured, run or estimate

	Stations []Station // open air first, then one a component
	Pieces   []Piece   // one a component
	Readings []Reading // those that can be used
	slow     []Reading // far below the reference rpm, beside others near it
	Scatter  float64   // of the readings over the scatter that is usual
	Squares  float64   // of repeats about their means, over what is usual
	Freedom  float64   // degrees of freedom of that

	priors  *Priors // nil: the handbook's
	pace    float64 // log SD of an air speed that all passages share, where no bore is known
	control control
	day     drift
	factors *factors
}

// Station is a place where a tap can be.
type Station struct {
	Name   string
	Still  bool    // the air hardly moves
	Head   float64 // velocity head at the nominal flow, Pa
	HeadSD float64 // relative, what the flow does to it left out
	Jet    float64 // relative: what a jet beside the tap adds to a reading, and
	Near   float64 // how uncertain that and other things close by make it
	Tap    string  // port, drill or none; "" for the open air
	Fitted bool    // some reading used it
}

// Piece is a component before any reading.
type Piece struct {
	Name, Kind string
	States     infer.Piece
	Median     float64 // of the handbook, Pa, and its log SD
	LogSD      float64
	BookSD     float64 // the log SD without what a workshop learnt
	Known      bool    // its geometry was given
	Best       float64 // loss of a well-made piece of the same size and flow, Pa
	Doubt      float64 // share of the handbook's log variance that the unknown bore causes
	Fixed      bool
	Steady     bool // its loss does not move with the air speed in the ducts
	Effort     int
	Group      Group // of like pieces
}

// New makes a Car of a sheet that has at least one component. It never fails:
// what is missing widens the numbers.
func New(s *sheet.Sheet) *Car { return NewWith(s, nil) }

// NewWith is New with what a workshop learnt from its own cars; nil is nothing.
func NewWith(s *sheet.Sheet, p *Priors) *Car {
	c := &Car{Sheet: s, Air: referenceAir(s.Reference.Air), priors: p}
	c.Density = c.Air.Density()
	c.RPM, c.RPMAssumed = referenceRPM(s)
	c.Engine = engineOf(s.Car.Engine, c.RPM)
	c.control = controlOf(c.Engine)
	c.setFlow()
	c.day = c.driftOfDay()
	c.setPace()
	c.setPieces()
	c.setStations()
	c.factors = newFactors(c)
	c.setReadings()
	return c
}

// Stated reference air where the sheet has none: 25 degC, 99 kPa, dry, as in
// ISO 1585.
func referenceAir(a sheet.Air) air.State {
	return stateOf(a, air.Reference)
}

// stateOf fills what a lacks from the other state.
func stateOf(a sheet.Air, other air.State) air.State {
	return air.State{
		Temperature: known(a.Temperature, other.Temperature),
		Pressure:    known(a.Pressure, other.Pressure),
		Humidity:    known(a.Humidity, other.Humidity),
	}
}

func known(a quantity.Amount, other float64) float64 {
	if a.Known() {
		return a.SI
	}
	return other
}

// Engine speed at peak power where nobody stated one (common practice, no source).
const (
	petrolRPM  = 5800.0
	boostedRPM = 5500.0
	dieselRPM  = 4000.0
)

// referenceRPM is the stated one, else the middle one of the readings, else
// what is usual for the engine.
func referenceRPM(s *sheet.Sheet) (rpm float64, assumed bool) {
	if s.Reference.RPM > 0 {
		return s.Reference.RPM, false
	}
	var seen []float64
	for _, r := range s.Readings {
		if r.RPM > 0 {
			seen = append(seen, r.RPM)
		}
	}
	if len(seen) > 0 {
		slices.Sort(seen)
		return seen[len(seen)/2], false
	}
	return UsualRPM(s.Car.Engine), true
}

// UsualRPM is the engine speed at peak power that is taken where nobody stated
// one, in revolutions per minute.
func UsualRPM(e sheet.Engine) float64 {
	switch {
	case e.Fuel == "diesel":
		return dieselRPM
	case boosted(e):
		return boostedRPM
	}
	return petrolRPM
}

func boosted(e sheet.Engine) bool { return e.Induction == "turbo" || e.Induction == "supercharged" }

func (c *Car) setStations() {
	c.Stations = []Station{{Name: sheet.OpenAir, Still: true, Fitted: true}}
	for i := range c.Sheet.Path {
		c.Stations = append(c.Stations, c.station(i))
	}
	for _, r := range c.Sheet.Readings {
		for _, name := range []string{r.From, r.To} {
			if k := c.Index(name); k > 0 {
				c.Stations[k].Fitted = true
			}
		}
	}
}

// Index is the number of the station with this name, or -1.
func (c *Car) Index(name string) int {
	return slices.IndexFunc(c.Stations, func(s Station) bool { return s.Name == name })
}

// How uncertain a velocity head is, apart from the flow.
const (
	// tape is what a bore measured by tape or rule may be off, in m (common
	// practice, no source).
	tape = 0.0008
	// profile is the relative SD for air that does not move as one body: kinetic
	// energy 3 to 8 % above that of the mean speed in turbulent pipe flow (from
	// memory, high confidence), and taps that are not perfect.
	profile = 0.04
	// usualSpeed, in m/s, and its log SD stand in where no bore is known near the
	// station: 60-75 mm for 100 g/s gives 20-31 m/s (common practice, no source).
	usualSpeed   = 27.0
	usualSpeedSD = 0.30
	// paceSD is the part of usualSpeedSD by which whole cars differ; within one car
	// the bores were made for each other (common practice, no source).
	paceSD = 0.24
	// neighbourSD is the log SD of a bore that is taken from the piece next door.
	neighbourSD = 0.08
)

func (c *Car) station(i int) Station {
	p := c.Sheet.Path[i]
	st := Station{Name: p.Name, Tap: tapOf(p)}
	if p.TapStill || !p.TapBore.Known() && stillAfter(p.Kind) {
		st.Still = true
		return st
	}
	area, sd := c.area(i)
	flow := c.Flow * known(p.Share, 1)
	st.Head = flow * flow / (2 * c.thinned(i) * area * area)
	st.Head = flow * flow / (2 * (c.thinned(i) - c.Density*st.Head/c.Air.Pressure) * area * area)
	st.HeadSD = math.Hypot(2*sd, profile)
	st.Jet, st.Near = nearness(p)
	return st
}

// Shown is what the velocity head of the air at the station adds to a reading, in
// Pa: a jet beside the tap included.
func (s Station) Shown() float64 { return s.Head * (1 + s.Jet) }

// thinned is the density of the air after component i: what was lost on the
// way makes it thinner, at the same temperature.
func (c *Car) thinned(i int) float64 {
	lost := 0.0
	for _, p := range c.Pieces[:i+1] {
		m, _ := p.States.Moments()
		lost += m
	}
	return c.Density * (1 - min(lost/c.Air.Pressure, 0.2))
}

func stillAfter(kind string) bool { return kind == "box-entry" || kind == "filter" }

// tapOf is the tap that the sheet states, else what is usual after the kind.
func tapOf(p sheet.Component) string {
	if p.Tap != "" {
		return p.Tap
	}
	switch p.Kind {
	case "mouth", "meter", "throttle":
		return "none"
	}
	return "drill"
}

// Bore is the share of the error of the head, as a gauge at the station sees it,
// that is one of the head itself, and the standard deviation in Pa with which the
// rest leaves it open.
func (s Station) Bore() (share, rest float64) {
	own, near := square(s.Head*s.HeadSD), square(s.Head*s.Near)
	if own+near == 0 {
		return 0, 0
	}
	return own / (own + near), math.Sqrt(own * near / (own + near))
}

// nearness: within a bore of a sharp edge the tap stands beside a jet that is
// narrower than the bore and faster than the mean, so the pressure there is low by
// up to half a head more; a tester who kept the distance reads true. The error has
// one sign. Ribs and bends stir the air both ways.
func nearness(p sheet.Component) (jet, sd float64) {
	switch {
	case p.Kind == "box-exit" && p.Edge != "bellmouth", p.Kind == "mouth" && p.Edge != "bellmouth":
		return 0.10, 0.12
	case p.Kind == "mouth", p.Kind == "screen", p.Kind == "resonator":
		return 0, 0.15
	case len(p.Bends) > 0 || p.Surface == "ribbed":
		return 0, 0.08
	}
	return 0, 0.03
}

// area of the passage at the station after component i, in m2, and its log SD.
func (c *Car) area(i int) (area, sd float64) {
	p := c.Sheet.Path[i]
	if p.TapBore.Known() {
		return circle(p.TapBore)
	}
	if a, sd, ok := passage(p); ok {
		return a, sd
	}
	for d := 1; d < len(c.Sheet.Path); d++ {
		for _, k := range []int{i + d, i - d} {
			if k < 0 || k >= len(c.Sheet.Path) {
				continue
			}
			if a, sd, ok := passage(c.Sheet.Path[k]); ok {
				return a, math.Hypot(sd, 2*neighbourSD*math.Sqrt(float64(d)))
			}
		}
	}
	return c.Flow / (c.Density * usualSpeed), c.ownSpeedSD()
}

// setPace: where no bore at all is known, the air speed of the car is unknown in
// all passages alike.
func (c *Car) setPace() {
	for _, p := range c.Sheet.Path {
		if _, _, ok := passage(p); ok || p.TapBore.Known() {
			return
		}
	}
	c.pace = paceSD
}

// ownSpeedSD is the log SD of the air speed in one passage of unknown bore that
// it does not share with the others.
func (c *Car) ownSpeedSD() float64 {
	return math.Sqrt(square(usualSpeedSD) - square(c.pace))
}

func passage(p sheet.Component) (area, sd float64, ok bool) {
	switch {
	case p.Width.Known() && p.Height.Known() && p.Width.SI > 0 && p.Height.SI > 0:
		return p.Width.SI * p.Height.SI, math.Hypot(spread(p.Width), spread(p.Height)), true
	case p.Diameter.Known() && p.Diameter.SI > 0:
		area, sd = circle(p.Diameter)
		return area, sd, true
	}
	return 0, 0, false
}

func circle(d quantity.Amount) (area, sd float64) {
	return math.Pi / 4 * d.SI * d.SI, 2 * spread(d)
}

// spread is the relative SD of a measured length.
func spread(a quantity.Amount) float64 {
	sd := tape
	if a.PlusMinus > 0 {
		sd = a.PlusMinus / 2
	}
	if a.Form == quantity.Swing {
		sd = math.Max(sd, (a.High-a.Low)/math.Sqrt(12))
	}
	return sd / a.SI
}
