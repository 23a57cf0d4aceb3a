package stats_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"dropwalk/advice/internal/published"
	"dropwalk/advice/stats"
)

// certified are the certified values of one data set by their names.
func certified(t *testing.T, set string) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	for _, row := range published.Table(t, "strd/certified.csv")[1:] {
		if row[1] == set {
			out[row[3]] = published.Number(t, row[4])
		}
	}
	if len(out) == 0 {
		t.Fatalf("%s has no certified values", set)
	}
	return out
}

// columns of a data set.
func columns(t *testing.T, set string) [][]float64 {
	t.Helper()
	rows := published.Table(t, "strd/"+set+".csv")[1:]
	out := make([][]float64, len(rows[0]))
	for _, row := range rows {
		for j, text := range row {
			out[j] = append(out[j], published.Number(t, text))
		}
	}
	return out
}

// made is a generated set of 1001 numbers: one in the middle, then pairs a tenth
// below and above it (Simon & Lesage, Computational Statistics & Data Analysis 8,
// 1989, as NIST describes NumAcc2 to NumAcc4).
func made(middle, below, above float64) []float64 {
	out := []float64{middle}
	for range 500 {
		out = append(out, below, above)
	}
	return out
}

// NIST Statistical Reference Datasets, univariate. Tolerances are what a float64
// can hold of the inputs: NumAcc3 and NumAcc4 lose digits before any sum is made.
func TestUnivariateCertified(t *testing.T) {
	for _, row := range []struct {
		set string
		x   []float64
		tol float64
	}{
		{"Michelso", nil, 1e-12}, {"Mavro", nil, 1e-12}, {"Lew", nil, 1e-12}, {"Lottery", nil, 1e-12},
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 1e-12},
		{"NumAcc2", made(1.2, 1.1, 1.3), 1e-12},
		{"NumAcc3", made(1000000.2, 1000000.1, 1000000.3), 1e-8},
		{"NumAcc4", made(10000000.2, 10000000.1, 10000000.3), 1e-7},
	} {
		x, want := row.x, certified(t, row.set)
		if x == nil {
			x = columns(t, row.set)[0]
		}
		near(t, row.set+" mean", stats.Mean(x), want["mean"], 1e-14)
		near(t, row.set+" sd", stats.SD(x), want["sd_n-1"], row.tol)
		near(t, row.set+" lag 1", stats.Lag1(x), want["lag1_autocorr"], max(row.tol, 1e-11))
	}
}

// NIST Statistical Reference Datasets, linear least squares. Longley's columns are
// nearly alike, so its tolerance is wider.
func TestLeastSquaresCertified(t *testing.T) {
	for _, row := range []struct {
		set  string
		base int // the first power of x; -1 where the columns stand as they are
		last int
		tol  float64
	}{{"Norris", 0, 1, 1e-11}, {"Pontius", 0, 2, 1e-10}, {"NoInt1", 1, 1, 1e-12}, {"NoInt2", 1, 1, 1e-12}, {"Longley", -1, 0, 1e-8}} {
		data, want := columns(t, row.set), certified(t, row.set)
		var design [][]float64
		for i := range data[0] {
			line := []float64{1}
			if row.base < 0 {
				for _, c := range data[1:] {
					line = append(line, c[i])
				}
			} else {
				line = nil
				for p := row.base; p <= row.last; p++ {
					line = append(line, math.Pow(data[1][i], float64(p)))
				}
			}
			design = append(design, line)
		}
		fit, err := stats.LeastSquares(design, data[0])
		if err != nil {
			t.Errorf("%s: %v", row.set, err)
			continue
		}
		for j := range fit.Coefficients {
			name := fmt.Sprintf("B%d", j+max(row.base, 0))
			near(t, row.set+" "+name, fit.Estimate(j).Value, want[name], row.tol)
			near(t, row.set+" sd of "+name, fit.Estimate(j).SE, want[name+"_sd"], row.tol)
		}
		near(t, row.set+" residual", fit.Residual, want["resid_sd"], row.tol)
		near(t, row.set+" squares", fit.Squares, want["res_SS"], row.tol)
		near(t, row.set+" freedom", fit.Freedom, want["res_df"], 0)
	}
}

