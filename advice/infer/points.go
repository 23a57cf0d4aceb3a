package infer

import "math"

// Points fills n rows of d numbers between 0 and 1, spread more evenly than
// chance would: Halton's sequence (J. H. Halton, Numer. Math. 2 (1960) 84),
// one prime a column, its digits multiplied by a fixed factor so that columns
// of large primes do not run together, and the whole set shifted by the seed.
// The same n, d and seed give the same points. Row i is points[i*d : (i+1)*d].
func Points(n, d int, seed int64) []float64 {
	out := make([]float64, n*d)
	for j, base := range primes(d) {
		h := newHalton(base)
		move := shift(seed, j)
		for i := range n {
			v := h.next() + move
			out[i*d+j] = v - math.Floor(v)
		}
	}
	return out
}

// halton counts upwards in one base and mirrors the digits at the point.
type halton struct {
	base, factor int
	digit        []int
	place        []float64
	value        float64
}

func newHalton(base int) *halton {
	h := &halton{base: base, factor: 1}
	// The multiplier nearest to the golden section of the base.
	h.factor = max(1, int(math.Round(float64(base)*0.6180339887)))
	p := 1.0
	for p > 1e-12 {
		p /= float64(base)
		h.digit, h.place = append(h.digit, 0), append(h.place, p)
	}
	return h
}

func (h *halton) next() float64 {
	for k := range h.digit {
		old := h.digit[k]
		h.digit[k] = (old + 1) % h.base
		h.value += h.place[k] * float64(h.digit[k]*h.factor%h.base-old*h.factor%h.base)
		if h.digit[k] != 0 {
			break
		}
	}
	return h.value
}

// primes are the first d prime numbers.
func primes(d int) []int {
	var out []int
	for p := 2; len(out) < d; p++ {
		prime := true
		for _, q := range out {
			if q*q > p {
				break
			}
			prime = prime && p%q != 0
		}
		if prime {
			out = append(out, p)
		}
	}
	return out
}

// shift is a fixed number in [0,1) for each seed and dimension: one step of
// the mixing function of splitmix64 (Steele, Lea, Flood 2014).
func shift(seed int64, j int) float64 {
	z := uint64(seed)*0x9e3779b97f4a7c15 + uint64(j+1)*0xd1b54a32d192ed03
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	z ^= z >> 31
	return float64(z>>11) / (1 << 53)
}
