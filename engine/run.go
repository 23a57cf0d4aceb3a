package engine

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/engine/prose"
	"dropwalk/engine/subject"
)

// Run is a procedure in progress. It holds what its events say and nothing
// else; where it stands is worked out from them.
type Run struct {
	proc   *Procedure
	matter subject.Subject

	given    []subject.Entry
	answers  map[string]answer
	reopened map[string]bool
	// complained holds the slots that a text asked for again: what was answered
	// there can't stand.
	complained map[string]bool
	loose      map[string]bool // choices that are made anew once their place is reached
	failed     map[string]bool // slots at which somebody last said that it can't be done
	left       []Duty          // what was done to the car in rounds that were planned anew
	rests      int             // gates ahead of work that were passed
	chosen     map[string]choice
	returns    []pause
	stopped    *Event
	stoppedAt  int // when
	finished   *Event
	applied    int

	car CarState // as the latest hold left it

	now *walker // where the run stands; nil after an event
	all *walker // everything that was answered; nil after an event
}

// answer is the latest answer at a slot.
type answer struct {
	event Event
	seq   int
}

// choice is a decision of the advice, recorded with its whole offer, so that a
// replay doesn't depend on what a later release would advise.
type choice struct {
	event Event
	seq   int
}

// pause is a break in the session.
type pause struct {
	seq     int
	car     CarState // at the pause
	closing bool
}

// NewRun begins a run of p on the given matter. Its first event is Start's.
func NewRun(p *Procedure, matter subject.Subject) *Run {
	return &Run{
		proc: p, matter: matter, car: p.Parts[0].Car,
		answers:    map[string]answer{},
		reopened:   map[string]bool{},
		complained: map[string]bool{},
		loose:      map[string]bool{},
		failed:     map[string]bool{},
		chosen:     map[string]choice{},
	}
}

// Procedure is what runs.
func (r *Run) Procedure() *Procedure { return r.proc }

// Start is the event that opens a run. Given is what an earlier document
// already answers; asks that it fills entirely are not asked.
func (r *Run) Start(given []subject.Entry) Event {
	return Event{Kind: Started, Step: r.proc.Name, Given: given}
}

// Resume is the event that opens a further session of a run.
func (r *Run) Resume() Event {
	w := r.look()
	event := Event{Kind: Resumed, Car: r.car, Closing: w.closing}
	if w.prompt != nil {
		event.Slot = w.prompt.Slot
	}
	return event
}

// Settle returns the event that is due before the next prompt can be shown: a
// choice of the advice, or the end. It reports false where none is due.
func (r *Run) Settle() (Event, bool) {
	if w := r.look(); w.due != nil {
		return *w.due, true
	}
	return Event{}, false
}

// Next is the open prompt. It reports false where the run has ended or where an
// event is due first.
func (r *Run) Next() (Prompt, bool) {
	w := r.look()
	if w.due != nil || w.prompt == nil {
		return Prompt{}, false
	}
	p := *w.prompt
	p.Car = r.car
	p.Pictures = r.proc.pictures()
	p.Picture = func(name string) subject.Picture { return w.see().Picture(name, w.prompt.Round) }
	p.Earlier = r.Earlier
	if r.proc.Search != nil {
		p.Standing = w.standing
	}
	return p, true
}

// Entries is what all answers fill in, in the order of the procedure. An answer
// that is being corrected counts until the new one is there.
func (r *Run) Entries() []subject.Entry { return r.everything().entries }

// View is the matter as all answers describe it.
func (r *Run) View() subject.View { return r.everything().see() }

// Owed lists the undo duties that are still open, the latest first.
func (r *Run) Owed() []Duty {
	var open []Duty
	for _, duty := range r.everything().owing() {
		if a, ok := r.answers[r.proc.owedSlot()+"/"+duty.Slot]; !ok || a.event.Kind == Skipped {
			open = append(open, duty)
		}
	}
	return open
}

