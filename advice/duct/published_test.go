package duct_test

import (
	"math"
	"testing"

	"dropwalk/advice/duct"
	"dropwalk/advice/internal/published"
)

func TestFriction(t *testing.T) {
	got := published.Got
	cases := map[string]published.Case{
		"F26": got(duct.Blasius(1e4)),
		"F27": got(duct.Colebrook(100600, 0)),
		"F28": got(duct.BoreForHead(0.35, 150, 20, 1.655e-5)),
		"F30": got(duct.HydraulicDiameter(0.080, 0.040)),
		"F31": got(duct.EqualFriction(0.100, 0.050)),
		"F33": got(duct.LaminarRectangular(1, 0.5)),
		"F34": got(duct.LaminarRectangular(1, 0.25)),
	}
	for id, c := range map[string]struct {
		law           func(re, roughness float64) float64
		re, roughness float64
	}{
		"F02": {duct.Colebrook, 1e4, 0}, "F03": {duct.Haaland, 1e4, 0}, "F04": {duct.SwameeJain, 1e4, 0},
		"F05": {duct.Colebrook, 1e5, 0}, "F06": {duct.Haaland, 1e5, 0}, "F07": {duct.SwameeJain, 1e5, 0},
		"F08": {duct.Colebrook, 1e6, 0}, "F09": {duct.Haaland, 1e6, 0}, "F10": {duct.SwameeJain, 1e6, 0},
		"F11": {duct.Colebrook, 1e5, 1e-4}, "F12": {duct.Haaland, 1e5, 1e-4},
		"F16": {duct.SwameeJain, 1e5, 1e-3},
		"F17": {duct.Colebrook, 1e5, 1e-2}, "F19": {duct.SwameeJain, 1e5, 1e-2},
		"F20": {duct.Colebrook, 1e6, 1e-3}, "F21": {duct.Haaland, 1e6, 1e-3}, "F22": {duct.SwameeJain, 1e6, 1e-3},
		"F24": {duct.Haaland, 4e4, 2e-3}, "F25": {duct.SwameeJain, 4e4, 2e-3},
	} {
		cases[id] = got(c.law(c.re, c.roughness))
	}
	for _, id := range []string{"F04", "F07", "F10"} {
		c := cases[id]
		cases[id] = published.Within(c.Got, 5e-6, "the library writes 5.74 as 6.97^0.9 = 5.7399, which moves f by 2e-6 in smooth tubes")
	}
	published.Check(t, "flow/friction.csv", cases, nil)
}

// TestFrictionMeasured holds the program to gradients measured in galvanised
// ducts: Huebscher R.G. (1947), Friction Equivalents for Round, Square, and
// Rectangular Ducts, Heating, Piping and Air Conditioning 19(12) 127-135.
func TestFrictionMeasured(t *testing.T) {
	lines := published.Table(t, "huebscher/friction_1947.csv")
	column := map[string]int{}
	for i, name := range lines[0] {
		column[name] = i
	}
	aspect := map[string]float64{"square": 1, "rectangular 8:1": 8}
	off := map[string][]float64{}
	for _, line := range lines[1:] {
		at := func(name string) float64 { return published.Number(t, line[column[name]]) }
		name := line[0] + " " + line[1]
		published := at("f_published")

		// The author's own f from his own gradient, to the rounding of his
		// three figures. Round duct 5 is off by 3 % in the paper itself.
		got := duct.DarcyFactor(at("grad_Pa_m"), 1, at("Dh_m"), at("rho_kg_m3"), at("V_m_s"))
		tol := 0.01
		if name == "round 5" {
			tol = 0.031
		}
		if d := math.Abs(got/published - 1); d > tol {
			t.Errorf("%s: f from the gradient %.5f, published %.5f, off by %.4f, want within %.3f", name, got, published, d, tol)
		}

		re := at("Re")
		if a := aspect[line[0]]; a != 0 {
			re = duct.EffectiveReynolds(re, a, 1)
		}
		predicted := duct.Friction(re, 0)
		off[line[0]] = append(off[line[0]], predicted/published-1)
		// Moody (1944) puts his chart at 5 % for smooth tubes and 10 % for
		// rough ones (from memory); sheet metal lies between.
		if d := predicted/published - 1; math.Abs(d) > 0.10 {
			t.Errorf("%s: predicted f %.5f, measured %.5f, off by %.3f, want within 0.10", name, predicted, published, d)
		}
	}
	for shape, d := range off {
		var sum float64
		for _, v := range d {
			sum += v
		}
		// Scatter averages out over a duct; what is left is bias of the law.
		if mean := sum / float64(len(d)); math.Abs(mean) > 0.025 {
			t.Errorf("%s: predicted friction is off by %.3f on average over %d tests, want within 0.025", shape, mean, len(d))
		} else {
			t.Logf("%s: predicted friction is off by %.3f on average over %d tests", shape, mean, len(d))
		}
	}
}

func TestEffectiveReynolds(t *testing.T) {
	for _, a := range []float64{1, 0.5, 0.25, 0.125, 0.01} {
		// Jones (1976) gives the fit within 2 % of the exact series.
		got, want := duct.EffectiveReynolds(1, 1, a), 64/duct.LaminarRectangular(1, a)
		if math.Abs(got/want-1) > 0.02 {
			t.Errorf("aspect %g: factor %.4f, series %.4f, want within 0.02", a, got, want)
		}
	}
}

func TestFrictionIsContinuous(t *testing.T) {
	for _, e := range []float64{0, 1e-4, 1e-2, 0.05} {
		last := duct.Friction(1000, e)
		for re := 1000.0; re < 10000; re *= 1.001 {
			f := duct.Friction(re, e)
			// One thousandth of Reynolds number may move f by a few thousandths.
			if math.Abs(f/last-1) > 0.005 {
				t.Fatalf("e/D %g: f steps from %.5f to %.5f at Re %.0f", e, last, f, re)
			}
			last = f
		}
	}
}

func TestColebrookSolvesItsEquation(t *testing.T) {
	for _, re := range []float64{4e3, 1e4, 3e5, 1e7} {
		for _, e := range []float64{0, 1e-6, 1e-3, 0.05} {
			f := duct.Colebrook(re, e)
			left := 1 / math.Sqrt(f)
			right := -2 * math.Log10(e/3.7+2.51/(re*math.Sqrt(f)))
			if math.Abs(left-right) > 1e-10*left {
				t.Errorf("Re %g e/D %g: f %.6g leaves %.3g", re, e, f, left-right)
			}
		}
	}
}
