package model

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/sheet"
)

// Priors that know nothing are the handbook: a car of no priors, of empty ones and of
// ones without weight is the same.
func TestPriorsOfNoCarsAreTheHandbook(t *testing.T) {
	s := &sheet.Sheet{}
	for _, kind := range sheet.Kinds() {
		s.Path = append(s.Path, sheet.Component{Name: kind, Kind: kind})
	}
	none := &Priors{Loss: map[Group]Belief{}}
	for _, kind := range sheet.Kinds() {
		none.Loss[Group{Kind: kind}] = Belief{Factor: 1, Spread: 1}
	}
	want := New(s).Pieces
	for what, p := range map[string]*Priors{"empty": {}, "without weight": none} {
		for i, got := range NewWith(s, p).Pieces {
			if diff := cmp.Diff(got, want[i], cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Abs(b) })); diff != "" {
				t.Errorf("%s: %s", what, diff)
			}
		}
	}
}

// What cars teach moves the middle and takes off what like pieces share, no more.
func TestPriorsMoveTheMiddle(t *testing.T) {
	p := &Priors{Loss: map[Group]Belief{{Kind: sheet.Duct, Form: sheet.Ribbed}: {Factor: 1.5, Spread: 1, Weight: 1}, {Kind: sheet.Duct}: {Factor: 0.8, Spread: 2, Weight: 0.5}}}
	shared, own := Parts(0.3)
	if math.Abs(shared-0.18*0.18) > 1e-12 || math.Abs(shared+own-0.09) > 1e-12 {
		t.Errorf("the handbook's variance is parted into %g and %g", shared, own)
	}
	for _, c := range []struct {
		group      Group
		median, sd float64
	}{
		{Group{sheet.Duct, sheet.Ribbed}, 300, math.Sqrt(own)},
		{Group{sheet.Duct, sheet.Smooth}, 160, math.Sqrt(4*own + shared/2)},
		{Group{sheet.Filter, ""}, 200, 0.3},
	} {
		if median, sd := p.piece(c.group, 200, 0.3); math.Abs(median-c.median) > 1e-9 || math.Abs(sd-c.sd) > 1e-9 {
			t.Errorf("%v: %g and %g, want %g and %g", c.group, median, sd, c.median, c.sd)
		}
	}
}
