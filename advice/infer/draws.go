package infer

import "slices"

// Quantile is the p-quantile of weighted values. Each value stands in the
// middle of its weight; between two values the quantile runs straight.
func Quantile(x, weight []float64, p float64) float64 {
	return Quantiles(x, weight, p)[0]
}

// Quantiles are several quantiles at once. The values are not changed. They
// are sorted into slots first, and only the slots that matter are put in
// order: a full sort costs ten times as much.
func Quantiles(x, weight []float64, ps ...float64) []float64 {
	out := make([]float64, len(ps))
	low, high := slices.Min(x), slices.Max(x)
	if !(high > low) {
		for k := range out {
			out[k] = low
		}
		return out
	}
	s := newSlots(x, weight, low, high)
	for k, p := range ps {
		out[k] = s.quantile(p)
	}
	return out
}

const slotCount = 256 // a byte holds the number of a slot

type slots struct {
	x, weight []float64
	slot      []uint8
	upto      [slotCount + 1]float64 // weight below each slot
}

func newSlots(x, weight []float64, low, high float64) *slots {
	s := &slots{x: x, weight: weight, slot: make([]uint8, len(x))}
	step := slotCount / (high - low)
	for i, v := range x {
		k := min(int((v-low)*step), slotCount-1)
		s.slot[i] = uint8(k)
		s.upto[k+1] += weight[i]
	}
	for k := range slotCount {
		s.upto[k+1] += s.upto[k]
	}
	return s
}

type item struct{ x, w float64 }

// items of the slots from first to last, in order.
func (s *slots) items(first, last int) []item {
	var out []item
	for i, k := range s.slot {
		if first <= int(k) && int(k) <= last {
			out = append(out, item{s.x[i], s.weight[i]})
		}
	}
	slices.SortFunc(out, func(a, b item) int {
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	return out
}

// quantile looks at the slot in which the weight passes p, and at its filled
// neighbours, because the quantile can run from one to the other.
func (s *slots) quantile(p float64) float64 {
	want := p * s.upto[slotCount]
	k := 0
	for k < slotCount-1 && s.upto[k+1] < want {
		k++
	}
	first, last := k, k
	for first > 0 && s.upto[first] == s.upto[k] {
		first--
	}
	for last < slotCount-1 && s.upto[last+1] == s.upto[k+1] {
		last++
	}
	at := s.upto[first]
	items := s.items(first, last)
	before, beforeAt := items[0].x, 0.0
	for _, it := range items {
		mid := at + it.w/2
		if mid >= want {
			if mid > beforeAt {
				return before + (it.x-before)*max(0, (want-beforeAt)/(mid-beforeAt))
			}
			return it.x
		}
		at += it.w
		before, beforeAt = it.x, mid
	}
	return items[len(items)-1].x
}

// Largest is the chance of each row of x to hold the largest value of its
// point. Rows whose skip is true are left out (nil: none is). Points at which
// nothing exceeds nought are shared out equally.
func Largest(x [][]float64, weight []float64, skip []bool) []float64 {
	out := make([]float64, len(x))
	var open []int
	for c := range x {
		if skip == nil || !skip[c] {
			open = append(open, c)
		}
	}
	for i, w := range weight {
		best, at := 0.0, -1
		for _, c := range open {
			if x[c][i] > best {
				best, at = x[c][i], c
			}
		}
		if at >= 0 {
			out[at] += w
			continue
		}
		for _, c := range open {
			out[c] += w / float64(len(open))
		}
	}
	return out
}
