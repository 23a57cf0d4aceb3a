package quantity

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// Convert reads a quantity and converts it to a unit; the kind follows from
// the two. It returns the number, rounded once, and the unit's canonical name.
// The error is a *Ambiguous where text or unit can mean several things,
// otherwise a *Fault.
func Convert(text, toUnit string) (float64, string, error) {
	if len(toUnit) > maxText {
		return 0, "", &Fault{What: fmt.Sprintf("the unit is longer than %d bytes", maxText)}
	}
	kinds := kindsOfTarget(toUnit)
	if len(kinds) == 0 {
		return 0, "", unknownAnywhere(toUnit)
	}
	var asked *Ambiguous
	var first error
	for _, k := range kinds {
		v, name, err := convert(text, k, toUnit)
		switch {
		case err == nil:
			return v, name, nil
		case first == nil:
			first = err
		}
		if asked == nil {
			errors.As(err, &asked)
		}
	}
	if asked != nil { // better than a fault: the text fits this kind
		return 0, "", asked
	}
	return 0, "", first
}

// kindsOfTarget puts the kinds for which the unit stands in the table by this
// name first: mm is a length before it is short for mmH2O. A temperature is a
// point on its scale, not a difference.
func kindsOfTarget(unit string) []Kind {
	var named, others []Kind
	u := units().named[unit]
	for _, k := range KindOf(unit) {
		switch {
		case k == TemperatureDiff:
		case u != nil && u.dim == dimensions[k]:
			named = append(named, k)
		default:
			others = append(others, k)
		}
	}
	return append(named, others...)
}

// convert is Convert for one kind.
func convert(text string, k Kind, toUnit string) (float64, string, error) {
	found, err := read(text, Want{Kind: k})
	if err != nil {
		return 0, "", err
	}
	to, err := find(0, k, toUnit)
	if err != nil {
		return 0, "", err
	}
	if len(found) > 1 {
		return 0, "", &Ambiguous{Text: text, Choices: texts(found)}
	}
	v, err := finite(to.fromSI(found[0].value, k), to.name)
	return v, to.name, err
}

// unknownAnywhere names the nearest unit of any kind.
func unknownAnywhere(unit string) *Fault {
	f := &Fault{What: fmt.Sprintf("%q is no known unit", unit), Expected: "a unit such as kPa, inH2O, mm or km/h"}
	for _, k := range kindsInOrder {
		if near, ok := units().nearest(unit, k); ok {
			f.Hint = near
			return f
		}
	}
	return f
}

// slip is how far a pressure or a flow must lie outside what was expected
// before its unit is doubted. The closest pair of units that are mistaken for
// each other are mbar and inH2O, a factor of 2.5 apart.
const slip = 2

// tie is how much nearer to the middle of what was expected, as a logarithm, a
// unit must bring the amount to beat one that is more usual on gauges.
const tie = 0.1

// onGauges are the units that stand on the gauges of the trade (common
// practice, no source), the usual ones first.
var onGauges = []string{"inH2O", "kPa", "mbar", "psi", "mmH2O", "Pa", "cmH2O", "bar"}

// mistakable lists the units that may be taken for each other.
func mistakable(dim dimension) []*unit {
	if dim != pressures {
		return units().ofDim[dim]
	}
	var list []*unit
	for _, name := range onGauges {
		list = append(list, units().named[name])
	}
	return list
}

// Suspect looks for the unit that was probably meant where an amount lies far
// outside the range that was expected, in SI: a gauge in mbar read as inH2O
// (factor 2.5), cm for mm of water (10), mm for inches (25.4), inH2O for psi
// (27.7), Pa for hPa (100). It returns the whole text in that unit, and false
// where the amount is plausible or no unit makes it so.
func Suspect(a Amount, low, high float64) (string, bool) {
	u := a.unit()
	if u == nil || !far(a, low, high) {
		return "", false
	}
	written := u.fromSI(rational(a.SI), a.Kind)
	best, name := math.Inf(1), ""
	for _, other := range mistakable(u.dim) {
		si := round(other.toSI(written, a.Kind))
		if si < low || si > high {
			continue
		}
		if d := apart(si, low, high, a.Kind); d < best-tie {
			best, name = d, other.name
		}
	}
	if name == "" {
		return "", false
	}
	return strings.TrimSuffix(a.Text(), u.name) + name, true
}

// far tells whether an amount lies so far outside that its unit is in doubt.
// Temperatures have no natural nought, so there any distance will do.
func far(a Amount, low, high float64) bool {
	switch {
	case !(a.Form == Exact || a.Form == Swing || a.Form == Above || a.Form == Below):
		return false
	case a.Kind == Temperature:
		return a.SI < low || a.SI > high
	}
	return a.SI > 0 && (a.SI < low/slip || a.SI > high*slip)
}

// apart is the distance of si from the middle of the expected range: in
// kelvin for temperatures, as a logarithm for all else.
func apart(si, low, high float64, k Kind) float64 {
	if k == Temperature {
		return math.Abs(si - (low+high)/2)
	}
	return math.Abs(math.Log(si*si/(max(low, high*1e-6)*high)) / 2)
}
