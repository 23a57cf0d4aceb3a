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

// BenchmarkDoubt reads a reading of a second visit, compared with what the
// assessment of the first leaves open.
func BenchmarkDoubt(b *testing.B) {
	at := span{gauge: "100 inH2O", rpm: "6000 rpm", from: "filter", to: "box-exit", whole: "12.5 inH2O"}
	for b.Loop() {
		v, round := at.view()
		if _, err := v.Read(readingPaths, round, "3 at 6000"); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPicture draws the path at a second visit.
func BenchmarkPicture(b *testing.B) {
	at := span{gauge: "100 inH2O", rpm: "6000 rpm", from: "filter", to: "box-exit", whole: "12.5 inH2O"}
	for b.Loop() {
		v, round := at.view()
		if p := v.Picture("path", round); len(p.Places) == 0 {
			b.Fatal("there is no picture")
		}
	}
}
