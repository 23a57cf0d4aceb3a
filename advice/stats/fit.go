package stats

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Fit is a linear model fitted by least squares.
type Fit struct {
	Coefficients []float64
	Freedom      float64   // of the residuals
	Residual     float64   // standard deviation, 0 where Freedom is 0
	Squares      float64   // sum of squares of the residuals
	parts        []float64 // of the variance of each coefficient, over that of a residual
	weights      *mat.Dense
}

// ErrUnknowable says that the data leave some coefficient open.
var ErrUnknowable = errors.New("the data leave a coefficient open")

// LeastSquares fits y = design times coefficients. Design has one row a number
// of y, of equal lengths, and no more columns than rows. It goes by QR, which
// squares no condition number.
func LeastSquares(design [][]float64, y []float64) (*Fit, error) {
	n, k := len(design), len(design[0])
	x := mat.NewDense(n, k, nil)
	scale := make([]float64, k) // columns of equal length
	for j := range k {
		for i := range n {
			scale[j] = math.Hypot(scale[j], design[i][j])
		}
		for i := range n {
			x.Set(i, j, design[i][j]/scale[j])
		}
	}
	var qr mat.QR
	qr.Factorize(x)
	if cond := qr.Cond(); !(cond < 1e15) {
		return nil, ErrUnknowable
	}
	f := &Fit{Freedom: float64(n - k), weights: mat.NewDense(k, n, nil), parts: make([]float64, k), Coefficients: make([]float64, k)}
	if err := qr.SolveTo(f.weights, false, identity(n)); err != nil && !isBadly(err) {
		return nil, ErrUnknowable
	}
	var c mat.Dense
	if err := qr.SolveTo(&c, false, mat.NewDense(n, 1, append([]float64{}, y...))); err != nil && !isBadly(err) {
		return nil, ErrUnknowable
	}
	for j := range k {
		f.Coefficients[j] = c.At(j, 0) / scale[j]
		for i := range n {
			w := f.weights.At(j, i) / scale[j]
			f.weights.Set(j, i, w)
			f.parts[j] += w * w
		}
	}
	f.judge(design, y)
	return f, nil
}

// isBadly tells a warning of the library about a bad condition from a failure.
func isBadly(err error) bool {
	_, ok := errors.AsType[mat.Condition](err)
	return ok
}

func identity(n int) *mat.Dense {
	m := mat.NewDense(n, n, nil)
	for i := range n {
		m.Set(i, i, 1)
	}
	return m
}

func (f *Fit) judge(design [][]float64, y []float64) {
	for i, row := range design {
		rest := y[i]
		for j, x := range row {
			rest -= f.Coefficients[j] * x
		}
		f.Squares += rest * rest
	}
	if f.Freedom > 0 {
		f.Residual = math.Sqrt(f.Squares / f.Freedom)
	}
}

// Estimate of coefficient j.
func (f *Fit) Estimate(j int) Estimate {
	return Estimate{f.Coefficients[j], f.Residual * math.Sqrt(f.parts[j]), f.Freedom}
}

// Weights are what each number of y counts for in coefficient j.
func (f *Fit) Weights(j int) []float64 { return mat.Row(nil, j, f.weights) }
