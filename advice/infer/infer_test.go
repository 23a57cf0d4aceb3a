package infer

import (
	"cmp"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
)

// published reads a table of check values; lines that begin with # tell where
// it comes from.
func published(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "published", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g within %.2g", what, got, want, tol)
	}
}

func nearAll(t *testing.T, what string, got, want []float64, tol float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: got %d numbers, want %d", what, len(got), len(want))
	}
	for i := range got {
		near(t, what+" "+strconv.Itoa(i+1), got[i], want[i], tol)
	}
}

func diagonal(v ...float64) Matrix {
	m := NewMatrix(len(v), len(v))
	for i, x := range v {
		m.Set(i, i, x)
	}
	return m
}

func matrixOf(rows ...[]float64) Matrix {
	m := NewMatrix(len(rows), len(rows[0]))
	for i, r := range rows {
		copy(m.Row(i), r)
	}
	return m
}

func roots(m Matrix) []float64 {
	out := make([]float64, m.Rows)
	for i := range out {
		out[i] = math.Sqrt(m.At(i, i))
	}
	return out
}

// Standard values that any statistical table prints: the 95 % points.
func TestChiSquareTail(t *testing.T) {
	for nu, x := range map[float64]float64{
		1: 3.841458820694126, 2: 5.991464547107982, 3: 7.81472790325118,
		4: 9.487729036781157, 10: 18.30703805327515, 6.5: 13.3343223334435,
	} {
		near(t, "tail", ChiSquareTail(x, nu), 0.05, 1e-12)
	}
	near(t, "far tail", ChiSquareTail(200, 2), math.Exp(-100), 1e-50)
}

func TestNormalQuantile(t *testing.T) {
	for p, z := range map[float64]float64{
		0.95: 1.644853626951473, 0.975: 1.959963984540054, 0.99: 2.326347874040841, 0.995: 2.575829303548901, 0.05: -1.644853626951473,
	} {
		near(t, "quantile", NormalQuantile(p), z, 1e-12)
		near(t, "distribution", NormalCDF(z), p, 1e-14)
	}
}

// The means of the coordinates and of their products are those of a square:
// 1/2 and 1/4. A plain random set of this size would miss them by 0.005.
func TestPointsAreEven(t *testing.T) {
	const n, d = 4096, 7
	p := Points(n, d, 1)
	for a := range d {
		for b := range a {
			sum, both := 0.0, 0.0
			for i := range n {
				sum += p[i*d+a]
				both += p[i*d+a] * p[i*d+b]
			}
			near(t, "mean", sum/n, 0.5, 1e-3)
			near(t, "mean product", both/n, 0.25, 2e-3)
		}
	}
}

// Levelling networks with published adjustments; see testdata/published/README.md.
func TestNetworkForwardAndBack(t *testing.T) {
	names := map[string]int{"4": 0, "3": 1, "2": 2}
	rows := published(t, "level_gama_fwdback.csv")
	h, y, r := NewMatrix(len(rows), 3), make([]float64, len(rows)), NewMatrix(len(rows), len(rows))
	for i, row := range rows {
		y[i] = number(t, row[2])
		for k, sign := range []float64{-1, 1} {
			if at, ok := names[row[k]]; ok {
				h.Set(i, at, sign)
			} else {
				y[i] -= sign * 1000 // the fixed point 1a
			}
		}
		r.Set(i, i, math.Pow(number(t, row[3])/1000, 2))
	}
	fit, err := Network(h, y, r)
	if err != nil {
		t.Fatal(err)
	}
	nearAll(t, "height", fit.X, []float64{998.775125, 997.933250, 999.274875}, 5e-7)
	nearAll(t, "deviation in mm", scaled(roots(fit.Cov), 1000), []float64{3.0619, 3.5355, 3.0619}, 5e-5)
	near(t, "weighted squares", fit.ChiSq*25, 146.625, 1e-3)
	near(t, "largest score", largest(fit.Score), 1.67601, 5e-6)
}

