package engine

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dropwalk/engine/rules"
	"dropwalk/engine/subject"
)

// Addresses that belong to no step of a procedure.
const (
	returnSlot = "return" // "return.2": the car gate after the second pause
	haltSlot   = "halt"   // the car gate after a stop on the move
	restSlot   = "rest"   // "rest.2": the second car gate ahead of work for which the car wasn't at rest
	soleRow    = "1"      // the row of a list that an ask outside rounds fills
)

// walker goes through a procedure once, from the start to the first open place,
// and remembers what it met. Everything that a Run can tell comes from it.
//
// What a step sees of the matter is what stands before it: facts at a place
// follow from the answers ahead of that place, so that going back to it shows
// what was seen the first time.
type walker struct {
	run     *Run
	entries []subject.Entry
	view    subject.View
	viewed  int // how many entries view was made of

	car     CarState
	part    *Part
	partNo  int
	visited []visit
	duties  []Duty
	closing bool // the list of duties was reached
	skipped int
	ahead   int      // steps that are still to come, as far as is known
	over    int      // how many of the rounds around the place are behind the run
	unsure  bool     // more or fewer steps may be to come than ahead says
	beside  int      // when the latest ask or step beside the place was answered
	worked  int      // when the latest step was done that no hold has vouched for since
	workCar CarState // the state of the car in which it was done
	vouch   *held    // the first hold behind it that led the car out of that state; nil where it came back since

	// whole walks past open places to everything that was answered. What is
	// asked again for a while has not become untrue, and what was done to the car
	// stays owed.
	whole bool

	behind restOf // what stands behind the verification that is being passed

	found findings // what the checks have brought so far

	due    *Event   // an event that must be recorded before a prompt shows
	prompt *Prompt  // the open place
	open   *Step    // its step; nil for gates and duties
	rest   CarState // of a gate: the state that passing it vouches for
}

// held is a hold at its place.
type held struct {
	step  *Step
	slot  string
	round subject.Round
}

// visit is one place that was passed.
type visit struct {
	slot string
	step *Step
}

// walkWhole gathers everything that was answered, whatever is open.
func walkWhole(r *Run) *walker {
	w := &walker{run: r, car: r.car, whole: true}
	w.goThroughAll()
	return w
}

func (w *walker) goThroughAll() {
	w.entries = append(w.entries, w.run.given...)
	for i, part := range w.run.proc.Parts {
		w.goThrough(part, i+1)
		if w.due != nil {
			return
		}
	}
}

func walk(r *Run) *walker {
	w := &walker{run: r, car: r.proc.Parts[0].Car}
	w.goThroughAll()
	w.place()
	switch {
	case r.finished != nil:
		w.due, w.prompt = nil, nil
	case r.stopped != nil:
		w.afterStop()
	case w.due == nil && w.prompt == nil:
		w.due = w.end("complete")
	case w.due == nil:
		w.gateAfterPause()
	}
	w.gateBeforeWork()
	return w
}

func (w *walker) goThrough(part *Part, number int) {
	found := w.prompt != nil
	if !found {
		w.part, w.partNo = part, number
	}
	slot := fmt.Sprintf("part-%d", number)
	if part.When != nil && !found && !w.wanted(part.When, part.judged, slot, subject.Round{}) {
		return
	}
	w.beside = 0
	w.steps(part.Steps, "", subject.Round{})
}

func (w *walker) steps(list []*Step, prefix string, round subject.Round) {
	for i, s := range list {
		if w.due != nil {
			return
		}
		if s.AgainAfterPause {
			w.behind = restOf{list[i+1:], prefix}
		}
		if w.prompt != nil {
			w.ahead += w.toCome(s)
			w.unsure = w.unsure || s.Kind == Rounds || s.Kind == Checks || s.When != nil
			continue
		}
		w.step(s, prefix+s.ID, round)
	}
}

// toCome counts the places of a step ahead: what is owed so far comes one by one.
func (w *walker) toCome(s *Step) int {
	if s.Kind == Owed {
		return max(1, len(w.duties))
	}
	return s.size()
}

