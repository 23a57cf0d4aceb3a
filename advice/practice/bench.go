package practice

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// Bench is one visit to a learners' car as somebody lives through it: what can
// be seen, run by run, and what changes once something is put right. Nothing on
// it tells more than a person at the car would see. It is not safe for two
// goroutines.
//
// What it shows follows from the case, the seed and the calls so far, so that a
// visit that is taken up again goes on as it was left.
type Bench struct {
	Case  *Case
	Sheet *sheet.Sheet // what the car's papers, a tape and the weather station say

	s     *Session
	shelf []Gauge
	gauge int // on the shelf, the one in use
	on    []int
	last  *Pull
	pulls int
}

// Bench opens the bench of this car. The same case and seed give the same visit.
func (c *Case) Bench(seed uint64) *Bench {
	s := c.Session(seed)
	b := &Bench{Case: c, Sheet: s.Describe(c.Tape), s: s, shelf: slices.Clone(s.Gauges)}
	if c.held() {
		b.Sheet.Car.Engine.BoostControl = c.Car.Engine.BoostControl // without it nobody could tell
	}
	if s.Fault == OverRange {
		larger := widestGauge
		larger.err(roll(s.Seed^scramble(s.Car.Seed), "larger gauge"), s.m)
		b.shelf = append(b.shelf, larger)
	}
	if d := roll(s.Seed^scramble(s.Car.Seed), "sway"); s.sway == 0 && s.Car.Engine.Cylinders <= 3 {
		s.sway = d.between(0.03, 0.06) // few cylinders always swing
	}
	b.s.harm.from = 1                              // between runs nobody could see a zero move
	b.s.harm.at, b.s.harm.other = nowhere, nowhere // where it strikes follows from where the taps go
	return b
}

// nowhere is the station of a fault that has not struck yet.
const nowhere = -9

// Needle is what a gauge shows, in its own unit.
type Needle struct {
	Gauge      Gauge
	Low, High  float64 // ends of its swing, the same where it stands still
	Stop       bool    // it lies against its stop
	Unreadable bool    // it flutters too fast
}

// Value is the middle of the swing, in the unit of the gauge.
func (n *Needle) Value() float64 { return (n.Low + n.High) / 2 }

// Text is what a careful person writes down.
func (n *Needle) Text() string {
	switch {
	case n.Unreadable:
		return "?"
	case n.Stop:
		return above(n.Gauge.Range, n.Gauge.decimals(), n.Gauge.Unit).Raw
	}
	middle := n.Gauge.pascals(n.Value())
	return n.Gauge.read(middle, n.Gauge.pascals((n.High-n.Low)/2)).Raw
}

// Holds tells whether a value in Pa lies where the needle was, give or take a
// division.
func (n *Needle) Holds(pa float64) bool {
	slack := n.Gauge.pascals(n.Gauge.Division) * 1.001
	return pa >= n.Gauge.pascals(n.Low)-slack && pa <= n.Gauge.pascals(n.High)+slack
}

// Pull is a run at full load as a passenger sees it.
type Pull struct {
	Needle
	From, To string
	RPM      float64 // highest, by the rev counter
	Foot     bool    // the pedal was on the floor
	Gear     int     // 0 on rollers
	number   int
}

// Shelf are the gauges that lie at hand.
func (b *Bench) Shelf() []Gauge { return slices.Clone(b.shelf) }

// Gauge is the one in use.
func (b *Bench) Gauge() Gauge { return b.shelf[b.gauge] }

// Take takes the gauge from the shelf whose range, in Pa, is nearest to the one
// that was asked for. It tells whether there is such a gauge.
func (b *Bench) Take(pascals float64) bool {
	off := func(g *Gauge) float64 { return math.Abs(math.Log(g.pascals(g.Range) / pascals)) }
	for i := range b.shelf {
		if off(&b.shelf[i]) < off(&b.shelf[b.gauge]) {
			b.gauge = i
		}
	}
	return off(&b.shelf[b.gauge]) < 0.02
}

