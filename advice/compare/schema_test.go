package compare_test

import (
	"bytes"
	"flag"
	"testing"

	"dropwalk/advice/compare"
	"dropwalk/engine/strictyaml/schematest"
)

var update = flag.Bool("update", false, "write the schema file anew")

const schemaPath = "compare-1.schema.json"

func TestSchemaFileIsCurrent(t *testing.T) {
	schematest.Current(t, schemaPath, compare.Schema(), *update)
}

func validate(t *testing.T, src []byte) error {
	t.Helper()
	return schematest.Validate(t, compare.Schema(), src)
}

// A library that reads schemas and our own check agree: on what is sound, and on what
// is not.
func TestSchemaAgreesWithCheck(t *testing.T) {
	sound, err := compared(t, compare.Options{Refit: 5}, visit("open-air", "tube", 12, 12.9, 11.2), visit("open-air", "tube", 11.8, 12, 11.1)).Line()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name, from, to string
		schema, check  bool // whether it passes
	}{
		{"as it is", "", "", true, true},
		{"version", `"compare":1`, `"compare":2`, false, false},
		{"verdict", `"verdict":"cannot-tell"`, `"verdict":"maybe"`, false, false},
		{"a key too few", `"power_note":`, `"other":`, false, false},
		{"an interval upside down", `"change_pa":{"median":`, `"change_pa":{"median":1e9,"was":`, false, false},
		{"a cure that is none", `"cure":"runs"`, `"cure":"refits"`, true, false},
	} {
		text := bytes.ReplaceAll(sound, []byte(row.from), []byte(row.to))
		if row.from == "" {
			text = sound
		} else if bytes.Equal(text, sound) {
			t.Fatalf("%s: %s is not in %s", row.name, row.from, sound)
		}
		if err := validate(t, text); (err == nil) != row.schema {
			t.Errorf("%s: the schema says %v", row.name, err)
		}
		if faults := compare.Check("line", text); (len(faults) == 0) != row.check {
			t.Errorf("%s: the check says %v", row.name, faults)
		}
	}
}
