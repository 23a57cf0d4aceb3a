package terminal

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/engine"
	"dropwalk/engine/causes"
)

// look is a check that is answered with a word, weigh one that is measured.
var (
	look = engine.Prompt{Kind: engine.Examine, Slot: "look", Text: "How does the hose sit?", Why: "Air leaks there first.", Cannot: "It stays open.",
		Row: &engine.Row{Where: "At the tap.", Tool: "torch", Words: []string{"it sits", "it is off"}, Reason: "it tells most for its time"},
		Standing: func() *causes.Standing {
			return &causes.Standing{None: 0.4, Causes: []causes.Ranked{{ID: "hose", Text: "The hose_is off", Chance: 0.6, Mark: causes.NotTested, Minutes: 5}}}
		}}
	weigh = engine.Prompt{Kind: engine.Examine, Slot: "leak", Text: "What does it lose?", Cannot: "It stays open.",
		Row: &engine.Row{Condition: "Closed off.", Expect: "at most 5 %", Source: "common practice, no source"}}
)

// A check shows its row, and takes a number, a word or its beginning; ? and cannot
// say that it can't be told.
func TestCheckAtAPrompt(t *testing.T) {
	for _, c := range []struct {
		p     engine.Prompt
		typed string
		want  engine.Answer
	}{
		{look, "2", engine.Answer{Text: "it is off"}}, {look, "It Sits", engine.Answer{Text: "it sits"}}, {look, "it is", engine.Answer{Text: "it is off"}},
		{look, "?", engine.Answer{Text: "?"}}, {look, "cannot too dark", engine.Answer{Move: engine.Cannot, Why: "too dark"}},
		{weigh, "6 %", engine.Answer{Text: "6 %"}}, {weigh, "don't know", engine.Answer{Text: "?"}},
	} {
		var errs bytes.Buffer
		l := NewLines(Streams{In: strings.NewReader(c.typed + "\n"), Err: &errs, Width: 60})
		got, err := l.Ask(t.Context(), c.p, nil)
		if diff := cmp.Diff(c.want, got); diff != "" || err != nil {
			t.Errorf("%q: %v (-want +got):\n%s", c.typed, err, diff)
		}
	}
	for p, wants := range map[*engine.Prompt][]string{
		&look:  {"How does the hose sit?\n  Where: At the tap.\n  With: torch\n  1) it sits\n  2) it is off\nType a number or its word. Type ? if it can't be told.\n"},
		&weigh: {"  Meanwhile: Closed off.\n  Expected: at most 5 % (common practice, no source)\nType what it shows, with its unit. Type ? if it can't be\ntold.\n"},
	} {
		got := screen(*p, "", 60)
		for _, want := range wants {
			if !strings.Contains(got, want) {
				t.Errorf("the screen lacks %q:\n%s", want, got)
			}
		}
	}
	if got, want := briefQuestion(weigh, 60), "What does it lose? (expected at most 5 %; ?)\n  Closed off\n"; got != want {
		t.Errorf("in brief it is %q, want %q", got, want)
	}
}

// Why tells why it is asked, why it comes now and how the search stands; where
// there is no search, only the first.
func TestWhyAtAPrompt(t *testing.T) {
	var errs bytes.Buffer
	l := NewLines(Streams{In: strings.NewReader("why\nwhy so\n1\n"), Err: &errs, Width: 60})
	if a, err := l.Ask(t.Context(), look, nil); err != nil || a.Text != "it sits" {
		t.Fatalf("after why the answer is %+v, %v", a, err)
	}
	for _, want := range []string{"Air leaks there first.\nIt comes now because it tells most for its time.\n", "1. hose: The hose_is off. 60 %, not tested; 5 min.", "None of these: 40 %.",
		"Nothing was checked yet", `"why" stands alone`} {
		if !strings.Contains(errs.String(), want) {
			t.Errorf("why doesn't tell %q:\n%s", want, errs.String())
		}
	}
	if got, want := whyFor(engine.Prompt{Kind: engine.Do}, 80), "Nothing more is written about this one; help lists what can be typed.\n"; got != want {
		t.Errorf("without a why it says %q", got)
	}
}
