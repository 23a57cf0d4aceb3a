package reading

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"github.com/charmbracelet/glamour"
	"github.com/charmbracelet/glamour/ansi"
)

// codeColour is one of the few of the 256 colours that read well on black and
// on white (see TestColourOnBothGrounds); themes leave it alone.
const codeColour = "163"

// style sets off by weight and line, which need no colour. There is no margin,
// no mark and no text in it: what is on the page is up to terminal.
func style() ansi.StyleConfig {
	on, colour := true, codeColour
	var s ansi.StyleConfig
	s.Heading.Bold = &on
	s.Strong.Bold = &on
	s.Emph.Italic = &on
	s.Code.Color = &colour
	s.Link.Underline = &on
	return s
}

// renderer is made at the first page that needs it and then used for all. It
// wraps nothing, so one does for every width.
var renderer = sync.OnceValues(func() (*glamour.TermRenderer, error) {
	return glamour.NewTermRenderer(looksOptions()...)
})

// looksOptions name the style themselves: the library's automatic one would
// ask the terminal.
func looksOptions() []glamour.TermRendererOption {
	return []glamour.TermRendererOption{glamour.WithStyles(style()), glamour.WithWordWrap(0)}
}

var rendering sync.Mutex // the renderer holds the state of one text

// render returns one line of Markdown with its looks, as a heading of level 1
// to 6 or as prose. A page is more than its looks: where the library breaks
// down, that is an error like any other.
func render(line string, level int) (styled string, err error) {
	rendering.Lock()
	defer rendering.Unlock()
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("looks of %q: %v", line, r)
		}
	}()
	r, err := renderer()
	if err != nil {
		return "", err
	}
	if level > 0 {
		line = strings.Repeat("#", level) + " " + line
	}
	return r.Render(line)
}

var (
	// piece finds what the library would read as more than terminal.Plain does:
	// code, characters behind a backslash, links, addresses and named characters
	// that both know, then single characters.
	piece = regexp.MustCompile("`[^`]+`" +
		"|\\\\[!-/:-@\\[-`{-~]" +
		`|!?\[[^\]]*\]\([^()\s]+\)` +
		"|https?://[^\\s<>()\\[\\]`*]+" +
		`|&(?:lt|gt|amp|quot|nbsp);|__` +
		`|[<&~\[\]_\\]`)
	linked  = regexp.MustCompile(`^(!?)\[([^\]]*)\]\(([^()\s]+)\)$`)
	opening = regexp.MustCompile(`^\s*(?:[#>+=|-]|\d+[.)])`)
)

// guarded writes line so that the library shows the characters that
// terminal.Plain shows: what would be HTML, a reference to a character, a
// footnote, struck text or the start of another block is plain text.
func guarded(line string) string {
	line = piece.ReplaceAllStringFunc(line, func(m string) string {
		switch {
		case m[0] == '`', m == "__", strings.HasPrefix(m, "http"), m[0] == '&' && len(m) > 1:
			return m
		case linked.MatchString(m):
			return printed(linked.FindStringSubmatch(m))
		case len(m) == 2: // behind a backslash
			return reference(m[1])
		}
		return reference(m[0])
	})
	return opening.ReplaceAllStringFunc(line, func(m string) string {
		return m[:len(m)-1] + reference(m[len(m)-1])
	})
}

// printed is a link as terminal.Plain prints it: its words, then its address.
func printed(m []string) string {
	address := m[3]
	if !strings.HasPrefix(address, "http") {
		address = spelt(address)
	}
	switch {
	case m[2] == m[3]:
		return address
	case m[1] != "":
		return "picture: " + guarded(m[2]) + " (" + address + ")"
	}
	return guarded(m[2]) + " (" + address + ")"
}

// spelt writes the punctuation of s as references, so that none of it is a mark.
func spelt(s string) string {
	var b strings.Builder
	for _, r := range s {
		if r < 0x80 && strings.ContainsRune("!\"#$%&'()*+,-./:;<=>?@[\\]^_`{|}~", r) {
			b.WriteString(reference(byte(r)))
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}

func reference(c byte) string { return "&#" + strconv.Itoa(int(c)) + ";" }
