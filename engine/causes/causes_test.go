package causes

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The order of falling chance over minutes is the cheapest there is, where repairs
// are independent and nothing has to be opened (Kadane and Simon 1977), and with
// chains of shared openings too (Sidney 1975). Every order is tried.
func TestOrderIsTheCheapest(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for i := range 400 {
		m := random(r, 1+i%5, i%4, 0, true)
		m.Unfound = 1e5 // nobody gives up
		if got, want := m.Repair(m.Prior(), 0), bruteRepair(m, m.Prior(), 0); !near(got, want, 1e-9) {
			t.Fatalf("model %d: putting right takes %.6f min, the cheapest of all orders %.6f: %+v", i, got, want, m)
		}
	}
}

// Where giving up can pay, the best place for it is found without openings, and
// with them nearly.
func TestGivingUp(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	var got, want float64
	for i := range 400 {
		m := random(r, 1+i%5, 0, 0, true)
		if g, w := m.Repair(m.Prior(), 0), bruteRepair(m, m.Prior(), 0); !near(g, w, 1e-9) {
			t.Fatalf("model %d: %.6f min, at best %.6f: %+v", i, g, w, m)
		}
		m = random(r, 1+i%5, 3, 0, true)
		g, w := m.Repair(m.Prior(), 0), bruteRepair(m, m.Prior(), 0)
		if g < w-1e-9 {
			t.Fatalf("model %d: %.6f min, less than the best, %.6f", i, g, w)
		}
		got, want = got+g, want+w
	}
	if got > want*1.01 {
		t.Errorf("with openings it is %.4f of the best in the mean", got/want)
	}
}

// Where openings cross, the order is a rule of thumb; it stays within a tenth of
// the cheapest on nearly every case and never comes out below it.
func TestCrossedOpeningsStayClose(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	const cases = 400
	off := 0
	for range cases {
		m := random(r, 5, 3, 0, false)
		got, want := m.Repair(m.Prior(), 0), bruteRepair(m, m.Prior(), 0)
		if got < want-1e-9 {
			t.Fatalf("putting right takes %.6f min, less than the cheapest order %.6f", got, want)
		}
		if got > want*1.1 {
			off++
		}
	}
	if off > cases/50 {
		t.Errorf("%d of %d cases are more than a tenth above the cheapest order", off, cases)
	}
}

// Without openings the order is plainly that of chance over minutes.
func TestOrderWithoutOpenings(t *testing.T) {
	m := &Model{Unfound: 1e6, None: 0.1, Causes: []Cause{{Chance: 0.5, Cost: 100}, {Chance: 0.1, Cost: 1}, {Chance: 0.3, Cost: 10}}}
	if got, want := m.Order(m.Prior(), 0), []int{1, 2, 0}; !slices.Equal(got, want) {
		t.Errorf("the order is %v, want %v", got, want)
	}
}

// Two causes behind one cover go together, ahead of a likelier one alone: the
// cover is paid once.
func TestSharedOpeningComesOnce(t *testing.T) {
	m := &Model{Unfound: 1e6, None: 0.12, Openings: []float64{20}, Causes: []Cause{
		{Chance: 0.28, Cost: 14}, {Chance: 0.3, Cost: 2, Opens: 1}, {Chance: 0.3, Cost: 2, Opens: 1},
	}}
	// Together 0.6 over 24 min; alone 0.3 over 22 min, less than 0.28 over 14.
	if got, want := m.Order(m.Prior(), 0), []int{1, 2, 0}; !slices.Equal(got, want) {
		t.Errorf("the order is %v, want %v", got, want)
	}
	m.Causes[2].Opens = 0
	m.Causes[2].Cost = 23
	if got, want := m.Order(m.Prior(), 0), []int{0, 1, 2}; !slices.Equal(got, want) {
		t.Errorf("with nothing to share the order is %v, want %v", got, want)
	}
}

