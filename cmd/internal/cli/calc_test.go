package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"maps"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"dropwalk/cmd/internal/terminal"
)

// ran is what a command did.
type ran struct {
	code     int
	out, err string
}

// runLine runs a command line as README shows it.
func runLine(line string) ran {
	var out, errs bytes.Buffer
	a := &app{
		Streams: terminal.Streams{In: strings.NewReader(""), Out: &out, Err: &errs, Width: 80},
		env:     func(string) string { return "" },
		now:     func() time.Time { return time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC) },
	}
	code := a.run(words(line))
	return ran{code, out.String(), errs.String()}
}

// numbers runs a calculation with --json and gives the numbers of its object, those
// of estimates as name.median and so on.
func numbers(t *testing.T, line string) map[string]float64 {
	t.Helper()
	r := runLine(line + " --json")
	if r.code != exitDone {
		t.Fatalf("%s ends with %d: %s", line, r.code, r.err)
	}
	var object map[string]any
	if err := json.Unmarshal([]byte(r.out), &object); err != nil {
		t.Fatalf("%s: %v", line, err)
	}
	if sources, ok := object["sources"].([]any); !ok || len(sources) == 0 {
		t.Errorf("%s names no source", line)
	}
	found := map[string]float64{}
	for name, value := range object {
		switch v := value.(type) {
		case float64:
			found[name] = v
		case map[string]any:
			for part, x := range v {
				found[name+"."+part] = x.(float64)
			}
		}
	}
	return found
}

