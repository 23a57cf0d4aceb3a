// Package picture makes pictures of figures: what each piece costs and what of it
// can come back, the pressure along the path, runs in their order, before
// against after, and pressure over engine speed. A Picture is data; Text draws
// it with characters, SVG as an image, and Alt tells it in a sentence.
//
// Nothing is told by colour alone: every kind of mark has its own shape or
// hatching, a row of the key, and its figures in words.
//
// Start with Losses, Shares or Path. Pressures are in Pa; they are shown in the unit of
// the Options.
package picture

import (
	"math"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
)

// Options are how figures are shown.
type Options struct {
	Unit   string                           // of pressure differences
	Figure func(assessment.Estimate) string // an estimate in Unit, without the unit
}

// Picture is rows of marks along one scale.
type Picture struct {
	Name  string // lower-case letters, digits and hyphens; unique on a page
	Title string
	Alt   string // what the picture shows, with its figures, in a sentence or two
	Unit  string // of the scale
	Low   float64
	High  float64 // ends of the scale, in Unit; High is above Low
	Rows  []Row
	Key   []Sign // what the marks mean
	Notes []string
	Brief bool  // a row needs little room: it stands on one line
	plot  *plot // instead of the rows, where the picture has two scales
}

// Empty tells whether there is nothing to draw.
func (p Picture) Empty() bool { return len(p.Rows) == 0 }

// Row is one thing with its marks, on one line or several.
type Row struct {
	Name  string
	Sign  Kind // stands ahead of the name; None for none
	Lines []Line
}

// Line is marks on the scale, with their figures in words.
type Line struct {
	Label  string // "" on the first line of a row
	Figure string
	Marks  []Mark
}

// Mark is one mark on the scale. Those with an extent reach from From to To; the
// others stand at To.
type Mark struct {
	Kind     Kind
	From, To float64 // in the unit of the picture
}

// Sign is one row of the key.
type Sign struct {
	Kind Kind
	Text string
}

// Kind is a kind of mark.
type Kind int

// The kinds of marks. Their looks stand in looks (svg.go) and in cells
// (text.go).
const (
	None    Kind = iota
	Bar          // a loss: a plain bar
	Back         // what can come back: a hatched bar
	Head         // a velocity head: an open, dashed bar
	Band         // an interval: a line with ends
	Middle       // the middle of an interval: a stroke across it
	Dot          // a reading, and a tap that was used
	Ring         // before a change, and a tap that can be had
	Square       // after a change
	Cross        // a doubtful reading
	AtLeast      // a bound: it is this or more
	AtMost       // it is this or less
	Mean         // the middle of several readings: a dashed stroke
	Fit          // a fitted curve
	Limit        // an end of its interval
	Speck        // one of many readings
	Nought       // no change: an upright line
	Worth        // from here on a change counts: an upright line of dots
)

// in turns pascals into the unit of the options; what has no size there is
// nought.
func (o Options) in(pa float64) float64 {
	v, err := quantity.In(pa, quantity.PressureDiff, o.Unit)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// around is the interval of an estimate and its middle.
func (o Options) around(e assessment.Estimate) []Mark {
	return []Mark{{Band, o.in(e.Low), o.in(e.High)}, {Kind: Middle, To: o.in(e.Median)}}
}

func (o Options) figure(e assessment.Estimate) string { return clean(o.Figure(e)) }

// clean makes one line of text without control characters.
func clean(text string) string {
	return strings.Join(strings.Fields(strictyaml.Clean(strings.ToValidUTF8(text, "\uFFFD"))), " ")
}

// fit sets the ends of the scale so that every mark is on it. Without nought on
// it, it may have no width yet.
func (p *Picture) fit(fromNought bool) {
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range p.Rows {
		for _, l := range r.Lines {
			for _, m := range l.Marks {
				low, high = min(low, m.To), max(high, m.To)
				if m.extends() {
					low, high = min(low, m.From), max(high, m.From)
				}
			}
		}
	}
	if fromNought {
		low = min(low, 0)
	}
	switch {
	case math.IsInf(low, 0):
		low, high = 0, 1
	case fromNought && high == low:
		high = low + 1
	}
	p.Low, p.High = low, high
}

func (m Mark) extends() bool {
	switch m.Kind {
	case Bar, Back, Head, Band:
		return true
	}
	return false
}

// place is where a value stands on the scale, 0 to 1.
func (p Picture) place(v float64) float64 {
	return min(1, max(0, (v-p.Low)/(p.High-p.Low)))
}

// ticks are round values on the scale, about four of them.
func (p Picture) ticks() []float64 { return ticks(p.Low, p.High) }

func ticks(low, high float64) []float64 {
	step := math.Pow(10, math.Floor(math.Log10((high-low)/2)))
	for _, by := range []float64{5, 2} {
		if (high-low)/(step*by) >= 2 {
			step *= by
			break
		}
	}
	var out []float64
	for i := math.Ceil(low/step - 1e-9); i*step <= high+1e-9*step; i++ {
		out = append(out, i*step)
	}
	return out
}
