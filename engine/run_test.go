package engine

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dropwalk/engine/subject"
)

const order = `procedure: 1
name: order
title: An order
purpose: Take an order.
if-stopped:
  moving: [Ease off., Stop.]
  parked: [Lock up.]
on-return:
  parked: {hold: "Is the van parked?", lines: [The brake is on.]}
  off: {hold: "Is the van off?"}
parts:
- part: The customer
  car: parked
- ask: Who orders?
  id: who
  fills: name
- ask: Which colour?
  id: which
  fills: colour
- do: Open the store.
  id: store
  undo: Close the store.
- do: Weigh the crate of {name}.
  id: crate
  see: The scale shows nought.
  again-after-pause: true
  cannot: Get another scale.
- tell: Blue is out.
  id: out
  when: colour is blue
  back-to: which
- part: The goods
  car: parked
- rounds: next-item
  id: items
  at-least: 1
  at-most: 4
  each:
  - do: "Lift {item}."
    id: lift
    when: size is large
    undo: "Put {item} back."
  - hold: Drive to the next shelf.
    id: drive
    lines: [The way is clear., Nobody is near.]
    then-car: moving
  - hold: Do you stand?
    id: stand
    then-car: parked
  - ask: "How many of {item}?"
    id: count
    fills: items[].count
- page: bill
  id: bill
- do: Ask the owner.
  id: owner
  when: dear
  skip: The owner may refuse later.
- part: The end
  car: parked
- owed: all
  id: owed
- do: Sweep.
  id: sweep
`

// bench drives a run as a session does: record first, then apply.
type bench struct {
	t      *testing.T
	shop   *shop
	run    *Run
	events []Event
}

func newBench(t *testing.T, items int) *bench {
	t.Helper()
	return benchOf(t, order, items)
}

// benchOf is a bench for another procedure.
func benchOf(t *testing.T, procedure string, items int) *bench {
	t.Helper()
	s := &shop{items: items}
	p, faults := Load("order.yaml", []byte(procedure), s)
	if len(faults) > 0 {
		t.Fatalf("Load: %v", faults)
	}
	b := &bench{t: t, shop: s, run: NewRun(p, s)}
	b.apply(b.run.Start(nil))
	return b
}

func (b *bench) apply(e Event) {
	b.events = append(b.events, e)
	b.run.Apply(e)
}

// prompt settles what is due and returns the open prompt.
func (b *bench) prompt() Prompt {
	b.t.Helper()
	for range 50 {
		event, due := b.run.Settle()
		if !due {
			p, _ := b.run.Next()
			return p
		}
		b.apply(event)
	}
	b.t.Fatal("choices never come to an end")
	return Prompt{}
}

// at checks where the run stands.
func (b *bench) at(slot string) Prompt {
	b.t.Helper()
	p := b.prompt()
	if p.Slot != slot {
		b.t.Fatalf("the open place is %q, want %q", p.Slot, slot)
	}
	return p
}

func (b *bench) do(a Answer) error {
	b.t.Helper()
	events, err := b.run.Propose(b.prompt(), a)
	for _, e := range events {
		b.apply(e)
	}
	return err
}

// say answers the open prompts in turn.
func (b *bench) say(texts ...string) {
	b.t.Helper()
	for _, text := range texts {
		if err := b.do(Answer{Text: text}); err != nil {
			b.t.Fatalf("%q at %q: %v", text, b.prompt().Slot, err)
		}
	}
}

// refused checks that an answer is not taken and that nothing changed.
func (b *bench) refused(a Answer, want string) {
	b.t.Helper()
	p := b.prompt()
	before := len(b.events)
	err := b.do(a)
	if r, ok := errors.AsType[*subject.Refusal](err); !ok || !strings.Contains(r.Error(), want) {
		b.t.Errorf("%+v gives %v, want a refusal with %q", a, err, want)
	}
	if len(b.events) != before || b.prompt().Slot != p.Slot {
		b.t.Errorf("%+v was refused but changed something", a)
	}
}

