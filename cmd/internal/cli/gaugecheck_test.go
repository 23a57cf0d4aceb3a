package cli

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
	"dropwalk/engine"
	"dropwalk/engine/record"
)

// inchMM is how far the levels of pure water at 20 C stand apart for the
// conventional inch of water under standard gravity, with 1.2 kg/m3 of air taken off:
// 249.08891 / (997.0067 x 9.80665) m.
const inchMM = 249.08891 / (997.0067 * 9.80665) * 1000

// bench is the marks of the shipped plan for a gauge of 25 inH2O by 0.5 inH2O.
var bench = []float64{5, 10, 15, 20, 25, 20, 15, 10, 5, 5, 15, 25}

// levels are what somebody with a ruler reads at each mark, where the truth is so
// many inches: the water stands at 300 mm at rest.
func levels(truth func(mark float64, nth int) float64) []string {
	var out []string
	for i, mark := range bench {
		half := truth(mark, i) * inchMM / 2
		out = append(out, fmt.Sprintf("%.1f mm, %.1f mm", 400+half, 400-half))
	}
	return out
}

// low is a gauge that shows a share of the truth.
func low(share float64) func(float64, int) float64 {
	return func(mark float64, _ int) float64 { return mark / share }
}

// Each verdict on a gauge leads to its own step and to no other.
func TestGaugeCheckStories(t *testing.T) {
	dial := tester{"gauge": "25 inH2O by 0.5 inH2O", "accuracy": "2 %", "reach": "700 mm", "water": "20 C", "latitude": "45 deg, 0 m", "zero": "0 inH2O", "zero-after": "0 inH2O", "card-name": "g25", "card": "no"}
	sticky := func(mark float64, nth int) float64 {
		if nth > 4 && nth < 9 {
			return mark - 1.6
		}
		return mark
	}
	tell(t, "gauge-check", []furtherStory{
		{"true", dial, map[string][]string{"levels": levels(low(1))}, "within", "keeps", "keeps to its accuracy"},
		{"low and faithful", dial, map[string][]string{"levels": levels(low(0.96))}, "use-table", "table", "about 4.0 % low"},
		{"sticky", dial, map[string][]string{"levels": levels(sticky)}, "dont-use", "aside", "Don't use this gauge"},
		{"on the edge", dial, map[string][]string{"levels": levels(low(0.98))}, "cannot-tell", "open", "leaves open"},
		{"nothing read", dial, map[string][]string{"levels": {"?"}}, "not-yet", "missing", "Too few marks"},
	})
}

// Besides the marks a check is a matter of few questions; a gauge with a card takes two
// less.
func TestGaugeCheckIsShort(t *testing.T) {
	count := func(gauge string) (asks int) {
		s := &series{tester: tester{"gauge": gauge, "card": "no", "card-name": "g9", "zero": "0 inH2O", "zero-after": "0 inH2O"}, inTurn: map[string][]string{"levels": levels(low(1))}}
		s.through(t, "gauge-check")
		steps := stepsOf(shippedHere(t, "gauge-check"))
		for _, id := range s.asked {
			if step := steps[id]; step != nil && step.Kind == engine.Ask && id != "levels" {
				asks++
			}
		}
		return asks
	}
	if got := count("25 inH2O by 0.5 inH2O"); got != 9 {
		t.Errorf("without a card it takes %d questions, want 9", got)
	}
	if got := count("25 inH2O, 0.5 inH2O, card g9: accuracy 2 %"); got != 7 {
		t.Errorf("with a card it takes %d questions, want 7", got)
	}
}

func TestGaugeCheckIsReadable(t *testing.T) {
	screens(t, "gauge-check", map[string]string{"gauge": "25 inH2O by 0.5 inH2O", "levels": "527 mm, 273 mm, keep", "card": "no"})
}

