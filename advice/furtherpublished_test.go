package advice

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"dropwalk/advice/internal/published"
)

// printed is the value of a row of check values.
func printed(t *testing.T, file, id string) float64 {
	t.Helper()
	for _, r := range published.Rows(t, file) {
		if r.ID == id {
			return published.Number(t, r.Value)
		}
	}
	t.Fatalf("%s has no row %s", file, id)
	return 0
}

// near holds a figure to a printed value, within a share of it.
func near(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %.7g, printed %.7g", what, got, want)
	}
}

// Rises from 298 K cost what the correction formulas print, all the way from what a tester
// types to the figure of the finding.
func TestIntakeAirPublished(t *testing.T) {
	const file = "flow/temperature.csv"
	for _, c := range []struct {
		rise       float64
		figure, id string
	}{{3, "cost", "H01"}, {5, "cost", "H02"}, {10, "cost", "H03"}, {3, "thinner", "H05"}, {10, "thinner", "H06"}} {
		row := []string{steadyState, "24.85 C", fmt.Sprintf("%g C", 24.85+c.rise)}
		f := Found(slices.Concat(places("car.engine.fuel", "petrol", "car.engine.induction", "natural", coldOutside, "20 C", coldIntake, "20 C"),
			inRows("drives", []string{heatState, heatOutside, heatIntake}, row, row, row)), Options{})
		x, _ := f.Figure(c.figure)
		near(t, c.id, 100*x.Value, printed(t, file, c.id), 1e-5)
	}
}

// The velocity head at three speeds, and what all of it is worth at 100 km/h. The rows have
// air of 1.225 kg/m3; dry air at 15 C and 1013.25 hPa has 1.225521 by CIPM-2007 (air.csv, A03).
func TestMouthPositionPublished(t *testing.T) {
	const file = "flow/ram.csv"
	thicker := printed(t, "flow/air.csv", "A03") / 1.225
	for speed, id := range map[string]string{"80 km/h": "R02", "100 km/h": "R03", "120 km/h": "R04"} {
		m := (&view{matter: &Matter{}, entries: slices.Concat(surveyed("grille, cowl"), places(steadyPath, speed))}).ram()
		near(t, id, m.head, thicker*printed(t, file, id), 2e-5)
	}
	// R10: the whole head of 100 km/h, Cp = 1, at 99 kPa and with the exponent 1.2 of ISO 1585
	// is worth 0.5729 %, to first order.
	whole := printed(t, file, "R03") / inch
	f := Found(slices.Concat(surveyed("grille, cowl", "air.pressure", "99 kPa"), passes(1, "grille", 0, 0, 0, 0), passes(2, "cowl", whole, whole, whole, whole)), Options{})
	x, _ := f.Figure("gain")
	near(t, "R10", 100*x.Value, printed(t, file, "R10"), 0.01)
}

// A cooler of 0.70 between 394.2414 K and open air of 298 K: out come 326.8724 K, and 200 kPa
// then hold 2.131543 kg/m3.
func TestChargeCoolerPublished(t *testing.T) {
	const file, gas, open = "flow/compressor.csv", 287.05, 298.0
	hot, cold, density := printed(t, file, "Q02"), printed(t, file, "Q07"), printed(t, file, "Q08")
	row := []string{"100 kPa", "100 kPa", "4000 rpm", fmt.Sprintf("%.4f C", hot-273.15), fmt.Sprintf("%.4f C", cold-273.15), fmt.Sprintf("%.2f C", open-273.15)}
	f := Found(slices.Concat(places(highRange, "200 kPa", highStep, "2 kPa", pairAhead, "100 kPa", pairBehind, "100 kPa", "air.pressure", "100 kPa"), charged(row, row, row)), Options{})
	effect, _ := f.Figure("effectiveness")
	near(t, "Q07", effect.Value, 0.70, 1e-5)
	recovered, _ := f.Figure("recovered")
	near(t, "Q08", 1+recovered.Value, density/(200e3/(gas*hot)), 1e-5)
}
