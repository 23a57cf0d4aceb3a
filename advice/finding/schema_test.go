package finding

import (
	"bytes"
	"encoding/json"
	"flag"
	"testing"

	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml/schematest"
)

var update = flag.Bool("update", false, "write the schema file anew")

func TestSchemaFileIsCurrent(t *testing.T) {
	schematest.Current(t, "finding-1.schema.json", Schema(), *update)
}

// A library that reads schemas and our own check agree: on what is sound, and on what is
// not.
func TestSchemaAgreesWithCheck(t *testing.T) {
	f := New("intake-air")
	f.Add(Of("rise", "Rise", quantity.TemperatureDiff, stats.Estimate{Value: 11, SE: 1, Freedom: 4}, Measured, "three readings"))
	f.Add(AtLeast("cost", "Cost", quantity.Share, 0.02, Inferred, "a rule"))
	f.Add(Unknown("soak", "Soak", quantity.TemperatureDiff, "nobody read it"))
	f.Say("A sentence.")
	sound, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name, from, to string
		schema, check  bool // whether it passes
	}{
		{"as it is", "", "", true, true},
		{"version", `"finding":1`, `"finding":2`, false, false},
		{"how", `"how":"measured"`, `"how":"guessed"`, false, false},
		{"a verdict that is no word", `"verdict":"not-yet"`, `"verdict":"Not yet"`, false, false},
		{"a key too few", `"says":`, `"said":`, false, false},
		{"a level that is none", `"level":"warning"`, `"level":"beware"`, false, false},
		{"an interval upside down", `"value":11,`, `"value":1100,`, true, false},
		{"tested and nothing known", `"how":"not-tested"`, `"how":"inferred"`, true, false},
		{"not tested and known", `"how":"measured"`, `"how":"not-tested"`, true, false},
	} {
		text := bytes.Replace(sound, []byte(row.from), []byte(row.to), 1)
		if row.from == "" {
			text = sound
		} else if bytes.Equal(text, sound) {
			t.Fatalf("%s: %s is not in %s", row.name, row.from, sound)
		}
		if err := schematest.Validate(t, Schema(), text); (err == nil) != row.schema {
			t.Errorf("%s: the schema says %v", row.name, err)
		}
		if faults := Check("line", text); (len(faults) == 0) != row.check {
			t.Errorf("%s: the check says %v", row.name, faults)
		}
	}
	if faults := Check("line", []byte("{")); len(faults) == 0 {
		t.Error("half an object passes")
	}
}
