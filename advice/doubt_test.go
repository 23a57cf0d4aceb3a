package advice

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// span is a place at which a reading of an invented car is asked for, with what
// was answered before it.
type span struct {
	gauge, rpm string
	from, to   string
	runs       []string // of this stretch, before
	whole      string   // a reading of the whole path, in a round before; "" none
}

func (s span) view() (*view, subject.Round) {
	const first, here = "walk.1/runs.1", "walk.2/runs."
	entries := []subject.Entry{
		{Path: "car.engine.displacement", Text: "1998 cc"},
		{Path: "reference.rpm", Text: s.rpm},
		{Path: gaugeRange, Row: "1", Text: s.gauge},
	}
	add := func(row, from, to, value string) {
		entries = append(entries,
			subject.Entry{Path: "readings[].run", Row: row, Text: row[len(row)-1:]},
			subject.Entry{Path: "readings[].from", Row: row, Text: from},
			subject.Entry{Path: "readings[].to", Row: row, Text: to})
		if value != "" {
			text, why, _ := strings.Cut(value, " doubtful ")
			entries = append(entries, subject.Entry{Path: readingPath, Row: row, Text: text}, subject.Entry{Path: rpmPath, Row: row, Text: "6000 rpm"})
			if why != "" {
				entries = append(entries, subject.Entry{Path: doubtfulPath, Row: row, Text: doubtfulMark + why})
			}
		}
	}
	if s.whole != "" {
		for _, n := range []string{"1", "2", "3"} {
			add("walk.1/runs."+n, "open-air", "tube", s.whole)
		}
	}
	n := 1
	for _, value := range s.runs {
		add(here+string(rune('0'+n)), s.from, s.to, value)
		n++
	}
	row := here + string(rune('0'+n))
	add(row, s.from, s.to, "")
	m := &Matter{}
	return m.Look(entries).(*view), subject.Round{Slot: row, Values: map[string]string{"from": s.from, "to": s.to}}
}

var readingPaths = []string{readingPath, rpmPath}

// What is far outside what can be expected is asked back, with the unit that
// was probably meant; what is merely large or small is not.
func TestReadingsFarOutsideAreAskedBack(t *testing.T) {
	whole := span{gauge: "100 inH2O", rpm: "6000 rpm", from: "open-air", to: "tube"}
	inMbar, inKPa, inPsi := whole, whole, whole
	inMbar.gauge, inKPa.gauge, inPsi.gauge = "250 mbar", "25 kPa", "3 psi"
	guessed := whole
	guessed.rpm = ""
	after := whole
	after.runs = []string{"12.5 inH2O", "12.3 inH2O"}
	doubted := whole
	doubted.runs = []string{"40 inH2O doubtful the hose came off"}
	filter := span{gauge: "100 inH2O", rpm: "6000 rpm", from: "filter", to: "box-exit", whole: "12.5 inH2O"}
	back := span{gauge: "100 inH2O", rpm: "6000 rpm", from: "snorkel", to: "box-entry"}
	for _, c := range []struct {
		name  string
		at    span
		typed string
		want  string // part of what is asked back; "" where nothing is
		meant string // the choice that is offered first
	}{
		{"usual", whole, "12.5 at 6000", "", ""},
		{"large, as a spoilt piece makes it", whole, "30 at 6000", "", ""},
		{"small, as a well-made path makes it", whole, "4 at 6000", "", ""},
		{"swinging", whole, "11-14 at 5900", "", ""},
		{"off the scale", whole, ">100 at 6000", "", ""},
		{"unreadable", whole, "?", "", ""},
		{"without engine speed", whole, "12", "", ""},
		{"hundred times too much", whole, "98", "far above what open-air to tube should show", "98 mmH2O"},
		{"mbar taken for inH2O", whole, "50 at 6000", "far above", "50 mbar, 6000 rpm"},
		{"psi typed for kPa", inPsi, "2.5 psi at 6000", "far above", "2.5 kPa, 6000 rpm"},
		{"psi read as inH2O", whole, "0.45 at 6000", "far below", "0.45 psi, 6000 rpm"},
		{"kPa read as inH2O", whole, "2.9 at 6000", "far below", "2.9 kPa, 6000 rpm"},
		{"inH2O read as mbar", inMbar, "7 at 6000", "far below", "7 inH2O, 6000 rpm"},
		{"mbar read as kPa", inKPa, "25 at 6000", "far above", "25 mbar, 6000 rpm"},
		{"below nought", whole, "-12.5 at 6000", "below nought", "12.5 inH2O, 6000 rpm"},
		{"a little below nought in front of a wide place", back, "-1 at 6000", "", ""},
		{"engine speed of another gear", whole, "12.5 at 3000", "3000 rpm is far from the 6000 rpm", ""},
		{"engine speed somewhat low", whole, "12.5 at 5300", "", ""},
		{"engine speed where none was stated", guessed, "12.5 at 4600", "", ""},
		{"both", whole, "99 at 9500", "; 9500 rpm is far", "99 mmH2O, 9500 rpm"},
		{"like the runs before", after, "13 at 6000", "", ""},
		{"unlike the runs before", after, "5 at 6000", "far from the runs before it", ""},
		{"mbar where the runs before were inches", after, "31 at 6000", "the nearest showed 12.5 inH2O", "31 mbar, 6000 rpm"},
		{"a run before that is doubtful doesn't count", doubted, "12.5 at 6000", "", ""},
		{"more of a piece than of the whole", filter, "15 at 6000", "far above what filter to box-exit", "15 mbar, 6000 rpm"},
		{"what is left for a piece", filter, "3 at 6000", "", ""},
		{"nothing across a piece", filter, "0 at 6000", "", ""},
	} {
		v, at := c.at.view()
		reply, err := v.Read(readingPaths, at, c.typed)
		r, refused := errors.AsType[*subject.Refusal](err)
		switch {
		case c.want == "" && err != nil:
			t.Errorf("%s: %q is asked back: %v", c.name, c.typed, err)
			continue
		case c.want == "":
			continue
		case !refused || r.Doubt == nil || !strings.Contains(r.What, c.want):
			t.Errorf("%s: %q comes to %v, %v; want a doubt with %q", c.name, c.typed, reply, err, c.want)
			continue
		}
		if got := strings.Join(r.Choices, "|"); got != c.meant {
			t.Errorf("%s: %q offers %q, want %q", c.name, c.typed, got, c.meant)
		}
	}
}

