package advice

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice/finding"
	"dropwalk/advice/internal/published"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// gaugeHere is what the gauge of these tests is called.
const gaugeHere = "dial"

// boxCar is a natural petrol engine that draws 118 g/s at 6000 rpm in the reference air,
// with a filter between two places where the air stands still.
func boxCar() []subject.Entry {
	return append(places("car.engine.displacement", "1998 cc", "car.engine.fuel", "petrol", "car.engine.induction", "natural", "car.engine.mass_flow", "118 g/s",
		"reference.rpm", "6000 rpm", "path", "mouth, snorkel (duct), box-in (box-entry), filter, box-out (box-exit), meter, tube (duct)", "place", "rolling-road",
		"air.temperature", "25 C", "air.pressure", "99 kPa", "air.humidity", "0 %"),
		subject.Entry{Path: gaugeRange, Row: "1", Text: "5 inH2O"}, subject.Entry{Path: "gauges[].division", Row: "1", Text: "0.1 inH2O"},
		subject.Entry{Path: "sizes[].name", Row: "sizes.1", Text: "filter"}, subject.Entry{Path: sizePath, Row: "sizes.1", Text: "0.040 m2"},
		subject.Entry{Path: "sizes[].name", Row: "sizes.2", Text: "tube"}, subject.Entry{Path: sizePath, Row: "sizes.2", Text: "65 mm, 500 mm long"},
		subject.Entry{Path: "sizes[].name", Row: "sizes.3", Text: "box-out"}, subject.Entry{Path: sizePath, Row: "sizes.3", Text: "65 mm, bellmouth"})
}

// acrossRuns are readings between two stations in one round, at 6000 rpm, with a zero
// that stayed at nought.
func acrossRuns(from, to, mark, piece string, values ...string) []subject.Entry {
	out := []subject.Entry{{Path: visitFrom, Row: "across.1", Text: from}, {Path: visitTo, Row: "across.1", Text: to}, {Path: visitGauge, Row: "across.1", Text: gaugeHere},
		{Path: mark, Row: "across.1", Text: piece}, {Path: beforePath, Row: "across.1", Text: "0 inH2O"}, {Path: afterPath, Row: "across.1", Text: "0 inH2O"}}
	for i, text := range values {
		row := fmt.Sprintf("across.1/runs.%d", i+1)
		for path, text := range map[string]string{"readings[].run": fmt.Sprint(i + 1), "readings[].from": from, "readings[].to": to, "readings[].gauge": gaugeHere, readingPath: text, rpmPath: "6000 rpm"} {
			out = append(out, subject.Entry{Path: path, Row: row, Text: text})
		}
	}
	return out
}

func foundOf(t *testing.T, entries ...[]subject.Entry) *finding.Finding {
	t.Helper()
	f := Found(slices.Concat(entries...), Options{})
	if f == nil {
		t.Fatal("nothing was found")
	}
	return f
}

// The filter by hand. It drops 2.5 inH2O, 622.7 Pa, at the reference point, and the air
// stands still at both taps. Its handbook figure: a face of 0.040 m2 passes 118 g/s of
// 1.1571 kg/m3 at 2.549 m/s; the law of package duct, 580 Pa at 2.546 m/s with half of
// it going with the speed and half with its square, gives 581.4 Pa. The usual inch of
// water, 249 Pa with a log SD of 0.5, beside a log SD of 0.45, makes 397.9 Pa of it. That
// is the best there is, so 224.8 Pa come back, and (99/(99 - 0.2248))^1.2 - 1 = 0.273 %.
func TestOneComponentByHand(t *testing.T) {
	f := foundOf(t, boxCar(), places(piecePath, "filter"), acrossRuns("box-in", "filter", acrossPath, "filter", "2.5 inH2O", "2.5 inH2O", "2.5 inH2O"))
	near := func(name string, want, within float64) {
		x, _ := f.Figure(name)
		if !(math.Abs(x.Value-want) <= within) {
			t.Errorf("%s is %v, want %v", name, x.Value, want)
		}
	}
	near("shown", 2.5*inch, 0.01)
	near("loss", 2.5*inch, 0.01)
	near("handbook", 397.9, 0.2)
	near("recoverable", 224.8, 0.2)
	near("gain", 0.00273, 2e-5)
	if _, there := f.Figure("heads"); there {
		t.Error("there is a velocity head where the air stands still")
	}
	x, _ := f.Figure("loss")
	if x.How != finding.Measured || !(x.Low < x.Value && x.Value < x.High) {
		t.Errorf("the loss is %+v", x)
	}
}

