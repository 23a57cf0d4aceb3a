package power

import "math"

// Reference air of the correction formulas: dry pressure 99 kPa, 298 K.
const (
	referencePressure    = 99e3
	referenceTemperature = 298.0
)

// SparkCorrection is alpha_a = (99/ps)^1.2 (T/298)^0.6 of ISO 1585 and UN R85 for
// spark ignition: dry pressure in Pa, temperature in K. The form of EEC 80/1269.
// Corrected power is alpha times measured power.
func SparkCorrection(dry, temperature float64) float64 {
	return math.Pow(referencePressure/dry, 1.2) * math.Pow(temperature/referenceTemperature, 0.6)
}

// J1349 is 1.18 (99/pd)(T/298)^0.5 - 0.18 of SAE J1349 (1990) for spark ignition:
// it corrects the indicated power and leaves friction alone.
func J1349(dry, temperature float64) float64 {
	return 1.18*(referencePressure/dry)*math.Sqrt(temperature/referenceTemperature) - 0.18
}

// DIN70020 is the old (101.3/p)(T/293)^0.5.
func DIN70020(pressure, temperature float64) float64 {
	return 101.3e3 / pressure * math.Sqrt(temperature/293)
}

// DieselAir is the atmospheric factor fa of ISO 1585 and UN R85 for compression
// ignition (exponents from memory, high confidence): (99/ps)(T/298)^0.7 for
// natural or mechanical charging, (99/ps)^0.7 (T/298)^1.5 for a turbocharger with
// or without cooler.
func DieselAir(dry, temperature float64, turbo bool) float64 {
	p, t := referencePressure/dry, temperature/referenceTemperature
	if turbo {
		return math.Pow(p, 0.7) * math.Pow(t, 1.5)
	}
	return p * math.Pow(t, 0.7)
}

// Fuelling is q in mg of fuel a litre and cycle: fuel flow in kg/s, displacement in
// m3, rpm; 120000 F/(V n) for a four-stroke. Source: UN R85 Annex 5.
func Fuelling(fuel, displacement, rpm float64, strokes int) float64 {
	return fuel * 1e6 / (displacement * 1e3 * fills(rpm, strokes))
}

// EngineFactor is fm of UN R85 Annex 5 (5.4.2.2): 0.036 qc - 1.14 for 40 <= qc <=
// 65, 0.3 below and 1.2 above; qc is the fuelling over the boost pressure ratio.
func EngineFactor(qc float64) float64 { return min(max(0.036*qc-1.14, 0.3), 1.2) }

// DieselCorrection is alpha_d = fa^fm.
func DieselCorrection(fa, fm float64) float64 { return math.Pow(fa, fm) }

// ValidSpark says whether a correction lies in 0.93 to 1.07, outside which UN R85
// doesn't accept the test (from memory, high confidence).
func ValidSpark(alpha float64) bool { return alpha >= 0.93 && alpha <= 1.07 }

// ValidDiesel is the same for compression ignition, 0.9 to 1.1.
func ValidDiesel(alpha float64) bool { return alpha >= 0.9 && alpha <= 1.1 }

// ValidAir says whether the air suits a test by UN R85: 283 to 313 K and a dry
// pressure of 80 to 110 kPa (from memory, high confidence).
func ValidAir(dry, temperature float64) bool {
	return temperature >= 283 && temperature <= 313 && dry >= 80e3 && dry <= 110e3
}

// Exponents of temperature in the formulas above, for HeatLoss.
const (
	SparkHeat   = 0.6 // ISO 1585, UN R85
	DensityHeat = 1.0 // air mass alone: the source of "1 % for 3 degrees"
	DieselHeat  = 1.5 // turbocharged, times fm
)

// HeatLoss is the share of power lost when intake air warms from one temperature
// in K to another: 1 - (T1/T2)^exponent.
func HeatLoss(from, to, exponent float64) float64 { return 1 - math.Pow(from/to, exponent) }

// HeatSlope is the share of power lost for each kelvin at a temperature.
func HeatSlope(temperature, exponent float64) float64 { return exponent / temperature }

// HeatAsPressure is the drop of pressure in Pa, from a pressure, that costs a spark
// ignition engine as much as warming from one temperature to another by the
// exponents 1.2 and 0.6 of ISO 1585.
func HeatAsPressure(pressure, from, to float64) float64 {
	return pressure * (1 - math.Pow(from/to, 0.6/1.2))
}
