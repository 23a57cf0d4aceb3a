package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"dropwalk/cmd/internal/lesson"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// practiceWatch shows how a careful tester who follows the program's advice takes a
// car through the test: a worked example.
func (a *app) practiceWatch(o practiceOptions) error {
	made, err := a.chooseCar(o)
	if err != nil {
		return err
	}
	made.level = lesson.Coached
	at, err := made.bench()
	if err != nil {
		return err
	}
	p, err := a.findProcedure(o.procedure, quantity.AsTyped)
	if err != nil {
		return err
	}
	ctx, stop := untilSignal()
	defer stop()
	w := &watcher{app: a}
	w.lines, w.keys = terminal.NewTyped(a.Streams, w), terminal.NewLines(a.Streams)
	w.lines.Say(opening(at, made))
	w.lines.Say(session.Message{Lines: []string{"You watch. The answers are those of a careful tester who follows the program's advice; the coach says why."}})
	if a.InTTY {
		w.lines.Say(session.Message{Lines: []string{watchKeys}})
	}
	run, err := lesson.Play(ctx, p, at, w.through)
	switch {
	case errors.Is(err, session.ErrPause), errors.Is(err, context.Canceled):
		return nil
	case err != nil:
		return err
	}
	return a.showDebrief(lesson.Debriefed(at, at, lesson.Judge(run), made.seed), practiceOptions{})
}

// watchKeys says how to go through a worked example.
const watchKeys = "Enter shows the next screen, part goes on to the next part, all to the end, leave stops watching."

// watcher shows a player's prompts and answers as if somebody typed.
type watcher struct {
	*app
	lines, keys *terminal.Lines
	player      *lesson.Player
	text        string // what is typed next
	part        int    // of the procedure, now
	past        int    // shows without waiting until this part is over; -1: to the end
}

func (w *watcher) through(p *lesson.Player) session.Asker {
	w.player = p
	return w
}

// Say implements session.Asker.
func (w *watcher) Say(m session.Message) { w.lines.Say(m) }

// Ask implements session.Asker: the player decides, the terminal shows it and
// understands it as it would a person.
func (w *watcher) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	answer, err := w.player.Ask(ctx, p, refused)
	if err != nil {
		return answer, err
	}
	w.text, w.part = lesson.Line(answer), p.Place.PartNo
	return w.lines.Ask(ctx, p, refused)
}

// Line implements terminal.Typist.
func (w *watcher) Line(ctx context.Context, _ []string) (string, error) {
	fmt.Fprintf(w.Err, "> %s\n", w.text)
	if !w.InTTY || w.past < 0 || w.part == w.past {
		return w.text, nil
	}
	w.past = 0
	for {
		typed, err := w.keys.Line(ctx, nil)
		if err != nil {
			return "", err
		}
		switch strings.ToLower(strings.TrimSpace(typed)) {
		case "":
		case "part":
			w.past = w.part
		case "all":
			w.past = -1
		case "leave", "stop", "pause", "q":
			return "", context.Canceled
		default:
			w.lines.Say(session.Message{Lines: []string{watchKeys}})
			continue
		}
		return w.text, nil
	}
}
