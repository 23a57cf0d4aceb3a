package pulls_test

import (
	"encoding/json"
	"testing"

	"dropwalk/advice/pulls"
	"dropwalk/engine/strictyaml/schematest"
)

const schemaPath = "pulls-1.schema.json"

func TestSchemaFileIsCurrent(t *testing.T) {
	schematest.Current(t, schemaPath, pulls.Schema(), *update)
}

func valid(t *testing.T, src []byte) error {
	t.Helper()
	return schematest.Validate(t, pulls.Schema(), src)
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
