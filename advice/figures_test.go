package advice

import (
	"math"
	"os"
	"testing"

	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
)

// The pressure along the path begins with the loss of the first piece, never
// falls, ends at the total, and is known better than its parts added up.
func TestAlongEndsAtTheTotal(t *testing.T) {
	src, err := os.ReadFile("../testdata/sheets/yellow-estate.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, faults := sheet.Read("yellow-estate.yaml", src)
	if s == nil {
		t.Fatal(faults)
	}
	a, along := Assess(s, Options{}), Along(s, Options{})
	if len(along) != len(a.Components) || along[0] != a.Components[0].Loss || along[len(along)-1] != a.TotalLoss {
		t.Fatalf("the pressure runs from %v to %v in %d steps; the first loss is %v, the total %v of %d pieces",
			along[0], along[len(along)-1], len(along), a.Components[0].Loss, a.TotalLoss, len(a.Components))
	}
	widths := 0.0
	for k, e := range along {
		if k > 0 && (e.Median < along[k-1].Median || e.Low < along[k-1].Low || e.High < along[k-1].High) {
			t.Errorf("behind piece %d the total is %v, ahead of it %v: it falls", k+1, e, along[k-1])
		}
		widths += a.Components[k].Loss.High - a.Components[k].Loss.Low
	}
	end := along[len(along)-1]
	if width := end.High - end.Low; !(width < widths) || math.IsNaN(width) {
		t.Errorf("the total is known to %g Pa, its parts to %g Pa together: the readings of the whole count for nothing", width, widths)
	}
}

// runsOf are sound runs of the values, each with a scatter of its own of 50 Pa.
func runsOf(values ...float64) (runs []report.Run, own []float64) {
	for _, v := range values {
		runs, own = append(runs, report.Run{Value: v}), append(own, 2500)
	}
	return runs, own
}

// A line through the runs tells their drift; what is doubtful or only a bound
// doesn't count; and three runs that happen to agree don't prove that there is
// none.
func TestDrift(t *testing.T) {
	middle, d := drift(runsOf(3000, 3200, 3400, 3600))
	if math.Abs(middle-3300) > 1e-9 || d == nil || math.Abs(d.Median-600) > 1e-9 || d.Low <= 0 {
		t.Errorf("runs that rise by 600 Pa: middle %g, drift %v", middle, d)
	}
	// The slope's standard error is 50/sqrt(5), over three steps 67 Pa; 90 % are 110.
	if half := (d.High - d.Low) / 2; math.Abs(half-1.6449*3*50/math.Sqrt(5)) > 0.1 {
		t.Errorf("half the interval is %g Pa", half)
	}
	if _, d := drift(runsOf(3000, 3000, 3000)); d == nil || d.Low > -50 || d.High < 50 {
		t.Errorf("three runs that agree: drift %v", d)
	}
	runs, own := runsOf(3000, 3010, 9000, 2990, 8000)
	runs[2].Doubtful, runs[4].AtLeast = true, true
	if middle, d := drift(runs, own); math.Abs(middle-3000) > 1e-9 || d == nil || math.Abs(d.Median) > 20 {
		t.Errorf("with a doubtful run and a bound: middle %g, drift %v", middle, d)
	}
	if _, d := drift(runsOf(3000, 3300)); d != nil {
		t.Errorf("two runs drift by %v", d)
	}
	if middle, _ := drift(nil, nil); !math.IsNaN(middle) {
		t.Errorf("the middle of nothing is %g", middle)
	}
}

// Repeats are gathered by their pair and carried to the reference point.
func TestRepeats(t *testing.T) {
	src, err := os.ReadFile("../testdata/sheets/yellow-estate.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, faults := sheet.Read("yellow-estate.yaml", src)
	if s == nil {
		t.Fatal(faults)
	}
	list := Figures(s, Options{}).Repeats
	if len(list) == 0 || list[0].From != sheet.OpenAir || list[0].To != "tube" {
		t.Fatalf("repeats: %+v", list)
	}
	for _, r := range list[0].Runs {
		in := s.Readings[r.Number-1]
		// A loss goes with the square of the speed; the air differs by a per cent or two.
		want := in.Value.SI * square(6000/in.RPM)
		if math.Abs(r.Value/want-1) > 0.05 {
			t.Errorf("run %d reads %g Pa at %g rpm and is taken for %g at 6000", r.Number, in.Value.SI, in.RPM, r.Value)
		}
		if swing := in.Value.High - in.Value.Low; math.Abs((r.High-r.Low)-swing) > 0.05*swing {
			t.Errorf("run %d swings by %g Pa and is shown with %g", r.Number, swing, r.High-r.Low)
		}
	}
}