// TooSmall tells whether the gauge in use is one that this path drives off its
// scale while a larger one lies there.
func (b *Bench) TooSmall() bool {
	return b.s.Fault == OverRange && b.gauge != len(b.shelf)-1
}

// Leak is the leak check of the hose: where the needle is drawn to, and where it
// stands half a minute later.
func (b *Bench) Leak() (start, end Needle) {
	g := b.Gauge()
	lost := 1 - b.s.leak[1]/b.s.leak[0]
	if b.Case.Setup.Fault == LeakAll && b.s.Fault != LeakAll {
		lost = 0.012 // the renewed hose
	}
	from := round(0.5*g.Range, g.Division)
	to := round(from*(1-lost), g.Division/2)
	if to == from && lost > 0.02 {
		to = from - g.Division/2
	}
	still := func(v float64) Needle { return Needle{Gauge: g, Low: v, High: v} }
	return still(from), still(to)
}

// Leaks tells whether the hose leaks.
func (b *Bench) Leaks() bool { return b.s.Fault == LeakAll }

// Rest is the needle with no pressure on it, as it stands now.
func (b *Bench) Rest() Needle {
	g := b.Gauge()
	at := fromSI(g.rest(b.pulls+1)+b.s.shift(b.pulls+1), g.Unit)
	return Needle{Gauge: g, Low: at, High: at}
}

// ZeroOff tells whether the needle rests where it should not.
func (b *Bench) ZeroOff() bool { return b.s.shift(b.pulls+1) != 0 }

// Fit makes a tap at a component of the path. The first one may be the bad one.
func (b *Bench) Fit(at int) {
	if slices.Contains(b.on, at) {
		return
	}
	b.on = append(b.on, at)
	switch b.s.Fault {
	case LeakOne:
		b.strike(at)
	case Burr:
		if !b.Case.Car.Path[at].still() {
			b.strike(at)
		}
	case SwappedTaps:
		if len(b.on) == 1 {
			b.s.harm.at, b.s.harm.other = at, b.beside(at)
		}
	}
}

// beside is the place of a tap next to another one: that ahead of it, else that
// behind it, else the same.
func (b *Bench) beside(at int) int {
	for i := at - 1; i >= 0; i-- {
		if b.CanTap(i) {
			return i
		}
	}
	for i := at + 1; i < len(b.Case.Car.Path); i++ {
		if b.CanTap(i) {
			return i
		}
	}
	return at
}

func (b *Bench) strike(at int) {
	if b.s.harm.at == nowhere {
		b.s.harm.at = at
	}
}

// BadTap tells what is wrong with the tap at a component: LeakOne, Burr or
// nothing. A tap that is about to be made shows what it will be.
func (b *Bench) BadTap(at int) SetupFault {
	f := b.s.Fault
	if f != LeakOne && f != Burr {
		return NoSetupFault
	}
	if b.s.harm.at == at || b.s.harm.at == nowhere && (f == LeakOne || !b.Case.Car.Path[at].still()) {
		return f
	}
	return NoSetupFault
}

// Ends is the component at whose tap the hose truly ends that its label gives to
// another.
func (b *Bench) Ends(at int) int { return b.s.mistaken(at) }

// Drive makes one run with the gauge between two components of the path; from is
// -1 for the open air. Where nothing can be connected the needle stays at rest.
func (b *Bench) Drive(from, to int) {
	b.pulls++
	s := b.s
	s.runs = b.pulls - 1
	if s.Fault == PartLoad || s.Fault == WrongGear {
		s.harm.at = nowhere
		if b.pulls%3 == 2 { // one in three
			s.harm.at = to
		}
	}
	r := s.drive(to)
	d := s.chance("needle", r.number)
	g := &b.shelf[b.gauge]
	shown, width := g.rest(r.number)+s.shift(r.number), 0.0
	if to >= 0 {
		shown, width = s.needle(r, from, to, g, d)
	}
	p := &Pull{
		Needle: needleAt(*g, shown, width), From: s.name(from), number: r.number, Foot: !(s.Fault == PartLoad && s.harm.at == to),
		RPM: round(r.rpm*(1+s.tach+s.jitter(d, 0.003)), 10),
	}
	if to >= 0 {
		p.To = s.name(to)
	}
	p.Unreadable = d.chance(s.m.unread)
	if s.Place != "rolling-road" {
		if p.Gear = 2; r.slow {
			p.Gear = 3
		}
	}
	b.last = p
}

