package model

import (
	"math"
	"slices"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// gauge is a gauge in numbers: Pa, and accuracy as a share of full scale.
type gauge struct {
	name                      string
	full, division, accuracy  float64
	corrections               []sheet.Correction
	corrected                 bool
	fullStated, divisionGiven bool
}

// gauge finds the gauge of a reading; one that nobody described is taken as
// usual.
func (c *Car) gauge(r sheet.Reading) gauge {
	g := gauge{name: r.Gauge, full: usualRange, accuracy: usualAccuracy}
	i := slices.IndexFunc(c.Sheet.Gauges, func(q sheet.Gauge) bool { return q.Name == r.Gauge })
	if i >= 0 {
		g.take(c.Sheet.Gauges[i])
	}
	if !g.fullStated {
		g.full = max(g.full, 1.3*math.Abs(r.Value.SI))
	}
	if !g.divisionGiven {
		g.division = g.full / 50
	}
	return g
}

func (g *gauge) take(q sheet.Gauge) {
	if q.Range.Known() && q.Range.SI > 0 {
		g.full, g.fullStated = q.Range.SI, true
	}
	if q.Division.Known() && q.Division.SI > 0 {
		g.division, g.divisionGiven = q.Division.SI, true
	}
	g.accuracy = known(q.Accuracy, g.accuracy)
	g.corrections, g.corrected = q.Correction, len(q.Correction) > 0
}

// truth applies the gauge's check against a standard: straight between the
// rows, the outer rows' slope beyond them; one row is a factor.
func (g gauge) truth(shown float64) float64 {
	rows := make([][2]float64, 0, len(g.corrections)+1)
	for _, k := range g.corrections {
		if k.Shown.Known() && k.True.Known() {
			rows = append(rows, [2]float64{k.Shown.SI, k.True.SI})
		}
	}
	if len(rows) == 0 {
		return shown
	}
	slices.SortFunc(rows, func(a, b [2]float64) int {
		if a[0] < b[0] {
			return -1
		}
		return 1
	})
	if rows[0][0] > 0 {
		rows = slices.Insert(rows, 0, [2]float64{0, 0})
	}
	if len(rows) == 1 {
		return shown + rows[0][1] - rows[0][0]
	}
	k := 1
	for k < len(rows)-1 && shown > rows[k][0] {
		k++
	}
	a, b := rows[k-1], rows[k]
	if b[0] == a[0] {
		return shown + a[1] - a[0]
	}
	return a[1] + (shown-a[0])*(b[1]-a[1])/(b[0]-a[0])
}

// zero is what the gauge showed with both ports open.
func (g gauge) zero(r sheet.Reading) float64 {
	switch {
	case r.ZeroBefore.Known() && r.ZeroAfter.Known():
		return (r.ZeroBefore.SI + r.ZeroAfter.SI) / 2
	case r.ZeroBefore.Known():
		return r.ZeroBefore.SI
	case r.ZeroAfter.Known():
		return r.ZeroAfter.SI
	}
	return 0
}

// reading is the SD of reading one value off the scale: rounding to the
// division, or a swinging needle, or what the tester stated.
func (g gauge) reading(a quantity.Amount) float64 {
	sd := g.division / math.Sqrt(12)
	if a.Form == quantity.Swing {
		// The middle of a swing is known far better than its ends.
		sd = math.Hypot(sd, (a.High-a.Low)/6)
	}
	if a.PlusMinus > 0 {
		sd = max(sd, a.PlusMinus/2)
	}
	return sd
}

// gaugeLoads shares a gauge's stated error out: the limit is taken as a
// rectangular one, half of its variance a scale error, a quarter a zero error,
// a quarter local. Zeros that were written down take most of the zero error
// away, a check against a standard most of the scale error.
func (c *Car) gaugeLoads(r *Reading, g gauge, in sheet.Reading) {
	limit := g.accuracy * g.full / math.Sqrt(3)
	scale, zero, local := math.Sqrt(0.5)*limit, 0.5*limit, 0.5*limit
	if g.corrected {
		scale, local = scale/3, local/2
	}
	share := min(math.Abs(r.Shown)/g.full, 1.2)
	c.factors.add(r.load, "scale "+g.name, scale*share*sign(r.Shown)/r.Phi)
	local *= math.Sqrt(share)
	r.Own += square(local / r.Phi)
	before, after := in.ZeroBefore.Known(), in.ZeroAfter.Known()
	switch {
	case before && after:
		moved := math.Abs(in.ZeroAfter.SI-in.ZeroBefore.SI) / math.Sqrt(12)
		r.Own += square(math.Hypot(g.division/6, moved) / r.Phi)
	case before || after:
		c.factors.add(r.load, "zero "+g.name, math.Hypot(g.division/4, zero/2)/r.Phi)
	default:
		c.factors.add(r.load, "zero "+g.name, math.Hypot(g.division/2, zero)/r.Phi)
	}
}

func sign(x float64) float64 {
	if x < 0 {
		return -1
	}
	return 1
}