// size counts the places of a step; rounds that are still to come count once.
func (s *Step) size() int {
	if s.Kind == Checks {
		return s.usualChecks()
	}
	if s.Kind != Rounds {
		return 1
	}
	n := 0
	for _, inner := range s.Each {
		n += inner.size()
	}
	return n
}

func (w *walker) step(s *Step, slot string, round subject.Round) {
	if s.When != nil && !w.wanted(s.When, s.judged, slot, round) {
		return
	}
	switch s.Kind {
	case Rounds:
		w.rounds(s, slot, round)
	case Checks:
		w.checks(s, slot)
	case Owed:
		w.owed(slot)
	default:
		w.plain(s, slot, round)
	}
}

// wanted evaluates a rule at a place. An unknown outcome shows the step. A rule
// that rests on an assessment is decided once and recorded; an answered step
// stays whatever a later assessment says.
func (w *walker) wanted(rule *rules.Rule, judged bool, slot string, round subject.Round) bool {
	if !judged {
		return w.truth(rule, round) != rules.False
	}
	if _, answered := w.run.answers[slot]; answered {
		return true
	}
	if c, ok := w.choiceAt(slot); ok {
		return *c.event.Taken
	}
	if w.whole {
		return false
	}
	taken := w.truth(rule, round) != rules.False
	w.due = &Event{Kind: Chosen, Slot: slot, Taken: &taken, Why: rule.String()}
	return false
}

func (w *walker) truth(rule *rules.Rule, round subject.Round) rules.Truth {
	return rule.Eval(func(name string) subject.Value {
		if text, ok := round.Values[name]; ok {
			return RoundValue(text)
		}
		return w.see().Value(name)
	})
}

// RoundValue is a value of a round as rules see it: a word and, where it reads
// as one, a plain number.
func RoundValue(text string) subject.Value {
	v := subject.Value{Known: text != "", Word: text, Text: text}
	if n, err := strconv.ParseFloat(text, 64); err == nil {
		v.Number = n
	}
	return v
}

// see is the matter as the entries so far describe it.
func (w *walker) see() subject.View {
	if w.view == nil || w.viewed != len(w.entries) {
		w.view = w.run.matter.Look(w.entries[:len(w.entries):len(w.entries)])
		w.viewed = len(w.entries)
	}
	return w.view
}

func (w *walker) rounds(s *Step, slot string, outer subject.Round) {
	for n := 1; ; n++ {
		at := fmt.Sprintf("%s.%d", slot, n)
		c, ok := w.choiceAt(at)
		if !ok {
			if !w.whole {
				w.chooseRound(s, at, n, outer)
			}
			return
		}
		if !*c.event.Taken {
			return
		}
		round := subject.Round{Slot: at, Values: merged(outer.Values, c.event.Offer.Values)}
		round.Values["round"] = fmt.Sprint(n)
		w.fill(c.event.Offer.Parts, at)
		_, over := w.choiceAt(fmt.Sprintf("%s.%d", slot, n+1))
		if over {
			w.over++
		}
		beside := w.beside
		w.beside = 0
		w.steps(s.Each, at+"/", round)
		w.beside = beside
		if over {
			w.over--
		}
		w.unsure = w.unsure || w.prompt != nil
		if w.due != nil || w.prompt != nil {
			return
		}
	}
}

// choiceAt is the choice that stands at slot. One that is made anew counts for
// the whole of what was answered, not for where the run stands.
func (w *walker) choiceAt(slot string) (choice, bool) {
	c, ok := w.run.chosen[slot]
	return c, ok && (w.whole || !w.run.loose[slot])
}

// chooseRound decides whether another round opens.
func (w *walker) chooseRound(s *Step, at string, n int, outer subject.Round) {
	taken := false
	event := &Event{Kind: Chosen, Slot: at, Step: s.ID, Taken: &taken}
	if n <= s.AtMost {
		offer, ok := w.see().Offer(s.Source, subject.Round{Slot: at, Done: n - 1, Least: s.AtLeast, Most: s.AtMost, Values: outer.Values})
		event.Why = offer.Reason
		if ok {
			taken = true
			event.Offer = &offer
		}
	}
	w.due = event
}

