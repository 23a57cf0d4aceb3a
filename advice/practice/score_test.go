package practice

import (
	"math"
	"strconv"
	"testing"

	"dropwalk/advice/internal/published"
)

func TestScoresPublished(t *testing.T) {
	p, came := []float64{0.9, 0.8, 0.3, 0.6}, []bool{true, true, false, false}
	half := normalQuantile(0.975)
	got := map[string]float64{
		"P01": NormalCRPS(0, 1, 0), "P02": NormalCRPS(0, 1, 0.5), "P03": NormalCRPS(0, 1, 1),
		"P04": NormalCRPS(0, 1, 2), "P05": NormalCRPS(0, 1, 3),
		"P06": SampleCRPS([]float64{1, 2, 4}, 2.5),
		"P07": Interval{1, 3}.Score(2, 0.05), "P08": Interval{1, 3}.Score(3.1, 0.05),
		"P09": expected(Interval{-half, half}, 0.05),
		"P10": Brier(p, came), "P11": LogLoss(p, came),
		"P12": Wilson(81, 100, 0.95).Low, "P13": Wilson(81, 100, 0.95).High,
		"P14": Wilson(0, 10, 0.95).Low, "P15": Wilson(0, 10, 0.95).High,
		"P16": Wilson(190, 200, 0.95).Low, "P17": Wilson(190, 200, 0.95).High,
	}
	for _, row := range published.Rows(t, "scores.csv") {
		want, err := strconv.ParseFloat(row.Value, 64)
		if err != nil {
			t.Fatal(err)
		}
		tol, err := strconv.ParseFloat(row.Tol, 64)
		if row.Tol != "exact" && err != nil {
			t.Fatal(err)
		}
		g, known := got[row.ID]
		if !known {
			t.Errorf("%s %s: no test", row.ID, row.Quantity)
		}
		if math.Abs(g-want) > tol*math.Abs(want) {
			t.Errorf("%s %s (%s) = %.10g, want %s", row.ID, row.Quantity, row.Inputs, g, row.Value)
		}
	}
}

// expected is the mean score over a standard normal x, by a midpoint rule whose
// error at this step lies below 1e-8.
func expected(i Interval, alpha float64) float64 {
	const step = 1e-4
	s := 0.0
	for x := -9 + step/2; x < 9; x += step {
		s += step * i.Score(x, alpha) * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi)
	}
	return s
}

func TestCountBandPublished(t *testing.T) {
	lines := published.Table(t, "coverage_bands.csv")
	for _, row := range lines[1:] {
		p, n := number(t, row[0]), int(number(t, row[1]))
		for i, mass := range []float64{0.95, 0.99} {
			low, high := CountBand(n, p, mass)
			if wantLow, wantHigh := int(number(t, row[2+3*i])), int(number(t, row[3+3*i])); low != wantLow || high != wantHigh {
				t.Errorf("CountBand(%d, %v, %v) = %d, %d, want %d, %d", n, p, mass, low, high, wantLow, wantHigh)
			}
		}
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// A calibrated normal forecast has mean score sd/sqrt(pi), and one score a
// standard deviation of 0.40359 sd (both worked out): 20,000 throws pin the mean
// to 0.003, of which four are allowed.
func TestNormalCRPSOfACalibratedForecast(t *testing.T) {
	const n = 20000
	d := roll(5, "crps")
	s := 0.0
	for range n {
		s += NormalCRPS(3, 2, d.normal(3, 2))
	}
	if got, want := s/n, 2/math.Sqrt(math.Pi); math.Abs(got-want) > 4*2*0.40359/math.Sqrt(n) {
		t.Errorf("mean CRPS %v, want %v", got, want)
	}
}

// Where the items of one car agree, resampling items would claim far too much:
// with 100 cars of 10 equal items at 0.9 the standard error is that of 100
// throws, 0.03, not of 1000.
func TestCarMeanResamplesCars(t *testing.T) {
	d := roll(7, "clusters")
	const cars = 100
	rows := make([][]float64, cars)
	count := 0.0
	for i := range rows {
		x := 0.0
		if d.chance(0.9) {
			x, count = 1, count+1
		}
		for range 10 {
			rows[i] = append(rows[i], x)
		}
	}
	got := CarMean(rows, 0.9, 1)
	rate := count / cars
	if math.Abs(got.Value-rate) > 1e-12 || got.Cars != cars || got.Items != 10*cars {
		t.Errorf("CarMean = %+v, want a rate of %v of %d items", got, rate, 10*cars)
	}
	want := 2 * 1.645 * math.Sqrt(rate*(1-rate)/cars)
	// A binomial of 100 is lumpy and 2000 draws scatter: a fifth.
	if width := got.Interval.High - got.Interval.Low; math.Abs(width-want) > 0.2*want {
		t.Errorf("interval %v wide, want about %v", width, want)
	}
	if again := CarMean(rows, 0.9, 1); again != got {
		t.Errorf("the same seed gives %+v and %+v", got, again)
	}
}

// Over many studies the 90 % interval of a mean over cars of unequal size must
// hold the true mean nine times in ten; 400 studies pin that to 0.015 (sd), and
// a bootstrap of 40 cars runs a little short.
func TestCarMeanCovers(t *testing.T) {
	hits := 0
	const studies = 400
	for k := range uint64(studies) {
		d := roll(k, "studies")
		rows := make([][]float64, 40)
		for i := range rows {
			car := d.normal(0, 1)
			for range 4 + d.IntN(7) {
				rows[i] = append(rows[i], 5+car+d.normal(0, 1))
			}
		}
		if CarMean(rows, 0.9, k).Interval.Holds(5) {
			hits++
		}
	}
	if got := float64(hits) / studies; got < 0.84 || got > 0.94 {
		t.Errorf("%.3f of the intervals hold the truth, want about 0.9", got)
	}
}

func TestCarMeanOfNothing(t *testing.T) {
	if got := CarMean([][]float64{nil, nil}, 0.9, 1); !math.IsNaN(got.Value) || got.Items != 0 {
		t.Errorf("CarMean of no items = %+v, want NaN", got)
	}
}

func TestCoverageAndMeanScore(t *testing.T) {
	claims := [][]Interval{{{0, 1}, {0, 1}}, {{2, 4}}}
	truths := [][]float64{{0.5, 1.5}, {2}}
	if got := Coverage(claims, truths, 0.9, 1); math.Abs(got.Value-2.0/3) > 1e-15 || got.Items != 3 {
		t.Errorf("Coverage = %+v, want 2 of 3", got)
	}
	if got, want := MeanScore(claims, truths, 0.1, 0.9, 1).Value, (1+1+0.5*20+2)/3; math.Abs(got-want) > 1e-12 {
		t.Errorf("MeanScore = %v, want %v", got, want)
	}
}

func TestRegret(t *testing.T) {
	gains := []float64{0.4, 0, 1.1}
	for picked, want := range map[int]float64{-1: 1.1, 0: 0.7, 2: 0} {
		if got := Regret(gains, picked); math.Abs(got-want) > 1e-15 {
			t.Errorf("Regret(%d) = %v, want %v", picked, got, want)
		}
	}
	if got := RegretAgainst(gains, 2, 0); math.Abs(got+0.7) > 1e-15 {
		t.Errorf("RegretAgainst = %v, want -0.7: the short visit did better", got)
	}
}
