package pulls

import "math"

// A channel has a fixed place in the recorder's round where so large a share of
// its samples comes so many rows after those of engine speed, give or take one.
const (
	skewShare = 0.6
	skewLeast = 20
)

// readAfter is by how many seconds the samples of a channel are taken after
// those of engine speed, negative where sooner before the next than after the
// last. It is false where they have no fixed order.
func (s *scan) readAfter(c *channel) (float64, bool) {
	var total, best uint32
	at := 0
	for i, n := range c.after {
		total += n
		around := n
		if i > 0 {
			around += c.after[i-1]
		}
		if i+1 < len(c.after) {
			around += c.after[i+1]
		}
		if around > best {
			best, at = around, i
		}
	}
	if total < skewLeast || float64(best) < skewShare*float64(total) || at == len(c.after)-1 {
		return 0, false
	}
	var sum, count float64
	for i := max(at-1, 0); i <= at+1; i++ {
		sum += float64(i) * float64(c.after[i])
		count += float64(c.after[i])
	}
	after := sum / count * s.step()
	if round := s.rpm.refresh(); round > 2*s.step() && after > round/2 {
		after -= round
	}
	return after, true
}

// Lags are sought this far, and believed from this correlation on.
const (
	lagMost  = 2.0
	lagTrust = 0.8
	lagGrid  = 400 // points of a rise, at most
	lagPulls = 8   // that are looked at
)

// lag is by how many seconds the signal of one channel comes after that of
// another, from how both change in the rises: the shift at which their rates of
// change go together best. It is false where no shift is convincing, or where
// the samples are too far apart to see one.
func (s *scan) lag(a, b int, pulls []found) (float64, bool) {
	if len(pulls) == 0 {
		return 0, false
	}
	pulls = pulls[:min(len(pulls), lagPulls)]
	step := s.step()
	if r := max(s.watched[a].refresh(), s.watched[b].refresh()); r > step {
		step = r
	}
	if step <= 0 || step > lagMost/4 {
		return 0, false
	}
	shifts := int(lagMost / step)
	best, at := 0.0, 0
	values := make([]float64, 2*shifts+1)
	for k := -shifts; k <= shifts; k++ {
		var xy, xx, yy float64
		for _, p := range pulls {
			sumRates(p.c, a, b, float64(k)*step, step, &xy, &xx, &yy)
		}
		if xx > 0 && yy > 0 {
			values[k+shifts] = xy / math.Sqrt(xx*yy)
		}
		if values[k+shifts] > best {
			best, at = values[k+shifts], k
		}
	}
	if best < lagTrust || at == -shifts || at == shifts {
		return 0, false
	}
	// The top of the parabola through the best and its neighbours.
	l, m, r := values[at+shifts-1], values[at+shifts], values[at+shifts+1]
	part := 0.0
	if bend := l - 2*m + r; bend < 0 {
		part = 0.5 * (l - r) / bend
	}
	return (float64(at) + part) * step, true
}

// sumRates adds up the products of the changes of two channels over a rise and
// what comes after it, the first later by shift.
func sumRates(c candidate, a, b int, shift, step float64, xy, xx, yy *float64) {
	from, to := c.startT-before/2, c.topT+behind
	step = max(step, (to-from)/lagGrid)
	for i := range int((to - from) / step) {
		t := from + float64(i)*step
		x0, ok0 := inBetween(c.samples[a], t+shift)
		x1, ok1 := inBetween(c.samples[a], t+shift+step)
		y0, ok2 := inBetween(c.samples[b], t)
		y1, ok3 := inBetween(c.samples[b], t+step)
		if ok0 && ok1 && ok2 && ok3 {
			x, y := x1-x0, y1-y0
			*xy, *xx, *yy = *xy+x*y, *xx+x*x, *yy+y*y
		}
	}
}

// skews reports on every channel with a role but engine speed. Pressure is held
// against air flow, air flow and pressure without it against the pedal or what
// else tells the load, road speed against engine speed.
func (s *scan) skews(loads []loadChannel, pulls []found) []Skew {
	list := []Skew{}
	if s.rpm == nil {
		return list
	}
	for i, c := range s.watched {
		if c == s.rpm || c.role == NoRole {
			continue
		}
		k := Skew{Name: c.name}
		if after, ok := s.readAfter(c); ok {
			k.ReadAfterS = &after
		}
		against := -1
		switch {
		case c.role == Pressure && s.flow != nil:
			against = s.index(s.flow)
		case c.role == Pressure || c.role == Flow:
			if len(loads) > 0 && loads[0].at < len(s.watched) {
				against = loads[0].at
			}
		case c.role == Speed:
			against = s.index(s.rpm)
		}
		if against >= 0 {
			if lag, ok := s.lag(i, against, pulls); ok {
				k.LagS, k.Against = &lag, s.watched[against].name
			}
		}
		list = append(list, k)
	}
	return list
}
