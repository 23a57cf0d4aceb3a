package class

import (
	"cmp"
	"math"
	"slices"

	"dropwalk/advice/compare"
	"dropwalk/advice/sheet"
	"dropwalk/advice/stats"
)

// What a table of pairs and groups must have to tell a bad tap.
const (
	leastPairs = 2
	lineFrom   = 3 // pairs from which on a group may be off by an amount and by a share
	rounds     = 5 // of sweeping rows and columns in turn
)

// table is the means of the groups, pair by pair.
type table struct {
	spans  []*span
	groups []string
	mean   [][]float64 // Pa, by pair and group; NaN where a group didn't read it
	middle []float64   // Pa, of each pair
	weight []float64   // Pa, what a mean scatters by its runs and by fitting a tap
}

// across sweeps out what each pair and each group has of its own. What is left in one
// cell points to one tap of one group; what a group has of its own, all over, points
// to its gauge or its driving.
func (c *Class) across(spans []*span) {
	t, ok := newTable(spans, c.Stations)
	if !ok {
		return
	}
	rest, own := t.sweep()
	var left []float64
	for _, row := range rest {
		left = append(left, known(row)...)
	}
	// Sweeping leaves fewer free numbers than there are cells, so what is left is
	// smaller than the scatter that made it.
	free := float64((len(t.spans) - t.swept()) * (len(t.groups) - 1))
	scatter := max(1, stats.MAD(left)*math.Sqrt(float64(len(left))/free))
	c.Across = t.interaction()
	c.findTaps(t, rest, scatter, len(left))
	if len(c.Taps) == 0 {
		c.findLone(t)
	}
	c.findAskew(t, own)
}

// swept is how many figures of its own a group has.
func (t *table) swept() int {
	if len(t.spans) < lineFrom {
		return 1
	}
	return 2
}

func newTable(spans []*span, stations []Station) (*table, bool) {
	t := &table{}
	seen := map[string]int{}
	for i, s := range spans {
		st := stations[i]
		if len(s.readers()) < leastGroups || st.Repeatability == nil || !(*st.Repeatability > 0) {
			continue
		}
		noise := *st.Repeatability / math.Sqrt(float64(st.Runs)/float64(st.Groups))
		t.spans, t.middle = append(t.spans, s), append(t.middle, st.Median)
		t.weight = append(t.weight, math.Hypot(noise, compare.UsualRefit*st.Median))
		for _, name := range s.readers() {
			seen[name]++
		}
	}
	for name, n := range seen {
		if n >= leastPairs {
			t.groups = append(t.groups, name)
		}
	}
	slices.Sort(t.groups)
	if len(t.spans) < leastPairs || len(t.groups) < leastGroups {
		return nil, false
	}
	for _, s := range t.spans {
		var row []float64
		for _, name := range t.groups {
			row = append(row, stats.Mean(s.runs[name])) // NaN of none
		}
		t.mean = append(t.mean, row)
	}
	return t, true
}

// sweep takes out of the table what each group has of its own, by the median of its
// column, and the medians of the rows, in turn, as Tukey's median polish does. With
// enough pairs a group may be off by an amount (zero, wind) and by a share (gauge,
// driving). What is left is in weights, what a group has of its own in Pa at each pair.
func (t *table) sweep() (rest, own [][]float64) {
	off := make([][]float64, len(t.spans))
	for i, row := range t.mean {
		own = append(own, make([]float64, len(t.groups)))
		for _, v := range row {
			off[i] = append(off[i], v-t.middle[i])
		}
	}
	for range rounds {
		for k := range t.groups {
			amount, share := t.line(off, k)
			for i := range off {
				more := amount + share*t.middle[i]
				own[i][k] += more
				off[i][k] -= more
			}
		}
		for i := range off {
			m := stats.Median(known(off[i]))
			for k := range off[i] {
				off[i][k] -= m
			}
		}
	}
	for i := range off {
		var row []float64
		for _, v := range off[i] {
			row = append(row, v/t.weight[i])
		}
		rest = append(rest, row)
	}
	return rest, own
}

