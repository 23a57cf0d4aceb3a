package duct_test

import (
	"math"
	"strings"
	"testing"

	"dropwalk/advice/air"
	"dropwalk/advice/duct"
	"dropwalk/advice/internal/published"
)

func rad(degrees float64) float64 { return degrees * math.Pi / 180 }

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

func TestInlets(t *testing.T) {
	got := published.Got
	published.Check(t, "flow/loss_inlets.csv", map[string]published.Case{
		"L01": got(duct.SharpFlush), "L02": got(duct.SharpFlushRennels), "L04": got(duct.PlainEnd),
		"L05": got(duct.FlangedEnd), "L06": got(duct.Bellmouth), "L07": got(duct.SharpOrifice),
		"L08": got(duct.ThickProjecting),
		"L09": got(duct.Projecting(0.004, 1)), "L10": got(duct.Projecting(0.02, 1)), "L11": got(duct.Projecting(0.05, 1)),
		"L12": got(duct.ProjectingRennels(0.0005 / 0.1)),
		"L13": got(duct.Projecting(0.005, 0.2)),
		"L14": got(duct.RoundedIdelchik(0.02)), "L15": got(duct.RoundedCrane(0.02)),
		"L16": got(duct.RoundedIdelchik(0.04)), "L17": got(duct.RoundedCrane(0.04)),
		"L21": got(duct.RoundedCrane(0.1)), "L25": got(duct.RoundedCrane(0.15)),
		"L30": got(duct.RoundedRennels(0.0235 / 0.1)),
		"L36": got(duct.Dump),
	}, map[string]string{
		"L33": "from memory, medium confidence", "L35": "from memory, medium confidence",
	})
}

func TestBends(t *testing.T) {
	smooth := duct.Colebrook(1e5, 0)
	got := published.Got
	cases := map[string]published.Case{
		"B13": published.Within(duct.BendCrane(1.5, quarter, 0.017635), 0.02,
			"the program reads Crane's table, the library a polynomial through it that is up to 2 % off"),
		"B14": got(duct.BendIto(1.5, 1e5)),
		"B15": got(duct.BendRennels(1, rad(30), smooth)),
		"B16": got(duct.BendRennels(1, rad(45), smooth)),
		"B17": got(duct.BendRennels(1, rad(60), smooth)),
		"B18": got(duct.BendRennels(20/4.020, rad(30), smooth)),
		"B20": got(duct.Mitre(rad(15))), "B22": got(duct.Mitre(rad(45))), "B23": got(duct.Mitre(rad(60))),
		"B25": got(duct.Mitre(rad(90))), "B26": got(duct.Mitre(rad(120))),
		"B27": got(duct.MitreBlevins(rad(45), 2e5)), "B28": got(duct.MitreBlevins(rad(90), 2e5)),
		"B29": published.Within(duct.Mitre(rad(90)), 0.07, "another author: Rennels lies 6.6 % above Miller"),
		"B31": published.Within(duct.AcrossBend(1.5), 1e-4, "the row prints five figures of 2 D/R"),
	}
	for i, r := range []float64{0.75, 1, 1.5, 2, 3, 5} {
		cases[[]string{"B01", "B03", "B05", "B07", "B09", "B11"}[i]] = got(duct.BendRennels(r, quarter, smooth))
		cases[[]string{"B02", "B04", "B06", "B08", "B10", "B12"}[i]] = got(duct.BendMiller(r, quarter))
	}
	published.Check(t, "flow/loss_bends.csv", cases, map[string]string{
		"B30": "a list of seven figures: held in TestMitreCrane",
	})
}

func TestMitreCrane(t *testing.T) {
	for _, r := range published.Rows(t, "flow/loss_bends.csv") {
		if r.ID != "B30" {
			continue
		}
		for i, text := range strings.Split(r.Value, ";") {
			angle := float64(15 * i)
			if got, want := duct.MitreCrane(rad(angle)), published.Number(t, text); math.Abs(got-want) > 1e-9 {
				t.Errorf("mitre of %g degrees: %g times the friction factor, want %g", angle, got, want)
			}
		}
		return
	}
	t.Error("row B30 is missing")
}

