package pulls

import (
	"math"

	"dropwalk/engine/quantity"
)

// leastZero is how many rows it takes to tell a zero.
const leastZero = 10

// gauge is a channel of pressure, made ready: its zero known, its end found.
type gauge struct {
	*channel
	at     int     // among the watched
	toPa   float64 // size of its unit
	unitOK bool
	zero   Zero    // in Pa
	zeroSE float64 // standard error of the zero, Pa
	raw    float64 // zero in its own unit
	sign   float64 // -1 where it shows suction as a negative number, or falls from an absolute pressure
	end    float64 // raw value from which it stands at the end of its range; infinite where it never does
	fromUp bool    // that end is its highest value, not its lowest
}

// gauges makes the channels of pressure ready.
func (s *scan) gauges() []*gauge {
	var list []*gauge
	for i, c := range s.watched {
		if c.role != Pressure {
			continue
		}
		g := &gauge{channel: c, at: i, sign: 1}
		if size, err := quantity.From(1, quantity.PressureDiff, c.unit); err == nil && c.unit != "" {
			g.toPa, g.unitOK = size, true
		}
		g.findZero(s)
		if far := c.up - g.raw; g.raw-c.low > far {
			g.sign = -1
		}
		g.findEnd()
		list = append(list, g)
	}
	return list
}

// pa is a raw value as suction in Pa, above the zero.
func (g *gauge) pa(raw float64) float64 { return g.sign * (raw - g.raw) * g.toPa }

// clipped tells whether a raw value stands at the end of the range.
func (g *gauge) clipped(raw float64) bool {
	if g.fromUp {
		return raw >= g.end
	}
	return raw <= g.end
}

// findZero takes the middle of what the gauge shows while the engine stands,
// while nothing flows where there is no engine speed, else while it idles. The
// middle and its spread are robust: knocks on a hose don't count.
func (g *gauge) findZero(s *scan) {
	g.zero = Zero{Name: g.name, From: ZeroNone}
	take := func(rows [][]float64, from string, fits func(row []float64) bool) bool {
		var list []float64
		for _, row := range rows {
			if v := row[g.at]; v == v && fits(row) {
				list = append(list, v)
			}
		}
		if len(list) < leastZero {
			return false
		}
		g.raw = median(list)
		g.zero.Pa, g.zero.SpreadPa, g.zero.From = g.raw*g.toPa, spreadOf(list, g.raw)*g.toPa, from
		// A median scatters by 1.25 times as much as a mean; a value that is held
		// for rows is one.
		holds := max(1, g.refresh()/s.step())
		g.zeroSE = 1.25 * g.zero.SpreadPa / math.Sqrt(max(1, float64(len(list))/holds))
		if from == ZeroIdle {
			g.zeroSE = max(g.zeroSE, g.zero.SpreadPa/2) // some air flows then
		}
		return true
	}
	if s.rpm == nil && s.flow == nil {
		return
	}
	if s.rpm == nil {
		still := s.lowestFlow()
		take(s.some.rows, ZeroFlow, func(row []float64) bool { return math.Abs(row[s.index(s.flow)]) <= still })
		return
	}
	if take(s.off.rows, ZeroOff, func([]float64) bool { return true }) {
		return
	}
	idle, at := s.idle(), s.index(s.rpm)
	take(s.some.rows, ZeroIdle, func(row []float64) bool { return row[at] > turning && row[at] <= idle })
}

// lowestFlow is the flow below which nothing flows for a gauge: a fiftieth of
// the highest, at which pressure is a 2500th.
func (s *scan) lowestFlow() float64 { return 0.02 * s.flow.values.quantile(0.999) }

// idle is the engine speed below which the engine only idles: that of a tenth
// of the time in which it turns.
func (s *scan) idle() float64 {
	v := &s.rpm.values
	stands := float64(v.between(math.Inf(-1), turning))
	all := float64(v.total)
	return v.quantile((stands + 0.1*(all-stands)) / all)
}

// index is the place of a channel among the watched.
func (s *scan) index(c *channel) int {
	for i, w := range s.watched {
		if w == c {
			return i
		}
	}
	return -1
}

// A gauge stands at its end where at least 20 rows lie within the last 1/200 of
// what it shows, and ten times as densely as in the last twentieth: a signal
// that only comes to its highest does not stay there.
const (
	endShare   = 1.0 / 200
	endBeside  = 1.0 / 20
	endLeast   = 20
	endDensity = 10
)

func (g *gauge) findEnd() {
	span := g.up - g.low
	g.fromUp = g.sign > 0
	g.end = math.Inf(1)
	far := g.up
	inside := func(share float64) (low, high float64) { return far - share*span, far }
	if !g.fromUp {
		g.end, far = math.Inf(-1), g.low
		inside = func(share float64) (low, high float64) { return far, far + share*span }
	}
	if span <= 0 {
		return
	}
	// Bins are 0.4 % wide at most; what lies in the last one is counted whole.
	margin := math.Abs(far) / pageBins
	count := func(share float64) float64 {
		low, high := inside(share)
		return float64(g.values.between(low-margin/2, high+margin/2))
	}
	last, wide := count(endShare), count(endBeside)
	beside := (wide - last) / (endBeside - endShare) * endShare
	if last >= endLeast && last > endDensity*max(beside, 1) {
		low, high := inside(endShare)
		g.end = low
		if !g.fromUp {
			g.end = high
		}
	}
}

// Two gauges are on one place where they agree to within 40 % and go together;
// they disagree where their ratio is further from 1 than two honest ones of 2 %
// accuracy can be (common practice, no source).
const (
	pairLow, pairHigh = 0.7, 1.4
	pairApart         = 0.04
	pairLeast         = 30
	pairScatter       = 0.15 // of the highest
)

// pairs compares the gauges with each other.
func (s *scan) pairs(list []*gauge) []Pair {
	found := []Pair{}
	for i, a := range list {
		for _, b := range list[i+1:] {
			if a.unitOK && b.unitOK {
				if p, ok := s.pair(a, b); ok {
					found = append(found, p)
				}
			}
		}
	}
	return found
}

func (s *scan) pair(a, b *gauge) (Pair, bool) {
	var ratios, xs, ys []float64
	least := 0.1 * min(a.pa(far(a)), b.pa(far(b)))
	for _, row := range s.some.rows {
		va, vb := row[a.at], row[b.at]
		if va != va || vb != vb || a.clipped(va) || b.clipped(vb) {
			continue
		}
		if x, y := a.pa(va), b.pa(vb); x > least && y > least {
			ratios, xs, ys = append(ratios, y/x), append(xs, x), append(ys, y)
		}
	}
	if len(ratios) < pairLeast {
		return Pair{}, false
	}
	ratio := median(ratios)
	var off []float64
	top := 0.0
	for i := range xs {
		off = append(off, ys[i]-ratio*xs[i])
		top = max(top, ys[i])
	}
	scatter := spreadOf(off, median(off))
	if ratio < pairLow || ratio > pairHigh || scatter > pairScatter*top {
		return Pair{}, false
	}
	return Pair{First: a.name, Second: b.name, Ratio: ratio, ZeroPa: b.zero.Pa - a.zero.Pa, ScatterPa: scatter, Disagree: math.Abs(ratio-1) > pairApart}, true
}

// far is the raw value furthest from the zero that the gauge can be believed.
func far(g *gauge) float64 {
	if g.fromUp {
		return min(g.up, g.end)
	}
	return max(g.low, g.end)
}
