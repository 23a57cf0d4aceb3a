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
}

type curvePoint struct{ rpm, middle, low, high float64 }

// Limits of what is drawn: more points only blacken the picture, more steps
// show nothing that the eye can see.
const (
	mostPoints = 400
	steps      = 48
	bins       = 7 // rows in text
)

// OverRPM shows readings over engine speed with a fitted curve, which gives the
// pressure at an engine speed with its interval, in Pa; exponent says in words
// how the loss grows. Without points the picture is empty.
func OverRPM(points []Point, curve func(rpm float64) assessment.Estimate, exponent string, o Options) Picture {
	p := Picture{Name: "over-rpm", Title: "The pressure difference over the speed of the engine", Unit: o.Unit, Key: []Sign{
		{Speck, "what was read"}, {Fit, "the curve that fits best"}, {Limit, "the curve lies between these nine times in ten"}}}
	points = slices.DeleteFunc(slices.Clone(points), func(x Point) bool {
		return !(x.RPM > 0) || math.IsNaN(x.Pa) || math.IsInf(x.Pa, 0) || math.IsInf(x.RPM, 0)
	})
	if len(points) == 0 {
		return p
	}
	slices.SortStableFunc(points, func(a, b Point) int { return cmp.Compare(a.RPM, b.RPM) })
	p.plot = &plot{low: points[0].RPM, high: points[len(points)-1].RPM}
	p.plot.span()
	for _, i := range thinned(len(points)) {
		p.plot.points = append(p.plot.points, Point{points[i].RPM, o.in(points[i].Pa)})
	}
	for i := range steps + 1 {
		rpm := p.plot.low + (p.plot.high-p.plot.low)*float64(i)/steps
		e := curve(rpm)
		p.plot.curve = append(p.plot.curve, curvePoint{rpm, o.in(e.Median), o.in(e.Low), o.in(e.High)})
	}
	p.rowsOf(points, curve, o)
	first, last := points[0].RPM, points[len(points)-1].RPM
	p.Alt = fmt.Sprintf("%d readings from %s to %s rpm. By the fitted curve, in %s: %s at %s rpm, %s at %s rpm.", len(points), rpmText(first), rpmText(last),
		o.Unit, o.figure(curve(first)), rpmText(first), o.figure(curve(last)), rpmText(last))
	if exponent != "" {
		p.Notes = []string{clean(exponent)}
		p.Alt += " " + clean(exponent)
	}
	p.fitPlot()
	return p
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
func (p *Picture) rowsOf(points []Point, curve func(float64) assessment.Estimate, o Options) {
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
		e := curve(rpm)
		marks := append(o.bar(Bar, 0, e), Mark{Kind: Dot, To: o.in(pa)})
		p.Rows = append(p.Rows, Row{Name: strings.TrimSpace(rpmText(math.Round(rpm)) + " rpm"), Lines: []Line{{Figure: o.figure(e), Marks: marks}}})
	}
}

func (p *Picture) fitPlot() {
	p.fit(true)
	for _, x := range p.plot.points {
		p.Low, p.High = min(p.Low, x.Pa), max(p.High, x.Pa)
	}
	for _, c := range p.plot.curve {
		p.Low, p.High = min(p.Low, c.low), max(p.High, c.high)
	}
}
