package quantity

import (
	"fmt"
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

// unknownUnit says what is wrong with a unit: nobody knows it, or it measures
// something else.
func unknownUnit(written string, k Kind) *Fault {
	names := UnitsOf(k)
	f := &Fault{What: fmt.Sprintf("%q is no known unit", written)}
	if other := KindOf(written); len(other) > 0 {
		f.What = fmt.Sprintf("%q is a unit of %s, not of %s", written, other[0], k)
	} else {
		f.Hint, _ = units().nearest(written, k)
	}
	f.Expected = "a unit of " + string(k) + ": " + strings.Join(names[:min(shown, len(names))], ", ")
	if len(names) > shown {
		f.Expected += " or another"
	}
	return f
}
