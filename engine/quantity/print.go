package quantity

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
)

// System is the system of units in which quantities are shown.
type System int

// Systems. AsTyped is metric with the trade's inch of water for pressure
// differences, where nothing was typed.
const (
	AsTyped System = iota
	Metric
	Imperial
)

var systemNames = []string{AsTyped: "as-typed", Metric: "metric", Imperial: "imperial"}

func (s System) String() string {
	if s < 0 || int(s) >= len(systemNames) {
		return "unknown"
	}
	return systemNames[s]
}

// ParseSystem reads the name of a system: metric, imperial or as-typed.
func ParseSystem(name string) (System, error) {
	for i, n := range systemNames {
		if strings.EqualFold(n, name) {
			return System(i), nil
		}
	}
	return AsTyped, &Fault{What: fmt.Sprintf("%q is no system of units", name), Expected: "metric, imperial or as-typed"}
}

// Text returns canonical text that reads back to the same amount, all but Raw.
func (a Amount) Text() string {
	var s string
	switch a.Form {
	case Absent:
		return ""
	case Unreadable:
		return "?"
	case Above:
		s = ">" + a.digits(a.SI)
	case Below:
		s = "<" + a.digits(a.SI)
	case Swing:
		s = a.swingDigits()
	default:
		s = a.digits(a.SI)
		if a.PlusMinus != 0 {
			s += " +- " + a.halfDigits()
		}
	}
	if name := a.unitName(); name != "" {
		s += " " + name
	}
	return s
}

func (a Amount) swingDigits() string {
	low, high := a.digits(a.Low), a.digits(a.High)
	if low[0] == '-' || high[0] == '-' {
		return low + " to " + high
	}
	return low + "-" + high
}

// unit returns the amount's unit. Where it names none that is known it is the
// unit of SI, per cent for shares, and nil for plain numbers.
func (a Amount) unit() *unit {
	dim := dimensions[a.Kind]
	if u := units().named[a.Unit]; u != nil && u.dim == dim {
		return u
	}
	all := units().ofDim[dim]
	for _, u := range all {
		if u.size == "1" && u.zero.Sign() == 0 {
			return u
		}
	}
	if len(all) == 0 {
		return nil
	}
	return all[0]
}

func (a Amount) unitName() string {
	if u := a.unit(); u != nil {
		return u.name
	}
	return ""
}

// digits writes an SI value in the amount's unit with the fewest decimals that
// read back to it.
func (a Amount) digits(si float64) string {
	return shortest(si, a.unit(), a.Kind)
}

func (a Amount) halfDigits() string {
	k := a.Kind
	if k == Temperature {
		k = TemperatureDiff
	}
	return shortest(a.PlusMinus, a.unit(), k)
}

// shortest looks for the fewest decimals that read back to si. The decimal
// form of si gives the number that was written, wherever it has fewer digits
// than a float64 holds; the exact form always ends.
func shortest(si float64, u *unit, k Kind) string {
	if math.IsNaN(si) || math.IsInf(si, 0) {
		return "?"
	}
	if u == nil {
		return trimZeros(strconv.FormatFloat(si, 'f', -1, 64))
	}
	for _, exact := range []*big.Rat{rational(si), new(big.Rat).SetFloat64(si)} {
		v := u.fromSI(exact, k)
		for n := 0; n <= maxDecimals; n++ {
			s := v.FloatString(n)
			back, _ := new(big.Rat).SetString(s)
			if round(u.toSI(back, k)) == si {
				return trimZeros(s)
			}
		}
	}
	return trimZeros(u.fromSI(rational(si), k).FloatString(maxDecimals))
}

// rational takes a float64 for the shortest decimal that means it, as a person
// would: 0.1 is one tenth.
func rational(f float64) *big.Rat {
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(f, 'g', -1, 64))
	return r
}

