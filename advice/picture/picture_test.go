package picture

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

const inch = 249.08891 // Pa, conventional

// inches is what is shown of an estimate in these tests.
func inches(e assessment.Estimate) string {
	if e.Low == e.High {
		return fmt.Sprintf("%.2f", e.Median/inch)
	}
	return fmt.Sprintf("%.2f (%.2f to %.2f)", e.Median/inch, e.Low/inch, e.High/inch)
}

var shown = Options{Unit: "inH2O", Figure: inches}

func about(in float64) assessment.Estimate {
	return assessment.Estimate{Median: in * inch, Low: 0.8 * in * inch, High: 1.25 * in * inch}
}

// car is an invented path of three pieces whose names are given.
func car(names ...string) (*assessment.Assessment, *sheet.Sheet) {
	fixed := true
	s := &sheet.Sheet{Path: []sheet.Component{{Name: names[0], Kind: sheet.Mouth}, {Name: names[1], Kind: sheet.Duct}, {Name: names[2], Kind: sheet.Meter, Fixed: &fixed}},
		Readings: []sheet.Reading{{From: sheet.OpenAir, To: names[2]}}}
	a := &assessment.Assessment{VelocityHead: map[string]assessment.Estimate{names[1]: about(1.5)}, Components: []assessment.Component{
		{Name: names[0], Kind: sheet.Mouth, Loss: about(2), Recoverable: about(1)},
		{Name: names[1], Kind: sheet.Duct, Loss: about(4), Recoverable: assessment.Estimate{}},
		{Name: names[2], Kind: sheet.Meter, Loss: about(1), Recoverable: about(0.5)},
	}}
	return a, s
}

// all are pictures of every kind, with names that may be hostile.
func all(names ...string) []Picture {
	a, s := car(names...)
	square := func(rpm float64) assessment.Estimate { return about(10 * math.Pow(rpm/6000, 2)) }
	var points []Point
	for rpm := 2500.0; rpm < 6200; rpm += 3 {
		points = append(points, Point{rpm, square(rpm).Median + 20*math.Sin(rpm)})
	}
	runs := []Run{{Label: names[0], Low: 2900, Value: 3000, High: 3100, Kind: Dot}, {Label: "run 2", Value: 3050, Low: 3050, High: 3050, Kind: Cross},
		{Label: "run 3", Value: 3100, Low: 3100, High: 3100, Kind: AtLeast}, {Label: "run 4", Value: 2950, Low: 2950, High: 2950, Kind: AtMost},
		{Label: "before 1", Value: 3020, Low: 3020, High: 3020, Kind: Ring}, {Label: "after 1", Value: 2990, Low: 2990, High: 2990, Kind: Square}}
	for i := range runs {
		runs[i].Middle = 3025
	}
	return []Picture{Losses(a, s, shown), Shares(a, s, shown), Path(a, s, []assessment.Estimate{about(2), about(6), about(7)}, shown),
		Runs(Series{Name: "runs-1", Title: "Runs from open-air to " + names[2], Runs: runs, Drift: "No drift of " + names[1]}, shown),
		OverRPM(Curved{Points: points, Curve: square, Sure: "19 times in 20", Grows: "It grows with the square of " + names[0], At: 6000}, shown),
		Changes([]Moved{{Label: names[1], Before: 12 * inch, After: 10 * inch, Change: assessment.Estimate{Median: -2 * inch, Low: -2.5 * inch, High: -1.5 * inch}, Worth: inch, Verdict: "better"}}, "19 times in 20", shown)}
}

