package quantity

import (
	"math"
	"math/rand/v2"
	"testing"
)

// must reads what a test knows to be good.
func must(t *testing.T, text string, k Kind) Amount {
	t.Helper()
	a, err := Read(text, Want{Kind: k, Swing: true, Bounds: true, Unreadable: true})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// Canonical text reads back to the same amount, for every unit and every size
// of number, also one that no person wrote.
func TestTextReadsBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, k := range kindsInOrder {
		for _, name := range UnitsOf(k) {
			u := units().named[name]
			for range 40 {
				si := math.Exp(rng.Float64()*40-20) + round(u.zero)
				a := Amount{Kind: k, Form: Exact, SI: si, Low: si, High: si, Unit: name}
				if rng.IntN(2) == 0 {
					a.PlusMinus = rng.Float64()
				}
				b, err := Read(a.Text(), Want{Kind: k})
				b.Raw = ""
				if err != nil || a != b {
					t.Fatalf("%s in %s: %q reads %+v, %v, want %+v", k, name, a.Text(), b, err, a)
				}
			}
		}
	}
}

// The canonical text has the digits that were written, not those of a float64.
func TestTextKeepsDigits(t *testing.T) {
	for _, c := range []struct {
		text string
		kind Kind
	}{
		{"0.1 inH2O", PressureDiff}, {"12.34567 inH2O", PressureDiff}, {"31.07 mbar", PressureDiff},
		{"0.45 psi", PressureDiff}, {"29.92 inHg", Pressure}, {"65.3 mm", Length}, {"2.5625 in", Length},
		{"68.9 F", Temperature}, {"-12.3 C", Temperature}, {"14.1 lb/min", MassFlow}, {"33.3 %", Share},
		{"22.5 deg", Angle}, {"123.4 hp", Power}, {"37.3 mph", Speed}, {"6050 rpm", Rotation},
		{"190.7 cfm", VolumeFlow}, {"0.0751 lb/ft3", Density}, {"121.9 in3", Volume}, {"4", Whole}, {"-3.25", Number},
	} {
		if got := must(t, c.text, c.kind).Text(); got != c.text {
			t.Errorf("%q came back as %q", c.text, got)
		}
	}
}

func TestTextOfHandMadeAmounts(t *testing.T) {
	for _, c := range []struct {
		amount Amount
		want   string
	}{
		{Amount{}, ""},
		{Amount{Kind: PressureDiff, Form: Exact, SI: 3000}, "3000 Pa"},
		{Amount{Kind: PressureDiff, Form: Exact, SI: 3000, Unit: "mm"}, "3000 Pa"},
		{Amount{Kind: Temperature, Form: Exact, SI: 293.15}, "293.15 K"},
		{Amount{Kind: Share, Form: Exact, SI: 0.5}, "50 %"},
		{Amount{Kind: Rotation, Form: Exact, SI: 6050}, "6050 rpm"},
		{Amount{Kind: Number, Form: Exact, SI: 1e21}, "1000000000000000000000"},
		{Amount{Kind: Number, Form: Exact, SI: math.NaN()}, "?"},
		{Amount{Kind: PressureDiff, Form: Exact, SI: math.Inf(1)}, "? Pa"},
	} {
		if got := c.amount.Text(); got != c.want {
			t.Errorf("%+v.Text() = %q, want %q", c.amount, got, c.want)
		}
	}
}