func TestNetworkTwoPointsFourMarks(t *testing.T) {
	marks := map[string]float64{"BMA": 806.520, "BMB": 818.320, "BMC": 820.120, "BMD": 824.040}
	points := map[string]int{"Q": 0, "R": 1}
	for _, c := range []struct {
		name     string
		weighted bool
		x, sd    []float64
		s0       float64
	}{
		{"equal weights", false, []float64{815.418421, 802.962105}, []float64{0.013329, 0.014902}, 0.029049},
		{"weights by set-ups", true, []float64{815.425182, 802.958866}, []float64{0.012381, 0.016447}, 0.066740},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows := published(t, "level_mahun.csv")
			h, y, r := NewMatrix(len(rows), 2), make([]float64, len(rows)), NewMatrix(len(rows), len(rows))
			for i, row := range rows {
				y[i] = number(t, row[3])
				for k, sign := range []float64{-1, 1} {
					if at, ok := points[row[1+k]]; ok {
						h.Set(i, at, sign)
					} else {
						y[i] -= sign * marks[row[1+k]]
					}
				}
				r.Set(i, i, 1)
				if c.weighted {
					r.Set(i, i, number(t, row[4])/12)
				}
			}
			fit, err := Network(h, y, r)
			if err != nil {
				t.Fatal(err)
			}
			s0 := math.Sqrt(fit.ChiSq / float64(fit.Freedom))
			nearAll(t, "height", fit.X, c.x, 1e-6)
			near(t, "unit deviation", s0, c.s0, 1e-6)
			nearAll(t, "deviation", scaled(roots(fit.Cov), s0), c.sd, 1e-6)
		})
	}
}

func scaled(v []float64, by float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		out[i] = v[i] * by
	}
	return out
}

func largest(v []float64) float64 {
	m := v[0]
	for _, x := range v {
		m = math.Max(m, x)
	}
	return m
}

func TestNetworkSingular(t *testing.T) {
	if _, err := Network(matrixOf([]float64{1, 1}), []float64{3}, diagonal(1)); err != ErrSingular {
		t.Errorf("one reading of a sum of two: got error %v, want ErrSingular", err)
	}
}

// caseB is the constructed five-piece intake: five readings from the open air
// and one across the second piece.
func caseB(t *testing.T) (h Matrix, y, u []float64) {
	rows := published(t, "intake_B.csv")
	h = NewMatrix(len(rows), 5)
	for i, row := range rows {
		for c := range 5 {
			h.Set(i, c, number(t, row[1+c]))
		}
		y = append(y, number(t, row[6]))
		u = append(u, number(t, row[7]))
	}
	return h, y, u
}

func squares(u []float64) Matrix {
	v := make([]float64, len(u))
	for i := range u {
		v[i] = u[i] * u[i]
	}
	return diagonal(v...)
}

func TestNetworkCaseB(t *testing.T) {
	h, y, u := caseB(t)
	fit, err := Network(h, y, squares(u))
	if err != nil {
		t.Fatal(err)
	}
	nearAll(t, "loss", fit.X, []float64{3.972881, 5.154237, -0.027119, -0.200000, 4.700000}, 1e-6)
	nearAll(t, "deviation", roots(fit.Cov), []float64{0.189781, 0.138086, 0.313874, 0.353553, 0.353553}, 1e-6)
	near(t, "chi-square", fit.ChiSq, 0.610169, 1e-6)
}

// A scale error of 1 % shared by all readings widens the sum, hardly the parts.
func TestNetworkCommonScale(t *testing.T) {
	h, y, u := caseB(t)
	r := squares(u)
	for i := range y {
		for j := range y {
			r.Add(i, j, 1e-4*y[i]*y[j])
		}
	}
	fit, err := Network(h, y, r)
	if err != nil {
		t.Fatal(err)
	}
	nearAll(t, "loss", fit.X, []float64{3.972639, 5.153923, -0.027117, -0.199988, 4.699713}, 1e-6)
	nearAll(t, "deviation", roots(fit.Cov), []float64{0.193895, 0.147391, 0.313874, 0.353559, 0.356664}, 1e-6)
	ones := []float64{1, 1, 1, 1, 1}
	near(t, "deviation of the sum", math.Sqrt(dot(ones, fit.Cov.Times(ones))), 0.284596, 1e-6)
}

func whiteCase(h Matrix, y, u []float64) (Matrix, []float64) {
	c, _ := Cholesky(squares(u))
	return whiten(c, h, y)
}

func TestNonNegCaseB(t *testing.T) {
	w, b := whiteCase(caseB(t))
	x, ssr := NonNeg(w, b)
	nearAll(t, "loss", x, []float64{3.922835, 5.136220, 0, 0, 4.540945}, 1e-6)
	near(t, "squares", ssr, 1.170394, 1e-6)
	g := gradient(w, b, x)
	near(t, "gradient 3", g[2], -1.889764, 1e-6)
	near(t, "gradient 4", g[3], -2.544882, 1e-6)
}

