package classroom_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/cmd/internal/classroom"
)

// Names of groups that tell who is in them are found, whole, in part and without marks;
// letters, colours and points of the compass are not.
func TestCalledLike(t *testing.T) {
	people := []classroom.Person{{Name: "Ada Beam", Group: "team-beam"}, {Name: "Jo Müller", Group: "Muller2"}, {Name: "Bo Li", Group: "LI"}, {Name: "Cleo Dale", Group: "dalegang"},
		{Name: "A. Pole", Group: "A"}, {Name: "Kim Northfold", Group: "north"}, {Name: "Eli O'Dell", Group: "ODell"}}
	want := map[string]string{"team-beam": "Ada Beam", "Muller2": "Jo Müller", "LI": "Bo Li", "dalegang": "Cleo Dale", "ODell": "Eli O'Dell"}
	if diff := cmp.Diff(classroom.CalledLike(people), want); diff != "" {
		t.Errorf("got (-), want (+):\n%s", diff)
	}
}

// Tables as people's programs write them all make the same roster.
func TestRosterForms(t *testing.T) {
	want := []classroom.Person{{"A1", "Ada Example", "A", true}, {"B1", "Ben, the younger", "B", false}, {"A2", "Cleo", "A", true}}
	for name, text := range map[string]string{
		"commas":          "name,group,drives\nAda Example,A,yes\n\"Ben, the younger\",B,no\nCleo,A,yes\n",
		"semicolons":      "Name;Group;Drives\r\nAda Example;A;Yes\r\nBen, the younger;B;No\r\nCleo;A;y\r\n",
		"tabs":            "group\tname\tdrives\nA\tAda Example\tx\nB\tBen, the younger\t\nA\tCleo\ttrue\n",
		"bars and a mark": "\xef\xbb\xbfname|group|drives\n Ada Example | A | yes\nBen, the younger|B|no\n\nCleo|A|yes",
	} {
		got, faults := classroom.ReadRoster("roster.csv", []byte(text))
		if len(faults) > 0 {
			t.Errorf("%s: %v", name, faults)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got)\n%s", name, diff)
		}
	}
	got, _ := classroom.ReadRoster("r", []byte("name,group\nAda,north-2\nBen,north-2\n"))
	if len(got) != 2 || got[1].ID != "north-2-2" || !got[1].Drives {
		t.Errorf("got %+v, want an id that can't be taken for another group's, and that he may drive", got)
	}
}

// What is wrong with a roster is told with its place, all of it at once.
func TestRosterFaults(t *testing.T) {
	for name, row := range map[string]struct{ text, want string }{
		"empty":            {"", "roster.csv:1:1: the roster is empty"},
		"no heading":       {"Ada,A\nBen,B\n", `roster.csv:1:1: there is no column "Ada" in a roster`},
		"heading misspelt": {"name,gruop\nAda,A\n", `roster.csv:1:6: there is no column "gruop"`},
		"a cell too many":  {"name,group\nAda,A,x\n", "roster.csv:2:1: this line has 3 cells, expected 2 cells"},
		"no name":          {"name,group\n ,A\n", "roster.csv:2:1: there is no name"},
		"a formula":        {"name,group\n=1+1,A\n", "roster.csv:2:1: a name that begins like a formula"},
		"no group":         {"name,group\nAda,\n", "roster.csv:2:5: there is no group"},
		"twice":            {"name,group\nAda,A\nada,B\n", `roster.csv:3:1: "ada" stands in line 2 already`},
		"a path":           {"name,group\nAda,../x\n", `roster.csv:2:5: "../x" can't be the name of a group`},
		"two spellings":    {"name,group\nAda,a\nBen,A\n", `roster.csv:3:5: the group "A" was written "a" before`},
		"neither yes nor":  {"name,group,drives\nAda,A,perhaps\n", `roster.csv:2:7: "perhaps" says neither`},
		"a loose quote":    {"name,group\nAd\"a,A\n", "roster.csv:2:3: the table can't be read on"},
		"nobody":           {"name,group\n", "roster.csv:1:1: nobody stands below"},
		"other columns":    {"name,group,phone\nAda,A,1\n", `roster.csv:1:12: there is no column "phone"`},
		"not UTF-8":        {"name,group\nJ\xfcrg,A\n", "roster.csv:2:1: there is a character that is no UTF-8"},
	} {
		people, faults := classroom.ReadRoster("roster.csv", []byte(row.text))
		if people != nil || len(faults) == 0 || !strings.Contains(faults.Error(), row.want) {
			t.Errorf("%s: got %v and %v, want %q", name, people, faults, row.want)
		}
	}
	_, faults := classroom.ReadRoster("roster.csv", []byte("name,group\n,A\nBen,\nCleo,A,1\n"))
	if len(faults) != 3 {
		t.Errorf("got %d faults, want all three:\n%v", len(faults), faults)
	}
}