// Each way out of a doubt is a complete answer that is taken; a doubtful one
// lands on the sheet with its reason and reads back from its record.
func TestWaysOutOfADoubt(t *testing.T) {
	at := span{gauge: "100 inH2O", rpm: "6000 rpm", from: "open-air", to: "tube"}
	v, round := at.view()
	_, err := v.Read(readingPaths, round, "50 at 6000")
	r, ok := errors.AsType[*subject.Refusal](err)
	if !ok || r.Doubt == nil {
		t.Fatalf("no doubt: %v", err)
	}
	for answer, want := range map[string][]subject.Part{
		r.Choices[0]:                         {{Path: readingPath, Text: "50 mbar"}, {Path: rpmPath, Text: "6000 rpm"}},
		r.Doubt.Keep:                         {{Path: readingPath, Text: "50 inH2O"}, {Path: rpmPath, Text: "6000 rpm"}},
		r.Doubt.Doubtful + r.Doubt.Reason:    {{Path: readingPath, Text: "50 inH2O"}, {Path: rpmPath, Text: "6000 rpm"}, {Path: doubtfulPath, Text: "doubtful: far above what was expected"}},
		"50 at 6000 doubtful it hung, twice": {{Path: readingPath, Text: "50 inH2O"}, {Path: rpmPath, Text: "6000 rpm"}, {Path: doubtfulPath, Text: "doubtful: it hung, twice"}},
		"12 doubtful: a gust":                {{Path: readingPath, Text: "12 inH2O"}, {Path: doubtfulPath, Text: "doubtful: a gust"}},
	} {
		reply, err := v.Read(readingPaths, round, answer)
		if err != nil {
			t.Errorf("%q: %v", answer, err)
			continue
		}
		var kept []string
		for i, p := range reply.Parts {
			kept = append(kept, p.Text)
			if i >= len(want) || p != want[i] {
				t.Errorf("%q comes to %v, want %v", answer, reply.Parts, want)
				break
			}
		}
		if len(reply.Parts) < 3 {
			continue
		}
		again, err := v.Read(readingPaths, round, strings.Join(kept, ", "))
		if err != nil || len(again.Parts) != len(reply.Parts) {
			t.Errorf("%q reads back to %v, %v", strings.Join(kept, ", "), again.Parts, err)
		}
		entries := v.entries
		for _, p := range reply.Parts {
			entries = append(entries[:len(entries):len(entries)], subject.Entry{Path: p.Path, Row: round.Slot, Text: p.Text})
		}
		s, faults := sheet.FromEntries(SheetEntries(entries))
		if s == nil {
			t.Fatal(faults)
		}
		if got, want := s.Readings[len(s.Readings)-1].Doubtful, strings.TrimPrefix(reply.Parts[2].Text, doubtfulMark); got != want {
			t.Errorf("the sheet says doubtful: %q, want %q", got, want)
		}
	}
	if _, err := v.Read(readingPaths, round, "50 at 6000, doubtful"); err == nil || !strings.Contains(err.Error(), "needs a reason") {
		t.Errorf("doubtful without a reason: %v", err)
	}
	if _, err := v.Read(readingPaths, round, "120 at 6000, keep"); err == nil || !strings.Contains(err.Error(), "the gauge ends at") {
		t.Errorf("beyond the gauge, kept all the same: %v", err)
	}
}

