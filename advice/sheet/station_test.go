package sheet

import (
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/engine/quantity"
)

func TestStations(t *testing.T) {
	s, _ := example(t)
	want := []string{OpenAir, "mouth", "snorkel", "box-in", "filter", "box-out", "meter", "tube"}
	if got := s.Stations(); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	for i, name := range want {
		if got := s.Index(name); got != i {
			t.Errorf("Index(%q) = %d, want %d", name, got, i)
		}
	}
	if got := s.Index("nowhere"); got != -1 {
		t.Errorf("Index(nowhere) = %d, want -1", got)
	}
	if s.ComponentByName(OpenAir) != nil || s.ComponentByName("filter") != &s.Path[3] {
		t.Error("ComponentByName finds the wrong component")
	}
}

// By default none after mouth, meter and throttle, else drill.
func TestTapAt(t *testing.T) {
	s, _ := example(t)
	s.Path = append(s.Path, Component{Name: "flap", Kind: Throttle}, Component{Name: "net", Kind: Screen, Tap: TapNone})
	for station, want := range map[string]string{OpenAir: TapPort, "mouth": TapNone, "snorkel": TapDrill, "box-in": TapDrill,
		"filter": TapPort, "box-out": TapDrill, "meter": TapNone, "tube": TapDrill, "flap": TapNone, "net": TapNone, "nowhere": TapNone} {
		if got := s.TapAt(station); got != want {
			t.Errorf("TapAt(%q) = %q, want %q", station, got, want)
		}
	}
}

func mm(v float64) quantity.Amount {
	return quantity.Amount{Kind: quantity.Length, Form: quantity.Exact, SI: v / 1000, Low: v / 1000, High: v / 1000, Unit: "mm"}
}

func TestPassage(t *testing.T) {
	half := quantity.Amount{Kind: quantity.Share, Form: quantity.Exact, SI: 0.5, Low: 0.5, High: 0.5}
	s := &Sheet{Path: []Component{
		{Name: "round", Kind: Duct, Diameter: mm(60)},
		{Name: "flat", Kind: Duct, Width: mm(80), Height: mm(30), Share: half},
		{Name: "box-in", Kind: BoxEntry, Diameter: mm(60)},
		{Name: "filter", Kind: Filter},
		{Name: "narrow-box", Kind: BoxEntry, Diameter: mm(60), TapBore: mm(63)},
		{Name: "chamber", Kind: Resonator, Diameter: mm(60), TapStill: true},
		{Name: "bored", Kind: Duct, Diameter: mm(60), TapBore: mm(63)},
		{Name: "unknown", Kind: Duct},
	}}
	circle60, circle63 := math.Pi*900e-6, math.Pi/4*63e-3*63e-3
	for station, want := range map[string]Passage{
		OpenAir:      {Share: 1, Still: true, Known: true},
		"round":      {Share: 1, Area: circle60, Known: true},
		"flat":       {Share: 0.5, Area: 2400e-6, Known: true},
		"box-in":     {Share: 1, Still: true, Known: true},
		"filter":     {Share: 1, Still: true, Known: true},
		"narrow-box": {Share: 1, Area: circle63, Known: true},
		"chamber":    {Share: 1, Still: true, Known: true},
		"bored":      {Share: 1, Area: circle63, Known: true},
		"unknown":    {Share: 1},
		"nowhere":    {Share: 1},
	} {
		got := s.Passage(station)
		// Only the rounding of a few products lies between the two.
		if math.Abs(got.Area-want.Area) > 1e-15 {
			t.Errorf("Passage(%q).Area = %g, want %g", station, got.Area, want.Area)
		}
		got.Area, want.Area = 0, 0
		if got != want {
			t.Errorf("Passage(%q) = %+v, want %+v", station, got, want)
		}
	}
	d, ok := s.Path[1].HydraulicDiameter()
	if want := 4 * 2400e-6 / (2 * 110e-3); !ok || math.Abs(d-want) > 1e-15 {
		t.Errorf("hydraulic diameter of 80 mm by 30 mm = %g, %v, want %g", d, ok, want)
	}
}

func TestFixed(t *testing.T) {
	s := &Sheet{Path: []Component{{Name: "a", Kind: Meter}, {Name: "b", Kind: Meter, Fixed: new(false)}, {Name: "c", Kind: Duct}, {Name: "d", Kind: Duct, Fixed: new(true)}}}
	for name, want := range map[string]bool{"a": true, "b": false, "c": false, "d": true, "e": false} {
		if got := s.FixedAt(name); got != want {
			t.Errorf("FixedAt(%q) = %v, want %v", name, got, want)
		}
	}
}

// A reading's own air goes before the sheet's, amount by amount.
func TestAirOf(t *testing.T) {
	s, _ := example(t)
	got := s.AirOf(&s.Readings[2])
	want := Air{s.Readings[2].Air.Temperature, s.Readings[2].Air.Pressure, s.Air.Humidity}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if got, want := s.AirOf(&s.Readings[0]), s.Air; got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestReferenceAirHasDefaults(t *testing.T) {
	s := new(Sheet)
	a := s.ReferenceAir()
	// 25 C, 99 kPa, 0 %; 1e-9 is far above the rounding of one conversion.
	if math.Abs(a.Temperature.SI-298.15) > 1e-9 || math.Abs(a.Pressure.SI-99000) > 1e-9 || math.Abs(a.Humidity.SI) > 1e-9 || !a.Humidity.Known() {
		t.Errorf("got %+v, want 298.15 K, 99000 Pa, 0", a)
	}
	s.Reference.Air.Pressure = must("95 kPa", quantity.Pressure)
	if got := s.ReferenceAir().Pressure.SI; math.Abs(got-95000) > 1e-9 {
		t.Errorf("got %g Pa, want 95000", got)
	}
}

func TestGaugeByName(t *testing.T) {
	s, _ := example(t)
	if s.GaugeByName("g25") != &s.Gauges[0] || s.GaugeByName("g26") != nil || s.GaugeByName("") != nil {
		t.Error("GaugeByName finds the wrong gauge")
	}
}
