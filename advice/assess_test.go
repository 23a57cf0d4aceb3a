package advice

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice/assessment"
	"dropwalk/advice/power"
	"dropwalk/advice/sheet"
)

// head is an invented car, natural petrol; what follows is YAML.
const head = `sheet: 1
car:
  engine: {displacement: 1998 cc, fuel: petrol, induction: natural, mass_flow: 118 g/s, mass_flow_uncertainty: 3 %, peak_power: 108 kW}
reference: {rpm: 6000}
air: {temperature: 25 C, pressure: 99 kPa, humidity: 0 %}
place: rolling-road
`

const path = `path:
  - {name: mouth,   kind: mouth,     diameter: 60 mm, edge: protruding}
  - {name: snorkel, kind: duct,      diameter: 60 mm, length: 450 mm, surface: smooth, bends: [{angle: 90 deg, radius: 90 mm}]}
  - {name: box-in,  kind: box-entry, diameter: 60 mm}
  - {name: filter,  kind: filter,    face: 0.040 m2, tap: port}
  - {name: box-out, kind: box-exit,  diameter: 65 mm, edge: flush}
  - {name: meter,   kind: meter,     diameter: 65 mm}
  - {name: tube,    kind: duct,      diameter: 65 mm, length: 500 mm, surface: ribbed, bends: [{angle: 45 deg, radius: 80 mm}]}
gauges:
  - {name: g25, range: 25 inH2O, division: 0.5 inH2O, accuracy: 2 %}
`

const gauges = "gauges: [{name: g25, range: 25 inH2O, division: 0.5 inH2O, accuracy: 2 %}]\n"

// runs are runs of one value each, zeros written down.
func runs(first int, from, to string, values ...string) string {
	var b strings.Builder
	for i, v := range values {
		fmt.Fprintf(&b, "  - {run: %d, from: %s, to: %s, gauge: g25, value: %q, rpm: 6000, zero_before: 0 inH2O, zero_after: 0 inH2O}\n", first+i, from, to, v)
	}
	return b.String()
}

func read(t *testing.T, text string) *sheet.Sheet {
	t.Helper()
	s, faults := sheet.Read("test.yaml", []byte(text))
	if s == nil {
		t.Fatal(faults)
	}
	return s
}

// judged assesses a sheet and holds the result to the document's own rules and
// to those of the sheet: no reading against the flow, no tap where none can be.
func judged(t *testing.T, text string) *assessment.Assessment {
	t.Helper()
	s := read(t, text)
	a := Assess(s, Options{})
	line, err := a.Line()
	if err != nil {
		t.Fatal(err)
	}
	if faults := assessment.Check("assessment.json", line); len(faults.Errors()) > 0 {
		t.Fatal(faults)
	}
	again, err := Assess(s, Options{}).Line()
	if err != nil || !bytes.Equal(line, again) {
		t.Errorf("the same sheet gave other bytes the second time (%v)", err)
	}
	checkNext(t, s, a)
	return a
}

func checkNext(t *testing.T, s *sheet.Sheet, a *assessment.Assessment) {
	t.Helper()
	if a.Next == nil {
		return
	}
	place := func(name string) int {
		if name == sheet.OpenAir {
			return 0
		}
		return 1 + slices.IndexFunc(s.Path, func(c sheet.Component) bool { return c.Name == name })
	}
	if place(a.Next.From) >= place(a.Next.To) {
		t.Errorf("next reading runs from %s to %s, against the flow", a.Next.From, a.Next.To)
	}
	for _, tap := range a.Next.Taps {
		c := s.Path[place(tap.Station)-1]
		none := c.Tap == "none" || c.Tap == "" && slices.Contains([]string{"mouth", "meter", "throttle"}, c.Kind)
		if none {
			t.Errorf("next reading needs a tap at %s, where none can be", tap.Station)
		}
	}
}

func has(a *assessment.Assessment, code string) bool {
	return slices.ContainsFunc(a.Remarks, func(r assessment.Remark) bool { return r.Code == code })
}

