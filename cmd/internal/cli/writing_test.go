package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/engine"
)

// The example of the guide is the one that is shown, has nothing wrong, and is
// walked to its last branch.
func TestExampleOfTheGuide(t *testing.T) {
	file := filepath.Join(t.TempDir(), "bores.yaml")
	if err := os.WriteFile(file, []byte(exampleProcedure), 0o600); err != nil {
		t.Fatal(err)
	}
	if r := runLine("procedures check --strict " + file); r.code != exitDone || r.err != "" {
		t.Errorf("it is not sound: %s", r.err)
	}
	r := runLine("procedures try " + file)
	if r.code != exitDone || !strings.Contains(r.out, "7 of 7 steps reached") || strings.Contains(r.out, "not taken") {
		t.Errorf("walking it ends with %d: %s", r.code, r.out)
	}
	page := runLine("help writing")
	for line := range strings.Lines(exampleProcedure) {
		if line = strings.TrimSpace(line); line != "" && !strings.Contains(page.out, line) {
			t.Errorf("the guide doesn't show %q", line)
		}
	}
}

// The guide names every verb, every source, place and fact, and every rule.
func TestGuideIsComplete(t *testing.T) {
	page := strings.Join(strings.Fields(runLine("help writing").out), " ")
	matter := (&advice.Matter{}).Names()
	for _, names := range [][]string{{"ask", "do", "hold", "tell", "page", "rounds", "owed"}, matter.Sources, matter.Fields, matter.Facts, matter.Pages} {
		for _, name := range names {
			if !strings.Contains(page, name) {
				t.Errorf("the guide says nothing of %s", name)
			}
		}
	}
	for _, r := range engine.WritingRules() {
		if !strings.Contains(page, r.Code+": "+r.Says) {
			t.Errorf("the guide lacks the rule %s", r.Code)
		}
	}
	if strings.Contains(page, "{rules}") || strings.Contains(page, "{facts}") {
		t.Error("something was not put in")
	}
}
