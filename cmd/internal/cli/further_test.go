package cli

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/advice/finding"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

// series answers as a tester does; steps of rounds have an answer for each round, and
// the last one goes on.
type series struct {
	tester
	inTurn map[string][]string
	asked  []string // every step that was asked, in order
	page   string   // the last page of results
}

func (s *series) answer(p engine.Prompt) string {
	s.asked = append(s.asked, p.Step)
	if p.Kind == engine.Show {
		s.page = p.Page
	}
	list := s.inTurn[p.Step]
	switch len(list) {
	case 0:
		return s.tester.answer(p)
	case 1:
		return list[0]
	}
	s.inTurn[p.Step] = list[1:]
	return list[0]
}

// through walks a shipped procedure to its end and gives the run back.
func (s *series) through(t *testing.T, procedure string) *engine.Run {
	t.Helper()
	r := engine.NewRun(shippedHere(t, procedure), &advice.Matter{})
	r.Apply(r.Start([]subject.Entry{{Path: "date", Text: "2026-11-25"}}))
	through(t, r, func(p engine.Prompt) (engine.Answer, bool) { return engine.Answer{Text: s.answer(p)}, true })
	return r
}

// outcomes are the steps that a procedure has for its verdicts, each with its verdict.
func outcomes(p *engine.Procedure) map[string]string {
	out := map[string]string{}
	for id, s := range stepsOf(p) {
		if s.When == nil {
			continue
		}
		if verdict, ok := strings.CutPrefix(s.When.String(), "finding is "); ok {
			out[id] = verdict
		}
	}
	return out
}

// furtherStory is one way through a further test.
type furtherStory struct {
	name    string
	typed   tester
	inTurn  map[string][]string
	verdict string
	step    string // the one step that the verdict leads to
	says    string // on the page of results
}

// tell walks each story and holds that its verdict leads to its own next step and to no
// other, and that nothing stays owed. Every verdict must have its story.
func tell(t *testing.T, procedure string, stories []furtherStory) {
	t.Helper()
	steps := outcomes(shippedHere(t, procedure))
	told := map[string]bool{}
	for _, story := range stories {
		s := &series{tester: story.typed, inTurn: story.inTurn}
		r := s.through(t, procedure)
		f := foundIn(&rebuilt{run: r})
		if f == nil {
			t.Errorf("%s: nothing was found", story.name)
			continue
		}
		told[f.Verdict] = true
		var went []string
		for _, id := range s.asked {
			if steps[id] != "" && !slices.Contains(went, id) {
				went = append(went, id)
			}
		}
		if f.Verdict != story.verdict || !slices.Equal(went, []string{story.step}) || steps[story.step] != story.verdict {
			t.Errorf("%s: verdict %s, steps %v; want %s, %s\n%s", story.name, f.Verdict, went, story.verdict, story.step, s.page)
		}
		if !strings.Contains(s.page, story.says) {
			t.Errorf("%s: the page has no %q:\n%s", story.name, story.says, s.page)
		}
		if how, ended := r.Ended(); how != "complete" || !ended || len(r.Owed()) > 0 {
			t.Errorf("%s: ended %q, %v, owed %v", story.name, how, ended, r.Owed())
		}
	}
	for id, verdict := range steps {
		if !told[verdict] {
			t.Errorf("no story comes to %s, verdict %s", id, verdict)
		}
	}
}

// screens walks a procedure and holds that each prompt is one screen and that no line is
// wider than the terminal, at 78 and 39 columns. It says how many prompts there are.
func screens(t *testing.T, procedure string, typed map[string]string) {
	t.Helper()
	for _, width := range []int{78, 39} {
		w := &walker{t: t, width: width, asked: map[engine.Kind]int{}, typed: typed}
		p, err := findProcedure(procedure, quantity.AsTyped)
		if err != nil {
			t.Fatal(err)
		}
		s := &session.Session{Run: engine.NewRun(p, &advice.Matter{}), Store: memory{}, Asker: w}
		if err := s.Begin(nil); err != nil {
			t.Fatal(err)
		}
		if err := s.Drive(t.Context()); err != nil {
			t.Fatal(err)
		}
		if width > 60 && w.tallest > tallestScreen {
			t.Errorf("a screen has %d lines:\n%s", w.tallest, w.screen)
		}
		t.Logf("%s at %d columns: prompts by kind %v", procedure, width, w.asked)
	}
}