func merged(outer, inner map[string]string) map[string]string {
	all := make(map[string]string, len(outer)+len(inner)+1)
	for k, v := range outer {
		all[k] = v
	}
	for k, v := range inner {
		all[k] = v
	}
	return all
}

// fill takes parts of an answer or an offer into the document.
func (w *walker) fill(parts []subject.Part, row string) {
	for _, p := range parts {
		entry := subject.Entry{Path: p.Path, Text: p.Text}
		if strings.Contains(p.Path, "[]") {
			entry.Row = row
			if row == "" {
				entry.Row = soleRow
			}
		}
		w.entries = append(w.entries, entry)
	}
}

// plain passes a step that was answered, or opens it.
func (w *walker) plain(s *Step, slot string, round subject.Round) {
	a, answered := w.run.answers[slot]
	if again := w.repetition(s, slot); answered && again != "" {
		w.pass(s, slot, a, round)
		slot = again
		a, answered = w.run.answers[slot]
	}
	if !answered && w.givenAnswers(s) && !w.run.reopened[slot] {
		return
	}
	if answered && (w.whole || !w.run.reopened[slot] && !w.stale(s, a.event, round) && !w.outdated(s, a)) {
		w.pass(s, slot, a, round)
		return
	}
	if w.whole {
		return
	}
	if v := w.vouch; v != nil {
		w.prompt, w.open = w.ask(v.step, v.slot, v.round), v.step
		return
	}
	w.prompt, w.open = w.ask(s, slot, round), s
	w.prompt.Again = strings.Contains(slot, "~")
	if !w.run.complained[slot] {
		w.prompt.Previous = w.previous(s, a.event)
	}
}

// outdated tells whether something that stands beside a hold was answered or
// done after it. One that leads to another state of the car vouches for the
// work before it, wherever that stands: see vouchFor.
func (w *walker) outdated(s *Step, a answer) bool {
	return s.Kind == Hold && s.ThenCar == "" && a.seq < w.beside
}

// vouchFor keeps track of work that was done after the hold behind it. The hold
// comes again before the run goes on in the state that it leads to. In rounds
// that are behind the run nothing is vouched for any more.
func (w *walker) vouchFor(s *Step, slot string, a answer, round subject.Round) {
	switch car := a.event.Car; {
	case s.Kind == Do || s.Kind == Examine:
		if a.seq > w.worked {
			w.worked, w.workCar = a.seq, w.car
		}
	case car == "":
	case a.seq > w.worked:
		w.worked, w.vouch = 0, nil
	case car == w.workCar:
		w.vouch = nil
	case w.vouch == nil && w.over == 0:
		w.vouch = &held{s, slot, round}
	}
}

// pass takes what an answered step did.
func (w *walker) pass(s *Step, slot string, a answer, round subject.Round) {
	e := a.event
	if s.Kind == Ask || s.Kind == Do || s.Kind == Examine {
		w.beside = max(w.beside, a.seq)
	}
	w.vouchFor(s, slot, a, round)
	if n := len(w.visited); n == 0 || w.visited[n-1].step != s || w.visited[n-1].slot != baseSlot(slot) {
		w.visited = append(w.visited, visit{slot, s})
	} else {
		w.visited[n-1].slot = slot
	}
	if e.Kind == Skipped {
		w.skipped++
	}
	w.fill(e.Parts, round.Slot)
	if e.Unknown {
		w.fill(w.cleared(s), round.Slot)
	}
	if e.Car != "" {
		w.car = e.Car
	}
	if e.Undo != "" && slot == baseSlot(slot) && !w.run.failed[slot] {
		w.owe(s, w.leaves(s, slot, e.Undo, round))
	}
}

// owe takes a duty. Several checks may part the same joint, and it is put together
// once.
func (w *walker) owe(s *Step, d Duty) {
	if s.Kind == Examine && slices.ContainsFunc(w.duties, func(o Duty) bool { return o.Text == d.Text }) {
		return
	}
	w.duties = append(w.duties, d)
}

