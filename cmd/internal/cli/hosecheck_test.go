package cli

import (
	"testing"

	"dropwalk/advice"
	"dropwalk/engine"
)

// Each verdict on a hose leads to its own step and to no other; where it leaks, the
// hose is pinched twice more, and where it holds never.
func TestHoseCheckStories(t *testing.T) {
	tube := tester{"gauge": "25 inH2O by 0.5 inH2O", "hose-size": "4 mm, 3 m", "gauge-volume": "50 cm3", "working": "12 inH2O", "release": "1 s"}
	tell(t, "hose-check", []furtherStory{
		{"tight", tube, map[string][]string{"loss": {"15 inH2O, 15 inH2O, 60"}}, "holds", "fit", "Hose, gauge and fitting hold."},
		{"slow, at the gauge", tube, map[string][]string{"loss": {"15 inH2O, 12 inH2O, 60", "15 inH2O, 11.5 inH2O, 60", "15 inH2O, 10 inH2O, 60"}}, "leaks-slowly", "renew-soon", "at the gauge or its joint"},
		{"open, in the outer half", tube, map[string][]string{"loss": {"15 inH2O, 0 inH2O, 1", "15 inH2O, 15 inH2O, 60", "15 inH2O, 0 inH2O, 1"}}, "leaks", "renew-now", "in the half of the hose at the fitting"},
		{"a coarse watch", tube, map[string][]string{"loss": {"8 inH2O, 7.5 inH2O, 30", "?"}}, "cannot-tell", "watch-longer", "The loss is too small for this scale"},
		{"nothing read", tube, map[string][]string{"loss": {"?"}}, "not-yet", "check-later", "Nothing was closed off"},
	})
}

// A tight hose is a matter of few questions, and one that leaks of two more rounds.
func TestHoseCheckIsShort(t *testing.T) {
	count := func(losses ...string) (asks int) {
		s := &series{tester: tester{"gauge": "25 inH2O by 0.5 inH2O"}, inTurn: map[string][]string{"loss": losses}}
		r := s.through(t, "hose-check")
		steps := stepsOf(shippedHere(t, "hose-check"))
		for _, id := range s.asked {
			if step := steps[id]; step != nil && step.Kind == engine.Ask {
				asks++
			}
		}
		if f := advice.Found(r.Entries(), advice.Options{}); f == nil {
			t.Error("nothing was found")
		}
		return asks
	}
	if got := count("15 inH2O, 15 inH2O, 60"); got != 6 {
		t.Errorf("a tight hose takes %d questions, want 6", got)
	}
	if got := count("15 inH2O, 5 inH2O, 60", "15 inH2O, 2 inH2O, 60", "15 inH2O, 15 inH2O, 60"); got != 8 {
		t.Errorf("a leaking hose takes %d questions, want 8", got)
	}
}

func TestHoseCheckIsReadable(t *testing.T) {
	screens(t, "hose-check", map[string]string{"gauge": "25 inH2O by 0.5 inH2O", "loss": "15 inH2O, 10 inH2O, 30"})
}

// The check from a file, with the leak found at the gauge.
func TestHoseCheckFromAFile(t *testing.T) {
	dir, name := fromFile(t, "hose-check", "leaking-hose-check.yaml")
	r := reported(t, dir, name)
	if r.Finding == nil || r.Finding.Test != "hose-check" || r.Finding.Verdict != "leaks-slowly" {
		t.Fatalf("%+v", r.Finding)
	}
	// 15 to 12 inH2O in 60 s: 1 - sqrt(12/15) = 10.557 % in 30 s.
	r.Finding.reads(t, "lost", "%", 10.5573, 1e-3)
}