// fromFile runs a file of answers and gives the folder and the name of the record.
func fromFile(t *testing.T, procedure, file string) (dir, name string) {
	t.Helper()
	dir = t.TempDir()
	if code, _, errs := tried(t, "", "start", procedure, "--answers", "../../../testdata/answers/"+file, "--dir", dir); code != exitDone {
		t.Fatalf("start ends with %d: %s", code, errs)
	}
	names, err := record.Names(dir)
	if err != nil || len(names) != 1 {
		t.Fatalf("records %v, %v", names, err)
	}
	return dir, names[0]
}

// furtherReport is the JSON form of a report as a program sees it.
type furtherReport struct {
	Report     int             `json:"report"`
	Names      bool            `json:"names"`
	Sheet      json.RawMessage `json:"sheet"`
	Assessment json.RawMessage `json:"assessment"`
	Course     json.RawMessage `json:"course"`
	Finding    *readFinding    `json:"finding"`
}

type readFinding struct {
	Finding int    `json:"finding"`
	Test    string `json:"test"`
	Verdict string `json:"verdict"`
	Figures []struct {
		Name             string
		Value, Low, High *float64
		Unit, How        string
	}
	Next string
}

// reported is the JSON form of the report on a record.
func reported(t *testing.T, dir, name string) furtherReport {
	t.Helper()
	code, text, errs := tried(t, "", "report", name, "--json", "--dir", dir)
	if code != exitDone {
		t.Fatalf("report ends with %d: %s", code, errs)
	}
	var r furtherReport
	if err := json.Unmarshal([]byte(text), &r); err != nil {
		t.Fatal(err)
	}
	var raw struct{ Finding json.RawMessage }
	if err := json.Unmarshal([]byte(text), &raw); err != nil {
		t.Fatal(err)
	}
	if r.Finding != nil {
		if faults := finding.Check("finding", raw.Finding); len(faults) > 0 {
			t.Error(faults)
		}
	}
	return r
}

// reads holds a figure against what was worked out by hand, in its unit.
func (f *readFinding) reads(t *testing.T, name, unit string, value, within float64) {
	t.Helper()
	for _, x := range f.Figures {
		if x.Name != name {
			continue
		}
		if x.Value == nil || x.Unit != unit || math.Abs(*x.Value-value) > within {
			t.Errorf("%s: %+v, want %v %s", name, x, value, unit)
		}
		return
	}
	t.Errorf("no figure %s", name)
}

// A whole test of the intake air from a file: every form of the report tells it, and the
// commands on sheets say that there is none. The figures are those of
// TestIntakeAirByHand in package advice.
func TestIntakeAirFromAFile(t *testing.T) {
	dir, name := fromFile(t, "intake-air", "yellow-intake-air.yaml")
	r := reported(t, dir, name)
	if r.Report != 1 || !r.Names || string(r.Sheet) != "null" || string(r.Assessment) != "null" || r.Finding == nil {
		t.Fatalf("%+v", r)
	}
	if r.Finding.Finding != 1 || r.Finding.Test != "intake-air" || r.Finding.Verdict != "warm" {
		t.Errorf("%+v", r.Finding)
	}
	r.Finding.reads(t, "rise-steady", "K", 11, 1e-4)
	r.Finding.reads(t, "cost", "%", 2.20053, 1e-4)
	out := filepath.Join(t.TempDir(), "x")
	for end, says := range map[string]string{
		".md": "- Rise in steady driving: 11.0 K, most likely between 9.5 and 12.5 (measured)", ".txt": "Rise in steady driving: 11.0 K",
		".html": "<h1>How warm is the air that the engine breathes?</h1>", ".csv": "figure,rise-steady,Rise in steady driving,11,9.4", ".json": `"verdict":"warm"`,
	} {
		if code, _, errs := tried(t, "", "report", name, "--dir", dir, "--out", out+end); code != exitDone {
			t.Errorf("%s: %d, %s", end, code, errs)
			continue
		}
		text, err := os.ReadFile(out + end)
		if err != nil || !strings.Contains(string(text), says) {
			t.Errorf("%s has no %q: %v\n%s", end, says, err, text)
		}
	}
	_, text, _ := tried(t, "", "report", name, "--dir", dir, "--for", "customer", "--units", "imperial")
	if !strings.Contains(text, "20 F") || strings.Contains(text, "rests on") {
		t.Errorf("the customer reads:\n%s", text)
	}
	for _, command := range []string{"sheet", "assess"} {
		if code, _, errs := tried(t, "", command, name, "--dir", dir); code != exitInput || !strings.Contains(errs, "makes no test sheet") || !strings.Contains(errs, "dropwalk report") {
			t.Errorf("%s: %d, %s", command, code, errs)
		}
	}
	if code, _, errs := tried(t, "", "compare", name, "--dir", dir); code == exitDone || errs == "" {
		t.Errorf("compare: %d, %s", code, errs)
	}
}

