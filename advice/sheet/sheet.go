// Package sheet is the test sheet: what was measured on one car, as a person
// writes it down. It reads sheets strictly, every fault at once with its place,
// and writes them. It judges nothing; see package advice for that.
package sheet

import "dropwalk/engine/quantity"

// OpenAir is the station before the first component.
const OpenAir = "open-air"

// Sheet is one visit of one car.
type Sheet struct {
	Title     string
	Date      string // YYYY-MM-DD, "" where not stated
	Place     string // road, track, rolling-road; "" where not stated
	Car       Car
	Reference Reference
	Path      []Component // from the open air towards the engine
	Gauges    []Gauge
	Air       Air // where a reading has none of its own
	Checks    []Check
	Readings  []Reading
	Changes   []Change
}

// Car is the car and what draws the air.
type Car struct {
	Name   string
	Engine Engine
}

// Engine is the one in the car. Amounts that are absent are unknown.
type Engine struct {
	Displacement         quantity.Amount // m3
	Cylinders            int             // 0 unknown
	Strokes              int             // 0 unknown
	Fuel                 string          // petrol, diesel; "" unknown
	Induction            string          // natural, turbo, supercharged; "" unknown
	Boost                quantity.Amount // gauge pressure, Pa
	BoostControl         string          // absolute, ratio, unknown; ""
	VolumetricEfficiency quantity.Amount // share
	MassFlow             quantity.Amount // kg/s at the reference rpm and reference air
	MassFlowUncertainty  quantity.Amount // share; one standard deviation
	PeakPower            quantity.Amount // W
}

// Reference is the point at which losses are quoted.
type Reference struct {
	RPM float64 // 0 where not stated
	Air Air
}

// Air is a state of the open air.
type Air struct {
	Temperature quantity.Amount // K
	Pressure    quantity.Amount // absolute, Pa
	Humidity    quantity.Amount // share
}

// Component is one piece of the path.
type Component struct {
	Name, Kind string
	Diameter   quantity.Amount // m
	Width      quantity.Amount // m, of a rectangular passage
	Height     quantity.Amount // m
	Length     quantity.Amount // m
	Edge       string          // protruding, flush, rounded, bellmouth; "" unknown
	Radius     quantity.Amount // m, of a rounded edge
	Surface    string          // smooth, ribbed; "" unknown
	Bends      []Bend
	Face       quantity.Amount // m2, of a filter
	OpenArea   quantity.Amount // share, of a screen
	Share      quantity.Amount // share of the flow, for parallel pieces
	Fixed      *bool           // nil: by kind
	Effort     int             // 1 to 5; 0 not stated
	Cost       string
	Tap        string          // port, drill, none; "" by kind
	TapBore    quantity.Amount // m; Exact only
	TapStill   bool            // tap_bore: still
}

// Bend is one bend of a duct.
type Bend struct {
	Angle  quantity.Amount // rad
	Radius quantity.Amount // m, of the centre line; absent: unknown
}

// Gauge is one gauge that was used.
type Gauge struct {
	Name       string
	Range      quantity.Amount // Pa, full scale
	Division   quantity.Amount // Pa
	Accuracy   quantity.Amount // share of full scale
	Checked    string          // date
	Correction []Correction
	Position   string // upright, flat; ""
}

// Correction is one row of a gauge's check against a standard.
type Correction struct{ Shown, True quantity.Amount }

// Check is a test of the measuring system.
type Check struct {
	Kind       string // leak
	At         string // station
	Start, End quantity.Amount
	Seconds    float64
}

// Reading is one pressure difference between two stations on one run.
type Reading struct {
	Run               int // 0 where not stated
	From, To          string
	Gauge             string
	Value             quantity.Amount // pressure at From minus pressure at To, Pa
	RPM               float64         // 0 unknown
	ZeroBefore        quantity.Amount // Pa
	ZeroAfter         quantity.Amount // Pa
	Air               Air
	MassFlow          quantity.Amount // kg/s, on that run
	IntakeTemperature quantity.Amount // K
	Speed             quantity.Amount // m/s
	Gear              int
	Direction         string // out, back; ""
	Reference         string // outside, cabin, engine-bay, path, unknown; ""
	Time              string
	Reader            string
	Doubtful          string // why; "" not doubtful
	Note              string
}

// Change is one thing done to the car.
type Change struct{ Date, Component, What string }
