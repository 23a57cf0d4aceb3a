package finding

import (
	"encoding/json"
	"math"

	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
)

// document is a finding as programs read it, version 1.
type document struct {
	Version   int              `json:"finding"`
	Test      string           `json:"test"`
	Title     string           `json:"title"`
	Verdict   string           `json:"verdict"`
	Says      string           `json:"says"`
	Figures   []documentFigure `json:"figures"`
	Sentences []string         `json:"sentences"`
	Next      string           `json:"next"`
	NotTested []string         `json:"not_tested"`
	Cautions  []Caution        `json:"cautions"`
}

// documentFigure is a figure in the SI unit of its kind; shares are in percent.
type documentFigure struct {
	Name  string   `json:"name"`
	Label string   `json:"label"`
	Value *float64 `json:"value"` // null where only a bound is known, or nothing
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	Unit  string   `json:"unit"` // "1" for plain numbers
	How   string   `json:"how"`
	On    string   `json:"rests_on"`
}

// MarshalJSON writes the form of version 1. Sentences stand as they are: fill them
// first.
func (f *Finding) MarshalJSON() ([]byte, error) {
	d := document{Version, f.Test, f.Title, f.Verdict, f.Says, []documentFigure{}, orEmpty(f.Sentences), f.Next, orEmpty(f.NotTested), orEmpty(f.Cautions)}
	for _, x := range f.Figures {
		d.Figures = append(d.Figures, documentFigure{x.Name, x.Label, x.number(x.Value), x.number(x.Low), x.number(x.High), Unit(x.Kind), x.How, x.On})
	}
	return json.Marshal(d)
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// Unit is the unit in which figures of a kind are told to programs.
func Unit(k quantity.Kind) string {
	if unit, ok := siUnits[k]; ok {
		return unit
	}
	return "1"
}

var siUnits = map[quantity.Kind]string{
	quantity.Pressure: "Pa", quantity.GaugePressure: "Pa", quantity.PressureDiff: "Pa", quantity.Length: "m", quantity.Area: "m2", quantity.Volume: "m3",
	quantity.Temperature: "K", quantity.TemperatureDiff: "K", quantity.MassFlow: "kg/s", quantity.VolumeFlow: "m3/s", quantity.Power: "W",
	quantity.Speed: "m/s", quantity.SpeedPer1000: "m/s per 1000 rpm", quantity.Angle: "rad", quantity.Density: "kg/m3", quantity.Share: "%",
	quantity.Duration: "s", quantity.Rotation: "rpm",
}

// Number is a number of a figure as programs get it: in Unit of its kind, six
// digits; false where it isn't known.
func (f Figure) Number(si float64) (float64, bool) {
	if math.IsNaN(si) || math.IsInf(si, 0) {
		return 0, false
	}
	if f.Kind == quantity.Share {
		si *= 100
	}
	return stats.Digits(si, 6), true
}

func (f Figure) number(si float64) *float64 {
	if v, ok := f.Number(si); ok {
		return &v
	}
	return nil
}
