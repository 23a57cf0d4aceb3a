package cli

import (
	"slices"
	"strings"
	"testing"

	"dropwalk/engine"
)

// A check at which the engine runs stands on paper between two holds, as on the
// screen: whoever makes the checks in another order, or only one of them, starts
// and ends with the car as the work ahead and behind needs it.
func TestEachIdleCheckStandsBetweenHoldsOnPaper(t *testing.T) {
	idle := 0
	for _, name := range shipped() {
		for _, brief := range []bool{false, true} {
			p, paper := paperOf(t, name, brief)
			if p.Search == nil {
				continue
			}
			base := p.Parts[slices.IndexFunc(p.Parts, func(part *engine.Part) bool {
				return slices.ContainsFunc(part.Steps, func(s *engine.Step) bool { return s.Kind == engine.Checks })
			})].Car
			before := strings.Index(paper, "**Checks: at most")
			for i, s := range p.Search.Checks {
				here := strings.Index(paper, "**"+s.Number+"** ")
				after := strings.Index(paper, "**What it can be")
				if i+1 < len(p.Search.Checks) {
					after = strings.Index(paper, "**"+p.Search.Checks[i+1].Number+"** ")
				}
				if s.Check.Car != base {
					idle++
					wantsHold(t, p, paper[before:here], s.Check.Car, name+" ahead of "+s.Number)
					wantsHold(t, p, paper[here:after], base, name+" behind "+s.Number)
				}
				before = here
			}
		}
	}
	if idle < 4 {
		t.Errorf("%d checks with the car in another state were looked at", idle)
	}
}

// wantsHold tells whether text holds all of what leads a search to a state.
func wantsHold(t *testing.T, p *engine.Procedure, text string, state engine.CarState, where string) {
	t.Helper()
	for _, gate := range p.Search.Gates {
		if gate.ThenCar != state {
			continue
		}
		at := strings.Index(text, "`HOLD` **"+gate.Number+"** ")
		if at < 0 {
			t.Errorf("%s: no hold that leads the car to %s", where, state)
			return
		}
		for _, line := range gate.Lines {
			if !strings.Contains(text[at:], "`[ ]` "+line+"\n") {
				t.Errorf("%s: the hold lacks %q", where, line)
			}
		}
		return
	}
	t.Errorf("%s: the search has no hold for %s", where, state)
}
