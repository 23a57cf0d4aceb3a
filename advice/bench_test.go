package advice

import (
	"os"
	"testing"

	"dropwalk/advice/sheet"
)

// One assessment of 7 components and 3 readings: a sheet with every kind of
// field.
func BenchmarkAssess(b *testing.B) {
	src, err := os.ReadFile("../testdata/sheets/yellow-estate.yaml")
	if err != nil {
		b.Fatal(err)
	}
	s, faults := sheet.Read("yellow-estate.yaml", src)
	if s == nil {
		b.Fatal(faults)
	}
	b.ReportAllocs()
	for b.Loop() {
		if a := Assess(s, Options{}); a.Verdict == "" {
			b.Fatal("no verdict")
		}
	}
}