// A gauge that reads 4 % low is checked. Its card gets the table, and a test of the
// intake with that card gives the true total. A test that was made before stays as it
// was, to the byte.
func TestACheckedGaugeTellsTheTruth(t *testing.T) {
	home := t.TempDir()
	added(t, home, "g25", "--range", "25 inH2O", "--division", "0.5 inH2O", "--accuracy", "2 %", "--note", "bought used")
	intake := func() *assessment.Assessment {
		t.Helper()
		// The truth is 12.5 inH2O; the gauge shows 4 % less.
		answers := strings.Join([]string{"yellow", "1998 cc", "4", "petrol", "natural", "6000", "?", "?", "?", "later", "none", "g25", "25 C, 990 hPa, 0 %", "pause"}, "\n")
		if code, _, errs := atHome(t, home, answers+"\n", "start"); code != exitStopped {
			t.Fatalf("intake ends with %d: %s", code, errs)
		}
		names, _ := record.Names(filepath.Join(home, "dropwalk", "records"))
		_, text, errs := atHome(t, home, "", "sheet", latest(names, "yellow"))
		text += "readings:\n"
		for run := range 6 {
			text += fmt.Sprintf("  - {run: %d, from: open-air, to: tube, gauge: g25, value: 12 inH2O, rpm: 6000, zero_before: 0 inH2O, zero_after: 0 inH2O}\n", run+1)
		}
		s, faults := sheet.Read("sheet", []byte(text))
		if s == nil {
			t.Fatalf("%v\n%s%s", faults, text, errs)
		}
		return advice.Assess(s, advice.Options{})
	}
	const inch = 249.08891
	before := intake()
	if got := before.TotalGauge.Median / inch; got > 12.25 {
		t.Errorf("without its table the gauge says %.2f inH2O, and the truth is 12.5", got)
	}
	_, old, _ := atHome(t, home, "", "sheet", "yellow-2026-12-01")

	typed := []string{"g25", "done", "done", "700 mm", "20 C", "45 deg, 0 m", "done", "done", "0 inH2O", ""}
	typed = append(typed, levels(low(0.96))...)
	typed = append(typed, "0 inH2O", "", "", "yes", "done", "done")
	code, _, errs := atHome(t, home, strings.Join(typed, "\n")+"\n", "start", "gauge-check")
	if code != exitDone || !strings.Contains(errs, "the card of g25: checked 2026-12-01, with a correction table of 5 rows") {
		t.Fatalf("the check ends with %d: %s", code, errs)
	}
	_, out, _ := atHome(t, home, "", "gauges", "show", "g25", "--json")
	card, faults := sheet.ReadCard("g25", []byte(out))
	if card == nil {
		t.Fatal(faults)
	}
	if card.Checked != "2026-12-01" || card.Note != "bought used" || card.Accuracy.SI != 0.02 || len(card.Correction) != 5 {
		t.Errorf("the card says %s", out)
	}
	for _, row := range card.Correction {
		if got, want := row.True.SI, row.Shown.SI/0.96; math.Abs(got-want) > 0.03*inch {
			t.Errorf("%s is %s on the card, want %.3f inH2O", row.Shown.Text(), row.True.Text(), want/inch)
		}
	}

	after := intake()
	// The handbook draws both a little up; what the table does is that of the gauge.
	if got := after.TotalGauge.Median / inch; math.Abs(got-12.5) > 0.25 {
		t.Errorf("with its table the gauge says %.2f inH2O, want 12.5 within 2 %%", got)
	}
	if got := after.TotalGauge.Median / before.TotalGauge.Median; math.Abs(got-1/0.96) > 0.005 {
		t.Errorf("the table makes %.4f of the reading, want %.4f", got, 1/0.96)
	}
	if wide := func(a *assessment.Assessment) float64 {
		return (a.TotalGauge.High - a.TotalGauge.Low) / a.TotalGauge.Median
	}; wide(after) >= wide(before) {
		t.Errorf("a gauge that was checked is no surer: %v, %v", after.TotalGauge, before.TotalGauge)
	}
	if _, still, _ := atHome(t, home, "", "sheet", "yellow-2026-12-01"); still != old {
		t.Errorf("the old test says now\n%s\nbefore\n%s", still, old)
	}
	code, out, errs = atHome(t, home, "", "report", "gauge-check-2026-12-01")
	if code != exitDone || !strings.Contains(out, "reads about 4.0 % low") || !strings.Contains(out, "10 inH2O is 10.42 inH2O") {
		t.Errorf("the report says %d\n%s%s", code, out, errs)
	}
}

