package engine

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dropwalk/engine/causes"
	"dropwalk/engine/quantity"
	"dropwalk/engine/rules"
	"dropwalk/engine/subject"
)

// checkValue is the value of an offer that says which check it is.
const checkValue = "check"

// Row is what stands in the row of a check, as a prompt shows it.
type Row struct {
	Where, Condition, Tool string
	Minutes                float64
	Expect                 string // the range in words; "" where the answer is a word
	Source                 string
	Words                  []string // the answers that are words
	Reason                 string   // why it comes now
}

// Weighed is what the next check was chosen by: everything that was open then.
type Weighed struct {
	Verdict causes.Verdict     `json:"verdict,omitzero"` // why the search ends
	Chances map[string]float64 `json:"chances"`          // by cause
	None    float64            `json:"none"`
	Checks  []WeighedCheck     `json:"checks,omitzero"` // the best first
}

// WeighedCheck is one check that could have come next, in minutes.
type WeighedCheck struct {
	ID    string  `json:"id"`
	Saves float64 `json:"saves"`
	Takes float64 `json:"takes"`
}

// findings are what the checks have brought on the way to a place.
type findings struct {
	made   []finding
	open   causes.Set
	closed causes.Set // what turned out impossible to open
}

// finding is a check that was made, or could not be.
type finding struct {
	step  *Step
	event Event
}

// checks goes through the checks that were chosen so far, each once.
func (w *walker) checks(s *Step, slot string) {
	base := w.car
	for n := 1; ; n++ {
		at := fmt.Sprintf("%s.%d", slot, n)
		c, ok := w.choiceAt(at)
		if !ok {
			if !w.whole {
				w.chooseCheck(s, at, n)
			}
			break
		}
		round := subject.Round{Slot: at, Values: map[string]string{"round": fmt.Sprint(n)}}
		if !*c.event.Taken {
			w.toState(base, at, round)
			break
		}
		row := w.run.proc.Search.Check(c.event.Offer.Values[checkValue])
		if row == nil {
			continue
		}
		_, over := w.choiceAt(fmt.Sprintf("%s.%d", slot, n+1))
		if over {
			w.over++
		}
		w.check(row, at, base, round)
		if over {
			w.over--
		}
		if w.due != nil || w.prompt != nil {
			w.unsure = true
			w.ahead += max(0, s.usualChecks()-n)
			return
		}
	}
	w.openedBefore()
}

// usualChecks is how many checks a search takes at a guess: half of its rows.
func (s *Step) usualChecks() int { return (min(len(s.Each), s.AtMost) + 1) / 2 }

// check passes one check, with what has to be opened for it and the state of the
// car that it needs, or opens it. What can't be opened leaves it unmade.
func (w *walker) check(row *Step, at string, base CarState, round subject.Round) {
	f := w.run.proc.Search
	for i, opening := range f.Openings {
		one := causes.Set(1) << i
		if !row.Check.opens.Has(one) || w.found.open.Has(one) || w.found.closed.Has(one) {
			continue
		}
		_, done := w.run.answers[opening.ID]
		if _, led := w.run.answers[at+"/"+gateID(base)]; !done || led {
			w.toState(base, at, round)
		}
		if w.prompt == nil {
			w.opening(i, round)
		}
		if w.prompt != nil {
			return
		}
	}
	if row.Check.opens&w.found.closed != 0 {
		return
	}
	if w.toState(row.Check.Car, at, round); w.prompt != nil {
		return
	}
	w.plain(row, row.ID, round)
	if a, ok := w.run.answers[row.ID]; ok && w.prompt == nil {
		w.found.made = append(w.found.made, finding{row, a.event})
	}
}

// opening passes the opening with the given number, or opens its step.
func (w *walker) opening(i int, round subject.Round) {
	s := w.run.proc.Search.Openings[i]
	w.plain(s, s.ID, round)
	a, ok := w.run.answers[s.ID]
	switch {
	case !ok || w.prompt != nil:
	case a.event.Kind == Skipped:
		w.found.closed |= 1 << i
	default:
		w.found.open |= 1 << i
	}
}

// openedBefore passes what was opened for a check that is no longer among those
// chosen: it stays owed.
func (w *walker) openedBefore() {
	if w.prompt != nil || w.due != nil {
		return
	}
	for i, s := range w.run.proc.Search.Openings {
		_, done := w.run.answers[s.ID]
		if one := causes.Set(1) << i; done && !w.found.open.Has(one) && !w.found.closed.Has(one) {
			w.opening(i, subject.Round{})
		}
	}
}

