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
	// A few draws show whether aim is needed at all; where few carry all the weight,
	// draws about those are the first cure, more draws the second.
	all := s.draws
	s.draws, s.scouting = pilot, true
	out := s.run()
	if out.Effective() < pilot*enough/DefaultDraws {
		s.takeAim(out)
	}
	s.draws, s.scouting = all, false
	if out = s.run(); out.Effective() < enough {
		s.takeAim(out)
		out = s.run()
	}
	if out.Effective() < enough {
		s.draws *= 4
		out = s.run()
	}
	return out, nil
}

// enough is the number of effective draws below which Solve tries to do better.
const enough = 400

// pilot is the number of draws that go ahead of the others.
const pilot = 128

func first(n, other int) int {
	if n > 0 {
		return n
	}
	return other
}

type solver struct {
	Problem
	aims     [3]aim // for flow, common factor and air speed
	draws    int
	scouting bool // only what the draws share and their weights are wanted
	classes  [][]int
	seen     []bool
	groups   []*group // in the order in which they are drawn
	steps    []step

	read   []Reading // those that gave a value
	noise  Matrix    // of those
	bounds []bound

	// The log density of the values read is constant + b·v - v·A v/2 with v the
	// groups' losses and, last, the square of the air speed over the nominal one.
	a        Matrix
	b        []float64
	constant float64
	shared   []sharedStep
}

// aim is where a factor of mean nought and variance one is drawn, and how widely.
type aim struct{ at, width float64 }

// draw turns an even number into the factor and gives the logarithm of its
// density over that with which it was drawn.
func (a aim) draw(u float64) (z, weight float64) {
	n := NormalQuantile(u)
	z = a.at + a.width*n
	return z, (n*n-z*z)/2 + math.Log(a.width)
}

// takeAim draws what all losses share where earlier draws found it to be, a bit
// more widely: what lies outside costs only draws.
func (s *solver) takeAim(out Posterior) {
	const wider, least, most = 1.3, 0.3, 1.5
	for k, sd := range []float64{s.FlowSD, s.CommonSD, s.PaceSD} {
		if sd == 0 {
			continue
		}
		mean, second := 0.0, 0.0
		for i, w := range out.Weight {
			z := out.factor(k, i) / sd
			mean, second = mean+w*z, second+w*z*z
		}
		spread := math.Sqrt(max(second-mean*mean, 0))
		s.aims[k] = aim{mean, min(max(wider*spread, least), most)}
	}
}

// factor is the logarithm of flow, common factor or air speed in draw i.
func (p Posterior) factor(k, i int) float64 {
	switch k {
	case 0:
		return math.Log(p.Flow[i])
	case 1:
		return math.Log(p.Scale[i] / (p.Flow[i] * p.Flow[i]))
	}
	return math.Log(p.Pace[i])
}

// step draws one group given those before it: y + flow*square of the flow +
// scale*common factor of the losses, by what moves with the air speed and what
// doesn't, + what goes before make the mean of the values' part; precision is its precision. Each bound that spans the group
// bears on it too.
type step struct {
	y, flow   float64
	scale     [2]float64
	before    []float64
	precision float64
	ahead     []ahead
}

// bound is a reading that says only on which side of a value the truth lies:
// above with sign 1, below with -1. Its error counts as its own.
type bound struct {
	spans          []float64 // 1 for each group that it spans
	at, head, sign float64
	sd             float64
}

// ahead is a bound as one step sees it: groups still to come count with their
// means and variances.
type ahead struct {
	*bound
	mean, variance float64 // of what is still to come
}

type sharedStep struct {
	constant float64
	row      []float64
	sd       float64
}

