package infer

import (
	"math"
	"testing"
)

// One lognormal piece, hardly blurred, has the density of the lognormal
// distribution (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.6.9). The
// bins are 10.4 Pa wide, which bends the curve by less than 2 % out here.
func TestSumOfOnePiece(t *testing.T) {
	const median, sd = 400.0, 0.5
	s := NewSum([]Piece{{{1, median, sd}}}, 2000, 4)
	for _, x := range []float64{200, 300, 400, 600, 1000} {
		z := math.Log(x/median) / sd
		want := math.Exp(-z*z/2) / (x * sd * math.Sqrt(2*math.Pi))
		if got := math.Exp(s.LogDensity(x)); math.Abs(got/want-1) > 0.02 {
			t.Errorf("density at %g Pa = %.6g, want %.6g within 2 %%", x, got, want)
		}
	}
}

// Means and variances of independent pieces add up, and so does the reading's.
func TestSumAddsUp(t *testing.T) {
	pieces := []Piece{{{0.9, 200, 0.4}, {0.1, 900, 0.3}}, {{1, 300, 0.25}}, {{1, 100, 0.5}}}
	const top, sd = 4000.0, 60.0
	s := NewSum(pieces, top, sd)
	wantMean, wantVar := 0.0, sd*sd
	for _, p := range pieces {
		m, v := p.Moments()
		wantMean, wantVar = wantMean+m, wantVar+v
	}
	const step = 1.0
	mass, mean, second := 0.0, 0.0, 0.0
	for x := -400.0; x < top; x += step {
		d := math.Exp(s.LogDensity(x)) * step
		mass, mean, second = mass+d, mean+d*x, second+d*x*x
	}
	// A piece's bin stands for its middle, and straight lines join the bins: a tenth
	// of a bin (21 Pa) in the mean, a square of a bin a piece in the variance.
	if math.Abs(mass-1) > 0.003 {
		t.Errorf("mass %.5f, want 1", mass)
	}
	if math.Abs(mean-wantMean) > 4 {
		t.Errorf("mean %.2f Pa, want %.2f", mean, wantMean)
	}
	if v := second - mean*mean; math.Abs(v-wantVar) > 0.04*wantVar {
		t.Errorf("variance %.0f, want %.0f", v, wantVar)
	}
}

// Beyond its table a Sum falls like the error of the reading and never ends.
func TestSumBeyondItsEnds(t *testing.T) {
	s := NewSum([]Piece{{{1, 100, 0.3}}}, 500, 10)
	for _, pair := range [][2]float64{{-100, -300}, {700, 900}} {
		near, far := s.LogDensity(pair[0]), s.LogDensity(pair[1])
		if !(far < near) || math.IsInf(far, 0) || math.IsNaN(far) {
			t.Errorf("log density %g at %g Pa and %g at %g Pa, want it to fall and stay finite", near, pair[0], far, pair[1])
		}
	}
}
