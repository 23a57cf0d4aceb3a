package quantity

import (
	"errors"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// needle wants a gauge reading: every form is taken.
var needle = Want{Kind: PressureDiff, Swing: true, Bounds: true, Unreadable: true}

// near allows for one rounding of the SI value and one of the test's own
// product, each half a unit in the last place.
func near(got, want float64) bool {
	return math.Abs(got-want) <= 4e-16*math.Abs(want)
}

// Every way to write a reading that the grammar has. Sizes of units are checked
// in units_test.go, against published values; inH2O is 249.08891 Pa here.
func TestReadForms(t *testing.T) {
	const inH2O = 249.08891
	for _, c := range []struct {
		text      string
		want      string // canonical
		form      Form
		low, high float64 // inH2O
		plusMinus float64 // inH2O
	}{
		{"12.5 inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"  12.5inH2O ", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"12,5 inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{".5 inH2O", "0.5 inH2O", Exact, .5, .5, 0},
		{",5 inH2O", "0.5 inH2O", Exact, .5, .5, 0},
		{"12. inH2O", "12 inH2O", Exact, 12, 12, 0},
		{"+12.5 inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"-12.5 inH2O", "-12.5 inH2O", Exact, -12.5, -12.5, 0},
		{"- 12.5 inH2O", "-12.5 inH2O", Exact, -12.5, -12.5, 0},
		{"\u221212.5 inH2O", "-12.5 inH2O", Exact, -12.5, -12.5, 0},
		{"12.5\u00a0inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"12.5\u2009inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"12.5\u3000inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"012.50 inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"0 inH2O", "0 inH2O", Exact, 0, 0, 0},
		{"-0 inH2O", "0 inH2O", Exact, 0, 0, 0},
		{"12 1/2 inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"-12 1/2 inH2O", "-12.5 inH2O", Exact, -12.5, -12.5, 0},
		{"12\u00a01/2 inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"12½ inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"12 ½ inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"12½inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"3/4 inH2O", "0.75 inH2O", Exact, .75, .75, 0},
		{"¾ inH2O", "0.75 inH2O", Exact, .75, .75, 0},
		{"12 1⁄2 inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},
		{"1.250 inH2O", "1.25 inH2O", Exact, 1.25, 1.25, 0},
		{"0,250 inH2O", "0.25 inH2O", Exact, .25, .25, 0},
		{"1250,125 inH2O", "1250.125 inH2O", Exact, 1250.125, 1250.125, 0},
		{"1,2505 inH2O", "1.2505 inH2O", Exact, 1.2505, 1.2505, 0},
		{"1,250.5 inH2O", "1250.5 inH2O", Exact, 1250.5, 1250.5, 0},
		{"1.250,5 inH2O", "1250.5 inH2O", Exact, 1250.5, 1250.5, 0},
		{"1,250,000 inH2O", "1250000 inH2O", Exact, 1250000, 1250000, 0},
		{"1.250.000 inH2O", "1250000 inH2O", Exact, 1250000, 1250000, 0},
		{"1\u202f250\u202f000 inH2O", "1250000 inH2O", Exact, 1250000, 1250000, 0},
		{"1\u00a0250,5 inH2O", "1250.5 inH2O", Exact, 1250.5, 1250.5, 0},

		{"12-13 inH2O", "12-13 inH2O", Swing, 12, 13, 0},
		{"12 - 13 inH2O", "12-13 inH2O", Swing, 12, 13, 0},
		{"12\u201313 inH2O", "12-13 inH2O", Swing, 12, 13, 0},
		{"12..13 inH2O", "12-13 inH2O", Swing, 12, 13, 0},
		{"12…13 inH2O", "12-13 inH2O", Swing, 12, 13, 0},
		{"12 to 13 inH2O", "12-13 inH2O", Swing, 12, 13, 0},
		{"12to13 inH2O", "12-13 inH2O", Swing, 12, 13, 0},
		{"13-12 inH2O", "12-13 inH2O", Swing, 12, 13, 0},
		{"12,5-13,5 inH2O", "12.5-13.5 inH2O", Swing, 12.5, 13.5, 0},
		{"12 inH2O - 13 inH2O", "12-13 inH2O", Swing, 12, 13, 0},
		{"12 inH2O to 13 in. wc", "12-13 inH2O", Swing, 12, 13, 0},
		{"12 inH2O - 13", "12-13 inH2O", Swing, 12, 13, 0},
		{"12 1/2 - 13 1/2 inH2O", "12.5-13.5 inH2O", Swing, 12.5, 13.5, 0},
		{"12½-13½ inH2O", "12.5-13.5 inH2O", Swing, 12.5, 13.5, 0},
		{"-0.5 to 0.5 inH2O", "-0.5 to 0.5 inH2O", Swing, -.5, .5, 0},
		{"-13 to -12 inH2O", "-13 to -12 inH2O", Swing, -13, -12, 0},
		{"-12--13 inH2O", "-13 to -12 inH2O", Swing, -13, -12, 0},
		{"-12-+13 inH2O", "-12 to 13 inH2O", Swing, -12, 13, 0},
		{"12-12 inH2O", "12-12 inH2O", Swing, 12, 12, 0},

		{"12.5 +- 0.5 inH2O", "12.5 +- 0.5 inH2O", Exact, 12.5, 12.5, .5},
		{"12.5+/-0.5 inH2O", "12.5 +- 0.5 inH2O", Exact, 12.5, 12.5, .5},
		{"12.5 ± 0,5 inH2O", "12.5 +- 0.5 inH2O", Exact, 12.5, 12.5, .5},
		{"12.5 inH2O ± 0.5 inH2O", "12.5 +- 0.5 inH2O", Exact, 12.5, 12.5, .5},
		{"12.5 inH2O ± 1/2", "12.5 +- 0.5 inH2O", Exact, 12.5, 12.5, .5},
		{"12.5 ± 0 inH2O", "12.5 inH2O", Exact, 12.5, 12.5, 0},

		{">25 inH2O", ">25 inH2O", Above, 25, 25, 0},
		{"> 25inH2O", ">25 inH2O", Above, 25, 25, 0},
		{">= 25 inH2O", ">25 inH2O", Above, 25, 25, 0},
		{"≥25 inH2O", ">25 inH2O", Above, 25, 25, 0},
		{"over 25 inH2O", ">25 inH2O", Above, 25, 25, 0},
		{"More than 25 inH2O", ">25 inH2O", Above, 25, 25, 0},
		{"<0.5 inH2O", "<0.5 inH2O", Below, .5, .5, 0},
		{"below 1/2 inH2O", "<0.5 inH2O", Below, .5, .5, 0},
		{">-1 inH2O", ">-1 inH2O", Above, -1, -1, 0},

		{"?", "?", Unreadable, 0, 0, 0},
		{" ? ", "?", Unreadable, 0, 0, 0},
	} {
		got, err := Read(c.text, needle)
		if err != nil {
			t.Errorf("Read(%q): %v", c.text, err)
			continue
		}
		if got.Raw != c.text {
			t.Errorf("Read(%q).Raw = %q, want the text as written", c.text, got.Raw)
		}
		if text := got.Text(); text != c.want {
			t.Errorf("Read(%q).Text() = %q, want %q", c.text, text, c.want)
		}
		middle := (c.low + c.high) / 2
		if got.Form != c.form || !near(got.Low, c.low*inH2O) || !near(got.High, c.high*inH2O) ||
			!near(got.SI, middle*inH2O) || !near(got.PlusMinus, c.plusMinus*inH2O) {
			t.Errorf("Read(%q) = %+v, want form %d, %v to %v +- %v inH2O", c.text, got, c.form, c.low, c.high, c.plusMinus)
		}
	}
}

// What can mean several things is asked, with whole answers that read back.
func TestReadAsks(t *testing.T) {
	for _, c := range []struct {
		text string
		want Want
		asks []string
	}{
		{"1,250 Pa", needle, []string{"1250 Pa", "1.25 Pa"}},
		{"-1,250 Pa", needle, []string{"-1250 Pa", "-1.25 Pa"}},
		{">1,250 Pa", needle, []string{">1250 Pa", ">1.25 Pa"}},
		{"1,250-1,300 Pa", needle, []string{"1250-1300 Pa", "1.25-1.3 Pa"}},
		{"1,250 ± 50 Pa", needle, []string{"1250 +- 50 Pa", "1.25 +- 50 Pa"}},
		{"6,050", Want{Kind: Rotation, Unit: "rpm"}, []string{"6050 rpm", "6.05 rpm"}},
		{"1,998 cc", Want{Kind: Volume}, []string{"1998 cc", "1.998 cc"}},
		{"12.5 in", needle, []string{"12.5 inH2O", "12.5 inHg"}},
		{"12.5 inches", needle, []string{"12.5 inH2O", "12.5 inHg"}},
		{`12.5"`, needle, []string{"12.5 inH2O", "12.5 inHg"}},
		{"12.5”", needle, []string{"12.5 inH2O", "12.5 inHg"}},
		{"12-13 in", needle, []string{"12-13 inH2O", "12-13 inHg"}},
		{"> 25 in.", needle, []string{">25 inH2O", ">25 inHg"}},
		{"310 mm", needle, []string{"310 mmH2O", "310 mmHg"}},
		{"31 cm", needle, []string{"31 cmH2O", "310 mmHg"}},
		{"31 mBar", needle, []string{"31 mbar", "31 bar"}},
		{"31 MBar", needle, []string{"31 mbar", "31 bar"}},
		{"3 mPa", needle, []string{"3 MPa", "0.003 Pa"}},
		{"3 mpa", needle, []string{"3 MPa", "0.003 Pa"}},
		{"1,250 in", needle, []string{"1250 inH2O", "1250 inHg", "1.25 inH2O", "1.25 inHg"}},
		{"-12-13 inH2O", needle, []string{"-13 to -12 inH2O", "-12 to 13 inH2O"}},
		{"12-1/2 inH2O", needle, []string{"12.5 inH2O", "0.5-12 inH2O"}},
		{"-12-1/2 inH2O", needle, []string{"-12.5 inH2O", "-12 to -0.5 inH2O", "-12 to 0.5 inH2O"}},
		{"18°", Want{Kind: Temperature}, []string{"18 C", "18 F"}},
		{"18 degrees", Want{Kind: Temperature}, []string{"18 C", "18 F"}},
		{"5 m", Want{Kind: Duration}, []string{"5 min", "5 s"}},
	} {
		got, err := Read(c.text, c.want)
		var asked *Ambiguous
		if !errors.As(err, &asked) {
			t.Errorf("Read(%q) = %+v, %v, want to be asked", c.text, got, err)
			continue
		}
		if diff := cmp.Diff(c.asks, asked.Choices); diff != "" {
			t.Errorf("Read(%q) asks (-want +got):\n%s", c.text, diff)
		}
		for _, choice := range asked.Choices {
			if a, err := Read(choice, c.want); err != nil || a.Text() != choice {
				t.Errorf("choice %q of %q reads %q, %v", choice, c.text, a.Text(), err)
			}
		}
	}
}
