package causes

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// Limits of a Model. With them a choice takes some milliseconds at most.
const (
	MostCauses   = 24
	MostOpenings = 8
	MostChecks   = 40
	MostOutcomes = 8
)

// Enough is the chance from which a cause stands out and the search ends.
const Enough = 0.9

// surest is the least likelihood that an outcome counts with: nobody's answer
// is certain, and one wrong answer must not outweigh every other.
const surest = 0.005

// Set is a set of openings, one bit each.
type Set uint16

// Has tells whether every opening of other is in s.
func (s Set) Has(other Set) bool { return other&^s == 0 }

// Cause is one thing that can be wrong.
type Cause struct {
	Chance float64 // before any check, 0 to 1
	Cost   float64 // minutes to put it right once everything is open, and to see whether that has helped
	Opens  Set
}

// Check is something to look at or to measure. Likely holds, for each outcome,
// its likelihood under each cause, and under none of them at the end.
type Check struct {
	Cost    float64 // minutes, once everything is open
	Opens   Set
	Likely  [][]float64
	LooksAt []int // causes at which it looks straight although no outcome of it is Decisive
}

// Decisive is how many times as likely as without any cause an outcome has to be
// under a cause, for its check to count as a look straight at that cause.
const Decisive = 20

// Straight tells whether a check looks straight at a cause: what it brings speaks of
// that very cause, and not of what several have in common.
func (m *Model) Straight(check, cause int) bool {
	c := m.Checks[check]
	if slices.Contains(c.LooksAt, cause) {
		return true
	}
	for o := range c.Likely {
		if believed(c.Likely, o, cause) >= (Decisive-1e-9)*believed(c.Likely, o, len(m.Causes)) {
			return true
		}
	}
	return false
}

// Model is what a search knows before it begins.
type Model struct {
	Causes   []Cause
	Openings []float64 // minutes each
	Checks   []Check
	None     float64 // chance that it is none of the causes, before any check
	Unfound  float64 // minutes that follow where every cause is ruled out or given up
}

// Belief is the chance of each cause, and of none of them at the end. It sums to
// one.
type Belief []float64

// None is the chance that it is none of the causes.
func (b Belief) None() float64 { return b[len(b)-1] }

// Top is the likeliest cause and its chance.
func (b Belief) Top() (cause int, chance float64) {
	for i, p := range b[:len(b)-1] {
		if p > chance {
			cause, chance = i, p
		}
	}
	return cause, chance
}

// Prior is the belief before any check. Chances that don't sum to one, because a
// cause can't be it, are scaled.
func (m *Model) Prior() Belief {
	b := make(Belief, len(m.Causes)+1)
	for i, c := range m.Causes {
		b[i] = c.Chance
	}
	b[len(m.Causes)] = m.None
	return b.scaled()
}

func (b Belief) scaled() Belief {
	sum := 0.0
	for _, p := range b {
		sum += p
	}
	if sum <= 0 {
		return b
	}
	for i := range b {
		b[i] /= sum
	}
	return b
}

// After is the belief once a check came to an outcome.
func (m *Model) After(b Belief, check, outcome int) Belief {
	next, _ := m.after(b, check, outcome)
	return next
}

// after gives the chance of the outcome as well.
func (m *Model) after(b Belief, check, outcome int) (Belief, float64) {
	likely := m.Checks[check].Likely
	next := make(Belief, len(b))
	chance := 0.0
	for i, p := range b {
		next[i] = p * believed(likely, outcome, i)
		chance += next[i]
	}
	return next.scaled(), chance
}

// believed is a likelihood with its least, such that those of all outcomes still
// sum to what they did.
func believed(likely [][]float64, outcome, cause int) float64 {
	sum := 0.0
	for _, row := range likely {
		sum += max(row[cause], surest)
	}
	return max(likely[outcome][cause], surest) / sum
}

// opening is what it takes to open what is needed and not open yet.
func (m *Model) opening(needed, open Set) float64 {
	minutes := 0.0
	for rest := needed &^ open; rest != 0; rest &= rest - 1 {
		minutes += m.Openings[bits.TrailingZeros16(uint16(rest))]
	}
	return minutes
}

