package trial

import (
	"slices"

	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// Usual is a budget that covers a procedure of some hundred steps. One unit is
// one step passed on the way to a prompt.
const Usual = 400_000

// Trial is what walking a procedure brought to light.
type Trial struct {
	Steps    int       `json:"steps"`
	Reached  int       `json:"reached"`
	Branches int       `json:"branches"`
	Taken    int       `json:"taken"`
	Paths    int       `json:"paths"`     // walks, stops among them
	Prompts  int       `json:"prompts"`   // of all walks
	Never    []string  `json:"unreached"` // steps that no walk came to
	DeadEnds []DeadEnd `json:"dead_ends"`
	Idle     []string  `json:"idle_rules"` // steps and parts whose rule makes no difference
	Untaken  []Branch  `json:"untaken"`    // branches that can't be taken, or were left for want of budget
	Whole    bool      `json:"whole"`      // false where the budget was spent first
}

// DeadEnd is a place from which nothing but stop leads on.
type DeadEnd struct {
	Step string `json:"step"`
	Why  string `json:"why"`
}

// Sound tells whether every step is come to and every path has an end.
func (t *Trial) Sound() bool { return len(t.Never) == 0 && len(t.DeadEnds) == 0 }

// Walk goes through a procedure until every branch was taken that can be, or
// until the budget is spent.
func Walk(p *engine.Procedure, matter subject.Subject, budget int) *Trial {
	w := &walker{layout: newLayout(p, matter), budget: budget, taken: map[Branch]bool{}, reached: map[string]bool{}, givenUp: map[Branch]bool{}}
	w.walk(nil, aim{})
	for {
		at, next, ok := w.open()
		if !ok || w.spent {
			break
		}
		w.reach(at, next)
		if !w.taken[next] {
			w.givenUp[next] = true
		}
	}
	return w.trial()
}

type walker struct {
	*layout
	budget, work int
	spent        bool
	paths        int
	prompts      int
	taken        map[Branch]bool
	givenUp      map[Branch]bool
	reached      map[string]bool
	dead         []DeadEnd
}

// open is the first branch that is neither taken nor given up.
func (w *walker) open() (*place, Branch, bool) {
	for _, at := range w.places {
		for _, way := range at.ways {
			if b := (Branch{at.id, way}); !w.taken[b] && !w.givenUp[b] {
				return at, b, true
			}
		}
	}
	return nil, Branch{}, false
}

// reach walks so that a branch is taken, where facts can be supposed that lead
// to it.
func (w *walker) reach(at *place, b Branch) {
	to, facts, found := w.suppose(at, b)
	if !found {
		return
	}
	if !at.found {
		w.walk(facts, to)
		return
	}
	// The next check follows from the answers before it: nothing can be told, or
	// each cause in turn shows as it does most often, or answers as they fall.
	for lean := range len(w.proc.Search.Causes) + 2 + mostThrows {
		if to.lean = lean - 1; !w.taken[b] && !w.spent {
			w.walk(facts, to)
		}
	}
}

// rounds is how often each step of rounds is gone through on the way to a
// branch: once or as often as it must, but for the branch itself.
func (w *walker) rounds(b Branch) map[string]int {
	counts := map[string]int{}
	for _, at := range w.places {
		if at.step == nil || at.step.Kind != engine.Rounds {
			continue
		}
		counts[at.id] = max(1, at.step.AtLeast)
		switch b {
		case Branch{at.id, wayLeast}:
			counts[at.id] = at.step.AtLeast
		case Branch{at.id, wayMost}:
			counts[at.id] = at.step.AtMost
		}
	}
	return counts
}

func (w *walker) deadEnd(step, why string) {
	if d := (DeadEnd{step, why}); !slices.Contains(w.dead, d) {
		w.dead = append(w.dead, d)
	}
}

func (w *walker) trial() *Trial {
	t := &Trial{Paths: w.paths, Prompts: w.prompts, DeadEnds: w.dead, Whole: !w.spent && w.tries > 0, Never: []string{}, Idle: []string{}, Untaken: []Branch{}}
	if t.DeadEnds == nil {
		t.DeadEnds = []DeadEnd{}
	}
	for _, at := range w.places {
		if at.step != nil {
			t.Steps++
			if w.reached[at.id] {
				t.Reached++
			} else if !w.spent {
				t.Never = append(t.Never, at.id)
			}
		}
		for _, way := range at.ways {
			b := Branch{at.id, way}
			t.Branches++
			if w.taken[b] {
				t.Taken++
			} else {
				t.Untaken = append(t.Untaken, b)
			}
		}
		if at.when != nil && !w.spent && w.taken[Branch{at.id, wayTrue}] != w.taken[Branch{at.id, wayFalse}] {
			t.Idle = append(t.Idle, at.id)
		}
	}
	return t
}
