package html

import (
	"crypto/sha256"
	"encoding/base64"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

func page(t *testing.T, markdown string, o Options) string {
	t.Helper()
	out, err := Page(markdown, o)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

var body = regexp.MustCompile(`(?s)<main>\n(.*)</main>`)

// in is the part of a page that comes from the text.
func in(t *testing.T, page string) string {
	t.Helper()
	m := body.FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("the page has no main part:\n%s", page)
	}
	return m[1]
}

func TestPageParts(t *testing.T) {
	text := "# A *good* `x` &amp; b\n\nA **word**.\n\n- one\n  - two\n\n```picture bars\n#### \n```\n\n```\na < b\n```\n"
	got := page(t, text, Options{Images: map[string]string{"picture bars": `<svg role="img"></svg>`}, Style: ".x{}"})
	for _, want := range []string{
		"<!DOCTYPE html>\n<html lang=\"en\">", "<title>A good x &amp; b</title>", `<meta charset="utf-8">`, `<meta name="viewport"`,
		"<strong>word</strong>", "<figure><svg role=\"img\"></svg></figure>", "<pre><code>a &lt; b\n</code></pre>", ".x{}</style>",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("the page lacks %q:\n%s", want, in(t, got))
		}
	}
	if strings.Contains(got, "####") {
		t.Error("the bars of characters are still there")
	}
	if got := page(t, "no heading", Options{}); !strings.Contains(got, "<title>Report</title>") {
		t.Errorf("the title of a text without heading is missing:\n%s", got)
	}
}

// The browser is told to run and load nothing but this very style.
func TestPolicyFitsTheStyle(t *testing.T) {
	got := page(t, "# a", Options{Style: ".b{}"})
	css := regexp.MustCompile(`(?s)<style>(.*)</style>`).FindStringSubmatch(got)[1]
	sum := sha256.Sum256([]byte(css))
	want := `content="default-src 'none'; style-src 'sha256-` + base64.StdEncoding.EncodeToString(sum[:]) + `'; base-uri 'none'; form-action 'none'"`
	if !strings.Contains(got, want) {
		t.Errorf("the policy isn't\n%s", want)
	}
	if strings.Contains(css, "url(") || strings.Contains(css, "@import") {
		t.Error("the style loads something")
	}
}

// Whatever a text holds, no script, address to load, handler or style comes out
// of it, and nothing that can be read is lost.
func TestHostileText(t *testing.T) {
	bad := regexp.MustCompile(`(?i)<(script|style|img|iframe|link|object|embed|svg|form|input|base|meta)|<[^>"]*(?:"[^"]*"[^>"]*)*\s(on\w+|style|src)=|href="(javascript|data|vbscript)`)
	for _, text := range []string{
		"<script>alert(1)</script>", "# <script>alert(1)</script>", "a <b onclick=x>bold</b> c", "<style>*{}</style>\n\n<div>\nx\n</div>", "<!-- gone -->",
		"![a](http://a.example/x.png)", "[a](javascript:alert(1))", "[a](JaVaScRiPt:alert(1))", "[a](data:text/html,x)", "<javascript:alert(1)>",
		"| <img src=x onerror=y> | b |\n|---|---|\n| \" onload=\"x | <td onclick=x> |", "```picture other\n<svg onload=x>\n```", "```<script>\nx\n```",
		"&#60;script&#62;alert(1)&#60;/script&#62;", "&lt;script&gt;", "[a][b]\n\n[b]: javascript:alert(1) \"x\"", "</main></body><script>x</script>", "]]> --> \x00 \u202e",
	} {
		got := page(t, text, Options{})
		if m := bad.FindString(in(t, got)); m != "" {
			t.Errorf("%q becomes %q:\n%s", text, m, in(t, got))
		}
		head, _, _ := strings.Cut(got, "<main>")
		if n := strings.Count(head, "<title>") + strings.Count(head, "<style>"); n != 2 {
			t.Errorf("%q: the head has %d titles and styles:\n%s", text, n, head)
		}
		for word := range strings.FieldsSeq("alert bold gone") {
			if strings.Contains(text, word) && !strings.Contains(text, "](") && !strings.Contains(text, "]: ") && !strings.Contains(got, word) {
				t.Errorf("%q has lost %q:\n%s", text, word, in(t, got))
			}
		}
	}
}

// A table says what it is, and each cell what its column is called, so that a
// narrow screen can show a row as a list.
func TestTablesFold(t *testing.T) {
	got := in(t, page(t, "| run | value, *inH2O* |\n|---:|---|\n| 1 | a \\| b |\n| 2 |  |\n", Options{}))
	for _, want := range []string{`<table role="table">`, `<th role="columnheader" class="number">run</th>`, `<tr role="row">`,
		`<td role="cell" data-label="run" class="number">1</td>`, `<td role="cell" data-label="value, inH2O">a | b</td>`, `<td role="cell" data-label="value, inH2O"></td>`} {
		if !strings.Contains(got, want) {
			t.Errorf("the table lacks %q:\n%s", want, got)
		}
	}
	if strings.Contains(got, "style=") {
		t.Errorf("the table has a style of its own, which the policy refuses:\n%s", got)
	}
}

