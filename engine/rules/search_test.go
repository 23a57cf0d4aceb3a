package rules

import "testing"

func find(t *testing.T, unknowns bool, want Truth, texts ...string) (Facts, bool, bool) {
	t.Helper()
	var wanted []Wanted
	for i, text := range texts {
		rule, err := Compile(text, world)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		ok := []Truth{True}
		if i == 0 {
			ok = []Truth{want}
		}
		wanted = append(wanted, Wanted{rule, ok})
	}
	return Search{Fact: world.Fact, Unknowns: unknowns}.Find(wanted)
}

// What is found makes the rules come to what was wanted; what can't be is not
// found, and the search says that it looked everywhere.
func TestSearch(t *testing.T) {
	for _, c := range []struct {
		want  Truth
		rules []string
		found bool
	}{
		{True, []string{"induction is turbo"}, true},
		{False, []string{"induction is turbo or induction is natural"}, true}, // supercharged
		{True, []string{"induction is turbo and induction is natural"}, false},
		{False, []string{"induction is natural or induction is not natural"}, false},
		{True, []string{"restriction > 10 inH2O and restriction < 11 inH2O"}, true},
		{True, []string{"restriction > 11 inH2O and restriction < 10 inH2O"}, false},
		{True, []string{"restriction >= 10 inH2O and restriction <= 10 inH2O"}, true},
		{True, []string{"road_speed > speed_limit and speed_limit > 80 km/h"}, true},
		{True, []string{"road_speed > speed_limit and speed_limit > road_speed"}, false},
		{True, []string{"warm and not hot"}, true},
		{True, []string{"warm", "not warm"}, false},
		{True, []string{"rpm > 6000", "restriction > 1 kPa", "warm or hot"}, true},
	} {
		facts, ok, whole := find(t, false, c.want, c.rules...)
		if ok != c.found || !whole {
			t.Errorf("%v: found %v (%v), looked everywhere %v", c.rules, ok, facts, whole)
			continue
		}
		for i, text := range c.rules {
			rule, _ := Compile(text, world)
			want := True
			if i == 0 {
				want = c.want
			}
			if got := rule.Eval(facts.Value); ok && got != want {
				t.Errorf("%s comes to %v with %v", text, got, facts)
			}
		}
	}
}

// A fact can be left unknown where that is asked for, and only there.
func TestSearchForUnknown(t *testing.T) {
	if facts, ok, _ := find(t, true, Unknown, "induction is turbo"); !ok || len(facts) != 0 {
		t.Errorf("found %v with %v", ok, facts)
	}
	if _, ok, whole := find(t, false, Unknown, "induction is turbo"); ok || !whole {
		t.Errorf("an unknown outcome was found with every fact known")
	}
}

// A search that is cut short says so.
func TestSearchIsBounded(t *testing.T) {
	rule := "(count > 1 or count > 2 or count > 3) and rpm > 1 and rpm > 2 and restriction > 1 Pa and restriction > 2 Pa and road_speed > 1 m/s " +
		"and speed_limit > 2 m/s and rounds > 1 and rounds < 0"
	if _, ok, whole := find(t, false, True, rule); ok || whole {
		t.Errorf("found %v, looked everywhere %v", ok, whole)
	}
}