// A test of which nothing was read yet is told as one, and what is owed stands ahead.
func TestFurtherTestThatHasJustBegun(t *testing.T) {
	dir := t.TempDir()
	answers := "answers: 1\nprocedure: intake-air\nholds: done-on-paper\nsteps:\n  car-name: yellow estate\n  fuel: petrol\n  induction: natural\n" +
		"  intake-sensor: done\n  outside-sensor: {stop: rain}\n  owed: {intake-sensor: {skip: tomorrow}}\n"
	if code, _, errs := tried(t, answers, "start", "intake-air", "--answers", "-", "--dir", dir); code == exitInput {
		t.Fatalf("%d, %s", code, errs)
	}
	names, err := record.Names(dir)
	if err != nil || len(names) != 1 {
		t.Fatalf("records %v, %v", names, err)
	}
	if r := reported(t, dir, names[0]); r.Finding == nil || r.Finding.Verdict != "not-yet" || !strings.Contains(string(r.Course), "Take sensor and lead") {
		t.Errorf("%+v", r)
	}
	_, text, _ := tried(t, "", "report", names[0], "--dir", dir)
	if !strings.Contains(text, "the car is not as it was") || !strings.Contains(text, "too few readings") {
		t.Errorf("%s", text)
	}
}

// The report on the test of the whole path has no finding, and that on one before and
// after a change names the command that says whether it helped.
func TestReportsOfOtherTests(t *testing.T) {
	dir, name := fromFile(t, "before-after", "yellow-before-after.yaml")
	r := reported(t, dir, name)
	if r.Finding != nil || string(r.Sheet) == "null" || string(r.Assessment) == "null" {
		t.Errorf("%+v", r)
	}
	_, text, _ := tried(t, "", "report", name, "--dir", dir)
	if !strings.Contains(text, "dropwalk compare "+name) {
		t.Errorf("compare isn't named:\n%s", text)
	}
	_, text, _ = tried(t, "", "report", yellowBefore, "--dir", dir)
	if strings.Contains(text, "dropwalk compare") {
		t.Errorf("compare is named where there is nothing to compare:\n%s", text)
	}
}

func TestIntakeAirOutcomesHaveTheirSteps(t *testing.T) {
	typed := func(more tester) tester {
		all := tester{"cold-compare": "12 C, 13 C", "thermometer": "1 K", "steady-speed": "80 km/h, 100 km/h", "fuel": "petrol", "induction": "natural", "place": "track"}
		for step, text := range more {
			all[step] = text
		}
		return all
	}
	tell(t, "intake-air", []furtherStory{
		{"warm", typed(nil), map[string][]string{"both": {"18 C, 30 C", "18 C, 31 C", "18 C, 29 C"}}, "warm", "find-warm-air", "warmer than the open air"},
		{"cool", typed(nil), map[string][]string{"both": {"18 C, 21 C"}}, "cool", "leave-mouth", "nearly as cool"},
		{"soaks", typed(tester{"stood": "18 C, 44 C"}), map[string][]string{"both": {"18 C, 21 C"}}, "soaks", "plan-runs", "warms while the car stands"},
		{"scatters", typed(nil), map[string][]string{"both": {"18 C, 20 C", "18 C, 32 C", "18 C, 26 C"}}, "cannot-tell", "plan-again", "scatter too far"},
		{"nothing read", typed(nil), map[string][]string{"both": {"?"}}, "not-yet", "plan-missing", "too few readings"},
		{"cool at full load", typed(tester{"full-load": "yes"}), map[string][]string{"both": {"18 C, 30 C"}, "pull-both": {"18 C, 20 C"}}, "cool", "leave-mouth", "nearly as cool"},
	})
}

func TestIntakeAirIsReadable(t *testing.T) {
	screens(t, "intake-air", map[string]string{"steady-speed": "80 km/h, 100 km/h", "full-load": "yes", "place": "track", "both": "18 C, 30 C", "pull-both": "18 C, 24 C"})
}