// Small problems with answers known by hand, the third from the SciPy tests of nnls.
func TestNonNegSmall(t *testing.T) {
	two := matrixOf([]float64{1, 0}, []float64{1, 0}, []float64{0, 1})
	four := matrixOf([]float64{.0372, .2868}, []float64{.6861, .7071}, []float64{.6233, .6245}, []float64{.6344, .6170})
	for _, c := range []struct {
		w    Matrix
		b    []float64
		x    []float64
		norm float64
		tol  float64
	}{
		{two, []float64{2, 1, 1}, []float64{1.5, 1}, 0.70710678, 1e-8},
		{two, []float64{-1, -1, -1}, []float64{0, 0}, 1.73205081, 1e-8},
		{four, []float64{.8587, .1781, .0747, .8405}, []float64{0, 0.6929}, 0.9118922, 5e-5},
	} {
		x, ssr := NonNeg(c.w, c.b)
		nearAll(t, "x", x, c.x, c.tol)
		near(t, "norm", math.Sqrt(ssr), c.norm, 1e-6)
	}
}

// The slow exact oracle: the best of all supports whose solution is not negative.
func TestNonNegAgainstAllSupports(t *testing.T) {
	p := Points(40, 48, 7)
	for i := range 40 {
		w := NewMatrix(8, 5)
		b := make([]float64, 8)
		for k := range w.A {
			w.A[k] = p[i*48+k]*2 - 0.7
		}
		for k := range b {
			b[k] = p[i*48+40+k]*2 - 1
		}
		_, ssr := NonNeg(w, b)
		near(t, "squares", ssr, bestSupport(w, b), 1e-9)
	}
}

func bestSupport(w Matrix, b []float64) float64 {
	best := dot(b, b)
	for mask := 1; mask < 1<<w.Cols; mask++ {
		free := make([]bool, w.Cols)
		for j := range free {
			free[j] = mask>>j&1 == 1
		}
		x, ok := solveFree(w, b, free)
		for _, v := range x {
			ok = ok && v >= 0
		}
		if s := sumSquares(w, b, x); ok && s < best {
			best = s
		}
	}
	return best
}

func moments(d Draws) (mean, sd []float64) {
	for _, x := range d.X {
		m, v := 0.0, 0.0
		for i, w := range d.Weight {
			m += w * x[i]
		}
		for i, w := range d.Weight {
			v += w * (x[i] - m) * (x[i] - m)
		}
		mean, sd = append(mean, m), append(sd, math.Sqrt(v))
	}
	return mean, sd
}

// Closed forms of the cut normal in one dimension (mean, deviation, median).
// 4096 even points place a mean to about 1e-3 of a deviation.
func TestCutOneDimension(t *testing.T) {
	for _, c := range [][5]float64{
		{0, 1, 0.7978845608, 0.6028102750, 0.6744897502},
		{-1, 1, 0.5251352762, 0.4462036145, 0.4096087093},
		{1, 1, 1.2875999709, 0.7935277473, 1.2001736862},
		{-3, 1, 0.2830986549, 0.2656297928, 0.2051549206},
		{0.3, 0.2, 0.3277579501, 0.1757899632, 0.3167656973},
	} {
		d, err := Cut([]float64{c[0]}, diagonal(c[1]*c[1]), 4096, 1)
		if err != nil {
			t.Fatal(err)
		}
		mean, sd := moments(d)
		near(t, "mean", mean[0], c[2], 1e-3)
		near(t, "deviation", sd[0], c[3], 2e-3)
		near(t, "median", Quantile(d.X[0], d.Weight, 0.5), c[4], 2e-3)
	}
}

// Closed form in two dimensions: the share is 1/4 + asin(rho)/2 pi.
func TestCutTwoDimensions(t *testing.T) {
	for _, c := range [][3]float64{{0.5, 1. / 3, 0.8976201309}, {-0.5, 1. / 6, 0.5984134206}} {
		d, err := Cut([]float64{0, 0}, matrixOf([]float64{1, c[0]}, []float64{c[0], 1}), 4096, 1)
		if err != nil {
			t.Fatal(err)
		}
		mean, _ := moments(d)
		near(t, "share", d.Share, c[1], 1e-3)
		nearAll(t, "mean", mean, []float64{c[2], c[2]}, 1e-3)
	}
}

