//go:build linux

package prompts

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// What is typed at a prompt, and what comes of it. Keys that mean nothing never
// get into an answer, and a slip of the key never ends a prompt.
func TestKeys(t *testing.T) {
	tests := []struct {
		name, keys string
		p          engine.Prompt
		want       engine.Answer
	}{
		{"plain", "1998 cc\r", asks, engine.Answer{Text: "1998 cc"}},
		{"a decimal comma", "12,5\r", asks, engine.Answer{Text: "12,5"}},
		{"not a number", "NaN\r", asks, engine.Answer{Text: "NaN"}}, // as plain lines: its reader refuses it
		{"a unit", "12.5 inH2O\r", asks, engine.Answer{Text: "12.5 inH2O"}},
		{"nothing, then something", "\r12\r", asks, engine.Answer{Text: "12"}},
		{"Ctrl-Right", "12\x1b[1;5C5\r", asks, engine.Answer{Text: "125"}},
		{"Ctrl-Right, old form", "12\x1bO5C5\r", asks, engine.Answer{Text: "125"}},
		{"Shift-Ctrl-End", "12\x1b[1;6F5\r", asks, engine.Answer{Text: "125"}},
		{"F5", "12\x1b[15~5\r", asks, engine.Answer{Text: "125"}},
		{"F1", "12\x1bOP5\r", asks, engine.Answer{Text: "125"}},
		{"F1 of the Linux console", "12\x1b[[A5\r", asks, engine.Answer{Text: "125"}},
		{"Page Up", "12\x1b[5~5\r", asks, engine.Answer{Text: "125"}},
		{"Alt with a letter", "12\x1bx5\r", asks, engine.Answer{Text: "125"}},
		{"Alt with an umlaut", "12\x1bä5\r", asks, engine.Answer{Text: "125"}},
		{"Alt with an arrow", "12\x1b\x1b[C5\r", asks, engine.Answer{Text: "125"}},
		{"Ctrl-Z", "12\x1a5\r", asks, engine.Answer{Text: "125"}},
		{"a click", "12\x1b[M !!5\r", asks, engine.Answer{Text: "125"}},
		{"a late cursor report", "12\x1b[24;80R5\r", asks, engine.Answer{Text: "125"}},
		{"a late colour report", "12\x1b]11;rgb:ffff/ffff/ffff\x1b\\5\r", asks, engine.Answer{Text: "125"}},
		{"a paste", "\x1b[200~12.5\x1b[201~1\r", asks, engine.Answer{Text: "12.51"}},
		{"a paste doesn't answer by itself", "\x1b[200~12\ncc\n\x1b[201~ or so\r", asks, engine.Answer{Text: "12 cc  or so"}},
		{"a paste doesn't leave", "\x1b[200~1\x03\x042\x1b[201~\r", asks, engine.Answer{Text: "12"}},
		{"arrows edit", "125\x1b[D.\r", asks, engine.Answer{Text: "12.5"}},
		{"arrows of a keypad in another mode", "125\x1bOD.\r", asks, engine.Answer{Text: "12.5"}},
		{"Home, End, Delete", "x12\x1b[H\x1b[3~\x1b[F5\r", asks, engine.Answer{Text: "125"}},
		{"backspace", "13\x7f25\r", asks, engine.Answer{Text: "125"}},
		{"backspace within", "1x25\x1b[D\x1b[D\x7f\r", asks, engine.Answer{Text: "125"}},
		{"letters beyond ASCII", "grün\r", asks, engine.Answer{Text: "grün"}},
		{"an accent of its own", "ge\u0301nie\r", asks, engine.Answer{Text: "ge\u0301nie"}},
		{"backspace takes an accent of its own first", "ge\u0301\x7f\x7fo\r", asks, engine.Answer{Text: "go"}},
		{"wide letters and pictures", "漢字🚗x\x1b[D\x1b[Dab\r", asks, engine.Answer{Text: "漢字ab🚗x"}},
		{"backspace over a picture", "a🚗\x7fb\r", asks, engine.Answer{Text: "ab"}},
		{"not known", "?\r", asks, engine.Answer{Text: "?"}},

		{"a choice by number", "2\r", chooses, engine.Answer{Text: "turbo"}},
		{"a choice by word", "turbo\r", chooses, engine.Answer{Text: "turbo"}},
		{"a choice that is none", "j\r1\r", chooses, engine.Answer{Text: "natural"}},
		{"yes in another tongue", "ja\r3\r", chooses, engine.Answer{Text: "supercharged"}},
		{"a choice completed", "tu\t\r", chooses, engine.Answer{Text: "turbo"}},
		{"a choice from the list", "\t\x1b[B\r", chooses, engine.Answer{Text: "turbo"}},
		{"the list the other way round", "\t\x1b[A\x1b[A\x1b[A\r", chooses, engine.Answer{Move: engine.Note, Text: "x"}},
		{"backspace closes the list", "\t\x7f2\r", chooses, engine.Answer{Text: "turbo"}},
		{"Esc closes the list", "s\t\x1b", chooses, engine.Answer{Text: "supercharged"}},

		{"Enter doesn't open a hold", "\r\r\rready\r", holds, engine.Answer{Text: "ready"}},
		{"the list doesn't open a hold", "\t\rready\r", holds, engine.Answer{Text: "ready"}},
		{"Tab after its beginning doesn't open a hold", "re\t\rready\r", holds, engine.Answer{Text: "ready"}},
		{"a line that isn't true", "2\r", holds, engine.Answer{Text: "2"}},
		{"Enter isn't done for a duty", "\rdone\r", owes, engine.Answer{Text: "done"}},
		{"Enter is done", "\r", does, engine.Answer{Text: "done"}},

		{"skip", "skip no time\r", does, engine.Answer{Move: engine.Skip, Why: "no time"}},
		{"skip, completed", "sk\tno time\r", does, engine.Answer{Move: engine.Skip, Why: "no time"}},
		{"cannot", "cannot it is torn\r", does, engine.Answer{Move: engine.Cannot, Why: "it is torn"}},
		{"note", "note rain\r", does, engine.Answer{Move: engine.Note, Text: "rain"}},
		{"back", "back\r", asks, engine.Answer{Move: engine.Back}},
		{"back to an answer from the list", "back \t\x1b[B\r", behind, engine.Answer{Move: engine.Back, Text: "car-name"}},
		{"stop", "stop\r", holds, engine.Answer{Move: engine.Stop}},
		{"help, then an answer", "help\r12\r", asks, engine.Answer{Text: "12"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			d := sitDown(t, 80, 24)
			d.ask(t.Context(), tt.p)
			lines := strings.SplitAfter(tt.keys, "\r")
			for i, line := range lines {
				if i > 0 && line != "" {
					d.ready()
				}
				d.types(line)
			}
			switch tt.name {
			case "the list the other way round": // "note " stands third from the end
				d.ready()
				d.types("note x\r")
			case "Esc closes the list":
				time.Sleep(2 * patience) // else it is the start of a key code
				d.types("upe\t\r")
			}
			if got := d.comes(); got.err != nil || got.answer != tt.want {
				t.Errorf("%q comes to %v; want %+v", tt.keys, got, tt.want)
			}
			if strings.Contains(d.all(), "\x1b[6n") {
				t.Error("the terminal was asked where its cursor is")
			}
			if !d.cooked() {
				t.Error("the terminal isn't set back")
			}
		})
	}
}

