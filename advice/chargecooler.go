package advice

import (
	"fmt"
	"math"
	"slices"

	"dropwalk/advice/finding"
	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Places of the test of the charge cooler.
const (
	highRange    = "test.gauge_range"    // of a gauge for pressures above the open air
	highStep     = "test.gauge_division" // its smallest division
	chargeAhead  = "charge[].ahead"
	chargeBehind = "charge[].behind"
	chargeRPM    = "charge[].rpm"
	chargeHot    = "charge[].hot"
	chargeCooled = "charge[].cooled"
	chargeOpen   = "charge[].outside"
	pairAhead    = "test.pair_ahead"
	pairBehind   = "test.pair_behind"
)

// Verdicts of the test.
const (
	coolerSound = "sound"
	coolerTight = "tight"
	coolerHot   = "hot"
	coolerBoth  = "tight-and-hot"
)

// Marks of the test; common practice, no source.
const (
	coolerDrop    = 10e3 // Pa from which a drop counts as high
	coolerEffect  = 0.6  // effectiveness below which a cooler counts as weak
	thermoOff     = 2.0  // K that a thermometer may be off either way
	gaugesApart   = 0.01 // of the range, that two gauges may differ by either way where nobody compared them
	chargeApart   = 3e3  // Pa that the drops of repeats may lie apart
	weatherChange = 3e3  // Pa, that the open air may differ from the usual where nobody looked
)

var chargeCooler = test{
	name:     "charge-cooler",
	verdicts: []string{coolerSound, coolerTight, coolerHot, coolerBoth, finding.CannotTell},
	places:   []string{chargeAhead, chargeHot},
	lists:    []string{"charge[]"},
	find:     (*view).foundCooler,
	enough:   (*view).dropsEnough,

	gauges: map[string]string{chargeAhead: highRange, chargeBehind: highRange, pairAhead: highRange, pairBehind: highRange},
	doubts: map[string]doubter{highRange: (*view).coarseGauge, chargeAhead: (*view).oddDrop, chargeHot: (*view).oddCooling},
	pairs: [][]member{
		{{pairAhead, "the gauge ahead"}, {pairBehind, "the gauge behind"}},
		{{chargeAhead, "the boost ahead"}, {chargeBehind, "the boost behind"}},
		{{chargeHot, "the air ahead of the cooler"}, {chargeCooled, "the air behind it"}, {chargeOpen, "the open air"}},
	},
	limits: map[string]limit{
		chargeHot: {213, 673, "-60 C to 400 C"}, chargeCooled: {213, 573, "-60 C to 300 C"}, chargeOpen: openLimit, chargeRPM: rpmLimit,
	},

	fields: []subject.Field{
		{Path: chargeAhead, Kind: quantity.PressureDiff, Doc: "boost ahead of the charge cooler"},
		{Path: chargeBehind, Kind: quantity.PressureDiff, Doc: "boost behind the charge cooler"},
		{Path: chargeRPM, Kind: quantity.Rotation, Unit: "rpm", Doc: "engine speed at this reading"},
		{Path: chargeHot, Kind: quantity.Temperature, Doc: "temperature of the charge ahead of the cooler"},
		{Path: chargeCooled, Kind: quantity.Temperature, Doc: "temperature of the charge behind the cooler"},
		{Path: chargeOpen, Kind: quantity.Temperature, Doc: "temperature of the open air at this reading"},
		{Path: pairAhead, Kind: quantity.PressureDiff, Doc: "what the gauge ahead of the cooler shows where both hang on one pressure"},
		{Path: pairBehind, Kind: quantity.PressureDiff, Doc: "what the gauge behind the cooler shows then"},
	},
	sources: []source{repeats("next-charge", "charges", "pulls at full boost on which the charge cooler is read: those asked for at least, then more while they lie apart")},
}

// oddDrop doubts a pressure that rises on its way through the cooler.
func (v *view) oddDrop(parts []subject.Part, _ subject.Round) *strange {
	in := v.partsIn(parts)
	ahead, ok := in[chargeAhead]
	behind, both := in[chargeBehind]
	if ok && both && behind.SI-ahead.SI > 2*v.highDivision() {
		return odd("%s behind the cooler is above the %s ahead of it: perhaps the two are the other way round", behind.Text(), ahead.Text())
	}
	return nil
}

// oddCooling doubts a charge that is warmed by the cooler, or cooled below the open air.
func (v *view) oddCooling(parts []subject.Part, _ subject.Round) *strange {
	in := v.partsIn(parts)
	hot, ok := in[chargeHot]
	cold, both := in[chargeCooled]
	open, all := in[chargeOpen]
	switch {
	case !ok || !both:
	case cold.SI > hot.SI:
		return odd("%s behind the cooler is above the %s ahead of it: perhaps the two are the other way round", cold.Text(), hot.Text())
	case all && cold.SI < open.SI-2*thermoOff:
		return odd("%s behind the cooler is below the open air of %s, and no cooler does that", cold.Text(), open.Text())
	}
	return nil
}

// cooled is one reading of the charge cooler, in Pa above the open air and in K; NaN
// where it isn't known.
type cooled struct{ ahead, behind, hot, cold, outside float64 }

func (c cooled) pressures() bool { return !math.IsNaN(c.ahead + c.behind) }
func (c cooled) heat() bool      { return !math.IsNaN(c.hot+c.cold+c.outside) && c.hot > c.outside }

// charges are the readings that were taken.
func (v *view) charges() []cooled {
	number := func(r row, path string, k quantity.Kind) float64 {
		if a := r.amount(path, k); a.Known() {
			return a.SI
		}
		return math.NaN()
	}
	rows := v.rowsFilled(chargeAhead)
	for _, r := range v.rowsFilled(chargeHot) {
		if r.texts[chargeAhead] == "" {
			rows = append(rows, r)
		}
	}
	var out []cooled
	for _, r := range rows {
		out = append(out, cooled{number(r, chargeAhead, quantity.PressureDiff), number(r, chargeBehind, quantity.PressureDiff),
			number(r, chargeHot, quantity.Temperature), number(r, chargeCooled, quantity.Temperature), number(r, chargeOpen, quantity.Temperature)})
	}
	return out
}

// each takes one number of each reading that has it.
func each(list []cooled, has func(cooled) bool, number func(cooled) float64) []float64 {
	var out []float64
	for _, c := range list {
		if has(c) {
			out = append(out, number(c))
		}
	}
	return out
}

func (c cooled) drop() float64 { return c.ahead - c.behind }

// dropsEnough tells whether the drops of the repeats lie together.
func (v *view) dropsEnough(at subject.Round) bool {
	drops := each(v.charges(), cooled.pressures, cooled.drop)
	return len(drops) >= at.Least && slices.Max(drops)-slices.Min(drops) <= chargeApart
}

// cooler is the test as numbers.
type cooler struct {
	v    *view
	f    *finding.Finding
	list []cooled
	open stats.Estimate // pressure of the open air, Pa
}

func (v *view) foundCooler() *finding.Finding {
	k := cooler{v: v, f: finding.New("charge-cooler"), list: v.charges()}
	k.open = stats.Estimate{Value: usualAir.Pressure, SE: finding.Limit(weatherChange), Freedom: stats.Endless}
	if stated := v.stated("air.pressure", quantity.Pressure); stated.Known {
		k.open = stats.Estimate{Value: stated.Number, Freedom: stats.Endless}
	}
	drop := k.drop()
	effect := k.effect()
	k.density()
	k.conclude(drop, effect)
	return k.f
}

// highDivision is the smallest division in Pa of the gauge for pressures above the open
// air, a fiftieth of its range where only that is known.
func (v *view) highDivision() float64 {
	if a := amountOf(v.entry(highStep, ""), quantity.PressureDiff); a.Known() && a.SI > 0 {
		return a.SI
	}
	return v.stated(highRange, quantity.PressureDiff).Number / 50
}

// apart is what the two gauges show apart on one pressure, the gauge ahead less the
// other.
func (k *cooler) apart() (stats.Estimate, string) {
	step := math.Sqrt2 * finding.Scale(k.v.highDivision())
	a, b := amountOf(k.v.entry(pairAhead, ""), quantity.PressureDiff), amountOf(k.v.entry(pairBehind, ""), quantity.PressureDiff)
	if a.Known() && b.Known() {
		return finding.Mean([]float64{a.SI - b.SI}, step), "what both gauges show apart on one pressure is taken off"
	}
	off := gaugesApart * k.v.stated(highRange, quantity.PressureDiff).Number
	return stats.Estimate{SE: math.Sqrt2 * finding.Limit(off), Freedom: stats.Endless}, "the gauges were not compared, and each may be off by 1 % of its range (common practice, no source)"
}

// drop is the fall of pressure across the cooler.
func (k *cooler) drop() finding.Figure {
	drops := each(k.list, cooled.pressures, cooled.drop)
	if len(drops) == 0 {
		return k.f.Add(finding.Unknown("drop", "Pressure drop across the cooler", quantity.PressureDiff, "no pull had both pressures"))
	}
	apart, how := k.apart()
	mean := finding.Mean(drops, math.Sqrt2*finding.Scale(k.v.highDivision()))
	e := finding.Propagated(mean.Value-apart.Value, finding.Term{By: 1, From: mean}, finding.Term{By: -1, From: apart})
	x := k.f.Add(finding.Of("drop", "Pressure drop across the cooler", quantity.PressureDiff, e, finding.Measured, pullsOf(len(drops))+"; "+how))
	ahead := stats.Mean(each(k.list, cooled.pressures, func(c cooled) float64 { return c.ahead }))
	k.f.Say("The boost falls by {drop} of %s on its way through the cooler.", k.v.shownHigh(ahead))
	whole := k.open.Value + ahead
	k.f.Add(finding.Between("drop-cost", "Density that the drop costs", quantity.Share, x.Value/whole, x.Low/whole, x.High/whole, finding.Inferred,
		"the drop over the pressure ahead of the cooler, from nought; an engine that holds its boost behind the cooler makes it good and works its blower harder"))
	return x
}

func pullsOf(n int) string {
	if n == 1 {
		return "one pull, so that its scatter isn't in it"
	}
	return fmt.Sprintf("%d pulls", n)
}

// shownHigh is a pressure in the unit of the gauge.
func (v *view) shownHigh(pa float64) string {
	if a := amountOf(v.entry(highRange, ""), quantity.PressureDiff); a.Known() && v.matter.Units == quantity.AsTyped {
		return quantity.ShowIn(pa, quantity.PressureDiff, a.Unit)
	}
	return quantity.Show(pa, quantity.GaugePressure, v.matter.Units)
}

// temperatures are the means of the three temperatures.
func (k *cooler) temperatures() (hot, cold, outside stats.Estimate, n int) {
	mean := func(number func(cooled) float64) stats.Estimate {
		x := each(k.list, cooled.heat, number)
		n = len(x)
		return finding.Mean(x, finding.Limit(thermoOff))
	}
	return mean(func(c cooled) float64 { return c.hot }), mean(func(c cooled) float64 { return c.cold }), mean(func(c cooled) float64 { return c.outside }), n
}

// effect is how much of the heat that could be taken out the cooler takes out:
// (T1 - T2)/(T1 - T0), the effectiveness against the open air.
func (k *cooler) effect() finding.Figure {
	hot, cold, outside, n := k.temperatures()
	if n == 0 {
		return k.f.Add(finding.Unknown("effectiveness", "Effectiveness of the cooler", quantity.Share, "no pull had all three temperatures"))
	}
	span := hot.Value - outside.Value
	value := (hot.Value - cold.Value) / span
	e := finding.Propagated(value, finding.Term{By: (1 - value) / span, From: hot}, finding.Term{By: -1 / span, From: cold}, finding.Term{By: value / span, From: outside})
	k.f.Say("It takes out {effectiveness} of the heat that it could: the charge comes at %s, leaves at %s, and the open air has %s.",
		k.v.shownHeat(hot.Value), k.v.shownHeat(cold.Value), k.v.shownHeat(outside.Value))
	return k.f.Add(finding.Of("effectiveness", "Effectiveness of the cooler", quantity.Share, e, finding.Measured,
		pullsOf(n)+"; each thermometer may be off by 2 K either way (common practice, no source)"))
}

func (v *view) shownHeat(k float64) string {
	return quantity.Show(k, quantity.Temperature, v.matter.Units)
}

// density is what the cooler brings: how much denser the charge leaves than it comes,
// by the gas law, and what a cooler that reached the open air would still add.
func (k *cooler) density() {
	hot, cold, outside, n := k.temperatures()
	ahead := each(k.list, cooled.pressures, func(c cooled) float64 { return c.ahead })
	if n == 0 || len(ahead) == 0 {
		k.f.Add(finding.Unknown("recovered", "Density that the cooler brings", quantity.Share, "it takes pressures and temperatures of one pull at the least"))
		return
	}
	drop, _ := k.f.Figure("drop")
	whole := k.open.Value + stats.Mean(ahead)
	ratio := func(x []float64) float64 { return (1 - x[0]/whole) * x[1] / x[2] }
	band := func(e stats.Estimate) finding.Input {
		low, high := e.Interval(0.9)
		return finding.Band(e.Value, low, high)
	}
	value, low, high := finding.Around(ratio, finding.Band(drop.Value, drop.Low, drop.High), band(hot), band(cold))
	k.f.Add(finding.Between("recovered", "Density that the cooler brings", quantity.Share, value-1, low-1, high-1, finding.Inferred,
		fmt.Sprintf("pressures and temperatures on both sides, by the gas law, with open air of %s", quantity.Show(k.open.Value, quantity.Pressure, k.v.matter.Units))))
	left := func(x []float64) float64 { return x[0]/x[1] - 1 }
	value, low, high = finding.Around(left, band(cold), band(outside))
	k.f.Add(finding.Between("left", "Density that a cooler down to the open air would add", quantity.Share, value, low, high, finding.Inferred, "the gas law; no cooler reaches it"))
	if x, _ := k.f.Figure("recovered"); x.Value <= 0 {
		k.f.Say("The charge leaves it no denser than it comes: {recovered}.")
	} else {
		k.f.Say("The charge leaves it denser by {recovered}.")
	}
	k.f.Say("A cooler that reached the open air would add {left}.")
}

// side tells on which side of a mark a figure lies: 1 above, -1 below, 0 for neither.
func side(x finding.Figure, mark float64) int {
	switch {
	case x.Low > mark:
		return 1
	case x.High < mark:
		return -1
	}
	return 0
}

// pressuresAlone says what a drop shows by itself where no temperatures were read.
func (k *cooler) pressuresAlone(drop, effect finding.Figure) {
	switch {
	case effect.Given() || !drop.Given():
	case side(drop, coolerDrop) < 0:
		k.f.Say("The drop is low, so that the cooler lets the air through. Whether it cools takes the temperatures.")
	case side(drop, coolerDrop) == 0:
		k.f.Say("The drop lies too near to that mark for this gauge to tell on which side.")
	}
}

// coarseGauge doubts a gauge whose marks lie too far apart for what is looked for: a
// drop of 10 kPa across a cooler, 8.6 kPa in an exhaust at idle.
func (v *view) coarseGauge(parts []subject.Part, _ subject.Round) *strange {
	step, ok := v.partsIn(parts)[highStep]
	if !ok || step.SI <= coolerDrop/2 {
		return nil
	}
	return odd("marks %s apart are too coarse: what is looked for here is about %s, and it takes marks of %s or less", step.Text(), v.shownHigh(coolerDrop), v.shownHigh(coolerDrop/2))
}

func (k *cooler) conclude(drop, effect finding.Figure) {
	pulls, heats := len(each(k.list, cooled.pressures, cooled.drop)), len(each(k.list, cooled.heat, cooled.drop))
	if pulls < fewest && heats < fewest {
		return
	}
	if pulls < fewest {
		drop = finding.Unknown("", "", "", "")
	}
	if heats < fewest {
		effect = finding.Unknown("", "", "", "")
	}
	k.f.Say("A drop of more than about %s at full boost counts as high, and an effectiveness below about 60 %% as weak (common practice, no source).", k.v.shownHigh(coolerDrop))
	k.pressuresAlone(drop, effect)
	tight, hot := side(drop, coolerDrop) > 0, side(effect, coolerEffect) < 0
	switch {
	case tight && hot:
		k.f.Conclude(coolerBoth)
	case tight:
		k.f.Conclude(coolerTight)
	case hot:
		k.f.Conclude(coolerHot)
	case side(drop, coolerDrop) < 0 && side(effect, coolerEffect) > 0:
		k.f.Conclude(coolerSound)
	default:
		k.f.Conclude(finding.CannotTell)
	}
}