// Between the box and the tube lies velocity head, which is no loss: 118 g/s in 65 mm are
// 0.5 rho V^2 = m^2/(2 rho A^2) = 546 Pa in air of the reference density, and a little
// more in air that was thinned on the way. Outlet and meter lie between as well, so their
// handbook figures come off.
func TestOneComponentTakesOffWhatIsNotItsLoss(t *testing.T) {
	f := foundOf(t, boxCar(), places(piecePath, "tube"), acrossRuns("box-out", "tube", acrossPath, "tube", "2.0 inH2O", "2.0 inH2O", "2.0 inH2O"))
	if _, there := f.Figure("heads"); !there {
		t.Fatalf("no velocity head: %+v", f.Figures)
	}
	sp, ok := across(mustSheet(t, boxCar()), "tube")
	if !ok || sp.from != "box-out" || sp.to != "tube" || len(sp.others) != 1 {
		t.Errorf("the tube is read over %+v: the meter between takes no tap", sp)
	}
	shown, _ := f.Figure("shown")
	heads, _ := f.Figure("heads")
	others, _ := f.Figure("others")
	loss, _ := f.Figure("loss")
	if math.Abs(shown.Value-heads.Value-others.Value-loss.Value) > 1e-6 {
		t.Errorf("%v less %v less %v is not %v", shown.Value, heads.Value, others.Value, loss.Value)
	}
	if loss.How != finding.Inferred {
		t.Errorf("the loss counts as %s", loss.How)
	}
	// From the filter, where the air stands still, to the outlet the whole head counts.
	f = foundOf(t, boxCar(), places(piecePath, "box-out"), acrossRuns("filter", "box-out", acrossPath, "box-out", "3.0 inH2O"))
	heads, _ = f.Figure("heads")
	area := math.Pi / 4 * 0.065 * 0.065
	if still := 0.118 * 0.118 / (2 * 1.157118 * area * area); heads.Value < still || heads.Value > 1.03*still {
		t.Errorf("the velocity head is %v, want %v and up to 3 %% more for thinner air", heads.Value, still)
	}
}

func mustSheet(t *testing.T, entries []subject.Entry) *sheet.Sheet {
	t.Helper()
	s, faults := sheet.FromEntries(SheetEntries(entries))
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	return s
}

// Each verdict of one component, and what can't be said.
func TestOneComponentVerdicts(t *testing.T) {
	for _, c := range []struct {
		name, verdict, says string
		values              []string
	}{
		{"far above", aboveHandbook, "", []string{"4.9 inH2O", "4.8 inH2O", "4.9 inH2O"}},
		{"inside", asHandbook, "", []string{"1.5 inH2O", "1.6 inH2O", "1.5 inH2O"}},
		{"far below", belowHandbook, "", []string{"0.3 inH2O", "0.3 inH2O", "0.3 inH2O"}},
		{"at the edge", finding.CannotTell, "likely to lie above", []string{"3.4 inH2O", "3.5 inH2O", "3.5 inH2O"}},
		{"below nought", finding.CannotTell, "below nought", []string{"-1.5 inH2O", "-1.5 inH2O", "-1.5 inH2O"}},
		{"one run", finding.CannotTell, "shows no scatter", []string{"4.9 inH2O", "?"}},
		{"off the scale", aboveHandbook, "went off its scale", []string{">5 inH2O", ">5 inH2O"}},
		{"unreadable", finding.NotYet, "", []string{"?", "?"}},
		{"no run", finding.NotYet, "", nil},
	} {
		f := foundOf(t, boxCar(), places(piecePath, "filter"), acrossRuns("box-in", "filter", acrossPath, "filter", c.values...))
		if f.Verdict != c.verdict || !strings.Contains(strings.Join(f.Sentences, " "), c.says) {
			t.Errorf("%s: %s, want %s with %q\n%s", c.name, f.Verdict, c.verdict, c.says, strings.Join(f.Sentences, "\n"))
		}
	}
}

// What lies between the taps besides may be the spoilt piece just as well.
func TestOneComponentLaysNothingToAPieceThatIsNotAlone(t *testing.T) {
	f := foundOf(t, boxCar(), places(piecePath, "tube"), acrossRuns("box-out", "tube", acrossPath, "tube", "4.9 inH2O", "4.9 inH2O", "4.9 inH2O"))
	if f.Verdict != finding.CannotTell || !strings.Contains(strings.Join(f.Sentences, " "), "Whether it is tube or one of meter") {
		t.Errorf("%s: %v", f.Verdict, f.Sentences)
	}
}

