package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"unicode"

	"dropwalk/engine/strictyaml"
)

// writeJSON prints v as one line.
func (a *app) writeJSON(v any) error {
	line, err := jsonLine(v)
	if err != nil {
		return err
	}
	_, err = a.Out.Write(line)
	return err
}

// jsonLine encodes v on one line. Characters that a terminal might obey or that
// change the direction of writing are written as \u escapes, so that the line is
// safe to look at and still means the same.
func jsonLine(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	for _, r := range b.String() {
		if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r)) {
			out.WriteString(escaped(r))
			continue
		}
		out.WriteRune(r)
	}
	return out.Bytes(), nil
}

// escaped writes r as JSON does: beyond the basic plane as two halves.
func escaped(r rune) string {
	if r > 0xffff {
		r -= 0x10000
		return fmt.Sprintf(`\u%04x\u%04x`, 0xd800+r>>10, 0xdc00+r&0x3ff)
	}
	return fmt.Sprintf(`\u%04x`, r)
}

// writeVersioned prints v, an object, as one line whose first key is key, the
// version of what the others mean: always 1 so far.
func (a *app) writeVersioned(key string, v any) error {
	line, err := jsonLine(v)
	if err != nil {
		return err
	}
	rest, isObject := bytes.CutPrefix(line, []byte("{"))
	if !isObject {
		return fmt.Errorf("%s: %T is no object", key, v)
	}
	comma := ","
	if bytes.HasPrefix(rest, []byte("}")) {
		comma = ""
	}
	_, err = fmt.Fprintf(a.Out, "{%q:1%s%s", key, comma, rest)
	return err
}

// nodeJSON writes a tree of YAML as JSON, keys in their order.
func nodeJSON(n *strictyaml.Node) []byte {
	var b bytes.Buffer
	writeNode(&b, n)
	return b.Bytes()
}

func writeNode(b *bytes.Buffer, n *strictyaml.Node) {
	switch {
	case n == nil, n.Kind == strictyaml.Null:
		b.WriteString("null")
	case n.Kind == strictyaml.Map:
		b.WriteByte('{')
		for i, p := range n.Pairs {
			between(b, i)
			writeText(b, p.Key)
			b.WriteByte(':')
			writeNode(b, p.Value)
		}
		b.WriteByte('}')
	case n.Kind == strictyaml.List:
		b.WriteByte('[')
		for i, item := range n.Items {
			between(b, i)
			writeNode(b, item)
		}
		b.WriteByte(']')
	case n.Type != strictyaml.Str && json.Valid([]byte(n.Text)):
		b.WriteString(n.Text)
	default:
		writeText(b, n.Text)
	}
}

func between(b *bytes.Buffer, i int) {
	if i > 0 {
		b.WriteByte(',')
	}
}

func writeText(b *bytes.Buffer, s string) {
	text, _ := jsonLine(s) // a string always can be encoded
	b.Write(bytes.TrimSuffix(text, []byte("\n")))
}
