package pulls

import (
	"fmt"
	"math"
)

func (s *scan) note(form string, args ...any) { s.notes = append(s.notes, fmt.Sprintf(form, args...)) }

// wellAbove is the exponent from which a path closes up under suction: a firm
// one has 1.8 to 2.
const wellAbove = 2.2

// zerosApart is by how many spreads of a zero two of them differ to be named.
const zerosApart = 6

// exponentNotes says what exponents well above 2 mean.
func (s *scan) exponentNotes(r *Result) {
	over := map[string]Estimate{}
	for _, f := range r.Fits {
		over[f.Name] = f.Exponent
		if f.Exponent.Low > wellAbove {
			s.note("%q grows with air flow to the power of %.2f (%.2f to %.2f), well above 2: the path closes up under suction. Look for a soft hose or a filter that gives way.",
				f.Name, f.Exponent.Median, f.Exponent.Low, f.Exponent.High)
		}
	}
	for _, x := range r.Readings {
		if x.Exponent.Low <= wellAbove {
			continue
		}
		if f, ok := over[x.Name]; ok {
			if f.Low <= wellAbove {
				s.note("Pull %d: %q grows with engine speed to the power of %.2f, but with air flow to that of %.2f only: the engine draws more per turn as it turns faster, and the path is firm.",
					x.Pull, x.Name, x.Exponent.Median, f.Median)
			}
			continue
		}
		s.note("Pull %d: %q grows with engine speed to the power of %.2f (%.2f to %.2f), well above 2: the path closes up under suction, unless the engine draws far more per turn as it turns faster. Air flow, logged too, would tell.",
			x.Pull, x.Name, x.Exponent.Median, x.Exponent.Low, x.Exponent.High)
	}
}

// gaugeNotes says what is odd about a gauge.
func (s *scan) gaugeNotes(g *gauge) {
	if !g.unitOK {
		s.note("%q has no unit of pressure that is known, so that nothing is read from it. Say it: --column \"pressure=%s [kPa]\".", g.name, g.name)
	}
	switch g.zero.From {
	case ZeroNone:
		s.note("The log holds no moment without flow, so that the zero of %q is not known. Log ten seconds with the engine off.", g.name)
	case ZeroIdle:
		s.note("The zero of %q was taken while the engine idles, since the log never shows it off.", g.name)
	}
	if !math.IsInf(g.end, 0) {
		s.note("%q stands at the end of its range, %s, for a while: what lies there was left out.", g.name, number(g.end)+unitBehind(g.unit))
	}
}

// generalNotes are about the log as a whole.
func (s *scan) generalNotes(r *Result, pulls []found, loads []loadChannel) {
	for _, p := range r.Pairs {
		if spread := r.Zeros[0].SpreadPa; math.Abs(p.ZeroPa) > zerosApart*spread {
			s.note("The zeros of %q and %q lie %s Pa apart; both were taken out.", p.First, p.Second, number(math.Abs(p.ZeroPa)))
		}
		if p.Disagree {
			s.note("%q and %q disagree: the second shows %.1f %% of the first. One of them is wrong, or they are not on one place.", p.First, p.Second, 100*p.Ratio)
		}
	}
	if len(r.Zeros) == 0 {
		s.note("No column was taken for a gauge on the intake path, so that no pressure is read. If one is, name it: --column pressure=NAME.")
	}
	if s.rpm != nil && len(loads) == 0 && len(pulls) > 0 {
		s.note("No channel tells the load: whether it was full load only the driver knows.")
	}
	if s.timeless > 0 {
		s.note("%d rows have no time and were left out.", s.timeless)
	}
	if s.jumps > 0 {
		s.note("Time goes back %s: each part was taken for a log of its own.", times(s.jumps))
	}
	if s.dropped > 0 {
		s.note("The log holds more rises of engine speed than are kept: of %d the likeliest %d were judged.", s.dropped+len(s.kept), len(s.kept))
	}
	for i, p := range pulls {
		s.staleNotes(i+1, p)
	}
}

// staleNotes names channels that hardly moved in a pull although they matter.
func (s *scan) staleNotes(number int, p found) {
	for i, c := range s.watched {
		if c.role != Flow && c.role != Pressure && c.role != Speed {
			continue
		}
		fresh, longest, last := 0, 0.0, p.from
		for _, x := range p.c.samples[i] {
			if x.t >= p.from && x.t <= p.to {
				fresh++
				longest, last = max(longest, x.t-last), x.t
			}
		}
		longest = max(longest, p.to-last)
		if usual := c.refresh(); fresh < 3 || usual > 0 && longest > max(3*usual, 1) {
			s.note("Pull %d: %q is stale: %d fresh samples, one held for %.1f s.", number, c.name, fresh, longest)
		}
	}
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
