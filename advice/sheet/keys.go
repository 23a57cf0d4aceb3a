package sheet

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
)

// Version is the version of the sheet that this package reads and writes.
const Version = 1

// Kinds of components, in the order in which the air usually meets them.
const (
	Mouth     = "mouth"
	Duct      = "duct"
	BoxEntry  = "box-entry"
	Filter    = "filter"
	BoxExit   = "box-exit"
	Meter     = "meter"
	Resonator = "resonator"
	Screen    = "screen"
	Throttle  = "throttle"
	Other     = "other"
)

var kinds = []string{Mouth, Duct, BoxEntry, Filter, BoxExit, Meter, Resonator, Screen, Throttle, Other}

// Kinds lists the kinds of components.
func Kinds() []string { return slices.Clone(kinds) }

// Words that fields take.
const (
	Track       = "track"
	Road        = "road"
	RollingRoad = "rolling-road"

	Petrol = "petrol"
	Diesel = "diesel"

	Natural      = "natural"
	Turbo        = "turbo"
	Supercharged = "supercharged"

	Protruding = "protruding"
	Flush      = "flush"
	Rounded    = "rounded"
	Bellmouth  = "bellmouth"

	Smooth = "smooth"
	Ribbed = "ribbed"

	TapPort  = "port"
	TapDrill = "drill"
	TapNone  = "none"

	LeakCheck = "leak"
)

// NameLength is the largest number of characters of a name.
const NameLength = 64

// Lengths of texts. They bound what is kept, not what is worth writing.
const (
	titleLength = 200
	noteLength  = 2000
	partLength  = 500
)

// Measures with what is sensible for a car. The limits only catch slips of the
// unit and the decimal mark: each lies well outside what is built, by common
// practice, no source.
var (
	pressureSpan = sensible(want(quantity.PressureDiff), "-120 kPa", "120 kPa", "12.5 inH2O") // no fall of pressure exceeds that of the air

	swept     = sensible(want(quantity.Volume), "20 cc", "50 L", "1998 cc")
	boost     = sensible(want(quantity.GaugePressure), "0 kPa", "600 kPa", "70 kPa")
	filling   = sensible(want(quantity.Share), "10 %", "300 %", "88 %")
	flow      = sensible(want(quantity.MassFlow), "0.1 g/s", "10 kg/s", "118 g/s")
	percent   = sensible(want(quantity.Share), "0 %", "100 %", "3 %")
	part      = sensible(want(quantity.Share), "1 %", "100 %", "50 %")
	power     = sensible(want(quantity.Power), "0.1 kW", "5000 kW", "108 kW")
	outdoors  = sensible(want(quantity.Temperature), "-60 C", "70 C", "18 C")
	intake    = sensible(want(quantity.Temperature), "-60 C", "300 C", "35 C")
	weather   = sensible(want(quantity.Pressure), "45 kPa", "115 kPa", "101.1 kPa")
	bore      = sensible(want(quantity.Length), "1 mm", "2 m", "60 mm")
	run       = sensible(want(quantity.Length), "0.1 mm", "50 m", "450 mm")
	turn      = sensible(want(quantity.Angle), "1 deg", "720 deg", "90 deg")
	turnSize  = sensible(want(quantity.Length), "1 mm", "10 m", "90 mm")
	faceArea  = sensible(want(quantity.Area), "1 cm2", "100 m2", "0.040 m2")
	fullScale = sensible(want(quantity.PressureDiff), "1 Pa", "1 MPa", "25 inH2O")
	division  = sensible(want(quantity.PressureDiff), "0.1 Pa", "1 MPa", "0.5 inH2O")
	roadSpeed = sensible(want(quantity.Speed), "0 km/h", "600 km/h", "80 km/h")

	shownValue = sensible(quantity.Want{Kind: quantity.PressureDiff, Swing: true, Bounds: true, Unreadable: true}, "-120 kPa", "120 kPa", "12.5 inH2O")
)

func want(k quantity.Kind) quantity.Want { return quantity.Want{Kind: k} }

const (
	slowest = 100 // rpm
	fastest = 25000
)

// name is a field that names something.
func name[T any](at func(*T) *string, doc, example string) field[T] {
	return line("name", at, NameLength, doc, example).called("a name")
}

