package advice

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice/calibrate"
	"dropwalk/advice/finding"
	"dropwalk/advice/sheet"
	"dropwalk/engine/subject"
)

// onWater are the twelve marks of a gauge of 25 inH2O that shows a share of the
// truth, beside water of 20 C under standard gravity: 10 inH2O are 254.76 mm there,
// with the air above the open leg taken off.
func onWater(share float64) []subject.Entry {
	var rows [][]string
	for _, m := range markPlan {
		shown := 25 * m.share
		half := shown / share * 25.476 / 2
		rows = append(rows, []string{fmt.Sprintf("%g inH2O", shown), m.way, fmt.Sprintf("%.2f mm", 400+half), fmt.Sprintf("%.2f mm", 400-half)})
	}
	dial := answered([]subject.Part{{Path: gaugeRange, Text: "25 inH2O"}, {Path: "gauges[].division", Text: "0.5 inH2O"}, {Path: accuracyPath, Text: "2 %"}})
	dial = append(dial, places("date", "2026-11-25", waterPath, "20 C", cardCalled, "g9", cardTake, "yes")...)
	return append(dial, inRows("marks", []string{markShown, markWay, markUpper, markLower}, rows...)...)
}

// By hand: the gauge shows 0.96 of the truth, so that 25 inH2O are 26.0417 and the
// error is -1.0417 inH2O. One mark is known within 2 sqrt(u1^2 + u2^2 + u3^2): levels
// within 1 mm each, sqrt(2)/sqrt(3) mm of 9.7769 Pa a mm; the needle within 0.1 inH2O,
// over sqrt(3); density and gravity together within 0.16 % of 26.04 inH2O.
func TestGaugeCheckByHand(t *testing.T) {
	f := Found(onWater(0.96), Options{})
	if f.Verdict != calibrate.UseTable {
		t.Fatalf("verdict %s", f.Verdict)
	}
	const inch = 249.08891
	value := func(name string) float64 {
		x, ok := f.Figure(name)
		if !ok {
			t.Errorf("no figure %s", name)
		}
		return x.Value
	}
	near := func(name string, want, within float64) {
		t.Helper()
		if got := value(name); !(math.Abs(got-want) <= within) {
			t.Errorf("%s is %v, want %v", name, got, want)
		}
	}
	near("error", -1.04167*inch, 0.002*inch)
	near("gain", 0.96, 1e-4)
	near("accuracy", 0.5*inch, 1e-9)
	near("hysteresis", 0, 0.002*inch)
	u1, u2 := 9.7769*math.Sqrt2/math.Sqrt(3), 0.1*inch/math.Sqrt(3)
	spread := math.Sqrt(math.Pow(0.026/9.80665, 2)/3 + math.Pow(2.07e-4, 2)/3 + 5e-4*5e-4/3)
	near("column", 2*math.Sqrt(u1*u1+u2*u2+math.Pow(spread*26.0417*inch, 2)), 0.1)
	if text := strings.Join(f.Sentences, " "); !strings.Contains(text, "about 4.0 % low") || !strings.Contains(text, "15 inH2O is 15.62 inH2O") {
		t.Errorf("it says %s", text)
	}
}

// What a check puts on a card: a table where it takes one, an old table gone where it
// takes none, what else stood there untouched, and nothing where the gauge is no good.
func TestCardsOfChecks(t *testing.T) {
	old := ownCard(t)
	old.Name, old.Note = "g9", "from the shelf"
	card, asked, _ := TakenCard(onWater(0.96), []sheet.Card{old})
	if card == nil || !asked || card.Checked != "2026-11-25" || len(card.Correction) != 5 || card.Note != "from the shelf" {
		t.Fatalf("%+v, asked %v", card, asked)
	}
	if row := card.Correction[2]; row.Shown.Text() != "15 inH2O" || row.True.Text() != "15.62 inH2O" {
		t.Errorf("the third row is %s = %s", row.Shown.Text(), row.True.Text())
	}
	if _, faults := sheet.ReadCard("g9", card.Write()); len(faults) > 0 {
		t.Error(faults)
	}
	if card, _, _ = TakenCard(onWater(1), []sheet.Card{old}); card == nil || len(card.Correction) != 0 || card.Checked != "2026-11-25" {
		t.Errorf("of a gauge that is right: %+v", card)
	}
	if card, _, _ = TakenCard(onWater(0.96), nil); card == nil || card.Accuracy.Text() != "2 %" || card.Range.Text() != "25 inH2O" {
		t.Errorf("without an old card: %+v", card)
	}
	bare := sheet.Card{Gauge: sheet.Gauge{Name: "g9", Range: old.Range}}
	if card, _, _ = TakenCard(onWater(0.96), []sheet.Card{bare}); card == nil || card.Accuracy.Text() != "2 %" {
		t.Errorf("an accuracy that was stated at the check is lost: %+v", card)
	}
	for want, entries := range map[string][]subject.Entry{
		"not to use that gauge":              onWater(0.6),
		"too few marks":                      onWater(0.96)[:20],
		"nobody said":                        append(onWater(0.96), places(cardCalled, "")...),
		"it is no check of a gauge":          tube,
		"it is no check of a gauge against ": nil,
	} {
		if card, _, why := TakenCard(entries, nil); card != nil || !strings.Contains(why, want) {
			t.Errorf("%v, %q, want %s", card, why, want)
		}
	}
}

