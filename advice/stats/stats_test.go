package stats_test

import (
	"math"
	"strconv"
	"testing"

	"dropwalk/advice/stats"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: got %.10g, want %.10g within %g", what, got, want, tol)
	}
}

// Two samples of n each that differ by one scatter are a shift of sqrt(n/2)
// standard errors on 2n-2 degrees of freedom. Source: the example of
// power.t.test in R, n = 20, and its table for n = 3 to 6 run again at high
// precision.
func TestTPowerPublished(t *testing.T) {
	for _, row := range []struct {
		n       int
		d, want float64
	}{
		{20, 1, 0.868952801692},
		{3, 1, 0.158791}, {3, 2, 0.462641}, {4, 3, 0.938936}, {5, 1.5, 0.549386}, {6, 2, 0.876418},
	} {
		got := stats.TPower(float64(2*row.n-2), row.d*math.Sqrt(float64(row.n)/2), 0.05)
		near(t, strconv.Itoa(row.n), got, row.want, 5e-6) // printed with six digits
	}
}

// Cohen (1988), two-tailed 0.05, power 0.80: 64, 26 and 17 in each of two groups
// for differences of 0.5, 0.8 and 1.0; 34 and 23 at 0.90 for the last two. (The
// first at 0.90 is 85.03, which his table rounds to 85.)
func TestTPowerCohen(t *testing.T) {
	for _, row := range []struct {
		d, power float64
		n        int
	}{{0.5, 0.8, 64}, {0.8, 0.8, 26}, {1, 0.8, 17}, {0.8, 0.9, 34}, {1, 0.9, 23}} {
		power := func(n int) float64 {
			return stats.TPower(float64(2*n-2), row.d*math.Sqrt(float64(n)/2), 0.05)
		}
		if !(power(row.n) >= row.power && power(row.n-1) < row.power) {
			t.Errorf("d %g: %d gives %g and one less %g, want %g between", row.d, row.n, power(row.n), power(row.n-1), row.power)
		}
	}
}

// Smallest changes that A-B-A with drift sees, worked out with an independent
// statistics system and printed with five digits (333 and 444 with nine).
func TestDetectable(t *testing.T) {
	for _, row := range []struct {
		a, b, c        int
		eighty, ninety float64
	}{
		{2, 2, 2, 3.6857, 4.3421}, {3, 3, 3, 2.38075421, 2.7666}, {4, 4, 4, 1.92874836, 2.2358},
		{5, 5, 5, 1.6720, 1.9366}, {3, 6, 3, 1.8184, 2.1079}, {2, 4, 2, 2.4847, 2.8933},
	} {
		name := strconv.Itoa(100*row.a + 10*row.b + row.c)
		near(t, name+" at 80 %", stats.Detectable(row.a, row.b, row.c, 0.8), row.eighty, 3e-5)
		near(t, name+" at 90 %", stats.Detectable(row.a, row.b, row.c, 0.9), row.ninety, 3e-5)
	}
	near(t, "333", stats.Detectable(3, 3, 3, 0.8), 2.38075421, 1e-8)
	near(t, "444", stats.Detectable(4, 4, 4, 0.8), 1.92874836, 1e-8)
}

// Half-widths of the 95 % interval, same source.
func TestHalfWidth(t *testing.T) {
	near(t, "333", stats.HalfWidth(3, 3, 3), 1.730228, 5e-7)
	near(t, "444", stats.HalfWidth(4, 4, 4), 1.385283, 5e-7)
	near(t, "555", stats.HalfWidth(5, 5, 5), 1.193385, 5e-7)
}

// Just above what n runs can see n are enough, just below one more is needed.
func TestRuns(t *testing.T) {
	for n, limit := range map[int]float64{2: 3.6857, 3: 2.3808, 4: 1.9287, 5: 1.6720} {
		if got, ok := stats.Runs(limit * 1.001); got != n || !ok {
			t.Errorf("%g scatters: got %d, %t, want %d", limit*1.001, got, ok, n)
		}
		if got, ok := stats.Runs(-limit * 0.999); got != n+1 || !ok {
			t.Errorf("-%g scatters: got %d, %t, want %d", limit*0.999, got, ok, n+1)
		}
	}
	if got, ok := stats.Runs(100); got != 2 || !ok {
		t.Errorf("a huge change: got %d, %t, want 2", got, ok)
	}
	for _, change := range []float64{0, 0.01, math.NaN()} {
		if got, ok := stats.Runs(change); ok {
			t.Errorf("a change of %g: got %d, want none", change, got)
		}
	}
}

func TestDigits(t *testing.T) {
	for _, row := range []struct {
		x    float64
		n    int
		want float64
	}{{1234.5678, 6, 1234.57}, {-0.000123456, 3, -0.000123}, {99999.6, 5, 100000}, {0, 3, 0}, {math.Inf(1), 3, math.Inf(1)}} {
		if got := stats.Digits(row.x, row.n); got != row.want && math.Abs(got-row.want) > 1e-12*math.Abs(row.want) {
			t.Errorf("%v to %d digits: %v, want %v", row.x, row.n, got, row.want)
		}
	}
	if got := stats.Digits(math.NaN(), 3); !math.IsNaN(got) {
		t.Errorf("what is no number becomes %v", got)
	}
}
