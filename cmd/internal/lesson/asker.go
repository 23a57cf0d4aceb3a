package lesson

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// Asker puts prompts to a learner with what there is to see at the car, and
// coaches. It is a session.Asker around another one, which asks.
type Asker struct {
	Bench *Bench
	Inner session.Asker
	Draw  bool // dials are drawn beside being told in words

	Guess string // what stands in for the learner's guess where answers come from a file; "" asks

	remarks []string // of the coach, until the next prompt
	noted   bool     // what the session says of the last answer goes without saying
	asking  engine.Kind
}

// Words that a learner has beside those of a real test.
const (
	cardWord = "card"
	lookWord = "look"
	mendWord = "mend"
)

// Words lists them.
func Words() []engine.Word {
	return []engine.Word{
		{Word: lookWord, Does: "look once more at what is to be seen here"},
		{Word: cardWord, Does: "read the card of the car"},
		{Word: mendWord, With: "WHAT", Does: "put one thing right: " + strings.Join(Mendable(), ", ")},
	}
}

// Say implements session.Asker. Of a word that a record keeps as a note nobody needs
// to hear that it is kept.
func (a *Asker) Say(m session.Message) {
	if noted := a.noted; noted {
		if a.noted = false; m.Title == "" && len(m.Lines) == 1 {
			return
		}
	}
	a.Inner.Say(m)
}

// Ask implements session.Asker.
func (a *Asker) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	a.noted, a.asking = false, p.Kind
	if len(a.remarks) > 0 {
		a.Inner.Say(session.Message{Title: "Coach:", Lines: a.remarks})
		a.remarks = nil
	}
	if a.wantsGuess(p) {
		return a.askGuess(ctx, p)
	}
	p = a.dressed(p)
	if refused == nil {
		a.look(p)
	}
	for {
		answer, err := a.Inner.Ask(ctx, p, refused)
		if err != nil || answer.Move != engine.Note {
			return answer, err
		}
		word, what, _ := strings.Cut(answer.Text, " ")
		switch {
		case answer.Text == cardWord:
			a.Say(session.Message{Title: "The card:", Lines: a.Bench.Card()})
		case answer.Text == lookWord:
			a.look(p)
		case word == mendWord && !mendable(what):
			refused = &subject.Refusal{What: fmt.Sprintf("%q is nothing to mend", what), Expected: "mend and one of " + strings.Join(Mendable(), ", ")}
			continue
		case word == mendWord:
			a.Say(session.Message{Title: didMend(what)})
			a.noted = true
			return answer, nil
		default:
			return answer, nil
		}
		refused = nil
	}
}

func mendable(what string) bool { return didMend(what) != "" }

// didMend is what is done to mend a thing, "" where it is nothing to mend.
func didMend(what string) string {
	for _, m := range mends {
		if m.word == what {
			return m.did
		}
	}
	return ""
}

// dressed is a prompt with what belongs to practice.
func (a *Asker) dressed(p engine.Prompt) engine.Prompt {
	p.Words = Words()
	if a.Bench.Level >= Hinted && p.Kind == engine.Show && !a.Bench.closing(p.Step) {
		p.Page = keptBack
	}
	if s := a.Bench.See(p); a.Bench.Level <= Mistakes && p.Kind == engine.Ask && p.Previous == "" && a.Bench.onCard(p.Step) {
		if s.Offer != "?" && s.Offer != "" {
			p.Previous, p.Source = s.Offer, strings.ToLower(strings.TrimSuffix(a.Bench.title(p.Step), ":"))
		}
	}
	if a.Bench.Level == Hinted {
		if hint := a.Bench.hint(p); hint != "" {
			p.Why = strings.TrimSpace(p.Why + " Hint: " + hint)
		}
	}
	return p
}

// keptBack stands in for what the program makes of the readings.
const keptBack = "At this level the program keeps to itself what the readings mean, until you have said what you would change first.\n\n" +
	"Go through them yourself: which stretch of the path loses most, and how sure is that?"

// look shows what there is to see at p.
func (a *Asker) look(p engine.Prompt) {
	s, title := a.Bench.See(p), a.Bench.title(p.Step)
	switch {
	case len(s.Lines) == 0,
		p.Source == onCardTitle, // it stands in the prompt
		a.Bench.Level >= Hinted && p.Kind == engine.Ask && title == onTheCard: // the card is a word away
		return
	}
	m := session.Message{Title: title, Lines: s.Lines}
	if a.Draw && s.Needle != nil {
		m.Drawn = dial(*s.Needle)
	}
	a.Inner.Say(m)
}

// wantsGuess tells whether the learner has to say what to change before p is shown.
func (a *Asker) wantsGuess(p engine.Prompt) bool {
	return p.Kind == engine.Show && p.Step == adviceStep && a.Bench.guess == nil
}

// adviceStep is the page on which the program says what to change.
const adviceStep = "advice"

// closing tells whether a page is one that may be seen at every level.
func (b *Bench) closing(step string) bool { return step == adviceStep }

func (a *Asker) askGuess(ctx context.Context, p engine.Prompt) (engine.Answer, error) {
	q := engine.Prompt{
		Slot: p.Slot, Step: p.Step, Kind: engine.Ask, Place: p.Place, Car: p.Car, Words: Words(), Pictures: p.Pictures, Picture: p.Picture, Earlier: p.Earlier,
		Text:    "Before you read the advice: which piece would you change first, and how sure are you?",
		Like:    "filter, 70 %",
		Why:     "A guess that is written down can be compared with the truth. 100 is certain, 50 is heads or tails. none, 70 % leaves the car alone. Your pieces: " + strings.Join(a.Bench.names(), ", ") + ".",
		Unknown: "No guess, and no points for one.",
	}
	var refused *subject.Refusal
	for {
		answer, err := engine.Answer{Text: a.Guess}, error(nil)
		if a.Guess == "" {
			answer, err = a.Inner.Ask(ctx, q, refused)
		}
		if err != nil || answer.Move != engine.Answering {
			if answer.Text == cardWord && answer.Move == engine.Note {
				a.Say(session.Message{Title: "The card:", Lines: a.Bench.Card()})
				continue
			}
			return answer, err
		}
		g, err := readGuess(answer.Text, a.Bench.names())
		if r, ok := errors.AsType[*subject.Refusal](err); ok {
			if refused = r; a.Guess != "" {
				return answer, fmt.Errorf("--guess: %w", r)
			}
			continue
		}
		a.noted = true
		return engine.Answer{Move: engine.Note, Text: guessNote + g.String()}, nil
	}
}

// Store hands events on to another store and then to the bench, and has the coach
// speak.
type Store struct {
	session.Store
	Asker *Asker
	Run   *engine.Run
}

// Append implements session.Store.
func (s *Store) Append(kind string, body any) error {
	if err := s.Store.Append(kind, body); err != nil {
		return err
	}
	found := s.Asker.Bench.Apply(session.EventIn(body))
	s.Asker.coach(found)
	// What to do where a step can't be done is no news to whoever has just put right
	// what was in its way.
	right := slices.ContainsFunc(found, func(f Finding) bool { return f.Good && !f.plain })
	s.Asker.noted = s.Asker.noted || kind == engine.Refused && s.Asker.asking == engine.Do && right
	return nil
}

// coach keeps what the level lets it tell until the answer has been echoed.
func (a *Asker) coach(found []Finding) {
	for _, f := range found {
		if a.Bench.Level == Coached || a.Bench.Level == Mistakes && !f.Good {
			a.remarks = append(a.remarks, f.Text)
		}
	}
}
