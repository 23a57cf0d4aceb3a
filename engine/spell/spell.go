// Package spell offers the nearest known name for a word that nobody knows.
// It serves every "did you mean" of the program: keys, commands, units, step
// ids. It knows no language and no plurals; two slips are the most it forgives.
package spell

import "strings"

// farthest is the largest number of single-letter slips that is still taken
// for a slip rather than for another word.
const farthest = 2

// Nearest returns the name in known that lies nearest to word, and false where
// none is within two slips (one, for words of three letters or fewer). Case is
// ignored. Equal distances go to the name that stands first in known.
func Nearest(word string, known []string) (string, bool) {
	limit := farthest
	if len([]rune(word)) <= 3 {
		limit = 1
	}
	best, found := "", false
	for _, name := range known {
		if d := Distance(strings.ToLower(word), strings.ToLower(name)); d <= limit {
			best, found, limit = name, true, d-1
		}
	}
	return best, found
}

// Distance counts the insertions, deletions, replacements and swaps of two
// neighbours that turn a into b (optimal string alignment), in runes.
func Distance(a, b string) int {
	s, t := []rune(a), []rune(b)
	before := make([]int, len(t)+1)
	above := make([]int, len(t)+1)
	row := make([]int, len(t)+1)
	for j := range above {
		above[j] = j
	}
	for i := 1; i <= len(s); i++ {
		row[0] = i
		for j := 1; j <= len(t); j++ {
			cost := 1
			if s[i-1] == t[j-1] {
				cost = 0
			}
			row[j] = min(above[j]+1, row[j-1]+1, above[j-1]+cost)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, above, row = above, row, before
	}
	return above[len(t)]
}
