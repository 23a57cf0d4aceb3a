// Package schematest serves the tests of packages that give a JSON Schema: it
// compiles schemas with a general-purpose library, holds documents against them,
// and holds files in the repository to be current. The one door to that library.
package schematest

import (
	"bytes"
	"os"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// Schema is a compiled schema.
type Schema = jsonschema.Schema

// Compile is a schema that the library takes, with its references resolved.
func Compile(t testing.TB, schema []byte) *Schema {
	t.Helper()
	const name = "tested.schema.json"
	c := jsonschema.NewCompiler()
	if err := c.AddResource(name, parse(t, schema)); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Validate holds one JSON document against a schema; nil where it fits.
func Validate(t testing.TB, schema, document []byte) error {
	t.Helper()
	return Fits(t, Compile(t, schema), document)
}

// Fits is Validate for a schema that is compiled already.
func Fits(t testing.TB, s *Schema, document []byte) error {
	t.Helper()
	return s.Validate(parse(t, document))
}

func parse(t testing.TB, src []byte) any {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(src))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Current fails the test where the file doesn't hold want; with update it is
// written first.
func Current(t testing.TB, path string, want []byte, update bool) {
	t.Helper()
	if update {
		if err := os.WriteFile(path, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not current; run this test with -update", path)
	}
}
