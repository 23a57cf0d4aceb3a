package terminal

import (
	"io"
	"os"
	"strings"
	"sync"
	"time"
)

const (
	// progressAfter is how long something may take before anything is said.
	progressAfter = 500 * time.Millisecond
	// progressEvery keeps a quick count from flickering.
	progressEvery = 100 * time.Millisecond
)

// Progress tells what takes its time, on one line of a terminal that is written
// over and taken away at the end. The zero Progress tells nothing.
type Progress struct {
	to      io.Writer
	columns func() int

	mu    sync.Mutex
	text  string
	shown time.Time // when the line was last written; zero while there is none
	timer *time.Timer
}

// NewProgress tells on err where that is a terminal that may be repainted. The
// line goes to it directly: what cleans texts takes a carriage return out.
func NewProgress(err *os.File, env func(string) string, goos string) *Progress {
	if !Repaints(env, goos) || !IsTerminal(err) {
		return &Progress{}
	}
	return &Progress{to: err, columns: func() int { return Columns(err) }}
}

// Tell says what goes on now. The first time it waits for a while: what is over
// by then needed no telling.
func (p *Progress) Tell(text string) {
	if p.to == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.text = ASCII(CleanLine(text))
	switch {
	case p.timer == nil:
		p.timer = time.AfterFunc(progressAfter, p.late)
	case !p.shown.IsZero() && time.Since(p.shown) >= progressEvery:
		p.write()
	}
}

// late shows the line where it is still wanted.
func (p *Progress) late() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.timer != nil {
		p.write()
	}
}

// write puts the line over the one before. It stays shorter than the terminal
// is wide, so that it never takes two.
func (p *Progress) write() {
	room := max(p.columns()-1, leastWidth)
	line, _, _ := strings.Cut(Wrap(p.text, room, "", ""), "\n")
	io.WriteString(p.to, "\r\x1b[K"+line)
	p.shown = time.Now()
}

// Clear takes the line away: what went on is over, or something else is about
// to be written. A later Tell begins anew.
func (p *Progress) Clear() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.timer == nil {
		return
	}
	p.timer.Stop()
	p.timer = nil
	if !p.shown.IsZero() {
		io.WriteString(p.to, "\r\x1b[K")
		p.shown = time.Time{}
	}
}
