package strictyaml

import (
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"gopkg.in/yaml.v3"
)

// Write prints n as YAML that ParseYAML reads back to an equal tree: maps in
// block style, short maps inside lists on one line. An empty map or list of
// the document itself is written {} or []. Text must hold nothing that
// ParseYAML refuses.
func Write(n *Node) []byte {
	var w writer
	switch {
	case n.Kind == Map && len(n.Pairs) > 0:
		w.pairs(n, 0)
	case n.Kind == List && len(n.Items) > 0:
		w.items(n, 0)
	default:
		w.WriteString(oneLine(n) + "\n")
	}
	return []byte(w.String())
}

type writer struct{ strings.Builder }

// lineWidth is the length up to which a map is written on one line.
const lineWidth = 150

func (w *writer) indent(depth int) { w.WriteString(strings.Repeat("  ", depth)) }

func (w *writer) pairs(n *Node, depth int) {
	for i, p := range n.Pairs {
		if i > 0 {
			w.indent(depth)
		}
		w.WriteString(writeKey(p.Key) + ":")
		w.under(p.Value, depth)
	}
}

// under writes what stands after a colon.
func (w *writer) under(v *Node, depth int) {
	switch {
	case v.Kind == Map && len(v.Pairs) > 0 && !(v.Flow && fitsLine(v, depth)):
		w.WriteString("\n")
		w.indent(depth + 1)
		w.pairs(v, depth+1)
	case v.Kind == List && len(v.Items) > 0 && !(v.Flow && fitsLine(v, depth)):
		w.WriteString("\n")
		w.indent(depth + 1)
		w.items(v, depth+1)
	default:
		w.WriteString(" " + oneLine(v) + "\n")
	}
}

func (w *writer) items(n *Node, depth int) {
	for i, item := range n.Items {
		if i > 0 {
			w.indent(depth)
		}
		w.WriteString("- ")
		switch {
		case item.Kind == Map && len(item.Pairs) > 0 && !fitsLine(item, depth):
			w.pairs(item, depth+1)
		case item.Kind == List && len(item.Items) > 0 && !fitsLine(item, depth):
			w.items(item, depth+1)
		default:
			w.WriteString(oneLine(item) + "\n")
		}
	}
}

func fitsLine(n *Node, depth int) bool {
	return 2*depth+utf8.RuneCountInString(oneLine(n)) <= lineWidth
}

// oneLine writes n in flow style.
func oneLine(n *Node) string {
	switch n.Kind {
	case Null:
		return "null"
	case Scalar:
		return writeScalar(n)
	case Map:
		var parts []string
		for _, p := range n.Pairs {
			parts = append(parts, writeKey(p.Key)+": "+oneLine(p.Value))
		}
		return "{" + strings.Join(parts, ", ") + "}"
	}
	var parts []string
	for _, item := range n.Items {
		parts = append(parts, oneLine(item))
	}
	return "[" + strings.Join(parts, ", ") + "]"
}

func writeKey(key string) string {
	if bareWord.MatchString(key) && resolved(key) == "!!str" {
		return key
	}
	return quote(key)
}

func writeScalar(n *Node) string {
	if n.Type != Str {
		return n.Text
	}
	if (bareWord.MatchString(n.Text) || bareAmount.MatchString(n.Text)) && resolved(n.Text) == "!!str" {
		return n.Text
	}
	if bareDate.MatchString(n.Text) {
		return n.Text
	}
	return quote(n.Text)
}

// What may stand without quotes anywhere, also inside {}: words, amounts with
// their unit, dates. Everything else is quoted; nobody is hurt by a quote.
var (
	bareWord   = regexp.MustCompile(`^[\pL][\pL\pN_./%+-]*( [\pL\pN_./%+-]+)*$`)
	bareAmount = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)? [\pL%][\pL\pN@/%]*$`)
	bareDate   = regexp.MustCompile(`^[0-9]{4}-[0-9]{2}-[0-9]{2}$`)
)

// resolved tells what YAML takes an unquoted text for. The words that older
// readers took for truth values are never left bare.
func resolved(text string) string {
	switch strings.ToLower(text) {
	case "y", "n", "yes", "no", "on", "off":
		return "!!bool"
	}
	return (&yaml.Node{Kind: yaml.ScalarNode, Value: text}).ShortTag()
}

// quote writes a text in double quotes on one line.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case harmful(r):
			fmt.Fprintf(&b, `\U%08X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
