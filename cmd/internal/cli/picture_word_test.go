package cli

import (
	"regexp"
	"slices"
	"testing"

	"dropwalk/advice"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
)

// The word path is offered where a procedure shows the path, and nowhere else: the
// check of a gauge has none to draw.
func TestPathIsAWordWhereThereIsOne(t *testing.T) {
	for name, want := range map[string]bool{"gauge-check": false, "odd-reading": false, "back-pressure": false, "power-down": false,
		"intake": true, "component-walk": true, "before-after": true, "filter": true} {
		p, err := findProcedure(name, quantity.AsTyped)
		if err != nil {
			t.Fatal(err)
		}
		run := engine.NewRun(p, &advice.Matter{})
		run.Apply(run.Start(nil))
		open, _ := run.Next()
		if got := slices.Contains(open.Pictures, "path"); got != want {
			t.Errorf("%s: path is offered: %v, want %v", name, got, want)
		}
	}
}

// The cars of the list stand under one heading a level, in order.
func TestPracticeListHasEachLevelOnce(t *testing.T) {
	code, out, errs := tried(t, "", "practice", "--list", "--dir", t.TempDir())
	if code != exitDone {
		t.Fatal(errs)
	}
	if got, want := levelHeads.FindAllString(out, -1), []string{"Level 1", "Level 2", "Level 3", "Level 4"}; !slices.Equal(got, want) {
		t.Errorf("headings %q, want %q", got, want)
	}
}

var levelHeads = regexp.MustCompile(`(?m)^Level \d`)
