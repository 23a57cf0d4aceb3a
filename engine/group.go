package engine

import (
	"fmt"
	"maps"
	"slices"
)

// mostTogether bounds how many prompts are answered as one: more than nine are
// passed over rather than read (A. Gawande, The Checklist Manifesto, 2009).
const mostTogether = 9

// Copy is a run that goes on apart from r: what is applied to one doesn't show in
// the other.
func (r *Run) Copy() *Run {
	c := *r
	c.answers, c.chosen = maps.Clone(r.answers), maps.Clone(r.chosen)
	c.reopened, c.complained, c.loose, c.failed = maps.Clone(r.reopened), maps.Clone(r.complained), maps.Clone(r.loose), maps.Clone(r.failed)
	c.left, c.returns = slices.Clone(r.left), slices.Clone(r.returns)
	c.now, c.all = nil, nil
	return &c
}

// Together lists the prompts that can be answered as one, the open one first:
// steps that are done one after the other in one part and one round, without a
// question, a hold or a choice between them. A step that warns of danger to
// people stands alone, and so does everything else; it is then the only one. It
// is empty where no prompt is open.
func (r *Run) Together() []Prompt {
	p, open := r.Next()
	if !open {
		return nil
	}
	list := []Prompt{p}
	ahead := r.Copy()
	for plainWork(p) && len(list) < mostTogether {
		events, err := ahead.Propose(p, Answer{Text: doneWord})
		if err != nil {
			break
		}
		for _, e := range events {
			ahead.Apply(e)
		}
		next, open := ahead.Next()
		if !open || !plainWork(next) || next.Kind != p.Kind || next.Place.PartNo != list[0].Place.PartNo || next.Round.Slot != list[0].Round.Slot {
			break
		}
		p = next
		list = append(list, p)
	}
	return list
}

// plainWork tells whether a prompt is a step to do that warns of no danger to
// people.
func plainWork(p Prompt) bool {
	return (p.Kind == Do || p.Kind == Owed) && !p.Warns()
}

// Warns tells whether a prompt warns of something that can kill or maim.
func (p Prompt) Warns() bool {
	return slices.ContainsFunc(p.Notices, func(n Notice) bool { return n.Level == "danger" || n.Level == "warning" })
}

// ProposeTogether turns one answer to the prompts of Together into events, one for
// each that is done. Undone are the places in the list, from nought, of those that
// could not be done: they stay open, and come one by one. Its error is a
// *subject.Refusal.
func (r *Run) ProposeTogether(list []Prompt, undone []int, raw string) ([]Event, error) {
	ahead := r.Copy()
	var done []Event
	for i, p := range list {
		events, err := ahead.Propose(p, Answer{Text: doneWord})
		if err != nil {
			return nil, err
		}
		for _, e := range events {
			ahead.Apply(e)
			if e.Raw = raw; !slices.Contains(undone, i) {
				done = append(done, e)
			}
		}
	}
	if len(undone) > 0 && slices.Max(undone) >= len(list) {
		return nil, refuse(fmt.Sprintf("there is no line %d", slices.Max(undone)+1), fmt.Sprintf("done, or numbers from 1 to %d", len(list)))
	}
	return done, nil
}
