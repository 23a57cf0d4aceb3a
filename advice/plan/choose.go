package plan

import (
	"cmp"
	"math"
	"slices"

	"dropwalk/advice/infer"
)

// Belief is what is believed of D decisions and T readings that could be
// taken: jointly normal, or taken as such.
type Belief struct {
	Mean    []float64    // expected value of each decision, D numbers
	Cov     infer.Matrix // D x T: covariance of decision and reading
	Reading infer.Matrix // T x T: covariance of what the readings would measure, own noise left out
}

// Option is one reading that could be taken.
type Option struct {
	Reading int     // its number in the Belief
	Noise   float64 // variance of its own noise over all its runs
	Cost    float64 // as things stand
}

// Choice is what Choose found.
type Choice struct {
	Option int     // number of the option to take, -1 to stop
	Pair   int     // another option that makes it worth while, -1 where it is so by itself
	Value  float64 // expected gain of the decision through the option, or the pair
	Net    float64 // Value less the cost
}

// Choose looks at every option and every pair of options and names the next
// one to take: of the set whose value exceeds its cost most, the member with
// the higher value for its cost. Ties go to the option that stands first.
// shared gives what the second of two options costs when the first has been
// taken (nil: its own cost): two readings may need the same tap.
func Choose(b Belief, options []Option, shared func(first, second int) float64) Choice {
	best := Choice{Option: -1, Pair: -1}
	single := make([]float64, len(options))
	for i, o := range options {
		single[i] = b.value(o)
		if net := single[i] - o.Cost; net > best.Net+tie {
			best = Choice{i, -1, single[i], net}
		}
	}
	pairs := b.shortlist(options)
	for n, i := range pairs {
		for _, j := range pairs[:n] {
			cost := options[i].Cost + options[j].Cost
			if shared != nil {
				cost = min(options[i].Cost+shared(i, j), options[j].Cost+shared(j, i))
			}
			v := b.pair(options[i], options[j])
			if net := v - cost; net > best.Net+tie {
				first, second := j, i
				if rate(single[i], options[i]) > rate(single[j], options[j]) {
					first, second = i, j
				}
				best = Choice{first, second, v, net}
			}
		}
	}
	return best
}

// mostPaired bounds the options of which pairs are tried: a path that long has
// many that hardly matter.
const mostPaired = 20

// shortlist is the options that move the decisions most, in their order.
func (b Belief) shortlist(options []Option) []int {
	list := make([]int, len(options))
	force := make([]float64, len(options))
	for i, o := range options {
		list[i] = i
		s := b.slopes(o)
		force[i] = slices.Max(s) - slices.Min(s)
	}
	if len(list) <= mostPaired {
		return list
	}
	slices.SortStableFunc(list, func(i, j int) int { return cmp.Compare(force[j], force[i]) })
	list = list[:mostPaired]
	slices.Sort(list)
	return list
}

// tie is the difference below which two plans count as equal, in % of power.
const tie = 1e-9

func rate(value float64, o Option) float64 { return value / max(o.Cost, 1e-6) }

// value of one option by itself.
func (b Belief) value(o Option) float64 { return Gain(b.Mean, b.slopes(o)) }

// Slopes is by how much each decision's expected value moves when the option
// turns out one standard deviation higher than expected.
func (b Belief) Slopes(o Option) []float64 { return b.slopes(o) }

func (b Belief) slopes(o Option) []float64 {
	out := make([]float64, len(b.Mean))
	sd := math.Sqrt(b.Reading.At(o.Reading, o.Reading) + o.Noise)
	if !(sd > 0) {
		return out
	}
	for d := range out {
		out[d] = b.Cov.At(d, o.Reading) / sd
	}
	return out
}

