package duct

import "math"

// A closed hose that leaks loses its depression as a capacity does through a
// resistance. The same leak, on a hose that is read, lets air pass along the hose, and
// the pressure that takes is missing at the gauge. Both follow from Hagen-Poiseuille
// and isothermal filling, as HoseLag does.

// LeakTime is the time constant in s with which a closed volume loses its
// depression, where it fell from start to end in so many seconds: t / ln(start/end).
// It is endless where nothing was lost and nought where all was.
func LeakTime(start, end, seconds float64) float64 {
	if end >= start {
		return math.Inf(1)
	}
	if end <= 0 {
		return 0
	}
	return seconds / math.Log(start/end)
}

// LeakFlow is the volume of open air in m3/s that a leak lets into a closed volume in
// m3 at a depression, with the time constant of LeakTime: V p / (P tau). Pressure is
// that of the open air.
func LeakFlow(volume, depression, pressure, leak float64) float64 {
	return volume * depression / (pressure * leak)
}

// LeakShare is the share by which a gauge reads low where a leak lies so far along
// the hose, in m from the tap: R C / (1 + R C), R the resistance of the hose up to the
// leak and C the conductance that LeakTime shows of the closed volume. R C is HoseLag of
// that length and volume over LeakTime.
func LeakShare(bore, along, volume, viscosity, pressure, leak float64) float64 {
	if leak <= 0 {
		return 1
	}
	rc := HoseLag(bore, along, volume, viscosity, pressure) / leak
	return rc / (1 + rc)
}