func newSolver(p Problem) (*solver, error) {
	s := &solver{Problem: p, aims: [3]aim{{0, 1}, {0, 1}, {0, 1}}, draws: first(p.Draws, DefaultDraws)}
	s.classes, s.seen = p.classes()
	s.takeValues()
	cr, ok := Cholesky(s.noise)
	if !ok {
		return nil, ErrSingular
	}
	for _, at := range s.classes {
		for moves, some := range p.bySpeed(at) {
			if len(some) > 0 {
				g := newGroup(p.Pieces, some, s.top(at))
				g.moves = moves
				s.groups = append(s.groups, g)
			}
		}
	}
	y := make([]float64, len(s.read))
	for j, r := range s.read {
		y[j] = r.Value
	}
	s.order(cr, y)
	s.density(cr, y)
	s.share(cr, y)
	s.lookAhead()
	return s, nil
}

// takeValues parts the readings that gave a value from the bounds.
func (s *solver) takeValues() {
	var at []int
	for j, r := range s.Readings {
		if r.Bound == Value {
			at = append(at, j)
			s.read = append(s.read, r)
		}
	}
	s.noise = NewMatrix(len(at), len(at))
	for i, j := range at {
		for k, l := range at {
			s.noise.Set(i, k, s.Noise.At(j, l))
		}
	}
}

// lookAhead tells each step what bounds bear on its group.
func (s *solver) lookAhead() {
	for _, b := range s.takeBounds() {
		a := ahead{bound: b}
		for t := len(s.groups) - 1; t >= 0; t-- {
			g := s.groups[t]
			if b.spans[t] == 0 {
				continue
			}
			s.steps[t].ahead = append(s.steps[t].ahead, a)
			a.mean += g.mean
			a.variance += g.spread
		}
		s.bounds = append(s.bounds, *b)
	}
}

// takeBounds makes one bound of all that say the same of the same stretch: what
// makes a needle leave its scale in one run does so in the next, so repeats are no
// further evidence.
func (s *solver) takeBounds() []*bound {
	type key struct {
		from, to int
		side     Bound
	}
	at := map[key]*bound{}
	count := map[*bound]float64{}
	var out []*bound
	for j, r := range s.Readings {
		if r.Bound == Value {
			continue
		}
		k := key{r.From, r.To, r.Bound}
		b, seen := at[k]
		if !seen {
			b = s.newBound(r)
			at[k] = b
			out = append(out, b)
		}
		n := count[b]
		count[b]++
		b.at, b.head = (b.at*n+r.Value)/(n+1), (b.head*n+r.Head)/(n+1)
		b.sd = math.Sqrt((b.sd*b.sd*n + s.Noise.At(j, j)) / (n + 1))
	}
	return out
}

func (s *solver) newBound(r Reading) *bound {
	b := &bound{sign: 1, spans: make([]float64, len(s.groups))}
	if r.Bound == AtMost {
		b.sign = -1
	}
	for t, g := range s.groups {
		if r.spans(g.at[0]) {
			b.spans[t] = 1
		}
	}
	return b
}

// top is a loss at the nominal flow that the group will not exceed.
func (s *solver) top(at []int) float64 {
	least, prior := 0.0, 0.0
	for _, c := range at {
		m, v := s.Pieces[c].Moments()
		prior += m + 6*math.Sqrt(v)
	}
	low := math.Exp(-6 * math.Hypot(s.FlowSD, s.PaceSD))
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
		found = max(prior, least)
	}
	return max(found, 1)
}

// design is the row of reading j over v.
func (s *solver) design() Matrix {
	n := len(s.groups)
	d := NewMatrix(len(s.read), n+1)
	for j, r := range s.read {
		for k, g := range s.groups {
			if r.spans(g.at[0]) {
				d.Set(j, k, 1)
			}
		}
		d.Set(j, n, r.Head)
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
	h := make([]float64, len(s.read))
	for j, r := range s.read {
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
	for j, r := range s.read {
		out.flow -= st.weight[j] * r.Head / p
	}
	for _, later := range st.later {
		out.scale[later.moves] -= dot(st.weight, s.column(later)) * later.mean / p
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
// which is linear in v.
func (s *solver) share(cr Matrix, y []float64) {
	d := s.design()
	for _, sh := range s.Shared {
		var cov []float64
		for j, r := range s.Readings {
			if r.Bound == Value {
				cov = append(cov, sh.Cov[j])
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
