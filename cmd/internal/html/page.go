// Package html makes one page for a browser, and for paper, of a Markdown text.
// The page needs nothing but itself: it holds no script, loads nothing, and says
// so to the browser, which then refuses both. Markup in the text is text.
//
// Start with Page. The Markdown library is used here only.
package html

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	stdhtml "html"
	"reflect"
	"slices"
	"strings"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	table "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/renderer"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// Options are what a page is made of beside its text.
type Options struct {
	// Images stand in place of the blocks of code of that language; each is one
	// element of SVG, put in as it is.
	Images map[string]string
	// Marks stand in place of code within a line that is this very text; each is
	// one element of HTML, put in as it is.
	Marks map[string]string
	Style string // CSS of the images and marks
	// Large is type on a wide screen that people read from 4 m: on one of 1280 pixels
	// a line is 28 pixels high, which is 20 minutes of arc and more where the picture
	// is 1.5 m wide (the least that ISO 9241-303 recommends, from memory).
	Large bool
}

//go:embed page.css
var style string

//go:embed large.css
var large string

// Page makes a page of Markdown: headings, paragraphs, lists, tables, code,
// emphasis, links. Its title is that of its first heading.
func Page(markdown string, o Options) ([]byte, error) {
	source := []byte(markdown)
	md := goldmark.New(
		goldmark.WithParser(textParser()),
		goldmark.WithExtensions(extension.NewTable(extension.WithTableCellAlignMethod(extension.TableCellAlignNone))),
		goldmark.WithRendererOptions(renderer.WithNodeRenderers(util.Prioritized(&special{o.Images, o.Marks}, 100))),
	)
	tree := md.Parser().Parse(text.NewReader(source))
	labelCells(tree, source)
	var body bytes.Buffer
	if err := md.Renderer().Render(&body, source, tree); err != nil {
		return nil, fmt.Errorf("the page can't be made: %w", err)
	}
	css := style + o.Style
	if o.Large {
		css += large
	}
	var page bytes.Buffer
	fmt.Fprintf(&page, frame, policy(css), stdhtml.EscapeString(title(tree, source)), css)
	page.Write(body.Bytes())
	page.WriteString("</main>\n</body>\n</html>\n")
	return page.Bytes(), nil
}

const frame = `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="%s">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<title>%s</title>
<style>%s</style>
</head>
<body>
<main>
`

// policy allows this very style and nothing else.
func policy(css string) string {
	sum := sha256.Sum256([]byte(css))
	return "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; base-uri 'none'; form-action 'none'"
}

// textParser is the usual one without HTML and without addresses in angle
// brackets, of which any could be a script: what looks like them is text.
func textParser() parser.Parser {
	kept := func(list []util.PrioritizedValue, without ...any) []util.PrioritizedValue {
		return slices.DeleteFunc(list, func(v util.PrioritizedValue) bool {
			return slices.ContainsFunc(without, func(x any) bool { return reflect.TypeOf(x) == reflect.TypeOf(v.Value) })
		})
	}
	return parser.NewParser(
		parser.WithBlockParsers(kept(parser.DefaultBlockParsers(), parser.NewHTMLBlockParser())...),
		parser.WithInlineParsers(kept(parser.DefaultInlineParsers(), parser.NewRawHTMLParser(), parser.NewAutoLinkParser())...),
		parser.WithParagraphTransformers(parser.DefaultParagraphTransformers()...),
	)
}

// title is the text of the first heading.
func title(tree ast.Node, source []byte) string {
	for n := tree.FirstChild(); n != nil; n = n.NextSibling() {
		if n.Kind() == ast.KindHeading {
			return words(n, source)
		}
	}
	return "Report"
}

// words is the text of a node without its marks.
func words(n ast.Node, source []byte) string {
	var b strings.Builder
	_ = ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) { // the function never fails
		if t, ok := n.(*ast.Text); ok && entering {
			b.Write(util.UnescapePunctuations(util.ResolveEntityNames(util.ResolveNumericReferences(t.Segment.Value(source)))))
			if t.SoftLineBreak() || t.HardLineBreak() {
				b.WriteByte(' ')
			}
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}

// labelCells gives each cell the heading of its column, which shows where a
// narrow screen turns rows into lists; and says in so many words what is a
// table, because such a list is none to a browser.
func labelCells(tree ast.Node, source []byte) {
	_ = ast.Walk(tree, func(n ast.Node, entering bool) (ast.WalkStatus, error) { // the function never fails
		t, ok := n.(*table.Table)
		if !ok || !entering {
			return ast.WalkContinue, nil
		}
		t.SetAttributeString("role", "table")
		var heads []string
		for row := t.FirstChild(); row != nil; row = row.NextSibling() {
			role := "cell"
			if row.Kind() == table.KindTableHeader {
				role = "columnheader"
			} else {
				row.SetAttributeString("role", "row")
			}
			i := 0
			for cell := row.FirstChild(); cell != nil; cell = cell.NextSibling() {
				if role == "columnheader" {
					heads = append(heads, words(cell, source))
				}
				labelCell(cell, role, heads, i)
				i++
			}
		}
		return ast.WalkSkipChildren, nil
	})
}

func labelCell(cell ast.Node, role string, heads []string, i int) {
	cell.SetAttributeString("role", role)
	if role == "cell" && i < len(heads) {
		cell.SetAttributeString("data-label", []byte(heads[i]))
	}
	if c, ok := cell.(*table.TableCell); ok && c.Alignment == table.AlignRight {
		cell.SetAttributeString("class", "number")
	}
}

// special renders what differs from the usual: pictures, marks, and images, which
// would have to be loaded.
type special struct{ images, marks map[string]string }

// RegisterFuncs implements renderer.NodeRenderer.
func (s *special) RegisterFuncs(r renderer.NodeRendererFuncRegisterer) {
	r.Register(ast.KindFencedCodeBlock, s.block)
	r.Register(ast.KindImage, s.image)
	r.Register(ast.KindCodeSpan, s.code)
}

func (s *special) block(w util.BufWriter, source []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		return ast.WalkContinue, nil
	}
	info := ""
	if b := n.(*ast.FencedCodeBlock); b.Info != nil {
		info = string(b.Info.Segment.Value(source))
	}
	if svg, ok := s.images[info]; ok {
		fmt.Fprintf(w, "<figure>%s</figure>\n", svg)
		return ast.WalkSkipChildren, nil
	}
	var code bytes.Buffer
	for i := range n.Lines().Len() {
		line := n.Lines().At(i)
		code.Write(line.Value(source))
	}
	fmt.Fprintf(w, "<pre><code>%s</code></pre>\n", stdhtml.EscapeString(code.String()))
	return ast.WalkSkipChildren, nil
}

func (s *special) code(w util.BufWriter, source []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		return ast.WalkContinue, nil
	}
	text := ""
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		if t, ok := c.(*ast.Text); ok {
			text += strings.ReplaceAll(string(t.Segment.Value(source)), "\n", " ")
		}
	}
	if mark, ok := s.marks[text]; ok {
		_, _ = w.WriteString(mark) // a fault of the buffer shows when it is flushed
		return ast.WalkSkipChildren, nil
	}
	fmt.Fprintf(w, "<code>%s</code>", stdhtml.EscapeString(text))
	return ast.WalkSkipChildren, nil
}

func (s *special) image(w util.BufWriter, source []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if entering {
		fmt.Fprintf(w, "picture: %s", stdhtml.EscapeString(words(n, source)))
	}
	return ast.WalkSkipChildren, nil
}
