package pulls

import (
	"cmp"
	"math"
	"slices"

	"dropwalk/advice/pulls/table"
)

// What is kept of a log.
const (
	mostWatched    = 40   // channels that may have a role
	mostCandidates = 200  // rises of engine speed
	mostSamples    = 600  // of each channel in a rise
	keptRows       = 4096 // of the whole log, evenly
	keptOff        = 1024 // while the engine stands
	before, behind = 3.0, 2.5
)

// everyStep is how many rows and steps are counted before some of them will do.
const everyStep = 1 << 16

// Rises of engine speed that are worth keeping.
const (
	leastRise = 300  // rpm
	fallback  = 0.02 // share that it may fall back
	stall     = 2.5  // seconds without a new highest
	turning   = 300  // rpm from which the engine runs
	standing  = 50   // rpm below which it stands
)

// scan is one log while it is read.
type scan struct {
	options Options
	reader  *table.Reader

	timeColumn int
	timeScale  float64 // to seconds
	timeName   string
	timeUnit   string

	channels []*channel // all columns of numbers but time, engine speed first
	watched  []*channel // those that may have a role
	rpm      *channel   // nil where there is none
	speed    *channel
	flow     *channel
	perTurn  spread // air flow by engine speed: the load where no other channel tells it
	binned   []*channel

	first, last float64 // seconds
	rows        int
	timeless    int // rows without a time
	jumps       int // where time goes back
	steps       spread
	since       int // rows since engine speed was fresh

	rise    rise
	pending *rise
	kept    []candidate
	dropped int
	bar     float64 // promise below which a rise is dropped; no promise is above the rise itself
	gears   gearBins
	some    reservoir
	off     reservoir

	rejected []Rejected
	notes    []string
}

// rise is a stretch in which engine speed goes up.
type rise struct {
	active        bool
	startT, start float64
	topT, top     float64
}

// candidate is a rise with what the watched channels did around it.
type candidate struct {
	rise
	samples [][]sample // by watched channel
	promise float64
}

// take takes one row.
func (s *scan) take(row []float64) {
	t := row[s.timeColumn] * s.timeScale
	if t != t {
		s.timeless++
		return
	}
	switch dt := t - s.last; {
	case s.rows == 0:
		s.first = t
	case dt < 0:
		s.jump()
	case s.rows < everyStep || s.rows%16 == 0:
		s.steps.add(dt, 1)
	}
	s.rows++
	s.since++
	s.last = t
	for _, c := range s.channels {
		v := row[c.column]
		if v != v {
			c.empty = true
			continue
		}
		if v != c.last || c.empty {
			c.renew(v, t)
			c.empty = false
			if c.tail != nil {
				s.refreshed(c, t)
			}
		}
		c.held++
	}
	if s.rows < everyStep || s.rows%8 == 0 {
		s.bin()
	}
	if s.pending != nil && t >= s.pending.topT+behind {
		s.keep()
	}
}

// bin averages load and pressure by engine speed and keeps some rows.
func (s *scan) bin() {
	if s.some.wants() {
		s.some.add(s.now())
	}
	if s.rpm == nil || s.rpm.last != s.rpm.last {
		return
	}
	n := s.rpm.last
	if n < standing && s.off.wants() {
		s.off.add(s.now())
	}
	at := min(max(int(n/rpmBin), 0), rpmBins-1)
	for _, c := range s.binned {
		if c.last == c.last {
			c.byRPM[at].sum += c.last
			c.byRPM[at].count++
		}
	}
}

// now is what the watched channels show.
func (s *scan) now() []float64 {
	values := make([]float64, len(s.watched))
	for i, c := range s.watched {
		values[i] = c.last
	}
	return values
}

// jump begins anew where time goes back: another log in the same file.
func (s *scan) jump() {
	s.jumps++
	s.keep()
	s.rise = rise{}
	for _, c := range s.channels {
		c.settle()
		c.lastT = math.Inf(1)
		if c.tail != nil {
			*c.tail = ring{}
		}
	}
}

// refreshed follows a fresh value of a watched channel.
func (s *scan) refreshed(c *channel, t float64) {
	c.tail.add(sample{t, c.last})
	if c == s.rpm {
		s.since = 0
		s.follow(t, c.last)
		return
	}
	if s.rpm == nil {
		return
	}
	c.after[min(s.since, len(c.after)-1)]++
	few := c.fresh > everyStep && c.fresh%16 != 0
	switch {
	case few:
	case c == s.speed:
		s.gears.add(s.rpm.last, c.last)
	case c == s.flow && s.rpm.last > turning:
		s.perTurn.add(c.last/s.rpm.last, 1)
	}
}

// follow follows engine speed.
func (s *scan) follow(t, v float64) {
	r := &s.rise
	switch {
	case !r.active, v <= r.start:
		s.end()
		*r = rise{true, t, v, t, v}
	case v >= r.top:
		r.topT, r.top = t, v
	case v < r.top*(1-fallback), t-r.topT > stall:
		s.end()
		*r = rise{true, t, v, t, v}
	}
}

// end ends a rise. It is kept a little later, with what follows it.
func (s *scan) end() {
	if s.rise.top-s.rise.start < leastRise {
		return
	}
	s.keep()
	ended := s.rise
	s.pending = &ended
}

// keep keeps the rise that waits, with the samples around it.
func (s *scan) keep() {
	if s.pending == nil {
		return
	}
	c := candidate{rise: *s.pending}
	s.pending = nil
	if c.top-c.start < s.bar {
		s.dropped++
		return
	}
	from, to := c.startT-before, c.topT+behind
	for _, ch := range s.watched {
		c.samples = append(c.samples, ch.tail.between(from, to, mostSamples))
	}
	if s.kept = append(s.kept, c); len(s.kept) > mostCandidates {
		s.dropWorst()
	}
}

// dropWorst drops a quarter of the rises: those that promise least.
func (s *scan) dropWorst() {
	for i := range s.kept {
		s.kept[i].promise = s.promise(s.kept[i])
	}
	slices.SortStableFunc(s.kept, func(a, b candidate) int { return cmp.Compare(b.promise, a.promise) })
	least := mostCandidates * 3 / 4
	s.dropped += len(s.kept) - least
	s.bar = s.kept[least-1].promise
	clear(s.kept[least:])
	s.kept = s.kept[:least]
	slices.SortStableFunc(s.kept, func(a, b candidate) int { return cmp.Compare(a.startT, b.startT) })
}

// promise says how likely a rise is to be a pull: it grows with the rise and
// with how near flow, pressure and load come to their highest so far.
func (s *scan) promise(c candidate) float64 {
	near, n := 0.0, 0
	for i, ch := range s.watched {
		if ch == s.rpm || ch == s.speed || ch.up <= ch.low {
			continue
		}
		sum, count := 0.0, 0
		for _, x := range c.samples[i] {
			if x.t >= c.startT && x.t <= c.topT {
				sum += (x.v - ch.low) / (ch.up - ch.low)
				count++
			}
		}
		if count > 0 {
			near += sum / float64(count)
			n++
		}
	}
	if n > 0 {
		near /= float64(n)
	}
	return (c.top - c.start) * near * near
}

// finish ends the reading.
func (s *scan) finish() {
	s.end()
	s.keep()
	for _, c := range s.channels {
		c.settle()
	}
}

// duration of the log in seconds, gaps and all.
func (s *scan) duration() float64 { return s.last - s.first }

// step is the usual time from row to row.
func (s *scan) step() float64 { return s.steps.quantile(0.5) }