// What lies beyond the gauge is never kept; the end of its scale is offered, and
// the unit that was probably meant.
func TestBeyondTheGauge(t *testing.T) {
	v, round := span{gauge: "25 inH2O", rpm: "6000 rpm", from: "open-air", to: "tube"}.view()
	for typed, want := range map[string]string{"31 at 6000": ">25 inH2O, 6000|31 mbar, 6000", "300 at 6000": ">25 inH2O, 6000|300 mmH2O, 6000", "26 inH2O, keep": ">25 inH2O|26 mbar"} {
		_, err := v.Read(readingPaths, round, typed)
		r, ok := errors.AsType[*subject.Refusal](err)
		if !ok || r.Doubt != nil || strings.Join(r.Choices, "|") != want {
			t.Errorf("%q comes to %v, choices %q; want %q", typed, err, r.Choices, want)
		}
	}
}

// A zero that looks like a reading is asked back; it can be kept, and there is
// no place for a doubt about it.
func TestZeroThatLooksLikeAReading(t *testing.T) {
	v, round := span{gauge: "25 inH2O", from: "open-air", to: "tube"}.view()
	for _, path := range []string{beforePath, afterPath} {
		if _, err := v.Read([]string{path}, round, "0.5"); err != nil {
			t.Errorf("%s: half an inch is asked back: %v", path, err)
		}
		_, err := v.Read([]string{path}, round, "12.5")
		r, ok := errors.AsType[*subject.Refusal](err)
		if !ok || r.Doubt == nil || r.Doubt.Doubtful != "" {
			t.Fatalf("%s: 12.5 at rest comes to %v", path, err)
		}
		if reply, err := v.Read([]string{path}, round, r.Doubt.Keep); err != nil || reply.Parts[0].Text != "12.5 inH2O" {
			t.Errorf("%s: %q comes to %v, %v", path, r.Doubt.Keep, reply, err)
		}
	}
}

// What hardly any car, gauge or weather has is asked back, with the unit that was
// probably meant, and can be kept.
func TestUnusualAnswersAreAskedBack(t *testing.T) {
	air := []string{"air.temperature", "air.pressure", "air.humidity"}
	for _, c := range []struct {
		paths []string
		typed string
		meant string // "-" where nothing is asked back
	}{
		{[]string{"car.engine.displacement"}, "1998 cc", "-"},
		{[]string{"car.engine.displacement"}, "12 L", ""},
		{[]string{"car.engine.boost"}, "70 kPa", "-"},
		{[]string{"car.engine.boost"}, "0.7 psi", "0.7 bar"},
		{[]string{"car.engine.boost"}, "0.7 psi, keep", "-"},
		{[]string{"car.engine.mass_flow"}, "118", "-"},
		{[]string{"car.engine.mass_flow"}, "400 kg/h", "-"},
		{[]string{"reference.rpm"}, "600", ""},
		{[]string{gaugeRange, "gauges[].division"}, "25 inH2O by 0.5 inH2O", "-"},
		{[]string{gaugeRange, "gauges[].division"}, "60 mbar", "-"},
		{[]string{gaugeRange, "gauges[].division"}, "1 bar by 0.1 bar", ""},
		{air, "18 C, 1011 hPa, 60 %", "-"},
		{air, "68 C, 1011 hPa", "68 F, 1011 hPa"},
		{air, "?, 1011 kPa", ""},
		{air, "20 C, 590 hPa, 50 %", ""},
		{air, "?", "-"},
		{[]string{per1000Path, limitPath}, "13 km/h, 80 km/h", "-"},
		{[]string{per1000Path, limitPath}, "13 km/h, 300 km/h", ""},
	} {
		v := (&Matter{}).Look(nil).(*view)
		_, err := v.Read(c.paths, subject.Round{}, c.typed)
		r, ok := errors.AsType[*subject.Refusal](err)
		if c.typed == "?, 1011 kPa" { // beyond what the place itself can have: refused outright
			if !ok || r.Doubt != nil {
				t.Errorf("%q comes to %v", c.typed, err)
			}
			continue
		}
		if c.meant == "-" {
			if err != nil {
				t.Errorf("%q is asked back: %v", c.typed, err)
			}
			continue
		}
		if !ok || r.Doubt == nil || strings.Join(r.Choices, "|") != c.meant {
			t.Errorf("%q comes to %v; want a doubt that offers %q", c.typed, err, c.meant)
			continue
		}
		if _, err := v.Read(c.paths, subject.Round{}, r.Doubt.Keep); err != nil {
			t.Errorf("%q is not kept: %v", r.Doubt.Keep, err)
		}
	}
}