// reached are the check values that a command gives by itself: file and row of
// testdata/published/flow, where the source of each stands.
var reached = []struct {
	file, row, line, key string
	times                float64 // from the unit of the object to that of the row; 0 is 1
	tol                  float64 // 0: the row's own
	why                  string
}{
	{file: "air", row: "A01", line: `calc air --temperature "20 C" --pressure "101.325 kPa" --humidity "50 %"`, key: "density_kg_m3"},
	{file: "air", row: "A03", line: `calc air --temperature "15 C" --pressure "101325 Pa"`, key: "density_kg_m3"},
	{file: "air", row: "A06", line: `calc air --temperature "25 C" --pressure "99 kPa" --humidity 0`, key: "density_kg_m3"},
	{file: "air", row: "A07", line: `calc air --temperature "35 C" --pressure "950 hPa" --humidity "60 %"`, key: "density_kg_m3"},
	{file: "air", row: "A12", line: `calc air --temperature "0 C" --pressure "1 bar"`, key: "saturation_pressure_pa"},
	{file: "air", row: "A14", line: `calc air --temperature "20 C" --pressure "1 bar"`, key: "saturation_pressure_pa"},
	{file: "air", row: "A15", line: `calc air --temperature "25 C" --pressure "1 bar"`, key: "saturation_pressure_pa"},
	{file: "air", row: "A17", line: `calc air --temperature "40 C" --pressure "1 bar"`, key: "saturation_pressure_pa"},
	{file: "viscosity", row: "V01", line: `calc air --temperature "-10 C" --pressure "1 bar"`, key: "viscosity_pa_s"},
	{file: "viscosity", row: "V04", line: `calc air --temperature "20 C" --pressure "1 bar"`, key: "viscosity_pa_s"},
	{file: "viscosity", row: "V06", line: `calc air --temperature "40 C" --pressure "1 bar"`, key: "viscosity_pa_s"},

	{file: "engine_air", row: "E01", line: `calc flow --displacement "2.0 L" --rpm 6000 --ve "90 %" --air-density "1.1842 kg/m3"`, key: "mass_flow_g_s"},
	{file: "engine_air", row: "E03", line: `calc flow --displacement "2.0 L" --rpm 6000 --ve "90 %" --air-density "1.1842 kg/m3"`, key: "volume_flow_m3_h"},
	{file: "engine_air", row: "E04", line: `calc flow --displacement "1.6 L" --rpm 6500 --ve "85 %" --air-density "1.1842 kg/m3"`, key: "mass_flow_g_s"},

	{file: "loss_inlets", row: "L01", line: `calc loss --kind mouth --edge flush --diameter "70 mm" --flow "100 g/s"`, key: "k"},
	{file: "loss_inlets", row: "L06", line: `calc loss --kind mouth --edge bellmouth --diameter "70 mm" --flow "100 g/s"`, key: "k"},
	{file: "loss_inlets", row: "L08", line: `calc loss --kind mouth --edge protruding --diameter "70 mm" --flow "100 g/s"`, key: "k"},
	{file: "loss_inlets", row: "L36", line: `calc loss --kind box-entry --diameter "70 mm" --flow "100 g/s"`, key: "k"},
	{file: "loss_area_change", row: "C05", line: `calc loss --kind expansion --diameter "35 mm" --to-diameter "70 mm" --flow "100 g/s"`, key: "k"},
	{file: "loss_area_change", row: "C09", line: `calc loss --kind contraction --diameter "100 mm" --to-diameter "40 mm" --flow "100 g/s"`, key: "k",
		tol: 0.15, why: "the middle of Crane's 0.42 and Rennels's 0.5301, each 12 % off"},
	{file: "loss_area_change", row: "C08", line: `calc loss --kind contraction --diameter "100 mm" --to-diameter "40 mm" --flow "100 g/s"`, key: "k",
		tol: 0.15, why: "the same middle"},
	// The worked path has air of 1.168443 kg/m3 at 25 C, 100 g/s and a bore of 70 mm.
	{file: "system_example", row: "X02", line: `calc loss --kind mouth --edge flush --diameter "70 mm" --flow "100 g/s" --air-density "1.168443 kg/m3"`, key: "velocity_m_s"},
	{file: "system_example", row: "X03", line: `calc loss --kind mouth --edge flush --diameter "70 mm" --flow "100 g/s" --air-density "1.168443 kg/m3"`, key: "velocity_head_pa"},
	{file: "system_example", row: "X04", line: `calc loss --kind mouth --edge flush --diameter "70 mm" --flow "100 g/s" --air-density "1.168443 kg/m3"`, key: "reynolds"},
	{file: "system_example", row: "X06", line: `calc loss --kind mouth --edge flush --diameter "70 mm" --flow "100 g/s" --air-density "1.168443 kg/m3"`, key: "loss_pa.median"},
	{file: "system_example", row: "X07", line: `calc loss --kind duct --surface smooth --length "0.6 m" --diameter "70 mm" --flow "100 g/s" --air-density "1.168443 kg/m3"`, key: "loss_pa.median"},
	{file: "system_example", row: "X09", line: `calc loss --kind box-entry --diameter "70 mm" --flow "100 g/s" --air-density "1.168443 kg/m3"`, key: "loss_pa.median"},
	// A duct that is all bend: its length is that of the arc.
	{file: "loss_bends", row: "B05", line: `calc loss --kind duct --surface smooth --length "165 mm" --bend "90 deg/105 mm" --diameter "70 mm" --flow "101.007 g/s" --air-density "1.168443 kg/m3"`, key: "k",
		tol: 0.05, why: "the middle of Rennels's 0.2253 and Miller's 0.2449, each 4 % off"},
	{file: "loss_bends", row: "B06", line: `calc loss --kind duct --surface smooth --length "165 mm" --bend "90 deg/105 mm" --diameter "70 mm" --flow "101.007 g/s" --air-density "1.168443 kg/m3"`, key: "k",
		tol: 0.05, why: "the same middle"},

	{file: "friction", row: "F02", line: `calc friction --reynolds 10000`, key: "darcy_friction_factor"},
	{file: "friction", row: "F11", line: `calc friction --reynolds 100000 --roughness-ratio 0.0001`, key: "darcy_friction_factor"},
	{file: "friction", row: "F17", line: `calc friction --reynolds 100000 --roughness-ratio 0.01`, key: "darcy_friction_factor"},
	{file: "friction", row: "F20", line: `calc friction --reynolds 1000000 --roughness-ratio 0.001`, key: "darcy_friction_factor"},

	{file: "power_correction", row: "K21", line: `calc power --fuel petrol --induction natural --pressure "99 kPa" --before "0 kPa" --after "1 kPa"`, key: "power_percent.median", times: -1},
	{file: "power_correction", row: "K23", line: `calc power --fuel petrol --induction natural --pressure "99 kPa" --before "0 kPa" --after "1 kPa"`, key: "power_percent.high", times: -1},
	{file: "power_correction", row: "K25", line: `calc power --fuel petrol --induction natural --pressure "99 kPa" --before "0 kPa" --after "6.2 kPa"`, key: "power_percent.median", times: -1},
	{file: "power_correction", row: "K26", line: `calc power --fuel petrol --induction natural --pressure "99 kPa" --before "0 kPa" --after "0.249 kPa"`, key: "power_percent.median", times: -1},
	{file: "power_correction", row: "K01", line: `calc correction --fuel petrol --induction natural --dry-pressure "97 kPa" --temperature "308 K"`, key: "factor"},
	{file: "power_correction", row: "K02", line: `calc correction --fuel petrol --induction natural --dry-pressure "95 kPa" --temperature "313 K"`, key: "factor"},
	{file: "power_correction", row: "K15", line: `calc correction --fuel diesel --induction natural --dry-pressure "97 kPa" --temperature "308 K" --fuel-per-cycle "50 mg/L"`, key: "factor"},
	{file: "power_correction", row: "K20", line: `calc correction --fuel diesel --induction turbo --dry-pressure "97 kPa" --temperature "308 K" --fuel-per-cycle "54 mg/L"`, key: "factor"},

	{file: "water_density", row: "W09", line: `calc column --height "100 mm" --water-temperature "20 C"`, key: "pressure_pa"},
	{file: "ram", row: "R03", line: `calc ram --speed "100 km/h" --air-density "1.225 kg/m3"`, key: "pressure_pa"},
	{file: "ram", row: "R06", line: `calc ram --speed "160 km/h" --air-density "1.225 kg/m3"`, key: "pressure_pa"},
	{file: "ram", row: "R09", line: `calc ram --speed "60 mph" --air-density "1.225 kg/m3"`, key: "pressure_pa"},
	{file: "hose", row: "D01", line: `calc hose --bore "4 mm" --length "3 m" --volume "50 cm3"`, key: "time_constant_s",
		tol: 2.2e-3, why: "the row takes 1.81e-5 Pa s, the air at 20 C has 1.81341e-5"},
	{file: "hose", row: "D04", line: `calc hose --bore "1 mm" --length "3 m" --volume "50 cm3" --temperature "19.29 C"`, key: "time_constant_s"},
}