// Every picture tells its figures in a sentence, so that nobody has to see it.
func TestAltHasTheFigures(t *testing.T) {
	for i, want := range []string{
		"mouth 2.00 (1.60 to 2.50), of which 1.00 (0.80 to 1.25) can come back; tube 4.00 (3.20 to 5.00), of which 0.00 can come back; meter 1.00 (0.80 to 1.25), not to be changed.",
		"mouth 2.00 (1.60 to 2.50), about 50 % of it can come back; tube 4.00 (3.20 to 5.00); meter 1.00 (0.80 to 1.25).",
		"mouth 2.00 (1.60 to 2.50); tube 6.00 (4.80 to 7.50), velocity head 1.50 (1.20 to 1.88); meter 7.00 (5.60 to 8.75), tap used.",
		"mouth 12.04; run 2 doubtful, 12.24; run 3 more than 12.45; run 4 less than 11.84; before 1 12.12; after 1 12.00. No drift of tube",
		"1234 readings from 2500 to 6199 rpm. By the fitted curve, in inH2O: 1.74 (1.39 to 2.17) at 2500 rpm, 10.67 (8.54 to 13.34) at 6199 rpm. Read from it at 6000 rpm: 10.00 (8.00 to 12.50). It grows with the square of mouth",
		"tube: from 12.00 to 10.00, a change of -2.00 (-2.50 to -1.50), better.",
	} {
		if p := all("mouth", "tube", "meter")[i]; !strings.HasSuffix(p.Alt, want) {
			t.Errorf("%s: the alt text is\n%q, want it to end in\n%q", p.Name, p.Alt, want)
		}
	}
}

// With characters a bar is as long as its figure, the part that may not be there
// is paler, and what can come back is hatched; in little room the bars stand
// under the names.
func TestTextBars(t *testing.T) {
	pictures := all("mouth", "tube", "meter")
	for _, x := range []struct {
		picture Picture
		width   int
		want    string
	}{
		// 22 columns of bar: 2.00 of 5.00 is 8.8 of them, its low end 7.0, its high end 11.
		{pictures[0], 62, `mouth               ███████▓▓░░            2.00 (1.60 to 2.50)
  can come back     ▒▒▒▒░░                 1.00 (0.80 to 1.25)
tube (duct)         ██████████████▓▓▓▓░░░░ 4.00 (3.20 to 5.00)
  can come back                            0.00
meter               ████░░                 1.00 (0.80 to 1.25)
  not to be changed
`},
		// 28 columns of bar: 11.2, of which half can come back, and 14.
		{pictures[1], 30, `mouth      2.00 (1.60 to 2.50)
  ██████▒▒▒▒▒░░░
tube (duc… 4.00 (3.20 to 5.00)
  ██████████████████▓▓▓▓░░░░░░
`},
		// 8.75 is the end of the scale; the head reaches from 6 to 7.5.
		{pictures[2], 30, `open-air                     0
mouth      2.00 (1.60 to 2.50)
  █████▓░░
○ tube     6.00 (4.80 to 7.50)
  ███████████████▓▓▓▓░░░░░
● meter    7.00 (5.60 to 8.75)
`},
		// 21 columns for a scale from -2.605 to 1.105: nought is at 14.7 of them, the
		// change at 3.4, its ends at 0.6 and 6.3, what counts at 9.1 and 20.4.
		{pictures[5], 54, `tube      ---■--   :    │     : -2.00 (-2.50 to -1.50)
  better                        12.00 to 10.00
`},
	} {
		if got := Text(x.picture, x.width); !strings.HasPrefix(got, x.want) {
			t.Errorf("%s at %d columns is\n%s\nwant\n%s", x.picture.Name, x.width, got, x.want)
		}
	}
}

// Pictures of characters keep to their width whatever the names are, end no
// block of code, and hold only characters that have a stand-in in ASCII.
func TestTextKeepsToItsWidth(t *testing.T) {
	const known = "█▓▒░·●○■│…"
	for _, names := range [][]string{{"mouth", "tube", "meter"}, {strings.Repeat("long ", 12), "```", "a\tb\x1b[2Jc\nd"}} {
		for _, p := range all(names...) {
			for _, width := range []int{20, 36, 57, 74} {
				text := Text(p, width)
				for line := range strings.Lines(text) {
					if n := columns(strings.TrimSuffix(line, "\n")); n > width || strings.HasSuffix(line, " \n") {
						t.Errorf("%s at %d columns has a line of %d: %q", p.Name, width, n, line)
					}
				}
				for _, r := range text {
					if r == '`' || r != '\n' && unicode.IsControl(r) || r > unicode.MaxASCII && !strings.ContainsRune(known, r) {
						t.Errorf("%s at %d columns holds %q:\n%s", p.Name, width, r, text)
					}
				}
			}
		}
	}
}

// element is one element of a picture.
type element struct {
	name  string
	attrs map[string]string
	text  string
}

