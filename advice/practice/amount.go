package practice

import (
	"math"
	"strconv"
	"sync"

	"dropwalk/engine/quantity"
)

// ratio is the SI size of a unit as a fraction of whole numbers, so that a
// decimal becomes SI with a single rounding, as package quantity reads it. It
// reads text exactly and takes its time; a study writes millions of amounts.
type ratio struct{ over, under int64 }

var units = map[string]ratio{
	"inH2O": {24908891, 100000}, "kPa": {1000, 1}, "mbar": {100, 1},
	"mm": {1, 1000}, "m2": {1, 1}, "cc": {1, 1000000}, "g/s": {1, 1000},
	"km/h": {5, 18}, "%": {1, 100}, "kW": {1000, 1},
}

// amount states v with so many decimals in a unit. Units are those of the table
// and C and deg; deg in steps of five.
func amount(k quantity.Kind, v float64, decimals int, unit string) quantity.Amount {
	if unit == "deg" {
		return degrees()[int(math.Round(v/5))]
	}
	scale := int64(math.Pow10(decimals))
	n := int64(math.Round(v * float64(scale)))
	a := quantity.Amount{Kind: k, Form: quantity.Exact, SI: toSI(n, scale, unit), Unit: unit}
	a.Low, a.High = a.SI, a.SI
	a.Raw = digits(n, scale) + " " + unit
	return a
}

// toSI is n/scale units. Both sides of the fraction stay below 2^53.
func toSI(n, scale int64, unit string) float64 {
	if unit == "C" {
		return float64(100*n+27315*scale) / float64(100*scale)
	}
	r := units[unit]
	return float64(n*r.over) / float64(scale*r.under)
}

// fromSI is the number of units in an SI value, near enough to be rounded.
func fromSI(si float64, unit string) float64 {
	r := units[unit]
	return si * float64(r.under) / float64(r.over)
}

func digits(n, scale int64) string {
	return strconv.FormatFloat(float64(n)/float64(scale), 'f', -1, 64)
}

// swing states that the needle moved between two values.
func swing(low, high float64, decimals int, unit string) quantity.Amount {
	a := amount(quantity.PressureDiff, low, decimals, unit)
	b := amount(quantity.PressureDiff, high, decimals, unit)
	scale := int64(math.Pow10(decimals))
	lo, hi := int64(math.Round(low*float64(scale))), int64(math.Round(high*float64(scale)))
	join := "-"
	if lo < 0 {
		join = " to "
	}
	return quantity.Amount{
		Raw:  digits(lo, scale) + join + digits(hi, scale) + " " + unit,
		Kind: quantity.PressureDiff, Form: quantity.Swing,
		SI: toSI(lo+hi, 2*scale, unit), Low: a.SI, High: b.SI, Unit: unit,
	}
}

// above states that the value lies off the scale.
func above(bound float64, decimals int, unit string) quantity.Amount {
	a := amount(quantity.PressureDiff, bound, decimals, unit)
	a.Raw, a.Form = ">"+a.Raw, quantity.Above
	return a
}

// unreadable states that nobody could read it.
func unreadable() quantity.Amount {
	return quantity.Amount{Raw: "?", Kind: quantity.PressureDiff, Form: quantity.Unreadable}
}

// degrees holds 0, 5, 10 ... 180 deg, which have no short fraction in SI.
var degrees = sync.OnceValue(func() []quantity.Amount {
	all := make([]quantity.Amount, 37)
	for i := range all {
		all[i], _ = quantity.Of(float64(5*i), quantity.Angle, "deg")
	}
	return all
})
