package terminal

import (
	"strings"
	"testing"

	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// Whoever says at a hold that it is done is told the word that passes it.
func TestDoneAtAHoldMeansReady(t *testing.T) {
	hold := engine.Prompt{Kind: engine.Hold, Lines: []string{"The handbrake is on."}}
	for _, typed := range []string{"done", "OK", "yes"} {
		if got := understand(hold, &subject.Refusal{}, typed).problem; !strings.HasSuffix(got, `(did you mean "ready"?)`) {
			t.Errorf("%s: %q", typed, got)
		}
	}
}
