package learn

import (
	"math"

	"dropwalk/advice/infer"
	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
)

// said is what one car says under a belief.
type said struct {
	score   []float64          // by number of the group: derivative of the log likelihood by the log of its factor
	squares map[string]float64 // by kind: squared distance of sound pieces from their middle, over their own variance
	sound   map[string]float64 // and how many that are
	spoilt  map[string]float64
	seen    map[string]float64 // pieces that readings span
}

// listen solves one sheet under the belief and sums up its draws.
func (f *fitting) listen(s *sheet.Sheet) (*said, error) {
	belief := f.within()
	car := model.NewWith(s, belief)
	p := car.Problem(f.seed)
	p.Shared = nil // nothing to plan here
	post, err := infer.Solve(p)
	if err != nil {
		return nil, err
	}
	out := &said{make([]float64, len(f.groups)), map[string]float64{}, map[string]float64{}, map[string]float64{}, map[string]float64{}}
	for c := range car.Pieces {
		if post.Seen[c] {
			f.add(out, &car.Pieces[c], nominal(post, c, p.Steady[c]), post.Weight)
		}
	}
	return out, nil
}

// nominal are the logarithms of the losses of a piece in the draws, what it shares with
// the other pieces of the car taken off.
func nominal(post infer.Posterior, c int, steady bool) []float64 {
	const least = 1e-6 // Pa
	out := make([]float64, len(post.Weight))
	for i := range out {
		scale := post.Scale[i]
		if !steady {
			scale *= post.Pace[i] * post.Pace[i]
		}
		out[i] = math.Log(max(post.X[c][i]/scale, least))
	}
	return out
}

// farthest is by how many of the handbook's standard deviations a sound piece is taken
// to lie from its middle at most. The draws know a small loss to a step of their grid
// only, and the logarithm of a loss near nought would count for more than all others.
const farthest = 2.5

// add adds what one piece says; logs are those of its loss in the draws. By Fisher's
// identity the derivative of the likelihood of the readings is the mean of that of the
// prior over what the readings leave of the loss.
func (f *fitting) add(out *said, q *model.Piece, logs, weight []float64) {
	group := f.number[q.Group]
	main := q.States[len(q.States)-1]
	middle, v := math.Log(main.Median), main.LogSD*main.LogSD
	_, own := model.Parts(q.BookSD)
	sound, distance, mean, spoilt := 0.0, 0.0, 0.0, 0.0
	for i, w := range weight {
		if w == 0 {
			continue
		}
		chance := chances(q.States, logs[i])
		r, d := chance[len(chance)-1], max(-farthest*q.BookSD, min(farthest*q.BookSD, logs[i]-middle))
		out.score[group] += w * r * d / v
		sound += w * r
		mean += w * r * d
		distance += w * r * d * d
		spoilt += w * chance[model.Spoilt]
	}
	// The factor itself is not known exactly, so pieces lie farther from the true middle
	// than from this one: those that were measured, for what no reading tells follows it.
	told := 0.0
	if sound > 0 {
		told = max(0, 1-(distance-mean*mean/sound)/(sound*v))
	}
	out.squares[q.Kind] += (distance + told*sound*f.cov.At(group, group)) / own
	out.sound[q.Kind] += sound
	out.spoilt[q.Kind] += spoilt
	out.seen[q.Kind]++
}

// chances are those of the states of a piece whose nominal loss has that logarithm.
func chances(states infer.Piece, x float64) []float64 {
	out := make([]float64, len(states))
	sum := 0.0
	for k, s := range states {
		z := (x - math.Log(s.Median)) / s.LogSD
		out[k] = s.Share / s.LogSD * math.Exp(-z*z/2)
		sum += out[k]
	}
	for k := range out {
		if sum > 0 {
			out[k] /= sum
		}
	}
	if sum == 0 { // beyond all of them: the widest is the spoilt one
		out[model.Spoilt] = 1
	}
	return out
}
