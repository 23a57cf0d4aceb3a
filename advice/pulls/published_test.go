package pulls

import (
	"compress/gzip"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
)

const published = "../../testdata/published/"

// readPublished reads a log of a published data set.
func readPublished(t *testing.T, file string) *Result {
	t.Helper()
	f, err := os.Open(published + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var r *Result
	if strings.HasSuffix(file, ".gz") {
		z, err := gzip.NewReader(f)
		if err != nil {
			t.Fatal(err)
		}
		r, _, err = Read(file, z, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	if r, _, err = Read(file, f, Options{}); err != nil {
		t.Fatal(err)
	}
	return r
}

// The open log of a turbo diesel on a road: recorder/car_2018.csv.gz. Whoever
// looks at pedal and manifold pressure finds one stretch of full load of three
// seconds and more in which engine speed rises by 600 rpm and more, and the
// recorder takes its channels in turn, one every 0.09 s.
func TestCarLog(t *testing.T) {
	r := readPublished(t, "recorder/car_2018.csv.gz")
	if len(r.Found) != 1 {
		t.Fatalf("%d pulls, want 1: %+v", len(r.Found), r.Found)
	}
	p := r.Found[0]
	near(t, "start", p.StartS, 18*3600+8*60+33.3-(17*3600+58*60+2.288), 0.5)
	near(t, "end", p.EndS, 18*3600+8*60+38.1-(17*3600+58*60+2.288), 0.5)
	if p.RPMLow < 1684 || p.RPMLow > 2100 || p.RPMHigh != 3632 {
		t.Errorf("from %v to %v rpm, want about 2027 to 3632", p.RPMLow, p.RPMHigh)
	}
	// 3034 rpm at 82 km/h and 3359 at 90, as the log has them.
	near(t, "rpm per km/h", *p.RPMPerKmh, 37.2, 0.5)
	if p.Gear == nil || *p.Gear != 3 || len(r.Gears) != 6 {
		t.Errorf("gear %v of %d, want the third of 6", p.Gear, len(r.Gears))
	}
	if p.Flow == nil || p.Flow.Low > 128 || p.Flow.High < 124 {
		t.Errorf("air flow %+v at 3600 rpm", p.Flow)
	}
	if len(r.Rejected) != 1 || r.Rejected[0].Name != "Absolute Throttle Position" || !strings.Contains(r.Rejected[0].Reason, "idling") {
		t.Errorf("rejected: %+v", r.Rejected)
	}
	for _, c := range r.Channels {
		if c.Role == RPM || c.Role == Flow || c.Role == Speed || c.Role == Load {
			near(t, "refresh of "+c.Name, *c.RefreshS, 0.9, 0.03)
		}
	}
	// One after the other: manifold pressure, engine speed, road speed, intake
	// temperature, air flow.
	for name, want := range map[string]float64{"Intake Manifold Absolute Pressure": -0.09, "Vehicle Speed Sensor": 0.09, "Air Flow Rate from Mass Flow Sensor": 0.27} {
		at := slices.IndexFunc(r.Skew, func(k Skew) bool { return k.Name == name })
		if at < 0 || r.Skew[at].ReadAfterS == nil {
			t.Errorf("no skew of %q", name)
			continue
		}
		near(t, "skew of "+name, *r.Skew[at].ReadAfterS, want, 0.03)
	}
	if len(r.Nearly) == 0 {
		t.Error("nothing is nearly a pull; the log has shorter ones")
	}
}

// Two gauges on the taps of one venturi: recorder/two_gauges.csv. Its head says
// that the second has a zero of about -25 Pa, that knocks are in the first
// seconds, and that the first stands at its end near 3.9 kPa.
func TestTwoGauges(t *testing.T) {
	r := readPublished(t, "recorder/two_gauges.csv")
	near(t, "zero of A", r.Zeros[0].Pa, 0, 2)
	near(t, "zero of B", r.Zeros[1].Pa, -25, 2)
	if r.Zeros[0].SpreadPa > 3 || r.Zeros[1].SpreadPa > 3 {
		t.Errorf("knocks count in the zeros: %+v", r.Zeros)
	}
	if len(r.Pairs) != 1 {
		t.Fatalf("pairs: %+v", r.Pairs)
	}
	near(t, "ratio", r.Pairs[0].Ratio, 1, 0.04)
	near(t, "zeros apart", r.Pairs[0].ZeroPa, -25, 2)
	if !slices.ContainsFunc(r.Notes, func(n string) bool { return strings.Contains(n, `"dpA_Pa" stands at the end of its range`) }) {
		t.Errorf("nothing about the end of A: %q", r.Notes)
	}
	if slices.ContainsFunc(r.Notes, func(n string) bool { return strings.Contains(n, `"dpB_Pa" stands at the end`) }) {
		t.Errorf("B is not at its end: %q", r.Notes)
	}
	// Turbulent flow through a venturi: 2, a little less at low flow.
	for _, f := range r.Fits {
		if f.Exponent.Median < 1.9 || f.Exponent.Median > 2.05 || f.Exponent.High-f.Exponent.Low > 0.1 {
			t.Errorf("%s over %s: %+v", f.Name, f.Over, f.Exponent)
		}
	}
	if len(r.Fits) != 2 {
		t.Errorf("%d curves, want 2", len(r.Fits))
	}
}

// Pressure across a fixed element at stepped flow: stepped_flow_dp_2020.csv.
// From 15 L/min on, where its zero no longer counts, the straight line through
// the logarithms of each run has a slope of 1.81 to 1.90.
func TestSteppedFlow(t *testing.T) {
	runs := steppedRuns(t)
	for name, points := range runs {
		c, ok := fitCurve(points, 0.17, 100)
		if !ok {
			t.Errorf("%s: no curve", name)
			continue
		}
		e := c.exponent()
		t.Logf("%s: %.3f (%.3f to %.3f), %d points, %d left out", name, e.Median, e.Low, e.High, c.points, c.left)
		if e.Median < 1.805 || e.Median >= 1.905 {
			t.Errorf("%s: exponent %.3f, want 1.81 to 1.90", name, e.Median)
		}
	}
	if len(runs) < 4 {
		t.Errorf("%d runs", len(runs))
	}
}

func steppedRuns(t *testing.T) map[string][]point {
	t.Helper()
	text, err := os.ReadFile(published + "stepped_flow_dp_2020.csv")
	if err != nil {
		t.Fatal(err)
	}
	runs := map[string][]point{}
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(strings.TrimSpace(line), ",")
		n := len(cells)
		if strings.HasPrefix(line, "#") || cells[0] == "run" || n < 7 {
			continue
		}
		var q, dp float64
		if _, err := fmt.Sscan(cells[n-4], &q); err != nil {
			t.Fatal(err)
		}
		if _, err := fmt.Sscan(cells[n-2], &dp); err != nil {
			t.Fatal(err)
		}
		if q >= 15 {
			runs[cells[0]] = append(runs[cells[0]], point{q, dp})
		}
	}
	return runs
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, tolerance)
	}
}
