package causes

import (
	"cmp"
	"slices"
)

// State is where a search stands.
type State struct {
	Belief Belief
	Open   Set
	Done   []bool // by check: made, or impossible to make
}

// Begin is the state before any check.
func (m *Model) Begin() State {
	return State{Belief: m.Prior(), Done: make([]bool, len(m.Checks))}
}

// Worth is what one check is worth now.
type Worth struct {
	Check int
	Saves float64 // minutes of putting right that it saves in expectation
	Takes float64 // minutes of the check itself, with what has to be opened for it
	After int     // of a check that only pays with a second one: that one; else -1
	Looks int     // of a check that looks straight at a cause before it is put right: that cause; else -1
}

// PerMinute is what a check saves for each minute that it takes.
func (w Worth) PerMinute() float64 { return w.Saves / max(w.Takes, 1e-9) }

// pays tells whether a check saves more than it takes.
func (w Worth) pays() bool { return w.Saves-w.Takes > 1e-9 }

// Verdict is why a search ends.
type Verdict string

// Verdicts. GoOn is none.
const (
	GoOn       Verdict = ""
	StandsOut  Verdict = "stands-out"     // one cause has Enough
	NoFault    Verdict = "no-fault-found" // most likely it is none of the causes
	FixInOrder Verdict = "fix-in-order"   // what is left is cheaper to put right than to part
	NoMore     Verdict = "no-more-checks" // nothing is left to check
)

// Next is the check to make next and everything that was weighed, the best first;
// or why the search ends.
func (m *Model) Next(s State) (Verdict, []Worth) {
	weighed := m.Weigh(s)
	_, top := s.Belief.Top()
	if look, ok := m.lookFirst(s); ok && top >= Enough {
		return GoOn, ahead(look, weighed)
	}
	switch {
	case top >= Enough:
		return StandsOut, weighed
	case s.Belief.None() >= Enough:
		return NoFault, weighed
	case len(weighed) > 0 && weighed[0].pays():
		return GoOn, weighed
	}
	if pair, ok := m.bestPair(s, weighed); ok {
		return GoOn, ahead(pair, weighed)
	}
	switch {
	case s.Belief.None() >= 0.5:
		return NoFault, weighed
	case len(weighed) == 0:
		return NoMore, weighed
	}
	if look, ok := m.lookFirst(s); ok {
		return GoOn, ahead(look, weighed)
	}
	return FixInOrder, weighed
}

// ahead puts one check that was weighed in another way before all others.
func ahead(first Worth, weighed []Worth) []Worth {
	return append([]Worth{first}, slices.DeleteFunc(weighed, func(w Worth) bool { return w.Check == first.Check })...)
}

// lookFirst finds the check that is worth most before the cause that the search would
// name is put right: the first in the order and the likeliest. What counts is that it
// looks straight at that cause, and that it saves more minutes of putting it right for
// nothing than it takes. The sums of Weigh leave such a check out where the rest of
// the order grows by as much: in them a wrong repair at least rules its cause out for
// good, and in a yard nobody is as sure of that.
func (m *Model) lookFirst(s State) (Worth, bool) {
	best := Worth{Looks: -1}
	_, lost := m.inOrder(s.Belief, s.Open)
	for _, cause := range m.named(s) {
		if lost[cause] <= 0 {
			continue
		}
		wrongly := func(b Belief, open Set) float64 {
			_, lost := m.inOrder(b, open)
			return lost[cause]
		}
		for k := range m.Checks {
			if s.Done[k] || !m.Straight(k, cause) {
				continue
			}
			w := Worth{Check: k, Takes: m.takes(k, s.Open), Saves: lost[cause] - m.expect(k, s, wrongly), After: -1, Looks: cause}
			if w.pays() && (best.Looks < 0 || w.PerMinute() > best.PerMinute()) {
				best = w
			}
		}
	}
	return best, best.Looks >= 0
}

// named are the causes that a search names which ends here: the one to put right
// first and the likeliest.
func (m *Model) named(s State) []int {
	likeliest, _ := s.Belief.Top()
	list := []int{likeliest}
	if first := m.Order(s.Belief, s.Open)[0]; first != likeliest {
		list = append(list, first)
	}
	return list
}

// Weigh values every check that is left, those that save most per minute first.
// One whose outcomes are alike under everything that is still believed comes last,
// saving nothing.
func (m *Model) Weigh(s State) []Worth {
	now := m.Repair(s.Belief, s.Open)
	var list []Worth
	for k := range m.Checks {
		if s.Done[k] {
			continue
		}
		w := Worth{Check: k, Takes: m.takes(k, s.Open), After: -1, Looks: -1}
		w.Saves = max(now-m.expect(k, s, m.Repair), 0)
		list = append(list, w)
	}
	slices.SortStableFunc(list, func(a, b Worth) int { return cmp.Compare(b.PerMinute(), a.PerMinute()) })
	return list
}

func (m *Model) takes(check int, open Set) float64 {
	return m.Checks[check].Cost + m.opening(m.Checks[check].Opens, open)
}

// expect is what cost comes to in expectation behind a check.
func (m *Model) expect(check int, s State, cost func(Belief, Set) float64) float64 {
	open := s.Open | m.Checks[check].Opens
	minutes := 0.0
	for o := range m.Checks[check].Likely {
		if next, chance := m.after(s.Belief, check, o); chance > 0 {
			minutes += chance * cost(next, open)
		}
	}
	return minutes
}

// mostPaired is among how many checks pairs are looked for.
const mostPaired = 8

// bestPair looks for a check that pays only with a second one behind some of its
// outcomes, among those that save most.
func (m *Model) bestPair(s State, weighed []Worth) (Worth, bool) {
	list := slices.Clone(weighed)
	slices.SortStableFunc(list, func(a, b Worth) int { return cmp.Compare(b.Saves, a.Saves) })
	list = list[:min(len(list), mostPaired)]
	now := m.Repair(s.Belief, s.Open)
	best := Worth{After: -1, Looks: -1}
	for _, first := range list {
		k := first.Check
		behind := State{}
		second := -1
		then := func(b Belief, open Set) float64 {
			behind.Belief, behind.Open = b, open
			least := m.Repair(b, open)
			for _, other := range list {
				j := other.Check
				if j == k {
					continue
				}
				if c := m.takes(j, open) + m.expect(j, behind, m.Repair); c < least-1e-9 {
					least, second = c, j
				}
			}
			return least
		}
		w := Worth{Check: k, Takes: m.takes(k, s.Open), Saves: now - m.expect(k, s, then), After: second, Looks: -1}
		if w.pays() && second >= 0 && (best.After < 0 || w.PerMinute() > best.PerMinute()) {
			best = w
		}
	}
	return best, best.After >= 0
}

// Made is the state once a check came to an outcome.
func (m *Model) Made(s State, check, outcome int) State {
	next := m.Missed(s, check)
	next.Belief = m.After(s.Belief, check, outcome)
	next.Open |= m.Checks[check].Opens
	return next
}

// Missed is the state once a check turned out to be impossible.
func (m *Model) Missed(s State, check int) State {
	done := slices.Clone(s.Done)
	done[check] = true
	return State{Belief: slices.Clone(s.Belief), Open: s.Open, Done: done}
}
