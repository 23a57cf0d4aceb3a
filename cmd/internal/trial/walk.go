package trial

import (
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"strings"

	"dropwalk/engine"
	"dropwalk/engine/rules"
	"dropwalk/engine/subject"
)

// mostReturns is how often one tell may lead back before it counts as one that
// nobody gets past.
const mostReturns = 3

// path is one walk.
type path struct {
	*walker
	aim    aim
	matter *supposed
	run    *engine.Run
	events []engine.Event
	backs  map[string]int // by slot of a tell
	left   bool           // a duty was left open on purpose
}

func (w *walker) newPath(matter *supposed) *path {
	w.paths++
	return &path{walker: w, matter: matter, run: engine.NewRun(w.proc, matter), backs: map[string]int{}}
}

func (p *path) apply(events ...engine.Event) {
	for _, e := range events {
		p.events = append(p.events, e)
		p.run.Apply(e)
	}
}

// walk goes from the start to the end, with the given facts. At each step it
// takes a way that was not taken yet, where there is one.
func (w *walker) walk(facts rules.Facts, to aim) {
	matter := &supposed{Subject: w.matter, facts: rules.Facts{}, rounds: w.rounds(to.branch)}
	maps.Copy(matter.facts, facts)
	p := w.newPath(matter)
	p.aim = to
	p.apply(p.run.Start(nil))
	for {
		prompt, open, ok := p.next()
		if !ok {
			return
		}
		if !open {
			break
		}
		if !p.step(prompt) {
			return
		}
	}
	p.ended()
}

// next is the open prompt; ok is false where the budget is spent.
func (p *path) next() (prompt engine.Prompt, open, ok bool) {
	for {
		e, due := p.run.Settle()
		if !due {
			break
		}
		p.work++
		if e.Weighed != nil {
			p.work += len(e.Weighed.Checks) * len(e.Weighed.Chances) // a choice among checks is no small thing
		}
		p.apply(e)
	}
	prompt, open = p.run.Next()
	p.prompts++
	if p.work += 1 + prompt.Place.StepNo; p.work > p.budget {
		p.spent = true
	}
	return prompt, open, !p.spent
}

// step answers one prompt. It reports false where nothing leads on.
func (p *path) step(prompt engine.Prompt) bool {
	at := p.at(prompt)
	p.note(at, prompt.Round)
	if stop := (Branch{at.id, wayStop}); prompt.Kind != engine.Owed && !p.taken[stop] {
		p.taken[stop] = true
		p.fork(prompt, engine.Answer{Move: engine.Stop, Why: "it is tried"})
	}
	way := p.choose(at)
	p.taken[Branch{at.id, way}] = true
	if way == wayCannot && at.step.CannotThen == engine.Stop {
		p.fork(prompt, answerFor(at, way))
		way = usualWay(at)
	}
	if way == wayBack {
		return p.back(at, prompt)
	}
	p.left = p.left || prompt.Kind == engine.Owed && way == waySkipped
	events, err := p.run.Propose(prompt, answerFor(at, way))
	if err != nil {
		p.deadEnd(at.id, err.Error())
		return false
	}
	p.apply(events...)
	return true
}

// at is the place of a prompt. One of a duty stands at the step that lists what
// is owed.
func (p *path) at(prompt engine.Prompt) *place {
	if prompt.Kind != engine.Owed {
		return p.byID[prompt.Step]
	}
	for _, at := range p.places {
		if at.step != nil && at.step.Kind == engine.Owed {
			return at
		}
	}
	return nil
}

// choose is a way through a step that was not taken yet, else the usual one.
func (p *path) choose(at *place) string {
	if at.step.Kind == engine.Examine && p.aim.at != nil && p.aim.at.found {
		return p.steer(at)
	}
	for _, way := range at.ways {
		if strings.HasPrefix(way, "when ") || way == wayStop || p.taken[Branch{at.id, way}] {
			continue
		}
		return way
	}
	return usualWay(at)
}

