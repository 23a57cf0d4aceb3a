package plan

import (
	"math"
	"slices"

	"dropwalk/advice/infer"
)

// Gain is E max(a+bZ) - max(a) for a standard normal Z: what it is worth to
// see Z before choosing among lines with intercepts a and slopes b. Exact:
// the lines that are best somewhere, from the lowest slope to the highest,
// change places at points c, and each change adds (b'-b) f(-|c|) with
// f(z) = pdf(z) + z cdf(z).
func Gain(a, b []float64) float64 {
	lines := envelope(a, b)
	sum := 0.0
	for i := 1; i < len(lines); i++ {
		lo, hi := lines[i-1], lines[i]
		c := (lo.a - hi.a) / (hi.b - lo.b)
		sum += (hi.b - lo.b) * unitLoss(-math.Abs(c))
	}
	return sum
}

// unitLoss is E max(0, z+Z).
func unitLoss(z float64) float64 { return infer.NormalPDF(z) + z*infer.NormalCDF(z) }

type line struct{ a, b float64 }

// envelope keeps the lines that are highest somewhere, by rising slope.
func envelope(a, b []float64) []line {
	all := make([]line, len(a))
	for i := range a {
		all[i] = line{a[i], b[i]}
	}
	slices.SortFunc(all, func(p, q line) int {
		switch {
		case p.b != q.b && p.b < q.b, p.b == q.b && p.a < q.a:
			return -1
		case p == q:
			return 0
		}
		return 1
	})
	top := all[:0]
	for _, l := range all {
		for len(top) > 0 && dominated(top, l) {
			top = top[:len(top)-1]
		}
		top = append(top, l)
	}
	return top
}

// dominated tells whether the last line of top is nowhere highest once l, of
// at least its slope, is there.
func dominated(top []line, l line) bool {
	last := top[len(top)-1]
	if last.b == l.b {
		return true
	}
	if len(top) == 1 {
		return false
	}
	before := top[len(top)-2]
	return (before.a-l.a)*(last.b-before.b) <= (before.a-last.a)*(l.b-before.b)
}