// Cases A and B: constructed intakes whose cut posterior was worked out by four
// runs of 131072 Sobol points and by plain rejection. 4096 points are said to
// reproduce the means within 0.001 and the deviations within 0.002.
func TestCutIntakes(t *testing.T) {
	hB, yB, uB := caseB(t)
	hA := matrixOf([]float64{1, 0, 0}, []float64{1, 1, 0}, []float64{1, 1, 1}, []float64{0, 1, 0})
	for _, c := range []struct {
		name     string
		h        Matrix
		y, u     []float64
		prior    bool
		share    float64
		mean, sd []float64
		first    int
		chance   float64
	}{
		{"A", hA, []float64{4.0, 3.8, 7.0, 0.1}, []float64{.25, .25, .25, .15}, false, 0.65276,
			[]float64{3.8338, 0.1324, 3.0338}, []float64{0.1828, 0.0934, 0.3097}, 0, 0.96772},
		{"B", hB, yB, uB, false, 0.05535,
			[]float64{3.8344, 5.1044, 0.1493, 0.1507, 4.3612}, []float64{0.1685, 0.1345, 0.1250, 0.1294, 0.3006}, 1, 0.98693},
		{"B with a prior", hB, yB, uB, true, 0.07184,
			[]float64{3.8331, 5.1007, 0.1556, 0.1576, 4.3367}, nil, 1, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			h, y, r := c.h, c.y, squares(c.u)
			if c.prior {
				h, y, r = withPrior(h, y, c.u, 2, 3)
			}
			fit, err := Network(h, y, r)
			if err != nil {
				t.Fatal(err)
			}
			d, err := Cut(fit.X, fit.Cov, 4096, 1)
			if err != nil {
				t.Fatal(err)
			}
			mean, sd := moments(d)
			near(t, "share", d.Share, c.share, 0.002*c.share+2e-4)
			nearAll(t, "mean", mean, c.mean, 1e-3)
			if c.sd != nil {
				nearAll(t, "deviation", sd, c.sd, 2e-3)
				// The binomial deviation of a share of 0.987 among 2500 effective points is 0.0023.
				near(t, "chance of being largest", Largest(d.X, d.Weight, nil)[c.first], c.chance, 4e-3)
			}
		})
	}
}

// withPrior writes a normal prior of each unknown as one more reading of it.
func withPrior(h Matrix, y, u []float64, m, s float64) (Matrix, []float64, Matrix) {
	all := NewMatrix(h.Rows+h.Cols, h.Cols)
	copy(all.A, h.A)
	y, u = append([]float64(nil), y...), append([]float64(nil), u...)
	for j := range h.Cols {
		all.Set(h.Rows+j, j, 1)
		y, u = append(y, m), append(u, s)
	}
	return all, y, squares(u)
}

func TestCutEffective(t *testing.T) {
	d, err := Cut([]float64{5, 5}, diagonal(1, 1), 1000, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "effective points", d.Effective(), 1000, 1)
}

// The plain way: sort everything.
func sortedQuantile(x, w []float64, p float64) float64 {
	order := make([]int, len(x))
	total := 0.0
	for i := range order {
		order[i] = i
		total += w[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	at, before, beforeAt := 0.0, x[order[0]], 0.0
	for _, i := range order {
		mid := at + w[i]/2
		if mid >= p*total {
			if mid > beforeAt {
				return before + (x[i]-before)*max(0, (p*total-beforeAt)/(mid-beforeAt))
			}
			return x[i]
		}
		at += w[i]
		before, beforeAt = x[i], mid
	}
	return before
}

func TestQuantilesAgainstSorting(t *testing.T) {
	for seed := range int64(20) {
		p := Points(301, 3, seed)
		var x, w []float64
		for i := range 301 {
			x = append(x, math.Exp(6*p[3*i])*math.Floor(1+p[3*i+2]*2)) // long tails, gaps and repeats
			w = append(w, p[3*i+1]*p[3*i+1])
		}
		for _, q := range []float64{0, 0.001, 0.05, 0.5, 0.95, 0.999, 1} {
			want := sortedQuantile(x, w, q)
			near(t, "quantile", Quantile(x, w, q), want, 1e-9*want)
		}
	}
}
