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
	breathing     = 0.15 // log SD of the volumetric efficiency for a factor e in rpm: a tenth for a factor of two
	doubtShare    = 0.15
	doubtFloor    = 100.0 // Pa
)

// setReadings corrects the readings, then works out their uncertainty. Errors
// that go with the size of a reading are worked out for the mean of its repeats,
// not for the reading itself: else those that happen to be low would count as
// surer, and the mean would come out low.
func (c *Car) setReadings() {
	for i, r := range c.Sheet.Readings {
		if out, ok := c.correct(i, r); ok {
			c.Readings = append(c.Readings, out)
		}
	}
	c.partSlow()
	var means []float64
	for _, r := range c.Readings {
		means = append(means, r.Value)
	}
	for _, set := range c.repeats() {
		mean := 0.0
		for _, i := range set {
			mean += c.Readings[i].Value / float64(len(set))
		}
		for _, i := range set {
			means[i] = mean
		}
	}
	for i := range c.Readings {
		r := &c.Readings[i]
		c.weigh(r, c.Sheet.Readings[r.At], c.zeroOf(r.At), means[i])
	}
	c.Squares, c.Freedom = c.repeated()
	c.Scatter = pooled(c.Squares, c.Freedom)
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
	}
	out, _ := c.correct(-1, r)
	c.weigh(&out, r, zero{before: true, after: true}, pa)
	out.Own += (square(c.Scatter) - 1) * out.Usual
	return out
}

// correct carries one reading to the reference point; false where it says
// nothing.
func (c *Car) correct(i int, r sheet.Reading) (Reading, bool) {
	from, to := c.Index(r.From), c.Index(r.To)
	if from < 0 || to <= from || !usable(r.Value) {
		return Reading{}, false
	}
	w := c.way(r)
	out := Reading{At: i, Phi: math.Exp(2*c.ofRun(w) - w.density)}
	out.From, out.To = from, to
	out.Shown = c.gauge(r).truth(r.Value.SI)
	if i >= 0 {
		out.Shown -= c.zeroOf(i).mean
	}
	wind, _ := c.wind(r)
	out.Value = (out.Shown - wind) / out.Phi
	out.Head = c.Stations[to].Shown() - c.Stations[from].Shown()
	switch {
	case r.Value.Form == quantity.Above, c.gauge(r).pegged(r.Value):
		out.Bound = infer.AtLeast
	case r.Value.Form == quantity.Below:
		out.Bound = infer.AtMost
	}
	return out, true
}

// weigh works out what makes a reading of about y pascals at the reference
// point uncertain.
func (c *Car) weigh(r *Reading, in sheet.Reading, z zero, y float64) {
	r.load, r.Usual = load{}, 0
	g, w := c.gauge(in), c.way(in)
	c.wayLoads(r, w, y)
	c.gaugeLoads(r, g, z, y*r.Phi)
	c.tapLoads(r)
	c.windLoads(r, in)
	r.Usual += square(scatterShare*y) + square(scatterFloor) + square(g.reading(in.Value)/r.Phi)
	if c.priors != nil {
		r.Usual *= square(c.priors.scatter())
	}
	r.Own += r.Usual
	if in.Doubtful != "" {
		r.Own += square(doubtShare*y) + square(doubtFloor)
	}
}

func usable(a quantity.Amount) bool {
	return a.Form == quantity.Exact || a.Form == quantity.Swing || a.Form == quantity.Above || a.Form == quantity.Below
}

// wayLoads: what the way from the run to the reference point adds.
func (c *Car) wayLoads(r *Reading, w way, y float64) {
	rpm := blindRPMSD
	switch {
	case w.rpmKnown && w.hasFlow:
		rpm = rpmSD / math.Sqrt2
	case w.rpmKnown:
		rpm = rpmSD
	case w.hasFlow:
		rpm = runFlowSD
	}
	r.Usual += square(2 * rpm * y)
	if w.hasFlow {
		c.factors.add(r.load, "flow of the day", 2*c.day.sd*y)
	} else {
		c.factors.add(r.load, "breathing", 2*breathing*w.rpm*y)
		c.factors.add(r.load, "pressure exponent", 2*c.control.aSD*w.pressure*y)
		c.factors.add(r.load, "temperature exponent", -2*c.control.bSD*w.temperature*y)
		c.factors.add(r.load, "flow of the day", 2*wayFloor*y)
	}
	if !w.airKnown {
		a, b := c.control.a, c.control.b
		c.factors.add(r.load, "unknown pressure", (2*a-1)*blindPressSD*y)
		c.factors.add(r.load, "unknown temperature", (1-2*b)*blindHeatSD*y)
	}
	c.factors.add(r.load, "loss exponent", c.ofRun(w)*exponentSD*y)
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
	// The fan of a rolling road blows at 10 to 15 m/s on the front of the car, 60 to
	// 130 Pa, of which the mouth feels what it feels of the road wind.
	fanWind = 30.0 // Pa
)

// wind is what road speed is expected to add to a reading from the open air, in
// Pa as shown, and the velocity head of the road speed.
func (c *Car) wind(in sheet.Reading) (mean, head float64) {
	if in.From != sheet.OpenAir || c.Sheet.Place == "rolling-road" {
		return 0, 0
	}
	head = air.VelocityHead(c.airOf(in).Density(), known(in.Speed, usualSpeedRoad))
	port, _ := portCp(in.Reference)
	return (port - mouthCp) * head, head
}

// windLoads: what road speed at the mouth and at the gauge's open port may do.
func (c *Car) windLoads(r *Reading, in sheet.Reading) {
	if r.From != 0 {
		return
	}
	if c.Sheet.Place == "rolling-road" {
		c.factors.add(r.load, "fan", fanWind/r.Phi)
		return
	}
	mean, head := c.wind(in)
	sd := 0.02
	if !in.Speed.Known() {
		sd = usualSpeedRoadSD
	}
	_, portSD := portCp(in.Reference)
	c.factors.add(r.load, "mouth in the wind", -mouthCpSD*head/r.Phi)
	c.factors.add(r.load, "port in the wind "+in.Reference, portSD*head/r.Phi)
	r.Own += square(2 * sd * mean / r.Phi)
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

// pooled is the scatter of repeats over the usual one, held together with a few
// degrees of freedom that speak for the usual scatter.
func pooled(squares, freedom float64) float64 {
	const usualFreedom = 4
	return min(max(math.Sqrt((usualFreedom+squares)/(usualFreedom+freedom)), 0.5), 3)
}

// repeated is by how much repeats of the same two stations by the same gauge scatter:
// the sum of squares over what is usual, and its degrees of freedom.
func (c *Car) repeated() (squares, freedom float64) {
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
	return squares, freedom
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
