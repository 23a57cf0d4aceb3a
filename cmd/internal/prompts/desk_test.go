//go:build linux

package prompts

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
	"unsafe"

	"github.com/creack/pty"
	"github.com/hinshun/vt10x"

	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// enough is how long anything on a desk may take before it counts as hung.
const enough = 5 * time.Second

// desk is a terminal with an asker on it and a person before it. The terminal
// answers no question that a program asks it.
type desk struct {
	t           *testing.T
	keys, slave *os.File
	asker       *Asker
	results     chan result

	mu   sync.Mutex
	vt   vt10x.Terminal
	sent bytes.Buffer // all that the terminal was sent
}

type result struct {
	answer engine.Answer
	err    error
}

func (r result) String() string { return fmt.Sprintf("%+v, %v", r.answer, r.err) }

func sitDown(t *testing.T, columns, rows int) *desk {
	t.Helper()
	master, slave, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	// A file that the runtime polls can be closed while it is read.
	fd, err := syscall.Dup(int(master.Fd()))
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.SetNonblock(fd, true); err != nil {
		t.Fatal(err)
	}
	master.Close()
	master = os.NewFile(uintptr(fd), "master")
	d := &desk{t: t, keys: master, slave: slave, results: make(chan result, 1), vt: vt10x.New(vt10x.WithSize(columns, rows))}
	t.Cleanup(func() { master.Close(); slave.Close() })
	d.resize(columns, rows)
	go d.show()
	utf8 := func(name string) string { return map[string]string{"LANG": "C.UTF-8"}[name] }
	if d.asker, err = New(slave, slave, terminal.Open(slave, slave, slave, utf8)); err != nil {
		t.Fatal(err)
	}
	return d
}

func (d *desk) show() {
	data := make([]byte, 4096)
	for {
		n, err := d.keys.Read(data)
		d.mu.Lock()
		d.vt.Write(data[:n])
		d.sent.Write(data[:n])
		d.mu.Unlock()
		if err != nil {
			return
		}
	}
}

func (d *desk) resize(columns, rows int) {
	d.t.Helper()
	if err := pty.Setsize(d.keys, &pty.Winsize{Cols: uint16(columns), Rows: uint16(rows)}); err != nil {
		d.t.Fatal(err)
	}
	d.vt.Resize(columns, rows)
}

// begin puts p to the person.
func (d *desk) begin(ctx context.Context, p engine.Prompt) {
	go func() {
		a, err := d.asker.Ask(ctx, p, nil)
		d.results <- result{a, err}
	}()
}

// ask puts p to the person and waits until keys are read.
func (d *desk) ask(ctx context.Context, p engine.Prompt) {
	d.t.Helper()
	d.begin(ctx, p)
	d.ready()
}

// ready waits until keys are read: the library shows the cursor then, and
// writes nothing more.
func (d *desk) ready() {
	d.t.Helper()
	d.until("the prompt", func() bool { return strings.HasSuffix(d.sent.String(), "\x1b[?25h") })
}

func (d *desk) until(what string, holds func() bool) {
	d.t.Helper()
	for end := time.Now().Add(enough); ; time.Sleep(2 * time.Millisecond) {
		d.mu.Lock()
		ok := holds()
		d.mu.Unlock()
		if ok {
			return
		}
		if time.Now().After(end) {
			d.t.Fatalf("%s does not come; sent: %q\nscreen:\n%s", what, d.sent.String(), d.vt)
		}
	}
}

// sees waits for text on the screen.
func (d *desk) sees(text string) {
	d.t.Helper()
	d.until(fmt.Sprintf("%q", text), func() bool { return strings.Contains(d.screen(), text) })
}

// screen is what the terminal shows now, without blanks at line ends.
func (d *desk) screen() string {
	var lines []string
	for line := range strings.SplitSeq(d.vt.String(), "\n") {
		lines = append(lines, strings.TrimRight(line, " "))
	}
	return strings.TrimRight(strings.Join(lines, "\n"), "\n")
}

// all is what the terminal was sent so far.
func (d *desk) all() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.sent.String()
}

func (d *desk) types(keys string) {
	d.t.Helper()
	if _, err := d.keys.WriteString(keys); err != nil {
		d.t.Fatal(err)
	}
}

// comes waits for what the asker returns.
func (d *desk) comes() result {
	d.t.Helper()
	select {
	case r := <-d.results:
		return r
	case <-time.After(enough):
		d.mu.Lock()
		defer d.mu.Unlock()
		d.t.Fatalf("no answer comes; sent: %q\nscreen:\n%s", d.sent.String(), d.vt)
		panic("unreachable")
	}
}

// cooked tells whether the terminal echoes and edits lines itself and makes
// signals of keys.
func (d *desk) cooked() bool {
	d.t.Helper()
	var mode syscall.Termios
	if _, _, errno := syscall.Syscall(syscall.SYS_IOCTL, d.slave.Fd(), syscall.TCGETS, uintptr(unsafe.Pointer(&mode))); errno != 0 {
		d.t.Fatal(errno)
	}
	const want = syscall.ECHO | syscall.ICANON | syscall.ISIG
	return mode.Lflag&want == want
}

// Prompts of an invented procedure.
var (
	behind = engine.Prompt{Kind: engine.Ask, Text: "What does it burn?", Earlier: func() []string { return []string{"displacement", "car-name"} }}
	asks   = engine.Prompt{Kind: engine.Ask, Text: "How large is the engine?", Like: "1998 cc",
		Fields: []subject.Field{{Path: "car.engine.displacement", Kind: quantity.Volume, Required: true}}}
	chooses = engine.Prompt{Kind: engine.Ask, Text: "How does it breathe?",
		Fields: []subject.Field{{Kind: quantity.Choice, Choices: []string{"natural", "turbo", "supercharged"}}}}
	holds = engine.Prompt{Kind: engine.Hold, Text: "Before the run:",
		Lines: []string{"The road is dry and empty.", "The bonnet is latched."}}
	does = engine.Prompt{Kind: engine.Do, Text: "Fit the hose.", Skip: "It stays off.", Cannot: "Fetch another."}
	owes = engine.Prompt{Kind: engine.Owed, Text: "Plug the hole."}
)
