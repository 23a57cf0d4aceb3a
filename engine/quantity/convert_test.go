package quantity

import (
	"errors"
	"strings"
	"testing"
)

// The number is rounded once: these decimals are exact products of exact
// factors, so they are met to the last bit.
func TestConvert(t *testing.T) {
	for _, c := range []struct {
		text, unit string
		want       float64
		name       string
	}{
		{"12.5 inH2O", "kPa", 3.113611375, "kPa"},
		{"12,5 in. wc", "KPA", 3.113611375, "kPa"},
		{"-12.5 inH2O", "kPa", -3.113611375, "kPa"},
		{"3.113611375 kPa", "inH2O", 12.5, "inH2O"},
		{"14.5 psia", "psi", 14.5, "psi"},
		{"0.1 kPa", "Pa", 100, "Pa"},
		{"310 mmH2O", "mm H2O", 310, "mmH2O"},
		{"2 1/2 in", "mm", 63.5, "mm"},
		{"12.5 in", "cm", 31.75, "cm"},
		{"1998 cc", "L", 1.998, "L"},
		{"20 °C", "K", 293.15, "K"},
		{"36 km/h", "m/s", 10, "m/s"},
		{"0.5 h", "min", 30, "min"},
		{"3000 1/min", "rpm", 3000, "rpm"},
		{"180 deg", "°", 180, "deg"},
		{"1 bar", "MPa", 0.1, "MPa"},
	} {
		got, name, err := Convert(c.text, c.unit)
		if err != nil || got != c.want || name != c.name {
			t.Errorf("Convert(%q, %q) = %v %s, %v, want exactly %v %s", c.text, c.unit, got, name, err, c.want, c.name)
		}
	}
}

func TestConvertAsks(t *testing.T) {
	for _, c := range []struct{ text, unit, asks string }{
		{"12.5 in", "kPa", "12.5 inH2O|12.5 inHg"},
		{"1,250 Pa", "kPa", "1250 Pa|1.25 Pa"},
		{"3 mm", "kPa", "3 mmH2O|3 mmHg"},
		{"3 kPa", "in", "inH2O|inHg"},
		{"3 kPa", "mBar", "mbar|bar"},
		{"20°", "K", "20 C|20 F"},
	} {
		_, _, err := Convert(c.text, c.unit)
		var asked *Ambiguous
		switch {
		case errors.As(err, &asked):
			if got := strings.Join(asked.Choices, "|"); got != c.asks {
				t.Errorf("Convert(%q, %q) asks %q, want %q", c.text, c.unit, got, c.asks)
			}
		case err == nil || !strings.Contains(err.Error(), c.asks):
			t.Errorf("Convert(%q, %q): %v, want to be asked %q", c.text, c.unit, err, c.asks)
		}
	}
}

func TestConvertRefuses(t *testing.T) {
	for _, c := range []struct{ text, unit, want string }{
		{"12.5 inH2O", "mm2", `"inH2O" is a unit of pressure, not of area`},
		{"12.5 inH2O", "kPx", `"kPx" is no known unit, expected a unit such as kPa, inH2O, mm or km/h (did you mean "kPa"?)`},
		{"12.5 inH20", "kPa", `did you mean "inH2O"?`},
		{"12.5", "kPa", "the unit is missing"},
		{"", "kPa", "nothing is written"},
		{"12-13 inH2O", "kPa", "a range is not taken here"},
		{"?", "kPa", `"?" is not enough here`},
		{"118 g/s", "m3/h", `"g/s" is a unit of mass flow, not of volume flow`},
		{"-300 C", "F", "below absolute zero"},
		{"5 furlongs", "kPa", `"furlongs" is no known unit`},
		{"5 kPa", "", `"" is no known unit`},
		{"5 kPa", strings.Repeat("x", 201), "longer than 200 bytes"},
		{"400 scfm", "m3/h", "a standard state that it does not name"},
	} {
		got, _, err := Convert(c.text, c.unit)
		var fault *Fault
		if !errors.As(err, &fault) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Convert(%q, %q) = %v, %v, want a fault with %q", c.text, c.unit, got, err, c.want)
		}
	}
}

// The slips are the ones that the trade makes between gauges: factors of 2.5,
// 10, 25, 27.7 and 100.
func TestSuspect(t *testing.T) {
	const low, high = 500, 7000 // Pa: a plausible depression
	for _, c := range []struct {
		text string
		kind Kind
		want string
	}{
		{"12.5 inH2O", PressureDiff, ""},
		{"31 mbar", PressureDiff, ""},
		{"310 inH2O", PressureDiff, "310 mmH2O"},
		{"0.45 inH2O", PressureDiff, "0.45 psi"},
		{"12-13 psi", PressureDiff, "12-13 mbar"},
		{">25 psi", PressureDiff, ">25 mbar"},
		{"3 Pa", PressureDiff, "3 kPa"},
		{"3100 mbar", PressureDiff, "3100 Pa"},
		{"?", PressureDiff, ""},
		{"-12.5 inH2O", PressureDiff, ""},
		{"0 inH2O", PressureDiff, ""},
		{"99999999 atm", PressureDiff, ""},
		{"6050 rpm", Rotation, ""},
	} {
		got, found := Suspect(must(t, c.text, c.kind), low, high)
		if got != c.want || found != (c.want != "") {
			t.Errorf("Suspect(%q) = %q, %v, want %q", c.text, got, found, c.want)
		}
	}
	if got, _ := Suspect(must(t, "68 C", Temperature), 263, 313); got != "68 F" {
		t.Errorf("Suspect(68 C in the open air) = %q, want 68 F", got)
	}
	if got, found := Suspect(must(t, "20 C", Temperature), 263, 313); found {
		t.Errorf("Suspect(20 C in the open air) = %q, want none", got)
	}
}