func TestFromStartToEnd(t *testing.T) {
	b := newBench(t, 2)
	b.at("who")
	b.say("Ann", "red", "done", "")
	b.at("items.1/drive") // the first item is small: nothing to lift
	b.say("ready", "READY")
	if p := b.at("items.1/count"); p.Text != "How many of item 1 of Ann?" {
		t.Errorf("text is %q", p.Text)
	}
	b.say("3")
	b.at("items.2/lift")
	b.say("", "ready", "ready", "9")
	if p := b.at("bill"); p.Page != "sum 12" {
		t.Errorf("page is %q", p.Page)
	}
	b.say("")
	b.at("owner") // 12 is dear
	b.say("")
	if p := b.at("owed/items.2/lift"); p.Text != "Put item 2 of Ann back." {
		t.Errorf("duty is %q", p.Text)
	}
	b.say("", "done")
	b.at("sweep")
	b.say("")
	b.prompt()
	if how, ended := b.run.Ended(); how != "complete" || !ended {
		t.Errorf("ended %q, %v", how, ended)
	}
	want := []subject.Entry{
		{Path: "name", Text: "Ann"}, {Path: "colour", Text: "red"},
		{Path: "items[].price", Row: "items.1", Text: "10"}, {Path: "items[].count", Row: "items.1", Text: "3"},
		{Path: "items[].price", Row: "items.2", Text: "20"}, {Path: "items[].count", Row: "items.2", Text: "9"},
	}
	if diff := cmp.Diff(want, b.run.Entries()); diff != "" {
		t.Errorf("entries (-want +got):\n%s", diff)
	}
}

// A replay gives the same state at every event, and asks the advice for
// nothing that is on record, even where the advice has changed its mind.
func TestReplay(t *testing.T) {
	b := newBench(t, 2)
	b.say("Ann", "red", "", "", "ready", "ready", "3", "", "ready", "ready", "9", "", "")
	want := b.prompt()
	changed := &shop{items: 0}
	again := NewRun(b.run.proc, changed)
	for _, e := range b.events {
		again.Apply(e)
	}
	got, open := again.Next()
	if !open {
		t.Fatal("the replay has no open prompt")
	}
	if diff := cmp.Diff(want, got, cmpopts.IgnoreFields(Prompt{}, "Picture", "Earlier")); diff != "" {
		t.Errorf("prompt (-want +got):\n%s", diff)
	}
	if changed.judged != 0 {
		t.Errorf("the replay judged %d times", changed.judged)
	}
}

func TestRefusals(t *testing.T) {
	b := newBench(t, 1)
	b.refused(Answer{Text: "?"}, "can't be done without")
	b.refused(Answer{Text: "bad"}, "expected good ones")
	b.refused(Answer{}, "an answer is needed")
	b.refused(Answer{Move: Back}, "first question")
	b.refused(Answer{Move: Skip, Why: "tired"}, "can't be skipped")
	b.refused(Answer{Move: Note}, "needs a text")
	b.refused(Answer{Move: "jump"}, "nobody knows the move")
	b.say("Ann")
	b.refused(Answer{Move: Back, Text: "wo"}, `did you mean "who"?`)
	b.say("red")
	b.refused(Answer{Text: "maybe"}, "no answer to a step")
	b.say("")
	b.refused(Answer{Move: Cannot}, "say why")
	b.say("")
	b.at("items.1/drive")
	b.refused(Answer{}, "the word ready")
	b.refused(Answer{Text: "yes"}, "the word ready")
	b.refused(Answer{Text: "3"}, "number of a line")
}

func TestRefusedHold(t *testing.T) {
	b := newBench(t, 1)
	b.say("Ann", "red", "", "")
	b.say("2") // a line that isn't true
	b.at("items.1/drive")
	if e := b.events[len(b.events)-1]; e.Kind != Refused || e.Why != "Nobody is near." {
		t.Errorf("event is %+v", e)
	}
	if b.run.Car() != Parked {
		t.Errorf("the car is %s", b.run.Car())
	}
}

