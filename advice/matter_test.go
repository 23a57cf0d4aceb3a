package advice

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

func at(kind string) subject.Round {
	return subject.Round{Slot: "walk.1/runs.1", Values: map[string]string{"kind": kind}}
}

func TestRead(t *testing.T) {
	gauge := []subject.Entry{{Path: gaugeRange, Row: "1", Text: "25 inH2O"}}
	value := []string{"readings[].value", "readings[].rpm"}
	for _, c := range []struct {
		paths []string
		kind  string
		raw   string
		want  []string // texts of the parts
	}{
		{value, "", "12.5 inH2O at 6050", []string{"12.5 inH2O", "6050 rpm"}},
		{value, "", "12,5 at 6000", []string{"12.5 inH2O", "6000 rpm"}},
		{value, "", "12-13, 5980 rpm", []string{"12-13 inH2O", "5980 rpm"}},
		{value, "", ">25; 6000", []string{">25 inH2O", "6000 rpm"}},
		{value, "", "3.1 kPa", []string{"3.1 kPa"}},
		{value, "", "?", []string{"?"}},
		{value, "", "don't know", []string{"?"}},
		{value, "", "12 at ?", []string{"12 inH2O"}},
		{[]string{"car.engine.displacement"}, "", "2 L", []string{"2 L"}},
		{[]string{"car.engine.induction"}, "", "Turbo", []string{"turbo"}},
		{[]string{"car.engine.boost_control"}, "", "unknown", []string{"unknown"}},
		{[]string{"reference.rpm"}, "", "6000", []string{"6000 rpm"}},
		{[]string{"checks[].start", "checks[].end", "checks[].seconds"}, "", "15, 14.8, 30", []string{"15 inH2O", "14.8 inH2O", "30 s"}},
		{[]string{"air.temperature", "air.pressure", "air.humidity"}, "", "18 C, 1011 hPa, 60 %", []string{"18 C", "1011 hPa", "60 %"}},
		{[]string{piecesPath}, "", "mouth, duct > box-entry, filter then duct", []string{"mouth, duct, box-entry, filter, duct"}},
		{[]string{piecesPath}, "", "mouth, snorkel (duct)", []string{"mouth, snorkel (duct)"}},
		{[]string{noTapPath}, "", "filter, Snorkel", []string{"filter, snorkel"}},
		{[]string{sizePath}, "duct", "60 mm, 450 mm long, smooth, 90 deg/90 mm, 2 bends 45 deg", []string{"60 mm, length 450 mm, smooth, 90 deg/90 mm, 45 deg, 45 deg"}},
		{[]string{sizePath}, "filter", "200 x 200 mm", []string{"face 0.04 m2"}},
		{[]string{sizePath}, "mouth", "60 x 40 mm, rounded, radius 8 mm", []string{"width 60 mm, height 40 mm, rounded, radius 8 mm"}},
		{[]string{sizePath}, "screen", "60 mm, 50 %", []string{"60 mm, 50 %"}},
	} {
		v := (&Matter{}).Look(gauge)
		reply, err := v.Read(c.paths, at(c.kind), c.raw)
		if err != nil {
			t.Errorf("Read(%q): %v", c.raw, err)
			continue
		}
		var got []string
		for _, p := range reply.Parts {
			got = append(got, p.Text)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("Read(%q) (-want +got):\n%s", c.raw, diff)
		}
		for i, p := range reply.Parts {
			again, err := v.Read(c.paths[i:i+1], at(c.kind), p.Text)
			if err != nil || again.Parts[0].Text != p.Text {
				t.Errorf("%q reads back as %v, %v", p.Text, again.Parts, err)
			}
		}
	}
}

