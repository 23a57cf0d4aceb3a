package strictyaml

import (
	"encoding/json"
	"maps"
	"math"
)

// Schema prints the shape as a JSON Schema, draft 7, which is the newest that
// YAML editors understand (yaml-language-server). Rules given to Also are in it
// only as far as With says them.
func (s *Shape) Schema(id, title string) []byte {
	m := &schemaMaker{defs: map[string]any{}}
	root := map[string]any{}
	if s.name != "" {
		m.shape(s)
		root["$ref"] = "#/definitions/" + s.name
	} else {
		maps.Copy(root, m.shape(s))
	}
	root["$schema"] = "http://json-schema.org/draft-07/schema#"
	root["title"] = title
	if id != "" {
		root["$id"] = id
	}
	if len(m.defs) > 0 {
		root["definitions"] = m.defs
	}
	b, err := json.MarshalIndent(root, "", "  ")
	if err != nil {
		panic("strictyaml: a shape holds what JSON can't: " + err.Error())
	}
	return append(b, '\n')
}

type schemaMaker struct{ defs map[string]any }

// shape gives the schema of s, or a reference where s has a name.
func (m *schemaMaker) shape(s *Shape) map[string]any {
	if s.name == "" {
		return m.plain(s)
	}
	if _, ok := m.defs[s.name]; !ok {
		m.defs[s.name] = true // stands in while the shape is inside itself
		m.defs[s.name] = m.plain(s)
	}
	return map[string]any{"$ref": "#/definitions/" + s.name}
}

func (m *schemaMaker) plain(s *Shape) map[string]any {
	out := m.form(s)
	maps.Copy(out, s.fragment)
	return out
}

func (m *schemaMaker) form(s *Shape) map[string]any {
	switch s.kind {
	case keysShape:
		return m.keys(s)
	case listShape:
		out := map[string]any{"type": "array", "items": m.shape(s.elem)}
		if s.least > 0 {
			out["minItems"] = s.least
		}
		return out
	case mapShape:
		return map[string]any{"type": "object", "additionalProperties": m.shape(s.elem)}
	case wordsShape:
		return map[string]any{"type": "string", "enum": s.words}
	case textShape:
		return textSchema(s)
	case wholeShape:
		return ranged("integer", s)
	case numberShape:
		return ranged("number", s)
	case truthShape:
		return map[string]any{"type": "boolean"}
	case nothingShape:
		return map[string]any{"type": "null"}
	case oneOfShape:
		var options []any
		for _, o := range s.options {
			options = append(options, m.shape(o))
		}
		return map[string]any{"anyOf": options}
	}
	return map[string]any{"type": "string", "minLength": 1}
}

func textSchema(s *Shape) map[string]any {
	out := map[string]any{"type": []string{"string", "number", "boolean"}, "minLength": 1, "pattern": `\S`}
	switch {
	case s.empty:
		out = map[string]any{"type": "string"}
	case !s.lines:
		out["pattern"] = `^[^\n\t]*[^\s][^\n\t]*$`
	}
	if s.most > 0 {
		out["maxLength"] = s.most
	}
	return out
}

func ranged(kind string, s *Shape) map[string]any {
	out := map[string]any{"type": kind}
	if math.Abs(s.lo) < math.MaxInt32 {
		out["minimum"] = s.lo
	}
	if math.Abs(s.hi) < math.MaxInt32 {
		out["maximum"] = s.hi
	}
	return out
}

func (m *schemaMaker) keys(s *Shape) map[string]any {
	properties := map[string]any{}
	var required []string
	for _, k := range s.keys {
		properties[k.Name] = m.key(k)
		if k.Required {
			required = append(required, k.Name)
		}
	}
	out := map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
	if required != nil {
		out["required"] = required
	}
	return out
}

// key gives the schema of one key. Draft 7 ignores what stands beside a
// reference, so a reference goes into allOf.
func (m *schemaMaker) key(k Key) map[string]any {
	p := m.shape(k.Shape)
	if _, ref := p["$ref"]; ref && (k.Doc != "" || k.Example != nil) {
		p = map[string]any{"allOf": []any{p}}
	}
	if k.Doc != "" {
		p["description"] = k.Doc
	}
	if k.Example != nil {
		p["examples"] = []any{k.Example}
	}
	return p
}