const stationExpect = "open-air or the name of a component"

// station is a field that names a station or a component.
func station[T any](key string, at func(*T) *string, doc, example string) field[T] {
	return line(key, at, NameLength, doc, example).called("the name of a component")
}

// date is a field that holds a day.
func date[T any](key string, at func(*T) *string, doc string) field[T] {
	s := strictyaml.Custom("a day as year-month-day", readDate, map[string]any{"type": "string", "pattern": `^[0-9]{4}-[0-9]{2}-[0-9]{2}$`})
	return textField(key, at, s, quantity.Date, doc, "2026-11-25")
}

func readDate(text string) error {
	if _, err := time.Parse(time.DateOnly, text); err != nil {
		return &strictyaml.Wrong{What: fmt.Sprintf("%q is no day of the calendar", text), Expected: "year-month-day", Hint: "for example 2026-11-25"}
	}
	return nil
}

func readTime(text string) error {
	for _, layout := range []string{"15:04", time.TimeOnly, time.RFC3339} {
		if _, err := time.Parse(layout, text); err == nil {
			return nil
		}
	}
	return &strictyaml.Wrong{What: fmt.Sprintf("%q is no time of day", text), Expected: "hours and minutes", Hint: "for example 14:05"}
}

// version is the key that a document begins with.
func version[T any](key string, number int) field[T] {
	return field[T]{
		Key: strictyaml.Key{Name: key, Shape: strictyaml.Whole(number, number).Called(fmt.Sprint(number)), Required: true,
			Doc: "version of the format", Example: number},
		read:  func(*T, *strictyaml.Node) {},
		write: func(*T) *strictyaml.Node { return strictyaml.NewWhole(number) },
	}
}

var sheetKeys = table[Sheet]{
	version[Sheet]("sheet", Version),
	line("title", func(s *Sheet) *string { return &s.Title }, titleLength, "what this visit is called", "Yellow estate, first visit"),
	date("date", func(s *Sheet) *string { return &s.Date }, "day of the visit"),
	word("place", func(s *Sheet) *string { return &s.Place }, []string{Road, Track, RollingRoad}, "where the runs were made"),
	group("car", func(s *Sheet) *Car { return &s.Car }, carKeys, "the car and what draws the air").called("the car, at least the displacement of its engine").must(),
	group("reference", func(s *Sheet) *Reference { return &s.Reference }, referenceKeys, "the point at which losses are quoted, so that runs and days compare"),
	rows("path", func(s *Sheet) *[]Component { return &s.Path }, componentKeys, 1, "the components that the air passes, from the open air towards the engine").must(),
	rows("gauges", func(s *Sheet) *[]Gauge { return &s.Gauges }, gaugeKeys, 0, "the gauges that were used"),
	group("air", func(s *Sheet) *Air { return &s.Air }, airKeys, "the open air, where a reading has none of its own").flowing(),
	rows("checks", func(s *Sheet) *[]Check { return &s.Checks }, checkKeys, 0, "tests of the gauge, the hose and the taps"),
	rows("readings", func(s *Sheet) *[]Reading { return &s.Readings }, readingKeys, 0, "pressure differences, each read on one full-load run"),
	rows("changes", func(s *Sheet) *[]Change { return &s.Changes }, changeKeys, 0, "what was done to the car"),
}

var carKeys = table[Car]{
	name(func(c *Car) *string { return &c.Name }, "ties the visits of one car together", "yellow-estate"),
	group("engine", func(c *Car) *Engine { return &c.Engine }, engineKeys, "the engine in the car").called("the engine, at least its displacement").must(),
}