// parse reads a picture as XML, which refuses what is not well formed.
func parse(t *testing.T, svg string) []element {
	t.Helper()
	var list []element
	var open []int
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return list
		}
		if err != nil {
			t.Fatalf("not well formed: %v\n%s", err, svg)
		}
		switch x := token.(type) {
		case xml.StartElement:
			e := element{x.Name.Local, map[string]string{}, ""}
			for _, a := range x.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			open, list = append(open, len(list)), append(list, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				list[open[len(open)-1]].text += string(x)
			}
		}
	}
}

// Every picture is well formed, says what it is, and holds nothing but shapes
// and text, whatever names are in it. No two things on a page have one name.
func TestSVGIsSound(t *testing.T) {
	allowed := strings.Fields("svg title desc defs pattern rect line circle path text")
	ids := map[string]bool{}
	for _, p := range all(`<script>alert(1)</script>`, `" onload="alert(1)`, "]]>&lt;\x1b[2J\u202e") {
		list := parse(t, SVG(p, false))
		if list[0].attrs["role"] != "img" || list[1].name != "title" || list[2].name != "desc" || list[2].text != clean(p.Alt) || list[1].text != p.Title {
			t.Errorf("%s: no title or no description: %v", p.Name, list[:3])
		}
		if want := list[1].attrs["id"] + " " + list[2].attrs["id"]; list[0].attrs["aria-labelledby"] != want {
			t.Errorf("%s is labelled by %q, want %q", p.Name, list[0].attrs["aria-labelledby"], want)
		}
		for _, e := range list {
			if !slices.Contains(allowed, e.name) {
				t.Errorf("%s holds <%s>", p.Name, e.name)
			}
			for name, value := range e.attrs {
				if strings.HasPrefix(name, "on") || name == "style" || name == "href" {
					t.Errorf("%s: <%s %s=%q>", p.Name, e.name, name, value)
				}
				if name == "id" && ids[value] {
					t.Errorf("two things are called %q", value)
				}
				if name == "id" {
					ids[value] = true
				}
			}
		}
	}
}

// The scale is true: widths of bars are as the losses, intervals stand where
// they should, and nothing reaches beyond the picture.
func TestSVGIsToScale(t *testing.T) {
	list := parse(t, SVG(all("mouth", "tube", "meter")[0], false))
	var bars, middles []float64
	for _, e := range list {
		for _, name := range []string{"x", "x1", "x2", "cx", "width"} {
			if v, ok := strings.CutSuffix(e.attrs[name], "%"); ok {
				if x, err := strconv.ParseFloat(v, 64); err != nil || x < 0 || x > 100 {
					t.Errorf("<%s> has %s=%q", e.name, name, e.attrs[name])
				}
			}
		}
		width, _ := strings.CutSuffix(e.attrs["width"], "%")
		w, _ := strconv.ParseFloat(width, 64)
		at, _ := strings.CutSuffix(e.attrs["x1"], "%")
		x, _ := strconv.ParseFloat(at, 64)
		switch {
		case e.attrs["class"] == "bar" && w > 0 && strings.Contains(e.attrs["width"], "%"):
			bars = append(bars, w)
		case e.attrs["class"] == "middle" && x > 0:
			middles = append(middles, x)
		}
	}
	// The scale ends at the high end of the largest, 5 inH2O, over 98 per cent.
	for i, in := range []float64{2, 4, 1} {
		if want := 98 * in / 5; i >= len(bars) || math.Abs(bars[i]-want) > 0.02 {
			t.Errorf("bars are %v per cent wide, want number %d to be %.2f", bars, i+1, want)
		}
	}
	if len(middles) != 5 || math.Abs(middles[0]-(1+98*2.0/5)) > 0.02 {
		t.Errorf("middles of intervals stand at %v, want five, the first at %.2f", middles, 1+98*2.0/5)
	}
}

