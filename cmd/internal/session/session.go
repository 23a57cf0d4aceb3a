package session

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"

	"dropwalk/engine"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

// Store is where events go. Append returns once the disk has the event; after
// an error nothing was added.
type Store interface {
	Append(kind string, body any) error
}

// Session is one sitting at a run.
type Session struct {
	Run   *engine.Run
	Store Store
	Asker Asker
	By    string // what kind of asker answers, as the record keeps it

	// Paper says that a paper is typed in; Earlier is what an earlier sitting left of
	// it, as Waiting reads it.
	Paper   bool
	Earlier []Typed

	alone map[string]bool // slots that come by themselves: they could not be done with their group
}

// entry is an event as it stands in a record.
type entry struct {
	engine.Event
	By string `json:"by,omitzero"`
}

// Begin records that the run starts with what an earlier sheet brought.
func (s *Session) Begin(given []subject.Entry) error {
	return s.happen(s.Run.Start(given))
}

// Continue records that a further sitting begins, and shows where it stands.
func (s *Session) Continue() error {
	m := Message{Title: "The last answers were:"}
	for _, e := range slices.DeleteFunc(s.Run.Recent(farBack), passed) {
		m.Lines = append(m.Lines, Account(e))
	}
	if m.Lines = m.Lines[max(0, len(m.Lines)-recalled):]; len(m.Lines) > 0 {
		s.Asker.Say(m)
	}
	if s.Paper {
		// Nobody was at the car meanwhile: nothing is verified again.
		return s.Store.Append(TypedKind, Typed{By: s.By})
	}
	return s.happen(s.Run.Resume())
}

// recalled is how many answers are shown again when a run goes on, farBack among
// how many they are looked for.
const (
	recalled = 2
	farBack  = 8
)

// passed tells whether an event is a text or a page that was only read.
func passed(e engine.Event) bool {
	return e.Kind == engine.Answered && e.Text == readText && len(e.Parts) == 0
}

// readText is what the engine keeps of a text that was passed.
const readText = "read"

// Drive goes on until the run ends. It returns nil then, ErrPause where the
// person leaves, the cause of ctx where a signal ends the sitting, and the fault
// of the store where nothing can be saved any more. In each case everything
// that was taken as an answer is on the disk.
func (s *Session) Drive(ctx context.Context) error {
	if s.Paper {
		return s.drivePaper(ctx)
	}
	for {
		if event, due := s.Run.Settle(); due {
			if d, ok := s.Asker.(Decider); ok {
				event = d.Decide(event)
			}
			if err := s.happen(event); err != nil {
				return err
			}
			s.tellDue(event)
			continue
		}
		p, open := s.next()
		if !open {
			return nil
		}
		if err := s.answer(ctx, p); err != nil {
			return err
		}
	}
}

// next is the open prompt, with those that go with it where prompts are shown in
// brief.
func (s *Session) next() (engine.Prompt, bool) {
	p, open := s.Run.Next()
	if v, ok := s.Asker.(Viewer); ok && open && v.Brief() && !s.alone[p.Slot] {
		if list := s.Run.Together(); len(list) > 1 {
			p.Group = list
		}
	}
	return p, open
}

// answer asks p until there is an answer that the engine takes.
func (s *Session) answer(ctx context.Context, p engine.Prompt) error {
	var refused *subject.Refusal
	first := ""       // typed and in doubt: kept, whatever comes of it
	stopping := false // stop was typed once
	reason := ""      // and what stood behind it
	for {
		a, err := s.Asker.Ask(ctx, p, refused)
		if errors.Is(err, ErrView) {
			p, _ = s.next()
			refused = nil
			continue
		}
		if err != nil {
			return errors.Join(err, s.left(p, first))
		}
		if a.Move == engine.Stop && a.Text != "" {
			reason, a.Text = a.Text, ""
		}
		if a.Move == engine.Stop && !stopping {
			s.makeSafe()
			// A stop that comes with its reason was thought over.
			if stopping = a.Why == ""; stopping {
				refused = &subject.Refusal{What: "stop ends this test for good", Expected: "stop once more to end it, or pause to go on another time"}
				if reason != "" {
					refused.Expected += "; an answer that begins with stop goes in double quotes"
				}
				continue
			}
		}
		if a.Move == engine.Stop {
			a.Why = cmp.Or(a.Why, reason)
		}
		events, err := s.propose(p, a)
		if r, ok := errors.AsType[*subject.Refusal](err); ok {
			if refused = r; r.Doubt != nil && first == "" {
				first = a.Text
			}
			continue
		}
		if err != nil {
			return err
		}
		if len(events) == 0 {
			return nil
		}
		if !strings.HasPrefix(a.Text, first) {
			events[0].First = first
		}
		return s.take(p, a, events)
	}
}

