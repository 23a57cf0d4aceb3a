package terminal

import (
	"io"
	"os"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/term"
)

// Widths in columns: what is taken where nothing is known, the least that is
// laid out for, and the most that is comfortable to read.
const (
	usualWidth  = 80
	leastWidth  = 20
	widestLines = 78
)

// Streams is where the program reads and writes, with what is known about the
// other end. Results go to Out, prompts and messages to Err.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
	InTTY    bool // somebody types; else lines come from a file or a program
	OutTTY   bool
	Width    int // columns to fill; at most 78
}

// Open describes the streams of this process. Whatever is written to Out and
// Err passes Clean first, so that no text can reach a terminal's controls; where
// the locale isn't UTF-8, messages and what a terminal shows are put into ASCII.
func Open(in, out, err *os.File, env func(string) string) Streams {
	ascii := !hasUTF8(runtime.GOOS, env)
	tty := term.IsTerminal(int(out.Fd()))
	// A file has to be found again by what is said of it.
	given := beyondASCII(os.Args[1:])
	return Streams{
		In:     in,
		Out:    &filter{w: out, ascii: ascii && tty, named: given},
		Err:    &filter{w: err, ascii: ascii, named: given},
		InTTY:  term.IsTerminal(int(in.Fd())),
		OutTTY: tty,
		Width:  lineWidth(measured(err, out), env("COLUMNS")),
	}
}

// IsTerminal tells whether a person's terminal is at the other end of f.
func IsTerminal(f *os.File) bool { return term.IsTerminal(int(f.Fd())) }

// Repaints tells whether the surroundings allow text to be written over:
// ACCESSIBLE is the convention of command-line programs by which a screen
// reader's user asks for text that is never repainted. Goos names the operating
// system as the runtime does.
func Repaints(env func(string) string, goos string) bool {
	switch strings.ToLower(env("ACCESSIBLE")) {
	case "", "0", "false":
	default:
		return false
	}
	term := env("TERM")
	return goos != "windows" && env("MSYSTEM") == "" && term != "" && term != "dumb"
}

// Columns is the width of the terminal f as it is now, 0 where f is none.
func Columns(f *os.File) int { return measured(f) }

// Keep notes how the terminal f is set and returns what sets it so again.
func Keep(f *os.File) (restore func() error, err error) {
	state, err := term.GetState(int(f.Fd()))
	if err != nil {
		return nil, err
	}
	return func() error { return term.Restore(int(f.Fd()), state) }, nil
}

// measured is the width of the first of files that is a terminal, else 0.
func measured(files ...*os.File) int {
	for _, f := range files {
		if w, _, err := term.GetSize(int(f.Fd())); err == nil && w > 0 {
			return w
		}
	}
	return 0
}

// lineWidth chooses the columns to fill. The last column stays free: some
// terminals wrap when it is written.
func lineWidth(measured int, columns string) int {
	width := measured
	if width == 0 {
		width, _ = strconv.Atoi(columns)
	}
	if width <= 0 {
		width = usualWidth
	}
	return min(max(width-1, leastWidth), widestLines)
}

// hasUTF8 follows POSIX: the first of LC_ALL, LC_CTYPE and LANG that is set
// rules. Windows and macOS terminals speak UTF-8 without saying so.
func hasUTF8(goos string, env func(string) string) bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := strings.ToLower(env(name)); v != "" {
			return strings.Contains(v, "utf-8") || strings.Contains(v, "utf8")
		}
	}
	return goos == "windows" || goos == "darwin"
}

// filter is the last gate before a screen or a file.
type filter struct {
	w     io.Writer
	ascii bool
	named []string // stay as they are
	held  []byte   // the start of a character whose rest has not come yet
}

// Write cleans p and hands it on. It reports len(p) where all went well: the
// writer asked for p, not for its clean form.
func (f *filter) Write(p []byte) (int, error) {
	data := append(f.held, p...)
	keep := unfinished(data)
	f.held = append([]byte(nil), data[len(data)-keep:]...)
	text := Clean(string(data[:len(data)-keep]))
	if f.ascii {
		text = asciiBut(text, f.named)
	}
	if _, err := io.WriteString(f.w, text); err != nil {
		return 0, err
	}
	return len(p), nil
}

// beyondASCII are those of words that ASCII can't hold, the longest first and as
// they may be shown.
func beyondASCII(words []string) []string {
	var list []string
	for _, word := range words {
		if strings.IndexFunc(word, func(r rune) bool { return r > unicode.MaxASCII }) >= 0 {
			list = append(list, CleanLine(word))
		}
	}
	slices.SortStableFunc(list, func(a, b string) int { return len(b) - len(a) })
	return list
}

// asciiBut puts text into ASCII but for the words that are named.
func asciiBut(text string, named []string) string {
	for _, word := range named {
		if before, behind, found := strings.Cut(text, word); found {
			return asciiBut(before, named) + word + asciiBut(behind, named)
		}
	}
	return ASCII(text)
}

// rendition is the one escape that a dressed page may hold: SGR of ECMA-48,
// which sets how the characters behind it look and moves nothing.
var rendition = regexp.MustCompile(`\x1b\[[0-9;]{0,32}m`)

// WriteDressed writes a page to out that may set the look of its characters.
// All the rest of it is cleaned, and put into ASCII, as out does with any text.
func WriteDressed(out io.Writer, page string) error {
	ascii := false
	if f, ok := out.(*filter); ok {
		out, ascii = f.w, f.ascii
	}
	_, err := io.WriteString(out, cleanDressed(page, ascii))
	return err
}

func cleanDressed(page string, ascii bool) string {
	var b strings.Builder
	for page != "" {
		at := rendition.FindStringIndex(page)
		if at == nil {
			at = []int{len(page), len(page)}
		}
		text := Clean(page[:at[0]])
		if ascii {
			text = ASCII(text)
		}
		b.WriteString(text + page[at[0]:at[1]])
		page = page[at[1]:]
	}
	return b.String()
}

// unfinished is the number of bytes at the end of p that begin a character
// without finishing it.
func unfinished(p []byte) int {
	for n := 1; n < utf8.UTFMax && n <= len(p); n++ {
		if tail := p[len(p)-n:]; utf8.RuneStart(tail[0]) {
			if utf8.FullRune(tail) {
				return 0
			}
			return n
		}
	}
	return 0
}
