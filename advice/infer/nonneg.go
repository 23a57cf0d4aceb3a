package infer

import "math"

// NonNeg minimises |W x - b| over x >= 0 by the active-set method of Lawson
// and Hanson (Solving Least Squares Problems, 1974, ch. 23). It returns x and
// the sum of squared residuals. Its errors at the boundary are not normal:
// use it as a check or as a most likely point, never for intervals.
func NonNeg(w Matrix, b []float64) (x []float64, ssr float64) {
	n := w.Cols
	x = make([]float64, n)
	free := make([]bool, n)
	for range 3 * (n + 1) {
		j := steepest(w, b, x, free)
		if j < 0 {
			break
		}
		free[j] = true
		settle(w, b, x, free)
	}
	return x, sumSquares(w, b, x)
}

// steepest names the variable held at nought that most wants to grow, or -1.
func steepest(w Matrix, b, x []float64, free []bool) int {
	g := gradient(w, b, x)
	best, at := 1e-10*(1+math.Sqrt(dot(b, b))), -1
	for j, v := range g {
		if !free[j] && v > best {
			best, at = v, j
		}
	}
	return at
}

// gradient is Wᵀ(b - W x).
func gradient(w Matrix, b, x []float64) []float64 {
	r := w.Times(x)
	for i := range r {
		r[i] = b[i] - r[i]
	}
	return transposeTimes(w, r)
}

// settle moves x to the least-squares point of the free variables, freezing
// on the way each one that would fall below nought.
func settle(w Matrix, b, x []float64, free []bool) {
	for range w.Cols + 1 {
		z, ok := solveFree(w, b, free)
		if !ok {
			return
		}
		step, hit := 1.0, -1
		for j := range x {
			if free[j] && z[j] <= 0 {
				if s := x[j] / (x[j] - z[j]); hit < 0 || s < step {
					step, hit = s, j
				}
			}
		}
		for j := range x {
			x[j] += step * (z[j] - x[j])
		}
		if hit < 0 {
			return
		}
		x[hit], free[hit] = 0, false
	}
}

func solveFree(w Matrix, b []float64, free []bool) ([]float64, bool) {
	var at []int
	for j, f := range free {
		if f {
			at = append(at, j)
		}
	}
	sub := NewMatrix(w.Rows, len(at))
	for i := range w.Rows {
		for k, j := range at {
			sub.Set(i, k, w.At(i, j))
		}
	}
	g := gram(sub)
	for k := range at {
		g.Add(k, k, 1e-12*g.At(k, k)) // columns that repeat each other still get an answer
	}
	c, ok := Cholesky(g)
	z := make([]float64, len(free))
	if !ok {
		return z, false
	}
	for k, v := range CholeskySolve(c, transposeTimes(sub, b)) {
		z[at[k]] = v
	}
	return z, true
}

func sumSquares(w Matrix, b, x []float64) float64 {
	s := 0.0
	for i, v := range w.Times(x) {
		s += (v - b[i]) * (v - b[i])
	}
	return s
}
