package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/engine"
	"dropwalk/engine/causes"
)

// hunt is a search that is driven as a session does it. What a check shows comes
// from a table; what isn't in it can't be told.
type hunt struct {
	t      *testing.T
	run    *engine.Run
	shows  map[string]string // by id of the check
	checks []string          // those that were put, in order
}

func newHunt(t *testing.T, name string, shows map[string]string) *hunt {
	t.Helper()
	run := engine.NewRun(searches(t)[name], &advice.Matter{})
	run.Apply(run.Start(nil))
	return &hunt{t: t, run: run, shows: shows}
}

// next settles what is due and is the open prompt; false at the end.
func (h *hunt) next() (engine.Prompt, bool) {
	for {
		e, due := h.run.Settle()
		if !due {
			return h.run.Next()
		}
		h.run.Apply(e)
	}
}

func (h *hunt) say(p engine.Prompt, a engine.Answer) {
	h.t.Helper()
	events, err := h.run.Propose(p, a)
	if err != nil {
		h.t.Fatalf("%s: %v", p.Slot, err)
	}
	for _, e := range events {
		h.run.Apply(e)
	}
}

// to goes on until a step of the given kind is open, false where the run ends
// first.
func (h *hunt) to(kind engine.Kind) (engine.Prompt, bool) {
	h.t.Helper()
	for range 100 {
		p, open := h.next()
		if !open || p.Kind == kind {
			return p, open
		}
		a := engine.Answer{}
		switch p.Kind {
		case engine.Hold:
			a.Text = "ready"
		case engine.Ask, engine.Examine:
			a.Text = "?"
			if text, ok := h.shows[p.Step]; ok {
				a.Text = text
			}
		}
		if p.Kind == engine.Examine {
			h.checks = append(h.checks, p.Step)
		}
		h.say(p, a)
	}
	h.t.Fatal("it never ends")
	return engine.Prompt{}, false
}

// likeliest is the cause that has the highest chance now.
func (h *hunt) likeliest() causes.Ranked {
	var best causes.Ranked
	for _, c := range h.run.Standing().Causes {
		if c.Chance > best.Chance {
			best = c
		}
	}
	return best
}

// A hose that fell off its tap, with a gauge that stays at nought: four checks at most,
// of which the first is told and two are short looks with the bonnet closed, and then
// one at the hose.
func TestHoseThatFellOffIsFound(t *testing.T) {
	h := newHunt(t, "odd-reading", map[string]string{
		"shows": "stays at nought", "hose-look": "off or split", "blow": "it leaks on the way", "leak": "100 %", "at-rest": "0 inH2O",
		"pull": "it follows and holds", "port": "low pressure", "tap-look": "clear and flush", "second": "the same",
	})
	page, _ := h.to(engine.Show)
	if got := h.likeliest(); got.ID != "hose-off" || got.Chance < causes.Enough || got.Mark != causes.Measured {
		t.Errorf("the likeliest is %s with %.2f, %s", got.ID, got.Chance, got.Mark)
	}
	if len(h.checks) > 4 {
		t.Errorf("it took %d checks: %v", len(h.checks), h.checks)
	}
	for _, want := range []string{"**Likeliest: The hose is off, split or leaks.**", "one cause stands out", "hose-off went from", "hose-check"} {
		if !strings.Contains(page.Page, want) {
			t.Errorf("the page lacks %q:\n%s", want, page.Page)
		}
	}
}

// The hose looked sound at first and was not: the answer is put right with back,
// what was answered after it stays, and the ranking follows.
func TestMisleadingAnswerIsCorrected(t *testing.T) {
	h := newHunt(t, "odd-reading", map[string]string{"shows": "stays at nought", "hose-look": "on and free", "leak": "2 %", "blow": "freely",
		"pull": "it follows and holds", "at-rest": "0 inH2O", "port": "low pressure", "tap-look": "clear and flush", "straight": "two widths or more"})
	page, _ := h.to(engine.Show)
	misled, answered := h.likeliest(), len(h.checks)
	if misled.ID == "hose-off" && misled.Chance > 0.5 {
		t.Fatalf("with answers that speak against it the hose is still the likeliest: %.2f", misled.Chance)
	}
	h.shows["hose-look"], h.shows["leak"] = "off or split", "60 %"
	for _, id := range []string{"hose-look", "leak"} {
		if slices.Contains(h.checks, id) {
			h.say(page, engine.Answer{Move: engine.Back, Text: id})
			page, _ = h.to(engine.Show)
		}
	}
	if got := h.likeliest(); got.ID != "hose-off" || got.Chance < causes.Enough {
		t.Errorf("after the correction the likeliest is %s with %.2f", got.ID, got.Chance)
	}
	if again := h.checks[answered:]; !slices.Contains(again, "hose-look") || slices.Contains(again, "shows") {
		t.Errorf("put again or anew were %v, want what was corrected and nothing that stood before it", again)
	}
}

