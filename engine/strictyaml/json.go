package strictyaml

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"
)

// ParseJSON reads one JSON value (RFC 8259) into the same tree as ParseYAML,
// with the same limits. No key may stand twice.
func ParseJSON(file string, src []byte, firstLine int) (*Node, Faults) {
	return ParseJSONAt(file, src, firstLine, 1)
}

// ParseJSONAt is ParseJSON for a value that begins in the middle of a line.
// Both numbers are 1-based; col counts runes.
func ParseJSONAt(file string, src []byte, line, col int) (*Node, Faults) {
	a := at{file, line, col}
	src, fs := prepare(a, src, false)
	if len(fs) > 0 {
		return nil, fs
	}
	p := &jsonReader{at: a, src: src, line: line, col: col}
	n := p.value(1)
	if p.stopped {
		return nil, p.faults.Sorted()
	}
	if p.space(); p.pos < len(p.src) {
		p.fault(fmt.Sprintf("%q after the end of the value", p.peek()), "nothing more", "")
		return nil, p.faults.Sorted()
	}
	n.link()
	return n, p.faults.Sorted()
}

// jsonReader walks a JSON text and keeps its place. It stops at the first
// fault of syntax: what follows one is guesswork.
type jsonReader struct {
	at        at
	src       []byte
	pos       int
	line, col int
	nodes     int
	faults    Faults
	stopped   bool
}

func (p *jsonReader) fault(what, expected, hint string) {
	p.faults = append(p.faults, p.at.fault(p.line, p.col, what, expected, hint))
	p.stopped = true
}

func (p *jsonReader) peek() rune {
	if p.pos >= len(p.src) {
		return 0
	}
	r, _ := utf8.DecodeRune(p.src[p.pos:])
	return r
}

// advance passes over size bytes and counts their lines and columns.
func (p *jsonReader) advance(size int) {
	for end := p.pos + size; p.pos < end; {
		r, n := utf8.DecodeRune(p.src[p.pos:])
		p.pos += n
		p.col++
		if r == '\n' {
			p.line, p.col = p.line+1, 1
		}
	}
}

func (p *jsonReader) space() {
	for p.pos < len(p.src) && strings.IndexByte(" \t\n", p.src[p.pos]) >= 0 {
		p.advance(1)
	}
}

// unexpected reports what stands here in place of what should.
func (p *jsonReader) unexpected(expected string) {
	if p.pos >= len(p.src) {
		p.fault("the text ends in the middle", expected, "")
		return
	}
	hint := ""
	switch p.peek() {
	case '\'':
		hint = "JSON uses double quotes"
	case '}', ']':
		hint = "no comma may stand before a closing bracket"
	}
	p.fault(fmt.Sprintf("unexpected %q", p.peek()), expected, hint)
}

func (p *jsonReader) value(depth int) *Node {
	p.space()
	n := &Node{Line: p.line, Col: p.col}
	p.nodes++
	switch c := p.peek(); {
	case depth > MaxDepth:
		p.fault("nested too deeply", fmt.Sprintf("at most %d levels", MaxDepth), "")
	case p.nodes > MaxNodes:
		p.fault("too many values", fmt.Sprintf("at most %d", MaxNodes), "")
	case c == '{':
		n.Kind, n.Flow = Map, true
		p.object(n, depth)
	case c == '[':
		n.Kind, n.Flow = List, true
		p.list(n, '[', ']', func() { n.Items = append(n.Items, p.value(depth+1)) })
	case c == '"':
		n.Kind, n.Quoted = Scalar, true
		n.Text = p.text()
	default:
		p.bare(n)
	}
	return n
}

func (p *jsonReader) object(n *Node, depth int) {
	index := map[string]int{} // as for YAML, against quadratic time
	p.list(n, '{', '}', func() {
		pair := Pair{KeyLine: p.line, KeyCol: p.col}
		if p.peek() != '"' {
			p.unexpected("a key in double quotes")
			return
		}
		pair.Key = p.text()
		if p.space(); !p.stopped && p.peek() != ':' {
			p.unexpected("a colon after the key")
		}
		if p.stopped {
			return
		}
		p.advance(1)
		pair.Value = p.value(depth + 1)
		p.add(n, index, pair)
	})
}

