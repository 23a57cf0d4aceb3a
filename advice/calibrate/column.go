package calibrate

import (
	"math"

	"dropwalk/advice/air"
)

// Column is a U-tube with water in both legs, open to the air on one side.
type Column struct {
	Temperature   float64 // of the water, K
	TemperatureSE float64 // standard error, K
	Gravity       float64 // m/s2
	GravitySE     float64
	LevelSE       float64 // of one level on its scale, m
}

// airAbove is the density of air in kg/m3 near a bench. What stands above the
// water on the open side is air as well, and its weight is taken off.
const airAbove = 1.2

// impure is how far tap water may lie from the pure water of the tables, as a
// share, either way (common practice, no source).
const impure = 5e-4

// Pressure is the difference that the two levels show, and the standard error that
// reading the levels gives it. The order of the levels doesn't matter.
func (c Column) Pressure(one, other float64) (pa, se float64) {
	weight := (air.Water(c.Temperature) - airAbove) * c.Gravity
	return weight * math.Abs(one-other), weight * math.Sqrt2 * c.LevelSE
}

// Shared is the relative standard error that all its pressures have in common:
// density and gravity.
func (c Column) Shared() float64 {
	const step = 0.5 // K
	slope := (air.Water(c.Temperature+step) - air.Water(c.Temperature-step)) / (2 * step) / air.Water(c.Temperature)
	return math.Sqrt(square(slope*c.TemperatureSE) + square(c.GravitySE/c.Gravity) + square(impure)/3)
}

func square(x float64) float64 { return x * x }
