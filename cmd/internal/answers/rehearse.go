package answers

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/rules"
	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// mostPrompts bounds a rehearsal: no test takes as many.
const mostPrompts = 5000

// Findings is what a rehearsal brings to light.
type Findings struct {
	Faults  strictyaml.Faults
	Certain []Wanted // answers that the procedure asks for whatever else is answered
	Maybe   []Wanted // answers that it asks for or not, by what is still missing
}

// Rehearse goes through the procedure in memory, with what an earlier document
// brought, and finds every answer that is refused or missing. A further round
// that only the advice can ask for, a pair of stations or one more run, is not
// missing before the advice has asked for it: there the run itself pauses.
func (f *File) Rehearse(given []subject.Entry) Findings {
	plain := f.rehearse(given, nil)
	found := Findings{Faults: append(plain.faults, f.wrongKeys(plain)...).Sorted(), Certain: plain.firm}
	all := slices.Concat(plain.firm, plain.loose)
	for _, w := range all {
		for _, choice := range w.Choices {
			if w.step == "" {
				continue
			}
			other := f.rehearse(given, map[string]string{w.step: choice})
			now := slices.Concat(other.firm, other.loose)
			for _, n := range now {
				if !sameWanted(all, n) {
					all = append(all, n)
				}
			}
			found.Certain = slices.DeleteFunc(found.Certain, func(c Wanted) bool { return !sameWanted(now, c) && c.Where != w.Where })
		}
	}
	for _, w := range all {
		if !sameWanted(found.Certain, w) {
			found.Maybe = append(found.Maybe, w)
		}
	}
	return found
}

// rehearsal is one walk through a procedure without a record.
type rehearsal struct {
	file   *File
	run    *engine.Run
	asker  *Asker
	fill   map[string]string // answers by step that stand in for missing ones
	firm   []Wanted
	loose  []Wanted // asked for in rounds that could be others once nothing is missing
	faults strictyaml.Faults
	open   bool // the answer to a question is missing
	vague  bool // a text that others may name was refused
}

func (f *File) rehearse(given []subject.Entry, fill map[string]string) *rehearsal {
	r := &rehearsal{file: f, fill: fill, asker: f.NewAsker(io.Discard, 80), run: engine.NewRun(f.table.proc, f.table.matter)}
	r.run.Apply(r.run.Start(given))
	for range mostPrompts {
		if e, due := r.run.Settle(); due {
			r.run.Apply(r.decide(e))
			continue
		}
		p, open := r.run.Next()
		if !open {
			break
		}
		r.answer(p)
	}
	return r
}

// uncertain tells whether what the advice asks for now could be otherwise once
// nothing is missing any more.
func (r *rehearsal) uncertain() bool { return r.open || len(r.faults) > 0 }

func (r *rehearsal) want(w Wanted, loose bool) {
	if sameWanted(r.firm, w) || sameWanted(r.loose, w) {
		return
	}
	if loose {
		r.loose = append(r.loose, w)
	} else {
		r.firm = append(r.firm, w)
	}
}

// decide closes rounds for which the file has no item.
func (r *rehearsal) decide(e engine.Event) engine.Event {
	id, number := cutNumber(lastSegment(e.Slot))
	g := r.file.table.rounds[id]
	if e.Kind != engine.Chosen || g == nil || !g.needs() {
		return e
	}
	least := r.file.table.step[id].AtLeast
	if len(g.keys) > 0 && number == 1 && least > 0 && len(r.file.root.rows[g.rows]) == 0 && (!*e.Taken || r.uncertain()) {
		r.want(Wanted{Where: g.rows, Text: fmt.Sprintf("at least %d; which, follows from the answers above", least), Like: itemLike(g, nil)}, false)
	}
	if !*e.Taken {
		return e
	}
	around := r.around(e.Slot)
	if r.asker.bind(around, e.Slot, e.Offer.Values) != nil {
		return e
	}
	given := len(g.keys) > 0 && !g.judged // what it offers follows from answers alone
	if number <= least || given {
		r.want(r.file.table.wanted(r.asker, r.firstPrompt(e, around)), r.uncertain() && g.judged)
	}
	if given {
		return e
	}
	no := false
	e.Taken = &no
	return e
}

// around finds the item of the round that surrounds slot, nil where the file
// has none.
func (r *rehearsal) around(slot string) *set {
	at := strings.LastIndex(slot, "/")
	if at < 0 {
		return r.file.root
	}
	return r.asker.bound[slot[:at]]
}

// firstPrompt stands for the first question of a round that the file has no
// item for; only its place and its round count.
func (r *rehearsal) firstPrompt(e engine.Event, around *set) engine.Prompt {
	id, _ := cutNumber(lastSegment(e.Slot))
	values := map[string]string{}
	for s := around; s != nil; s = s.around {
		maps.Copy(values, s.keys)
	}
	maps.Copy(values, e.Offer.Values)
	p := engine.Prompt{Slot: e.Slot + "/?", Round: subject.Round{Slot: e.Slot, Values: values}}
	for _, s := range r.file.table.step[id].Each {
		if s.Kind == engine.Ask || s.Kind == engine.Do {
			p.Kind, p.Step, p.Slot, p.Text = s.Kind, s.ID, e.Slot+"/"+s.ID, withValues(s.Text, values)
			break
		}
	}
	return p
}

