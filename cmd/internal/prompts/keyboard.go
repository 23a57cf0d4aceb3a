package prompts

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"syscall"
	"time"
	"unicode/utf8"

	"dropwalk/cmd/internal/terminal"
)

// Keys as the library knows them, one byte each.
const (
	keyHome      = "\x01"
	keyLeft      = "\x02"
	keyInterrupt = "\x03"
	keyLeave     = "\x04"
	keyRight     = "\x06"
	keyDown      = "\x0e"
	keyUp        = "\x10"
	keyEnd       = "\x11"
	keyDelete    = "\x12"
	keyEscape    = "\x1b"
)

// Marks round a paste, where the terminal sends them.
const (
	pasteBegins = "\x1b[200~"
	pasteEnds   = "\x1b[201~"
)

// codes are the key codes that mean something here, without what introduces
// them. Codes of the same keys held with Ctrl, Shift or Alt are not among them.
var codes = map[string]string{
	"A": keyUp, "B": keyDown, "C": keyRight, "D": keyLeft, "H": keyHome, "F": keyEnd,
	"1~": keyHome, "7~": keyHome, "4~": keyEnd, "8~": keyEnd, "3~": keyDelete,
	"200~": pasteBegins, "201~": pasteEnds,
}

// patience is how long the rest of a key code may take. A terminal sends a code
// in one go; a slow line stretches it to some tens of milliseconds.
const patience = 150 * time.Millisecond

// errInterrupted is Ctrl-C or Ctrl-\ at a prompt, where the terminal makes no signal of it.
var errInterrupted = fmt.Errorf("interrupted: %w", context.Canceled)

// keyboard reads a terminal one key at a time. What was typed ahead stays for
// the next line.
type keyboard struct {
	file    io.Reader
	got     chan chunk
	reading bool
	held    []byte
	pasting bool
	fresh   bool // nothing of this line was typed yet
}

type chunk struct {
	data []byte
	err  error
}

func newKeyboard(file io.Reader) *keyboard {
	return &keyboard{file: file, got: make(chan chunk, 1)}
}

// begin is called before each line.
func (k *keyboard) begin() { k.fresh = true }

// next waits for a key that means something: a character, or one of the keys
// above. It returns io.EOF where the person leaves or the terminal is gone,
// errInterrupted at Ctrl-C and Ctrl-\, and the cause of ctx where ctx is done.
func (k *keyboard) next(ctx context.Context) (string, error) {
	for {
		key, err := k.code(ctx)
		if err != nil {
			return "", err
		}
		switch key {
		case pasteBegins, pasteEnds:
			k.pasting = key == pasteBegins
			continue
		case "":
			continue
		}
		if k.pasting {
			key = pasted(key)
		}
		switch key {
		case "":
		case keyInterrupt:
			return "", errInterrupted
		case keyLeave:
			return "", io.EOF
		default:
			return key, nil
		}
	}
}

// pasted is what a key comes to inside a paste: text only.
func pasted(key string) string {
	switch {
	case key == "\r", key == "\n", key == "\t":
		return " "
	case key[0] < ' ' || key[0] == 0x7f:
		return ""
	}
	return key
}

// code takes one key off what was read, "" for one that means nothing.
func (k *keyboard) code(ctx context.Context) (string, error) {
	for {
		key, n := "", 0
		if len(k.held) > 0 {
			key, n = scan(k.held)
			// Ctrl-D between two lines ends a whole line for the terminal, of which
			// nothing but a NUL is left when it goes over to single keys.
			if k.fresh && k.held[0] == 0 {
				key = keyLeave
			}
			k.fresh = false
		}
		if n == 0 {
			came, err := k.fill(ctx)
			if err != nil {
				return "", err
			}
			if came {
				continue
			}
			// Nobody finishes it: the Esc key by itself, or a broken code.
			if n = len(k.held); n == 1 && k.held[0] == keyEscape[0] {
				key = keyEscape
			}
		}
		k.held = k.held[n:]
		return key, nil
	}
}

// fill waits for more input: for ever where nothing is held, else as long as
// the rest of a key code may take. It tells whether something came.
func (k *keyboard) fill(ctx context.Context) (bool, error) {
	if !k.reading {
		k.reading = true
		go func() {
			data := make([]byte, 1024)
			n, err := k.file.Read(data)
			k.got <- chunk{data[:n], err}
		}()
	}
	var late <-chan time.Time
	if len(k.held) > 0 {
		late = time.After(patience)
	}
	select {
	case <-ctx.Done():
		return false, context.Cause(ctx)
	case <-late:
		return false, nil
	case c := <-k.got:
		k.reading = false
		k.held = append(k.held, c.data...)
		if len(c.data) > 0 {
			return true, nil
		}
		if errors.Is(c.err, syscall.EIO) { // the window is closed
			return false, io.EOF
		}
		return false, c.err
	}
}

// scan reads the key at the start of b, which isn't empty, and tells its length:
// 0 where more has to come. The key is "" where it means nothing here. The forms
// are those of ECMA-48, with what the Linux console and old mice add.
func scan(b []byte) (key string, n int) {
	if b[0] != keyEscape[0] {
		if !utf8.FullRune(b) {
			return "", 0
		}
		r, n := utf8.DecodeRune(b)
		return character(r), n
	}
	if len(b) == 1 {
		return "", 0
	}
	switch c := b[1]; {
	case c == '[' || c == 'O':
		return sequence(b)
	case bytes.IndexByte([]byte("]PX^_"), c) >= 0:
		return "", controlString(b)
	case c == keyEscape[0]: // Alt with a key that has a code itself
		if _, n = scan(b[1:]); n > 0 {
			n++
		}
		return "", n
	case c < ' ':
		return "", 1
	case !utf8.FullRune(b[1:]):
		return "", 0
	}
	_, n = utf8.DecodeRune(b[1:])
	return "", n + 1 // Alt with a character
}

// character is the key that makes r.
func character(r rune) string {
	switch r {
	case '\r', '\n', '\t', '\b', 0x7f, 0x03, 0x04, 0x01:
		return string(r)
	case 0x1c: // Ctrl-\, which the terminal makes no signal of at a prompt either
		return keyInterrupt
	case 0x05: // Ctrl-E, as shells have it
		return keyEnd
	}
	return terminal.Clean(string(r))
}

// sequence reads a key code of the form ESC [ or ESC O, parameters, final.
func sequence(b []byte) (key string, n int) {
	i := 2
	for i < len(b) && b[i] >= 0x20 && b[i] <= 0x3f {
		i++
	}
	switch {
	case i == len(b):
		return "", 0
	case b[i] < 0x40 || b[i] > 0x7e: // broken off by something else
		return "", i
	}
	more := 0
	if i == 2 && b[1] == '[' {
		switch b[i] {
		case '[': // function keys of the Linux console
			more = 1
		case 'M': // a click, in the oldest form
			more = 3
		}
	}
	if i+1+more > len(b) {
		return "", 0
	}
	return codes[string(b[2:i+1])], i + 1 + more
}

// controlString is the length of a string that a terminal sends in reply to a
// question, up to BEL or ST; it ends before any other control character.
func controlString(b []byte) int {
	for i := 2; i < len(b); i++ {
		switch {
		case b[i] == '\a':
			return i + 1
		case b[i] == keyEscape[0] && i+1 == len(b):
			return 0
		case b[i] == keyEscape[0] && b[i+1] == '\\':
			return i + 2
		case b[i] < ' ':
			return i
		}
	}
	return 0
}
