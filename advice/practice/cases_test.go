package practice

import (
	"strings"
	"testing"
)

func TestCarsAreSolvable(t *testing.T) {
	for _, c := range Cars() {
		if why := c.Unclear(); why != "" {
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
		for _, i := range c.Car.faulty() {
			faults[c.Car.Path[i].Fault] = true
		}
		if (c.Answer() == nil) != (len(c.Car.faulty()) == 0 || c.held()) {
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