// A leak check takes all three figures and a start above its end; what is none is
// refused, with no way to keep it.
func TestLeakCheckThatIsNone(t *testing.T) {
	v, round := span{gauge: "25 inH2O", from: "open-air", to: "tube"}.view()
	paths := []string{checkStart, checkEnd, "checks[].seconds"}
	for answer, want := range map[string]string{
		"15, 14.8, 30": "", "15, 15, 30": "", "?": "",
		"12": "the end and the seconds of the check missing", "15, 14.8": "the seconds of the check missing", "15, ?, 30": "the end of the check missing",
		"9, 12, 30": "a check that rises is none", "9, 12, 30 keep": "", "0, 0, 30": "starts at nought", "40, 39, 30": "the gauge ends at 25 inH2O",
	} {
		_, err := v.Read(paths, round, answer)
		r, refused := errors.AsType[*subject.Refusal](err)
		if answer == "9, 12, 30 keep" {
			if !refused || r.Doubt != nil {
				t.Errorf("%q is kept: %v", answer, err)
			}
			continue
		}
		if refused != (want != "") || refused && (r.Doubt != nil || !strings.Contains(r.What, want)) {
			t.Errorf("%q comes to %v, want %q", answer, err, want)
		}
	}
}

// A value and a needle against its stop contradict each other, in either order;
// kept all the same they don't end the runs.
func TestValueAgainstABound(t *testing.T) {
	for _, c := range []struct {
		before, typed string
		asked         bool
	}{{"13.5 inH2O", ">25 at 6000", true}, {">25 inH2O", "13.5 at 6000", true}, {"24.5 inH2O", ">25 at 6000", false}, {"", ">25 at 6000", false}} {
		s := span{gauge: "25 inH2O", rpm: "6000 rpm", from: "open-air", to: "tube"}
		if c.before != "" {
			s.runs = []string{c.before}
		}
		v, round := s.view()
		_, err := v.Read(readingPaths, round, c.typed)
		r, refused := errors.AsType[*subject.Refusal](err)
		if asked := refused && r.Doubt != nil && strings.Contains(r.What, "contradicts the run before it"); asked != c.asked {
			t.Errorf("%q after %q comes to %v, asked back %v", c.typed, c.before, err, c.asked)
		}
	}
	mixed := (&Matter{}).Look([]subject.Entry{
		{Path: readingPath, Row: "walk.1/runs.1", Text: "13.5 inH2O"}, {Path: readingPath, Row: "walk.1/runs.2", Text: ">25 inH2O"},
	})
	if _, more := mixed.Offer("next-run", subject.Round{Slot: "walk.1/runs.3", Done: 2, Least: 3}); !more {
		t.Error("a bound beside a value ends the runs")
	}
	off := (&Matter{}).Look([]subject.Entry{{Path: readingPath, Row: "walk.1/runs.1", Text: ">25 inH2O"}})
	if offer, more := off.Offer("next-run", subject.Round{Slot: "walk.1/runs.2", Done: 1, Least: 3}); more || offer.Reason == "" {
		t.Errorf("the runs end with %q, more %v; want a reason", offer.Reason, more)
	}
}