func TestTellLeadsBack(t *testing.T) {
	b := newBench(t, 1)
	b.say("Ann", "blue", "", "")
	b.at("out")
	b.say("")
	if p := b.at("which"); p.Previous != "" {
		t.Errorf("Enter would keep %q, which can't stand", p.Previous)
	}
	b.say("blue")
	b.at("out")
	b.say("", "red")
	b.at("items.1/drive")
}

// After a correction an answer is stale only where its text would differ now.
func TestStaleAnswers(t *testing.T) {
	b := newBench(t, 1)
	b.say("Ann", "red", "", "", "ready", "ready", "3")
	b.at("bill")
	if err := b.do(Answer{Move: Back, Text: "who"}); err != nil {
		t.Fatal(err)
	}
	b.at("who")
	b.say("Bob")
	b.at("crate") // "Weigh the crate of Ann" was answered, not of Bob
	b.say("")
	b.at("bill") // the round keeps the offer that was made and answered
	if err := b.do(Answer{Move: Back, Text: "who"}); err != nil {
		t.Fatal(err)
	}
	b.say("Bob") // the same again: nothing is stale
	b.at("bill")
}

func TestBackPassesHolds(t *testing.T) {
	b := newBench(t, 1)
	b.say("Ann", "red", "", "", "ready")
	b.at("items.1/stand")
	if err := b.do(Answer{Move: Back}); err != nil {
		t.Fatal(err)
	}
	b.at("rest.1") // the van moves, and the crate is weighed in a parked one
	b.say("ready")
	b.at("crate")
	b.say("")
	b.at("items.1/drive") // vouches for the crate as it is now
	b.say("ready")
	b.at("items.1/stand")
}

// A hold comes again where something beside it is answered anew after it, and
// one that leads to another state of the car where work before it is done anew,
// in a round that is open.
func TestHoldsVouchForWhatStandsBeforeThem(t *testing.T) {
	b := benchOf(t, strings.Replace(order, "- do: Open the store.\n", "- hold: Is the colour in the store?\n  id: sure\n- do: Open the store.\n", 1), 2)
	b.say("Ann", "red")
	b.at("sure")
	b.say("ready", "", "", "ready", "ready", "3", "")
	b.at("items.2/drive")
	for answer, again := range map[string]bool{"which": true, "store": false} {
		if err := b.do(Answer{Move: Back, Text: answer}); err != nil {
			t.Fatal(err)
		}
		b.say(map[string]string{"which": "red"}[answer])
		if at := b.prompt().Slot; (at == "sure") != again {
			t.Errorf("after %s anew the open place is %q, the hold again: %v", answer, at, again)
		}
		if again {
			b.say("ready")
		}
	}
	b.at("items.2/drive")
	b.say("ready", "ready")
	if err := b.do(Answer{Move: Back, Text: "store"}); err != nil {
		t.Fatal(err)
	}
	b.say("")
	b.at("items.2/count") // the van has come back since
}

