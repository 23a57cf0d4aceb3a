package sheet

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// least is what answers must hold to make a sheet.
func least(more ...subject.Entry) []subject.Entry {
	return append([]subject.Entry{
		{Path: "car.engine.displacement", Text: "1998 cc"},
		{Path: "path[].name", Row: "a", Text: "first"}, {Path: "path[].kind", Row: "a", Text: "mouth"},
		{Path: "path[].name", Row: "b", Text: "second"}, {Path: "path[].kind", Row: "b", Text: "duct"},
	}, more...)
}

// Answers come as a procedure collects them: rows by slot, corrections later,
// texts in the canonical form of their kind.
func TestFromEntries(t *testing.T) {
	got, faults := FromEntries(least(
		subject.Entry{Path: "reference.rpm", Text: "6000 rpm"},
		subject.Entry{Path: "path[].diameter", Row: "b", Text: "60 mm"},
		subject.Entry{Path: "path[].bends", Row: "b", Text: "90 deg radius 90 mm, 45 deg"},
		subject.Entry{Path: "path[].fixed", Row: "b", Text: "yes"},
		subject.Entry{Path: "path[].effort", Row: "b", Text: "3"},
		subject.Entry{Path: "path[].tap_bore", Row: "a", Text: "still"},
		subject.Entry{Path: "gauges[].name", Row: "1", Text: "g"},
		subject.Entry{Path: "gauges[].correction", Row: "1", Text: "10 inH2O = 10.2 inH2O"},
		subject.Entry{Path: "readings[].value", Row: "walk.1/runs.2", Text: "12-13 inH2O"},
		subject.Entry{Path: "readings[].from", Row: "walk.1/runs.2", Text: OpenAir},
		subject.Entry{Path: "readings[].to", Row: "walk.1/runs.2", Text: "second"},
		subject.Entry{Path: "readings[].rpm", Row: "walk.1/runs.2", Text: "6050 rpm"},
		subject.Entry{Path: "readings[].air.temperature", Row: "walk.1/runs.2", Text: "19 C"},
		subject.Entry{Path: "checks[].kind", Row: "walk.1", Text: "leak"},
		subject.Entry{Path: "checks[].at", Row: "walk.1", Text: "second"},
		subject.Entry{Path: "checks[].seconds", Row: "walk.1", Text: "0.5 min"},
		subject.Entry{Path: "title", Text: "wrong"},
		subject.Entry{Path: "title", Text: "right"},
		subject.Entry{Path: "place", Text: "track"},
		subject.Entry{Path: "place", Text: ""},
	))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	want, faults := Read("f", []byte(`sheet: 1
title: right
car: {engine: {displacement: 1998 cc}}
reference: {rpm: 6000}
path:
- {name: first, kind: mouth, tap_bore: still}
- {name: second, kind: duct, diameter: 60 mm, bends: [{angle: 90 deg, radius: 90 mm}, {angle: 45 deg}], fixed: true, effort: 3}
gauges: [{name: g, correction: [{shown: 10 inH2O, true: 10.2 inH2O}]}]
checks: [{kind: leak, at: second, seconds: 30}]
readings: [{from: open-air, to: second, value: 12-13 inH2O, rpm: 6050, air: {temperature: 19 C}}]
`))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestFromEntriesFaults(t *testing.T) {
	for _, c := range []struct {
		more subject.Entry
		want string
	}{
		{subject.Entry{Path: "car.engine.cylinders", Text: "four"}, `car.engine.cylinders: "four" is no whole number, expected a whole number from 1 to 48`},
		{subject.Entry{Path: "car.engine.cylinders", Text: "4.5"}, `car.engine.cylinders: "4.5" is no whole number, expected a whole number from 1 to 48`},
		{subject.Entry{Path: "car.engine.boost", Text: "70"}, `car.engine.boost: 70 has no unit, expected a gauge pressure with its unit, from 0 kPa to 600 kPa (write the unit, for example "70 kPa")`},
		{subject.Entry{Path: "path[].fixed", Row: "b", Text: "perhaps"}, `path[2].fixed: "perhaps" is no truth value, expected true or false`},
		{subject.Entry{Path: "path[].bends", Row: "b", Text: "sharp"}, `path[2].bends[1].angle: "sharp" does not begin with a number, expected an angle such as "90 deg"`},
		{subject.Entry{Path: "path[].diamter", Row: "b", Text: "60 mm"}, `path[].diamter: a test sheet has no such place (did you mean "path[].diameter"?)`},
		{subject.Entry{Path: "path[].name", Row: "b", Text: "first"}, `path[2].name: a second component is called "first", expected a name that stands once`},
		{subject.Entry{Path: "path[].name", Row: "b", Text: ""}, `path[2]: the key "name" is missing, expected name: a name (for example name: snorkel)`},
		{subject.Entry{Path: "readings[].to", Row: "1", Text: "second"}, `readings[1]: the key "from" is missing, expected from: open-air or the name of a component (for example from: open-air)`},
	} {
		s, faults := FromEntries(least(c.more))
		got, _, _ := strings.Cut(faults.Error(), "\n")
		if got != c.want || s != nil {
			t.Errorf("%v\n got %s, sheet %v\nwant %s, no sheet", c.more, got, s != nil, c.want)
		}
	}
}

// Every field can be filled, and each by the kind of answer that it names.
func TestFieldsAreKnown(t *testing.T) {
	want := map[string]subject.Field{
		"car.engine.displacement": {Kind: quantity.Volume, Required: true},
		"car.engine.fuel":         {Kind: quantity.Choice, Choices: []string{"petrol", "diesel"}},
		"path[].kind":             {Kind: quantity.Choice, Choices: Kinds(), Required: true},
		"path[].fixed":            {Kind: quantity.Truth},
		"readings[].value":        {Kind: quantity.PressureDiff, Required: true},
		"readings[].rpm":          {Kind: quantity.Rotation, Unit: "rpm"},
		"readings[].air.humidity": {Kind: quantity.Share},
		"checks[].seconds":        {Kind: quantity.Duration, Unit: "s"},
		"date":                    {Kind: quantity.Date},
		"title":                   {Kind: quantity.Text},
	}
	for _, f := range Fields() {
		if !Known(f.Path) || f.Doc == "" {
			t.Errorf("%s is not known or has no doc", f.Path)
		}
		if w, ok := want[f.Path]; ok {
			w.Path, w.Doc = f.Path, f.Doc
			if diff := cmp.Diff(w, f); diff != "" {
				t.Errorf("%s:\n%s", f.Path, diff)
			}
			delete(want, f.Path)
		}
	}
	for path := range want {
		t.Errorf("%s is missing among the fields", path)
	}
	if Known("sheet") || Known("path[]") || Known("path[].bends[].angle") {
		t.Error("what is no answer counts as a place of a sheet")
	}
}

// What reads without a fault can be written and read again to the same sheet,
// by text and by entries; nothing panics and every fault has its place.
func FuzzRead(f *testing.F) {
	_, src := example(f)
	f.Add(src)
	f.Add([]byte(base))
	f.Add([]byte(small("A") + "---\n" + small("B")))
	f.Add([]byte(smallJSON("A") + "\n{" + smallJSON("B")))
	for _, c := range broken[:20] {
		f.Add([]byte(strings.Replace(base, c.old, c.new, 1)))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		ReadAll("f", bytes.NewReader(src), func(s *Sheet, faults strictyaml.Faults) bool {
			for _, fault := range faults {
				if fault.Line < 1 || fault.Col < 1 || strings.ContainsAny(fault.Error(), "\n\x1b") {
					t.Errorf("fault without a place or not on one line: %q", fault.Error())
				}
			}
			if s == nil {
				if faults.Err() == nil {
					t.Error("neither a sheet nor a fault")
				}
				return true
			}
			back, faults := Read("written", Write(s))
			if diff := cmp.Diff(s, back); faults.Err() != nil || diff != "" {
				t.Errorf("written and read again:\n%v\n%s\n%s", faults, diff, Write(s))
			}
			again, faults := FromEntries(s.Entries())
			if diff := cmp.Diff(s, again, anyRaw); faults.Err() != nil || diff != "" {
				t.Errorf("through entries:\n%v\n%s\n%s", faults, diff, Write(s))
			}
			return true
		})
	})
}
