package lesson

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"dropwalk/engine/spell"
	"dropwalk/engine/subject"
)

// none is the answer of a learner who would leave the car alone.
const none = "none"

var guessForm = regexp.MustCompile(`^(.+?)[\s,;]+(\d+(?:[.,]\d+)?)\s*%?$`)

// readGuess reads "filter, 70 %": a piece, and how sure the learner is. "?" is no
// guess. Its error is a *subject.Refusal.
func readGuess(text string, pieces []string) (*Guess, error) {
	text = strings.TrimSpace(text)
	if text == "?" {
		return &Guess{}, nil
	}
	m := guessForm.FindStringSubmatch(text)
	if m == nil {
		return nil, &subject.Refusal{What: fmt.Sprintf("%q says not how sure you are", text), Expected: "a piece and a share, such as filter, 70 %; none, 70 % to leave the car alone; ? for no guess"}
	}
	sure, err := strconv.ParseFloat(strings.Replace(m[2], ",", ".", 1), 64)
	if err != nil || sure < 0 || sure > 100 {
		return nil, &subject.Refusal{What: m[2] + " is no share", Expected: "0 to 100 %: 100 is certain, 50 is heads or tails"}
	}
	name := strings.TrimRight(strings.TrimSpace(m[1]), ",;")
	if strings.EqualFold(name, none) {
		return &Guess{Known: true, Sure: sure / 100}, nil
	}
	i := slices.IndexFunc(pieces, func(p string) bool { return strings.EqualFold(p, name) })
	if i < 0 {
		r := &subject.Refusal{What: fmt.Sprintf("there is no piece %q", name), Expected: strings.Join(pieces, ", ") + ", or none"}
		if near, ok := spell.Nearest(name, pieces); ok {
			r.What += fmt.Sprintf(" (did you mean %q?)", near)
		}
		return nil, r
	}
	return &Guess{Piece: pieces[i], Known: true, Sure: sure / 100}, nil
}

// String is the guess as it is typed.
func (g *Guess) String() string {
	if !g.Known {
		return "?"
	}
	name := g.Piece
	if name == "" {
		name = none
	}
	return fmt.Sprintf("%s, %.0f %%", name, 100*g.Sure)
}
