package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/advice/finding"
	"dropwalk/engine"
)

// filterShows is the car of wholeBox whose filter a fine gauge reads across.
func filterShows(text string, more tester) tester {
	return with(with(wholeBox, tester{"gauge": "5 inH2O by 0.1 inH2O", "piece": "filter", "element": "paper, 28000 km", "value": text, "measure-pieces": "later"}), more)
}

// One component: each verdict leads to its own step. The sizes of the pieces are not
// known here, so that the handbook's figure for the filter is that of a usual one.
func TestOneComponentOutcomesHaveTheirSteps(t *testing.T) {
	tell(t, "one-component", []furtherStory{
		{"above", filterShows("4.8 at 6000, keep", nil), nil, "above-handbook", "look-into", "more than the handbook expects"},
		{"inside", filterShows("1.3 at 6000", nil), nil, "as-handbook", "leave-piece", "what the handbook expects"},
		{"below", filterShows("0.2 at 6000, keep", nil), nil, "below-handbook", "look-again", "less than the handbook expects"},
		{"at the edge", filterShows("4.1 at 6000, keep", nil), nil, "cannot-tell", "narrow", "would take it away"},
		{"unreadable", filterShows("?", nil), nil, "not-yet", "plan-missing", "Nothing that counts"},
	})
}

// A piece behind which no tap can go is asked for again, and one whose neighbour takes
// none is read with that neighbour.
func TestOneComponentFindsItsTaps(t *testing.T) {
	asked := 0
	var from, to, other string
	w := walked(t, "one-component", nil, filterShows("2 at 6000, keep", tester{"no-tap": "tube"}), func(p engine.Prompt) string {
		switch p.Step {
		case "piece":
			if asked++; asked == 1 {
				return "tube"
			}
			return "mouth"
		case "connect":
			from, to, other = p.Round.Values["from"], p.Round.Values["to"], p.Text
		}
		return ""
	})
	if got := w.among("no-place", "not-alone", "second-hose", "other-port"); !slices.Equal(got, []string{"no-place", "not-alone", "other-port"}) {
		t.Errorf("asked are %v", got)
	}
	if asked != 2 || from != "open-air" || to != "snorkel" || !strings.Contains(other, "still outside air") {
		t.Errorf("asked %d times, read from %s to %s: %s", asked, from, to, other)
	}
	w.closes(t)
}

// From a file the finding is that of the by-hand test in package advice: 2.5 inH2O across
// the filter, of which 224.8 Pa come back.
func TestOneComponentFromAFile(t *testing.T) {
	dir, name := fromFile(t, "one-component", "yellow-one-component.yaml")
	r := reported(t, dir, name)
	if r.Finding == nil || r.Finding.Test != "one-component" || string(r.Sheet) == "null" {
		t.Fatalf("%+v", r)
	}
	r.Finding.reads(t, "loss", "Pa", 2.5*inchWater, 0.1)
	r.Finding.reads(t, "recoverable", "Pa", 224.8, 0.3)
	r.Finding.reads(t, "gain", "%", 0.273, 0.002)
	_, text, _ := tried(t, "", "report", name, "--dir", dir)
	if !strings.Contains(text, "What does one piece of the intake cost?") && !strings.Contains(text, "What does this piece of the intake cost?") {
		t.Errorf("the report says\n%s", text)
	}
}

// No name of a piece comes through where names are left out.
func TestOneComponentWithoutNames(t *testing.T) {
	dir, name := fromFile(t, "one-component", "yellow-one-component.yaml")
	code, text, errs := tried(t, "", "report", name, "--no-names", "--dir", dir)
	if code != exitDone || strings.Contains(text, "paper-one") || strings.Contains(text, "yellow") || !strings.Contains(text, "Loss of filter") {
		t.Errorf("%d, %s\n%s", code, errs, text)
	}
}

// The filter: each verdict leads to its own step.
func TestFilterOutcomesHaveTheirSteps(t *testing.T) {
	wide := tester{"gauge": "25 inH2O by 0.1 inH2O"}
	tell(t, "filter", []furtherStory{
		{"clean", filterShows("1.1 at 6000", nil), nil, "clean", "keep-sheet", "within what a clean element may have"},
		{"getting on", filterShows("6.5 at 6000, keep", wide), nil, "getting-on", "next-service", "more than a clean one"},
		{"due", filterShows("14 at 6000, keep", wide), nil, "due", "fit-new", "as much as published limits allow"},
		{"at the limit", filterShows("10 at 6000, keep", wide), nil, "cannot-tell", "narrow", "may be due"},
		{"unreadable", filterShows("?", nil), nil, "not-yet", "plan-missing", "Nothing that counts"},
	})
}

// With an earlier sheet the element is held against itself: the same reading that the
// handbook lets pass as clean has grown by two thirds.
func TestFilterAgainstAnEarlierSheet(t *testing.T) {
	first := walked(t, "filter", nil, filterShows("1.2 at 6000", nil), nil)
	first.closes(t)
	given := advice.Carried(first.sheet(t))
	for element, verdict := range map[string]string{"new": "getting-on", "same": "clean", "another": "clean"} {
		typed := filterShows("2.0 at 6000, keep", tester{"earlier-element": element})
		w := walked(t, "filter", given, typed, nil)
		f := advice.Found(w.Entries(), advice.Options{})
		if f.Verdict != verdict || len(w.among("earlier-element")) != 1 {
			t.Errorf("%s: %s, want %s\n%s", element, f.Verdict, verdict, w.pages["result"])
		}
		if x, ok := f.Figure("growth"); (element == "another") == ok || ok && math.Abs(x.Value-2.0/1.2+1) > 0.01 {
			t.Errorf("%s: the growth is %+v", element, x)
		}
	}
}