func TestEcho(t *testing.T) {
	for _, c := range []struct {
		text string
		kind Kind
		sys  System
		want string
	}{
		{"12.5 inH2O", PressureDiff, AsTyped, "12.5 inH2O = 3.11 kPa"},
		{"12.5 inH2O", PressureDiff, Metric, "12.5 inH2O = 3.11 kPa"},
		{"12.5 inH2O", PressureDiff, Imperial, "12.5 inH2O = 3.11 kPa"},
		{"31 mbar", PressureDiff, AsTyped, "31 mbar = 12.4 inH2O"},
		{"31 mbar", PressureDiff, Metric, "31 mbar = 3.1 kPa"},
		{"31 mbar", PressureDiff, Imperial, "31 mbar = 12.4 inH2O"},
		{"3.1 kPa", PressureDiff, Metric, "3.1 kPa = 12.4 inH2O"},
		{"0.45 psi", PressureDiff, Imperial, "0.45 psi = 12.5 inH2O"},
		{"12-13 inH2O", PressureDiff, Metric, "12-13 inH2O = 2.99-3.24 kPa"},
		{"-0.2 to 0.2 inH2O", PressureDiff, Metric, "-0.2 to 0.2 inH2O = -49.8 to 49.8 Pa"},
		{">25 inH2O", PressureDiff, Metric, ">25 inH2O = >6.23 kPa"},
		{"<0.5 inH2O", PressureDiff, Metric, "<0.5 inH2O = <125 Pa"},
		{"12.5 +- 0.5 inH2O", PressureDiff, Metric, "12.5 +- 0.5 inH2O = 3.11 +- 0.125 kPa"},
		{"?", PressureDiff, Metric, "not readable"},
		{"18 C", Temperature, AsTyped, "18 C = 64.4 F"},
		{"68 ± 9 F", Temperature, AsTyped, "68 +- 9 F = 20 +- 5 C"},
		{"5 K", TemperatureDiff, AsTyped, "5 K = 9 F"},
		{"101.1 kPa", Pressure, AsTyped, "101.1 kPa = 29.85 inHg"},
		{"0.8 bar", GaugePressure, AsTyped, "0.8 bar = 11.6 psi"},
		{"1998 cc", Volume, AsTyped, "1998 cc = 121.9 in3"},
		{"65 mm", Length, AsTyped, "65 mm = 2.56 in"},
		{"2 1/2 in", Length, AsTyped, "2.5 in = 63.5 mm"},
		{"118 g/s", MassFlow, AsTyped, "118 g/s = 15.6 lb/min"},
		{"108 kW", Power, AsTyped, "108 kW = 145 hp"},
		{"80 km/h", Speed, AsTyped, "80 km/h = 49.7 mph"},
		{"90 deg", Angle, AsTyped, "90 deg"},
		{"50 %", Share, Metric, "50 %"},
		{"6050 rpm", Rotation, Imperial, "6050 rpm"},
		{"4", Whole, Metric, "4"},
	} {
		if got := Echo(must(t, c.text, c.kind), c.sys); got != c.want {
			t.Errorf("Echo(%q, %s) = %q, want %q", c.text, c.sys, got, c.want)
		}
	}
	if got := Echo(Amount{}, Metric); got != "" {
		t.Errorf("Echo of nothing = %q, want nothing", got)
	}
}

func TestShow(t *testing.T) {
	for _, c := range []struct {
		si   float64
		kind Kind
		sys  System
		want string
	}{
		{3113.611375, PressureDiff, Metric, "3.11 kPa"},
		{3113.611375, PressureDiff, Imperial, "12.5 inH2O"},
		{3113.611375, PressureDiff, AsTyped, "12.5 inH2O"},
		{-310, PressureDiff, Metric, "-310 Pa"},
		{0, PressureDiff, Metric, "0 Pa"},
		{31, PressureDiff, Imperial, "0.124 inH2O"},
		{101325, Pressure, Metric, "101.3 kPa"},
		{80000, GaugePressure, Imperial, "11.6 psi"},
		{0.065, Length, Metric, "65 mm"},
		{1.25, Length, Metric, "1250 mm"},
		{12, Length, Metric, "12 m"},
		{0.04, Area, Metric, "400 cm2"},
		{0.001998, Volume, Metric, "1998 cm3"},
		{291.15, Temperature, Metric, "18 C"},
		{291.15, Temperature, Imperial, "64.4 F"},
		{0.118, MassFlow, Metric, "118 g/s"},
		{0.09, VolumeFlow, Metric, "324 m3/h"},
		{15079.6, Power, Metric, "15.1 kW"},
		{13.5, Speed, Metric, "48.6 km/h"},
		{13.5, Speed, Imperial, "30.2 mph"},
		{math.Pi / 2, Angle, Metric, "90 deg"},
		{1.199314, Density, Metric, "1.2 kg/m3"},
		{0.00302, Share, Metric, "0.302 %"},
		{0.0059, Duration, Metric, "5.9 ms"},
		{5400, Duration, Metric, "90 min"},
		{6050.4, Rotation, Metric, "6050 rpm"},
		{12345.6, Number, Metric, "12346"},
		{math.NaN(), Power, Metric, "?"},
	} {
		if got := Show(c.si, c.kind, c.sys); got != c.want {
			t.Errorf("Show(%v, %s, %s) = %q, want %q", c.si, c.kind, c.sys, got, c.want)
		}
	}
	if got := ShowIn(3113.611375, PressureDiff, "mbar"); got != "31.1 mbar" {
		t.Errorf("ShowIn in mbar = %q", got)
	}
}

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		v      float64
		digits int
		want   string
	}{
		{3.113611375, 3, "3.11"}, {0.5, 3, "0.5"}, {1998, 3, "2000"}, {6227, 2, "6200"},
		{0.00001234, 2, "0.000012"}, {-0.0004, 3, "-0.0004"}, {0, 3, "0"}, {999.96, 4, "1000"},
		{1e21, 3, "1000000000000000000000"}, {math.Copysign(0, -1), 3, "0"}, {1.5, 0, "2"},
		{math.NaN(), 3, "?"}, {math.Inf(1), 3, "?"},
	} {
		if got := Format(c.v, c.digits); got != c.want {
			t.Errorf("Format(%v, %d) = %q, want %q", c.v, c.digits, got, c.want)
		}
	}
}

