// Package published reads files of check values for tests. It is imported by
// tests only.
//
// A file has comment lines that begin with #, a heading line and rows of id,
// quantity, inputs, value, unit, tol, provenance, confidence, source. See
// testdata/published/README.md for where each file comes from.
package published

import (
	"encoding/csv"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Row is one check value.
type Row struct {
	ID, Quantity, Inputs, Value, Unit, Tol, Provenance, Confidence, Source string
}

// Case is what a function of the program gives for a row. Tol, where it is not
// nought, takes the place of the row's own relative tolerance, and Why argues it.
type Case struct {
	Got float64
	Tol float64
	Why string
}

// Got is a case that is held to the row's own tolerance.
func Got(v float64) Case { return Case{Got: v} }

// Within is a case that is held to a tolerance of its own.
func Within(v, tol float64, why string) Case { return Case{Got: v, Tol: tol, Why: why} }

// Path is the place of a file below testdata/published, from any package folder.
func Path(t testing.TB, name string) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return filepath.Join(dir, "testdata", "published", filepath.FromSlash(name))
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above the working directory")
		}
		dir = up
	}
}

// Table gives all lines of a file but comments, the heading line first.
func Table(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := os.Open(Path(t, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if len(lines) < 2 {
		t.Fatalf("%s: no rows", name)
	}
	return lines
}

// Rows reads a file of check values.
func Rows(t testing.TB, name string) []Row {
	t.Helper()
	var rows []Row
	for _, c := range Table(t, name)[1:] {
		if len(c) != 9 {
			t.Fatalf("%s: row %q has %d fields, want 9", name, c[0], len(c))
		}
		rows = append(rows, Row{c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], c[8]})
	}
	return rows
}

// Number reads one field as a number.
func Number(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Check holds every row of a file to what the program gives. Each row must
// have a case or a reason why it has none, and each case and reason a row.
// Rows recalled from memory are refused unless their confidence is high.
func Check(t *testing.T, name string, cases map[string]Case, skipped map[string]string) {
	t.Helper()
	rows := Rows(t, name)
	for _, p := range problems(rows, cases, skipped) {
		t.Errorf("%s: %s", name, p)
	}
	t.Logf("%s: %d of %d rows checked", name, len(cases), len(rows))
}

func problems(rows []Row, cases map[string]Case, skipped map[string]string) []string {
	var out []string
	known := map[string]bool{}
	for _, r := range rows {
		known[r.ID] = true
		c, have := cases[r.ID]
		reason, skip := skipped[r.ID]
		switch {
		case have && skip:
			out = append(out, fmt.Sprintf("row %s is both checked and passed over", r.ID))
		case skip && reason == "":
			out = append(out, fmt.Sprintf("row %s is passed over without a reason", r.ID))
		case have:
			if err := r.holds(c); err != nil {
				out = append(out, fmt.Sprintf("row %s (%s; %s): %v [%s]", r.ID, r.Quantity, r.Inputs, err, r.Source))
			}
		case !skip:
			out = append(out, fmt.Sprintf("row %s (%s; %s) is neither checked nor passed over with a reason", r.ID, r.Quantity, r.Inputs))
		}
	}
	for _, id := range slices.Sorted(maps.Keys(cases)) {
		if !known[id] {
			out = append(out, fmt.Sprintf("case %s has no row", id))
		}
	}
	for _, id := range slices.Sorted(maps.Keys(skipped)) {
		if !known[id] {
			out = append(out, fmt.Sprintf("reason %s has no row", id))
		}
	}
	return out
}

func (r Row) holds(c Case) error {
	if r.Provenance == "MEMORY" && r.Confidence != "high" {
		return fmt.Errorf("a value from memory of %s confidence can't be checked against", r.Confidence)
	}
	want, err := strconv.ParseFloat(r.Value, 64)
	if err != nil {
		return fmt.Errorf("value %q is not a number", r.Value)
	}
	tol, err := r.tolerance(c)
	if err != nil {
		return err
	}
	if diff := math.Abs(c.Got - want); !(diff <= tol*math.Abs(want)) {
		return fmt.Errorf("got %.9g, want %.9g within %.3g relative", c.Got, want, tol)
	}
	return nil
}

// tolerance is relative. A row marked exact, or with no tolerance of its own,
// is a printed figure taken over as it stands, so only rounding in float64 may
// part the two.
func (r Row) tolerance(c Case) (float64, error) {
	if c.Tol != 0 {
		if c.Why == "" {
			return 0, fmt.Errorf("a tolerance of its own needs a reason")
		}
		return c.Tol, nil
	}
	if r.Tol == "exact" || r.Tol == "-" {
		return 1e-12, nil
	}
	v, err := strconv.ParseFloat(r.Tol, 64)
	if err != nil {
		return 0, fmt.Errorf("tolerance %q is not a number", r.Tol)
	}
	return v, nil
}
