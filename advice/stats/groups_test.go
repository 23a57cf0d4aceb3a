package stats_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"dropwalk/advice/internal/published"
	"dropwalk/advice/stats"
)

// printed holds a value to one that is printed with so many digits behind the point.
func printed(t *testing.T, what string, got, want float64, digits int) {
	t.Helper()
	if !(math.Abs(got-want) <= 0.5000001*math.Pow10(-digits)) {
		t.Errorf("%s: got %.7g, want %.7g to %d digits", what, got, want, digits)
	}
}

// Critical values of Cochran's C for 2 to 20 groups of 2 to 6, worked out at high
// precision: cochran_critical.csv. ISO 5725-2 prints 0.718 and 0.602 for ten groups of
// two and 0.788 for five of three (as a public test of ISO 13528 quotes it).
func TestCochranLimits(t *testing.T) {
	for _, row := range published.Table(t, "cochran_critical.csv")[1:] {
		p, n := int(published.Number(t, row[0])), int(published.Number(t, row[1]))
		printed(t, fmt.Sprintf("%d groups of %d, 5 %%", p, n), stats.CochranLimit(p, n, 0.05), published.Number(t, row[2]), 5)
		printed(t, fmt.Sprintf("%d groups of %d, 1 %%", p, n), stats.CochranLimit(p, n, 0.01), published.Number(t, row[3]), 5)
	}
	printed(t, "ISO 5725-2, ten of two, 1 %", stats.CochranLimit(10, 2, 0.01), 0.7175, 3)
	printed(t, "ISO 5725-2, ten of two, 5 %", stats.CochranLimit(10, 2, 0.05), 0.602, 3)
	printed(t, "ISO 5725-2, five of three, 1 %", stats.CochranLimit(5, 3, 0.01), 0.788, 2)
}

// Critical values of Grubbs, one-sided and two-sided: grubbs_critical.csv. ISO 5725-2
// prints 2.290 and 2.482 for ten, two-sided.
func TestGrubbsLimits(t *testing.T) {
	for _, row := range published.Table(t, "grubbs_critical.csv")[1:] {
		n := int(published.Number(t, row[0]))
		for i, size := range []float64{0.05, 0.025, 0.01, 0.005} {
			want := published.Number(t, row[i+1])
			printed(t, fmt.Sprintf("%d numbers, size %g", n, size), stats.GrubbsLimit(n, size), want, 6)
			near(t, fmt.Sprintf("size of %g among %d", want, n), stats.GrubbsTail(n, want), size, 0.01) // of three, six digits leave so much open
		}
	}
	printed(t, "ISO 5725-2, ten, 5 %", stats.GrubbsLimit(10, 0.025), 2.290, 3)
	printed(t, "ISO 5725-2, ten, 1 %", stats.GrubbsLimit(10, 0.005), 2.482, 3)
}

// The uranium data of Tietjen and Moore as in the NIST/SEMATECH Handbook, 1.3.5.17.
func TestGrubbsUranium(t *testing.T) {
	var x []float64
	for _, row := range published.Table(t, "grubbs_uranium.csv")[1:] {
		x = append(x, published.Number(t, row[0]))
	}
	g, ok := stats.Grubbs(x)
	if !ok || g.At != 7 || !g.High {
		t.Fatalf("got %+v, want the last number, above the others", g)
	}
	near(t, "G", g.G, 2.46876461, 1e-8)
	near(t, "limit on either side", g.Limits.Straggler, 2.12664509, 1e-8)
	near(t, "limit on one side", stats.GrubbsLimit(8, 0.05), 2.031652, 1e-6)
}

// Indicator values of Mandel's h and k: mandel_critical.csv. ASTM E691 prints 2.15 and
// 2.06 for eight groups of three at 0.5 % (from memory).
func TestMandelLimits(t *testing.T) {
	for _, row := range published.Table(t, "mandel_critical.csv")[1:] {
		p, n := int(published.Number(t, row[0])), int(published.Number(t, row[1]))
		what := fmt.Sprintf("%d groups of %d ", p, n)
		printed(t, what+"h 5 %", stats.MandelHLimit(p, 0.05), published.Number(t, row[2]), 4)
		printed(t, what+"h 1 %", stats.MandelHLimit(p, 0.01), published.Number(t, row[3]), 4)
		printed(t, what+"k 5 %", stats.MandelKLimit(p, n, 0.05), published.Number(t, row[4]), 4)
		printed(t, what+"k 1 %", stats.MandelKLimit(p, n, 0.01), published.Number(t, row[5]), 4)
	}
	printed(t, "ASTM E691 h", stats.MandelHLimit(8, 0.005), 2.15, 2)
	printed(t, "ASTM E691 k", stats.MandelKLimit(8, 3, 0.005), 2.06, 2)
}

