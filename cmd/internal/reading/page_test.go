package reading

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"dropwalk/cmd/internal/terminal"
)

var sgr = regexp.MustCompile(`\x1b\[[0-9;]*m`)

// shown is what a person sees of a page.
func shown(page string) string { return sgr.ReplaceAllString(page, "") }

func TestPage(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"heading", "## Losses here\n", "\x1b[1mLosses here\x1b[0m\n-----------\n"},
		{"weight, stress and code", "a **strong b** and *mild* and `dropwalk help`",
			"a \x1b[1mstrong b\x1b[0m and \x1b[3mmild\x1b[0m and\n\x1b[38;5;163mdropwalk help\x1b[0m\n"},
		{"looks end with the line and go on behind the indent", "- a list has `words that run` on",
			"- a list has \x1b[38;5;163mwords that\x1b[0m\n  \x1b[38;5;163mrun\x1b[0m on\n"},
		{"quote", "> mind **this one now**\n> well", "  | mind \x1b[1mthis one now\x1b[0m\n  | well\n"},
		{"address", "see https://a.example/b_c?d", "see\n\x1b[4mhttps://a.example/b_c?d\x1b[0m\n"},
		{"link prints its address", "see [the sheet](docs/x.md)", "see the sheet\n(docs/x.md)\n"},
		{"picture keeps its own path", "![path](docs/x.png)", "picture: path\n(docs/x.png)\n"},
		{"what looks like HTML stays", "if dp <limit and rpm> 3000 stop", "if dp <limit and rpm>\n3000 stop\n"},
		{"comment stays", "a <!-- b --> c", "a <!-- b --> c\n"},
		{"element stays", "<div>text</div>\nmore", "<div>text</div> more\n"},
		{"two blanks break", "**a**  \nb", "\x1b[1ma\x1b[0m\nb\n"},
		{"backslash breaks", "**a**\\\nb", "\x1b[1ma\x1b[0m\nb\n"},
		{"tilde stays", "**H~2~O** ~~x~~", "\x1b[1mH~2~O\x1b[0m ~~x~~\n"},
		{"no footnote", "text[^1] **b**\n\n[^1]: foot", "text[^1] \x1b[1mb\x1b[0m\n\n[^1]: foot\n"},
		{"no task box", "- [x] **b**", "- [x] \x1b[1mb\x1b[0m\n"},
		{"no other block", "- 5. **b**\n- # **c**", "- 5. \x1b[1mb\x1b[0m\n- # \x1b[1mc\x1b[0m\n"},
		{"minus stays with its number", "the loss falls by **-3.2** kPa", "the loss falls by \x1b[1m-3.2\x1b[0m\nkPa\n"},
		{"named characters", "**a** &lt; b &amp; c &deg;", "\x1b[1ma\x1b[0m < b & c &deg;\n"},
		{"backslash keeps a mark", `**a** \* \_ \<b>`, "\x1b[1ma\x1b[0m * _ <b>\n"},
		{"where the library shows something else", "**a** x@b.example", "a x@b.example\n"},
		{"lines of a paragraph join", "one **line**\nand the next", "one \x1b[1mline\x1b[0m and the next\n"},
		{"footnote of its own", "x[^note] **b**", "x[^note] \x1b[1mb\x1b[0m\n"},
		{"a bound keeps its sign", "reads **<5** or >25 inH2O", "reads \x1b[1m<5\x1b[0m or >25 inH2O\n"},
		{"a table that escapes its bars", "|a|b|\n|-|-|\n|x \\| y|**z**|\n", "a      b\n-----  -\nx | y  z\n"},
		{"empty", "", ""},
	}
	for _, tt := range tests {
		if diff := cmp.Diff(tt.want, Page(tt.in, Options{Width: 24, Looks: true})); diff != "" {
			t.Errorf("%s: Page(%q) differs (-want +got):\n%s", tt.name, tt.in, diff)
		}
	}
}

