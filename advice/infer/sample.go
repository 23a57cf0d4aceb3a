package infer

import "math"

// run draws s.draws points and weighs them.
func (s *solver) run() Posterior {
	n := s.draws
	width := 2 + len(s.groups) + len(s.Pieces) + s.Extra
	if s.PaceSD > 0 {
		width++
	}
	out := Posterior{
		Draws:  Draws{X: columns(len(s.Pieces), n), Weight: make([]float64, n), Share: 1},
		Flow:   make([]float64, n),
		Pace:   make([]float64, n),
		Scale:  make([]float64, n),
		Shared: columns(len(s.shared), n),
		Extra:  columns(s.Extra, n),
		Seen:   s.seen,
	}
	for _, sh := range s.shared {
		out.SharedSD = append(out.SharedSD, sh.sd)
	}
	for _, at := range s.classes {
		if len(at) > 1 {
			out.Groups = append(out.Groups, at)
		}
	}
	points := Points(n, width, s.Seed)
	w := newWorker(s)
	for i := range n {
		out.Weight[i] = w.draw(points[i*width:(i+1)*width], uint64(i)+uint64(s.Seed)<<32, out, i)
	}
	out.LogOdds = normalise(out.Weight)
	return out
}

// normalise turns logarithms into weights that add up to 1 and returns the
// logarithm of their mean.
func normalise(w []float64) float64 {
	top := math.Inf(-1)
	for _, x := range w {
		top = max(top, x)
	}
	if math.IsInf(top, -1) || math.IsNaN(top) {
		scale(w, 0)
		return math.Inf(-1)
	}
	sum := 0.0
	for i, x := range w {
		w[i] = math.Exp(x - top)
		sum += w[i]
	}
	n := float64(len(w))
	scale(w, sum)
	return top + math.Log(sum/n)
}

// worker holds the scratch space of one run.
type worker struct {
	*solver
	v     []float64 // losses of the groups and, last, the square of the air speed
	table []float64
	hold  []float64 // the chance of the bounds, by bin
	bin   []int
	parts []int
}

func newWorker(s *solver) *worker {
	return &worker{s, make([]float64, len(s.groups)+1), make([]float64, bins), make([]float64, bins), make([]int, len(s.groups)), make([]int, len(s.Pieces))}
}

// scales are what all losses and velocity heads of one draw share: heads is the
// square of the air speed, of the losses [0] is for what moves with it, [1] for
// what moves with the flow alone.
type scales struct {
	heads float64
	loss  [2]float64
}

// draw fills point i from the numbers u and returns the log of its weight.
func (w *worker) draw(u []float64, seed uint64, out Posterior, i int) float64 {
	var z [3]float64
	weight := 0.0
	for k, sd := range []float64{w.FlowSD, w.CommonSD, w.PaceSD} {
		if k == 2 && sd == 0 {
			break
		}
		x, more := w.aims[k].draw(u[0])
		z[k], weight, u = x*sd, weight+more, u[1:]
	}
	flow, pace := math.Exp(z[0]), math.Exp(z[2])
	common := flow * flow * math.Exp(z[1])
	sc := scales{flow * flow * pace * pace, [2]float64{common * pace * pace, common}}
	noise := chance{seed}
	out.Flow[i], out.Pace[i], out.Scale[i] = flow, pace, common
	w.v[len(w.groups)] = sc.heads
	for t, g := range w.groups {
		weight += w.drawGroup(t, g, u[t], sc, noise.next()-0.5)
	}
	weight += w.logDensity()
	if w.scouting {
		return weight
	}
	rest := u[len(w.groups):]
	for t, g := range w.groups {
		w.splitGroup(t, g, rest, sc.loss[g.moves], &noise, out, i)
	}
	for c, p := range w.Pieces {
		if !w.seen[c] {
			out.X[c][i] = sc.loss[w.moves(c)] * p.draw(rest[c])
		}
	}
	for k, sh := range w.shared {
		out.Shared[k][i] = sh.constant + dot(sh.row, w.v)
	}
	for k := range out.Extra {
		out.Extra[k][i] = rest[len(w.Pieces)+k]
	}
	return weight
}

// drawGroup draws the loss of group t into v and returns the logarithm of the
// chance of what it was drawn under over the normal part at the place drawn.
func (w *worker) drawGroup(t int, g *group, u float64, sc scales, jitter float64) float64 {
	st, scale := w.steps[t], sc.loss[g.moves]
	mean := st.y + st.flow*sc.heads + st.scale[0]*sc.loss[0] + st.scale[1]*sc.loss[1] + dot(st.before, w.v[:len(st.before)])
	d := g.step * scale
	precision := min(st.precision, 4/(d*d)) // no narrower than half a bin
	low, high, peak := reach(g, precision, mean, scale)
	table := w.table[:high-low+1]
	run := 0.0
	x := g.value(float64(low)) * scale
	weight := math.Exp(-precision * ((x-mean)*(x-mean) - peak) / 2)
	ratio := math.Exp(-precision * d * (x - mean + d/2))
	bend := math.Exp(-precision * d * d)
	for k, p := range g.density[low : high+1] {
		run += p * weight
		table[k] = run
		weight *= ratio
		ratio *= bend
	}
	if len(st.ahead) > 0 {
		run = w.respect(t, table, x, d, sc.heads, scale)
	}
	k := search(table, u*run)
	s := low + k
	w.bin[t] = s
	if len(g.at) == 1 {
		jitter = g.place(0, s, jitter+0.5) - 0.5
	}
	w.v[t] = (g.value(float64(s)) + jitter*g.step) * scale
	off := g.value(float64(s))*scale - mean
	return math.Log(max(run, 1e-300)) + precision*(off*off-peak)/2 - math.Log(w.foreseen(t, g.value(float64(s))*scale, sc.heads, scale))
}

