package infer

import "math"

// Sum is what is believed, before any reading, of the loss of several pieces
// together as a reading would show it: the pieces' priors convolved, and blurred
// by the reading's error.
type Sum struct {
	step, first float64   // Pa: width of a bin, middle of the first one
	log         []float64 // logarithm of the density in each bin
	sd          float64
}

// sumBins is coarser than the bins of Solve: a Sum compares whole explanations,
// which differ by much more than a bin.
const sumBins = 192

// NewSum takes one prior a piece, the largest loss in Pa that matters, and the
// standard deviation in Pa, above nought, of a reading of the sum.
func NewSum(pieces []Piece, top, sd float64) *Sum {
	s := &Sum{step: top / sumBins, sd: sd}
	edges := logs(sumBins, s.step)
	sum := tabulate(pieces[0], edges)
	for _, p := range pieces[1:] {
		sum = convolve(sum, tabulate(p, edges))
	}
	reach := int(math.Ceil(5 * sd / s.step))
	s.first = (float64(len(pieces))/2 - float64(reach)) * s.step
	s.log = logDensity(blur(sum, reach, s.step/sd), s.step)
	return s
}

// blur spreads each bin over its neighbours by a normal curve; width is that of
// a bin in standard deviations.
func blur(sum []float64, reach int, width float64) []float64 {
	curve := make([]float64, 2*reach+1)
	for i := range curve {
		at := float64(i-reach) * width
		curve[i] = NormalCDF(at+width/2) - NormalCDF(at-width/2)
	}
	out := make([]float64, len(sum)+2*reach)
	for i, x := range sum {
		for j, c := range curve {
			out[i+j] += x * c
		}
	}
	return out
}

func logDensity(chance []float64, step float64) []float64 {
	out := make([]float64, len(chance))
	for i, x := range chance {
		out[i] = math.Log(max(x, never) / step)
	}
	return out
}

// LogDensity is the logarithm of the density, in 1/Pa, of a reading that shows
// the loss x. Beyond the ends it falls as a normal curve does.
func (s *Sum) LogDensity(x float64) float64 {
	at := (x - s.first) / s.step
	last := float64(len(s.log) - 1)
	switch z := s.step / s.sd; {
	case at < 0:
		return s.log[0] - at*z*at*z/2
	case at > last:
		return s.log[len(s.log)-1] - (at-last)*z*(at-last)*z/2
	}
	i := min(int(at), len(s.log)-2)
	share := at - float64(i)
	return s.log[i]*(1-share) + s.log[i+1]*share
}