// toState leads the car to the state that is needed, by a hold.
func (w *walker) toState(state CarState, at string, round subject.Round) {
	if w.car == state || w.prompt != nil {
		return
	}
	for _, gate := range w.run.proc.Search.Gates {
		if gate.ThenCar == state {
			w.plain(gate, at+"/"+gate.ID, round)
			return
		}
	}
}

// gateID is the id of the hold that leads the car to a state.
func gateID(state CarState) string { return "to-" + string(state) }

// checkAt is the id of the check that was chosen at slot, "" where none was.
func (r *Run) checkAt(slot string) string {
	if e := r.chosen[slot].event; r.proc.Search != nil && e.Offer != nil {
		return e.Offer.Values[checkValue]
	}
	return ""
}

// changeMinutes is what it takes to bring the car to another state for a check
// (common practice, no source).
const changeMinutes = 2.0

// state is the model of the search and where it stands at this place.
func (w *walker) state() (*causes.Model, causes.State) {
	m := w.run.proc.Search.model(func(c *Cause) bool { return w.possible(c.When) })
	s := m.Begin()
	for _, f := range w.found.made {
		s = f.into(m, s)
	}
	s.Open = w.found.open
	for i, row := range w.run.proc.Search.Checks {
		if row.Check.Car != w.car {
			m.Checks[i].Cost += changeMinutes
		}
		s.Done[i] = s.Done[i] || row.Check.opens&w.found.closed != 0 || !w.possible(row.When)
	}
	return m, s
}

// into takes a finding into a state. One of an outcome that the row doesn't have
// tells nothing.
func (f finding) into(m *causes.Model, s causes.State) causes.State {
	if o := f.step.Check.index(f.event.Outcome); o >= 0 {
		return m.Made(s, f.step.Check.Number, o)
	}
	return m.Missed(s, f.step.Check.Number)
}

func (w *walker) possible(rule *rules.Rule) bool {
	return rule == nil || w.truth(rule, subject.Round{}) != rules.False
}

// chooseCheck decides which check comes next, or that none does.
func (w *walker) chooseCheck(s *Step, at string, n int) {
	f := w.run.proc.Search
	m, state := w.state()
	verdict, list := m.Next(state)
	taken := false
	event := &Event{Kind: Chosen, Slot: at, Step: s.ID, Taken: &taken, Weighed: f.weighed(verdict, state.Belief, list)}
	w.due = event
	next, why := "", ""
	switch forced, ends := w.then(state); {
	case ends:
		event.Weighed.Verdict, verdict = causes.ToldToEnd, causes.ToldToEnd
	case n > s.AtMost:
		event.Weighed.Verdict, verdict = causes.NoMore, causes.NoMore
	case forced != "":
		next, why = forced, "it follows from the answer before"
	case verdict == causes.GoOn:
		best := list[0]
		next = f.Checks[best.Check].ID
		why = fmt.Sprintf("it tells most for its time: it takes %s and saves %s of putting right", causes.Minutes(best.Takes), causes.Minutes(best.Saves))
		switch {
		case best.Looks >= 0:
			why = fmt.Sprintf("it looks straight at %s, before that is put right: it takes %s and keeps %s from being lost", f.Causes[best.Looks].ID, causes.Minutes(best.Takes), causes.Minutes(best.Saves))
		case best.After >= 0:
			why = fmt.Sprintf("together with %s behind it, it tells most for its time", f.Checks[best.After].ID)
		}
	}
	if next == "" {
		event.Why = verdict.Says()
		return
	}
	taken = true
	event.Offer = &subject.Offer{Values: map[string]string{checkValue: next}, Reason: why}
}

// then is what the latest answer leads to: a check that was not made yet, or the
// end.
func (w *walker) then(s causes.State) (check string, ends bool) {
	if len(w.found.made) == 0 {
		return "", false
	}
	last := w.found.made[len(w.found.made)-1]
	o := last.step.Check.Outcome(last.event.Outcome)
	if o == nil || o.Then == "" {
		return "", false
	}
	if o.Then == endWord {
		return "", true
	}
	row := w.run.proc.Search.Check(o.Then)
	if row == nil || s.Done[row.Check.Number] {
		return "", false
	}
	return o.Then, false
}

func (f *Search) weighed(verdict causes.Verdict, b causes.Belief, list []causes.Worth) *Weighed {
	all := &Weighed{Verdict: verdict, Chances: map[string]float64{}, None: rounded(b.None())}
	for i, c := range f.Causes {
		all.Chances[c.ID] = rounded(b[i])
	}
	for _, o := range list {
		all.Checks = append(all.Checks, WeighedCheck{f.Checks[o.Check].ID, rounded(o.Saves), rounded(o.Takes)})
	}
	return all
}

// rounded keeps four places: a record is read by people too.
func rounded(v float64) float64 { return float64(int64(v*1e4+0.5)) / 1e4 }