func within(t *testing.T, what string, got, low, high float64) {
	t.Helper()
	if !(low <= got && got <= high) {
		t.Errorf("%s = %g, want between %g and %g", what, got, low, high)
	}
}

const inch = 249.08891 // Pa, the conventional inch of water

// Sheets at the edge of what a sheet can be: each gives a whole assessment.
func TestAssessAnySheet(t *testing.T) {
	many := "path:\n"
	for i := range 40 {
		many += fmt.Sprintf("  - {name: piece-%d, kind: duct}\n", i)
	}
	bare := "path: [{name: mouth, kind: mouth}, {name: box, kind: box-entry}, {name: filter, kind: filter}, {name: tube, kind: duct}]\n"
	for name, text := range map[string]string{
		"nothing but the least":  "sheet: 1\ncar: {engine: {displacement: 2 L}}\n" + bare,
		"one component":          head + "path: [{name: filter, kind: filter}]\n" + gauges + "readings:\n" + runs(1, "open-air", "filter", "2 inH2O", "2 inH2O"),
		"forty components":       head + many + gauges + "readings:\n" + runs(1, "open-air", "piece-39", "30 inH2O") + runs(2, "open-air", "piece-20", "14 inH2O"),
		"no tap anywhere":        head + "path: [{name: a, kind: other, tap: none}, {name: b, kind: other, tap: none}]\n",
		"all fixed":              head + "path: [{name: a, kind: meter}, {name: b, kind: throttle}]\n",
		"nothing could be read":  head + path + "readings:\n" + runs(1, "open-air", "tube", "?", "?"),
		"nought":                 head + path + "readings:\n" + runs(1, "open-air", "tube", "0 inH2O", "0 inH2O", "0 inH2O"),
		"negative":               head + path + "readings:\n" + runs(1, "open-air", "tube", "-12 inH2O", "-12 inH2O", "-12 inH2O"),
		"huge":                   head + path + "readings:\n" + runs(1, "open-air", "tube", "90 kPa"),
		"off the scale":          head + path + "readings:\n" + runs(1, "open-air", "tube", ">25 inH2O", ">25 inH2O"),
		"below the scale":        head + path + "readings:\n" + runs(1, "filter", "box-out", "<0.5 inH2O"),
		"contradictions":         head + path + "readings:\n" + runs(1, "open-air", "tube", "5 inH2O", "20 inH2O", ">25 inH2O", "<1 inH2O") + runs(5, "open-air", "filter", "15 inH2O"),
		"a turbo of few words":   "sheet: 1\ncar: {engine: {displacement: 2 L, induction: turbo}}\n" + bare + "readings: [{from: open-air, to: tube, value: 3 kPa}]\n",
		"parallel, rectangular":  head + "path: [{name: a, kind: duct, width: 80 mm, height: 40 mm, share: 50 %}, {name: b, kind: screen, diameter: 60 mm, open_area: 60 %}]\n",
		"doubtful, on the road":  strings.Replace(head, "rolling-road", "road", 1) + path + "readings: [{from: open-air, to: tube, gauge: g25, value: 12-13 inH2O, doubtful: \"pedal lifted\", speed: 90 km/h, reference: cabin}]\n",
		"measured flow on a run": "sheet: 1\ncar: {engine: {displacement: 2 L, induction: turbo, boost_control: absolute}}\n" + bare + "readings: [{from: open-air, to: tube, value: 3 kPa, rpm: 5500, mass_flow: 160 g/s}]\n",
	} {
		t.Run(name, func(t *testing.T) {
			a := judged(t, text)
			if a.Verdict == "" {
				t.Error("no verdict")
			}
		})
	}
}

// Without readings the whole path comes first: as far down as a tap can be.
func TestFirstReadingIsTheWholePath(t *testing.T) {
	a := judged(t, head+path)
	if a.Verdict != assessment.Measure || a.Next == nil {
		t.Fatalf("verdict %q, next %v, want a first reading", a.Verdict, a.Next)
	}
	if a.Next.From != sheet.OpenAir || a.Next.To != "tube" || a.Next.Gauge != "g25" || a.Next.Runs != 3 {
		t.Errorf("next = %+v, want open-air to tube with g25, 3 runs", *a.Next)
	}
}

