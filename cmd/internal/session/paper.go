package session

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// How the entries of a paper are told apart.
const (
	firstEntry = 1 + iota
	secondEntry
	thirdEntry
)

// paper is a sitting at which a paper is typed in: block by block, each a part or
// one round of the outermost rounds. A block is walked on a copy of the run; its
// numbers are typed once more without the first entry in sight; what differs is
// asked a third time. Then, and only then, its events are recorded, in the order
// of the procedure.
type paper struct {
	*Session
	waiting  waiting // typed and no event yet
	alone    map[string]bool
	stopping bool // stop was typed where nothing waits
}

// entered is one answer of a block.
type entered struct {
	prompt engine.Prompt
	before *engine.Run // where it was given
	answer engine.Answer
	events []engine.Event
	second string // of a number
	first  string // kept beside the answer where entries differed
	silent bool   // nobody was asked
}

// Ways in which a block ends before its numbers are typed again.
var (
	errBlockOver = errors.New("the block is over")
	errAnew      = errors.New("the block begins anew")
)

// drivePaper goes on until the run ends, as Drive does.
func (s *Session) drivePaper(ctx context.Context) error {
	p := &paper{Session: s, waiting: waitingOf(s.Earlier), alone: map[string]bool{}}
	s.Earlier = nil
	for {
		if event, due := s.Run.Settle(); due {
			if err := s.happen(event); err != nil {
				return err
			}
			p.tellRound(event)
			continue
		}
		open, ok := s.Run.Next()
		if !ok {
			return nil
		}
		if err := p.block(ctx, blockOf(open)); err != nil {
			return err
		}
	}
}

// blockOf names the block that a prompt belongs to.
func blockOf(p engine.Prompt) string {
	outer, _, _ := strings.Cut(p.Round.Slot, "/")
	return fmt.Sprint(p.Place.PartNo, " ", outer)
}

// tellRound says what the advice asks for: the paper may have something else.
func (p *paper) tellRound(e engine.Event) {
	p.tellDue(e)
	if e.Kind == engine.Chosen && e.Taken != nil && *e.Taken && e.Offer != nil && e.Offer.Reason != "" && !strings.Contains(e.Slot, "/") {
		p.Asker.Say(Message{Title: "Next: " + e.Offer.Reason + ".", Lines: []string{"Where the paper has nothing of it: pause, and go on at the car; or stop, which leads to what was put back."}})
	}
}

// block has one block typed in and recorded.
func (p *paper) block(ctx context.Context, name string) error {
	list, err := p.enter(ctx, name)
	switch {
	case errors.Is(err, errAnew):
		return nil
	case err != nil && !errors.Is(err, errBlockOver):
		return err
	}
	if err := p.enterAgain(ctx, list); err != nil {
		return err
	}
	return p.record(list)
}

// enter has a block typed in once.
func (p *paper) enter(ctx context.Context, name string) ([]*entered, error) {
	ahead := p.Run.Copy()
	var list []*entered
	for {
		if event, due := ahead.Settle(); due {
			if p.restsOnNumbers(event) && slices.ContainsFunc(list, isNumber) {
				return list, nil
			}
			ahead.Apply(event)
			continue
		}
		open, ok := ahead.Next()
		if !ok || blockOf(open) != name {
			return list, nil
		}
		e := &entered{prompt: open, before: ahead.Copy()}
		err := p.first(ctx, e, list)
		switch {
		case errors.Is(err, errTakenBack):
			n := lastAsked(list)
			if err := p.takeBack(list[n], list[n+1:]); err != nil {
				if err := p.unsaved(err); err != nil {
					return list, err
				}
				continue
			}
			ahead, list = list[n].before, list[:n]
			continue
		case err != nil:
			return list, err
		case e.events == nil: // a group was answered: its answers wait
			continue
		}
		list = append(list, e)
		for _, event := range e.events {
			ahead.Apply(event)
		}
	}
}

