package insert_test

import (
	"bytes"
	"testing"

	"dropwalk/engine/insert"
	"dropwalk/engine/strictyaml"
)

// FuzzExpand holds that no file and no block hangs or breaks the putting in, that what
// comes out can be read where what went in could, and that every fault of it has a
// place in a file that somebody wrote.
func FuzzExpand(f *testing.F) {
	f.Add([]byte("parts:\n- part: Bread\n  each:\n  - insert: knead   # by hand\n  - do: Bake.\n"), kitchen["knead"].Src, kitchen["rest"].Src)
	f.Add([]byte("- insert: rest\n- insert: knead\n"), []byte("- insert: rest\n"), []byte("- insert: knead\n"))
	f.Add([]byte("- - insert: rest\n  - a: |\n      - insert: rest\n"), []byte(""), []byte("\uFEFF- a: 'x\n    y'\r\n"))
	f.Fuzz(func(t *testing.T, src, knead, rest []byte) {
		blocks := insert.Blocks{"knead": {File: "knead.yaml", Src: knead}, "rest": {File: "rest.yaml", Src: rest}}
		text, faults := insert.Expand("f.yaml", src, blocks)
		for _, fault := range faults {
			if fault.Line < 1 || fault.Col < 1 {
				t.Errorf("a fault without a place: %v", fault)
			}
		}
		if text.Whole() {
			if !bytes.Equal(text.Src, src) {
				t.Errorf("nothing was put in, and %q became %q", src, text.Src)
			}
			return
		}
		_, own := strictyaml.ParseYAML("f.yaml", text.Src, 1)
		for _, fault := range text.Placed(own) {
			if text.Original(fault.File) == nil || bytes.Count(text.Original(fault.File), []byte("\n"))+bytes.Count(text.Original(fault.File), []byte("\r"))+1 < fault.Line {
				t.Errorf("a fault at a place that nobody wrote: %v", fault)
			}
		}
		if err := own.Err(); err != nil && len(text.Src) <= strictyaml.MaxBytes {
			t.Errorf("%q with %q and %q becomes\n%s\nwhich can't be read: %v", src, knead, rest, text.Src, err)
		}
	})
}
