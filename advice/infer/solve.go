package infer

import (
	"math"
)

// Solve works out what the readings say of each piece. The pieces that no
// reading tells apart form a group; the losses of the groups are drawn one
// after the other, each from its own prior times what the readings allow
// while the groups still to come are taken as normal; weights put right what
// that leaves wrong. Then each group is split by its pieces' priors, exactly.
// Pieces that no reading spans follow their prior.
//
// It returns ErrSingular where Noise is not positive definite.
func Solve(p Problem) (Posterior, error) {
	s, err := newSolver(p)
	if err != nil {
		return Posterior{}, err
	}
	out := s.run()
	// Where few draws carry all the weight, more draws are the cure.
	for n := 4; n <= 4 && out.Effective() < enough; n *= 4 {
		s.draws = n * first(p.Draws, DefaultDraws)
		out = s.run()
	}
	return out, nil
}

// enough is the number of effective draws below which Solve draws more.
const enough = 600

func first(n, other int) int {
	if n > 0 {
		return n
	}
	return other
}

type solver struct {
	Problem
	draws   int
	classes [][]int
	seen    []bool
	groups  []*group // in the order in which they are drawn
	steps   []step
	bounds  []bound

	// The readings' log density is constant + b·v - v·A v/2 with v the groups'
	// losses, the square of the flow, and what the bounds truly are.
	a        Matrix
	b        []float64
	constant float64
	shared   []sharedStep
}

// step draws one group given those before it: y + flow*square of the flow +
// scale*common factor of the losses + what goes before and what the bounds are
// make the mean of the readings' part; precision is its precision.
type step struct {
	y, flow, scale float64
	before, bound  []float64
	precision      float64
}

// bound is a reading that says only on which side of a value the truth lies.
// Its truth is drawn too, from a distribution with a long tail on that side,
// and then counts as a value read: the weights put right what it was drawn from.
type bound struct {
	reading         int
	at, sign, width float64
}

// excess turns a number between 0 and 1 into how far beyond the bound the truth
// lies, and gives the logarithm of the density of that: Lomax's distribution,
// whose tail falls with the fourth power.
func (b bound) excess(u float64) (e, logDensity float64) {
	const tail = 3
	r := math.Pow(1-min(u, 1-1e-12), -1.0/tail)
	return b.width * (r - 1), math.Log(tail/b.width) - (tail+1)*math.Log(r)
}

type sharedStep struct {
	constant float64
	row      []float64
	sd       float64
}

func newSolver(p Problem) (*solver, error) {
	s := &solver{Problem: p, draws: first(p.Draws, DefaultDraws)}
	s.classes, s.seen = p.classes()
	cr, ok := Cholesky(s.Noise)
	if !ok {
		return nil, ErrSingular
	}
	for j := range s.Readings {
		if s.Readings[j].Bound != Value {
			s.bounds = append(s.bounds, s.bound(j))
		}
	}
	for _, at := range s.classes {
		s.groups = append(s.groups, newGroup(p.Pieces, at, s.top(at)))
	}
	y := s.values()
	s.order(cr, y)
	s.density(cr, y)
	s.share(cr, y)
	return s, nil
}

// values are the readings; the truth behind a bound stands in v instead.
func (s *solver) values() []float64 {
	y := make([]float64, len(s.Readings))
	for j, r := range s.Readings {
		if r.Bound == Value {
			y[j] = r.Value
		}
	}
	return y
}

// bound finds how far beyond it the truth is expected to lie, prior and the
// readings that gave a value taken as normal.
func (s *solver) bound(j int) bound {
	r := s.Readings[j]
	mean, variance := s.predict(j)
	sign := 1.0
	if r.Bound == AtMost {
		sign = -1
	}
	wide := math.Sqrt(variance)
	z := sign * (r.Value - mean) / wide
	beyond := wide / max(z, 0.1) // far out, what is left falls off exponentially
	if z < 4 {
		beyond = wide * (NormalPDF(z)/NormalCDF(-z) - z)
	}
	return bound{j, r.Value, sign, 2 * beyond}
}

// predict is the mean and variance of what reading j would show, given the
// readings that gave a value.
func (s *solver) predict(j int) (mean, variance float64) {
	var given []int
	for k, r := range s.Readings {
		if r.Bound == Value {
			given = append(given, k)
		}
	}
	c := NewMatrix(len(given), len(given))
	off, with := make([]float64, len(given)), make([]float64, len(given))
	for a, k := range given {
		m, _ := s.before(k, k)
		off[a] = s.Readings[k].Value - m
		_, with[a] = s.before(j, k)
		for b, l := range given {
			_, v := s.before(k, l)
			c.Set(a, b, v)
		}
	}
	mean, variance = s.before(j, j)
	if cr, ok := Cholesky(c); ok {
		w := CholeskySolve(cr, with)
		return mean + dot(w, off), max(variance-dot(w, with), s.Noise.At(j, j))
	}
	return mean, variance
}

// before is the mean of reading j and its covariance with reading k before
// anything is read, all normal.
func (s *solver) before(j, k int) (mean, cov float64) {
	other := 0.0
	cov = s.Noise.At(j, k)
	for c, p := range s.Pieces {
		m, v := p.Moments()
		if s.Readings[j].spans(c) {
			mean += m
		}
		if s.Readings[k].spans(c) {
			other += m
			if s.Readings[j].spans(c) {
				cov += v
			}
		}
	}
	cov += square(s.CommonSD)*mean*other + 4*square(s.FlowSD)*(mean+s.Readings[j].Head)*(other+s.Readings[k].Head)
	return mean + s.Readings[j].Head, cov
}