// nodes stand for the outcome of the first of two readings: the middles of
// equal shares of the normal distribution would be coarse at the tails, so the
// steps are equal in z and weighed by the density.
var nodes, shares = func() (z, w []float64) {
	const n, reach = 25, 3.6
	sum := 0.0
	for i := range n {
		x := reach * (2*float64(i)/(n-1) - 1)
		z, w = append(z, x), append(w, infer.NormalPDF(x))
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return z, w
}()

// pair is the value of taking one option and then, whatever it shows, the other.
func (b Belief) pair(first, second Option) float64 {
	s1 := b.slopes(first)
	s2 := b.After(first).slopes(second)
	a := make([]float64, len(s1))
	most := math.Inf(-1)
	for _, m := range b.Mean {
		most = max(most, m)
	}
	sum := 0.0
	for k, z := range nodes {
		top := math.Inf(-1)
		for d := range a {
			a[d] = b.Mean[d] + s1[d]*z
			top = max(top, a[d])
		}
		sum += shares[k] * (top + Gain(a, s2))
	}
	return sum - most
}

// After is the belief once the option has been taken, its outcome as expected:
// the means stay, the covariances shrink.
func (b Belief) After(o Option) Belief {
	t := o.Reading
	v := b.Reading.At(t, t) + o.Noise
	out := Belief{Mean: b.Mean, Cov: b.Cov.Clone(), Reading: b.Reading.Clone()}
	if !(v > 0) {
		return out
	}
	for j := range b.Reading.Cols {
		c := b.Reading.At(t, j) / v
		for d := range b.Mean {
			out.Cov.Add(d, j, -b.Cov.At(d, t)*c)
		}
		for i := range b.Reading.Rows {
			out.Reading.Add(i, j, -b.Reading.At(i, t)*c)
		}
	}
	return out
}

// Seen is the belief after the option turned out z standard deviations above
// what was expected of it.
func (b Belief) Seen(o Option, z float64) Belief {
	out := b.After(o)
	out.Mean = append([]float64(nil), b.Mean...)
	for d, s := range b.slopes(o) {
		out.Mean[d] += s * z
	}
	return out
}

// Perfect is what perfect knowledge would add to the best decision: the mean
// over draws of the best value, less the best of the means. values[d] holds
// the draws of decision d. No plan of any length is worth more.
func Perfect(values [][]float64, weight []float64) float64 {
	sum := 0.0
	mean := make([]float64, len(values))
	for i, w := range weight {
		top := math.Inf(-1)
		for d := range values {
			v := values[d][i]
			mean[d] += w * v
			top = max(top, v)
		}
		sum += w * top
	}
	best := math.Inf(-1)
	for _, m := range mean {
		best = max(best, m)
	}
	return sum - best
}

// Moments makes a Belief of draws: values[d] of each decision, readings[t] of
// what each reading would measure.
func Moments(values, readings [][]float64, weight []float64) Belief {
	v, y := centred(values, weight), centred(readings, weight)
	b := Belief{Cov: infer.NewMatrix(len(v), len(y)), Reading: infer.NewMatrix(len(y), len(y))}
	for d := range v {
		b.Mean = append(b.Mean, v[d].mean)
		for t := range y {
			b.Cov.Set(d, t, cross(v[d].off, y[t].off, weight))
		}
	}
	for s := range y {
		for t := range s + 1 {
			c := cross(y[s].off, y[t].off, weight)
			b.Reading.Set(s, t, c)
			b.Reading.Set(t, s, c)
		}
	}
	return b
}

type deviations struct {
	mean float64
	off  []float64
}

func centred(rows [][]float64, weight []float64) []deviations {
	out := make([]deviations, len(rows))
	for k, row := range rows {
		m := 0.0
		for i, w := range weight {
			m += w * row[i]
		}
		off := make([]float64, len(row))
		for i, x := range row {
			off[i] = x - m
		}
		out[k] = deviations{m, off}
	}
	return out
}

func cross(a, b, weight []float64) float64 {
	s := 0.0
	for i, w := range weight {
		s += w * a[i] * b[i]
	}
	return s
}
