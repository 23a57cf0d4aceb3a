package prompts

import (
	"context"
	"fmt"
	"os"
	"strconv"
	"strings"
	"unicode/utf8"

	"dropwalk/cmd/internal/terminal"
)

// prompt stands where the answer is typed.
const prompt = "> "

// endlessRows is the height that the library is told: it then never believes
// that it stands on the last row, where it would feed a line of its own. Line
// feeds are made here.
const endlessRows = 9999

// console is the terminal as the library sees it while one line is typed: a
// reader of keys and a writer that knows in which column the cursor stands.
type console struct {
	ctx     context.Context
	keys    *keyboard
	in, out *os.File
	columns int

	replies []string // to questions that the terminal was never asked
	listed  bool     // a list stands under the line
	corner  bool     // the library believes that it went to the last corner

	row, col         int // of the cursor, from the row where the line began and from 1
	saved            bool
	savedRow, savedC int
}

func newConsole(ctx context.Context, keys *keyboard, in, out *os.File) *console {
	columns := terminal.Columns(out)
	if columns == 0 {
		columns = 80
	}
	return &console{ctx: ctx, keys: keys, in: in, out: out, columns: columns, col: 1}
}

// Read brings one reply or one key; a key never comes with the next one, since
// the library throws away what it has read ahead.
func (c *console) Read(p []byte) (int, error) {
	if len(c.replies) > 0 {
		n := copy(p, c.replies[0])
		c.replies = c.replies[1:]
		return n, nil
	}
	key, err := c.keys.next(c.ctx)
	if err != nil {
		return 0, err
	}
	if c.listed {
		// The library takes a backspace over a list for a character, and
		// can't repaint rows that came to wrap: both close the list.
		if key == "\b" || key == "\x7f" || terminal.Columns(c.out) != c.columns {
			key = keyEscape
		}
		c.listed = key == keyUp || key == keyDown || key == "\t"
	}
	return copy(p, key), nil
}

// screen is the writing half of a console. Its Fd is none: the library asks it
// for the width to climb over rows that it believes wrapped, and would climb
// too far after a resize. Nothing that it repaints wraps here.
type screen struct{ *console }

func (screen) Fd() uintptr { return ^uintptr(0) }

// Fd is what the library sets into its mode and back.
func (c *console) Fd() uintptr { return c.in.Fd() }

// Write passes on what the library writes, but for its questions to the
// terminal and its moves over the lower edge.
func (c *console) Write(p []byte) (int, error) {
	var b strings.Builder
	for rest := string(p); rest != ""; {
		n := 0
		if rest[0] == keyEscape[0] {
			n = escape(rest)
			b.WriteString(c.obey(rest[:n]))
		} else {
			_, n = utf8.DecodeRuneInString(rest)
			b.WriteString(c.put(rest[:n]))
		}
		rest = rest[n:]
	}
	if _, err := c.out.WriteString(b.String()); err != nil {
		return 0, err
	}
	return len(p), nil
}

// escape is the length of the escape at the start of s.
func escape(s string) int {
	if len(s) < 3 || s[1] != '[' {
		return min(2, len(s))
	}
	for i := 2; i < len(s); i++ {
		if s[i] >= 0x40 && s[i] <= 0x7e {
			return i + 1
		}
	}
	return len(s)
}

// put follows one character. A row that is full is left at once: terminals
// wait with that until the next character, and the library doesn't know.
func (c *console) put(r string) string {
	switch r {
	case "\n":
		c.row, c.col = c.row+1, 1
		return r
	case "\r":
		c.col = 1
		return r
	}
	w := terminal.Width(r)
	if c.col+w-1 > c.columns { // a wide character that doesn't fit any more
		c.row, c.col = c.row+1, 1
	}
	c.col += w
	if c.col > c.columns {
		c.row, c.col = c.row+1, 1
		return r + " \r"
	}
	return r
}

// obey follows one escape and returns what the terminal gets to see of it.
func (c *console) obey(seq string) string {
	switch seq {
	case "\x1b7":
		c.saved, c.savedRow, c.savedC = true, c.row, c.col
		return seq
	case "\x1b8":
		c.saved, c.row, c.col = false, c.savedRow, c.savedC
		return seq
	}
	count, _ := strconv.Atoi(strings.TrimLeft(seq[:len(seq)-1], "\x1b["))
	switch seq[len(seq)-1] {
	case 'f':
		c.corner = true
		return ""
	case 'n':
		c.reply()
		return ""
	case 'A':
		c.row -= count
	case 'B':
		return c.down(seq)
	case 'C':
		c.col = min(c.col+count, c.columns)
	case 'D':
		c.col = max(c.col-count, 1)
	case 'G':
		c.col = max(count, 1)
	}
	return seq
}

// down goes to the next row, and makes one where the screen ends. Between a
// save and its restore the screen must not scroll.
func (c *console) down(seq string) string {
	c.row++
	if c.saved {
		return seq
	}
	c.col = 1
	return "\n"
}

func (c *console) reply() {
	row, col := 1, c.col
	if c.corner {
		row, col = endlessRows, c.columns
	}
	c.corner = false
	c.replies = append(c.replies, fmt.Sprintf("\x1b[%d;%dR", row, col))
}

// room keeps rows free under the line, for what the library writes there.
func (c *console) room() {
	c.out.WriteString("\n\n\x1b[2A")
}

// close leaves the line as it was answered, text after the prompt, and nothing
// under it. After a resize nobody knows how the rows lie: then it goes no row
// up, so that nothing above can be lost.
func (c *console) close(text string) {
	climb := ""
	if c.row > 0 && terminal.Columns(c.out) == c.columns {
		climb = fmt.Sprintf("\x1b[%dA", c.row)
	}
	c.out.WriteString("\x1b[?25h\r" + climb + "\x1b[J" + prompt + terminal.CleanLine(text) + "\n")
}

// drop leaves the line as it stands, unanswered.
func (c *console) drop() {
	c.out.WriteString("\x1b[?25h\n\x1b[J")
}

// complete is what the library lists for what is typed so far. Rows that would
// wrap are left out; they stand on the screen above.
func (c *console) complete(completions []string) func(string) []string {
	return func(typed string) []string {
		var fit []string
		for _, s := range completions {
			clean := terminal.CleanLine(s) + s[len(strings.TrimRight(s, " ")):]
			if terminal.Completes(typed, clean) && terminal.Width(clean) < c.columns-4 {
				fit = append(fit, clean)
			}
		}
		c.listed = len(fit) > 1
		return fit
	}
}