// A design that leaves a coefficient open is refused, not answered.
func TestLeastSquaresRefuses(t *testing.T) {
	twice := [][]float64{{1, 2}, {2, 4}, {3, 6}}
	if fit, err := stats.LeastSquares(twice, []float64{1, 2, 3}); err == nil {
		t.Errorf("two columns alike: got %v, want an error", fit.Coefficients)
	}
}

// NIST Statistical Reference Datasets, one-way analysis of variance. SmLs04 and
// SmLs07 are SmLs01 with more leading digits (Simon & Lesage 1989), of which a
// float64 holds fewer and fewer behind the point.
func TestOneWayCertified(t *testing.T) {
	for _, row := range []struct {
		set, from string
		more      float64
		tol       float64
	}{
		{"SiRstv", "SiRstv", 0, 1e-10}, {"AtmWtAg", "AtmWtAg", 0, 1e-7},
		{"SmLs01", "SmLs01", 0, 1e-12}, {"SmLs04", "SmLs01", 999999, 1e-7}, {"SmLs07", "SmLs01", 999999999999, 1e-2},
	} {
		want := certified(t, row.set)
		o := stats.NewOneWay(grouped(t, row.from, row.more))
		near(t, row.set+" between", o.Between, want["ss_between"], row.tol)
		near(t, row.set+" within", o.Within, want["ss_within"], row.tol)
		near(t, row.set+" F", o.F(), want["F"], row.tol)
		near(t, row.set+" R2", o.Share(), want["R2"], row.tol)
		near(t, row.set+" residual", o.Repeatability(), want["resid_sd"], row.tol)
		near(t, row.set+" freedom", o.WithinFreedom, want["df_within"], 0)
	}
}

func grouped(t *testing.T, set string, more float64) [][]float64 {
	t.Helper()
	data := columns(t, set)
	var groups [][]float64
	for i, g := range data[0] {
		for len(groups) < int(g) {
			groups = append(groups, nil)
		}
		groups[int(g)-1] = append(groups[int(g)-1], data[1][i]+more)
	}
	return groups
}

// Repeatability and reproducibility of SiRstv by the formulas of ISO 5725-2, worked
// out from NIST's certified mean squares.
func TestRepeatability(t *testing.T) {
	o := stats.NewOneWay(grouped(t, "SiRstv", 0))
	groups, _ := o.Groups()
	all, freedom := o.Reproducibility()
	near(t, "s_r", o.Repeatability(), 0.1040760683, 1e-9)
	near(t, "s_L", groups, 0.0197723919, 1e-8)
	near(t, "s_R", all, 0.1059376018, 1e-9)
	near(t, "freedom of s_R", freedom, 23.36975, 1e-6)
}

// Groups that lie closer than their numbers explain have no scatter of their own.
func TestGroupsNought(t *testing.T) {
	sd, freedom := stats.NewOneWay([][]float64{{1, 2, 3}, {3, 2, 1}, {2, 1, 3}}).Groups()
	if sd != 0 || freedom != 2 {
		t.Errorf("got %g with freedom %g, want 0 with 2", sd, freedom)
	}
}

// Every quantile of t, F, chi-square and the normal, whole freedoms and others:
// testdata/published/quantiles.csv, worked out at high precision.
func TestQuantilesPublished(t *testing.T) {
	held := map[string]int{}
	for _, row := range published.Table(t, "quantiles.csv")[1:] {
		p, want := published.Number(t, row[3]), published.Number(t, row[4])
		freedom := func(text string) float64 {
			if text == "inf" || text == "" {
				return stats.Endless
			}
			return published.Number(t, text)
		}
		name := strings.Join(row[:4], " ")
		switch row[0] {
		case "normal", "t":
			near(t, name, stats.TQuantile(p, freedom(row[1])), want, 1e-11)
		case "F":
			near(t, name, stats.FQuantile(p, freedom(row[1]), freedom(row[2])), want, 1e-10)
		case "chi2":
			near(t, name, stats.ChiSquareQuantile(p, freedom(row[1])), want, 1e-9)
		default:
			t.Fatalf("a row of %q", row[0])
		}
		held[row[0]]++
	}
	if held["t"] < 90 || held["F"] < 36 || held["chi2"] < 80 || held["normal"] < 7 {
		t.Errorf("rows held: %v, want 90 of t, 36 of F, 80 of chi2, 7 of normal", held)
	}
}

