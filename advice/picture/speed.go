package picture

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/engine/quantity"
)

// Point is a pressure at an engine speed.
type Point struct{ RPM, Pa float64 }

// plot is a picture of two scales: engine speed across, pressure upwards.
type plot struct {
	low, high float64 // rpm
	points    []Point // in the unit of the picture
	curve     []curvePoint
	read      *curvePoint // nil for none
	rows      []float64   // rpm of the rows
}

type curvePoint struct{ rpm, middle, low, high float64 }

// Limits of what is drawn: more points only blacken the picture, more steps
// show nothing that the eye can see.
const (
	mostPoints = 400
	steps      = 48
	bins       = 7 // rows in text
)

// Curved are readings over engine speed, and a curve fitted to them.
type Curved struct {
	Points []Point
	Curve  func(rpm float64) assessment.Estimate // in Pa
	Sure   string                                // how sure its intervals are: "19 times in 20"
	Grows  string                                // how the pressure grows, in words; "" for nothing
	At     float64                               // rpm at which the curve is read; 0 for none
}

// OverRPM shows readings over engine speed with a fitted curve and its interval,
// and what is read from it at one engine speed. Without points the picture is
// empty.
func OverRPM(c Curved, o Options) Picture {
	p := Picture{Name: "over-rpm", Title: "The pressure difference over the speed of the engine", Unit: o.Unit, Key: []Sign{
		{Speck, "what was read"}, {Fit, "the curve that fits best"}, {Limit, "the curve lies between these " + clean(c.Sure)}}}
	points := slices.DeleteFunc(slices.Clone(c.Points), func(x Point) bool {
		return !(x.RPM > 0) || math.IsNaN(x.Pa) || math.IsInf(x.Pa, 0) || math.IsInf(x.RPM, 0)
	})
	if len(points) == 0 {
		return p
	}
	slices.SortStableFunc(points, func(a, b Point) int { return cmp.Compare(a.RPM, b.RPM) })
	first, last := points[0].RPM, points[len(points)-1].RPM
	p.plot = &plot{low: first, high: last}
	if c.At > 0 {
		p.plot.low, p.plot.high = min(first, c.At), max(last, c.At)
	}
	p.plot.span()
	for _, i := range thinned(len(points)) {
		p.plot.points = append(p.plot.points, Point{points[i].RPM, o.in(points[i].Pa)})
	}
	for i := range steps + 1 {
		p.plot.curve = append(p.plot.curve, c.at(p.plot.low+(p.plot.high-p.plot.low)*float64(i)/steps, o))
	}
	p.rowsOf(points, c, o)
	p.Alt = fmt.Sprintf("%d readings from %s to %s rpm. By the fitted curve, in %s: %s at %s rpm, %s at %s rpm.", len(points), rpmText(first), rpmText(last),
		o.Unit, o.figure(c.Curve(first)), rpmText(first), o.figure(c.Curve(last)), rpmText(last))
	p.readAt(c, o)
	if c.Grows != "" {
		p.Notes = []string{clean(c.Grows)}
		p.Alt += " " + clean(c.Grows)
	}
	p.fitPlot()
	return p
}

// at is the curve at an engine speed, in the unit of the picture.
func (c Curved) at(rpm float64, o Options) curvePoint {
	e := c.Curve(rpm)
	return curvePoint{rpm, o.in(e.Median), o.in(e.Low), o.in(e.High)}
}

// readAt marks what is read from the curve.
func (p *Picture) readAt(c Curved, o Options) {
	if c.At <= 0 {
		return
	}
	e, at := c.Curve(c.At), c.at(c.At, o)
	p.plot.read = &at
	row := Row{Name: rpmText(c.At) + " rpm", Sign: Square, Lines: []Line{{Figure: o.figure(e), Marks: append(o.bar(Bar, 0, e), Mark{Kind: Square, To: o.in(e.Median)})}}}
	p.Rows = slices.Insert(p.Rows, p.plot.above(c.At), row)
	p.Key = append(p.Key, Sign{Square, "read at " + rpmText(c.At) + " rpm, with its interval"})
	p.Alt += fmt.Sprintf(" Read from it at %s rpm: %s.", rpmText(c.At), o.figure(e))
}

// above is the number of the first row whose engine speed is higher.
func (q *plot) above(rpm float64) int {
	at, _ := slices.BinarySearch(q.rows, rpm)
	return at
}

func rpmText(rpm float64) string { return quantity.Format(rpm, 4) }

// span keeps the scale of one speed from having no width.
func (q *plot) span() {
	if q.high-q.low < 0.02*q.high {
		q.low, q.high = 0.98*q.low, 1.02*q.high
	}
}

// thinned chooses at most mostPoints of n, evenly.
func thinned(n int) []int {
	var out []int
	for i := range min(n, mostPoints) {
		out = append(out, i*n/min(n, mostPoints))
	}
	return out
}

// rowsOf are the readings of stretches of engine speed, with the curve there.
func (p *Picture) rowsOf(points []Point, c Curved, o Options) {
	for b := range bins {
		from := p.plot.low + (p.plot.high-p.plot.low)*float64(b)/bins
		to := p.plot.low + (p.plot.high-p.plot.low)*float64(b+1)/bins
		var rpm, pa float64
		n := 0
		for _, x := range points {
			if x.RPM >= from && (x.RPM < to || b == bins-1) {
				rpm, pa, n = rpm+x.RPM, pa+x.Pa, n+1
			}
		}
		if n == 0 {
			continue
		}
		rpm, pa = rpm/float64(n), pa/float64(n)
		e := c.Curve(rpm)
		marks := append(o.bar(Bar, 0, e), Mark{Kind: Dot, To: o.in(pa)})
		p.plot.rows = append(p.plot.rows, rpm)
		p.Rows = append(p.Rows, Row{Name: strings.TrimSpace(rpmText(math.Round(rpm)) + " rpm"), Lines: []Line{{Figure: o.figure(e), Marks: marks}}})
	}
}

func (p *Picture) fitPlot() {
	p.fit(true)
	for _, x := range p.plot.points {
		p.Low, p.High = min(p.Low, x.Pa), max(p.High, x.Pa)
	}
	curve := p.plot.curve
	if p.plot.read != nil {
		curve = append(slices.Clone(curve), *p.plot.read)
	}
	for _, c := range curve {
		p.Low, p.High = min(p.Low, c.low), max(p.High, c.high)
	}
}
