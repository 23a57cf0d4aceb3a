package quantity

import (
	"errors"
	"strings"
	"testing"
)

// What is refused, and what is said about it.
func TestReadRefuses(t *testing.T) {
	plain := Want{Kind: PressureDiff}
	for _, c := range []struct {
		text string
		want Want
		says string
	}{
		{"", needle, "nothing is written"},
		{"   ", needle, "nothing is written"},
		{"inH2O", needle, `"inH2O" does not begin with a number`},
		{"-", needle, `"-" does not begin with a number`},
		{".", needle, "is not a number"},
		{"12.5", needle, `the unit is missing, expected a pressure difference such as "12.5 inH2O"`},
		{"NaN", needle, `"NaN" does not begin with a number`},
		{"Inf Pa", needle, "does not begin with a number"},
		{"+Inf Pa", needle, "does not begin with a number"},
		{"0x1F Pa", needle, `"x1F Pa" is no known unit`},
		{"1e3 Pa", needle, `"1e3 Pa" has an exponent, expected the number in full`},
		{"1E+3 Pa", needle, "has an exponent"},
		{"12.5.3 Pa", needle, `"12.5.3" is not a number`},
		{"12,5,3 Pa", needle, `"12,5,3" is not a number`},
		{"1,25,000 Pa", needle, "is not a number"},
		{"0,250,000 Pa", needle, "is not a number"},
		{"12, Pa", needle, "is not a number"},
		{"1.250,500.3 Pa", needle, "is not a number"},
		{"12 5 Pa", needle, `"5 Pa" follows the number`},
		{"12 500 Pa", needle, `did you mean "12500 Pa"?`},
		{"2026-11-20", needle, "follows the number"},
		{"12 3/2 inH2O", needle, `"3/2" after a whole number is not below one`},
		{"12.5 1/2 inH2O", needle, `"12.5" is followed by a fraction`},
		{"1/0 inH2O", needle, `"1/0" is not a fraction`},
		{"1/2.5 inH2O", needle, `"1/2.5" is not a fraction`},
		{"125C", needle, `"C" is a unit of temperature, not of pressure difference`},
		{"12.51~ Pa", needle, "is no known unit"},
		{"31 mbr", needle, `"mbr" is no known unit, expected a unit of pressure difference: inH2O, kPa, mbar, psi, mmH2O, Pa or another (did you mean "mbar"?)`},
		{"12.5 psig", needle, "not of pressure difference"},
		{"5 ft", needle, `"ft" is a unit of length, not of pressure difference`},
		{"12 inH2O - 13 mbar", needle, `two units stand in one quantity, "inH2O" and "mbar"`},
		{"12 foo - 13 foo", needle, `"foo`},
		{"12.5 +- inH2O", needle, "does not begin with a number"},
		{"12.5 +- -0.5 inH2O", needle, "half-width after +- is negative"},
		{"12-13 +- 0.5 inH2O", needle, "a swing takes no +-"},
		{">20 +- 1 inH2O", needle, "a bound takes no +-"},
		{">12-13 inH2O", needle, "a bound takes one number"},
		{">", needle, "does not begin with a number"},
		{"? inH2O", needle, "does not begin with a number"},
		{"about 12 inH2O", needle, "does not begin with a number"},
		{"12.5\tinH2O", needle, "control character"},
		{"12.5 inH2O\n", needle, "control character"},
		{"12.5\x1b[2J Pa", needle, "control character"},
		{"12.5\u202e Pa", needle, "control character"},
		{"12.5\xff Pa", needle, "not valid UTF-8"},
		{"١٢ Pa", needle, "does not begin with a number"},
		{strings.Repeat("1", 201), needle, "longer than 200 bytes"},
		{strings.Repeat("9", 19) + " Pa", needle, "too many digits"},
		{"0." + strings.Repeat("0", 41) + " Pa", needle, "too many digits"},
		{"0.0000000000000000001 Pa", needle, "too small"},
		{"-300 C", Want{Kind: Temperature}, "-300 C lies below absolute zero"},
		{"-1 kPa", Want{Kind: Pressure}, "below absolute zero"},
		{"12-13 inH2O", plain, `a range is not taken here, expected a pressure difference such as "12.5 inH2O"`},
		{">12 inH2O", plain, "a bound is not taken here"},
		{"<12 inH2O", plain, "a bound is not taken here"},
		{"?", plain, `"?" is not enough here`},
		{"4.5", Want{Kind: Whole}, "4.5 is not a whole number"},
		{"4 pieces", Want{Kind: Whole}, `"pieces" follows the number`},
		{"4 +- 1", Want{Kind: Whole}, "takes no +-"},
		{"4 mm", Want{Kind: Number}, `"mm" follows the number`},
		{"0.5", Want{Kind: Share}, `the unit is missing, expected a percentage such as "50 %"`},
		{"natural", Want{Kind: Choice}, "cannot be read as a number"},
		{"12.5", Want{Kind: PressureDiff, Unit: "bananas"}, `"bananas" is no known unit`},
	} {
		got, err := Read(c.text, c.want)
		var fault *Fault
		if !errors.As(err, &fault) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("Read(%q, %s) = %+v, %v, want a fault with %q", c.text, c.want.Kind, got, err, c.says)
		}
		if got != (Amount{}) {
			t.Errorf("Read(%q) is refused and yet gives %+v", c.text, got)
		}
	}
}

// A bare number takes the unit that is supplied; a written unit beats it.
func TestBareNumbers(t *testing.T) {
	for _, c := range []struct {
		text string
		want Want
		si   float64
		unit string
	}{
		{"12.5", Want{Kind: PressureDiff, Unit: "inH2O"}, 3113.611375, "inH2O"},
		{"12.5", Want{Kind: PressureDiff, Unit: "in wc"}, 3113.611375, "inH2O"},
		{"31 mbar", Want{Kind: PressureDiff, Unit: "inH2O"}, 3100, "mbar"},
		{"50", Want{Kind: Share, Unit: "%"}, 0.5, "%"},
		{"6050", Want{Kind: Rotation, Unit: "rpm"}, 6050, "rpm"},
		{"1998", Want{Kind: Volume, Unit: "cc"}, 0.001998, "cc"},
		{"6,050", Want{Kind: Whole}, 6050, ""},
		{"-3,25", Want{Kind: Number}, -3.25, ""},
		{"18", Want{Kind: Temperature, Unit: "C"}, 291.15, "C"},
	} {
		got, err := Read(c.text, c.want)
		if err != nil || got.SI != c.si || got.Unit != c.unit {
			t.Errorf("Read(%q, %+v) = %v %q, %v, want exactly %v SI, unit %q", c.text, c.want, got.SI, got.Unit, err, c.si, c.unit)
		}
	}
}