// Beliefs follow Bayes' rule; worked by hand.
func TestBayes(t *testing.T) {
	m := &Model{None: 0.5, Causes: []Cause{{Chance: 0.2, Cost: 1}, {Chance: 0.3, Cost: 1}}, Checks: []Check{{Cost: 1, Likely: [][]float64{{0.9, 0.1, 0.1}, {0.1, 0.9, 0.9}}}}}
	b := m.After(m.Prior(), 0, 0)
	// 0.18, 0.03 and 0.05 of 0.26.
	for i, want := range []float64{0.18 / 0.26, 0.03 / 0.26, 0.05 / 0.26} {
		if !near(b[i], want, 1e-12) {
			t.Errorf("the chance of %d is %.6f, want %.6f", i, b[i], want)
		}
	}
}

// The order of answers doesn't matter, and no answer rules a cause out for good.
func TestAnswersCommuteAndNothingIsCertain(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 100 {
		m := random(r, 4, 2, 3, true)
		for i := range m.Checks[0].Likely[0] {
			m.Checks[0].Likely[0][i], m.Checks[0].Likely[1][i] = float64(i%2), 1-float64(i%2)
		}
		a := m.After(m.After(m.After(m.Prior(), 0, 1), 1, 0), 2, 1)
		b := m.After(m.After(m.After(m.Prior(), 2, 1), 0, 1), 1, 0)
		for i := range a {
			if !near(a[i], b[i], 1e-9) || a[i] <= 0 {
				t.Fatalf("the chance of %d is %g one way and %g the other", i, a[i], b[i])
			}
		}
	}
}

// What Next says costs at most a little more than the best plan that there is,
// which is found by trying everything; and never less.
func TestPlanIsNearTheBest(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	const cases = 150
	var got, want, without float64
	for range cases {
		m := random(r, 3, 2, 3, true)
		g, w := planned(m, m.Begin()), bruteBest(m, m.Prior(), 0, 0, 0)
		if g < w-1e-6 {
			t.Fatalf("the plan costs %.4f min, less than the best that there is, %.4f", g, w)
		}
		got, want, without = got+g, want+w, without+m.Repair(m.Prior(), 0)
	}
	t.Logf("mean minutes: %.2f as planned, %.2f at best, %.2f without checks", got/cases, want/cases, without/cases)
	if got > want*1.05 {
		t.Errorf("the plan costs %.2f min in the mean, the best %.2f", got/cases, want/cases)
	}
}

// A check that can't tell anything apart is worth nothing, and one that tells all
// apart comes first although it takes longer.
func TestWorth(t *testing.T) {
	flat := [][]float64{{0.5, 0.5, 0.5}, {0.5, 0.5, 0.5}}
	sharp := [][]float64{{0.99, 0.01, 0.01}, {0.01, 0.99, 0.01}, {0, 0, 0.98}}
	m := &Model{Unfound: 100, None: 0.2, Causes: []Cause{{Chance: 0.4, Cost: 50}, {Chance: 0.4, Cost: 50}}, Checks: []Check{{Cost: 1, Likely: flat}, {Cost: 5, Likely: sharp}}}
	verdict, list := m.Next(m.Begin())
	if verdict != GoOn || list[0].Check != 1 || list[1].Saves > 1e-9 {
		t.Errorf("the choice is %q, %+v; want the sharp check first and nothing saved by the flat one", verdict, list)
	}
	verdict, _ = m.Next(m.Made(m.Begin(), 1, 0))
	if verdict != StandsOut {
		t.Errorf("after a sharp answer the search ends with %q, want %q", verdict, StandsOut)
	}
	verdict, _ = m.Next(m.Made(m.Begin(), 1, 2))
	if verdict != NoFault {
		t.Errorf("where nothing shows the search ends with %q, want %q", verdict, NoFault)
	}
	s := m.Missed(m.Missed(m.Begin(), 0), 1)
	if verdict, _ = m.Next(s); verdict != NoMore {
		t.Errorf("where nothing can be checked the search ends with %q, want %q", verdict, NoMore)
	}
}

// Causes that are quicker to put right than to tell apart are put right.
func TestCheapToFixIsNotParted(t *testing.T) {
	m := &Model{Unfound: 100, None: 0.1, Causes: []Cause{{Chance: 0.45, Cost: 1}, {Chance: 0.45, Cost: 1}},
		Checks: []Check{{Cost: 5, Likely: [][]float64{{0.9, 0.1, 0.5}, {0.1, 0.9, 0.5}}}}}
	if verdict, list := m.Next(m.Begin()); verdict != FixInOrder {
		t.Errorf("the choice is %q, %+v; want %q", verdict, list, FixInOrder)
	}
}