func TestParseSystem(t *testing.T) {
	for _, sys := range []System{AsTyped, Metric, Imperial} {
		if got, err := ParseSystem(sys.String()); err != nil || got != sys {
			t.Errorf("ParseSystem(%q) = %v, %v", sys.String(), got, err)
		}
	}
	if _, err := ParseSystem("cubits"); err == nil {
		t.Error("cubits passed for a system of units")
	}
}

// In undoes From, and both agree with what Read makes of the same number.
func TestInAndFrom(t *testing.T) {
	for _, c := range []struct {
		v    float64
		kind Kind
		unit string
	}{
		{12.5, PressureDiff, "inH2O"}, {0.1, PressureDiff, "mbar"}, {18, Temperature, "C"}, {0, Temperature, "C"},
		{68.9, Temperature, "F"}, {5, TemperatureDiff, "F"}, {50, Share, "%"}, {3.5, Number, ""}, {65, Length, "mm"},
	} {
		si, err := From(c.v, c.kind, c.unit)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := In(si, c.kind, c.unit); err != nil || back != c.v {
			t.Errorf("In(From(%v %s)) = %v, %v", c.v, c.unit, back, err)
		}
		a, err := Of(c.v, c.kind, c.unit)
		if err != nil {
			t.Fatal(err)
		}
		if read := must(t, a.Text(), c.kind); read != a {
			t.Errorf("Of(%v, %s) = %+v, but it reads %+v", c.v, c.unit, a, read)
		}
	}
	for _, c := range []struct {
		v    float64
		kind Kind
		unit string
	}{
		{1, PressureDiff, "mm"}, {1, PressureDiff, "C"}, {1, Length, ""}, {1, Text, "m"}, {1, Number, "m"},
		{math.NaN(), Length, "m"}, {math.Inf(-1), Length, "m"}, {1e308, Pressure, "atm"},
	} {
		if si, err := From(c.v, c.kind, c.unit); err == nil {
			t.Errorf("From(%v, %s, %q) = %v, want an error", c.v, c.kind, c.unit, si)
		}
		if a, err := Of(c.v, c.kind, c.unit); err == nil {
			t.Errorf("Of(%v, %s, %q) = %v, want an error", c.v, c.kind, c.unit, a)
		}
	}
	if v, err := In(1e308, Length, "mm"); err == nil {
		t.Errorf("In overflows to %v without an error", v)
	}
}

// Reading and printing one quantity cost microseconds, so that a thousand sheets a second stay possible.
func BenchmarkRead(b *testing.B) {
	for b.Loop() {
		if _, err := Read("12.5 inH2O", needle); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkText(b *testing.B) {
	a, err := Read("12-13.7 inH2O", needle)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		_ = a.Text()
	}
}

func BenchmarkEcho(b *testing.B) {
	a, err := Read("12.5 inH2O", needle)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		_ = Echo(a, Metric)
	}
}
