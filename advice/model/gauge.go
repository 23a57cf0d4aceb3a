package model

import (
	"fmt"
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

// pegged tells whether a needle stood at the end of its scale: then the number
// says no more than that the truth lies there or beyond.
func (g gauge) pegged(a quantity.Amount) bool {
	return g.fullStated && a.Form == quantity.Exact && math.Abs(a.SI) > g.full-g.division/4
}

// beyond tells whether a number can't have stood on the scale at all.
func (g gauge) beyond(a quantity.Amount) bool {
	return g.fullStated && (a.Form == quantity.Exact || a.Form == quantity.Swing) && math.Abs(a.SI) > g.full+g.division
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

// zero is what a gauge showed with both ports open, around one reading.
type zero struct {
	mean          float64 // Pa
	moved         float64 // after less before, Pa
	before, after bool    // which of them was written down
}

// zeroOf is the zero of sheet reading i: what was written down last before it
// and first after it for that gauge, at this reading or another. Testers write
// zeros at the ends of a set of runs.
func (c *Car) zeroOf(i int) zero {
	before, after := c.zeroBefore(i), c.zeroAfter(i)
	z := zero{before: before.Known(), after: after.Known()}
	switch {
	case z.before && z.after:
		z.mean, z.moved = (before.SI+after.SI)/2, after.SI-before.SI
	case z.before:
		z.mean = before.SI
	case z.after:
		z.mean = after.SI
	}
	return z
}

func (c *Car) zeroBefore(i int) quantity.Amount {
	return c.zeroNear(i, -1, zeroBefore, zeroAfter)
}

func (c *Car) zeroAfter(i int) quantity.Amount {
	return c.zeroNear(i, 1, zeroAfter, zeroBefore)
}

func zeroBefore(r sheet.Reading) quantity.Amount { return r.ZeroBefore }
func zeroAfter(r sheet.Reading) quantity.Amount  { return r.ZeroAfter }

// zeroNear is the zero of reading i on its own side; else, going by step from
// reading to reading of that gauge, the first that was written down, the side
// that lies nearer first.
func (c *Car) zeroNear(i, step int, own, near func(sheet.Reading) quantity.Amount) quantity.Amount {
	all := c.Sheet.Readings
	if z := own(all[i]); z.Known() {
		return z
	}
	for k := i + step; k >= 0 && k < len(all); k += step {
		if all[k].Gauge != all[i].Gauge {
			continue
		}
		if z := near(all[k]); z.Known() {
			return z
		}
		if z := own(all[k]); z.Known() {
			return z
		}
	}
	return quantity.Amount{}
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
// a quarter local: the same whenever the needle stands at the same place, so
// repeats don't average it out. Zeros that were written down take most of the zero
// error away, a check against a standard most of the scale error.
func (c *Car) gaugeLoads(r *Reading, g gauge, z zero, shown float64) {
	limit := g.accuracy * g.full / math.Sqrt(3)
	scale, rest, local := math.Sqrt(0.5)*limit, 0.5*limit, 0.5*limit
	if g.corrected {
		scale, local = scale/3, local/2
	}
	share := min(math.Abs(shown)/g.full, 1.2)
	c.factors.add(r.load, "scale "+g.name, scale*share*sign(shown)/r.Phi)
	c.factors.add(r.load, fmt.Sprintf("local %s %d %d", g.name, r.From, r.To), local*math.Sqrt(share)/r.Phi)
	switch {
	case z.before && z.after:
		r.Own += square(math.Hypot(g.division/6, z.moved/math.Sqrt(12)) / r.Phi)
	case z.before || z.after:
		c.factors.add(r.load, "zero "+g.name, math.Hypot(g.division/4, rest/2)/r.Phi)
	default:
		c.factors.add(r.load, "zero "+g.name, math.Hypot(g.division/2, rest)/r.Phi)
	}
}

func sign(x float64) float64 {
	if x < 0 {
		return -1
	}
	return 1
}