// A tap just ahead of the throttle reads loss and velocity head. 118 g/s of air
// of 1.157 kg/m3 in a 65 mm bore holds 546 Pa by m^2/(2 rho A^2); the air there is
// some per cent thinner than outside.
func TestVelocityHeadIsNoLoss(t *testing.T) {
	a := judged(t, head+path+"readings:\n"+runs(1, "open-air", "tube", "12.5 inH2O", "12.5 inH2O", "12.5 inH2O"))
	q := a.VelocityHead["tube"]
	within(t, "velocity head", q.Median, 546, 546*1.06)
	within(t, "loss and velocity head", a.TotalLoss.Median+q.Median, 0.98*12.5*inch, 1.02*12.5*inch)
	within(t, "restriction", a.TotalGauge.Median, 0.98*12.5*inch, 1.02*12.5*inch)
	within(t, "width of the restriction", a.TotalGauge.High-a.TotalGauge.Low, 0, 0.15*12.5*inch)
	if len(a.Together) != 1 || len(a.Together[0]) != 7 {
		t.Errorf("together = %v, want all seven in one set", a.Together)
	}
	if _, still := a.VelocityHead["filter"]; still {
		t.Error("a velocity head in the box, where the air is still")
	}
}

// The sum is known, its parts are not: sets need not be neighbours.
func TestTogetherNeedsNoNeighbours(t *testing.T) {
	a := judged(t, head+path+"readings:\n"+runs(1, "open-air", "tube", "12.5 inH2O")+runs(2, "filter", "box-out", "2.5 inH2O"))
	want := []string{"mouth", "snorkel", "box-in", "filter", "meter", "tube"}
	if len(a.Together) != 1 || !slices.Equal(a.Together[0], want) {
		t.Errorf("together = %v, want %v", a.Together, want)
	}
}

// A part with readings on both sides loses what was measured, whatever the
// handbook says: here a filter that costs ten times the usual.
func TestReadingsBeatTheHandbook(t *testing.T) {
	a := judged(t, head+path+"readings:\n"+runs(1, "open-air", "tube", "20 inH2O", "20 inH2O", "20 inH2O")+
		runs(4, "box-in", "filter", "11 inH2O", "11 inH2O", "11 inH2O")+runs(7, "open-air", "box-in", "6 inH2O", "6 inH2O", "6 inH2O"))
	f := a.ComponentByName("filter")
	within(t, "filter", f.Loss.Median, 10.4*inch, 11.4*inch)
	if f.RestsOn != "readings" {
		t.Errorf("rests on %q, want readings", f.RestsOn)
	}
	if a.BestGuess == nil || *a.BestGuess != "filter" {
		t.Errorf("best guess %v, want filter", a.BestGuess)
	}
	if a.Verdict != assessment.Attack {
		t.Errorf("verdict %q, want attack", a.Verdict)
	}
	within(t, "chance to be first", f.ChanceFirst, 0.97, 1)
}

// Where a fast duct opens into the box a gauge properly shows less than before.
func TestReadingMayFallIntoTheBox(t *testing.T) {
	mouthless := strings.Replace(path, "edge: protruding}", "edge: bellmouth, tap: drill}", 1)
	a := judged(t, head+mouthless+"readings:\n"+runs(1, "open-air", "snorkel", "4.5 inH2O", "4.5 inH2O", "4.5 inH2O")+
		runs(4, "open-air", "box-in", "4 inH2O", "4 inH2O", "4 inH2O"))
	if a.Verdict == assessment.Recheck {
		t.Errorf("recheck over a fall that is proper: %v", a.Remarks)
	}
}

