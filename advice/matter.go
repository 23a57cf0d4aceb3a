package advice

import (
	"slices"
	"strings"

	"dropwalk/advice/compare"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Matter is what procedures are about: a car, its intake path and the readings
// on it. It satisfies subject.Subject. The document that a procedure fills is a
// test sheet, with a few places beside it (under "test.", "visits[]" and
// "zeros[]") that only serve the procedure.
type Matter struct {
	Options Options
	Units   quantity.System
	Cards   []sheet.Card // of the tester's gauges, each of whose names is an answer to the question for a gauge
}

// Field describes the place at path.
func (m *Matter) Field(path string) (subject.Field, bool) {
	i := slices.IndexFunc(fields, func(f subject.Field) bool { return f.Path == path })
	if i < 0 {
		return subject.Field{}, false
	}
	f := fields[i]
	if path == gaugeRange {
		f.Offered = m.cardNames()
	}
	return f, true
}

// Fact describes the fact called name.
func (m *Matter) Fact(name string) (subject.Fact, bool) {
	i := slices.IndexFunc(facts, func(f fact) bool { return f.Name == name })
	if i < 0 {
		return subject.Fact{}, false
	}
	return facts[i].Fact, true
}

// Source describes the source of rounds called name.
func (m *Matter) Source(name string) (subject.Source, bool) {
	i := slices.IndexFunc(sources, func(s source) bool { return s.Name == name })
	if i < 0 {
		return subject.Source{}, false
	}
	return sources[i].Source, true
}

// Page tells whether there is a page called name.
func (m *Matter) Page(name string) bool { return slices.Contains(pages, name) }

// Names lists everything that procedures can name.
func (m *Matter) Names() subject.Names {
	n := subject.Names{Pages: slices.Clone(pages), Pictures: slices.Clone(pictures)}
	for _, f := range fields {
		n.Fields = append(n.Fields, f.Path)
	}
	for _, f := range facts {
		n.Facts = append(n.Facts, f.Name)
	}
	for _, s := range sources {
		n.Sources = append(n.Sources, s.Name)
	}
	slices.Sort(n.Fields)
	slices.Sort(n.Facts)
	slices.Sort(n.Sources)
	return n
}

// Look is the matter as the entries describe it.
func (m *Matter) Look(entries []subject.Entry) subject.View {
	return &view{matter: m, entries: entries}
}

// Carried is what a new visit takes over from an earlier sheet of the same car:
// the car, the path and the gauges. Readings, checks, weather and place are of
// the day and are left behind.
func Carried(s *sheet.Sheet) []subject.Entry {
	var kept []subject.Entry
	for _, e := range s.Entries() {
		top, _, _ := strings.Cut(e.Path, ".")
		switch strings.TrimSuffix(top, "[]") {
		case "car", "reference", "path", "gauges":
			kept = append(kept, e)
		}
	}
	return append(kept, carriedFilter(s)...)
}

// Paths that a procedure fills and a sheet doesn't have.
const (
	piecesPath     = "path"        // the kinds of the pieces, in order
	sizePath       = "path[].size" // one line on the size of a piece
	sizesPath      = "test.sizes"  // whether the pieces are measured
	noTapPath      = "test.no_tap" // stations that can take no tap
	limitPath      = "test.speed_limit"
	per1000Path    = "test.speed_per_1000"
	lampsPath      = "test.lamps"
	beforePath     = "zeros[].before"
	afterPath      = "zeros[].after"
	visitFrom      = "visits[].from"
	visitTo        = "visits[].to"
	visitGauge     = "visits[].gauge"
	gaugeRange     = "gauges[].range"
	gaugeNamePath  = "gauges[].name"
	correctionPath = "gauges[].correction"
	accuracyPath   = "gauges[].accuracy"
	checkStart     = "checks[].start"
	checkEnd       = "checks[].end"
)

// What people call the words of a choice: offered, never taken.
var (
	everydayFuels = map[string]string{
		"gasoline": "petrol", "gasolin": "petrol", "gas": "petrol", "benzin": "petrol", "unleaded": "petrol", "super": "petrol",
		"e5": "petrol", "e10": "petrol", "e85": "petrol", "derv": "diesel", "gasoil": "diesel", "b7": "diesel",
	}
	everydayPlaces = map[string]string{
		"street": "road", "highway": "road", "motorway": "road", "public road": "road", "race track": "track", "circuit": "track", "airfield": "track",
		"closed track": "track", "private ground": "track", "dyno": "rolling-road", "rollers": "rolling-road", "rolling road": "rolling-road", "test bench": "rolling-road",
	}
	everydayInduction = map[string]string{
		"na": "natural", "n/a": "natural", "none": "natural", "atmospheric": "natural", "naturally aspirated": "natural", "aspirated": "natural",
		"turbocharged": "turbo", "turbocharger": "turbo", "charged": "supercharged", "blower": "supercharged", "kompressor": "supercharged", "supercharger": "supercharged",
	}
)

var pages = []string{"advice", "assessment", "comparison", "finding"}

var fields = []subject.Field{
	{Path: "title", Kind: quantity.Text, Doc: "what this visit is called"},
	{Path: "place", Kind: quantity.Choice, Choices: []string{"track", "rolling-road", "road"}, Everyday: everydayPlaces, Required: true, Doc: "where the runs are made"},
	{Path: "car.name", Kind: quantity.Text, Doc: "ties the visits of one car together"},
	{Path: "car.engine.displacement", Kind: quantity.Volume, Required: true, Doc: "swept volume of all cylinders"},
	{Path: "car.engine.cylinders", Kind: quantity.Whole, Doc: "number of cylinders"},
	{Path: "car.engine.strokes", Kind: quantity.Whole, Doc: "4 or 2"},
	{Path: "car.engine.fuel", Kind: quantity.Choice, Choices: []string{"petrol", "diesel"}, Everyday: everydayFuels, Doc: "fuel"},
	{Path: "car.engine.induction", Kind: quantity.Choice, Choices: []string{"natural", "turbo", "supercharged"}, Everyday: everydayInduction, Doc: "how the engine breathes"},
	{Path: "car.engine.boost", Kind: quantity.GaugePressure, Doc: "boost above the open air at the reference rpm"},
	{Path: "car.engine.boost_control", Kind: quantity.Choice, Choices: []string{"absolute", "ratio", "unknown"}, Doc: "what the boost control holds"},
	{Path: "car.engine.volumetric_efficiency", Kind: quantity.Share, Unit: "%", Doc: "filling of the cylinders"},
	{Path: "car.engine.mass_flow", Kind: quantity.MassFlow, Unit: "g/s", Doc: "measured air flow at the reference rpm"},
	{Path: "car.engine.peak_power", Kind: quantity.Power, Doc: "peak power"},
	{Path: "reference.rpm", Kind: quantity.Rotation, Unit: "rpm", Doc: "engine speed at which losses are quoted"},
	{Path: piecesPath, Kind: quantity.Text, Doc: "kinds of the pieces, from the open air inwards"},
	{Path: sizePath, Kind: quantity.Text, Doc: "size of the piece of the round, in one line"},
	{Path: sizesPath, Kind: quantity.Choice, Choices: []string{"now", "later"}, Doc: "whether the pieces are measured now"},
	{Path: noTapPath, Kind: quantity.Text, Doc: "stations that can take no tap"},
	{Path: gaugeRange, Kind: quantity.PressureDiff, Doc: "full scale of the gauge"},
	{Path: "gauges[].division", Kind: quantity.PressureDiff, Doc: "smallest division of the gauge"},
	{Path: accuracyPath, Kind: quantity.Share, Unit: "%", Doc: "accuracy of the gauge as a share of its range"},
	{Path: "air.temperature", Kind: quantity.Temperature, Doc: "temperature of the open air"},
	{Path: "air.pressure", Kind: quantity.Pressure, Doc: "absolute pressure of the open air at the place"},
	{Path: "air.humidity", Kind: quantity.Share, Unit: "%", Doc: "relative humidity"},
	{Path: per1000Path, Kind: quantity.SpeedPer1000, Doc: "road speed per 1000 rpm in the test gear"},
	{Path: limitPath, Kind: quantity.Speed, Doc: "speed limit of the road"},
	{Path: checkStart, Kind: quantity.PressureDiff, Doc: "leak check: at the start"},
	{Path: "checks[].end", Kind: quantity.PressureDiff, Doc: "leak check: at the end"},
	{Path: "checks[].seconds", Kind: quantity.Duration, Unit: "s", Doc: "leak check: how long"},
	{Path: beforePath, Kind: quantity.PressureDiff, Doc: "gauge at rest before the runs"},
	{Path: afterPath, Kind: quantity.PressureDiff, Doc: "gauge at rest after the runs"},
	{Path: readingPath, Kind: quantity.PressureDiff, Doc: "what the gauge showed on the run"},
	{Path: rpmPath, Kind: quantity.Rotation, Unit: "rpm", Doc: "engine speed at the reading"},
	{Path: doubtfulPath, Kind: quantity.Text, Doc: "why the reading is doubtful; written behind it"},
	{Path: lampsPath, Kind: quantity.Text, Doc: "warning lamps after the test"},
}

// fact is a fact and how it is worked out.
type fact struct {
	subject.Fact
	value func(*view) subject.Value
}

var facts []fact

// source is a source of rounds and how it makes its offers.
type source struct {
	subject.Source
	offer func(*view, subject.Round) (subject.Offer, bool)
}

var sources []source

// The tables are filled here because what is in them looks back at them.
func init() {
	fields = append(fields, blockFields...)
	fields = append(fields, walkFields...)
	facts = []fact{
		{subject.Fact{Name: "fuel", Kind: quantity.Choice, Choices: []string{"petrol", "diesel"}, Doc: "fuel"}, (*view).fuel},
		{subject.Fact{Name: "induction", Kind: quantity.Choice, Choices: []string{"natural", "turbo", "supercharged"}, Doc: "how the engine breathes"}, (*view).induction},
		{subject.Fact{Name: "place", Kind: quantity.Choice, Choices: []string{"track", "rolling-road", "road"}, Doc: "where the runs are made"}, (*view).place},
		{subject.Fact{Name: "rpm", Kind: quantity.Rotation, Doc: "engine speed at which the runs end"}, (*view).rpm},
		{subject.Fact{Name: "road_speed", Kind: quantity.Speed, Doc: "road speed at that engine speed in the test gear"}, (*view).roadSpeed},
		{subject.Fact{Name: "speed_limit", Kind: quantity.Speed, Doc: "speed limit of the road, as stated"}, (*view).speedLimit},
		{subject.Fact{Name: "gauge_range", Kind: quantity.PressureDiff, Doc: "full scale of the gauge"}, (*view).gaugeRange},
		{subject.Fact{Name: "kinds", Kind: quantity.Text, Doc: "the kinds of piece there are"}, (*view).kinds},
		{subject.Fact{Name: "places", Kind: quantity.Text, Doc: "the stations of the path"}, (*view).places},
		{subject.Fact{Name: "leaking", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the numbers of the latest leak check say that it failed"}, (*view).leaking},
		{subject.Fact{Name: "taps_unused", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether there are taps that the reading of the visit doesn't use"}, (*view).tapsUnused},
		{subject.Fact{Name: "unused_taps", Kind: quantity.Text, Doc: "those taps"}, (*view).unusedTaps},
		{subject.Fact{Name: "other_port", Kind: quantity.Text, Doc: "what becomes of the high-pressure port of the gauge on this visit"}, (*view).otherPort},
		{subject.Fact{Name: "lamps", Kind: quantity.Text, Doc: "warning lamps after the test, as answered"}, (*view).lamps},
		{subject.Fact{Name: "lamp_on", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether a warning lamp came on"}, (*view).lampOn},
		{subject.Fact{Name: "path_known", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Brought: true, Doc: "whether an earlier sheet describes the path"}, (*view).pathKnown},
		{subject.Fact{Name: "sizes_known", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Brought: true, Doc: "whether sizes of the pieces are known already"}, (*view).sizesKnown},
		{subject.Fact{Name: "sizes", Kind: quantity.Choice, Choices: []string{"now", "later"}, Doc: "whether the pieces are measured now"}, (*view).sizes},
		{subject.Fact{Name: "changed", Kind: quantity.Text, Doc: "the piece that is changed, in a test before and after"}, (*view).changed},
		{subject.Fact{Name: "again", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the old part goes back for one more block of runs"}, (*view).again},
		{subject.Fact{Name: "blocks", Kind: quantity.Text, Doc: "the blocks of a test before and after"}, (*view).blocks},
		{subject.Fact{Name: "outcome", Kind: quantity.Choice, Choices: compare.Verdicts(), Judged: true, Doc: "whether the change helped"}, (*view).outcome},
		{subject.Fact{Name: "verdict", Kind: quantity.Choice, Choices: []string{"measure", "attack", "leave-alone", "recheck"}, Judged: true, Doc: "what the assessment says to do"}, (*view).verdict},
		{subject.Fact{Name: "restriction", Kind: quantity.PressureDiff, Judged: true, Doc: "gauge reading of the whole path at the reference point"}, (*view).restriction},
		{subject.Fact{Name: "loss", Kind: quantity.PressureDiff, Judged: true, Doc: "loss of the whole path at the reference point"}, (*view).loss},
	}
	text := func(name, doc string) subject.Fact { return subject.Fact{Name: name, Kind: quantity.Text, Doc: doc} }
	sources = []source{
		{subject.Source{Name: "next-piece", Doc: "the pieces of the path in turn", Rows: "sizes", Keys: []subject.Key{{Name: "piece", Among: "places"}},
			Values: []subject.Fact{text("piece", "its name"), text("kind", "its kind"), text("label", "its name, with its kind where the name doesn't say it"), text("example", "an example of its size")}}, (*view).nextPiece},
		{subject.Source{Name: "next-reading", Judged: true, Doc: "the next reading that is worth taking", Rows: "readings",
			Keys:   []subject.Key{{Name: "from", Among: "places", Also: []string{sheet.OpenAir}}, {Name: "to", Among: "places"}},
			Values: []subject.Fact{text("from", "upstream station"), text("to", "downstream station"), text("gauge", "gauge to use"), text("taps", "taps that it needs"), text("reason", "what it would decide")}}, (*view).nextReading},
		{subject.Source{Name: "next-block", Ahead: "path_known", Doc: "the blocks of a test before and after: as it is, changed, and as it was if that is wanted", Rows: "blocks",
			Keys: []subject.Key{{Name: "block", Among: "blocks"}},
			Values: []subject.Fact{{Name: "block", Kind: quantity.Choice, Choices: []string{beforeBlock, afterBlock, againBlock}, Doc: "which block it is"},
				text("from", "upstream station"), text("to", "downstream station"), text("gauge", "gauge to use"), text("taps", "taps that it needs")}}, (*view).nextBlock},
		{subject.Source{Name: "next-tap", Doc: "the taps of this reading that are not there yet", Rows: "taps", Keys: []subject.Key{{Name: "station", Among: "places"}},
			Values: []subject.Fact{text("station", "where it goes"), {Name: "how", Kind: quantity.Choice, Choices: []string{"port", "drill"}, Doc: "how it is made"}, text("part", "the part that its hole goes into")}}, (*view).nextTap},
		{subject.Source{Name: "next-run", Doc: "runs of this reading: those asked for at least, then more while they disagree", Rows: "runs",
			Values: []subject.Fact{{Name: "run", Kind: quantity.Number, Doc: "number of the run on the sheet"}, {Name: "nth", Kind: quantity.Number, Doc: "number of the run in this reading"},
				{Name: "runs", Kind: quantity.Text, Doc: "how many runs this reading takes, as far as is known; of more than were asked for also why"}}}, (*view).nextRun},
	}
	addTests()
	facts = append(facts, walkFacts...)
	sources = append(sources, walkSource)
}