// A piece without a place behind it can't be read.
func TestOneComponentWithoutAPlace(t *testing.T) {
	v := (&Matter{}).Look(append(boxCar(), places(noTapPath, "tube", piecePath, "tube")...))
	if got := v.Value("piece_readable").Word; got != "no" {
		t.Errorf("it can be read: %s", got)
	}
	if _, ok := v.Offer("across-piece", subject.Round{}); ok {
		t.Error("a reading is offered")
	}
	v = (&Matter{}).Look(append(boxCar(), places(piecePath, "mouth")...))
	if got := v.Value("between").Word + " " + v.Value("open_port").Word + " " + v.Value("piece_alone").Word; got != "mouth, snorkel yes no" {
		t.Errorf("the mouth is read over %q", got)
	}
}

// The filter by hand: the clean drop and the growth. 622.7 Pa today against 373.6 Pa when
// it was new is 1.667 times as much.
func TestFilterByHand(t *testing.T) {
	earlier := []subject.Entry{{Path: earlierPrefix + "date", Text: "2025-06-01"}, {Path: earlierPrefix + "air.temperature", Text: "25 C"},
		{Path: earlierPrefix + "air.pressure", Text: "99 kPa"}, {Path: earlierPrefix + "air.humidity", Text: "0 %"},
		{Path: earlierPrefix + "gauges[].name", Row: "old", Text: "old"}, {Path: earlierPrefix + "gauges[].range", Row: "old", Text: "3 inH2O"}}
	for i := range 3 {
		row := fmt.Sprint(i + 1)
		for path, text := range map[string]string{"run": row, "from": "box-in", "to": "filter", "gauge": "old", "value": "1.5 inH2O", "rpm": "6000"} {
			earlier = append(earlier, subject.Entry{Path: earlierPrefix + "readings[]." + path, Row: row, Text: text})
		}
	}
	f := foundOf(t, boxCar(), earlier, places(elementPath, "paper", earlierElement, newThen), acrossRuns("box-in", "filter", elementAcross, "filter", "2.5 inH2O", "2.5 inH2O", "2.5 inH2O"))
	for name, want := range map[string]float64{"loss": 2.5 * inch, "earlier": 1.5 * inch, "growth": 2.5/1.5 - 1, "clean": 397.9, "flow": 0.118, "face-speed": 2.549} {
		x, ok := f.Figure(name)
		if !ok || math.Abs(x.Value-want) > 1e-3*math.Max(want, 1) {
			t.Errorf("%s is %v, want %v", name, x.Value, want)
		}
	}
	if f.Verdict != filterOn || !strings.Contains(strings.Join(f.Sentences, " "), "grown by {growth}") {
		t.Errorf("%s: %v", f.Verdict, f.Sentences)
	}
	for element, says := range map[string]string{anotherThen: "another element was in", sameThen: "grown by", "": "isn't known"} {
		f := foundOf(t, boxCar(), earlier, places(elementPath, "paper", earlierElement, element), acrossRuns("box-in", "filter", elementAcross, "filter", "2.5 inH2O", "2.5 inH2O", "2.5 inH2O"))
		if !strings.Contains(strings.Join(f.Sentences, " "), says) {
			t.Errorf("%q: %v", element, f.Sentences)
		}
	}
}

// Published drops get the verdict that their publication gives: rows G08 to G11 of
// filter.csv, a truck element clean and after about 50 000 km (Combustion Engines,
// article 161881), and the limits for passenger cars (Dziubak & Karczewski, Energies 15
// (2022) 3285); rows I01 and I07 of restriction_limits.csv, what a service manual allows
// a new element of an industrial diesel, and where service indicators of three cars trip.
// The car's own flow makes the handbook's clean drop, so the truck's figure is one of
// size, not of this car.
func TestFilterAgainstPublishedDrops(t *testing.T) {
	wide := []subject.Entry{{Path: gaugeRange, Row: "1", Text: "30 inH2O"}, {Path: "gauges[].division", Row: "1", Text: "0.1 inH2O"}}
	rows := map[string]published.Row{}
	for _, file := range []string{"flow/filter.csv", "flow/restriction_limits.csv"} {
		for _, r := range published.Rows(t, file) {
			rows[r.ID] = r
		}
	}
	kilo := func(id string) float64 {
		text, _, _ := strings.Cut(rows[id].Value, "-")
		return published.Number(t, text)
	}
	if low, high := 1000*kilo("G10"), 1000*kilo("G11"); low != permissible || high != permissibleMost {
		t.Errorf("the limits are %v and %v Pa, published %v and %v", permissible, permissibleMost, low, high)
	}
	for _, c := range []struct{ id, verdict string }{{"G08", filterClean}, {"G09", filterOn}, {"I01", filterDue}, {"I07", filterDue}} {
		text := fmt.Sprintf("%g kPa", kilo(c.id))
		f := foundOf(t, boxCar(), wide, places(elementPath, "paper"), acrossRuns("box-in", "filter", elementAcross, "filter", text, text, text))
		if f.Verdict != c.verdict {
			t.Errorf("%s, %s, %s: %s, want %s", c.id, rows[c.id].Quantity, text, f.Verdict, c.verdict)
		}
	}
}

