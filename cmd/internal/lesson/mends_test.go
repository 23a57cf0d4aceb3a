package lesson

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice/assessment"
	"dropwalk/advice/practice"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// goesBack is a careful player who goes back twice from the second run of a round.
type goesBack struct {
	*Player
	b     *Bench
	backs int
	seen  map[string][]string // what stood above the question for a reading, by slot
}

func (g *goesBack) Say(session.Message) {}

func (g *goesBack) Ask(ctx context.Context, q engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	if q.Step == "value" {
		g.seen[q.Slot] = append(g.seen[q.Slot], strings.Join(g.b.See(q).Lines, " "))
		if g.backs == 2 {
			return engine.Answer{}, session.ErrPause // enough was seen
		}
	}
	second := strings.HasSuffix(q.Slot, "/runs.2/value")
	if g.backs == 0 && second || g.backs == 1 && strings.HasSuffix(q.Slot, "/runs.2/run") {
		g.backs++
		return engine.Answer{Move: engine.Back}, nil
	}
	return g.Player.Ask(ctx, q, refused)
}

// Whoever goes back to the reading of an earlier run sees the dial of that run.
func TestGoingBackShowsTheDialOfThatRun(t *testing.T) {
	c, err := practice.Find("biscuit")
	if err != nil {
		t.Fatal(err)
	}
	b := New(c.Bench(1), Coached)
	var g *goesBack
	if _, err := Play(t.Context(), loadIntake(t), b, func(p *Player) session.Asker {
		g = &goesBack{p, b, 0, map[string][]string{}}
		return g
	}); !errors.Is(err, session.ErrPause) {
		t.Fatal(err)
	}
	again := 0
	for slot, seen := range g.seen {
		if len(seen) > 1 {
			again++
		}
		if strings.HasSuffix(slot, "/runs.1/value") && len(slices.Compact(slices.Clone(seen))) > 1 {
			t.Errorf("%s: the dial of one run is told in several ways:\n%s", slot, strings.Join(seen, "\n"))
		}
	}
	if g.backs != 2 || again < 1 {
		t.Fatalf("went back %d times and saw %d readings again", g.backs, again)
	}
}

// A gauge that is typed without its marks isn't praised for them, and a reading
// without its engine speed is told what is taken for it.
func TestTheCoachNamesWhatWasLeftOut(t *testing.T) {
	p, _, b := class(t, "biscuit", Coached, map[string][]engine.Answer{"gauge": typed("6 kPa")})
	if told := p.told(); strings.Contains(told, "read to half a division") || !strings.Contains(told, "how far apart its marks are") {
		t.Errorf("of a gauge without its division the coach says: %s", told)
	}
	run := &practice.Pull{Needle: practice.Needle{Gauge: b.Sim.Gauge(), Low: 2.45, High: 2.45}, RPM: b.Sim.Aimed() + 50, Foot: true}
	b.driven["walk.9/runs.1"] = run
	b.read(engine.Event{Slot: "walk.9/runs.1/value"}, "2.45 kPa", "", "")
	last := b.found[len(b.found)-1]
	if !last.Good || !strings.Contains(last.Text, "You typed no engine speed") {
		t.Errorf("of a reading without its speed the coach says %+v", last)
	}
	b.read(engine.Event{Slot: "walk.9/runs.1/value"}, "2.45 kPa", "5750 rpm", "")
	if last := b.found[len(b.found)-1]; strings.Contains(last.Text, "no engine speed") {
		t.Errorf("of a reading with its speed the coach says %+v", last)
	}
}

// What is seen along the path agrees with the card, which has no room at a meter.
func TestTheLookAlongThePathAgreesWithTheCard(t *testing.T) {
	c, err := practice.Find("quilt")
	if err != nil {
		t.Fatal(err)
	}
	b := New(c.Bench(1), Coached)
	b.Apply(engine.Event{Kind: engine.Answered, Step: "pieces", Unknown: true})
	got := strings.Join(b.See(engine.Prompt{Kind: engine.Ask, Step: "no-tap"}).Lines, " ")
	if !strings.Contains(got, "At mouth and meter nobody makes a tap.") || strings.Contains(got, "tap everywhere.") {
		t.Errorf("seen: %q", got)
	}
}

// A truth outside its interval is said to happen once in ten; within, nothing is said.
func TestATruthOutsideIsExplained(t *testing.T) {
	within := Piece{Name: "snorkel", Loss: 500, Judged: &assessment.Estimate{Low: 400, High: 600}}
	outside := Piece{Name: "filter", Loss: 1500, Judged: &assessment.Estimate{Low: 520, High: 1450}}
	for _, c := range []struct {
		pieces []Piece
		want   string
	}{{[]Piece{within, {Name: "duct", Loss: 3}}, ""}, {[]Piece{within, outside}, "outside for: filter. Of ten pieces"}} {
		page := (&Debrief{Pieces: c.pieces}).pieceTable(quantity.AsTyped)
		if c.want == "" && strings.Contains(page, "outside for") || !strings.Contains(page, c.want) {
			t.Errorf("the table says\n%s\nwant %q", page, c.want)
		}
	}
}

// A dial with its unit fits 40 columns whatever its swing.
func TestDialFitsANarrowScreen(t *testing.T) {
	for _, g := range []practice.Gauge{{Unit: "kPa", Range: 6, Division: 0.1}, {Unit: "inH2O", Range: 25, Division: 0.5}, {Unit: "mbar", Range: 60, Division: 1}} {
		for swing := range 15 {
			rows := dial(practice.Needle{Gauge: g, Low: 10 * g.Division, High: float64(10+swing) * g.Division})
			for _, row := range rows {
				if len(row) > 40 {
					t.Errorf("%s, swing of %d marks: %d columns: %q", g.Unit, swing, len(row), row)
				}
			}
			if !strings.HasSuffix(rows[0], " "+g.Unit) {
				t.Errorf("no unit behind %q", rows[0])
			}
		}
	}
}
