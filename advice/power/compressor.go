package power

import "math"

const (
	gamma = 1.4
	// HeatCapacity of air at constant pressure in J/(kg K).
	HeatCapacity = 1005.0
)

// CompressorOut is the temperature in K behind a compressor: inlet temperature in
// K, pressure ratio, isentropic efficiency. T1 (1 + (PR^(2/7) - 1)/eta).
func CompressorOut(in, ratio, efficiency float64) float64 {
	return in * (1 + (math.Pow(ratio, (gamma-1)/gamma)-1)/efficiency)
}

// CompressorPower is m cp (T2 - T1) in W.
func CompressorPower(massFlow, in, out float64) float64 { return massFlow * HeatCapacity * (out - in) }

// CoolerOut is the temperature in K behind a charge cooler: T2 - eff (T2 - Tamb).
func CoolerOut(in, ambient, effectiveness float64) float64 {
	return in - effectiveness*(in-ambient)
}

// Usual efficiencies of compressor and cooler at full load (common practice, no
// source).
const usualCompressor, usualCooler = 0.70, 0.70

// chargeRatio is the density of the charge over that of the open air.
func chargeRatio(ratio, temperature float64) float64 {
	out := CompressorOut(temperature, ratio, usualCompressor)
	return ratio * temperature / CoolerOut(out, temperature, usualCooler)
}