// Ended tells whether the run has come to its end, and how: the text of the
// finished event.
func (r *Run) Ended() (how string, ended bool) {
	if r.finished == nil {
		return "", false
	}
	return r.finished.Text, true
}

// Aborted tells whether somebody stopped the run.
func (r *Run) Aborted() bool { return r.stopped != nil }

// Car is the state of the car, as the latest hold left it.
func (r *Run) Car() CarState { return r.car }

// SafeStop is what to do first when a run is stopped in the present state of
// the car.
func (r *Run) SafeStop() []string {
	if list := r.proc.IfStopped[r.Car()]; len(list) > 0 {
		return list
	}
	return r.proc.IfStopped[Parked]
}

// Recent returns the latest n answers, oldest first, as shown and as given.
func (r *Run) Recent(n int) []Event {
	visited := r.look().visited
	visited = visited[max(0, len(visited)-n):]
	events := make([]Event, 0, len(visited))
	for _, v := range visited {
		if a, ok := r.answers[v.slot]; ok {
			events = append(events, a.event)
		}
	}
	return events
}

// Passed returns the latest answer at every place that the run has passed, in
// the order of the procedure, whatever is open; what was done about each duty
// stands at its end.
func (r *Run) Passed() []Event {
	var events []Event
	for _, v := range r.everything().visited {
		if a, ok := r.answers[v.slot]; ok {
			events = append(events, a.event)
		}
	}
	return events
}

// KnownKind tells whether this release knows an event of the given kind. A
// record with an unknown one is opened for reading only.
func KnownKind(kind string) bool {
	switch kind {
	case Started, Answered, Refused, Skipped, Corrected, Chosen, Noted, Resumed, Stopped, Finished:
		return true
	}
	return false
}

// Apply takes an event into the run. It is the only way in which a run
// changes, and it never fails: what has been recorded has happened.
func (r *Run) Apply(e Event) {
	r.applied++
	r.now, r.all = nil, nil
	if e.Kind == Answered && e.Car != "" {
		r.car = e.Car
	}
	switch e.Kind {
	case Started:
		r.given = e.Given
	case Answered, Skipped:
		r.answers[e.Slot] = answer{e, r.applied}
		delete(r.reopened, e.Slot)
		delete(r.complained, e.Slot)
		delete(r.failed, e.Slot)
		r.keep(e.Slot)
		if strings.HasPrefix(e.Slot, restSlot+".") {
			r.rests++
		}
	case Chosen:
		r.choose(e)
	case Refused:
		r.failed[e.Slot] = true
	case Corrected:
		r.reopen(e.Slot)
		r.complained[e.Slot] = e.Why != ""
	case Resumed:
		r.returns = append(r.returns, pause{r.applied, e.Car, e.Closing})
	case Stopped:
		r.stopped, r.stoppedAt = &e, r.applied
	case Finished:
		r.finished = &e
	}
}

// reopen asks for the answer at slot again. What the advice chose after it is
// chosen anew, unless something was measured or answered in it, and pages that
// showed it come again.
func (r *Run) reopen(slot string) {
	r.reopened[slot] = true
	since := r.answers[slot].seq // nought for an answer that came with an earlier document
	for at, c := range r.chosen {
		switch {
		case c.seq <= since || r.told(at):
		case r.worked(at):
			r.loose[at] = true
		default:
			delete(r.chosen, at)
		}
	}
	for at, a := range r.answers {
		if a.seq > since && r.proc.isPage(a.event.Step) {
			delete(r.answers, at)
		}
	}
}

// choose takes a choice. Where it stands in for an earlier one, what was done
// to the car under that one stays owed, unless somebody said that it couldn't
// be done.
func (r *Run) choose(e Event) {
	if r.loose[e.Slot] {
		for _, d := range r.everything().duties {
			if strings.HasPrefix(d.Slot, e.Slot+"/") {
				d.Slot = fmt.Sprintf("%s~left-%d", d.Slot, r.applied)
				r.left = append(r.left, d)
			}
		}
		delete(r.loose, e.Slot)
		r.all = nil
	}
	r.chosen[e.Slot] = choice{e, r.applied}
}

