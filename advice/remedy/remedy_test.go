package remedy

import (
	"slices"
	"strings"
	"testing"

	"dropwalk/advice/sheet"
)

func TestShippedFilesCoverEveryKind(t *testing.T) {
	byKind, faults := load()
	if len(faults) > 0 {
		t.Fatalf("the shipped files have faults:\n%v", faults)
	}
	for _, kind := range sheet.Kinds() {
		if len(byKind[kind]) == 0 {
			t.Errorf("no remedy for the kind %q", kind)
		}
	}
	if len(byKind) != len(sheet.Kinds()) {
		t.Errorf("%d files for %d kinds", len(byKind), len(sheet.Kinds()))
	}
}

// A remedy that means work on approved parts defers to local law.
func TestFabricationNamesTheLaw(t *testing.T) {
	for _, kind := range sheet.Kinds() {
		for _, r := range For(kind) {
			if r.Effort == 5 && !strings.Contains(r.Law, "Local law comes first") {
				t.Errorf("%s: %q has effort 5 and no caution on law", kind, r.Do)
			}
		}
	}
}

// Plain words: no sentence of more than 25 words (common practice in plain
// writing).
func TestSentencesAreShort(t *testing.T) {
	for _, kind := range sheet.Kinds() {
		for _, r := range For(kind) {
			for _, text := range []string{r.Do, r.Gives, r.Upsets, r.Test, r.Law} {
				for s := range strings.SplitSeq(text, ". ") {
					if n := len(strings.Fields(s)); n > 25 {
						t.Errorf("%s: %d words: %s", kind, n, s)
					}
				}
			}
		}
	}
}

func TestForGivesItsOwnCopy(t *testing.T) {
	first := For("duct")
	want := first[0].Do
	first[0].Do = "changed"
	if got := For("duct")[0].Do; got != want {
		t.Errorf("a caller changed the shipped text: got %q, want %q", got, want)
	}
	if got := For("no-such-kind"); got != nil {
		t.Errorf("a kind that doesn't exist has remedies: %v", got)
	}
}

const good = `kind: duct
remedies:
  - do: Do this.
    effort: 2
    gives: A little.
    upsets: Nothing.
    test: Read again.
    law: none
`

func TestReadTakesAGoodFile(t *testing.T) {
	kind, list, faults := read("duct.yaml", []byte(good))
	want := []Remedy{{Do: "Do this.", Effort: 2, Gives: "A little.", Upsets: "Nothing.", Test: "Read again."}}
	if len(faults) > 0 || kind != "duct" || !slices.Equal(list, want) {
		t.Errorf("got %q, %+v, %v; want duct, %+v", kind, list, faults, want)
	}
}

func TestReadRefusesEveryFault(t *testing.T) {
	tests := []struct{ name, old, new, want string }{
		{"unknown kind", "kind: duct", "kind: ducts", "duct.yaml:1:7: kind: "},
		{"another kind", "kind: duct", "kind: mouth", `duct.yaml:1:1: kind: a file called duct.yaml about the kind "mouth"`},
		{"no kind", "kind: duct\n", "", "kind"},
		{"unknown key", "    law: none", "    laws: none", "did you mean"},
		{"no do", "do: Do this.\n    ", "", "do"},
		{"no effort", "    effort: 2\n", "", "effort"},
		{"no gives", "    gives: A little.\n", "", "gives"},
		{"no upsets", "    upsets: Nothing.\n", "", "upsets"},
		{"no test", "    test: Read again.\n", "", "test"},
		{"no law", "    law: none\n", "", "law"},
		{"effort too high", "effort: 2", "effort: 6", "duct.yaml:4:13: remedies[1].effort: "},
		{"effort nought", "effort: 2", "effort: 0", "remedies[1].effort: "},
		{"effort in words", "effort: 2", "effort: easy", "remedies[1].effort: "},
		{"empty text", "gives: A little.", "gives: ''", "remedies[1].gives: "},
		{"no sentence", "gives: A little.", "gives: a little", `"a little" is no whole sentence`},
		{"none where a sentence belongs", "upsets: Nothing.", "upsets: none", `"none" is no whole sentence`},
		{"too long", "A little.", strings.Repeat("a", longest) + ".", "remedies[1].gives: "},
		{"no remedies", good[strings.Index(good, "\n  -"):], " []\n", "remedies: "},
		{"the same twice", good[len("kind: duct\nremedies:\n"):], strings.Repeat(good[len("kind: duct\nremedies:\n"):], 2), "stands here twice"},
		{"a list", good, "- a\n", "duct.yaml:1:1"},
		{"no YAML", good, "kind: [", "duct.yaml:1"},
		{"empty", good, "", "duct.yaml"},
		{"a control character", "A little.", "A \x1b[31m.", "invisible"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			src := strings.Replace(good, test.old, test.new, 1)
			if src == good {
				t.Fatal("the text wasn't changed")
			}
			kind, list, faults := read("duct.yaml", []byte(src))
			if kind != "" || list != nil {
				t.Errorf("got %q and %v from a file with a fault", kind, list)
			}
			if got := faults.Error(); !strings.Contains(got, test.want) {
				t.Errorf("got %q, want it to contain %q", got, test.want)
			}
		})
	}
}
