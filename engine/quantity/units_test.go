package quantity

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// published reads rows of check values: id, then value and relative tolerance.
func published(t *testing.T, file string) map[string][2]float64 {
	t.Helper()
	f, err := os.Open("../../testdata/published/flow/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	values := map[string][2]float64{}
	for _, row := range rows[1:] {
		v, err := strconv.ParseFloat(row[3], 64)
		if err != nil {
			t.Fatalf("%s: row %s: %v", file, row[0], err)
		}
		tolerance, err := strconv.ParseFloat(row[5], 64)
		if err != nil && row[5] != "exact" {
			t.Fatalf("%s: row %s: tolerance %q", file, row[0], row[5])
		}
		values[row[0]] = [2]float64{v, tolerance}
	}
	return values
}

// Each row of units.csv (NIST SP 811 appendix B and UNECE Recommendation 20; the
// row says which) within the tolerance of the row, which is the rounding of the
// printed figure. Rows marked exact are met to the last bit.
func TestPublishedUnits(t *testing.T) {
	rows := published(t, "units.csv")
	for _, c := range []struct{ id, text, unit string }{
		{"U02", "1 inH2O@4C", "Pa"},
		{"U03", "1 inH2O@60F", "Pa"},
		{"U07", "1 ftH2O@4C", "Pa"},
		{"U09", "1 inHg", "Pa"},
		{"U11", "1 inHg@60F", "Pa"},
		{"U12", "1 psi", "Pa"},
		{"U14", "1 atm", "Pa"},
		{"U18", "1 psi", "inH2O@60F"},
		{"U19", "1 inHg", "inH2O"},
		{"U22", "10 inH2O", "kPa"},
		{"U23", "15 inH2O", "kPa"},
		{"U24", "25 inH2O", "kPa"},
		{"U25", "1 hp", "W"},
		{"U26", "1 PS", "W"},
		{"U27", "1 lb/min", "g/s"},
		{"U28", "1 cfm", "m3/s"},
		{"U29", "1 cfm", "m3/h"},
		{"U30", "1 mph", "m/s"},
	} {
		row, ok := rows[c.id]
		if !ok {
			t.Errorf("units.csv has no row %s", c.id)
			continue
		}
		delete(rows, c.id)
		got, unit, err := Convert(c.text, c.unit)
		if err != nil || unit != c.unit || math.Abs(got-row[0]) > row[1]*row[0] {
			t.Errorf("%s: Convert(%q, %q) = %v %s, %v, want %v within %v", c.id, c.text, c.unit, got, unit, err, row[0], row[1])
		}
	}
	for id := range rows {
		t.Errorf("row %s of units.csv is not checked", id)
	}
}

// The inch of water at 20 C against Tanaka et al., Metrologia 38 (2001) 301: by
// their density, and by the U-tube of 100 mm worked out from it.
func TestPublishedWater(t *testing.T) {
	rows := published(t, "water_density.csv")
	column := rows["W09"]
	got, _, err := Convert("1 inH2O@20C", "Pa")
	if want := column[0] * 25.4 / 100; err != nil || math.Abs(got-want) > column[1]*want {
		t.Errorf("1 inH2O@20C = %v Pa, %v, want %v", got, err, want)
	}
	density := rows["W05"]
	if want := density[0] * 9.80665 * 0.0254; math.Abs(got-want) > density[1]*want {
		t.Errorf("1 inH2O@20C = %v Pa, want %v from the density", got, want)
	}
}

// Figures of NIST SP 811 appendix B.8 that stand in no row, and the definitions
// that are exact: tolerance is half of the last digit that is printed.
func TestPublishedFactors(t *testing.T) {
	for _, c := range []struct {
		text, unit string
		want, tol  float64
	}{
		{"1 inH2O", "Pa", 249.08891, 0}, // conventional, as published
		{"1 cmH2O@4C", "Pa", 98.0638, 0.00005},
		{"1 cmH2O", "Pa", 98.0665, 0.00005},
		{"1 mmH2O", "Pa", 9.80665, 0},
		{"1 ftH2O", "Pa", 2989.067, 0.0005},
		{"1 mmHg", "Pa", 133.3224, 0.00005},
		{"1 torr", "Pa", 133.3224, 0.00005},
		{"1 inHg@0C", "Pa", 3386.38, 0.005},
		{"1 kgf/cm2", "Pa", 98066.5, 0},
		{"1 psi", "Pa", 6894.757, 0.0005},
		{"1 mbar", "Pa", 100, 0},
		{"1 bar", "kPa", 100, 0},
		{"1 in", "mm", 25.4, 0},
		{"1 ft", "m", 0.3048, 0},
		{"1 in2", "cm2", 6.4516, 0},
		{"1 ft2", "m2", 0.09290304, 0},
		{"1 in3", "cm3", 16.387064, 0},
		{"1 ft3", "m3", 0.028316846592, 0},
		{"1 lb/ft3", "kg/m3", 16.01846, 0.000005},
		{"1 lb/h", "kg/s", 1.259979e-4, 5e-11},
		{"1 km/h", "m/s", 0.2777778, 5e-8},
		{"1 deg", "rad", 0.01745329, 5e-9},
	} {
		got, _, err := Convert(c.text, c.unit)
		if err != nil || math.Abs(got-c.want) > c.tol {
			t.Errorf("Convert(%q, %q) = %v, %v, want %v within %v", c.text, c.unit, got, err, c.want, c.tol)
		}
	}
}

// Fixed points of the scales, exact by definition: 0 C is 273.15 K, 32 F is
// 0 C, 212 F is 100 C, and the scales meet at -40. Differences have no offset.
func TestTemperatures(t *testing.T) {
	for _, c := range []struct {
		text, unit string
		want       float64
	}{
		{"0 C", "K", 273.15}, {"18 °C", "K", 291.15}, {"18 degC", "K", 291.15},
		{"0 K", "C", -273.15}, {"32 F", "C", 0}, {"212 F", "C", 100}, {"-40 F", "C", -40},
		{"100 C", "F", 212}, {"68 °F", "C", 20},
	} {
		got, _, err := Convert(c.text, c.unit)
		if err != nil || got != c.want {
			t.Errorf("Convert(%q, %q) = %v, %v, want exactly %v", c.text, c.unit, got, err, c.want)
		}
	}
	for _, c := range []struct {
		text string
		want float64
	}{{"18 F", 10}, {"5 C", 5}, {"5 K", 5}, {"-5 K", -5}} {
		got, err := Read(c.text, Want{Kind: TemperatureDiff})
		if err != nil || got.SI != c.want {
			t.Errorf("Read(%q) as a difference = %v, %v, want exactly %v K", c.text, got.SI, err, c.want)
		}
	}
	got, err := Read("68 ± 9 F", Want{Kind: Temperature})
	if err != nil || got.SI != 293.15 || got.PlusMinus != 5 {
		t.Errorf(`Read("68 ± 9 F") = %+v, %v, want 293.15 K and a half-width of 5 K`, got, err)
	}
}

// Ways in which people write units, by the unit that is meant.
func TestSpellings(t *testing.T) {
	for _, c := range []struct {
		kind      Kind
		unit      string
		spellings string
	}{
		{PressureDiff, "inH2O", `inH2O|in H2O|in. H2O|INH2O|in.wc|in. wc|in w.c.|in WC|inches of water|inch of water column|inches w.g.|"wc|” H2O|in H₂O|iwc|in. of water`},
		{PressureDiff, "inH2O@4C", "inH2O@4C|in H2O @ 4 °C|inH2O (4 °C)|inH2O 39.2F"},
		{PressureDiff, "inH2O@60F", "inH2O@60F|in H2O 60F|inH2O (60 °F)"},
		{PressureDiff, "inH2O@20C", "inH2O@20C|inH2O at 20 C|inH2O 68F"},
		{PressureDiff, "mmH2O", "mmH2O|mm H2O|mm w.c.|mm of water|mmWS"},
		{PressureDiff, "inHg", `inHg|in. Hg|inches of mercury|"Hg`},
		{PressureDiff, "mbar", "mbar|m bar|mb|millibar|Millibars|mbar."},
		{PressureDiff, "kPa", "kPa|kpa|KPA|Kpa|k Pa|kilopascal"},
		{PressureDiff, "hPa", "hPa|hpa"},
		{PressureDiff, "Pa", "Pa|pa|PA|N/m²|pascals"},
		{PressureDiff, "psi", "psi|PSI|psid|lb/in²|lbf/in2|lb/sq in|pounds per square inch"},
		{Pressure, "MPa", "MPa|Megapascal"},
		{Pressure, "psi", "psia"},
		{GaugePressure, "psi", "psig|psi"},
		{GaugePressure, "bar", "bar|barg|BAR"},
		{Length, "in", `in|in.|inch|inches|"|''|″`},
		{Length, "mm", "mm|MM|millimetres"},
		{Area, "cm2", "cm2|cm²|cm^2|sq cm"},
		{Area, "in2", "in2|in²|sq. in.|square inches"},
		{Volume, "cc", "cc|ccm"},
		{Volume, "L", "l|L|litre|Liter|litres"},
		{Volume, "in3", "in3|cu in|CI|cid|cubic inches"},
		{Temperature, "C", "C|°C|º C|degC|deg C|Celsius|℃"},
		{MassFlow, "g/s", "g/s|g per s|grams/sec"},
		{MassFlow, "lb/min", "lb/min|lbs/min|lb per min|pounds per min"},
		{MassFlow, "kg/h", "kg/h|kg/hr|kg per hour"},
		{VolumeFlow, "cfm", "cfm|CFM|ft3/min|ft³/min|cu ft/min"},
		{VolumeFlow, "m3/h", "m3/h|m³/h|m^3/h|m3 per hour"},
		{VolumeFlow, "L/min", "l/min|L/min|lpm"},
		{Power, "PS", "PS|ps|metric hp|CV"},
		{Power, "hp", "hp|HP|bhp"},
		{Speed, "km/h", "km/h|kph|kmh|kmph|KM/H|km per hour"},
		{Speed, "mph", "mph|MPH|miles per hour"},
		{SpeedPer1000, "km/h", "km/h|km/h per 1000 rpm|km/h/1000 rpm|km/h / 1000"},
		{SpeedPer1000, "mph", "mph per 1000 rpm|mph"},
		{Angle, "deg", "deg|°|degrees|º"},
		{Density, "kg/m3", "kg/m3|kg/m³|kg per m3"},
		{Share, "%", "%|percent|per cent|pct"},
		{Duration, "s", "s|sec|seconds"},
		{Rotation, "rpm", "rpm|RPM|1/min|r/min|min-1|min⁻¹|min^-1|r.p.m.|/min"},
	} {
		for spelling := range strings.SplitSeq(c.spellings, "|") {
			got, err := Read("12.5 "+spelling, Want{Kind: c.kind})
			if err != nil || got.Unit != c.unit {
				t.Errorf("12.5 %s as %s: unit %q, %v, want %q", spelling, c.kind, got.Unit, err, c.unit)
			}
			if spelling[0] == '1' {
				continue // 12.51/min is another number
			}
			joined, err := Read("12.5"+spelling, Want{Kind: c.kind})
			if err != nil || joined.SI != got.SI {
				t.Errorf("12.5%s reads %v, %v, want %v", spelling, joined.SI, err, got.SI)
			}
		}
	}
}

// The table names each unit once; each name means itself for each kind that it
// measures; no spelling means two units of one dimension but for those that are
// listed as doubtful.
func TestTableIsConsistent(t *testing.T) {
	asked := map[string]bool{}
	for _, d := range doubtful {
		for _, s := range split(d.spellings) {
			asked[fmt.Sprint(d.dim, key(s))] = true
		}
	}
	seen := map[string]bool{}
	for _, r := range table {
		if seen[r.name] {
			t.Errorf("unit %q stands twice in the table", r.name)
		}
		seen[r.name] = true
		for _, k := range KindOf(r.name) {
			if dimensions[k] != r.dim {
				continue // "m" is a metre, and asked about as a time
			}
			found := units().lookup(r.name, k)
			if !(len(found) == 1 && found[0].unit.name == r.name) {
				t.Errorf("%q as %s means %d units", r.name, k, len(found))
			}
			if !slices.Contains(UnitsOf(k), r.name) {
				t.Errorf("UnitsOf(%s) lacks %q", k, r.name)
			}
		}
	}
	for k, found := range units().spelled {
		count := map[dimension]int{}
		for _, m := range found {
			if m.only == "" {
				count[m.unit.dim]++
			}
		}
		for dim, n := range count {
			if n > 1 && !asked[fmt.Sprint(dim, k)] {
				t.Errorf("%q means %d units of one dimension and is not listed as doubtful", k, n)
			}
		}
	}
}

// A system of units lists only units that exist, for the right kind.
func TestFiguresNameUnits(t *testing.T) {
	for k, systems := range figures {
		if len(systems[Metric]) == 0 {
			t.Errorf("%s has no metric unit", k)
		}
		for sys, list := range systems {
			for _, f := range list {
				if !slices.Contains(UnitsOf(k), f.unit) {
					t.Errorf("%s in %s is shown in %q, which does not measure it", k, sys, f.unit)
				}
			}
		}
	}
	for k := range dimensions {
		if examples[k] == "" {
			t.Errorf("%s has no example", k)
		} else if _, err := Read(examples[k], Want{Kind: k}); err != nil {
			t.Errorf("the example of %s: %v", k, err)
		}
	}
}

func TestKindOf(t *testing.T) {
	for _, c := range []struct {
		unit string
		want []Kind
	}{
		{"kpa", []Kind{Pressure, GaugePressure, PressureDiff}},
		{"psia", []Kind{Pressure}},
		{"mm", []Kind{Pressure, GaugePressure, PressureDiff, Length}},
		{"°C", []Kind{Temperature, TemperatureDiff}},
		{"km/h", []Kind{Speed, SpeedPer1000}},
		{"rpm", []Kind{Rotation}},
		{"furlong", nil},
		{"", nil},
	} {
		if diff := cmp.Diff(c.want, KindOf(c.unit)); diff != "" {
			t.Errorf("KindOf(%q) (-want +got):\n%s", c.unit, diff)
		}
	}
	if got := UnitsOf(Number); got != nil {
		t.Errorf("UnitsOf(Number) = %q, want none", got)
	}
}
