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
	for n := 4; n <= 16 && out.Effective() < enough*float64(s.draws)/float64(n/4); n *= 4 {
		s.draws = n * first(p.Draws, DefaultDraws)
		out = s.run()
	}
	return out, nil
}

// enough is the share of effective draws below which Solve draws more.
const enough = 0.1

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

	// The readings' log density is constant - (c - 2 b·v + v·A v)/2 with v the
	// groups' losses and, last, the square of the flow.
	a        Matrix
	b        []float64
	constant float64
	shared   []sharedStep
}

// step draws one group given those before it: mean = (y + flow*λ + Σ before·S)
// and precision are those of the readings' part.
type step struct {
	y, flow   float64
	before    []float64
	precision float64
}

type bound struct {
	row         []float64 // over the groups and the flow
	at, sd      float64
	sign        float64
	stand, wide float64 // the stand-in value under which it was drawn
}

type sharedStep struct {
	constant float64
	row      []float64
	sd       float64
}

func newSolver(p Problem) (*solver, error) {
	s := &solver{Problem: p, draws: first(p.Draws, DefaultDraws)}
	s.classes, s.seen = p.classes()
	y, noise := s.standIns()
	cr, ok := Cholesky(noise)
	if !ok {
		return nil, ErrSingular
	}
	for _, at := range s.classes {
		s.groups = append(s.groups, newGroup(p.Pieces, at, s.top(at)))
	}
	s.order(cr, y)
	s.density(cr, y)
	s.share(cr, y)
	s.bound()
	return s, nil
}

// standIns replaces each bound by a value that pulls the prior about as far
// as the bound does, under which it can be drawn; the weights bring the bound
// itself back in.
func (s *solver) standIns() (y []float64, noise Matrix) {
	noise = s.Noise.Clone()
	for j, r := range s.Readings {
		v := r.Value
		if r.Bound != Value {
			at, wide := s.site(j)
			for k := range s.Readings {
				noise.Set(j, k, 0)
				noise.Set(k, j, 0)
			}
			noise.Set(j, j, wide*wide)
			v = at
		}
		y = append(y, v)
	}
	return y, noise
}

// site is the normal reading (value, standard deviation) that would turn the
// prior of reading j, taken as normal, into the moments that the bound leaves
// it, with some room to spare for tails that are longer than normal ones.
func (s *solver) site(j int) (at, sd float64) {
	const room = 1.5
	mean, variance := s.Readings[j].Head, s.Noise.At(j, j)
	for c, p := range s.Pieces {
		if s.Readings[j].spans(c) {
			m, v := p.Moments()
			mean, variance = mean+m, variance+v
		}
	}
	sign := 1.0
	if s.Readings[j].Bound == AtMost {
		sign = -1
	}
	wide := math.Sqrt(variance)
	z := sign * (s.Readings[j].Value - mean) / wide // what lies above z is left
	hazard := NormalPDF(z) / max(NormalCDF(-z), 1e-12)
	if z > 6 {
		hazard = z + 1/z
	}
	left := mean + sign*wide*hazard
	spread := room * variance * max(1-hazard*(hazard-z), 0.02)
	precision := 1/spread - 1/variance
	if precision < 0.02/variance {
		return left, 10 * wide
	}
	return (left/spread - mean/variance) / precision, 1 / math.Sqrt(precision)
}

// top is a loss at the nominal flow that the group will not exceed.
func (s *solver) top(at []int) float64 {
	least := 0.0
	prior := 0.0
	for _, c := range at {
		m, v := s.Pieces[c].Moments()
		prior += m + 6*math.Sqrt(v)
	}
	low := math.Exp(-6 * s.FlowSD)
	found := math.Inf(1)
	for j, r := range s.Readings {
		if !r.spans(at[0]) {
			continue
		}
		sd := math.Sqrt(s.Noise.At(j, j))
		if r.Bound == AtLeast {
			least = max(least, 3*r.Value+6*sd)
			continue
		}
		found = min(found, max(r.Value-r.Head*low, r.Value-r.Head/low, 0)/low+6*sd)
	}
	if math.IsInf(found, 1) {
		found = prior
	}
	return max(found, least, 1)
}

// design is the row of reading j over the groups and the flow.
func (s *solver) design() Matrix {
	d := NewMatrix(len(s.Readings), len(s.groups)+1)
	for j, r := range s.Readings {
		for k, g := range s.groups {
			if r.spans(g.at[0]) {
				d.Set(j, k, 1)
			}
		}
		d.Set(j, len(s.groups), r.Head)
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
				m.Add(j, k, x*z*other.spread)
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
		out.flow -= dot(st.weight, s.column(later)) * later.mean / p
	}
	for _, g := range s.groups[:t] {
		out.before = append(out.before, -dot(st.weight, s.column(g))/p)
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
// which is linear in the groups' losses and the flow.
func (s *solver) share(cr Matrix, y []float64) {
	d := s.design()
	for _, sh := range s.Shared {
		cov := append([]float64(nil), sh.Cov...)
		for j, r := range s.Readings {
			if r.Bound != Value {
				cov[j] = 0
			}
		}
		w := CholeskySolve(cr, cov)
		row := transposeTimes(d, w)
		for i := range row {
			row[i] = -row[i]
		}
		left := max(0, sh.Var-dot(w, cov))
		s.shared = append(s.shared, sharedStep{dot(w, y), row, math.Sqrt(left)})
	}
}

func (s *solver) bound() {
	d := s.design()
	y, noise := s.standIns()
	for j, r := range s.Readings {
		if r.Bound == Value {
			continue
		}
		sign := 1.0
		if r.Bound == AtMost {
			sign = -1
		}
		s.bounds = append(s.bounds, bound{d.Row(j), r.Value, math.Sqrt(s.Noise.At(j, j)), sign, y[j], math.Sqrt(noise.At(j, j))})
	}
}
