package cli

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"dropwalk/engine"
	"dropwalk/engine/causes"
	"dropwalk/engine/quantity"
)

// searches are the procedures that look for a cause.
func searches(t *testing.T) map[string]*engine.Procedure {
	t.Helper()
	list := map[string]*engine.Procedure{}
	for _, name := range shipped() {
		p, err := findProcedure(name, quantity.Metric)
		if err != nil {
			t.Fatal(err)
		}
		if p.Search != nil {
			list[name] = p
		}
	}
	if len(list) < 5 {
		t.Fatalf("%d procedures look for a cause, want 5 or more", len(list))
	}
	return list
}

// drawnFault is one simulated car: its cause, the number of causes for none of them,
// and how each check comes out on it.
type drawnFault struct {
	cause    int
	outcomes []int
}

// draw takes a fault from the chances of a file, and what its checks show from
// their likelihoods.
func draw(r *rand.Rand, m *causes.Model) drawnFault {
	f := drawnFault{cause: thrown(r, m.Prior()), outcomes: make([]int, len(m.Checks))}
	for k, c := range m.Checks {
		column := make([]float64, len(c.Likely))
		for o := range column {
			column[o] = c.Likely[o][f.cause]
		}
		f.outcomes[k] = thrown(r, column)
	}
	return f
}

func thrown(r *rand.Rand, chances []float64) int {
	v := r.Float64()
	for i, p := range chances {
		if v -= p; v < 0 {
			return i
		}
	}
	return len(chances) - 1
}

// checkPlan finds faults: it says which check to make next, -1 for none.
type checkPlan func(causes.State) int

// finds is how many minutes a fault takes under a plan: checks, what they open,
// and then causes put right in order until the fault is found or given up.
func finds(m *causes.Model, f drawnFault, next checkPlan) (minutes float64, checks int) {
	s := m.Begin()
	for k := next(s); k >= 0; k = next(s) {
		minutes += m.Checks[k].Cost + openCost(m, m.Checks[k].Opens, s.Open)
		s = m.Made(s, k, f.outcomes[k])
		checks++
	}
	return minutes + putRight(m, s, f.cause), checks
}

func openCost(m *causes.Model, need, open causes.Set) float64 {
	minutes := 0.0
	for i, cost := range m.Openings {
		if one := causes.Set(1) << i; need&one != 0 && open&one == 0 {
			minutes += cost
		}
	}
	return minutes
}

// putRight goes through the causes in order as far as that pays.
func putRight(m *causes.Model, s causes.State, cause int) float64 {
	order := m.Order(s.Belief, s.Open)
	spent, left, least, upTo := 0.0, 1.0, m.Unfound, 0
	open := s.Open
	for n, i := range order {
		spent += left * (m.Causes[i].Cost + openCost(m, m.Causes[i].Opens, open))
		open |= m.Causes[i].Opens
		left = max(left-s.Belief[i], 0)
		if c := spent + left*m.Unfound; c < least {
			least, upTo = c, n+1
		}
	}
	minutes := 0.0
	open = s.Open
	for _, i := range order[:upTo] {
		minutes += m.Causes[i].Cost + openCost(m, m.Causes[i].Opens, open)
		open |= m.Causes[i].Opens
		if i == cause {
			return minutes
		}
	}
	return minutes + m.Unfound
}

// byWorth is the plan of the program, with what was chosen kept: the same answers
// come again and again.
func byWorth(m *causes.Model) checkPlan {
	kept := map[string]int{}
	return func(s causes.State) int {
		key := fmt.Sprintf("%.6v%v%v", s.Belief, s.Open, s.Done)
		if k, ok := kept[key]; ok {
			return k
		}
		kept[key] = -1
		if verdict, list := m.Next(s); verdict == causes.GoOn {
			kept[key] = list[0].Check
		}
		return kept[key]
	}
}

