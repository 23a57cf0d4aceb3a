package finding

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
)

const near = 1e-4

func close(got, want float64) bool { return math.Abs(got-want) <= near*max(1, math.Abs(want)) }

// Three readings of 12, 13 and 11 K on a scale of whole degrees, worked by hand: the
// scatter gives 1/sqrt(3), the scale 1/sqrt(12), together sqrt(1/3 + 1/12) = 0.64550.
// Welch and Satterthwaite give (5/12)^2 / ((1/3)^2/2) = 3.125 degrees of freedom.
func TestMeanOfRepeats(t *testing.T) {
	e := Mean([]float64{12, 13, 11}, Scale(1))
	if !close(e.Value, 12) || !close(e.SE, 0.64550) || !close(e.Freedom, 3.125) {
		t.Errorf("mean %v, error %v, freedom %v", e.Value, e.SE, e.Freedom)
	}
	one := Mean([]float64{7}, Limit(2), Scale(1))
	if !close(one.Value, 7) || !close(one.SE, math.Sqrt(4.0/3+1.0/12)) || !math.IsInf(one.Freedom, 1) {
		t.Errorf("one reading: %+v", one)
	}
	if none := Mean(nil, 1); !math.IsNaN(none.Value) {
		t.Errorf("of nothing: %v", none)
	}
}

// JCGM 100:2008 (GUM), H.1, the end gauge: standard uncertainties of 25, 9.7, 2.9 and
// 16.6 nm with 18, 25.6, 50 and 2 degrees of freedom come to 32 nm with 16. The last
// freedom is that of the difference of temperature, the third that of expansion; all
// are quoted from table H.1.
func TestPropagatedAsInTheGuide(t *testing.T) {
	one := func(se, freedom float64) Term { return Term{1, stats.Estimate{SE: se, Freedom: freedom}} }
	e := Propagated(838, one(25, 18), one(9.7, 25.6), one(2.9, 50), one(16.6, 2))
	if !close(e.Value, 838) || math.Round(e.SE) != 32 || math.Trunc(e.Freedom) != 16 {
		t.Errorf("%v with %v degrees of freedom, want 32 with 16", e.SE, e.Freedom)
	}
	// A slope of minus two weighs as one of two does.
	if e := Propagated(0, Term{-2, stats.Estimate{SE: 3, Freedom: 5}}); !close(e.SE, 6) || !close(e.Freedom, 5) {
		t.Errorf("%+v", e)
	}
}

// Symmetric intervals come out as the law of propagation has them; lopsided ones keep
// their sides.
func TestAround(t *testing.T) {
	sum := func(x []float64) float64 { return 2*x[0] - x[1] }
	value, low, high := Around(sum, Band(10, 8, 12), Band(1, -2, 4))
	if want := 5.0; !close(value, 19) || !close(value-low, want) || !close(high-value, want) {
		t.Errorf("%v, %v to %v", value, low, high) // sqrt(4^2 + 3^2) = 5
	}
	value, low, high = Around(func(x []float64) float64 { return x[0] * x[1] }, Band(2, 2, 2), Band(3, 2, 7))
	if !close(value, 6) || !close(low, 4) || !close(high, 14) {
		t.Errorf("%v, %v to %v", value, low, high)
	}
}

// A finding is filled with its figures, says what its file says of the verdict, and goes
// to programs with null for what nobody knows.
func TestFindingIsTold(t *testing.T) {
	f := New("intake-air")
	if f.Verdict != NotYet || f.Says == "" || f.Next == "" {
		t.Errorf("a new one: %+v", f)
	}
	f.Add(Of("rise", "Rise", quantity.TemperatureDiff, stats.Estimate{Value: 11, SE: 1, Freedom: stats.Endless}, Measured, "three readings"))
	f.Add(AtLeast("cost", "Cost", quantity.Share, 0.02, Inferred, "a rule"))
	f.Add(Unknown("soak", "Soak", quantity.TemperatureDiff, "nobody read it"))
	f.Say("It rises by {rise}, costs {cost}, {what}.")
	f.Conclude(VerdictsOf("intake-air")[0])
	told := f.Filled(func(x Figure) string { return "<" + x.Name + ">" })
	if got, want := told.Sentences[0], "It rises by <rise>, costs <cost>, {what}."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if f.Sentences[0] == told.Sentences[0] {
		t.Error("the finding itself was filled")
	}
	line, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Version int `json:"finding"`
		Figures []struct {
			Value, Low, High *float64
			Unit, How        string
		}
	}
	if err := json.Unmarshal(line, &doc); err != nil {
		t.Fatal(err)
	}
	rise, cost, soak := doc.Figures[0], doc.Figures[1], doc.Figures[2]
	if doc.Version != Version || *rise.Value != 11 || !close(*rise.Low, 11-1.64485) || !close(*rise.High, 11+1.64485) || rise.Unit != "K" {
		t.Errorf("%s", line)
	}
	if cost.Value != nil || *cost.Low != 2 || cost.High != nil || cost.Unit != "%" || soak.Low != nil || soak.How != NotTested {
		t.Errorf("%s", line)
	}
	if x, ok := f.Figure("rise"); !ok || x.Apart(12) || !x.Apart(13) || !x.Apart(9) {
		t.Errorf("rise %+v, %v", x, ok)
	}
}

// Every shipped file is read, and a broken one is told of with its place.
func TestFilesOfTests(t *testing.T) {
	if _, faults := load(); len(faults) > 0 {
		t.Error(faults)
	}
	const sound = `test: x
title: A question?
outcomes:
- {verdict: not-yet, says: Nothing yet., next: Go on.}
- {verdict: done, says: It is., next: Rest.}
not-tested: [Much.]
cautions:
- {level: caution, text: It is hot.}
`
	if _, k, faults := read("tests/x.yaml", []byte(sound)); len(faults) > 0 || k.outcomes["done"].next != "Rest." {
		t.Errorf("%v, %+v", faults, k)
	}
	for name, c := range map[string]struct{ old, new, says string }{
		"another name":  {"test: x", "test: y", `about the test "y"`},
		"no sentence":   {"next: Rest.", "next: Rest", "no whole sentence"},
		"twice":         {"verdict: done", "verdict: not-yet", "stands here twice"},
		"no not-yet":    {"verdict: not-yet", "verdict: other", "no verdict not-yet"},
		"no word":       {"verdict: done", "verdict: Done it", "no word of small letters"},
		"wrong level":   {"level: caution", "level: careful", "careful"},
		"unknown key":   {"title:", "titel:", "titel"},
		"nothing there": {"[Much.]", "[]", "not-tested"},
	} {
		_, _, faults := read("tests/x.yaml", []byte(strings.Replace(sound, c.old, c.new, 1)))
		if err := faults.Err(); err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "tests/x.yaml:") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestUnknownVerdictsAreFaultsOfTheProgram(t *testing.T) {
	for name, f := range map[string]func(){
		"verdict": func() { New("intake-air").Conclude("no-such-verdict") },
		"test":    func() { New("no-such-test") },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: nothing happened", name)
				}
			}()
			f()
		}()
	}
	if diff := cmp.Diff(VerdictsOf("no-such-test"), []string(nil)); diff != "" {
		t.Error(diff)
	}
}