// respect weighs the running sums in table by how likely the bounds are to hold
// and returns the new total. x is the loss of the first place, d the step.
func (w *worker) respect(t int, table []float64, x, d, square, scale float64) float64 {
	hold := w.hold[:len(table)]
	for k := range hold {
		hold[k] = 1
	}
	for _, a := range w.steps[t].ahead {
		w.hope(hold, a, w.known(t, a, square, scale)+x, d, scale)
	}
	before, run := 0.0, 0.0
	for k, upto := range table {
		run += (upto - before) * hold[k]
		before, table[k] = upto, run
	}
	return run
}

// hope multiplies hold by the chance that one bound holds, at the sum x and at
// each step d beyond it: as foreseen has it, but along a whole row.
func (w *worker) hope(hold []float64, a ahead, x, d, scale float64) {
	if a.variance == 0 {
		z, dz := a.sign*(x-a.at)/a.sd, a.sign*d/a.sd
		for k := range hold {
			hold[k] *= max(fastCDF(z+float64(k)*dz), never)
		}
		return
	}
	// An exponential along even steps is a geometric row; it is begun anew now and
	// then, so that no rounding builds up and nothing stays infinite.
	const anew = 16
	pace := -a.sign / math.Sqrt(a.sd*a.sd+a.variance*scale*scale) * logistic
	ratio, e := math.Exp(pace*d), 0.0
	for k := range hold {
		if k%anew == 0 {
			e = math.Exp(pace * (x - a.at + float64(k)*d))
		}
		hold[k] /= 1 + e
		e *= ratio
	}
}

// logistic turns a standard deviation into the pace of the logistic curve of
// that deviation.
const logistic = math.Pi / 1.7320508075688772

// known is what bound a spans so far: groups that are drawn with their losses,
// groups still to come with their means.
func (w *worker) known(t int, a ahead, square, scale float64) float64 {
	return dot(a.spans[:t], w.v[:t]) + a.head*square + a.mean*scale
}

// foreseen is the chance that the bounds on group t hold if it loses x, as far
// as that can be said yet.
func (w *worker) foreseen(t int, x, square, scale float64) float64 {
	chance := 1.0
	for _, a := range w.steps[t].ahead {
		known := w.known(t, a, square, scale) + x
		if a.variance == 0 {
			chance *= max(fastCDF(a.sign*(known-a.at)/a.sd), never)
			continue
		}
		// What is still to come has longer tails than normal: logistic, of the same
		// variance.
		z := a.sign * (known - a.at) / math.Sqrt(a.sd*a.sd+a.variance*scale*scale)
		chance *= 1 / (1 + math.Exp(-z*logistic))
	}
	return chance
}

// reach is the range of bins that the readings allow, and the square of the
// least distance from their mean at which there is a bin.
func reach(g *group, precision, mean, scale float64) (low, high int, peak float64) {
	const far = 5.0 // standard deviations
	first, last := g.value(0)*scale, g.value(bins-1)*scale
	nearest := min(max(mean, first), last)
	peak = (nearest - mean) * (nearest - mean)
	if precision <= 0 {
		return 0, bins - 1, 0
	}
	wide := math.Sqrt(peak + far*far/precision)
	d := g.step * scale
	low = int(math.Floor((mean - wide - first) / d))
	high = int(math.Ceil((mean + wide - first) / d))
	low, high = min(max(low, 0), bins-1), min(max(high, 0), bins-1)
	return low, high, peak
}

func (w *worker) splitGroup(t int, g *group, u []float64, scale float64, noise *chance, out Posterior, i int) {
	n := len(g.at)
	parts := w.parts[:n]
	k := 0
	g.split(w.bin[t], parts, func() float64 { k++; return u[g.at[k]] })
	left := w.v[t] / scale / g.step // bins
	for k, c := range g.at {
		if k == g.widest {
			continue
		}
		at := float64(parts[k]) + g.place(k, parts[k], noise.next())
		left -= at
		out.X[c][i] = at * g.step * scale
	}
	// The widest piece takes the rest: it varies little over a bin or two. Where
	// nothing is left for it, all give way alike.
	out.X[g.at[g.widest]][i] = max(left, 0) * g.step * scale
	if left < 0 {
		total := w.v[t] / scale / g.step
		for _, c := range g.at {
			out.X[c][i] *= total / (total - left)
		}
	}
}

func (w *worker) logDensity() float64 {
	sum := w.constant
	for i, x := range w.v {
		row := w.a.Row(i)
		sum += x * (w.b[i] - dot(row, w.v)/2)
	}
	for _, b := range w.bounds {
		n := len(w.groups)
		at := dot(b.spans, w.v[:n]) + b.head*w.v[n]
		sum += math.Log(max(NormalCDF(b.sign*(at-b.at)/b.sd), 1e-12))
	}
	return sum
}

// chance is a small stream of numbers that fill in below the width of a bin,
// where evenness does not matter: splitmix64.
type chance struct{ state uint64 }

func (c *chance) next() float64 {
	c.state += 0x9e3779b97f4a7c15
	z := c.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	z ^= z >> 31
	return float64(z>>11) / (1 << 53)
}