// An answer in doubt is kept, marked or typed anew, by the same words as on
// plain lines; Tab knows them, and Enter alone takes nothing.
func TestDoubt(t *testing.T) {
	doubt := &subject.Refusal{What: "31 inH2O is far above", Choices: []string{"31 mbar"},
		Doubt: &subject.Doubt{Keep: "31, keep", Doubtful: "31, doubtful: ", Reason: "far above"}}
	for keys, want := range map[string]string{
		"keep\r": "31, keep", "ke\t\r": "31, keep", "\rkeep\r": "31, keep",
		"doub\tit hung\r": "31, doubtful: it hung", "doubtful\r": "31, doubtful: far above",
		"retype\r12\r": "12", "1\r": "31 mbar", "12.5\r": "12.5", "help\rkeep\r": "31, keep",
	} {
		d := sitDown(t, 80, 40)
		go func() {
			a, err := d.asker.Ask(t.Context(), asks, doubt)
			d.results <- result{a, err}
		}()
		for line := range strings.SplitAfterSeq(keys, "\r") {
			if line != "" {
				d.ready()
				d.types(line)
			}
		}
		if got := d.comes(); got.err != nil || got.answer.Text != want {
			t.Errorf("%q comes to %v; want %q", keys, got, want)
		}
		if !d.cooked() {
			t.Errorf("%q: the terminal isn't set back", keys)
		}
	}
}