// What the advice chose is chosen anew after a correction although something
// was done for it, as long as nothing was answered in it. What was done stays
// owed, unless somebody said that it couldn't be done.
func TestRoundsWithoutAnswersAreChosenAnew(t *testing.T) {
	for _, c := range []struct {
		name string
		then []Answer
		want string
	}{
		{"done", nil, "Put item 2 of Ann back.|Close the store."},
		{"not done after all", []Answer{{Move: Back}, {Move: Cannot, Why: "too heavy"}}, "Close the store."},
		{"open again", []Answer{{Move: Back}}, "Put item 2 of Ann back.|Close the store."},
	} {
		b := benchOf(t, strings.Replace(order, "    id: lift\n", "    id: lift\n    cannot: Ask who orders.\n", 1), 2)
		b.say("Ann", "red", "", "", "ready", "ready", "3", "")
		b.at("items.2/drive")
		for _, a := range append(c.then, Answer{Move: Back, Text: "who"}) {
			if err := b.do(a); err != nil {
				t.Fatalf("%s: %v", c.name, err)
			}
		}
		b.say("Bob")
		b.at("crate")
		b.say("")
		if p := b.at("items.2/lift"); p.Text != "Lift item 2 of Bob." {
			t.Errorf("%s: the round is about %q", c.name, p.Text)
		}
		if err := b.do(Answer{Move: Stop}); err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, d := range b.run.Owed() {
			got = append(got, d.Text)
		}
		if strings.Join(got, "|") != c.want {
			t.Errorf("%s: owed is %q, want %q", c.name, got, c.want)
		}
		b.at("rest.1") // the van was driven
		b.say("ready")
		for range got {
			b.say("done")
		}
		b.prompt()
		if _, ended := b.run.Ended(); !ended || len(b.run.Owed()) > 0 {
			t.Errorf("%s: ended %v, owed %v", c.name, ended, b.run.Owed())
		}
	}
}

// After a stop the car is asked about before hands go under its bonnet, and what
// stands behind the list of what is owed is told as never reached.
func TestStopAsksForTheCarBeforeWhatIsOwed(t *testing.T) {
	end := strings.Replace(order, "- part: The end\n  car: parked\n", "- hold: Key out.\n  id: key\n  then-car: off\n- part: The end\n  car: off\n", 1)
	b := benchOf(t, end, 1)
	b.say("Ann", "red")
	if err := b.do(Answer{Move: Stop}); err != nil {
		t.Fatal(err)
	}
	b.prompt()
	if list := b.run.NeverReached(); len(list) > 0 {
		t.Errorf("nothing was done, and %v was never reached", list[0].ID)
	}
	b = benchOf(t, end, 1)
	b.say("Ann", "red", "", "", "ready")
	if err := b.do(Answer{Move: Stop}); err != nil {
		t.Fatal(err)
	}
	b.at("halt")
	b.say("ready")
	if p := b.at("rest.1"); p.Text != "Is the van off?" {
		t.Errorf("before what is owed comes %q", p.Text)
	}
	b.say("ready")
	b.at("owed/store")
	b.say("")
	b.prompt()
	if list := b.run.NeverReached(); len(list) != 1 || list[0].ID != "sweep" {
		t.Errorf("never reached: %v, want sweep", list)
	}
}

func TestJudgedStepStays(t *testing.T) {
	b := newBench(t, 1)
	b.say("Ann", "red", "", "", "ready", "ready", "30", "")
	b.at("owner")
	b.say("")
	b.at("owed/store")
	if err := b.do(Answer{Move: Back, Text: "count"}); err != nil {
		t.Fatal(err)
	}
	b.say("1") // no longer dear, but the owner was asked
	b.at("bill")
	b.say("")
	b.at("owed/store")
}

func TestSkipStaysVisible(t *testing.T) {
	b := newBench(t, 1)
	b.say("Ann", "red", "", "", "ready", "ready", "30", "")
	b.refused(Answer{Move: Skip}, "needs a reason")
	if err := b.do(Answer{Move: Skip, Why: "nobody there"}); err != nil {
		t.Fatal(err)
	}
	if p := b.prompt(); p.Place.Skipped != 1 {
		t.Errorf("skipped is %d", p.Place.Skipped)
	}
	if err := b.do(Answer{Move: Cannot, Why: "the key is lost"}); err != nil {
		t.Fatal(err)
	}
	b.say("")
	b.prompt()
	if how, _ := b.run.Ended(); how != "complete with 2 open" {
		t.Errorf("ended %q", how)
	}
	if owed := b.run.Owed(); len(owed) != 1 || owed[0].Text != "Close the store." {
		t.Errorf("owed %+v", owed)
	}
}