// Escapes and references to control characters, in every place of a page.
func TestPageHostile(t *testing.T) {
	for _, evil := range []string{
		"\x1b[2J", "\x1b]0;title\a", "\x1b]8;;http://x.example\x1b\\", "\u009b2J", "\r", "\b", "\x1b[8m",
		"&#27;[2J", "&#x1b;[8m", "&#X1B;]0;t&#7;", "&#155;2J", "&#x9b;2J", "&#8;", "&#0;", "&bel;", "&amp;#27;[2J", "&NewLine;", "&ZeroWidthSpace;",
	} {
		for _, frame := range []string{"X", "# X", "**a X**", "`X`", "`` X ``", "[X](X)", "![X](b)", "https://a.example/X", "<X>", "- X", "> X", "```\nX\n```", "    X", "|X|b|\n|-|-|\n|c|X|\n", `\X`, "**X", "<b title=X>"} {
			in := strings.ReplaceAll(frame, "X", evil)
			page := Page(in, Options{Width: 40, Looks: true})
			for _, m := range sgr.FindAllString(page, -1) {
				if m != reset && m != "\x1b[1m" && m != "\x1b[3m" && m != "\x1b[4m" && m != "\x1b[38;5;163m" {
					t.Errorf("Page(%q) holds the look %q, which is none of ours", in, m)
				}
			}
			if got, want := shown(page), terminal.Clean(shown(page)); got != want {
				t.Errorf("Page(%q) shows %q, want it clean: %q", in, got, want)
			}
			if got, want := shown(page), terminal.Plain(in, 40); got != want {
				t.Errorf("Page(%q) shows %q, want %q", in, got, want)
			}
		}
	}
}

const table = "| component | Value (inH2O) | chance |\n|---|---:|---|\n| snorkel with **elbow** | 12.5 | 81 % |\n"

// A table that doesn't fit becomes lists: no heading is cut, so no unit is
// lost, and no number is split.
func TestPageTable(t *testing.T) {
	for width, want := range map[int]string{
		20: "component: snorkel\n    with elbow\n  Value (inH2O):\n    12.5\n  chance: 81 %\n",
		39: "component: snorkel with elbow\n  Value (inH2O): 12.5\n  chance: 81 %\n",
		60: "component           Value (inH2O)  chance\n" +
			"------------------  -------------  ------\n" +
			"snorkel with elbow           12.5  81 %\n",
	} {
		if diff := cmp.Diff(want, Page(table, Options{Width: width, Looks: true})); diff != "" {
			t.Errorf("at %d columns the table differs (-want +got):\n%s", width, diff)
		}
	}
}

// pages are the topics of the help, as they are shipped, and examples of every
// kind of report.
func pages(t *testing.T) []string {
	t.Helper()
	list := []string{table}
	for _, pattern := range []string{
		filepath.Join("..", "cli", "help", "*.md"),
		filepath.Join("..", "..", "..", "advice", "report", "testdata", "*.md"),
	} {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) < 3 {
			t.Fatalf("%s: only %d pages: %v", pattern, len(files), err)
		}
		for _, f := range files {
			src, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, string(src))
		}
	}
	return list
}

// Without its looks, a page is the plain page, at every width; no line is
// filled up with blanks, wider than it may be, or leaves its look switched on.
func TestPageIsThePlainPage(t *testing.T) {
	dressed := 0
	for _, src := range pages(t) {
		for _, width := range []int{20, 39, 78} {
			page := Page(src, Options{Width: width, Looks: true})
			dressed += strings.Count(page, reset)
			if diff := cmp.Diff(terminal.Plain(src, width), shown(page)); diff != "" {
				t.Errorf("at %d columns the page differs from the plain one (-plain +page):\n%s", width, diff)
			}
			for line := range strings.Lines(page) {
				line = strings.TrimSuffix(line, "\n")
				if seen := shown(line); strings.TrimRight(seen, " ") != seen {
					t.Errorf("line %q ends in blanks", line)
				} else if w := terminal.Width(seen); w > width && !strings.HasPrefix(seen, "    ") {
					t.Errorf("line %q is %d columns wide, want at most %d", line, w, width)
				}
				if i := strings.LastIndex(line, "\x1b["); i >= 0 && !strings.HasPrefix(line[i:], reset) {
					t.Errorf("line %q ends in the look %q, want the usual one", line, line[i:])
				}
			}
		}
	}
	if dressed < 100 {
		t.Errorf("only %d looks on all pages, want at least 100: nothing is set off", dressed)
	}
}

func TestPageWithoutLooks(t *testing.T) {
	for _, src := range pages(t) {
		got := Page(src, Options{Width: 60})
		if strings.Contains(got, "\x1b") || strings.Contains(got, "**") || got != terminal.Plain(src, 60) {
			t.Errorf("page without looks = %q, want the plain page", got)
		}
	}
}

