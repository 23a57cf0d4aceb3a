package quantity

import (
	"math/big"
	"strings"
	"sync"

	"dropwalk/engine/spell"
)

// dimension is what units have in common: every unit of one dimension can
// measure every kind of it.
type dimension int

const (
	noDimension dimension = iota // plain numbers
	pressures
	lengths
	areas
	volumes
	temperatures
	massFlows
	volumeFlows
	powers
	speeds
	angles
	densities
	shares
	durations
	rotations
)

// dimensions lists the kinds that Read takes.
var dimensions = map[Kind]dimension{
	Pressure: pressures, GaugePressure: pressures, PressureDiff: pressures,
	Length: lengths, Area: areas, Volume: volumes,
	Temperature: temperatures, TemperatureDiff: temperatures,
	MassFlow: massFlows, VolumeFlow: volumeFlows, Power: powers,
	Speed: speeds, SpeedPer1000: speeds, Angle: angles, Density: densities,
	Share: shares, Duration: durations, Rotation: rotations,
	Number: noDimension, Whole: noDimension,
}

// kindsInOrder gives KindOf its order. Convert takes the first of a dimension,
// so the absolute scales stand before the differences.
var kindsInOrder = []Kind{
	Pressure, GaugePressure, PressureDiff, Length, Area, Volume, Temperature,
	TemperatureDiff, MassFlow, VolumeFlow, Power, Speed, SpeedPer1000, Angle,
	Density, Share, Duration, Rotation,
}

// row is one unit as it stands in the table. Size is its SI value as a product
// of exact decimals, so that a conversion rounds once, at its end.
type row struct {
	dim       dimension
	name      string
	system    System // the system it belongs to; AsTyped for both
	size      string // factors joined by * and /
	spellings string // parted by |; upper and lower case, spaces and dots make no difference
}

// Lengths of the exact definitions: inch 0.0254 m, pound 0.45359237 kg,
// standard gravity 9.80665 m/s2 (NIST SP 811 appendix B). pi is enough digits
// for a float64 twice over.
const (
	pound = "0.45359237"
	grav  = "9.80665"
	pi    = "3.14159265358979323846264338327950288419716939937510"
)