// Two checks of which neither tells anything alone: only both together part the
// causes, so pairs are looked at where no single check pays.
func TestPairsAreSeen(t *testing.T) {
	// Four causes; the first check parts {0,1} from {2,3}, the second {0,2} from
	// {1,3}. Each costs most of what one alone would save.
	r := rand.New(rand.NewPCG(9, 10))
	found := false
	for range 3000 {
		m := random(r, 4, 1, 2, true)
		s := m.Begin()
		if w := m.Weigh(s); w[0].pays() {
			continue
		}
		if verdict, list := m.Next(s); verdict == GoOn {
			if list[0].Looks >= 0 {
				continue // a look at what is put right first
			}
			found = true
			if list[0].After < 0 || planned(m, s) > m.Repair(s.Belief, s.Open)+1e-9 {
				t.Fatalf("a pair was chosen that costs more than to put right at once: %+v", list[0])
			}
		}
	}
	if !found {
		t.Error("in 3000 models no pair of checks was worth it")
	}
}

// The likeliest cause is looked at before it is put right, where the look is short
// beside what is lost otherwise. By hand: it has 0.72, and 0.28 of its 30 min are lost,
// 8.4. Behind a yes the 0.0084 of a wrong one are lost, behind a no, where the other
// cause comes first, the 0.0776 of none: 2.58 min. So the look saves 5.82 min, more
// than its 5. All sums together it saves 4.27 and would not be made.
func TestTheLikeliestIsLookedAtFirst(t *testing.T) {
	m := &Model{Unfound: 150, None: 0.08, Causes: []Cause{{Chance: 0.72, Cost: 30}, {Chance: 0.2, Cost: 12}}}
	m.Checks = []Check{{Cost: 5, Likely: [][]float64{{0.82, 0.03, 0.03}, {0.18, 0.97, 0.97}}}}
	if w := m.Weigh(m.Begin())[0]; !near(w.Saves, 4.265, 1e-3) {
		t.Errorf("all sums together it saves %.3f min, want 4.265", w.Saves)
	}
	verdict, list := m.Next(m.Begin())
	if verdict != GoOn || list[0].Looks != 0 || !near(list[0].Saves, 5.82, 1e-6) {
		t.Fatalf("it comes to %q, %+v; want a look that saves 5.82 min", verdict, list)
	}
	m.Checks[0].Cost = 6
	if verdict, list = m.Next(m.Begin()); verdict != FixInOrder {
		t.Errorf("a look that takes more than it saves comes to %q, %+v", verdict, list)
	}
	if !m.Straight(0, 0) || m.Straight(0, 1) {
		t.Error("27 times as likely as usual is no look straight at a cause, or as likely as usual is one")
	}
	m.Checks[0].Likely = [][]float64{{0.7, 0.1, 0.1}, {0.3, 0.9, 0.9}}
	if m.Straight(0, 0) {
		t.Error("7 times as likely is a look straight at the cause")
	}
	if m.Checks[0].LooksAt = []int{0}; !m.Straight(0, 0) {
		t.Error("a check that is said to look at the cause does not")
	}
}

// lostBrute is how many minutes of one cause are lost in expectation: whichever cause
// it is, the order is gone through as far as the rest is not cheaper given up.
func lostBrute(m *Model, b Belief, open Set, cause int) float64 {
	order := m.Order(b, open)
	costs := func(upTo, truth int) (all, wrong float64) {
		open := open
		for _, i := range order[:upTo] {
			minutes := m.Causes[i].Cost + m.opening(m.Causes[i].Opens, open)
			open |= m.Causes[i].Opens
			all += minutes
			if i == truth {
				return all, wrong
			}
			if i == cause {
				wrong = minutes
			}
		}
		return all + m.Unfound, wrong
	}
	least, lost := math.Inf(1), 0.0
	for upTo := range len(order) + 1 {
		all, wrong := 0.0, 0.0
		for truth, p := range b {
			a, w := costs(upTo, truth)
			all, wrong = all+p*a, wrong+p*w
		}
		if all < least-1e-9 {
			least, lost = all, wrong
		}
	}
	return lost
}

