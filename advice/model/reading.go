package model

import (
	"math"

	"dropwalk/advice/air"
	"dropwalk/advice/infer"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// Reading is a reading at the reference point.
type Reading struct {
	infer.Reading
	At    int     // its place in the sheet
	Shown float64 // as the gauge showed it, zero and correction applied, Pa
	Phi   float64 // what a loss was on the run over what it is at the reference point
	Own   float64 // variance of what it shares with no other reading, Pa2
	Usual float64 // the part of Own that repeats scatter by, Pa2
	load  load
}

// Terms of a reading's uncertainty where the sheet states none (common
// practice, no source, where nothing else is said).
const (
	usualAccuracy = 0.02  // of full scale
	usualRange    = 6227. // Pa, 25 inH2O
	scatterShare  = 0.02  // run to run, of the reading
	scatterFloor  = 12.0  // Pa
	rpmSD         = 0.008 // of a rev counter read on the move
	blindRPMSD    = 0.03  // full throttle to the reference rpm, nobody wrote it down
	runFlowSD     = 0.01  // run to run, of a measured flow
	exponentSD    = 0.08  // of the exponent of the flow: plastic ducts 1.8-2.0, filters less
	blindHeatSD   = 0.033 // log SD of the absolute temperature where no air was stated
	blindPressSD  = 0.02
	doubtShare    = 0.15
	doubtFloor    = 100.0 // Pa
)

func (c *Car) setReadings() {
	for i, r := range c.Sheet.Readings {
		if out, ok := c.reading(i, r); ok {
			c.Readings = append(c.Readings, out)
		}
	}
	c.Scatter = c.pool()
	for i := range c.Readings {
		r := &c.Readings[i]
		r.Own += (square(c.Scatter) - 1) * r.Usual
	}
}

// Planned is a reading that nobody took yet, expected to show pa pascals: its
// uncertainty without its value.
func (c *Car) Planned(from, to int, gauge string, pa float64) Reading {
	r := sheet.Reading{
		From: c.Stations[from].Name, To: c.Stations[to].Name, Gauge: gauge, RPM: c.RPM,
		Value: quantity.Amount{Kind: quantity.PressureDiff, Form: quantity.Exact, SI: pa, Low: pa, High: pa},
		Air:   sheet.Air{},
	}
	r.ZeroBefore = quantity.Amount{Kind: quantity.PressureDiff, Form: quantity.Exact}
	r.ZeroAfter = r.ZeroBefore
	out, _ := c.reading(-1, r)
	out.Own += (square(c.Scatter) - 1) * out.Usual
	return out
}

// reading corrects one reading; false where it says nothing.
func (c *Car) reading(i int, r sheet.Reading) (Reading, bool) {
	from, to := c.Index(r.From), c.Index(r.To)
	if from < 0 || to <= from || !usable(r.Value) {
		return Reading{}, false
	}
	w := c.way(r)
	flow := w.flow(c.control)
	out := Reading{At: i, Phi: math.Exp(2*flow - w.density), load: load{}}
	out.From, out.To = from, to
	g := c.gauge(r)
	out.Shown = g.truth(r.Value.SI) - g.zero(r)
	out.Value = out.Shown / out.Phi
	out.Head = c.Stations[to].Head - c.Stations[from].Head
	switch r.Value.Form {
	case quantity.Above:
		out.Bound = infer.AtLeast
	case quantity.Below:
		out.Bound = infer.AtMost
	}
	c.wayLoads(&out, w, flow)
	c.gaugeLoads(&out, g, r)
	c.tapLoads(&out)
	c.windLoads(&out, r)
	out.Usual = square(scatterShare*out.Value) + square(scatterFloor)
	out.Own += out.Usual + square(g.reading(r.Value)/out.Phi)
	if r.Doubtful != "" {
		out.Own += square(doubtShare*out.Value) + square(doubtFloor)
	}
	return out, true
}

func usable(a quantity.Amount) bool {
	return a.Form == quantity.Exact || a.Form == quantity.Swing || a.Form == quantity.Above || a.Form == quantity.Below
}

// wayLoads: what the way from the run to the reference point adds.
func (c *Car) wayLoads(r *Reading, w way, flow float64) {
	y := r.Value
	if w.hasFlow {
		r.Own += square(2 * runFlowSD * y)
	} else {
		rpm := blindRPMSD
		if w.rpmKnown {
			rpm = rpmSD
		}
		r.Own += square(2 * rpm * y)
		c.factors.add(r.load, "pressure exponent", 2*c.control.aSD*w.pressure*y)
		c.factors.add(r.load, "temperature exponent", -2*c.control.bSD*w.temperature*y)
	}
	if !w.airKnown {
		a, b := c.control.a, c.control.b
		if w.hasFlow {
			a, b = 0, 0
		}
		c.factors.add(r.load, "unknown pressure", (2*a-1)*blindPressSD*y)
		c.factors.add(r.load, "unknown temperature", (1-2*b)*blindHeatSD*y)
	}
	c.factors.add(r.load, "loss exponent", flow*exponentSD*y)
}

// tapLoads: what the bores at its taps add.
func (c *Car) tapLoads(r *Reading) {
	for _, end := range []struct {
		at   int
		sign float64
	}{{r.To, 1}, {r.From, -1}} {
		for k, v := range c.headLoad(end.at) {
			r.load[k] += end.sign * v
		}
	}
}

// Pressure coefficients of a body in the wind of its own speed. A mouth: -0.7
// to +1; a port in the cabin: -0.2 to +0.1 (from memory, low to medium confidence);
// the rest is common practice without source.
const (
	mouthCp, mouthCpSD = 0.15, 0.40
	cabinCp, cabinCpSD = -0.05, 0.09
	bayCp, bayCpSD     = 0.0, 0.15
	stillCpSD          = 0.03
	blindCp, blindCpSD = -0.03, 0.10
	usualSpeedRoad     = 22.0 // m/s: second gear at the reference rpm
	usualSpeedRoadSD   = 0.2  // relative
	fanWind            = 15.0 // Pa, fan and wall on a rolling road
)

// windLoads: road speed at the mouth and at the gauge's open port. The mean of
// what they do is taken off the reading.
func (c *Car) windLoads(r *Reading, in sheet.Reading) {
	if r.From != 0 {
		return
	}
	if c.Sheet.Place == "rolling-road" {
		c.factors.add(r.load, "fan", fanWind/r.Phi)
		return
	}
	speed, sd := known(in.Speed, usualSpeedRoad), 0.02
	if !in.Speed.Known() {
		sd = usualSpeedRoadSD
	}
	q := air.VelocityHead(c.airOf(in).Density(), speed) / r.Phi
	port, portSD := portCp(in.Reference)
	r.Value -= (port - mouthCp) * q
	c.factors.add(r.load, "mouth in the wind", -mouthCpSD*q)
	c.factors.add(r.load, "port in the wind "+in.Reference, portSD*q)
	r.Own += square(2 * sd * (port - mouthCp) * q)
}

func portCp(reference string) (cp, sd float64) {
	switch reference {
	case "outside":
		return 0, stillCpSD
	case "cabin":
		return cabinCp, cabinCpSD
	case "engine-bay":
		return bayCp, bayCpSD
	}
	return blindCp, blindCpSD
}

// pool is the scatter of repeats over the usual one: repeats of the same two
// stations by the same gauge, held together with a few degrees of freedom that
// speak for the usual scatter.
func (c *Car) pool() float64 {
	const usualFreedom = 4
	squares, freedom := 0.0, 0.0
	for _, set := range c.repeats() {
		mean := 0.0
		for _, i := range set {
			mean += c.Readings[i].Value / float64(len(set))
		}
		for _, i := range set {
			squares += square(c.Readings[i].Value-mean) / c.Readings[i].Own
		}
		freedom += float64(len(set) - 1)
	}
	return min(max(math.Sqrt((usualFreedom+squares)/(usualFreedom+freedom)), 0.5), 3)
}

// repeats are the readings, by number, that were taken between the same
// stations with the same gauge and gave a value: sets of two and more.
func (c *Car) repeats() [][]int {
	type key struct {
		from, to int
		gauge    string
	}
	at := map[key]int{}
	var sets [][]int
	for i, r := range c.Readings {
		if r.Bound != infer.Value {
			continue
		}
		k := key{r.From, r.To, c.Sheet.Readings[r.At].Gauge}
		n, ok := at[k]
		if !ok {
			n = len(sets)
			at[k] = n
			sets = append(sets, nil)
		}
		sets[n] = append(sets[n], i)
	}
	out := sets[:0]
	for _, s := range sets {
		if len(s) > 1 {
			out = append(out, s)
		}
	}
	return out
}