// line is the robust straight line through a group's offsets over the size of the
// readings: the median of the slopes of all pairs of points, each with the weight of
// its reach (after Theil and Sen), and of what it leaves. Of two points it is a level.
func (t *table) line(off [][]float64, k int) (amount, share float64) {
	type slope struct{ value, weight float64 }
	var slopes []slope
	total := 0.0
	var at []int
	for i := range off {
		if !math.IsNaN(off[i][k]) {
			at = append(at, i)
		}
	}
	for n, i := range at {
		for _, j := range at[:n] {
			if reach := math.Abs(t.middle[i] - t.middle[j]); reach > 0 {
				slopes = append(slopes, slope{(off[i][k] - off[j][k]) / (t.middle[i] - t.middle[j]), reach})
				total += reach
			}
		}
	}
	if len(at) >= lineFrom {
		slices.SortFunc(slopes, func(a, b slope) int { return cmp.Compare(a.value, b.value) })
		sum := 0.0
		for _, s := range slopes {
			if sum += s.weight; sum >= total/2 {
				share = s.value
				break
			}
		}
	}
	var left []float64
	for _, i := range at {
		left = append(left, off[i][k]-share*t.middle[i])
	}
	return stats.Median(left), share
}

func known(x []float64) []float64 {
	return slices.DeleteFunc(slices.Clone(x), math.IsNaN)
}

// leastTap is the share of a reading from which on a tap is named, more than honest
// fittings differ by (common practice, no source; TestBadTap tries it). Beside a reading
// of less than a quarter of the largest, that quarter counts.
const leastTap = 0.10

// largest is the largest reading of the class.
func (t *table) largest() float64 {
	most := 0.0
	for _, m := range t.middle {
		most = max(most, math.Abs(m))
	}
	return most
}

// findTaps names the cells that stand out, group by group. A group for which half of
// the table stands out has no bad tap but another trouble, unless there are two pairs
// only: then it is one of the two.
func (c *Class) findTaps(t *table, rest [][]float64, scatter float64, cells int) {
	largest := t.largest()
	for k, name := range t.groups {
		level, read := 0, 0
		off := 0.0
		var out []int
		for i := range t.spans {
			v := rest[i][k]
			if math.IsNaN(v) {
				continue
			}
			read++
			if l := farLevel(math.Abs(v)/scatter, cells); l > 0 && math.Abs(v)*t.weight[i] >= leastTap*max(math.Abs(t.middle[i]), largest/4) {
				out, level = append(out, i), max(level, l)
			}
		}
		out = t.plainer(out, k)
		for _, i := range out {
			if v := rest[i][k] * t.weight[i]; math.Abs(v) > math.Abs(off) {
				off = v
			}
		}
		if len(out) > 0 && (read == 2 || 2*len(out) <= read) {
			c.Taps = append(c.Taps, Tap{name, t.suspects(out), tidy(off), [...]string{"", Straggler, Outlier}[level]})
		}
	}
}

// plainer is the one of two pairs at which a group lies much farther from the class: of
// two pairs alone the table says only that one of them is off, and with the other the
// class agrees. Where neither is so, and of any other number, it is all of them.
func (t *table) plainer(pairs []int, group int) []int {
	if len(pairs) != 2 {
		return pairs
	}
	far := func(i int) float64 { return math.Abs(t.mean[i][group]-t.middle[i]) / t.weight[i] }
	for k, i := range pairs {
		if far(i) > 3*far(pairs[1-k]) {
			return pairs[k : k+1]
		}
	}
	return pairs
}

// What a single cell must be to be named where so few groups are there that no robust
// limit can be passed: it makes this share of all that the runs don't explain, with a
// chance below this size, and it is off by leastTap.
const (
	loneShare = 0.85
	loneSize  = 0.01
)

