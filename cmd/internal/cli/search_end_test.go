package cli

import (
	"slices"
	"strings"
	"testing"

	"dropwalk/engine"
	"dropwalk/engine/causes"
)

// markOf is how far a cause was looked into.
func (h *hunt) markOf(id string) causes.Mark {
	for _, c := range h.run.Standing().Causes {
		if c.ID == id {
			return c.Mark
		}
	}
	return ""
}

// A drone after work on the intake, with a lid that sits: before a side chamber is
// fitted, somebody looks whether one is missing.
func TestAChamberIsLookedForBeforeItIsFitted(t *testing.T) {
	h := newHunt(t, "intake-noise", map[string]string{"induction": "natural", "when": "under load only", "sound": "a drone or roar", "before": "other work on it",
		"lid-look": "even all round", "complete": "none", "filter-look": "a usual one that fits", "joints-look": "home and tight", "bend": "no crack"})
	h.to(engine.Show)
	if !slices.Contains(h.checks, "complete") {
		t.Errorf("nobody looked for what is missing: %v", h.checks)
	}
	if got := h.likeliest(); got.ID == "chamber" && got.Chance > 0.5 {
		t.Errorf("with every piece there, %s has %.2f", got.ID, got.Chance)
	}
}

// A lean code points at joints, and a joint is measured only where one was looked at.
func TestAJointIsLookedAtBeforeItIsNamed(t *testing.T) {
	h := newHunt(t, "lamp-after-test", map[string]string{"when": "on the drive after it", "codes": "too lean or air not measured", "taps-look": "all plugged",
		"lid-look": "even all round", "joints-look": "loose or off"})
	h.to(engine.Show)
	if !slices.Contains(h.checks, "joints-look") {
		t.Errorf("no joint was looked at: %v", h.checks)
	}
	if got := h.likeliest(); got.ID != "joint" || got.Mark != causes.Measured {
		t.Errorf("the likeliest is %+v", got)
	}
	h = newHunt(t, "lamp-after-test", map[string]string{"when": "on the drive after it", "codes": "too lean or air not measured"})
	h.to(engine.Show)
	if got := h.markOf("joint"); got != causes.Inferred {
		t.Errorf("after a code alone the joint is %s", got)
	}
}

// One earlier reading says that the path costs much, not that the filter does.
func TestAnEarlierReadingMeasuresNoFilter(t *testing.T) {
	h := newHunt(t, "power-down", map[string]string{"fuel": "petrol", "induction": "natural", "depression": "14 inH2O"})
	h.to(engine.Show)
	if !slices.Contains(h.checks, "depression") {
		t.Fatalf("it was not asked for: %v", h.checks)
	}
	if got := h.markOf("filter"); got != causes.Inferred {
		t.Errorf("the filter is %s", got)
	}
}

// A needle that rests an inch of water off with both ports open has lost its zero,
// whatever it did on the run.
func TestAZeroThatIsOffIsSetFirst(t *testing.T) {
	h := newHunt(t, "odd-reading", map[string]string{"shows": "swings", "at-rest": "1 inH2O", "pull": "it follows and holds", "port": "low pressure", "hose-look": "on and free",
		"leak": "1 %", "blow": "freely", "tap-look": "clear and flush", "straight": "two widths or more", "speeds": "1 %", "damping": "long and soft", "second": "the same"})
	h.to(engine.Show)
	at := slices.Index(h.checks, "at-rest")
	if at < 0 {
		t.Fatalf("the zero was not looked at: %v", h.checks)
	}
	if more := len(h.checks) - at - 1; more > 4 {
		t.Errorf("%d checks follow on it: %v", more, h.checks[at+1:])
	}
	st := h.run.Standing()
	if st.Causes[0].ID != "zero" || h.likeliest().ID != "zero" || st.Causes[0].Mark != causes.Measured {
		t.Errorf("first comes %+v", st.Causes[0])
	}
}

// Water in the box speaks for water. Whoever holds the filter looks at its edge too.
func TestWaterInTheBoxIsNoLeaves(t *testing.T) {
	h := newHunt(t, "filter-due", map[string]string{"distance": "more than that", "roads": "made roads", "box": "water or a tide mark", "filter-look": "light comes through", "clean-side": "clean and even"})
	page, _ := h.to(engine.Show)
	if got := h.likeliest(); got.ID == "leaves" {
		t.Errorf("the likeliest are leaves with %.2f", got.Chance)
	}
	if i := slices.Index(h.checks, "filter-look"); i < 0 || !slices.Contains(h.checks, "clean-side") {
		t.Errorf("the edge was not looked at: %v", h.checks)
	}
	if strings.Contains(page.Page, "Likeliest: Leaves") {
		t.Error(page.Page)
	}
}

// A plate that stops short with the engine off is no proof: many do.
func TestAPlateThatStopsShortIsNoProof(t *testing.T) {
	row := searches(t)["power-down"].Search
	check := row.Check("throttle-open").Check
	m := row.Model()
	i := slices.IndexFunc(row.Causes, func(c *engine.Cause) bool { return c.ID == "throttle" })
	o := slices.IndexFunc(check.Outcomes, func(o *engine.Outcome) bool { return o.Word == engine.Below })
	if got := m.After(m.Prior(), check.Number, o)[i]; got > 0.3 {
		t.Errorf("it makes the throttle %.2f likely", got)
	}
}

// Whoever leaves in brief is told how to come back in brief.
func TestAPauseNamesItsView(t *testing.T) {
	for _, c := range []struct {
		lines, option string
		want          bool
	}{{"ready\npause\n", briefView, true}, {"ready\npause\n", guidedView, false}, {"brief\nready\npause\n", guidedView, true}, {"guided\nready\npause\n", briefView, false}} {
		_, _, errs := tried(t, c.lines, "start", "filter-due", "--view", c.option, "--dir", t.TempDir())
		if !strings.Contains(errs, "resume") || strings.Contains(errs, "--view brief") != c.want {
			t.Errorf("begun %s with %q, it ends with %q", c.option, c.lines, errs)
		}
	}
}
