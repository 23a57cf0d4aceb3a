package answers

import (
	"slices"
	"strings"
	"testing"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// garden is a small matter of its own: a gardener digs at the beds that a
// judge asks for, at least twice each. The judge asks for north east, then,
// where the soil is deeper than 20 there, for south west, and comes back to north
// east once where it is deeper than 40.
type garden struct{}

var gardenFields = []subject.Field{
	{Path: "name", Kind: quantity.Text, Required: true},
	{Path: "soil", Kind: quantity.Choice, Choices: []string{"sand", "clay"}, Required: true},
	{Path: "water", Kind: quantity.Whole},
	{Path: "digs[].depth", Kind: quantity.Whole},
	{Path: "beds[].seeds", Kind: quantity.Text},
	{Path: "weeds", Kind: quantity.Text},
}

func (garden) Field(path string) (subject.Field, bool) {
	i := slices.IndexFunc(gardenFields, func(f subject.Field) bool { return f.Path == path })
	if i < 0 {
		return subject.Field{}, false
	}
	return gardenFields[i], true
}

func (garden) Fact(name string) (subject.Fact, bool) {
	switch name {
	case "soil":
		return subject.Fact{Name: name, Kind: quantity.Choice, Choices: []string{"sand", "clay"}}, true
	case "rows", "sides", "water":
		return subject.Fact{Name: name, Kind: quantity.Text}, true
	}
	return subject.Fact{}, false
}

func (garden) Source(name string) (subject.Source, bool) {
	text := func(name string) subject.Fact { return subject.Fact{Name: name, Kind: quantity.Text} }
	switch name {
	case "next-bed":
		return subject.Source{Name: name, Judged: true, Rows: "beds", Values: []subject.Fact{text("row"), text("side")},
			Keys: []subject.Key{{Name: "row", Among: "rows", Also: []string{"hedge"}}, {Name: "side", Among: "sides"}}}, true
	case "next-dig":
		return subject.Source{Name: name, Rows: "digs"}, true
	}
	return subject.Source{}, false
}

func (garden) Page(string) bool { return false }

func (garden) Names() subject.Names {
	return subject.Names{Fields: []string{"name"}, Facts: []string{"rows", "sides", "soil", "water"}, Sources: []string{"next-bed", "next-dig"}}
}

func (garden) Look(entries []subject.Entry) subject.View { return plot(entries) }

// plot is the garden as the answers describe it.
type plot []subject.Entry

func (v plot) text(path string) string {
	for _, e := range slices.Backward(v) {
		if e.Path == path {
			return e.Text
		}
	}
	return ""
}

func (v plot) Value(fact string) subject.Value {
	text := map[string]string{"rows": "north, south", "sides": "east, west", "soil": v.text("soil"), "water": v.text("water")}[fact]
	return subject.Value{Known: text != "", Word: text, Text: text}
}

// deep tells whether any dig went deeper than so many hands.
func (v plot) deep(most string) bool {
	return slices.ContainsFunc(v, func(e subject.Entry) bool { return e.Path == "digs[].depth" && len(e.Text) == 2 && e.Text > most })
}

func (v plot) Offer(source string, at subject.Round) (subject.Offer, bool) {
	if source == "next-dig" {
		return subject.Offer{}, at.Done < at.Least
	}
	bed := func(row, side string) (subject.Offer, bool) {
		return subject.Offer{Values: map[string]string{"row": row, "side": side, "reason": "to know more of " + row}}, true
	}
	switch {
	case v.text("name") == "":
	case at.Done == 0, at.Done == 2 && v.deep("40"):
		return bed("north", "east")
	case at.Done == 1 && v.deep("20"):
		return bed("south", "west")
	}
	return subject.Offer{}, false
}

func (v plot) Read(paths []string, _ subject.Round, raw string) (subject.Reply, error) {
	f, _ := garden{}.Field(paths[0])
	switch {
	case raw == "?":
		return subject.Reply{Unknown: true}, nil
	case f.Kind == quantity.Whole && strings.Trim(raw, "0123456789") != "":
		return subject.Reply{}, &subject.Refusal{What: raw + " is no number", Expected: "a number"}
	case f.Kind == quantity.Choice && !slices.Contains(f.Choices, raw):
		return subject.Reply{}, &subject.Refusal{What: raw + " is no soil", Expected: "sand, clay", Choices: f.Choices}
	}
	return subject.Reply{Parts: []subject.Part{{Path: paths[0], Text: raw}}}, nil
}

func (v plot) Page(string) string { return "" }

func (v plot) Picture(string, subject.Round) subject.Picture { return subject.Picture{} }

const digging = `procedure: 1
name: dig
title: How deep is the soil?
purpose: Dig where it pays.
if-stopped:
  parked: [Put the spade down.]
  off: [Put the spade down.]
parts:
- part: The garden
  car: off
- ask: What is the garden called?
  id: name
  fills: name
  like: Long Acre
- ask: What is the soil?
  id: soil
  fills: soil
- ask: How wet is it?
  id: water
  when: soil is clay
  fills: water
  like: "3"
- hold: Is everybody clear of the spade?
  id: clear
  lines: [Nobody stands near., Shoes are on.]
- tell: Clay this wet can't be dug.
  id: too-wet
  when: soil is clay
  back-to: [soil]
- part: The beds
  car: off
- rounds: next-bed
  id: walk
  at-least: 1
  at-most: 4
  each:
  - do: "Mark {row} {side}."
    id: mark
    undo: "Take the stick out of {row} {side}."
    cannot: Find another stick.
  - rounds: next-dig
    id: dig
    at-least: 2
    at-most: 3
    each:
    - hold: Is the spade yours?
      id: yours
    - ask: "How deep is it at {row} {side}?"
      id: depth
      fills: digs[].depth
      like: "15"
- part: The end
  car: off
- owed: all
  id: owed
- ask: Which weeds are left?
  id: weeds
  fills: weeds
  like: none
`

func dig(t *testing.T) *engine.Procedure {
	t.Helper()
	p, faults := engine.Load("dig.yaml", []byte(digging), garden{})
	if p == nil {
		t.Fatal(faults)
	}
	return p
}