// The constructed class of class_example.csv: five groups of four that differ far more
// than their runs do, and none of them by itself.
func TestClassExample(t *testing.T) {
	groups := make([][]float64, 5)
	for _, row := range published.Table(t, "class_example.csv")[1:] {
		g := int(published.Number(t, row[0])) - 1
		groups[g] = append(groups[g], published.Number(t, row[2]))
	}
	o := stats.NewOneWay(groups)
	between, _ := o.Groups()
	all, _ := o.Reproducibility()
	near(t, "s_r", o.Repeatability(), 0.1238278, 1e-6)
	near(t, "s_L", between, 0.2905455, 1e-6)
	near(t, "s_R", all, 0.3158322, 1e-6)
	near(t, "F", o.F(), 23.02174, 1e-6)
	c, _ := stats.Cochran(groups)
	near(t, "C", c.C, 0.260870, 2e-6)
	near(t, "its limit", c.Limits.Straggler, 0.5981, 1e-4)
	var means []float64
	for _, g := range groups {
		means = append(means, stats.Mean(g))
	}
	g, _ := stats.Grubbs(means)
	near(t, "G", g.G, 1.413813, 1e-6)
	near(t, "its limit", g.Limits.Straggler, 1.7150, 1e-4)
	for i, m := range stats.MandelOf(groups) {
		if m.HOff != 0 || m.KOff != 0 {
			t.Errorf("group %d: got %+v, want no indicator", i+1, m)
		}
	}
}

// Serum glucose in eight laboratories, material A of ASTM E691 (data from memory; that
// they are right shows in the scatter, which R gives from the package ILS as
// 1.063224263). The laboratories differ by less than their tests: nought.
func TestVarianceBelowNought(t *testing.T) {
	glucose := [][]float64{
		{41.03, 41.45, 41.37}, {41.17, 42.00, 41.15}, {41.01, 40.68, 42.66}, {39.37, 42.37, 42.63},
		{41.88, 41.19, 41.32}, {43.28, 40.50, 42.28}, {41.08, 41.27, 39.02}, {43.36, 42.65, 41.72},
	}
	o := stats.NewOneWay(glucose)
	between, _ := o.Groups()
	all, _ := o.Reproducibility()
	near(t, "s_r", o.Repeatability(), 1.063224263, 1e-9)
	near(t, "s_R", all, 1.063224263, 1e-9)
	if between != 0 || !(o.F() < 1) {
		t.Errorf("s_L: got %g with F %g, want nought with F below one", between, o.F())
	}
}

// In honest classes of unlike groups the tests say straggler no oftener than they
// claim; a group that scatters three times as much, or lies off, is found.
func TestUnlikeGroups(t *testing.T) {
	dice := rand.New(rand.NewPCG(7, 7))
	const classes = 20000
	draw := func(odd, wild float64) [][]float64 {
		var groups [][]float64
		for i, n := range []int{2, 3, 3, 5, 4, 3} {
			level, sd := 0.0, 1.0
			if i == 3 {
				level, sd = odd, wild
			}
			var g []float64
			for range n {
				g = append(g, level+sd*dice.NormFloat64())
			}
			groups = append(groups, g)
		}
		return groups
	}
	honest, found := 0, 0
	for range classes {
		if c, ok := stats.Cochran(draw(0, 1)); ok && c.P < stats.StragglerSize {
			honest++
			if !(c.C > c.Limits.Straggler) {
				t.Fatalf("chance %g, yet %g within the limit %g", c.P, c.C, c.Limits.Straggler)
			}
		}
		if c, _ := stats.Cochran(draw(0, 4)); c.P < stats.StragglerSize && c.Group == 3 {
			found++
		}
	}
	t.Logf("honest classes in which a group is said to scatter more: %.4f; one that does is found: %.3f", float64(honest)/classes, float64(found)/classes)
	if rate := float64(honest) / classes; rate > 0.055 || rate < 0.03 {
		t.Errorf("honest classes: got %.4f, want near 0.05 and no more", rate)
	}
	if found < classes/2 {
		t.Errorf("four times the scatter is found in %d of %d classes", found, classes)
	}
	if c, ok := stats.Cochran([][]float64{{1, 1}, {2, 2}, {1}}); ok {
		t.Errorf("no scatter at all: got %+v", c)
	}
	if c, ok := stats.Cochran([][]float64{{1, 1.2}, {2, 2}, {1, 1}}); !ok || c.Group != 0 || c.P != 0 {
		t.Errorf("one that scatters among some that don't: got %+v", c)
	}
}

// Median and the median of the distances from it, by hand.
func TestMedian(t *testing.T) {
	near(t, "odd", stats.Median([]float64{3, 1, 2}), 2, 1e-15)
	near(t, "even", stats.Median([]float64{4, 1, 2, 3}), 2.5, 1e-15)
	near(t, "MAD", stats.MAD([]float64{1, 1, 2, 2, 4, 6, 9}), 1/0.674489750196082, 1e-12)
	if m := stats.Median(nil); !math.IsNaN(m) {
		t.Errorf("of none: got %g", m)
	}
}
