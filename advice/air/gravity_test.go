package air

import (
	"math"
	"testing"
)

// Moritz, Geodetic Reference System 1980, J. Geodesy 74 (2000) 128 (from memory):
// 9.7803267715 at the equator, 9.806199203 at 45 deg, 9.8321863685 at the poles.
func TestNormalGravity(t *testing.T) {
	for _, c := range []struct{ degrees, height, want, within float64 }{
		{0, 0, 9.7803267715, 1e-10}, {45, 0, 9.806199203, 1e-9}, {90, 0, 9.8321863685, 1e-9}, {-45, 0, 9.806199203, 1e-9},
		{45, 1000, 9.806199203 - 3.086e-3, 1e-9},
	} {
		if got := NormalGravity(c.degrees*math.Pi/180, c.height); math.Abs(got-c.want) > c.within {
			t.Errorf("gravity at %v deg, %v m is %.10f, want %.10f", c.degrees, c.height, got, c.want)
		}
	}
}