// steer answers a check so that the search comes to the aim.
func (p *path) steer(at *place) string {
	switch {
	case at == p.aim.at && !strings.HasPrefix(p.aim.branch.Way, "when ") && p.aim.branch.Way != wayStop:
		return p.aim.branch.Way
	case p.aim.lean < 0:
		return wayUntold
	}
	if throw := p.aim.lean - len(p.proc.Search.Causes); throw > 0 {
		ways := at.step.Check.Outcomes
		dice := rand.New(rand.NewPCG(uint64(throw), uint64(at.step.Check.Number)))
		if dice.IntN(3) == 0 {
			return wayUntold
		}
		return ways[dice.IntN(len(ways))].Word
	}
	return at.step.Check.Likeliest(p.aim.lean)
}

// usualWay is the first that is no outcome of a rule.
func usualWay(at *place) string {
	for _, way := range at.ways {
		if !strings.HasPrefix(way, "when ") {
			return way
		}
	}
	return wayRead
}

func answerFor(at *place, way string) engine.Answer {
	const why = "it is tried"
	switch way {
	case wayDone, wayRead, wayBack:
		return engine.Answer{}
	case wayPassed:
		return engine.Answer{Text: "ready"}
	case wayUnsaid:
		return engine.Answer{Text: unsaid}
	case wayUntold:
		return engine.Answer{Move: engine.Cannot, Why: why}
	case waySkipped:
		return engine.Answer{Move: engine.Skip, Why: why}
	case wayCannot:
		return engine.Answer{Move: engine.Cannot, Why: why}
	case wayAnswer:
		return engine.Answer{Text: "as supposed"}
	}
	var line int
	if n, _ := fmt.Sscanf(way, wayLine, &line); n == 1 && at.step.Kind == engine.Hold {
		return engine.Answer{Text: fmt.Sprint(line)}
	}
	if at.step.Kind == engine.Examine {
		return engine.Answer{Text: at.step.Check.Sample(way)}
	}
	return engine.Answer{Text: way} // a word of a choice
}

// back passes a tell that leads back, and supposes facts under which it doesn't
// come again: what it complained of is put right.
func (p *path) back(at *place, prompt engine.Prompt) bool {
	p.noteHidden(at)
	events, err := p.run.Propose(prompt, engine.Answer{})
	switch {
	case err != nil:
		p.deadEnd(at.id, err.Error())
		return false
	case len(events) == 0:
		p.deadEnd(at.id, "none of the steps that it leads back to is shown when it is")
		return false
	}
	if p.backs[prompt.Slot]++; p.backs[prompt.Slot] > mostReturns {
		p.deadEnd(at.id, "it comes again whatever is answered")
		return false
	}
	facts, found, whole := p.putRight(at)
	if !found {
		if whole {
			p.deadEnd(at.id, "its rule is never false, so nobody gets past it")
		}
		return false
	}
	for _, name := range at.when.Facts() {
		delete(p.matter.facts, name) // one that was found to be unknown
	}
	maps.Copy(p.matter.facts, facts)
	p.apply(events...)
	return true
}

// putRight finds facts under which a rule is false, and the aim of the walk is
// still come to where that can be.
func (p *path) putRight(at *place) (facts rules.Facts, found, whole bool) {
	wanted := []rules.Wanted{{Rule: at.when, OK: []rules.Truth{rules.False}}}
	places := []*place{at}
	if p.aim.at != nil && p.aim.at != at {
		places = append(places, p.aim.at)
		if facts, found, whole = (rules.Search{Fact: p.fact(places...), Unknowns: true, Left: &p.tries}).Find(append(wanted, p.aim.wanted...)); found {
			return facts, found, whole
		}
	}
	return rules.Search{Fact: p.fact(at), Unknowns: true, Left: &p.tries}.Find(wanted)
}

