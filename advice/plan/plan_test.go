package plan

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"dropwalk/advice/infer"
	"dropwalk/advice/internal/published"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g within %.2g", what, got, want, tol)
	}
}

func numbers(t *testing.T, text string) []float64 {
	t.Helper()
	var out []float64
	for s := range strings.SplitSeq(text, ";") {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, v)
	}
	return out
}

// Values of E max(a+bZ) - max a worked out by numerical integration to 1e-12.
func TestGainAgainstIntegration(t *testing.T) {
	for _, row := range published.Table(t, "kg_cases.csv")[1:] {
		want, err := strconv.ParseFloat(row[3], 64)
		if err != nil {
			t.Fatal(err)
		}
		near(t, row[0], Gain(numbers(t, row[1]), numbers(t, row[2])), want, 1e-9)
	}
}

// The unit normal loss of Raiffa and Schlaifer.
func TestUnitLoss(t *testing.T) {
	for z, want := range map[float64]float64{
		0: 0.3989423, 0.25: 0.2863447, 0.5: 0.1977966, 1: 0.0833155, 1.5: 0.0293068, 2: 0.0084907, 3: 0.0003822,
	} {
		near(t, "loss", unitLoss(-z), want, 5e-8)
	}
}

func TestGainOfEqualLinesIsNought(t *testing.T) {
	near(t, "gain", Gain([]float64{1, 1, 1}, []float64{2, 2, 2}), 0, 0)
}

// linear makes a Belief: losses with means m and covariance s, decision d worth
// a[d]·loss - c[d], reading t measuring h[t]·loss.
func linear(m []float64, s infer.Matrix, a [][]float64, c []float64, h [][]float64) Belief {
	b := Belief{Cov: infer.NewMatrix(len(a), len(h)), Reading: infer.NewMatrix(len(h), len(h))}
	inner := func(x, y []float64) float64 {
		sum := 0.0
		for i, v := range s.Times(y) {
			sum += x[i] * v
		}
		return sum
	}
	for d := range a {
		u := -c[d]
		for i := range m {
			u += a[d][i] * m[i]
		}
		b.Mean = append(b.Mean, u)
		for t := range h {
			b.Cov.Set(d, t, inner(a[d], h[t]))
		}
	}
	for i := range h {
		for j := range h {
			b.Reading.Set(i, j, inner(h[i], h[j]))
		}
	}
	return b
}

// threeTaps is a constructed intake whose total was measured: four losses, a
// tap after each of the first three.
func threeTaps() Belief {
	sd := []float64{1.5, 2, 1, 1.5}
	s := infer.NewMatrix(4, 4)
	total := 0.3 * 0.3
	for _, x := range sd {
		total += x * x
	}
	for i, x := range sd {
		for j, y := range sd {
			s.Set(i, j, -x*x*y*y/total)
		}
		s.Add(i, i, x*x)
	}
	a := [][]float64{{.30, 0, 0, 0}, {0, .25, 0, 0}, {0, 0, .20, 0}, {0, 0, 0, .10}, {0, 0, 0, 0}}
	h := [][]float64{{1, 0, 0, 0}, {1, 1, 0, 0}, {1, 1, 1, 0}}
	return linear([]float64{3, 4, 1.5, 3.5}, s, a, []float64{.60, .70, .30, .35, 0}, h)
}

func options(noise float64, cost ...float64) []Option {
	var out []Option
	for i, c := range cost {
		out = append(out, Option{i, noise, c})
	}
	return out
}

// Values worked out by dynamic programming on a fine grid, apart from this code.
func TestThreeTaps(t *testing.T) {
	b, o := threeTaps(), options(0.09, .02, .05, .02)
	for i, want := range []float64{0.2226401, 0.0447134, 0.0363763} {
		near(t, "one tap", b.value(o[i]), want, 1e-6)
	}
	// 25 nodes place a pair's value to a few thousandths of it.
	near(t, "taps 1 and 2", b.pair(o[0], o[1]), 0.26255, 1e-3)
	near(t, "taps 1 and 3", b.pair(o[0], o[2]), 0.24761, 1e-3)
	near(t, "taps 2 and 3", b.pair(o[1], o[2]), 0.06092, 1e-3)
	if got := Choose(b, o, nil); got.Option != 0 {
		t.Errorf("first tap = %d, want 0, the one of the best plan", got.Option)
	}
	near(t, "best plan", optimum(b, o, fine), 0.5164, 2e-3)
	near(t, "this planner", policy(b, o, fine), 0.5164, 2e-3)
	dear := options(0.09, .12, .12, .02)
	near(t, "best plan, dear taps", optimum(b, dear, fine), 0.41419, 2e-3)
	near(t, "this planner, dear taps", policy(b, dear, fine), 0.41419, 2e-3)
}

