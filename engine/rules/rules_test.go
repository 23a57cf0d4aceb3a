package rules

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// table is a small world of facts.
type table map[string]subject.Fact

func (t table) Fact(name string) (subject.Fact, bool) { f, ok := t[name]; return f, ok }

func (t table) FactNames() []string {
	return slices.Sorted(maps.Keys(t))
}

var world = table{
	"induction":   {Kind: quantity.Choice, Choices: []string{"natural", "turbo", "supercharged"}},
	"place":       {Kind: quantity.Choice, Choices: []string{"road", "track", "rolling-road"}},
	"restriction": {Kind: quantity.PressureDiff},
	"road_speed":  {Kind: quantity.Speed},
	"speed_limit": {Kind: quantity.Speed},
	"rpm":         {Kind: quantity.Rotation},
	"warm":        {Kind: quantity.Truth},
	"hot":         {Kind: quantity.Truth},
	"count":       {Kind: quantity.Number},
	"rounds":      {Kind: quantity.Whole},
	"driven":      {Kind: quantity.Choice, Choices: []string{"2wd", "4wd"}},
	"note":        {Kind: quantity.Text},
	"day":         {Kind: quantity.Date},
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
	case "rounds":
		return subject.Value{Known: true, Number: 3}
	case "driven":
		return subject.Value{Known: true, Word: "4wd"}
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
		"restriction > 10 in. wc or warm":            True,
		"restriction > -12 1/2 inH2O":                True,
		"restriction >\n  10 inH2O\tand warm":        True,
		"rounds > 2":                                 True,
		"rounds > 2.5":                               True,
		"rounds >= count":                            Unknown,
		"driven is 4wd":                              True,
		"driven is not 2wd and warm":                 True,
		"hot or not hot":                             Unknown,
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
		{"", 1, "the rule is empty"},
		{"   ", 4, "the rule is empty"},
		{"restricton > 10 inH2O", 1, `nobody knows the fact "restricton", expected the name of a fact (did you mean "restriction"?)`},
		{"warm and gearbox is manual", 10, `nobody knows the fact "gearbox"`},
		{"induction is turbp", 14, `"turbp" is none of the words of induction, expected natural, turbo, supercharged (did you mean "turbo"?)`},
		{"induction is ", 14, "the rule ends too early, expected one of: natural"},
		{"induction is not", 17, "the rule ends too early"},
		{"induction is 10 inH2O", 14, `"10" is none of the words`},
		{"induction > 3", 11, `"induction" can't be larger or smaller, expected induction is, or is not, one of: natural`},
		{"warm > 3", 6, `"warm" can't be larger or smaller, expected warm or not warm`},
		{"warm is yes", 6, `"warm" is a yes or no, not a choice of words, expected warm or not warm`},
		{"restriction is 3", 13, `"restriction" is a pressure difference, not a choice of words`},
		{"note is good", 6, "not a choice of words"},
		{"day > 3", 5, "can't be larger or smaller"},
		{"restriction > 10", 15, `the unit is missing, expected a pressure difference such as "12.5 inH2O"`},
		{"restriction > 10 kW", 15, `"kW" is a unit of power, not of pressure difference`},
		{"restriction > 10 kPx", 15, `(did you mean "kPa"?)`},
		{"restriction > 10 in", 15, `"10 in" can mean several things, expected 10 inH2O or 10 inHg`},
		{"restriction > 1,250 Pa", 15, "expected 1250 Pa or 1.25 Pa"},
		{"restriction > 12-13 inH2O", 15, "a range is not taken here"},
		{"restriction > 10 inH2O > 5 inH2O", 24, "two things at a time"},
		{"1 < count", 1, `"1" can't stand here, expected the name of a fact`},
		{"road_speed > restriction", 14, `"road_speed" is a speed and "restriction" is a pressure difference, expected two facts of one kind`},
		{"road_speed > warm", 14, "two facts of one kind"},
		{"road_speed > rod_speed", 14, `did you mean "road_speed"?`},
		{"restriction", 1, `"restriction" says nothing by itself, expected a comparison`},
		{"induction turbo", 1, `"induction" says nothing by itself, expected induction is, or is not, one of`},
		{"induction = turbo", 11, `"=" can't stand here, expected is, or >= and <= for numbers`},
		{"induction != turbo", 11, `expected is not`},
		{"count == 3", 7, "expected is, or >= and <="},
		{"count => 3", 7, "expected >="},
		{"count <=> 3", 7, "expected a comparison"},
		{"count > = 3", 9, "can't stand here"},
		{"warm && warm", 6, `"&&" can't stand here, expected and`},
		{"warm | warm", 6, "expected or"},
		{"!warm", 1, "expected not"},
		{"warm AND warm", 6, `(did you mean "and"?)`},
		{"warm warm", 6, "can't stand here, expected and, or, or the end"},
		{"(warm", 6, "not closed"},
		{"(warm warm)", 7, "expected and, or, or )"},
		{"warm)", 5, `")" can't stand here`},
		{"()", 2, "the name of a fact"},
		{"and warm", 1, "can't stand here"},
		{"warm or", 8, "ends too early"},
		{"not", 4, "ends too early"},
		{"restriction > ", 15, "nothing is compared"},
		{"restriction > )", 15, "nothing is compared"},
		{"rpm > NaN", 7, "nobody knows the fact"},
		{"rpm > 1e3", 7, "has an exponent"},
		{"rpm > 0x10", 7, "is no known unit"},
		{"warm or 'x'", 9, "can't stand here"},
		{"é warm", 1, "can't stand here"},
		{"warm or \u00e9\u00e9 warm", 9, "can't stand here"},
		{"warm\x1b[2J", 5, `"\x1b" can't stand here`},
		{"warm \xff", 6, "can't stand here"},
		{"ärm > 1 or x", 1, "can't stand here"},
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

func TestFacts(t *testing.T) {
	r, err := Compile("place is road and road_speed > speed_limit or place is track", world)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := fmt.Sprint(r.Facts()), "[place road_speed speed_limit]"; got != want {
		t.Errorf("Facts() = %s, want %s", got, want)
	}
}

// Only what could still decide the rule is missing.
func TestMissing(t *testing.T) {
	for text, want := range map[string]string{
		"place is road and road_speed > speed_limit or place is track": "[place speed_limit]",
		"warm":                            "[]",
		"hot":                             "[hot]",
		"warm or hot":                     "[]",
		"warm and hot":                    "[hot]",
		"not warm and hot":                "[]",
		"not hot":                         "[hot]",
		"count > 1":                       "[count]",
		"(not warm and hot) or count>1":   "[count]",
		"road_speed > speed_limit":        "[speed_limit]",
		"hot or hot and place is road":    "[hot place]",
		"hot and (warm or place is road)": "[hot]",
	} {
		r, err := Compile(text, world)
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprint(r.Missing(today)); got != want {
			t.Errorf("Missing of %q = %s, want %s", text, got, want)
		}
	}
}

func TestString(t *testing.T) {
	for text, want := range map[string]string{
		"((warm))":                            "warm",
		"warm and (hot or warm)":              "warm and (hot or warm)",
		"warm or (hot and warm)":              "warm or hot and warm",
		"warm and (hot and (warm and hot))":   "warm and hot and warm and hot",
		"not (warm)":                          "not warm",
		"not (warm and hot)":                  "not (warm and hot)",
		"not not warm":                        "not not warm",
		"not (induction is not turbo)":        "not induction is not turbo",
		"restriction>=12,5 in. wc":            "restriction >= 12.5 inH2O",
		"rpm<6000":                            "rpm < 6000 rpm",
		"road_speed<=speed_limit":             "road_speed <= speed_limit",
		"count > -1 1/2 or(warm)and(hot)":     "count > -1.5 or warm and hot",
		"(warm or hot) and (warm or hot)":     "(warm or hot) and (warm or hot)",
		"((warm or hot) or (warm and (hot)))": "warm or hot or warm and hot",
		"driven is 4wd":                       "driven is 4wd",
	} {
		r, err := Compile(text, world)
		if err != nil {
			t.Fatal(err)
		}
		if got := r.String(); got != want {
			t.Errorf("%q prints %q, want %q", text, got, want)
		}
	}
}

// FuzzCompile holds two laws: a fault lies inside the text, and what a rule
// prints compiles to a rule that prints and means the same.
func FuzzCompile(f *testing.F) {
	for _, s := range []string{
		"induction is not natural", "restriction > 10 inH2O and (warm or not warm)",
		"road_speed > speed_limit", "rpm <= 6000 rpm or count < -1.5", "not not warm", "((warm))", "restriction > 10 in",
		"warm and (hot and (warm or hot))", "driven is 4wd", "count <=> 3", "rounds > \u22121½",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := Compile(text, world)
		if err != nil {
			if err.Col < 1 || err.Col > len([]rune(text))+1 || err.What == "" {
				t.Errorf("Compile(%q): %v", text, err)
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
		if waits := r.Missing(today); (len(waits) > 0) != (r.Eval(today) == Unknown) {
			t.Errorf("%q is %v and waits for %q", text, r.Eval(today), waits)
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

func BenchmarkEval50(b *testing.B) {
	r, err := Compile("place is road and road_speed > speed_limit or restriction > 10 inH2O", world)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		for range 50 {
			_ = r.Eval(today)
		}
	}
}