// The figures are those of TestMouthPositionByHand in package advice. Names of places go
// where names are left out.
func TestMouthPositionFromAFile(t *testing.T) {
	dir, name := fromFile(t, "mouth-position", "yellow-mouth-position.yaml")
	r := reported(t, dir, name)
	if r.Finding == nil || r.Finding.Verdict != "little" {
		t.Fatalf("%+v", r.Finding)
	}
	r.Finding.reads(t, "more", "Pa", 124.544, 0.01)
	_, text, _ := tried(t, "", "report", name, "--dir", dir)
	if !strings.Contains(text, "- Pressure, below the windscreen less behind the grille: 0.50 inH2O, most likely between 0.42 and 0.58 (measured)") {
		t.Errorf("%s", text)
	}
	for _, form := range [][]string{nil, {"--json"}, {"--for", "customer"}} {
		_, text, _ = tried(t, "", append([]string{"report", name, "--dir", dir, "--no-names"}, form...)...)
		if strings.Contains(text, "windscreen") || strings.Contains(text, "grille") || strings.Contains(text, "yellow") || !strings.Contains(text, "place 2") {
			t.Errorf("%v: a name is left:\n%s", form, text)
		}
	}
}

func TestMouthPositionOutcomesHaveTheirSteps(t *testing.T) {
	base := tester{"fuel": "petrol", "induction": "natural", "gauge": "5 inH2O by 0.1 inH2O", "air": "15 C, 1013 hPa, 0 %", "steady-speed": "100 km/h, 100 km/h",
		"speed-from": "satellite", "mouth-places": "grille, cowl"}
	both := func(texts ...string) map[string][]string { return map[string][]string{"both-ways": texts} }
	tell(t, "mouth-position", []furtherStory{
		{"worth it", with(base, tester{"ram-speed": "250 km/h"}), both("0.4, 0.4", "0.4, 0.4", "0.9, 0.9"), "move", "look-at-place", "worth having at speed"},
		{"little", base, both("0.4, 0.4", "0.4, 0.4", "0.9, 0.9"), "little", "leave-for-now", "worth little"},
		{"suction elsewhere", base, both("0.9, 0.9", "0.9, 0.9", "-0.4, -0.3"), "stay", "leave-mouth", "The present place, grille, reads most"},
		{"scatter", with(base, tester{"ram-speed": "250 km/h"}), both("0.2, 0.2", "1, 1", "0.2, 0.2", "1, 1", "0.2, 0.2", "1.2, 1.2", "0.2, 0.2", "1.2, 1.2", "0.2, 0.2", "1.2, 1.2"), "cannot-tell", "plan-again", "scatter too far"},
		{"nothing read", base, both("?"), "not-yet", "plan-missing", "too few readings"},
	})
}

func TestMouthPositionIsReadable(t *testing.T) {
	screens(t, "mouth-position", map[string]string{"steady-speed": "80 km/h, 100 km/h", "mouth-places": "behind the grille, below the windscreen, left of the radiator", "both-ways": "0.9 inH2O, 0.8 inH2O"})
}

// A speed above the limit, or one that isn't known, is refused before anybody drives.
func TestSteadySpeedIsLawful(t *testing.T) {
	for _, procedure := range []string{"mouth-position", "intake-air"} {
		s := &series{tester: tester{"mouth-places": "grille, cowl"}, inTurn: map[string][]string{"steady-speed": {"120 km/h, 100 km/h", "?", "80 km/h, 100 km/h"}}}
		s.through(t, procedure)
		count := func(step string) int {
			n := 0
			for _, id := range s.asked {
				if id == step {
					n++
				}
			}
			return n
		}
		if count("steady-too-fast") != 2 || count("steady-speed") != 3 {
			t.Errorf("%s: told %d times, asked %d times", procedure, count("steady-too-fast"), count("steady-speed"))
		}
	}
}

// The figures are those of TestChargeCoolerByHand in package advice.
func TestChargeCoolerFromAFile(t *testing.T) {
	dir, name := fromFile(t, "charge-cooler", "red-charge-cooler.yaml")
	r := reported(t, dir, name)
	if r.Finding == nil || r.Finding.Verdict != "sound" {
		t.Fatalf("%+v", r.Finding)
	}
	r.Finding.reads(t, "drop", "Pa", 7000, 0.01)
	r.Finding.reads(t, "effectiveness", "%", 68.0412, 1e-3)
	_, text, _ := tried(t, "", "report", name, "--dir", dir)
	if !strings.Contains(text, "- Pressure drop across the cooler: 7.0 kPa, most likely between 5.1 and 8.9 (measured)") {
		t.Errorf("%s", text)
	}
}

