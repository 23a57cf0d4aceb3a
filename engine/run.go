package engine

import (
	"strings"

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
	chosen   map[string]choice
	returns  []pause
	stopped  *Event
	finished *Event
	applied  int

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
		answers:  map[string]answer{},
		reopened: map[string]bool{},
		chosen:   map[string]choice{},
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
	p.Pictures = r.matter.Names().Pictures
	p.Picture = func(name string) subject.Picture { return w.see().Picture(name, w.prompt.Round) }
	p.Earlier = r.Earlier
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
	case Chosen:
		r.chosen[e.Slot] = choice{e, r.applied}
	case Corrected:
		r.reopen(e.Slot)
	case Resumed:
		r.returns = append(r.returns, pause{r.applied, e.Car, e.Closing})
	case Stopped:
		r.stopped = &e
	case Finished:
		r.finished = &e
	}
}

// reopen asks for the answer at slot again. What the advice chose after it is
// chosen anew, unless work was done on it, and pages that showed it come again.
func (r *Run) reopen(slot string) {
	r.reopened[slot] = true
	since := r.answers[slot].seq // nought for an answer that came with an earlier document
	for at, c := range r.chosen {
		if c.seq > since && !r.worked(at) {
			delete(r.chosen, at)
		}
	}
	for at, a := range r.answers {
		if a.seq > since && r.proc.isPage(a.event.Step) {
			delete(r.answers, at)
		}
	}
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
