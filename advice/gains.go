package advice

import (
	"math"

	"dropwalk/advice/assessment"
	"dropwalk/advice/infer"
	"dropwalk/advice/power"
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
	j.total, j.answer = make([]float64, n), make([]float64, n)
	for i := range n {
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
// same size would not have. Where the bore is a guess, the best that can be
// reached moves with what the loss turned out to be.
func (j *judge) recoverable(c int) []float64 {
	p := j.car.Pieces[c]
	out := make([]float64, len(j.post.Weight))
	if p.Fixed {
		return out
	}
	for i, x := range j.post.X[c] {
		head := square(j.post.Flow[i])
		best := p.Best * head
		if p.Doubt > 0 {
			best *= math.Pow(min(x/(p.Median*head), doubtMost), p.Doubt)
		}
		out[i] = max(0, x-best)
	}
	return out
}

// doubtMost is how far above the handbook an unknown bore can explain a loss.
const doubtMost = 3.0

// percent is the gain in % of power when back Pa of a total loss come back:
// the pressure ahead of the engine over what it was, to the exponent. Less loss
// draws more air, which loses more elsewhere: the flow that settles is that
// of power.Settle to first order, with a the exponent of the flow.
func percent(pressure, total, back, exponent, a float64) float64 {
	was := max(pressure-total, 0.1*pressure)
	left := total - back
	more := a * back / was / (1 + 2*a*left/was)
	return 100 * (math.Pow((pressure-left*(1+2*more))/was, exponent) - 1)
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

// best is the component expected to give back most, -1 where none gives any.
func (j *judge) best() int {
	most, at := 0.0, -1
	for c := range j.back {
		if m := j.mean(j.back[c]); m > most {
			most, at = m, c
		}
	}
	return at
}

// chanceWorth is the chance that some component gives back what is worth having.
func (j *judge) chanceWorth() float64 {
	top := make([]float64, len(j.post.Weight))
	for _, back := range j.back {
		for i, b := range back {
			top[i] = max(top[i], b)
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

func (j *judge) gainOf(c int) assessment.Gain { return j.gain(j.back[c]) }

// gainAll is what comes back if everything recoverable is won.
func (j *judge) gainAll() assessment.Gain {
	all := make([]float64, len(j.post.Weight))
	for _, back := range j.back {
		for i, b := range back {
			all[i] += b
		}
	}
	return j.gain(all)
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
	if p := j.car.Sheet.Car.Engine.PeakPower; p.Known() && p.SI > 0 {
		for i := range gains {
			gains[i] *= p.SI / 1000 / 100
		}
		g.PowerKW = new(j.estimate(gains))
	}
	return g
}

// estimate is the middle and the central 90 % of what the draws hold.
func (j *judge) estimate(x []float64) assessment.Estimate {
	q := infer.Quantiles(x, j.post.Weight, 0.05, 0.5, 0.95)
	return assessment.Estimate{Median: tidy(q[1]), Low: tidy(q[0]), High: tidy(q[2])}
}

// tidy keeps six digits: more would only show the last bits of the machine.
func tidy(x float64) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	unit := math.Pow(10, 5-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*unit) / unit
}
