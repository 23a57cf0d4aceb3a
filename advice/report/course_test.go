package report

import "testing"

// A report says that no lamp came on for every answer that the prompts take as none, and for
// no other: an empty one says that nobody looked.
func TestNoLamp(t *testing.T) {
	for answer, want := range map[string]bool{"none": true, "no": true, "No.": true, "0": true, "nothing": true, "nil": true, "": false, "engine": false, "no idea": false} {
		if got := (&Course{Lamps: answer}).NoLamps(); got != want {
			t.Errorf("%q: %v, want %v", answer, got, want)
		}
	}
}
