package duct

import (
	"math"
	"testing"
)

// A loss of 5 % in 30 s is a time constant of 30/ln(1/0.95) = 584.87 s. In a hose of
// 4 mm by 3 m with a gauge of 50 cm3 the closed volume is 87.699 cm3; the hose alone, of
// row D01 of hose.csv, has 128 mu L/(pi d^4 p) V = 5.8722 ms with 68.850 cm3, so with
// 87.699 cm3 7.4799 ms. The leak at the gauge takes 7.4799e-3/584.87 = 1.2789e-5 of the
// reading: nothing. A narrow hose of 1 mm lets 4^4 times as much of it be lost.
func TestLeakByHand(t *testing.T) {
	near := func(what string, got, want, within float64) {
		t.Helper()
		if !(math.Abs(got-want) <= within*math.Abs(want)) {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
	leak := LeakTime(100, 95, 30)
	near("time constant", leak, 584.8716, 1e-6)
	volume := 50e-6 + math.Pi/4*0.004*0.004*3
	const mu, open = 1.81e-5, 101325
	near("volume", volume, 87.6991e-6, 1e-6)
	near("share", LeakShare(0.004, 3, volume, mu, open, leak), 1.27886e-5, 1e-4)
	near("share through 1 mm", LeakShare(0.001, 3, volume, mu, open, leak), 256*1.27886e-5/(1+256*1.27886e-5), 1e-4)
	// At 3000 Pa below the open air: 87.6991e-6 x 3000/(101325 x 584.87) m3/s.
	near("flow", LeakFlow(volume, 3000, open, leak), 4.43954e-9, 1e-4)
}

// The share is what a network of a hose and a leak gives when it is solved step by
// step: the gauge's volume is filled through the hose and through the leak until
// nothing changes any more.
func TestLeakShareAgainstFilling(t *testing.T) {
	const bore, length, mu, open, tap = 0.002, 3.0, 1.81e-5, 101325.0, 3000.0
	volume := 60e-6
	leak := 0.5 // s
	hose := HoseLag(bore, length, volume, mu, open)
	p := 0.0
	for range 2_000_000 {
		p += 1e-5 * ((tap-p)/hose - p/leak)
	}
	if got, want := LeakShare(bore, length, volume, mu, open, leak), 1-p/tap; math.Abs(got-want) > 1e-9 {
		t.Errorf("share %v, want %v", got, want)
	}
}

// What fell to nought at once is open; what lost nothing is tight.
func TestLeakEnds(t *testing.T) {
	if tight := LeakTime(100, 100, 30); !math.IsInf(tight, 1) || LeakShare(0.004, 3, 1e-4, 1.8e-5, 1e5, tight) != 0 {
		t.Errorf("tight: %v", tight)
	}
	if open := LeakTime(100, 0, 30); open != 0 || LeakShare(0.004, 3, 1e-4, 1.8e-5, 1e5, open) != 1 {
		t.Errorf("open: %v", open)
	}
}
