package practice

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
)

// dice is one named stream of chance. Each part of a car has its own, so that
// one more throw in one part leaves the others as they were.
type dice struct{ *rand.Rand }

// roll opens the stream of that name under a seed.
func roll(seed uint64, name string) dice {
	h := fnv.New64a()
	h.Write([]byte(name))
	first := scramble(seed ^ h.Sum64())
	return dice{rand.New(rand.NewPCG(first, scramble(first^h.Sum64())))}
}

// scramble spreads neighbouring seeds over the whole range: the finaliser of
// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014; constants from memory).
func scramble(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// between is uniform.
func (d dice) between(low, high float64) float64 { return low + (high-low)*d.Float64() }

// normal has that mean and standard deviation.
func (d dice) normal(mean, sd float64) float64 { return mean + sd*d.NormFloat64() }

// about is lognormal: that median, and sd of the logarithm.
func (d dice) about(median, sd float64) float64 { return median * math.Exp(sd*d.NormFloat64()) }

// heavy has mean 0 and sd 1 with longer tails than the normal: a tenth of the
// throws come from a normal three times as wide.
func (d dice) heavy() float64 {
	const narrow = 0.745 // makes the variance 1: 0.9 n^2 + 0.1 (3n)^2 = 1.8 n^2
	x := narrow * d.NormFloat64()
	if d.chance(0.1) {
		return 3 * x
	}
	return x
}

// chance is true with probability p.
func (d dice) chance(p float64) bool { return d.Float64() < p }

// pick returns an index with a probability in proportion to its weight.
func (d dice) pick(weights ...float64) int {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	at := d.Float64() * sum
	for i, w := range weights {
		if at -= w; at < 0 {
			return i
		}
	}
	return len(weights) - 1
}

func clamp(x, low, high float64) float64 { return max(low, min(x, high)) }

// round gives the nearest multiple of step.
func round(x, step float64) float64 { return math.Round(x/step) * step }