// table holds every unit that can be written. Sizes follow NIST SP 811
// appendix B. The inch of water is the conventional one, 1000 kg/m3 under
// standard gravity, rounded as published to 249.08891 Pa; the others name their
// temperature. 20 C is worked out with the density of Tanaka et al. 2001.
var table = []row{
	{pressures, "inH2O", Imperial, "249.08891", inches("h2o|wc|wg|water|ofwater|ofh2o|aq|watercolumn|watergauge|ofwatercolumn|ofwatergauge|h2ogauge") + "|iwc|iwg"},
	{pressures, "kPa", Metric, "1000", "kilopascal|kilopascals"},
	{pressures, "mbar", Metric, "100", "mb|millibar|millibars"},
	{pressures, "psi", Imperial, pound + "*" + grav + "/0.0254/0.0254", "lb/in2|lbs/in2|lbf/in2|lb/sqin|lbf/sqin|lbs/sqin|pound/squareinch|pounds/squareinch"},
	{pressures, "mmH2O", Metric, grav, "mmwc|mmwg|mmwater|mmofwater|mmofh2o|mmws|mmwatercolumn|mmaq"},
	{pressures, "Pa", Metric, "1", "pascal|pascals|n/m2"},
	{pressures, "hPa", Metric, "100", "hectopascal|hectopascals"},
	{pressures, "bar", Metric, "100000", "bars"},
	{pressures, "MPa", Metric, "1000000", "megapascal|megapascals"},
	{pressures, "cmH2O", Metric, grav + "*10", "cmwc|cmwg|cmwater|cmofwater|cmofh2o|cmws|cmwatercolumn"},
	{pressures, "mH2O", Metric, grav + "*1000", "mwc|mwater|mofwater|mws"},
	{pressures, "ftH2O", Imperial, "249.08891*12", "ftwc|ftwater|ftofwater|feetofwater|footofwater|ftofh2o"},
	{pressures, "inHg", Imperial, "13.5951*" + grav + "*25.4", inches("hg|mercury|ofmercury|ofhg")},
	{pressures, "mmHg", Metric, "13.5951*" + grav, "mmofmercury|mmmercury|mmofhg"},
	{pressures, "inH2O@4C", Imperial, "249.082", waters("in", "4c|392f|39f")},
	{pressures, "inH2O@60F", Imperial, "248.84", waters("in", "60f|156c|16c")},
	{pressures, "inH2O@20C", Imperial, "998.2067*" + grav + "*0.0254", waters("in", "20c|68f")},
	{pressures, "cmH2O@4C", Metric, "98.0638", waters("cm", "4c|392f")},
	{pressures, "ftH2O@4C", Imperial, "2988.98", waters("ft", "4c|392f")},
	{pressures, "inHg@0C", Imperial, "3386.38", "inhg@32f|inhg32f|inhg0c"},
	{pressures, "inHg@60F", Imperial, "3376.85", "inhg60f"},
	{pressures, "torr", Metric, "101325/760", ""},
	{pressures, "atm", Metric, "101325", "atmosphere|atmospheres"},
	{pressures, "kgf/cm2", Metric, grav + "*10000", "kg/cm2|kp/cm2|kgf/sqcm"},

	{lengths, "mm", Metric, "0.001", "millimetre|millimetres|millimeter|millimeters"},
	{lengths, "cm", Metric, "0.01", "centimetre|centimetres|centimeter|centimeters"},
	{lengths, "m", Metric, "1", "metre|metres|meter|meters"},
	{lengths, "in", Imperial, "0.0254", `inch|inches|"|''`},
	{lengths, "ft", Imperial, "0.3048", "foot|feet|'"},

	{areas, "mm2", Metric, "0.000001", "sqmm"},
	{areas, "cm2", Metric, "0.0001", "sqcm"},
	{areas, "m2", Metric, "1", "sqm"},
	{areas, "in2", Imperial, "0.0254*0.0254", "sqin|squareinch|squareinches"},
	{areas, "ft2", Imperial, "0.3048*0.3048", "sqft|squarefoot|squarefeet"},

	{volumes, "cc", Metric, "0.000001", "ccm"},
	{volumes, "cm3", Metric, "0.000001", "cucm"},
	{volumes, "ml", Metric, "0.000001", "millilitre|millilitres|milliliter|milliliters"},
	{volumes, "L", Metric, "0.001", "litre|litres|liter|liters|ltr"},
	{volumes, "dm3", Metric, "0.001", ""},
	{volumes, "m3", Metric, "1", "cum"},
	{volumes, "in3", Imperial, "0.0254*0.0254*0.0254", "cuin|ci|cid|cubicinch|cubicinches"},
	{volumes, "ft3", Imperial, "0.3048*0.3048*0.3048", "cuft|cubicfoot|cubicfeet"},

	{temperatures, "C", Metric, "1", "°c|degc|celsius|degreesc|degreescelsius|degcelsius|centigrade"},
	{temperatures, "F", Imperial, "5/9", "°f|degf|fahrenheit|degreesf|degreesfahrenheit|degfahrenheit"},
	{temperatures, "K", Metric, "1", "kelvin|kelvins|°k|degk"},

	{massFlows, "g/s", Metric, "0.001", "gps|gram/s|grams/s|g/sec|gram/sec|grams/sec|g/second|grams/second"},
	{massFlows, "kg/s", Metric, "1", "kg/sec"},
	{massFlows, "kg/h", Metric, "1/3600", "kg/hr|kg/hour"},
	{massFlows, "kg/min", Metric, "1/60", ""},
	{massFlows, "g/min", Metric, "0.001/60", ""},
	{massFlows, "lb/min", Imperial, pound + "/60", "lbs/min|pounds/min|pound/min"},
	{massFlows, "lb/h", Imperial, pound + "/3600", "lbs/h|lb/hr|lbs/hr|pph"},

	{volumeFlows, "m3/h", Metric, "1/3600", "m3/hr|m3/hour|cmh"},
	{volumeFlows, "m3/min", Metric, "1/60", ""},
	{volumeFlows, "m3/s", Metric, "1", "m3/sec"},
	{volumeFlows, "L/s", Metric, "0.001", "l/sec|litre/s|litres/s|liter/s|liters/s"},
	{volumeFlows, "L/min", Metric, "0.001/60", "lpm|litre/min|litres/min|liter/min|liters/min"},
	{volumeFlows, "L/h", Metric, "0.001/3600", "l/hr"},
	{volumeFlows, "cfm", Imperial, "0.3048*0.3048*0.3048/60", "ft3/min|cuft/min"},

	{powers, "kW", Metric, "1000", "kilowatt|kilowatts"},
	{powers, "W", Metric, "1", "watt|watts"},
	{powers, "hp", Imperial, "550*0.3048*" + pound + "*" + grav, "bhp|horsepower"},
	{powers, "PS", Metric, "75*" + grav, "cv|metrichp|hp(metric)|metrichorsepower|pferdestärke|pferdestärken"},

	{speeds, "km/h", Metric, "1/3.6", "kph|kmh|kmph|km/hr|km/hour"},
	{speeds, "mph", Imperial, "0.44704", "mi/h|miles/h|miles/hour|mile/h"},
	{speeds, "m/s", Metric, "1", "m/sec|mps"},
	{speeds, "ft/s", Imperial, "0.3048", "fps|ft/sec"},

	{angles, "deg", AsTyped, pi + "/180", "°|degree|degrees"},
	{angles, "rad", AsTyped, "1", "radian|radians"},

	{densities, "kg/m3", Metric, "1", ""},
	{densities, "g/L", Metric, "1", ""},
	{densities, "g/cm3", Metric, "1000", "g/cc|g/ml|kg/l"},
	{densities, "lb/ft3", Imperial, pound + "/0.3048/0.3048/0.3048", "lbs/ft3|lb/cuft|lbs/cuft"},

	{shares, "%", AsTyped, "0.01", "percent|pct"},

	{durations, "s", AsTyped, "1", "sec|secs|second|seconds"},
	{durations, "ms", AsTyped, "0.001", "msec|millisecond|milliseconds"},
	{durations, "min", AsTyped, "60", "mins|minute|minutes"},
	{durations, "h", AsTyped, "3600", "hr|hrs|hour|hours"},

	// Revolutions per minute are the unit of the kind: the one exception to SI.
	{rotations, "rpm", AsTyped, "1", "1/min|r/min|rev/min|revs/min|revs|min-1|u/min|/min|revolution/minute|revolutions/minute"},
}