// propose turns an answer into events. One to a group is done, or the numbers of
// what could not be done.
func (s *Session) propose(p engine.Prompt, a engine.Answer) ([]engine.Event, error) {
	if len(p.Group) == 0 || a.Move != engine.Answering {
		return s.Run.Propose(p, a)
	}
	undone := numbersIn(a.Text)
	events, err := s.Run.ProposeTogether(p.Group, undone, a.Text)
	if err != nil {
		return nil, err
	}
	for _, i := range undone {
		if s.alone == nil {
			s.alone = map[string]bool{}
		}
		s.alone[p.Group[i].Slot] = true
	}
	return events, nil
}

// numbersIn are the numbers in an answer to a group, counted from nought; none
// where it is done.
func numbersIn(text string) []int {
	var list []int
	for word := range strings.FieldsSeq(text) {
		if n, err := strconv.Atoi(word); err == nil {
			list = append(list, n-1)
		}
	}
	return list
}

// left keeps what was typed and not taken yet by a person who leaves.
func (s *Session) left(p engine.Prompt, first string) error {
	if first == "" {
		return nil
	}
	return s.happen(engine.Event{Kind: engine.Noted, Slot: p.Slot, Text: "typed, and not taken yet: " + first})
}

// take records and applies the events of one answer, and tells what came of
// it. Where the disk takes no event now but may later, the run stays where it
// is, so that the same prompt comes again.
func (s *Session) take(p engine.Prompt, a engine.Answer, events []engine.Event) error {
	echo := ""
	if (p.Kind == engine.Ask || p.Kind == engine.Examine) && a.Move == engine.Answering {
		echo = s.Run.Echo(p, a.Text)
	}
	for _, e := range events {
		if e.Kind == engine.Stopped && a.Move != engine.Stop {
			s.makeSafe()
		}
		if err := s.happen(e); err != nil {
			return s.unsaved(err)
		}
		s.tell(p, e, echo)
	}
	return nil
}

// happen records an event and then applies it, in this order.
func (s *Session) happen(e engine.Event) error {
	if err := s.Store.Append(e.Kind, entry{e, s.By}); err != nil {
		return err
	}
	s.Run.Apply(e)
	return nil
}

// unsaved says that an answer was not saved. It returns err where trying again
// is no use.
func (s *Session) unsaved(err error) error {
	switch {
	case errors.Is(err, record.ErrFull):
		s.say("NOT SAVED: the disk is full. Make room, then answer again. Everything before this is safe.")
	case errors.Is(err, record.ErrNoSync):
		s.say("NOT SAVED: the disk did not confirm the write. Answer again. Everything before this is safe.")
	case errors.Is(err, record.ErrBody):
		s.say("NOT SAVED: " + cause(err) + ". Give a shorter answer.")
	default:
		return err
	}
	return nil
}

// cause is what a store says of a fault, without where it happened.
func cause(err error) string {
	text := err.Error()
	if i := strings.LastIndex(text, "not saved: "); i >= 0 {
		return text[i+len("not saved: "):]
	}
	return text
}

// tellDue says why rounds end early, and what a stop has left undone.
func (s *Session) tellDue(e engine.Event) {
	if e.Kind == engine.Chosen && e.Taken != nil && !*e.Taken && e.Step != "" && e.Why != "" {
		s.say("No more of these: " + e.Why + ".")
	}
	if never := s.Run.NeverReached(); e.Kind == engine.Finished && len(never) > 0 {
		m := Message{Title: "The stop left these out. See to them before the car is used:"}
		for _, step := range never {
			m.Lines = append(m.Lines, "- "+step.Remains())
		}
		s.Asker.Say(m)
	}
}

// makeSafe shows what to do first when a test stops, before anything is asked
// or saved.
func (s *Session) makeSafe() {
	if list := s.Run.SafeStop(); len(list) > 0 {
		s.Asker.Say(Message{Title: "STOP. Do this first:", Lines: list, Steps: true})
	}
}

// tell says what came of an event, where that isn't plain from the next prompt.
func (s *Session) tell(p engine.Prompt, e engine.Event, echo string) {
	switch e.Kind {
	case engine.Answered:
		s.say(echo)
		switch {
		case e.Outcome == engine.NotChecked:
			s.say("Not checked. " + p.Cannot)
		case e.Unknown:
			s.say("Taken as not known. " + p.Unknown)
		}
	case engine.Refused:
		if p.Kind == engine.Hold {
			s.say("Not yet: " + e.Why + " Put that right first, then answer again. pause and stop are always open.")
		} else {
			s.say(p.Cannot)
		}
	case engine.Skipped:
		s.say("Skipped.")
		s.say(p.Skip)
	case engine.Noted:
		s.say("Kept.")
	case engine.Stopped:
		if len(s.Run.Owed()) > 0 {
			s.say("The test is stopped. What has to be put back follows.")
		} else {
			s.say("The test is stopped. Nothing is owed to the car.")
		}
	}
}

func (s *Session) say(text string) {
	if text != "" {
		s.Asker.Say(Message{Lines: []string{text}})
	}
}

// EventIn is the event in what a Store is handed, the zero Event where body is
// something else.
func EventIn(body any) engine.Event {
	switch b := body.(type) {
	case entry:
		return b.Event
	case Typed:
		return engine.Event{Parts: b.Parts}
	}
	return engine.Event{}
}