// A case in which no reading is worth its cost by itself but two are.
func TestPairIsNeeded(t *testing.T) {
	s := infer.NewMatrix(2, 2)
	s.Set(0, 0, 36)
	s.Set(1, 1, 2.25)
	b := linear([]float64{6, 3.6}, s, [][]float64{{0, 0.25}, {0, 0}}, []float64{0.9, 0}, [][]float64{{1, 0}, {1, 1}})
	for _, c := range []struct{ cost, optimum float64 }{{.05, 0.0440069}, {.03, 0.0839630}, {.02, 0.1039626}} {
		o := options(0.09, c.cost, c.cost)
		near(t, "value of the first", b.value(o[0]), 0, 1e-12)
		near(t, "value of the second", b.value(o[1]), 0.0362415, 1e-6)
		near(t, "value of both", b.pair(o[0], o[1]), 0.1439625, 5e-4)
		got := Choose(b, o, nil)
		if got.Option < 0 || got.Pair < 0 {
			t.Errorf("cost %g: choice %+v, want a pair", c.cost, got)
		}
		near(t, "this planner", policy(b, o, fine), c.optimum, 1e-3)
	}
}

// grid holds outcomes z of a reading and their shares, the middles of n equal
// steps within reach of nought.
func grid(n int, reach float64) (out [][2]float64) {
	total := 0.0
	for i := range n {
		z := reach * (2*(float64(i)+0.5)/float64(n) - 1)
		out = append(out, [2]float64{z, infer.NormalPDF(z)})
		total += out[i][1]
	}
	for i := range out {
		out[i][1] /= total
	}
	return out
}

var fine, coarse = grid(96, 6), grid(36, 4.5)

func best(m []float64) float64 {
	top := m[0]
	for _, x := range m {
		top = max(top, x)
	}
	return top
}

func rest(o []Option, i int) []Option {
	return append(append([]Option(nil), o[:i]...), o[i+1:]...)
}

// optimum is the exact best plan by dynamic programming: the last reading by
// the exact formula, those before it by integration.
func optimum(b Belief, o []Option, grid [][2]float64) float64 {
	top := best(b.Mean)
	for i := range o {
		v := -o[i].Cost
		if len(o) == 1 {
			v += best(b.Mean) + b.value(o[i])
		} else {
			for _, g := range grid {
				v += g[1] * optimum(b.Seen(o[i], g[0]), rest(o, i), grid)
			}
		}
		top = max(top, v)
	}
	return top
}

// policy is what Choose comes to on average, costs paid.
func policy(b Belief, o []Option, grid [][2]float64) float64 {
	i := Choose(b, o, nil).Option
	if i < 0 {
		return best(b.Mean)
	}
	if len(o) == 1 {
		return best(b.Mean) + b.value(o[0]) - o[0].Cost
	}
	v := -o[i].Cost
	for _, g := range grid {
		v += g[1] * policy(b.Seen(o[i], g[0]), rest(o, i), grid)
	}
	return v
}

// On random small intakes the planner must come within 2 % of the attainable
// gain on average and never lose more than 0.03 % of power.
func TestRegretAgainstOptimum(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds of dynamic programming")
	}
	const cases = 100
	p := infer.Points(cases, 16, 3)
	attainable, regret, worst := 0.0, 0.0, 0.0
	for i := range cases {
		b, o := random(p[i*16:(i+1)*16], i%2 == 0)
		most, got, start := optimum(b, o, coarse), policy(b, o, coarse), best(b.Mean)
		attainable += most - start
		regret += most - got
		worst = max(worst, most-got)
	}
	t.Logf("mean attainable gain %.4f, mean regret %.2f %% of it, worst %.4f", attainable/cases, 100*regret/attainable, worst)
	if share := regret / attainable; share > 0.02 {
		t.Errorf("mean regret = %.2f %% of the attainable gain, want at most 2 %%", 100*share)
	}
	if worst > 0.03 {
		t.Errorf("worst regret = %.4f, want at most 0.03", worst)
	}
}

// random makes an intake of four losses with three taps; every second one has
// its total measured already.
func random(u []float64, total bool) (Belief, []Option) {
	m, s := make([]float64, 4), infer.NewMatrix(4, 4)
	sum := 0.09
	for i := range m {
		m[i] = 1 + 4*u[i]
		sd := 0.5 + 1.5*u[4+i]
		s.Set(i, i, sd*sd)
		sum += sd * sd
	}
	if total {
		v := []float64{s.At(0, 0), s.At(1, 1), s.At(2, 2), s.At(3, 3)}
		for i := range v {
			for j := range v {
				s.Add(i, j, -v[i]*v[j]/sum)
			}
		}
	}
	var a [][]float64
	var c []float64
	for i := range m {
		row := make([]float64, 4)
		row[i] = 0.1 + 0.2*u[8+i]
		a, c = append(a, row), append(c, row[i]*m[i]*(0.6+0.4*u[12+i%4]))
	}
	a, c = append(a, make([]float64, 4)), append(c, 0)
	prices := []float64{.02, .05, .12}
	b := linear(m, s, a, c, [][]float64{{1, 0, 0, 0}, {1, 1, 0, 0}, {1, 1, 1, 0}})
	return b, options(0.09, prices[int(u[12]*3)], prices[int(u[13]*3)], prices[int(u[14]*3)])
}

func TestPerfect(t *testing.T) {
	got := Perfect([][]float64{{1, 0, 2, 1}, {0, 3, 0, 1}}, []float64{.25, .25, .25, .25})
	near(t, "perfect", got, (1+3+2+1)/4.0-1, 1e-12)
}
