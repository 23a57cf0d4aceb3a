package answers

import (
	"encoding/json"
	"strings"
	"testing"

	"dropwalk/engine/strictyaml"
	"dropwalk/engine/strictyaml/schematest"
)

// asJSON is a tree as encoding/json knows it.
func asJSON(n *strictyaml.Node) any {
	switch n.Kind {
	case strictyaml.Map:
		m := map[string]any{}
		for _, p := range n.Pairs {
			m[p.Key] = asJSON(p.Value)
		}
		return m
	case strictyaml.List:
		list := []any{}
		for _, item := range n.Items {
			list = append(list, asJSON(item))
		}
		return list
	case strictyaml.Scalar:
		switch n.Type {
		case strictyaml.Int, strictyaml.Float:
			return json.Number(n.Text)
		case strictyaml.Bool:
			return n.True()
		}
		return n.Text
	}
	return nil
}

func validate(t *testing.T, s *schematest.Schema, text string) error {
	t.Helper()
	root, faults := strictyaml.ParseYAML("a.yaml", []byte(text), 1)
	if len(faults) > 0 {
		t.Fatalf("%q does not parse: %v", text, faults)
	}
	src, err := json.Marshal(asJSON(root))
	if err != nil {
		t.Fatal(err)
	}
	return schematest.Fits(t, s, src)
}

// The schema takes what the reader takes, and refuses what it can know to be
// wrong. Addresses it can't know: an editor marks them.
func TestSchemaAgreesWithTheReader(t *testing.T) {
	s := schematest.Compile(t, Schema(dig(t), garden{}))
	for _, change := range [][2]string{
		{"", ""}, {"soil: sand", "soil: [clay, {answer: sand, note: dug again}]"}, {"owed: done", "owed: {all: done, mark: {cannot: it broke}}"},
		{"weeds: none", "clear: [1, 2]"}, {"digs: [15, 16]", "digs: [{depth: 15, yours: done-on-paper}]"}, {"weeds: none", `weeds: "?"`},
	} {
		text := strings.Replace(whole, change[0], change[1], 1)
		if _, faults := Read("a.yaml", []byte(text), dig(t), garden{}); faults.Err() != nil {
			t.Errorf("the reader refuses %q: %v", change[1], faults)
		}
		if err := validate(t, s, text); err != nil {
			t.Errorf("the schema refuses %q: %v", change[1], err)
		}
	}
	for _, change := range [][2]string{
		{"answers: 1", "answers: 2"}, {"procedure: dig", "procedure: dug"}, {"done-on-paper", "yes"}, {"soil: sand", "soli: sand"},
		{"mark: done", "mark: dnoe"}, {"mark: done", "mark: {skip: [why]}"}, {"row: south, ", ""}, {"weeds: none", "clear: 3"}, {"weeds: none", "weeds: []"},
		{"digs: [15, 16]", "digs: [[15]]"}, {"owed: done", "owed: no"},
	} {
		text := strings.Replace(whole, change[0], change[1], 1)
		if text == whole {
			t.Fatalf("%q is not in the file", change[0])
		}
		if _, faults := Read("a.yaml", []byte(text), dig(t), garden{}); faults.Err() == nil {
			t.Errorf("the reader takes %q", change[1])
		}
		if validate(t, s, text) == nil {
			t.Errorf("the schema takes %q", change[1])
		}
	}
}
