package advice

import (
	"os"
	"testing"

	"dropwalk/advice/infer"
	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
)

// nineReadings is the sheet with every kind of field, its 7 components read at
// three stations, three runs each.
func nineReadings(b *testing.B) *sheet.Sheet {
	b.Helper()
	src, err := os.ReadFile("../testdata/sheets/yellow-estate.yaml")
	if err != nil {
		b.Fatal(err)
	}
	s, faults := sheet.Read("yellow-estate.yaml", src)
	if s == nil {
		b.Fatal(faults)
	}
	first := s.Readings[0]
	s.Readings = nil
	for i, at := range []struct {
		to     string
		inches float64
	}{{"tube", 12.5}, {"filter", 8}, {"snorkel", 4.5}} {
		for run := range 3 {
			r := first
			r.Run, r.To = 3*i+run+1, at.to
			r.Value.SI = (at.inches + 0.1*float64(run)) * 249.08891
			r.Value.Low, r.Value.High = r.Value.SI, r.Value.SI
			s.Readings = append(s.Readings, r)
		}
	}
	if len(s.Path) != 7 || len(s.Readings) != 9 {
		b.Fatalf("%d components and %d readings, want 7 and 9", len(s.Path), len(s.Readings))
	}
	return s
}

// BenchmarkAssess judges a sheet of 7 components and 9 readings.
func BenchmarkAssess(b *testing.B) {
	s := nineReadings(b)
	b.ReportAllocs()
	for b.Loop() {
		if a := Assess(s, Options{}); a.Verdict == "" {
			b.Fatal("no verdict")
		}
	}
}

// BenchmarkStages takes the same assessment apart.
func BenchmarkStages(b *testing.B) {
	s := nineReadings(b)
	j := newJudge(s, Options{}.filled())
	p := j.car.Problem(DefaultSeed)
	p.Extra = 2
	for _, stage := range []struct {
		name string
		do   func()
	}{
		{"model", func() { model.New(s) }},
		{"draws", func() {
			if _, err := infer.Solve(p); err != nil {
				b.Fatal(err)
			}
		}},
		{"gains", func() { j.back = nil; j.weighGains(); j.chance = j.chanceWorth() }},
		{"components", func() { j.components() }},
		{"checks", func() { j.car.Checks() }},
		{"next", func() { j.next() }},
	} {
		b.Run(stage.name, func(b *testing.B) {
			for b.Loop() {
				stage.do()
			}
		})
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
