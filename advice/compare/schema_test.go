package compare_test

import (
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

// A library that reads schemas and our own check agree: on what is sound, and on what
// is not.
func TestSchemaAgreesWithCheck(t *testing.T) {
	sound, err := compared(t, compare.Options{Refit: 5}, visit("open-air", "tube", 12, 12.9, 11.2), visit("open-air", "tube", 11.8, 12, 11.1)).Line()
	if err != nil {
		t.Fatal(err)
	}
	schematest.Agree(t, compare.Schema(), sound, func(text []byte) bool { return len(compare.Check("line", text)) == 0 }, []schematest.Change{
		{Name: "as it is", Schema: true, Check: true},
		{Name: "version", From: `"compare":1`, To: `"compare":2`},
		{Name: "verdict", From: `"verdict":"cannot-tell"`, To: `"verdict":"maybe"`},
		{Name: "a key too few", From: `"power_note":`, To: `"other":`},
		{Name: "an interval upside down", From: `"change_pa":{"median":`, To: `"change_pa":{"median":1e9,"was":`},
		{Name: "a cure that is none", From: `"cure":"runs"`, To: `"cure":"refits"`, Schema: true},
	})
}
