package quantity

import (
	"errors"
	"testing"
)

var fuzzKinds = []Kind{
	PressureDiff, Pressure, GaugePressure, Length, Area, Volume, Temperature,
	TemperatureDiff, MassFlow, VolumeFlow, Power, Speed, SpeedPer1000, Angle,
	Density, Share, Duration, Rotation, Number, Whole, Choice,
}

// FuzzRead holds the laws of reading: it never panics; canonical text reads
// back to the same amount; each choice of a question means one thing; an error
// is one of the two kinds and says something.
func FuzzRead(f *testing.F) {
	for _, text := range []string{
		"12.5 inH2O", "12,5", "1,250 Pa", "12 1/2 in", "12½\"", "-12--13 inH2O", "12 torr to 13 torr",
		"12.5 ± 0.5 mbar", ">25 psi", "?", "3000-3100 min-1", "1\u00a0250 kPa", "3 mPa", "38 km/h per 1000 rpm", "1e3", "68 F",
	} {
		for k := range fuzzKinds {
			f.Add(text, k, "")
			f.Add(text, k, "inH2O")
		}
	}
	f.Fuzz(func(t *testing.T, text string, kind int, unit string) {
		k := fuzzKinds[uint(kind)%uint(len(fuzzKinds))]
		w := Want{Kind: k, Unit: unit, Swing: true, Bounds: true, Unreadable: true}
		a, err := Read(text, w)
		var asked *Ambiguous
		switch {
		case errors.As(err, &asked):
			checkChoices(t, text, asked, w)
		case err != nil:
			var fault *Fault
			if !errors.As(err, &fault) || fault.What == "" {
				t.Errorf("Read(%q): error %#v", text, err)
			}
		default:
			checkReadsBack(t, a, w)
		}
	})
}

func checkReadsBack(t *testing.T, a Amount, w Want) {
	w.Unit = "" // canonical text needs no supplied unit
	b, err := Read(a.Text(), w)
	a.Raw, b.Raw = "", ""
	if err != nil || a != b {
		t.Errorf("%+v writes %q, which reads %+v, %v", a, a.Text(), b, err)
	}
	if again := b.Text(); again != a.Text() {
		t.Errorf("%q is written again as %q", a.Text(), again)
	}
	for _, sys := range []System{AsTyped, Metric, Imperial} {
		if Echo(a, sys) == "" {
			t.Errorf("no echo of %+v", a)
		}
	}
	_, _ = Suspect(a, 500, 7000)
}

func checkChoices(t *testing.T, text string, asked *Ambiguous, w Want) {
	if len(asked.Choices) < 2 {
		t.Errorf("Read(%q) asks but offers %q", text, asked.Choices)
	}
	w.Unit = ""
	for _, choice := range asked.Choices {
		if a, err := Read(choice, w); err != nil || a.Text() != choice {
			t.Errorf("Read(%q) offers %q, which reads %q, %v", text, choice, a.Text(), err)
		}
	}
}

// FuzzConvert: no text and no unit makes Convert panic, and what it converts
// is finite.
func FuzzConvert(f *testing.F) {
	for _, c := range [][2]string{{"12.5 inH2O", "kPa"}, {"20 C", "F"}, {"1 mm", "in"}, {"3 kPa", "mBar"}, {"5", ""}} {
		f.Add(c[0], c[1])
	}
	f.Fuzz(func(t *testing.T, text, unit string) {
		v, name, err := Convert(text, unit)
		if err == nil && (v != v || v-v != 0 || name == "") {
			t.Errorf("Convert(%q, %q) = %v %q", text, unit, v, name)
		}
	})
}