// In converts an SI value to a unit of kind k.
func In(si float64, k Kind, unit string) (float64, error) {
	u, err := find(si, k, unit)
	if err != nil || u == nil {
		return si, err
	}
	return finite(u.fromSI(rational(si), k), unit)
}

// From converts a number of units of kind k to SI.
func From(v float64, k Kind, unit string) (float64, error) {
	u, err := find(v, k, unit)
	if err != nil || u == nil {
		return v, err
	}
	return finite(u.toSI(rational(v), k), unit)
}

// Of returns the exact amount of v units of kind k, as if v had been written.
func Of(v float64, k Kind, unit string) (Amount, error) {
	u, err := find(v, k, unit)
	if err != nil {
		return Amount{}, err
	}
	si, err := From(v, k, unit)
	a := Amount{Kind: k, Form: Exact, SI: si, Low: si, High: si}
	if u != nil {
		a.Unit = u.name
	}
	a.Raw = a.Text()
	return a, err
}

func find(v float64, k Kind, name string) (*unit, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil, &Fault{What: fmt.Sprintf("%v is not a finite number", v)}
	}
	if dimensions[k] == noDimension && name == "" {
		return nil, nil
	}
	found := units().lookup(name, k)
	switch len(found) {
	case 0:
		return nil, unknownUnit(name, k)
	case 1:
		return found[0].unit, nil
	}
	a := &Ambiguous{Text: name}
	for _, m := range found {
		a.Choices = append(a.Choices, m.unit.name)
	}
	return nil, a
}

func finite(v *big.Rat, unit string) (float64, error) {
	f, _ := v.Float64()
	if math.IsInf(f, 0) {
		return 0, &Fault{What: fmt.Sprintf("the number is too large in %s", unit)}
	}
	return f, nil
}

// Format writes v with so many significant digits, without an exponent and
// without noughts at the end of its decimals.
func Format(v float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "?"
	}
	digits = max(1, min(digits, 17))
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	return trimZeros(strconv.FormatFloat(rounded, 'f', -1, 64))
}

// figure is how one kind is shown in one system: the unit for values from a
// size upwards.
type figure struct {
	from float64 // SI
	unit string
}

// figures are the units that the trade reads. The last that fits is taken.
var figures = map[Kind]map[System][]figure{
	Pressure:        {Metric: {{0, "kPa"}}, Imperial: {{0, "inHg"}}},
	GaugePressure:   {Metric: {{0, "kPa"}}, Imperial: {{0, "psi"}}},
	PressureDiff:    {AsTyped: {{0, "inH2O"}}, Metric: {{0, "Pa"}, {1000, "kPa"}}, Imperial: {{0, "inH2O"}}},
	Length:          {Metric: {{0, "mm"}, {10, "m"}}, Imperial: {{0, "in"}, {3, "ft"}}},
	Area:            {Metric: {{0, "cm2"}, {1, "m2"}}, Imperial: {{0, "in2"}}},
	Volume:          {Metric: {{0, "cm3"}, {0.01, "L"}, {1, "m3"}}, Imperial: {{0, "in3"}, {0.1, "ft3"}}},
	Temperature:     {Metric: {{0, "C"}}, Imperial: {{0, "F"}}},
	TemperatureDiff: {Metric: {{0, "K"}}, Imperial: {{0, "F"}}},
	MassFlow:        {Metric: {{0, "g/s"}}, Imperial: {{0, "lb/min"}}},
	VolumeFlow:      {Metric: {{0, "m3/h"}}, Imperial: {{0, "cfm"}}},
	Power:           {Metric: {{0, "W"}, {100, "kW"}}, Imperial: {{0, "hp"}}},
	Speed:           {Metric: {{0, "km/h"}}, Imperial: {{0, "mph"}}},
	SpeedPer1000:    {Metric: {{0, "km/h"}}, Imperial: {{0, "mph"}}},
	Angle:           {Metric: {{0, "deg"}}},
	Density:         {Metric: {{0, "kg/m3"}}, Imperial: {{0, "lb/ft3"}}},
	Share:           {Metric: {{0, "%"}}},
	Duration:        {Metric: {{0, "ms"}, {1, "s"}, {120, "min"}, {7200, "h"}}},
	Rotation:        {Metric: {{0, "rpm"}}},
}