// Student's sleep data (1908), as R's t.test judges them.
func TestSleep(t *testing.T) {
	var a, b []float64
	for _, row := range published.Table(t, "sleep.csv")[1:] {
		if row[1] == "1" {
			a = append(a, published.Number(t, row[0]))
		} else {
			b = append(b, published.Number(t, row[0]))
		}
	}
	for _, row := range []struct {
		name                     string
		e                        stats.Estimate
		t, freedom, p, low, high float64
	}{
		{"Welch", stats.Welch(b, a), -1.86081346749, 17.7764735162, 0.0793941401874, -3.36548323071, 0.205483230712},
		{"pooled", stats.Pooled(b, a), -1.86081346749, 18, 0.0791867142159, -3.36387403229, 0.20387403229},
		{"paired", stats.Paired(b, a), -4.06212768338, 9, 0.00283289019738, -2.45988576328, -0.700114236723},
	} {
		low, high := row.e.Interval(0.95)
		near(t, row.name+" t", row.e.T(), row.t, 1e-10)
		near(t, row.name+" freedom", row.e.Freedom, row.freedom, 1e-10)
		near(t, row.name+" p", row.e.P(), row.p, 1e-10)
		near(t, row.name+" low", low, row.low, 1e-10)
		near(t, row.name+" high", high, row.high, 1e-9)
	}
}

// Two one-sided tests. First two groups of six: the published tests of a Python
// package of statistics, taken there from the R package equivalence. Then the sleep
// data, worked out independently.
func TestEquivalence(t *testing.T) {
	a, b := []float64{4, 7, 8, 6, 3, 2}, []float64{6, 8, 7, 10, 11, 9}
	near(t, "pooled 1", stats.Pooled(a, b).Equivalent(1), 0.9650974, 5e-8)
	near(t, "pooled 10", stats.Pooled(a, b).Equivalent(10), 0.00017933894, 5e-8)
	near(t, "Welch 1", stats.Welch(a, b).Equivalent(1), 0.9643479, 5e-8)
	near(t, "Welch freedom", stats.Welch(a, b).Freedom, 9.49438, 5e-7)
	near(t, "paired 1", stats.Paired(a, b).Equivalent(1), 0.9293826, 5e-8)
	near(t, "paired 2", stats.Paired(a, b).Equivalent(2), 0.8286101, 5e-8)
	sleep := stats.Estimate{Value: -1.58, SE: 0.849091017239, Freedom: 17.7764735162}
	near(t, "sleep 3", sleep.Equivalent(3), 0.0559789, 5e-6)
	near(t, "sleep 4", sleep.Equivalent(4), 0.0053616, 2e-5)
}

// Freedoms combined: 0.57 with 9 and 0.25 that is known make 12.8 (published with a
// program for uncertainty, after JCGM 100); the end gauge of JCGM 100 H.1 makes
// 16.75, which it cuts to 16.
func TestCombined(t *testing.T) {
	square := func(x float64) float64 { return x * x }
	_, freedom := stats.Combined(stats.Part{Variance: square(0.57), Freedom: 9}, stats.Part{Variance: square(0.25), Freedom: stats.Endless})
	near(t, "small check", freedom, 12.8, 5e-3)
	v, freedom := stats.Combined(
		stats.Part{Variance: square(25), Freedom: 18}, stats.Part{Variance: square(5.8), Freedom: 24}, stats.Part{Variance: square(3.9), Freedom: 5},
		stats.Part{Variance: square(6.7), Freedom: 8}, stats.Part{Variance: square(2.9), Freedom: stats.Endless}, stats.Part{Variance: square(16.6), Freedom: 2})
	near(t, "end gauge", math.Sqrt(v), 31.66, 2e-3)
	near(t, "end gauge, freedom", freedom, 16.75, 5e-3)
	if _, freedom = stats.Combined(stats.Part{Variance: 1, Freedom: stats.Endless}); !math.IsInf(freedom, 1) {
		t.Errorf("a variance that is known: freedom %g, want endless", freedom)
	}
}