func TestContradictionsAreNamed(t *testing.T) {
	whole := runs(1, "open-air", "tube", "12.5 inH2O", "12.5 inH2O", "12.5 inH2O")
	for _, c := range []struct {
		name, text string
		codes      []string
	}{
		{"hoses swapped at the gauge", head + path + "readings:\n" + runs(1, "open-air", "tube", "-12 inH2O", "-12.5 inH2O", "-12 inH2O"), []string{assessment.Swapped}},
		{"two taps swapped", head + path + "readings:\n" + runs(1, "open-air", "tube", "5 inH2O", "5 inH2O", "5 inH2O") + runs(4, "open-air", "box-in", "13 inH2O", "13 inH2O", "13 inH2O"), []string{assessment.Swapped}},
		{"a tap that leaks", head + path + "readings:\n" + runs(1, "open-air", "tube", "14 inH2O", "14 inH2O", "14 inH2O") + runs(4, "open-air", "box-in", "7 inH2O", "7 inH2O", "7 inH2O") + runs(7, "open-air", "filter", "3 inH2O", "3 inH2O", "3 inH2O"), []string{assessment.Swapped, assessment.LossFalls}},
		{"a hose that is off", head + path + "readings:\n" + runs(1, "open-air", "tube", "1 inH2O", "1 inH2O", "1 inH2O"), []string{assessment.LossFalls, assessment.NotFullLoad}},
		{"the sum does not close", head + path + "readings:\n" + whole + runs(4, "open-air", "filter", "8 inH2O", "8 inH2O", "8 inH2O") + runs(7, "filter", "tube", "10 inH2O", "10 inH2O", "10 inH2O"), []string{assessment.RunsDisagree}},
		{"a leak check that failed", head + path + "checks: [{kind: leak, at: tube, start: 15 inH2O, end: 12 inH2O, seconds: 30}]\nreadings:\n" + whole, []string{assessment.Leak}},
		{"a zero that jumped", head + path + "readings: [{run: 1, from: open-air, to: tube, gauge: g25, value: 12.5 inH2O, rpm: 6000, zero_before: 0 inH2O, zero_after: 3 inH2O}]\n", []string{assessment.ZeroShift}},
		{"runs far apart", head + path + "readings:\n" + runs(1, "open-air", "tube", "7 inH2O", "13 inH2O"), []string{assessment.RunsDisagree}},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := judged(t, c.text)
			if a.Verdict != assessment.Recheck {
				t.Errorf("verdict %q, want recheck; remarks %v", a.Verdict, a.Remarks)
			}
			if !slices.ContainsFunc(c.codes, func(code string) bool { return has(a, code) }) {
				t.Errorf("remarks %v, want one of %v", a.Remarks, c.codes)
			}
		})
	}
}

func TestRemarksWithoutAlarm(t *testing.T) {
	whole := runs(1, "open-air", "tube", "12.5 inH2O", "12.5 inH2O", "12.5 inH2O")
	for _, c := range []struct{ name, text, code string }{
		{"off the scale", head + path + "readings:\n" + runs(1, "open-air", "tube", ">25 inH2O"), assessment.OffScale},
		{"unreadable", head + path + "readings:\n" + whole + runs(4, "open-air", "tube", "?"), assessment.UnreadableValue},
		{"below the division", head + path + "readings:\n" + whole + runs(4, "box-in", "filter", "0.25 inH2O"), assessment.BelowResolution},
		{"one run apart", head + path + "readings:\n" + whole + runs(4, "open-air", "tube", "7 inH2O"), assessment.RunsDisagree},
		{"wrong gear", head + path + "readings:\n" + whole + "  - {run: 4, from: open-air, to: tube, gauge: g25, value: 6 inH2O, rpm: 4200}\n", assessment.NotFullLoad},
		{"gauge overdue", "date: 2026-11-25\n" + head + strings.Replace(path, "accuracy: 2 %}", "accuracy: 2 %, checked: 2025-01-10}", 1) + "readings:\n" + whole, assessment.GaugeOverdue},
		{"nothing measured", "sheet: 1\ncar: {engine: {displacement: 2 L}}\npath: [{name: a, kind: other}]\n", assessment.Wide},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := judged(t, c.text)
			if !has(a, c.code) {
				t.Errorf("remarks %v, want %s", a.Remarks, c.code)
			}
			if a.Verdict == assessment.Recheck {
				t.Errorf("recheck for %s alone", c.code)
			}
		})
	}
}

