package advice

import (
	"math"
	"slices"
	"strings"

	"dropwalk/advice/finding"
	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Places of the test of the filter.
const (
	elementPath    = "test.element"         // what the element is, and how far it has gone
	elementAcross  = "visits[].element"     // the filter, on the round that reads across it
	earlierElement = "test.earlier_element" // what the element was at the earlier visit
	earlierPrefix  = "earlier."             // ahead of what an earlier sheet read across the filter
)

// What the element was at an earlier visit.
const (
	newThen     = "new"     // the one that is in now, new at that time
	sameThen    = "same"    // the one that is in now, used at that time
	anotherThen = "another" // another one
)

// Verdicts of the test.
const (
	filterClean = "clean"
	filterOn    = "getting-on"
	filterDue   = "due"
)

const (
	// permissible is the drop in Pa from which the element of a passenger car is due:
	// published 2.5 to 4.0 kPa, from a loss of 3 % of power (Dziubak & Karczewski,
	// Energies 15 (2022) 3285). The lower end counts.
	permissible, permissibleMost = 2500.0, 4000.0
	// grown is how many times its drop when new an element may have to count as clean
	// (common practice, no source).
	grown = 1.5
)

var filterTest = test{
	name:     "filter",
	verdicts: []string{filterClean, filterOn, filterDue, finding.CannotTell},
	places:   []string{elementPath, elementAcross, earlierElement},
	find:     (*view).foundFilter,

	fields: []subject.Field{
		{Path: elementPath, Kind: quantity.Text, Doc: "what the filter element is, and how far it has gone"},
		{Path: earlierElement, Kind: quantity.Choice, Choices: []string{newThen, sameThen, anotherThen}, Doc: "what the element was at the earlier visit: the one of today and new then, the same and used then, another one"},
	},
	facts: []fact{
		{subject.Fact{Name: "filter_there", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the path has a filter with a place behind it that can take a tap"}, (*view).filterThere},
		{subject.Fact{Name: "earlier_filter", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Brought: true, Doc: "whether an earlier sheet has a reading across the filter"}, (*view).earlierFilter},
	},
	sources: []source{acrossFilter},
}

var acrossFilter = func() source {
	s := acrossSource("across-filter", "the one reading across the filter element", (*view).filterName)
	offer := s.offer
	s.offer = func(v *view, at subject.Round) (subject.Offer, bool) {
		o, ok := offer(v, at)
		for i, p := range o.Parts {
			if p.Path == acrossPath {
				o.Parts[i].Path = elementAcross
			}
		}
		return o, ok
	}
	return s
}()

// filterName is the first filter of the path, "" where there is none.
func (v *view) filterName() string {
	for _, p := range pieces(v.entries) {
		if p.kind == sheet.Filter {
			return p.name
		}
	}
	return ""
}

func (v *view) filterThere() subject.Value {
	s := v.drawn()
	if s == nil {
		return subject.Value{}
	}
	_, ok := across(s, v.filterName())
	return yesNo(ok)
}

// carriedFilter is what a new visit takes over of the readings across the filter, as
// entries under a prefix: those readings are of another day and count for nothing else.
func carriedFilter(s *sheet.Sheet) []subject.Entry {
	i := slices.IndexFunc(s.Path, func(c sheet.Component) bool { return c.Kind == sheet.Filter })
	if i < 0 {
		return nil
	}
	sp, ok := across(s, s.Path[i].Name)
	if !ok {
		return nil
	}
	kept := *s
	kept.Readings = slices.DeleteFunc(slices.Clone(s.Readings), func(r sheet.Reading) bool { return r.From != sp.from || r.To != sp.to })
	if len(kept.Readings) == 0 {
		return nil
	}
	var out []subject.Entry
	for _, e := range kept.Entries() {
		if ofTheDay(e.Path) {
			out = append(out, subject.Entry{Path: earlierPrefix + e.Path, Row: e.Row, Text: e.Text})
		}
	}
	return out
}

// ofTheDay tells whether an earlier sheet says something of its own there: today's car
// and path hold for both.
func ofTheDay(path string) bool {
	return path == "date" || slices.ContainsFunc([]string{"air.", "gauges[].", "readings[]."}, func(prefix string) bool { return strings.HasPrefix(path, prefix) })
}

func (v *view) earlierFilter() subject.Value {
	return yesNo(v.entry(earlierPrefix+readingPath, "") != "")
}

// earlierSheet is the car of today with the readings, the gauges and the air of the
// earlier visit: both drops are then at one reference point.
func (v *view) earlierSheet() *sheet.Sheet {
	var entries []subject.Entry
	for _, e := range SheetEntries(v.entries) {
		if !ofTheDay(e.Path) && !strings.HasPrefix(e.Path, "checks[].") {
			entries = append(entries, e)
		}
	}
	for _, e := range v.entries {
		if path, ok := strings.CutPrefix(e.Path, earlierPrefix); ok {
			entries = append(entries, subject.Entry{Path: path, Row: e.Row, Text: e.Text})
		}
	}
	s, faults := sheet.FromEntries(entries)
	if faults.Err() != nil {
		return nil
	}
	return s
}

func (v *view) foundFilter() *finding.Finding {
	f := finding.New("filter")
	a, ok := v.readAcross(f, v.filterName())
	if !ok {
		return f
	}
	t := filterReading{acrossPiece: a}
	t.flow()
	t.clean = a.handbook(a.span.piece)
	t.most = t.clean.high()
	f.Add(t.clean.figure("clean", "What a clean element of its kind is expected to drop", t.restsOn()))
	t.against()
	if a.read.Runs == 0 {
		if bound, _ := f.Figure("loss"); bound.Low > permissible && a.parted() {
			f.Say("The needle went off its scale. Even the end of the scale is more than an element may drop.")
			return f.Conclude(filterDue)
		}
		f.Say("The needle went off its scale. Read again with a gauge of a larger range.")
		return f.Conclude(finding.CannotTell)
	}
	t.cost()
	return t.conclude()
}

// filterReading is the element as it was read today.
type filterReading struct {
	*acrossPiece
	clean expectation // a clean one
	most  float64     // the drop up to which the element counts as clean, Pa
}

func (t *filterReading) restsOn() string {
	if t.car.Pieces[t.span.piece].Known {
		return "published figures for a pleated element, its face and the air flow"
	}
	return "published figures for a pleated element of usual face: nobody measured it"
}

// flow tells what the element was judged at.
func (t *filterReading) flow() {
	flow := t.car.Flow
	spread := flow * t.car.FlowSD * handbookSpread
	t.f.Add(finding.Between("flow", "Air flow at the reference point", quantity.MassFlow, flow, max(0, flow-spread), flow+spread, finding.Inferred, flowFrom[t.car.FlowFrom]))
	face := t.car.Sheet.Path[t.span.piece].Face
	if !face.Known() || face.SI <= 0 {
		t.f.Add(finding.Unknown("face-speed", "Speed of the air ahead of the element", quantity.Speed, "nobody measured the face of the element"))
		return
	}
	speed := flow / (t.car.Density * face.SI)
	t.f.Add(finding.Between("face-speed", "Speed of the air ahead of the element", quantity.Speed, speed, speed*(1-handbookSpread*t.car.FlowSD), speed*(1+handbookSpread*t.car.FlowSD),
		finding.Inferred, "the air flow and the face of the element"))
}

var flowFrom = map[string]string{
	"measured": "the air flow that was measured", "run": "the air flow that was measured on the runs", "estimate": "the size of the engine and its speed",
}

// against holds the element against the same car's earlier reading.
func (t *filterReading) against() {
	s := t.v.earlierSheet()
	if t.v.earlierFilter().Word != "yes" || s == nil {
		t.f.Add(finding.Unknown("earlier", "Drop at the earlier visit", quantity.PressureDiff, "no earlier sheet has a reading across the filter"))
		return
	}
	then := model.New(s).Measured(t.span.from, t.span.to)
	if then.Runs == 0 {
		t.f.Add(finding.Unknown("earlier", "Drop at the earlier visit", quantity.PressureDiff, "no reading of that visit counts"))
		return
	}
	on := "the readings of that visit, at the reference point of today"
	if date := t.v.entry(earlierPrefix+"date", ""); date != "" {
		on = "the readings of " + date + ", at the reference point of today"
	}
	t.f.Add(finding.Of("earlier", "Drop at the earlier visit", quantity.PressureDiff, then.Loss, finding.Measured, on))
	switch t.v.entry(earlierElement, "") {
	case anotherThen:
		t.f.Say("At the earlier visit another element was in. What it dropped is no measure for this one.")
	case newThen:
		t.most = grown * then.Loss.Value
		t.growth(then)
		t.f.Say("This element was new then, so its own drop stands in for the handbook. Up to half as much again counts as clean (common practice).")
	case sameThen:
		t.growth(then)
	default:
		t.f.Say("Whether the element of the earlier visit is the one of today isn't known, so no growth is given.")
	}
}

// growth tells how much the drop has grown since.
func (t *filterReading) growth(then model.Measured) {
	if t.read.Runs == 0 || then.Loss.Value <= 0 || t.loss.Value <= 0 {
		return
	}
	lowNow, highNow := t.loss.Interval(sureOf)
	lowThen, highThen := then.Loss.Interval(sureOf)
	value, low, high := finding.Around(func(x []float64) float64 { return x[0]/max(x[1], 1) - 1 }, finding.Band(t.loss.Value, lowNow, highNow), finding.Band(then.Loss.Value, max(lowThen, 1), highThen))
	x := t.f.Add(finding.Between("growth", "Growth of the drop since then", quantity.Share, value, low, high, finding.Inferred, "both readings"))
	if x.Apart(0) {
		t.f.Say("Since then the drop has grown by {growth}.")
	} else {
		t.f.Say("The two readings are too close to say that the drop has grown since.")
	}
}

// cost is the power that a new element would bring.
func (t *filterReading) cost() {
	r := t.car.Engine.Response()
	if !r.Known {
		t.f.Add(finding.Unknown("gain", "Power that a new element would bring", quantity.Share, r.Note))
		return
	}
	p := t.car.Air.Pressure
	low, high := t.loss.Interval(sureOf)
	value, lo, hi := finding.Around(func(x []float64) float64 { return math.Pow((p-x[1])/(p-max(x[0], x[1])), x[2]) - 1 },
		finding.Band(t.loss.Value, low, high), finding.Band(t.clean.median, t.clean.low(), t.clean.high()), finding.Band(r.Exponent.Median, r.Exponent.Low, r.Exponent.High))
	t.f.Add(finding.Between("gain", "Power that a new element would bring", quantity.Share, value, max(0, lo), hi, finding.Inferred, r.Note))
}

func (t *filterReading) conclude() *finding.Finding {
	if t.read.Runs < fewest {
		t.f.Say(oneRun)
		return t.f.Conclude(finding.CannotTell)
	}
	if t.loss.Value+2*t.loss.SE < 0 {
		t.f.Say("The drop comes out below nought, which no element can have. Look for hoses that are swapped, or a leak.")
		return t.f.Conclude(finding.CannotTell)
	}
	t.f.Say("Published limits for a passenger car lie between 2.5 and 4.0 kPa, about 10 and 16 inH2O, from a loss of 3 %% of power.")
	most := min(t.most, permissible)
	clean, on, due := t.chances(most, permissible)
	switch {
	case due >= sureOf && !t.parted():
		return t.f.Conclude(finding.CannotTell)
	case due >= sureOf:
		if 1-less(t.loss, permissibleMost) >= sureOf {
			t.f.Say("Even the wider of the published limits is passed.")
		}
		return t.f.Conclude(filterDue)
	case clean >= sureOf:
		if t.loss.Value > t.clean.median && !t.car.Pieces[t.span.piece].Known && t.v.entry(earlierElement, "") != newThen {
			t.f.Say("The drop is within what a clean element may have, and above what a usual one has: nobody measured its face. Measure the face to know better.")
		}
		return t.f.Conclude(filterClean)
	case on >= sureOf:
		return t.f.Conclude(filterOn)
	}
	if due < 1-sureOf {
		t.f.Say("The element is not due. Whether it still counts as clean is open: %s.", odds(clean))
	} else {
		t.f.Say("The element may be due: %s.", odds(due))
	}
	t.narrower()
	return t.f.Conclude(finding.CannotTell)
}
