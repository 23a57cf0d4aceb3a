package session

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// enterAgain has the numbers of a block typed a second time, and a third where
// both differ.
func (p *paper) enterAgain(ctx context.Context, list []*entered) error {
	var numbers, apart []*entered
	for _, e := range list {
		if isNumber(e) {
			numbers = append(numbers, e)
		}
	}
	if len(numbers) == 0 {
		return nil
	}
	told := false
	for _, e := range numbers {
		second, ok := p.waiting.pop(e.prompt.Slot, secondEntry)
		if !ok {
			if !told {
				told = true
				p.Asker.Say(Message{Title: "Once more from the paper, without looking at what was typed: " + counted(len(numbers)) + ".", Hide: true})
			}
			var err error
			if second, err = p.again(ctx, e, secondEntry, "Second time: "); err != nil {
				return err
			}
		}
		if e.second = second.Text; !p.same(e, second.Text, e.answer.Text) {
			apart = append(apart, e)
		}
	}
	return p.settle(ctx, apart)
}

// counted is how many numbers are typed again: a bare figure there reads as one of
// them.
func counted(n int) string {
	if n == 1 {
		return "one number"
	}
	return fmt.Sprintf("%d numbers", n)
}

// isNumber tells whether an entry is one that is typed twice: an answer to a
// question with a figure in it.
func isNumber(e *entered) bool {
	words := e.prompt.Choices()
	if e.prompt.Row != nil {
		words = e.prompt.Row.Words
	}
	return len(e.events) > 0 && e.events[0].Kind == engine.Answered && (e.prompt.Kind == engine.Ask || e.prompt.Kind == engine.Examine) &&
		!e.events[0].Unknown && strings.ContainsAny(e.answer.Text, "0123456789") && !slices.Contains(words, e.answer.Text) && len(e.prompt.Choices()) == 0
}

// settle lists the entries that differ and has each typed a third time.
func (p *paper) settle(ctx context.Context, apart []*entered) error {
	if len(apart) == 0 {
		return nil
	}
	m := Message{Title: "These differ. Look at the paper once more:"}
	for _, e := range apart {
		m.Lines = append(m.Lines, fmt.Sprintf("%s %s First: %s. Then: %s.", e.prompt.Number, e.prompt.Text, e.answer.Text, e.second))
	}
	p.Asker.Say(m)
	for _, e := range apart {
		third, ok := p.waiting.pop(e.prompt.Slot, thirdEntry)
		if !ok {
			var err error
			if third, err = p.third(ctx, e); err != nil {
				return err
			}
		}
		events, err := e.before.Propose(e.prompt, third)
		if err != nil {
			return err
		}
		e.first = e.answer.Text + "; then " + e.second
		e.answer, e.events, e.second = third, events, third.Text
	}
	return nil
}

// third has an entry typed a third time. One that agrees with neither of the two
// has to come twice in a row.
func (p *paper) third(ctx context.Context, e *entered) (engine.Answer, error) {
	last := ""
	for {
		a, err := p.again(ctx, e, 0, "Third time: ")
		if err != nil {
			return a, err
		}
		if p.same(e, a.Text, e.answer.Text) || p.same(e, a.Text, e.second) || last != "" && p.same(e, a.Text, last) {
			err := p.keep(Typed{Slot: e.prompt.Slot, Step: e.prompt.Step, Entry: thirdEntry, Text: a.Text})
			if err == nil {
				return a, nil
			}
			if err := p.unsaved(err); err != nil {
				return a, err
			}
			continue
		}
		last = a.Text
		p.say("That is neither of the two. Type it once more where it is right.")
	}
}

// again has an entry typed again, without the earlier one in sight. It is kept
// where it is one of those that count.
func (p *paper) again(ctx context.Context, e *entered, entry int, label string) (engine.Answer, error) {
	shown := e.prompt
	shown.Text, shown.Previous, shown.Notices = label+shown.Text, "", nil
	var refused *subject.Refusal
	for {
		a, err := p.Asker.Ask(ctx, shown, refused)
		switch {
		case errors.Is(err, ErrView):
			continue
		case err != nil:
			return a, err
		case a.Move == engine.Note:
			events, err := p.Run.Propose(openPrompt(p.Run), a)
			if err == nil {
				err = p.keepNote(events)
			}
			if err != nil {
				return a, err
			}
			continue
		case a.Move != engine.Answering:
			refused = &subject.Refusal{What: "the numbers come first", Expected: "what the paper says, or pause"}
			continue
		}
		if refused = p.understood(e, &a, entry == 0); refused != nil {
			continue
		}
		if entry == 0 {
			return a, nil
		}
		if err := p.keep(Typed{Slot: e.prompt.Slot, Step: e.prompt.Step, Entry: entry, Text: a.Text}); err != nil {
			if err := p.unsaved(err); err != nil {
				return a, err
			}
			continue
		}
		return a, nil
	}
}