// reports are the texts of every kind of report.
func reports(t *testing.T) map[string]string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "..", "..", "advice", "report", "testdata", "*.md"))
	if err != nil || len(files) < 20 {
		t.Fatalf("only %d reports: %v", len(files), err)
	}
	all := map[string]string{}
	for _, f := range files {
		src, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		all[filepath.Base(f)] = string(src)
	}
	return all
}

var (
	heading = regexp.MustCompile(`<h([1-6])>`)
	tag     = regexp.MustCompile(`<[^>]*>`)
	mark    = regexp.MustCompile("(?m)^#+ |^ *- |^\\|[-|:]+\\|$|[*`\\\\|]")
	entity  = strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&", "&quot;", `"`, "&#34;", `"`, "&#39;", "'")
)

// Headings of a report follow each other without a gap, and every word of its
// text is on the page, in the same order.
func TestReportsArriveWhole(t *testing.T) {
	for name, text := range reports(t) {
		got := in(t, page(t, text, Options{}))
		level := 0
		for _, m := range heading.FindAllStringSubmatch(got, -1) {
			next, _ := strconv.Atoi(m[1])
			if next > level+1 {
				t.Errorf("%s: a heading of level %d follows one of level %d", name, next, level)
			}
			level = next
		}
		seen := strings.Fields(entity.Replace(tag.ReplaceAllString(got, " ")))
		written := strings.Fields(entity.Replace(mark.ReplaceAllString(text, " ")))
		// Tags stand between words and marks inside them, so only the characters count.
		if a, b := strings.Join(seen, ""), strings.Join(written, ""); a != b {
			i := 0
			for i < min(len(a), len(b)) && a[i] == b[i] {
				i++
			}
			t.Errorf("%s: the page says %q where the text says %q", name, a[i:min(len(a), i+60)], b[i:min(len(b), i+60)])
		}
	}
}

// What is read has a contrast of 4.5 at the least, by day and by night (WCAG
// 2.1, 1.4.3).
func TestContrast(t *testing.T) {
	schemes := regexp.MustCompile(`:root\{([^}]*)\}`).FindAllStringSubmatch(style, -1)
	if len(schemes) != 2 {
		t.Fatalf("%d colour schemes, want a light and a dark one", len(schemes))
	}
	for _, m := range schemes {
		of := map[string]float64{}
		for pair := range strings.SplitSeq(m[1], ";") {
			name, value, _ := strings.Cut(strings.TrimPrefix(pair, "--page-"), ":")
			of[name] = luminance(t, value)
		}
		for _, ink := range []string{"ink", "faint", "link"} {
			for _, ground := range []string{"ground", "band"} {
				c := (max(of[ink], of[ground]) + 0.05) / (min(of[ink], of[ground]) + 0.05)
				if c < 4.5 {
					t.Errorf("%s on %s: contrast %.2f, want at least 4.5", ink, ground, c)
				}
			}
		}
	}
}

// luminance is the relative luminance of WCAG 2.1.
func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	v, err := strconv.ParseUint(strings.TrimPrefix(colour, "#"), 16, 32)
	if err != nil || len(colour) != 7 {
		t.Fatalf("colour %q", colour)
	}
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		x := float64(v>>(16-8*i)&255) / 255
		if x <= 0.03928 {
			x /= 12.92
		} else {
			x = math.Pow((x+0.055)/1.055, 2.4)
		}
		sum += weight * x
	}
	return sum
}

// Dark colours are for screens: paper stays white.
func TestPaperIsLight(t *testing.T) {
	for _, line := range strings.Split(style, "\n") {
		if strings.Contains(line, "prefers-color-scheme") && !strings.Contains(line, "screen") {
			t.Errorf("%q reaches paper", line)
		}
	}
	if !slices.ContainsFunc(strings.Split(style, "\n"), func(l string) bool { return strings.Contains(l, "table,figure,tr{break-inside:avoid}") }) {
		t.Error("tables and pictures are cut between sheets")
	}
}

func BenchmarkPage(b *testing.B) {
	src, err := os.ReadFile(filepath.Join("..", "..", "..", "advice", "report", "testdata", "attack.report.md"))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Page(string(src), Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// Code within a line that is a mark becomes what the mark stands for; any other
// code stays text.
func TestMarks(t *testing.T) {
	got := in(t, page(t, "# a\n\n- `[ ]` one `<b>` and `[x]`\n", Options{Marks: map[string]string{"[ ]": `<span class="box"></span>`}}))
	if want := `<li><span class="box"></span> one <code>&lt;b&gt;</code> and <code>[x]</code></li>`; !strings.Contains(got, want) {
		t.Errorf("the marks came to %s, want %s", got, want)
	}
}
