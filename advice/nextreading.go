package advice

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/infer"
	"dropwalk/advice/model"
	"dropwalk/advice/plan"
)

// candidate is a reading that could be taken.
type candidate struct {
	from, to int
	gauge    string
	runs     int
	repeat   bool // between the same stations as one that was taken
	reading  model.Reading
}

// usualRuns is how often a reading is taken at a new pair of stations; after
// mostRuns between the same two there is nothing left to average out.
const (
	usualRuns = 3
	mostRuns  = 6
)

// candidates are the readings worth thinking about: from the open air to each
// station that can be tapped, across each stretch between neighbours of those,
// and once more what was read already.
func (j *judge) candidates() []candidate {
	taps := []int{0}
	for k, s := range j.car.Stations {
		if k > 0 && s.Tap != "none" {
			taps = append(taps, k)
		}
	}
	var out []candidate
	add := func(from, to int) {
		if slices.ContainsFunc(out, func(c candidate) bool { return c.from == from && c.to == to }) {
			return
		}
		out = append(out, j.candidate(from, to))
	}
	for i, k := range taps[1:] {
		add(0, k)
		if i > 0 {
			add(taps[i], k)
		}
	}
	for _, r := range j.car.Readings {
		if j.car.Stations[r.From].Tap != "none" && j.car.Stations[r.To].Tap != "none" {
			add(r.From, r.To)
		}
	}
	return slices.DeleteFunc(out, func(c candidate) bool {
		return j.car.Runs(c.from, c.to) >= mostRuns || c.gauge == "" && j.wentOff(c)
	})
}

// wentOff tells whether the needle left its scale between these stations: the
// gauges at hand have said there what they can.
func (j *judge) wentOff(c candidate) bool {
	return slices.ContainsFunc(j.car.Readings, func(r model.Reading) bool {
		return r.From == c.from && r.To == c.to && r.Bound == infer.AtLeast
	})
}

func (j *judge) candidate(from, to int) candidate {
	c := candidate{from: from, to: to, runs: usualRuns}
	expect, most := j.car.Expect(from, to)
	for _, r := range j.car.Readings {
		if r.From == from && r.To == to {
			c.repeat = true
			expect, most = r.Value, r.Value*1.1
			if r.Bound != 0 {
				expect, most = r.Value*1.3, r.Value*2
			}
		}
	}
	c.gauge = j.car.Suitable(expect, most)
	c.reading = j.car.Planned(from, to, c.gauge, expect)
	return c
}

// next is the next reading worth its cost, nil where there is none.
func (j *judge) next() *assessment.Next {
	if len(j.options) == 0 {
		return nil
	}
	if len(j.car.Readings) == 0 {
		return j.firstReading()
	}
	values := j.values()
	if plan.Perfect(values, j.post.Weight) < j.Costs.Run {
		return nil // no plan of any length can pay
	}
	belief := plan.Moments(values, j.outcomes(), j.post.Weight)
	options := make([]plan.Option, len(j.options))
	for i, c := range j.options {
		options[i] = plan.Option{Reading: i, Noise: j.ownNoise(i), Cost: j.cost(c, nil)}
	}
	choice := plan.Choose(belief, options, func(first, second int) float64 {
		return j.cost(j.options[second], &j.options[first])
	})
	if choice.Option < 0 || j.chance < leaveChance && choice.Value < idleShare*j.Worth {
		return nil
	}
	return j.describe(j.options[choice.Option], j.reason(belief, options, choice))
}

// idleShare of what is worth having is the least that a reading must be worth
// where the path is to be left alone as things stand: measuring on can't go on for
// the sake of what nobody would change (common practice, no source).
const idleShare = 0.05

// values of the decisions, draw by draw, in % of power: to work on a block and
// win what its worst component can give back. Where it is unlikely that anything
// is worth having, only what would be counts.
func (j *judge) values() [][]float64 {
	var out [][]float64
	for _, b := range j.blocks {
		v := j.worths(j.most(b))
		if j.chance < leaveChance {
			for i, g := range v {
				if g < j.Worth {
					v[i] = 0
				}
			}
		}
		out = append(out, v)
	}
	return out
}

// outcomes are what each candidate would measure, draw by draw, its own noise
// left out.
func (j *judge) outcomes() [][]float64 {
	n := len(j.post.Weight)
	upto := make([][]float64, len(j.car.Stations))
	upto[0] = make([]float64, n)
	for c, x := range j.post.X {
		upto[c+1] = make([]float64, n)
		for i := range x {
			upto[c+1][i] = upto[c][i] + x[i]
		}
	}
	var out [][]float64
	for k, c := range j.options {
		y := make([]float64, n)
		for i := range y {
			y[i] = upto[c.to][i] - upto[c.from][i] + c.reading.Head*square(j.post.Flow[i]*j.post.Pace[i]) + j.post.Shared[1+k][i]
		}
		out = append(out, y)
	}
	return out
}

