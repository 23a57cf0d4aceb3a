package lesson

import "slices"

// Right tells whether the learner's guess is the truth: the piece with the most to
// give back, or a neighbour that no tap parts from it; or none, where nothing
// would pay.
func (b *Bench) Right() bool {
	if b.guess == nil || !b.guess.Known {
		return false
	}
	answer := b.Sim.Case.Answer()
	if b.guess.Piece == "" {
		return answer == nil
	}
	return slices.Contains(answer, b.truly(b.guess.Piece))
}

// truly is the car's own name of a piece, "" where the car has none such.
func (b *Bench) truly(mine string) string {
	if i, ok := b.at[mine]; ok && i >= 0 {
		return b.Sim.Case.Car.Path[i].Name
	}
	return ""
}