func TestFilterVerdicts(t *testing.T) {
	wide := []subject.Entry{{Path: gaugeRange, Row: "1", Text: "25 inH2O"}, {Path: "gauges[].division", Row: "1", Text: "0.1 inH2O"}}
	for _, c := range []struct {
		name, verdict, says string
		values              []string
	}{
		{"above the lower limit", filterDue, "", []string{"3.2 kPa", "3.2 kPa", "3.2 kPa"}},
		{"above both limits", filterDue, "Even the wider", []string{"5 kPa", "5.1 kPa", "5 kPa"}},
		{"near the limit", finding.CannotTell, "may be due", []string{"2.5 kPa", "2.5 kPa", "2.5 kPa"}},
		{"near clean", finding.CannotTell, "is not due", []string{"3.5 inH2O", "3.5 inH2O", "3.5 inH2O"}},
		{"below nought", finding.CannotTell, "below nought", []string{"-2 inH2O", "-2 inH2O"}},
		{"one run", finding.CannotTell, "shows no scatter", []string{"5 kPa"}},
		{"off the scale", filterDue, "end of the scale", []string{">25 inH2O", ">25 inH2O"}},
		{"unreadable", finding.NotYet, "", []string{"?"}},
	} {
		f := foundOf(t, boxCar(), wide, places(elementPath, "paper"), acrossRuns("box-in", "filter", elementAcross, "filter", c.values...))
		if f.Verdict != c.verdict || !strings.Contains(strings.Join(f.Sentences, " "), c.says) {
			x, _ := f.Figure("clean")
			t.Errorf("%s: %s, want %s with %q\n%s\nclean %v to %v", c.name, f.Verdict, c.verdict, c.says, strings.Join(f.Sentences, "\n"), x.Low, x.High)
		}
	}
}

// A drop well above a usual clean one that a clean one may still have is told as such, where
// nobody measured the face of the element.
func TestFilterOfUnknownFaceIsWithinAClean(t *testing.T) {
	for _, c := range []struct {
		name, face string
		value      string
		says       bool
	}{
		{"above a usual one", "", "3 inH2O", true},
		{"below a usual one", "", "0.5 inH2O", false},
		{"measured", "known", "1 inH2O", false},
	} {
		car := boxCar()
		if c.face == "" {
			car = slices.DeleteFunc(car, func(e subject.Entry) bool { return e.Row == "sizes.1" })
		}
		f := foundOf(t, car, places(elementPath, "paper"), acrossRuns("box-in", "filter", elementAcross, "filter", c.value, c.value, c.value))
		said := strings.Contains(strings.Join(f.Sentences, " "), "Measure the face to know better")
		if f.Verdict != filterClean || said != c.says {
			x, _ := f.Figure("clean")
			t.Errorf("%s: %s, %q; clean %v (%v to %v)", c.name, f.Verdict, f.Sentences, x.Value, x.Low, x.High)
		}
	}
}

// An earlier sheet of the car brings what was read across its filter, and nothing else of
// that day.
func TestCarriedBringsTheFilter(t *testing.T) {
	entries := append(boxCar(), acrossRuns("box-in", "filter", elementAcross, "filter", "1.5 inH2O", "1.6 inH2O")...)
	entries = append(entries, subject.Entry{Path: "date", Text: "2025-06-01"})
	kept := Carried(mustSheet(t, entries))
	v := (&Matter{}).Look(kept)
	if got := v.Value("earlier_filter").Word; got != "yes" {
		t.Errorf("the earlier reading is missing: %v", kept)
	}
	if s := mustSheet(t, kept); len(s.Readings) != 0 || s.Date != "" || s.Air.Temperature.Known() {
		t.Errorf("the day came along: %+v", s)
	}
	whole := Carried(mustSheet(t, append(boxCar(), acrossRuns("open-air", "tube", visitGauge, gaugeHere, "12 inH2O")...)))
	if slices.ContainsFunc(whole, func(e subject.Entry) bool { return strings.HasPrefix(e.Path, earlierPrefix) }) {
		t.Errorf("readings that are not across the filter come along: %v", whole)
	}
}