// Whatever ends a prompt without an answer, what is half typed is none, and the
// terminal is set as it was.
func TestLeave(t *testing.T) {
	cause := errors.New("terminated")
	tests := []struct {
		name  string
		leave func(*desk, context.CancelCauseFunc)
		want  error
	}{
		{"Ctrl-D", func(d *desk, _ context.CancelCauseFunc) { d.types("\x04") }, session.ErrPause},
		{"Ctrl-D behind an Esc", func(d *desk, _ context.CancelCauseFunc) { d.types("\x1b\x04") }, session.ErrPause},
		{"Ctrl-D over a list", func(d *desk, _ context.CancelCauseFunc) { d.types("\x7f\x7f\t\x04") }, session.ErrPause},
		{"pause", func(d *desk, _ context.CancelCauseFunc) { d.types("\x7f\x7fpause\r") }, session.ErrPause},
		{"Ctrl-C", func(d *desk, _ context.CancelCauseFunc) { d.types("\x03") }, context.Canceled},
		{"Ctrl-\\", func(d *desk, _ context.CancelCauseFunc) { d.types("12\x1c") }, context.Canceled},
		{"Ctrl-C over a list", func(d *desk, _ context.CancelCauseFunc) { d.types("\x7f\x7f\t\x1b[B\x03") }, context.Canceled},
		{"a signal", func(_ *desk, cancel context.CancelCauseFunc) { cancel(cause) }, cause},
	}
	for _, tt := range tests {
		for _, p := range []engine.Prompt{asks, chooses, holds, does} {
			d := sitDown(t, 80, 24)
			ctx, cancel := context.WithCancelCause(t.Context())
			d.ask(ctx, p)
			if d.cooked() {
				t.Fatal("keys are not read one by one")
			}
			d.types("12")
			d.sees("> 12")
			tt.leave(d, cancel)
			if got := d.comes(); !errors.Is(got.err, tt.want) || got.answer != (engine.Answer{}) {
				t.Errorf("%s at %q comes to %v; want %v", tt.name, p.Text, got, tt.want)
			}
			if !d.cooked() {
				t.Errorf("%s at %q: the terminal isn't set back", tt.name, p.Text)
			}
		}
	}
}

// A window that is closed pauses; there is nobody left to tell.
func TestWindowClosed(t *testing.T) {
	d := sitDown(t, 80, 24)
	d.ask(t.Context(), asks)
	d.types("12")
	d.sees("> 12")
	d.keys.Close()
	if got := d.comes(); !errors.Is(got.err, session.ErrPause) {
		t.Errorf("comes to %v; want ErrPause", got)
	}
}

