package pulls

import "math"

// rpmBin is the width of the bins in which channels are averaged over engine
// speed.
const (
	rpmBin  = 100
	rpmBins = 200
)

// sample is a fresh value: the moment at which a channel took it.
type sample struct{ t, v float64 }

// channel is what is known of one column of numbers so far. All of it is
// bounded.
type channel struct {
	column int
	name   string
	unit   string
	role   Role
	by     string

	last    float64 // value, NaN before the first
	lastT   float64 // when it came
	held    uint32  // rows since it came, that row included
	fresh   uint64  // values that were new
	low, up float64
	empty   bool // the cell of the row before was empty

	values spread // by rows
	steps  spread // seconds between fresh values
	after  [64]uint32

	byRPM []mean // of load and pressure, by engine speed
	tail  *ring  // nil where the channel has no role
}

type mean struct {
	sum   float64
	count uint64
}

func newChannel(column int, name, unit string) *channel {
	return &channel{column: column, name: name, unit: unit, role: NoRole, last: math.NaN(), low: math.Inf(1), up: math.Inf(-1)}
}

// renew takes a fresh value at time t.
func (c *channel) renew(v, t float64) {
	if c.held > 0 {
		c.values.add(c.last, c.held)
		c.held = 0
	}
	if c.fresh > 0 && t > c.lastT && (c.fresh < everyStep || c.fresh%16 == 0) {
		c.steps.add(t-c.lastT, 1)
	}
	c.fresh++
	c.last, c.lastT = v, t
	c.low, c.up = min(c.low, v), max(c.up, v)
}

// settle counts the rows of the value that holds now, so that the spread is
// complete.
func (c *channel) settle() {
	if c.held > 0 {
		c.values.add(c.last, c.held)
		c.held = 0
	}
}

// What it takes to tell a refresh: so many fresh values, and so large a share of
// steps that are alike.
const (
	leastSteps = 8
	leastAlike = 0.3
)

// refresh is the time from one fresh value to the next while the channel moves:
// that about which most steps lie. A value that comes again unchanged looks
// held, so that multiples of it are common too; the shortest counts of those
// that are nearly as common as the commonest. 0 where the channel moves too
// seldom.
func (c *channel) refresh() float64 {
	if c.steps.total < leastSteps {
		return 0
	}
	step := c.steps.mode(0.06, 0.7)
	if near := c.steps.between(step*0.94, step*1.06); float64(near) < leastAlike*float64(c.steps.total) {
		return 0 // it moves when the driver does, not when the recorder looks
	}
	return step
}

// ring keeps the latest fresh samples.
type ring struct {
	list []sample
	next int
}

const ringSize = 8192

func (r *ring) add(s sample) {
	if len(r.list) < ringSize {
		r.list = append(r.list, s)
		return
	}
	r.list[r.next] = s
	r.next = (r.next + 1) % ringSize
}

// at is the sample number i, the oldest first.
func (r *ring) at(i int) sample {
	if i += r.next; i >= len(r.list) {
		i -= len(r.list)
	}
	return r.list[i]
}

// search is the number of the first sample from time t on.
func (r *ring) search(t float64) int {
	low, high := 0, len(r.list)
	for low < high {
		if middle := (low + high) / 2; r.at(middle).t < t {
			low = middle + 1
		} else {
			high = middle
		}
	}
	return low
}

// between copies the samples of a stretch, and the one before it, which holds
// at its beginning. Where there are more than most, every second, third ... is
// kept, and the last.
func (r *ring) between(from, to float64, most int) []sample {
	first, end := max(r.search(from)-1, 0), r.search(math.Nextafter(to, math.Inf(1)))
	if first >= end {
		return nil
	}
	step := (end - first + most - 1) / most
	list := make([]sample, 0, (end-first)/step+2)
	i := first
	for ; i < end; i += step {
		list = append(list, r.at(i))
	}
	if i-step != end-1 {
		list = append(list, r.at(end-1))
	}
	return list
}

// reservoir keeps rows evenly over a log of any length: when it is full, every
// second one goes and only every second one is taken from then on.
type reservoir struct {
	rows  [][]float64
	most  int
	every int // 0 for 1
	wait  int // rows until the next that is taken
}

// wants tells whether the row at hand is to be added; it is asked once a row.
func (r *reservoir) wants() bool {
	r.wait--
	return r.wait < 0
}

func (r *reservoir) add(row []float64) {
	r.every = max(r.every, 1)
	if len(r.rows) == r.most {
		for i := range r.most / 2 {
			r.rows[i] = r.rows[2*i]
		}
		clear(r.rows[r.most/2:])
		r.rows = r.rows[:r.most/2]
		r.every *= 2
	}
	r.rows = append(r.rows, row)
	r.wait = r.every - 1
}