func (p *jsonReader) add(n *Node, index map[string]int, pair Pair) {
	at, twice := index[pair.Key]
	switch {
	case p.stopped:
	case twice:
		p.faults = append(p.faults, p.at.fault(pair.KeyLine, pair.KeyCol, fmt.Sprintf("the key %q stands twice", pair.Key), "it once",
			fmt.Sprintf("first on line %d, column %d", n.Pairs[at].KeyLine, n.Pairs[at].KeyCol)))
	case pair.Key == "" || strings.ContainsFunc(pair.Key, forbidden):
		p.faults = append(p.faults, p.at.fault(pair.KeyLine, pair.KeyCol, fmt.Sprintf("the key %q does not show", pair.Key), "a word that shows", ""))
	default:
		index[pair.Key] = len(n.Pairs)
		n.Pairs = append(n.Pairs, pair)
	}
}

// list reads what stands between two brackets, parted by commas.
func (p *jsonReader) list(n *Node, open, closing rune, item func()) {
	p.advance(1)
	if p.space(); p.peek() == closing {
		p.advance(1)
		return
	}
	for !p.stopped {
		p.space()
		item()
		p.space()
		switch {
		case p.stopped:
			return
		case p.peek() == closing:
			p.advance(1)
			return
		case p.peek() != ',':
			p.unexpected(fmt.Sprintf("a comma or the %c that closes the %c on line %d", closing, open, n.Line))
			return
		}
		p.advance(1)
	}
}

// text reads a string in double quotes.
func (p *jsonReader) text() string {
	end := p.pos + 1
	for end < len(p.src) && p.src[end] != '"' && p.src[end] != '\n' {
		if p.src[end] == '\\' {
			end++
		}
		end++
	}
	if end >= len(p.src) || p.src[end] == '\n' {
		p.fault("the quote \" is not closed on this line", "a closing quote", "")
		return ""
	}
	raw := p.src[p.pos : end+1]
	var s string
	if err := json.Unmarshal(raw, &s); err != nil || loneSurrogate(raw, s) {
		p.fault(fmt.Sprintf("the text %s holds what JSON does not know", Clean(string(raw))), "JSON escapes such as \\n or \\u00e9", "")
		return ""
	}
	if strings.ContainsFunc(s, func(r rune) bool { return r != '\n' && r != '\t' && forbidden(r) }) {
		p.faults = append(p.faults, p.at.fault(p.line, p.col, "the text holds an invisible character", "text that shows", "take the escape out"))
		s = Clean(s) // said once is enough
	}
	p.advance(len(raw))
	return s
}

// loneSurrogate tells whether an escape in raw was half a character, which the
// standard library turns silently into the replacement character.
func loneSurrogate(raw []byte, s string) bool {
	was := strings.Count(string(raw), "\uFFFD") + strings.Count(strings.ToLower(string(raw)), `\ufffd`)
	return strings.Count(s, "\uFFFD") > was
}

var (
	jsonNumber = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?$`)
	jsonWord   = regexp.MustCompile(`^[^\s,:{}\[\]"]*`)
)

func finite(number string) bool {
	_, err := strconv.ParseFloat(number, 64)
	return err == nil
}

// bare reads a number, true, false or null.
func (p *jsonReader) bare(n *Node) {
	word := string(jsonWord.Find(p.src[p.pos:]))
	switch {
	case word == "null":
	case word == "true" || word == "false":
		n.Kind, n.Type, n.Text = Scalar, Bool, word
	case jsonNumber.MatchString(word) && !finite(word):
		p.fault(fmt.Sprintf("the number %.40s is too large", word), "a number that can be counted with", "")
	case jsonNumber.MatchString(word):
		n.Kind, n.Type, n.Text = Scalar, Int, word
		if strings.ContainsAny(word, ".eE") {
			n.Type = Float
		}
	case word == "":
		p.unexpected("a value")
	default:
		p.fault(fmt.Sprintf("%q is neither text nor number", word), "a value", "texts stand in double quotes")
	}
	p.advance(len(word))
}
