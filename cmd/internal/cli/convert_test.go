package cli

import (
	"strings"
	"testing"
)

// What a prompt takes as a reading can be converted too: a swing and a bound.
// Figures: the conventional inch of water is 249.08891 Pa.
func TestConvertSwingsAndBounds(t *testing.T) {
	for line, want := range map[string]string{
		`convert ">25 inH2O" mbar`:        ">62.2722 mbar\n",
		`convert "<0.5 inH2O" Pa`:         "<124.544 Pa\n",
		`convert "12-13 inH2O" mbar`:      "29.8907-32.3816 mbar\n",
		`convert ">25 inH2O" Pa --json`:   `{"value":6227.22275,"unit":"Pa","bound":"above"}` + "\n",
		`convert "12-13 inH2O" Pa --json`: `{"value":3113.611375,"unit":"Pa","low":2989.06692,"high":3238.15583}` + "\n",
	} {
		if r := runLine(line); r.code != exitDone || r.out != want {
			t.Errorf("%s ends with %d: %q %s, want %q", line, r.code, r.out, r.err, want)
		}
	}
	if r := runLine(`convert ">25 inH2O" rpm`); r.code != exitInput || r.out != "" {
		t.Errorf("a pressure in rpm ends with %d: %q", r.code, r.out)
	}
}

// A share written as a fraction is offered in per cent; a speed stands in the
// unit that was typed; a diesel isn't told from petrol's formula.
func TestWhatACalculationSays(t *testing.T) {
	r := runLine(`calc flow --displacement "2 L" --rpm 6000 --ve 0.9 --air-density "1.2 kg/m3"`)
	if want := `hint: did you mean "90 %"?`; r.code != exitInput || !strings.Contains(r.err, want) {
		t.Errorf("it ends with %d and says %q, want %q", r.code, r.err, want)
	}
	for line, want := range map[string]string{
		`calc speed --rpm 6000 --speed-per-1000 "14 mph"`:                "road speed: 84 mph\n",
		`calc speed --rpm 6000 --speed-per-1000 "14 km/h"`:               "road speed: 84 km/h\n",
		`calc speed --rpm 6000 --speed-per-1000 "14 mph" --units metric`: "road speed: 135 km/h\n",
	} {
		if r := runLine(line); !strings.HasPrefix(r.out, want) {
			t.Errorf("%s says %q, want %q", line, r.out, want)
		}
	}
	const power = `calc power --induction natural --pressure "99 kPa" --before "2.5 kPa" --fuel `
	if r := runLine(power + "diesel"); strings.Contains(r.out, "spark") || !strings.Contains(r.out, "Energies 15") {
		t.Errorf("for a diesel it says %s", r.out)
	}
	if r := runLine(power + "petrol"); !strings.Contains(r.out, "spark") {
		t.Errorf("for petrol it says %s", r.out)
	}
}
