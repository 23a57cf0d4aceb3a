package session

import (
	"encoding/json"
	"slices"

	"dropwalk/engine"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

// TypedKind is the kind of a line that holds what was typed of a paper: nothing
// that is typed waits for the second entry to be kept. It is no event: once both
// entries agree an event follows, and a run is replayed without such lines.
const TypedKind = "typed"

// OnPaper is who answers, as a record has it, where a paper is typed in.
const OnPaper = "paper"

// Typed is one entry of a paper.
type Typed struct {
	Slot  string         `json:"slot,omitzero"`
	Step  string         `json:"step,omitzero"`
	Entry int            `json:"entry"` // the first, the second, or the third where two didn't agree; 0 for a sitting that goes on
	Move  engine.Move    `json:"move,omitzero"`
	Text  string         `json:"text,omitzero"`
	Why   string         `json:"why,omitzero"`
	Parts []subject.Part `json:"parts,omitzero"` // as understood
	Back  bool           `json:"back,omitzero"`  // the latest entry of this slot is taken back
	By    string         `json:"by,omitzero"`
}

func (t Typed) answer() engine.Answer {
	return engine.Answer{Move: t.Move, Text: t.Text, Why: t.Why}
}

// entryOf is an entry's address among those that wait.
type entryOf struct {
	slot  string
	entry int
}

// waiting are entries that no event holds yet, by slot and entry, in the order in
// which they were typed.
type waiting map[entryOf][]engine.Answer

func (w waiting) push(slot string, entry int, a engine.Answer) {
	at := entryOf{slot, entry}
	w[at] = append(w[at], a)
}

func (w waiting) pop(slot string, entry int) (engine.Answer, bool) {
	at := entryOf{slot, entry}
	if len(w[at]) == 0 {
		return engine.Answer{}, false
	}
	a := w[at][0]
	w[at] = w[at][1:]
	return a, true
}

// Waiting reads what was typed of a paper and is no event yet. It reports whether
// the latest line of the record comes from a paper.
func Waiting(lines []record.Line) (entries []Typed, onPaper bool) {
	var who struct {
		By string `json:"by"`
	}
	for _, line := range lines {
		who.By = ""
		_ = json.Unmarshal(line.Body, &who) // a line that can't be read is told elsewhere
		onPaper = who.By == OnPaper
		if line.Kind == TypedKind {
			var t Typed
			switch {
			case json.Unmarshal(line.Body, &t) != nil:
			case t.Back:
				entries = takenBack(entries, t)
			default:
				entries = append(entries, t)
			}
			continue
		}
		if e, err := EventOf(line); err == nil && answers(e) {
			entries = without(entries, e.Slot)
		}
	}
	return entries, onPaper
}

// answers tells whether an event is what an entry comes to.
func answers(e engine.Event) bool {
	return e.Kind == engine.Answered || e.Kind == engine.Skipped || e.Kind == engine.Refused
}

// takenBack leaves out the latest entry that t takes back.
func takenBack(entries []Typed, t Typed) []Typed {
	for i, e := range slices.Backward(entries) {
		if e.Slot == t.Slot && e.Entry == t.Entry {
			return slices.Delete(entries, i, i+1)
		}
	}
	return entries
}

// without takes out the oldest of each entry at slot: an event holds them now.
func without(entries []Typed, slot string) []Typed {
	gone := map[int]bool{}
	var left []Typed
	for _, t := range entries {
		if t.Slot == slot && !gone[t.Entry] {
			gone[t.Entry] = true
			continue
		}
		left = append(left, t)
	}
	return left
}

func waitingOf(entries []Typed) waiting {
	w := waiting{}
	for _, t := range entries {
		if t.Entry != 0 {
			w.push(t.Slot, t.Entry, t.answer())
		}
	}
	return w
}
