package practice

import (
	"math"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// Gauge is one gauge as it truly is. Range and Division are in its Unit.
type Gauge struct {
	Name, Unit      string
	Range, Division float64
	Accuracy        float64 // share of full scale that its maker states

	gain  float64 // error as a share of what it shows
	zero  float64 // Pa, what it shows at rest after it was set
	creep float64 // Pa a run, of the zero
	curve float64 // Pa, of its uneven scale
	phase float64 // rad
}

// The gauges of the trade: dials of 2 % of full scale, a few of them metric.
var (
	wideGauges = []Gauge{
		{Name: "g25", Unit: "inH2O", Range: 25, Division: 0.5, Accuracy: 0.02},
		{Name: "g20", Unit: "inH2O", Range: 20, Division: 0.5, Accuracy: 0.02},
		{Name: "g30", Unit: "inH2O", Range: 30, Division: 1, Accuracy: 0.02},
		{Name: "g6k", Unit: "kPa", Range: 6, Division: 0.1, Accuracy: 0.016},
		{Name: "g60m", Unit: "mbar", Range: 60, Division: 1, Accuracy: 0.025},
	}
	widestGauge = Gauge{Name: "g60", Unit: "inH2O", Range: 60, Division: 1, Accuracy: 0.02}
	fineGauges  = []Gauge{
		{Name: "g5", Unit: "inH2O", Range: 5, Division: 0.1, Accuracy: 0.02},
		{Name: "g3", Unit: "inH2O", Range: 3, Division: 0.1, Accuracy: 0.02},
		{Name: "g10", Unit: "inH2O", Range: 10, Division: 0.2, Accuracy: 0.02},
	}
	smallGauges = []Gauge{
		{Name: "g15", Unit: "inH2O", Range: 15, Division: 0.5, Accuracy: 0.02},
		{Name: "g10", Unit: "inH2O", Range: 10, Division: 0.2, Accuracy: 0.02},
		{Name: "g5", Unit: "inH2O", Range: 5, Division: 0.1, Accuracy: 0.02},
		{Name: "g3", Unit: "inH2O", Range: 3, Division: 0.1, Accuracy: 0.02},
		{Name: "g1", Unit: "inH2O", Range: 1, Division: 0.02, Accuracy: 0.02},
	}
)

// pascals is a number of the gauge's units in Pa.
func (g *Gauge) pascals(v float64) float64 {
	r := units[g.Unit]
	return v * float64(r.over) / float64(r.under)
}

// decimals that half a division needs.
func (g *Gauge) decimals() int {
	if g.Division >= 1 {
		return 1
	}
	if g.Division >= 0.1 {
		return 2
	}
	return 3
}

// err draws the errors of this very gauge: together they stay near its accuracy.
func (g *Gauge) err(d dice, m *manner) {
	limit := g.Accuracy * g.pascals(g.Range)
	g.gain = d.normal(0, 0.4*g.Accuracy)
	g.zero = d.normal(0, 0.1*limit)
	g.creep = d.normal(0, 0.015*limit)
	g.curve = d.between(0, m.nonlinear) * limit
	g.phase = d.between(0, 2*math.Pi)
}

// rest is what the gauge shows with no pressure on it at a run, Pa.
func (g *Gauge) rest(run int) float64 { return g.zero + g.creep*float64(run) }

// shows is what the needle shows at a run for a true difference, Pa.
func (g *Gauge) shows(truth float64, run int) float64 {
	along := 2 * math.Pi * truth / g.pascals(g.Range)
	uneven := g.curve * (math.Sin(along+g.phase) - math.Sin(g.phase))
	return truth*(1+g.gain) + uneven + g.rest(run)
}

// read is what a person writes down, to half a division. width is the half-width
// of the needle's swing in Pa, 0 where it stands still.
func (g *Gauge) read(shown, width float64) quantity.Amount {
	half := g.Division / 2
	v := round(fromSI(shown, g.Unit), half)
	if v > g.Range {
		return above(g.Range, g.decimals(), g.Unit)
	}
	v = max(v, -g.Range)
	low := round(fromSI(shown-width, g.Unit), half)
	high := round(fromSI(shown+width, g.Unit), half)
	if low < high && high <= g.Range && low >= -g.Range {
		return swing(low, high, g.decimals(), g.Unit)
	}
	return amount(quantity.PressureDiff, v, g.decimals(), g.Unit)
}

// entry is the gauge as the sheet describes it.
func (g *Gauge) entry() sheet.Gauge {
	return sheet.Gauge{
		Name:     g.Name,
		Range:    amount(quantity.PressureDiff, g.Range, 0, g.Unit),
		Division: amount(quantity.PressureDiff, g.Division, 2, g.Unit),
		Accuracy: amount(quantity.Share, 100*g.Accuracy, 1, "%"),
		Position: "upright",
	}
}
