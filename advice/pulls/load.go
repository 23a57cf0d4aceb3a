package pulls

import (
	"fmt"
	"math"
)

// A load channel tells full load by the upper quarter of its span. Its top is
// the highest level that it holds for topHeld seconds in all, its bottom that
// below which it stays for a twentieth of the time.
const (
	upper      = 0.75
	topHeld    = 3.0
	bottomTime = 0.05
	idleHigh   = 0.75 // share of its range at which a channel that idles can't tell
	idleTime   = 0.1  // share of the running time that counts as idling
	leastMove  = 0.02 // of its highest value
)

// loadChannel is a channel that tells the load, and from which level on.
type loadChannel struct {
	*channel
	at   int // among the samples of a candidate
	from float64
}

// loads judges the channels that could tell the load and rejects those that
// can't, with the reason. Where none is left and air flow is logged, the air
// that the engine takes per turn stands in.
func (s *scan) loads() []loadChannel {
	var list []loadChannel
	for i, c := range s.watched {
		if c.role != Load {
			continue
		}
		bottom, top := s.spanOf(c)
		if why := s.mute(c, bottom, top); why != "" {
			s.reject(c, why)
			continue
		}
		list = append(list, loadChannel{c, i, bottom + upper*(top-bottom)})
	}
	if len(list) == 0 && s.flow != nil && s.rpm != nil && s.perTurn.total > 2*leastSteps {
		if bottom, top := s.perTurn.quantile(bottomTime), s.perTurn.quantile(0.98); top > 1.3*bottom {
			s.addPerTurn()
			list = append(list, loadChannel{s.flow, len(s.watched), bottom + upper*(top-bottom)})
			s.notes = append(s.notes, "No channel tells the load; it was taken from the air that the engine takes per turn.")
		}
	}
	return list
}

// addPerTurn puts the air per turn behind the samples of each candidate, at the
// moments of those of air flow.
func (s *scan) addPerTurn() {
	flow, rpm := s.index(s.flow), s.index(s.rpm)
	for i := range s.kept {
		c := &s.kept[i]
		var list []sample
		for _, x := range c.samples[flow] {
			if n := held(c.samples[rpm], x.t); n > turning {
				list = append(list, sample{x.t, x.v / n})
			}
		}
		c.samples = append(c.samples, list)
	}
}

func (s *scan) spanOf(c *channel) (bottom, top float64) {
	held := topHeld / max(s.duration(), 2*topHeld)
	return c.values.quantile(bottomTime), c.values.quantile(1 - held)
}

// mute says why a channel can't tell the load, "" where it can.
func (s *scan) mute(c *channel, bottom, top float64) string {
	show := func(v float64) string { return number(v) + unitBehind(c.unit) }
	switch {
	case c.fresh == 0:
		return "it is empty"
	case c.up-c.low <= leastMove*max(math.Abs(c.up), math.Abs(c.low)):
		return fmt.Sprintf("it never moves: it stays at %s", show(c.values.quantile(0.5)))
	}
	if idle, rpm, ok := s.atIdle(c); ok && (idle-c.low) >= idleHigh*(top-c.low) {
		return fmt.Sprintf("it can't tell full load: at %s rpm, idling, it stands at %s already, and %s is the most it holds. A throttle plate that stands open at idle, as a diesel's does, is no load", number(rpm), show(idle), show(top))
	}
	if !(top > bottom) || top-bottom <= leastMove*math.Abs(top) {
		return fmt.Sprintf("it stays at its highest, %s, for nearly the whole log, so that it can't tell full load from less", show(top))
	}
	return ""
}

// atIdle is the mean of a channel over the slowest tenth of the time in which
// the engine turns, and the engine speed up to which that reaches. It says
// nothing where the log doesn't hold slow running: its slowest tenth then lies
// above a third of the highest engine speed.
func (s *scan) atIdle(c *channel) (level, rpm float64, ok bool) {
	if s.rpm == nil || c.byRPM == nil {
		return 0, 0, false
	}
	var all, sum, count float64
	from := turning / rpmBin
	for _, m := range c.byRPM[from:] {
		all += float64(m.count)
	}
	for i, m := range c.byRPM[from:] {
		sum += m.sum
		count += float64(m.count)
		if count >= idleTime*all && count > 0 {
			rpm = float64((from + i + 1) * rpmBin)
			return sum / count, rpm, rpm < s.rpm.up/3+rpmBin
		}
	}
	return 0, 0, false
}

// number writes a value with the digits that a person can use.
func number(v float64) string {
	switch a := math.Abs(v); {
	case a >= 1000:
		return fmt.Sprintf("%.0f", v)
	case a >= 100:
		return fmt.Sprintf("%.4g", v)
	}
	return fmt.Sprintf("%.3g", v)
}

func unitBehind(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}
