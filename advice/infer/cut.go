package infer

import (
	"math"
	"slices"
)

// Draws are weighted points of a distribution: X[c] holds the values of
// unknown c over all points, Weight the weights, which add up to 1.
type Draws struct {
	X      [][]float64
	Weight []float64
	Share  float64 // Cut: the part of the uncut normal that lies at or above nought
}

// Effective is the number of equally weighted points that would do as well
// (Kish).
func (d Draws) Effective() float64 {
	s := 0.0
	for _, w := range d.Weight {
		s += w * w
	}
	return 1 / s
}

// Cut draws n points from the normal distribution with the given mean and
// covariance, cut off below nought in every unknown: sequential importance
// sampling (A. Genz, J. Comput. Graph. Stat. 1 (1992) 141) on the fixed
// Points of the seed. The most constrained unknown comes first. It returns
// ErrSingular where the covariance is not positive definite.
func Cut(mean []float64, cov Matrix, n int, seed int64) (Draws, error) {
	order := byConstraint(mean, cov)
	c, ok := Cholesky(permute(cov, order))
	if !ok {
		return Draws{}, ErrSingular
	}
	k := len(mean)
	d := Draws{X: columns(k, n), Weight: make([]float64, n)}
	u := Points(n, k, seed)
	z := make([]float64, k)
	sum := 0.0
	for i := range n {
		w := 1.0
		for j := range k {
			low := mean[order[j]] + dot(c.Row(j)[:j], z[:j])
			s := c.At(j, j)
			tail := NormalCDF(low / s)
			w *= tail
			z[j] = upperQuantile(u[i*k+j] * tail)
			d.X[order[j]][i] = math.Max(0, low+s*z[j])
		}
		d.Weight[i] = w
		sum += w
	}
	d.Share = sum / float64(n)
	scale(d.Weight, sum)
	return d, nil
}

func byConstraint(mean []float64, cov Matrix) []int {
	order := make([]int, len(mean))
	for i := range order {
		order[i] = i
	}
	tight := func(i int) float64 { return mean[i] / math.Sqrt(cov.At(i, i)) }
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case tight(a) < tight(b):
			return -1
		case tight(a) > tight(b):
			return 1
		}
		return 0
	})
	return order
}

func permute(m Matrix, order []int) Matrix {
	out := NewMatrix(m.Rows, m.Cols)
	for i, a := range order {
		for j, b := range order {
			out.Set(i, j, m.At(a, b))
		}
	}
	return out
}

// columns gives k slices of n numbers out of one allocation.
func columns(k, n int) [][]float64 {
	all := make([]float64, k*n)
	out := make([][]float64, k)
	for i := range out {
		out[i] = all[i*n : (i+1)*n : (i+1)*n]
	}
	return out
}

// scale divides by total; where total is nought every weight becomes equal.
func scale(w []float64, total float64) {
	for i := range w {
		if total > 0 {
			w[i] /= total
		} else {
			w[i] = 1 / float64(len(w))
		}
	}
}
