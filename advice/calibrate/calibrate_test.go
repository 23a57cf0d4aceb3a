package calibrate

import (
	"math"
	"testing"

	"dropwalk/advice/air"
	"dropwalk/advice/internal/published"
)

const inch = 249.08891 // Pa, the conventional inch of water

func close(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v, want %v within %v", what, got, want, within)
	}
}

// NIST Statistical Reference Datasets, Norris: the calibration of ozone monitors
// against a standard, 36 points. The fit of a check gives the certified line and its
// certified standard errors.
func TestLineOfACalibrationCertified(t *testing.T) {
	c := Check{Division: 1e-9, Limit: 1, Full: 1000}
	for _, row := range published.Table(t, "strd/Norris.csv")[1:] {
		c.Points = append(c.Points, Point{Shown: published.Number(t, row[0]), True: published.Number(t, row[1]), Rising: true})
	}
	r := c.Judge()
	close(t, "zero", r.Zero.Value, -0.262323073774029, 1e-11)
	close(t, "gain", r.Gain.Value, 1.00211681802045, 1e-13)
	close(t, "error of zero", r.Zero.SE, 0.232818234301152, 1e-11)
	close(t, "error of gain", r.Gain.SE, 0.000429796848199937, 1e-14)
}

// 100 mm of water at 20 C, density 998.2067 kg/m3 (Tanaka et al. 2001), under
// standard gravity and with 1.2 kg/m3 of air taken off: 0.1 x 997.0067 x 9.80665 =
// 977.7295 Pa. Levels known within 0.5 mm each give 0.5 x sqrt(2) mm.
func TestColumnOfWater(t *testing.T) {
	u := Column{Temperature: air.Zero + 20, Gravity: air.Gravity, LevelSE: 0.5e-3}
	pa, se := u.Pressure(0.25, 0.35)
	close(t, "pressure", pa, 977.7295, 1e-3)
	close(t, "its error", se, 977.7295*math.Sqrt2*0.005, 1e-3)
	if again, _ := u.Pressure(0.35, 0.25); again != pa {
		t.Errorf("the other way round it is %v", again)
	}
	// Only impurity is left: 5e-4/sqrt(3).
	close(t, "shared", u.Shared(), 5e-4/math.Sqrt(3), 1e-9)
	// Between 19 and 21 C water thins by 2.07e-4 a K (Tanaka: 998.4054 and 997.9942).
	u.TemperatureSE, u.GravitySE = 1, 0.015
	close(t, "all shared", u.Shared(), math.Sqrt(5e-4*5e-4/3+2.06e-4*2.06e-4+0.015*0.015/air.Gravity/air.Gravity), 1e-6)
}

// dial makes a check: a gauge of 25 inH2O with 2 % of it stated, marks in inH2O
// with what the column says there, rising, then falling.
func dial(rising, falling map[float64]float64) Check {
	c := Check{Full: 25 * inch, Division: 0.5 * inch, Limit: 0.5 * inch}
	for _, way := range []struct {
		marks map[float64]float64
		up    bool
	}{{rising, true}, {falling, false}} {
		for shown, real := range way.marks {
			c.Points = append(c.Points, Point{Shown: shown * inch, True: real * inch, SE: 0.03 * inch, Rising: way.up})
		}
	}
	return c
}

// times are the marks of a gauge that shows a share of the truth.
func times(share float64, marks ...float64) map[float64]float64 {
	out := map[float64]float64{}
	for _, m := range marks {
		out[m] = m / share
	}
	return out
}

