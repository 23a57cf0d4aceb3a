package engine

import (
	"dropwalk/engine/causes"
	"dropwalk/engine/subject"
)

// CarState is what the car is doing.
type CarState string

// States of the car.
const (
	Off    CarState = "off"
	Idling CarState = "idling"
	Parked CarState = "parked"
	Moving CarState = "moving"
)

// Kind is the verb of a step.
type Kind string

// Verbs of steps. A duty is an undo that is owed; it has no verb of its own.
const (
	Ask     Kind = "ask"
	Do      Kind = "do"
	Hold    Kind = "hold"
	Tell    Kind = "tell"
	Show    Kind = "page"
	Rounds  Kind = "rounds"
	Checks  Kind = "checks"
	Examine Kind = "check"
	Owed    Kind = "owed"
)

// Prompt is one screen that awaits one answer.
type Prompt struct {
	Slot     string // address of the answer
	Step     string // id of the step
	Number   string // of the step, such as 6.3; "" where none stands in the procedure
	Kind     Kind
	Place    Place
	Car      CarState
	Text     string
	Notices  []Notice
	Lines    []string // of a hold: what must be true
	See      string   // what shows that it worked
	Why      string
	Like     string // an example of an answer
	Unknown  string // what follows from "don't know"
	Skip     string // what follows from skipping; "" where skipping is refused
	Cannot   string // what to do where it can't be done; "" where nothing is written
	Fields   []subject.Field
	Previous string                            // the earlier answer of an ask; Enter keeps it
	Source   string                            // what Previous was taken from where it is no earlier answer, such as the card
	Page     string                            // Markdown, of a page
	Shows    string                            // name of the picture that stands above the text, "" none
	Pictures []string                          // names of the pictures that can be looked at
	Picture  func(name string) subject.Picture // draws one of them
	Earlier  func() []string                   // names of the answers that back can name, the latest first
	Words    []Word                            // of whoever puts the prompt, beside the usual ones
	Again    bool                              // a verification that is repeated after a pause
	Seen     string                            // the text that the record keeps: text, lines and notices as shown
	Round    subject.Round
	Row      *Row                    // of a check: what stands in its row
	Standing func() *causes.Standing // what the search has come to here; nil where the procedure has no causes

	// Group are the prompts that one answer takes together, this one first; none
	// where the prompt is asked by itself. OnPaper says that they were worked
	// through on paper, holds among them.
	Group   []Prompt
	OnPaper bool
}

// Place is where the prompt stands.
type Place struct {
	Part          string
	PartNo, Parts int
	StepNo, Steps int
	About         bool // Steps is an estimate: rounds or rules ahead may still change it
	Skipped       int
}

// Notice is a caution that rides on its step.
type Notice struct {
	Level           string // danger, warning, caution, notice
	From, So, Avoid string
}

// Word is a word that can be typed at a prompt beside those that every prompt
// knows. What is typed comes back as a Note, the word first.
type Word struct {
	Word string
	With string // what stands behind it, such as NAME; "" where it stands alone
	Does string // what it does, for help
}

// Move is what a person does at a prompt other than answering it.
type Move string

// Moves. The zero Move answers the prompt.
const (
	Answering Move = ""
	Back      Move = "back"   // Text may name a step
	Skip      Move = "skip"   // Why is needed
	Cannot    Move = "cannot" // Why is needed
	Note      Move = "note"   // Text is kept; the prompt stays
	Stop      Move = "stop"
)

// Answer is what came back from an asker. Pause and help never reach the
// engine: they change nothing.
type Answer struct {
	Move      Move
	Text, Why string
}

// Event kinds, as they stand in a record.
const (
	Started   = "started"
	Answered  = "answered"
	Refused   = "refused"
	Skipped   = "skipped"
	Corrected = "corrected"
	Chosen    = "chosen"
	Noted     = "noted"
	Resumed   = "resumed"
	Stopped   = "stopped"
	Finished  = "finished"
)

// Event is one thing that happened. Apply is the only way in which an Event
// changes a Run.
type Event struct {
	Kind    string          `json:"kind"`
	Slot    string          `json:"slot,omitzero"`
	Step    string          `json:"step,omitzero"`
	Text    string          `json:"text,omitzero"`    // the answer, canonical
	Raw     string          `json:"raw,omitzero"`     // the answer as typed
	First   string          `json:"first,omitzero"`   // what was typed first, where that was in doubt
	Seen    string          `json:"seen,omitzero"`    // the prompt as shown
	Why     string          `json:"why,omitzero"`     // a reason that was given
	Parts   []subject.Part  `json:"parts,omitzero"`   // what an ask fills in
	Undo    string          `json:"undo,omitzero"`    // the duty that an answered step leaves
	Car     CarState        `json:"car,omitzero"`     // the state that a passed hold leads to
	Taken   *bool           `json:"taken,omitzero"`   // of chosen: whether the round or step is opened
	Offer   *subject.Offer  `json:"offer,omitzero"`   // of chosen: the whole offer
	Given   []subject.Entry `json:"given,omitzero"`   // of started: what an earlier sheet brought
	Unknown bool            `json:"unknown,omitzero"` // "don't know"
	Outcome string          `json:"outcome,omitzero"` // of a check: what its answer comes to
	Weighed *Weighed        `json:"weighed,omitzero"` // of chosen: everything that the next check was chosen by
	Closing bool            `json:"closing,omitzero"` // of resumed: the closing list was reached
}

// Duty is an undo that is owed.
type Duty struct {
	Slot    string // of the step that left it
	Text    string
	See     string   // what shows that it is put back; "" where nothing is said
	Notices []Notice // that ride on putting it back

	first bool // ahead of what was done later
}