func TestReadRefusals(t *testing.T) {
	for _, c := range []struct {
		path, kind, raw, want string
		choices               []string
	}{
		{"car.engine.displacement", "", "1998", "", []string{"1998 cc"}},
		{"car.engine.displacement", "", "1998 cx", "", nil},
		{"car.engine.displacement", "", "900 L", "can't be right", nil},
		{"car.engine.fuel", "", "petrl", `did you mean "petrol"?`, nil},
		{"readings[].value", "", "12.5 in", "several things", []string{"12.5 inH2O", "12.5 inHg"}},
		{"readings[].value", "", "125C", "", nil},
		{"readings[].value", "", "40 inH2O", "the gauge ends at 25 inH2O", []string{">25 inH2O"}},
		{"reference.rpm", "", "60000", "can't be right", nil},
		{piecesPath, "", "mouth, filtr", `did you mean "filter"?`, nil},
		{noTapPath, "", "bonnet", "no place called", nil},
		{sizePath, "duct", "60 mm, 450 mm long, 300 mm long", "second time", nil},
		{sizePath, "duct", "60", "", []string{"60 mm"}},
	} {
		gauge := []subject.Entry{{Path: gaugeRange, Row: "1", Text: "25 inH2O"}}
		_, err := (&Matter{}).Look(gauge).Read([]string{c.path}, at(c.kind), c.raw)
		r, ok := errors.AsType[*subject.Refusal](err)
		if !ok {
			t.Errorf("Read(%s, %q) = %v, want a refusal", c.path, c.raw, err)
			continue
		}
		if !strings.Contains(r.Error(), c.want) {
			t.Errorf("Read(%s, %q): %v, want %q", c.path, c.raw, r, c.want)
		}
		for _, choice := range c.choices {
			if !slices.Contains(r.Choices, choice) {
				t.Errorf("Read(%s, %q): choices %q lack %q", c.path, c.raw, r.Choices, choice)
			}
		}
	}
}

// What the sheet's reader would refuse later is refused at its prompt.
func TestReadHoldsTheSheetsLimits(t *testing.T) {
	entries := []subject.Entry{
		{Path: "car.engine.displacement", Text: "2 L"},
		{Path: "sizes[].name", Row: "sizes.1", Text: "snorkel"},
	}
	v := (&Matter{}).Look(entries)
	for _, c := range []struct{ path, slot, raw string }{
		{"air.pressure", "", "42 kPa"},
		{sizePath, "sizes.1", "5 m, 450 mm long"},
	} {
		round := subject.Round{Slot: c.slot, Values: map[string]string{"kind": "duct"}}
		_, err := v.Read([]string{c.path}, round, c.raw)
		if r, ok := errors.AsType[*subject.Refusal](err); !ok || !strings.Contains(r.What, "out of range") {
			t.Errorf("Read(%s, %q) = %v, want a refusal that says out of range", c.path, c.raw, err)
		}
	}
}

func TestUnknown(t *testing.T) {
	reply, err := (&Matter{}).Look(nil).Read([]string{"car.engine.fuel"}, at(""), "don\u2019t know")
	if err != nil || !reply.Unknown {
		t.Errorf("reply %+v, %v", reply, err)
	}
}

