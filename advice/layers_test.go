package advice

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"dropwalk/advice/sheet"
)

// layer is what was published of one stack of layers, in Pa.
type layer struct{ mean, scatter float64 }

// publishedLayers reads the stacks of one material, thinnest first. Source:
// Rogak et al., Aerosol Sci. Technol. 55 (2021) 398, raw data; see the file.
func publishedLayers(t *testing.T, material string) []layer {
	t.Helper()
	file, err := os.Open("../testdata/published/layers_in_series_2021.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var stacks []layer
	for _, row := range rows {
		if row[0] != material {
			continue
		}
		mean, err1 := strconv.ParseFloat(row[3], 64)
		scatter, err2 := strconv.ParseFloat(row[4], 64)
		if err1 != nil || err2 != nil {
			t.Fatalf("row %q", strings.Join(row, ","))
		}
		stacks = append(stacks, layer{mean, scatter})
	}
	return stacks
}

// Five equal layers in series, measured as stacks of one to five, are a path of
// five equal pieces. Each piece comes out at the published difference of two
// stacks, within the scatter of single measurements of both; together they
// come out at the whole stack; and nobody ranks what is equal.
func TestEqualLayersInSeries(t *testing.T) {
	stacks := publishedLayers(t, "nW9")
	if len(stacks) != 5 {
		t.Fatalf("%d stacks, want 5", len(stacks))
	}
	const file = "../testdata/published/layers-nw9.yaml"
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	s, faults := sheet.Read(file, src)
	if s == nil {
		t.Fatal(faults)
	}
	a := Assess(s, Options{})
	before := layer{}
	for i, c := range a.Components {
		want := stacks[i].mean - before.mean
		tolerance := math.Hypot(stacks[i].scatter, before.scatter)
		if math.Abs(c.Loss.Median-want) > tolerance {
			t.Errorf("%s loses %.2f Pa, want %.2f within %.2f", c.Name, c.Loss.Median, want, tolerance)
		}
		each := stacks[4].mean / 5
		if c.Loss.Low > each || c.Loss.High < each {
			t.Errorf("%s lies between %.2f and %.2f Pa, which leaves out the %.2f of an equal layer", c.Name, c.Loss.Low, c.Loss.High, each)
		}
		if c.ChanceFirst > 0.5 {
			t.Errorf("%s has the most to give back with chance %.2f, among equals", c.Name, c.ChanceFirst)
		}
		before = stacks[i]
	}
	if whole := stacks[4].mean; a.TotalLoss.Low > whole || a.TotalLoss.High < whole {
		t.Errorf("the whole path lies between %.2f and %.2f Pa, want %.2f inside", a.TotalLoss.Low, a.TotalLoss.High, whole)
	}
	if a.Attack != nil {
		t.Errorf("%s is to be changed first, among equals", *a.Attack)
	}
}
