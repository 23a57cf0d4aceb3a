// Package prose counts what can be counted in English sentences without
// understanding them: sentences, words, syllables, and the school grade that a
// text asks of its reader. It knows no grammar.
//
// Start with Sentences; Grade sums several texts up.
package prose

import (
	"strings"
	"unicode"
)

// Sentence is one sentence of a text.
type Sentence struct {
	Text  string
	Col   int // of its first letter in the text, in runes from nought
	Words []Word
}

// Word is one word of a sentence, without the marks around it. A name in
// braces is one word.
type Word struct {
	Text string
	Col  int // in the text, in runes from nought
}

// Lower is the word in small letters.
func (w Word) Lower() string { return strings.ToLower(w.Text) }

// short are words that end in a point and end no sentence.
var short = map[string]bool{"e.g.": true, "i.e.": true, "approx.": true, "cf.": true, "vs.": true, "fig.": true}

// Sentences parts a text. A sentence ends with a point, a question mark or an
// exclamation mark that a blank or the end of the text follows.
func Sentences(text string) []Sentence {
	runes := []rune(text)
	var list []Sentence
	from := 0
	for i := range runes {
		last := i == len(runes)-1
		if !last && !(ends(runes[i]) && unicode.IsSpace(runes[i+1]) && !short[lastWord(runes[from:i+1])]) {
			continue
		}
		if s := newSentence(runes[from:i+1], from); len(s.Words) > 0 {
			list = append(list, s)
		}
		from = i + 1
	}
	return list
}

func ends(r rune) bool { return r == '.' || r == '?' || r == '!' }

func lastWord(runes []rune) string {
	fields := strings.Fields(string(runes))
	if len(fields) == 0 {
		return ""
	}
	return strings.ToLower(fields[len(fields)-1])
}

func newSentence(runes []rune, offset int) Sentence {
	start := 0
	for start < len(runes) && unicode.IsSpace(runes[start]) {
		start++
	}
	s := Sentence{Text: strings.TrimSpace(string(runes)), Col: offset + start}
	for at := 0; at < len(runes); {
		end := at
		for end < len(runes) && inside(runes, end) {
			end++
		}
		if end > at {
			if w := strings.TrimRight(string(runes[at:end]), ".'"); w != "" {
				s.Words = append(s.Words, Word{Text: w, Col: offset + at})
			}
			at = end
			continue
		}
		at++
	}
	return s
}

// inside tells whether the rune at i belongs to a word: letters, digits, and
// what stands within a word or a number.
func inside(runes []rune, i int) bool {
	r := runes[i]
	if unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("{}_%°", r) {
		return true
	}
	return i > 0 && !unicode.IsSpace(runes[i-1]) && strings.ContainsRune("'’-.,/", r) &&
		i+1 < len(runes) && (unicode.IsLetter(runes[i+1]) || unicode.IsDigit(runes[i+1]))
}

// Counts is the size of texts.
type Counts struct{ Sentences, Words, Syllables int }

// Count adds the sentences of a text.
func (c *Counts) Count(sentences []Sentence) {
	c.Sentences += len(sentences)
	for _, s := range sentences {
		c.Words += len(s.Words)
		for _, w := range s.Words {
			c.Syllables += syllables(w.Lower())
		}
	}
}

// Grade is the Flesch-Kincaid grade level: 0.39 words a sentence plus 11.8
// syllables a word less 15.59 (J. P. Kincaid, R. P. Fishburne, R. L. Rogers,
// B. S. Chissom: Derivation of new readability formulas for Navy enlisted
// personnel, Research Branch Report 8-75, 1975). It is 0 for no words.
func (c Counts) Grade() float64 {
	if c.Words == 0 || c.Sentences == 0 {
		return 0
	}
	words := float64(c.Words)
	return 0.39*words/float64(c.Sentences) + 11.8*float64(c.Syllables)/words - 15.59
}

// syllables counts groups of vowels; an e at the end of a word is silent. It is
// right for nine words of ten, which is enough for a grade of a whole text.
func syllables(word string) int {
	n, before := 0, false
	for _, r := range word {
		vowel := strings.ContainsRune("aeiouy", r)
		if vowel && !before {
			n++
		}
		before = vowel
	}
	if n > 1 && strings.HasSuffix(word, "e") && !strings.HasSuffix(word, "le") {
		n--
	}
	if n > 1 && strings.HasSuffix(word, "ed") && !strings.HasSuffix(word, "ted") && !strings.HasSuffix(word, "ded") {
		n--
	}
	return max(n, 1)
}
