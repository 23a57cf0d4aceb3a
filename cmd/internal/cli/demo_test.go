package cli

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
)

func readDemo(t *testing.T, src string) *sheet.Sheet {
	t.Helper()
	s, faults := sheet.Read(demoFile, []byte(src))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return s
}

// The example goes from the car to the advice, says that it is invented, and
// shows every reading as it was typed.
func TestDemoIsOneStory(t *testing.T) {
	r := runLine("demo")
	if r.code != exitDone || r.err != "" {
		t.Fatalf("demo ends with %d and says %q", r.code, r.err)
	}
	rest := r.out
	for _, want := range []string{"This example is invented", "The car\n", "The path\n", "mouth, 60 mm bore", "The readings, as they were typed\n",
		"What they mean\n", "Piece by piece:", "The advice\n", "Change mouth first.", "The same for your car\n", "dropwalk start"} {
		_, after, found := strings.Cut(rest, want)
		if !found {
			t.Fatalf("after what came before, %q is missing in\n%s", want, r.out)
		}
		rest = after
	}
	for _, reading := range readDemo(t, string(demoSheet)).Readings {
		if !strings.Contains(r.out, "  "+reading.Value.Raw+" ") {
			t.Errorf("the reading %q isn't there as it was typed", reading.Value.Raw)
		}
	}
	if n := strings.Count(r.out, "Change mouth first."); n != 1 {
		t.Errorf("the verdict stands there %d times, want once", n)
	}
}

// Nothing in it is written down beforehand: other readings, another verdict.
func TestDemoIsWorkedOut(t *testing.T) {
	small := string(demoSheet)
	for _, typed := range []string{"13,5", "13-14", "13 1/4", "8.5", "8-9", "8,5", "7.5", "7-8"} {
		small = strings.ReplaceAll(small, `"`+typed+` inH2O"`, `"3 inH2O"`)
	}
	s := readDemo(t, small)
	page := demoPage(s, advice.Assess(s, advice.Options{}), report.Options{})
	if strings.Contains(page, "Change mouth first.") || !strings.Contains(page, "3 inH2O") {
		t.Errorf("with other readings the page is\n%s", page)
	}
}

func TestDemoAsJSON(t *testing.T) {
	r := runLine("demo --json")
	var got struct {
		Demo       int                    `json:"demo"`
		Invented   bool                   `json:"invented"`
		Sheet      json.RawMessage        `json:"sheet"`
		Assessment *assessment.Assessment `json:"assessment"`
	}
	if err := json.Unmarshal([]byte(r.out), &got); err != nil || got.Demo != 1 || !got.Invented {
		t.Fatalf("%v: %s", err, r.out)
	}
	s := readDemo(t, string(got.Sheet))
	want := advice.Assess(s, advice.Options{})
	if a, b := fmt.Sprint(got.Assessment.TotalLoss), fmt.Sprint(want.TotalLoss); a != b {
		t.Errorf("the sheet in it comes to %s, the assessment in it says %s", b, a)
	}
}
