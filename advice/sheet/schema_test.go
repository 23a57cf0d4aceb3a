package sheet

import (
	"encoding/json"
	"flag"
	"strings"
	"testing"

	"dropwalk/engine/strictyaml"
	"dropwalk/engine/strictyaml/schematest"
)

var update = flag.Bool("update", false, "write the schema file anew")

const schemaPath = "sheet-1.schema.json"

// The schema in the repository is the one that the table of keys gives.
func TestSchemaFileIsCurrent(t *testing.T) {
	schematest.Current(t, schemaPath, Schema(), *update)
}

func validate(t *testing.T, src string) error {
	t.Helper()
	root, faults := strictyaml.ParseYAML("f", []byte(src), 1)
	if len(faults) > 0 {
		t.Fatalf("%q does not parse: %v", src, faults)
	}
	b, err := json.Marshal(asJSON(root))
	if err != nil {
		t.Fatal(err)
	}
	return schematest.Validate(t, Schema(), b)
}

// The schema takes what the reader takes, and refuses what it can know to be
// wrong: keys, words, plain numbers, missing units.
func TestSchemaAgreesWithTheReader(t *testing.T) {
	_, src := example(t)
	for _, good := range []string{string(src), base,
		strings.Replace(base, "diameter: 65 mm", "diameter: 65 mm, tap_bore: still", 1),
		strings.Replace(base, `"12.5 inH2O"`, `"?"`, 1),
		strings.Replace(base, `"12.5 inH2O"`, `"12.5\""`, 1)} {
		if err := validate(t, good); err != nil {
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
		if err := validate(t, src); src != base && err == nil {
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
