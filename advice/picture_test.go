package advice

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// told is a picture as lines: what goes on here, mark, name, notes.
func told(p subject.Picture) []string {
	marks := map[subject.Mark]string{subject.Passed: "|", subject.End: "+", subject.Possible: "o", subject.Present: "*"}
	var lines []string
	for _, s := range p.Places {
		line := marks[s.Mark] + " " + s.Name
		if s.Next {
			line = "> " + line
		}
		lines = append(lines, strings.Join(append([]string{line}, s.Notes...), "; "))
	}
	return lines
}

// The picture follows a visit: before any reading, while a tap is made, during
// the runs, and when the next reading is known.
func TestPictureFollowsTheVisit(t *testing.T) {
	entries := []subject.Entry{
		{Path: "car.engine.displacement", Text: "1998 cc"}, {Path: "car.engine.induction", Text: "turbo"},
		{Path: piecesPath, Text: "mouth, duct, box-entry, filter, box-exit, meter, duct"},
		{Path: noTapPath, Text: "box-entry"}, {Path: gaugeRange, Row: "1", Text: "40 inH2O"},
	}
	look := func(at subject.Round) []string {
		return told((&Matter{}).Look(entries).Picture("path", at))
	}
	whole := map[string]string{"from": "open-air", "to": "duct-2", "taps": "duct-2 drill"}
	want := []string{
		"> + open-air; next reading from here", "| mouth; no tap", "o duct; can be drilled", "| box-entry; no tap",
		"o filter; can be drilled", "o box-exit; can be drilled", "| meter; no tap", "> o duct-2; can be drilled; next reading to here", "+ compressor",
	}
	if diff := cmp.Diff(want, look(subject.Round{})); diff != "" {
		t.Errorf("before any reading (-want +got):\n%s", diff)
	}
	entries = append(entries, subject.Entry{Path: visitFrom, Row: "walk.1", Text: "open-air"}, subject.Entry{Path: visitTo, Row: "walk.1", Text: "duct-2"})
	making := map[string]string{"station": "duct-2", "how": "drill"}
	for k, v := range whole {
		making[k] = v
	}
	if diff := cmp.Diff(want, look(subject.Round{Slot: "walk.1/taps.1", Values: making})); diff != "" {
		t.Errorf("while the tap is made (-want +got):\n%s", diff)
	}
	want[7] = "> * duct-2; tap fitted; next reading to here"
	if diff := cmp.Diff(want, look(subject.Round{Slot: "walk.1", Values: whole})); diff != "" {
		t.Errorf("with the tap (-want +got):\n%s", diff)
	}
	for n, value := range []string{"12.4 inH2O", "12.6 inH2O", "33 inH2O", "?"} {
		row := fmt.Sprintf("walk.1/runs.%d", n+1)
		for path, text := range map[string]string{"run": fmt.Sprint(n + 1), "from": "open-air", "to": "duct-2", "value": value, "rpm": "6000 rpm"} {
			entries = append(entries, subject.Entry{Path: "readings[]." + path, Row: row, Text: text})
		}
	}
	entries = append(entries, subject.Entry{Path: doubtfulPath, Row: "walk.1/runs.3", Text: "doubtful: a gust"})
	got := look(subject.Round{Slot: "walk.1/runs.4", Values: whole})
	if want := "> * duct-2; tap fitted; 12.5 inH2O from open-air (3 runs, 1 doubtful, 1 not read); next reading to here"; got[7] != want {
		t.Errorf("among the runs: %q, want %q", got[7], want)
	}
	got = look(subject.Round{Slot: "walk.1", Values: whole})
	v := (&Matter{}).Look(entries).(*view)
	next := v.assess().Next
	if next == nil {
		t.Fatal("the invented car asks for no second reading: choose another")
	}
	for i, s := range append([]string{"open-air"}, strings.Split("mouth duct box-entry filter box-exit meter duct-2", " ")...) {
		if ends := s == next.From || s == next.To; strings.HasPrefix(got[i], "> ") != ends {
			t.Errorf("after the runs the next reading goes from %s to %s, and the picture has %q", next.From, next.To, got[i])
		}
	}
}

// Readings are shown in the user's units, and before the engine's size is known
// there is a path all the same.
func TestPictureUnitsAndEarly(t *testing.T) {
	entries := []subject.Entry{
		{Path: "readings[].from", Row: "walk.1/runs.1", Text: "open-air"}, {Path: "readings[].to", Row: "walk.1/runs.1", Text: "tube"},
		{Path: readingPath, Row: "walk.1/runs.1", Text: ">25 inH2O"},
		{Path: "readings[].from", Row: "walk.2/runs.1", Text: "filter"}, {Path: "readings[].to", Row: "walk.2/runs.1", Text: "tube"},
		{Path: readingPath, Row: "walk.2/runs.1", Text: "3-5 inH2O"},
	}
	got := told((&Matter{Units: quantity.Metric}).Look(entries).Picture("path", subject.Round{}))
	if want := "* tube; tap fitted; >25 inH2O from open-air (1 run); 996 Pa from filter (1 run)"; !strings.HasPrefix(got[7], want) {
		t.Errorf("the last place is %q, want %q", got[7], want)
	}
	if want := "+ throttle or blower"; got[8] != want {
		t.Errorf("the end is %q, want %q", got[8], want)
	}
}

// Where nobody looked for room, the picture claims of no tap that it can be made.
func TestPictureClaimsNoRoomThatNobodyLookedFor(t *testing.T) {
	entries := []subject.Entry{{Path: "car.engine.displacement", Text: "1998 cc"}, {Path: piecesPath, Text: "mouth, duct, filter, meter"}}
	look := func() string {
		return strings.Join(told((&Matter{}).Look(entries).Picture("path", subject.Round{})), "\n")
	}
	if got := look(); !strings.Contains(got, "o duct; tap, if there is room") || strings.Contains(got, "can be drilled") {
		t.Errorf("before anybody looked:\n%s", got)
	}
	entries = append(entries, subject.Entry{Path: noTapPath, Text: "none"})
	if got := look(); !strings.Contains(got, "o duct; can be drilled") {
		t.Errorf("with room everywhere:\n%s", got)
	}
}

// Runs that could not be read aren't counted as part of a figure.
func TestUnreadRunsDontCount(t *testing.T) {
	runs := func(values ...quantity.Amount) []sheet.Reading {
		var list []sheet.Reading
		for _, v := range values {
			list = append(list, sheet.Reading{Value: v})
		}
		return list
	}
	read, unread := quantity.Amount{SI: 2241}, quantity.Amount{Form: quantity.Unreadable}
	for _, c := range []struct {
		list []sheet.Reading
		want string
	}{
		{runs(read, unread, unread), " (1 run, 2 not read)"},
		{runs(read, read), " (2 runs)"},
		{runs(unread, unread), " (2 runs)"}, // the figure is "unreadable"
	} {
		if got := runsNote(c.list); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}