// zeros are the offsets of temperature scales in kelvin: 0 C, and 0 F as
// 459.67 times 5/9.
var zeros = map[string]string{"C": "273.15", "F": "459.67*5/9"}

// readAlone lists spellings that say which kind they mean. They are refused
// for every other kind.
var readAlone = []struct {
	spelling, unit string
	kind           Kind
}{
	{"psia", "psi", Pressure}, {"psig", "psi", GaugePressure}, {"psid", "psi", PressureDiff},
	{"bara", "bar", Pressure}, {"barg", "bar", GaugePressure},
}

// sense is one thing that a spelling can mean: so many of a unit.
type sense struct {
	count string
	unit  string
}

// doubtful lists spellings that mean several things within one dimension. Where
// right is written exactly so, upper and lower case included, it counts.
var doubtful = []struct {
	dim       dimension
	spellings string
	right     string
	senses    []sense
}{
	{pressures, `in|inch|inches|"|''`, "", []sense{{"1", "inH2O"}, {"1", "inHg"}}},
	{pressures, "mm", "", []sense{{"1", "mmH2O"}, {"1", "mmHg"}}},
	{pressures, "cm", "", []sense{{"1", "cmH2O"}, {"10", "mmHg"}}},
	{pressures, "mbar", "mbar", []sense{{"1", "mbar"}, {"1", "bar"}}},
	{pressures, "mpa", "MPa", []sense{{"1", "MPa"}, {"0.001", "Pa"}}},
	{temperatures, "°|deg|degree|degrees", "", []sense{{"1", "C"}, {"1", "F"}}},
	{durations, "m", "", []sense{{"1", "min"}, {"1", "s"}}},
}

