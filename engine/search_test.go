package engine

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dropwalk/engine/causes"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// The bell of a shop doesn't ring: an invented search with one of everything.
const bell = `procedure: 1
name: bell
title: The bell is silent
purpose: Find out why.
if-stopped:
  parked: [Step back.]
on-return:
  parked: {hold: "Is the mill parked?"}
  idling: {hold: "Does the mill idle safely?", lines: [Nobody is near.]}
causes:
- cause: The cord is off.
  id: cord
  chance: 30 %
  basis: invented
  time: 50 min
  remedy: Tie it on.
- cause: The clapper is lost.
  id: clapper
  chance: 25 %
  basis: invented
  time: 60 min
  opens: [cover]
  remedy: Hang a new one.
- cause: The hinge is stiff.
  id: hinge
  chance: 25 %
  basis: invented
  time: 40 min
  opens: cover
  remedy: Oil it.
- cause: The mill doesn't turn.
  id: mill
  chance: 10 %
  basis: invented
  time: 50 min
  when: colour is not blue
  remedy: Call the miller.
openings:
- do: Take the cover off.
  id: cover
  time: 6 min
  undo: Put the cover back.
  cannot: What lies behind it stays unseen.
no-fault-found:
  say: Ask the bell founder.
  time: 120 min
parts:
- part: The shop
  car: parked
- ask: Which colour?
  id: which
  fills: colour
- part: The checks
  car: parked
- checks: by-worth
  id: search
  each:
  - check: How does the cord hang?
    id: look
    where: By the door.
    tool: a lamp
    time: 1 min
    source: invented
    answers:
      tied: {says: It is not the cord., usually: 98 %, if: {cord: 5 %}}
      off: {says: That is it., if: {cord: 95 %}}
    cannot: It counts as tied.
  - check: How far does the clapper swing?
    id: swing
    time: 3 min
    opens: cover
    looks-at: [clapper, hinge]
    expect: {from: 10 mm, to: 40 mm}
    source: invented
    below: {says: It is stiff., if: {hinge: 95 %, clapper: 0 %}}
    inside: {says: It swings., usually: 90 %, if: {hinge: 5 %, clapper: 0 %}}
    above: {says: It is gone., if: {clapper: 100 %}}
    cannot: It stays open.
  - check: What do you hear while the mill idles?
    id: hear
    car: idling
    time: 10 s
    source: invented
    when: colour is not blue
    answers:
      nothing: {says: It stands., usually: 5 %, if: {mill: 95 %}, then: look}
      turning: {says: It turns.}
    cannot: It stays open.
- page: causes
  id: result
- part: The end
  car: parked
- owed: all
  id: owed
`

// check answers the open prompt, which must be at slot.
func (b *bench) check(slot, text string) {
	b.t.Helper()
	b.at(slot)
	if err := b.do(Answer{Text: text}); err != nil {
		b.t.Fatalf("%s: %v", slot, err)
	}
}

// chance is that of one cause now, with all answers.
func (b *bench) chance(id string) float64 {
	for _, c := range b.run.Standing().Causes {
		if c.ID == id {
			return c.Chance
		}
	}
	return 0
}

// The check worth most per minute comes first; once a cause stands out the search
// ends, and the page says which and what to do.
func TestSearchFindsTheCord(t *testing.T) {
	b := benchOf(t, bell, 0)
	b.check("which", "red")
	b.check("look", "off")
	p := b.at("result")
	for _, want := range []string{"**Likeliest: The cord is off.**", "measured", "Tie it on.", "cord went from 30 % to 95 %", "one cause stands out"} {
		if !strings.Contains(p.Page, want) {
			t.Errorf("the page lacks %q:\n%s", want, p.Page)
		}
	}
	last := b.events[slices.IndexFunc(b.events, func(e Event) bool { return e.Slot == "search.1" })]
	if last.Offer.Values[checkValue] != "look" || len(last.Weighed.Checks) != 3 || last.Weighed.Checks[0].Saves <= last.Weighed.Checks[0].Takes {
		t.Errorf("the choice was recorded as %+v with %+v, want all three checks weighed", last.Offer, last.Weighed)
	}
}

