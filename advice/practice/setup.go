package practice

import "math"

// SetupFault is what the tester did wrong, not the car.
type SetupFault string

// Setup faults. NoSetupFault is none.
const (
	NoSetupFault SetupFault = ""
	LeakOne      SetupFault = "leak at one tap"
	LeakAll      SetupFault = "leak in the hose"
	SwappedTaps  SetupFault = "swapped taps"
	ZeroOff      SetupFault = "zero off"
	Burr         SetupFault = "burr at one tap"
	PartLoad     SetupFault = "part load"
	WrongGear    SetupFault = "wrong gear"
	OverRange    SetupFault = "gauge too small"
)

// SetupFaults lists them all, without NoSetupFault.
func SetupFaults() []SetupFault {
	return []SetupFault{LeakOne, LeakAll, SwappedTaps, ZeroOff, Burr, PartLoad, WrongGear, OverRange}
}

// harm is one setup fault with its size. Indices are of components.
type harm struct {
	at, other int     // stations: the one that suffers, and the one it is swapped with
	share     float64 // of the suction, the flow or the rpm that is left; of the velocity head that is added
	shift     float64 // Pa, of the gauge's zero
	from      int     // first run that suffers from the shift
}

// drawHarm sizes the fault of this session.
func (s *Session) drawHarm(d dice) harm {
	taps := s.Car.taps()
	h := harm{at: taps[d.IntN(len(taps))], share: 1}
	h.other = taps[(d.IntN(len(taps))+1)%len(taps)]
	switch s.Fault {
	case LeakOne:
		h.share = d.between(0.1, 0.7)
	case LeakAll:
		h.share = d.between(0.4, 0.85)
	case SwappedTaps:
		h.at, h.other = s.farTaps(d, taps)
	case ZeroOff:
		h.shift = d.between(0.8, 4) * inch
		if d.chance(0.4) {
			h.shift = -h.shift
		}
		h.from = [...]int{1, 4, 7}[d.pick(0.6, 0.25, 0.15)]
	case Burr:
		h.at = s.fastTap(d, taps)
		h.share = d.between(0.15, 1.1)
		if d.chance(0.3) {
			h.share = -h.share
		}
	case PartLoad:
		h.share = d.between(0.6, 0.88)
	case WrongGear:
		h.share = d.between(0.6, 0.8)
	}
	return h
}

// Mend puts one setup fault right and tells whether it was there: the hose is
// made tight, labels are changed, the zero is set, the edge is cleaned, the driver
// goes to the floor in the right gear. A gauge that was too small gets company.
func (s *Session) Mend(f SetupFault) bool {
	if f == NoSetupFault || s.Fault != f {
		return false
	}
	s.Fault = NoSetupFault
	if f == OverRange {
		larger := widestGauge
		larger.err(roll(s.Seed^scramble(s.Car.Seed), "larger gauge"), s.m)
		s.Gauges = append([]Gauge{larger}, s.Gauges...)
	}
	return true
}

// taps are the stations where a gauge can be connected, by component.
func (c *Car) taps() []int {
	var taps []int
	for i := range c.Path {
		if c.Path[i].tappable() {
			taps = append(taps, i)
		}
	}
	return taps
}

// farTaps are two neighbouring taps to be taken for each other; the same twice where
// there is only one.
func (s *Session) farTaps(d dice, taps []int) (int, int) {
	if len(taps) < 2 {
		return taps[0], taps[0]
	}
	i := d.IntN(len(taps) - 1)
	return taps[i], taps[i+1]
}

// fastTap is one where air flows past; a burr in still air does nothing.
func (s *Session) fastTap(d dice, taps []int) int {
	var fast []int
	for _, i := range taps {
		if !s.Car.Path[i].still() {
			fast = append(fast, i)
		}
	}
	if len(fast) == 0 {
		return taps[len(taps)-1]
	}
	return fast[d.IntN(len(fast))]
}

// slowed is the share of the throttle and of the rpm on a run for a station.
func (s *Session) slowed(station int) (load, speed float64) {
	if station != s.harm.at {
		return 1, 1
	}
	switch s.Fault {
	case PartLoad:
		return s.harm.share, 1
	case WrongGear:
		return 1, s.harm.share
	}
	return 1, 1
}

// mistaken is the station where the hose truly is when the tester believes it at i.
func (s *Session) mistaken(i int) int {
	if s.Fault == SwappedTaps && i >= 0 {
		switch i {
		case s.harm.at:
			return s.harm.other
		case s.harm.other:
			return s.harm.at
		}
	}
	return i
}

// shift of the zero on a run, Pa.
func (s *Session) shift(run int) float64 {
	if s.Fault == ZeroOff && run >= s.harm.from {
		return s.harm.shift
	}
	return 0
}

// Impact is what the setup fault of a session does to the losses that a tester
// would work out from readings at every tap, in Pa at the reference point.
type Impact struct {
	Loss    []float64 // change for each of Car.Groups
	Total   float64   // change of the whole path
	Largest float64   // largest size among them
}

// Impact compares the session with the same one without its fault. A shift of
// the zero counts as if it had been there from the first run; a wrong gear as if
// nobody corrected for it.
func (s *Session) Impact() Impact {
	sound := *s
	sound.Fault = NoSetupFault
	var im Impact
	before := 0.0
	for _, i := range s.Car.taps() {
		change := s.plain(i) - sound.plain(i)
		im.Loss = append(im.Loss, change-before)
		im.Largest = max(im.Largest, math.Abs(change-before))
		before, im.Total = change, change
	}
	im.Largest = max(im.Largest, math.Abs(im.Total))
	return im
}

// plain is what a faultless gauge would show at a station on an ordinary run.
func (s *Session) plain(i int) float64 {
	load, speed := s.slowed(i)
	rpm := speed * s.Car.Engine.RPM
	r := run{rpm: rpm, flow: load * s.Car.Engine.flow(rpm, s.air), air: s.air}
	r.suction = s.suctions(&r)
	shown := s.suctionAt(&r, i) - s.suctionAt(&r, -1)
	if s.Fault == ZeroOff {
		shown += s.harm.shift
	}
	if s.Fault == OverRange {
		shown = min(shown, s.Gauges[0].pascals(s.Gauges[0].Range))
	}
	return shown
}
