package lesson

import (
	"context"
	"fmt"
	"math"
	"strings"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Player is a session.Asker that goes through a practice as a careful tester who
// follows the program's advice does. It knows what stands on the screen and
// nothing else.
type Player struct {
	Bench *Bench
	Run   *engine.Run

	asked map[string]int // how often a slot was asked about
}

// mostTries bounds the answers at one place: a player that is refused again and
// again would never end.
const mostTries = 8

// Say implements session.Asker.
func (pl *Player) Say(session.Message) {}

// Ask implements session.Asker.
func (pl *Player) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	if ctx.Err() != nil {
		return engine.Answer{}, context.Cause(ctx)
	}
	if pl.asked == nil {
		pl.asked = map[string]int{}
	}
	if pl.asked[p.Slot]++; pl.asked[p.Slot] > mostTries {
		return engine.Answer{}, fmt.Errorf("%s: no answer is taken: %v", p.Slot, refused)
	}
	return pl.answer(p, refused), nil
}

func (pl *Player) answer(p engine.Prompt, refused *subject.Refusal) engine.Answer {
	seen := pl.Bench.See(p)
	switch {
	case refused != nil && refused.Doubt != nil:
		return engine.Answer{Text: refused.Doubt.Keep}
	case refused != nil && len(refused.Choices) > 0:
		return engine.Answer{Text: refused.Choices[0]}
	case p.Kind == engine.Hold && seen.Line > 0:
		return engine.Answer{Text: fmt.Sprint(seen.Line)}
	case p.Kind == engine.Hold:
		return engine.Answer{Text: "ready"}
	case p.Kind == engine.Do && seen.Amiss != "":
		return engine.Answer{Move: engine.Cannot, Why: seen.Amiss}
	case p.Kind == engine.Do, p.Kind == engine.Owed:
		return engine.Answer{Text: "done"}
	case p.Kind != engine.Ask:
		return engine.Answer{}
	case p.Step == adviceStep:
		return engine.Answer{Text: pl.guess().String()}
	}
	return pl.question(p, seen)
}

// question answers an ask from what is seen.
func (pl *Player) question(p engine.Prompt, seen Seen) engine.Answer {
	first := pl.asked[p.Slot] == 1
	switch {
	case seen.Needle != nil && (p.Step == "zero" || p.Step == "zero-after") && first && math.Abs(seen.Needle.Value()) > seen.Needle.Gauge.Division:
		return engine.Answer{Move: engine.Note, Text: mendNote + "zero"}
	case p.Step == "value" && seen.Amiss != "" && first:
		return engine.Answer{Move: engine.Note, Text: mendNote + "driver"}
	case p.Step == "value" && seen.Amiss != "" && seen.Offer != "?":
		return engine.Answer{Text: seen.Offer + ", doubtful: " + seen.Amiss}
	case seen.Offer == "":
		return engine.Answer{Text: "?"}
	}
	return engine.Answer{Text: seen.Offer}
}

// guess is what the program would change, from the readings so far.
func (pl *Player) guess() *Guess { return guessOf(Judge(pl.Run)) }

// Judge is what the program makes of a run as it stands, nil where it makes no
// sheet yet.
func Judge(run *engine.Run) *assessment.Assessment {
	s, faults := sheet.FromEntries(advice.SheetEntries(run.Entries()))
	if faults.Err() != nil {
		return nil
	}
	return advice.Assess(s, advice.Options{})
}

// certain is how sure the program counts as where it says to leave the path alone:
// it says so from nine chances in ten.
const certain = 0.9

// guessOf is an assessment as a learner would put it.
func guessOf(a *assessment.Assessment) *Guess {
	switch {
	case a == nil, a.Verdict != assessment.LeaveAlone && a.BestGuess == nil:
		return &Guess{}
	case a.Verdict == assessment.LeaveAlone:
		return &Guess{Known: true, Sure: certain}
	}
	return &Guess{Piece: *a.BestGuess, Known: true, Sure: math.Round(100*chanceOf(a, *a.BestGuess)) / 100}
}

// chanceOf is the chance that a piece is the one to change, with the neighbours
// that no tap parts from it.
func chanceOf(a *assessment.Assessment, piece string) float64 {
	group := []string{piece}
	for _, g := range a.Together {
		for _, name := range g {
			if name == piece {
				group = g
			}
		}
	}
	sum := 0.0
	for _, c := range a.Components {
		for _, name := range group {
			if c.Name == name {
				sum += c.ChanceFirst
			}
		}
	}
	if a.Verdict == assessment.LeaveAlone {
		sum *= 1 - certain // it would have to be worth its work first
	}
	return math.Min(1, sum)
}

// memory is a store that keeps nothing.
type memory struct{}

func (memory) Append(string, any) error { return nil }

// Play takes a careful player through a procedure at a bench that is new, and
// returns the run at its end. Through, where it isn't nil, stands between the bench
// and the player: it shows what is asked and answered.
func Play(ctx context.Context, p *engine.Procedure, b *Bench, through func(*Player) session.Asker) (*engine.Run, error) {
	run := engine.NewRun(p, &advice.Matter{Units: quantity.AsTyped})
	player := &Player{Bench: b, Run: run}
	var inner session.Asker = player
	if through != nil {
		inner = through(player)
	}
	asker := &Asker{Bench: b, Inner: inner}
	s := &session.Session{Run: run, Store: &Store{Store: memory{}, Asker: asker}, Asker: asker}
	if err := s.Begin(nil); err != nil {
		return run, err
	}
	return run, s.Drive(ctx)
}

// Line is an answer as it is typed at a prompt.
func Line(a engine.Answer) string {
	switch a.Move {
	case engine.Answering, engine.Note:
		return a.Text
	}
	return strings.TrimSpace(string(a.Move) + " " + a.Text + a.Why)
}
