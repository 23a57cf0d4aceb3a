package pulls_test

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"dropwalk/advice/pulls"
)

const schemaPath = "pulls-1.schema.json"

func TestSchemaFileIsCurrent(t *testing.T) {
	if *update {
		if err := os.WriteFile(schemaPath, pulls.Schema(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(schemaPath)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, pulls.Schema()) {
		t.Errorf("%s is not current; run this test with -update", schemaPath)
	}
}

func valid(t *testing.T, src []byte) error {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(pulls.Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource(schemaPath, doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile(schemaPath)
	if err != nil {
		t.Fatal(err)
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(src))
	if err != nil {
		t.Fatal(err)
	}
	return schema.Validate(value)
}

// Results of every kind fit the schema, and lists are never null.
func TestResultsFitTheSchema(t *testing.T) {
	poor := usual()
	poor.pedal, poor.flow, poor.off, poor.pulls = false, false, false, 0
	for name, r := range map[string]*pulls.Result{
		"clean":      read(t, usual().text(), pulls.Options{}),
		"poor":       read(t, poor.text(), pulls.Options{}),
		"no speed":   read(t, []byte("t;flow [L/s];dp [Pa]\n0;1;2\n1;2;8\n2;3;18\n3;4;32\n4;5;50\n"), pulls.Options{}),
		"only times": read(t, []byte("t;rpm\n0;800\n1;900\n"), pulls.Options{}),
	} {
		src, err := json.Marshal(r)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if err := valid(t, src); err != nil {
			t.Errorf("%s: %v\n%s", name, err, src)
		}
	}
	if err := valid(t, []byte(`{"pulls": 1}`)); err == nil {
		t.Error("an object without its keys fits the schema")
	}
}
