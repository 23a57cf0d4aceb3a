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

// Change is a change of a sound document: what stands in place of From, and whether the
// document still passes the schema and the check of its package. One without a From is
// the document as it is.
type Change struct {
	Name, From, To string
	Schema, Check  bool
}

// Agree holds changes of a sound document against a schema and against the check of its
// package, which says whether a document passes.
func Agree(t testing.TB, schema, sound []byte, check func(document []byte) bool, changes []Change) {
	t.Helper()
	s := Compile(t, schema)
	for _, c := range changes {
		text := sound
		if c.From != "" {
			text = bytes.ReplaceAll(sound, []byte(c.From), []byte(c.To))
			if bytes.Equal(text, sound) {
				t.Fatalf("%s: %s is not in %s", c.Name, c.From, sound)
			}
		}
		if err := Fits(t, s, text); (err == nil) != c.Schema {
			t.Errorf("%s: the schema says %v", c.Name, err)
		}
		if got := check(text); got != c.Check {
			t.Errorf("%s: the check says %v", c.Name, got)
		}
	}
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
