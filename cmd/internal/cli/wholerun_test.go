package cli

import (
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/advice/sheet"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// cannotBecause begins what say answers where a step can't be done.
const cannotBecause = "cannot: "

// through answers the prompts of a run, each as answer has it, until the run is at its
// end or answer wants no more.
func through(t *testing.T, r *engine.Run, answer func(engine.Prompt) (a engine.Answer, on bool)) {
	t.Helper()
	for range 900 {
		p, open := settled(r)
		if !open {
			return
		}
		a, on := answer(p)
		if !on {
			return
		}
		propose(t, r, p, a)
	}
	t.Fatal("it never ends")
}

// settled is the prompt of a run once everything due is settled; false at its end.
func settled(r *engine.Run) (engine.Prompt, bool) {
	for {
		e, due := r.Settle()
		if !due {
			return r.Next()
		}
		r.Apply(e)
	}
}

// propose has a run take an answer.
func propose(t *testing.T, r *engine.Run, p engine.Prompt, a engine.Answer) {
	t.Helper()
	events, err := r.Propose(p, a)
	if err != nil {
		t.Fatalf("%+v at %s: %v", a, p.Slot, err)
	}
	for _, e := range events {
		r.Apply(e)
	}
}

// wholeRun is a shipped procedure walked from its first question to its end.
type wholeRun struct {
	*engine.Run
	steps   []string          // that were asked, in order
	pages   map[string]string // by step, as shown last
	prompts tally
}

// walked answers every prompt of a shipped procedure: as say has it, else as typed
// has it by step, else with what its kind takes at least.
func walked(t *testing.T, name string, given []subject.Entry, typed tester, say func(engine.Prompt) string) *wholeRun {
	t.Helper()
	w := &wholeRun{Run: engine.NewRun(shippedHere(t, name), &advice.Matter{}), pages: map[string]string{}}
	w.Apply(w.Start(append([]subject.Entry{{Path: "date", Text: "2026-11-25"}}, given...)))
	through(t, w.Run, func(p engine.Prompt) (engine.Answer, bool) {
		w.count(p)
		text := ""
		if say != nil {
			text = say(p)
		}
		if text == "" {
			text = typed.answer(p)
		}
		if why, ok := strings.CutPrefix(text, cannotBecause); ok {
			return engine.Answer{Move: engine.Cannot, Why: why}, true
		}
		return engine.Answer{Text: text}, true
	})
	return w
}

func (w *wholeRun) count(p engine.Prompt) {
	w.steps = append(w.steps, p.Step)
	switch {
	case p.Kind == engine.Hold:
		w.prompts.holds++
	case p.Step == "value":
		w.prompts.readings++
	default:
		w.prompts.prompts++
	}
	if p.Kind == engine.Show {
		w.pages[p.Step] = p.Page
	}
}

// among keeps those of the steps that were asked.
func (w *wholeRun) among(steps ...string) []string {
	var out []string
	for _, s := range steps {
		for _, asked := range w.steps {
			if asked == s {
				out = append(out, s)
				break
			}
		}
	}
	return out
}

// closes holds that a procedure ended whole with nothing owed.
func (w *wholeRun) closes(t *testing.T) {
	t.Helper()
	if how, ended := w.Ended(); how != "complete" || !ended || len(w.Owed()) > 0 {
		t.Errorf("ended %q, %v, owed %v", how, ended, w.Owed())
	}
	t.Logf("%d prompts besides %d readings and %d holds", w.prompts.prompts, w.prompts.readings, w.prompts.holds)
}

// sheet is the test sheet that the run makes.
func (w *wholeRun) sheet(t *testing.T) *sheet.Sheet {
	t.Helper()
	s, faults := sheet.FromEntries(advice.SheetEntries(w.Entries()))
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	return s
}