// leaves is the duty that a step leaves. It bears the cautions of putting it back,
// and where there are none those of the step.
func (w *walker) leaves(s *Step, slot, undo string, round subject.Round) Duty {
	d := Duty{Slot: slot, Text: undo, See: w.say(s.Undoing.See, round), first: s.Undoing.First}
	notices := s.Undoing.Notices
	if len(notices) == 0 {
		notices = s.Notices
	}
	d.Notices = w.notices(notices, round)
	return d
}

// cleared empties fields that an earlier document filled and that are not known
// after all.
func (w *walker) cleared(s *Step) []subject.Part {
	var parts []subject.Part
	for _, path := range s.Fills {
		if _, ok := w.givenText(path); ok {
			parts = append(parts, subject.Part{Path: path})
		}
	}
	return parts
}

func baseSlot(slot string) string {
	base, _, _ := strings.Cut(slot, "~")
	return base
}

// restOf is the end of a list of steps, and the prefix of their slots.
type restOf struct {
	steps  []*Step
	prefix string
}

// needed tells whether a verification still has readings ahead: one of the rounds behind it
// is open, those of later parts where it stands in none itself. A verification without
// rounds behind it is for the steps that follow.
func (w *walker) needed() bool {
	open, any := w.openRounds(w.behind.steps, w.behind.prefix)
	if w.behind.prefix == "" {
		for _, part := range w.run.proc.Parts[w.partNo:] {
			more, some := w.openRounds(part.Steps, "")
			open, any = open || more, any || some
		}
	}
	return open || !any
}

// openRounds tells whether any rounds among steps can still bring one, and whether there
// are any.
func (w *walker) openRounds(steps []*Step, prefix string) (open, any bool) {
	for _, s := range steps {
		if s.Kind == Rounds {
			any = true
			open = open || w.goesOn(s, prefix+s.ID)
		}
	}
	return open, any
}

// goesOn tells whether rounds at a slot have a reading open: none was chosen yet, or the
// last one that was has a step that nobody has answered.
func (w *walker) goesOn(s *Step, slot string) bool {
	last := ""
	for n := 1; ; n++ {
		at := fmt.Sprintf("%s.%d", slot, n)
		c, ok := w.choiceAt(at)
		if !ok {
			break
		}
		if !*c.event.Taken {
			return false
		}
		last = at
	}
	if last == "" {
		return true
	}
	if open, any := w.openRounds(s.Each, last+"/"); any {
		return open
	}
	return slices.ContainsFunc(s.Each, func(inner *Step) bool {
		_, answered := w.run.answers[last+"/"+inner.ID]
		return inner.When == nil && !answered
	})
}

// repetition is the slot at which a verification is due again after a pause,
// "" where none is. Once the closing list is reached, nothing is verified again,
// nothing in a round that is behind the run, and nothing where no reading that rests
// on it is open.
func (w *walker) repetition(s *Step, slot string) string {
	if !s.AgainAfterPause {
		return ""
	}
	for n := len(w.run.returns); n > 0; n-- {
		at := fmt.Sprintf("%s~%d", slot, n)
		_, did := w.run.answers[at]
		if p := w.run.returns[n-1]; !p.closing && p.seq > w.run.answers[slot].seq && (did || w.over == 0 && w.needed()) {
			return at
		}
	}
	return ""
}

// givenAnswers tells whether an earlier document fills everything that s asks.
func (w *walker) givenAnswers(s *Step) bool {
	if s.Kind != Ask {
		return false
	}
	for _, path := range s.Fills {
		if _, ok := w.givenText(path); !ok {
			return false
		}
	}
	return true
}

func (w *walker) givenText(path string) (string, bool) {
	for _, e := range w.run.given {
		if e.Path == path && e.Text != "" {
			return e.Text, true
		}
	}
	return "", false
}

// stale tells whether the step would be shown with another text now. A text
// that rests on an assessment doesn't count: the answer was true when given.
func (w *walker) stale(s *Step, e Event, round subject.Round) bool {
	return !s.textJudged && e.Seen != w.seen(s, round) && (s.former == nil || e.Seen != w.seen(s.former, round))
}

