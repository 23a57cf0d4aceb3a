package engine

import "fmt"

// number gives each step its number: that of its part and its place in it, such
// as 6.3. Steps inside rounds count on, rounds themselves don't count, so that a
// number is what one screen, one line of a list and one line on paper have.
func number(parts []*Part) {
	for i, part := range parts {
		n := 0
		numberSteps(part.Steps, i+1, &n)
	}
}

func numberSteps(steps []*Step, part int, n *int) {
	for _, s := range steps {
		if s.Kind == Rounds {
			numberSteps(s.Each, part, n)
			continue
		}
		*n++
		s.Number = fmt.Sprintf("%d.%d", part, *n)
	}
}

// owedNumber is the number of the step that lists what is owed, "" where none does.
func (p *Procedure) owedNumber() string {
	for _, part := range p.Parts {
		for _, s := range part.Steps {
			if s.Kind == Owed {
				return s.Number
			}
		}
	}
	return ""
}
