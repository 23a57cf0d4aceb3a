package duct

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"dropwalk/advice/internal/published"
)

// TestTables holds the tables in the program to the files they come from, figure
// by figure.
func TestTables(t *testing.T) {
	for file, g := range map[string]grid{
		"table_reentrant_idelchik.csv": reentrant,
		"table_bevelled_idelchik.csv":  bevelled,
		"table_diffuser_idelchik.csv":  diffuser,
	} {
		lines := published.Table(t, "flow/"+file)
		if got, want := len(g.down), len(lines)-1; got != want {
			t.Fatalf("%s: %d rows in the program, %d in the file", file, got, want)
		}
		for i, heading := range lines[0][1:] {
			heading = strings.TrimSuffix(heading[strings.Index(heading, "=")+1:], " deg")
			same(t, file+" heading", g.across[i], heading)
		}
		for i, line := range lines[1:] {
			same(t, file, g.down[i], line[0])
			for j, text := range line[1:] {
				same(t, file+" row "+line[0], g.k[i][j], text)
				if got := g.at(g.down[i], g.across[j]); got != g.k[i][j] {
					t.Errorf("%s: read at its own point (%g, %g) the table gives %g, want %g", file, g.down[i], g.across[j], got, g.k[i][j])
				}
			}
		}
	}
	for file, columns := range map[string][]curve{
		"table_rounded_inlet.csv": {roundedIdelchik, roundedCrane, roundedHarris, roundedUnflanged},
		"table_mitre.csv":         {mitreCrane, mitreBlevins},
		"table_screen.csv":        {screenSquare},
	} {
		lines := published.Table(t, "flow/"+file)
		for j, c := range columns {
			n := 0
			for _, line := range lines[1:] {
				if line[j+1] == "" {
					continue
				}
				if n >= len(c.x) {
					t.Fatalf("%s column %d: too few points in the program", file, j+1)
				}
				same(t, file, c.x[n], line[0])
				same(t, file, c.y[n], line[j+1])
				n++
			}
			if n != len(c.x) {
				t.Errorf("%s column %d: %d points in the program, %d in the file", file, j+1, len(c.x), n)
			}
		}
	}
}

func same(t *testing.T, where string, got float64, text string) {
	t.Helper()
	want, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil {
		t.Fatal(err)
	}
	// Both are the same printed figure.
	if math.Abs(got-want) > 1e-12 {
		t.Errorf("%s: %g in the program, %g in the file", where, got, want)
	}
}

func TestTablesReadBetweenAndBeyond(t *testing.T) {
	c := curve{x: []float64{1, 2, 4}, y: []float64{10, 20, 0}}
	for x, want := range map[float64]float64{0: 10, 1: 10, 1.5: 15, 2: 20, 3: 10, 4: 0, 9: 0} {
		if got := c.at(x); math.Abs(got-want) > 1e-12 {
			t.Errorf("at %g: got %g, want %g", x, got, want)
		}
	}
	g := grid{across: []float64{0, 1}, down: []float64{0, 1}, k: [][]float64{{0, 1}, {2, 3}}}
	if got := g.at(0.5, 0.5); math.Abs(got-1.5) > 1e-12 {
		t.Errorf("middle of a plane: got %g, want 1.5", got)
	}
}
