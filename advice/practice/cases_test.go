package practice

import (
	"slices"
	"strings"
	"testing"
)

// solvable says why a case has no clear answer, "" where it has one. A clear
// answer is: the fault sits in the group with the most to give back, by a factor
// that readings can show; or nothing gives back as much as would pay. A setup
// fault must be large enough to matter, and leave a trace on the sheet.
func solvable(c *Case) string {
	car := c.Car
	t := &car.Truth
	if faulty := faulty(car); len(faulty) == 0 {
		// Half of what would be worth it, so that readings can tell.
		if t.Best >= 0 && t.Gain[t.Best] > Worth/2 {
			return "nothing is wrong, yet something would pay"
		}
	} else {
		g, ok := car.Standout(t.Recoverable, 2.5*inch, 1.6)
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
	return traceable(c)
}

func faulty(car *Car) []int {
	var out []int
	for i := range car.Path {
		if car.Path[i].Fault != Sound {
			out = append(out, i)
		}
	}
	return out
}

// traceable says why a setup fault can't be noticed, "" where it can or where
// there is none.
func traceable(c *Case) string {
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

func TestCarsAreSolvable(t *testing.T) {
	for _, c := range Cars() {
		if why := solvable(c); why != "" {
			t.Errorf("%s: %s", c.Name, why)
		}
	}
}

func TestCarsSpanTheTrade(t *testing.T) {
	cars := Cars()
	if len(cars) < 24 {
		t.Errorf("%d cars, want 24 or more", len(cars))
	}
	names, faults, setups, levels := map[string]bool{}, map[Fault]bool{}, map[SetupFault]bool{}, map[int]int{}
	alone := 0
	for _, c := range cars {
		if names[c.Name] {
			t.Errorf("two cars are called %q", c.Name)
		}
		names[c.Name], setups[c.Setup.Fault] = true, true
		levels[c.Level]++
		for _, i := range faulty(c.Car) {
			faults[c.Car.Path[i].Fault] = true
		}
		if (c.Answer() == nil) != (len(faulty(c.Car)) == 0) {
			t.Errorf("%s: answer %v", c.Name, c.Answer())
		}
		if c.Answer() == nil {
			alone++
		}
		if c.Story == "" || c.Debrief == "" || strings.Contains(c.Story, "\n\n") {
			t.Errorf("%s: story %q", c.Name, c.Story)
		}
		sh := c.Session(1).FullWalk(c.Tape)
		if sh.Car.Name != c.Name || sh.Title != c.Title {
			t.Errorf("%s: the sheet is called %q, %q", c.Name, sh.Car.Name, sh.Title)
		}
	}
	if len(faults) != len(Faults()) || len(setups) != len(SetupFaults())+1 || len(levels) != 4 || alone < 2 {
		t.Errorf("faults %v, setup faults %v, levels %v, %d to leave alone", faults, setups, levels, alone)
	}
}

func TestFind(t *testing.T) {
	if c, err := Find("turnip"); err != nil || c.Name != "turnip" {
		t.Errorf("Find(turnip) = %v, %v", c, err)
	}
	if _, err := Find("turnpi"); err == nil || !strings.Contains(err.Error(), `did you mean "turnip"?`) {
		t.Errorf("Find(turnpi) = %v, want a hint", err)
	}
	if _, err := Find("zzzzzzzz"); err == nil || !strings.Contains(err.Error(), "biscuit") {
		t.Errorf("Find(zzzzzzzz) = %v, want the names", err)
	}
}

func TestReadCasesNamesTheFault(t *testing.T) {
	src := strings.Replace(string(carsFile), "level: 1", "levle: 1", 1)
	if _, err := readCases("cars.yaml", []byte(src)); err == nil || !strings.Contains(err.Error(), "cars.yaml:8:") {
		t.Errorf("a slip in the file gives %v, want its line", err)
	}
	src = strings.Replace(string(carsFile), "1198 cc", "1198 mm", 1)
	if _, err := readCases("cars.yaml", []byte(src)); err == nil {
		t.Errorf("a displacement in mm is taken")
	}
}

func TestMend(t *testing.T) {
	for _, f := range SetupFaults() {
		c := Draw(8, Options{})
		s := c.Session(1, Setup{Fault: f})
		if s.Mend(NoSetupFault) || f != Burr && s.Mend(Burr) {
			t.Errorf("%q: mended what was not broken", f)
		}
		if !s.Mend(f) || s.Mend(f) || s.Impact().Largest != 0 {
			t.Errorf("%q: not mended once", f)
		}
		end := c.Path[len(c.Path)-1].Name
		if g := &s.Gauges[0]; f == OverRange && g.pascals(g.Range) < c.Truth.Reading[c.Index(end)] {
			t.Errorf("the larger gauge is too small")
		}
	}
}
