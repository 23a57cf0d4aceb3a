package calibrate

import (
	"cmp"
	"math"
	"slices"

	"dropwalk/advice/stats"
)

// Verdicts on a gauge.
const (
	Within     = "within"      // it keeps to its stated accuracy
	UseTable   = "use-table"   // it doesn't, and it repeats: a table puts it right
	DontUse    = "dont-use"    // it doesn't repeat, or its zero wanders
	CannotTell = "cannot-tell" // the column is no better than what is to be shown
	TooFew     = "too-few"     // points
)

// Point is the needle of the gauge beside the column.
type Point struct {
	Shown  float64 // less the zero
	True   float64 // of the column
	SE     float64 // standard error of the difference of the two, of this point alone
	Rising bool    // the mark was come to from below
}

// Check is one check of one gauge.
type Check struct {
	Points    []Point
	Full      float64 // full scale
	Division  float64
	Limit     float64 // its stated accuracy, as a pressure
	Shared    float64 // relative standard error of all True
	ZeroMoved float64 // zero after less zero before
}

// Row is one row of a correction table.
type Row struct{ Shown, True, SE float64 }

// Result is what a check found.
type Result struct {
	Zero, Gain stats.Estimate // of the line shown = zero + gain x true
	Bend       float64        // largest distance of a point from that line
	Worst      Point          // the point with the largest error
	Error      float64        // its error: shown less true
	ErrorHalf  float64        // half its 95 % interval
	Hysteresis float64        // largest difference of falling and rising at one mark; NaN unknown
	Repeat     float64        // standard deviation of coming to one mark the same way; NaN unknown
	Reach      float64        // the highest mark that was reached
	Table      []Row          // one row a mark, rising
	Worth      bool           // every row of the table is known better than the stated accuracy
	Sticks     bool           // a higher mark at no higher pressure
	Verdict    string
}

const (
	// leastMarks is the least number of different marks (common practice).
	leastMarks = 5
	// expanded makes of a standard error half a 95 % interval (JCGM 100:2008, G.6.6).
	expanded = 2.0
	// absurd is how far the gain may be from one before something else is wrong than
	// the gauge: another unit, a blocked leg.
	absurd = 0.25
)

// Judge works out what the points say.
func (c Check) Judge() Result {
	r := Result{Hysteresis: math.NaN(), Repeat: math.NaN(), Verdict: TooFew}
	marks := c.marks()
	if len(marks) < leastMarks {
		return r
	}
	if !r.line(c.Points) {
		return r
	}
	r.errors(c)
	r.Hysteresis = c.hysteresis(marks)
	r.Repeat = c.repeat(marks)
	r.Worth = true
	for _, m := range marks {
		row := c.row(m)
		r.Table = append(r.Table, row)
		r.Worth = r.Worth && expanded*row.SE < c.Limit
	}
	for i := 1; i < len(r.Table); i++ {
		r.Sticks = r.Sticks || r.Table[i].True <= r.Table[i-1].True
	}
	r.Verdict = r.verdict(c)
	return r
}

// mark is one place of the scale with the points at it.
type mark struct {
	shown  float64
	points []Point
}

// marks gathers the points by the place of the scale, rising. Points within half a
// division are at one mark.
func (c Check) marks() []mark {
	points := slices.Clone(c.Points)
	slices.SortStableFunc(points, func(a, b Point) int { return cmp.Compare(a.Shown, b.Shown) })
	var out []mark
	for _, p := range points {
		if n := len(out); n > 0 && p.Shown-out[n-1].shown <= c.Division/2 {
			out[n-1].points = append(out[n-1].points, p)
			continue
		}
		out = append(out, mark{p.Shown, []Point{p}})
	}
	return out
}

// line fits shown = zero + gain x true by least squares.
func (r *Result) line(points []Point) bool {
	design, shown := make([][]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		design[i], shown[i] = []float64{1, p.True}, p.Shown
	}
	fit, err := stats.LeastSquares(design, shown)
	if err != nil {
		return false
	}
	r.Zero, r.Gain = fit.Estimate(0), fit.Estimate(1)
	for _, p := range points {
		r.Bend = max(r.Bend, math.Abs(p.Shown-r.Zero.Value-r.Gain.Value*p.True))
	}
	return true
}

// half is half the 95 % interval of the error of a point.
func (c Check) half(p Point) float64 { return expanded * math.Hypot(p.SE, c.Shared*p.True) }

func (r *Result) errors(c Check) {
	for _, p := range c.Points {
		r.Reach = max(r.Reach, p.Shown)
		if e := p.Shown - p.True; math.Abs(e) >= math.Abs(r.Error) {
			r.Worst, r.Error, r.ErrorHalf = p, e, c.half(p)
		}
	}
}

// split parts the errors at a mark by the way it was come to.
func (m mark) split() (rising, falling []float64) {
	for _, p := range m.points {
		if p.Rising {
			rising = append(rising, p.Shown-p.True)
		} else {
			falling = append(falling, p.Shown-p.True)
		}
	}
	return rising, falling
}

func (c Check) hysteresis(marks []mark) float64 {
	found := math.NaN()
	for _, m := range marks {
		if up, down := m.split(); len(up) > 0 && len(down) > 0 {
			found = math.Max(orNought(found), math.Abs(stats.Mean(down)-stats.Mean(up)))
		}
	}
	return found
}

func orNought(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

// repeat is the standard deviation of errors at one mark, come to the same way,
// over all marks together.
func (c Check) repeat(marks []mark) float64 {
	squares, freedom := 0.0, 0.0
	for _, m := range marks {
		up, down := m.split()
		for _, list := range [][]float64{up, down} {
			if n := float64(len(list) - 1); n > 0 {
				squares, freedom = squares+n*stats.Variance(list), freedom+n
			}
		}
	}
	return math.Sqrt(squares / freedom) // NaN of nothing
}

// row is the middle of rising and falling at a mark, so that the table lies between
// the two.
func (c Check) row(m mark) Row {
	up, down := m.split()
	shown, variance := 0.0, 0.0
	for _, p := range m.points {
		shown += p.Shown / float64(len(m.points))
		variance += square(p.SE / float64(len(m.points)))
	}
	e := stats.Mean(append(slices.Clone(up), down...))
	if len(up) > 0 && len(down) > 0 {
		e = (stats.Mean(up) + stats.Mean(down)) / 2
	}
	return Row{shown, shown - e, math.Hypot(math.Sqrt(variance), c.Shared*(shown-e))}
}

// verdict holds the errors against the stated accuracy. What no table cures is
// judged first: half the hysteresis, which a table in the middle leaves on either
// side, repeats, and a zero that wanders. An error counts as small or as large only
// where its whole interval says so.
func (r *Result) verdict(c Check) string {
	left := max(orNought(r.Hysteresis)/2, expanded*orNought(r.Repeat))
	noise := 0.0 // what reading the levels adds to those
	for _, p := range c.Points {
		noise = max(noise, expanded*p.SE)
	}
	high, low := 0.0, 0.0
	for _, p := range c.Points {
		e, half := math.Abs(p.Shown-p.True), c.half(p)
		high, low = max(high, e+half), max(low, e-half)
	}
	switch {
	case r.Sticks, left-noise > c.Limit, math.Abs(c.ZeroMoved) > c.Limit, math.Abs(r.Gain.Value-1) > absurd:
		return DontUse
	case high <= c.Limit:
		return Within
	case low > c.Limit:
		return UseTable
	}
	return CannotTell
}
