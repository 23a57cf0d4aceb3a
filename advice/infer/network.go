package infer

import (
	"errors"
	"math"
)

// Fit is the least-squares solution of a network of readings.
type Fit struct {
	X        []float64 // estimates
	Cov      Matrix    // their covariance, from the stated covariance of the readings
	Residual []float64 // fitted less read
	Score    []float64 // residual over its own standard deviation; 0 where a reading has no check
	ChiSq    float64   // weighted sum of squared residuals
	Freedom  int       // readings less unknowns
}

// ErrSingular says that the readings do not determine the unknowns.
var ErrSingular = errors.New("the readings do not determine the unknowns")

// Network fits y = H x + e by generalised least squares. H has a row a
// reading; r is the covariance of e (rows x rows). It returns ErrSingular
// where H lacks full column rank or r is not positive definite.
//
// The design is that of levelling networks: a pressure is a height, a
// pressure difference a height difference.
func Network(h Matrix, y []float64, r Matrix) (Fit, error) {
	cr, ok := Cholesky(r)
	if !ok {
		return Fit{}, ErrSingular
	}
	w, b := whiten(cr, h, y)
	cn, ok := Cholesky(gram(w))
	if !ok {
		return Fit{}, ErrSingular
	}
	f := Fit{X: CholeskySolve(cn, transposeTimes(w, b)), Cov: inverse(cn), Freedom: h.Rows - h.Cols}
	f.Residual = h.Times(f.X)
	for i := range y {
		f.Residual[i] -= y[i]
	}
	white := append([]float64(nil), f.Residual...)
	forward(cr, white)
	f.ChiSq = dot(white, white)
	f.Score = scores(h, r, f)
	return f, nil
}

// scores divides each residual by its standard deviation, which is that of
// the reading less that of the fitted value.
func scores(h, r Matrix, f Fit) []float64 {
	out := make([]float64, h.Rows)
	for i := range out {
		row := h.Row(i)
		left := r.At(i, i) - dot(row, f.Cov.Times(row))
		if left > 1e-9*r.At(i, i) {
			out[i] = math.Abs(f.Residual[i]) / math.Sqrt(left)
		}
	}
	return out
}

// whiten gives C⁻¹H and C⁻¹y, so that the readings become independent and of
// unit variance.
func whiten(c, h Matrix, y []float64) (Matrix, []float64) {
	w := NewMatrix(h.Rows, h.Cols)
	col := make([]float64, h.Rows)
	for j := range h.Cols {
		for i := range col {
			col[i] = h.At(i, j)
		}
		forward(c, col)
		for i, v := range col {
			w.Set(i, j, v)
		}
	}
	b := append([]float64(nil), y...)
	forward(c, b)
	return w, b
}

func gram(w Matrix) Matrix {
	out := NewMatrix(w.Cols, w.Cols)
	for i := range w.Rows {
		row := w.Row(i)
		for j, a := range row {
			if a == 0 {
				continue
			}
			for k := range w.Cols {
				out.Add(j, k, a*row[k])
			}
		}
	}
	return out
}

func transposeTimes(w Matrix, b []float64) []float64 {
	out := make([]float64, w.Cols)
	for i := range w.Rows {
		for j, a := range w.Row(i) {
			out[j] += a * b[i]
		}
	}
	return out
}

// Whiten turns readings with covariance r into independent ones of unit
// variance: C⁻¹H and C⁻¹y with r = C Cᵀ. False where r is not positive definite.
func Whiten(h Matrix, y []float64, r Matrix) (Matrix, []float64, bool) {
	c, ok := Cholesky(r)
	if !ok {
		return Matrix{}, nil, false
	}
	w, b := whiten(c, h, y)
	return w, b, true
}

// Rank is the number of independent columns of w, by pivoting on the longest
// column left.
func Rank(w Matrix) int {
	g := gram(w)
	limit := 0.0
	for j := range g.Cols {
		limit = max(limit, g.At(j, j))
	}
	limit *= 1e-9
	rank := 0
	for range g.Cols {
		at := 0
		for j := range g.Cols {
			if g.At(j, j) > g.At(at, at) {
				at = j
			}
		}
		d := g.At(at, at)
		if d <= limit || d == 0 {
			break
		}
		rank++
		col := append([]float64(nil), g.Row(at)...)
		for j, a := range col {
			for k, b := range col {
				g.Add(j, k, -a*b/d)
			}
		}
	}
	return rank
}
