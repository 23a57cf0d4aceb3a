package lesson

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/advice/practice"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/prose"
	"dropwalk/engine/subject"
)

// pupil is a careful player who does some things otherwise, by step, each once.
type pupil struct {
	*Player
	odd   map[string][]engine.Answer
	heard []session.Message
	shown []engine.Prompt
}

func (p *pupil) Say(m session.Message) { p.heard = append(p.heard, m) }

func (p *pupil) Ask(ctx context.Context, q engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	p.shown = append(p.shown, q)
	if list := p.odd[q.Step]; len(list) > 0 {
		p.odd[q.Step] = list[1:]
		return list[0], nil
	}
	return p.Player.Ask(ctx, q, refused)
}

// told is everything that was said, as one text.
func (p *pupil) told() string {
	var b strings.Builder
	for _, m := range p.heard {
		b.WriteString(m.Title + " " + strings.Join(m.Lines, " ") + "\n")
	}
	return b.String()
}

// class takes a pupil through a car and returns the debrief.
func class(t *testing.T, car string, level int, odd map[string][]engine.Answer) (*pupil, *Debrief, *Bench) {
	t.Helper()
	c, err := practice.Find(car)
	if err != nil {
		t.Fatal(err)
	}
	b := New(c.Bench(1), level)
	var p *pupil
	run, err := Play(context.Background(), loadIntake(t), b, func(player *Player) session.Asker {
		p = &pupil{Player: player, odd: maps.Clone(odd)}
		return p
	})
	if err != nil {
		t.Fatalf("%s: %v", car, err)
	}
	return p, Debriefed(b, b, Judge(run), 0), b
}

func typed(text string) []engine.Answer { return repeated(text, 1) }

func repeated(text string, n int) []engine.Answer {
	return slices.Repeat([]engine.Answer{{Text: text}}, n)
}

func points(t *testing.T, d *Debrief, part string) Points {
	t.Helper()
	for _, p := range d.Points {
		if p.Part == part {
			return p
		}
	}
	t.Fatalf("no part of the score is called %q", part)
	return Points{}
}

// Pebble is sound. A pupil who writes down half the reading is told at level 1,
// and who names the filter with much conviction loses for it.
func TestAWrongNumberAndAWrongClaim(t *testing.T) {
	p, d, _ := class(t, "pebble", Coached, map[string][]engine.Answer{
		"value": typed("1.5 inH2O at 6000"), adviceStep: typed("filter, 95 %"),
	})
	if !strings.Contains(p.told(), "You wrote 1.5 inH2O") {
		t.Errorf("the coach doesn't name the wrong reading: %s", p.told())
	}
	if got := points(t, d, "the right piece"); got.Got != 0 {
		t.Errorf("a wrong piece brings %+v", got)
	}
	if got := points(t, d, "how sure you were"); got.Got != 1 {
		t.Errorf("95 %% sure and wrong brings %d points, want 10 times 1 - 0.95 squared", got.Got)
	}
	if page := d.Page(0); !strings.Contains(page, "claim beyond the data") || !strings.Contains(page, "leave the car alone") {
		t.Errorf("the debrief lacks the claim or the truth:\n%s", page)
	}
	if d.Guess == nil || d.Guess.Chance == nil || *d.Guess.Chance > 0.6 || !d.Guess.Beyond() {
		t.Errorf("the guess is %+v, want one far beyond what the readings give", d.Guess)
	}
	if len(d.Answer) != 0 || d.Guess == nil || d.Guess.Right {
		t.Errorf("answer %v, guess %+v", d.Answer, d.Guess)
	}
}

// At level 4 nobody comments, and pages of the program's judgement stay closed
// until the guess. At level 1 they are open.
func TestTheLevelDecidesWhatIsSaid(t *testing.T) {
	for level := Coached; level <= Silent; level++ {
		p, _, _ := class(t, "pebble", level, map[string][]engine.Answer{"value": typed("1 inH2O at 6000")})
		coach := 0
		for _, m := range p.heard {
			if m.Title == "Coach:" {
				coach++
			}
		}
		if spoke := coach > 0; spoke != (level <= Mistakes) {
			t.Errorf("level %d: the coach spoke %d times", level, coach)
		}
		if level == Mistakes && coach > 4 {
			t.Errorf("level 2: the coach spoke %d times of one mistake", coach)
		}
		kept, open, hints := 0, 0, 0
		for _, q := range p.shown {
			switch {
			case q.Kind == engine.Show && q.Page == keptBack:
				kept++
			case q.Kind == engine.Show:
				open++
			}
			if strings.Contains(q.Why, "Hint: ") {
				hints++
			}
		}
		if (kept > 0) != (level >= Hinted) || open == 0 {
			t.Errorf("level %d: %d pages kept back, %d open", level, kept, open)
		}
		if (hints > 0) != (level == Hinted) {
			t.Errorf("level %d: %d hints", level, hints)
		}
	}
}

