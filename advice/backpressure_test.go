package advice

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice/finding"
	"dropwalk/engine/subject"
)

var backPaths = []string{backLoad, backValue, backRPM}

// revved are readings without load: kPa and rpm in turn.
func revved(pairs ...float64) []subject.Entry {
	var rows [][]string
	for i := 0; i < len(pairs); i += 2 {
		rows = append(rows, []string{unloaded, fmt.Sprintf("%g kPa", pairs[i]), fmt.Sprintf("%g rpm", pairs[i+1])})
	}
	return inRows("speeds", backPaths, rows...)
}

var backGauge = places(highRange, "100 kPa", highStep, "1 kPa")

// By hand: 8 kPa at 2500 rpm that grow with the square of the speed, on a scale of 1 kPa:
// the scale alone is 1/sqrt(12), times 1.64485, so 8 +- 0.4748 kPa; the exponent is 2. At
// full load 24 kPa; 108 kW from 1998 cc at 6000 rpm are a mean pressure of
// 120 * 108000/(0.001998 * 6000) = 1081.08 kPa, so it costs at least 23.525/1081.08 = 2.176 %.
func TestBackPressureByHand(t *testing.T) {
	readings := revved(1.28, 1000, 2.88, 1500, 5.12, 2000, 8, 2500, 11.52, 3000, 1.28, 1000, 2.88, 1500, 5.12, 2000, 8, 2500, 11.52, 3000)
	full := inRows("loads", backPaths, []string{loaded, "24 kPa", "6000 rpm"}, []string{loaded, "24 kPa", "6000 rpm"})
	f := Found(slices.Concat(backGauge, places("car.engine.displacement", "1998 cc", "car.engine.peak_power", "108 kW"), readings, full), Options{})
	if f.Verdict != exhaustFree {
		t.Errorf("verdict %s", f.Verdict)
	}
	figure(t, f, "raised", 8000, 8000-474.8, 8000+474.8, 0.5)
	figure(t, f, "idle", 1280, 1280-474.8, 1280+474.8, 0.5)
	figure(t, f, "exponent", 2, 2, 2, 1e-9)
	figure(t, f, "full-load", 24000, 24000-474.8, 24000+474.8, 0.5)
	figure(t, f, "pumping", math.NaN(), 0.021761, math.NaN(), 1e-5)
}

// Readings near 2500 rpm are brought to it by the square law.
func TestBackPressureAtItsSpeed(t *testing.T) {
	f := Found(slices.Concat(backGauge, revved(10, 2400, 10, 2600, 40, 3000)), Options{})
	want := 10e3 * (2500.0*2500/(2400*2400) + 2500.0*2500/(2600*2600)) / 2
	if x, _ := f.Figure("raised"); math.Abs(x.Value-want) > 1e-6 {
		t.Errorf("%v Pa, want %v", x.Value, want)
	}
	if x, _ := f.Figure("exponent"); x.Given() {
		t.Errorf("an exponent of three readings: %+v", x)
	}
}

func TestBackPressureOutcomes(t *testing.T) {
	for _, c := range []struct {
		name    string
		entries []subject.Entry
		want    string
	}{
		{"free", revved(2, 850, 8, 2500, 2, 850, 8, 2500), exhaustFree},
		{"choked at 2500 rpm", revved(5, 850, 32, 2500, 5, 850, 32, 2500), exhaustChoked},
		{"choked at idle", revved(14, 850, 14, 850), exhaustChoked},
		{"near the mark", revved(4, 850, 20, 2500, 4, 850, 21, 2500), finding.CannotTell},
		{"idle alone, and low", revved(2, 850, 2, 850), finding.CannotTell},
		{"once each, which shows no scatter", revved(2, 850, 32, 2500), finding.NotYet},
		{"other speeds alone", revved(2, 1500, 4, 2000), finding.NotYet},
	} {
		if f := Found(slices.Concat(backGauge, c.entries), Options{}); f == nil || f.Verdict != c.want {
			t.Errorf("%s: %+v, want %s", c.name, f, c.want)
		}
	}
	hardly := inRows("speeds", backPaths, []string{unloaded, "<1 kPa", "850 rpm"}, []string{unloaded, "8 kPa", "2500 rpm"}, []string{unloaded, "8 kPa", "2500 rpm"})
	f := Found(slices.Concat(backGauge, hardly), Options{})
	if x, _ := f.Figure("idle"); f.Verdict != exhaustFree || x.High != 1000 || x.Known() {
		t.Errorf("a needle that hardly moved: %s, %+v", f.Verdict, x)
	}
}

// The speeds are gone through twice and no more.
func TestSpeedsOfTheExhaust(t *testing.T) {
	v := (&Matter{}).Look(backGauge)
	var at []string
	for done := range 12 {
		if o, ok := v.Offer("next-speed", subject.Round{Done: done}); ok {
			at = append(at, o.Values["at"])
		}
	}
	if want := append(slices.Clone(backSpeeds), backSpeeds...); !slices.Equal(at, want) {
		t.Errorf("%v", at)
	}
}

// Less at full load than without load can't be, and is told; more can.
func TestBackPressureThatContradictsItself(t *testing.T) {
	said := func(raised float64, full string) bool {
		f := Found(slices.Concat(backGauge, revved(raised, 2500, raised, 2500), inRows("loads", backPaths, []string{loaded, full, "5500 rpm"}, []string{loaded, full, "5500 rpm"})), Options{})
		return slices.ContainsFunc(f.Sentences, func(s string) bool { return strings.Contains(s, "It can't be that") })
	}
	if !said(45, "24 kPa") {
		t.Error("45 kPa without load and 24 kPa at full load are taken without a word")
	}
	if said(8, "24 kPa") {
		t.Error("8 kPa without load and 24 kPa at full load are doubted")
	}
}
