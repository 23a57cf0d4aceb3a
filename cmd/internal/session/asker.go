package session

import (
	"context"
	"errors"

	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// Asker puts prompts to a person and brings back what that person does. It
// decides nothing: whether an answer will do is for the engine.
type Asker interface {
	// Ask shows p and waits for one answer. Where refused is not nil the last
	// answer to p could not be taken: Ask says why, offers the choices that
	// refused carries, and asks p again.
	//
	// It returns ErrPause where the person pauses or input ends, and the cause
	// of ctx where ctx is done. Help never leaves the asker.
	Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error)

	// Say shows a message between prompts.
	Say(Message)
}

// Viewer is an asker that can show prompts in brief, steps that follow one another
// as one list.
type Viewer interface{ Brief() bool }

// ErrView is returned by an Asker when the person wants prompts shown in another
// way: the same prompt is due, as that way has it.
var ErrView = errors.New("another view")

// Message is something to show that awaits no answer.
type Message struct {
	Title string   // "" for a plain remark
	Lines []string // numbered where Steps is set
	Steps bool     // Lines are to be done, in this order
	Hide  bool     // what stands above should be out of sight, where that can be had
	Drawn []string // shown below Lines, character by character as they are
}

// ErrPause is returned by an Asker when the person leaves for now. Everything
// that was answered is saved by then.
var ErrPause = errors.New("paused")

// Decider is an asker that knows of a round that was chosen whether it was gone
// through: the work is over already. It returns the event as it is to be recorded.
type Decider interface {
	Decide(engine.Event) engine.Event
}
