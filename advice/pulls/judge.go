package pulls

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// What makes a pull of a rise; see the rule in the package's doc.
const (
	leastSpan   = 0.2 // of the span of engine speed
	leastTime   = 1.5 // seconds
	leastFresh  = 5   // samples of engine speed
	slowTime    = 0.05
	follows     = 0.3 // exponent over engine speed that flow and pressure have at least
	nearlyShare = 0.5 // of the rise that is asked for, from which a stretch is nearly a pull
)

// stretch is a time at full load.
type stretch struct{ from, to float64 }

// found is a pull with the samples that are in it.
type found struct {
	Pull
	from, to float64 // in the time of the log
	c        candidate
	rpm      []sample
}

// judge finds the pulls among the rises, and what is nearly one.
func (s *scan) judge(loads []loadChannel, gauges []*gauge) (pulls []found, nearly []Near) {
	nearly = []Near{}
	if s.rpm == nil || s.rpm.fresh == 0 {
		return nil, nearly
	}
	need := leastSpan * s.rpmSpan()
	for _, c := range s.kept {
		for _, st := range s.fullLoad(c, loads) {
			f, lacks := s.take1(c, st, need, gauges, len(loads) == 0)
			switch {
			case lacks == "":
				pulls = append(pulls, f)
			case f.RPMHigh-f.RPMLow >= nearlyShare*need && f.Samples >= 3:
				nearly = append(nearly, Near{f.StartS, f.EndS, f.RPMLow, f.RPMHigh, lacks})
			}
		}
	}
	return pulls, nearly
}

// rpmSpan is from the engine speed below which the engine turns for a twentieth
// of its time to the highest.
func (s *scan) rpmSpan() float64 {
	v := &s.rpm.values
	stands, all := float64(v.between(math.Inf(-1), turning)), float64(v.total)
	return s.rpm.up - v.quantile((stands+slowTime*(all-stands))/all)
}

// fullLoad finds the stretches of a rise in which every load channel stands
// high. The end of a stretch is the last moment at which it surely still held:
// a channel that shows low now fell after its refresh before; of those that
// fell together the latest such moment counts.
func (s *scan) fullLoad(c candidate, loads []loadChannel) []stretch {
	if len(loads) == 0 {
		return []stretch{{c.startT, c.topT}}
	}
	var times []float64
	for _, l := range loads {
		for _, x := range c.samples[l.at] {
			times = append(times, max(x.t, c.startT-before))
		}
	}
	slices.Sort(times)
	times = slices.Compact(times)
	var list []stretch
	begun := math.NaN()
	for _, t := range times {
		high := !slices.ContainsFunc(loads, func(l loadChannel) bool { return held(c.samples[l.at], t) < l.from })
		switch {
		case high && begun != begun:
			begun = t
		case !high && begun == begun:
			list = append(list, stretch{begun, s.surely(c, loads, begun, t)})
			begun = math.NaN()
		}
	}
	if begun == begun {
		list = append(list, stretch{begun, c.topT})
	}
	return list
}

// held is the value that holds at time t, -Inf before the first.
func held(list []sample, t float64) float64 {
	v := math.Inf(-1)
	for _, x := range list {
		if x.t > t {
			break
		}
		v = x.v
	}
	return v
}

// surely is the last moment of full load where a channel first shows low at
// time low.
func (s *scan) surely(c candidate, loads []loadChannel, begun, low float64) float64 {
	last := begun
	for _, l := range loads {
		first := low
		for _, x := range c.samples[l.at] {
			if x.t >= low && x.v < l.from {
				first = x.t
				break
			}
		}
		// A pedal that is held still looks like one that is seldom read.
		refresh := min(l.refresh(), 2*s.rpm.refresh())
		if refresh == 0 {
			refresh = s.step()
		}
		if first-refresh <= low {
			last = max(last, first-refresh)
		}
	}
	return min(last, low)
}