// Every kind of mark is drawn, both ways, and in a shape of its own: with the
// classes, and so all colours, taken away no two are alike. The dashes of a
// velocity head and of a mean are no colours.
func TestNothingIsToldByColourAlone(t *testing.T) {
	met := map[string]Kind{}
	class := regexp.MustCompile(`class="(?:bar|solid|open|band|middle|cross|fit|limit|scale)"`)
	for k := Bar; k <= Worth; k++ {
		var d drawing
		d.Name = "p"
		d.mark(k, "1", "25", "24", 0)
		shape := class.ReplaceAllString(d.b.String(), "")
		if shape == "" {
			t.Errorf("mark %d is not drawn", k)
		}
		if k == Ring || k == Fit { // hollow and full, thin and thick
			continue
		}
		if other, ok := met[shape]; ok {
			t.Errorf("marks %d and %d look alike but for their colour: %s", other, k, shape)
		}
		met[shape] = k
	}
	for _, p := range all("mouth", "tube", "meter") {
		svg := SVG(p, false)
		for _, s := range p.Key {
			if s.Text == "" || !strings.Contains(svg, ">"+s.Text+"</text>") || !strings.Contains(Text(p, 300), s.Text) {
				t.Errorf("%s: the key %q is not everywhere", p.Name, s.Text)
			}
		}
	}
}

// luminance and contrast are those of WCAG 2.1 (relative luminance; 1.4.3 asks
// 4.5 of text, 1.4.11 asks 3 of what has to be seen to understand a picture).
func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	v, err := strconv.ParseUint(strings.TrimPrefix(colour, "#"), 16, 32)
	if err != nil || len(colour) != 7 {
		t.Fatalf("colour %q", colour)
	}
	linear := func(c uint64) float64 {
		x := float64(c) / 255
		if x <= 0.03928 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(v>>16) + 0.7152*linear(v>>8&255) + 0.0722*linear(v&255)
}

func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestContrast(t *testing.T) {
	schemes := regexp.MustCompile(`\.picture\{(--[^;}]*(?:;--[^;}]*)*)`).FindAllStringSubmatch(Style, -1)
	if len(schemes) != 2 {
		t.Fatalf("%d colour schemes, want a light and a dark one", len(schemes))
	}
	for _, m := range schemes {
		of := map[string]string{}
		for pair := range strings.SplitSeq(m[1], ";") {
			name, value, _ := strings.Cut(strings.TrimPrefix(pair, "--"), ":")
			of[name] = value
		}
		for _, need := range []struct {
			a, b  string
			least float64
		}{
			{"ink", "ground", 4.5}, {"faint", "ground", 4.5}, {"edge", "ground", 3}, {"strokes", "ground", 3}, {"strokes", "back", 3},
			{"ink", "bar", 4.5}, {"ink", "back", 4.5}, {"edge", "bar", 3},
		} {
			if c := contrast(t, of[need.a], of[need.b]); c < need.least {
				t.Errorf("%s on %s: contrast %.2f, want at least %g", need.a, need.b, c, need.least)
			}
		}
	}
}

// A picture of nothing is no picture, and figures that are none do no harm.
func TestEmptyAndOdd(t *testing.T) {
	a, s := car("mouth", "tube", "meter")
	none := func(float64) assessment.Estimate { return assessment.Estimate{} }
	for what, p := range map[string]Picture{
		"no runs": Runs(Series{Name: "runs-1"}, shown), "no points": OverRPM(Curved{Curve: none, At: 6000}, shown),
		"points that are none": OverRPM(Curved{Points: []Point{{0, 1}, {math.NaN(), 2}, {3000, math.Inf(1)}}, Curve: none}, shown),
		"no running total":     Path(a, s, nil, shown), "no pieces": Losses(&assessment.Assessment{}, &sheet.Sheet{}, shown), "no pairs": Changes(nil, "", shown),
	} {
		if !p.Empty() || SVG(p, true) != "" || Text(p, 40) != "" {
			t.Errorf("%s: there is a picture", what)
		}
	}
	odd := assessment.Estimate{Median: math.NaN(), Low: math.Inf(-1), High: math.Inf(1)}
	a.Components[0].Loss = odd
	for _, p := range []Picture{Losses(a, s, shown), Losses(a, s, Options{Unit: "no unit", Figure: inches}), OverRPM(Curved{Points: []Point{{6000, 3000}}, Curve: none}, shown),
		OverRPM(Curved{Points: []Point{{6000, 3000}}, Curve: func(float64) assessment.Estimate { return odd }, At: 7000}, shown),
		Changes([]Moved{{Label: "a", Change: odd, Worth: math.NaN()}}, "", shown), Runs(Series{Name: "runs-1", Title: "one", Runs: []Run{{Label: "run 1", Kind: Dot}}}, shown)} {
		for _, e := range parse(t, SVG(p, true)) {
			for name, value := range e.attrs {
				if strings.Contains(value, "NaN") || strings.Contains(value, "Inf") {
					t.Errorf("%s: <%s %s=%q>", p.Name, e.name, name, value)
				}
			}
		}
		Text(p, 40)
	}
}