// inches joins every way to write inch with every way to go on.
func inches(endings string) string {
	var all []string
	for _, head := range []string{"in", "inch", "inches", `"`} {
		for ending := range strings.SplitSeq(endings, "|") {
			all = append(all, head+ending)
		}
	}
	return strings.Join(all, "|")
}

// waters spells a water column at a stated temperature.
func waters(head, temperatures string) string {
	var all []string
	for t := range strings.SplitSeq(temperatures, "|") {
		number, scale := t[:len(t)-1], t[len(t)-1:]
		for _, middle := range []string{"h2o@", "h2o", "h2oat", "wc@", "wc"} {
			all = append(all, head+middle+t, head+middle+number+"°"+scale)
		}
	}
	return strings.Join(all, "|")
}

// unit is a row made ready for arithmetic.
type unit struct {
	row
	factor *big.Rat
	zero   *big.Rat // SI value of nought on its scale
}

// meaning is one reading of a spelling: count units, for these kinds.
type meaning struct {
	count *big.Rat
	unit  *unit
	only  Kind // "" for every kind of the dimension
}

// lexicon is the table, indexed.
type lexicon struct {
	named    map[string]*unit // by canonical name
	spelled  map[string][]meaning
	sure     map[string][]meaning // by canonical name, where that is not doubtful
	right    map[string]string    // by key: the one writing that is not doubtful
	ofDim    map[dimension][]*unit
	writings map[dimension][]string // for the nearest name
}

var units = sync.OnceValue(func() *lexicon {
	l := &lexicon{
		named: map[string]*unit{}, spelled: map[string][]meaning{}, sure: map[string][]meaning{}, right: map[string]string{},
		ofDim: map[dimension][]*unit{}, writings: map[dimension][]string{},
	}
	one := big.NewRat(1, 1)
	for _, r := range table {
		u := &unit{row: r, factor: product(r.size), zero: new(big.Rat)}
		if zero, ok := zeros[r.name]; ok {
			u.zero = product(zero)
		}
		l.named[r.name] = u
		l.ofDim[r.dim] = append(l.ofDim[r.dim], u)
		l.writings[r.dim] = append(l.writings[r.dim], r.name)
		for _, s := range append([]string{r.name}, split(r.spellings)...) {
			l.add(s, meaning{one, u, ""})
		}
	}
	for _, a := range readAlone {
		l.add(a.spelling, meaning{one, l.named[a.unit], a.kind})
	}
	for _, d := range doubtful {
		for _, s := range split(d.spellings) {
			l.addDoubt(d.dim, s, d.right, d.senses)
		}
	}
	for _, u := range l.named {
		var own []meaning
		for _, m := range l.spelled[key(u.name)] {
			if m.unit.dim == u.dim && m.only == "" {
				own = append(own, m)
			}
		}
		if len(own) == 1 {
			l.sure[u.name] = own
		}
	}
	return l
})

func (l *lexicon) add(spelling string, m meaning) {
	k := key(spelling)
	for _, have := range l.spelled[k] {
		if have.unit == m.unit && have.only == m.only {
			return // written twice in the table, by way of its joined spellings
		}
	}
	l.spelled[k] = append(l.spelled[k], m)
	if m.only == "" && spelling != m.unit.name {
		l.writings[m.unit.dim] = append(l.writings[m.unit.dim], spelling)
	}
}

// addDoubt replaces what the spelling meant within the dimension.
func (l *lexicon) addDoubt(dim dimension, spelling, right string, senses []sense) {
	k := key(spelling)
	var kept []meaning
	for _, m := range l.spelled[k] {
		if m.unit.dim != dim {
			kept = append(kept, m)
		}
	}
	for _, s := range senses {
		kept = append(kept, meaning{product(s.count), l.named[s.unit], ""})
	}
	l.spelled[k] = kept
	if right != "" {
		l.right[k] = right
	}
}

