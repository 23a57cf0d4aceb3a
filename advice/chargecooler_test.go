package advice

import (
	"math"
	"slices"
	"strings"
	"testing"

	"dropwalk/advice/finding"
	"dropwalk/engine/subject"
)

var chargePaths = []string{chargeAhead, chargeBehind, chargeRPM, chargeHot, chargeCooled, chargeOpen}

// boosted is a day with gauges of 200 kPa by 2 kPa, of which the one behind shows 1 kPa more.
var boosted = places(highRange, "200 kPa", highStep, "2 kPa", pairAhead, "100 kPa", pairBehind, "101 kPa", "air.pressure", "101.3 kPa")

func charged(rows ...[]string) []subject.Entry { return inRows("charges", chargePaths, rows...) }

// By hand: drops of 6 kPa and gauges that show -1 kPa apart make 7 kPa. Two scales of 2 kPa
// are sqrt(2)*2/sqrt(12) = 0.8165, twice that together sqrt(4/3) = 1.1547 kPa, times 1.64485:
// 7 +- 1.8993 kPa. Effectiveness (118 - 52)/(118 - 21) = 66/97 = 0.680412; each thermometer
// 2/sqrt(3) = 1.1547 K, with the slopes 0.0032947, 0.0103093 and 0.0070145 per K: 0.014893,
// times 1.64485 0.024496.
func TestChargeCoolerByHand(t *testing.T) {
	f := Found(slices.Concat(boosted, charged(
		[]string{"92 kPa", "86 kPa", "5500 rpm", "118 C", "52 C", "21 C"}, []string{"93 kPa", "87 kPa", "5500 rpm", "118 C", "52 C", "21 C"}, []string{"91 kPa", "85 kPa", "5500 rpm", "118 C", "52 C", "21 C"})), Options{})
	if f.Verdict != coolerSound {
		t.Errorf("verdict %s", f.Verdict)
	}
	figure(t, f, "drop", 7000, 7000-1899.3, 7000+1899.3, 1)
	figure(t, f, "effectiveness", 0.680412, 0.680412-0.024496, 0.680412+0.024496, 1e-5)
	// 7 kPa of 101.3 + 92 kPa.
	figure(t, f, "drop-cost", 7/193.3, (7-1.8993)/193.3, (7+1.8993)/193.3, 1e-5)
	// (1 - 7/193.3) * 391.15/325.15 - 1, and 325.15/294.15 - 1.
	if x, _ := f.Figure("recovered"); math.Abs(x.Value-0.159419) > 1e-5 {
		t.Errorf("recovered %+v", x)
	}
	if x, _ := f.Figure("left"); math.Abs(x.Value-0.105388) > 1e-5 {
		t.Errorf("left %+v", x)
	}
}

func TestChargeCoolerOutcomes(t *testing.T) {
	three := func(row ...string) []subject.Entry { return charged(row, row, row) }
	for _, c := range []struct {
		name    string
		entries []subject.Entry
		want    string
	}{
		{"sound", slices.Concat(boosted, three("92 kPa", "88 kPa", "5500 rpm", "118 C", "45 C", "21 C")), coolerSound},
		{"tight", slices.Concat(boosted, three("92 kPa", "76 kPa", "5500 rpm", "118 C", "45 C", "21 C")), coolerTight},
		{"hot", slices.Concat(boosted, three("92 kPa", "88 kPa", "5500 rpm", "118 C", "75 C", "21 C")), coolerHot},
		{"both", slices.Concat(boosted, three("92 kPa", "76 kPa", "5500 rpm", "118 C", "75 C", "21 C")), coolerBoth},
		{"tight, and nobody read the heat", slices.Concat(boosted, three("92 kPa", "76 kPa", "5500 rpm", "", "", "")), coolerTight},
		{"near the mark", slices.Concat(boosted, three("92 kPa", "83 kPa", "5500 rpm", "118 C", "45 C", "21 C")), finding.CannotTell},
		{"gauges that nobody compared", slices.Concat(places(highRange, "200 kPa", highStep, "5 kPa"), three("92 kPa", "84 kPa", "5500 rpm", "118 C", "45 C", "21 C")), finding.CannotTell},
		{"pressures alone", slices.Concat(boosted, three("92 kPa", "88 kPa", "5500 rpm", "", "", "")), finding.CannotTell},
		{"a charge as cool as the open air", slices.Concat(boosted, three("", "", "", "20 C", "20 C", "21 C")), finding.NotYet},
		{"one pull, which shows no scatter", slices.Concat(boosted, charged([]string{"92 kPa", "76 kPa", "5500 rpm", "118 C", "75 C", "21 C"})), finding.NotYet},
		{"nothing", slices.Concat(boosted, three("?", "?", "5500 rpm", "?", "?", "?")), finding.NotYet},
	} {
		if f := Found(c.entries, Options{}); f == nil || f.Verdict != c.want {
			t.Errorf("%s: %+v, want %s", c.name, f, c.want)
		}
	}
}

// A reading beyond the gauge is refused, and bare numbers have its unit.
func TestBoostOnItsGauge(t *testing.T) {
	v := (&Matter{}).Look(places(highRange, "200 kPa", highStep, "2 kPa"))
	r, err := v.Read([]string{chargeAhead, chargeBehind, chargeRPM}, subject.Round{Slot: "charges.1"}, "92, 86, 5500")
	if err != nil || r.Parts[0].Text != "92 kPa" || r.Parts[2].Text != "5500 rpm" {
		t.Errorf("%+v, %v", r, err)
	}
	if _, err := v.Read([]string{chargeAhead, chargeBehind, chargeRPM}, subject.Round{Slot: "charges.1"}, "250, 86, 5500"); err == nil {
		t.Error("250 kPa was taken from a gauge of 200 kPa")
	}
	if _, err := v.Read([]string{chargeHot, chargeCooled, chargeOpen}, subject.Round{Slot: "charges.1"}, "118 C, 52 C, 210 C"); err == nil {
		t.Error("210 C of open air was taken")
	}
}

// What pressures show by themselves is said; a cooler that brings nothing is not said
// to bring less than nothing; a gauge that can't show the drop is asked back.
func TestChargeCoolerSaysWhatItCan(t *testing.T) {
	said := func(row []string, text string) bool {
		f := Found(slices.Concat(boosted, charged(row, row, row)), Options{})
		return slices.ContainsFunc(f.Sentences, func(s string) bool { return strings.Contains(s, text) })
	}
	if !said([]string{"92 kPa", "88 kPa", "5500 rpm", "", "", ""}, "The drop is low") {
		t.Error("with pressures alone nothing is said of a low drop")
	}
	if said([]string{"92 kPa", "83 kPa", "5500 rpm", "", "", ""}, "The drop is low") {
		t.Error("a drop near the mark is said to be low")
	}
	warm := []string{"92 kPa", "82 kPa", "5500 rpm", "40 C", "37 C", "21 C"}
	if said(warm, "denser by") || !said(warm, "no denser than it comes") {
		t.Error("a charge that leaves thinner is said to be denser")
	}
	v := (&Matter{}).Look(nil)
	gauge := []string{highRange, highStep}
	if _, err := v.Read(gauge, subject.Round{}, "100 kPa by 20 kPa"); err == nil || !strings.Contains(err.Error(), "too coarse") {
		t.Errorf("marks 20 kPa apart come to %v", err)
	}
	for _, text := range []string{"100 kPa by 5 kPa", "100 kPa by 20 kPa, keep"} {
		if _, err := v.Read(gauge, subject.Round{}, text); err != nil {
			t.Errorf("%q comes to %v", text, err)
		}
	}
}
