package rules

import (
	"math"
	"slices"

	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Facts are values of facts by name. A name that is missing is not known.
type Facts map[string]subject.Value

// Value implements Values.
func (f Facts) Value(name string) subject.Value { return f[name] }

// Wanted is a rule and what it must come to. Several truths will do where OK
// lists several.
type Wanted struct {
	Rule *Rule
	OK   []Truth
}

// mostTries bounds one search: so many assignments are looked at.
const mostTries = 20_000

// Search goes through the values that can matter to rules: every word of a
// choice, numbers below, at, between and above those that the rules name, and,
// where Unknowns is set, each fact not known.
type Search struct {
	Fact     func(name string) (subject.Fact, bool)
	Unknowns bool
	Left     *int // assignments that may still be looked at, over several searches; nil for no such bound
}

// Find returns the first assignment, in a fixed order, under which everything
// that is wanted holds. Whole is false where the search was cut short, so that
// not finding one proves nothing.
func (s Search) Find(wanted []Wanted) (found Facts, ok, whole bool) {
	names, domains, measured := s.domains(wanted)
	at := make([]int, len(names))
	facts := Facts{}
	for i := range names {
		facts.put(names[i], domains[i][0])
	}
	for range s.tries() {
		if fits(wanted, facts) {
			return facts, true, true
		}
		if s.Left != nil {
			*s.Left--
		}
		changed := advance(at, domains)
		if changed < 0 {
			return nil, false, measured <= comparable
		}
		for i := range changed + 1 {
			facts.put(names[i], domains[i][at[i]])
		}
	}
	return nil, false, false
}

// put sets a value, or takes it out where it isn't known.
func (f Facts) put(name string, v subject.Value) {
	if !v.Known {
		delete(f, name)
		return
	}
	f[name] = v
}

func (s Search) tries() int {
	if s.Left == nil {
		return mostTries
	}
	return min(mostTries, max(0, *s.Left))
}

func fits(wanted []Wanted, facts Facts) bool {
	for _, w := range wanted {
		if !slices.Contains(w.OK, w.Rule.Eval(facts.Value)) {
			return false
		}
	}
	return true
}

// advance counts at on, the first place fastest, and returns the last place that
// it changed; -1 after the last assignment.
func advance(at []int, domains [][]subject.Value) int {
	for i := range at {
		if at[i]++; at[i] < len(domains[i]) {
			return i
		}
		at[i] = 0
	}
	return -1
}

// domains lists the facts that the rules name, the values to try of each, and
// how many of the facts measure something.
func (s Search) domains(wanted []Wanted) (names []string, domains [][]subject.Value, measured int) {
	var points []float64
	for _, w := range wanted {
		names = append(names, w.Rule.Facts()...)
		points = append(points, w.Rule.root.points()...)
	}
	names = sorted(names)
	numbers := between(points)
	for _, name := range names {
		values := s.values(name, numbers)
		if s.Unknowns || len(values) == 0 {
			values = append(values, subject.Value{})
		}
		domains = append(domains, values)
		if f, _ := s.Fact(name); measures(f.Kind) {
			measured++
		}
	}
	return names, domains, measured
}

func (s Search) values(name string, numbers []float64) []subject.Value {
	fact, _ := s.Fact(name)
	var values []subject.Value
	switch fact.Kind {
	case quantity.Choice:
		for _, word := range fact.Choices {
			values = append(values, subject.Value{Known: true, Word: word, Text: word})
		}
	case quantity.Truth:
		values = []subject.Value{{Known: true, Truth: true, Text: "yes"}, {Known: true, Text: "no"}}
	default:
		for _, n := range numbers {
			values = append(values, subject.Value{Known: true, Number: n, Text: "some " + string(fact.Kind)})
		}
	}
	return values
}

// comparable is how many facts that measure a search can tell apart in one gap
// between two numbers.
const comparable = 3

// between returns numbers that tell every order of facts among the given ones:
// each of them, and so many below, between and above them.
func between(points []float64) []float64 {
	slices.Sort(points)
	points = slices.Compact(points)
	if len(points) == 0 {
		points = []float64{0}
	}
	low, high := points[0], points[len(points)-1]
	ends := slices.Concat([]float64{low - max(1, math.Abs(low))}, points, []float64{high + max(1, math.Abs(high))})
	var list []float64
	for i := range ends[1:] {
		gap := (ends[i+1] - ends[i]) / (comparable + 1)
		for k := range comparable {
			list = append(list, ends[i]+float64(k+1)*gap)
		}
		list = append(list, ends[i+1])
	}
	return list
}

func (n flag) points() []float64  { return nil }
func (n match) points() []float64 { return nil }

func (n order) points() []float64 {
	if n.other != "" {
		return nil
	}
	return []float64{n.value}
}

func (n negation) points() []float64 { return n.inner.points() }

func (n join) points() []float64 {
	var list []float64
	for _, t := range n.terms {
		list = append(list, t.points()...)
	}
	return list
}