// Slips of a beginner are told what was probably meant, and no choice is offered
// that would be refused.
func TestWhatWasProbablyMeant(t *testing.T) {
	v, round := span{gauge: "25 inH2O", rpm: "6000 rpm", from: "open-air", to: "tube"}.view()
	size := subject.Round{Values: map[string]string{"kind": "duct"}}
	for _, c := range []struct {
		paths       []string
		at          subject.Round
		typed, what string
		choices     string // "-" any
	}{
		{readingPaths, round, "6500, 12.5", "the reading comes first", "12.5 inH2O, 6500 rpm"},
		{[]string{"air.temperature", "air.pressure"}, round, "18 C, 1011", "", "18 C, 1011 hPa"},
		{[]string{"car.engine.boost"}, round, "600", "", "600 kPa"},
		{[]string{beforePath}, round, "1,250", "several things", "1.25 inH2O"},
		{[]string{"car.engine.fuel"}, round, "gasoline", `did you mean "petrol"?`, ""},
		{[]string{"place"}, round, "street", `did you mean "road"?`, ""},
		{[]string{piecesPath}, round, "mouth duct filter", "put commas between", "mouth, duct, filter"},
		{[]string{piecesPath}, round, "scoop, duct", `did you mean "mouth"?`, ""},
		{[]string{piecesPath}, round, "mouth, maf", `did you mean "meter"?`, ""},
		{[]string{piecesPath}, round, "mouth, airbox", "box-entry, filter, box-exit", ""},
		{[]string{piecesPath}, round, "filter, duct, mouth", "doesn't stand first", ""},
		{[]string{piecesPath}, round, "mouth, box-exit, filter", "air passes filter before box-exit", ""},
		{[]string{sizePath}, size, "65 mm, 500 mm, ribed, 45 deg", `did you mean "ribbed"?`, ""},
	} {
		_, err := v.Read(c.paths, c.at, c.typed)
		r, refused := errors.AsType[*subject.Refusal](err)
		if !refused || !strings.Contains(r.What, c.what) || strings.Join(r.Choices, "|") != c.choices {
			t.Errorf("%q comes to %v; want %q with %q", c.typed, err, c.what, c.choices)
		}
	}
	for _, typed := range []string{"0-25 inH2O by 0.5 inH2O", "0 to 25 inH2O by 0.5 inH2O", "0 - 25 inH2O, 0.5 inH2O"} {
		reply, err := v.Read([]string{gaugeRange, "gauges[].division"}, subject.Round{}, typed)
		if err != nil || reply.Parts[0].Text != "25 inH2O" {
			t.Errorf("%q comes to %v, %v", typed, reply.Parts, err)
		}
	}
	if _, err := v.Read([]string{piecesPath}, round, "filter, duct, mouth, keep"); err != nil {
		t.Errorf("an order that is kept: %v", err)
	}
}

// Simulated cars, half of them with something wrong, measured without slips:
// hardly a reading is asked back. The same readings with the unit of another
// gauge mostly are, where the factor between the units is large.
func TestHonestReadingsAreSeldomAskedBack(t *testing.T) {
	slips := []string{"kPa", "psi", "Pa", "mmH2O", "mbar"}
	asked, all, slipped := 0, 0, map[string]int{}
	for seed := range uint64(24) {
		car := practice.Draw(seed, practice.Options{Hand: practice.Hands()[seed%3]})
		s := car.Session(seed, practice.Setup{}).FullWalk(practice.Bare)
		readings := s.Readings
		s.Readings, s.Checks = nil, nil
		entries := s.Entries()
		for i, r := range readings {
			row := fmt.Sprintf("walk.%d/runs.%d", i/practice.RunsEach+1, i%practice.RunsEach+1)
			for path, text := range map[string]string{"from": r.From, "to": r.To, "gauge": r.Gauge, "run": fmt.Sprint(i + 1)} {
				entries = append(entries, subject.Entry{Path: "readings[]." + path, Row: row, Text: text})
			}
			v := (&Matter{}).Look(entries).(*view)
			parts := []subject.Part{{Path: readingPath, Text: r.Value.Text()}, {Path: rpmPath, Text: fmt.Sprintf("%.0f rpm", r.RPM)}}
			strange := v.strangeReading(parts, subject.Round{Slot: row, Values: map[string]string{"from": r.From, "to": r.To}})
			if all++; strange != nil {
				asked++
				t.Logf("seed %d, %s to %s: %v", seed, r.From, r.To, strange.what)
			}
			if v.doc() == nil {
				t.Fatal(v.faults)
			}
			for _, unit := range slips {
				shown, err := quantity.In(r.Value.SI, quantity.PressureDiff, unit)
				if err != nil {
					t.Fatal(err)
				}
				wrong := []subject.Part{{Path: readingPath, Text: quantity.Format(shown, 3) + " inH2O"}, parts[1]}
				if v.strangeReading(wrong, subject.Round{Slot: row, Values: map[string]string{"from": r.From, "to": r.To}}) != nil {
					slipped[unit]++
				}
			}
			for _, p := range parts {
				entries = append(entries, subject.Entry{Path: p.Path, Row: row, Text: p.Text})
			}
		}
	}
	t.Logf("%d of %d readings are asked back; of those in another unit %v", asked, all, slipped)
	for unit, least := range map[string]int{"Pa": 95, "mmH2O": 95, "psi": 75, "kPa": 60, "mbar": 70} {
		if slipped[unit]*100 < least*all {
			t.Errorf("%d of %d readings in %s taken for inH2O are asked back, want %d in a hundred", slipped[unit], all, unit, least)
		}
	}
	if asked*100 > all {
		t.Errorf("%d of %d readings are asked back, want at most one in a hundred", asked, all)
	}
}

