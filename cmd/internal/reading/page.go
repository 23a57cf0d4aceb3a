package reading

import (
	"io"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"dropwalk/cmd/internal/terminal"
)

// Options say for what a page is set.
type Options struct {
	Width int  // columns to fill
	Looks bool // set off headings, emphasis, code and addresses; see Looks
}

// Looks tells whether a page may be set off by looks: tty says that a terminal
// shows it, plain that the person asked for plain lines. NO_COLOR counts where
// it is set and not empty (no-color.org), ACCESSIBLE likewise. A terminal that
// doesn't say what it is, or says "dumb", gets plain text; those of Windows say
// so by WT_SESSION.
func Looks(tty, plain bool, env func(string) string) bool {
	if !tty || plain || env("NO_COLOR") != "" || env("ACCESSIBLE") != "" {
		return false
	}
	switch env("TERM") {
	case "dumb":
		return false
	case "":
		return env("WT_SESSION") != ""
	}
	return true
}

// Page sets Markdown in lines of at most o.Width columns. Without looks it is
// what terminal.Plain returns and holds no escape. With them it holds those
// that set the look of characters and no other, and each line ends in the
// usual look.
func Page(markdown string, o Options) string {
	if !o.Looks {
		return terminal.Plain(markdown, o.Width)
	}
	return terminal.Dressed(markdown, o.Width, dress)
}

// Write writes the page of markdown to out.
func Write(out io.Writer, markdown string, o Options) error {
	return terminal.WriteDressed(out, Page(markdown, o))
}

// dress puts looks on a part. Where the library doesn't show the very
// characters that the plain page holds, the part stays plain.
func dress(p terminal.Part) string {
	var found []ink
	for line := range strings.SplitSeq(p.Markdown, "\n") {
		styled, err := render(guarded(line), p.Level)
		if err != nil {
			return p.Text
		}
		found = append(found, inks(styled)...)
	}
	if text, ok := overlay(p, found); ok {
		return text
	}
	return p.Text
}

// ink is a character that can be seen, with the escapes that give it its look.
type ink struct {
	char rune
	look string
}

// reset brings back the usual look.
const reset = "\x1b[0m"

var look = regexp.MustCompile(`^\x1b\[[0-9;]*m`)

// inks lists the visible characters of styled text.
func inks(styled string) []ink {
	var list []ink
	now := ""
	for styled != "" {
		if m := look.FindString(styled); m != "" {
			now += m
			if m == reset || m == "\x1b[m" {
				now = ""
			}
			styled = styled[len(m):]
			continue
		}
		r, size := utf8.DecodeRuneInString(styled)
		if !unicode.IsSpace(r) {
			list = append(list, ink{r, now})
		}
		styled = styled[size:]
	}
	return list
}

// overlay gives the characters of p.Text the looks of found. It is false where
// found holds other characters than the text, blanks aside.
func overlay(p terminal.Part, found []ink) (string, bool) {
	var b strings.Builder
	prefix := p.First
	for line := range strings.Lines(p.Text) {
		body := strings.TrimPrefix(line, prefix)
		if len(body) == len(line) { // a line that holds nothing else lost its last blank
			body = strings.TrimPrefix(line, strings.TrimRight(prefix, " "))
		}
		b.WriteString(line[:len(line)-len(body)])
		rest, ok := paint(&b, body, found)
		if !ok {
			return "", false
		}
		found, prefix = rest, p.Rest
	}
	return b.String(), len(found) == 0
}

// paint writes one line with the looks of found and returns what is left of
// found. A blank has the look of its neighbours where both have the same.
func paint(b *strings.Builder, line string, found []ink) ([]ink, bool) {
	now := ""
	turn := func(to string) {
		if now != to && now != "" {
			b.WriteString(reset)
		}
		if now != to {
			b.WriteString(to)
		}
		now = to
	}
	for _, r := range line {
		switch {
		case r == '\n':
			turn("")
		case unicode.IsSpace(r):
			if len(found) == 0 || found[0].look != now {
				turn("")
			}
		case len(found) == 0 || found[0].char != r:
			return nil, false
		default:
			turn(found[0].look)
			found = found[1:]
		}
		b.WriteRune(r)
	}
	turn("")
	return found, true
}