// checkValues are the rows of a file of testdata/published/flow: id, quantity,
// inputs, value, unit, tolerance, provenance, confidence, source.
func checkValues(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../../testdata/published/flow/" + name + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment, r.FieldsPerRecord = '#', 9
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func TestCalcPublished(t *testing.T) {
	for _, c := range reached {
		rows := checkValues(t, c.file)
		at := slices.IndexFunc(rows, func(r []string) bool { return r[0] == c.row })
		if at < 0 {
			t.Errorf("%s has no row %s", c.file, c.row)
			continue
		}
		row := rows[at]
		want, err := strconv.ParseFloat(row[3], 64)
		if err != nil {
			t.Fatal(err)
		}
		tol := c.tol
		if v, err := strconv.ParseFloat(row[5], 64); tol == 0 && err == nil {
			tol = v
		}
		// A printed figure without a tolerance is taken over as it stands.
		tol = max(tol, 1e-9)
		got, ok := numbers(t, c.line)[c.key]
		if c.times != 0 {
			got *= c.times
		}
		if !ok || !(math.Abs(got-want) <= tol*math.Abs(want)) {
			t.Errorf("%s %s (%s): %s gives %s = %.9g, want %.9g within %g [%s]", c.file, c.row, row[2], c.line, c.key, got, want, tol, row[8])
		}
	}
}

// Figures without a row: proportion, the published table for A-B-A with drift,
// 3 % of power for 2.5 kPa (Dziubak & Karczewski, Energies 15 (2022) 3285).
func TestCalcWorked(t *testing.T) {
	for _, c := range []struct {
		line, key string
		want, tol float64
	}{
		{`calc speed --rpm 6000 --speed-per-1000 "14 km/h"`, "speed_km_h", 84, 1e-12},
		// 0.5/0.3 is 1.667; five runs see 1.6720, so six are needed.
		{`calc runs --scatter "0.3 inH2O" --change "0.5 inH2O"`, "runs_per_block", 6, 0},
		{`calc runs --scatter "0.1 inH2O" --change "0.3 inH2O"`, "runs_per_block", 3, 0},
		{`calc runs --scatter "1 mbar" --change "10 inH2O"`, "runs_per_block", 2, 0},
		{`calc power --fuel petrol --induction natural --pressure "99 kPa" --before "2.5 kPa" --after "0 kPa"`, "power_percent.median", 3.0, 0.05},
	} {
		if got, ok := numbers(t, c.line)[c.key]; !ok || math.Abs(got-c.want) > c.tol*c.want {
			t.Errorf("%s gives %s = %g, want %g within %g", c.line, c.key, got, c.want, c.tol)
		}
	}
}

// Keys are promised to programs that read them.
func TestCalcKeys(t *testing.T) {
	for line, want := range map[string]string{
		`calc air --temperature "20 C" --pressure "1 bar"`:                                                "density_kg_m3 dry_pressure_pa saturation_pressure_pa sources viscosity_pa_s",
		`calc flow --displacement "2 L" --rpm 6000 --ve "90 %"`:                                           "mass_flow_g_s sources volume_flow_m3_h",
		`calc loss --kind filter --face "0.04 m2" --flow "100 g/s"`:                                       "k loss_pa reynolds sources velocity_head_pa velocity_m_s",
		`calc friction --reynolds 100000`:                                                                 "darcy_friction_factor sources",
		`calc power --fuel diesel --induction turbo --pressure "99 kPa" --before "2 kPa"`:                 "power_percent sources",
		`calc power --fuel diesel --induction turbo --pressure "99 kPa" --before "60 kPa"`:                "note power_percent sources",
		`calc correction --fuel petrol --induction natural --dry-pressure "97 kPa" --temperature "308 K"`: "factor sources",
		`calc column --height "4 in" --water-temperature "68 F"`:                                          "pressure_pa sources",
		`calc ram --speed "60 mph"`:                                                                       "pressure_pa sources",
		`calc speed --rpm "6000 rpm" --speed-per-1000 "9 mph"`:                                            "sources speed_km_h",
		`calc hose --bore "4 mm" --length "3 m" --volume "50 cm3"`:                                        "sources time_constant_s",
		`calc runs --scatter "0.3 inH2O" --change "0.5 inH2O"`:                                            "runs_per_block sources",
	} {
		r := runLine(line + " --json")
		var object map[string]any
		if err := json.Unmarshal([]byte(r.out), &object); err != nil || r.code != exitDone {
			t.Errorf("%s ends with %d, %v: %s", line, r.code, err, r.err)
			continue
		}
		if got := strings.Join(slices.Sorted(maps.Keys(object)), " "); got != want {
			t.Errorf("%s has the keys %s, want %s", line, got, want)
		}
		if r := runLine(line); r.code != exitDone || !strings.Contains(r.out, "\nsource: ") {
			t.Errorf("%s ends with %d and prints %q, want lines and a source", line, r.code, r.out)
		}
	}
}

func TestCalcFaults(t *testing.T) {
	for line, want := range map[string]string{
		`calc`:                          "",
		`calc rum`:                      `did you mean "calc r`,
		`calc air --temperature "20 C"`: "calc air needs --pressure",
		`calc air --temperature 20 --pressure "1 bar"`:                                                                            "--temperature: ",
		`calc air --temperature "20 C" --pressure "1 baar"`:                                                                       `did you mean "`,
		`calc air --temperature "20 C" --pressure "2.5 kPa"`:                                                                      "can't be right",
		`calc air --temperature "20 C" --pressure "1 bar" --humidity 120`:                                                         "can't be right",
		`calc air --temperatur "20 C"`:                                                                                            "did you mean --temperature?",
		`calc flow --displacement "2 L" --rpm 6000`:                                                                               "calc flow needs --ve",
		`calc ram --speed "100 km/h" --air-density "1.2 kg/m3" --pressure "99 kPa"`:                                               "stated twice",
		`calc loss --diameter "70 mm" --flow "100 g/s"`:                                                                           "needs --kind",
		`calc loss --kind mouh --diameter "70 mm" --flow "100 g/s"`:                                                               `did you mean "mouth"?`,
		`calc loss --kind mouth --flow "100 g/s"`:                                                                                 "needs the bore",
		`calc loss --kind filter --diameter "70 mm" --flow "100 g/s"`:                                                             "needs --face",
		`calc loss --kind duct --diameter "70 mm" --bend 90 --flow "100 g/s"`:                                                     "--bend: ",
		`calc loss --kind duct --diameter "70 mm" --bend "90 deg/1" --flow "100 g/s"`:                                             "--bend: ",
		`calc loss --kind expansion --diameter "70 mm" --to-diameter "50 mm" --flow "100 g/s"`:                                    "make no expansion",
		`calc loss --kind mouth --diameter "70 mm" --to-diameter "50 mm" --flow "100 g/s"`:                                        "has no meaning",
		`calc correction --fuel diesel --induction turbo --dry-pressure "97 kPa" --temperature "308 K"`:                           "needs --fuel-per-cycle",
		`calc correction --fuel diesel --induction turbo --dry-pressure "97 kPa" --temperature "308 K" --fuel-per-cycle 54g`:      "no amount of fuel",
		`calc correction --fuel petrol --induction turbo --dry-pressure "97 kPa" --temperature "308 K" --fuel-per-cycle "5 mg/L"`: "is for diesel",
		`calc power --fuel petroll --induction natural --pressure "99 kPa" --before "1 kPa"`:                                      `did you mean "petrol"?`,
		`calc power --fuel petrol --pressure "99 kPa" --before "1 kPa"`:                                                           "needs --induction",
		`calc runs --scatter "0.3 inH2O" --change "0 inH2O"`:                                                                      "can't be right",
		`calc runs --scatter "9 inH2O" --change "0.1 inH2O"`:                                                                      "more than a thousand runs",
		`calc speed 6000`: "has no use for",
	} {
		r := runLine(line)
		if want == "" {
			if r.code != exitDone || !strings.Contains(r.out, "Commands:") {
				t.Errorf("%s ends with %d and prints %q, want help", line, r.code, r.out)
			}
			continue
		}
		if r.code != exitInput || !strings.Contains(r.err, want) || r.out != "" {
			t.Errorf("%s ends with %d and says %q, want %d and %q", line, r.code, r.err, exitInput, want)
		}
	}
}
