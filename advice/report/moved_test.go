package report

import (
	"strconv"
	"testing"

	"dropwalk/advice/compare"
)

// A change that rounds to nought is neither less nor more, and one more of something is
// called one.
func TestNoughtIsNeitherLessNorMore(t *testing.T) {
	bare := func(x float64, _ int) string { return strconv.FormatFloat(x, 'f', 1, 64) }
	for want, e := range map[string]compare.Estimate{
		"no more and no less, between 0.4 inH2O less and 0.2 more": {Median: -0.02, Low: -0.4, High: 0.2},
		"0.2 inH2O less, between 0.4 less and 0.0":                 {Median: -0.2, Low: -0.4, High: 0.01},
		"0.6 inH2O less, between 0.5 and 0.7 less":                 {Median: -0.6, Low: -0.7, High: -0.5},
	} {
		if got := moved(e, bare, 1, "inH2O", "less", "more"); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	p := &comparedPage{}
	for n, want := range map[int]string{1: "One further round", 3: "About 3 further rounds"} {
		if got := p.Further(&n, "round"); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}
