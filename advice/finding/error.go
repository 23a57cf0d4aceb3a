package finding

import (
	"math"

	"dropwalk/advice/stats"
)

// Scale is the standard error of one reading of a scale with divisions so wide:
// the truth lies anywhere within a division (JCGM 100:2008, 4.3.7).
func Scale(division float64) float64 { return division / math.Sqrt(12) }

// Limit is the standard error of what is only known to lie within plus or minus
// so much, anywhere alike (JCGM 100:2008, 4.3.7).
func Limit(half float64) float64 { return half / math.Sqrt(3) }

// Mean is the mean of repeats with its error: their own scatter, and standard
// errors that all of them share, such as the division of the scale and what the
// instrument may be off. Of one reading the scatter isn't known and counts as
// nought; whoever tells of it has to say so. Of none it is NaN.
func Mean(values []float64, shared ...float64) stats.Estimate {
	var parts []stats.Part
	if n := float64(len(values)); n > 1 {
		parts = append(parts, stats.Part{Variance: stats.Variance(values) / n, Freedom: n - 1})
	}
	for _, u := range shared {
		parts = append(parts, stats.Part{Variance: u * u, Freedom: stats.Endless})
	}
	return sum(stats.Mean(values), parts)
}

// Term is an estimate with how strongly a result answers to it.
type Term struct {
	By   float64 // the slope: change of the result over change of the estimate
	From stats.Estimate
}

// Propagated is a result that several independent estimates lead to, with its error
// to first order (JCGM 100:2008, 5.1 and G.4.1).
func Propagated(value float64, terms ...Term) stats.Estimate {
	var parts []stats.Part
	for _, t := range terms {
		parts = append(parts, stats.Part{Variance: t.By * t.By * t.From.SE * t.From.SE, Freedom: t.From.Freedom})
	}
	return sum(value, parts)
}

func sum(value float64, parts []stats.Part) stats.Estimate {
	variance, freedom := stats.Combined(parts...)
	return stats.Estimate{Value: value, SE: math.Sqrt(variance), Freedom: freedom}
}

// Input is an estimate with the ends of its interval, which may lie lopsided.
type Input struct{ Median, Low, High float64 }

// Band makes an Input.
func Band(median, low, high float64) Input { return Input{median, low, high} }

// Around is what a result comes to and the ends of its interval, where its inputs
// are independent and it rises or falls with each all the way: each is moved to its
// ends while the others stay in the middle, and what that does is added up in
// squares, each side on its own. For intervals that are not lopsided that is the
// law of propagation to first order (JCGM 100:2008, 5.1).
func Around(result func(x []float64) float64, inputs ...Input) (value, low, high float64) {
	x := make([]float64, len(inputs))
	for i, in := range inputs {
		x[i] = in.Median
	}
	value = result(x)
	down, up := 0.0, 0.0
	for i, in := range inputs {
		for _, end := range []float64{in.Low, in.High} {
			x[i] = end
			if d := result(x) - value; d < 0 {
				down += d * d
			} else {
				up += d * d
			}
		}
		x[i] = in.Median
	}
	return value, value - math.Sqrt(down), value + math.Sqrt(up)
}
