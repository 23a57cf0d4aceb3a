package report

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/assessment"
)

// Whoever pays is told in plain words what stands in doubt, each thing once and
// ahead of any money; what only widens a band isn't among it.
func TestCustomerIsToldOfDoubts(t *testing.T) {
	a := chancesOf(assessment.Attack, "mouth", map[string]float64{"mouth": 0.9, "tube": 0.1})
	a.Remarks = []assessment.Remark{
		{Code: assessment.FarRPM, Text: "far", Runs: []int{1}}, {Code: assessment.TapDoubtful, Text: "tap", Runs: []int{2}},
		{Code: assessment.FarRPM, Text: "far too", Runs: []int{3}}, {Code: assessment.Wide, Text: "wide"},
	}
	s := readSheet(t, strings.Replace(carSheet, `, doubtful: "a gust"`, "", 1))
	text := Customer(a, s, Options{})
	const want = "Before any money is spent, the tester should look at this:\n\n- A run was read at an engine speed far from the one that these figures are for. It was worked out for that speed, and may be wrong there.\n" +
		"- One place where it was read may have shown a wrong pressure: a burr, a leak, or a jet of air at the hole.\n\n"
	if !strings.Contains(text, want) {
		t.Errorf("the page lacks %q:\n%s", want, text)
	}
	a.Remarks = nil
	if text := Customer(a, s, Options{}); strings.Contains(text, "Before any money") {
		t.Errorf("without a doubt the page has one:\n%s", text)
	}
	for _, code := range codes(t) {
		silent := code == assessment.Wide || code == assessment.BelowResolution
		if got := doubts[code] == ""; got != silent {
			t.Errorf("%s: no plain words: %v, want %v", code, got, silent)
		}
	}
}

// What is said of several runs is said once, with the least and the most of its
// figures.
func TestRemarksAreGathered(t *testing.T) {
	a := &assessment.Assessment{Remarks: []assessment.Remark{
		{Code: "not-full-load", Text: "the run from open-air to tube was read at 3050 rpm, far below the reference of 5800 rpm", Runs: []int{4}},
		{Code: "zero-shift", Text: "the zero moved", Runs: []int{2}},
		{Code: "not-full-load", Text: "the run from open-air to tube was read at 2950 rpm, far below the reference of 5800 rpm", Runs: []int{2}},
		{Code: "zero-shift", Text: "the zero moved", Runs: []int{3}},
		{Code: "zero-shift", Text: "another text", Runs: []int{5}},
		{Code: "wide", Text: "no run"}, {Code: "wide", Text: "no run"},
	}}
	want := []assessment.Remark{
		{Code: "not-full-load", Text: "the run from open-air to tube was read at 2950 to 3050 rpm, far below the reference of 5800 rpm", Runs: []int{2, 4}},
		{Code: "zero-shift", Text: "the zero moved", Runs: []int{2, 3}},
		{Code: "zero-shift", Text: "another text", Runs: []int{5}},
		{Code: "wide", Text: "no run"}, {Code: "wide", Text: "no run"},
	}
	if diff := cmp.Diff(want, newPage(a, nil, Options{}).Remarks()); diff != "" {
		t.Errorf("remarks (-want +got):\n%s", diff)
	}
	if a.Remarks[0].Runs[0] != 4 || len(a.Remarks) != 7 {
		t.Error("the assessment itself was changed")
	}
}

