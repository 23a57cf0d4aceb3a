package advice

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"dropwalk/engine/subject"
)

// Slips in a further test are asked back with a reason, and taken all the same by who
// insists; what can well be is taken at once.
func TestSlipsInFurtherTestsAreAskedBack(t *testing.T) {
	high := places(highRange, "200 kPa", highStep, "2 kPa")
	for _, c := range []struct {
		name    string
		entries []subject.Entry
		paths   []string
		fine    string
		slip    string
		says    string
	}{
		{"intake and open air the other way round", nil, []string{heatOutside, heatIntake}, "18 C, 16 C", "30 C, 18 C", "the other way round"},
		{"an intake in Fahrenheit", nil, []string{heatOutside, heatIntake}, "18 C, 60 C", "18 C, 86 C", "another unit"},
		{"standing", nil, []string{stoodOutside, stoodIntake}, "18 C, 86 C", "18 C, 120 C", "another unit"},
		{"more than the ram", surveyed("grille, cowl"), []string{mouthOut, mouthBack}, "2.2 inH2O, 1.6 inH2O", "1.8 inH2O, 4.5 inH2O", "more than the air at this speed can give, about 1.9 inH2O"},
		{"suction that can't be", surveyed("grille, cowl"), []string{mouthOut, mouthBack}, "-2 inH2O, -2.2 inH2O", "-5 inH2O, -2 inH2O", "about 1.9 inH2O"},
		{"a drop that rises", high, []string{chargeAhead, chargeBehind, chargeRPM}, "92, 93, 5500", "86, 92, 5500", "the other way round"},
		{"a cooler that warms", high, []string{chargeHot, chargeCooled, chargeOpen}, "118 C, 52 C, 21 C", "52 C, 118 C, 21 C", "the other way round"},
		{"a cooler below the open air", high, []string{chargeHot, chargeCooled, chargeOpen}, "118 C, 20 C, 21 C", "118 C, 12 C, 21 C", "no cooler does that"},
		{"an exhaust in another unit", high, []string{backValue, backRPM}, "45 kPa, 2500", "95 kPa, 2500", "another unit"},
		{"an exhaust that draws", high, []string{backValue, backRPM}, "0 kPa, 850", "-12 kPa, 850", "an exhaust pushes"},
	} {
		v := (&Matter{}).Look(c.entries)
		if _, err := v.Read(c.paths, subject.Round{Slot: "x.1"}, c.fine); err != nil {
			t.Errorf("%s: %q is refused: %v", c.name, c.fine, err)
		}
		_, err := v.Read(c.paths, subject.Round{Slot: "x.1"}, c.slip)
		r, ok := errors.AsType[*subject.Refusal](err)
		if !ok || r.Doubt == nil || !strings.Contains(r.What, c.says) {
			t.Errorf("%s: %q gives %v, want %q", c.name, c.slip, err, c.says)
			continue
		}
		if reply, err := v.Read(c.paths, subject.Round{Slot: "x.1"}, r.Doubt.Keep); err != nil || len(reply.Parts) != len(c.paths) {
			t.Errorf("%s: %q gives %v, %v", c.name, r.Doubt.Keep, reply, err)
		}
	}
	// Places of all tests that doubt something are places that are asked for.
	for _, x := range tests {
		for path := range x.doubts {
			if !slices.ContainsFunc(fields, func(f subject.Field) bool { return f.Path == path }) {
				t.Errorf("%s doubts %s, which is no place", x.name, path)
			}
		}
	}
}

// A reading that is marked doubtful is kept, counts for nothing, and is told of; the
// reading after it makes up for it.
func TestDoubtfulReadingsOfFurtherTests(t *testing.T) {
	v := (&Matter{}).Look(nil)
	reply, err := v.Read([]string{heatOutside, heatIntake}, subject.Round{Slot: "drives.1"}, "18 C, 90 C, doubtful: the lead was loose")
	if err != nil || len(reply.Parts) != 3 || reply.Parts[2] != (subject.Part{Path: "heat[].doubtful", Text: "doubtful: the lead was loose"}) {
		t.Fatalf("%+v, %v", reply, err)
	}
	entries := slices.Concat(overnight, drives(72, 12, 13, 11))
	entries = append(entries, subject.Entry{Path: "heat[].doubtful", Row: "drives.1", Text: reply.Parts[2].Text})
	f := Found(entries, Options{})
	figure(t, f, "rise-steady", 11, 11-1.5183, 11+1.5183, 1e-3)
	if last := f.Sentences[len(f.Sentences)-1]; !strings.Contains(last, "the lead was loose") {
		t.Errorf("%q", f.Sentences)
	}
	if _, err := v.Read([]string{heatOutside, heatIntake}, subject.Round{Slot: "drives.1"}, "18 C, 24 C, doubtful"); err == nil {
		t.Error("a doubt without a reason was taken")
	}
}
