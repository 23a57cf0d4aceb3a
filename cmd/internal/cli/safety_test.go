package cli

import (
	"slices"
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/engine"
)

// sitter answers the shipped procedure and stops where a test wants to look.
type sitter struct {
	t     *testing.T
	run   *engine.Run
	typed tester
}

func newSitter(t *testing.T, typed tester) *sitter {
	t.Helper()
	s := &sitter{t, engine.NewRun(loadIntake(t), &advice.Matter{}), tester{}}
	for _, m := range []tester{firstTimer, typed} {
		for k, v := range m {
			s.typed[k] = v
		}
	}
	s.run.Apply(s.run.Start(nil))
	return s
}

// at answers prompts until the one whose slot or step is named.
func (s *sitter) at(where string) engine.Prompt {
	s.t.Helper()
	last, found := "", engine.Prompt{}
	through(s.t, s.run, func(p engine.Prompt) (engine.Answer, bool) {
		if last = p.Slot; p.Slot == where || p.Step == where {
			found = p
			return engine.Answer{}, false
		}
		return engine.Answer{Text: s.typed.answer(p)}, true
	})
	if found.Step == "" {
		s.t.Fatalf("%q never comes; the last place is %q", where, last)
	}
	return found
}

func (s *sitter) do(a engine.Answer) {
	s.t.Helper()
	propose(s.t, s.run, s.open(), a)
}

// open is the place that is open once everything due is settled.
func (s *sitter) open() engine.Prompt {
	p, _ := settled(s.run)
	return p
}

// At a second reading the taps of the first are plugged before the hose goes on,
// the leak check is made with the hose off its tap, and the hold before the runs
// asks for both.
func TestTapsWithoutAHoseArePlugged(t *testing.T) {
	s := newSitter(t, nil)
	first := s.at("walk.1/connect")
	if strings.Contains(first.Text, "second hose") || !strings.Contains(first.Text, "open to still outside air") {
		t.Errorf("the first reading says %q", first.Text)
	}
	s.at("walk.1/closed-hold")
	for _, e := range s.run.Passed() {
		if e.Step == "plug-taps" {
			t.Error("at the first reading there is no tap to plug")
		}
	}
	p := s.at("walk.2/plug-taps")
	if want := "stays without a hose: tube."; !strings.Contains(p.Text, want) {
		t.Errorf("it says %q, want %q", p.Text, want)
	}
	s.at("walk.2/leak-check")
	s.at("walk.2/connect")
	hold := s.at("walk.2/closed-hold")
	for _, want := range []string{"The hose is back on its tap, and the syringe is off.", "Every tap without a hose is plugged."} {
		if !slices.Contains(hold.Lines, want) {
			t.Errorf("the hold lacks %q: %q", want, hold.Lines)
		}
	}
}

// The holds on place and people come again where the place or the speed on the
// road was changed after them, in whatever order places are tried.
func TestPlaceHoldComesAgain(t *testing.T) {
	s := newSitter(t, tester{"road-speed": "13 km/h, 100 km/h"})
	s.at("off-hold")
	for i, step := range []struct{ back, answer, hold string }{
		{"place", "road", "place-hold"}, {"place", "rolling-road", "roller-hold"}, {"place", "road", "place-hold"}, {"road-speed", "12 km/h, 100 km/h", "place-hold"},
	} {
		s.do(engine.Answer{Move: engine.Back, Text: step.back})
		s.typed[step.back] = step.answer
		passed := len(s.run.Passed())
		if p := s.at(step.hold); p.Kind != engine.Hold {
			t.Errorf("change %d, after %d answers: %q", i+1, passed, p.Slot)
		}
		s.at("people-hold")
		s.at("off-hold")
	}
	s.do(engine.Answer{Move: engine.Back, Text: "car-name"})
	s.do(engine.Answer{Text: "red van"})
	if p := s.open(); p.Slot != "off-hold" {
		t.Errorf("the name of the car brings back %q", p.Slot)
	}
}