// lookup returns what a spelling can mean for a kind: none, one or several.
// Most are canonical names, which need no folding.
func (l *lexicon) lookup(spelling string, k Kind) []meaning {
	dim := dimensions[k]
	if m, ok := l.sure[spelling]; ok && m[0].unit.dim == dim {
		return m
	}
	if right := l.right[key(spelling)]; right != "" && fold.Replace(spelling) == right && l.named[right].dim == dim {
		return []meaning{{big.NewRat(1, 1), l.named[right], ""}}
	}
	if k == SpeedPer1000 {
		spelling = perThousand(spelling)
	}
	var found []meaning
	for _, m := range l.spelled[key(spelling)] {
		if m.unit.dim == dim && (m.only == "" || m.only == k) {
			found = append(found, m)
		}
	}
	return found
}

// perThousand takes "per 1000 rpm" off the end of a speed.
func perThousand(spelling string) string {
	short := key(spelling)
	for _, end := range []string{"/1000rpm", "/1000", "@1000rpm", "at1000rpm"} {
		if cut, ok := strings.CutSuffix(short, end); ok {
			return cut
		}
	}
	return spelling
}

// longestSpelling bounds the work of looking for a near one; no spelling in the
// table is as long.
const longestSpelling = 40

// nearest returns the unit of the kind that a spelling was probably meant for.
func (l *lexicon) nearest(spelling string, k Kind) (string, bool) {
	if len(spelling) > longestSpelling {
		return "", false
	}
	found, ok := spell.Nearest(spelling, l.writings[dimensions[k]])
	if !ok {
		return "", false
	}
	if m := l.lookup(found, k); len(m) > 0 {
		return m[0].unit.name, true
	}
	return "", false
}

// fold takes out of a spelling what makes no difference but for case: spaces,
// dots, superscripts, and the many ways to write "per" and "degree".
var fold = strings.NewReplacer(
	" per ", "/", " ", "", ".", "", "_", "", "^", "", "(", "", ")", "", "·", "",
	"²", "2", "³", "3", "₂", "2", "⁻¹", "-1", "º", "°", "˚", "°", "℃", "°C", "℉", "°F",
)

// key is the form of a spelling in which it is looked up.
func key(spelling string) string {
	return strings.ToLower(fold.Replace(strings.TrimSpace(spelling)))
}

func split(list string) []string {
	if list == "" {
		return nil
	}
	return strings.Split(list, "|")
}

// product works out factors joined by * and /, exactly.
func product(expression string) *big.Rat {
	result := big.NewRat(1, 1)
	divide := false
	for start, i := 0, 0; i <= len(expression); i++ {
		if i < len(expression) && expression[i] != '*' && expression[i] != '/' {
			continue
		}
		factor, _ := new(big.Rat).SetString(expression[start:i])
		if divide {
			result.Quo(result, factor)
		} else {
			result.Mul(result, factor)
		}
		divide = i < len(expression) && expression[i] == '/'
		start = i + 1
	}
	return result
}

// toSI converts an exact count of units. Differences have no offset.
func (u *unit) toSI(v *big.Rat, k Kind) *big.Rat {
	si := new(big.Rat).Mul(v, u.factor)
	if k == Temperature {
		si.Add(si, u.zero)
	}
	return si
}

// fromSI is the inverse of toSI.
func (u *unit) fromSI(si *big.Rat, k Kind) *big.Rat {
	v := new(big.Rat).Set(si)
	if k == Temperature {
		v.Sub(v, u.zero)
	}
	return v.Quo(v, u.factor)
}

// UnitsOf returns the canonical names of the units that measure k, the usual
// ones of the trade first; nil for plain numbers.
func UnitsOf(k Kind) []string {
	var names []string
	for _, u := range units().ofDim[dimensions[k]] {
		names = append(names, u.name)
	}
	return names
}

// KindOf returns the kinds that a unit can measure, however it is spelled; nil
// where nobody knows it.
func KindOf(unit string) []Kind {
	var kinds []Kind
	for _, k := range kindsInOrder {
		if len(units().lookup(unit, k)) > 0 {
			kinds = append(kinds, k)
		}
	}
	return kinds
}
