package advice

import (
	"fmt"
	"math"
	"slices"

	"dropwalk/advice/air"
	"dropwalk/advice/finding"
	"dropwalk/advice/power"
	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Places of the test of the intake air.
const (
	heatState    = "heat[].state"
	heatOutside  = "heat[].outside"
	heatIntake   = "heat[].intake"
	stoodOutside = "test.stood_outside"
	stoodIntake  = "test.stood_intake"
	coldOutside  = "test.cold_outside"
	coldIntake   = "test.cold_intake"
	thermoStep   = "test.thermometer_division"
	fullLoadPath = "test.full_load"
	steadyPath   = "test.steady_speed"
)

// Verdicts of the test.
const (
	airCool  = "cool"
	airWarm  = "warm"
	airSoaks = "soaks"
)

// States in which the intake is read.
const (
	steadyState = "steady"
	loadedState = "full-load"
)

var heatStates = []string{steadyState, loadedState}

// Marks of the test; common practice, no source.
const (
	heatMark    = 5.0  // K above the open air from which a rise counts: a mouth in cool air stays within it in steady driving
	fewest      = 2    // readings of one kind on which a verdict can rest: one shows no scatter
	heatApart   = 3.0  // K by which repeats may lie apart
	heatOffset  = 2.0  // K that two thermometers can differ by where nobody compared them
	leastRise   = -3.0 // K that an intake is below the open air at the least, such as of a damp filter
	mostRise    = 60.0 // K that it is above while the car moves
	mostSoak    = 90.0 // K that it is above while the car stands
	heatDivided = 1.0  // K, the division of a thermometer that nobody described: scan tools show whole degrees
)

// Limits of what can be typed; far outside what a car can have.
var (
	openLimit = limit{213, 343, "-60 C to 70 C"}
	rpmLimit  = limit{300, 25000, "300 to 25000 rpm"}
)

var intakeAir = test{
	name:     "intake-air",
	verdicts: []string{airCool, airWarm, airSoaks, finding.CannotTell},
	places:   []string{heatState, heatIntake},
	lists:    []string{"heat[]"},
	find:     (*view).foundIntakeAir,
	enough:   (*view).heatEnough,
	doubts:   map[string]doubter{heatOutside: oddRise(heatOutside, heatIntake, mostRise), stoodOutside: oddRise(stoodOutside, stoodIntake, mostSoak)},
	pairs: [][]member{
		{{heatOutside, "the open air"}, {heatIntake, "the intake"}},
		{{stoodOutside, "the open air"}, {stoodIntake, "the intake"}},
		{{coldOutside, "the thermometer outside"}, {coldIntake, "the one in the intake"}},
	},
	limits: map[string]limit{
		heatOutside: openLimit, stoodOutside: openLimit, coldOutside: openLimit, coldIntake: openLimit,
		heatIntake: {213, 423, "-60 C to 150 C"}, stoodIntake: {213, 423, "-60 C to 150 C"},
		thermoStep: {0.001, 20, "a step of at most 20 K"}, steadyPath: {3, 110, "10 km/h to 400 km/h"},
	},

	fields: intakeAirFields,
	facts:  intakeAirFacts,
	sources: []source{
		heatRounds("next-drive", "drives", "steady drives on which the intake air is read: those asked for at least, then more while they lie apart", steadyState),
		heatRounds("next-pull", "pulls", "pulls at full load on which the intake air is read, likewise", loadedState),
	},
}

var intakeAirFields = []subject.Field{
	{Path: heatState, Kind: quantity.Choice, Choices: heatStates, Doc: "what the car does while the intake is read"},
	{Path: heatOutside, Kind: quantity.Temperature, Doc: "temperature of the open air at this reading"},
	{Path: heatIntake, Kind: quantity.Temperature, Doc: "temperature of the air in the intake at this reading"},
	{Path: stoodOutside, Kind: quantity.Temperature, Doc: "temperature of the open air after ten minutes at idle"},
	{Path: stoodIntake, Kind: quantity.Temperature, Doc: "temperature in the intake after ten minutes at idle"},
	{Path: coldOutside, Kind: quantity.Temperature, Doc: "what the thermometer of the open air shows on a cold car"},
	{Path: coldIntake, Kind: quantity.Temperature, Doc: "what the thermometer in the intake shows on a cold car"},
	{Path: thermoStep, Kind: quantity.TemperatureDiff, Doc: "smallest step that the thermometers show"},
	{Path: steadyPath, Kind: quantity.Speed, Doc: "speed of a steady drive"},
	{Path: fullLoadPath, Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether a pull at full load is made too"},
}

var intakeAirFacts = []fact{
	{subject.Fact{Name: "steady_speed", Kind: quantity.Speed, Doc: "speed of a steady drive, as stated"},
		func(v *view) subject.Value { return v.stated(steadyPath, quantity.Speed) }},
	{subject.Fact{Name: "full_load", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether a pull at full load is made in the test of the intake air"},
		func(v *view) subject.Value { return yesNo(v.entry(fullLoadPath, "") == "yes") }},
	{subject.Fact{Name: "blower", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the engine has a blower; yes where nobody knows: what is right ahead of one is right without one too"},
		func(v *view) subject.Value { return yesNo(v.blown()) }},
}

// blown tells whether the engine has or may have a blower.
func (v *view) blown() bool { return v.entry("car.engine.induction", "") != "natural" }

// heatRounds are the rounds of readings in one state.
func heatRounds(name, rows, doc, state string) source {
	return repeats(name, rows, doc, subject.Part{Path: heatState, Text: state})
}

// oddRise doubts an intake that is far colder or warmer than the open air.
func oddRise(outside, intake string, most float64) doubter {
	return func(v *view, parts []subject.Part, _ subject.Round) *strange {
		in := v.partsIn(parts)
		out, ok := in[outside]
		warm, both := in[intake]
		switch rise := warm.SI - out.SI; {
		case !ok || !both:
			return nil
		case rise < leastRise:
			return odd("an intake of %s is colder than the open air of %s: perhaps the two are the other way round", warm.Text(), out.Text())
		case rise > most:
			return odd("an intake of %s is far above the open air of %s: perhaps one is in another unit", warm.Text(), out.Text())
		}
		return nil
	}
}

// rises are the differences of intake and open air in K that were read in a state,
// and the open air in K at each.
func (v *view) rises(state string) (rises, outside []float64) {
	for _, r := range v.rowsFilled(heatIntake) {
		in, out := r.amount(heatIntake, quantity.Temperature), r.amount(heatOutside, quantity.Temperature)
		if in.Known() && out.Known() && r.texts[heatState] == state {
			rises, outside = append(rises, in.SI-out.SI), append(outside, out.SI)
		}
	}
	return rises, outside
}

// heatEnough tells whether the repeats of the rounds at a slot lie together.
func (v *view) heatEnough(at subject.Round) bool {
	rounds, _, _ := cutLast(at.Slot, ".")
	for _, state := range heatStates {
		if rises, _ := v.rises(state); v.rowIn(rounds, heatState, state) {
			return len(rises) >= at.Least && slices.Max(rises)-slices.Min(rises) <= heatApart
		}
	}
	return false
}

// heat is the test as numbers.
type heat struct {
	v      *view
	f      *finding.Finding
	step   float64        // division of the thermometers, K
	offset stats.Estimate // what the intake's thermometer shows more than the other in the same air, K
	cold   bool           // whether they were compared
	engine power.Engine
}

func (v *view) foundIntakeAir() *finding.Finding {
	h := heat{v: v, f: finding.New("intake-air"), step: heatDivided, engine: power.Engine{Fuel: v.entry("car.engine.fuel", ""), Induction: v.entry("car.engine.induction", "")}}
	if a := amountOf(v.entry(thermoStep, ""), quantity.TemperatureDiff); a.Known() && a.SI > 0 {
		h.step = a.SI
	}
	h.compare()
	steady, ok := h.rise(steadyState, "rise-steady", "Rise in steady driving")
	standing, stood := h.stood()
	loaded, pulled := h.rise(loadedState, "rise-full-load", "Rise at full load")
	if !ok && !pulled {
		return h.f
	}
	moving, told := steady, true
	switch hot := pulled && loaded.High >= heatMark; {
	case hot && v.blown() && !(ok && steady.Low > heatMark):
		told = false
	case pulled:
		moving = loaded
	}
	if told || ok {
		h.cost(moving)
	}
	if told {
		h.conclude(moving, standing, stood)
	} else {
		h.blower(ok)
	}
	if stood {
		h.soak(steady, standing, ok)
	}
	return h.f
}

// compare finds what the two thermometers show apart in the same air.
func (h *heat) compare() {
	in, out := amountOf(h.v.entry(coldIntake, ""), quantity.Temperature), amountOf(h.v.entry(coldOutside, ""), quantity.Temperature)
	if in.Known() && out.Known() {
		h.cold = true
		h.offset = finding.Mean([]float64{in.SI - out.SI}, math.Sqrt2*finding.Scale(h.step))
		h.f.Add(finding.Of("offset", "What the two thermometers show apart on a cold car", quantity.TemperatureDiff, h.offset, finding.Measured, "one reading of both, taken off every rise"))
		return
	}
	h.offset = stats.Estimate{SE: finding.Limit(heatOffset), Freedom: stats.Endless}
	h.f.Add(finding.Unknown("offset", "What the two thermometers show apart on a cold car", quantity.TemperatureDiff,
		"they were not compared on a cold car; they may differ by 2 K either way (common practice, no source)"))
}

// rise works out the rise in one state while the car moves, and whether it was read
// often enough for a verdict.
func (h *heat) rise(state, name, label string) (finding.Figure, bool) {
	rises, _ := h.v.rises(state)
	x, _ := h.over(rises, name, label)
	return x, len(rises) >= fewest
}

// stood works out the rise after ten minutes at idle.
func (h *heat) stood() (finding.Figure, bool) {
	in, out := amountOf(h.v.entry(stoodIntake, ""), quantity.Temperature), amountOf(h.v.entry(stoodOutside, ""), quantity.Temperature)
	var rises []float64
	if in.Known() && out.Known() {
		rises = []float64{in.SI - out.SI}
	}
	return h.over(rises, "rise-standing", "Rise after ten minutes at idle")
}

// over makes a figure of the rises that were read.
func (h *heat) over(rises []float64, name, label string) (finding.Figure, bool) {
	if len(rises) == 0 {
		return h.f.Add(finding.Unknown(name, label, quantity.TemperatureDiff, "nobody read it")), false
	}
	scatter, on := 0.0, fmt.Sprintf("%d readings of both temperatures", len(rises))
	if len(rises) == 1 {
		scatter, on = finding.Limit(heatApart), "one reading of both temperatures, taken to be off by 3 K either way (common practice, no source)"
	}
	mean := finding.Mean(rises, math.Sqrt2*finding.Scale(h.step), scatter)
	e := finding.Propagated(mean.Value-h.offset.Value, finding.Term{By: 1, From: mean}, finding.Term{By: -1, From: h.offset})
	return h.f.Add(finding.Of(name, label, quantity.TemperatureDiff, e, finding.Measured, on)), true
}

// cost works out the power that a rise costs.
func (h *heat) cost(rise finding.Figure) {
	r := h.engine.HeatResponse()
	outside := h.openAir()
	share := func(x []float64) float64 { return power.HeatLoss(outside, outside+x[0], x[1]) }
	value, low, high := finding.Around(share, finding.Band(rise.Value, rise.Low, rise.High), finding.Band(r.Exponent.Median, r.Exponent.Low, r.Exponent.High))
	h.f.Add(finding.Between("cost", "Power that the rise costs", quantity.Share, value, low, high, finding.Inferred, r.Note))
	thin := func(x []float64) float64 { return power.HeatLoss(outside, outside+x[0], power.DensityHeat) }
	value, low, high = finding.Around(thin, finding.Band(rise.Value, rise.Low, rise.High))
	h.f.Add(finding.Between("thinner", "How much thinner the air is for it", quantity.Share, value, low, high, finding.Inferred, "the gas law at the pressure of the open air"))
	h.f.Say("The rise of {%s} makes the air thinner by {thinner}. Of power that costs {cost}.", rise.Name)
}

// openAir is the mean temperature of the open air over the readings, in K.
func (h *heat) openAir() float64 {
	var all []float64
	for _, state := range heatStates {
		_, outside := h.v.rises(state)
		all = append(all, outside...)
	}
	if len(all) == 0 {
		return air.Reference.Temperature
	}
	return stats.Mean(all)
}

// conclude holds the rise against the mark, in the state that the verdict goes by.
func (h *heat) conclude(moving, standing finding.Figure, stood bool) {
	h.f.Say("A mouth in cool air stays within about 5 K (9 F) of the open air while the car moves (common practice, no source).")
	switch {
	case moving.Low > heatMark:
		h.f.Conclude(airWarm)
	case moving.High >= heatMark:
		h.f.Conclude(finding.CannotTell)
	case stood && standing.Low > heatMark && standing.Low > moving.High:
		h.f.Conclude(airSoaks)
	default:
		h.f.Conclude(airCool)
	}
	if !h.cold && h.f.Verdict == finding.CannotTell {
		h.f.Say("Compare the two thermometers on a car that stood overnight. That alone narrows the answer.")
	}
}

// blower concludes where the intake is warm on the pulls and not known to be so in
// steady driving, and a blower may stand between: it heats what it presses, and a
// sensor behind it shows that.
func (h *heat) blower(drove bool) {
	h.f.Conclude(finding.CannotTell)
	if drove {
		h.f.Say("On the pulls the intake shows {rise-full-load} more, and in steady driving {rise-steady}.")
	}
	h.f.Say("A blower heats the air at full load. Behind it, and behind a cooler, that is no sign of warm air on the way in. Read again with the sensor ahead of the blower, after a roll that brings it back to its steady figure.")
}

// soak tells what standing adds to the rise.
func (h *heat) soak(steady, standing finding.Figure, drove bool) {
	if drove && standing.Low > steady.High {
		h.f.Say("Standing warms the intake from {rise-steady} to {rise-standing}. Part of that is the sensor, which the hot engine warms.")
	}
}
