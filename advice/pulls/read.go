package pulls

import (
	"fmt"
	"io"
	"math"
	"strings"

	"dropwalk/advice/pulls/table"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
)

// Read reads one log. Warnings are cells that could not be read, with their
// places. The error is a strictyaml.Faults where the log can't be used, else
// that of the reader.
func Read(name string, in io.Reader, o Options) (*Result, strictyaml.Faults, error) {
	t, err := table.Open(name, in)
	if err != nil {
		return nil, nil, err
	}
	s, rows, err := open(t, name, o)
	if err != nil {
		return nil, nil, err
	}
	for _, row := range rows {
		s.take(row)
	}
	rows = nil
	for row := t.Next(); row != nil; row = t.Next() {
		s.take(row)
	}
	if err := t.Err(); err != nil {
		return nil, nil, err
	}
	s.finish()
	return s.result(name), t.Faults(), nil
}

// result judges what was read.
func (s *scan) result(name string) *Result {
	r := &Result{Version: Version, File: name, Rows: s.rows, Seconds: s.duration(), Gears: []Gear{}, Zeros: []Zero{}, Pairs: []Pair{},
		Found: []Pull{}, Nearly: []Near{}, Readings: []Reading{}, Fits: []Curve{}}
	s.dead()
	loads, gauges := s.loads(), s.gauges()
	pulls, nearly := s.judge(loads, gauges)
	r.Nearly = append(r.Nearly, nearly...)
	r.Reference = s.reference(pulls)
	for i := range pulls {
		s.flowAt(&pulls[i], r.Reference)
		r.Found = append(r.Found, pulls[i].Pull)
	}
	r.Skew = s.skews(loads, pulls)
	s.listGears(r)
	for _, g := range gauges {
		r.Zeros = append(r.Zeros, g.zero)
		s.gaugeNotes(g)
	}
	r.Pairs = s.pairs(gauges)
	s.readings(r, pulls, gauges)
	s.overFlow(r, pulls, gauges)
	s.exponentNotes(r)
	s.generalNotes(r, pulls, loads)
	s.listChannels(r)
	r.Rejected = append([]Rejected{}, s.rejected...)
	r.Notes = append([]string{}, s.notes...)
	return r
}

// dead rejects channels that say nothing in their role.
func (s *scan) dead() {
	for _, c := range s.watched {
		switch {
		case c.role == Load || c == s.rpm:
		case c.fresh == 0:
			s.reject(c, "it is empty")
		case c.up == c.low:
			s.reject(c, "it never moves: it stays at "+number(c.up)+unitBehind(c.unit))
		default:
			continue
		}
		switch c {
		case s.speed:
			s.speed = nil
		case s.flow:
			s.flow = nil
		}
	}
}

// reference is the engine speed at which pressure is read.
func (s *scan) reference(pulls []found) float64 {
	if s.options.RPM > 0 || len(pulls) == 0 {
		return s.options.RPM
	}
	least := math.Inf(1)
	for _, p := range pulls {
		least = min(least, p.RPMHigh)
	}
	return math.Floor(least/100) * 100
}

// flowAt reads the air flow of a pull at the reference engine speed.
func (s *scan) flowAt(f *found, rpm float64) {
	if s.flow == nil || rpm <= 0 {
		return
	}
	points := s.paired(*f, s.index(s.flow), 0, func(v float64) float64 { return v })
	if c, ok := fitCurve(points, 0, rpm); ok {
		v := c.value(rpm, 0)
		f.Flow = &v
	}
}

// kmh is the size of the unit of road speed in km/h; a head that doesn't say is
// taken for km/h.
func (s *scan) kmh() float64 {
	if v, err := quantity.From(1, quantity.Speed, s.speed.unit); err == nil && s.speed.unit != "" {
		return v * 3.6
	}
	return 1
}

func (s *scan) listGears(r *Result) {
	if s.speed == nil {
		return
	}
	// Samples of road speed come at its refresh; of a long log some were taken.
	each := s.speed.refresh() * float64(s.speed.fresh) / float64(max(s.gears.asked, 1))
	for i, p := range s.gears.peaks() {
		r.Gears = append(r.Gears, Gear{i + 1, p.ratio / s.kmh(), float64(p.count) * each})
	}
}

func (s *scan) listChannels(r *Result) {
	r.Channels = []Channel{{Name: s.timeName, Role: Time, Unit: s.timeUnit, By: s.timeBy()}}
	if step := s.step(); step > 0 {
		r.Channels[0].RefreshS = &step
	}
	for _, c := range s.channels {
		ch := Channel{Name: c.name, Role: c.role, Unit: c.unit, By: c.by}
		if refresh := c.refresh(); refresh > 0 {
			ch.RefreshS = &refresh
		}
		r.Channels = append(r.Channels, ch)
	}
}

