package prompts

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"syscall"

	"github.com/AlecAivazis/survey/v2"
	surveyterm "github.com/AlecAivazis/survey/v2/terminal"

	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// listed is how many rows of a list show at once.
const listed = 7

// mostTries is how often a line is asked for again after a fault of the prompt
// itself.
const mostTries = 3

// hint says how lines are completed, at the first prompt.
const hint = "Tab completes a line, or lists what can be typed; the arrows move through the list."

// The look of a line: nothing above it, a list below it. No colour.
func init() {
	survey.InputQuestionTemplate = `{{.Message}}
{{- if .PageEntries}}{{.Answer}}{{"\n"}}
{{- range $i, $choice := .PageEntries}}{{if eq $i $.SelectedIndex}} > {{else}}   {{end}}{{$choice.Value}}{{"\n"}}{{end}}
{{- end}}`
}

// Asker implements session.Asker on a terminal.
type Asker struct {
	lines  *terminal.Lines
	typist *typist
	hinted bool
}

// New returns an asker that reads keys from in, edits lines on err and shows
// texts on s.Err. It fails where in or err is no terminal; ask Usable first.
func New(in, err *os.File, s terminal.Streams) (*Asker, error) {
	if !terminal.IsTerminal(in) || !terminal.IsTerminal(err) {
		return nil, errors.New("prompts need a terminal to read from and one to write to")
	}
	t := &typist{in: in, out: err, keys: newKeyboard(in)}
	return &Asker{lines: terminal.NewTyped(s, t), typist: t}, nil
}

// Ask implements session.Asker. The text is set in the width that the terminal
// has now.
func (a *Asker) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	a.lines.Fit(terminal.Columns(a.typist.out))
	if !a.hinted {
		a.hinted = true
		a.lines.Say(session.Message{Lines: []string{hint}})
	}
	return a.lines.Ask(ctx, p, refused)
}

// Brief implements session.Viewer.
func (a *Asker) Brief() bool { return a.lines.Brief() }

// SetBrief has prompts shown in brief from now on, or with everything.
func (a *Asker) SetBrief(brief bool) { a.lines.SetBrief(brief) }

// Say implements session.Asker.
func (a *Asker) Say(m session.Message) {
	a.lines.Fit(terminal.Columns(a.typist.out))
	if m.Hide {
		fmt.Fprint(a.typist.out, "\x1b[2J\x1b[H")
	}
	a.lines.Say(m)
}

// typist implements terminal.Typist by way of the library.
type typist struct {
	in, out *os.File
	keys    *keyboard
	fault   func() // tests put a fault of the library here
}

// Line implements terminal.Typist.
func (t *typist) Line(ctx context.Context, completions []string) (string, error) {
	for tries := 1; ; tries++ {
		if ctx.Err() != nil {
			return "", context.Cause(ctx)
		}
		text, err := t.try(ctx, completions)
		switch {
		case err == nil:
			return text, nil
		case ctx.Err() != nil:
			return "", context.Cause(ctx)
		case errors.Is(err, syscall.EIO):
			return "", io.EOF
		case errors.Is(err, io.EOF), errors.Is(err, errInterrupted):
			return "", err
		case tries == mostTries:
			return "", fmt.Errorf("the prompt failed %d times: %w; plain lines (--plain) do without it", tries, err)
		}
	}
}

// try has the library read one line, in this goroutine. Whatever comes of it,
// the terminal is set as it was before.
func (t *typist) try(ctx context.Context, completions []string) (text string, err error) {
	restore, err := terminal.Keep(t.in)
	if err != nil {
		return "", err
	}
	c := newConsole(ctx, t.keys, t.in, t.out)
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("the prompt broke down: %v", fault)
		}
		if err == nil {
			c.close(text)
		} else {
			c.drop()
		}
		err = errors.Join(err, restore())
	}()
	c.room()
	t.keys.begin()
	input := &survey.Input{Message: prompt, Suggest: c.complete(completions)}
	input.WithStdio(surveyterm.Stdio{In: c, Out: screen{c}, Err: screen{c}})
	if t.fault != nil {
		t.fault()
	}
	// Prompt alone, without Ask: Ask would repaint the line at its end, and
	// climb over lines above it to do so.
	got, err := input.Prompt(&survey.PromptConfig{PageSize: listed, ShowCursor: true})
	text, _ = got.(string)
	return text, err
}
