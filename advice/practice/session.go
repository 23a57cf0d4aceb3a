package practice

import "math"

// Choice is a matter that may be left to the dice.
type Choice int

// Choices.
const (
	Drawn Choice = iota
	Yes
	No
)

func (c Choice) settle(d dice, share float64) bool {
	drawn := d.chance(share) // always thrown, so that a choice shifts nothing else
	return c == Yes || c == Drawn && drawn
}

// Setup says what a visit must be. What is nought is drawn.
type Setup struct {
	Place string     // road, track, rolling-road
	Fault SetupFault // of the tester's, none by default
	Zeros Choice     // are zeros of the gauge written down?
	Check Choice     // is the hose's leak check written down?
	Air   Choice     // is the weather written down?
	Speed Choice     // is the road speed written down?
	Scan  Choice     // does a scan tool give the air flow of each run?
	Fine  Choice     // is there a second, finer gauge?
	Quiet bool       // no scatter, gauge errors, wind, ram or weather: the car alone
}

// Session is one visit to a car. Its methods that read use it up: the same calls
// in the same order give the same readings. It is not safe for two goroutines.
type Session struct {
	Car    *Car
	Seed   uint64
	Place  string
	Fault  SetupFault
	Gauges []Gauge // the first is for the whole path

	title   string // of the sheet, where the car has a name of its own
	carName string
	m       *manner
	quiet   bool
	notes   notes
	air     weather // true, at the start
	told    weather // as written down
	road    road
	tach    float64 // error of the rev counter, share
	scanner float64 // error of the scan tool's air flow, share
	scatter float64 // run to run, share of the reading
	floor   float64 // and its fixed part, Pa
	sway    float64 // half-width of the needle's swing, share of the reading; 0 where it stands
	harm    harm
	leak    [2]float64 // leak check of the hose: start and end in inH2O
	target  float64    // engine speed at which the runs end; 0: the reference of the engine
	runs    int
}

// notes are what the tester writes down.
type notes struct{ zeros, check, air, speed, scan, port bool }

// road is what moves the air outside.
type road struct {
	perRev float64 // m/s for each rpm, in the gear used
	wind   float64 // m/s against the way out
	mouth  float64 // pressure coefficient where the path takes its air
	port   float64 // and where the free port of the gauge stands
	fan    float64 // Pa at the mouth on rollers
	where  string  // of the free port, as the sheet names it
}

// Session opens the visit that belongs to a seed.
func (c *Car) Session(seed uint64, o Setup) *Session {
	m := &manners[c.Hand]
	d := roll(seed^scramble(c.Seed), "session")
	s := &Session{Car: c, Seed: seed, Fault: o.Fault, m: m, quiet: o.Quiet}
	s.Place = [...]string{"road", "track", "rolling-road"}[d.pick(0.35, 0.4, 0.25)]
	if o.Place != "" {
		s.Place = o.Place
	}
	s.notes = notes{
		zeros: o.Zeros.settle(d, 0.6), check: o.Check.settle(d, 0.7), air: o.Air.settle(d, 0.9),
		speed: o.Speed.settle(d, 0.5), scan: o.Scan.settle(d, 0.2), port: d.chance(0.6),
	}
	s.drawWeather(d)
	s.drawRoad(d)
	s.drawPeople(d)
	s.drawGauges(roll(seed^scramble(c.Seed), "gauges"), o.Fine)
	s.harm = s.drawHarm(roll(seed^scramble(c.Seed), "harm"))
	s.drawLeakCheck(d)
	if o.Quiet {
		s.hush()
	}
	return s
}

func (s *Session) drawWeather(d dice) {
	t := d.between(-4, 33)
	height := max(0, d.normal(150, 200))
	if d.chance(0.08) {
		height = d.between(800, 2000) // a mountain road
	}
	s.air = weather{
		temperature: 273.15 + t,
		pressure:    d.normal(101.3e3, 700) * math.Exp(-height/8400),
		humidity:    d.between(0.25, 0.95),
	}
	s.told = weather{
		temperature: s.air.temperature + d.normal(0, 1),
		pressure:    s.air.pressure + d.normal(0, 150),
		humidity:    clamp(s.air.humidity+d.normal(0, 0.08), 0, 1),
	}
}