// Runs that differ by a hair don't fill the picture: their scale spans a tenth
// of what was read.
func TestSmallScatterStaysSmall(t *testing.T) {
	p := Runs(Series{Runs: []Run{{Label: "run 1", Value: 3000, Low: 3000, High: 3000, Kind: Dot, Middle: 3000.5}, {Label: "run 2", Value: 3001, Low: 3001, High: 3001, Kind: Dot, Middle: 3000.5}}}, shown)
	if low, high := p.Low*inch, p.High*inch; high-low < 300 || math.Abs((high+low)/2-3000.5) > 0.5 {
		t.Errorf("the scale runs from %.0f to %.0f Pa", low, high)
	}
}

// Runs that agree stand in the middle of their scale.
func TestEqualRunsStandInTheMiddle(t *testing.T) {
	for _, pa := range []float64{0, 2800} {
		run := Run{Label: "run", Value: pa, Low: pa, High: pa, Kind: Dot, Middle: pa}
		p := Runs(Series{Runs: []Run{run, run, run}}, shown)
		if at := p.place(pa / inch); math.Abs(at-0.5) > 1e-9 {
			t.Errorf("runs of %g Pa stand at %.3f of the scale from %g to %g", pa, at, p.Low, p.High)
		}
	}
}

// A log of an hour doesn't make a picture of a megabyte.
func TestManyPointsAreThinned(t *testing.T) {
	var points []Point
	for i := range 100_000 {
		points = append(points, Point{2000 + float64(i)/25, float64(i)})
	}
	svg := SVG(OverRPM(Curved{Points: points, Curve: func(rpm float64) assessment.Estimate { return about(rpm / 1000) }, At: 4000}, shown), true)
	if n := strings.Count(svg, "<circle"); n < mostPoints || n > mostPoints+5 || len(svg) > 60_000 {
		t.Errorf("%d points in %d bytes", n, len(svg))
	}
}

// What is read from the curve stands at its engine speed and its height, also
// beyond the speeds that were driven, and its row stands in their order.
func TestReadAtOneSpeed(t *testing.T) {
	points := []Point{{2000, 400}, {3000, 700}, {4000, 1000}}
	p := OverRPM(Curved{Points: points, Curve: func(rpm float64) assessment.Estimate { return about(rpm / 1000) }, Sure: "19 times in 20", At: 5000}, shown)
	if p.plot.low != 2000 || p.plot.high != 5000 || p.Rows[len(p.Rows)-1].Sign != Square || p.Rows[len(p.Rows)-1].Name != "5000 rpm" {
		t.Errorf("the scale runs from %g to %g rpm, the last row is %+v", p.plot.low, p.plot.high, p.Rows[len(p.Rows)-1])
	}
	// The top of the scale is the high end of the interval, 6.25; its middle is 5.
	found := false
	for _, e := range parse(t, SVG(p, true)) {
		if e.name == "svg" && e.attrs["x"] == "99%" && e.attrs["y"] == px(4+lineText+4+plotTall*(1-5/6.25)) {
			found = true
		}
	}
	if !found {
		t.Error("no mark stands at 5000 rpm and 5 inH2O")
	}
	if text := Text(p, 60); !strings.Contains(text, "■ 5000 rpm") || !strings.Contains(text, "■ read at 5000 rpm") {
		t.Errorf("the text is\n%s", text)
	}
}

// Ticks are round, few, and within the scale.
func TestTicks(t *testing.T) {
	for _, high := range []float64{0.013, 0.5, 1, 3.3, 17, 990, 6200} {
		list := ticks(0, high)
		if len(list) < 2 || len(list) > 7 || list[0] != 0 || list[len(list)-1] > high*(1+1e-9) {
			t.Errorf("ticks to %g: %v", high, list)
		}
		for _, v := range list {
			if text := quantity.Format(v, 2); number(v) != text && math.Abs(v) < 1000 {
				if x, err := strconv.ParseFloat(text, 64); err != nil || math.Abs(x-v) > 1e-9*high {
					t.Errorf("tick %g is not round", v)
				}
			}
		}
	}
}
