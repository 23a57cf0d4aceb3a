//go:build linux

package cli

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
)

// typedAs is an answer of a file as a person types it at a prompt.
func typedAs(a engine.Answer) string {
	switch a.Move {
	case engine.Note:
		return "note " + a.Text
	case engine.Skip, engine.Cannot:
		return string(a.Move) + " " + a.Why
	}
	if a.Text == engine.OnPaper {
		return "ready"
	}
	return a.Text
}

// fromExample has y type what the example file says, with a slip ahead of each
// question that is no hold.
func (y *typing) fromExample(t *testing.T) {
	file := readExample(t).NewAsker(discard{}, 78)
	slipped := ""
	y.script = func(p engine.Prompt) string {
		if slipped != p.Slot && p.Kind == engine.Ask {
			slipped = p.Slot
			return "skip"
		}
		a, err := file.Ask(t.Context(), p, nil)
		if err != nil {
			panic(err)
		}
		return typedAs(a)
	}
}

// recordOf runs the shipped procedure with an asker and returns the events as a
// record would hold them.
func recordOf(t *testing.T, asker session.Asker, by string) []map[string]any {
	t.Helper()
	var d diary
	s := &session.Session{Run: engine.NewRun(loadIntake(t), &advice.Matter{}), Store: &d, Asker: asker, By: by}
	if err := s.Begin(nil); err != nil {
		t.Fatal(err)
	}
	if err := s.Drive(t.Context()); err != nil {
		t.Fatal(err)
	}
	return d.lines
}

// The whole test, answered once and told three ways: at prompts on a terminal,
// on plain lines, and from a file. The events are the same but for who asked
// and what was typed. That holds were done on paper is in these two, and there
// only: what was found true is the same, how it came into the record is not.
func TestThreeWaysGiveTheSameEvents(t *testing.T) {
	plain := &typing{}
	plain.fromExample(t)
	plain.Asker = terminal.NewLines(terminal.Streams{In: plain, Err: discard{}, Width: 78})
	rich := &typing{}
	rich.fromExample(t)
	rich.atPrompts(t)
	file := readExample(t).NewAsker(discard{}, 78)

	ways := map[string][]map[string]any{
		linesAsker:   recordOf(t, plain, linesAsker),
		promptsAsker: recordOf(t, rich, promptsAsker),
		answersAsker: recordOf(t, file, answersAsker),
	}
	holds := 0
	for name, lines := range ways {
		for i, line := range lines {
			if line["by"] != name {
				t.Fatalf("event %d is by %v, want %s", i, line["by"], name)
			}
			if onPaper := line["raw"] == engine.OnPaper; onPaper != (line["text"] == "ready" && name == answersAsker) {
				t.Errorf("%s: the hold %v is kept as %v", name, line["slot"], line["raw"])
			} else if onPaper {
				holds++
			}
			delete(line, "by")
			delete(line, "raw")
		}
	}
	if holds < 15 {
		t.Errorf("%d holds on paper, want those of the place, the people, the car and two a run", holds)
	}
	for _, name := range []string{promptsAsker, answersAsker} {
		if diff := cmp.Diff(ways[linesAsker], ways[name]); diff != "" {
			t.Errorf("events differ (-%s +%s):\n%.4000s", linesAsker, name, diff)
		}
	}
	kinds := map[any]int{}
	for _, line := range ways[answersAsker] {
		kinds[line["kind"]]++
	}
	t.Logf("%d lines typed, events: %v", plain.lines, kinds)
	for _, kind := range []string{engine.Answered, engine.Skipped, engine.Refused, engine.Noted, engine.Chosen, engine.Finished} {
		if kinds[kind] == 0 {
			t.Errorf("no event %q in the test", kind)
		}
	}
	if unasked := file.Unasked(); len(unasked) > 0 {
		t.Errorf("the example holds what nobody asks for:\n%v", unasked)
	}
}
