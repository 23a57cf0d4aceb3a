package strictyaml

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"
)

// ParseYAML reads one YAML document. Lines are counted from firstLine, which is
// 1 for a whole file. The node is nil where the text can't be read at all; it
// may be there beside faults, so that a Shape can find more. An empty text is a
// Null node.
func ParseYAML(file string, src []byte, firstLine int) (*Node, Faults) {
	a := at{file, firstLine, 1}
	src, fs := prepare(a, src, true)
	if len(fs) > 0 {
		return nil, fs
	}
	doc, err := decode(src)
	if err != nil {
		return nil, Faults{syntaxFault(a, src, err)}
	}
	t := &treeMaker{at: a, lines: splitLines(string(src))}
	n := &Node{Kind: Null, Line: firstLine, Col: 1}
	if len(doc) > 0 {
		n = t.node(doc[0].Content[0], 1)
	}
	if len(doc) > 1 {
		second := doc[1].Content[0]
		t.refuse(second, "a second document begins here", "one document", "")
	}
	if t.full {
		return nil, t.faults.Sorted()
	}
	n.link()
	return n, t.faults.Sorted()
}

// decode returns the first document and, to show that there is one, the second.
// The library panics on some texts; that is one more way of not reading them.
func decode(src []byte) (docs []*yaml.Node, err error) {
	defer func() {
		if r := recover(); r != nil {
			docs, err = nil, fmt.Errorf("yaml: the reader gave up: %v", r)
		}
	}()
	d := yaml.NewDecoder(bytes.NewReader(src))
	for range 2 {
		n := new(yaml.Node)
		switch err := d.Decode(n); {
		case errors.Is(err, io.EOF):
			return docs, nil
		case err != nil:
			return nil, err
		}
		docs = append(docs, n)
	}
	return docs, nil
}

// treeMaker turns the library's tree into ours and refuses what we refuse.
type treeMaker struct {
	at     at
	lines  []string
	faults Faults
	nodes  int
	full   bool // a limit was reached; the tree is not whole
}

func (t *treeMaker) refuse(y *yaml.Node, what, expected, hint string) {
	t.faults = append(t.faults, t.at.fault(y.Line+t.at.line-1, y.Column, what, expected, hint))
}

func (t *treeMaker) node(y *yaml.Node, depth int) *Node {
	n := &Node{Line: y.Line + t.at.line - 1, Col: y.Column}
	if t.full || t.overLimit(y, depth) {
		return n
	}
	t.decorations(y)
	switch y.Kind {
	case yaml.MappingNode:
		n.Kind, n.Flow = Map, y.Style&yaml.FlowStyle != 0
		t.pairs(n, y, depth)
	case yaml.SequenceNode:
		n.Kind, n.Flow = List, y.Style&yaml.FlowStyle != 0
		for _, item := range y.Content {
			n.Items = append(n.Items, t.node(item, depth+1))
		}
	case yaml.ScalarNode:
		t.scalar(n, y)
	}
	return n
}

func (t *treeMaker) overLimit(y *yaml.Node, depth int) bool {
	t.nodes++
	switch {
	case depth > MaxDepth:
		t.refuse(y, "nested too deeply", fmt.Sprintf("at most %d levels", MaxDepth), "")
	case t.nodes > MaxNodes:
		t.refuse(y, "too many values", fmt.Sprintf("at most %d", MaxNodes), "")
	default:
		return false
	}
	t.full = true
	return true
}

// decorations refuses what makes YAML more than a plain tree.
func (t *treeMaker) decorations(y *yaml.Node) {
	if y.Kind == yaml.AliasNode {
		t.refuse(y, fmt.Sprintf("the alias %q", "*"+y.Value), "the value itself", "a text that begins with * needs quotes")
		return
	}
	if y.Anchor != "" {
		t.refuse(y, fmt.Sprintf("the anchor %q", "&"+y.Anchor), "the value alone", "a text that begins with & needs quotes")
	}
	if y.Style&yaml.TaggedStyle != 0 {
		t.refuse(y, fmt.Sprintf("the tag %q", y.Tag), "the value alone", "a text that begins with ! needs quotes")
	}
}

