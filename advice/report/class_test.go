package report_test

import (
	"fmt"
	"strings"
	"testing"

	"dropwalk/advice/class"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// judged is a class by what its groups read from the open air to the tube, in inH2O.
func judged(t *testing.T, groups map[string][]float64) *class.Class {
	t.Helper()
	var g class.Gatherer
	for name, runs := range groups {
		text := `sheet: 1
place: rolling-road
car: {name: yellow-estate, engine: {displacement: 1998 cc, cylinders: 4}}
reference: {rpm: 6000, air: {temperature: 25 C, pressure: 99 kPa, humidity: 0 %}}
path: [{name: mouth, kind: mouth, diameter: 60 mm}, {name: tube, kind: duct, diameter: 65 mm, length: 500 mm, tap: port}]
gauges: [{name: g25, range: 25 inH2O, division: 0.5 inH2O}]
air: {temperature: 25 C, pressure: 99 kPa, humidity: 0 %}
readings:
`
		for _, v := range runs {
			text += fmt.Sprintf("  - {from: open-air, to: tube, gauge: g25, rpm: 6000, value: %g inH2O}\n", v)
		}
		s, faults := sheet.Read(name, []byte(text))
		if s == nil {
			t.Fatal(faults)
		}
		g.Add(name, g.Take(s))
	}
	return g.Judge()
}

func classPage(t *testing.T, c *class.Class, o report.Options) (page, short string) {
	t.Helper()
	o.Gauge = "inH2O"
	page = strings.Join(strings.Fields(report.Class(c, report.ClassRoom{}, o)), " ")
	_, rest, _ := strings.Cut(page, "## In short")
	short, _, _ = strings.Cut(rest, "## The groups")
	return page, short
}

// The first lines of a class whose figures rest on one group's runs name that group, and
// what the others say without it; those of a calm class name none.
func TestClassHeadlineNamesWhoItRestsOn(t *testing.T) {
	_, short := classPage(t, judged(t, map[string][]float64{"A": {11.2, 11.4, 11.1}, "B": {11.5, 11.7, 11.6}, "C": {11.0, 11.1, 10.9}, "D": {11.3, 12.7, 10.4}}), report.Options{Units: quantity.AsTyped})
	for _, want := range []string{"Look at group D first: its runs scatter more than those of the others", "Cochran's C is 0.9", "its limit 0.864", "Without D, runs agree to 0.1 inH2O, groups to 0.3 inH2O: the other groups do differ by more than their own runs explain", "nothing is left out"} {
		if !strings.Contains(short, want) {
			t.Errorf("%q is missing in:\n%s", want, short)
		}
	}
	if strings.Contains(short, "about as well as their own runs do") {
		t.Errorf("it says that the groups agree:\n%s", short)
	}
	_, calm := classPage(t, judged(t, map[string][]float64{"A": {11.2, 11.4, 11.1}, "B": {11.5, 11.3, 11.2}, "C": {11.0, 11.4, 11.3}, "D": {11.3, 11.5, 11.1}}), report.Options{Units: quantity.AsTyped})
	if strings.Contains(calm, "Look at group") || !strings.Contains(calm, "about as well as their own runs do") {
		t.Errorf("of a calm class:\n%s", calm)
	}
}

// One name for one thing: what groups lie above and below is the median, what the picture
// has a bar for is their mean, and both figures stand there. Nothing is called the class.
func TestClassNamesMedianAndMean(t *testing.T) {
	page, _ := classPage(t, judged(t, map[string][]float64{"A": {11, 11.1}, "B": {11.5, 11.6}, "C": {13, 13.1}}), report.Options{Units: quantity.AsTyped, Pictures: report.Drawn, Columns: 76})
	for _, want := range []string{"The median of the groups is 11.6", "their mean 11.9", "below the median", "above the median", "mean of the groups", "where that mean lies 19 times in 20", "It is never taken smaller than"} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is missing in:\n%s", want, page)
		}
	}
	for _, not := range []string{"the class", " class ", "it lies here"} {
		if strings.Contains(strings.Replace(page, "one honest class", "", 1), not) {
			t.Errorf("%q stands there:\n%s", not, page)
		}
	}
}
