package engine

import "fmt"

// number gives each step its number: that of its part and its place in it, such
// as 6.3. Steps inside rounds and rows of a search count on, rounds and searches
// themselves don't count, so that a number is what one screen, one line of a list
// and one line on paper have.
func (p *Procedure) number() {
	for i, part := range p.Parts {
		n := 0
		p.numberSteps(part.Steps, i+1, &n)
	}
}

func (p *Procedure) numberSteps(steps []*Step, part int, n *int) {
	for _, s := range steps {
		switch s.Kind {
		case Rounds:
			p.numberSteps(s.Each, part, n)
		case Checks:
			p.numberSteps(p.Ahead(), part, n)
			p.numberSteps(s.Each, part, n)
		default:
			*n++
			s.Number = fmt.Sprintf("%d.%d", part, *n)
		}
	}
}

// Ahead lists the steps that a search takes ahead of its checks where they need
// them: holds between the states of the car, then what has to be opened.
func (p *Procedure) Ahead() []*Step {
	if p.Search == nil {
		return nil
	}
	return append(append([]*Step{}, p.Search.Gates...), p.Search.Openings...)
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
