package cli

import (
	"os"
	"runtime"

	"dropwalk/cmd/internal/prompts"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
)

// How a record calls answers, by the way in which they were typed.
const (
	linesAsker   = "lines"
	promptsAsker = "prompts"
)

// asker chooses how to ask: lines that can be edited where the terminal can do
// that and nobody wants otherwise, else plain lines. By is its name in a record.
// It is the same one each time, so that what was typed ahead isn't lost.
func (a *app) asker() (asker session.Asker, by string) {
	if a.asking == nil {
		asker, by := a.newAsker()
		a.asking = &asking{asker, by}
	}
	return a.asking.Asker, a.asking.by
}

// asking is the asker of a process.
type asking struct {
	session.Asker
	by string
}

// progress tells on a terminal what takes its time.
func (a *app) progress() *terminal.Progress {
	if _, real := a.In.(*os.File); !real || a.plain {
		return &terminal.Progress{}
	}
	return terminal.NewProgress(os.Stderr, a.env, runtime.GOOS)
}

func (a *app) newAsker() (asker session.Asker, by string) {
	in, ok := a.In.(*os.File)
	if ok && !a.plain && prompts.Usable(in, os.Stderr, a.env, runtime.GOOS) {
		if asker, err := prompts.New(in, os.Stderr, a.Streams); err == nil {
			return asker, promptsAsker
		}
	}
	return terminal.NewLines(a.Streams), linesAsker
}