func TestPause(t *testing.T) {
	b := newBench(t, 2)
	b.say("Ann", "red", "", "", "ready", "ready", "3")
	b.at("items.2/lift")
	b.apply(b.run.Resume())
	p := b.at("return.1")
	if p.Kind != Hold || p.Text != "Is the van parked?" {
		t.Errorf("gate is %+v", p)
	}
	b.refused(Answer{}, "ready")
	b.say("ready")
	if p := b.at("crate~1"); !p.Again {
		t.Error("the repeated verification doesn't say so")
	}
	b.say("")
	b.at("items.2/lift")
	b.apply(b.run.Resume())
	b.apply(b.run.Resume())
	b.at("return.3")
	b.say("ready")
	b.at("crate~3") // one repetition, however many pauses
	b.say("")
	b.at("items.2/lift")
}

// A pause in a moving car asks for the car to be parked by its own step, and
// verification rests once the closing list is reached.
func TestPauseOnTheMoveAndAtTheEnd(t *testing.T) {
	b := newBench(t, 1)
	b.say("Ann", "red", "", "", "ready")
	b.apply(b.run.Resume())
	if p := b.at("return.1"); p.Text != "Is the van parked?" {
		t.Errorf("gate is %q", p.Text)
	}
	b.say("ready")
	b.at("crate~1")
	b.say("")
	b.at("items.1/drive") // vouches for the crate once more
	b.say("ready")
	b.at("items.1/stand")
	b.apply(b.run.Resume())
	b.at("return.2")
	b.say("ready", "", "ready", "ready", "3", "")
	b.at("owed/store")
	b.apply(b.run.Resume())
	b.at("return.3")
	b.say("ready")
	b.at("owed/store")
}

// A verification comes again after a pause in the round that is open, and not in
// one that is behind the run. What was verified once more stays so.
func TestPauseVerifiesTheOpenRoundOnly(t *testing.T) {
	again := strings.Replace(order, "    id: lift\n", "    id: lift\n    again-after-pause: true\n", 1)
	b := benchOf(t, again, 3)
	b.say("Ann", "red", "", "", "ready", "ready", "3", "")
	b.at("items.2/drive")
	b.apply(b.run.Resume())
	b.say("ready", "")
	b.at("items.2/lift~1")
	b.say("", "ready", "ready", "4")
	open := b.prompt().Slot
	if !strings.HasPrefix(open, "items.3/") {
		t.Fatalf("the open place is %q, want one in the third round", open)
	}
	b.apply(b.run.Resume())
	b.say("ready", "")
	b.at(open)
}

// A verification rests where the rounds that it is for are over: a pause behind the last of
// them sends nobody back.
func TestPauseBehindTheLastReadingVerifiesNothing(t *testing.T) {
	b := newBench(t, 1)
	b.say("Ann", "red", "", "", "ready", "ready")
	b.at("items.1/count")
	b.apply(b.run.Resume())
	b.say("ready")
	b.at("crate~1") // the reading is still open
	b.say("", "3")
	b.at("bill")
	b.apply(b.run.Resume())
	b.at("return.2")
	b.say("ready")
	b.at("bill")
}

// A question about a verification comes again with it, and the new answer
// stands in place of the first.
func TestPauseAsksAgainForTheNumbers(t *testing.T) {
	again := strings.Replace(order, "    fills: items[].count\n", "    fills: items[].count\n    again-after-pause: true\n  - do: Write it down.\n    id: written\n", 1)
	b := benchOf(t, again, 3)
	b.say("Ann", "red", "", "", "ready", "ready", "3")
	b.at("items.1/written")
	b.apply(b.run.Resume())
	b.say("ready", "")
	b.at("items.1/count~1")
	if got := b.prompt().Previous; got != "" {
		t.Errorf("Enter would keep %q from before the pause", got)
	}
	b.say("4")
	b.at("items.1/written")
	var counts []string
	for _, e := range b.run.Entries() {
		if e.Path == "items[].count" {
			counts = append(counts, e.Row+"="+e.Text)
		}
	}
	if got, want := strings.Join(counts, " "), "items.1=3 items.1=4"; got != want {
		t.Errorf("entries %q, want %q: the latest counts", got, want)
	}
}

