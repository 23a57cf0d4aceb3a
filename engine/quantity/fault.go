package quantity

import (
	"fmt"
	"slices"
	"strings"
)

// Fault says why a text states no quantity.
type Fault struct {
	What     string // what is wrong
	Expected string // what would do
	Hint     string // the nearest thing that is known, or ""
}

func (f *Fault) Error() string {
	s := f.What
	if f.Expected != "" {
		s += ", expected " + f.Expected
	}
	if f.Hint != "" {
		s += fmt.Sprintf(" (did you mean %q?)", f.Hint)
	}
	return s
}

// Ambiguous says that a text can mean several things. Each choice is a whole
// text that means one of them.
type Ambiguous struct {
	Text    string
	Choices []string
}

func (a *Ambiguous) Error() string {
	quoted := make([]string, len(a.Choices))
	for i, c := range a.Choices {
		quoted[i] = fmt.Sprintf("%q", c)
	}
	return fmt.Sprintf("%q can mean %s", a.Text, strings.Join(quoted, " or "))
}

// expecting fills in what would do, where the fault does not say it.
func (f *Fault) expecting(w Want) *Fault {
	if f.Expected != "" {
		return f
	}
	g := *f
	g.Expected = expected(w)
	return &g
}

// examples show one plain way to write each kind.
var examples = map[Kind]string{
	Pressure: "101.1 kPa", GaugePressure: "0.8 bar", PressureDiff: "12.5 inH2O",
	Length: "65 mm", Area: "0.04 m2", Volume: "1998 cc",
	Temperature: "18 C", TemperatureDiff: "5 K", MassFlow: "118 g/s", VolumeFlow: "324 m3/h",
	Power: "108 kW", Speed: "80 km/h", SpeedPer1000: "14 km/h", Angle: "90 deg",
	Density: "1.2 kg/m3", Share: "50 %", Duration: "30 s", Rotation: "6050 rpm",
	Number: "12.5", Whole: "4",
}

// expected says what would be taken, with an example.
func expected(w Want) string {
	s := fmt.Sprintf("a %s such as %q", w.Kind, examples[w.Kind])
	switch w.Kind {
	case Area, Angle:
		s = "an" + s[1:]
	case Share:
		s = fmt.Sprintf("a percentage such as %q", examples[Share])
	case Rotation:
		s = fmt.Sprintf("a speed of rotation such as %q", examples[Rotation])
	}
	return s
}

// shown is how many units a fault lists.
const shown = 6

// unknownUnit says what is wrong with a unit: it measures something else, it
// names no state of the air, it is no unit at all, or nobody knows it.
func unknownUnit(written string, k Kind) *Fault {
	f := &Fault{What: fmt.Sprintf("%q is no known unit", written), Expected: unitList(k)}
	switch other := KindOf(written); {
	case len(other) > 0:
		f.What = fmt.Sprintf("%q is a unit of %s, not of %s", written, other[0], k)
	case slices.Contains(standardFlows, key(written)):
		f.What = fmt.Sprintf("%q counts air at a standard state that it does not name", written)
		f.Expected = "a mass flow such as 118 g/s, or a volume flow at the air's own state such as 324 m3/h"
	case startsNumber(written):
		f.What = fmt.Sprintf("%q follows the number", written)
		f.Expected = expected(Want{Kind: k})
	default:
		f.Hint, _ = units().nearest(written, k)
	}
	return f
}

// standardFlows are mass flows in the dress of volume flows. Each trade has its
// own standard air, so they can't be converted.
var standardFlows = []string{"scfm", "slpm", "sl/min", "sccm", "nm3/h", "nl/min", "sm3/h"}

func unitList(k Kind) string {
	names := UnitsOf(k)
	if len(names) == 0 {
		return "a plain number"
	}
	s := "a unit of " + string(k) + ": " + strings.Join(names[:min(shown, len(names))], ", ")
	if len(names) > shown {
		s += " or another"
	}
	return s
}