// The guess comes before the advice, whatever else is typed there.
func TestTheGuessComesFirst(t *testing.T) {
	p, d, _ := class(t, "biscuit", Silent, map[string][]engine.Answer{
		adviceStep: {{Text: "filter"}, {Text: "fliter, 80 %"}, {Move: engine.Note, Text: "card"}, {Text: "filter, 120 %"}, {Text: "Filter, 80 %"}},
	})
	asked := 0
	for _, q := range p.shown {
		switch {
		case q.Step == adviceStep && q.Kind == engine.Ask:
			asked++
		case q.Step == adviceStep && asked < 5:
			t.Errorf("the advice shows after %d answers", asked)
		}
	}
	if asked != 5 {
		t.Errorf("the guess was asked for %d times, want 5", asked)
	}
	if d.Guess == nil || d.Guess.Piece == nil || *d.Guess.Piece != "filter" || d.Guess.Sure != 0.8 {
		t.Errorf("the guess is %+v", d.Guess)
	}
}

// Each fault of the setup can be passed over, and then it is missed; and it can be
// put right late, by its word.
func TestSetupFaultsAreMissedOrMended(t *testing.T) {
	done := engine.Answer{Text: "done"}
	for _, c := range []struct {
		car, word string
		over      map[string][]engine.Answer // what passes it over
	}{
		{"radish", "fitting", map[string][]engine.Answer{"fitting": {done}}},
		{"saddlebag", "fitting", map[string][]engine.Answer{"fitting": {done}}},
		{"toffee", "labels", map[string][]engine.Answer{"connect": {done}}},
		{"quilt", "zero", map[string][]engine.Answer{"zero": repeated("0", 9), "zero-after": repeated("0", 9)}},
		{"onion", "hose", map[string][]engine.Answer{"leak-numbers": typed("12 inH2O, 12 inH2O, 30")}},
	} {
		t.Run(c.car, func(t *testing.T) {
			t.Parallel()
			_, d, _ := class(t, c.car, Silent, c.over)
			if d.Setup.Fault == "" || !d.Setup.Met || d.Setup.Fixed && !d.Setup.Late {
				t.Errorf("%s: passed over, the setup is %+v", c.car, d.Setup)
			}
			late := maps.Clone(c.over)
			late["closed-hold"] = []engine.Answer{{Move: engine.Note, Text: "mend " + c.word}}
			_, d, _ = class(t, c.car, Silent, late)
			if !d.Setup.Fixed {
				t.Errorf("%s: mend %s does not help: %+v", c.car, c.word, d.Setup)
			}
			if d.Setup.Loose != 0 {
				t.Errorf("%s: mend %s counts as needless", c.car, c.word)
			}
		})
	}
}

// To mend what is sound helps nothing and costs a little.
func TestNeedlessMending(t *testing.T) {
	_, d, _ := class(t, "pebble", Silent, map[string][]engine.Answer{
		"zero": {{Move: engine.Note, Text: "mend hose"}, {Move: engine.Note, Text: "mend paint"}},
	})
	if d.Setup.Loose != 1 {
		t.Errorf("%d needless repairs, want 1: paint is nothing to mend", d.Setup.Loose)
	}
	if got := points(t, d, "gauge, hose and driver").Got; got != forSetup-offNeedless {
		t.Errorf("the setup brings %d points, want %d", got, forSetup-offNeedless)
	}
}

// Who says ready at every hold is told what was there to be seen.
func TestHastyHolds(t *testing.T) {
	all := map[string][]engine.Answer{}
	for _, x := range theThings().amiss {
		all[x.at] = []engine.Answer{{Text: "ready"}, {Text: "ready"}, {Text: "ready"}, {Text: "ready"}, {Text: "ready"}, {Text: "ready"}, {Text: "ready"}, {Text: "ready"}, {Text: "ready"}}
	}
	for _, step := range []string{"hose", "gauge-fixed", "other-port", "drill", "idle"} {
		all[step] = []engine.Answer{{Text: "done"}, {Text: "done"}, {Text: "done"}, {Text: "done"}}
	}
	_, d, _ := class(t, "turnip", Silent, all)
	missed := 0
	for _, f := range d.Findings {
		if f.Topic == aboutHold && !f.Good {
			missed++
		}
	}
	if missed != 2 {
		t.Errorf("%d things passed in haste, want the 2 of this level: %v", missed, d.Findings)
	}
	if got := points(t, d, "holds and what was left out").Got; got != forSafety-2*offHold {
		t.Errorf("the holds bring %d points", got)
	}
}

