package rules

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// table is a small world of facts.
type table map[string]subject.Fact

func (t table) Fact(name string) (subject.Fact, bool) { f, ok := t[name]; return f, ok }

func (t table) FactNames() []string {
	return []string{"induction", "place", "restriction", "road_speed", "speed_limit", "rpm", "warm", "count"}
}

var world = table{
	"induction":   {Kind: quantity.Choice, Choices: []string{"natural", "turbo", "supercharged"}},
	"place":       {Kind: quantity.Choice, Choices: []string{"road", "track", "rolling-road"}},
	"restriction": {Kind: quantity.PressureDiff},
	"road_speed":  {Kind: quantity.Speed},
	"speed_limit": {Kind: quantity.Speed},
	"rpm":         {Kind: quantity.Rotation},
	"warm":        {Kind: quantity.Truth},
	"count":       {Kind: quantity.Number},
}

// today is what is known: no speed limit, and a number that is none.
func today(name string) subject.Value {
	switch name {
	case "induction":
		return subject.Value{Known: true, Word: "turbo"}
	case "restriction":
		return subject.Value{Known: true, Number: 12 * 249.08891}
	case "road_speed":
		return subject.Value{Known: true, Number: 25}
	case "rpm":
		return subject.Value{Known: true, Number: 6000}
	case "warm":
		return subject.Value{Known: true, Truth: true}
	case "count":
		return subject.Value{Known: true, Number: math.NaN()}
	}
	return subject.Value{}
}

func TestEval(t *testing.T) {
	for text, want := range map[string]Truth{
		"induction is turbo":                         True,
		"induction is not natural":                   True,
		"induction is natural":                       False,
		"restriction > 10 inH2O":                     True,
		"restriction > 3 kPa":                        False,
		"restriction >= 12 inH2O":                    True,
		"restriction < 12 inH2O":                     False,
		"rpm <= 6000":                                True,
		"rpm > 6000 rpm":                             False,
		"warm":                                       True,
		"not warm":                                   False,
		"not not warm":                               True,
		"road_speed > speed_limit":                   Unknown,
		"place is road and road_speed > speed_limit": Unknown,
		"place is road or warm":                      True,
		"place is road and not warm":                 False,
		"not place is road":                          Unknown,
		"count > 1":                                  Unknown,
		"warm or count > 1 and place is road":        True,
		"(warm or count > 1) and place is road":      Unknown,
		"restriction > 10 inH2O and rpm > 5000":      True,
		"restriction>10 inH2O and(rpm>5000)":         True,
	} {
		r, err := Compile(text, world)
		if err != nil {
			t.Errorf("Compile(%q): %v", text, err)
			continue
		}
		if got := r.Eval(today); got != want {
			t.Errorf("%q is %v, want %v", text, got, want)
		}
	}
}

func TestCompileFaults(t *testing.T) {
	for _, c := range []struct {
		text string
		col  int
		want string // in the message
	}{
		{"", 1, "ends too early"},
		{"restricton > 10 inH2O", 1, `did you mean "restriction"?`},
		{"warm and gearbox is manual", 10, "gearbox"},
		{"induction is turbp", 14, `did you mean "turbo"?`},
		{"induction > 3", 11, "larger or smaller"},
		{"restriction is 3", 13, "not a choice"},
		{"restriction > 10", 15, "inH2O"},
		{"restriction > 10 kW", 15, "kW"},
		{"restriction > 10 inH2O > 5 inH2O", 24, "two things at a time"},
		{"road_speed > restriction", 25, "a speed is compared with a pressure difference"},
		{"restriction", 12, "says nothing by itself"},
		{"(warm", 6, "not closed"},
		{"warm)", 5, "after the rule's end"},
		{"warm &&", 6, "after the rule's end"},
		{"and warm", 1, "can't stand here"},
		{"warm or", 8, "ends too early"},
		{"restriction > ", 15, "nothing is compared"},
		{"rpm > NaN", 7, "nobody knows the fact"},
		{"rpm > 1e3", 7, "1e3"},
		{strings.Repeat("(", 60) + "warm" + strings.Repeat(")", 60), 42, "too deep"},
		{strings.Repeat("not ", 60) + "warm", 165, "too deep"},
		{strings.Repeat("warm or ", 100) + "warm", 1, "804 bytes"},
	} {
		r, err := Compile(c.text, world)
		if err == nil {
			t.Errorf("Compile(%.40q) = %v, want a fault", c.text, r)
			continue
		}
		if err.Col != c.col || !strings.Contains(err.Error(), c.want) {
			t.Errorf("Compile(%.40q): %v, want column %d and %q", c.text, err, c.col, c.want)
		}
	}
}