// A fault in the library asks again, at most twice, and then says what to do.
func TestLibraryBreaksDown(t *testing.T) {
	for faults, want := range map[int]string{1: "", 2: "", 3: "--plain"} {
		d := sitDown(t, 80, 24)
		d.asker.typist.fault = func() {
			if faults > 0 {
				faults--
				panic("a nil pointer")
			}
		}
		d.begin(t.Context(), asks)
		if want == "" {
			d.ready()
			d.types("12\r")
		}
		got := d.comes()
		switch {
		case want == "" && (got.err != nil || got.answer.Text != "12"):
			t.Errorf("comes to %v; want the answer 12", got)
		case want != "" && (got.err == nil || !strings.Contains(got.err.Error(), want)):
			t.Errorf("comes to %v; want an error with %q", got, want)
		}
		if !d.cooked() {
			t.Error("the terminal isn't set back")
		}
	}
}

// What is typed ahead answers the prompts that follow.
func TestTypeAhead(t *testing.T) {
	d := sitDown(t, 80, 24)
	d.ask(t.Context(), asks)
	d.types("12\r13\r")
	for _, want := range []string{"12", "13"} {
		if got := d.comes(); got.err != nil || got.answer.Text != want {
			t.Fatalf("comes to %v; want %s", got, want)
		}
		if want == "12" {
			d.begin(t.Context(), asks)
		}
	}
}

// Ctrl-D that comes between two prompts, while the terminal reads whole lines,
// leaves at the second one. Amid an answer the same code (Ctrl-Space) is nothing.
func TestLeaveAhead(t *testing.T) {
	d := sitDown(t, 80, 24)
	d.types("\x04")
	time.Sleep(20 * time.Millisecond)
	d.begin(t.Context(), asks)
	if got := d.comes(); !errors.Is(got.err, session.ErrPause) {
		t.Errorf("comes to %v; want ErrPause", got)
	}
	d = sitDown(t, 80, 24)
	d.ask(t.Context(), asks)
	d.types("1\x002\r")
	if got := d.comes(); got.err != nil || got.answer.Text != "12" {
		t.Errorf("comes to %v; want 12", got)
	}
}

// ladder is text above a prompt, each rung of its own.
func ladder(d *desk, rungs int) []string {
	var lines []string
	for i := range rungs {
		lines = append(lines, strings.Repeat(string(rune('a'+i)), 12))
	}
	d.asker.Say(session.Message{Lines: lines})
	return lines
}

// below is the screen from the first rung on. It fails where a rung is missing
// or doubled, or stands out of order.
func below(t *testing.T, d *desk, rungs []string) string {
	t.Helper()
	d.mu.Lock()
	defer d.mu.Unlock()
	text := d.screen()
	want := strings.Join(rungs, "\n") + "\n"
	if strings.Count(text, want) != 1 {
		t.Errorf("the lines above the prompt are not whole:\n%s", text)
	}
	return text
}

// An answer that fills a row, or several, leaves what stands above alone, and
// shows once. The rows end where terminals differ: on a full row.
func TestWrap(t *testing.T) {
	for _, columns := range []int{80, 40, 24} {
		for _, rows := range []int{40, 20} { // with room below, and at the lower edge
			for _, length := range []int{columns - 3, columns - 2, columns - 1, columns, 2*columns - 2, 2*columns + 5, 4*columns - 2} {
				d := sitDown(t, columns, rows)
				d.asker.hinted = true
				d.asker.Say(session.Message{Lines: slices.Repeat([]string{"filler"}, 14)})
				rungs := ladder(d, 3)
				p := engine.Prompt{Kind: engine.Ask, Text: "Name?", Fields: asks.Fields}
				d.ask(t.Context(), p)
				text := strings.Repeat("0123456789", 40)[:length]
				d.types(text)
				if rows == 40 {
					d.types("xyz\x7f\x7f\x7f" + strings.Repeat("\x1b[D", 3) + strings.Repeat("\x1b[C", 3))
				}
				d.types("\r")
				if got := d.comes(); got.err != nil || got.answer.Text != text {
					t.Fatalf("%d columns, %d characters: comes to %v; want %q", columns, length, got, text)
				}
				d.asker.Say(session.Message{Lines: []string{"done."}})
				d.sees("done.")
				screen := below(t, d, rungs)
				if strings.Count(screen, "Name?") != 1 || strings.Count(screen, "> 0123") != 1 {
					t.Errorf("%d columns, %d rows, %d characters: the prompt shows more than once:\n%s", columns, rows, length, screen)
				}
				if joined := strings.ReplaceAll(screen, "\n", ""); !strings.Contains(joined, "Type the answer.> "+text+"done.") {
					t.Errorf("%d columns, %d rows, %d characters: the answer doesn't stand whole:\n%s", columns, rows, length, screen)
				}
			}
		}
	}
}

