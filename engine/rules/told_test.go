package rules

import (
	"testing"

	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// A rule is told in words without what is settled; one that is settled as a whole
// needs no words.
func TestTold(t *testing.T) {
	known := map[string]subject.Value{"warm": {Known: true, Word: "yes"}, "cold": {Known: true, Word: "no"}}
	names := told{}
	say := func(c Comparison) string { return "[" + c.Fact + " " + c.Op + " " + c.Other + "]" }
	for _, c := range []struct{ rule, want string }{
		{"place is road", "[place is road]"},
		{"not place is road", "it is not so that [place is road]"},
		{"warm is yes and place is road", "[place is road]"},
		{"cold is yes or place is not road", "[place is not road]"},
		{"cold is yes and place is road", ""},
		{"warm is yes", ""},
		{"place is road and (loss > 2 kPa or loss < limit)", "[place is road] and ([loss > 2 kPa] or [loss < limit])"},
	} {
		r, fault := Compile(c.rule, names)
		if fault != nil {
			t.Fatalf("%s: %v", c.rule, fault)
		}
		if got := r.Told(func(name string) subject.Value { return known[name] }, say); got != c.want {
			t.Errorf("%s is told as %q, want %q", c.rule, got, c.want)
		}
	}
}

// told are the names of these rules.
type told struct{}

func (told) FactNames() []string { return []string{"cold", "limit", "loss", "place", "warm"} }
func (told) Fact(name string) (subject.Fact, bool) {
	switch name {
	case "warm", "cold":
		return subject.Fact{Name: name, Kind: quantity.Choice, Choices: []string{"yes", "no"}}, true
	case "place":
		return subject.Fact{Name: name, Kind: quantity.Choice, Choices: []string{"road", "track"}}, true
	case "loss", "limit":
		return subject.Fact{Name: name, Kind: quantity.PressureDiff}, true
	}
	return subject.Fact{}, false
}