// A record brings the bench back: at each place of a practice a new bench that is
// fed with the events so far shows the same.
func TestTheBenchComesBackFromItsEvents(t *testing.T) {
	c, _ := practice.Find("magpie")
	b := New(c.Bench(1), Silent)
	var events []engine.Event
	run := engine.NewRun(loadIntake(t), &advice.Matter{})
	player := &Player{Bench: b, Run: run}
	compared := 0
	inner := watching{player, func(p engine.Prompt) {
		again := New(c.Bench(1), Silent)
		for _, e := range events {
			again.Apply(e)
		}
		compared++
		if d := cmp.Diff(again.See(p), b.See(p), cmp.AllowUnexported(practice.Gauge{})); d != "" {
			t.Fatalf("at %s:\n%s", p.Slot, d)
		}
	}}
	asker := &Asker{Bench: b, Inner: inner}
	keep := storeFunc(func(_ string, body any) error { events = append(events, session.EventIn(body)); return nil })
	s := &session.Session{Run: run, Store: &Store{Store: keep, Asker: asker}, Asker: asker}
	if err := s.Begin(nil); err != nil {
		t.Fatal(err)
	}
	if err := s.Drive(context.Background()); err != nil {
		t.Fatal(err)
	}
	if compared < 60 {
		t.Errorf("compared at %d prompts only", compared)
	}
}

type watching struct {
	session.Asker
	see func(engine.Prompt)
}

func (w watching) Ask(ctx context.Context, p engine.Prompt, r *subject.Refusal) (engine.Answer, error) {
	w.see(p)
	return w.Asker.Ask(ctx, p, r)
}

type storeFunc func(string, any) error

func (f storeFunc) Append(kind string, body any) error { return f(kind, body) }

// What can be amiss belongs to a step of the procedure and to one of its lines;
// what is calm and what the card answers belong to steps.
func TestThingsBelongToSteps(t *testing.T) {
	steps := map[string]*engine.Step{}
	for s := range loadIntake(t).Steps() {
		steps[s.ID] = s
	}
	for _, x := range theThings().amiss {
		s := steps[x.at]
		if s == nil {
			t.Errorf("no step is called %s", x.at)
			continue
		}
		if x.lineOf(append(slices.Clone(s.Lines), s.See)) == 0 {
			t.Errorf("%s: no line says %q", x.at, x.line)
		}
		if theThings().calm[x.at] == "" {
			t.Errorf("%s: nothing is seen there where all is well, so that whatever is seen gives it away", x.at)
		}
	}
	for step := range theThings().calm {
		if steps[step] == nil {
			t.Errorf("no step is called %s", step)
		}
	}
	for _, c := range carded {
		if steps[c.step] == nil {
			t.Errorf("the card answers %s, which is no step", c.step)
		}
	}
	for _, step := range append(slices.Clone(sized), "zero", "zero-after", "leak-check", "leak-numbers", "connect", "fitting", "drill", "run", "value", adviceStep) {
		if steps[step] == nil {
			t.Errorf("no step is called %s", step)
		}
	}
}

// Stories, truths and what is seen read easily: grade 8 at most, each file on its own.
func TestTextsReadEasily(t *testing.T) {
	var stories, debriefs, seen prose.Counts
	for _, c := range practice.Cars() {
		stories.Count(prose.Sentences(c.Story))
		debriefs.Count(prose.Sentences(c.Debrief))
	}
	for _, x := range theThings().amiss {
		seen.Count(prose.Sentences(x.seen + " " + x.then))
	}
	for name, counts := range map[string]prose.Counts{"stories": stories, "debriefs": debriefs, "things": seen} {
		t.Logf("%s: grade %.1f", name, counts.Grade())
		if counts.Grade() > 8 {
			t.Errorf("%s have grade %.1f, want 8 at most", name, counts.Grade())
		}
	}
}

