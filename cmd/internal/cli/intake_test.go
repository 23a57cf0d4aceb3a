package cli

import (
	"testing"

	"dropwalk/advice"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
)

// Help has something to say at every step of the procedures that come with the
// program: why it is asked, an example, and what follows where the answer isn't
// known or is refused.
func TestHelpHasSomethingToSay(t *testing.T) {
	p, err := findProcedure(usualProcedure, quantity.AsTyped)
	if err != nil {
		t.Fatal(err)
	}
	matter := &advice.Matter{}
	for s := range p.Steps() {
		switch s.Kind {
		case engine.Rounds, engine.Owed:
			continue
		}
		if s.Why == "" {
			t.Errorf("%s says nothing on why", s.ID)
		}
		if s.Kind != engine.Ask {
			continue
		}
		needed := false
		for _, path := range s.Fills {
			f, _ := matter.Field(path)
			needed = needed || f.Required
		}
		if s.Like == "" {
			t.Errorf("%s has no example", s.ID)
		}
		if needed == (s.Unknown != "") {
			t.Errorf("%s: what follows from not knowing is %q, and an answer is needed: %v", s.ID, s.Unknown, needed)
		}
	}
}
