package sheet

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/engine/strictyaml/schematest"
)

const aCard = `gauge: 1
name: g25
range: 25 inH2O
division: 0.5 inH2O
accuracy: 2 %
checked: 2026-11-01
correction: [{shown: 10 inH2O, "true": 10.2 inH2O}, {shown: 20 inH2O, "true": 20.5 inH2O}]
position: upright
note: "dropped once; glass replaced"
`

func TestCardSchemaFileIsCurrent(t *testing.T) {
	schematest.Current(t, "gauge-1.schema.json", CardSchema(), *update)
}

// A card that is written is the card that was read, in YAML and in JSON.
func TestCardsReadBack(t *testing.T) {
	c, faults := ReadCard("g25.yaml", []byte(aCard))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if diff := cmp.Diff(string(c.Write()), aCard); diff != "" {
		t.Error(diff)
	}
	const form = `{"gauge":1,"name":"g25","range":"25 inH2O","correction":[{"shown":"10 inH2O","true":"10.2 inH2O"}]}`
	j, faults := ReadCard("g25.json", []byte(form))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if j.Range.SI < 6227 || j.Range.SI > 6228 || len(j.Correction) != 1 {
		t.Errorf("%+v", j)
	}
	if err := schematest.Validate(t, CardSchema(), []byte(form)); err != nil {
		t.Error(err)
	}
}

// Whatever is wrong with a card is told with its place, and the schema knows what a
// schema can know of it.
func TestFaultsOfCards(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"range: 25 inH2O\n", "", `g.yaml:1:1: the key "range" is missing`},
		{"range: 25 inH2O", "range: 25", `g.yaml:3:8: range: 25 has no unit`},
		{"gauge: 1", "gauge: 2", "g.yaml:1:8: gauge: a gauge's card of version 2, which this release can't read"},
		{"gauge: 1\n", "", `g.yaml:1:1: the key "gauge" is missing`},
		{"division: 0.5", "division: 50", `g.yaml:4:11: division: the division "50 inH2O" is larger than the range "25 inH2O"`},
		{"position: upright", "position: tilted", `g.yaml:8:11: position: "tilted" is not known here`},
		{"shown: 20 inH2O", "shown: 9 inH2O", `"9 inH2O" does not rise above the row before`},
		{"accuracy", "acuracy", `g.yaml:5:1: acuracy: unknown key "acuracy" (did you mean "accuracy"?)`},
		{"checked: 2026-11-01", "checked: 2026-02-30", `"2026-02-30" is no day of the calendar`},
		{"gauge: 1", "sheet: 1\ngauge: 1", `g.yaml:1:1: sheet: unknown key "sheet"`},
	} {
		src := strings.Replace(aCard, c.old, c.new, 1)
		card, faults := ReadCard("g.yaml", []byte(src))
		if text := faults.Sorted().Error(); card != nil || !strings.Contains(text, c.want) {
			t.Errorf("%q for %q:\ngot  %s\nwant %s", c.new, c.old, text, c.want)
		}
	}
}

// What a sheet says of a gauge, a card can say, and nothing else but its note.
func TestACardSaysWhatASheetSays(t *testing.T) {
	var on, card []string
	for _, f := range gaugeKeys {
		on = append(on, f.Name)
	}
	for _, f := range cardKeys {
		card = append(card, f.Name)
	}
	if diff := cmp.Diff(card, append(append([]string{"gauge"}, on...), "note")); diff != "" {
		t.Error(diff)
	}
	if gaugeKeys[1].Required {
		t.Error("a sheet needs the range of a gauge since cards do")
	}
}
