package practice

import (
	"fmt"
	"hash/fnv"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// halfStep is the most by which reading to half a division can change a value.
func halfStep(g *Gauge) float64 { return g.pascals(g.Division) / 4 }

// In a quiet visit a reading is loss plus velocity head plus what the tap itself
// does, and nothing else. In still air it is loss alone.
func TestQuietReadingIsLossPlusVelocityHead(t *testing.T) {
	everyCar(t, func(c *Car) {
		s := c.Session(1, Setup{Quiet: true, Place: "rolling-road"})
		g := &s.Gauges[0]
		dynamic := make([]float64, len(c.Path))
		c.march(flowState{c.Engine.MassFlow, referenceAir}, func(i int, _, q float64) { dynamic[i] = q })
		sum := 0.0
		for i := range c.Path {
			p := &c.Path[i]
			sum += c.Truth.Loss[i]
			if !p.tappable() {
				continue
			}
			readings, err := s.Measure(sheet.OpenAir, p.Name, g.Name, 1)
			if err != nil {
				t.Fatal(err)
			}
			v := readings[0].Value
			want := sum + c.Truth.Head[i] + p.tapError*dynamic[i]
			if p.still() && want != sum {
				t.Errorf("still air behind %s reads %v beside a loss of %v", p.Name, want, sum)
			}
			if v.Form == quantity.Above {
				if want < v.SI {
					t.Errorf("%s reads %s, want %v", p.Name, v.Raw, want)
				}
			} else if math.Abs(v.SI-want) > halfStep(g)+1e-6 {
				t.Errorf("%s reads %v, want %v within half a step", p.Name, v.SI, want)
			}
		}
	})
}

// What a gauge shows across one component is the difference of what it shows
// from the open air at its two ends.
func TestQuietReadingsAddUp(t *testing.T) {
	everyCar(t, func(c *Car) {
		s := c.Session(1, Setup{Quiet: true})
		r := s.drive(len(c.Path) - 1)
		taps := c.taps()
		total := 0.0
		from := -1
		for _, to := range taps {
			total += s.suctionAt(r, to) - s.suctionAt(r, from)
			from = to
		}
		end := taps[len(taps)-1]
		if want := s.suctionAt(r, end) - s.suctionAt(r, -1); math.Abs(total-want) > 1e-9*want {
			t.Errorf("steps add up to %v, the whole path reads %v", total, want)
		}
	})
}

// Air in equals air out: the flow that the path passes is the flow that the
// parallel shares carry.
func TestSharesCarryTheFlow(t *testing.T) {
	halves := 0
	everyCar(t, func(c *Car) {
		for _, p := range c.Path {
			if p.Share != 1 {
				halves++
				if p.Share != 0.5 || p.clean {
					t.Errorf("%s carries %v of the flow", p.Name, p.Share)
				}
			}
		}
	})
	if halves == 0 {
		t.Errorf("no car with two mouths")
	}
}

func TestLossesGrowWithFlowAndFallWithDensity(t *testing.T) {
	everyCar(t, func(c *Car) {
		base, more, thick := make([]float64, len(c.Path)), make([]float64, len(c.Path)), make([]float64, len(c.Path))
		fill := func(into []float64) func(int, float64, float64) {
			return func(i int, loss, _ float64) { into[i] = loss }
		}
		dense := referenceAir
		dense.pressure *= 1.05
		c.march(flowState{c.Engine.MassFlow, referenceAir}, fill(base))
		c.march(flowState{1.1 * c.Engine.MassFlow, referenceAir}, fill(more))
		c.march(flowState{c.Engine.MassFlow, dense}, fill(thick))
		for i := range base {
			grown := math.Log(more[i]/base[i]) / math.Log(1.1)
			// Linear in a clogged filter, nearly 4 in a duct that closes up; air
			// that thins on its way adds some tenths.
			if grown < 1 || grown > 4.6 {
				t.Errorf("%s: loss goes with flow to the %.2f", c.Path[i].Name, grown)
			}
			if thick[i] >= base[i] {
				t.Errorf("%s: %v Pa in denser air at equal mass flow, %v in thin", c.Path[i].Name, thick[i], base[i])
			}
		}
	})
}

func TestSessionIsDeterministic(t *testing.T) {
	for seed := range uint64(60) {
		c := Draw(seed, Options{Hand: Hand(seed % 3)})
		one, two := c.Session(9, Setup{Fault: ZeroOff}).FullWalk(Partly), c.Session(9, Setup{Fault: ZeroOff}).FullWalk(Partly)
		if d := cmp.Diff(one, two); d != "" {
			t.Fatalf("seed %d: two walks differ:\n%s", seed, d)
		}
	}
	c := Draw(1, Options{})
	if cmp.Equal(c.Session(1, Setup{}).FullWalk(Full).Readings, c.Session(2, Setup{}).FullWalk(Full).Readings) {
		t.Errorf("visits 1 and 2 read the same")
	}
}

// The scatter of repeated runs is the one that the session was given: 400 runs
// pin a standard deviation to 4 %; rpm, foot and wind widen it, rounding too.
func TestRunScatter(t *testing.T) {
	c := Draw(11, Options{Engine: Engine{Cylinders: 6}})
	s := c.Session(3, Setup{Place: "rolling-road"})
	s.sway = 0
	readings, err := s.Measure(sheet.OpenAir, c.Path[len(c.Path)-1].Name, s.Gauges[0].Name, 400)
	if err != nil {
		t.Fatal(err)
	}
	var xs []float64
	for _, r := range readings {
		if r.Value.Form == quantity.Exact {
			xs = append(xs, r.Value.SI)
		}
	}
	mean := sum(xs) / float64(len(xs))
	square := 0.0
	for _, x := range xs {
		square += (x - mean) * (x - mean)
	}
	got := math.Sqrt(square / float64(len(xs)-1))
	want := math.Hypot(s.scatter*mean, s.floor)
	widest := math.Hypot(want, 2.1*0.012*mean+s.Gauges[0].pascals(s.Gauges[0].Division))
	if got < 0.9*want || got > widest {
		t.Errorf("runs scatter by %v Pa, want %v to %v", got, want, widest)
	}
}

// A gauge errs within its stated accuracy almost always.
func TestGaugeKeepsItsAccuracy(t *testing.T) {
	outside, n := 0, 0
	for seed := range uint64(600) {
		s := Draw(seed, Options{Hand: Tinker}).Session(seed, Setup{})
		for i := range s.Gauges {
			g := &s.Gauges[i]
			full := g.pascals(g.Range)
			for _, share := range []float64{0.2, 0.6, 1} {
				n++
				if math.Abs(g.shows(share*full, 1)-share*full) > g.Accuracy*full {
					outside++
				}
			}
		}
	}
	if got := float64(outside) / float64(n); got > 0.05 || outside == 0 {
		t.Errorf("%.3f of the readings err by more than the accuracy, want few but some", got)
	}
}

func TestReadRounds(t *testing.T) {
	g := Gauge{Unit: "inH2O", Range: 25, Division: 0.5}
	for _, c := range []struct {
		shown, width float64
		want         string
	}{
		{12.3, 0, "12.25 inH2O"},
		{12.4, 0, "12.5 inH2O"},
		{12.5, 0.6, "12-13 inH2O"},
		{25.2, 0, ">25 inH2O"},
		{25.1, 0, "25 inH2O"},
		{0.04, 0, "0 inH2O"},
		{-0.3, 0, "-0.25 inH2O"},
		{24.9, 1, "25 inH2O"},
	} {
		if got := g.read(c.shown*inch, c.width*inch).Raw; got != c.want {
			t.Errorf("%v +- %v inH2O is written %q, want %q", c.shown, c.width, got, c.want)
		}
	}
}

// Every amount must be what package quantity makes of its text, to the last bit.
func TestAmountsReadBack(t *testing.T) {
	check := func(a quantity.Amount) {
		t.Helper()
		if !a.Given() {
			return
		}
		got, err := quantity.Read(a.Raw, quantity.Want{Kind: a.Kind, Swing: true, Bounds: true, Unreadable: true})
		if err != nil || !cmp.Equal(got, a) {
			t.Errorf("%q reads as %+v (%v), written as %+v", a.Raw, got, err, a)
		}
	}
	for seed := range uint64(40) {
		sh := Draw(seed, Options{Hand: Hand(seed % 3)}).Session(seed, Setup{Zeros: Yes, Speed: Yes, Scan: Yes}).FullWalk(Full)
		e := sh.Car.Engine
		amounts := []quantity.Amount{e.Displacement, e.Boost, e.VolumetricEfficiency, e.MassFlow, e.MassFlowUncertainty, e.PeakPower,
			sh.Air.Temperature, sh.Air.Pressure, sh.Air.Humidity}
		for _, c := range sh.Path {
			amounts = append(amounts, c.Diameter, c.Width, c.Height, c.Length, c.Radius, c.Face, c.OpenArea, c.Share)
			for _, b := range c.Bends {
				amounts = append(amounts, b.Angle, b.Radius)
			}
		}
		for _, g := range sh.Gauges {
			amounts = append(amounts, g.Range, g.Division, g.Accuracy)
		}
		for _, k := range sh.Checks {
			amounts = append(amounts, k.Start, k.End)
		}
		for _, r := range sh.Readings {
			amounts = append(amounts, r.Value, r.ZeroBefore, r.ZeroAfter, r.MassFlow, r.Speed)
		}
		for _, a := range amounts {
			check(a)
		}
	}
}

func TestMeasureRefuses(t *testing.T) {
	c := Draw(4, Options{Engine: Engine{Displacement: 2e-3}})
	s := c.Session(1, Setup{})
	end, g := c.Path[len(c.Path)-1].Name, s.Gauges[0].Name
	for _, ask := range []Ask{
		{sheet.OpenAir, "boot", g, 1},
		{sheet.OpenAir, c.Path[0].Name, g, 1}, // no tap behind a mouth
		{end, sheet.OpenAir, g, 1},
		{end, end, g, 1},
		{sheet.OpenAir, end, "none", 1},
	} {
		if got, err := s.Measure(ask.From, ask.To, ask.Gauge, ask.Runs); err == nil {
			t.Errorf("Measure(%v) = %v, want an error", ask, got)
		}
	}
}

func TestDescribeShowsNoMoreThanItSays(t *testing.T) {
	full, partly := 0, 0
	for seed := range uint64(100) {
		s := Draw(seed, Options{}).Session(seed, Setup{})
		for _, c := range s.Describe(Bare).Path {
			c.Name, c.Kind, c.Tap, c.Fixed, c.Effort, c.Share = "", "", "", nil, 0, quantity.Amount{}
			if !cmp.Equal(c, sheet.Component{}) {
				t.Errorf("seed %d: bare description holds %+v", seed, c)
			}
		}
		full += sizes(s.Describe(Full))
		partly += sizes(s.Describe(Partly))
	}
	if share := float64(partly) / float64(full); share < 0.4 || share > 0.7 {
		t.Errorf("a partly measured path has %.2f of the sizes, want about half", share)
	}
}

func sizes(sh *sheet.Sheet) int {
	n := 0
	for _, c := range sh.Path {
		for _, a := range []quantity.Amount{c.Diameter, c.Width, c.Length, c.Face} {
			if a.Given() {
				n++
			}
		}
	}
	return n
}

// A tape errs by a millimetre or two; what hides inside a part never shows.
func TestDescribeHidesFaults(t *testing.T) {
	for seed := range uint64(200) {
		c := Draw(seed, Options{Faults: []Fault{CrushedDuct}, Hand: Fitter})
		sh := c.Session(1, Setup{}).Describe(Full)
		for i, p := range sh.Path {
			if p.Diameter.Known() && math.Abs(p.Diameter.SI-c.Path[i].Bore) > 0.005 {
				t.Errorf("seed %d: %s measures %s, is %v", seed, p.Name, p.Diameter.Raw, c.Path[i].Bore)
			}
		}
	}
}

func TestFullWalkReadsEveryTapTheWholePathFirst(t *testing.T) {
	everyCar(t, func(c *Car) {
		s := c.Session(2, Setup{})
		sh := s.FullWalk(Full)
		taps := c.taps()
		if got, want := len(sh.Readings), RunsEach*len(taps); got != want {
			t.Errorf("%d readings, want %d", got, want)
		}
		if got, want := sh.Readings[0].To, c.Path[len(c.Path)-1].Name; got != want {
			t.Errorf("the first reading is at %q, want %q", got, want)
		}
		for i, r := range sh.Readings {
			if r.Run != i+1 {
				t.Errorf("reading %d has run %d", i, r.Run)
			}
		}
	})
}

func TestPlayAsksUntilThePolicyStops(t *testing.T) {
	c := Draw(4, Options{})
	s := c.Session(1, Setup{})
	end := c.Path[len(c.Path)-1].Name
	sh, asked, err := s.Play(Bare, 9, func(sh *sheet.Sheet) (Ask, bool) {
		return Ask{sheet.OpenAir, end, s.Gauges[0].Name, 2}, len(sh.Readings) < 5
	})
	if err != nil || len(asked) != 3 || len(sh.Readings) != 6 || Stations(asked) != 1 {
		t.Errorf("Play gave %d asks, %d readings, %d stations, %v; want 3, 6, 1", len(asked), len(sh.Readings), Stations(asked), err)
	}
	if _, asked, _ = s.Play(Bare, 2, func(*sheet.Sheet) (Ask, bool) { return Ask{sheet.OpenAir, end, s.Gauges[0].Name, 1}, true }); len(asked) != 2 {
		t.Errorf("Play asked %d times, want its limit of 2", len(asked))
	}
	sh, _, err = s.Play(Bare, 2, func(*sheet.Sheet) (Ask, bool) { return Ask{sheet.OpenAir, "boot", "", 1}, true })
	if err == nil || sh == nil {
		t.Errorf("Play with an impossible ask gave %v, want an error and the sheet so far", err)
	}
}

func BenchmarkFullWalk(b *testing.B) {
	seed := uint64(0)
	for b.Loop() {
		seed++
		Draw(seed, Options{}).Session(seed, Setup{}).FullWalk(Full)
	}
}

// A careful reader who takes the velocity head off every reading must come near
// the truth when nothing scatters, or the cars would be no fair test. What stays
// is what a real tap and a real tape do: the profile of the flow, the tap's own
// error, a jet behind a sharp edge, half a division. Together some tenths of a
// velocity head, which is 300 Pa on these cars.
func TestCarefulReaderComesNear(t *testing.T) {
	off, n := 0.0, 0.0
	everyCar(t, func(c *Car) {
		s := c.Session(1, Setup{Quiet: true})
		sh := s.Describe(Full)
		before, truth := 0.0, 0.0
		for i, p := range sh.Path {
			truth += c.Truth.Loss[i]
			if !c.Path[i].tappable() {
				continue
			}
			r, err := s.Measure(sheet.OpenAir, p.Name, s.Gauges[0].Name, 1)
			if err != nil {
				t.Fatal(err)
			}
			if r[0].Value.Form != quantity.Exact {
				return
			}
			loss := r[0].Value.SI - headBy(c, &p, c.Path[i].Share)
			off += math.Abs(loss - before - truth)
			before, truth = loss, 0
			n++
		}
	})
	if got := off / n; got > 100 {
		t.Errorf("losses of a careful reader are off by %.0f Pa on average, want less than 100", got)
	}
}

// headBy is the velocity head that the size on the sheet gives.
func headBy(c *Car, p *sheet.Component, share float64) float64 {
	area := p.Width.SI * p.Height.SI
	if p.Diameter.Given() {
		area = math.Pi / 4 * p.Diameter.SI * p.Diameter.SI
	}
	if p.Kind == boxEntry || p.Kind == filter {
		return 0
	}
	v := share * c.Engine.MassFlow / area
	return v * v / (2 * referenceAir.density())
}

// The same seeds must give the same words on every machine and in every release:
// a class works on the same cars. Who changes the cars on purpose renews this sum.
func TestWalksStayTheSame(t *testing.T) {
	h := fnv.New64a()
	for seed := range uint64(150) {
		sh := Draw(seed, Options{Hand: Hand(seed % 3)}).Session(seed, Setup{Zeros: Yes}).FullWalk(Detail(seed % 3))
		for _, c := range sh.Path {
			fmt.Fprintln(h, c.Name, c.Diameter.Raw, c.Width.Raw, c.Length.Raw, c.Face.Raw, c.Edge, c.Tap)
		}
		for _, r := range sh.Readings {
			fmt.Fprintln(h, r.To, r.Value.Raw, r.RPM, r.ZeroBefore.Raw, r.Speed.Raw)
		}
	}
	if got, want := h.Sum64(), uint64(0xe33cf357dc2594bc); got != want {
		t.Errorf("the walks add up to %#x, want %#x", got, want)
	}
}