var engineKeys = table[Engine]{
	amount("displacement", func(e *Engine) *quantity.Amount { return &e.Displacement }, swept, "swept volume of all cylinders").must(),
	whole("cylinders", func(e *Engine) *int { return &e.Cylinders }, strictyaml.Whole(1, 48), "number of cylinders", 4),
	whole("strokes", func(e *Engine) *int { return &e.Strokes }, strokesShape, "4 or 2", 4),
	word("fuel", func(e *Engine) *string { return &e.Fuel }, []string{Petrol, Diesel}, "fuel"),
	word("induction", func(e *Engine) *string { return &e.Induction }, []string{Natural, Turbo, Supercharged}, "how the engine breathes"),
	amount("boost", func(e *Engine) *quantity.Amount { return &e.Boost }, boost, "boost above the open air at the reference rpm; forced induction only"),
	word("boost_control", func(e *Engine) *string { return &e.BoostControl }, []string{"absolute", "ratio", "unknown"}, "what the boost control holds"),
	amount("volumetric_efficiency", func(e *Engine) *quantity.Amount { return &e.VolumetricEfficiency }, filling, "filling of the cylinders at the reference rpm"),
	amount("mass_flow", func(e *Engine) *quantity.Amount { return &e.MassFlow }, flow, "air flow measured at the reference rpm and reference air; beats the estimate"),
	amount("mass_flow_uncertainty", func(e *Engine) *quantity.Amount { return &e.MassFlowUncertainty }, percent, "standard deviation of the measured air flow"),
	amount("peak_power", func(e *Engine) *quantity.Amount { return &e.PeakPower }, power, "peak power; gains are then given in kW as well"),
}

var strokesShape = strictyaml.Whole(2, 4).Called("2 or 4").With(map[string]any{"enum": []int{2, 4}}).
	Also(func(n *strictyaml.Node, r *strictyaml.Report) {
		if n.Int() == 3 {
			r.At(n, "an engine with 3 strokes", "2 or 4", "")
		}
	})

var referenceKeys = table[Reference]{
	number("rpm", func(r *Reference) *float64 { return &r.RPM }, slowest, fastest, quantity.Rotation, "rpm", "engine speed at which losses are quoted", 6000),
	group("air", func(r *Reference) *Air { return &r.Air }, airKeys, "air at which losses are quoted; 25 C, 99 kPa, 0 % where not stated").flowing(),
}

var airKeys = table[Air]{
	amount("temperature", func(a *Air) *quantity.Amount { return &a.Temperature }, outdoors, "temperature of the air"),
	amount("pressure", func(a *Air) *quantity.Amount { return &a.Pressure }, weather, "absolute pressure at the place, not reduced to sea level"),
	amount("humidity", func(a *Air) *quantity.Amount { return &a.Humidity }, percent.like("60 %"), "relative humidity"),
}

var componentKeys = table[Component]{
	name(func(c *Component) *string { return &c.Name }, "a name of your own, once in the sheet", "snorkel").must(),
	word("kind", func(c *Component) *string { return &c.Kind }, kinds, "what it is").must(),
	amount("diameter", func(c *Component) *quantity.Amount { return &c.Diameter }, bore, "inner diameter of a round passage"),
	amount("width", func(c *Component) *quantity.Amount { return &c.Width }, bore, "inner width of a rectangular passage"),
	amount("height", func(c *Component) *quantity.Amount { return &c.Height }, bore, "inner height of a rectangular passage"),
	amount("length", func(c *Component) *quantity.Amount { return &c.Length }, run, "length along the middle, bends included"),
	word("edge", func(c *Component) *string { return &c.Edge }, []string{Protruding, Flush, Rounded, Bellmouth}, "edge at which the air enters"),
	amount("radius", func(c *Component) *quantity.Amount { return &c.Radius }, run, "radius of a rounded edge"),
	word("surface", func(c *Component) *string { return &c.Surface }, []string{Smooth, Ribbed}, "inner surface"),
	rows("bends", func(c *Component) *[]Bend { return &c.Bends }, bendKeys, 0, "bends of a duct").inline(bendFromText, bendText),
	amount("face", func(c *Component) *quantity.Amount { return &c.Face }, faceArea, "face area of a filter"),
	amount("open_area", func(c *Component) *quantity.Amount { return &c.OpenArea }, part, "open share of a screen"),
	amount("share", func(c *Component) *quantity.Amount { return &c.Share }, part, "share of the air that this piece carries, of parallel pieces"),
	truth("fixed", func(c *Component) **bool { return &c.Fixed }, "never to be changed; true for a meter where not stated"),
	whole("effort", func(c *Component) *int { return &c.Effort }, strictyaml.Whole(1, 5), "work of changing it, 1 (easy) to 5 (fabrication)", 3),
	line("cost", func(c *Component) *string { return &c.Cost }, titleLength, "what changing it costs, in words", "one new hose"),
	word("tap", func(c *Component) *string { return &c.Tap }, []string{TapPort, TapDrill, TapNone}, "connection just downstream: there already, to be drilled, or impossible"),
	tapBore,
}