// take1 holds one stretch against the rule. It returns the pull and what it
// lacks.
func (s *scan) take1(c candidate, st stretch, need float64, gauges []*gauge, blind bool) (found, string) {
	rpmSamples := c.samples[s.index(s.rpm)]
	slack := s.rpm.refresh() / 2
	f := found{from: max(st.from, c.startT), to: min(st.to, c.topT), c: c}
	for _, x := range rpmSamples {
		inside := x.t >= f.from && x.t <= st.to+slack && x.t <= c.topT
		if inside && (len(f.rpm) == 0 || x.t > f.rpm[len(f.rpm)-1].t) {
			f.rpm = append(f.rpm, x)
		}
	}
	f.Samples = len(f.rpm)
	if f.Samples == 0 {
		return f, "no fresh sample of engine speed"
	}
	f.RPMLow, f.RPMHigh = f.rpm[0].v, f.rpm[len(f.rpm)-1].v
	f.to = max(f.to, f.rpm[len(f.rpm)-1].t)
	f.StartS, f.EndS = f.from-s.first, f.to-s.first
	f.Start = s.clock(f.from)
	rise := f.RPMHigh - f.RPMLow
	switch {
	case rise < need:
		return f, fmt.Sprintf("engine speed rises by %.0f rpm; %.0f are needed, a fifth of its span", rise, need)
	case f.Samples < leastFresh:
		return f, fmt.Sprintf("%d fresh samples of engine speed; %d are needed", f.Samples, leastFresh)
	case f.to-f.from < leastTime:
		return f, fmt.Sprintf("it lasts %.1f s; %.1f are needed", f.to-f.from, leastTime)
	}
	if lazy := s.lazy(f, gauges); lazy != "" {
		return f, lazy
	}
	if blind {
		f.Doubtful = "no channel tells the load"
	}
	s.gearOf(&f)
	return f, ""
}

// lazy says which channel doesn't follow engine speed, "" if all do. A channel
// with too few fresh samples says nothing.
func (s *scan) lazy(f found, gauges []*gauge) string {
	check := func(name string, points []point) string {
		if len(points) < leastPoints {
			return ""
		}
		// Ends against each other: the middle of the last third and of the first.
		third := max(1, len(points)/3)
		first, last := middle(points[:third]), middle(points[len(points)-third:])
		if last.x > first.x && last.y < first.y*math.Pow(last.x/first.x, follows) {
			return fmt.Sprintf("%q doesn't rise with engine speed", name)
		}
		return ""
	}
	if s.flow != nil {
		if why := check(s.flow.name, s.paired(f, s.index(s.flow), 0, func(v float64) float64 { return v })); why != "" {
			return why
		}
	}
	for _, g := range gauges {
		points := s.paired(f, g.at, 0, func(v float64) float64 { return g.sign * (v - g.raw) })
		if why := check(g.name, points); why != "" {
			return why
		}
	}
	return ""
}

func middle(points []point) point {
	var xs, ys []float64
	for _, p := range points {
		xs, ys = append(xs, p.x), append(ys, p.y)
	}
	return point{median(xs), median(ys)}
}

// paired puts the fresh samples of a channel in a pull beside the engine speed
// at the moment at which they were taken, less lag.
func (s *scan) paired(f found, at int, lag float64, change func(float64) float64) []point {
	var list []point
	speeds := f.c.samples[s.index(s.rpm)]
	for _, x := range f.c.samples[at] {
		t := x.t - lag
		if t < f.from || t > f.to {
			continue
		}
		if n, ok := inBetween(speeds, t); ok {
			list = append(list, point{n, change(x.v)})
		}
	}
	return list
}

// inBetween is the value of a channel at time t, between its samples.
func inBetween(list []sample, t float64) (float64, bool) {
	at, _ := slices.BinarySearchFunc(list, t, func(x sample, t float64) int {
		if x.t < t {
			return -1
		}
		return 1
	})
	switch {
	case at == len(list):
		return 0, false
	case list[at].t == t:
		return list[at].v, true
	case at == 0:
		return 0, false
	}
	a, b := list[at-1], list[at]
	return a.v + (b.v-a.v)*(t-a.t)/(b.t-a.t), true
}

// gearOf finds the gear of a pull.
func (s *scan) gearOf(f *found) {
	if s.speed == nil {
		return
	}
	var ratios []float64
	for _, p := range s.paired(*f, s.index(s.speed), 0, func(v float64) float64 { return v * s.kmh() }) {
		if p.y >= slowest {
			ratios = append(ratios, p.x/p.y)
		}
	}
	if len(ratios) < 2 {
		return
	}
	ratio := median(ratios)
	f.RPMPerKmh = &ratio
	for i, p := range s.gears.peaks() {
		if math.Abs(math.Log(p.ratio/s.kmh()/ratio)) < gearApart*gearWidth/2 {
			number := i + 1
			f.Gear = &number
		}
	}
}

// clock is a time as the recorder writes it.
func (s *scan) clock(t float64) string {
	if s.timeUnit != "h:min:s" {
		v := t / s.timeScale
		return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.3f", v), "0"), ".") + unitBehind(s.timeUnit)
	}
	t = math.Mod(math.Round(t*10)/10, 24*3600)
	return fmt.Sprintf("%02d:%02d:%04.1f", int(t)/3600, int(t)/60%60, math.Mod(t, 60))
}