// A round that is read at a speed of its own is held against that speed: what a stiff
// path shows there is no surprise, and the speed of the reference point is.
func TestASpeedOfItsRound(t *testing.T) {
	at := func(speed string, before ...[2]string) (*view, subject.Round) {
		const rounds = "across.1/speeds.2/runs."
		entries := []subject.Entry{{Path: "car.engine.displacement", Text: "1998 cc"}, {Path: "reference.rpm", Text: "6000 rpm"}, {Path: gaugeRange, Row: "1", Text: "25 inH2O"}}
		for i := range len(before) + 1 {
			row := fmt.Sprintf("%s%d", rounds, i+1)
			entries = append(entries, subject.Entry{Path: "readings[].run", Row: row, Text: fmt.Sprint(i + 1)},
				subject.Entry{Path: "readings[].from", Row: row, Text: "open-air"}, subject.Entry{Path: "readings[].to", Row: row, Text: "tube"})
			if i < len(before) {
				entries = append(entries, subject.Entry{Path: readingPath, Row: row, Text: before[i][0]}, subject.Entry{Path: rpmPath, Row: row, Text: before[i][1]})
			}
		}
		row := fmt.Sprintf("%s%d", rounds, len(before)+1)
		return (&Matter{}).Look(entries).(*view), subject.Round{Slot: row, Values: map[string]string{"from": "open-air", "to": "tube", "speed": speed}}
	}
	for _, c := range []struct {
		name, speed string
		before      [][2]string
		typed       string
		want, not   string
	}{
		{"as asked for", "3900 rpm", nil, "6 at 3900", "", ""},
		{"half of the speed, a quarter of the reading", "3000 rpm", nil, "3 at 3000", "", ""},
		{"like the run before", "3900 rpm", [][2]string{{"6 inH2O", "3900 rpm"}}, "6 at 3900", "", ""},
		{"the speed of another round", "3000 rpm", nil, "12.5 at 6000", "6000 rpm is far from the 3000 rpm", "mbar"},
		{"a speed that was kept before", "6000 rpm", [][2]string{{"6 inH2O", "3900 rpm"}}, "6 at 3900", "", ""},
		{"unlike the run before at another speed", "3900 rpm", [][2]string{{"6 inH2O", "3900 rpm"}}, "14 at 4000", "14 inH2O at 4000 rpm is far from the runs before it, of which the nearest showed 6 inH2O at 3900 rpm", ""},
		{"kPa for inH2O, at the speed of the round", "3900 rpm", nil, "1.2 at 3900", "far below", "6000"},
	} {
		v, round := at(c.speed, c.before...)
		_, err := v.Read(readingPaths, round, c.typed)
		got := ""
		if err != nil {
			got = err.Error()
		}
		if c.want == "" && got != "" || !strings.Contains(got, c.want) || c.not != "" && strings.Contains(got, c.not) {
			t.Errorf("%s: %q comes to %q; want %q", c.name, c.typed, got, c.want)
		}
	}
}
