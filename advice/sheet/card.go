package sheet

import (
	"bytes"
	"slices"

	"dropwalk/engine/strictyaml"
)

// CardVersion is the version of a gauge's card that this package reads and
// writes.
const CardVersion = 1

// Card is what is kept of a gauge from one test to the next: what every sheet
// says of it, and a remark.
type Card struct {
	Gauge
	Note string
}

// cardKeys are those of a gauge on a sheet, with a version ahead and a note
// behind: a card and a sheet can't come to say different things.
var cardKeys = slices.Concat(
	table[Card]{version[Card]("gauge", CardVersion)},
	within(gaugeKeys, func(c *Card) *Gauge { return &c.Gauge }).needing("range"),
	table[Card]{line("note", func(c *Card) *string { return &c.Note }, noteLength, "anything else", "serial number 4711; dropped once")},
)

// within makes of the keys of a U those of a T that holds one.
func within[T, U any](t table[U], at func(*T) *U) table[T] {
	out := make(table[T], len(t))
	for i, f := range t {
		out[i] = field[T]{Key: f.Key, entries: f.entries, leaf: f.leaf,
			read:  func(v *T, n *strictyaml.Node) { f.read(at(v), n) },
			write: func(v *T) *strictyaml.Node { return f.write(at(v)) }}
	}
	return out
}

// needing marks the key called name as one that must be there.
func (t table[T]) needing(name string) table[T] {
	for i := range t {
		t[i].Required = t[i].Required || t[i].Name == name
	}
	return t
}

var cardShape = cardKeys.shape().Called("the card of a gauge, which begins with gauge: 1")

// ReadCard reads the card of a gauge, YAML or, where it begins with {, JSON. The
// card is nil where there is any fault; warnings leave it whole. Faults come in
// the order of their places.
func ReadCard(file string, src []byte) (*Card, strictyaml.Faults) {
	return cardFrom(file, parse(file, src))
}

func cardFrom(file string, p parsed) (*Card, strictyaml.Faults) {
	if p.root == nil {
		return nil, p.faults
	}
	if f, bad := otherVersion(file, p.root, "gauge", "a gauge's card", CardVersion); bad {
		return nil, append(p.faults, f)
	}
	faults := slices.Concat(p.faults, cardShape.Check(file, p.root))
	card := new(Card)
	c := &checker{Report: &strictyaml.Report{File: file}, root: p.root}
	if p.root.Kind == strictyaml.Map {
		cardKeys.readInto(card, p.root)
		c.gauge(p.root, &card.Gauge)
	}
	faults = append(faults, c.Faults...).Sorted()
	if faults.Err() != nil {
		return nil, faults
	}
	return card, faults
}

// Write prints c as YAML that reads back equal.
func (c *Card) Write() []byte { return strictyaml.Write(c.Tree()) }

// CardSchema is the JSON Schema of a gauge's card, draft 7, for editors.
func CardSchema() []byte {
	return cardShape.Schema("gauge-1.schema.json", "Card of a gauge, version 1")
}

// parse reads YAML or, where it begins with {, JSON.
func parse(file string, src []byte) parsed {
	trimmed := bytes.TrimLeft(bytes.TrimPrefix(src, []byte("\uFEFF")), " \t\r\n")
	if bytes.HasPrefix(trimmed, []byte("{")) {
		return one(strictyaml.ParseJSON(file, src, 1))
	}
	return one(strictyaml.ParseYAML(file, src, 1))
}

// CardOf makes a card of single answers by their keys, such as range. Its faults
// have the key as their path, and no place.
func CardOf(answers map[string]string) (*Card, strictyaml.Faults) {
	root := strictyaml.NewMap().Set("gauge", strictyaml.NewWhole(CardVersion))
	for _, f := range cardKeys {
		if text := answers[f.Name]; text != "" && f.leaf != nil {
			root.Set(f.Name, f.leaf.node(text))
		}
	}
	return cardFrom("", parsed{root: root})
}

// Tree is the card as it is written, for other forms of writing.
func (c *Card) Tree() *strictyaml.Node { return cardKeys.node(c) }
