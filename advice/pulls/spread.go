package pulls

import "math"

// A spread is a histogram of any range in little memory: bins whose width is
// 1/256 of an octave's beginning, so that each is at most 0.4 % of its value,
// held in pages that exist only where values are. What lies nearer to nought
// than a millionth counts as nought.
type spread struct {
	up, down [pages]*[pageBins]uint32 // values above and below nought
	noughts  uint64
	total    uint64
}

const (
	pageBins = 256 // bins of an octave
	lowest   = -20 // exponent of the first octave
	pages    = 64
)

func place(v float64) (page, bin int, small bool) {
	bits := math.Float64bits(v)
	page = int(bits>>52&0x7ff) - 1023 - lowest
	if page < 0 {
		return 0, 0, true
	}
	return min(page, pages-1), int(bits >> 44 & 0xff), false
}

// add counts a value n times.
func (s *spread) add(v float64, n uint32) {
	s.total += uint64(n)
	page, bin, small := place(v)
	if small {
		s.noughts += uint64(n)
		return
	}
	half := &s.up
	if v < 0 {
		half = &s.down
	}
	if half[page] == nil {
		half[page] = new([pageBins]uint32)
	}
	half[page][bin] += n
}

// each walks the bins in rising order of their value until yield says no.
func (s *spread) each(yield func(value float64, n uint64) bool) {
	middle := func(page, bin int) float64 {
		return math.Ldexp(1+(float64(bin)+0.5)/pageBins, page+lowest)
	}
	for page := pages - 1; page >= 0; page-- {
		for bin := pageBins - 1; bin >= 0 && s.down[page] != nil; bin-- {
			if n := s.down[page][bin]; n > 0 && !yield(-middle(page, bin), uint64(n)) {
				return
			}
		}
	}
	if s.noughts > 0 && !yield(0, s.noughts) {
		return
	}
	for page := range pages {
		for bin := 0; bin < pageBins && s.up[page] != nil; bin++ {
			if n := s.up[page][bin]; n > 0 && !yield(middle(page, bin), uint64(n)) {
				return
			}
		}
	}
}

// quantile is the value below which a share of all lies, to 0.2 % of itself.
// NaN where there is nothing.
func (s *spread) quantile(share float64) float64 {
	want, sum, found := share*float64(s.total), 0.0, math.NaN()
	s.each(func(v float64, n uint64) bool {
		found = v
		sum += float64(n)
		return sum < want || sum == 0
	})
	return found
}

// between counts the values from low to high.
func (s *spread) between(low, high float64) uint64 {
	var sum uint64
	s.each(func(v float64, n uint64) bool {
		if v >= low && v <= high {
			sum += n
		}
		return v <= high
	})
	return sum
}

// mode is the middle of the lowest window of so many per one of its value on
// either side that holds at least a share of what the fullest holds. Values have
// to be above nought.
func (s *spread) mode(half, share float64) float64 {
	var values []float64
	var counts []uint64
	s.each(func(v float64, n uint64) bool {
		values, counts = append(values, v), append(counts, n)
		return true
	})
	sums := make([]uint64, len(values))
	var fullest uint64
	for i, low, high := 0, 0, 0; i < len(values); i++ {
		if i > 0 {
			sums[i] = sums[i-1]
		}
		for ; high < len(values) && values[high] <= values[i]*(1+half); high++ {
			sums[i] += counts[high]
		}
		for ; values[low] < values[i]*(1-half); low++ {
			sums[i] -= counts[low]
		}
		fullest = max(fullest, sums[i])
	}
	best, found := 0, false
	for i, v := range values {
		switch {
		case found && v > values[best]*(1+2*half):
			return s.meanNear(values[best], half)
		case found && sums[i] > sums[best], !found && float64(sums[i]) >= share*float64(fullest):
			best, found = i, true
		}
	}
	return s.meanNear(values[best], half)
}

// meanNear is the mean of what lies in a window about v.
func (s *spread) meanNear(v, half float64) float64 {
	var sum, count float64
	s.each(func(x float64, n uint64) bool {
		if x >= v*(1-half) && x <= v*(1+half) {
			sum, count = sum+x*float64(n), count+float64(n)
		}
		return x <= v*(1+half)
	})
	return sum / count
}
