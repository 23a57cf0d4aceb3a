package practice

import "slices"

// most is how many draws are tried for another car of one story.
const mostDraws = 4000

// With is another car of the same story, with other figures: the one that belongs
// to a seed. Seed 0 is the car of the file. Each has as clear an answer as that
// one. It takes some milliseconds.
func (c *Case) With(seed uint64) *Case {
	if seed == 0 {
		return c
	}
	d := roll(seed, "car of "+c.Name)
	spec := Engine{
		Displacement: c.Car.Engine.Displacement, Cylinders: c.Car.Engine.Cylinders,
		Fuel: c.Car.Engine.Fuel, Induction: c.Car.Engine.Induction, BoostControl: c.spec.BoostControl,
	}
	for range mostDraws {
		other := *c
		other.Seed = seed
		other.Car = Draw(d.Uint64(), Options{Hand: c.Car.Hand, Engine: spec, Faults: c.Faults})
		if other.unclear(2) == "" && other.alike(c) {
			return &other
		}
	}
	return c // no draw is like it; tests hold that there is one
}

// alike tells whether what the story speaks of is the same on both cars: the number
// of snorkels, whether there is anything to change, and which fault costs most.
func (c *Case) alike(other *Case) bool {
	twin := func(x *Case) bool {
		return slices.ContainsFunc(x.Car.Path, func(p Component) bool { return p.Share < 1 })
	}
	worst := func(x *Case) Fault {
		if x.Car.Truth.Best < 0 || len(x.Faults) < 2 {
			return Sound
		}
		return x.Car.Path[x.Car.Truth.Best].Fault
	}
	return twin(c) == twin(other) && worst(c) == worst(other) && (c.Answer() == nil) == (other.Answer() == nil)
}

// Unclear says why a case has no clear answer, "" where it has one. A clear
// answer is: the fault sits in the group with the most to give back, by a factor
// that readings can show; or nothing gives back as much as would pay. A setup
// fault must be large enough to matter, and leave a trace.
func (c *Case) Unclear() string { return c.unclear(standsOut) }

// standsOut is the factor by which a fault has to stand out.
const standsOut = 1.6

// unclear is the same where the fault has to stand out by a factor.
func (c *Case) unclear(times float64) string {
	car := c.Car
	t := &car.Truth
	bad := car.faulty()
	switch {
	case c.held():
		if _, ok := car.Standout(t.Loss, 2.5*inch, times); !ok {
			return "no loss stands out"
		}
		if t.Best >= 0 && t.Gain[t.Best] > Worth/2*standsOut/times {
			return "something would pay"
		}
	case len(bad) == 0:
		// Half of what would be worth it, so that readings can tell.
		if t.Best >= 0 && t.Gain[t.Best] > Worth/2*standsOut/times {
			return "nothing is wrong, yet something would pay"
		}
	default:
		g, ok := car.Standout(t.Recoverable, 2.5*inch, times)
		switch {
		case !ok:
			return "nothing stands out"
		case !slices.Contains(g, t.Best) || car.Path[t.Best].Fault == Sound:
			return "the best change is not the fault"
		case t.Gain[t.Best] < 1.6*Worth:
			return "the fault is not worth its cure"
		case len(g) > 3:
			return "the fault hides among too many parts"
		}
	}
	return c.untraceable()
}

// held tells whether the engine holds its boost whatever the path loses: then
// there is a loss, and hardly a gain.
func (c *Case) held() bool {
	return len(c.Faults) > 0 && c.Car.Engine.Induction != natural && c.Car.Engine.BoostControl == "absolute"
}

// faulty are the components with a fault.
func (c *Car) faulty() []int {
	var out []int
	for i := range c.Path {
		if c.Path[i].Fault != Sound {
			out = append(out, i)
		}
	}
	return out
}

// untraceable says why a setup fault can't be noticed on a sheet, "" where it
// can or where there is none.
func (c *Case) untraceable() string {
	s := c.Session(1)
	im := s.Impact()
	floor := 2 * inch
	if s.Fault == Burr {
		floor = inch // the velocity head bounds it
	}
	switch {
	case s.Fault == NoSetupFault:
		return ""
	case im.Largest < floor:
		return "the setup fault changes nothing"
	case len(im.Loss) < 3:
		return "too few taps"
	case s.Fault == ZeroOff && !s.notes.zeros:
		return "a zero that nobody wrote down"
	case s.Fault == LeakAll && !s.notes.check:
		return "a leak that nobody checked for"
	case s.Fault == WrongGear || s.Fault == ZeroOff || s.Fault == LeakAll || s.Fault == OverRange:
		return ""
	}
	for k, g := range c.Car.Groups() {
		seen := im.Loss[k]
		for _, i := range g {
			seen += c.Car.Truth.Loss[i]
		}
		if seen < -0.8*inch {
			return ""
		}
	}
	return "no loss seems to fall"
}