// What has to be opened comes ahead of the check, once, and is owed at the end.
func TestOpeningIsOwed(t *testing.T) {
	b := benchOf(t, bell, 0)
	b.check("which", "blue")
	b.check("look", "tied")
	if p := b.at("cover"); p.Kind != Do {
		t.Errorf("the cover is a %s, want a do", p.Kind)
	}
	b.check("cover", "done")
	p := b.at("swing")
	if p.Row.Expect != "10 mm to 40 mm" {
		t.Errorf("it expects %q", p.Row.Expect)
	}
	b.check("swing", "5 cm")
	p = b.at("result")
	if !strings.Contains(p.Page, "clapper: The clapper is lost. "+causes.Percent(b.chance("clapper"))+", measured; 60 min. Hang a new one.") {
		t.Errorf("the page has no row of the clapper, or the cover is counted once more:\n%s", p.Page)
	}
	b.check("result", "")
	b.check("owed/cover", "done")
	if how, ended := b.run.Ended(); b.prompt().Slot != "" || !ended && how != "" {
		b.t.Errorf("it hasn't ended: %q", b.prompt().Slot)
	}
}

// A misleading first answer is put right with back: the ranking follows, what was
// answered after it stays, and the search goes on where it is worth it again.
func TestBackMovesTheRanking(t *testing.T) {
	b := benchOf(t, bell, 0)
	b.check("which", "blue")
	b.check("look", "off")
	if got := b.chance("cord"); got < 0.9 {
		t.Errorf("the cord has a chance of %.2f after an answer that points to it", got)
	}
	b.at("result")
	if err := b.do(Answer{Move: Back, Text: "look"}); err != nil {
		t.Fatal(err)
	}
	if p := b.at("look"); p.Previous != "off" {
		t.Errorf("the earlier answer is shown as %q", p.Previous)
	}
	b.check("look", "tied")
	if got := b.chance("cord"); got > 0.05 {
		t.Errorf("the cord still has a chance of %.2f", got)
	}
	b.check("cover", "done")
	b.check("swing", "5 mm")
	b.at("result")
	if got := b.chance("hinge"); got < 0.85 {
		t.Errorf("the hinge has a chance of %.2f", got)
	}
	if err := b.do(Answer{Move: Back, Text: "look"}); err != nil {
		t.Fatal(err)
	}
	b.check("look", "tied")
	b.check("result", "")
}

// A check that needs the car in another state is led to by a hold, and the search
// leads back.
func TestCheckAtIdle(t *testing.T) {
	b := benchOf(t, bell, 0)
	b.check("which", "red")
	b.check("look", "tied")
	p := b.at("search.2/to-idling")
	if p.Kind != Hold || p.Lines[0] != "Nobody is near." {
		t.Errorf("it is %+v, want the hold of on-return", p)
	}
	if p.Text != startLast {
		t.Errorf("it says %q, want the engine to be started behind its lines", p.Text)
	}
	b.check("search.2/to-idling", "ready")
	if b.run.Car() != Idling {
		t.Errorf("the car is %s", b.run.Car())
	}
	b.check("hear", "nothing")
	b.check("search.3/to-parked", "ready")
	b.check("cover", "done")
	b.check("swing", "20 mm")
	b.at("result")
	if got := b.chance("mill"); got < 0.5 {
		t.Errorf("the mill has a chance of %.2f", got)
	}
	// Corrected, the check asks for its state again.
	if err := b.do(Answer{Move: Back, Text: "hear"}); err != nil {
		t.Fatal(err)
	}
	if p := b.prompt(); p.Kind != Hold || !strings.HasSuffix(p.Text, "Does the mill idle safely?") {
		t.Errorf("back at a check at idle the prompt is %q", p.Text)
	}
}

// Where nothing can be checked the search ends all the same, and says so.
func TestNothingCanBeChecked(t *testing.T) {
	b := benchOf(t, bell, 0)
	b.check("which", "red")
	for range 10 {
		p := b.prompt()
		if p.Kind == Show {
			break
		}
		a := Answer{Move: Cannot, Why: "it is locked"}
		if p.Kind == Hold {
			a = Answer{Text: "ready"}
		}
		if err := b.do(a); err != nil {
			t.Fatal(err)
		}
	}
	p := b.at("result")
	for _, want := range []string{"Nothing could be checked", "not tested", "Not checked: it is locked. It moved nothing."} {
		if !strings.Contains(p.Page, want) {
			t.Errorf("the page lacks %q:\n%s", want, p.Page)
		}
	}
	for _, c := range b.run.Standing().Causes {
		if c.Mark != causes.NotTested || c.Chance != c.Before {
			t.Errorf("%s is %s with %.2f after nothing, before %.2f", c.ID, c.Mark, c.Chance, c.Before)
		}
	}
}