// ownNoise is the variance of candidate k over its runs, what is left unknown
// of its taps among it.
func (j *judge) ownNoise(k int) float64 {
	return j.options[k].reading.Own/float64(j.options[k].runs) + square(j.post.SharedSD[1+k])
}

// cost of a candidate once another has been taken (nil: as things stand).
func (j *judge) cost(c candidate, taken *candidate) float64 {
	sum := float64(c.runs) * j.Costs.Run
	for _, k := range []int{c.from, c.to} {
		switch {
		case k == 0:
		case j.car.Stations[k].Fitted, taken != nil && (taken.from == k || taken.to == k):
			sum += j.Costs.Fitted
		case j.ribbed(k):
			sum += ribbedTimes * j.Costs.Drill
		default:
			sum += j.Costs.Tap(j.car.Stations[k].Tap)
		}
	}
	return sum
}

// ribbedTimes is how much dearer a hole is where the piece ahead of it is ribbed
// hose: only a smooth end or an adapter takes a fitting (common practice, no source).
const ribbedTimes = 3

// ribbed tells whether the tap at station k would have to be a hole in ribbed hose.
func (j *judge) ribbed(k int) bool {
	return j.car.Stations[k].Tap == "drill" && j.car.Sheet.Path[k-1].Surface == "ribbed"
}

// firstReading is the whole path: from the open air to the last station that
// can be tapped.
func (j *judge) firstReading() *assessment.Next {
	at := -1
	for i, c := range j.options {
		if c.from == 0 && (at < 0 || c.to > j.options[at].to) {
			at = i
		}
	}
	c := j.options[at]
	return j.describe(c, fmt.Sprintf("nothing has been measured yet; this shows what the whole path up to %s costs", j.car.Stations[c.to].Name))
}

func (j *judge) describe(c candidate, reason string) *assessment.Next {
	n := &assessment.Next{From: j.car.Stations[c.from].Name, To: j.car.Stations[c.to].Name, Gauge: c.gauge, Taps: []assessment.Tap{}, Runs: c.runs, Reason: reason}
	for _, k := range []int{c.from, c.to} {
		if k == 0 {
			continue
		}
		how := j.car.Stations[k].Tap
		if j.car.Stations[k].Fitted {
			how = "fitted"
		}
		n.Taps = append(n.Taps, assessment.Tap{Station: j.car.Stations[k].Name, How: how})
	}
	for _, k := range []int{c.from, c.to} {
		if k > 0 && !j.car.Stations[k].Fitted && j.ribbed(k) {
			n.Reason += fmt.Sprintf("; %s is ribbed: put the fitting into its smooth end or an adapter, never into a rib", j.car.Stations[k].Name)
		}
	}
	if c.gauge == "" && len(j.car.Sheet.Gauges) > 0 {
		n.Reason += "; none of the gauges on the sheet has the range for it"
	}
	return n
}

// reason says what the reading would decide: which component leads after a
// high outcome and which after a low one.
func (j *judge) reason(b plan.Belief, options []plan.Option, choice plan.Choice) string {
	const far = 1.3 // standard deviations: the outer tenths
	c := j.options[choice.Option]
	slopes := b.Slopes(options[choice.Option])
	high, low := leader(b.Mean, slopes, far), leader(b.Mean, slopes, -far)
	what := "across " + j.stretch(c)
	switch {
	case c.repeat:
		return fmt.Sprintf("more runs %s would make it surer whether to %s", what, j.work(high, low))
	case choice.Pair >= 0 && high == low:
		o := j.options[choice.Pair]
		return fmt.Sprintf("together with a reading from %s to %s it parts the loss; by itself it decides nothing", j.car.Stations[o.from].Name, j.car.Stations[o.to].Name)
	case high == low:
		return fmt.Sprintf("a reading %s would make it surer whether to %s", what, j.work(high, high))
	}
	return fmt.Sprintf("it parts the loss: a high reading %s would say to %s, a low one to %s", what, j.deed(high), j.deed(low))
}

func leader(mean, slopes []float64, z float64) int {
	best, at := math.Inf(-1), 0
	for d, m := range mean {
		if v := m + slopes[d]*z; v > best {
			best, at = v, d
		}
	}
	return at
}

// stretch names the components that a candidate spans.
func (j *judge) stretch(c candidate) string {
	var names []string
	for k := c.from; k < c.to; k++ {
		names = append(names, j.car.Pieces[k].Name)
	}
	switch last := len(names) - 1; last {
	case 0:
		return names[0]
	case 1, 2:
		return strings.Join(names[:last], ", ") + " and " + names[last]
	default:
		return names[0] + " to " + names[last]
	}
}

func (j *judge) deed(block int) string {
	return "change " + j.car.Pieces[j.bestOf(j.blocks[block])].Name + " first"
}

func (j *judge) work(a, b int) string {
	if a == b {
		return j.deed(a)
	}
	return j.deed(a) + " or to " + j.deed(b)
}
