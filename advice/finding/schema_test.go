package finding

import (
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
	schematest.Agree(t, Schema(), sound, func(text []byte) bool { return len(Check("line", text)) == 0 }, []schematest.Change{
		{Name: "as it is", Schema: true, Check: true},
		{Name: "version", From: `"finding":1`, To: `"finding":2`},
		{Name: "how", From: `"how":"measured"`, To: `"how":"guessed"`},
		{Name: "a verdict that is no word", From: `"verdict":"not-yet"`, To: `"verdict":"Not yet"`},
		{Name: "a key too few", From: `"says":`, To: `"said":`},
		{Name: "a level that is none", From: `"level":"warning"`, To: `"level":"beware"`},
		{Name: "an interval upside down", From: `"value":11,`, To: `"value":1100,`, Schema: true},
		{Name: "tested and nothing known", From: `"how":"not-tested"`, To: `"how":"inferred"`, Schema: true},
		{Name: "not tested and known", From: `"how":"measured"`, To: `"how":"not-tested"`, Schema: true},
	})
	if faults := Check("line", []byte("{")); len(faults) == 0 {
		t.Error("half an object passes")
	}
}
