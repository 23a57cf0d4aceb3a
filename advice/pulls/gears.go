package pulls

import "math"

// gearBins counts ratios of engine speed to road speed.
type gearBins struct {
	ratios spread
	asked  uint64            // samples that were offered
	count  [gearCount]uint32 // in bins of 1 %, once all are there
}

const (
	gearCount = 700
	gearWidth = 0.01 // of the logarithm
	slowest   = 5.0  // road speed from which a ratio counts; below it clutches slip
)

// add takes engine speed and road speed of one fresh sample.
func (g *gearBins) add(rpm, speed float64) {
	g.asked++
	if rpm >= turning && speed >= slowest {
		g.ratios.add(rpm/speed, 1)
	}
}

// sort puts the ratios into bins of 1 %.
func (g *gearBins) sort() {
	clear(g.count[:])
	g.ratios.each(func(ratio float64, n uint64) bool {
		if at := int(math.Log(ratio) / gearWidth); at >= 0 && at < gearCount {
			g.count[at] += uint32(n)
		}
		return true
	})
}

// What makes a ratio a gear: so large a share of the samples stands within 2.5 %
// of it, and nothing within 12 % stands higher. Gears of cars are further apart
// than that (common practice, no source).
const (
	gearShare = 0.012
	gearLeast = 5
	gearHalf  = 2  // bins on either side that belong to a gear
	gearApart = 11 // bins in which it stands highest
)

// peak is one gear: its ratio and its samples.
type peak struct {
	ratio float64
	count uint32
}

// peaks finds the gears, the highest ratio first.
func (g *gearBins) peaks() []peak {
	sum := func(at int) (n uint32, weighed float64) {
		for i := max(at-gearHalf, 0); i <= min(at+gearHalf, gearCount-1); i++ {
			n += g.count[i]
			weighed += float64(g.count[i]) * (float64(i) + 0.5)
		}
		return n, weighed
	}
	g.sort()
	var list []peak
	for at := gearCount - 1; at >= 0; at-- {
		n, weighed := sum(at)
		if n < gearLeast || float64(n) < gearShare*float64(g.ratios.total) {
			continue
		}
		highest := true
		for i := max(at-gearApart, 0); i <= min(at+gearApart, gearCount-1) && highest; i++ {
			other, _ := sum(i)
			highest = other < n || other == n && i <= at
		}
		if highest {
			list = append(list, peak{math.Exp(weighed / float64(n) * gearWidth), n})
		}
	}
	return list
}
