package pulls

import (
	"math"
	"slices"

	"dropwalk/advice/stats"
)

// level is that of every interval here.
const level = 0.95

// point is one pair that a curve goes through.
type point struct{ x, y float64 }

// curve is y = at (x/x0)^n, fitted.
type curve struct {
	x0, at, n        float64
	varA, varN, both float64 // of ln at and n, and their covariance
	freedom          float64
	low, high        float64 // x that the points span
	points, left     int     // used, and left out as spikes
}

// leastPoints is how many points a curve needs.
const leastPoints = 4

// fitCurve fits a power of x to points of positive x by weighted least squares,
// with less weight for what lies far off. Noise is the standard deviation of y
// that doesn't grow with y; errors that do are taken as alike in percent.
// Points whose residual is beyond six robust standard deviations are left out
// as spikes. The errors allow for points that follow each other alike. It
// returns false where fewer than leastPoints points or no two x are there.
func fitCurve(points []point, noise, x0 float64) (curve, bool) {
	points = slices.DeleteFunc(slices.Clone(points), func(p point) bool { return p.x <= 0 || p.y != p.y || p.x != p.x })
	top := 0.0
	for _, p := range points {
		top = max(top, math.Abs(p.y))
	}
	c := curve{x0: x0}
	if len(points) < leastPoints || top == 0 {
		return c, false
	}
	if noise <= 0 {
		noise = 1e-3 * top
	}
	for round := 0; ; round++ {
		if !c.solve(points, noise) {
			return c, false
		}
		spiky := c.spikes(points, noise)
		if len(spiky) == 0 || round == 3 || len(points)-len(spiky) < leastPoints {
			break
		}
		c.left += len(spiky)
		for _, at := range slices.Backward(spiky) {
			points = slices.Delete(points, at, at+1)
		}
	}
	c.judge(points, noise)
	return c, true
}

// relative is the part of the error that grows with y, as a share.
const relative = 0.01

func weight(p point, noise float64) float64 {
	return 1 / (noise*noise + relative*relative*p.y*p.y)
}

// y is the curve at x.
func (c *curve) y(x float64) float64 { return c.at * math.Pow(x/c.x0, c.n) }

// solve finds at and n by Gauss and Newton, from the straight line through the
// logarithms, with Huber's weights.
func (c *curve) solve(points []point, noise float64) bool {
	if !c.begin(points) {
		return false
	}
	for range 60 {
		scale := c.scale(points, noise)
		var aa, an, nn, ra, rn float64
		for _, p := range points {
			f, l := c.y(p.x), math.Log(p.x/c.x0)
			w := weight(p, noise)
			if r := math.Abs(p.y-f) * math.Sqrt(w); r > huber*scale {
				w *= huber * scale / r
			}
			ja, jn := f, f*l // by ln at, by n
			aa, an, nn = aa+w*ja*ja, an+w*ja*jn, nn+w*jn*jn
			ra, rn = ra+w*ja*(p.y-f), rn+w*jn*(p.y-f)
		}
		det := aa*nn - an*an
		if !(det > 1e-12*aa*nn) {
			return false
		}
		da, dn := (nn*ra-an*rn)/det, (aa*rn-an*ra)/det
		da, dn = max(-1, min(1, da)), max(-1, min(1, dn))
		c.at *= math.Exp(da)
		c.n += dn
		if math.Abs(da)+math.Abs(dn) < 1e-10 {
			break
		}
	}
	return !math.IsNaN(c.at + c.n)
}

// huber is the number of standard deviations from which a point counts less.
const huber = 1.345

// begin puts the curve through the logarithms of the points above nought.
func (c *curve) begin(points []point) bool {
	var n, sx, sy, sxx, sxy float64
	for _, p := range points {
		if p.y <= 0 {
			continue
		}
		x, y := math.Log(p.x/c.x0), math.Log(p.y)
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	det := n*sxx - sx*sx
	if n < 3 || !(det > 1e-9*n*n) {
		return false
	}
	c.n = (n*sxy - sx*sy) / det
	c.at = math.Exp((sy - c.n*sx) / n)
	return true
}

// scale is the robust spread of the weighted residuals.
func (c *curve) scale(points []point, noise float64) float64 {
	var list []float64
	for _, p := range points {
		list = append(list, math.Abs(p.y-c.y(p.x))*math.Sqrt(weight(p, noise)))
	}
	return max(1.4826*median(list), 1e-6)
}

// spikes are the points too far off to be measured.
func (c *curve) spikes(points []point, noise float64) []int {
	const beyond = 6
	limit := beyond * max(c.scale(points, noise), 1)
	var list []int
	for i, p := range points {
		if math.Abs(p.y-c.y(p.x))*math.Sqrt(weight(p, noise)) > limit {
			list = append(list, i)
		}
	}
	return list
}

// judge finds the errors of the curve.
func (c *curve) judge(points []point, noise float64) {
	c.points = len(points)
	c.low, c.high = points[0].x, points[0].x
	var aa, an, nn, sum float64
	var residuals []float64
	for _, p := range points {
		c.low, c.high = min(c.low, p.x), max(c.high, p.x)
		f, l, w := c.y(p.x), math.Log(p.x/c.x0), weight(p, noise)
		aa, an, nn = aa+w*f*f, an+w*f*f*l, nn+w*f*f*l*l
		r := (p.y - f) * math.Sqrt(w)
		sum += r * r
		residuals = append(residuals, r)
	}
	n := float64(len(points))
	alike := stats.Lag1(residuals)
	if alike != alike { // all of them nought: a perfect curve
		alike = 0
	}
	alike = max(0, min(0.95, alike))
	free := n * (1 - alike) / (1 + alike) // points that say something new
	c.freedom = max(1, free-2)
	variance := sum / max(1, n-2) * n / free
	det := aa*nn - an*an
	c.varA, c.varN, c.both = variance*nn/det, variance*aa/det, -variance*an/det
}

// exponent is n with its interval.
func (c *curve) exponent() Estimate {
	return around(c.n, stats.TQuantile(0.5+level/2, c.freedom)*math.Sqrt(c.varN))
}

// value is the curve at x with its interval; more is a further standard
// deviation of y.
func (c *curve) value(x, more float64) Estimate {
	l, y := math.Log(x/c.x0), c.y(x)
	v := y*y*(c.varA+2*l*c.both+l*l*c.varN) + more*more
	return around(y, stats.TQuantile(0.5+level/2, c.freedom)*math.Sqrt(v))
}

func around(v, half float64) Estimate { return Estimate{v, v - half, v + half} }

// median of a list, which it sorts; NaN for none.
func median(list []float64) float64 {
	if len(list) == 0 {
		return math.NaN()
	}
	slices.Sort(list)
	if n := len(list); n%2 == 0 {
		return (list[n/2-1] + list[n/2]) / 2
	}
	return list[len(list)/2]
}

// spreadOf is the robust standard deviation about a middle.
func spreadOf(list []float64, middle float64) float64 {
	off := make([]float64, len(list))
	for i, v := range list {
		off[i] = math.Abs(v - middle)
	}
	return 1.4826 * median(off)
}