// A window that changes its size while something is typed, or while a list is
// open, loses no line above the prompt.
func TestResize(t *testing.T) {
	for _, sizes := range [][2]int{{80, 40}, {40, 80}, {80, 24}, {24, 80}, {40, 14}} {
		for _, keys := range []string{"turb", "t\x7f\t", "t\x7f\t\x1b[B"} {
			d := sitDown(t, sizes[0], 45)
			rungs := ladder(d, 6)
			d.ask(t.Context(), chooses)
			d.types(keys)
			d.until("the keys", func() bool { return strings.Contains(d.screen(), "> turb") || strings.Contains(d.screen(), "   why") })
			d.mu.Lock()
			d.resize(sizes[1], 45)
			d.mu.Unlock()
			d.types(strings.Repeat("\x1b[A\x1b[B", 12) + "o") // close the list, where one is open
			d.types("\x7f\x04")
			if got := d.comes(); !errors.Is(got.err, session.ErrPause) {
				t.Fatalf("comes to %v; want ErrPause", got)
			}
			below(t, d, rungs)

			d.ask(t.Context(), chooses)
			d.types("2\r")
			if got := d.comes(); got.err != nil || got.answer.Text != "turbo" {
				t.Errorf("%v, %q: comes to %v; want turbo", sizes, keys, got)
			}
			below(t, d, rungs)
		}
	}
}

// After a resize the next prompt is set in the new width.
func TestNewWidth(t *testing.T) {
	d := sitDown(t, 80, 40)
	p := engine.Prompt{Kind: engine.Hold, Text: "The road is closed to others, dry, and free of gravel for its whole length."}
	d.ask(t.Context(), p)
	d.types("ready\r")
	d.comes()
	d.mu.Lock()
	d.resize(40, 40)
	d.mu.Unlock()
	d.ask(t.Context(), p)
	d.types("ready\r")
	d.comes()
	d.sees("The road is closed to others, dry, and\nfree of gravel for its whole length.")
}

// A prompt with no choices takes a free line; its list has the words.
func TestNoChoices(t *testing.T) {
	p := chooses
	p.Fields = append(p.Fields[:0:0], p.Fields...)
	p.Fields[0].Choices = nil
	d := sitDown(t, 40, 24)
	d.ask(t.Context(), p)
	d.types("\t")
	d.sees("   pause")
	d.types("\x7f12\r")
	if got := d.comes(); got.err != nil || got.answer.Text != "12" {
		t.Errorf("comes to %v; want 12", got)
	}
	if got := (&console{columns: 80}).complete(nil)(""); len(got) != 0 {
		t.Errorf("nothing completes to %q", got)
	}
}

// Neither the list nor what is typed brings a terminal's controls to the screen.
func TestHostile(t *testing.T) {
	p := engine.Prompt{Kind: engine.Ask, Text: "Which?", Fields: append(chooses.Fields[:0:0], chooses.Fields...)}
	p.Fields[0].Choices = []string{"a\x1b[2Jb", "a\u202ec"}
	d := sitDown(t, 80, 24)
	d.ask(t.Context(), p)
	d.types("a\t")
	d.sees("   ac")
	d.types("\x7f\u202e\u009b2J\x00\x7f\x7f\x7f12\r?\r")
	if got := d.comes(); got.err != nil || got.answer.Text != "?" {
		t.Errorf("comes to %v; want ?", got)
	}
	for _, bad := range []string{"\x1b[2J", "\u202e", "\u009b"} {
		if strings.Contains(d.all(), bad) {
			t.Errorf("the terminal was sent %q", bad)
		}
	}
}