// What is owed counts from the start: the number of steps doesn't grow while it
// is put back, and after a stop nothing else is ahead.
func TestStepsCountWhatIsOwed(t *testing.T) {
	places := func(b *bench) string {
		var list []string
		for {
			p, open := b.run.Next()
			if !open || p.Kind != Owed && len(list) > 0 {
				return strings.Join(list, " ")
			}
			if p.Kind == Owed || p.Slot == haltSlot {
				list = append(list, fmt.Sprintf("%d/%d", p.Place.StepNo, p.Place.Steps))
			}
			b.say(map[Kind]string{Owed: "done", Hold: "ready"}[p.Kind])
		}
	}
	b := newBench(t, 2)
	b.say("Ann", "red", "", "", "ready", "ready", "3", "", "ready", "ready", "4", "")
	b.at("owed/items.2/lift")
	if got, want := places(b), "13/15 14/15"; got != want {
		t.Errorf("at the end: steps %s, want %s", got, want)
	}
	b = newBench(t, 2)
	b.say("Ann", "red", "", "", "ready", "ready", "3", "", "ready")
	events, err := b.run.Propose(b.prompt(), Answer{Move: Stop})
	if err != nil {
		t.Fatal(err)
	}
	b.apply(events[0])
	if got, want := places(b), "10/12 11/12 12/12"; got != want {
		t.Errorf("after a stop: steps %s, want %s", got, want)
	}
}

// A picture is drawn of what stands before the prompt, when somebody looks.
func TestPicture(t *testing.T) {
	shown := strings.Replace(order, "  - hold: Drive to the next shelf.\n", "  - hold: Drive to the next shelf.\n    shows: shelf\n", 1)
	b := benchOf(t, shown, 2)
	b.say("Ann", "red", "", "")
	p := b.prompt()
	if p.Shows != "shelf" || !slices.Equal(p.Pictures, []string{"shelf"}) {
		t.Errorf("shows %q of %q, want shelf", p.Shows, p.Pictures)
	}
	if got, want := p.Picture("shelf").Places[0].Name, "Annitem 1 of Ann"; got != want {
		t.Errorf("the picture has %q, want %q", got, want)
	}
}

// A check that is asked again, or an answer that is being corrected, takes
// nothing away from what was answered before, and nothing that is owed.
func TestOpenPlaceTakesNothingAway(t *testing.T) {
	b := newBench(t, 2)
	b.say("Ann", "red", "", "", "ready", "ready", "3", "", "ready")
	want := len(b.run.Entries())
	b.apply(b.run.Resume())
	b.at("return.1")
	if got := len(b.run.Entries()); got != want {
		t.Errorf("after a pause there are %d entries, want %d", got, want)
	}
	b.say("ready")
	if err := b.do(Answer{Move: Back, Text: "who"}); err != nil {
		t.Fatal(err)
	}
	b.at("who")
	if got := len(b.run.Entries()); got != want {
		t.Errorf("while an answer is corrected there are %d entries, want %d", got, want)
	}
	if owed := b.run.Owed(); len(owed) != 2 {
		t.Errorf("owed is %v, want the lift and the store", owed)
	}
	if err := b.do(Answer{Move: Stop}); err != nil {
		t.Fatal(err)
	}
	b.at("rest.1") // the gate after the pause vouched for what came next, not for what is put back
	b.say("ready")
	b.at("owed/items.2/lift")
}

// What can't be known shows the step: a colour that nobody knows may be blue.
func TestUnknownRuleShowsTheStep(t *testing.T) {
	b := newBench(t, 1)
	b.say("Ann", "?", "", "")
	b.at("out")
}