func (s *scan) timeBy() string {
	for _, c := range s.options.Columns {
		if c.Role == Time {
			return ByUser
		}
	}
	if isTime(s.reader.Columns()[s.timeColumn]) {
		return ByName
	}
	return ByBehaviour
}

// readings reads every gauge on every pull.
func (s *scan) readings(r *Result, pulls []found, gauges []*gauge) {
	for i, p := range pulls {
		for _, g := range gauges {
			if !g.unitOK {
				continue
			}
			if reading, plot, ok := s.reading(p, g, r); ok {
				reading.Pull = i + 1
				plot.Reading = len(r.Readings)
				r.Readings = append(r.Readings, reading)
				if len(r.Plots) < mostPlots {
					r.Plots = append(r.Plots, plot)
				}
			} else {
				s.notes = append(s.notes, fmt.Sprintf("Pull %d has too few fresh samples of %q to read it.", i+1, g.name))
			}
		}
	}
}

// mostPlots is how many readings are kept for pictures: nobody looks at more, and
// the memory stays that of a short log.
const mostPlots = 12

// reading fits pressure over engine speed and reads it at the reference.
func (s *scan) reading(p found, g *gauge, r *Result) (Reading, Plot, bool) {
	clipped := 0
	points := s.paired(p, g.at, lagOf(r.Skew, g.name), func(raw float64) float64 {
		if g.clipped(raw) {
			clipped++
			return math.NaN()
		}
		return g.pa(raw)
	})
	c, ok := fitCurve(points, g.noise(), r.Reference)
	if !ok {
		return Reading{}, Plot{}, false
	}
	reading := Reading{Name: g.name, RPM: r.Reference, Pa: c.value(r.Reference, g.zeroSE), Exponent: c.exponent(),
		Samples: c.points, Spikes: c.left, Clipped: clipped, Outside: r.Reference < c.low || r.Reference > c.high}
	reading.Doubtful = doubts(p, g, c, r.Reference)
	plot := Plot{curve: c, zero: g.zeroSE}
	for _, x := range points {
		if x.y == x.y {
			plot.Points = append(plot.Points, Point{x.x, x.y})
		}
	}
	return reading, plot, true
}

// noise is the part of a gauge's error that doesn't grow with what it shows.
func (g *gauge) noise() float64 {
	return max(g.zero.SpreadPa, 1e-3*math.Abs(g.pa(far(g))))
}

// doubts says why a reading is doubtful.
func doubts(p found, g *gauge, c curve, rpm float64) string {
	var list []string
	if p.Doubtful != "" {
		list = append(list, p.Doubtful)
	}
	if g.zero.From == ZeroNone {
		list = append(list, "its zero is not known")
	}
	if c.y(rpm) > g.pa(g.end) {
		list = append(list, "beyond the end of the gauge's range")
	}
	const near = 0.05 // of the engine speeds that were driven
	if rpm > c.high*(1+near) || rpm < c.low*(1-near) {
		list = append(list, fmt.Sprintf("%.0f rpm was not driven", rpm))
	}
	return strings.Join(list, "; ")
}

// lagOf is the lag of a channel that a reading allows for.
func lagOf(list []Skew, name string) float64 {
	for _, k := range list {
		if k.Name == name && k.LagS != nil {
			return max(0, *k.LagS)
		}
	}
	return 0
}

// overFlow fits pressure over air flow, over all pulls, or over the whole log
// where it has no engine speed.
func (s *scan) overFlow(r *Result, pulls []found, gauges []*gauge) {
	if s.flow == nil {
		return
	}
	for _, g := range gauges {
		if !g.unitOK {
			continue
		}
		points := s.flowPoints(pulls, g)
		top := 0.0
		for _, p := range points {
			top = max(top, p.x)
		}
		if c, ok := fitCurve(points, g.noise(), max(top, 1e-9)); ok {
			r.Fits = append(r.Fits, Curve{g.name, s.flow.name, c.exponent(), c.points})
		}
	}
}

func (s *scan) flowPoints(pulls []found, g *gauge) []point {
	var points []point
	if s.rpm == nil {
		still, at := s.lowestFlow(), s.index(s.flow)
		for _, row := range s.some.rows {
			if row[at] > still && row[g.at] == row[g.at] && !g.clipped(row[g.at]) {
				points = append(points, point{row[at], g.pa(row[g.at])})
			}
		}
		return points
	}
	for _, p := range pulls {
		flow := p.c.samples[s.index(s.flow)]
		for _, x := range p.c.samples[g.at] {
			if x.t < p.from || x.t > p.to || g.clipped(x.v) {
				continue
			}
			if q, ok := inBetween(flow, x.t); ok {
				points = append(points, point{q, g.pa(x.v)})
			}
		}
	}
	return points
}
