package advice

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"dropwalk/advice/model"
	"dropwalk/advice/practice"
	"dropwalk/engine/subject"
)

// ends is what became of one piece of a simulated car.
type ends struct {
	holds, decided, right bool
	alone                 bool
}

// readPiece reads across one piece of a simulated car with three runs of its finest
// gauge that holds what is to be expected, and holds the answer against the truth.
func readPiece(t *testing.T, car *practice.Car, seed uint64, i int) (ends, bool) {
	t.Helper()
	visit := car.Session(seed, practice.Setup{Zeros: practice.Yes, Check: practice.Yes, Air: practice.Yes, Fine: practice.Yes})
	s := visit.Describe(practice.Full)
	sp, ok := across(s, s.Path[i].Name)
	if !ok {
		return ends{}, false
	}
	readings, err := visit.Measure(sp.from, sp.to, gaugeFor(s, sp.from, sp.to), usualRuns)
	if err != nil {
		t.Fatal(err)
	}
	s.Readings = readings
	a, _ := newAcross(s, s.Path[i].Name)
	if a.read.Runs == 0 {
		return ends{}, false
	}
	truth := car.Truth.Loss[i]
	low, high := a.loss.Interval(sureOf)
	expect := a.handbook(i)
	e := ends{holds: low <= truth && truth <= high, alone: len(sp.others) == 0}
	below, within, above := a.chances(expect.low(), expect.high())
	switch {
	case above >= sureOf && len(sp.others) > 0: // nobody can say which
	case above >= sureOf:
		e.decided, e.right = true, truth > expect.high()
	case below >= sureOf:
		e.decided, e.right = true, truth < expect.low()
	case within >= sureOf:
		e.decided, e.right = true, expect.low() <= truth && truth <= expect.high()
	}
	return e, true
}

// Over simulated cars the interval of nine in ten holds the true loss about as often,
// and a verdict that is given is seldom wrong. The cars' physics is not that of the
// handbook, so a little is left over for that.
func TestAcrossPieceOnSimulatedCars(t *testing.T) {
	cars := 250
	if testing.Short() {
		cars = 60
	}
	var all, alone, holds, holdsAlone, decided, right int
	for seed := range uint64(cars) {
		car := practice.Draw(seed+1, practice.Options{Hand: practice.Hands()[seed%3]})
		for i := range car.Path {
			e, ok := readPiece(t, car, seed+1, i)
			if !ok {
				continue
			}
			all += count(true)
			holds += count(e.holds)
			alone += count(e.alone)
			holdsAlone += count(e.alone && e.holds)
			decided += count(e.decided)
			right += count(e.right)
		}
	}
	share := func(part, whole int) float64 { return float64(part) / float64(whole) }
	t.Logf("%d pieces of %d cars: the interval holds %.1f %%, of those alone between their taps %.1f %% of %d; a verdict for %.1f %%, of which %.1f %% are right",
		all, cars, 100*share(holds, all), 100*share(holdsAlone, alone), alone, 100*share(decided, all), 100*share(right, decided))
	if share(holds, all) < 0.80 || share(holdsAlone, alone) < 0.80 {
		t.Errorf("the interval holds the truth in %.3f of all and %.3f of those alone, want 0.80 or more of each", share(holds, all), share(holdsAlone, alone))
	}
	if share(right, decided) < 0.9 {
		t.Errorf("%.3f of the verdicts are right, want 0.9 or more", share(right, decided))
	}
}

func count(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// Readings over engine speed with the errors that a gauge and its readers have: the
// interval of the exponent holds the true one nine times in ten or more.
func TestExponentHoldsTheTruth(t *testing.T) {
	const tries = 400
	coarse := []subject.Entry{{Path: gaugeRange, Row: "1", Text: "25 inH2O"}, {Path: "gauges[].division", Row: "1", Text: "0.5 inH2O"}}
	holds, wrong := 0, 0
	dice := rand.New(rand.NewPCG(7, 11))
	for k := range tries {
		n := []float64{1.8, 2, 2.2, 3.2}[k%4]
		f := foundOf(t, boxCar(), coarse, noisySpeeds(dice, n))
		x, ok := f.Figure("exponent")
		if !ok {
			t.Fatal("no exponent")
		}
		holds += count(x.Low <= n && n <= x.High)
		wrong += count(f.Verdict == closesUp && n < model.SteepGrowth || f.Verdict == behaves && n > model.SteepGrowth)
	}
	t.Logf("%d of %d intervals hold the truth, %d verdicts are wrong", holds, tries, wrong)
	if low, _ := practice.CountBand(tries, 0.9, 0.999); holds < low {
		t.Errorf("%d of %d intervals hold the truth, want %d or more", holds, tries, low)
	}
	if wrong > tries/20 {
		t.Errorf("%d of %d verdicts are wrong", wrong, tries)
	}
}

// noisySpeeds are two runs at each of four engine speeds of a path that shows 14 inH2O at
// 6000 rpm. The runs scatter by 2 %, the rev counter by 0.8 %; the gauge has an error of
// its own at each place of its scale, within 1 % of its full scale, and is read to half a
// division.
func noisySpeeds(dice *rand.Rand, exponent float64) []subject.Entry {
	out := overSpeeds(exponent, 14, 0, 6000, 4800, 3900, 3000)
	local, at := 0.0, ""
	for i, e := range out {
		round, _, _ := cutLast(e.Row, "/")
		if e.Path != readingPath {
			continue
		}
		var shown float64
		fmt.Sscanf(e.Text, "%f", &shown)
		if round != at {
			at, local = round, (2*dice.Float64()-1)*0.25*math.Sqrt(shown/25)
		}
		shown = shown*(1+0.02*dice.NormFloat64()+2*0.008*dice.NormFloat64()) + local
		out[i].Text = fmt.Sprintf("%.2f inH2O", math.Round(shown/0.25)*0.25)
	}
	return out
}