// overSpeeds are readings of the whole path over engine speed, that grow with an
// exponent from the highest on, rounded to a division.
func overSpeeds(exponent, top, division float64, speeds ...float64) []subject.Entry {
	out := []subject.Entry{{Path: visitFrom, Row: "across.1", Text: sheet.OpenAir}, {Path: visitTo, Row: "across.1", Text: "tube"}, {Path: visitGauge, Row: "across.1", Text: gaugeHere},
		{Path: beforePath, Row: "across.1", Text: "0 inH2O"}, {Path: afterPath, Row: "across.1", Text: "0 inH2O"}}
	n := 0
	for i, rpm := range speeds {
		at := fmt.Sprintf("across.1/speeds.%d", i+1)
		out = append(out, subject.Entry{Path: speedPath, Row: at, Text: quantity.ShowIn(rpm, quantity.Rotation, "rpm")})
		for k := range 3 {
			n++
			value := top * math.Pow(rpm/6000, exponent)
			if division > 0 {
				value = math.Round(value/division) * division
			}
			row := fmt.Sprintf("%s/runs.%d", at, k+1)
			for path, text := range map[string]string{"readings[].run": fmt.Sprint(n), "readings[].from": sheet.OpenAir, "readings[].to": "tube", "readings[].gauge": gaugeHere,
				readingPath: fmt.Sprintf("%.6f inH2O", value), rpmPath: fmt.Sprintf("%.0f rpm", rpm)} {
				out = append(out, subject.Entry{Path: path, Row: row, Text: text})
			}
		}
	}
	return out
}

// Readings that are made of a power of the speed give that power back, whatever it is:
// least squares on the logarithms go through points that lie on a line.
func TestCollapseByHand(t *testing.T) {
	wide := []subject.Entry{{Path: gaugeRange, Row: "1", Text: "25 inH2O"}, {Path: "gauges[].division", Row: "1", Text: "0.1 inH2O"}}
	for _, n := range []float64{1.2, 1.8, 2, 2.4, 3, 3.7} {
		f := foundOf(t, boxCar(), wide, overSpeeds(n, 14, 0, 6000, 4800, 3900, 3000))
		x, ok := f.Figure("exponent")
		if !ok || math.Abs(x.Value-n) > 1e-4 || !(x.Low < n && n < x.High) || x.High-x.Low > 0.6 {
			t.Errorf("made with %v, found %+v", n, x)
		}
	}
	// At 3000 rpm and 14 inH2O * 0.5^3 = 1.75 a square law leads to 7 at 6000: half of
	// the 14 are extra.
	f := foundOf(t, boxCar(), wide, overSpeeds(3, 14, 0, 6000, 4800, 3900, 3000))
	if x, _ := f.Figure("extra"); math.Abs(x.Value-7*inch) > 0.1 {
		t.Errorf("closing up adds %v Pa, want %v", x.Value, 7*inch)
	}
}

func TestCollapseVerdicts(t *testing.T) {
	wide := []subject.Entry{{Path: gaugeRange, Row: "1", Text: "25 inH2O"}, {Path: "gauges[].division", Row: "1", Text: "0.5 inH2O"}}
	usual := []float64{6000, 4800, 3900, 3000}
	for _, c := range []struct {
		name, verdict, says string
		exponent            float64
		speeds              []float64
	}{
		{"keeps its shape", behaves, "", 2, usual},
		{"grows little", behaves, "full throttle", 1, usual},
		{"closes up", closesUp, "snorkel (soft or ribbed hose", 3.2, usual},
		{"between", finding.CannotTell, "likely that the path closes up", 2.5, usual},
		{"two speeds", finding.CannotTell, "takes three", 3.2, usual[:2]},
		{"close together", finding.CannotTell, "too close together", 3.2, []float64{6000, 5600, 5200}},
		{"nothing read", finding.NotYet, "", 2, nil},
	} {
		f := foundOf(t, boxCar(), wide, places(spanPath, "tube"), overSpeeds(c.exponent, 14, 0.25, c.speeds...))
		if f.Verdict != c.verdict || !strings.Contains(strings.Join(f.Sentences, " "), c.says) {
			t.Errorf("%s: %s, want %s with %q\n%s", c.name, f.Verdict, c.verdict, c.says, strings.Join(f.Sentences, "\n"))
		}
	}
}