// Order is the order in which to put the causes right, with what is open. It goes
// by the block of openings and causes with the highest ratio; of its openings the
// one that most of it rests on is taken for done, and the rest is weighed anew
// (W. A. Horn, Single-machine job sequencing with treelike precedence ordering,
// SIAM Journal on Applied Mathematics 23, 1972).
func (m *Model) Order(b Belief, open Set) []int {
	left := m.byRatio(b)
	order := make([]int, 0, len(left))
	for len(left) > 0 {
		block, opens := m.bestBlock(b, left, open)
		if opens != 0 {
			open |= m.mostNeeded(b, block, opens)
			continue
		}
		order = append(order, block[0])
		left = slices.DeleteFunc(left, func(i int) bool { return i == block[0] })
	}
	return order
}

// mostNeeded is the one of some openings behind which most of a block's chance
// lies.
func (m *Model) mostNeeded(b Belief, block []int, opens Set) Set {
	var best Set
	most := math.Inf(-1)
	for rest := opens; rest != 0; rest &= rest - 1 {
		one := rest & -rest
		chance := 0.0
		for _, i := range block {
			if m.Causes[i].Opens.Has(one) {
				chance += b[i]
			}
		}
		if chance > most {
			most, best = chance, one
		}
	}
	return best
}

// byRatio lists all causes by falling chance over their own minutes.
func (m *Model) byRatio(b Belief) []int {
	list := make([]int, len(m.Causes))
	for i := range list {
		list[i] = i
	}
	slices.SortStableFunc(list, func(i, j int) int { return cmp.Compare(m.ratio(b, j), m.ratio(b, i)) })
	return list
}

func (m *Model) ratio(b Belief, i int) float64 { return b[i] / math.Max(m.Causes[i].Cost, 1e-9) }

// bestBlock is the set of causes with the highest chance over minutes, openings
// included, in the order of byRatio, and what has to be opened for it.
func (m *Model) bestBlock(b Belief, left []int, open Set) (best []int, opens Set) {
	highest := math.Inf(-1)
	for _, s := range m.unions(left, open) {
		chance, minutes := 0.0, m.opening(s, open)
		var members []int
		for _, i := range left {
			if !(open | s).Has(m.Causes[i].Opens) {
				continue
			}
			members = append(members, i)
			chance += b[i]
			minutes += m.Causes[i].Cost
			if r := chance / math.Max(minutes, 1e-9); r > highest {
				highest, best, opens = r, slices.Clone(members), s
			}
		}
	}
	return best, opens
}

// unions lists what can be opened to reach causes, nothing first.
func (m *Model) unions(left []int, open Set) []Set {
	list := []Set{0}
	for _, i := range left {
		need := m.Causes[i].Opens &^ open
		if slices.Contains(list, need) {
			continue
		}
		for _, s := range list[:len(list):len(list)] {
			if !slices.Contains(list, s|need) {
				list = append(list, s|need)
			}
		}
	}
	return list
}

// Repair is how many minutes putting right takes in expectation, in the order of
// Order, given up where that is cheaper than to go on.
func (m *Model) Repair(b Belief, open Set) float64 {
	least, _ := m.inOrder(b, open)
	return least
}

// inOrder is what Repair says, and for each cause the minutes of it that are lost in
// expectation because it was put right and was not at fault.
func (m *Model) inOrder(b Belief, open Set) (least float64, lost []float64) {
	spent, left := 0.0, 1.0
	order := m.Order(b, open)
	all, upTo := make([]float64, len(order)), 0
	least = m.Unfound
	for n, i := range order {
		minutes := m.Causes[i].Cost + m.opening(m.Causes[i].Opens, open)
		spent += left * minutes
		open |= m.Causes[i].Opens
		left = max(left-b[i], 0)
		all[i] = left * minutes
		if c := spent + left*m.Unfound; c < least {
			least, upTo = c, n+1
		}
	}
	lost = make([]float64, len(order))
	for _, i := range order[:upTo] {
		lost[i] = all[i]
	}
	return least, lost
}
