package infer

import "math"

// Matrix is a small dense matrix, row after row.
type Matrix struct {
	Rows, Cols int
	A          []float64
}

// NewMatrix gives a matrix of noughts.
func NewMatrix(rows, cols int) Matrix {
	return Matrix{Rows: rows, Cols: cols, A: make([]float64, rows*cols)}
}

// At is the element in row i and column j, from nought.
func (m Matrix) At(i, j int) float64 { return m.A[i*m.Cols+j] }

// Set puts v into row i and column j.
func (m Matrix) Set(i, j int, v float64) { m.A[i*m.Cols+j] = v }

// Add adds v to row i and column j.
func (m Matrix) Add(i, j int, v float64) { m.A[i*m.Cols+j] += v }

// Row is row i itself, not a copy.
func (m Matrix) Row(i int) []float64 { return m.A[i*m.Cols : (i+1)*m.Cols] }

// Clone is a copy that shares nothing with m.
func (m Matrix) Clone() Matrix {
	return Matrix{m.Rows, m.Cols, append([]float64(nil), m.A...)}
}

// Times is m x for a vector x of m.Cols numbers.
func (m Matrix) Times(x []float64) []float64 {
	out := make([]float64, m.Rows)
	for i := range out {
		out[i] = dot(m.Row(i), x)
	}
	return out
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

// Cholesky is the lower triangular C with C Cᵀ = m, for a symmetric matrix,
// and false where m is not positive definite beyond rounding.
func Cholesky(m Matrix) (Matrix, bool) {
	c := m.Clone()
	n := c.Rows
	for j := range n {
		d := c.At(j, j) - dot(c.Row(j)[:j], c.Row(j)[:j])
		if !(d > 1e-13*m.At(j, j)) || math.IsInf(d, 0) {
			return c, false
		}
		d = math.Sqrt(d)
		c.Set(j, j, d)
		for i := j + 1; i < n; i++ {
			c.Set(i, j, (c.At(i, j)-dot(c.Row(i)[:j], c.Row(j)[:j]))/d)
		}
		for k := j + 1; k < n; k++ {
			c.Set(j, k, 0)
		}
	}
	return c, true
}

// forward solves C x = b in place for a lower triangular C.
func forward(c Matrix, b []float64) {
	for i := range b {
		b[i] = (b[i] - dot(c.Row(i)[:i], b[:i])) / c.At(i, i)
	}
}

// backward solves Cᵀ x = b in place for a lower triangular C.
func backward(c Matrix, b []float64) {
	for i := len(b) - 1; i >= 0; i-- {
		b[i] /= c.At(i, i)
		for j := range i {
			b[j] -= c.At(i, j) * b[i]
		}
	}
}

// CholeskySolve is x in C Cᵀ x = b.
func CholeskySolve(c Matrix, b []float64) []float64 {
	x := append([]float64(nil), b...)
	forward(c, x)
	backward(c, x)
	return x
}

// inverse of C Cᵀ.
func inverse(c Matrix) Matrix {
	n := c.Rows
	out := NewMatrix(n, n)
	e := make([]float64, n)
	for j := range n {
		clear(e)
		e[j] = 1
		forward(c, e)
		backward(c, e)
		for i, v := range e {
			out.Set(i, j, v)
		}
	}
	return out
}
