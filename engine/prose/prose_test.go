package prose

import (
	"math"
	"testing"
)

func TestSentences(t *testing.T) {
	text := "Close it off, e.g. with a clamp. It loses 0.5 inH2O at {to}! Is that all? natural: no blower"
	got := Sentences(text)
	want := []struct {
		text  string
		words int
	}{
		{"Close it off, e.g. with a clamp.", 7}, {"It loses 0.5 inH2O at {to}!", 6}, {"Is that all?", 3}, {"natural: no blower", 3},
	}
	if len(got) != len(want) {
		t.Fatalf("%d sentences: %v", len(got), got)
	}
	runes := []rune(text)
	for i, w := range want {
		if got[i].Text != w.text || len(got[i].Words) != w.words {
			t.Errorf("sentence %d is %q of %d words, want %q of %d", i, got[i].Text, len(got[i].Words), w.text, w.words)
		}
		for _, word := range got[i].Words {
			if at := string(runes[word.Col : word.Col+len([]rune(word.Text))]); at != word.Text {
				t.Errorf("%q stands at a place that holds %q", word.Text, at)
			}
		}
	}
}

func TestNoSentences(t *testing.T) {
	for _, text := range []string{"", "  \n", "...", "?!"} {
		if got := Sentences(text); len(got) != 0 {
			t.Errorf("%q has the sentences %v", text, got)
		}
	}
}

func TestSyllables(t *testing.T) {
	for word, want := range map[string]int{
		"gauge": 1, "engine": 2, "needle": 2, "open": 2, "fitted": 2, "closed": 1, "reading": 2, "assembly": 3, "hose": 1, "depression": 3, "rpm": 1,
	} {
		if got := syllables(word); got != want {
			t.Errorf("%s has %d syllables, want %d", word, got, want)
		}
	}
}

// The formula, for 10 words in 2 sentences with 14 syllables: 1.95 + 16.52 - 15.59.
func TestGrade(t *testing.T) {
	if got := (Counts{Sentences: 2, Words: 10, Syllables: 14}).Grade(); math.Abs(got-2.88) > 1e-9 {
		t.Errorf("the grade is %v, want 2.88", got)
	}
	var plain, heavy Counts
	plain.Count(Sentences("Fit the tap. Pull it by hand. It holds."))
	heavy.Count(Sentences("Subsequently ascertain the dimensional conformity of the aforementioned instrumentation assembly."))
	if plain.Grade() > 3 || heavy.Grade() < 15 {
		t.Errorf("the plain text has the grade %.1f, the heavy one %.1f", plain.Grade(), heavy.Grade())
	}
	if (Counts{}).Grade() != 0 {
		t.Error("no text has a grade")
	}
}