// standing is what the search has come to at this place.
func (w *walker) standing() *causes.Standing {
	f := w.run.proc.Search
	m, s := w.state()
	st := &causes.Standing{Symptom: w.run.proc.Title, None: s.Belief.None(), Otherwise: w.say(f.None.Text, subject.Round{})}
	st.Verdict = w.verdict()
	before := m.Prior()
	for _, i := range m.Order(s.Belief, s.Open) {
		c := f.Causes[i]
		if before[i] <= 0 {
			continue
		}
		st.Causes = append(st.Causes, causes.Ranked{ID: c.ID, Text: w.say(c.Text, subject.Round{}), Chance: s.Belief[i], Before: before[i], Basis: c.Basis,
			Minutes: c.Minutes, Opens: w.stillToOpen(c), Mark: w.mark(m, i, before[i], s.Belief[i]), Remedy: w.say(c.Remedy, subject.Round{})})
	}
	st.Checks = w.seenChecks(m)
	return st
}

// stillToOpen names what has to be opened for a cause and is not open yet.
func (w *walker) stillToOpen(c *Cause) []string {
	var list []string
	for i, s := range w.run.proc.Search.Openings {
		if one := causes.Set(1) << i; c.opens.Has(one) && !w.found.open.Has(one) {
			list = append(list, s.ID)
		}
	}
	return list
}

// verdict is that of the choice that ended the search; GoOn while it goes on.
func (w *walker) verdict() causes.Verdict {
	s := w.run.proc.Search.step
	for n := 1; ; n++ {
		c, ok := w.choiceAt(fmt.Sprintf("%s.%d", s.ID, n))
		if !ok {
			return causes.GoOn
		}
		if !*c.event.Taken && c.event.Weighed != nil {
			return c.event.Weighed.Verdict
		}
	}
}

// mark tells how a cause was come to: by a check that looks straight at it, by others,
// or not at all.
func (w *walker) mark(m *causes.Model, cause int, before, now float64) causes.Mark {
	for _, f := range w.found.made {
		if c := f.step.Check; c.index(f.event.Outcome) >= 0 && !c.Told && m.Straight(c.Number, cause) {
			return causes.Measured
		}
	}
	if ratio := now / before; ratio > 1.1 || ratio < 1/1.1 {
		return causes.Inferred
	}
	return causes.NotTested
}

// seenChecks tells of every check: what came of it and what that moved.
func (w *walker) seenChecks(m *causes.Model) []causes.Seen {
	f := w.run.proc.Search
	var list []causes.Seen
	s := m.Begin()
	for _, made := range w.found.made {
		next := made.into(m, s)
		seen := causes.Seen{ID: made.step.ID, Question: w.say(made.step.Text, subject.Round{}), Expect: made.step.Check.Expect.words(),
			Source: made.step.Check.Source, Answer: made.event.Text, Outcome: made.event.Outcome, Why: made.event.Why}
		if o := made.step.Check.Outcome(made.event.Outcome); o != nil {
			seen.Says = w.say(o.Says, subject.Round{})
		}
		for i, c := range f.Causes {
			if s.Belief[i] > 0 {
				seen.Shifts = append(seen.Shifts, causes.Shift{Cause: c.ID, Text: w.say(c.Text, subject.Round{}), From: s.Belief[i], To: next.Belief[i]})
			}
		}
		seen.Shifts = append(seen.Shifts, causes.Shift{From: s.Belief.None(), To: next.Belief.None()})
		list = append(list, seen)
		s = next
	}
	for _, row := range f.Checks {
		if !slices.ContainsFunc(w.found.made, func(m finding) bool { return m.step == row }) && w.possible(row.When) {
			why := ""
			if row.Check.opens&w.found.closed != 0 {
				why = "what is in the way could not be opened"
			}
			list = append(list, causes.Seen{ID: row.ID, Question: w.say(row.Text, subject.Round{}), Expect: row.Check.Expect.words(), Source: row.Check.Source, Why: why})
		}
	}
	return list
}

// Standing is what the search of this run has come to with all answers; nil
// where its procedure has no causes.
func (r *Run) Standing() *causes.Standing {
	if r.proc.Search == nil {
		return nil
	}
	return r.everything().standing()
}

// Row is the row of a check as its file has it.
func (s *Step) Row() *Row {
	c := s.Check
	r := &Row{Where: c.Where, Condition: c.Condition, Tool: c.Tool, Minutes: c.Minutes, Expect: c.Expect.words(), Source: c.Source}
	for _, o := range c.Outcomes {
		if c.Expect == nil {
			r.Words = append(r.Words, o.Word)
		}
	}
	return r
}

