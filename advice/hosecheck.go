package advice

import (
	"fmt"
	"math"

	"dropwalk/advice/air"
	"dropwalk/advice/duct"
	"dropwalk/advice/finding"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// hoseTest is the name of the leak check of hose, gauge and fitting.
const hoseTest = "hose-check"

// Places of the check of hose and fitting.
const (
	pinchAt      = "pinches[].at" // where the hose was closed
	pinchStart   = "pinches[].start"
	pinchEnd     = "pinches[].end"
	pinchSeconds = "pinches[].seconds"

	hoseBore    = "test.hose_bore"
	hoseLength  = "test.hose_length"
	gaugeVolume = "test.gauge_volume"
	workingPath = "test.working_depression"
	releasePath = "test.release_seconds"
)

// Where the hose is closed, and what is left on the gauge's side then.
const (
	atEnd     = "end"     // at the syringe: everything
	atMiddle  = "middle"  // the gauge and its half of the hose
	atGauge   = "gauge"   // the gauge with its joint
	atFitting = "fitting" // everything but the fitting
)

// Where a leak sits.
const (
	leakUnknown = "unknown"
	leakGauge   = "gauge"
	leakInner   = "inner-half"
	leakOuter   = "outer-half"
	leakFitting = "fitting"
)

// Verdicts of the check.
const (
	hoseHolds = "holds"
	hoseSlow  = "leaks-slowly"
	hoseLeaks = "leaks"
)

// Marks of the check; common practice, no source. That of the loss is the one of the
// leak check in every test of the path.
const (
	lowMost      = 0.01 // share by which a leak may make a reading low: half the accuracy of a usual dial
	needleTime   = 1.0  // s, by which a dial takes longer than its hose
	stillThere   = 0.5  // share of the whole leak from which on a part is said to have it
	usualBore    = 4e-3 // m
	usualLength  = 3.0  // m
	usualVolume  = 50e-6
	boreWithin   = 0.05 // share either way, of a bore that was stated
	adiabatic    = 1.4  // a quick loss takes up no heat: that much less air leaks in
	divisionBand = 0.45 // of a division, either way: 90 % of what rounding to a mark leaves open
)

var hoseCheck = test{
	name:     hoseTest,
	verdicts: []string{hoseHolds, hoseSlow, hoseLeaks, finding.CannotTell},
	places:   []string{pinchAt, pinchStart},
	lists:    []string{"pinches[]"},
	find:     (*view).foundLeak,

	limits: map[string]limit{
		hoseBore: {5e-4, 0.05, "0.5 to 50 mm"}, hoseLength: {0.05, 100, "50 mm to 100 m"}, gaugeVolume: {0, 0.01, "0 to 10 L"},
		pinchSeconds: {1, 3600, "1 to 3600 s"}, releasePath: {0, 600, "0 to 600 s"},
	},

	fields: []subject.Field{
		{Path: pinchStart, Kind: quantity.PressureDiff, Doc: "depression when the hose was closed; of the check of hose and fitting"},
		{Path: pinchEnd, Kind: quantity.PressureDiff, Doc: "depression that was left"},
		{Path: pinchSeconds, Kind: quantity.Duration, Unit: "s", Doc: "how long it took"},
		{Path: hoseBore, Kind: quantity.Length, Doc: "bore of the hose"},
		{Path: hoseLength, Kind: quantity.Length, Doc: "length of the hose"},
		{Path: gaugeVolume, Kind: quantity.Volume, Doc: "volume of air in the gauge"},
		{Path: workingPath, Kind: quantity.PressureDiff, Doc: "depression that will be read in a test"},
		{Path: releasePath, Kind: quantity.Duration, Unit: "s", Doc: "how long the needle takes to nought when the hose is opened"},
	},
	facts: []fact{{subject.Fact{Name: "leak_place", Kind: quantity.Choice, Choices: []string{leakUnknown, leakGauge, leakInner, leakOuter, leakFitting}, Judged: true,
		Doc: "where the leak of hose and gauge sits"}, (*view).leakPlace}},
	sources: []source{{subject.Source{Name: "next-pinch", Doc: "places at which the hose is closed: at its end, then, while it leaks, in the middle and near the half that leaks", Rows: "pinches",
		Values: []subject.Fact{{Name: "place", Kind: quantity.Choice, Choices: []string{atEnd, atMiddle, atGauge, atFitting}, Doc: "where it is closed"},
			{Name: "where", Kind: quantity.Text, Doc: "the same in a sentence"}}}, (*view).nextPinch}},
}

// pinch is one loss that was watched.
type pinch struct {
	at                  string
	start, end, seconds float64 // Pa, Pa, s
}

// pinches are those that were read, in order.
func (v *view) pinches() []pinch {
	var out []pinch
	for _, r := range v.rowsFilled(pinchStart) {
		start, end, seconds := r.amount(pinchStart, quantity.PressureDiff), r.amount(pinchEnd, quantity.PressureDiff), amountOf(r.texts[pinchSeconds], quantity.Duration)
		if start.Known() && end.Known() && seconds.Known() && seconds.SI > 0 {
			out = append(out, pinch{r.texts[pinchAt], math.Abs(start.SI), math.Abs(end.SI), seconds.SI})
		}
	}
	return out
}

// lost is the share that is lost in half a minute.
func (p pinch) lost() float64 {
	return 1 - math.Exp(-leakSeconds/duct.LeakTime(p.start, p.end, p.seconds))
}

// holds tells whether a loss stays below the mark.
func (p pinch) holds() bool { return p.lost() < leakMost-1e-9 }

// gone tells whether nothing that the scale shows was left.
func (p pinch) gone(division float64) bool { return p.end <= division/2 }

// hose is what is closed off, in SI, each with the ends of what is taken for it.
type hose struct{ bore, length, volume finding.Input }

func (v *view) hose() hose {
	h := hose{finding.Band(usualBore, 3e-3, 6e-3), finding.Band(usualLength, 2, 4), finding.Band(usualVolume, usualVolume/5, 3*usualVolume)}
	if a := amountOf(v.entry(hoseBore, ""), quantity.Length); a.Known() {
		h.bore = finding.Band(a.SI, a.SI*(1-boreWithin), a.SI*(1+boreWithin))
	}
	if a := amountOf(v.entry(hoseLength, ""), quantity.Length); a.Known() {
		h.length = finding.Band(a.SI, a.SI, a.SI)
	}
	if a := amountOf(v.entry(gaugeVolume, ""), quantity.Volume); a.Known() {
		h.volume = finding.Band(a.SI, a.SI, a.SI)
	}
	return h
}

// closed is the volume behind a place at which the hose is closed, for a bore, a
// length and a volume of the gauge.
func closed(at string, bore, length, gauge float64) float64 {
	share := map[string]float64{atMiddle: 0.5, atGauge: 0}
	part, ok := share[at]
	if !ok {
		part = 1
	}
	return gauge + math.Pi/4*bore*bore*length*part
}

// conductance of a leak by one loss: what it lets in goes with the volume and against
// the time.
func (h hose) conductance(p pinch, division float64) float64 {
	end := max(p.end, division/2) // what is gone may have been gone long before
	return closed(p.at, h.bore.Median, h.length.Median, h.volume.Median) / duct.LeakTime(p.start, end, p.seconds)
}

// pinchPlaces are where the hose is closed, as they stand in a sentence.
var pinchPlaces = map[string]string{
	atEnd: "at the syringe", atMiddle: "in its middle", atGauge: "a hand's width from the gauge", atFitting: "a hand's width from the fitting",
}

// nextPinch halves the hose until the leak is found.
func (v *view) nextPinch(at subject.Round) (subject.Offer, bool) {
	done := v.pinches()
	offer := func(place, reason string) (subject.Offer, bool) {
		return subject.Offer{Values: map[string]string{"place": place, "where": pinchPlaces[place]}, Parts: []subject.Part{{Path: pinchAt, Text: place}}, Reason: reason}, true
	}
	switch {
	case at.Done == 0:
		return offer(atEnd, "")
	case at.Done != len(done) || done[0].holds():
		return subject.Offer{}, false
	case at.Done == 1:
		return offer(atMiddle, "it leaks: closed in the middle, it shows which half has the leak")
	case at.Done == 2 && v.still(done[1]):
		return offer(atGauge, "the half at the gauge leaks")
	case at.Done == 2:
		return offer(atFitting, "the half at the fitting leaks")
	}
	return subject.Offer{}, false
}

// still tells whether what is behind a later pinch has the leak of the whole.
func (v *view) still(p pinch) bool {
	h, division := v.hose(), v.onBench().division
	return h.conductance(p, division) >= stillThere*h.conductance(v.pinches()[0], division)
}

// leakAt is where the leak sits, as far as the pinches tell.
func (v *view) leakAt() string {
	done := v.pinches()
	if len(done) < 2 || done[0].holds() {
		return leakUnknown
	}
	at := map[[2]bool]string{{true, true}: leakGauge, {true, false}: leakInner, {false, true}: leakOuter, {false, false}: leakFitting}
	if len(done) < 3 {
		return leakUnknown
	}
	return at[[2]bool{v.still(done[1]), v.still(done[2])}]
}

func (v *view) leakPlace() subject.Value { return word(v.leakAt()) }

// along is how far from the tap the leak lies, as shares of the hose.
func along(place string) finding.Input {
	switch place {
	case leakGauge:
		return finding.Band(1, 1, 1)
	case leakInner:
		return finding.Band(0.75, 0.5, 1)
	case leakOuter:
		return finding.Band(0.25, 0, 0.5)
	case leakFitting:
		return finding.Band(0, 0, 0)
	}
	return finding.Band(1, 0, 1) // the worst is at the gauge
}

func (v *view) foundLeak() *finding.Finding {
	f := finding.New(hoseTest)
	v.followsFigures(f)
	done := v.pinches()
	if len(done) == 0 {
		return f
	}
	division, whole := v.onBench().division, done[0]
	lost := f.Add(whole.lostFigure(division))
	f.Say("Closed at its end, it loses {lost} in 30 s; 5 %% is the mark (common practice, no source).")
	low := v.lowBy(f, whole, division)
	if place := v.leakAt(); place != leakUnknown {
		f.Say("The leak sits %s.", leakPlaces[place])
	}
	v.release(f)
	switch {
	case lost.High < leakMost:
		f.Conclude(hoseHolds)
	case lost.Low < leakMost-1e-9:
		f.Conclude(finding.CannotTell)
	case whole.gone(division) || low.High >= lowMost:
		f.Conclude(hoseLeaks)
	default:
		f.Conclude(hoseSlow)
	}
	return f
}

var leakPlaces = map[string]string{
	leakGauge: "at the gauge or its joint", leakInner: "in the half of the hose at the gauge",
	leakOuter: "in the half of the hose at the fitting", leakFitting: "at the fitting or its joint",
}

// shownAs is a reading with what rounding to a division leaves open.
func shownAs(pa, division float64) finding.Input {
	return finding.Band(pa, max(pa-divisionBand*division, 0), pa+divisionBand*division)
}

func (p pinch) lostFigure(division float64) finding.Figure {
	value, low, high := finding.Around(func(x []float64) float64 {
		return max(pinch{start: x[0], end: x[1], seconds: p.seconds}.lost(), 0)
	}, shownAs(p.start, division), shownAs(p.end, division))
	return finding.Between("lost", "Lost in 30 s, closed at its end", quantity.Share, value, max(low, 0), min(high, 1), finding.Measured, "one loss that was watched, each end within half a division")
}

// lowBy is the share by which the leak makes a reading low, and how much air it lets
// in.
func (v *view) lowBy(f *finding.Finding, p pinch, division float64) finding.Figure {
	h, mu, open := v.hose(), air.Viscosity(usualWater), air.Standard(0).Pressure
	working := amountOf(v.entry(workingPath, ""), quantity.PressureDiff).SI
	if working <= 0 {
		working = v.onBench().full / 2
	}
	// A leak that is a pinhole lets through as the root of the depression, a long crack
	// in proportion to it; in between lies what a figure at another depression is worth.
	law := math.Sqrt((p.start + p.end) / 2 / working)
	inputs := []finding.Input{shownAs(p.start, division), shownAs(max(p.end, division/2), division), h.bore, h.length, h.volume, along(v.leakAt()),
		finding.Band(1, 1/adiabatic, 1), finding.Band(1, min(1, law), max(1, law))}
	leak := func(x []float64) float64 { return duct.LeakTime(x[0], x[1], p.seconds) / (x[6] * x[7]) }
	share := func(x []float64) float64 {
		return duct.LeakShare(x[2], x[3]*x[5], closed(atEnd, x[2], x[3], x[4]), mu, open, leak(x))
	}
	minute := func(x []float64) float64 {
		return 60 * duct.LeakFlow(closed(atEnd, x[2], x[3], x[4]), working, open, leak(x))
	}
	on := "the loss, the flow of Hagen and Poiseuille in the hose, and where the leak sits"
	if v.leakAt() == leakUnknown {
		on = "the loss and the flow of Hagen and Poiseuille in the hose; the leak can sit anywhere, and at the gauge it does most"
	}
	value, low, high := finding.Around(minute, inputs...)
	f.Add(finding.Between("leak", "Air that leaks in within a minute, at the depression that is read", quantity.Volume, value, max(low, 0), high, finding.Inferred, "the volume behind the pinch, which lost it"))
	value, low, high = finding.Around(share, inputs...)
	if p.gone(division) {
		return f.Add(finding.Unknown("low-by", "By how much a reading is too low", quantity.Share, "nothing was left to read, so the leak has no figure"))
	}
	low = max(low, 0)
	x := f.Add(finding.Between("low-by", "By how much a reading is too low", quantity.Share, value, low, min(high, 1), finding.Inferred, on))
	if x.High < 1e-4 {
		f.Say("That much makes a reading through this hose less than a ten-thousandth too low.")
	} else {
		f.Say("It makes a reading through this hose too low by {low-by}.")
	}
	return x
}

// followsFigures are how fast a gauge follows at the end of the hose.
func (v *view) followsFigures(f *finding.Finding) {
	h := v.hose()
	lag := func(x []float64) float64 {
		return duct.HoseLag(x[0], x[1], duct.HoseVolume(x[2], x[0], x[1]), air.Viscosity(usualWater), air.Standard(0).Pressure)
	}
	value, low, high := finding.Around(lag, h.bore, h.length, h.volume)
	on := "Hagen-Poiseuille and isothermal filling of the gauge and half the hose"
	if v.entry(hoseBore, "") == "" {
		on += "; the bore is a guess"
	}
	f.Add(finding.Between("follows", "Time in which the gauge has followed a step by 95 %", quantity.Duration, 3*value, max(3*low, 0), 3*high, finding.Inferred, on))
}

// release compares how fast the needle fell with what the hose alone takes.
func (v *view) release(f *finding.Finding) {
	a := amountOf(v.entry(releasePath, ""), quantity.Duration)
	follows, _ := f.Figure("follows")
	if !a.Known() {
		return
	}
	f.Add(finding.Figure{Name: "release", Label: "Time in which the needle fell to nought", Kind: quantity.Duration, Value: a.SI, Low: a.SI, High: a.SI, How: finding.Measured, On: "one fall that was timed"})
	if a.SI > follows.High+needleTime {
		f.Say("The needle took {release} to fall, and hose and needle explain %s. Something is narrow: a kink, water in the hose, or a port that is half blocked.", fmt.Sprintf("%.1f s", follows.High+needleTime))
	}
}