func (t *treeMaker) pairs(n *Node, y *yaml.Node, depth int) {
	index := map[string]int{} // a file of nothing but keys must not take quadratic time
	for i := 0; i+1 < len(y.Content) && !t.full; i += 2 {
		k, v := y.Content[i], y.Content[i+1]
		value := t.node(v, depth+1)
		if !t.key(k) {
			continue
		}
		p := Pair{Key: k.Value, KeyLine: k.Line + t.at.line - 1, KeyCol: k.Column, Value: value}
		if at, twice := index[k.Value]; twice {
			first := n.Pairs[at]
			t.refuse(k, fmt.Sprintf("the key %q stands twice", k.Value), "it once",
				fmt.Sprintf("first on line %d, column %d", first.KeyLine, first.KeyCol))
			continue
		}
		index[k.Value] = len(n.Pairs)
		n.Pairs = append(n.Pairs, p)
	}
}

// key tells whether k can be the key of a pair, and refuses it where not.
func (t *treeMaker) key(k *yaml.Node) bool {
	before := len(t.faults)
	t.decorations(k)
	switch {
	case len(t.faults) > before:
	case k.Kind != yaml.ScalarNode:
		t.refuse(k, "a key that is no plain word", "a word before the colon", "")
	case k.ShortTag() == "!!merge":
		t.refuse(k, `the merge key "<<"`, "the keys themselves", "")
	case k.ShortTag() == "!!null" || k.Value == "":
		t.refuse(k, "a value without a key", "a word before the colon", "")
	case strings.ContainsFunc(k.Value, forbidden):
		t.refuse(k, fmt.Sprintf("the key %q holds an invisible character", k.Value), "a word that shows", "")
	}
	return len(t.faults) == before
}

func (t *treeMaker) scalar(n *Node, y *yaml.Node) {
	n.Quoted = y.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) != 0
	n.Literal = y.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0
	n.Text = y.Value
	if !n.Quoted && !n.Literal {
		if y.ShortTag() == "!!null" {
			n.Text = ""
			return
		}
		n.Type = typeOf(y.ShortTag())
		if n.Type == Float && wholeForm.MatchString(n.Text) {
			n.Type = Int // the library calls a large one a float
		}
		n.Hash = y.LineComment != "" && t.cutShort(y)
	}
	n.Kind = Scalar
	if strings.ContainsFunc(n.Text, func(r rune) bool { return r != '\n' && r != '\t' && forbidden(r) }) {
		t.refuse(y, "the text holds an invisible character", "text that shows", "take the escape out")
		n.Text = Clean(n.Text) // said once is enough
	}
}

func typeOf(tag string) Type {
	switch tag {
	case "!!int":
		return Int
	case "!!float":
		return Float
	case "!!bool":
		return Bool
	}
	return Str
}

// cutShort tells whether the # after the plain scalar y looks like a part of
// the text: one space before it, or no space after it.
func (t *treeMaker) cutShort(y *yaml.Node) bool {
	if strings.HasPrefix(y.LineComment, "#") && !strings.HasPrefix(y.LineComment, "# ") {
		return true
	}
	if y.Line < 1 || y.Line > len(t.lines) {
		return false
	}
	line := []rune(t.lines[y.Line-1])
	rest, _, found := strings.Cut(string(line[min(y.Column-1, len(line)):]), "#")
	return found && strings.HasSuffix(rest, " ") && !strings.HasSuffix(rest, "  ")
}

var yamlLine = regexp.MustCompile(`line (\d+): `)

// syntaxFault makes the library's message a place and, where a common slip
// stands near the line, says what the slip is.
func syntaxFault(a at, src []byte, err error) Fault {
	msg := strings.TrimPrefix(err.Error(), "yaml: ")
	line := 1 // the library names no line where it is the first
	if m := yamlLine.FindStringSubmatch(msg); m != nil {
		line, _ = strconv.Atoi(m[1])
		msg = strings.Replace(msg, m[0], "", 1)
	}
	if strings.Contains(msg, "exceeded max depth") {
		return a.fault(line+a.line-1, 1, "nested too deeply", fmt.Sprintf("at most %d levels", MaxDepth), "")
	}
	lines := splitLines(string(src))
	if s, ok := nearestSlip(findSlips(lines), line, msg); ok {
		return a.fault(s.line+a.line-1, s.col, s.what, s.expected, s.hint)
	}
	line = min(max(line, 1), len(lines))
	return a.fault(line+a.line-1, 1, "this is not YAML near here: "+msg, "keys and values, indented with spaces", "")
}
