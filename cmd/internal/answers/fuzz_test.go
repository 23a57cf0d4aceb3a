package answers

import (
	"context"
	"errors"
	"io"
	"testing"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// Whatever stands in a file, it is read or its faults are told with their
// places; what is read can be rehearsed; and where a rehearsal finds nothing, a
// run ends, or pauses at a question that the file doesn't answer. No answer
// vanishes: each was asked for or is told at the end.
func FuzzRead(f *testing.F) {
	f.Add([]byte(whole))
	f.Add(filled(Template(digForFuzz(f), garden{}, nil)))
	f.Add([]byte(`{"answers": 1, "procedure": "dig", "steps": {"soil": ["clay", {"answer": "sand", "note": "x"}], "walk.1/dig.2/depth": 9}}`))
	f.Add([]byte("answers: 1\nprocedure: dig\nholds: done-on-paper\nsteps:\n  clear: [2, 1]\n  owed: {all: done, mark: {cannot: why}}\nbeds:\n- {row: hedge, side: east, digs: [{yours: done-on-paper, depth: {stop: x}}]}\n"))
	p := digForFuzz(f)
	f.Fuzz(func(t *testing.T, src []byte) {
		file, faults := Read("f.yaml", src, p, garden{})
		if file == nil {
			if len(faults.Errors()) == 0 {
				t.Fatal("no file and no fault")
			}
			for _, fault := range faults {
				if fault.Line < 1 || fault.Col < 1 {
					t.Fatalf("a fault without a place: %+v", fault)
				}
			}
			return
		}
		found := file.Rehearse(nil)
		asker := file.NewAsker(io.Discard, 78)
		given := &counted{Asker: asker, nodes: map[*strictyaml.Node]bool{}}
		s := &session.Session{Run: engine.NewRun(p, garden{}), Store: &memory{}, Asker: given, By: "answers"}
		if err := s.Begin(nil); err != nil {
			t.Fatal(err)
		}
		err := s.Drive(t.Context())
		_, refused := errors.AsType[strictyaml.Faults](err)
		_, missing := errors.AsType[*Missing](err)
		switch {
		case err != nil && !refused && !missing:
			t.Fatalf("it ends with %v", err)
		case refused && len(found.Faults) == 0:
			t.Fatalf("refused, and the rehearsal found nothing: %v", err)
		case missing && len(found.Certain)+len(found.Faults) == 0:
			if _, n := cutNumber(lastSegment(given.at.Slot)); n == 0 && len(given.at.Round.Values) == 0 {
				t.Fatalf("missing at %s, and the rehearsal found nothing: %v", given.at.Slot, err)
			}
		}
		given.left()
		for at := range allSaid(file) {
			if !given.nodes[at] {
				t.Fatalf("the answer %q at %d:%d vanished", at.Text, at.Line, at.Col)
			}
		}
	})
}

// counted notes the places of the answers that were given.
type counted struct {
	*Asker
	at    engine.Prompt
	nodes map[*strictyaml.Node]bool
}

func (c *counted) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	c.at = p
	a, err := c.Asker.Ask(ctx, p, refused)
	c.nodes[c.last.at] = true
	return a, err
}

// left notes the places of those that are told at the end.
func (c *counted) left() {
	for _, l := range c.leftover() {
		for _, q := range l.asks() {
			for _, s := range q.said {
				c.nodes[s.at] = true
			}
		}
	}
	for key, s := range c.file.owed {
		if !c.owed[key] {
			c.nodes[s.at] = true
		}
	}
}

// allSaid are the places of all answers of a file.
func allSaid(f *File) map[*strictyaml.Node]bool {
	nodes := map[*strictyaml.Node]bool{}
	for _, q := range (rest{set: f.root}).asks() {
		for _, s := range q.said {
			nodes[s.at] = true
		}
	}
	for _, q := range f.address {
		for _, s := range q.said {
			nodes[s.at] = true
		}
	}
	for _, s := range f.owed {
		nodes[s.at] = true
	}
	return nodes
}

func digForFuzz(f *testing.F) *engine.Procedure {
	p, faults := engine.Load("dig.yaml", []byte(digging), garden{})
	if p == nil {
		f.Fatal(faults)
	}
	return p
}
