package engine

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"dropwalk/engine/subject"
)

// mostWays is how many places a refusal lists.
const mostWays = 12

// way is a place that a person can go back to.
type way struct {
	name, slot, step, question string

	more string // what else is said at the step: why it is asked, and what follows where nobody knows
}

func (v way) String() string { return v.name + " (" + v.question + ")" }

// ways lists what was answered or done, the latest first, and then what an
// earlier document answered. Each has a name of its own: the id of its step, and
// the slot where that step was passed again since.
func (w *walker) ways() []way {
	var list []way
	named := map[string]bool{}
	add := func(slot string, s *Step, question string) {
		name := s.ID
		if named[name] {
			name = slot
		}
		named[s.ID] = true
		list = append(list, way{name, slot, s.ID, question, s.Why + " " + s.Unknown})
	}
	for _, v := range slices.Backward(w.visited) {
		if v.step == nil || v.step.Kind != Ask && v.step.Kind != Do && v.step.Kind != Examine {
			continue
		}
		add(v.slot, v.step, questionSeen(v.step, w.run.answers[v.slot].event.Seen))
	}
	for _, part := range w.run.proc.Parts {
		for _, s := range part.Steps {
			if !named[s.ID] && w.givenAnswers(s) {
				add(s.ID, s, questionSeen(s, w.seen(s, subject.Round{})))
			}
		}
	}
	return list
}

// questionSeen is what a step asked or said, without its cautions.
func questionSeen(s *Step, seen string) string {
	lines := strings.Split(seen, "\n")
	return lines[min(len(s.Notices), len(lines)-1)]
}

// backTo reopens the answer that words call: by the name of its place, as it is
// listed, by words of its question, or, where no question has them, by words of what
// else was said there.
func (w *walker) backTo(words string) ([]Event, error) {
	if at, ok := w.find(words); ok {
		return []Event{{Kind: Corrected, Slot: at, Step: words}}, nil
	}
	all := w.ways()
	if i := slices.IndexFunc(all, func(v way) bool { return v.String() == words }); i >= 0 {
		return all[i].reopened(), nil
	}
	fits := slices.DeleteFunc(slices.Clone(all), func(v way) bool { return !called(v.name+" "+v.question, words) })
	if len(fits) == 0 {
		fits = slices.DeleteFunc(slices.Clone(all), func(v way) bool { return !called(v.more, words) })
	}
	switch {
	case len(fits) == 1:
		return fits[0].reopened(), nil
	case len(fits) > 1:
		return nil, &subject.Refusal{What: fmt.Sprintf("%q fits %d answers", words, len(fits)), Expected: "one of these", Choices: choicesOf(fits)}
	case len(all) == 0:
		return nil, refuse("nothing was answered yet", "an answer")
	}
	names := make([]string, len(all))
	for i, v := range all {
		names[i] = v.name
	}
	expected := "one of these"
	if len(all) > mostWays {
		expected += fmt.Sprintf(", or a word of one of the %d questions before them", len(all)-mostWays)
	}
	return nil, &subject.Refusal{What: fmt.Sprintf("no answer is called %q%s", words, didYouMean(words, names)), Expected: expected, Choices: choicesOf(all)}
}

func (v way) reopened() []Event { return []Event{{Kind: Corrected, Slot: v.slot, Step: v.step}} }

// called tells whether each word typed begins one of text. A number alone calls
// nothing: it is no count of steps.
func called(text, typed string) bool {
	apart := func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }
	mine := strings.FieldsFunc(strings.ToLower(text), apart)
	found := false
	for _, word := range strings.FieldsFunc(strings.ToLower(typed), apart) {
		if !slices.ContainsFunc(mine, func(m string) bool { return strings.HasPrefix(m, word) }) {
			return false
		}
		found = found || strings.ContainsFunc(word, unicode.IsLetter)
	}
	return found
}

// choicesOf are the lines that go back to the first of list.
func choicesOf(list []way) []string {
	var lines []string
	for _, v := range list[:min(len(list), mostWays)] {
		lines = append(lines, string(Back)+" "+v.String())
	}
	return lines
}

// Earlier lists the names that back takes at the open prompt, the latest first.
func (r *Run) Earlier() []string {
	w := r.look()
	if r.stopped != nil {
		return nil
	}
	var names []string
	for _, v := range w.ways() {
		names = append(names, v.name)
	}
	return names
}