// Marks lie on the scale, as far up as gauge and column both reach.
func TestMarksLieOnTheScale(t *testing.T) {
	marks := func(full, division, reach string) (all []string) {
		entries := append(answered([]subject.Part{{Path: gaugeRange, Text: full}, {Path: "gauges[].division", Text: division}}), places(columnReach, reach)...)
		v := &view{matter: &Matter{}, entries: entries}
		for n := range 5 {
			offer, ok := v.nextMark(subject.Round{Done: n})
			if !ok || offer.Values["way"] != fromBelow {
				t.Fatalf("mark %d: %v", n+1, offer)
			}
			all = append(all, offer.Values["mark"])
		}
		return all
	}
	for _, c := range []struct {
		full, division, reach string
		want                  []string
	}{
		{"25 inH2O", "0.5 inH2O", "700 mm", []string{"5 inH2O", "10 inH2O", "15 inH2O", "20 inH2O", "25 inH2O"}},
		{"6 kPa", "0.2 kPa", "700 mm", []string{"1.2 kPa", "2.4 kPa", "3.6 kPa", "4.8 kPa", "6 kPa"}},
		{"25 inH2O", "0.5 inH2O", "300 mm", []string{"2 inH2O", "4.5 inH2O", "7 inH2O", "9 inH2O", "11.5 inH2O"}},
	} {
		if got := marks(c.full, c.division, c.reach); !slices.Equal(got, c.want) {
			t.Errorf("%s by %s with %s: %v, want %v", c.full, c.division, c.reach, got, c.want)
		}
	}
	v := &view{matter: &Matter{}, entries: append(answered([]subject.Part{{Path: gaugeRange, Text: "100 kPa"}, {Path: "gauges[].division", Text: "2 kPa"}}), places(columnReach, "700 mm")...)}
	if v.Value("column_short").Word != "yes" {
		t.Error("a column of 700 mm is said to do for a gauge of 100 kPa")
	}
}

// Levels are read with what they come to, and a slip is asked back.
func TestLevelsAreUnderstood(t *testing.T) {
	at := subject.Round{Slot: "marks.1"}
	v := (&Matter{}).Look(append(onWater(1)[:7], subject.Entry{Path: markShown, Row: "marks.1", Text: "10 inH2O"}))
	paths := []string{markUpper, markLower, markShown}
	reply, err := v.Read(paths, at, "527, 273")
	if err != nil || !strings.Contains(reply.Echo, "the column says 9.97 inH2O, the needle stands at 10 inH2O") {
		t.Errorf("%+v, %v", reply, err)
	}
	reply, err = v.Read(paths, at, "273 mm, 527 mm, 10.2")
	if err != nil || len(reply.Parts) != 3 || reply.Parts[2].Text != "10.2 inH2O" {
		t.Errorf("%+v, %v", reply, err)
	}
	for typed, want := range map[string]string{"527 mm": "one level alone", "527 mm, 423 mm": "the column says", "527 kPa, 3 mm": "not of length", "9 m, 1 m": "can't be right"} {
		if _, err := v.Read(paths, at, typed); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", typed, err, want)
		}
	}
	if reply, err := v.Read(paths, at, "?"); err != nil || !reply.Unknown {
		t.Errorf("not read: %+v, %v", reply, err)
	}
	if f := Found(onWater(1)[:9], Options{}); f != nil && f.Verdict != finding.NotYet {
		t.Errorf("too early: %s", f.Verdict)
	}
}