// The answers of a procedure make the sheet that they describe.
func TestSheetEntries(t *testing.T) {
	entries := []subject.Entry{
		{Path: "car.engine.displacement", Text: "2 L"},
		{Path: piecesPath, Text: "mouth, snorkel (duct), box-entry, filter, duct, duct"},
		{Path: noTapPath, Text: "filter"},
		{Path: "sizes[].name", Row: "sizes.2", Text: "snorkel"},
		{Path: sizePath, Row: "sizes.2", Text: "60 mm, length 450 mm, smooth, 90 deg/90 mm, 45 deg"},
		{Path: gaugeRange, Row: "1", Text: "25 inH2O"},
		{Path: per1000Path, Text: "13 km/h"},
		{Path: visitTo, Row: "walk.1", Text: "duct-2"},
		{Path: beforePath, Row: "walk.1", Text: "0.1 inH2O"},
		{Path: "checks[].start", Row: "walk.1", Text: "15 inH2O"},
		{Path: "checks[].end", Row: "walk.1", Text: "14.8 inH2O"},
		{Path: "checks[].seconds", Row: "walk.1", Text: "30 s"},
		{Path: "readings[].run", Row: "walk.1/runs.1", Text: "1"},
		{Path: "readings[].from", Row: "walk.1/runs.1", Text: "open-air"},
		{Path: "readings[].to", Row: "walk.1/runs.1", Text: "duct-2"},
		{Path: "readings[].gauge", Row: "walk.1/runs.1", Text: UnnamedGauge},
		{Path: "readings[].value", Row: "walk.1/runs.1", Text: "12-13 inH2O"},
		{Path: "readings[].rpm", Row: "walk.1/runs.1", Text: "6000 rpm"},
		{Path: "readings[].run", Row: "walk.1/runs.2", Text: "2"}, // not read yet
		{Path: "readings[].from", Row: "walk.1/runs.2", Text: "open-air"},
		{Path: "readings[].to", Row: "walk.1/runs.2", Text: "duct-2"},
	}
	s, faults := sheet.FromEntries(SheetEntries(entries))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	var names []string
	for _, p := range s.Path {
		names = append(names, p.Name+" "+p.Kind)
	}
	if got, want := strings.Join(names, ", "), "mouth mouth, snorkel duct, box-entry box-entry, filter filter, duct duct, duct-2 duct"; got != want {
		t.Errorf("path is %s, want %s", got, want)
	}
	if p := s.Path[1]; len(p.Bends) != 2 || p.Surface != "smooth" || p.Length.Text() != "450 mm" {
		t.Errorf("snorkel is %+v", p)
	}
	if s.TapAt("filter") != "none" {
		t.Errorf("tap at the filter is %q", s.TapAt("filter"))
	}
	if len(s.Readings) != 1 || s.Readings[0].ZeroBefore.Text() != "0.1 inH2O" || s.Readings[0].Value.Form != quantity.Swing {
		t.Errorf("readings are %+v", s.Readings)
	}
	if len(s.Checks) != 1 || s.Checks[0].At != "duct-2" {
		t.Errorf("checks are %+v", s.Checks)
	}
	if len(s.Gauges) != 1 || s.Gauges[0].Name != UnnamedGauge {
		t.Errorf("gauges are %+v", s.Gauges)
	}
}

// A leak check that lost more than a twentieth in half a minute failed; one
// that was judged by eye did not.
func TestLeaking(t *testing.T) {
	for _, c := range []struct{ end, seconds, want string }{
		{"14.8 inH2O", "30 s", "no"},
		{"14 inH2O", "30 s", "yes"},
		{"14 inH2O", "60 s", "no"},
		{"14.25 inH2O", "30 s", "yes"}, // a twentieth exactly
		{"14.26 inH2O", "30 s", "no"},
		{"5 inH2O", "30 s", "yes"},
		{"", "", "no"},
	} {
		v := (&Matter{}).Look([]subject.Entry{
			{Path: visitTo, Row: "walk.1", Text: "tube"},
			{Path: "checks[].start", Row: "walk.1", Text: "15 inH2O"},
			{Path: "checks[].end", Row: "walk.1", Text: c.end},
			{Path: "checks[].seconds", Row: "walk.1", Text: c.seconds},
		})
		if got := v.Value("leaking").Word; got != c.want {
			t.Errorf("15 inH2O to %q in %q: leaking is %q, want %q", c.end, c.seconds, got, c.want)
		}
	}
}