// answer gives the file's answer to p, or one that stands in for it.
func (r *rehearsal) answer(p engine.Prompt) {
	if p.Kind == engine.Tell && r.leadsNowhere(p) {
		r.run.Apply(engine.Event{Kind: engine.Answered, Slot: p.Slot, Step: p.Step, Text: "read", Seen: p.Seen})
		return
	}
	s, ok := r.asker.take(p)
	if !ok {
		r.want(r.file.table.wanted(r.asker, p), r.uncertain() && r.judged(p.Slot))
		r.open = r.open || p.Kind == engine.Ask
		r.standIn(p)
		return
	}
	events, err := r.run.Propose(p, s.answer)
	if err != nil {
		r.refused(p, s, err)
		r.standIn(p)
		return
	}
	for _, e := range events {
		r.run.Apply(e)
	}
}

// leadsNowhere tells whether a text leads back to questions to which the file
// has no further answer. That one is missing then.
func (r *rehearsal) leadsNowhere(p engine.Prompt) bool {
	step := r.file.table.step[p.Step]
	if len(step.BackTo) == 0 {
		return false
	}
	around := strings.TrimSuffix(p.Slot, lastSegment(p.Slot))
	for _, id := range step.BackTo {
		for _, slot := range []string{around + id, id} {
			if r.asker.left(r.asker.queue(slot, p.Round)) > 0 {
				return false
			}
		}
	}
	if step.When.Eval(r.run.View().Value) == rules.True {
		r.want(Wanted{
			Where: strings.Join(step.BackTo, ", ") + " (once more)", Text: p.Text,
			Like: step.BackTo[0] + ":\n- the first answer\n- the one that puts it right",
		}, r.uncertain())
	}
	return true
}

// judged tells whether slot lies in a round that the advice chose.
func (r *rehearsal) judged(slot string) bool {
	for segment := range strings.SplitSeq(slot, "/") {
		if id, n := cutNumber(segment); n > 1 && r.file.table.rounds[id] != nil {
			return true
		}
	}
	return false
}

func (r *rehearsal) refused(p engine.Prompt, s said, err error) {
	refusal, ok := errors.AsType[*subject.Refusal](err)
	if !ok {
		refusal = &subject.Refusal{What: err.Error()}
	}
	r.faults = append(r.faults, r.file.refusal(s.at, refusal))
	for _, f := range p.Fields {
		r.vague = r.vague || f.Kind == quantity.Text
	}
}

// standIn goes past p without an answer of the file.
func (r *rehearsal) standIn(p engine.Prompt) {
	text := r.fill[p.Step]
	switch p.Kind {
	case engine.Hold:
		text = engine.OnPaper
	case engine.Do, engine.Owed:
		text = doneWord
	}
	if text != "" {
		if events, err := r.run.Propose(p, engine.Answer{Text: text}); err == nil {
			for _, e := range events {
				r.run.Apply(e)
			}
			return
		}
	}
	r.run.Apply(engine.Event{Kind: engine.Answered, Slot: p.Slot, Step: p.Step, Seen: p.Seen, Unknown: true})
}

// wrongKeys finds items of lists that are about nothing there is, and answers
// that were not asked for and could never be taken.
func (f *File) wrongKeys(r *rehearsal) strictyaml.Faults {
	report := &strictyaml.Report{File: f.name}
	view := r.run.View()
	if !r.vague {
		for _, g := range f.table.root.inner {
			for _, s := range f.root.rows[g.rows] {
				for _, k := range g.keys {
					wrongKey(report, s, k, view.Value(k.Among).Text)
				}
			}
		}
	}
	for _, l := range r.asker.leftover() {
		for _, q := range l.asks() {
			for _, s := range q.said {
				f.check(report, view, l.set, q.step, s)
			}
		}
	}
	return report.Faults
}

// asks are the questions to which answers are left.
func (l rest) asks() []*queue {
	if l.queue != nil {
		return []*queue{l.queue}
	}
	var list []*queue
	for _, q := range l.set.answers {
		list = append(list, q)
	}
	for _, rows := range l.set.rows {
		for _, item := range rows {
			list = append(list, rest{set: item}.asks()...)
		}
	}
	return list
}

// check reads an answer that nobody asked for as if somebody had. A doubt is
// none here: what can be expected follows from the readings before it.
func (f *File) check(report *strictyaml.Report, view subject.View, in *set, step *engine.Step, s said) {
	if step.Kind != engine.Ask || s.answer.Move != engine.Answering {
		return
	}
	values, ok := f.valuesOf(view, in)
	if !ok {
		return
	}
	_, err := view.Read(step.Fills, subject.Round{Slot: "unasked.1", Values: values}, s.answer.Text)
	if refusal, ok := errors.AsType[*subject.Refusal](err); ok && refusal.Doubt == nil {
		report.Faults = append(report.Faults, f.refusal(s.at, refusal))
	}
}

// valuesOf are the values of the round that an item is about, as far as they
// can be had without the advice. It reports false where there is no such round.
func (f *File) valuesOf(view subject.View, in *set) (map[string]string, bool) {
	values := map[string]string{}
	for s := in; s != nil; s = s.around {
		maps.Copy(values, s.keys)
		if len(s.keys) == 0 || s.group.judged {
			continue
		}
		for n := 0; ; n++ {
			offer, more := view.Offer(s.group.source, subject.Round{Done: n})
			if !more {
				return nil, false
			}
			if matches(s, offer.Values) {
				maps.Copy(values, offer.Values)
				break
			}
		}
	}
	return values, true
}

func wrongKey(report *strictyaml.Report, s *set, k subject.Key, among string) {
	name := s.keys[k.Name]
	if among == "" || slices.Contains(k.Also, name) || strings.Contains(", "+among+", ", ", "+name+", ") {
		return
	}
	known := append(slices.Clone(k.Also), strings.Split(among, ", ")...)
	hint := ""
	if near, ok := spell.Nearest(name, known); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	report.At(s.node.Get(k.Name), fmt.Sprintf("there is no place called %q", name), strictyaml.Either(known), hint)
}
