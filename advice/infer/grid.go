package infer

import "math"

// bins is how finely the loss of a group is cut up. Step: a few pascals,
// well below what a low-range gauge can tell.
const bins = 400

// draw turns a number between 0 and 1 into a loss. Each state has its part of
// the numbers, so the loss does not rise with u throughout.
func (p Piece) draw(u float64) float64 {
	last := len(p) - 1
	for _, s := range p[:last] {
		if u < s.Share {
			return s.draw(u / s.Share)
		}
		u -= s.Share
	}
	return p[last].draw(min(u/p[last].Share, 1-1e-12))
}

func (s State) draw(u float64) float64 { return s.Median * math.Exp(s.LogSD*NormalQuantile(u)) }

// Chance is the chance that the piece is in state k, given that it loses x at
// the nominal scale.
func (p Piece) Chance(k int, x float64) float64 {
	ln, all, own := math.Log(x), 0.0, 0.0
	for i, s := range p {
		d := s.Share / s.LogSD * NormalPDF((ln-math.Log(s.Median))/s.LogSD)
		all += d
		if i == k {
			own = d
		}
	}
	if all == 0 { // far beyond every state: the widest one reaches there
		return p.widestIs(k)
	}
	return own / all
}

func (p Piece) widestIs(k int) float64 {
	for _, s := range p {
		if s.LogSD > p[k].LogSD {
			return 0
		}
	}
	return 1
}

// Moments are mean and variance of the loss of a piece before any reading.
func (p Piece) Moments() (mean, variance float64) {
	second := 0.0
	for _, s := range p {
		m, v := lognormal(s.Median, s.LogSD)
		mean += s.Share * m
		second += s.Share * (v + m*m)
	}
	return mean, second - mean*mean
}

func lognormal(median, s float64) (mean, variance float64) {
	mean = median * math.Exp(s*s/2)
	return mean, mean * mean * math.Expm1(s*s)
}

// group is a set of pieces of which the readings show only the sum. Its
// tables hold chances a bin, on a common step; bin i of one piece stands for
// the loss (i+1/2) step, bin s of a sum of n pieces for (s+n/2) step.
type group struct {
	at      []int // pieces
	moves   int   // 0 with the air speed, 1 with the flow alone
	step    float64
	piece   [][]float64 // chances of each piece
	inner   [][]float64 // of each piece, running sums within the first bins
	widest  int         // the piece that takes up what is left within a bin
	sum     [][]float64 // sum[k]: chances of the first k+1 pieces together
	splits  [][][]float64
	density []float64 // the last of sum, nowhere nought
	mean    float64
	spread  float64 // variance
}

func newGroup(pieces []Piece, at []int, top float64) *group {
	n := float64(len(at))
	g := &group{at: at, step: top / (bins - 1 + n/2)}
	whole, part := logs(bins, g.step), logs(fineBins*fineParts, g.step/fineParts)
	widest := -1.0
	for k, c := range at {
		g.piece = append(g.piece, tabulate(pieces[c], whole))
		g.inner = append(g.inner, within(pieces[c], part))
		if _, v := pieces[c].Moments(); v > widest {
			widest, g.widest = v, k
		}
		if k == 0 {
			g.sum = append(g.sum, g.piece[0])
			continue
		}
		g.sum = append(g.sum, convolve(g.sum[k-1], g.piece[k]))
	}
	g.splits = make([][][]float64, len(at))
	g.density = append([]float64(nil), g.sum[len(at)-1]...)
	for s := range g.density {
		g.density[s] = max(g.density[s], never)
	}
	g.moments()
	return g
}

// never is the least chance that a bin is given, so that no prior forbids what
// the readings show.
const never = 1e-12

// logs are the logarithms of the upper edges of n bins.
func logs(n int, step float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.Log(float64(i+1) * step)
	}
	return out
}