// A key code that a slow line stretches is still one key.
func TestSlowLine(t *testing.T) {
	r, w := io.Pipe()
	k := newKeyboard(r)
	go func() {
		for _, b := range []byte("12\x1b[1;5C5ä\r") {
			w.Write([]byte{b})
			time.Sleep(patience / 10)
		}
	}()
	got := ""
	for !strings.HasSuffix(got, "\r") {
		key, err := k.next(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		got += key
	}
	if want := "125ä\r"; got != want {
		t.Errorf("read %q, want %q", got, want)
	}
}

// Neither pipes nor files nor terminals that stand still are used.
func TestUsable(t *testing.T) {
	d := sitDown(t, 80, 24)
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	defer w.Close()
	tests := []struct {
		name    string
		in, err *os.File
		goos    string
		env     map[string]string
		want    bool
	}{
		{"a terminal", d.slave, d.slave, "linux", map[string]string{"TERM": "xterm"}, true},
		{"ACCESSIBLE off", d.slave, d.slave, "linux", map[string]string{"TERM": "xterm", "ACCESSIBLE": "False"}, true},
		{"ACCESSIBLE nought", d.slave, d.slave, "linux", map[string]string{"TERM": "xterm", "ACCESSIBLE": "0"}, true},
		{"ACCESSIBLE on", d.slave, d.slave, "linux", map[string]string{"TERM": "xterm", "ACCESSIBLE": "1"}, false},
		{"no name of a terminal", d.slave, d.slave, "linux", nil, false},
		{"a dumb terminal", d.slave, d.slave, "linux", map[string]string{"TERM": "dumb"}, false},
		{"input through a pipe", r, d.slave, "linux", map[string]string{"TERM": "xterm"}, false},
		{"messages into a pipe", d.slave, w, "linux", map[string]string{"TERM": "xterm"}, false},
		{"a Windows console", d.slave, d.slave, "windows", map[string]string{"TERM": "xterm"}, false},
		{"a Unix shell on Windows", d.slave, d.slave, "linux", map[string]string{"TERM": "xterm", "MSYSTEM": "MINGW64"}, false},
	}
	for _, tt := range tests {
		got := Usable(tt.in, tt.err, func(name string) string { return tt.env[name] }, tt.goos)
		if got != tt.want {
			t.Errorf("%s: Usable = %v, want %v", tt.name, got, tt.want)
		}
	}
	if _, err := New(r, w, terminal.Streams{}); err == nil {
		t.Error("New works on pipes")
	}
}

// Of the library only the one-line question is used: what lists, multi-line
// texts, editors and passwords do wrong can't happen.
func TestOnlyOneLineQuestions(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	used := regexp.MustCompile(`\bsurvey\.([A-Z]\w*)`)
	allowed := []string{"Input", "InputQuestionTemplate", "PromptConfig"}
	found := 0
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range used.FindAllSubmatch(src, -1) {
			if found++; !slices.Contains(allowed, string(m[1])) {
				t.Errorf("%s uses survey.%s", name, m[1])
			}
		}
	}
	if found == 0 {
		t.Error("the library isn't used at all: this test looks in the wrong place")
	}
}

// However key codes are broken, reading them comes to an end and lets no
// control character through but those that edit.
func FuzzScan(f *testing.F) {
	for _, s := range []string{"\x1b[1;5C", "\x1b[[A", "\x1b]0;t\a", "\x1b\x1b[C", "ä", "\xff", "\x1b[M !!", "\x1b[1\r"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		for len(b) > 0 {
			key, n := scan(b)
			if n < 0 || n > len(b) {
				t.Fatalf("scan(%q) takes %d bytes", b, n)
			}
			if n == 0 {
				return
			}
			if key != pasteBegins && key != pasteEnds && len([]rune(key)) > 1 {
				t.Fatalf("scan(%q) = %q, more than one key", b, key)
			}
			b = b[n:]
		}
	})
}