// restsOnNumbers tells whether a choice opens more than the procedure asks for in
// any case: a slip in a number can be why. What was typed is checked first.
func (p *paper) restsOnNumbers(e engine.Event) bool {
	if e.Kind != engine.Chosen || e.Taken == nil || !*e.Taken {
		return false
	}
	least := stepOf(p.Run.Procedure(), e.Step).AtLeast
	n, _ := strconv.Atoi(e.Slot[strings.LastIndex(e.Slot, ".")+1:])
	return e.Step == "" || least > 0 && n > least
}

// stepOf finds a step by its id; an empty one stands for none.
func stepOf(p *engine.Procedure, id string) engine.Step {
	for s := range p.Steps() {
		if s.ID == id {
			return *s
		}
	}
	return engine.Step{}
}

var errTakenBack = errors.New("the latest entry is taken back")

// lastAsked is the place of the latest answer that somebody gave, -1 for none.
func lastAsked(list []*entered) int {
	for i, e := range slices.Backward(list) {
		if !e.silent {
			return i
		}
	}
	return -1
}

// takeBack has an entry typed anew. What was ticked behind it waits.
func (p *paper) takeBack(e *entered, behind []*entered) error {
	if err := p.keep(Typed{Slot: e.prompt.Slot, Step: e.prompt.Step, Entry: firstEntry, Back: true}); err != nil {
		return err
	}
	p.alone[e.prompt.Slot] = true
	for _, b := range behind {
		if b.answer.Text == engine.OnPaper {
			p.waiting.push(b.prompt.Slot, firstEntry, b.answer)
		}
	}
	return nil
}

// first brings the first entry of e: what an earlier sitting left, what needs no
// answer, or what is typed. Where a group was answered e has no events.
func (p *paper) first(ctx context.Context, e *entered, list []*entered) error {
	var err error
	if a, ok := p.waiting.pop(e.prompt.Slot, firstEntry); ok {
		e.answer = a
		if e.events, err = onPaper(e.before, e.prompt, a); err == nil {
			e.silent = a.Text == engine.OnPaper
			return nil
		}
	}
	switch e.prompt.Kind {
	case engine.Show, engine.Tell:
		if e.silent = true; e.prompt.Kind == engine.Tell {
			p.say(strings.TrimSpace(e.prompt.Number + " " + e.prompt.Text))
		}
		e.events, err = e.before.Propose(e.prompt, e.answer)
		return err
	case engine.Do, engine.Hold, engine.Owed:
		if !p.alone[e.prompt.Slot] {
			e.prompt.Group, e.prompt.OnPaper = p.ticks(e.before), true
		}
	}
	return p.ask(ctx, e, list)
}

// ticks are the prompts from the open one on that a paper has boxes for and nobody
// was asked about by itself.
func (p *paper) ticks(run *engine.Run) []engine.Prompt {
	var list []engine.Prompt
	name := ""
	for ahead := run.Copy(); ; {
		if event, due := ahead.Settle(); due && event.Kind == engine.Chosen && len(list) > 0 {
			return list
		}
		open, ok := ahead.Next()
		if !ok || p.alone[open.Slot] || len(p.waiting[entryOf{open.Slot, firstEntry}]) > 0 || name != "" && blockOf(open) != name {
			return list
		}
		switch open.Kind {
		case engine.Do, engine.Hold, engine.Owed:
		default:
			return list
		}
		name = blockOf(open)
		list = append(list, open)
		events, err := onPaper(ahead, open, engine.Answer{Text: engine.OnPaper})
		if err != nil {
			return list
		}
		for _, event := range events {
			ahead.Apply(event)
		}
	}
}

// onPaper proposes an answer of a paper: what is done there is ticked, and the
// events say so.
func onPaper(run *engine.Run, p engine.Prompt, a engine.Answer) ([]engine.Event, error) {
	ticked := a.Move == engine.Answering && (a.Text == engine.OnPaper || p.Kind == engine.Do || p.Kind == engine.Owed)
	if p.Kind == engine.Hold && a.Text == readyText {
		a.Text, ticked = engine.OnPaper, true
	}
	if ticked && p.Kind != engine.Hold {
		a.Text = ""
	}
	events, err := run.Propose(p, a)
	for i := range events {
		if ticked && events[i].Kind == engine.Answered {
			events[i].Raw = engine.OnPaper
		}
	}
	return events, err
}

