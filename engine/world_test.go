package engine

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// shop is a small matter of its own, nothing to do with cars: orders of a shop,
// with a source that offers one round an item and facts that follow from
// answers or from judgement.
type shop struct {
	looks  int // how many views were made
	judged int // how many times something was judged
	items  int // how many rounds the source offers
}

var shopFields = []subject.Field{
	{Path: "name", Kind: quantity.Text, Required: true},
	{Path: "colour", Kind: quantity.Choice, Choices: []string{"red", "blue"}},
	{Path: "weight", Kind: quantity.Length},
	{Path: "items[].count", Kind: quantity.Whole},
	{Path: "items[].price", Kind: quantity.Number},
}

var shopFacts = []subject.Fact{
	{Name: "colour", Kind: quantity.Choice, Choices: []string{"red", "blue"}},
	{Name: "name", Kind: quantity.Text},
	{Name: "dear", Kind: quantity.Truth, Judged: true},
	{Name: "sum", Kind: quantity.Number, Judged: true},
}

func (s *shop) Field(path string) (subject.Field, bool) {
	i := slices.IndexFunc(shopFields, func(f subject.Field) bool { return f.Path == path })
	if i < 0 {
		return subject.Field{}, false
	}
	return shopFields[i], true
}

func (s *shop) Fact(name string) (subject.Fact, bool) {
	i := slices.IndexFunc(shopFacts, func(f subject.Fact) bool { return f.Name == name })
	if i < 0 {
		return subject.Fact{}, false
	}
	return shopFacts[i], true
}

func (s *shop) Source(name string) (subject.Source, bool) {
	if name != "next-item" {
		return subject.Source{}, false
	}
	return subject.Source{Name: name, Judged: true, Values: []subject.Fact{
		{Name: "item", Kind: quantity.Text}, {Name: "size", Kind: quantity.Choice, Choices: []string{"small", "large"}},
	}}, true
}

func (s *shop) Page(name string) bool { return name == "bill" }

func (s *shop) Names() subject.Names {
	return subject.Names{
		Fields: []string{"colour", "items[].count", "items[].price", "name", "weight"},
		Facts:  []string{"colour", "dear", "name", "sum"}, Sources: []string{"next-item"}, Pages: []string{"bill"}, Pictures: []string{"shelf"},
	}
}

func (s *shop) Look(entries []subject.Entry) subject.View {
	s.looks++
	return &counter{s, entries}
}

// counter is the view of a shop.
type counter struct {
	shop    *shop
	entries []subject.Entry
}

func (c *counter) text(path string) string {
	for _, e := range slices.Backward(c.entries) {
		if e.Path == path {
			return e.Text
		}
	}
	return ""
}

func (c *counter) Value(fact string) subject.Value {
	switch fact {
	case "colour", "name":
		t := c.text(fact)
		return subject.Value{Known: t != "", Word: t, Text: t}
	case "dear":
		c.shop.judged++
		return subject.Value{Known: true, Truth: c.sum() > 10, Text: "dear"}
	case "sum":
		c.shop.judged++
		return subject.Value{Known: true, Number: c.sum(), Text: fmt.Sprint(c.sum())}
	}
	return subject.Value{}
}

func (c *counter) sum() float64 {
	total := 0.0
	for _, e := range c.entries {
		if e.Path == "items[].count" {
			var n float64
			_, _ = fmt.Sscan(e.Text, &n)
			total += n
		}
	}
	return total
}

func (c *counter) Offer(source string, at subject.Round) (subject.Offer, bool) {
	c.shop.judged++
	if at.Done >= max(c.shop.items, at.Least) {
		return subject.Offer{}, false
	}
	return subject.Offer{
		Values: map[string]string{"item": fmt.Sprintf("item %d of %s", at.Done+1, c.text("name")), "size": []string{"small", "large"}[at.Done%2]},
		Parts:  []subject.Part{{Path: "items[].price", Text: fmt.Sprint(10 * (at.Done + 1))}},
		Reason: "there is room",
	}, true
}

func (c *counter) Read(paths []string, _ subject.Round, raw string) (subject.Reply, error) {
	if raw == "?" {
		return subject.Reply{Unknown: true}, nil
	}
	if strings.HasPrefix(raw, "bad") {
		return subject.Reply{}, &subject.Refusal{What: "bad goods", Expected: "good ones"}
	}
	return subject.Reply{Parts: []subject.Part{{Path: paths[0], Text: raw}}, Echo: "= " + raw}, nil
}

func (c *counter) Picture(name string, at subject.Round) subject.Picture {
	return subject.Picture{Title: name, Places: []subject.Spot{{Name: c.text("name") + at.Values["item"]}}}
}

func (c *counter) Page(string) string { return fmt.Sprintf("sum %v", c.sum()) }