// findLone names a cell that alone explains what the groups differ by from station to
// station.
func (c *Class) findLone(t *table) {
	if c.Across == nil || c.Across.Above < 2 || c.Across.P > loneSize {
		return
	}
	rows, columns := float64(len(t.spans)), float64(len(t.groups))
	rest := additive(t.mean)
	all, largest := 0.0, t.largest()
	for _, row := range rest {
		for _, v := range row {
			all += v * v
		}
	}
	// One cell that is off by d leaves d times this in itself, and d*d times this in all.
	left := (1 - 1/rows) * (1 - 1/columns)
	for k, name := range t.groups {
		var out []int
		for i := range rest {
			d := rest[i][k] / left
			if d*d*left >= loneShare*all && math.Abs(d) >= leastTap*max(math.Abs(t.middle[i]), largest/2) {
				out = append(out, i)
			}
		}
		if out = t.plainer(out, k); len(out) > 0 {
			c.Taps = append(c.Taps, Tap{name, t.suspects(out), tidy(rest[out[0]][k] / left), Straggler})
			return
		}
	}
}

// additive is what rows and columns leave of a full table.
func additive(rows [][]float64) [][]float64 {
	all := grand(rows)
	var out [][]float64
	for i := range rows {
		var left []float64
		for k := range rows[i] {
			var column []float64
			for j := range rows {
				column = append(column, rows[j][k])
			}
			left = append(left, rows[i][k]-stats.Mean(rows[i])-stats.Mean(column)+all)
		}
		out = append(out, left)
	}
	return out
}

// suspects are the stations that all of these pairs share, or else all of their ends.
// The open air has no tap.
func (t *table) suspects(pairs []int) []string {
	count := map[string]int{}
	var order []string
	for _, i := range pairs {
		for _, name := range []string{t.spans[i].from, t.spans[i].to} {
			if name == sheet.OpenAir {
				continue
			}
			if count[name] == 0 {
				order = append(order, name)
			}
			count[name]++
		}
	}
	var shared []string
	for _, name := range order {
		if count[name] == len(pairs) {
			shared = append(shared, name)
		}
	}
	if len(shared) > 0 {
		return shared
	}
	return order
}

// leastAskew is the share of the largest reading from which on a group that is off all
// over is named: less than that is within what gauges may be off.
const leastAskew = 0.03

// findAskew names the groups that are off all over.
func (c *Class) findAskew(t *table, own [][]float64) {
	if len(t.spans) < lineFrom {
		return
	}
	large := 0
	for i := range t.middle {
		if math.Abs(t.middle[i]) > math.Abs(t.middle[large]) {
			large = i
		}
	}
	row := own[large]
	middle := stats.Median(row)
	mad := max(stats.MAD(row), t.weight[large])
	for k, name := range t.groups {
		off := row[k] - middle
		if share := off / t.middle[large]; math.Abs(share) > leastAskew && farLevel(math.Abs(off)/mad, len(row)) > 0 {
			c.Askew = append(c.Askew, Askew{name, tidy(share)})
		}
	}
}

// interaction is the test of the table, nil where a cell is empty or no runs scatter.
func (t *table) interaction() *Across {
	var rest [][]float64
	within, freedom, inverse, cells := 0.0, 0.0, 0.0, 0.0
	for i, s := range t.spans {
		var row []float64
		for k, name := range t.groups {
			runs := s.runs[name]
			if len(runs) == 0 {
				return nil
			}
			row = append(row, t.mean[i][k]/t.middle[i])
			inverse, cells = inverse+1/float64(len(runs)), cells+1
			if len(runs) > 1 {
				within += stats.Variance(runs) * float64(len(runs)-1) / (t.middle[i] * t.middle[i])
				freedom += float64(len(runs) - 1)
			}
		}
		rest = append(rest, row)
	}
	if freedom == 0 || !(within > 0) || math.IsInf(within, 0) {
		return nil
	}
	between := 0.0
	for _, row := range additive(rest) {
		for _, v := range row {
			between += v * v
		}
	}
	above := float64((len(t.spans) - 1) * (len(t.groups) - 1))
	f := between / above * cells / inverse / (within / freedom)
	return &Across{tidy(f), above, freedom, tidy(stats.FTail(f, above, freedom))}
}

func grand(rows [][]float64) float64 {
	var means []float64
	for _, r := range rows {
		means = append(means, stats.Mean(r))
	}
	return stats.Mean(means)
}