// No search ends on a cause at which a check looks straight that was not made and
// whose minutes are fewer than those it keeps from being lost, worked out by going
// through every fault.
func TestNoSearchEndsBeforeAStraightLook(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	ended, looks := 0, 0
	var follow func(m *Model, s State)
	follow = func(m *Model, s State) {
		verdict, list := m.Next(s)
		if verdict == GoOn {
			if list[0].Looks >= 0 {
				looks++
			}
			for o := range m.Checks[list[0].Check].Likely {
				follow(m, m.Made(s, list[0].Check, o))
			}
			return
		}
		if verdict == NoFault {
			return
		}
		ended++
		for _, cause := range m.named(s) {
			for k, c := range m.Checks {
				if s.Done[k] || !m.Straight(k, cause) {
					continue
				}
				saves := lostBrute(m, s.Belief, s.Open, cause)
				for o := range c.Likely {
					next, chance := m.after(s.Belief, k, o)
					saves -= chance * lostBrute(m, next, s.Open|c.Opens, cause)
				}
				if takes := m.takes(k, s.Open); saves > takes+1e-6 {
					t.Fatalf("it ends with %q on %d; check %d takes %.3f min and keeps %.3f from being lost: %+v", verdict, cause, k, takes, saves, m)
				}
			}
		}
	}
	for range 1500 {
		m := random(r, 4, 2, 4, true)
		follow(m, m.Begin())
	}
	if ended < 1500 || looks < 20 {
		t.Errorf("of %d ends there were %d looks ahead of putting right: that shows little", ended, looks)
	}
}

func TestLikelihoodsAreFilledIn(t *testing.T) {
	const open = -1
	for _, c := range []struct {
		name          string
		stated, usual []float64
		want          []float64
		ok            bool
	}{
		{"nothing stated is alike", []float64{open, open}, nil, []float64{0.5, 0.5}, true},
		{"the rest is shared", []float64{0.7, open, open}, nil, []float64{0.7, 0.15, 0.15}, true},
		{"in proportion to what is usual", []float64{0.4, open, open}, []float64{0.1, 0.6, 0.3}, []float64{0.4, 0.4, 0.2}, true},
		{"all stated", []float64{0.4, 0.6}, []float64{0.5, 0.5}, []float64{0.4, 0.6}, true},
		{"too much", []float64{0.7, 0.6}, nil, nil, false},
		{"too little", []float64{0.2, 0.3}, nil, nil, false},
	} {
		spread := func() ([]float64, bool) {
			if c.usual == nil {
				return Usual(c.stated)
			}
			return Under(c.stated, c.usual)
		}
		got, ok := spread()
		if ok != c.ok || len(got) != len(c.want) {
			t.Errorf("%s: %v, %v; want %v, %v", c.name, got, ok, c.want, c.ok)
			continue
		}
		for i := range got {
			if !near(got[i], c.want[i], 1e-12) {
				t.Errorf("%s: %v, want %v", c.name, got, c.want)
			}
		}
	}
}

// largest is a model at every limit.
func largest() *Model {
	r := rand.New(rand.NewPCG(13, 14))
	m := random(r, MostCauses, MostOpenings, 0, false)
	m.Unfound = 1e4
	for range MostChecks {
		c := Check{Cost: 1e3 + r.Float64(), Opens: Set(r.IntN(1 << MostOpenings))}
		for range MostOutcomes {
			row := make([]float64, MostCauses+1)
			for i := range row {
				row[i] = r.Float64()
			}
			c.Likely = append(c.Likely, row)
		}
		m.Checks = append(m.Checks, c)
	}
	return m
}

// BenchmarkLargest is one choice in a model at every limit, where no single check
// pays.
func BenchmarkLargest(b *testing.B) {
	m := largest()
	for b.Loop() {
		m.Next(m.Begin())
	}
}