// drawRoad sets what the road speed does. Pressure coefficients are our choice
// within what is told of front faces, wheel arches and cabins (from memory).
func (s *Session) drawRoad(d dice) {
	top := d.between(70, 105) / 3.6 // m/s at the reference rpm in second gear
	s.road = road{perRev: top / s.Car.Engine.RPM, wind: d.normal(0, 2)}
	switch d.pick(0.45, 0.25, 0.2, 0.05, 0.05) {
	case 0: // behind the grille
		s.road.mouth = d.between(0.1, 0.7)
	case 1: // under the bonnet
		s.road.mouth = d.between(-0.1, 0.15)
	case 2: // wheel arch
		s.road.mouth = d.between(-0.3, 0)
	case 3: // lip of the bonnet
		s.road.mouth = d.between(-0.7, -0.2)
	default: // foot of the windscreen
		s.road.mouth = d.between(0.1, 0.4)
	}
	where := d.pick(0.62, 0.25, 0.13)
	s.road.where = [...]string{"outside", "cabin", "engine-bay"}[where]
	s.road.port = [...]float64{d.normal(0, 0.03), d.between(-0.2, 0.1), d.between(-0.1, 0.1)}[where]
	s.road.fan = d.normal(10, 25)
	if s.Place == "rolling-road" {
		s.road.perRev, s.road.wind, s.road.mouth, s.road.port = 0, 0, 0, 0
	} else {
		s.road.fan = 0
	}
}

func (s *Session) drawPeople(d dice) {
	s.tach = d.normal(0, 0.006)
	s.scanner = d.normal(0, 0.025)
	s.scatter = d.between(s.m.noise[0], s.m.noise[1])
	s.floor = d.between(s.m.floor[0], s.m.floor[1])
	swings := 0.12
	if s.Car.Engine.Cylinders <= 3 {
		swings = 0.45
	}
	if d.chance(swings) {
		s.sway = d.between(0.02, 0.07)
	}
}

// drawGauges picks what lies in the car. A tester whose first gauge is too small
// usually fetches a larger one.
func (s *Session) drawGauges(d dice, fine Choice) {
	whole := s.Car.Truth.Reading[len(s.Car.Path)-1]
	first := wideGauges[d.pick(0.5, 0.15, 0.1, 0.15, 0.1)]
	if fetched := d.chance(0.7); whole > 0.93*first.pascals(first.Range) && fetched {
		first = widestGauge
	}
	if s.Fault == OverRange {
		first = smallest(whole)
	}
	s.Gauges = []Gauge{first}
	second := fineGauges[d.pick(0.5, 0.2, 0.3)]
	if fine.settle(d, 0.5) && second.pascals(second.Range) < first.pascals(first.Range) {
		s.Gauges = append(s.Gauges, second)
	}
	for i := range s.Gauges {
		s.Gauges[i].err(d, s.m)
	}
}

// smallest is the largest gauge that the whole path surely drives off its scale.
func smallest(whole float64) Gauge {
	for _, g := range smallGauges {
		if g.pascals(g.Range) < 0.8*whole {
			return g
		}
	}
	return smallGauges[len(smallGauges)-1]
}

func (s *Session) drawLeakCheck(d dice) {
	lost := d.between(0, 0.045)
	if bad := d.between(0.25, 0.95); s.Fault == LeakAll {
		lost = bad
	}
	start := round(d.between(10, 16), 0.5)
	s.leak = [2]float64{start, round(start*(1-lost), 0.1)}
}

// hush leaves the car alone.
func (s *Session) hush() {
	s.air, s.told = referenceAir, referenceAir
	s.road = road{where: s.road.where}
	s.tach, s.scanner, s.scatter, s.floor, s.sway = 0, 0, 0, 0, 0
	for i := range s.Gauges {
		g := &s.Gauges[i]
		g.gain, g.zero, g.creep, g.curve = 0, 0, 0, 0
	}
}
