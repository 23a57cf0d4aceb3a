package engine

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/engine/subject"
)

// Whoever doesn't know what a step is called goes back to it by its question.
func TestBackByWords(t *testing.T) {
	for words, slot := range map[string]string{
		"who": "who", "Who orders?": "who", "colour": "which", "which col": "which", "crate": "crate", "WEIGH": "crate",
		"open the store": "store", "items.1/count": "items.1/count", "how many": "items.2/count",
	} {
		b := newBench(t, 3)
		b.say("Ann", "red", "", "", "ready", "ready", "3", "", "ready", "ready", "4")
		if words == "how many" {
			b.refused(Answer{Move: Back, Text: words}, "fits 2 answers")
			words = "count"
		}
		if err := b.do(Answer{Move: Back, Text: words}); err != nil {
			t.Errorf("%q: %v", words, err)
			continue
		}
		if p := b.prompt(); p.Slot != slot {
			t.Errorf("%q leads to %s, want %s", words, p.Slot, slot)
		}
	}
}

// What fits nothing, or several answers, lists what can be gone back to; each
// line of the list is a complete answer.
func TestBackListsWhereTo(t *testing.T) {
	b := newBench(t, 2)
	b.say("Ann", "red", "", "", "ready", "ready", "3")
	for _, c := range []struct {
		words string
		want  []string
	}{
		{"2", []string{"back count (How many of item 1 of Ann?)", "back crate (Weigh the crate of Ann.)", "back store (Open the store.)", "back which (Which colour?)", "back who (Who orders?)"}},
		{"engine size", []string{"back count (How many of item 1 of Ann?)", "back crate (Weigh the crate of Ann.)", "back store (Open the store.)", "back which (Which colour?)", "back who (Who orders?)"}},
		{"wh", []string{"back which (Which colour?)", "back who (Who orders?)"}},
	} {
		r := b.refusal(Answer{Move: Back, Text: c.words})
		if diff := cmp.Diff(c.want, r.Choices); diff != "" {
			t.Errorf("%q (-want +got):\n%s", c.words, diff)
			continue
		}
		for _, line := range r.Choices {
			if err := b.do(Answer{Move: Back, Text: strings.TrimPrefix(line, "back ")}); err != nil {
				t.Errorf("%q: %v", line, err)
			}
			b.say(map[string]string{"who": "Ann", "which": "red", "count": "3"}[b.prompt().Step])
		}
	}
	if diff := cmp.Diff([]string{"count", "crate", "store", "which", "who"}, b.prompt().Earlier()); diff != "" {
		t.Errorf("names (-want +got):\n%s", diff)
	}
}

// refusal is why an answer at the open prompt isn't taken.
func (b *bench) refusal(a Answer) *subject.Refusal {
	b.t.Helper()
	_, err := b.run.Propose(b.prompt(), a)
	r, ok := errors.AsType[*subject.Refusal](err)
	if !ok {
		b.t.Fatalf("%v is taken: %v", a, err)
	}
	return r
}

// A word that no question has, but that was said at a step, leads there as well.
func TestBackByWhatWasSaidThere(t *testing.T) {
	const said = `procedure: 1
name: order
title: An order
purpose: Take an order.
if-stopped:
  moving: [Ease off., Stop.]
  parked: [Lock up.]
on-return:
  parked: {hold: "Is the van parked?", lines: [The brake is on.]}
parts:
- part: The customer
  car: parked
- ask: Who orders?
  id: who
  fills: name
  why: The bill is sent by post.
- ask: Which colour?
  id: which
  fills: colour
  unknown: Blue is taken.
- tell: Done.
`
	for words, slot := range map[string]string{"bill": "who", "sent by": "who", "blue": "which", "colour": "which"} {
		b := benchOf(t, said, 1)
		b.say("Ann", "red")
		if err := b.do(Answer{Move: Back, Text: words}); err != nil {
			t.Errorf("%q: %v", words, err)
			continue
		}
		if p := b.prompt(); p.Slot != slot {
			t.Errorf("%q leads to %s, want %s", words, p.Slot, slot)
		}
	}
}