// A place that turns out to take no tap is planned around, also where its hole is
// said to be there already; what was drilled stays owed.
func TestPlaceThatTakesNoTapIsPlannedAround(t *testing.T) {
	for _, c := range []struct {
		at   string
		owed bool
	}{{"walk.1/taps.1/drill", false}, {"walk.1/taps.1/fitting", true}} {
		s := newSitter(t, nil)
		p := s.at(c.at)
		if !strings.Contains(p.Text, "the tap at tube ") {
			t.Fatalf("the first tap is at %q", p.Text)
		}
		if !c.owed {
			s.do(engine.Answer{})
			s.do(engine.Answer{Move: engine.Back})
		}
		s.do(engine.Answer{Move: engine.Cannot, Why: "it is ribbed"})
		s.do(engine.Answer{Move: engine.Back, Text: "no-tap"})
		s.do(engine.Answer{Text: "tube"})
		next := s.at("walk.1/taps.1/drill")
		if strings.Contains(next.Text, "the tap at tube ") {
			t.Errorf("after cannot at %s it still says %q", c.at, next.Text)
		}
		s.do(engine.Answer{Move: engine.Stop})
		hole := slices.ContainsFunc(s.run.Owed(), func(d engine.Duty) bool { return strings.HasPrefix(d.Text, "Plug the hole at tube") })
		if hole != c.owed {
			t.Errorf("after cannot at %s the hole is owed: %v, want %v", c.at, hole, c.owed)
		}
	}
}

// Hands go under the bonnet of a car that is off: after a step back during the
// runs, and after a stop.
func TestHandsGoUnderTheBonnetOfACarThatIsOff(t *testing.T) {
	s := newSitter(t, nil)
	s.at("walk.1/runs.2/run")
	s.do(engine.Answer{Move: engine.Back, Text: "connect"})
	if p := s.open(); p.Kind != engine.Hold || p.Text != "Is the engine off?" {
		t.Errorf("before the hose comes %q", p.Text)
	}
	s.at("walk.1/connect")
	s.do(engine.Answer{})
	s.at("walk.1/closed-hold")
	s.at("walk.1/runs.2/run")
	s.do(engine.Answer{Move: engine.Stop})
	if p := s.open(); p.Kind != engine.Hold || p.Text != "Is the engine off?" {
		t.Errorf("after a stop comes %q", p.Text)
	}
	s.do(engine.Answer{Text: "ready"})
	if p := s.open(); p.Kind != engine.Owed {
		t.Errorf("then comes %q", p.Text)
	}
	var never []string
	for _, step := range s.run.NeverReached() {
		never = append(never, step.ID)
	}
	if got, want := strings.Join(never, " "), "joints road-ready idle driven lamps"; got != want {
		t.Errorf("never reached: %q, want %q", got, want)
	}
}

// Pieces are measured with the engine off, a joint is looked at with the engine
// off and listened to at idle, and a lamp that is on ends with a word on it.
func TestStatesOfTheCar(t *testing.T) {
	s := newSitter(t, tester{"measure-pieces": "now", "lamps": "engine lamp, amber"})
	if p := s.at("measure-hold"); len(p.Notices) == 0 || !slices.Contains(p.Lines, "The engine is off and the key is out.") {
		t.Errorf("before measuring: %+v", p)
	}
	for id, want := range map[string]engine.CarState{"joints": engine.Off} {
		if p := s.at(id); p.Car != want {
			t.Errorf("%s with the car %s, want %s", id, p.Car, want)
		}
	}
	if p := s.at("idle"); p.Car != engine.Idling {
		t.Errorf("idle with the car %s", p.Car)
	}
	if p := s.at("lamp-on"); p.Text != "Warning lamp: engine lamp, amber. Don't drive on before licensed practice has looked at it." {
		t.Errorf("the lamp ends with %q", p.Text)
	}
}

// A run is told by its number among those of its reading.
func TestRunsAreCountedByReading(t *testing.T) {
	s := newSitter(t, nil)
	if p := s.at("walk.2/runs.2/value"); !strings.HasPrefix(p.Text, "Run 2 of 3: what did the gauge show from open-air to") || !strings.Contains(p.Why, "number 5 on the sheet") {
		t.Errorf("it asks %q and says %q", p.Text, p.Why)
	}
}

// A report knows what a stop has left out.
func TestCourseNamesWhatAStopLeftOut(t *testing.T) {
	dir, name := play(t, &actor{tester: firstTimer, moves: map[string][]engine.Answer{"connect": {{Move: engine.Stop, Why: "smoke"}}}})
	_, out, _ := tried(t, "", "report", name, "--dir", dir, "--json")
	if !strings.Contains(out, `"left_out":[{"what":"Check every joint after the air-flow meter for leaks."`) {
		t.Errorf("the course lacks the joints:\n%.2000s", out)
	}
}
