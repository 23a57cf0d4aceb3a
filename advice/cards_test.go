package advice

import (
	"slices"
	"strings"
	"testing"

	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
	"dropwalk/engine/subject"
)

// ownCard is the card of an invented dial that was checked long ago and reads low.
func ownCard(t *testing.T) sheet.Card {
	t.Helper()
	c, faults := sheet.CardOf(map[string]string{"name": "g25", "range": "25 inH2O", "division": "0.5 inH2O", "accuracy": "2 %",
		"checked": "2025-01-15", "position": "upright", "correction": "10 inH2O = 10.4 inH2O, 20 inH2O = 20.8 inH2O"})
	if c == nil {
		t.Fatal(faults)
	}
	return *c
}

var gaugePaths = []string{gaugeRange, "gauges[].division"}

// answered are the entries of an answer outside rounds.
func answered(parts []subject.Part) []subject.Entry {
	var out []subject.Entry
	for _, p := range parts {
		out = append(out, subject.Entry{Path: p.Path, Row: soleRow, Text: p.Text})
	}
	return out
}

// At the question for the gauge the name of a card is the answer: what stands on it
// goes on the sheet, and the echo says so.
func TestACardIsAnAnswer(t *testing.T) {
	m := &Matter{Cards: []sheet.Card{ownCard(t)}}
	reply, err := m.Look([]subject.Entry{{Path: "date", Text: "2026-11-25"}}).Read(gaugePaths, subject.Round{}, "G25")
	if err != nil {
		t.Fatal(err)
	}
	for _, said := range []string{"25 inH2O", "card g25", "accuracy 2 %", "checked 2025-01-15, which is over a year ago", "read upright", "correction table of 2"} {
		if !strings.Contains(reply.Echo, said) {
			t.Errorf("the echo doesn't say %q: %s", said, reply.Echo)
		}
	}
	given := []subject.Entry{{Path: "date", Text: "2026-11-25"}, {Path: "car.engine.displacement", Text: "1998 cc"}}
	s, faults := sheet.FromEntries(SheetEntries(append(given, answered(reply.Parts)...)))
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	want := ownCard(t)
	if got := s.Gauges; len(got) != 1 || string((&sheet.Card{Gauge: got[0]}).Write()) != string(want.Write()) {
		t.Errorf("the sheet says %+v", got)
	}
	a := Assess(s, Options{})
	if !slices.ContainsFunc(a.Remarks, func(r assessment.Remark) bool { return r.Code == assessment.GaugeOverdue }) {
		t.Errorf("the date of the check brings no remark: %v", a.Remarks)
	}
}

// What was recorded needs no card any more: Enter at the question keeps it to the
// letter, whatever became of the card since.
func TestARecordedCardNeedsNone(t *testing.T) {
	m := &Matter{Cards: []sheet.Card{ownCard(t)}}
	first, err := m.Look(nil).Read(gaugePaths, subject.Round{}, "g25")
	if err != nil {
		t.Fatal(err)
	}
	var texts []string
	for _, p := range first.Parts {
		texts = append(texts, p.Text)
	}
	again, err := (&Matter{}).Look(nil).Read(gaugePaths, subject.Round{}, strings.Join(texts, ", "))
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(again.Parts, first.Parts) || again.Echo != first.Echo {
		t.Errorf("got  %v\nwant %v", again, first)
	}
}

// A name without a card is no range, and neither is a card line that somebody made
// up.
func TestWhatIsNoCardIsRefused(t *testing.T) {
	m := &Matter{Cards: []sheet.Card{ownCard(t)}}
	for typed, want := range map[string]string{
		"g52": `no gauge has a card called "g52" (did you mean "g25"?); expected range and division, such as 25 inH2O by 0.5 inH2O; or a card: g25`,
		"25 inH2O, 0.5 inH2O, card g9: colour red":                `a card has no "colour"`,
		"25 inH2O, 0.5 inH2O, card g9: accuracy 900 %":            "accuracy",
		"25 inH2O, 0.5 inH2O, card g9: correction 10 inH2O":       "can't be right",
		"25 inH2O, 0.5 inH2O, card g9: checked 2026-13-01":        "no day of the calendar",
		"25 inH2O, 0.5 inH2O, card g9: correction 3 s = 3 inH2O":  "3 s",
		"25 inH2O, 0.5 inH2O, card g9: name other; accuracy 2 %":  `a card has no "name"`,
		"25 inH2O, 30 inH2O, card g9: accuracy 2 %":               "larger than the range",
		"25 inH2O, 0.5 inH2O, card g9: readings[].value 12 inH2O": "a card has no",
	} {
		_, err := m.Look(nil).Read(gaugePaths, subject.Round{}, typed)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want %s", typed, err, want)
		}
	}
	if _, err := (&Matter{}).Look(nil).Read(gaugePaths, subject.Round{}, "g25"); err == nil || strings.Contains(err.Error(), "or a card") {
		t.Errorf("without cards: %v", err)
	}
}

// A gauge that is put right after readings were taken stands under them, and one
// that an earlier sheet brought gives way to it.
func TestAGaugePutRight(t *testing.T) {
	m := &Matter{Cards: []sheet.Card{ownCard(t)}}
	reply, err := m.Look(nil).Read(gaugePaths, subject.Round{}, "g25")
	if err != nil {
		t.Fatal(err)
	}
	base := []subject.Entry{
		{Path: "car.engine.displacement", Text: "1998 cc"},
		{Path: "gauges[].name", Row: "tube", Text: "tube"}, {Path: gaugeRange, Row: "tube", Text: "10 inH2O"},
	}
	run := []subject.Entry{
		{Path: visitGauge, Row: "walk.1", Text: "tube"},
		{Path: "readings[].from", Row: "walk.1/runs.1", Text: "open-air"}, {Path: "readings[].to", Row: "walk.1/runs.1", Text: "filter"},
		{Path: readingGauge, Row: "walk.1/runs.1", Text: "tube"}, {Path: readingPath, Row: "walk.1/runs.1", Text: "8 inH2O"},
	}
	entries := slices.Concat(base, answered(reply.Parts), run)
	s, faults := sheet.FromEntries(SheetEntries(entries))
	if faults.Err() != nil {
		t.Fatal(faults)
	}
	if len(s.Gauges) != 1 || s.Gauges[0].Name != "g25" || s.Readings[0].Gauge != "g25" {
		t.Errorf("gauges %v, reading with %q", s.Gauges, s.Readings[0].Gauge)
	}
	typed := append(answered([]subject.Part{{Path: gaugeRange, Text: "25 inH2O"}}), run...)
	s, faults = sheet.FromEntries(SheetEntries(append(base[:1:1], typed...)))
	if faults.Err() != nil || s.Gauges[0].Name != "tube" {
		t.Errorf("a gauge without a card is called %v, %v", s, faults)
	}
}