func TestStop(t *testing.T) {
	b := newBench(t, 2)
	b.say("Ann", "red", "", "", "ready", "ready", "3", "", "ready")
	if got := b.run.SafeStop(); !slices.Equal(got, []string{"Ease off.", "Stop."}) {
		t.Errorf("safe stop is %q", got)
	}
	if err := b.do(Answer{Move: Stop, Why: "smoke"}); err != nil {
		t.Fatal(err)
	}
	if p := b.at("halt"); p.Text != "Is the van parked?" {
		t.Errorf("first comes %q", p.Text)
	}
	b.say("ready")
	b.at("owed/items.2/lift")
	b.refused(Answer{Move: Back}, "was stopped")
	b.say("", "")
	b.prompt()
	if how, ended := b.run.Ended(); how != "stopped" || !ended {
		t.Errorf("ended %q, %v", how, ended)
	}
	if !b.run.Aborted() {
		t.Error("the run doesn't say that it was stopped")
	}
}

func TestGivenAnswersAreNotAsked(t *testing.T) {
	s := &shop{items: 1}
	p, _ := Load("order.yaml", []byte(order), s)
	b := &bench{t: t, shop: s, run: NewRun(p, s)}
	b.apply(b.run.Start([]subject.Entry{{Path: "name", Text: "Ann"}, {Path: "colour", Text: "red"}}))
	b.at("store")
	if err := b.do(Answer{Move: Back, Text: "which"}); err != nil {
		t.Fatal(err)
	}
	if p := b.at("which"); p.Previous != "red" {
		t.Errorf("the earlier answer is %q", p.Previous)
	}
	b.say("?")
	b.at("store")
	if got := (&counter{s, b.run.Entries()}).text("colour"); got != "" {
		t.Errorf("the colour is still %q", got)
	}
}

func TestCannotAndNoteKeepThePlace(t *testing.T) {
	b := newBench(t, 1)
	b.say("Ann", "red", "")
	if err := b.do(Answer{Move: Cannot, Why: "broken"}); err != nil {
		t.Fatal(err)
	}
	if p := b.at("crate"); p.Cannot != "Get another scale." {
		t.Errorf("what to do is %q", p.Cannot)
	}
	if err := b.do(Answer{Move: Note, Text: "rainy"}); err != nil {
		t.Fatal(err)
	}
	b.at("crate")
}

// The place counts what was passed and what is to come: about, where rounds or
// rules ahead may still change that.
func TestPlace(t *testing.T) {
	b := newBench(t, 2)
	var got []string
	for _, text := range []string{"Ann", "red", "", "", "ready", "ready"} {
		got = append(got, where(b.prompt().Place))
		b.say(text)
	}
	b.say("3", "")
	b.say("ready", "ready", "4", "", "")
	for b.prompt().Kind == Owed || b.prompt().Step == "sweep" {
		got = append(got, where(b.prompt().Place))
		b.say("done")
	}
	// How many rounds there will be isn't known before the last part.
	want := []string{
		"1/3 1/13 about", "1/3 2/13 about", "1/3 3/13 about", "1/3 4/13 about", "2/3 5/11 about", "2/3 6/11 about", "3/3 14/15", "3/3 15/15",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("places (-want +got):\n%s", diff)
	}
}

// where is a place as a test writes it: part and step, each of how many.
func where(p Place) string {
	text := fmt.Sprintf("%d/%d %d/%d", p.PartNo, p.Parts, p.StepNo, p.Steps)
	if p.About {
		text += " about"
	}
	return text
}

func BenchmarkNextPrompt(b *testing.B) {
	t := &testing.T{}
	bn := newBench(t, 4)
	bn.say("Ann", "red", "", "")
	for range 3 {
		if bn.prompt().Step == "lift" {
			bn.say("")
		}
		bn.say("ready", "ready", "3")
	}
	p := bn.prompt()
	for b.Loop() {
		events, err := bn.run.Propose(p, Answer{Text: ""})
		if err != nil {
			b.Fatal(err)
		}
		bn.run.Apply(Event{Kind: Noted})
		if _, open := bn.run.Next(); !open || len(events) == 0 {
			b.Fatal("no prompt")
		}
	}
}
