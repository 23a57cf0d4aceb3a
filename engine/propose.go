package engine

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dropwalk/engine/spell"
	"dropwalk/engine/subject"
)

// readyWord passes a hold, and no shorter answer does.
const readyWord = "ready"

// OnPaper passes a hold that was worked through on paper: where a run is told
// afterwards, nobody stands at the car to answer it. The record keeps it as what
// was typed.
const OnPaper = "done-on-paper"

// doneWord answers a step that is done. An empty line does too.
const doneWord = "done"

// Propose turns an answer at the open prompt into the events to record. It
// changes nothing. Its error is a *subject.Refusal: say why and ask again.
func (r *Run) Propose(p Prompt, a Answer) ([]Event, error) {
	w := r.look()
	if w.prompt == nil || w.prompt.Slot != p.Slot {
		return nil, refuse("this question is no longer open", "an answer to the open one")
	}
	switch a.Move {
	case Answering:
		return w.answer(a)
	case Back:
		return w.back(a.Text)
	case Skip:
		return w.skip(a.Why)
	case Cannot:
		return w.cannot(a.Why)
	case Note:
		return w.note(a.Text)
	case Stop:
		return []Event{{Kind: Stopped, Slot: w.prompt.Slot, Car: w.run.car, Why: a.Why}}, nil
	}
	return nil, refuse(fmt.Sprintf("nobody knows the move %q", a.Move), "an answer")
}

func refuse(what, expected string) *subject.Refusal {
	return &subject.Refusal{What: what, Expected: expected}
}

// event is the answer of the open prompt with text.
func (w *walker) event(kind, text, raw string) Event {
	p := w.prompt
	return Event{Kind: kind, Slot: p.Slot, Step: p.Step, Text: text, Raw: raw, Seen: p.Seen}
}

func (w *walker) answer(a Answer) ([]Event, error) {
	text := strings.TrimSpace(a.Text)
	switch w.prompt.Kind {
	case Ask:
		return w.answerAsk(text)
	case Examine:
		return w.answerCheck(text)
	case Hold:
		return w.answerHold(text)
	case Do, Owed:
		if text != "" && !strings.EqualFold(text, doneWord) {
			return nil, refuse(fmt.Sprintf("%q is no answer to a step", text), "done, or one of the words that help lists")
		}
		e := w.event(Answered, doneWord, a.Text)
		if w.open != nil {
			e.Undo = w.say(w.open.Undo, w.prompt.Round)
		}
		return []Event{e}, nil
	}
	if text != "" {
		return nil, refuse("there is nothing to answer here", "Enter, or one of the words that help lists")
	}
	return w.answerTell(a.Text), nil
}

// answerTell passes a text. One that leads back is never passed: it comes again
// until what it complains of is put right.
func (w *walker) answerTell(raw string) []Event {
	if len(w.open.BackTo) == 0 {
		return []Event{w.event(Answered, "read", raw)}
	}
	var events []Event
	for _, id := range w.open.BackTo {
		if at, ok := w.find(id); ok {
			events = append(events, Event{Kind: Corrected, Slot: at, Step: id, Why: w.prompt.Text})
		}
	}
	return events
}

func (w *walker) answerAsk(text string) ([]Event, error) {
	if text == "" {
		text = w.prompt.Previous
	}
	if text == "" {
		expected := "a value, or ? if you don't know"
		if w.prompt.required() {
			expected = "a value" + example(w.prompt.Like)
		}
		return nil, refuse("an answer is needed here", expected)
	}
	reply, err := w.see().Read(w.open.Fills, w.prompt.Round, text)
	if err != nil {
		return nil, err
	}
	if reply.Unknown {
		return w.unknown(text)
	}
	e := w.event(Answered, joined(reply.Parts), text)
	e.Parts = reply.Parts
	return []Event{e}, nil
}

// unknown takes "don't know" where the field allows it.
func (w *walker) unknown(raw string) ([]Event, error) {
	if w.prompt.required() {
		return nil, refuse("this one can't be done without", "a value"+example(w.prompt.Like))
	}
	e := w.event(Answered, "", raw)
	e.Unknown = true
	return []Event{e}, nil
}

// required tells whether the prompt takes no "don't know".
func (p Prompt) required() bool {
	return slices.ContainsFunc(p.Fields, func(f subject.Field) bool { return f.Required })
}

func example(like string) string {
	if like == "" {
		return ""
	}
	return ", for example " + like
}

func joined(parts []subject.Part) string {
	texts := make([]string, len(parts))
	for i, p := range parts {
		texts[i] = p.Text
	}
	return strings.Join(texts, ", ")
}

