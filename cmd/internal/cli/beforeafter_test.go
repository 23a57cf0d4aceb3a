package cli

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/advice/compare"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

// shippedHere reads a procedure that ships; a warning in it is a fault too.
func shippedHere(t *testing.T, name string) *engine.Procedure {
	t.Helper()
	w, err := shippedText(name)
	if err != nil {
		t.Fatal(err)
	}
	p, faults := w.check(quantity.AsTyped)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return p
}

// Who changes a part runs the same risks as who only measures: every hold of the
// intake test stands here too, with its lines and its cautions, word for word; and so
// does everything that is done under the bonnet.
func TestBeforeAfterHasTheHoldsOfIntake(t *testing.T) {
	all, ours := stepsOf(shippedHere(t, "intake")), stepsOf(shippedHere(t, "before-after"))
	held := 0
	for id, want := range all {
		if want.Kind != engine.Hold && len(want.Notices) == 0 {
			continue
		}
		got := ours[id]
		if id == "measure-hold" { // no piece is measured there
			continue
		}
		if got == nil {
			t.Errorf("%s is missing", id)
			continue
		}
		held++
		for what, pair := range map[string][2]any{"text": {got.Text, want.Text}, "lines": {got.Lines, want.Lines}, "notices": {got.Notices, want.Notices}, "undo": {got.Undo, want.Undo}} {
			if diff := cmp.Diff(pair[0], pair[1]); diff != "" {
				t.Errorf("%s, %s:\n%s", id, what, diff)
			}
		}
	}
	if held < 15 {
		t.Errorf("%d steps held against each other, want 15 or more", held)
	}
}

// changer answers the procedure: readings in inH2O by their block, in order.
type changer struct {
	walker
	again            string
	before, after    string
	blocks, outcomes []string // blocks that were read, steps of the outcome that were asked
	pages            map[string]string
}

func (c *changer) typing(p engine.Prompt) string {
	block := p.Round.Values["block"]
	switch p.Step {
	case "value":
		if !slices.Contains(c.blocks, block) {
			c.blocks = append(c.blocks, block)
		}
		if block == "after" {
			return c.after
		}
		return c.before
	case "again":
		return c.again
	case "keep-new", "keep-old", "keep-either", "settle":
		c.outcomes = append(c.outcomes, p.Step)
	}
	if p.Kind == engine.Show {
		c.pages[p.Step] = p.Page
	}
	return ""
}

// through walks the whole procedure on one machine.
func (c *changer) through(t *testing.T) *engine.Run {
	t.Helper()
	c.pages = map[string]string{}
	r := engine.NewRun(shippedHere(t, "before-after"), &advice.Matter{})
	r.Apply(r.Start([]subject.Entry{{Path: "date", Text: "2026-11-25"}}))
	typed := tester{"displacement": "1998 cc", "changed": "mouth", "change": "flared mouth", "place": "track", "gauge": "25 inH2O by 0.2 inH2O"}
	through(t, r, func(p engine.Prompt) (engine.Answer, bool) {
		text := c.typing(p)
		if text == "" {
			text = typed.answer(p)
		}
		return engine.Answer{Text: text}, true
	})
	return r
}

// Each outcome leads to its own next step, and to no other; the third block comes only
// where the tester wants it.
func TestEachOutcomeHasItsStep(t *testing.T) {
	for _, story := range []struct {
		name, before, after, again string
		blocks, steps              []string
		says                       string
	}{
		{"better", "13 inH2O at 6000", "10 inH2O at 6000", "yes", []string{"before", "after", "again"}, []string{"keep-new"}, "It helped."},
		{"worse", "10 inH2O at 6000", "13 inH2O at 6000", "no", []string{"before", "after"}, []string{"keep-old"}, "It made things worse."},
		{"no change", "13 inH2O at 6000", "13 inH2O at 6000", "?", []string{"before", "after"}, []string{"keep-either"}, "It changed nothing that matters."},
		{"can't tell", "13 inH2O at 6000", "12.5 inH2O at 6000", "no", []string{"before", "after"}, []string{"settle"}, "can't tell whether it helped"},
	} {
		c := &changer{before: story.before, after: story.after, again: story.again}
		r := c.through(t)
		if diff := cmp.Diff([][]string{c.blocks, c.outcomes}, [][]string{story.blocks, story.steps}); diff != "" {
			t.Errorf("%s:\n%s", story.name, diff)
		}
		if !strings.Contains(c.pages["outcome"], story.says) {
			t.Errorf("%s: the page says\n%s", story.name, c.pages["outcome"])
		}
		if how, ended := r.Ended(); how != "complete" || !ended || len(r.Owed()) > 0 {
			t.Errorf("%s: ended %q, %v, owed %v", story.name, how, ended, r.Owed())
		}
	}
}

// Readings that nobody could read leave the question open, and say what would help.
func TestUnreadableBlocksAreNoVerdict(t *testing.T) {
	c := &changer{before: "?", after: "?", again: "no"}
	c.through(t)
	if !slices.Equal(c.outcomes, []string{"settle"}) || !strings.Contains(c.pages["outcome"], "What would help") {
		t.Errorf("steps %v, page:\n%s", c.outcomes, c.pages["outcome"])
	}
}

// Each prompt is one screen, and no line is wider than the terminal.
func TestBeforeAfterIsReadable(t *testing.T) {
	screens(t, "before-after", map[string]string{
		"displacement": "1998 cc", "changed": "mouth", "change": "flared mouth", "place": "track", "value": "12.5 inH2O at 6000", "again": "yes",
	})
}

// A whole test from a file: the record alone can be compared, its sheet is the car as
// it was read last, and history shows its blocks as visits.
func TestBeforeAfterFromAFile(t *testing.T) {
	dir := t.TempDir()
	if code, _, errs := tried(t, "", "start", "before-after", "--answers", "../../../testdata/answers/yellow-before-after.yaml", "--dir", dir); code != exitDone {
		t.Fatalf("start ends with %d: %s", code, errs)
	}
	names, err := record.Names(dir)
	if err != nil || len(names) != 1 {
		t.Fatalf("records %v, %v", names, err)
	}
	c := compared(t, names[0], "--dir", dir)
	if c.Design != compare.ABA || c.Total.Verdict != compare.Better || c.Blocks[1].Change != "mouth: flared mouth of the same bore" {
		t.Errorf("design %s, verdict %s, change %q", c.Design, c.Total.Verdict, c.Blocks[1].Change)
	}
	if has := slices.ContainsFunc(c.Notes, func(n compare.Note) bool { return n.Code == compare.OtherDay }); has {
		t.Errorf("one day counts as several: %v", c.Notes)
	}
	_, text, _ := tried(t, "", "sheet", names[0], "--dir", dir)
	if strings.Count(text, "{run: ") != 3 || !strings.Contains(text, "13.4 inH2O, rpm: 6020") || !strings.Contains(text, "put back as it was") {
		t.Errorf("the sheet is not that of the last block:\n%s", text)
	}
	_, text, _ = tried(t, "", "history", "yellow estate", "--dir", dir)
	if flat := strings.Join(strings.Fields(text), " "); strings.Count(flat, "The verdict") != 3 || !strings.Contains(flat, "after the change") {
		t.Errorf("history shows:\n%s", text)
	}
	code, _, errs := tried(t, "", "compare", yellowBefore, "--dir", dir)
	if code != exitInput || !strings.Contains(errs, "alone can't be compared") || !strings.Contains(errs, "hint:") {
		t.Errorf("one sheet: %d, %s", code, errs)
	}
}