// tabulate gives the chance of each bin. What lies beyond the last bin is
// left out: no reading allows it.
func tabulate(p Piece, edges []float64) []float64 {
	out := make([]float64, len(edges))
	for _, s := range p {
		middle, below := math.Log(s.Median), 0.0
		for i, ln := range edges {
			upto := fastCDF((ln - middle) / s.LogSD)
			out[i] += s.Share * (upto - below)
			below = upto
		}
	}
	return out
}

// fastCDF is NormalCDF from a table, straight between its points: right to
// 2e-6, which no bin's chance notices.
func fastCDF(z float64) float64 {
	x := (z + cdfReach) * cdfPoints / (2 * cdfReach)
	if x <= 0 {
		return 0
	}
	if x >= cdfPoints {
		return 1
	}
	i := int(x)
	return cdfTable[i] + (x-float64(i))*(cdfTable[i+1]-cdfTable[i])
}

const (
	cdfReach  = 7.0
	cdfPoints = 2048
)

var cdfTable = func() (t [cdfPoints + 1]float64) {
	for i := range t {
		t[i] = NormalCDF(cdfReach * (2*float64(i)/cdfPoints - 1))
	}
	return t
}()

// The first fineBins bins of a piece are cut into fineParts parts each: a small
// loss can lie in them entirely.
const fineBins, fineParts = 12, 8

// within is the running sum of chances over the parts of the first bins, each
// bin for itself.
func within(p Piece, edges []float64) []float64 {
	out := tabulate(p, edges)
	for i := range out {
		if i%fineParts > 0 {
			out[i] += out[i-1]
		}
	}
	return out
}

// place is where in bin i piece k lies, 0 to 1, for a number u between 0 and 1.
func (g *group) place(k, i int, u float64) float64 {
	if i >= fineBins {
		return u
	}
	t := g.inner[k][i*fineParts : (i+1)*fineParts]
	all := t[fineParts-1]
	if !(all > 0) {
		return u
	}
	part := search(t, u*all)
	before := 0.0
	if part > 0 {
		before = t[part-1]
	}
	return (float64(part) + (u*all-before)/max(t[part]-before, 1e-300)) / fineParts
}

func convolve(a, b []float64) []float64 {
	const nothing = 1e-12
	out := make([]float64, len(a))
	for i, x := range a {
		if x < nothing {
			continue
		}
		for j, y := range b[:len(b)-i] {
			out[i+j] += x * y
		}
	}
	return out
}

// value of bin s of the whole group.
func (g *group) value(s float64) float64 { return (s + float64(len(g.at))/2) * g.step }

func (g *group) moments() {
	total, m, v := 0.0, 0.0, 0.0
	for s, w := range g.density {
		x := g.value(float64(s))
		total += w
		m += w * x
		v += w * x * x
	}
	g.mean = m / total
	g.spread = max(v/total-g.mean*g.mean, g.step*g.step/12)
}

// split draws bins of the single pieces that add up to bin s of the whole.
// Random numbers come from next, one a piece but the first.
func (g *group) split(s int, out []int, next func() float64) {
	for k := len(g.at) - 1; k > 0; k-- {
		table := g.splitTable(k, s)
		i := search(table, next()*table[len(table)-1])
		out[k] = i
		s -= i
	}
	out[0] = s
}

// splitTable is the running sum over i of piece k in bin i and the pieces
// before it in bin s-i. Tables are worked out when first asked for.
func (g *group) splitTable(k, s int) []float64 {
	if g.splits[k] == nil {
		g.splits[k] = make([][]float64, bins)
	}
	if t := g.splits[k][s]; t != nil {
		return t
	}
	t := make([]float64, s+1)
	run := 0.0
	for i := range t {
		run += g.piece[k][i] * g.sum[k-1][s-i]
		t[i] = run
	}
	if run <= 0 { // beyond the reach of the tables: any split is as good
		for i := range t {
			t[i] = float64(i + 1)
		}
	}
	g.splits[k][s] = t
	return t
}

// search is the first place in the rising table that reaches x.
func search(table []float64, x float64) int {
	low, high := 0, len(table)-1
	for low < high {
		mid := (low + high) / 2
		if table[mid] < x {
			low = mid + 1
		} else {
			high = mid
		}
	}
	return low
}