// Echo is how an answer at the open prompt would be understood, in both systems
// of units; "" where nothing needs saying.
func (r *Run) Echo(p Prompt, text string) string {
	w := r.look()
	if w.open == nil || w.prompt.Slot != p.Slot {
		return ""
	}
	if w.prompt.Kind == Examine {
		return w.echoCheck(text)
	}
	if w.prompt.Kind != Ask {
		return ""
	}
	reply, err := w.see().Read(w.open.Fills, w.prompt.Round, text)
	if err != nil {
		return ""
	}
	return reply.Echo
}

func (w *walker) answerHold(text string) ([]Event, error) {
	if strings.EqualFold(text, readyWord) || text == OnPaper {
		e := w.event(Answered, readyWord, text)
		if w.open != nil {
			e.Car = w.open.ThenCar
		} else {
			e.Car = w.rest
		}
		return []Event{e}, nil
	}
	if n, err := strconv.Atoi(text); err == nil && n >= 1 && n <= len(w.prompt.Lines) {
		e := w.event(Refused, "", text)
		e.Why = w.prompt.Lines[n-1]
		return []Event{e}, nil
	}
	expected := "the word " + readyWord
	if n := len(w.prompt.Lines); n > 0 {
		expected += ", or the number of a line that isn't true"
	}
	return nil, refuse("a hold needs an answer", expected)
}

func (w *walker) skip(why string) ([]Event, error) {
	p := w.prompt
	if p.Kind != Owed && p.Skip == "" {
		return nil, refuse("this step can't be skipped", "an answer, or stop to end the test")
	}
	if strings.TrimSpace(why) == "" {
		return nil, refuse("skipping needs a reason", "skip and why, in a few words")
	}
	e := w.event(Skipped, "", "")
	e.Why = why
	return []Event{e}, nil
}

// cannot leads where the file says.
func (w *walker) cannot(why string) ([]Event, error) {
	if w.prompt.Kind == Owed {
		return w.skip(why)
	}
	if w.prompt.Cannot == "" {
		return nil, refuse("nothing is written for a step like this that can't be done", "an answer, pause, or stop")
	}
	if strings.TrimSpace(why) == "" {
		return nil, refuse("it helps to say why", "cannot and why, in a few words")
	}
	if w.prompt.Kind == Examine && w.open.CannotThen != Stop {
		return []Event{w.notChecked("", why)}, nil
	}
	e := w.event(Refused, "", "")
	e.Why = why
	switch w.open.CannotThen {
	case Skip:
		e.Kind = Skipped
	case Stop:
		e.Kind, e.Car = Stopped, w.run.car
	}
	return []Event{e}, nil
}

func (w *walker) note(text string) ([]Event, error) {
	if strings.TrimSpace(text) == "" {
		return nil, refuse("a note needs a text", "note and what to keep")
	}
	return []Event{{Kind: Noted, Slot: w.prompt.Slot, Text: text}}, nil
}

// back reopens an earlier answer: the one that id names, or the last that was
// a matter of doing or answering. Holds and pages are passed over: repeating
// them would correct nothing.
func (w *walker) back(id string) ([]Event, error) {
	if w.run.stopped != nil {
		return nil, refuse("the test was stopped; only what is owed is left", "done, or cannot and why")
	}
	if id = strings.TrimSpace(id); id != "" {
		return w.backTo(id)
	}
	for i := len(w.visited) - 1; i >= 0; i-- {
		if s := w.visited[i].step; s != nil && (s.Kind == Ask || s.Kind == Do || s.Kind == Examine) {
			return []Event{{Kind: Corrected, Slot: w.visited[i].slot, Step: s.ID}}, nil
		}
	}
	return nil, refuse("this is the first question", "an answer")
}

func didYouMean(word string, known []string) string {
	if name, ok := spell.Nearest(word, known); ok {
		return fmt.Sprintf(" (did you mean %q?)", name)
	}
	return ""
}

// find returns the slot of the latest passed step with the given id or slot, or
// of an ask that an earlier document answered.
func (w *walker) find(id string) (string, bool) {
	for i := len(w.visited) - 1; i >= 0; i-- {
		if v := w.visited[i]; v.step != nil && (v.step.ID == id || v.slot == id) {
			return v.slot, true
		}
	}
	for _, part := range w.run.proc.Parts {
		for _, s := range part.Steps {
			if s.ID == id && w.givenAnswers(s) {
				return id, true
			}
		}
	}
	return "", false
}
