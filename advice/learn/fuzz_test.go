package learn_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/learn"
)

// FuzzRead holds that what is read of a file of priors is finite and within its limits,
// and the same once it was written and read again.
func FuzzRead(f *testing.F) {
	f.Add(learn.Write(some()))
	f.Add([]byte("priors: 1\ncars: 3\npieces: [{kind: duct, factor: .nan, weight: 1e308}]\n"))
	f.Add([]byte(`{"priors": 1, "cars": 0, "runs": {"scatter": -1e308}, "refits": {"share": 0.1}}`))
	f.Fuzz(func(t *testing.T, src []byte) {
		p, faults := learn.Read("f", src)
		for _, fault := range faults {
			if fault.Line < 1 || fault.Col < 1 || strings.ContainsAny(fault.Error(), "\n\x1b") {
				t.Errorf("fault without a place or not on one line: %q", fault.Error())
			}
		}
		if p == nil {
			if faults.Err() == nil {
				t.Error("neither priors nor a fault")
			}
			return
		}
		numbers := []float64{p.Runs.Scatter, p.Runs.Freedom, p.Runs.Weight, p.Refits.Share, p.Refits.Weight}
		for _, g := range p.Groups {
			numbers = append(numbers, g.Factor, g.Weight)
		}
		for _, k := range p.Kinds {
			numbers = append(numbers, k.Spread, k.Spoilt, k.Weight)
		}
		for _, v := range numbers {
			if !(v >= 0 && v <= math.MaxInt32) {
				t.Errorf("%v is no number of priors", v)
			}
		}
		back, faults := learn.Read("written", learn.Write(p))
		if diff := cmp.Diff(p, back); faults.Err() != nil || diff != "" {
			t.Errorf("written and read again:\n%v\n%s\n%s", faults, diff, learn.Write(p))
		}
	})
}