// previous is the earlier answer of an ask.
func (w *walker) previous(s *Step, e Event) string {
	if s.Kind != Ask && s.Kind != Examine {
		return ""
	}
	if e.Text != "" {
		return e.Text
	}
	var texts []string
	for _, path := range s.Fills {
		if text, ok := w.givenText(path); ok {
			texts = append(texts, text)
		}
	}
	return strings.Join(texts, ", ")
}

// owed opens the first duty that is not discharged.
func (w *walker) owed(slot string) {
	w.closing = true
	owing := w.owing()
	for i, duty := range owing {
		at := slot + "/" + duty.Slot
		if a, ok := w.run.answers[at]; ok {
			// A stop in the closing list itself comes by here twice.
			met := slices.ContainsFunc(w.visited, func(v visit) bool { return v.slot == at })
			if !met {
				w.visited = append(w.visited, visit{slot: at})
			}
			if a.event.Kind == Skipped && !met {
				w.skipped++
			}
			continue
		}
		if !w.whole {
			w.prompt = w.duty(at, duty)
			w.ahead += w.undischarged(slot, owing[i+1:])
			return
		}
	}
}

func (w *walker) undischarged(slot string, duties []Duty) int {
	n := 0
	for _, d := range duties {
		if _, ok := w.run.answers[slot+"/"+d.Slot]; !ok {
			n++
		}
	}
	return n
}

// owing lists the duties, the latest first, but ahead of all those that come first
// in any case. After a stop they are those of the
// whole run: what was done to the car behind an open place is owed too.
func (w *walker) owing() []Duty {
	duties := w.duties
	if w.run.stopped != nil && !w.whole {
		duties = w.run.everything().duties
	}
	list := slices.Clone(duties)
	for _, left := range w.run.left {
		if !slices.ContainsFunc(list, func(d Duty) bool { return d.Text == left.Text }) {
			list = append(list, left)
		}
	}
	slices.Reverse(list)
	slices.SortStableFunc(list, func(a, b Duty) int { return rank(b.first) - rank(a.first) })
	return list
}

func rank(first bool) int {
	if first {
		return 1
	}
	return 0
}

func (w *walker) duty(at string, d Duty) *Prompt {
	return &Prompt{Slot: at, Step: "owed", Number: w.run.proc.owedNumber(), Kind: Owed, Car: w.car, Text: d.Text, See: d.See, Notices: d.Notices, Seen: d.Text,
		Why: "This was done to the car for the test, so it is put back."}
}

// afterStop leads to the end of a run that somebody stopped: the car to rest,
// then what is owed.
func (w *walker) afterStop() {
	w.due, w.prompt, w.open, w.ahead, w.unsure = nil, nil, nil, 0, false
	_, rested := w.run.answers[haltSlot]
	switch {
	case rested:
		w.visited = append(w.visited, visit{slot: haltSlot})
	case w.run.stopped.Car == Moving:
		w.prompt = w.gate(haltSlot, Parked)
		w.ahead = w.undischarged(w.run.proc.owedSlot(), w.owing())
	}
	if w.prompt == nil {
		w.owed(w.run.proc.owedSlot())
		w.car = w.run.proc.owedCar()
	}
	if w.prompt == nil {
		w.due = w.end("stopped")
		return
	}
	w.place()
}

// gateAfterPause asks for the state of the car before a session goes on. A car
// that was moving must be parked by then; where the next step asks for that
// anyhow, once is enough.
func (w *walker) gateAfterPause() {
	n := len(w.run.returns)
	if n == 0 || w.car == Moving {
		return
	}
	state := w.run.returns[n-1].car
	if state == Moving {
		state = Parked
	}
	if w.handsOn() && atRest[w.car] < atRest[state] {
		state = w.car
	}
	slot := fmt.Sprintf("%s.%d", returnSlot, n)
	if _, passed := w.run.answers[slot]; passed {
		return
	}
	if !w.hasGate(state) {
		return
	}
	place := w.prompt.Place
	w.prompt, w.open = w.gate(slot, state), nil
	w.prompt.Place = place
}