// fileOrder is a plain list: its checks from the first to the last, until a cause
// stands out.
func fileOrder(m *causes.Model) checkPlan {
	return func(s causes.State) int {
		if _, top := s.Belief.Top(); top >= causes.Enough || s.Belief.None() >= causes.Enough {
			return -1
		}
		return slices.Index(s.Done, false)
	}
}

// Of faults drawn from the chances that a file states, its checks by worth find
// each in fewer minutes than the same checks in the order of the file, and than
// putting causes right without any check.
func TestSearchesSaveTime(t *testing.T) {
	const faults = 2000
	for name, p := range searches(t) {
		m := p.Search.Model()
		plans := map[string]checkPlan{"by worth": byWorth(m), "in order": fileOrder(m), "no check": func(causes.State) int { return -1 }}
		mean, made := map[string]float64{}, map[string]float64{}
		for which, next := range plans {
			r := rand.New(rand.NewPCG(17, 18))
			for range faults {
				minutes, checks := finds(m, draw(r, m), next)
				mean[which] += minutes / faults
				made[which] += float64(checks) / faults
			}
		}
		t.Logf("%s: %.1f min by worth with %.1f checks, %.1f min in the order of the file with %.1f, %.1f min without checks",
			name, mean["by worth"], made["by worth"], mean["in order"], made["in order"], mean["no check"])
		for _, which := range []string{"in order", "no check"} {
			if mean["by worth"] >= mean[which] {
				t.Errorf("%s: by worth a fault takes %.1f min, %s %.1f", name, mean["by worth"], which, mean[which])
			}
		}
	}
}

// optimum is the least expected cost of any plan: any check, any putting right,
// giving up, at any time. Seen is -1 for a check that was not made.
type optimum struct {
	m    *causes.Model
	kept map[string]float64
}

func (o *optimum) cost(b causes.Belief, open causes.Set, seen []int, fixed uint) float64 {
	key := fmt.Sprint(seen, open, fixed)
	if c, ok := o.kept[key]; ok {
		return c
	}
	best := o.m.Unfound
	for k, c := range o.m.Checks {
		if seen[k] >= 0 {
			continue
		}
		cost := c.Cost + openCost(o.m, c.Opens, open)
		for out := range c.Likely {
			chance := 0.0
			for i, p := range b {
				chance += p * c.Likely[out][i]
			}
			next := slices.Clone(seen)
			next[k] = out
			cost += chance * o.cost(o.m.After(b, k, out), open|c.Opens, next, fixed)
		}
		best = min(best, cost)
	}
	for i, c := range o.m.Causes {
		if fixed&(1<<i) != 0 {
			continue
		}
		cost := c.Cost + openCost(o.m, c.Opens, open)
		if left := 1 - b[i]; left > 1e-9 {
			next := slices.Clone(b)
			next[i] = 0
			for j := range next {
				next[j] /= left
			}
			cost += left * o.cost(next, open|c.Opens, seen, fixed|1<<i)
		}
		best = min(best, cost)
	}
	o.kept[key] = best
	return best
}

// On the smallest file the plan is held against the best that there is, worked
// out by trying everything.
func TestSmallSearchIsNearTheOptimum(t *testing.T) {
	m := searches(t)["filter-due"].Search.Model()
	seen := make([]int, len(m.Checks))
	for i := range seen {
		seen[i] = -1
	}
	best := (&optimum{m, map[string]float64{}}).cost(m.Prior(), 0, seen, 0)
	next := byWorth(m)
	const faults = 20000
	mean := 0.0
	r := rand.New(rand.NewPCG(19, 20))
	for range faults {
		minutes, _ := finds(m, draw(r, m), next)
		mean += minutes / faults
	}
	t.Logf("filter-due: %.2f min as planned, %.2f at best", mean, best)
	if mean > best*1.05 || mean < best*0.97 {
		t.Errorf("a fault takes %.2f min in the mean, the best plan %.2f", mean, best)
	}
}