// Five marks up and four down on a gauge that shows 96 %: the gain is 0.96, the
// largest error at 25 inH2O 25 - 25/0.96 = -1.0417 inH2O, and the table says so.
func TestGaugeThatReadsLow(t *testing.T) {
	r := dial(times(0.96, 5, 10, 15, 20, 25), times(0.96, 20, 15, 10, 5)).Judge()
	close(t, "gain", r.Gain.Value, 0.96, 1e-9)
	close(t, "zero", r.Zero.Value, 0, 1e-6)
	close(t, "bend", r.Bend, 0, 1e-6)
	close(t, "error", r.Error/inch, -1.041667, 1e-5)
	close(t, "half of its interval", r.ErrorHalf/inch, 0.06, 1e-9)
	close(t, "hysteresis", r.Hysteresis, 0, 1e-6)
	if !math.IsNaN(r.Repeat) {
		t.Errorf("nothing was repeated, and the repeat is %v", r.Repeat)
	}
	if len(r.Table) != 5 || r.Verdict != UseTable {
		t.Fatalf("verdict %s, table %v", r.Verdict, r.Table)
	}
	close(t, "the third row's truth", r.Table[2].True/inch, 15.625, 1e-6)
	close(t, "its error", r.Table[2].SE/inch, 0.03/math.Sqrt2, 1e-9)
}

// Each verdict has its gauge.
func TestVerdicts(t *testing.T) {
	marks := []float64{5, 10, 15, 20, 25}
	down := marks[:4]
	sticky := dial(times(1, marks...), map[float64]float64{5: 3.4, 10: 8.2, 15: 13.3, 20: 18.5})
	stuck := dial(map[float64]float64{5: 5, 10: 10, 15: 15, 20: 21, 25: 20.9}, nil)
	wanders := dial(times(1, marks...), times(1, down...))
	wanders.ZeroMoved = 0.6 * inch
	coarse := dial(times(0.982, marks...), times(0.982, down...))
	repeats := dial(times(1, marks...), nil)
	repeats.Points = append(repeats.Points, Point{Shown: 15 * inch, True: 16.5 * inch, Rising: true}, Point{Shown: 5 * inch, True: 6 * inch, Rising: true})
	other := dial(times(0.6, marks...), nil)
	vague := dial(times(0.96, marks...), times(0.96, down...))
	vague.Shared = 0.05
	few := dial(times(1, 5, 10, 15, 20), times(1, 5, 10, 15))
	for _, c := range []struct {
		name string
		c    Check
		want string
	}{
		{"true", dial(times(0.99, marks...), times(0.99, down...)), Within},
		{"low and faithful", dial(times(0.96, marks...), times(0.96, down...)), UseTable},
		{"sticky on the way down", sticky, DontUse},
		{"stuck at the top", stuck, DontUse},
		{"a zero that wanders", wanders, DontUse},
		{"no two times the same", repeats, DontUse},
		{"another unit", other, DontUse},
		{"on the edge", coarse, CannotTell},
		{"a column that nobody knows", vague, CannotTell},
		{"four marks", few, TooFew},
	} {
		if r := c.c.Judge(); r.Verdict != c.want {
			t.Errorf("%s: %s, want %s (error %.3f +- %.3f inH2O, hysteresis %.3f, repeat %.3f, gain %.3f)",
				c.name, r.Verdict, c.want, r.Error/inch, r.ErrorHalf/inch, r.Hysteresis/inch, r.Repeat/inch, r.Gain.Value)
		}
	}
	if coarse.Judge().Worth != true || vague.Judge().Worth != false {
		t.Error("a table is worth keeping where, and only where, it is known better than the accuracy")
	}
	// Rising and falling 1.6 inH2O apart at 5; 15 came to twice, 1.5 inH2O apart, 5
	// twice, 1 apart: sqrt((1.5^2/2 + 1^2/2)/2) = 0.901388.
	close(t, "hysteresis", sticky.Judge().Hysteresis/inch, 1.8, 1e-9)
	close(t, "repeat", repeats.Judge().Repeat/inch, 0.901388, 1e-6)
}

// Points that all lie at one pressure make no line.
func TestPointsWithoutALine(t *testing.T) {
	c := dial(map[float64]float64{5: 10, 10: 10, 15: 10, 20: 10, 25: 10}, nil)
	if r := c.Judge(); r.Verdict != TooFew {
		t.Errorf("verdict %s", r.Verdict)
	}
}