func TestChargeCoolerOutcomesHaveTheirSteps(t *testing.T) {
	base := tester{"fuel": "petrol", "induction": "turbo", "gauge": "200 kPa by 2 kPa", "pair": "100 kPa, 101 kPa", "air": "21 C, 1013 hPa, 50 %", "place": "track"}
	at := func(boosts, heats string) tester { return with(base, tester{"boosts": boosts, "heats": heats}) }
	tell(t, "charge-cooler", []furtherStory{
		{"sound", at("92, 88, 5500", "118 C, 45 C, 21 C"), nil, "sound", "leave-cooler", "does its work"},
		{"tight", at("92, 76, 5500", "118 C, 45 C, 21 C"), nil, "tight", "look-inside", "loses much pressure in it"},
		{"hot", at("92, 88, 5500", "118 C, 75 C, 21 C"), nil, "hot", "look-outside", "too little of its heat"},
		{"both", at("92, 76, 5500", "118 C, 75 C, 21 C"), nil, "tight-and-hot", "look-all-over", "much pressure in the cooler"},
		{"near the mark", at("92, 83, 5500", "118 C, 45 C, 21 C"), nil, "cannot-tell", "plan-again", "leave open"},
		{"nothing", at("?", "?"), nil, "not-yet", "plan-missing", "Nothing has been read yet"},
		{"a gauge that is too small first", at("92, 88, 5500", "118 C, 45 C, 21 C"), map[string][]string{"gauge": {"25 inH2O by 0.5 inH2O", "200 kPa by 2 kPa"}}, "sound", "leave-cooler", "does its work"},
	})
}

func TestChargeCoolerIsReadable(t *testing.T) {
	screens(t, "charge-cooler", map[string]string{"induction": "turbo", "gauge": "200 kPa by 2 kPa", "place": "track", "boosts": "92, 86, 5500", "heats": "118 C, 52 C, 21 C"})
}

// The figures are those of TestBackPressureByHand in package advice.
func TestBackPressureFromAFile(t *testing.T) {
	dir, name := fromFile(t, "back-pressure", "yellow-back-pressure.yaml")
	r := reported(t, dir, name)
	if r.Finding == nil || r.Finding.Verdict != "free" {
		t.Fatalf("%+v", r.Finding)
	}
	r.Finding.reads(t, "raised", "Pa", 8000, 0.01)
	r.Finding.reads(t, "exponent", "1", 2, 1e-6)
	_, text, _ := tried(t, "", "report", name, "--dir", dir)
	if !strings.Contains(text, "- Power that pushing the gas out costs: at least 2.18 % (inferred)") {
		t.Errorf("%s", text)
	}
}

func TestBackPressureOutcomesHaveTheirSteps(t *testing.T) {
	base := tester{"displacement": "1998 cc", "gauge": "100 kPa by 1 kPa"}
	at := func(idle, raised string) map[string][]string {
		once := []string{idle, "3, 1500", "5, 2000", raised, "?"}
		return map[string][]string{"back": append(once, once...)}
	}
	tell(t, "back-pressure", []furtherStory{
		{"free", base, at("2, 850", "8, 2500"), "free", "leave-exhaust", "no more than is usual"},
		{"free, with a needle that hardly moves", base, at("<2, 850", "8, 2500"), "free", "leave-exhaust", "at most 2 kPa"},
		{"choked", base, at("5, 850", "32, 2500"), "choked", "find-where", "more than it should"},
		{"near the mark", base, at("4, 850", "20.5, 2500"), "cannot-tell", "plan-again", "too near the mark"},
		{"nothing", base, map[string][]string{"back": {"?"}}, "not-yet", "plan-missing", "Nothing has been read yet"},
		{"at full load too", with(base, tester{"loaded": "yes", "back-load": "24, 6000"}), at("2, 850", "8, 2500"), "free", "leave-exhaust", "Back-pressure at full load: 24.0 kPa"},
	})
}

// Full load comes last, off the stands, and never for an exhaust that is choked already.
func TestAChokedExhaustIsSparedFullLoad(t *testing.T) {
	for raised, want := range map[string][]string{"55, 2500": {"spared"}, "8, 2500": {"on-rollers", "load-run"}} {
		once := []string{"2, 850", "3, 1500", "5, 2000", raised, "?"}
		s := &series{tester: tester{"displacement": "1998 cc", "gauge": "100 kPa by 1 kPa", "loaded": "yes", "back-load": "24, 6000"},
			inTurn: map[string][]string{"back": append(once, once...)}}
		s.through(t, "back-pressure")
		var went []string
		for _, id := range s.asked {
			if slices.Contains([]string{"spared", "on-rollers", "load-run"}, id) && !slices.Contains(went, id) {
				went = append(went, id)
			}
		}
		if !slices.Equal(went, want) {
			t.Errorf("with %s it goes by %v, want %v", raised, went, want)
		}
	}
}

func TestBackPressureIsReadable(t *testing.T) {
	screens(t, "back-pressure", map[string]string{"displacement": "1998 cc", "gauge": "100 kPa by 2 kPa", "loaded": "yes", "back": "4, 2500", "back-load": "24, 6000"})
}