func TestReadThingsNamesTheFault(t *testing.T) {
	src := strings.Replace(string(thingsFile), "\n  then:", "\n  than:", 1)
	if _, err := readThings("things.yaml", []byte(src)); err == nil || !strings.Contains(err.Error(), "things.yaml:") {
		t.Errorf("a slip in the file gives %v, want its line", err)
	}
}

// A dial is told as an eye finds it, and drawn within 40 columns.
func TestDial(t *testing.T) {
	g := practice.Gauge{Unit: "inH2O", Range: 25, Division: 0.5}
	for _, c := range []struct {
		n     practice.Needle
		words string
		drawn string // the line of the needle
	}{
		{practice.Needle{Low: 12.5, High: 12.5}, "The needle stands on 12.5.", "                  ^"},
		{practice.Needle{Low: 12.75, High: 12.75}, "The needle stands midway between 12.5 and 13.", "                      ^"},
		{practice.Needle{Low: 12.6, High: 12.6}, "The needle stands a little past 12.5.", "                    ^"},
		{practice.Needle{Low: 12.92, High: 12.92}, "The needle stands just short of 13.", "                         ^"},
		{practice.Needle{Low: 12, High: 13}, "The needle swings: at one end it is on 12, at the other on 13.", "          ^^^^^^^^^^^^^^^^^"},
		{practice.Needle{Low: 25, High: 25, Stop: true}, "The needle lies against its stop, past 25.", "                           ^ stop"},
		{practice.Needle{Unreadable: true}, "The needle flutters too fast to be read.", ""},
		{practice.Needle{Low: -0.5, High: -0.5}, "The needle stands on -0.5.", "          ^"},
	} {
		c.n.Gauge = g
		if got := dialWords(c.n); got != c.words {
			t.Errorf("told as %q, want %q", got, c.words)
		}
		rows := dial(c.n)
		if len(rows) == 0 != (c.drawn == "") {
			t.Fatalf("%s drawn as %q", c.words, rows)
		}
		for _, row := range rows {
			if len(row) > 40 {
				t.Errorf("%s: %d columns: %q", c.words, len(row), row)
			}
		}
		if len(rows) > 0 && rows[2] != c.drawn {
			t.Errorf("%s drawn as\n%s\nwant the needle at\n%s", c.words, strings.Join(rows, "\n"), c.drawn)
		}
	}
}

// The needle of a dial that is drawn stands where its marks say.
func TestDialPointsAtItsMarks(t *testing.T) {
	for _, g := range []practice.Gauge{{Unit: "inH2O", Range: 25, Division: 0.5}, {Unit: "kPa", Range: 6, Division: 0.1}, {Unit: "mbar", Range: 60, Division: 1}, {Unit: "inH2O", Range: 5, Division: 0.1}} {
		for k := range int(g.Range/g.Division) - 1 {
			v := float64(k+1) * g.Division
			rows := dial(practice.Needle{Gauge: g, Low: v, High: v})
			at := strings.Index(rows[2], "^")
			if at >= len(rows[1]) || rows[1][at] != '|' {
				t.Fatalf("%g %s: the needle stands at no mark:\n%s", v, g.Unit, strings.Join(rows, "\n"))
			}
			if number := g.Number(v); !strings.HasPrefix(rows[0][at:], number) {
				t.Fatalf("%g %s: the number %q is not above the needle:\n%s", v, g.Unit, number, strings.Join(rows, "\n"))
			}
		}
	}
}

func TestPlacesFindTheLearnersPieces(t *testing.T) {
	c, _ := practice.Find("onion") // mouth, snorkel, box-in, filter, box-out, meter, tube, tube-2
	for _, x := range []struct {
		typed string
		want  map[string]int
	}{
		{pathText(c.Car), map[string]int{"mouth": 0, "snorkel": 1, "box-in": 2, "filter": 3, "tube-2": 7}},
		{"mouth, duct, filter, duct", map[string]int{"mouth": 0, "duct": 1, "filter": 3, "duct-2": 6}},
		{"mouth, screen, duct, box-entry, filter", map[string]int{"screen": missing, "duct": 1, "box-entry": 2, "filter": 3}},
	} {
		got := places(advice.Pieces(x.typed), c.Car)
		for name, want := range x.want {
			if got[name] != want {
				t.Errorf("%s: %s is found at %d, want %d", x.typed, name, got[name], want)
			}
		}
	}
}

func ExampleGuess_String() {
	g, _ := readGuess("none 80", nil)
	fmt.Println(g)
	// Output: none, 80 %
}