// row is what a prompt at the given round shows of a check.
func (w *walker) row(s *Step, at string) *Row {
	r := s.Row()
	r.Where, r.Condition = w.say(r.Where, subject.Round{}), w.say(r.Condition, subject.Round{})
	if o := w.run.chosen[at].event.Offer; o != nil {
		r.Reason = o.Reason
	}
	return r
}

// words is a range as a sentence has it.
func (r *Range) words() string {
	switch {
	case r == nil:
		return ""
	case r.From == nil:
		return "at most " + r.To.Text()
	case r.To == nil:
		return "at least " + r.From.Text()
	}
	return r.From.Text() + " to " + r.To.Text()
}

// outcome tells where an amount lies. It reports false where a bound that was
// stated leaves that open.
func (r *Range) outcome(a quantity.Amount) (string, bool) {
	low, high := a.SI, a.SI
	switch a.Form {
	case quantity.Above:
		if r.To == nil || a.SI < r.To.SI {
			return Inside, r.To == nil && r.From != nil && a.SI >= r.From.SI
		}
		return Above, true
	case quantity.Below:
		if r.From == nil || a.SI > r.From.SI {
			return Inside, r.From == nil && r.To != nil && a.SI <= r.To.SI
		}
		return Below, true
	}
	switch {
	case r.From != nil && high < r.From.SI:
		return Below, true
	case r.To != nil && low > r.To.SI:
		return Above, true
	}
	return Inside, true
}

// answerCheck takes the answer to a check: a word of its row, an amount, or that
// it can't be told.
func (w *walker) answerCheck(text string) ([]Event, error) {
	if text == "" {
		text = w.prompt.Previous
	}
	switch {
	case text == "":
		return nil, refuse("an answer is needed here", "what the check shows, or ? where it can't be told")
	case text == "?" || text == NotChecked:
		return []Event{w.notChecked(text, "")}, nil
	}
	e := w.event(Answered, text, text)
	e.Undo = w.say(w.open.Undo, w.prompt.Round)
	var err error
	e.Text, e.Outcome, err = w.open.Check.read(text)
	if err != nil {
		return nil, err
	}
	return []Event{e}, nil
}

// read understands an answer: its canonical text and what it comes to.
func (c *CheckStep) read(text string) (canonical, outcome string, err error) {
	if c.Expect == nil {
		for _, o := range c.Outcomes {
			if strings.EqualFold(o.Word, text) {
				return o.Word, o.Word, nil
			}
		}
		var words []string
		for _, o := range c.Outcomes {
			words = append(words, o.Word)
		}
		return "", "", &subject.Refusal{What: fmt.Sprintf("%q is none of the answers%s", text, didYouMean(text, words)), Expected: strings.Join(words, ", ")}
	}
	if c.Expect.Kind == quantity.Share {
		if bare, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64); err == nil && bare > 0 && bare <= 1 {
			percent, whole := quantity.Format(bare, 3)+" %", quantity.Format(100*bare, 3)+" %"
			return "", "", &subject.Refusal{What: fmt.Sprintf("%q can be %s or %s", text, percent, whole), Expected: "one of these", Choices: []string{percent, whole}}
		}
	}
	a, err := quantity.Read(text, quantity.Want{Kind: c.Expect.Kind, Unit: c.Expect.Unit, Swing: true, Bounds: true})
	if err != nil {
		return "", "", refusalOf(err)
	}
	outcome, ok := c.Expect.outcome(a)
	if !ok {
		return "", "", refuse("that bound leaves open whether it is in the range", "a number, or ? where it can't be measured")
	}
	return a.Text(), outcome, nil
}

// refusalOf is a fault of a quantity as a prompt tells it.
func refusalOf(err error) error {
	switch e := err.(type) {
	case *quantity.Ambiguous:
		return &subject.Refusal{What: e.Error(), Expected: "one of these", Choices: e.Choices}
	case *quantity.Fault:
		what := e.What
		if e.Hint != "" {
			what += " (" + e.Hint + ")"
		}
		return refuse(what, e.Expected)
	}
	return refuse(err.Error(), "")
}

// notChecked is the answer to a check that can't be made.
func (w *walker) notChecked(raw, why string) Event {
	e := w.event(Answered, "", raw)
	e.Unknown, e.Outcome, e.Why = true, NotChecked, why
	return e
}

// echoCheck says what an answer to the open check comes to.
func (w *walker) echoCheck(text string) string {
	c := w.open.Check
	_, word, err := c.read(text)
	if err != nil {
		return ""
	}
	says := w.say(c.Outcome(word).Says, subject.Round{})
	if c.Expect == nil {
		return says
	}
	where := map[string]string{Below: "less than expected", Inside: "as expected", Above: "more than expected"}[word]
	return "That is " + where + " (" + c.Expect.words() + "). " + says
}
