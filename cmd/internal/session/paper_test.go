package session

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/engine"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

// typist types a paper of the filling in, and takes the first name back once. Its
// disk is full at one write.
type typist struct {
	lines          []record.Line
	writes, fullAt int
	wentBack       bool // to the name
	sentBack       bool
	asked          int
}

func (k *typist) Append(kind string, body any) error {
	if k.writes++; k.writes == k.fullAt {
		return fmt.Errorf("here: %w", record.ErrFull)
	}
	text, err := json.Marshal(body)
	k.lines = append(k.lines, record.Line{Seq: len(k.lines) + 1, Kind: kind, Body: text})
	return err
}

func (k *typist) Say(Message) {}

func (k *typist) Ask(_ context.Context, p engine.Prompt, _ *subject.Refusal) (engine.Answer, error) {
	if k.asked++; k.asked > 100 {
		return engine.Answer{}, errors.New("there is no end of prompts")
	}
	switch {
	case p.Slot == "called":
		if k.wentBack = k.wentBack || k.sentBack; k.wentBack {
			return engine.Answer{Text: "south"}, nil
		}
		return engine.Answer{Text: "north"}, nil
	case p.Slot == "depth" && !k.wentBack:
		k.sentBack = true
		return engine.Answer{Move: engine.Back}, nil
	case p.Slot == "depth":
		return engine.Answer{Text: "2 m"}, nil
	case p.Kind == engine.Hold && len(p.Group) == 0:
		return engine.Answer{Text: "ready"}, nil
	}
	return engine.Answer{}, nil
}

// sit is one sitting of the typist, the first or one that goes on.
func (k *typist) sit(t *testing.T) error {
	t.Helper()
	p, faults := engine.Load("filling.yaml", []byte(filling), tank{})
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	s := &Session{Run: engine.NewRun(p, tank{}), Store: k, Asker: k, By: OnPaper, Paper: true}
	_, events, err := Events(k.lines)
	if err != nil {
		t.Fatal(err)
	}
	begin := func() error { return s.Begin(nil) }
	if len(events) > 0 {
		Replay(s.Run, events)
		s.Earlier, _ = Waiting(k.lines)
		begin = s.Continue
	}
	if err := begin(); err != nil {
		return err
	}
	return s.Drive(t.Context())
}

// At whichever write the disk is full, what was typed of a paper is neither lost nor
// comes twice, and what was taken back doesn't come again.
func TestFullDiskWhileAPaperIsTypedIn(t *testing.T) {
	kept, _ := json.Marshal(Procedure{Name: "filling", Text: filling})
	first := record.Line{Seq: 1, Kind: ProcedureKind, Body: kept}
	for at, writes := 0, 1; at <= writes; at++ {
		k := &typist{lines: []record.Line{first}, fullAt: at}
		err := k.sit(t)
		for n := 0; n < 2 && errors.Is(err, record.ErrFull); n++ {
			err = k.sit(t)
		}
		if err != nil {
			t.Fatalf("full at write %d: %v", at, err)
		}
		if at == 0 {
			writes = k.writes
		}
		var texts []string
		_, events, err := Events(k.lines)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range events {
			if answers(e) {
				texts = append(texts, e.Slot+" "+e.Text)
			}
		}
		want := []string{"called south", "depth 2 m", "lid ready", "valve done", "owed/valve done"}
		if diff := cmp.Diff(want, texts); diff != "" {
			t.Errorf("full at write %d (-want +got):\n%s", at, diff)
		}
		left, _ := Waiting(k.lines)
		for _, typed := range left {
			if typed.Entry != 0 { // 0 only says that a sitting went on
				t.Errorf("full at write %d: there waits still %+v", at, typed)
			}
		}
	}
}
