// Package subject is how a procedure asks about its matter without knowing
// what the matter is. The engine steps through prompts; somebody else knows
// what a reading, a gauge or a car is. That somebody satisfies Subject.
//
// It is a leaf: plain types and two interfaces, no behaviour of its own. Start
// with Subject, then View.
package subject

import "dropwalk/engine/quantity"

// Field is a place in the document that a procedure fills. A path that holds
// "[]" lies in a list; the row is the slot of the round that fills it.
type Field struct {
	Path     string
	Kind     quantity.Kind     // what is read there; quantity.Text and quantity.Choice for words
	Unit     string            // the unit of a bare number, "" where one must be written
	Choices  []string          // the words of a choice, in the order in which they are shown
	Everyday map[string]string // of a choice: what people call it, in small letters, and the word that they mean
	Required bool              // "don't know" is refused
	Offered  []string          // names of things the person has, each a complete answer beside free ones
	Doc      string            // one line for the person who writes a procedure
}

// Fact is a name that rules may use and that texts may show in braces.
type Fact struct {
	Name    string
	Kind    quantity.Kind
	Choices []string // for quantity.Choice
	Judged  bool     // true where it takes an assessment; false where it follows from answers alone
	Brought bool     // it follows from what an earlier document brings, whatever is answered
	Doc     string
}

// Source is something that can offer one more round of work.
type Source struct {
	Name   string
	Values []Fact // what each of its offers fills in: words and plain numbers, which rules inside the rounds may name
	Keys   []Key  // those of the values that tell one offer from another; none where only their order does
	Rows   string // what a list of such rounds is called where answers come from a file
	Judged bool
	// Ahead is the fact that is yes where an earlier document settles the rounds, so
	// that a worksheet can name them; "" where none does.
	Ahead string
	Doc   string
}

// Key is a value that tells one round from another.
type Key struct {
	Name  string   // of the value
	Among string   // the fact whose text lists what the value can be, with ", " between
	Also  []string // what else it can be
}

// Value is what a fact has come to. The zero Value is unknown.
type Value struct {
	Known  bool
	Number float64 // SI, for kinds that measure
	Word   string  // for a choice or a text
	Truth  bool    // for quantity.Truth
	Text   string  // as it stands in a sentence
}

// Entry is one accepted answer on its way into the document. Row is "" outside
// lists.
type Entry struct {
	Path string `json:"path"`
	Row  string `json:"row,omitzero"`
	Text string `json:"text"`
}

// Part is one field's share of an answer: canonical text that needs no second
// reading.
type Part struct {
	Path string `json:"path"`
	Text string `json:"text"`
}

// Round tells where in nested rounds a question stands.
type Round struct {
	Slot   string            // address of the round, such as "walk.2/runs.3"; "" outside rounds
	Done   int               // rounds of this source that are finished
	Least  int               // rounds that the procedure asks for in any case: an offer is due while Done is less
	Most   int               // rounds that it takes at the most; 0 where nobody says
	Values map[string]string // values of this round and of those around it
}

// Offer is one more round of work, with the values that its steps show and
// the parts of the document that the round itself fills (row: the round's slot).
type Offer struct {
	Values map[string]string `json:"values,omitzero"`
	Parts  []Part            `json:"parts,omitzero"`
	Reason string            `json:"reason,omitzero"`
}

// Reply is an answer as understood.
type Reply struct {
	Parts   []Part
	Echo    string // how it was understood, in both systems of units; "" where nothing needs saying
	Unknown bool   // the person does not know: nothing is filled in
}

// Refusal is an answer that can't be taken. The prompt comes again.
type Refusal struct {
	What     string   // what is wrong
	Expected string   // what would do
	Choices  []string // complete answers to choose from where the text can mean several things
	Doubt    *Doubt   // not nil where the answer may be true all the same
}

// Doubt is how an answer far outside what was expected is taken all the same.
// Its texts are complete answers that Read takes without asking back. Whoever
// answers from a file can write them from the start: "31 inH2O at 6000, keep",
// "31 inH2O at 6000, doubtful: the needle stuck".
type Doubt struct {
	Keep     string // takes it as it stands
	Doubtful string // takes it with less weight, for the reason put behind it; "" where the document can't hold that
	Reason   string // stands in for a reason that nobody gives
}

func (r *Refusal) Error() string {
	if r.Expected == "" {
		return r.What
	}
	return r.What + "; expected " + r.Expected
}

// Subject knows the matter of a procedure.
type Subject interface {
	Field(path string) (Field, bool)
	Fact(name string) (Fact, bool)
	Source(name string) (Source, bool) // may `rounds: name` be written?
	Page(name string) bool             // may `page: name` be written?
	Names() Names                      // everything there is, for "did you mean"
	Look(entries []Entry) View
}

// Names lists what a Subject knows, sorted.
type Names struct{ Fields, Facts, Sources, Pages, Pictures []string }

// Picture shows the matter as places along one line, in order.
type Picture struct {
	Title  string
	Places []Spot
}

// Spot is one place of a Picture. Its notes say in words what its mark says.
type Spot struct {
	Name  string
	Mark  Mark
	Next  bool // work goes on here
	Notes []string
}

// Mark is how a place stands.
type Mark int

// Marks: a place to pass, one end of the line, a place where something can be,
// and one where it is.
const (
	Passed Mark = iota
	End
	Possible
	Present
)

// View is the matter as the answers so far describe it. It is cheap to make;
// judged facts, offers and pages are worked out on first use, once.
type View interface {
	Value(fact string) Value
	Offer(source string, at Round) (Offer, bool)
	// Read understands one line that fills the fields at the given paths. Its
	// error is a *Refusal.
	Read(paths []string, at Round, raw string) (Reply, error)
	Page(name string) string // Markdown
	Picture(name string, at Round) Picture
}
