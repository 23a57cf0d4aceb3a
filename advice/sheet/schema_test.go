package sheet

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"dropwalk/engine/strictyaml"
)

var update = flag.Bool("update", false, "write the schema file anew")

const schemaPath = "sheet-1.schema.json"

// The schema in the repository is the one that the table of keys gives.
func TestSchemaFileIsCurrent(t *testing.T) {
	if *update {
		if err := os.WriteFile(schemaPath, Schema(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(schemaPath)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, Schema()) {
		t.Errorf("%s is not current; run this test with -update", schemaPath)
	}
}

func compile(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource(schemaPath, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(schemaPath)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func validate(t *testing.T, s *jsonschema.Schema, src string) error {
	t.Helper()
	root, faults := strictyaml.ParseYAML("f", []byte(src), 1)
	if len(faults) > 0 {
		t.Fatalf("%q does not parse: %v", src, faults)
	}
	b, err := json.Marshal(asJSON(root))
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return s.Validate(v)
}

// The schema takes what the reader takes, and refuses what it can know to be
// wrong: keys, words, plain numbers, missing units.
func TestSchemaAgreesWithTheReader(t *testing.T) {
	s := compile(t)
	_, src := example(t)
	for _, good := range []string{string(src), base,
		strings.Replace(base, "diameter: 65 mm", "diameter: 65 mm, tap_bore: still", 1),
		strings.Replace(base, `"12.5 inH2O"`, `"?"`, 1),
		strings.Replace(base, `"12.5 inH2O"`, `"12.5\""`, 1)} {
		if err := validate(t, s, good); err != nil {
			t.Errorf("the schema refuses a good sheet: %v\n%s", err, good)
		}
	}
	for _, c := range []struct{ old, new string }{
		{"sheet: 1", "sheet: 2"}, {"title: Base", "titel: Base"}, {"place: track", "place: garage"},
		{"displacement: 1998 cc", "displacement: 1998"}, {"displacement: 1998 cc", `displacement: "1998"`}, {"    displacement: 1998 cc\n", ""},
		{"cylinders: 4", "cylinders: 4.5"}, {"strokes: 4", "strokes: 3"}, {"rpm: 6000", "rpm: 60"}, {"kind: mouth", "kind: moth"}, {"kind: mouth, ", ""},
		{"name: mouth,", `name: "",`}, {"date: 2026-11-25", "date: 25.11.2026"}, {"gauge: g25", "doubtful: true"}, {"effort", "efort"}, {"diameter: 60 mm, edge: protruding", "effort: 6"},
		{"bends: [{angle: 90 deg, radius: 90 mm}]", "bends: [{radius: 90 mm}]"},
	} {
		src := strings.Replace(base, c.old, c.new, 1)
		if _, faults := Read("f", []byte(src)); src != base && faults.Err() == nil {
			t.Errorf("the reader takes %q in place of %q", c.new, c.old)
		}
		if err := validate(t, s, src); src != base && err == nil {
			t.Errorf("the schema takes %q in place of %q", c.new, c.old)
		}
	}
}

// Every key says in the schema what it is for.
func TestSchemaDescribesEveryKey(t *testing.T) {
	var walk func(path string, v any)
	keys := 0
	walk = func(path string, v any) {
		m, ok := v.(map[string]any)
		if !ok {
			return
		}
		properties, _ := m["properties"].(map[string]any)
		for name, p := range properties {
			keys++
			if text, _ := p.(map[string]any)["description"].(string); text == "" {
				t.Errorf("%s.%s has no description", path, name)
			}
			walk(path+"."+name, p)
		}
		walk(path+"[]", m["items"])
	}
	var doc any
	if err := json.Unmarshal(Schema(), &doc); err != nil {
		t.Fatal(err)
	}
	walk("sheet", doc)
	if keys < 70 {
		t.Errorf("got %d keys in the schema, want at least 70", keys)
	}
}