// A path without a filter is not tested for one.
func TestFilterNeedsAFilter(t *testing.T) {
	shows := 0
	typed := filterShows("1.1 at 6000", tester{"pieces": "mouth, snorkel (duct), tube (duct)"})
	r := engine.NewRun(shippedHere(t, "filter"), &advice.Matter{})
	r.Apply(r.Start(nil))
	through(t, r, func(p engine.Prompt) (engine.Answer, bool) {
		if p.Kind == engine.Hold {
			t.Fatalf("it goes on to %s", p.Step)
		}
		if p.Step == "no-filter" {
			shows++
		}
		return engine.Answer{Text: typed.answer(p)}, shows < 2
	})
	if shows != 2 {
		t.Errorf("it was told %d times", shows)
	}
}

// speeding answers the test over engine speed for a path that shows top inH2O at 6000 rpm
// and grows with an exponent.
func speeding(top, exponent float64, unread bool) func(engine.Prompt) string {
	return func(p engine.Prompt) string {
		if p.Step != "value" {
			return ""
		}
		var rpm float64
		if _, err := fmt.Sscanf(p.Round.Values["speed"], "%f rpm", &rpm); err != nil || unread {
			return "?"
		}
		return fmt.Sprintf("%.1f inH2O at %.0f, keep", top*math.Pow(rpm/6000, exponent), rpm)
	}
}

// The test over engine speed: each verdict leads to its own step and to no other, and the
// speeds are those of the reference, in turn.
func TestCollapseOutcomesHaveTheirSteps(t *testing.T) {
	steps := outcomes(shippedHere(t, "collapse"))
	told := map[string]bool{}
	for _, c := range []struct {
		name, verdict, step string
		exponent            float64
		unread              bool
	}{
		{"closes up", "closes-up", "look-along", 3.2, false},
		{"behaves", "behaves", "leave-shape", 2, false},
		{"between", "cannot-tell", "narrow", 2.5, false},
		{"unreadable", "not-yet", "plan-missing", 2, true},
	} {
		var speeds []string
		answer := speeding(14, c.exponent, c.unread)
		w := walked(t, "collapse", nil, with(wholeBox, tester{"span-to": "tube"}), func(p engine.Prompt) string {
			if p.Step == "run" && p.Round.Values["nth"] == "1" {
				speeds = append(speeds, p.Round.Values["speed"])
			}
			return answer(p)
		})
		f := advice.Found(w.Entries(), advice.Options{})
		var went []string
		for id := range steps {
			if len(w.among(id)) > 0 {
				went = append(went, id)
			}
		}
		if f == nil || f.Verdict != c.verdict || !slices.Equal(went, []string{c.step}) {
			t.Errorf("%s: %v, steps %v\n%s", c.name, f, went, w.pages["result"])
			continue
		}
		told[f.Verdict] = true
		if want := []string{"6000 rpm", "4800 rpm", "3900 rpm", "3000 rpm"}; !slices.Equal(speeds, want[:len(speeds)]) || len(speeds) < 3 {
			t.Errorf("%s: the speeds are %v", c.name, speeds)
		}
		if x, ok := f.Figure("exponent"); ok && math.Abs(x.Value-c.exponent) > 0.05 {
			t.Errorf("%s: made with %v, found %v", c.name, c.exponent, x.Value)
		}
		w.closes(t)
	}
	for id, verdict := range steps {
		if !told[verdict] {
			t.Errorf("no story comes to %s, verdict %s", id, verdict)
		}
	}
}

// A place that takes no tap is asked for again; who doesn't know gets the last that does.
func TestCollapseFindsItsTap(t *testing.T) {
	asked, to := 0, ""
	w := walked(t, "collapse", nil, with(wholeBox, tester{"no-tap": "tube"}), func(p engine.Prompt) string {
		switch p.Step {
		case "span-to":
			if asked++; asked == 1 {
				return "tube"
			}
			return "?"
		case "connect":
			to = p.Round.Values["to"]
		}
		return speeding(10, 2, false)(p)
	})
	if asked != 2 || to != "box-out" || len(w.among("no-place")) != 1 {
		t.Errorf("asked %d times, read up to %s", asked, to)
	}
	w.closes(t)
}

// Every new screen is one screen, and no line is wider than the terminal.
func TestAcrossPieceIsReadable(t *testing.T) {
	typed := map[string]string{"displacement": "1998 cc", "piece": "filter", "place": "track", "value": "1.3 inH2O at 6000, keep"}
	for _, procedure := range []string{"one-component", "filter", "collapse"} {
		screens(t, procedure, typed)
	}
}

// Findings of these tests have the verdicts that their files have, and no others.
func TestAcrossPieceVerdicts(t *testing.T) {
	for _, name := range []string{"one-component", "filter", "collapse"} {
		steps := outcomes(shippedHere(t, name))
		for _, verdict := range finding.VerdictsOf(name) {
			found := false
			for _, v := range steps {
				found = found || v == verdict
			}
			if !found {
				t.Errorf("%s has no step for %s", name, verdict)
			}
		}
	}
}
