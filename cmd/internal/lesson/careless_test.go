package lesson

import (
	"context"
	"fmt"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// careless is a learner in a hurry: ready and done without a look, whole numbers
// for readings, nought for zeros, the small gauge, and always the filter.
type careless struct {
	bench *Bench
	asked map[string]int
}

func (c *careless) Say(session.Message) {}

func (c *careless) Ask(_ context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	if c.asked[p.Slot]++; c.asked[p.Slot] > mostTries {
		return engine.Answer{}, fmt.Errorf("%s: no answer is taken: %v", p.Slot, refused)
	}
	switch {
	case refused != nil && refused.Doubt != nil:
		return engine.Answer{Text: refused.Doubt.Keep}, nil
	case refused != nil && len(refused.Choices) > 0:
		return engine.Answer{Text: refused.Choices[0]}, nil
	case p.Kind == engine.Hold:
		return engine.Answer{Text: "ready"}, nil
	case p.Kind == engine.Do, p.Kind == engine.Owed:
		if p.Skip != "" {
			return engine.Answer{Move: engine.Skip, Why: "no time"}, nil
		}
		return engine.Answer{Text: "done"}, nil
	case p.Kind != engine.Ask:
		return engine.Answer{}, nil
	}
	return engine.Answer{Text: c.answer(p)}, nil
}

func (c *careless) answer(p engine.Prompt) string {
	seen := c.bench.See(p)
	switch p.Step {
	case adviceStep:
		return "filter, 95 %"
	case "gauge":
		shelf := c.bench.Sim.Shelf()
		g := shelf[0]
		for _, other := range shelf {
			if other.Pascals(other.Range) < g.Pascals(g.Range) {
				g = other
			}
		}
		return g.Text()
	case "zero", "zero-after":
		return "0"
	case "leak-numbers":
		return "?"
	case "value":
		n := seen.Needle
		if n.Stop {
			return n.Text()
		}
		return fmt.Sprintf("%.0f", n.Low-1)
	case "place":
		if c.asked[p.Slot] > 1 {
			return "track" // the public road was refused
		}
		return seen.Offer
	case "displacement", "road-speed", "fuel", "induction":
		return seen.Offer
	}
	return "?"
}