// A bound is used as such: the loss lies above it, and a larger gauge is asked for.
func TestOffTheScaleIsABound(t *testing.T) {
	a := judged(t, head+path+"readings:\n"+runs(1, "open-air", "tube", ">25 inH2O", ">25 inH2O"))
	if a.TotalGauge.Low < 24.5*inch {
		t.Errorf("restriction at least %g inH2O, want 24.5 or more", a.TotalGauge.Low/inch)
	}
}

// Runs on a thin, hot day show other pressures and mean the same losses.
func TestWeatherIsTakenOff(t *testing.T) {
	cold := strings.Replace(head, "temperature: 25 C, pressure: 99 kPa", "temperature: 5 C, pressure: 102 kPa", 1)
	base := judged(t, head+path+"readings:\n"+runs(1, "open-air", "tube", "12 inH2O", "12 inH2O", "12 inH2O"))
	// Square law: drop goes with m^2/rho; flow with p and T^-0.75 (natural
	// induction), density with p/T: together p T^-0.5.
	more := 102.0 / 99 * math.Sqrt(298.15/278.15) * 12
	day := judged(t, cold+path+"readings:\n"+runs(1, "open-air", "tube", fmt.Sprintf("%.2f inH2O", more), fmt.Sprintf("%.2f inH2O", more), fmt.Sprintf("%.2f inH2O", more)))
	within(t, "restriction on a cold day", day.TotalGauge.Median, 0.99*base.TotalGauge.Median, 1.01*base.TotalGauge.Median)
}

// Natural petrol, 99 kPa: 1 kPa less loss gives 1.0 to 1.5 %, about 1.2 % in the
// middle (ISO 1585 exponent 1.2; published averages 1.0 to 1.5 % per kPa).
func TestGainOfOneKilopascal(t *testing.T) {
	within(t, "gain", percent(99e3, 1000, 1000, 1.2, 0), 1.15, 1.25)
	r := power.Engine{Fuel: "petrol", Induction: "natural"}.Response()
	for _, n := range []float64{r.Exponent.Low, r.Exponent.High} {
		within(t, "gain at the ends", percent(99e3, 1000, 1000, n, 0), 0.99, 1.52)
	}
}

// The flow that settles after a change, to first order, against the solution of
// the fixed point in package power.
func TestGainSettles(t *testing.T) {
	const p, flow = 99e3, 0.118
	for _, total := range []float64{1000, 3000, 6000} {
		for _, share := range []float64{0.1, 0.5, 1} {
			back := share * total
			after := func(m float64) float64 { return (total - back) * square(m/flow) }
			_, loss := power.Settle(flow, p, total, after, 1)
			want := 100 * (power.PressureFactor(p-total, p-loss, 1.2) - 1)
			got := percent(p, total, back, 1.2, 1)
			if math.Abs(got-want) > 0.005*want {
				t.Errorf("total %g, back %g: gain %.4f %%, want %.4f within 0.5 %% of it", total, back, got, want)
			}
		}
	}
}

// Held boost makes good for a loss: the low end of the gain is nought. Where
// nothing honest can be said there is no number.
func TestGainByEngine(t *testing.T) {
	readings := "readings:\n" + runs(1, "open-air", "tube", "18 inH2O", "18 inH2O", "18 inH2O")
	held := strings.Replace(head, "induction: natural", "induction: turbo, boost: 70 kPa, boost_control: absolute", 1)
	a := judged(t, held+path+readings)
	if g := a.GainAll.PowerPercent; g == nil || g.Low != 0 {
		t.Errorf("held boost: gain %v, want a low end of nought", g)
	}
	unknown := strings.Replace(head, "fuel: petrol, induction: natural, ", "", 1)
	b := judged(t, unknown+path+readings)
	if b.GainAll.PowerPercent != nil || b.GainAll.Note == "" {
		t.Errorf("unknown engine: gain %+v, want none and a reason", b.GainAll)
	}
	c := judged(t, head+path+readings)
	kw := c.GainAll.PowerKW
	if kw == nil {
		t.Fatal("no gain in kW although peak power is stated")
	}
	within(t, "kW over percent", kw.Median/c.GainAll.PowerPercent.Median, 1.07, 1.09)
}

