package learn

import (
	"math"
	"testing"

	"dropwalk/advice/infer"
	"dropwalk/advice/model"
	"dropwalk/advice/practice"
)

// The score of a car is the derivative of the likelihood of its readings: a small move
// of a factor changes the logarithm of their density by as much as it says.
func TestScoreIsTheDerivative(t *testing.T) {
	all, near := 0, 0
	for seed := range uint64(6) {
		sh := practice.Draw(40+seed, practice.Options{Hand: practice.Draughtsman}).Session(seed, practice.Setup{Fine: practice.Yes}).FullWalk(practice.Full)
		f := newFitting(nil, Options{})
		odds := func() float64 {
			p := model.NewWith(sh, f.within()).Problem(1)
			p.Shared, p.Draws = nil, 20_000
			post, err := infer.Solve(p)
			if err != nil {
				t.Fatal(err)
			}
			return post.LogOdds
		}
		said, err := f.listen(sh)
		if err != nil {
			t.Fatal(err)
		}
		for i, s := range said.score {
			if math.Abs(s) < 0.3 {
				continue
			}
			const h = 0.05
			f.log[i] = h
			up := odds()
			f.log[i] = -h
			down := odds()
			f.log[i] = 0
			got := (up - down) / (2 * h)
			all++
			if math.Abs(got-s) < 0.25*math.Abs(s)+0.15 {
				near++
			} else {
				t.Logf("car %d, %v: the score is %.2f, the derivative %.2f", seed, f.groups[i], s, got)
			}
		}
	}
	if all < 10 || near < all*9/10 {
		t.Errorf("%d of %d scores are the derivative", near, all)
	}
}