// Where nothing can be told, every search ends, says so, and owes only what it has
// opened.
func TestSearchesEndWhereNothingCanBeTold(t *testing.T) {
	for name := range searches(t) {
		h := newHunt(t, name, nil)
		page, open := h.to(engine.Show)
		if !open || !strings.Contains(page.Page, "Nothing could be checked") {
			t.Errorf("%s: the page doesn't say that nothing was checked:\n%s", name, page.Page)
		}
		for _, c := range h.run.Standing().Causes {
			if c.Mark != causes.NotTested {
				t.Errorf("%s: %s is %s", name, c.ID, c.Mark)
			}
		}
		h.say(page, engine.Answer{})
		h.to("")
		if how, ended := h.run.Ended(); !ended || how != "complete" || len(h.run.Owed()) > 0 {
			t.Errorf("%s: it ended %q, %v, with %v owed", name, how, ended, h.run.Owed())
		}
	}
}

// A report on a search has the causes, what moved them and what was not tested, in
// every form; without names nothing is left of what was typed.
func TestReportOnASearch(t *testing.T) {
	o := newOwner(t)
	answers := filepath.Join(t.TempDir(), "a.yaml")
	if err := os.WriteFile(answers, []byte(`answers: 1
procedure: filter-due
holds: done-on-paper
steps:
  distance: less than 30000 km
  roads: {cannot: Maria has the book}
  bonnet: done
  air-box: done
  filter-look: dark or matted
  clean-side: clean and even
  box: nothing much
  owed: {air-box: {cannot: a clip is broken}, bonnet: done}
  joints: done
`), 0o600); err != nil {
		t.Fatal(err)
	}
	r := o.runs("start", "filter-due", "--answers", answers)
	if r.code != exitDone {
		t.Fatalf("it ends with %d: %s%s", r.code, r.out, r.err)
	}
	name := strings.TrimSpace(r.out)
	md := o.runs("report", name).out
	for _, want := range []string{"# Does the air filter look due?", "CAUTION", "a clip is broken", "**Likeliest: The filter is loaded with dust.**", "loaded went from", "measured", "Maria has the book",
		"## What was not tested", "common practice, no source", "Renew it."} {
		if !strings.Contains(md, want) {
			t.Errorf("the report lacks %q:\n%s", want, md)
		}
	}
	if unnamed := o.runs("report", name, "--no-names").out; strings.Contains(unnamed, "Maria") || strings.Contains(unnamed, "broken") {
		t.Errorf("the report without names has them:\n%s", unnamed)
	}
	if customer := o.runs("report", name, "--for", "customer").out; strings.Contains(customer, "## What this rests on") || !strings.Contains(customer, "## What to do") {
		t.Errorf("the customer's page is\n%s", customer)
	}
	var got struct {
		Report int
		Sheet  *struct{}
		Search *causes.Standing
		Course struct{ Owed []struct{ Text, Why string } }
	}
	if err := json.Unmarshal([]byte(o.runs("report", name, "--json").out), &got); err != nil || got.Report != 1 || got.Sheet != nil || got.Search == nil {
		t.Fatalf("the JSON form has %+v, %v", got, err)
	}
	if len(got.Search.Causes) != 4 || got.Search.Causes[0].ID != "loaded" || len(got.Course.Owed) != 1 {
		t.Errorf("the JSON form has %+v", got)
	}
	for end, want := range map[string]string{"csv": "cause,loaded,The filter is loaded with dust.,", "html": "<h2", "txt": "What to do\n----------", "md": "## What to do"} {
		out := filepath.Join(t.TempDir(), "r."+end)
		o.runs("report", name, "--out", out)
		if text, err := os.ReadFile(out); err != nil || !strings.Contains(string(text), want) {
			t.Errorf("%s lacks %q: %v\n%.600s", end, want, err, text)
		}
	}
}

// The guide's example of a search, with a front around it, is a procedure that
// keeps every rule but those of the front.
func TestGuideToSearchesIsRight(t *testing.T) {
	page, _ := topics.ReadFile("help/writing.md")
	_, chapter, found := strings.Cut(string(page), "\n## From a symptom to its cause\n")
	if !found {
		t.Fatal("the guide has no chapter on searches")
	}
	blocks := strings.Split(chapter, "```\n")
	src := "procedure: 1\nname: trial\ntitle: Why is it so?\npurpose: Find out why.\nif-stopped:\n  parked: [Engine off.]\n" + blocks[1] +
		"parts:\n- part: The checks\n  car: off\n" + blocks[3] + "- page: causes\n- owed: all\n"
	p, faults := engine.Check("guide.yaml", []byte(src), &advice.Matter{})
	for _, f := range faults {
		if f.Code != "front" {
			t.Error(f)
		}
	}
	if p == nil || len(p.Search.Checks) != 2 {
		t.Errorf("it doesn't load:\n%s", src)
	}
}
