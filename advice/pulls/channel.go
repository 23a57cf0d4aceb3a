package pulls

import (
	"math"
	"slices"
)

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
	if c.fresh > 0 && t > c.lastT {
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

// leastSteps is how many fresh values it takes to tell a refresh.
const leastSteps = 8

// refresh is the time from one fresh value to the next while the channel moves:
// that about which most steps lie. A value that comes again unchanged looks
// held, so that multiples of it are common too; the shortest counts of those
// that are nearly as common as the commonest. 0 where the channel moves too
// seldom.
func (c *channel) refresh() float64 {
	if c.steps.total < leastSteps {
		return 0
	}
	return c.steps.mode(0.06, 0.7)
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

// between copies the samples of a stretch, and the one before it, which holds
// at its beginning. No more than most are kept, evenly.
func (r *ring) between(from, to float64, most int) []sample {
	n := len(r.list)
	at := func(i int) sample { return r.list[(r.next+i)%n] }
	if n == 0 {
		return nil
	}
	if n < ringSize {
		at = func(i int) sample { return r.list[i] }
	}
	first := 0
	for low, high := 0, n; low < high; {
		middle := (low + high) / 2
		if at(middle).t < from {
			low, first = middle+1, middle+1
		} else {
			high = middle
		}
	}
	var list []sample
	for i := max(first-1, 0); i < n && at(i).t <= to; i++ {
		list = append(list, at(i))
	}
	return thin(list, most)
}

// thin keeps every second, third ... sample, and the last.
func thin(list []sample, most int) []sample {
	if len(list) <= most {
		return list
	}
	step := (len(list) + most - 1) / most
	var kept []sample
	for i := 0; i < len(list); i += step {
		kept = append(kept, list[i])
	}
	if kept[len(kept)-1] != list[len(list)-1] {
		kept = append(kept, list[len(list)-1])
	}
	return slices.Clip(kept)
}

// reservoir keeps rows evenly over a log of any length: when it is full, every
// second one goes and only every second one is taken from then on.
type reservoir struct {
	rows  [][]float64
	most  int
	every int
	seen  int
}

func (r *reservoir) add(row []float64) {
	if r.every == 0 {
		r.every = 1
	}
	if r.seen++; (r.seen-1)%r.every != 0 {
		return
	}
	if len(r.rows) == r.most {
		for i := range r.most / 2 {
			r.rows[i] = r.rows[2*i]
		}
		r.rows = r.rows[:r.most/2]
		r.every *= 2
		if (r.seen-1)%r.every != 0 {
			return
		}
	}
	r.rows = append(r.rows, append([]float64(nil), row...))
}
