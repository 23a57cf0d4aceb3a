package terminal

import (
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"
)

// wall takes what is written to a terminal.
type wall struct {
	mu   sync.Mutex
	text strings.Builder
}

func (w *wall) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.Write(p)
}

func (w *wall) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.String()
}

// What is over within half a second says nothing; what takes longer has one
// line, written over now and then, and taken away.
func TestProgress(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := &wall{}
		p := &Progress{to: w, columns: func() int { return 30 }}
		p.Tell("quick")
		time.Sleep(490 * time.Millisecond)
		p.Clear()
		time.Sleep(time.Second)
		if w.String() != "" {
			t.Errorf("something quick shows %q", w)
		}
		for n := range 100 {
			p.Tell(fmt.Sprintf("%d of 100 sheets, which is a long text for a line", n))
			time.Sleep(10 * time.Millisecond)
		}
		p.Clear()
		shown := strings.Split(w.String(), "\r\x1b[K")
		if n := len(shown); n < 5 || n > 8 {
			t.Errorf("half a second shows %d times: %q", n, w)
		}
		if last := shown[len(shown)-1]; last != "" {
			t.Errorf("%q is left on the line", last)
		}
		for _, line := range shown {
			if len(line) > 29 || strings.Contains(line, "\n") {
				t.Errorf("%q doesn't fit one line", line)
			}
		}
		before := w.String()
		time.Sleep(time.Second)
		p.Clear()
		if w.String() != before {
			t.Errorf("after the end it still writes: %q", w)
		}
	})
}

// Nothing is told where nobody watches, or where nothing may be repainted.
func TestProgressKeepsQuiet(t *testing.T) {
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	defer w.Close()
	p := NewProgress(w, func(name string) string { return map[string]string{"TERM": "xterm"}[name] }, "linux")
	if p.to != nil {
		t.Error("a pipe is told")
	}
	p.Tell("x")
	p.Clear()
	for _, env := range []map[string]string{{"TERM": "dumb"}, {"TERM": "xterm", "ACCESSIBLE": "1"}, {}} {
		if Repaints(func(name string) string { return env[name] }, "linux") {
			t.Errorf("%v may be repainted", env)
		}
	}
	if !Repaints(func(name string) string { return map[string]string{"TERM": "xterm"}[name] }, "linux") {
		t.Error("an ordinary terminal may not be repainted")
	}
}