// No fault found is an end like any other.
func TestNoFaultFound(t *testing.T) {
	b := benchOf(t, strings.Replace(bell, "chance: 25 %", "chance: 5 %", 2), 0)
	b.check("which", "blue")
	b.check("look", "tied")
	for b.prompt().Kind != Show {
		p := b.prompt()
		text := "done"
		if p.Slot == "swing" {
			text = "20 mm"
		}
		b.check(p.Slot, text)
	}
	if p := b.at("result"); !strings.Contains(p.Page, "**No fault found.**") || !strings.Contains(p.Page, "Ask the bell founder.") {
		t.Errorf("the page is\n%s", p.Page)
	}
}

// A run that is rebuilt from its events stands where it stood, whatever a later
// release would choose.
func TestSearchReplays(t *testing.T) {
	b := benchOf(t, bell, 0)
	for _, text := range []string{"red", "tied", "ready", "turning", "ready", "done", "20 mm"} {
		b.check(b.prompt().Slot, text)
	}
	b.prompt()
	kept, err := json.Marshal(b.events)
	if err != nil {
		t.Fatal(err)
	}
	var events []Event
	if err := json.Unmarshal(kept, &events); err != nil {
		t.Fatal(err)
	}
	again := NewRun(b.run.proc, b.shop)
	for _, e := range events {
		again.Apply(e)
	}
	one, _ := b.run.Next()
	two, _ := again.Next()
	if diff := cmp.Diff(one, two, cmpopts.IgnoreFields(Prompt{}, "Picture", "Earlier", "Standing")); diff != "" {
		t.Errorf("the open prompt differs (-first +rebuilt):\n%s", diff)
	}
	if diff := cmp.Diff(b.run.Standing(), again.Standing()); diff != "" {
		t.Errorf("the standing differs (-first +rebuilt):\n%s", diff)
	}
}

// Why shows at any prompt how it stands there, and what moved it.
func TestStandingAtAPrompt(t *testing.T) {
	b := benchOf(t, bell, 0)
	if p := b.at("which"); !strings.Contains(p.Standing().Brief(), "Nothing was checked yet") {
		t.Errorf("ahead of every check it stands so:\n%s", p.Standing().Brief())
	}
	b.check("which", "blue")
	b.check("look", "tied")
	p := b.at("cover")
	if brief := p.Standing().Brief(); !strings.Contains(brief, "How does the cord hang? tied: cord went from 33 % to 2 %") || strings.Contains(brief, "mill") {
		t.Errorf("it stands so:\n%s", brief)
	}
}

// Answers at a check, and what comes of them.
func TestAnswersAtACheck(t *testing.T) {
	for _, c := range []struct{ text, outcome, want string }{
		{"10 mm", Inside, "10 mm"}, {"9,9 mm", Below, "9.9 mm"}, {"5 cm", Above, "5 cm"}, {"20-30 mm", Inside, "20-30 mm"}, {">40 mm", Above, ">40 mm"},
		{"<10 mm", Below, "<10 mm"}, {"15", Inside, "15 mm"}, {"?", NotChecked, ""},
		{">20 mm", "", "leaves open"}, {"far", "", "number"}, {"", "", "an answer is needed"},
	} {
		b := benchOf(t, bell, 0)
		b.check("which", "blue")
		b.check("look", "tied")
		b.check("cover", "done")
		events, err := b.run.Propose(b.at("swing"), Answer{Text: c.text})
		if c.outcome == "" {
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%q is taken, or refused with %v; want %q", c.text, err, c.want)
			}
			continue
		}
		if err != nil || events[0].Outcome != c.outcome || events[0].Text != c.want {
			t.Errorf("%q: %+v, %v; want %s, %q", c.text, events, err, c.outcome, c.want)
		}
	}
}

// A bare number up to one can be a share or a hundredth of it, so it is asked back.
func TestABareShareIsAskedBack(t *testing.T) {
	c := &CheckStep{Expect: &Range{Kind: quantity.Share, Unit: "%", From: &quantity.Amount{Kind: quantity.Share, SI: 0.85, Unit: "%"}}}
	for _, text := range []string{"1", "0,9"} {
		_, _, err := c.read(text)
		r, ok := errors.AsType[*subject.Refusal](err)
		if !ok || len(r.Choices) != 2 {
			t.Errorf("%q comes to %v", text, err)
			continue
		}
		for _, choice := range r.Choices {
			if _, _, err := c.read(choice); err != nil {
				t.Errorf("%q, which is offered for %q, comes to %v", choice, text, err)
			}
		}
	}
	if _, outcome, err := c.read("95"); err != nil || outcome != Inside {
		t.Errorf("95 comes to %q, %v", outcome, err)
	}
	if _, outcome, err := c.read("60"); err != nil || outcome != Below {
		t.Errorf("60 comes to %q, %v", outcome, err)
	}
}