// oracle evaluates and, or, not by trying every way in which the unknowns
// could turn out, which is what Kleene's tables sum up for single connectives.
func oracle(op func(a, b bool) bool, a, b Truth) Truth {
	ways := func(t Truth) []bool {
		switch t {
		case True:
			return []bool{true}
		case False:
			return []bool{false}
		}
		return []bool{false, true}
	}
	var yes, no bool
	for _, x := range ways(a) {
		for _, y := range ways(b) {
			if op(x, y) {
				yes = true
			} else {
				no = true
			}
		}
	}
	switch {
	case yes && no:
		return Unknown
	case yes:
		return True
	}
	return False
}

func TestKleeneTables(t *testing.T) {
	for a := False; a <= True; a++ {
		for b := False; b <= True; b++ {
			if got, want := a.And(b), oracle(func(x, y bool) bool { return x && y }, a, b); got != want {
				t.Errorf("%v and %v = %v, want %v", a, b, got, want)
			}
			if got, want := a.Or(b), oracle(func(x, y bool) bool { return x || y }, a, b); got != want {
				t.Errorf("%v or %v = %v, want %v", a, b, got, want)
			}
		}
		if got, want := a.Not(), oracle(func(x, _ bool) bool { return !x }, a, True); got != want {
			t.Errorf("not %v = %v, want %v", a, got, want)
		}
	}
}

func TestFactsAndMissing(t *testing.T) {
	r, err := Compile("place is road and road_speed > speed_limit or place is track", world)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := fmt.Sprint(r.Facts()), "[place road_speed speed_limit]"; got != want {
		t.Errorf("Facts() = %s, want %s", got, want)
	}
	if got, want := fmt.Sprint(r.Missing(today)), "[place speed_limit]"; got != want {
		t.Errorf("Missing() = %s, want %s", got, want)
	}
}

// FuzzCompile holds two laws: compiling never fails to end, and what a rule
// prints compiles to a rule that prints the same and means the same.
func FuzzCompile(f *testing.F) {
	for _, s := range []string{
		"induction is not natural", "restriction > 10 inH2O and (warm or not warm)",
		"road_speed > speed_limit", "rpm <= 6000 rpm or count < -1.5", "not not warm", "((warm))", "restriction > 10 in",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := Compile(text, world)
		if err != nil {
			if err.Col < 1 || err.Col > len([]rune(text))+1 {
				t.Errorf("Compile(%q): column %d lies outside", text, err.Col)
			}
			return
		}
		again, err := Compile(r.String(), world)
		if err != nil {
			if len(r.String()) > longest {
				return
			}
			t.Fatalf("%q prints %q, which gives %v", text, r, err)
		}
		if again.String() != r.String() || again.Eval(today) != r.Eval(today) {
			t.Errorf("%q prints %q, then %q", text, r, again)
		}
	})
}

func BenchmarkCompile50(b *testing.B) {
	shapes := []string{"induction is not natural", "restriction > 10 inH2O", "place is road and road_speed > speed_limit", "warm or not (rpm < 5000)", "count > 3"}
	for b.Loop() {
		for range 10 {
			for _, s := range shapes {
				if _, err := Compile(s, world); err != nil {
					b.Fatal(err)
				}
			}
		}
	}
}
