package trial

import (
	"fmt"
	"slices"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/rules"
	"dropwalk/engine/subject"
)

// Ways through a step. Those of a choice are its words.
const (
	wayTrue    = "when true"
	wayFalse   = "when false"
	wayUnknown = "when not known"
	wayDone    = "done"
	wayAnswer  = "answered"
	wayUnsaid  = "not known"
	waySkipped = "skipped"
	wayCannot  = "can't be done"
	wayPassed  = "passed"
	wayLine    = "line %d not true"
	wayRead    = "read"
	wayBack    = "led back"
	wayLeast   = "as seldom as it may"
	wayMost    = "as often as it may"
	wayUntold  = "can't be told"
	wayStop    = "stopped"
)

// mostTries bounds the search for facts, over a whole trial.
const mostTries = 300_000

// mostThrows is how many walks with thrown answers are tried to come to a place in
// a search.
const mostThrows = 40

// Branch is one way through one step.
type Branch struct {
	Step string `json:"step"`
	Way  string `json:"way"`
}

func (b Branch) String() string { return b.Step + ": " + b.Way }

// place is a step, or a part with a rule, with what stands around it.
type place struct {
	id    string
	step  *engine.Step // nil for a part
	when  *rules.Rule  // its own
	under []*place     // the part and the rounds around it, outermost first
	ways  []string
	found bool // it is part of a search for causes
}

// map of a procedure: its places in order.
type layout struct {
	proc   *engine.Procedure
	matter subject.Subject
	places []*place
	byID   map[string]*place
	undoes bool // some step leaves something to undo
	tries  int  // that are left for searching through facts
}

func newLayout(p *engine.Procedure, matter subject.Subject) *layout {
	l := &layout{proc: p, matter: matter, tries: mostTries, byID: map[string]*place{}}
	for i, part := range p.Parts {
		var under []*place
		if part.When != nil {
			at := &place{id: fmt.Sprintf("part %d", i+1), when: part.When, ways: whenWays}
			l.places = append(l.places, at)
			under = []*place{at}
		}
		l.collect(part.Steps, under)
	}
	for _, at := range l.places {
		if at.step != nil {
			l.undoes = l.undoes || at.step.Undo != ""
		}
	}
	for _, at := range l.places {
		if at.step != nil {
			at.ways = append(at.ways, l.ways(at.step)...)
		}
	}
	return l
}

var whenWays = []string{wayTrue, wayFalse, wayUnknown}

func (l *layout) collect(list []*engine.Step, under []*place) {
	for _, s := range list {
		at := &place{id: s.ID, step: s, when: s.When, under: under}
		if s.When != nil {
			at.ways = l.outcomes(at)
		}
		l.places = append(l.places, at)
		l.byID[s.ID] = at
		inner := append(slices.Clone(under), at)
		if s.Kind == engine.Checks {
			l.search(inner)
			continue
		}
		l.collect(s.Each, inner)
	}
}

// outcomes are those of the rule of a place. What a round brings is known, so a
// rule on nothing else always comes to something.
func (l *layout) outcomes(at *place) []string {
	for _, name := range at.when.Facts() {
		if _, brought := l.brought(at, name); !brought {
			return slices.Clone(whenWays)
		}
	}
	return []string{wayTrue, wayFalse}
}

// ways are those through a step that is shown.
func (l *layout) ways(s *engine.Step) []string {
	var ways []string
	switch s.Kind {
	case engine.Rounds:
		ways = []string{wayLeast}
		if s.AtMost > s.AtLeast {
			ways = append(ways, wayMost)
		}
		return ways
	case engine.Owed:
		if !l.undoes {
			return nil
		}
		return []string{wayDone, waySkipped}
	case engine.Ask:
		ways = l.answers(s)
	case engine.Examine:
		for _, o := range s.Check.Outcomes {
			ways = append(ways, o.Word)
		}
		return append(ways, wayUntold, wayStop)
	case engine.Checks:
		return nil
	case engine.Do:
		ways = []string{wayDone}
	case engine.Hold:
		ways = []string{wayPassed}
		for i := range s.Lines {
			ways = append(ways, fmt.Sprintf(wayLine, i+1))
		}
	case engine.Tell:
		ways = []string{wayRead}
		if len(s.BackTo) > 0 {
			ways = []string{wayBack}
		}
	default:
		ways = []string{wayRead}
	}
	if s.Skip != "" {
		ways = append(ways, waySkipped)
	}
	if s.Cannot != "" {
		ways = append(ways, wayCannot)
	}
	return append(ways, wayStop)
}

// answers are the words of a lone choice, else any answer, and not knowing
// where that is taken.
func (l *layout) answers(s *engine.Step) []string {
	ways := []string{wayAnswer}
	needed := false
	for _, path := range s.Fills {
		f, _ := l.matter.Field(path)
		needed = needed || f.Required
		if f.Kind == quantity.Choice && len(s.Fills) == 1 {
			ways = slices.Clone(f.Choices)
		}
	}
	if !needed {
		ways = append(ways, wayUnsaid)
	}
	return ways
}

// brought finds a value that the rounds around a place bring.
func (l *layout) brought(at *place, name string) (subject.Fact, bool) {
	for _, outer := range at.under {
		if outer.step == nil || outer.step.Kind != engine.Rounds {
			continue
		}
		source, _ := l.matter.Source(outer.step.Source)
		for _, f := range source.Values {
			if f.Name == name {
				return f, true
			}
		}
	}
	return subject.Fact{}, false
}

// fact finds what the rules of places can name: values of the rounds around
// them, else facts.
func (l *layout) fact(at ...*place) func(string) (subject.Fact, bool) {
	return func(name string) (subject.Fact, bool) {
		for _, a := range at {
			if f, ok := l.brought(a, name); ok {
				return f, true
			}
		}
		return l.matter.Fact(name)
	}
}

// search collects what the checks of a procedure bring: what is opened, the holds
// between states of the car, and the rows.
func (l *layout) search(under []*place) {
	first := len(l.places)
	f := l.proc.Search
	for _, list := range [][]*engine.Step{f.Openings, f.Gates, f.Checks} {
		l.collect(list, under)
	}
	for _, at := range l.places[first:] {
		at.found = true
	}
}

// aim is a place that a walk is to come to, and what the rules on the way have
// to come to for it.
type aim struct {
	at     *place
	branch Branch
	wanted []rules.Wanted
	lean   int // of a place in a search: the cause as which the other checks come out; -1 none can be told; beyond the causes a throw
}

// suppose finds facts under which an aim is come to. Rules around it are true,
// or where that can't be, not known.
func (l *layout) suppose(at *place, b Branch) (aim, rules.Facts, bool) {
	ok := []rules.Truth{rules.True}
	switch b.Way {
	case wayFalse:
		ok = []rules.Truth{rules.False}
	case wayUnknown:
		ok = []rules.Truth{rules.Unknown}
	}
	for _, around := range [][]rules.Truth{{rules.True}, {rules.True, rules.Unknown}} {
		to := aim{at: at, branch: b}
		for _, outer := range at.under {
			if outer.when != nil {
				to.wanted = append(to.wanted, rules.Wanted{Rule: outer.when, OK: around})
			}
		}
		if at.when != nil {
			to.wanted = append(to.wanted, rules.Wanted{Rule: at.when, OK: ok})
		}
		unknowns := b.Way == wayUnknown || len(around) > 1
		if facts, found, _ := (rules.Search{Fact: l.fact(at), Unknowns: unknowns, Left: &l.tries}).Find(to.wanted); found {
			return to, facts, true
		}
	}
	return aim{}, nil, false
}
