package remedy

import (
	"strings"
	"testing"

	"dropwalk/advice/sheet"
)

func TestShippedRemediesLoad(t *testing.T) {
	_, faults := load()
	for _, f := range faults {
		t.Error(f)
	}
}

func TestEveryKindHasARemedy(t *testing.T) {
	for _, kind := range sheet.Kinds() {
		if len(For(kind)) == 0 {
			t.Errorf("no remedy for %q", kind)
		}
	}
	if got := len(shelf()); got != len(sheet.Kinds()) {
		t.Errorf("remedies for %d kinds, want %d: some file has a kind that no sheet knows", got, len(sheet.Kinds()))
	}
}

func TestRemediesAreSentences(t *testing.T) {
	seen := map[string]bool{}
	for _, kind := range sheet.Kinds() {
		for _, r := range For(kind) {
			if seen[r.ID] {
				t.Errorf("id %q stands twice", r.ID)
			}
			seen[r.ID] = true
			texts := append([]string{r.Do, r.Gives, r.Test, r.Caution, r.Legal}, r.Upsets...)
			for _, text := range texts {
				if text != "" && !strings.HasSuffix(text, ".") {
					t.Errorf("%s: %q is no whole sentence", r.ID, text)
				}
				for s := range strings.SplitSeq(text, ". ") {
					if n := len(strings.Fields(s)); n > 30 {
						t.Errorf("%s: a sentence of %d words, want at most 30: %q", r.ID, n, s)
					}
				}
			}
		}
	}
}

// The parts that must not be attacked lightly say so.
func TestFixedKindsAreLeftAlone(t *testing.T) {
	for _, kind := range []string{"meter", "throttle"} {
		for _, r := range For(kind) {
			if !r.Leave || r.Legal == "" {
				t.Errorf("%s: leave %v, legal %q, want it left alone with a word on the law", r.ID, r.Leave, r.Legal)
			}
		}
	}
}

func TestUnknownKeyIsRefused(t *testing.T) {
	_, _, faults := read("x.yaml", []byte("kind: mouth\nremedies:\n  - {id: a, doo: b, effort: 1, gives: c, upsets: [d], test: e}\n"))
	text := faults.Error()
	if !strings.Contains(text, "x.yaml:3:") || !strings.Contains(text, `"do"`) {
		t.Errorf("faults = %q, want one in line 3 that offers \"do\"", text)
	}
}