// openPrompt is the open prompt of a run that has one.
func openPrompt(run *engine.Run) engine.Prompt {
	p, _ := run.Next()
	return p
}

// understood tells why an answer can't be read, nil where it can. What is only in
// doubt can be read: it is compared with the first entry, and asked back where it
// is the one that counts.
func (p *paper) understood(e *entered, a *engine.Answer, counts bool) *subject.Refusal {
	_, err := e.before.Propose(e.prompt, *a)
	r, ok := errors.AsType[*subject.Refusal](err)
	if !ok || r.Doubt != nil && !counts {
		return nil
	}
	return r
}

// same tells whether two answers come to the same, but for what is said of a
// doubt.
func (p *paper) same(e *entered, one, other string) bool {
	return slices.Equal(p.parts(e, one), p.parts(e, other))
}

func (p *paper) parts(e *entered, text string) []subject.Part {
	events, err := e.before.Propose(e.prompt, engine.Answer{Text: text})
	if r, ok := errors.AsType[*subject.Refusal](err); ok && r.Doubt != nil {
		events, err = e.before.Propose(e.prompt, engine.Answer{Text: r.Doubt.Keep})
	}
	if err != nil || len(events) == 0 {
		return []subject.Part{{Text: text}}
	}
	if len(events[0].Parts) == 0 {
		return []subject.Part{{Text: events[0].Text}}
	}
	return slices.DeleteFunc(slices.Clone(events[0].Parts), func(part subject.Part) bool {
		return !slices.ContainsFunc(e.prompt.Fields, func(f subject.Field) bool { return f.Path == part.Path })
	})
}

// record has the events of a block happen, in order. Where an entry has changed
// the way on, what is not asked for any more becomes a remark, and what waits
// behind a new question waits on.
func (p *paper) record(list []*entered) error {
	for i, e := range list {
		for {
			event, due := p.Run.Settle()
			if !due {
				break
			}
			if err := p.happen(event); err != nil {
				return err
			}
		}
		open, ok := p.Run.Next()
		if !ok || open.Slot != e.prompt.Slot {
			if ok && p.asksLater(open.Slot, list[i:]) {
				if err := p.leftOver(open, e); err != nil {
					return err
				}
				continue
			}
			p.wait(list[i:])
			return nil
		}
		if err := p.recordOne(open, e); err != nil {
			return err
		}
	}
	return nil
}

// recordOne has the events of one entry happen. One that can't be taken any more
// is asked for again.
func (p *paper) recordOne(open engine.Prompt, e *entered) error {
	events, err := onPaper(p.Run, open, e.answer)
	if isRefusal(err) {
		p.say("Not taken after all: " + e.prompt.Number + " " + e.answer.Text + ". It is asked again.")
		return nil
	}
	if err != nil {
		return err
	}
	for i, event := range events {
		if i == 0 && e.second != "" {
			event.First, event.Raw = e.first, e.second
			if e.first == "" && e.second != e.answer.Text {
				event.First = e.answer.Text
			}
		}
		if err := p.happen(event); err != nil {
			return err
		}
		if event.Kind == engine.Refused || event.Kind == engine.Skipped {
			p.tell(open, event, "")
		}
	}
	return nil
}

func isRefusal(err error) bool {
	_, ok := errors.AsType[*subject.Refusal](err)
	return ok
}

func (p *paper) asksLater(slot string, list []*entered) bool {
	return slices.ContainsFunc(list, func(e *entered) bool { return e.prompt.Slot == slot })
}

// leftOver keeps an entry that nobody asks for any more, in words.
func (p *paper) leftOver(open engine.Prompt, e *entered) error {
	if e.silent || e.answer.Text == engine.OnPaper {
		return nil
	}
	text := fmt.Sprintf("on the paper, and not asked for: %s %s %s", e.prompt.Number, e.prompt.Text, e.answer.Text)
	p.say("Kept as a remark: " + text)
	return p.happen(engine.Event{Kind: engine.Noted, Slot: open.Slot, Text: text})
}

// wait has entries that were typed in full wait for their question.
func (p *paper) wait(list []*entered) {
	for _, e := range list {
		if e.prompt.Kind == engine.Show || e.prompt.Kind == engine.Tell {
			continue
		}
		p.waiting.push(e.prompt.Slot, firstEntry, e.answer)
		if e.second != "" {
			p.waiting.push(e.prompt.Slot, secondEntry, engine.Answer{Text: e.answer.Text})
		}
	}
}