// tapBore says how wide the passage is where the tap sits, or that the air is
// still there.
var tapBore = field[Component]{
	Key: strictyaml.Key{Name: "tap_bore", Doc: "diameter of the passage at the tap, or still", Example: "63 mm",
		Shape: strictyaml.Custom(tapBoreExpect, readTapBore, map[string]any{"type": "string", "pattern": "^still$|" + unitPattern})},
	read: func(c *Component, n *strictyaml.Node) {
		if c.TapStill = n.Str() == still; !c.TapStill {
			if a, err := bore.parse(n.Str()); err == nil {
				c.TapBore = a
			}
		}
	},
	write: func(c *Component) *strictyaml.Node {
		if c.TapStill {
			return strictyaml.NewText(still)
		}
		return bore.node(c.TapBore)
	},
}.asking(leaf{kind: quantity.Text, node: strictyaml.NewText, text: func(n *strictyaml.Node) string {
	if n.Str() == still {
		return still
	}
	l := bore.leaf()
	return l.text(n)
}})

const (
	still         = "still"
	tapBoreExpect = "a length with its unit, or still"
)

func readTapBore(text string) error {
	if text == still {
		return nil
	}
	_, err := bore.parse(text)
	return err
}

var bendKeys = table[Bend]{
	amount("angle", func(b *Bend) *quantity.Amount { return &b.Angle }, turn, "angle through which the air turns").must(),
	amount("radius", func(b *Bend) *quantity.Amount { return &b.Radius }, turnSize, "radius of the centre line"),
}

// bendFromText reads a bend as it stands in one answer: 90 deg radius 90 mm.
func bendFromText(text string) (*strictyaml.Node, bool) {
	angle, radius, found := strings.Cut(text, " radius ")
	n := strictyaml.NewMap().Set("angle", strictyaml.NewText(strings.TrimSpace(angle)))
	if found {
		n.Set("radius", strictyaml.NewText(strings.TrimSpace(radius)))
	}
	n.Flow = true
	return n, text != ""
}

func bendText(n *strictyaml.Node) string {
	text := entryText(turn, n.Get("angle"))
	if r := n.Get("radius"); r != nil {
		text += " radius " + entryText(turnSize, r)
	}
	return text
}

func entryText(m measure, n *strictyaml.Node) string {
	l := m.leaf()
	return l.text(n)
}

var gaugeKeys = table[Gauge]{
	name(func(g *Gauge) *string { return &g.Name }, "a name of your own, once in the sheet", "g25").must(),
	amount("range", func(g *Gauge) *quantity.Amount { return &g.Range }, fullScale, "full scale"),
	amount("division", func(g *Gauge) *quantity.Amount { return &g.Division }, division, "smallest division of the scale"),
	amount("accuracy", func(g *Gauge) *quantity.Amount { return &g.Accuracy }, percent.like("2 %"), "accuracy as a share of full scale"),
	date("checked", func(g *Gauge) *string { return &g.Checked }, "day of its last check against a better one"),
	rows("correction", func(g *Gauge) *[]Correction { return &g.Correction }, correctionKeys, 0, "what the check found").inline(correctionFromText, correctionText),
	word("position", func(g *Gauge) *string { return &g.Position }, []string{"upright", "flat"}, "how it stood"),
}

var correctionKeys = table[Correction]{
	amount("shown", func(c *Correction) *quantity.Amount { return &c.Shown }, pressureSpan, "what the gauge showed").must(),
	amount("true", func(c *Correction) *quantity.Amount { return &c.True }, pressureSpan, "what it should have shown").must(),
}

// correctionFromText reads a row as it stands in one answer: 10 inH2O = 10.2 inH2O.
func correctionFromText(text string) (*strictyaml.Node, bool) {
	shown, real, ok := strings.Cut(text, "=")
	n := strictyaml.NewMap().Set("shown", strictyaml.NewText(strings.TrimSpace(shown))).Set("true", strictyaml.NewText(strings.TrimSpace(real)))
	n.Flow = true
	return n, ok
}