// The before-after-before test of testdata/published/aba_example.csv, worked out in
// R and with numpy. Without the term for drift the error would be twice as large.
func TestBeforeAfterBefore(t *testing.T) {
	var design [][]float64
	var changed, same []float64
	for _, row := range published.Table(t, "aba_example.csv")[1:] {
		design = append(design, []float64{1, published.Number(t, row[2]), published.Number(t, row[0])})
		changed, same = append(changed, published.Number(t, row[3])), append(same, published.Number(t, row[4]))
	}
	fit, err := stats.LeastSquares(design, changed)
	if err != nil {
		t.Fatal(err)
	}
	change, drift := fit.Estimate(1), fit.Estimate(2)
	low, high := change.Interval(0.95)
	near(t, "change", change.Value, -0.605, 1e-12)
	near(t, "its error", change.SE, 0.037361827808, 1e-10)
	near(t, "low", low, -0.68951832639, 1e-10)
	near(t, "high", high, -0.52048167361, 1e-10)
	near(t, "p", change.P(), 5.793670581e-08, 1e-8)
	near(t, "drift", drift.Value, -0.0315034965, 1e-8)
	near(t, "its error", drift.SE, 0.005102047, 1e-6)
	near(t, "scatter", fit.Residual, 0.061011609, 1e-7)
	low, high = change.Interval(0.9)
	near(t, "90 % low", low, -0.673488, 1e-6)
	near(t, "90 % high", high, -0.536512, 1e-6)

	fit, err = stats.LeastSquares(design, same)
	if err != nil {
		t.Fatal(err)
	}
	change = fit.Estimate(1)
	near(t, "no change", change.Value, 0.015, 1e-10)
	near(t, "no change, p", change.P(), 0.649491, 1e-5)
	near(t, "no change, margin 0.3", change.Equivalent(0.3), 4.5454e-6, 1e-4)
}

// Numbers in each of two groups that see a difference: power.t.test in R (22.0211
// for one scatter at 90 %), and Cohen's table (1988) worked out to two decimals.
func TestPairSize(t *testing.T) {
	near(t, "1 at 90 %", stats.PairSize(1, 0.9), 22.02110, 1e-6) // printed with seven digits
	near(t, "0.5 at 80 %", stats.PairSize(0.5, 0.8), 63.77, 1e-4)
	near(t, "0.8 at 80 %", stats.PairSize(0.8, 0.8), 25.52, 3e-4)
	near(t, "0.5 at 90 %", stats.PairSize(0.5, 0.9), 85.03, 1e-4)
}

// Power of the two one-sided tests where there is no change, two groups of n and a
// margin of one scatter: worked out by integration.
func TestEquivalencePower(t *testing.T) {
	for n, want := range map[float64]float64{18: 0.804544979, 20: 0.855805} {
		near(t, fmt.Sprint(n), stats.EquivalencePower(2*n-2, 0, math.Sqrt(n/2), 0.05), want, 2e-6)
	}
	// The margins that A-B-A with drift proves with a chance of 80 %: 2.3519 scatters
	// with 3-3-3, 1.7026 with 5-5-5; its error is sqrt(3/(2n)).
	near(t, "333", stats.EquivalencePower(6, 0, 2.3519*math.Sqrt(2), 0.05), 0.8, 2e-4)
	near(t, "555", stats.EquivalencePower(12, 0, 1.7026*math.Sqrt(10./3), 0.05), 0.8, 2e-4)
}
