package advice

import (
	"fmt"
	"math"
	"strings"

	"dropwalk/advice/finding"
	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Places of the test of how the path behaves over engine speed.
const (
	spanPath  = "test.span_to"   // the place up to which the path is read
	speedPath = "visits[].speed" // the engine speed of a round
)

// Verdicts of the test.
const (
	closesUp = "closes-up"
	behaves  = "behaves"
)

// speedShares are the engine speeds of the test, of that of peak power. The range is
// wide enough to tell an exponent, and at half the speed a usual gauge still shows
// something (common practice, no source).
var speedShares = []float64{1, 0.8, 0.65, 0.5}

const (
	leastSpan   = 1.4 // highest speed over lowest, from which an exponent says anything (common practice, no source)
	keepsShape  = 2.0 // exponent of a path that keeps its shape
	growsLittle = 1.5 // below it the runs at high speed were not full load, or something leaks (common practice, no source)
)

var collapse = test{
	name:     "collapse",
	verdicts: []string{closesUp, behaves, finding.CannotTell},
	places:   []string{spanPath, speedPath},
	find:     (*view).foundCollapse,

	fields: []subject.Field{
		{Path: spanPath, Kind: quantity.Text, Doc: "the place up to which the path is read over engine speed"},
	},
	facts: []fact{
		{subject.Fact{Name: "span_to", Kind: quantity.Text, Doc: "the place up to which the path is read over engine speed"}, (*view).spanTo},
		{subject.Fact{Name: "span_readable", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether that place can take a tap"}, (*view).spanReadable},
	},
	sources: []source{
		{subject.Source{Name: "across-path", Doc: "the one reading from the open air to a place of the path, over engine speed", Rows: "readings",
			Keys:   []subject.Key{{Name: "from", Among: "places", Also: []string{sheet.OpenAir}}, {Name: "to", Among: "places"}},
			Values: readingValues()}, (*view).acrossPath},
		{subject.Source{Name: "each-speed", Doc: "engine speeds from that of peak power down to half of it, in turn", Rows: "engine-speeds",
			Values: []subject.Fact{{Name: "speed", Kind: quantity.Text, Doc: "the engine speed of the round"}, {Name: "step", Kind: quantity.Number, Doc: "its number"}}}, (*view).eachSpeed},
	},
}

func (v *view) spanTo() subject.Value {
	if to := v.entry(spanPath, ""); to != "" {
		return word(to)
	}
	if s := v.drawn(); s != nil {
		return word(lastTap(s))
	}
	return subject.Value{}
}

func (v *view) spanReadable() subject.Value {
	s := v.drawn()
	if s == nil {
		return subject.Value{}
	}
	return yesNo(s.TapAt(v.spanTo().Word) != sheet.TapNone)
}

func (v *view) acrossPath(at subject.Round) (subject.Offer, bool) {
	s := v.drawn()
	if s == nil || at.Done > 0 {
		return subject.Offer{}, false
	}
	return v.readingOffer(s, sheet.OpenAir, v.spanTo().Word), true
}

func (v *view) eachSpeed(at subject.Round) (subject.Offer, bool) {
	if at.Done >= len(speedShares) {
		return subject.Offer{}, false
	}
	const round = 50 // rpm: a rev counter has no finer marks
	speed := fmt.Sprintf("%.0f rpm", math.Round(v.rpm().Number*speedShares[at.Done]/round)*round)
	return subject.Offer{
		Values: map[string]string{"speed": speed, "step": fmt.Sprint(at.Done + 1)},
		Parts:  []subject.Part{{Path: speedPath, Text: speed}},
	}, true
}

func (v *view) foundCollapse() *finding.Finding {
	f := finding.New("collapse")
	s := v.doc()
	if s == nil || len(s.Readings) == 0 {
		return f
	}
	to := v.spanTo().Word
	car := model.New(s)
	g, ok := car.GrowthBetween(sheet.OpenAir, to)
	for i, x := range g.Speeds {
		f.Add(finding.Between(fmt.Sprintf("speed-%d", i+1), fmt.Sprintf("What the gauge shows at %.0f rpm", x.RPM), quantity.PressureDiff, x.Shown, math.NaN(), math.NaN(),
			finding.Measured, "the mean of "+runCount(x.Runs)))
	}
	if !ok {
		if len(g.Speeds) > 0 {
			f.Say("%s could be read at %d engine speeds, and an exponent takes three that stand above nought.", to, len(g.Speeds))
			return f.Conclude(finding.CannotTell)
		}
		return f
	}
	f.Add(finding.Of("exponent", "Exponent of the reading over engine speed", quantity.Number, g.Exponent, finding.Inferred, fmt.Sprintf("a fit to the readings at %d engine speeds", len(g.Speeds))))
	f.Say("A path that keeps its shape has an exponent of 2, or up to 2.5 where the engine fills better with speed (common practice). Here it is {exponent}.")
	return concludeCollapse(f, car, g, to)
}

// concludeCollapse holds the exponent against the mark from which a path is said to
// close up.
func concludeCollapse(f *finding.Finding, car *model.Car, g model.Growth, to string) *finding.Finding {
	lowest, highest := g.Speeds[0], g.Speeds[len(g.Speeds)-1]
	keeps := less(g.Exponent, model.SteepGrowth)
	switch {
	case highest.RPM < leastSpan*lowest.RPM:
		f.Say("The speeds lie too close together: %.0f to %.0f rpm. The highest has to be at least 1.4 times the lowest (common practice).", lowest.RPM, highest.RPM)
		return f.Conclude(finding.CannotTell)
	case 1-keeps >= sureOf:
		f.Add(finding.Between("extra", "What closing up adds at the highest speed", quantity.PressureDiff, extra(g), math.NaN(), math.NaN(), finding.Inferred,
			"the reading there, less what the lowest speed would lead to with an exponent of 2"))
		f.Say("At %.0f rpm that is {extra} more than the lowest speed would lead to.", highest.RPM)
		f.Say("Where to look, from the open air to %s: %s.", to, suspects(car, to))
		return f.Conclude(closesUp)
	case keeps >= sureOf:
		if less(g.Exponent, growsLittle) >= sureOf {
			f.Say("It grows less than any duct does. Look whether the runs at high speed were at full throttle, and for a leak.")
		}
		return f.Conclude(behaves)
	}
	f.Say("It is %s that the path closes up. More runs at the lowest and the highest speed narrow the exponent most.", odds(1-keeps))
	return f.Conclude(finding.CannotTell)
}

// extra is what the highest speed shows beyond a square law from the lowest, Pa.
func extra(g model.Growth) float64 {
	low, high := g.Speeds[0], g.Speeds[len(g.Speeds)-1]
	return high.Shown - low.Shown*math.Pow(high.RPM/low.RPM, keepsShape)
}

// looks says what can close up in a piece of a kind (common practice, no source).
var looks = map[string]string{
	sheet.Mouth: "leaves, a plate or a flap that the stream pulls shut", sheet.Duct: "soft or ribbed hose, a loose inner skin",
	sheet.BoxEntry: "a lid or a lip that bends", sheet.Filter: "an element that is wet, iced or folds", sheet.BoxExit: "an element or lid that is drawn onto the outlet",
	sheet.Screen: "a screen that bends or fills", sheet.Resonator: "a flap or a soft wall", sheet.Other: "anything soft or loose",
}

// suspects lists the pieces up to a place that can close up, those that do it most
// often first in the order of the path.
func suspects(car *model.Car, to string) string {
	var list []string
	for _, p := range car.Pieces[:car.Index(to)] {
		if what := looks[p.Kind]; what != "" {
			list = append(list, p.Name+" ("+what+")")
		}
	}
	return strings.Join(list, "; ")
}
