package terminal

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// longestLine is the most bytes of one answer that are read. A pasted file is
// not an answer.
const longestLine = 16 << 10

// prompt stands where the answer is typed.
const prompt = "> "

// Lines asks in plain lines: each prompt is written once, from top to bottom,
// and one line is read. Nothing is repainted, so it works on every terminal,
// through a pipe and with a screen reader.
type Lines struct {
	err   io.Writer
	width int
	draw  bool // pictures are drawn; else they are told in words
	brief bool // prompts are shown in brief
	echo  bool // write down what is read: no terminal does it
	read  func() (string, error)
	lines chan line
	typed Typist
}

// Typist brings the line that a person types at a prompt, and shows where it
// is typed. Completions are what the line may be completed to; none of them
// opens a hold. It returns io.EOF where nobody types any more, the cause of ctx
// where ctx is done.
type Typist interface {
	Line(ctx context.Context, completions []string) (string, error)
}

type line struct {
	text string
	err  error
}

var errTooLong = fmt.Errorf("that line is longer than %d characters", longestLine)

// NewLines returns an asker that reads from s.In and writes to s.Err.
func NewLines(s Streams) *Lines {
	in := bufio.NewReaderSize(s.In, longestLine)
	l := &Lines{err: s.Err, width: s.Width, echo: !s.InTTY, read: func() (string, error) { return readLine(in) }}
	l.typed = l
	return l
}

// NewTyped returns an asker that writes to s.Err as NewLines does, and has its
// lines from t. What a line means is the same.
func NewTyped(s Streams, t Typist) *Lines {
	return &Lines{err: s.Err, width: s.Width, draw: true, typed: t}
}

// Fit sets text from now on in a terminal of so many columns.
func (l *Lines) Fit(columns int) { l.width = lineWidth(columns, "") }

// Ask implements session.Asker.
func (l *Lines) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	if refused == nil {
		l.print("\n" + l.screen(p))
		refused = &subject.Refusal{}
	} else {
		l.refuse(p, refused)
	}
	for {
		text, err := l.typed.Line(ctx, completions(p, refused))
		if errors.Is(err, errTooLong) {
			l.again(p, err.Error())
			continue
		}
		if errors.Is(err, io.EOF) {
			return engine.Answer{}, session.ErrPause
		}
		if err != nil {
			return engine.Answer{}, err
		}
		switch s := understand(p, refused, text); {
		case s.pause:
			return engine.Answer{}, session.ErrPause
		case s.view != "":
			l.brief = s.view == briefWord
			return engine.Answer{}, session.ErrView
		case s.help:
			l.print(l.unsaid(p) + helpFor(p, l.width) + "\n" + l.screen(p))
			l.remind(p, refused)
		case s.why:
			l.print(whyFor(p, l.width) + "\n" + question(p, l.width) + asked(p, l.width))
			l.remind(p, refused)
		case s.picture != "":
			l.print(picture(p.Picture(s.picture), l.width, l.draw) + "\n" + l.ask(p))
			l.remind(p, refused)
		case s.retype:
			refused = &subject.Refusal{}
			l.print(l.ask(p))
		case s.problem != "":
			if leadsBack(refused) {
				refused = &subject.Refusal{} // the question comes again, with numbers of its own
			}
			l.again(p, s.problem)
		default:
			return s.answer, nil
		}
	}
}

// screen is p in full.
func (l *Lines) screen(p engine.Prompt) string {
	if l.brief || len(p.Group) > 0 {
		return briefScreen(p, l.width)
	}
	shown := ""
	if p.Shows != "" && p.Picture != nil {
		shown = "\n" + picture(p.Picture(p.Shows), l.width, l.draw)
	}
	return screen(p, shown, l.width)
}

// Say implements session.Asker.
func (l *Lines) Say(m session.Message) {
	var b strings.Builder
	if m.Title != "" {
		b.WriteString("\n" + Wrap(CleanLine(m.Title), l.width, "", ""))
	}
	for i, text := range m.Lines {
		if m.Steps {
			b.WriteString(item(i+1, CleanLine(text), l.width))
		} else {
			b.WriteString(Wrap(CleanLine(text), l.width, "", "  "))
		}
	}
	for _, row := range m.Drawn {
		b.WriteString(strings.TrimRight(Clean(row), " ") + "\n")
	}
	l.print(b.String())
}

// refuse says why an answer wasn't taken and asks again. Choices get numbers.
func (l *Lines) refuse(p engine.Prompt, r *subject.Refusal) {
	l.print(Wrap(CleanLine(r.Error()), l.width, "? ", "  "))
	if len(r.Choices) == 0 && r.Doubt == nil && p.Kind == engine.Show {
		l.print(asked(p, l.width))
		return
	}
	if len(r.Choices) == 0 && r.Doubt == nil {
		l.print(l.ask(p))
		return
	}
	for i, c := range r.Choices {
		l.print(item(i+1, CleanLine(c), l.width))
	}
	if r.Doubt != nil {
		l.print(rows(doubtHelp(r.Doubt), l.width))
	}
	l.print(Wrap(which(r), l.width, "", ""))
}

// remind shows once more what there is to choose from.
func (l *Lines) remind(p engine.Prompt, r *subject.Refusal) {
	if len(r.Choices) > 0 || r.Doubt != nil {
		l.refuse(p, r)
	}
}

// which says how to choose after a refusal.
func which(r *subject.Refusal) string {
	switch {
	case r.Doubt == nil:
		return "Which one? Type its number, or the answer anew."
	case len(r.Choices) == 0:
		return "Which one? Type its word, or the answer anew."
	}
	return "Which one? Type its number or its word, or the answer anew."
}

// again says what is wrong with a line and asks for another.
func (l *Lines) again(p engine.Prompt, problem string) {
	text := Wrap(problem, l.width, "? ", "  ")
	if p.Kind == engine.Show {
		// A page is long, and still there to scroll to.
		l.print(text + asked(p, l.width))
		return
	}
	if l.brief || len(p.Group) > 0 {
		l.print(text + briefQuestion(p, l.width))
		return
	}
	l.print(text + question(p, l.width))
}

func (l *Lines) print(s string) { io.WriteString(l.err, s) }

// Line implements Typist. The reader lives in a goroutine of its own, so that
// a signal ends the wait; it reads no further than it is asked to.
func (l *Lines) Line(ctx context.Context, _ []string) (string, error) {
	if err := context.Cause(ctx); err != nil {
		return "", err
	}
	l.print(prompt)
	if l.lines == nil {
		l.lines = make(chan line)
	}
	go func() {
		text, err := l.read()
		l.lines <- line{text, err}
	}()
	select {
	case <-ctx.Done():
		l.print("\n")
		return "", context.Cause(ctx)
	case got := <-l.lines:
		if errors.Is(got.err, io.EOF) {
			l.print("\n")
			return "", io.EOF
		}
		if l.echo {
			l.print(Clean(got.text) + "\n")
		}
		return got.text, got.err
	}
}

// readLine reads up to a newline. A last line that nothing ends is not an
// answer: whoever was typing it has gone.
func readLine(in *bufio.Reader) (string, error) {
	text, err := in.ReadSlice('\n')
	if errors.Is(err, bufio.ErrBufferFull) {
		for errors.Is(err, bufio.ErrBufferFull) {
			_, err = in.ReadSlice('\n')
		}
		if err != nil {
			return "", err
		}
		return "", errTooLong
	}
	if err != nil {
		return "", err
	}
	return strings.TrimRight(string(text), "\r\n"), nil
}