func TestLooks(t *testing.T) {
	tests := []struct {
		name       string
		tty, plain bool
		env        string // NAME=value, blanks between
		want       bool
	}{
		{"terminal", true, false, "TERM=xterm-256color", true},
		{"no terminal", false, false, "TERM=xterm-256color", false},
		{"--plain", true, true, "TERM=xterm-256color", false},
		{"NO_COLOR", true, false, "TERM=xterm NO_COLOR=1", false},
		{"NO_COLOR, but empty", true, false, "TERM=xterm NO_COLOR=", true},
		{"ACCESSIBLE", true, false, "TERM=xterm ACCESSIBLE=1", false},
		{"dumb", true, false, "TERM=dumb", false},
		{"unknown", true, false, "", false},
		{"terminal of Windows", true, false, "WT_SESSION=1", true},
		{"style of the library is not asked for", true, false, "TERM=xterm GLAMOUR_STYLE=nonsense", true},
	}
	for _, tt := range tests {
		env := func(name string) string {
			for _, pair := range strings.Fields(tt.env) {
				if n, v, _ := strings.Cut(pair, "="); n == name {
					return v
				}
			}
			return ""
		}
		if got := Looks(tt.tty, tt.plain, env); got != tt.want {
			t.Errorf("%s: Looks = %t, want %t", tt.name, got, tt.want)
		}
	}
}

func TestWrite(t *testing.T) {
	var b bytes.Buffer
	if err := Write(&b, "a **b\u202ec**\x1b[2J", Options{Width: 40, Looks: true}); err != nil {
		t.Fatal(err)
	}
	if got, want := b.String(), "a \x1b[1mbc\x1b[0m\n"; got != want {
		t.Errorf("written %q, want %q", got, want)
	}
}

// The colour of code reads on black and on white: a contrast of 4.5 is what
// WCAG 2.1, 1.4.3, asks of text, by its definition of relative luminance. Of
// the 256 colours, 16 to 231 are 16 + 36r + 6g + b with the steps below (as in
// xterm's 256colres.pl, from memory).
func TestColourOnBothGrounds(t *testing.T) {
	n, err := strconv.Atoi(codeColour)
	if err != nil || n < 16 || n > 231 {
		t.Fatalf("colour of code = %q, want one of 16 to 231", codeColour)
	}
	linear := func(step int) float64 {
		c := []float64{0, 95, 135, 175, 215, 255}[step] / 255
		if c <= 0.03928 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	n -= 16
	luminance := 0.2126*linear(n/36) + 0.7152*linear(n/6%6) + 0.0722*linear(n%6)
	for ground, contrast := range map[string]float64{
		"black": (luminance + 0.05) / 0.05,
		"white": 1.05 / (luminance + 0.05),
	} {
		if contrast < 4.5 {
			t.Errorf("contrast on %s = %.2f, want at least 4.5", ground, contrast)
		}
	}
}

// A text of the user can't bring a page to a halt: looks cost little more than
// the text is long.
func TestPageLong(t *testing.T) {
	src := strings.Repeat("- a **strong** word, `code` and [a link](x.md) <here\n", 2000)
	start := time.Now()
	if got, want := shown(Page(src, Options{Width: 78, Looks: true})), terminal.Plain(src, 78); got != want {
		t.Error("a long page differs from the plain one")
	}
	if took := time.Since(start); took > 20*time.Second {
		t.Errorf("a page of 2000 items took %v", took)
	}
}

func FuzzPage(f *testing.F) {
	for _, s := range []string{"# a", "**a** `b` *c* <d &#27;[2J", "[a](b) ![c](d)", "> - 1. x", "a\\\nb  \nc", "|a|b|\n|-|-|\n|c|d|", "__a__ ~~b~~ www.a.example x@b.example"} {
		f.Add(s, 30)
	}
	f.Fuzz(func(t *testing.T, src string, width int) {
		width = 20 + abs(width)%60
		page := Page(src, Options{Width: width, Looks: true})
		if got, want := shown(page), terminal.Plain(src, width); got != want {
			t.Errorf("Page(%q) at %d shows %q, want %q", src, width, got, want)
		}
	})
}

func abs(n int) int {
	if n < 0 {
		return -(n + 1)
	}
	return n
}