// A gauge into a still box shows less than the loss, one out of it more; both are
// told with their figures.
func TestWhyGaugeAndLossDiffer(t *testing.T) {
	a := chancesOf(assessment.Attack, "mouth", map[string]float64{"mouth": 1})
	src := strings.Replace(carSheet, "readings:\n", `readings:
  - {run: 8, from: snorkel, to: box-in, gauge: g25, value: "1.7 inH2O", rpm: 6000}
  - {run: 9, from: box-in, to: tube, gauge: g25, value: "6 inH2O", rpm: 6000}
  - {run: 10, from: box-in, to: element, gauge: g25, value: "1 inH2O", rpm: 6000}
`, 1)
	s := readSheet(t, src)
	for kind, text := range map[string]string{"report": Markdown(a, s, Options{}), "standing": Plain(a, s, Options{})} {
		for _, want := range []string{
			"From snorkel to box-in the gauge showed 1.7 inH2O. The air slows down on that way, and that hides about 2.8 inH2O of loss.",
			"From box-in to tube the gauge showed 6 inH2O. About 2.1 inH2O of it is the air that speeds up on that way, which is no loss.",
		} {
			if !strings.Contains(text, want) {
				t.Errorf("the %s lacks %q:\n%s", kind, want, text)
			}
		}
		if strings.Contains(text, "From box-in to element the gauge") {
			t.Errorf("the %s explains a difference that isn't there", kind)
		}
	}
}

// Where a gauge would show something else than was read, the page says so.
func TestWhyTheGaugeWouldShowSomethingElse(t *testing.T) {
	a := chancesOf(assessment.Attack, "mouth", map[string]float64{"mouth": 1})
	a.TotalGauge = about(3080, 2990, 3170)
	at := func(rpm string) string {
		return Markdown(a, readSheet(t, strings.ReplaceAll(strings.Replace(carSheet, "12.5 inH2O", "13.5 inH2O", 1), "rpm: 5950", rpm)), Options{})
	}
	if text, want := at("rpm: 6000"), "What was read there is 13.0 inH2O on average: the gauge may be off by so much"; !strings.Contains(text, want) {
		t.Errorf("the report lacks %q", want)
	}
	if text, want := at("rpm: 5700"), "the runs were not all at the speed of the engine"; !strings.Contains(text, want) {
		t.Errorf("the report lacks %q", want)
	}
	a.TotalGauge = about(3240, 3000, 3480)
	if text := at("rpm: 6000"); strings.Contains(text, "What was read there") {
		t.Error("a difference is told that nobody sees")
	}
}

// While readings contradict each other no loss is given to people, on no page.
func TestNoLossWhileReadingsContradict(t *testing.T) {
	a := chancesOf(assessment.Recheck, "mouth", map[string]float64{"mouth": 1})
	a.Remarks = []assessment.Remark{{Code: assessment.RunsDisagree, Text: "they disagree", Runs: []int{1, 2}}}
	e := example{"", a, readSheet(t, carSheet), Options{}, ""}
	for kind, text := range pages(e) {
		for _, figure := range []string{"10.3", "12.4", "2.6 (", "whole path costs"} {
			if strings.Contains(text, figure) {
				t.Errorf("the %s holds %q:\n%s", kind, figure, text)
			}
		}
		if kind != "customer" && (!strings.Contains(text, "Runs 1 and 2: They disagree.") || !strings.Contains(text, "Look for a hose that slipped")) {
			t.Errorf("the %s doesn't say where to look:\n%s", kind, text)
		}
	}
}

// A hole is drilled after a look into the box, not before.
func TestLookBeforeDrilling(t *testing.T) {
	for _, e := range examples(t) {
		drills := e.a != nil && newPage(e.a, e.s, e.o).Drills()
		for _, kind := range []string{"report", "plain", "advice"} {
			if got := strings.Contains(pages(e)[kind], "Before you drill: open the air box and look."); got != drills {
				t.Errorf("%s, %s: told to look first: %v, want %v", e.name, kind, got, drills)
			}
		}
	}
}

// A loss whose sum was measured doesn't rest on the handbook alone.
func TestSumMeasuredSplitFromTheHandbook(t *testing.T) {
	e := examples(t)[0]
	text := Markdown(e.a, e.s, e.o)
	if want := "| snorkel (duct) | 0.88 (0.71 to 1.15) | sum measured, split from the handbook |"; !strings.Contains(text, want) {
		t.Errorf("the report lacks %q:\n%s", want, text)
	}
	e.a.Together = nil
	if want := "| snorkel (duct) | 0.88 (0.71 to 1.15) | handbook |"; !strings.Contains(Markdown(e.a, e.s, e.o), want) {
		t.Errorf("without a sum the report lacks %q", want)
	}
}