// keep lets a choice stand under which work goes on: a record of an earlier
// release may go on with one that this release would have made anew.
func (r *Run) keep(slot string) {
	for at := range r.loose {
		if strings.HasPrefix(slot, at+"/") {
			delete(r.loose, at)
		}
	}
}

// told tells whether a question inside the round at slot was answered, or the
// step at slot.
func (r *Run) told(slot string) bool {
	if _, made := r.answers[r.checkAt(slot)]; made {
		return true
	}
	if _, ok := r.answers[slot]; ok {
		return true
	}
	for at, a := range r.answers {
		if strings.HasPrefix(at, slot+"/") && (len(a.event.Parts) > 0 || a.event.Unknown) {
			return true
		}
	}
	return false
}

// worked tells whether an answer stands at slot or inside its round.
func (r *Run) worked(slot string) bool {
	if _, ok := r.answers[slot]; ok {
		return true
	}
	for at := range r.answers {
		if strings.HasPrefix(at, slot+"/") {
			return true
		}
	}
	return false
}

// NeverReached lists the steps behind the list of what is owed that a stop has
// cut off, where something was done to the car before: they say whether it can
// be used again.
func (r *Run) NeverReached() []*Step {
	if r.stopped == nil || !r.touched() {
		return nil
	}
	var steps []*Step
	behind := false
	for _, part := range r.proc.Parts {
		for _, s := range part.Steps {
			if _, answered := r.answers[s.ID]; behind && !answered && s.Kind != Tell && s.Kind != Show {
				steps = append(steps, s)
			}
			behind = behind || s.Kind == Owed
		}
	}
	return steps
}

// Remains says what a step that was never reached leaves to see to. A hold that only
// asks is told by its lines.
func (s *Step) Remains() string {
	text := s.Text
	if s.Kind == Hold {
		var told []string
		for _, sentence := range prose.Sentences(s.Text) {
			if !strings.HasSuffix(sentence.Text, "?") {
				told = append(told, sentence.Text)
			}
		}
		if text = strings.Join(told, " "); text == "" && len(s.Lines) > 0 {
			text = strings.Join(s.Lines, " ")
		}
	}
	switch {
	case text == "":
		return s.Text
	case s.Kind == Ask:
		return "Nobody answered: " + text
	}
	return text
}

// touched tells whether something was done to the car, or it was moved.
func (r *Run) touched() bool {
	for _, a := range r.answers {
		if a.event.Undo != "" || a.event.Car == Moving {
			return true
		}
	}
	return len(r.left) > 0
}

// ran tells whether the engine ran or the car moved in this run.
func (r *Run) ran() bool {
	for _, a := range r.answers {
		if a.event.Car == Idling || a.event.Car == Moving {
			return true
		}
	}
	return false
}

// holdAheadOfOwed is the last hold ahead of the list of what is owed in its part,
// as far as it leaves the car as the part has it; nil where there is none.
func (p *Procedure) holdAheadOfOwed() *Step {
	for _, part := range p.Parts {
		var last *Step
		for _, s := range part.Steps {
			switch {
			case s.Kind == Owed:
				return last
			case s.Kind == Hold && (s.ThenCar == "" || s.ThenCar == part.Car):
				last = s
			}
		}
	}
	return nil
}

// owedCar is the state of the car in which what is owed is put back.
func (p *Procedure) owedCar() CarState {
	for _, part := range p.Parts {
		if slices.ContainsFunc(part.Steps, func(s *Step) bool { return s.Kind == Owed }) {
			return part.Car
		}
	}
	return Parked
}

// look works out where the run stands.
func (r *Run) look() *walker {
	if r.now == nil {
		r.now = walk(r)
	}
	return r.now
}

// everything gathers what was answered, whatever is open.
func (r *Run) everything() *walker {
	if r.all == nil {
		r.all = walkWhole(r)
	}
	return r.all
}