// Aim sets the engine speed in rpm at which the runs end. No engine turns much
// faster than at its peak.
func (b *Bench) Aim(rpm float64) { b.s.target = min(rpm, 1.08*b.Case.Car.Engine.RPM) }

// Aimed is that engine speed.
func (b *Bench) Aimed() float64 { return cmp.Or(b.s.target, b.Case.Car.Engine.RPM) }

// Slow tells whether a run was made in too high a gear.
func (b *Bench) Slow(p *Pull) bool { return p != nil && p.RPM < 0.9*b.Aimed() }

// Last is the latest run, nil before the first.
func (b *Bench) Last() *Pull { return b.last }

// Pulls is how many runs were made.
func (b *Bench) Pulls() int { return b.pulls }

func needleAt(g Gauge, shown, width float64) Needle {
	v := fromSI(shown, g.Unit)
	if v > g.Range {
		return Needle{Gauge: g, Low: g.Range, High: g.Range, Stop: true}
	}
	v = max(v, -g.Range)
	w := min(fromSI(width, g.Unit), g.Range-v, v+g.Range)
	if round(v-w, g.Division/2) == round(v+w, g.Division/2) {
		w = 0
	}
	return Needle{Gauge: g, Low: v - w, High: v + w}
}

// Mend puts a fault of the setup right and tells whether it was there.
func (b *Bench) Mend(f SetupFault) bool {
	if f == NoSetupFault || b.s.Fault != f {
		return false
	}
	if f == OverRange {
		b.gauge = len(b.shelf) - 1
	}
	b.s.Fault = NoSetupFault
	return true
}

// Fault is the fault of the setup that is still there.
func (b *Bench) Fault() SetupFault { return b.s.Fault }

// RoadSpeed is the speed for each 1000 rpm in second gear in km/h, and the limit
// of the road, both as they would be typed. Of a place that is no road both are 0.
func (b *Bench) RoadSpeed() (per1000, limit float64) {
	per1000 = round(3.6*1000*b.s.road.perRev, 0.5)
	limit = 100
	for per1000*b.Case.Car.Engine.RPM/1000 > limit {
		limit += 10
	}
	return per1000, limit
}

// Place is where the runs are made.
func (b *Bench) Place() string { return b.s.Place }

// CanTap tells whether a gauge can be connected behind a component.
func (b *Bench) CanTap(at int) bool {
	c := &b.Case.Car.Path[at]
	return c.tappable() && c.Kind != mouth && c.Kind != meter && c.Kind != throttle
}

// Number is a value of this gauge as it is written, without its unit.
func (g *Gauge) Number(v float64) string {
	text := amount(quantity.PressureDiff, v, g.decimals(), g.Unit).Raw
	return text[:len(text)-len(g.Unit)-1]
}

// Pascals is a value in the gauge's unit as Pa.
func (g *Gauge) Pascals(v float64) float64 { return g.pascals(v) }

// Text is the gauge as a person calls it: "25 inH2O by 0.5 inH2O".
func (g *Gauge) Text() string {
	n := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) + " " + g.Unit }
	return n(g.Range) + " by " + n(g.Division)
}

// Dice are throws that follow from the case, the seed and a name: a whole number
// from 0 to n-1 each time.
func (b *Bench) Dice(name string) func(n int) int {
	d := roll(b.s.Seed^scramble(b.Case.Car.Seed), name)
	return d.IntN
}
