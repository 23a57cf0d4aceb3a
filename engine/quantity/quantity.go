// Package quantity reads and prints numbers as people write them, with units.
// Inside the program everything is SI; units live at the edge, here. It knows
// nothing of what a number is used for.
//
// Start with Read; Amount.Text is its inverse, Show and Echo print for people.
// Numbers are exact until they are rounded once, at the end.
package quantity

// Kind is what a number measures. Pressures and pressure differences, and
// temperatures and temperature differences, share units but never mix.
type Kind string

// Kinds of quantity with their SI unit, and the kinds that are not measured.
const (
	Pressure        Kind = "pressure"               // absolute, Pa
	GaugePressure   Kind = "gauge pressure"         // above the open air, Pa
	PressureDiff    Kind = "pressure difference"    // Pa
	Length          Kind = "length"                 // m
	Area            Kind = "area"                   // m2
	Volume          Kind = "volume"                 // m3
	Temperature     Kind = "temperature"            // K
	TemperatureDiff Kind = "temperature difference" // K
	MassFlow        Kind = "mass flow"              // kg/s
	VolumeFlow      Kind = "volume flow"            // m3/s
	Power           Kind = "power"                  // W
	Speed           Kind = "speed"                  // m/s
	SpeedPer1000    Kind = "speed per 1000 rpm"     // m/s per 1000 rpm; written as a speed
	Angle           Kind = "angle"                  // rad
	Density         Kind = "density"                // kg/m3
	Share           Kind = "share"                  // 1; written in percent
	Duration        Kind = "time"                   // s
	Rotation        Kind = "rotation"               // revolutions per minute, the one exception to SI
	Number          Kind = "number"                 // a plain number
	Whole           Kind = "whole number"           // a plain number without a fraction
	Text            Kind = "text"
	Choice          Kind = "choice"
	Truth           Kind = "yes or no"
	Date            Kind = "date"
)

// Form is how a quantity was stated.
type Form int

// Forms. The zero Form says that nothing was stated.
const (
	Absent     Form = iota
	Exact           // 12.5 inH2O, also 12.5 +- 0.5 inH2O
	Swing           // 12-13 inH2O: the needle moves between Low and High
	Above           // >25 inH2O: a lower bound
	Below           // <0.5 inH2O: an upper bound
	Unreadable      // ?
)

// Amount is one quantity as it was written and as it counts.
type Amount struct {
	Raw       string // as written
	Kind      Kind
	Form      Form
	SI        float64 // Exact: the value; Swing: the middle; Above, Below: the bound
	Low, High float64 // SI; both equal SI unless Form is Swing
	PlusMinus float64 // SI half-width where one was written, else 0
	Unit      string  // canonical name of the unit that was written or supplied, "" for plain numbers
}

// Given tells whether anything was stated at all.
func (a Amount) Given() bool { return a.Form != Absent }

// Known tells whether a is one finite number: exact, or the middle of a swing.
func (a Amount) Known() bool { return a.Form == Exact || a.Form == Swing }