func correctionText(n *strictyaml.Node) string {
	return entryText(pressureSpan, n.Get("shown")) + " = " + entryText(pressureSpan, n.Get("true"))
}

var checkKeys = table[Check]{
	word("kind", func(c *Check) *string { return &c.Kind }, []string{LeakCheck}, "what was tested").must(),
	station("at", func(c *Check) *string { return &c.At }, "station of the tap", "tube").must(),
	amount("start", func(c *Check) *quantity.Amount { return &c.Start }, pressureSpan, "depression at the start"),
	amount("end", func(c *Check) *quantity.Amount { return &c.End }, pressureSpan, "depression at the end"),
	number("seconds", func(c *Check) *float64 { return &c.Seconds }, 1, 86400, quantity.Duration, "s", "time between the two, in seconds", 30),
}

var readingKeys = table[Reading]{
	whole("run", func(r *Reading) *int { return &r.Run }, strictyaml.Whole(1, 9999), "number of the run", 1),
	station("from", func(r *Reading) *string { return &r.From }, "upstream station: open-air or a component", OpenAir).called(stationExpect).must(),
	station("to", func(r *Reading) *string { return &r.To }, "downstream station", "tube").called(stationExpect).must(),
	line("gauge", func(r *Reading) *string { return &r.Gauge }, NameLength, "name of the gauge", "g25").called("the name of a gauge"),
	amount("value", func(r *Reading) *quantity.Amount { return &r.Value }, shownValue, "pressure at from minus pressure at to; a swing (12-13 inH2O), off the scale (>25 inH2O) or ?").must(),
	number("rpm", func(r *Reading) *float64 { return &r.RPM }, slowest, fastest, quantity.Rotation, "rpm", "engine speed at the reading", 6050),
	amount("zero_before", func(r *Reading) *quantity.Amount { return &r.ZeroBefore }, pressureSpan, "gauge at rest before the run"),
	amount("zero_after", func(r *Reading) *quantity.Amount { return &r.ZeroAfter }, pressureSpan, "gauge at rest after the run"),
	group("air", func(r *Reading) *Air { return &r.Air }, airKeys, "open air during the run").flowing(),
	amount("mass_flow", func(r *Reading) *quantity.Amount { return &r.MassFlow }, flow, "air flow measured on this run"),
	amount("intake_temperature", func(r *Reading) *quantity.Amount { return &r.IntakeTemperature }, intake, "temperature of the air in the path"),
	amount("speed", func(r *Reading) *quantity.Amount { return &r.Speed }, roadSpeed, "road speed"),
	whole("gear", func(r *Reading) *int { return &r.Gear }, strictyaml.Whole(1, 20), "gear", 2),
	word("direction", func(r *Reading) *string { return &r.Direction }, []string{"out", "back"}, "way along the road"),
	word("reference", func(r *Reading) *string { return &r.Reference }, []string{"outside", "cabin", "engine-bay", "path", "unknown"}, "where the other port of the gauge stood"),
	textField("time", func(r *Reading) *string { return &r.Time }, strictyaml.Custom("a time of day", readTime, nil), quantity.Text, "time of day", "14:05"),
	line("reader", func(r *Reading) *string { return &r.Reader }, NameLength, "who read the gauge", "passenger"),
	textField("doubtful", func(r *Reading) *string { return &r.Doubtful }, doubtfulShape, quantity.Text, "why this reading is doubtful; it is kept and counts less", "the engine coughed"),
	line("note", func(r *Reading) *string { return &r.Note }, noteLength, "anything else", "headwind"),
}

// doubtfulShape wants the reason, not a yes.
var doubtfulShape = strictyaml.Text(partLength).Called("why, in words").With(map[string]any{"type": "string"}).
	Also(func(n *strictyaml.Node, r *strictyaml.Report) {
		if n.Type == strictyaml.Bool {
			r.At(n, fmt.Sprintf("%q is no reason", n.Text), "why, in words", "leave the key out where the reading is sound")
		}
	})

var changeKeys = table[Change]{
	date("date", func(c *Change) *string { return &c.Date }, "day of the change"),
	station("component", func(c *Change) *string { return &c.Component }, "what was changed", "filter"),
	line("what", func(c *Change) *string { return &c.What }, partLength, "what was done", "new standard element"),
}