// A part that is never to be attacked gives nothing back, whatever it costs.
func TestFixedIsNeverAttacked(t *testing.T) {
	fixed := strings.Replace(path, "kind: filter,    face: 0.040 m2", "kind: filter, fixed: true, face: 0.040 m2", 1)
	a := judged(t, head+fixed+"readings:\n"+runs(1, "box-in", "filter", "15 inH2O", "15 inH2O", "15 inH2O"))
	f := a.ComponentByName("filter")
	if f.Recoverable.High != 0 || f.ChanceFirst != 0 {
		t.Errorf("fixed filter: recoverable %+v, chance %g, want none", f.Recoverable, f.ChanceFirst)
	}
	if a.Attack != nil && *a.Attack == "filter" {
		t.Error("a fixed part is to be attacked")
	}
}

// A user to whom nothing is worth less than a tenth of the power leaves all
// alone; costs that no reading can repay end the measuring.
func TestOptionsCount(t *testing.T) {
	s := read(t, head+path+"readings:\n"+runs(1, "open-air", "tube", "9 inH2O", "9 inH2O", "9 inH2O"))
	if a := Assess(s, Options{Worth: 10}); a.Verdict != assessment.LeaveAlone {
		t.Errorf("worth 10 %%: verdict %q, want leave-alone", a.Verdict)
	}
	dear := Options{}.filled()
	costs := *dear.Costs
	costs.Drill, costs.Port, costs.Fitted, costs.Run = 50, 50, 50, 50
	if a := Assess(s, Options{Costs: &costs}); a.Next != nil {
		t.Errorf("taps at 50 %% of power each: next %+v, want none", a.Next)
	}
	if a, b := Assess(s, Options{Seed: 5}), Assess(s, Options{Seed: 6}); a.Seed != 5 || a.TotalLoss == b.TotalLoss {
		t.Errorf("seed %d, totals %v and %v: want the seed to count", a.Seed, a.TotalLoss, b.TotalLoss)
	}
}

// No hole goes into the ribs of a hose: the advice says where the fitting goes
// instead, and asks for it only where nothing easier will do.
func TestRibbedHoseIsNotDrilled(t *testing.T) {
	const short = "path:\n- {name: mouth, kind: mouth, diameter: 60 mm}\n- {name: hose, kind: duct, diameter: 65 mm, surface: ribbed, length: 400 mm}\n"
	a := judged(t, head+short)
	if a.Next == nil || a.Next.To != "hose" {
		t.Fatalf("next %+v, want the end of the hose", a.Next)
	}
	if !strings.Contains(a.Next.Reason, "hose is ribbed") {
		t.Errorf("reason %q, want a word on the ribs", a.Next.Reason)
	}
	ported := judged(t, head+strings.Replace(short, "surface: ribbed", "surface: ribbed, tap: port", 1))
	if strings.Contains(ported.Next.Reason, "ribbed") {
		t.Errorf("reason %q where a port is there already", ported.Next.Reason)
	}
}

// A part of the path off the scale and a whole path that shows little contradict
// each other.
func TestBoundWithoutRoomIsRechecked(t *testing.T) {
	a := judged(t, head+path+"readings:\n"+runs(1, "open-air", "tube", "8 inH2O", "8 inH2O", "8.2 inH2O")+runs(4, "open-air", "filter", ">25 inH2O", ">25 inH2O"))
	if a.Verdict != assessment.Recheck || !has(a, assessment.RunsDisagree) {
		t.Errorf("verdict %q, remarks %+v, want recheck because the readings disagree", a.Verdict, a.Remarks)
	}
}
