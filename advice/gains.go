package advice

import (
	"math"

	"dropwalk/advice/assessment"
	"dropwalk/advice/infer"
	"dropwalk/advice/model"
	"dropwalk/advice/power"
	"dropwalk/advice/stats"
)

// planExponent stands in for the exponent of power over pressure where nothing
// honest can be said about power: it only weighs one decision against another.
// Its middle is that of a natural engine, so that a tester who knows little is
// led on to measure and not to change a piece on a guess.
var planExponent = power.Band{Median: 1.1, Low: 0.2, High: 1.5}

// weighGains works out, draw by draw, the total, what can be won back and how
// strongly power answers.
func (j *judge) weighGains() {
	r := j.car.Engine.Response()
	j.known, j.gainNote = r.Known, r.Note
	band := r.Exponent
	if !r.Known {
		band = planExponent
	}
	j.middle = band.Median
	n := len(j.post.Weight)
	j.total, j.answer, j.open = make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		j.open[i] = infer.NormalQuantile(j.post.Extra[1][i])
		j.answer[i] = band.At(j.post.Extra[0][i])
	}
	for c := range j.car.Pieces {
		for i, x := range j.post.X[c] {
			j.total[i] += x
		}
		j.back = append(j.back, j.recoverable(c))
	}
}

// recoverable is the part of a component's loss that a well-made one of the
// same size would not have. Where a size is a guess, a large loss can mean a
// small size, and then the best that can be reached is larger too; unless the
// component is spoilt, which has nothing to do with its size.
func (j *judge) recoverable(c int) []float64 {
	p := j.car.Pieces[c]
	out := make([]float64, len(j.post.Weight))
	if p.Fixed {
		return out
	}
	spoilt := newLookup(p, func(x float64) float64 { return p.States.Chance(model.Spoilt, x) })
	for i, x := range j.post.X[c] {
		best := p.Best * square(j.post.Flow[i]*j.pace(c, i))
		if p.Doubt == 0 {
			out[i] = max(0, x-best)
			continue
		}
		size := x / (p.Median * j.post.Scale[i] * square(j.pace(c, i)))
		s := spoilt.at(size)
		out[i] = s*max(0, x-best) + (1-s)*max(0, x-best*math.Pow(min(size, sizeMost), p.Doubt))
	}
	return out
}

// pace is the air speed in draw i over the usual one, as the loss of component c
// feels it.
func (j *judge) pace(c, i int) float64 {
	if j.car.Pieces[c].Steady {
		return 1
	}
	return j.post.Pace[i]
}

// sizeMost is how far above the handbook an unknown size can explain a loss.
const sizeMost = 4.0

// lookup is a function of a loss over the handbook's, tabled by its logarithm.
type lookup [64]float64

const lookupReach = 4.0 // in logarithms, both ways

func newLookup(p model.Piece, f func(pa float64) float64) *lookup {
	if p.Doubt == 0 {
		return nil
	}
	var l lookup
	for i := range l {
		l[i] = f(p.Median * math.Exp(lookupReach*(2*float64(i)/(float64(len(l))-1)-1)))
	}
	return &l
}

func (l *lookup) at(size float64) float64 {
	i := (math.Log(size)/lookupReach + 1) / 2 * float64(len(l)-1)
	return l[min(max(int(i+0.5), 0), len(l)-1)]
}

// percent is the gain in % of power when back Pa of a total loss come back:
// the pressure ahead of the engine over what it was, to the exponent. Less loss
// draws more air, which loses more elsewhere: the flow that settles is that
// of power.Settle to first order, with a the exponent of the flow.
func percent(pressure, total, back, exponent, a float64) float64 {
	was := max(pressure-total, 0.1*pressure)
	left := total - back
	more := a * back / was / (1 + 2*a*left/was)
	now := pressure - left*(1+2*more)
	return 100 * math.Expm1(exponent*math.Log1p((now-was)/was))
}

// gains of winning back[i] in draw i.
func (j *judge) gains(back []float64) []float64 {
	a, _ := j.car.Engine.FlowResponse()
	out := make([]float64, len(back))
	for i, b := range back {
		if b > 0 {
			out[i] = max(0, percent(j.car.Air.Pressure, j.total[i], b, j.answer[i], a.Median))
		}
	}
	return out
}

// worths are the gains of winning back[i] at the middle exponent, for planning.
func (j *judge) worths(back []float64) []float64 {
	out := make([]float64, len(back))
	for i, b := range back {
		out[i] = 100 * j.middle * b / max(j.car.Air.Pressure-j.total[i], 1e4)
	}
	return out
}

