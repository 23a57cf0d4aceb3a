package advice

import (
	"fmt"
	"math"
	"slices"

	"dropwalk/advice/finding"
	"dropwalk/advice/power"
	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Places of the test of the exhaust back-pressure.
const (
	backValue = "exhaust[].value"
	backRPM   = "exhaust[].rpm"
	backLoad  = "exhaust[].load"
)

// What the engine does while it is read.
const (
	unloaded = "unloaded"
	loaded   = "full-load"
)

// Verdicts of the test.
const (
	exhaustFree   = "free"
	exhaustChoked = "choked"
)

// Marks of the test; common practice, no source. They are those of an engine without
// load.
const (
	idleBack    = 8.6e3  // Pa at idle: 1.25 psi
	raisedBack  = 20.7e3 // Pa at raisedRPM: 3 psi
	raisedRPM   = 2500.0
	highestIdle = 1100.0 // rpm up to which the engine counts as idling
	nearRaised  = 250.0  // rpm by which a reading may miss raisedRPM
)

var backPressure = test{
	name:     "back-pressure",
	verdicts: []string{exhaustFree, exhaustChoked, finding.CannotTell},
	places:   []string{backValue},
	lists:    []string{"exhaust[]"},
	find:     (*view).foundBackPressure,

	gauges: map[string]string{backValue: highRange, highStep: highRange},
	doubts: map[string]doubter{backValue: (*view).oddExhaust},
	pairs:  [][]member{{{backValue, "the pressure"}, {backRPM, "the engine speed"}}},
	limits: map[string]limit{backRPM: rpmLimit, highRange: {5e3, 1e6, "5 kPa to 1 MPa"}},

	fields: []subject.Field{
		{Path: backValue, Kind: quantity.PressureDiff, Doc: "pressure in the exhaust above the open air"},
		{Path: backRPM, Kind: quantity.Rotation, Unit: "rpm", Doc: "engine speed at this reading"},
		{Path: backLoad, Kind: quantity.Choice, Choices: []string{unloaded, loaded}, Doc: "what the engine does meanwhile"},
		{Path: highRange, Kind: quantity.PressureDiff, Required: true, Doc: "full scale of a gauge for pressures above the open air"},
		{Path: highStep, Kind: quantity.PressureDiff, Doc: "its smallest division"},
		{Path: loadedPull, Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the exhaust is read at full load on a rolling road"},
	},
	facts: []fact{
		{subject.Fact{Name: "loaded", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the exhaust is read at full load on a rolling road"},
			func(v *view) subject.Value { return yesNo(v.entry(loadedPull, "") == "yes") }},
		{subject.Fact{Name: "high_gauge_range", Kind: quantity.PressureDiff, Doc: "full scale of the gauge for pressures above the open air"},
			func(v *view) subject.Value { return v.stated(highRange, quantity.PressureDiff) }},
	},
	sources: []source{
		{subject.Source{Name: "next-speed", Doc: "engine speeds without load at which the exhaust is read, twice through: idle, 1500, 2000, 2500 and 3000 rpm", Rows: "speeds",
			Values: []subject.Fact{{Name: "at", Kind: quantity.Text, Doc: "the engine speed"}}}, (*view).nextSpeed},
		repeats("next-load", "loads", "runs at full load on which the exhaust is read", subject.Part{Path: backLoad, Text: loaded}),
	},
}

// loadedPull says whether the exhaust is read at full load too.
const loadedPull = "test.loaded"

// backSpeeds are the speeds at which the exhaust is read without load.
var backSpeeds = []string{"idle", "1500 rpm", "2000 rpm", "2500 rpm", "3000 rpm"}

// nextSpeed goes twice through the speeds, so that each has a repeat.
func (v *view) nextSpeed(at subject.Round) (subject.Offer, bool) {
	if at.Done >= 2*len(backSpeeds) {
		return subject.Offer{}, false
	}
	return subject.Offer{Values: map[string]string{"at": backSpeeds[at.Done%len(backSpeeds)]}, Parts: []subject.Part{{Path: backLoad, Text: unloaded}}}, true
}

// mostBack is what the exhaust of a road car hardly ever holds back, in Pa (common
// practice, no source).
const mostBack = 80e3

// oddExhaust doubts what no exhaust holds back, and a suction.
func (v *view) oddExhaust(parts []subject.Part, _ subject.Round) *strange {
	switch a, ok := v.partsIn(parts)[backValue]; {
	case !ok:
	case a.SI > mostBack:
		return odd("%s is more than an exhaust holds back: perhaps it is in another unit", a.Text())
	case a.SI < -v.highDivision():
		return odd("%s is below the open air, and an exhaust pushes", a.Text())
	}
	return nil
}

// backReading is one reading of the exhaust: Pa above the open air, rpm. Where the
// needle hardly moved, only what it stayed below is known.
type backReading struct {
	pa, rpm float64
	below   bool
}

// backReadings are those that were taken unloaded or loaded.
func (v *view) backReadings(load string) []backReading {
	var out []backReading
	for _, r := range v.rowsFilled(backValue) {
		value, rpm := r.amount(backValue, quantity.PressureDiff), r.amount(backRPM, quantity.Rotation)
		below := value.Form == quantity.Below
		if (value.Known() || below) && rpm.Known() && r.texts[backLoad] == load {
			out = append(out, backReading{value.SI, rpm.SI, below})
		}
	}
	return out
}

// exhaust is the test as numbers.
type exhaust struct {
	v    *view
	f    *finding.Finding
	step float64 // division of the gauge, Pa
}

func (v *view) foundBackPressure() *finding.Finding {
	x := exhaust{v, finding.New("back-pressure"), v.highDivision()}
	free := v.backReadings(unloaded)
	if len(free) == 0 {
		return x.f
	}
	idle := x.at(free, "idle", "Back-pressure at idle", func(rpm float64) bool { return rpm <= highestIdle }, 0)
	raised := x.at(free, "raised", "Back-pressure at 2500 rpm without load", func(rpm float64) bool { return math.Abs(rpm-raisedRPM) <= nearRaised }, raisedRPM)
	x.exponent(free)
	x.loaded()
	x.contradiction(raised)
	x.conclude(idle, raised)
	return x.f
}

// at is the mean of the readings at one speed, as far as a verdict can rest on it;
// where a speed is wanted, each is brought to it by the square law.
func (x *exhaust) at(list []backReading, name, label string, near func(rpm float64) bool, want float64) finding.Figure {
	var values, bounds []float64
	for _, r := range list {
		by := 1.0
		if want > 0 {
			by = want / r.rpm * want / r.rpm
		}
		switch {
		case !near(r.rpm):
		case r.below:
			bounds = append(bounds, by*r.pa)
		default:
			values = append(values, by*r.pa)
		}
	}
	if len(values) == 0 && len(bounds) > 0 {
		return x.f.Add(finding.AtMost(name, label, quantity.PressureDiff, slices.Max(bounds), finding.Measured, "the needle hardly moved"))
	}
	if len(values) == 0 {
		return x.f.Add(finding.Unknown(name, label, quantity.PressureDiff, "nobody read it"))
	}
	if len(values) < fewest {
		x.f.Add(finding.Of(name, label, quantity.PressureDiff, finding.Mean(values, finding.Scale(x.step)), finding.Measured, "one reading, so that its scatter isn't in it; no verdict rests on it"))
		return finding.Unknown(name, label, quantity.PressureDiff, "")
	}
	return x.f.Add(finding.Of(name, label, quantity.PressureDiff, finding.Mean(values, finding.Scale(x.step)), finding.Measured, fmt.Sprintf("%d readings", len(values))))
}

// exponent is how the pressure grows with the speed of the engine, by a straight line
// through the logarithms. Readings below a division carry no logarithm.
func (x *exhaust) exponent(list []backReading) {
	const label = "Exponent with which it grows with engine speed"
	var design [][]float64
	var y []float64
	for _, r := range list {
		if r.pa > x.step && !r.below {
			design, y = append(design, []float64{1, math.Log(r.rpm)}), append(y, math.Log(r.pa))
		}
	}
	speeds := slices.Clone(design)
	slices.SortFunc(speeds, func(a, b []float64) int { return int(math.Copysign(1, a[1]-b[1])) })
	if n := len(y); n < 4 || speeds[n-1][1]-speeds[0][1] < math.Log(1.5) {
		x.f.Add(finding.Unknown("exponent", label, quantity.Number, "it takes four readings above one division, over a range of half as much again"))
		return
	}
	fit, err := stats.LeastSquares(design, y)
	if err != nil {
		x.f.Add(finding.Unknown("exponent", label, quantity.Number, "the speeds lie too near together"))
		return
	}
	x.f.Add(finding.Of("exponent", label, quantity.Number, fit.Estimate(1), finding.Measured, fmt.Sprintf("a straight line through the logarithms of %d readings", len(y))))
	x.f.Say("It grows with the engine speed to the power of {exponent}. Without load the flow grows about as the speed does, so that about 2 is what pipes give; more means that something closes up.")
}

// loaded tells what was read at full load, and the least that it costs.
func (x *exhaust) loaded() {
	list := x.v.backReadings(loaded)
	const label = "Back-pressure at full load"
	if len(list) == 0 {
		x.f.Add(finding.Unknown("full-load", label, quantity.PressureDiff, "nobody read it"))
		return
	}
	var values, speeds []float64
	for _, r := range list {
		if !r.below {
			values, speeds = append(values, r.pa), append(speeds, r.rpm)
		}
	}
	if len(values) == 0 {
		x.f.Add(finding.Unknown("full-load", label, quantity.PressureDiff, "the needle hardly moved"))
		return
	}
	rpm := stats.Mean(speeds)
	full := x.f.Add(finding.Of("full-load", label, quantity.PressureDiff, finding.Mean(values, finding.Scale(x.step)), finding.Measured,
		fmt.Sprintf("%s at %.0f rpm on the mean", runsOfLoad(len(values)), rpm)))
	volume, watts := x.v.stated("car.engine.displacement", quantity.Volume), x.v.stated("car.engine.peak_power", quantity.Power)
	if !volume.Known || !watts.Known || rpm <= 0 {
		x.f.Add(finding.Unknown("pumping", "Power that pushing the gas out costs at the least", quantity.Share, "it takes the size of the engine and its power"))
		return
	}
	mean := power.MeanPressure(watts.Number, volume.Number, rpm, 4)
	x.f.Add(finding.AtLeast("pumping", "Power that pushing the gas out costs", quantity.Share, max(0, full.Low)/mean, finding.Inferred,
		"the pressure over the mean pressure of the engine; hot gas that stays in the cylinder costs more, and is not in it"))
	x.f.Say("At full load it is {full-load}. To push against it costs {pumping} of power. No published limit is known here; a road car's exhaust always has some.")
}

// contradiction tells where the exhaust holds back less at full load than without load
// at 2500 rpm: at full load far more gas flows, so that one of the two is wrong.
func (x *exhaust) contradiction(raised finding.Figure) {
	full, read := x.f.Figure("full-load")
	if !read || !full.Given() || !raised.Given() || full.High >= raised.Low {
		return
	}
	for _, r := range x.v.backReadings(loaded) {
		if r.rpm < raisedRPM-nearRaised {
			return
		}
	}
	x.f.Say("It can't be that {full-load} at full load and {raised} without load at 2500 rpm are both true, because far more gas flows at full load. Look at the units, the zero and the hose, and read both again.")
}

func runsOfLoad(n int) string {
	if n == 1 {
		return "one run"
	}
	return fmt.Sprintf("%d runs", n)
}

func (x *exhaust) conclude(idle, raised finding.Figure) {
	if !idle.Given() && !raised.Given() {
		return
	}
	x.f.Say("Without load, more than about %s at idle or %s at 2500 rpm counts as too much (common practice, no source).", x.v.shownHigh(idleBack), x.v.shownHigh(raisedBack))
	switch {
	case side(idle, idleBack) > 0 || side(raised, raisedBack) > 0:
		x.f.Conclude(exhaustChoked)
	case side(raised, raisedBack) < 0 && (side(idle, idleBack) < 0 || !idle.Given()):
		x.f.Conclude(exhaustFree)
	default:
		x.f.Conclude(finding.CannotTell)
	}
}