// TestCentralBend holds the central curve between the two authors, and its
// spread to what parts them.
func TestCentralBend(t *testing.T) {
	smooth := duct.Colebrook(1e5, 0)
	for _, radius := range []float64{0.75, 1, 1.5, 2, 3, 5} {
		for _, angle := range []float64{30, 45, 60, 90} {
			k, sd := duct.Bend(radius, rad(angle), smooth)
			r, m := duct.BendRennels(radius, rad(angle), smooth), duct.BendMiller(radius, rad(angle))
			if lo, hi := min(r, m), max(r, m); k < lo*0.999 || k > hi*1.001 {
				t.Errorf("R/D %g, %g degrees: central %.4f is not between %.4f and %.4f", radius, angle, k, lo, hi)
			}
			// The constant in Bend has seven figures.
			if want := math.Abs(math.Log(r/m)) / 2; math.Abs(sd-want) > 1e-5 {
				t.Errorf("R/D %g, %g degrees: spread %.4f, want %.4f", radius, angle, sd, want)
			}
		}
	}
	// Miller at small angles, as quoted in the notes of rows B15 to B17.
	for angle, want := range map[float64]float64{30: 0.061, 45: 0.107, 60: 0.167} {
		if got := duct.BendMiller(1, rad(angle)); math.Abs(got-want) > 1e-9 {
			t.Errorf("Miller, %g degrees: %.4f, want %.4f", angle, got, want)
		}
	}
	if k, _ := duct.Bend(0.1, quarter, smooth); k > duct.Mitre(quarter) {
		t.Errorf("a bend without a radius loses %.3f, more than a mitre", k)
	}
}

func TestAreaChange(t *testing.T) {
	got := published.Got
	wide := func(ratio float64) float64 { return math.Sqrt(ratio) }
	cone := func(ratio, degrees float64) published.Case {
		return got(duct.DiffuserRennels(1, wide(ratio), rad(degrees), 0.02))
	}
	const head, water, gravity = 0.33299, 1000.0, 9.81
	published.Check(t, "flow/loss_area_change.csv", map[string]published.Case{
		"C02": got(duct.Expansion(1, wide(1.5))), "C04": got(duct.Expansion(1, wide(3))), "C05": got(duct.Expansion(1, wide(4))),
		"C08": got(duct.ContractionRennels(1, 0.4)), "C12": got(duct.ContractionRennels(1, 0.6)), "C16": got(duct.ContractionRennels(1, 0.8)),
		"C09": got(duct.ContractionCrane(1, 0.4)), "C11": got(duct.ContractionCrane(1, 0.5)),
		"C15": got(duct.ContractionCrane(1, 0.7)), "C17": got(duct.ContractionCrane(1, 0.8)),
		"C18": got(duct.ContractionHooper(1, 0.4, duct.Colebrook(1e5, 0))),
		"C20": cone(2, 7), "C21": cone(2, 10), "C22": cone(2, 20), "C23": cone(2, 30), "C26": cone(4, 30),
		"C28": got(duct.DiffuserRennels(1.0/3, 1, rad(50), duct.Colebrook(1e6, 0))),
		// Cengel & Cimbala's bores of 60 and 90 mm.
		"C31": got(duct.BernoulliPressure(150e3, 7, 7*4.0/9, water*gravity*head, water, 1.06) / 1e3),
	}, map[string]string{
		"C30": "the example's own coefficient isn't stated in the row; C31 uses the head it gives",
	})
}

// TestDiffuserAuthors holds the three authors to the figures in the notes of rows
// C20 to C26.
func TestDiffuserAuthors(t *testing.T) {
	for _, c := range []struct{ ratio, degrees, idelchik, crane float64 }{
		{2, 7, 0.060, 0.040}, {2, 10, 0.060, 0.057}, {2, 20, 0.100, 0.113}, {2, 30, 0.170, 0.168}, {4, 30, 0.360, 0.379},
	} {
		wide := math.Sqrt(c.ratio)
		// Two printed decimals.
		if got := duct.DiffuserCrane(1, wide, rad(c.degrees)); math.Abs(got-c.crane) > 0.001 {
			t.Errorf("Crane, %g:1 %g degrees: %.4f, want %.3f", c.ratio, c.degrees, got, c.crane)
		}
		// Idel'chik tabulates the friction of the wall too; the formula stands in for
		// that table, good to one step of its last figure.
		if got := duct.DiffuserIdelchik(1, wide, rad(c.degrees), 0.02); math.Abs(got-c.idelchik) > 0.0055 {
			t.Errorf("Idel'chik, %g:1 %g degrees: %.4f, want %.3f", c.ratio, c.degrees, got, c.idelchik)
		}
		k, sd := duct.Diffuser(1, wide, rad(c.degrees), 0.02)
		r := duct.DiffuserRennels(1, wide, rad(c.degrees), 0.02)
		if k < min(r, c.idelchik, c.crane)*0.95 || k > max(r, c.idelchik, c.crane)*1.05 || sd > 0.25 {
			t.Errorf("%g:1 %g degrees: central %.4f, spread %.3f", c.ratio, c.degrees, k, sd)
		}
	}
}