func (j *judge) mean(x []float64) float64 {
	s := 0.0
	for i, w := range j.post.Weight {
		s += w * x[i]
	}
	return s
}

// most is, draw by draw, the most that one of these components can give back.
func (j *judge) most(pieces []int) []float64 {
	top := make([]float64, len(j.post.Weight))
	for _, c := range pieces {
		for i, b := range j.back[c] {
			top[i] = max(top[i], b)
		}
	}
	return top
}

// best is the component to change first, -1 where none gives anything back: of
// the block whose worst component is expected to give back most, the one that is
// expected to give back most itself. No tap parts the components of a block;
// who works on one looks at all of it.
func (j *judge) best() int {
	most, at := 0.0, -1
	for k, b := range j.blocks {
		if m := j.mean(j.most(b)); m > most {
			most, at = m, k
		}
	}
	if at < 0 {
		return -1
	}
	return j.bestOf(j.blocks[at])
}

// bestOf is the component of a block that is expected to give back most.
func (j *judge) bestOf(block []int) int {
	most, at := -1.0, -1
	for _, c := range block {
		if m := j.mean(j.back[c]); m > most {
			most, at = m, c
		}
	}
	return at
}

// blocksOf are runs of neighbours that no tap can part, what is fixed left out.
func blocksOf(car *model.Car) [][]int {
	var out [][]int
	open := false
	for c, p := range car.Pieces {
		if !p.Fixed {
			if !open {
				out = append(out, nil)
				open = true
			}
			out[len(out)-1] = append(out[len(out)-1], c)
		}
		if car.Stations[c+1].Tap != "none" {
			open = false
		}
	}
	return out
}

// chanceWorth is the chance that some component gives back what is worth having.
// Neighbours that no tap can part count as one: nobody can change the right one of
// them for certain without changing them all.
func (j *judge) chanceWorth() float64 {
	top := make([]float64, len(j.post.Weight))
	for _, b := range j.blocks {
		for i, x := range j.allOf(b) {
			top[i] = max(top[i], x)
		}
	}
	s := 0.0
	for i, g := range j.gains(top) {
		if g >= j.Worth {
			s += j.post.Weight[i]
		}
	}
	return s
}

// allOf is, draw by draw, what these components can give back between them.
func (j *judge) allOf(pieces []int) []float64 {
	out := make([]float64, len(j.post.Weight))
	for _, c := range pieces {
		for i, b := range j.back[c] {
			out[i] += b
		}
	}
	return out
}

func (j *judge) gainOf(c int) assessment.Gain { return j.gain(j.back[c]) }

// gainAll is what comes back if everything recoverable is won.
func (j *judge) gainAll() assessment.Gain {
	all := make([]int, len(j.back))
	for c := range all {
		all[c] = c
	}
	return j.gain(j.allOf(all))
}

func (j *judge) gain(back []float64) assessment.Gain {
	g := assessment.Gain{Note: j.gainNote}
	// power.Gain knows where the formulas end.
	if limit := j.car.Engine.Gain(j.car.Air.Pressure, j.mean(j.total), j.mean(j.total)-j.mean(back)); !limit.Known {
		g.Note = limit.Note
		return g
	}
	gains := j.gains(back)
	g.PowerPercent = new(j.estimate(gains))
	if j.car.Engine.Response().Exponent.Low == 0 {
		g.PowerPercent.Low = 0 // it may all be made good for
	}
	if p := j.car.Sheet.Car.Engine.PeakPower; p.Known() && p.SI > 0 {
		for i := range gains {
			gains[i] *= p.SI / 1000 / 100
		}
		g.PowerKW = new(j.estimate(gains))
		if g.PowerPercent.Low == 0 {
			g.PowerKW.Low = 0
		}
	}
	return g
}

// estimate is the middle and the central 90 % of what the draws hold.
func (j *judge) estimate(x []float64) assessment.Estimate {
	q := infer.Quantiles(x, j.post.Weight, 0.05, 0.5, 0.95)
	return assessment.Estimate{Median: tidy(q[1]), Low: tidy(q[0]), High: tidy(q[2])}
}

// tidy keeps six digits: more would only show the last bits of the machine. What is no
// finite number becomes nought.
func tidy(x float64) float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return 0
	}
	return stats.Digits(x, 6)
}