// Over six runs everybody of a group of three has each role twice; who may not drive
// never does.
func TestTurns(t *testing.T) {
	three := []classroom.Person{{ID: "A1", Drives: true}, {ID: "A2", Drives: true}, {ID: "A3", Drives: true}}
	count := map[string][3]int{}
	for _, turn := range classroom.Turns(three, 6) {
		for role, id := range turn {
			c := count[id]
			c[role]++
			count[id] = c
		}
	}
	for id, c := range count {
		if c != [3]int{2, 2, 2} {
			t.Errorf("%s: got %v, want each role twice", id, c)
		}
	}
	some := []classroom.Person{{ID: "B1", Drives: true}, {ID: "B2"}, {ID: "B3"}, {ID: "B4"}}
	for i, turn := range classroom.Turns(some, 8) {
		if turn[0] != "B1" || turn[1] == turn[2] || turn[1] == "B1" || turn[2] == "B1" {
			t.Errorf("turn %d: got %v", i, turn)
		}
	}
	two := []classroom.Person{{ID: "D1", Drives: true}, {ID: "D2"}, {ID: "D3", Drives: true}}
	reads := map[string]int{}
	for _, turn := range classroom.Turns(two, 6) {
		reads[turn[1]]++
	}
	if reads["D1"] == 0 || reads["D2"] > 3 || reads["D3"] == 0 {
		t.Errorf("of three, one of whom doesn't drive: they read %v times of six, want each at least once", reads)
	}
	if turn := classroom.Turns([]classroom.Person{{ID: "C1"}}, 1)[0]; turn[0] != "" || turn[1] != "C1" {
		t.Errorf("nobody may drive: got %v", turn)
	}
	if turn := classroom.Turns([]classroom.Person{{ID: "C1", Drives: true}}, 1)[0]; turn != (classroom.Turn{"C1", "", ""}) {
		t.Errorf("alone: got %v", turn)
	}
}

// Every sign misread for another, and every two neighbours exchanged, are noticed.
func TestCodes(t *testing.T) {
	const signs = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
	for _, text := range []string{"one", "two", "three"} {
		code := classroom.Code(text)
		if got, err := classroom.ReadCode(" " + strings.ToLower(code[:3]) + "-" + code[3:]); err != nil || got != code {
			t.Errorf("%s: got %q, %v", code, got, err)
		}
		for i := range code {
			for _, r := range signs {
				wrong := code[:i] + string(r) + code[i+1:]
				if _, err := classroom.ReadCode(wrong); err == nil && wrong != code {
					t.Errorf("%s passes for %s", wrong, code)
				}
			}
			if i > 0 && code[i] != code[i-1] {
				wrong := code[:i-1] + string(code[i]) + string(code[i-1]) + code[i+1:]
				if _, err := classroom.ReadCode(wrong); err == nil {
					t.Errorf("%s passes for %s", wrong, code)
				}
			}
		}
	}
	for _, text := range []string{"", "ABC", "AAAAAA7", "0BCDEF", "ABCDE1", "ABCDEI"} {
		if code, err := classroom.ReadCode(text); err == nil {
			t.Errorf("%q passes for %s", text, code)
		}
	}
	seen := map[string]bool{}
	for i := range 2000 {
		seen[classroom.Code("x", strings.Repeat("y", i))] = true
	}
	if len(seen) < 1999 {
		t.Errorf("2000 texts have %d codes", len(seen))
	}
}