func square(x float64) float64 { return x * x }

// top is a loss at the nominal flow that the group will not exceed.
func (s *solver) top(at []int) float64 {
	least, prior := 0.0, 0.0
	for _, c := range at {
		m, v := s.Pieces[c].Moments()
		prior += m + 6*math.Sqrt(v)
	}
	low := math.Exp(-6 * s.FlowSD)
	small := low * math.Exp(-3*s.CommonSD) // of the factor between a loss and its nominal value
	found := math.Inf(1)
	for j, r := range s.Readings {
		if !r.spans(at[0]) {
			continue
		}
		sd := math.Sqrt(s.Noise.At(j, j))
		if r.Bound == AtLeast {
			least = max(least, (min(3*r.Value, max(1.5*r.Value, prior))+6*sd)/small)
			continue
		}
		found = min(found, (max(r.Value-r.Head*low, r.Value-r.Head/low, 0)+6*sd)/small)
	}
	if math.IsInf(found, 1) {
		found = prior
	}
	return max(found, least, 1)
}

// design is the row of reading j over v.
func (s *solver) design() Matrix {
	n := len(s.groups)
	d := NewMatrix(len(s.Readings), n+1+len(s.bounds))
	for j, r := range s.Readings {
		for k, g := range s.groups {
			if r.spans(g.at[0]) {
				d.Set(j, k, 1)
			}
		}
		d.Set(j, n, r.Head)
	}
	for k, b := range s.bounds {
		d.Set(b.reading, n+1+k, -1)
	}
	return d
}

// order sorts the groups so that what the readings fix best is drawn first,
// and works out each step on the way.
func (s *solver) order(cr Matrix, y []float64) {
	left := s.groups
	s.groups = nil
	base := multiply(cr)
	var stages []stage
	for len(left) > 0 {
		best := 0
		var at stage
		for i, g := range left {
			st := s.stage(g, left, base)
			if i == 0 || st.precision*g.spread > at.precision*left[best].spread {
				best, at = i, st
			}
		}
		s.groups = append(s.groups, left[best])
		left = append(append([]*group(nil), left[:best]...), left[best+1:]...)
		at.later = left
		stages = append(stages, at)
	}
	for t, st := range stages {
		s.steps = append(s.steps, s.step(t, st, y))
	}
}

// tails widens the groups that are still to come: they are taken as normal, and
// their tails are longer than that.
const tails = 2

// stage holds the weights of the readings for one group while later groups
// are still taken as normal.
type stage struct {
	weight    []float64
	precision float64
	later     []*group
}

func (s *solver) column(g *group) []float64 {
	h := make([]float64, len(s.Readings))
	for j, r := range s.Readings {
		if r.spans(g.at[0]) {
			h[j] = 1
		}
	}
	return h
}

func (s *solver) stage(g *group, left []*group, base Matrix) stage {
	m := base.Clone()
	for _, other := range left {
		if other == g {
			continue
		}
		h := s.column(other)
		for j, x := range h {
			for k, z := range h {
				m.Add(j, k, x*z*other.spread*tails)
			}
		}
	}
	c, ok := Cholesky(m)
	h := s.column(g)
	if !ok {
		return stage{weight: make([]float64, len(h))}
	}
	w := CholeskySolve(c, h)
	return stage{weight: w, precision: dot(w, h)}
}

func (s *solver) step(t int, st stage, y []float64) step {
	if st.precision <= 0 {
		return step{}
	}
	p := st.precision
	out := step{y: dot(st.weight, y) / p, precision: p}
	for j, r := range s.Readings {
		out.flow -= st.weight[j] * r.Head / p
	}
	for _, later := range st.later {
		out.scale -= dot(st.weight, s.column(later)) * later.mean / p
	}
	for _, g := range s.groups[:t] {
		out.before = append(out.before, -dot(st.weight, s.column(g))/p)
	}
	for _, b := range s.bounds {
		out.bound = append(out.bound, st.weight[b.reading]/p)
	}
	return out
}

// multiply is C Cᵀ.
func multiply(c Matrix) Matrix {
	out := NewMatrix(c.Rows, c.Rows)
	for i := range c.Rows {
		for j := range c.Rows {
			n := min(i, j) + 1
			out.Set(i, j, dot(c.Row(i)[:n], c.Row(j)[:n]))
		}
	}
	return out
}

func (s *solver) density(cr Matrix, y []float64) {
	w, b := whiten(cr, s.design(), y)
	s.a, s.b = gram(w), transposeTimes(w, b)
	s.constant = -dot(b, b) / 2
	for i := range cr.Rows {
		s.constant -= math.Log(cr.At(i, i)) + math.Log(2*math.Pi)/2
	}
}

// share prepares the shared unknowns: normal given the misfit of the readings,
// which is linear in v.
func (s *solver) share(cr Matrix, y []float64) {
	d := s.design()
	for _, sh := range s.Shared {
		w := CholeskySolve(cr, sh.Cov)
		row := transposeTimes(d, w)
		for i := range row {
			row[i] = -row[i]
		}
		left := max(0, sh.Var-dot(w, sh.Cov))
		s.shared = append(s.shared, sharedStep{dot(w, y), row, math.Sqrt(left)})
	}
}
