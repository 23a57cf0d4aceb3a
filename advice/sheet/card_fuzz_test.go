package sheet

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// FuzzReadCard holds that a card that can be read is the same once it was written and
// read again, and that every fault of another has its place on one line.
func FuzzReadCard(f *testing.F) {
	f.Add([]byte("gauge: 1\nname: g25\nrange: 25 inH2O\ndivision: 0,5 inH2O\naccuracy: 2 %\nchecked: 2026-11-01\n"))
	f.Add([]byte("gauge: 1\nname: g5\nrange: 5 inH2O\nposition: flat\ncorrection:\n- {shown: 1 inH2O, true: 1.04 inH2O}\n- {shown: 5 inH2O, true: 5.2 inH2O}\nnote: fell once\n"))
	f.Add([]byte(`{"gauge": 1, "name": "g25", "range": "25 inH2O"}`))
	f.Fuzz(func(t *testing.T, src []byte) {
		c, faults := ReadCard("f", src)
		for _, fault := range faults {
			if fault.Line < 1 || fault.Col < 1 || strings.ContainsAny(fault.Error(), "\n\x1b") {
				t.Errorf("fault without a place or not on one line: %q", fault.Error())
			}
		}
		if c == nil {
			if faults.Err() == nil {
				t.Error("neither a card nor a fault")
			}
			return
		}
		back, faults := ReadCard("written", c.Write())
		if diff := cmp.Diff(c, back); faults.Err() != nil || diff != "" {
			t.Errorf("written and read again:\n%v\n%s\n%s", faults, diff, c.Write())
		}
	})
}