// latest is the last of the records that begin so.
func latest(names []string, base string) string {
	found := ""
	for _, name := range names {
		if strings.HasPrefix(name, base) {
			found = max(found, name)
		}
	}
	return found
}

// The card can be taken from the record later; a later check is not undone by an
// older one, and a record of another kind gives nothing.
func TestGaugesTake(t *testing.T) {
	home := t.TempDir()
	typed := append([]string{"25 inH2O by 0.5 inH2O", "2 %", "done", "done", "700 mm", "20 C", "?", "done", "done", "0 inH2O", ""}, levels(low(0.96))...)
	typed = append(typed, "0 inH2O", "", "", "Other 9", "g9", "no", "done", "done")
	code, _, errs := atHome(t, home, strings.Join(typed, "\n")+"\n", "start", "gauge-check")
	if code != exitDone || !strings.Contains(errs, `"Other 9" is no name for a card`) || strings.Contains(errs, "the card of g9") {
		t.Fatalf("the check ends with %d: %s", code, errs)
	}
	if _, out, _ := atHome(t, home, "", "gauges"); out != "" {
		t.Errorf("a card was written that nobody wanted:\n%s", out)
	}
	code, out, errs := atHome(t, home, "", "gauges", "take", "gauge-check", "--json")
	if card, _ := sheet.ReadCard("g9", []byte(out)); code != exitDone || card == nil || card.Range.Text() != "25 inH2O" || len(card.Correction) != 5 {
		t.Errorf("take ends with %d: %s%s", code, out, errs)
	}
	added(t, home, "g9", "--range", "25 inH2O", "--checked", "2027-01-01", "--replace")
	code, _, errs = atHome(t, home, "", "gauges", "take", "gauge-check")
	if code != exitInput || !strings.Contains(errs, "after this test") {
		t.Errorf("an older check: %d, %s", code, errs)
	}
	if code, _, errs = atHome(t, home, "", "gauges", "take", "gauge-check", "--replace"); code != exitDone {
		t.Errorf("all the same: %d, %s", code, errs)
	}
	atHome(t, home, "blue\npause\n", "start")
	code, _, errs = atHome(t, home, "", "gauges", "take", "blue")
	if code != exitInput || !strings.Contains(errs, "it is no check of a gauge") {
		t.Errorf("a test of the path: %d, %s", code, errs)
	}
}

// The check from a file: every form of the report tells it, and the card is written as
// it is from prompts.
func TestGaugeCheckFromAFile(t *testing.T) {
	home := t.TempDir()
	code, name, errs := atHome(t, home, "", "start", "gauge-check", "--answers", "../../../testdata/answers/low-gauge-check.yaml")
	if code != exitDone || !strings.Contains(errs, "the card of low-dial: checked 2026-12-01, with a correction table of 5 rows") {
		t.Fatalf("it ends with %d: %s", code, errs)
	}
	_, out, _ := atHome(t, home, "", "report", strings.TrimSpace(name), "--json")
	if !strings.Contains(out, `"verdict":"use-table"`) || !strings.Contains(out, `"sheet":null`) {
		t.Errorf("the report says %s", out)
	}
	code, _, errs = atHome(t, home, "", "sheet", strings.TrimSpace(name))
	if code != exitInput || !strings.Contains(errs, "makes no test sheet") {
		t.Errorf("sheet: %d, %s", code, errs)
	}
	_, out, _ = atHome(t, home, "", "report", strings.TrimSpace(name), "--no-names")
	if strings.Contains(out, "low-dial") {
		t.Errorf("without names it says\n%s", out)
	}
}
