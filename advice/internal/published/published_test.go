package published

import (
	"math"
	"strings"
	"testing"
)

// TestProblems: a check that can't fail checks nothing, so each way to fail is
// tried.
func TestProblems(t *testing.T) {
	plain := Row{ID: "A", Value: "2.0", Tol: "0.01", Provenance: "FOUND", Confidence: "high"}
	with := func(change func(*Row)) Row {
		r := plain
		change(&r)
		return r
	}
	one := func(v float64) map[string]Case { return map[string]Case{"A": Got(v)} }
	for name, c := range map[string]struct {
		row     Row
		cases   map[string]Case
		skipped map[string]string
		want    string // part of the only problem; "" for none
	}{
		"in tolerance":           {plain, one(2.019), nil, ""},
		"out of tolerance":       {plain, one(2.021), nil, "want 2 within 0.01"},
		"not a number":           {plain, one(math.NaN()), nil, "got NaN"},
		"exact":                  {with(func(r *Row) { r.Tol = "exact" }), one(2.0000001), nil, "want 2"},
		"as printed":             {with(func(r *Row) { r.Tol = "-" }), one(2), nil, ""},
		"negative":               {with(func(r *Row) { r.Value = "-2.0" }), one(-1.99), nil, ""},
		"own tolerance":          {plain, map[string]Case{"A": Within(2.1, 0.1, "argued")}, nil, ""},
		"own tolerance, no word": {plain, map[string]Case{"A": Within(2.1, 0.1, "")}, nil, "needs a reason"},
		"forgotten":              {plain, nil, nil, "neither checked nor passed over"},
		"passed over":            {plain, nil, map[string]string{"A": "a range"}, ""},
		"passed over, no word":   {plain, nil, map[string]string{"A": ""}, "without a reason"},
		"both":                   {plain, one(2), map[string]string{"A": "a range"}, "both"},
		"recalled, high":         {with(func(r *Row) { r.Provenance = "MEMORY" }), one(2), nil, ""},
		"recalled, medium":       {with(func(r *Row) { r.Provenance, r.Confidence = "MEMORY", "medium" }), one(2), nil, "from memory"},
		"words":                  {with(func(r *Row) { r.Value = "reads high" }), one(2), nil, "is not a number"},
		"tolerance in words":     {with(func(r *Row) { r.Tol = "order" }), one(2), nil, "tolerance"},
		"case without row":       {plain, map[string]Case{"A": Got(2), "B": Got(1)}, nil, "case B has no row"},
		"reason without row":     {plain, one(2), map[string]string{"B": "gone"}, "reason B has no row"},
	} {
		got := problems([]Row{c.row}, c.cases, c.skipped)
		switch {
		case c.want == "" && len(got) > 0:
			t.Errorf("%s: %q, want no problem", name, got)
		case c.want != "" && (len(got) != 1 || !strings.Contains(got[0], c.want)):
			t.Errorf("%s: %q, want one with %q", name, got, c.want)
		}
	}
}