func TestStaticRecovery(t *testing.T) {
	// Cp = 2 r (1 - r) peaks at 0.5 at twice the area (momentum theorem).
	if got := duct.Recovery(1, math.Sqrt2); math.Abs(got-0.5) > 1e-12 {
		t.Errorf("recovery at 2:1 is %g, want 0.5", got)
	}
	for _, ratio := range []float64{1.2, 1.9, 2.1, 5} {
		wide := math.Sqrt(ratio)
		if got := duct.Recovery(1, wide); got >= 0.5 {
			t.Errorf("recovery at %g:1 is %g, above the peak", ratio, got)
		}
		// Total pressure: static rise + loss + head left = head before.
		if sum := duct.Recovery(1, wide) + duct.Expansion(1, wide) + 1/(ratio*ratio); math.Abs(sum-1) > 1e-12 {
			t.Errorf("heads at %g:1 add up to %g, want 1", ratio, sum)
		}
	}
}

func TestScreens(t *testing.T) {
	got := published.Got
	published.Check(t, "flow/screens.csv", map[string]published.Case{
		"P01": got(duct.ScreenSquare(0.3)), "P02": got(duct.ScreenSquare(0.4)), "P03": got(duct.ScreenSquare(0.5)),
		"P04": got(duct.ScreenSquare(0.6)), "P05": got(duct.ScreenSquare(0.7)), "P06": got(duct.ScreenSquare(0.8)),
		"P07": got(duct.ScreenWire(0.5, 100)), "P08": got(duct.ScreenWire(0.6, 100)), "P09": got(duct.ScreenWire(0.7, 100)),
		"P10": got(duct.ScreenWire(0.6, 400)),
		"P11": got(duct.Grille(0.45)),
	}, nil)
}

func TestOrifice(t *testing.T) {
	const pipe, bore, flow, viscosity = 0.07391, 0.0222, 0.124431876, 1.85861753095e-5
	re := duct.Reynolds(flow, pipe, viscosity)
	water := duct.Plate{Pipe: 0.07366, Bore: 0.05, Taps: duct.RadiusTaps, Density: 999.1, Viscosity: 0.0011, Before: 2e5, Kappa: 1.33}
	blown := duct.Plate{Pipe: 0.1, Bore: 0.06, Taps: duct.RadiusTaps, Density: 1.2, Viscosity: 1.8e-5, Before: 101325, Kappa: 1.4}
	// Crane 7.23: 2 in orifice in 4 in schedule 40 pipe (102.26 mm), water at 60 F,
	// 4.4 in of mercury under water. Density and viscosity of water from tables.
	const craneDrop, gallon = 4.4 * 0.0254 * 9.80665 * (13595.1 - 999), 3.785411784e-3
	crane := duct.Plate{Pipe: 0.10226, Bore: 0.0508, Taps: duct.RadiusTaps, Density: 999, Viscosity: 1.12e-3}
	craneFlow := crane.MassFlow(craneDrop)
	craneRe := duct.Reynolds(craneFlow, crane.Pipe, crane.Viscosity)
	published.Check(t, "flow/orifice.csv", map[string]published.Case{
		"O01": published.Got(duct.OrificeCoefficient(pipe, bore, re, duct.CornerTaps)),
		"O02": published.Got(duct.OrificeCoefficient(pipe, bore, re, duct.RadiusTaps)),
		"O03": published.Got(duct.OrificeCoefficient(pipe, bore, re, duct.FlangeTaps)),
		"O04": published.Got(duct.OrificeExpansibility(0.0739, 0.0222, 1e5, 9.9e4, 1.4)),
		"O05": published.Got(duct.NozzleExpansibility(0.1, 0.06, 60e5, 59.5e5, 1.3)),
		"O06": published.Got(water.MassFlow(17e3)),
		"O07": published.Got(duct.OrificeCoefficient(crane.Pipe, crane.Bore, craneRe, duct.RadiusTaps) * duct.ApproachFactor(crane.Pipe, crane.Bore)),
		"O08": published.Got(craneFlow / crane.Density / gallon * 60),
		"O09": published.Got(blown.MassFlow(2500)),
		"O10": published.Got(duct.ApproachFactor(0.0739, 0.0222)),
		"O11": published.Got(duct.OrificeLoss(0.07366, 0.05, 0.61512, 17e3)),
	}, nil)
}