// readyText is what a person types at a hold that is passed.
const readyText = "ready"

// ask has e answered by somebody.
func (p *paper) ask(ctx context.Context, e *entered, list []*entered) error {
	var refused *subject.Refusal
	for {
		a, err := p.Asker.Ask(ctx, e.prompt, refused)
		switch {
		case errors.Is(err, ErrView):
			continue
		case err != nil:
			return err
		case a.Move == engine.Back && lastAsked(list) >= 0:
			return errTakenBack
		case a.Move == engine.Back:
			refused, err = p.backFurther(a)
		case a.Move == engine.Stop && len(list) > 0:
			p.stopping = true
			p.say("What was typed so far is taken first. Then type stop once more.")
			return errBlockOver
		case a.Move == engine.Stop:
			refused, err = p.stop(a)
		case len(e.prompt.Group) > 0 && a.Move == engine.Answering:
			return p.tick(e.prompt, a)
		default:
			refused, err = p.taken(e, a)
		}
		if err != nil || refused == nil && e.events != nil {
			return err
		}
	}
}

// taken takes a first entry. A refusal has it asked again.
func (p *paper) taken(e *entered, a engine.Answer) (*subject.Refusal, error) {
	events, err := onPaper(e.before, e.prompt, a)
	if r, ok := errors.AsType[*subject.Refusal](err); ok {
		return r, nil
	}
	if err != nil {
		return nil, err
	}
	if a.Move == engine.Note {
		return nil, p.keepNote(events)
	}
	t := Typed{Slot: e.prompt.Slot, Step: e.prompt.Step, Entry: firstEntry, Move: a.Move, Text: a.Text, Why: a.Why, Parts: events[0].Parts}
	if err := p.keep(t); err != nil {
		return &subject.Refusal{What: "it was not saved", Expected: "the same once more"}, p.unsaved(err)
	}
	e.answer, e.events, p.stopping = a, events, false
	return nil, nil
}

// keepNote records a remark at once: it belongs to no entry.
func (p *paper) keepNote(events []engine.Event) error {
	for _, event := range events {
		if err := p.happen(event); err != nil {
			return p.unsaved(err)
		}
	}
	p.say("Kept.")
	return nil
}

func (p *paper) keep(t Typed) error {
	t.By = p.By
	return p.Store.Append(TypedKind, t)
}

// backFurther goes back to what is recorded already.
func (p *paper) backFurther(a engine.Answer) (*subject.Refusal, error) {
	return p.onRun(a, errAnew)
}

// stop ends the run where it stands; nothing waits here.
func (p *paper) stop(a engine.Answer) (*subject.Refusal, error) {
	if !p.stopping && a.Why == "" {
		p.stopping = true
		return &subject.Refusal{What: "stop ends this test for good", Expected: "stop once more where the paper stops here, or pause"}, nil
	}
	return p.onRun(a, errAnew)
}

// onRun has a move recorded where the run itself stands.
func (p *paper) onRun(a engine.Answer, then error) (*subject.Refusal, error) {
	open, ok := p.Run.Next()
	if !ok {
		return nil, then
	}
	events, err := p.Run.Propose(open, a)
	if r, ok := errors.AsType[*subject.Refusal](err); ok {
		return r, nil
	}
	for _, event := range events {
		if err := p.happen(event); err != nil {
			return nil, p.unsaved(err)
		}
		p.tell(open, event, "")
	}
	return nil, errors.Join(err, then)
}

// tick keeps the answer to a group: what is ticked waits as an answer of its own,
// what is not comes by itself.
func (p *paper) tick(first engine.Prompt, a engine.Answer) error {
	undone := numbersIn(a.Text)
	for i, q := range first.Group {
		if slices.Contains(undone, i) {
			p.alone[q.Slot] = true
			continue
		}
		ticked := engine.Answer{Text: engine.OnPaper}
		if err := p.keep(Typed{Slot: q.Slot, Step: q.Step, Entry: firstEntry, Text: ticked.Text}); err != nil {
			return p.unsaved(err) // what has no tick yet comes again
		}
		p.waiting.push(q.Slot, firstEntry, ticked)
	}
	return nil
}