// exactness is the number of significant digits of the kinds that carry more
// than three.
var exactness = map[Kind]int{Pressure: 4, Volume: 4, Rotation: 4, Number: 4}

// unitFor chooses the unit in which si is shown.
func unitFor(si float64, k Kind, sys System) string {
	bySystem := figures[k]
	list, ok := bySystem[sys]
	if !ok {
		list = bySystem[Metric]
	}
	name := ""
	for _, f := range list {
		if math.Abs(si) >= f.from {
			name = f.unit
		}
	}
	return name
}

// Show writes an SI value with a unit of the system and as many digits as a
// tester can use: "3.11 kPa".
func Show(si float64, k Kind, sys System) string {
	return ShowIn(si, k, unitFor(si, k, sys))
}

// ShowIn writes an SI value in the named unit, with as many digits as a tester
// can use. An unknown unit gives the plain SI number.
func ShowIn(si float64, k Kind, unit string) string {
	v, err := In(si, k, unit)
	if err != nil {
		return Format(si, 3)
	}
	s := sensible(v, k)
	if unit == "" {
		return s
	}
	return s + " " + unit
}

// sensible rounds to the digits of the kind, never a whole number's own digits
// and never a temperature beyond its tenths.
func sensible(v float64, k Kind) string {
	digits := 3
	if d, ok := exactness[k]; ok {
		digits = d
	}
	if k == Temperature || k == TemperatureDiff {
		return trimZeros(strconv.FormatFloat(v, 'f', 1, 64))
	}
	if whole := int(math.Floor(math.Log10(max(math.Abs(v), 1)))) + 1; whole > digits {
		digits = whole
	}
	return Format(v, digits)
}

// Echo repeats an amount as it was typed and in another unit, so that a slip
// shows: "12.5 inH2O = 3.11 kPa". The other unit is that of sys; where it is
// the typed one, or sys is AsTyped, that of the other system.
func Echo(a Amount, sys System) string {
	switch a.Form {
	case Absent:
		return ""
	case Unreadable:
		return "not readable"
	}
	typed := a.Text()
	u := a.unit()
	if u == nil {
		return typed
	}
	name := unitFor(a.SI, a.Kind, sys)
	if sys == AsTyped || name == u.name {
		name = unitFor(a.SI, a.Kind, otherSystem(u.system))
	}
	if name == u.name || u.system == AsTyped {
		return typed
	}
	return typed + " = " + a.in(name)
}

func otherSystem(s System) System {
	if s == Imperial {
		return Metric
	}
	return Imperial
}

// in writes the amount in another unit, in the form in which it was stated.
func (a Amount) in(unit string) string {
	switch a.Form {
	case Above:
		return ">" + ShowIn(a.SI, a.Kind, unit)
	case Below:
		return "<" + ShowIn(a.SI, a.Kind, unit)
	case Swing:
		low := bare(a.Low, a.Kind, unit)
		if a.Low < 0 || a.High < 0 {
			return low + " to " + ShowIn(a.High, a.Kind, unit)
		}
		return low + "-" + ShowIn(a.High, a.Kind, unit)
	}
	if a.PlusMinus == 0 {
		return ShowIn(a.SI, a.Kind, unit)
	}
	k := a.Kind
	if k == Temperature {
		k = TemperatureDiff
	}
	return bare(a.SI, a.Kind, unit) + " +- " + ShowIn(a.PlusMinus, k, unit)
}

// bare is ShowIn without its unit.
func bare(si float64, k Kind, unit string) string {
	return strings.TrimSuffix(ShowIn(si, k, unit), " "+unit)
}