// Runs within 5 % or half an inch of water agree, whichever is larger, each
// brought to one engine speed.
func TestAgree(t *testing.T) {
	read := func(text string) quantity.Amount {
		a, err := quantity.Read(text, quantity.Want{Kind: quantity.PressureDiff, Swing: true, Unreadable: true})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	for _, c := range []struct {
		runs []run
		want bool
	}{
		{[]run{{read("12 inH2O"), 6000, false}, {read("12.4 inH2O"), 6000, false}, {read("12.5 inH2O"), 6000, false}}, true},
		{[]run{{read("12 inH2O"), 6000, false}, {read("13 inH2O"), 6000, false}, {read("12.5 inH2O"), 6000, false}}, false},
		{[]run{{read("12 inH2O"), 6000, false}, {read("11.03 inH2O"), 5750, false}, {read("12 inH2O"), 6000, false}}, true},
		{[]run{{read("12 inH2O"), 6000, false}, {read("?"), 6000, false}, {read("12 inH2O"), 6000, false}}, false},
		{[]run{{read("30 inH2O"), 0, false}, {read("31.2 inH2O"), 0, false}, {read("30-31 inH2O"), 0, false}}, true},
	} {
		if got := agree(c.runs, 3); got != c.want {
			t.Errorf("agree(%v) = %v, want %v", c.runs, got, c.want)
		}
	}
}

// After a needle against its stop there are no more runs of that reading.
func TestNoMoreRunsOffTheScale(t *testing.T) {
	v := (&Matter{}).Look([]subject.Entry{{Path: "readings[].value", Row: "walk.1/runs.1", Text: ">25 inH2O"}})
	if _, more := v.Offer("next-run", subject.Round{Slot: "walk.1/runs.2", Done: 1, Least: 3}); more {
		t.Error("another run is asked for")
	}
}

// A leak check that was judged by eye stands on the sheet without numbers; one
// that is made again after a pause stands there with the new ones.
func TestLeakChecksOnTheSheet(t *testing.T) {
	checks := []string{"checks[].start", "checks[].end", "checks[].seconds"}
	for _, c := range []struct {
		answers []string
		want    string
	}{
		{[]string{"?"}, "leak at tube, by eye"},
		{[]string{"15 inH2O, 14.8 inH2O, 30"}, "leak at tube, 15 inH2O to 14.8 inH2O in 30 s"},
		{[]string{"15 inH2O, 14.8 inH2O, 30", "20 inH2O, 19.9 inH2O, 60"}, "leak at tube, 20 inH2O to 19.9 inH2O in 60 s"},
		{[]string{"15 inH2O, 14.8 inH2O, 30", "?"}, "leak at tube, by eye"},
		{[]string{"?", "15 inH2O, 14.8 inH2O, 30"}, "leak at tube, 15 inH2O to 14.8 inH2O in 30 s"},
	} {
		entries := []subject.Entry{{Path: "car.engine.displacement", Text: "1998 cc"}, {Path: visitTo, Row: "walk.1", Text: "tube"}}
		for _, answer := range c.answers {
			reply, err := (&Matter{}).Look(entries).Read(checks, subject.Round{Slot: "walk.1"}, answer)
			if err != nil {
				t.Fatalf("%q: %v", answer, err)
			}
			for _, p := range reply.Parts {
				entries = append(entries, subject.Entry{Path: p.Path, Row: "walk.1", Text: p.Text})
			}
		}
		s, faults := sheet.FromEntries(SheetEntries(entries))
		if s == nil || len(s.Checks) != 1 {
			t.Fatalf("%q: %v, %v", c.answers, s, faults)
		}
		k := s.Checks[0]
		got := k.Kind + " at " + k.At + ", by eye"
		if k.Start.Known() {
			got = fmt.Sprintf("%s at %s, %s to %s in %g s", k.Kind, k.At, k.Start.Text(), k.End.Text(), k.Seconds)
		}
		if got != c.want {
			t.Errorf("%q: %s, want %s", c.answers, got, c.want)
		}
	}
}

// Not to know whether the pieces can be measured is later, and is told.
func TestSizesNotKnownAreLater(t *testing.T) {
	reply, err := (&Matter{}).Look(nil).Read([]string{sizesPath}, at(""), "?")
	want := []subject.Part{{Path: sizesPath, Text: "later"}}
	if err != nil || reply.Unknown || !slices.Equal(reply.Parts, want) || !strings.HasPrefix(reply.Echo, "Taken as later.") {
		t.Errorf("got %+v, %v, want later, and a word on it", reply, err)
	}
}