// atRest orders the states of the car by what can still hurt somebody who works
// on it.
var atRest = map[CarState]int{Off: 0, Parked: 1, Idling: 2, Moving: 3}

// handsOn tells whether the open place is work on the car.
func (w *walker) handsOn() bool {
	return w.due == nil && w.prompt != nil && (w.prompt.Kind == Do || w.prompt.Kind == Examine || w.prompt.Kind == Owed)
}

// gateBeforeWork asks for the car to be at rest where the procedure wants it so
// at the open place and it is not: after a step back, after a pause, after a
// stop.
//
// Before what is owed after a stop it is asked for as well where the engine ran: it
// is off, and its metal is hot.
func (w *walker) gateBeforeWork() {
	lively := atRest[w.run.car] > atRest[w.car] || w.prompt != nil && w.prompt.Kind == Examine && w.run.car != w.car
	if !w.handsOn() || !lively && !w.hotAfterStop() {
		return
	}
	if !w.hasGate(w.car) {
		return
	}
	place := w.prompt.Place
	w.prompt, w.open = w.gate(fmt.Sprintf("%s.%d", restSlot, w.run.rests+1), w.car), nil
	w.prompt.Place = place
	w.prompt.Why = fmt.Sprintf("The next step is done with the car %s.", w.car)
}

// hotAfterStop tells whether what is owed after a stop waits for a hold: the engine
// ran, and nobody has vouched for the car since the stop and the latest pause.
func (w *walker) hotAfterStop() bool {
	r := w.run
	if r.stopped == nil || w.prompt.Kind != Owed || !r.ran() {
		return false
	}
	since := r.stoppedAt
	if n := len(r.returns); n > 0 {
		since = max(since, r.returns[n-1].seq)
	}
	for _, slot := range []string{haltSlot, fmt.Sprintf("%s.%d", restSlot, r.rests)} {
		if a, ok := r.answers[slot]; ok && a.seq > since && a.event.Car == w.car {
			return false
		}
	}
	return true
}

// hasGate tells whether there is a hold for a state of the car at the open place.
func (w *walker) hasGate(state CarState) bool {
	_, ok := w.run.proc.OnReturn[state]
	return ok || w.ownHold(state) != nil
}

// ownHold is the hold by which the procedure itself comes to what is owed, such as
// one that waits until metal is cold; nil elsewhere.
func (w *walker) ownHold(state CarState) *Step {
	if w.prompt == nil || w.prompt.Kind != Owed || state != w.run.proc.owedCar() {
		return nil
	}
	return w.run.proc.holdAheadOfOwed()
}

// gate is the hold for a state of the car at the open place.
func (w *walker) gate(slot string, state CarState) *Prompt {
	g := w.run.proc.OnReturn[state]
	if s := w.ownHold(state); s != nil {
		g = Gate{Text: w.say(s.Text, subject.Round{}), Notices: s.Notices}
		for _, line := range s.Lines {
			g.Lines = append(g.Lines, w.say(line, subject.Round{}))
		}
	}
	w.rest = state
	p := &Prompt{Slot: slot, Step: "car", Kind: Hold, Car: w.car, Text: g.Text, Lines: g.Lines,
		Why: "Nobody knows what was done to the car since the last answer."}
	p.Notices = w.notices(g.Notices, subject.Round{})
	p.Seen = strings.Join(slices.Concat(told(p.Notices), []string{g.Text}, g.Lines), "\n")
	return p
}

// end closes the run. What was skipped stays visible in how it ended.
func (w *walker) end(how string) *Event {
	if w.skipped > 0 {
		how = fmt.Sprintf("%s with %d open", how, w.skipped)
	}
	return &Event{Kind: Finished, Text: how}
}

// place says where the prompt stands.
func (w *walker) place() {
	if w.prompt == nil {
		return
	}
	done := len(w.visited)
	w.prompt.Place = Place{
		Part: w.part.Title, PartNo: w.partNo, Parts: len(w.run.proc.Parts),
		StepNo: done + 1, Steps: done + 1 + w.ahead, About: w.unsure, Skipped: w.skipped,
	}
}
