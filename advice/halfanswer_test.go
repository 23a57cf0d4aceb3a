package advice

import (
	"errors"
	"strings"
	"testing"

	"dropwalk/engine/subject"
)

// An answer that ends before a part which the rest says nothing without is asked back, and
// the missing part is named. A "?" in its place keeps the rest and says what becomes of it.
func TestHalfAnAnswerIsAskedBack(t *testing.T) {
	for _, c := range []struct {
		paths       []string
		half, names string
		whole       string
		open, echo  string
	}{
		{[]string{mouthOut, mouthBack}, "-0.2 inH2O", "the way back missing", "-0.2 inH2O, 0.1 inH2O", "?, 0.1 inH2O", "the way out not known"},
		{[]string{coldOutside, coldIntake}, "12 C", "the one in the intake missing", "12 C, 13 C", "12 C, ?", "the one in the intake not known"},
		{[]string{heatOutside, heatIntake}, "18 C", "the intake missing", "18 C, 24 C", "?, 24 C", "the open air not known"},
		{[]string{stoodOutside, stoodIntake}, "18 C", "the intake missing", "18 C, 41 C", "18 C, ?", "the intake not known"},
		{[]string{chargeHot, chargeCooled, chargeOpen}, "118 C", "the air behind it and the open air missing", "118 C, 52 C, 21 C", "118 C, 52 C, ?", "the open air not known"},
		{[]string{chargeAhead, chargeBehind, chargeRPM}, "90 kPa", "the boost behind missing", "90 kPa, 85 kPa", "90 kPa, ?", "the boost behind not known"},
		{[]string{backValue, backRPM}, "6 kPa", "the engine speed missing", "6 kPa, 2500", "6 kPa, ?", "the engine speed not known"},
	} {
		v := (&Matter{}).Look(places(highRange, "200 kPa", highStep, "2 kPa"))
		at := subject.Round{Slot: "x.1"}
		_, err := v.Read(c.paths, at, c.half)
		if r, ok := errors.AsType[*subject.Refusal](err); !ok || r.What != c.names || r.Doubt != nil {
			t.Errorf("%q: %v, want %q", c.half, err, c.names)
		}
		if reply, err := v.Read(c.paths, at, c.whole); err != nil || strings.Contains(reply.Echo, "not used") {
			t.Errorf("%q: %+v, %v", c.whole, reply, err)
		}
		reply, err := v.Read(c.paths, at, c.open)
		if err != nil || len(reply.Parts) == 0 || !strings.Contains(reply.Echo, "kept and not used: "+c.echo) {
			t.Errorf("%q: %+v, %v", c.open, reply, err)
		}
		if reply, err := v.Read(c.paths, at, "?"); err != nil || !reply.Unknown {
			t.Errorf("?: %+v, %v", reply, err)
		}
	}
	// Every group begins with a place that the test has, and each of its members is one.
	for _, x := range tests {
		for _, group := range x.pairs {
			for _, m := range group {
				if _, ok := (&Matter{}).Field(m.path); !ok || m.name == "" {
					t.Errorf("%s: %+v is no place", x.name, m)
				}
			}
		}
	}
}

// What says that no lamp came on counts as none for the prompts, and a word of the prompt is
// no lamp.
func TestAnswersOnWarningLamps(t *testing.T) {
	for answer, lit := range map[string]string{"none": "no", "no": "no", "0": "no", "Nothing.": "no", "no lamps": "no", "engine": "yes", "oil, brakes": "yes", "0 and oil": "yes", "no idea which, a yellow one": "yes"} {
		v := (&Matter{}).Look(places(lampsPath, answer))
		if got := v.Value("lamp_on").Word; got != lit {
			t.Errorf("%q: %s, want %s", answer, got, lit)
		}
		if _, err := v.Read([]string{lampsPath}, subject.Round{}, answer); err != nil {
			t.Errorf("%q is refused: %v", answer, err)
		}
	}
	for _, word := range []string{"ready", "Ready.", "yes", "done", "ok"} {
		_, err := (&Matter{}).Look(nil).Read([]string{lampsPath}, subject.Round{}, word)
		if r, ok := errors.AsType[*subject.Refusal](err); !ok || !strings.Contains(r.What, "names no lamp") {
			t.Errorf("%q: %v", word, err)
		}
	}
}

// A round beyond those that were asked for says how far it may go, and why there is one more.
func TestMoreRunsSayWhy(t *testing.T) {
	run := func(n, value string) []subject.Entry {
		return []subject.Entry{{Path: readingPath, Row: "runs." + n, Text: value}, {Path: rpmPath, Row: "runs." + n, Text: "6000 rpm"}}
	}
	apart := append(append(run("1", "8 inH2O"), run("2", "12 inH2O")...), run("3", "16 inH2O")...)
	few := append(append(run("1", "8 inH2O"), run("2", "?")...), run("3", "?")...)
	for _, c := range []struct {
		name    string
		entries []subject.Entry
		done    int
		want    string
	}{
		{"the first", nil, 0, "3"},
		{"the third", apart[:4], 2, "3"},
		{"apart", apart, 3, "up to 8 (they lie apart)"},
		{"unreadable", few, 3, "up to 8 (too few count so far)"},
	} {
		o, ok := (&Matter{}).Look(c.entries).Offer("next-run", subject.Round{Slot: "runs.4", Done: c.done, Least: 3, Most: 8})
		if !ok || o.Values["runs"] != c.want {
			t.Errorf("%s: %+v, %v, want %q", c.name, o, ok, c.want)
		}
	}
	passes := inRows("drives", []string{heatState, heatOutside, heatIntake}, []string{steadyState, "18 C", "24 C"}, []string{steadyState, "18 C", "?"}, []string{steadyState, "18 C", "24 C"})
	o, ok := (&Matter{}).Look(passes).Offer("next-drive", subject.Round{Slot: "drives.4", Done: 3, Least: 3, Most: 6})
	if !ok || o.Values["repeats"] != "up to 6 (too few count so far)" {
		t.Errorf("drives: %+v, %v", o, ok)
	}
}

// A hole at a place in the filter box says which wall it goes into.
func TestATapInTheBoxHasItsWall(t *testing.T) {
	v := (&Matter{}).Look(places(piecesPath, "mouth, snorkel (duct), box-entry, filter, box-exit, meter"))
	for station, want := range map[string]string{
		"filter": "behind the element (its clean side)", "box-entry": "ahead of the element", "box-exit": "the tube just behind the filter box", "snorkel": "the part that ends at snorkel",
	} {
		o, ok := v.Offer("next-tap", subject.Round{Slot: "taps.1", Values: map[string]string{"taps": station + " drill"}})
		if !ok || !strings.Contains(o.Values["part"], want) {
			t.Errorf("%s: %q, want %q", station, o.Values["part"], want)
		}
	}
}
