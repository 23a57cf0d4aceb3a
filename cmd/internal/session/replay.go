package session

import (
	"encoding/json"
	"errors"
	"fmt"

	"dropwalk/engine"
	"dropwalk/engine/record"
)

// ProcedureKind is the kind of the line that holds the procedure of a record.
// It stands before the first event.
const ProcedureKind = "procedure"

// Procedure is what a record keeps of the procedure that it was made with.
type Procedure struct {
	Name  string `json:"name"`
	Units string `json:"units"`          // system of units in which prompts are shown; a run keeps it, since its texts are recorded
	Text  string `json:"text"`           // the file, as it was read
	Costs string `json:"costs,omitzero"` // the user's table of what readings cost, as it was read; a run keeps it, since the advice follows it

	// Priors is the user's file of what his own cars taught, as it was read; a run keeps it for the same reason.
	Priors string `json:"priors,omitzero"`
}

// ErrLater says that a record holds something that this release doesn't know.
var ErrLater = errors.New("the record holds events of a later release")

// Events reads the procedure and the events of a record. Where an event is of a
// kind that this release doesn't know, everything is returned all the same, with
// an error that wraps ErrLater: such a record can be shown, not continued.
func Events(lines []record.Line) (Procedure, []engine.Event, error) { return new(Known).Events(lines) }

// Known remembers the procedures that were read, by the lines that hold them: the
// records of a folder share a few. It is for one thread; the zero Known knows none.
type Known struct{ procedures map[string]Procedure }

// mostKnown bounds how many are remembered.
const mostKnown = 32

func (k *Known) procedure(line record.Line) (Procedure, error) {
	if p, ok := k.procedures[string(line.Body)]; ok {
		return p, nil
	}
	p, err := ProcedureOf(line)
	if err == nil && len(k.procedures) < mostKnown {
		if k.procedures == nil {
			k.procedures = map[string]Procedure{}
		}
		k.procedures[string(line.Body)] = p
	}
	return p, err
}

// Events is Events with what is known already.
func (k *Known) Events(lines []record.Line) (Procedure, []engine.Event, error) {
	var p Procedure
	var events []engine.Event
	var later error
	for _, line := range lines {
		if line.Kind == ProcedureKind {
			var err error
			if p, err = k.procedure(line); err != nil {
				return p, nil, err
			}
			continue
		}
		if line.Kind == TypedKind {
			continue
		}
		e, err := EventOf(line)
		switch {
		case errors.Is(err, ErrLater):
			later = err
		case err != nil:
			return p, nil, err
		default:
			events = append(events, e)
		}
	}
	if p.Text == "" {
		return p, events, errors.New("the record holds no procedure")
	}
	return p, events, later
}

// ProcedureOf reads the line that holds the procedure.
func ProcedureOf(line record.Line) (Procedure, error) {
	var p Procedure
	if err := json.Unmarshal(line.Body, &p); err != nil {
		return p, fmt.Errorf("line %d: the procedure can't be read: %w", line.Seq, err)
	}
	return p, nil
}

// EventOf reads the event of one line. The error wraps ErrLater where this
// release doesn't know its kind.
func EventOf(line record.Line) (engine.Event, error) {
	var e engine.Event
	if !engine.KnownKind(line.Kind) {
		return e, fmt.Errorf("line %d: %q: %w", line.Seq, line.Kind, ErrLater)
	}
	if err := json.Unmarshal(line.Body, &e); err != nil {
		return e, fmt.Errorf("line %d: the event can't be read: %w", line.Seq, err)
	}
	return e, nil
}

// Replay applies events to a run that has just begun.
func Replay(run *engine.Run, events []engine.Event) {
	for _, e := range events {
		run.Apply(e)
	}
}