// fork tries on a copy of the walk what ends it: a stop, or a step that can't be
// done and ends the test. Every duty has to come up before the end.
func (p *path) fork(prompt engine.Prompt, answer engine.Answer) {
	f := p.newPath(&supposed{Subject: p.walker.matter, facts: p.matter.facts, rounds: p.matter.rounds})
	f.apply(p.events...)
	step := p.at(prompt).id
	events, err := f.run.Propose(prompt, answer)
	if err != nil {
		p.deadEnd(step, "a stop is refused: "+err.Error())
		return
	}
	f.apply(events...)
	for {
		open, isOpen, ok := f.next()
		if !ok {
			return
		}
		if !isOpen {
			break
		}
		reply := engine.Answer{}
		if open.Kind == engine.Hold {
			reply.Text = "ready"
		}
		events, err := f.run.Propose(open, reply)
		if err = errors.Join(err, nothing(events)); err != nil {
			p.deadEnd(step, "after a stop here: "+err.Error())
			return
		}
		f.apply(events...)
	}
	p.work += prompt.Place.StepNo
	if _, ended := f.run.Ended(); !ended || len(f.run.Owed()) > 0 && !p.left {
		p.deadEnd(step, "after a stop here something is still owed to the car")
	}
}

func nothing(events []engine.Event) error {
	if len(events) == 0 {
		return errors.New("an answer leads nowhere")
	}
	return nil
}

// note marks that a prompt was come to, and what its rules came to.
func (p *path) note(at *place, round subject.Round) {
	p.reached[at.id] = true
	for _, q := range append(at.under[:len(at.under):len(at.under)], at) {
		if q.when == nil {
			continue
		}
		switch q.when.Eval(p.values(q, round)) {
		case rules.True:
			p.taken[Branch{q.id, wayTrue}] = true
		case rules.Unknown:
			p.taken[Branch{q.id, wayUnknown}] = true
		}
	}
}

// noteHidden marks the rules ahead of a place that left their steps out.
func (p *path) noteHidden(before *place) {
	for _, at := range p.places {
		if at == before {
			return
		}
		if p.entered(at.under) && p.hidden(at) {
			p.taken[Branch{at.id, wayFalse}] = true
		}
	}
}

// values are the facts at a place. Where no round is given, one is supposed.
func (p *path) values(at *place, round subject.Round) func(string) subject.Value {
	return func(name string) subject.Value {
		f, brought := p.brought(at, name)
		if !brought {
			return p.matter.facts[name]
		}
		text, ok := round.Values[name]
		if !ok {
			text = p.matter.roundText(f, 1)
		}
		return engine.RoundValue(text)
	}
}

// ended takes stock of a walk that came to its end: what its rules left out, and
// how often its rounds came.
func (p *path) ended() {
	p.noteHidden(nil)
	for _, at := range p.places {
		if at.step == nil || !p.entered(at.under) || p.hidden(at) {
			continue
		}
		switch at.step.Kind {
		case engine.Owed, engine.Checks:
			p.reached[at.id] = true
		case engine.Rounds:
			p.reached[at.id] = true
			if p.matter.rounds[at.id] == at.step.AtLeast {
				p.taken[Branch{at.id, wayLeast}] = true
			}
			if p.matter.rounds[at.id] == at.step.AtMost {
				p.taken[Branch{at.id, wayMost}] = true
			}
		}
	}
	if owed := p.run.Owed(); len(owed) > 0 && !p.left {
		p.deadEnd(stepOf(owed[0].Slot), "what it leaves is still owed at the end")
	}
	if p.run.Car() == engine.Moving {
		p.deadEnd(p.places[len(p.places)-1].id, "the car still moves at the end")
	}
}

// entered tells whether parts and rounds were gone into.
func (p *path) entered(under []*place) bool {
	for _, at := range under {
		if p.hidden(at) || at.step != nil && at.step.Kind == engine.Rounds && p.matter.rounds[at.id] == 0 {
			return false
		}
	}
	return true
}

// hidden tells whether the rule of a place leaves it out.
func (p *path) hidden(at *place) bool {
	return at.when != nil && at.when.Eval(p.values(at, subject.Round{})) == rules.False
}