func TestHose(t *testing.T) {
	const gauge, viscosity, pressure, sound = 50e-6, 1.81e-5, 101325.0, 343.0
	lag := func(bore float64) published.Case {
		return published.Got(duct.HoseLag(bore, 3, duct.HoseVolume(gauge, bore, 3), viscosity, pressure))
	}
	restrictor := duct.HoseLag(0.3e-3, 0.010, gauge, viscosity, pressure)
	at := func(celsius float64) float64 {
		return air.State{Temperature: celsius + air.Zero, Pressure: pressure}.DensityIdeal() // CIPM-2007 ends far below 60 degC
	}
	published.Check(t, "flow/hose.csv", map[string]published.Case{
		"D01": lag(4e-3), "D02": lag(3e-3), "D03": lag(2e-3), "D04": lag(1e-3),
		"D05": published.Got(duct.HoseLag(0.5e-3, 0.010, gauge, viscosity, pressure)),
		"D06": published.Got(restrictor),
		"D07": published.Got(duct.Passes(100, restrictor)),
		"D08": published.Got(3 / sound),
		"D09": published.Got(duct.QuarterWave(3, sound)),
		"D10": published.Got(duct.Helmholtz(4e-3, 3, 68.85e-6, sound)),
		"D12": published.Got(duct.UTubePeriod(1)),
		"D13": published.Got(air.Column(at(20)-at(60), 0.5)),
		"D14": published.Got(air.Column(at(20), 1)),
		"D15": published.Got(duct.PulsationBias(0.2)),
	}, map[string]string{
		"D11": "pulses of the engine: held in package power",
	})
}

func TestFilter(t *testing.T) {
	got := published.Got
	law := duct.FitMedia(0.05, 300, 0.10, 800)
	const bench = "a demand on a test bench; no function gives it"
	published.Check(t, "flow/filter.csv", map[string]published.Case{
		"G01": got(law.A), "G02": got(law.B), "G03": got(law.Drop(0.08)),
		"G04": got(duct.ApparentExponent(0.05, 300, 0.10, 800)),
		"G05": got(duct.MediaSpeedLow), "G06": got(duct.MediaSpeedHigh),
		"G07": got(duct.MediaArea(0.1, 0.12)),
		"G08": got(duct.CleanDrop / 1e3), "G09": got(duct.LoadedDrop / 1e3),
	}, map[string]string{
		"G10": "a limit: held in package power", "G11": "a limit: held in package power",
		"G12": "a range of limits for trucks; no function gives it", "G13": "a range of limits; no function gives it",
		"G14": "from memory, medium confidence; TestCleanFilter holds the exponent inside it",
		"G15": bench, "G16": bench, "G17": bench,
	})
}

func TestTaps(t *testing.T) {
	const density, speed, bore, kinematic = 1.2, 50.0, 0.070, 1.5e-5
	shear := duct.WallShear(duct.Colebrook(speed*bore/kinematic, 0), density, speed)
	const text, memory = "words, not a number", "from memory, medium or low confidence"
	published.Check(t, "flow/taps.csv", map[string]published.Case{
		"T05": published.Got(shear),
		"T06": published.Got(duct.TapReynolds(3e-3, shear, density, kinematic)),
		"T07": published.Got(duct.TapError(shear)),
	}, map[string]string{
		"T01": "a rule for making a tap; no function gives it",
		"T02": text, "T03": text, "T04": memory, "T08": memory, "T09": memory, "T10": memory, "T11": memory,
		"T12": text, "T13": "the definition of the velocity head", "T14": "a rule for making a tap; no function gives it",
		"T15": "a rule for making a tap; no function gives it", "T16": text, "T17": text, "T18": text, "T19": text,
	})
}

// TestSystemExample walks one worked path: dry air at 100 kPa and 25 degC, 0.100
// kg/s in a bore of 70 mm.
func TestSystemExample(t *testing.T) {
	const flow, bore, temperature = 0.100, 0.070, 298.15
	density := air.Density(100e3, temperature, 287.05)
	viscosity := air.Viscosity(temperature)
	q := duct.Head(flow, bore, density)
	re := duct.Reynolds(flow, bore, viscosity)
	f := duct.Colebrook(re, 1.5e-6/bore)
	mouth, straight, dump := duct.SharpFlush*q, f*0.6/bore*q, duct.Dump*q
	// The row takes the bend at Re 1e5 in a smooth duct, 0.2253.
	bend := duct.BendRennels(1.5, quarter, duct.Colebrook(1e5, 0)) * q
	total := mouth + straight + bend + dump
	got := published.Got
	published.Check(t, "flow/system_example.csv", map[string]published.Case{
		"X01": got(density), "X02": got(math.Sqrt(2 * q / density)), "X03": got(q), "X04": got(re), "X05": got(f),
		"X06": got(mouth), "X07": got(straight),
		"X08": published.Within(bend, 3e-4, "the row uses K rounded to four figures"),
		"X09": got(dump),
		"X10": published.Within(total, 5e-5, "the row uses K of the bend rounded to four figures"),
		"X11": got(-mouth - q),
		"X12": published.Within(total-(duct.SharpFlush-duct.Bellmouth)*q, 5e-5, "as X10"),
	}, nil)
}
