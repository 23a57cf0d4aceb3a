package practice

import (
	"cmp"
	"fmt"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// run is one full-load pull as it truly was.
type run struct {
	number   int
	rpm      float64
	flow     float64 // kg/s
	air      weather
	speed    float64   // road speed, m/s
	wind     float64   // speed of the air over the car, m/s
	back     bool      // against the way out
	slow     bool      // in the wrong gear
	suction  []float64 // by station: open air less the pressure at a perfect hose there, Pa
	openPort float64   // the same where the free port stands
}

// Measure makes n runs with a gauge between two stations and gives what the
// tester writes down. It fails where the gauge or a station is unknown, where a
// station has no tap, or where from isn't upstream of to.
func (s *Session) Measure(from, to, gauge string, n int) ([]sheet.Reading, error) {
	a, b, err := s.stations(from, to)
	if err != nil {
		return nil, err
	}
	g, err := s.gauge(gauge)
	if err != nil {
		return nil, err
	}
	readings := make([]sheet.Reading, 0, n)
	for k := range n {
		r := s.drive(b)
		x := s.write(r, a, b, g)
		if s.notes.zeros {
			if k == 0 {
				x.ZeroBefore = s.zero(g, r.number)
			}
			if k == n-1 {
				x.ZeroAfter = s.zero(g, r.number+1)
			}
		}
		readings = append(readings, x)
	}
	return readings, nil
}

func (s *Session) stations(from, to string) (int, int, error) {
	a, err := s.station(from)
	if err != nil {
		return 0, 0, err
	}
	b, err := s.station(to)
	if err != nil {
		return 0, 0, err
	}
	if a >= b {
		return 0, 0, fmt.Errorf("%q does not lie upstream of %q", from, to)
	}
	return a, b, nil
}

// station is the index of the component before a station, -1 for the open air.
func (s *Session) station(name string) (int, error) {
	if name == sheet.OpenAir {
		return -1, nil
	}
	i := s.Car.Index(name)
	if i < 0 {
		return 0, fmt.Errorf("no station %q on this car", name)
	}
	if !s.Car.Path[i].tappable() {
		return 0, fmt.Errorf("no tap can be had at %q", name)
	}
	return i, nil
}

func (s *Session) gauge(name string) (*Gauge, error) {
	for i := range s.Gauges {
		if s.Gauges[i].Name == name {
			return &s.Gauges[i], nil
		}
	}
	return nil, fmt.Errorf("no gauge %q in this session", name)
}

// chance is the stream of one run.
func (s *Session) chance(what string, number int) dice {
	return roll(scramble(s.Seed^scramble(s.Car.Seed))+uint64(number), what)
}

// drive makes the next run, for a reading at a station.
func (s *Session) drive(station int) *run {
	s.runs++
	d := s.chance("run", s.runs)
	load, speed := s.slowed(station)
	r := &run{number: s.runs, rpm: speed * cmp.Or(s.target, s.Car.Engine.RPM), air: s.air, back: s.runs%2 == 0, slow: speed < 1}
	if !s.quiet {
		r.rpm *= 1 + d.normal(0, 0.012)
		r.air.temperature += d.normal(0, 0.3)
		load *= 1 - 0.004*abs(d.NormFloat64()) // no foot is quite at the floor
	}
	r.speed = s.road.perRev * r.rpm / speed // a higher gear at lower rpm: the same speed
	r.wind = r.speed + s.road.wind
	if r.back {
		r.wind = r.speed - s.road.wind
	}
	r.flow = load * s.Car.Engine.flow(r.rpm, r.air)
	r.suction = s.suctions(r)
	return r
}

// suctions at every station, with what the road does and what is wrong at a tap.
func (s *Session) suctions(r *run) []float64 {
	road := 0.5 * r.air.density() * r.wind * r.wind
	r.openPort = -s.road.port * road
	all := make([]float64, len(s.Car.Path))
	sum := -s.road.mouth*road - s.road.fan
	s.Car.march(flowState{r.flow, r.air}, func(i int, loss, dynamic float64) {
		sum += loss
		p := &s.Car.Path[i]
		all[i] = sum + (p.profile+p.tapError)*dynamic
		if i == s.harm.at && s.Fault == Burr {
			all[i] += s.harm.share * dynamic
		}
	})
	return all
}

// suctionAt is what the hose brings from a station; -1 is the free port.
func (s *Session) suctionAt(r *run, i int) float64 {
	if i < 0 {
		return r.openPort
	}
	at := s.mistaken(i)
	suction := r.suction[at]
	if s.Fault == LeakAll || s.Fault == LeakOne && at == s.harm.at {
		suction *= s.harm.share
	}
	return suction
}

// write is what the tester puts on the sheet after a run.
func (s *Session) write(r *run, from, to int, g *Gauge) sheet.Reading {
	d := s.chance("needle", r.number)
	shown, width := s.needle(r, from, to, g, d)
	x := sheet.Reading{
		Run: r.number, From: s.name(from), To: s.name(to), Gauge: g.Name,
		Value: g.read(shown, width),
		RPM:   round(r.rpm*(1+s.tach+s.jitter(d, 0.003)), 10),
	}
	if !s.quiet && d.chance(s.m.unread) {
		x.Value = unreadable()
	}
	s.note(&x, r, d)
	return x
}

// needle is where the gauge's needle stands on a run, and the half-width of its
// swing, both in Pa.
func (s *Session) needle(r *run, from, to int, g *Gauge, d dice) (shown, width float64) {
	truth := s.suctionAt(r, to) - s.suctionAt(r, from)
	return g.shows(truth+s.noise(d, truth), r.number) + s.shift(r.number), s.sway * abs(truth)
}

func (s *Session) noise(d dice, truth float64) float64 {
	first, second := d.NormFloat64(), d.NormFloat64()
	if s.m.long {
		first = d.heavy()
	}
	return s.scatter*truth*first + s.floor*second
}

func (s *Session) jitter(d dice, sd float64) float64 {
	if s.quiet {
		return 0
	}
	return d.normal(0, sd)
}

// note adds what this tester writes down beside the reading.
func (s *Session) note(x *sheet.Reading, r *run, d dice) {
	if s.notes.scan {
		x.MassFlow = amount(quantity.MassFlow, 1e3*r.flow*(1+s.scanner+s.jitter(d, 0.008)), 1, "g/s")
	}
	switch {
	case x.From != sheet.OpenAir:
		x.Reference = "path"
	case s.notes.port:
		x.Reference = s.road.where
	}
	if s.Place == "rolling-road" {
		return
	}
	x.Gear, x.Direction = 2, "out"
	if r.slow {
		x.Gear = 3
	}
	if r.back {
		x.Direction = "back"
	}
	if s.notes.speed && r.speed > 0 {
		x.Speed = amount(quantity.Speed, r.speed*3.6, 0, "km/h")
	}
}

// zero is what the tester writes for the gauge at rest before that run.
func (s *Session) zero(g *Gauge, number int) quantity.Amount {
	rest := g.rest(number) + s.shift(number)
	return amount(quantity.PressureDiff, round(fromSI(rest, g.Unit), g.Division/2), g.decimals(), g.Unit)
}

func (s *Session) name(station int) string {
	if station < 0 {
		return sheet.OpenAir
	}
	return s.Car.Path[station].Name
}

func abs(x float64) float64 { return max(x, -x) }
