package practice

import (
	"math"
	"testing"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// twice makes the same quiet visit without and with a fault.
func twice(c *Car, f SetupFault, seed uint64) (sound, bad *Session) {
	o := Setup{Quiet: true, Zeros: Yes, Check: Yes, Fine: No}
	sound = c.Session(seed, o)
	o.Fault = f
	return sound, c.Session(seed, o)
}

// values by station, on a walk with one run each.
func values(t *testing.T, s *Session) map[string]quantity.Amount {
	t.Helper()
	out := map[string]quantity.Amount{}
	for _, i := range s.Car.taps() {
		r, err := s.Measure(sheet.OpenAir, s.name(i), s.Gauges[0].Name, 1)
		if err != nil {
			t.Fatal(err)
		}
		out[s.name(i)] = r[0].Value
	}
	return out
}

func TestSetupFaultsChangeWhatTheyShould(t *testing.T) {
	single := map[SetupFault]bool{LeakOne: true, Burr: true, PartLoad: true, WrongGear: true}
	for _, f := range SetupFaults() {
		if f == OverRange {
			continue
		}
		for seed := range uint64(60) {
			c := Draw(seed, Options{})
			sound, bad := twice(c, f, seed)
			a, b := values(t, sound), values(t, bad)
			for name, v := range a {
				w := b[name]
				if v.Form != quantity.Exact || w.Form != quantity.Exact {
					continue
				}
				alone := single[f] && name != c.Path[bad.harm.at].Name
				if f == SwappedTaps && name != c.Path[bad.harm.at].Name && name != c.Path[bad.harm.other].Name {
					alone = true
				}
				if alone && v.SI != w.SI {
					t.Errorf("seed %d: %q at %s changes %s from %s to %s", seed, f, c.Path[bad.harm.at].Name, name, v.Raw, w.Raw)
				}
				if (f == LeakAll || f == PartLoad && !alone) && w.SI > v.SI {
					t.Errorf("seed %d: %q raises %s from %s to %s", seed, f, name, v.Raw, w.Raw)
				}
			}
		}
	}
}

// The impact that is told is the change that the gauge shows.
func TestImpactIsWhatTheReadingsShow(t *testing.T) {
	for _, f := range SetupFaults() {
		for seed := range uint64(60) {
			c := Draw(seed, Options{})
			sound, bad := twice(c, f, seed)
			if f == ZeroOff && bad.harm.from > 1 || f == OverRange {
				continue
			}
			a, b := values(t, sound), values(t, bad)
			taps := c.taps()
			end := c.Path[taps[len(taps)-1]].Name
			if a[end].Form != quantity.Exact || b[end].Form != quantity.Exact {
				continue
			}
			g := &sound.Gauges[0]
			// Two values, each rounded.
			if got, want := bad.Impact().Total, b[end].SI-a[end].SI; math.Abs(got-want) > 2*halfStep(g)+1e-6 {
				t.Errorf("seed %d, %q: impact on the whole path %v, readings differ by %v", seed, f, got, want)
			}
		}
	}
}

func TestImpactAddsUp(t *testing.T) {
	for _, f := range SetupFaults() {
		large := 0
		for seed := range uint64(200) {
			c := Draw(seed, Options{Hand: Hand(seed % 3)})
			im := c.Session(seed, Setup{Fault: f}).Impact()
			if len(im.Loss) != len(c.taps()) || math.Abs(sum(im.Loss)-im.Total) > 1e-6 {
				t.Errorf("seed %d, %q: changes %v of a total of %v", seed, f, im.Loss, im.Total)
			}
			if im.Largest > 2*inch {
				large++
			}
		}
		// A burr seldom reaches 2 inH2O: the velocity head bounds it.
		if least := map[SetupFault]int{Burr: 1}[f]; large < max(least, 1) || f != Burr && large < 20 {
			t.Errorf("%q changes a loss by more than 2 inH2O on %d of 200 cars", f, large)
		}
		t.Logf("%-18s above 2 inH2O on %d of 200", f, large)
	}
	im := Draw(1, Options{}).Session(1, Setup{}).Impact()
	if im.Largest != 0 {
		t.Errorf("a visit without setup fault changes a loss by %v", im.Largest)
	}
}

func TestZerosTellOfAShiftedZero(t *testing.T) {
	for seed := range uint64(60) {
		c := Draw(seed, Options{})
		s := c.Session(seed, Setup{Quiet: true, Fault: ZeroOff, Zeros: Yes})
		sh := s.FullWalk(Bare)
		last := sh.Readings[len(sh.Readings)-1]
		g := &s.Gauges[0]
		if len(sh.Readings) < s.harm.from {
			continue
		}
		if math.Abs(last.ZeroAfter.SI-s.harm.shift) > halfStep(g)+1e-6 {
			t.Errorf("seed %d: the zero reads %s, is off by %v", seed, last.ZeroAfter.Raw, s.harm.shift)
		}
		for _, r := range c.Session(seed, Setup{Fault: ZeroOff, Zeros: No}).FullWalk(Bare).Readings {
			if r.ZeroBefore.Given() || r.ZeroAfter.Given() {
				t.Errorf("seed %d: a zero that nobody wrote down: %+v", seed, r)
			}
		}
	}
}

// Common practice: a hose that loses less than 5 % in 30 s is tight.
func TestLeakCheckTellsOfALeakingHose(t *testing.T) {
	for seed := range uint64(200) {
		for _, f := range []SetupFault{NoSetupFault, LeakAll} {
			check := Draw(seed, Options{}).Session(seed, Setup{Fault: f, Check: Yes}).Describe(Bare).Checks[0]
			lost := 1 - check.End.SI/check.Start.SI
			// Rounding to 0.1 of at least 10 inH2O adds half a percent.
			if tight := lost < 0.051; tight != (f == NoSetupFault) {
				t.Errorf("seed %d, fault %q: the check lost %.3f", seed, f, lost)
			}
		}
	}
}

func TestSmallGaugeRunsOffItsScale(t *testing.T) {
	for seed := range uint64(100) {
		c := Draw(seed, Options{})
		s := c.Session(seed, Setup{Quiet: true, Fault: OverRange})
		r, err := s.Measure(sheet.OpenAir, c.Path[len(c.Path)-1].Name, s.Gauges[0].Name, 1)
		if err != nil || r[0].Value.Form != quantity.Above {
			t.Errorf("seed %d: %v, %v, want a value off the scale", seed, r, err)
		}
	}
}
