package pulls_test

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dropwalk/advice/pulls"
	"dropwalk/engine/strictyaml"
)

func read(t *testing.T, text []byte, o pulls.Options) *pulls.Result {
	t.Helper()
	r, warnings, err := pulls.Read("log.csv", bytes.NewReader(text), o)
	if err != nil {
		t.Fatal(err)
	}
	if len(warnings) > 0 {
		t.Errorf("warnings: %v", warnings)
	}
	return r
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, tolerance)
	}
}

func hasNote(r *pulls.Result, part string) bool {
	return slices.ContainsFunc(r.Notes, func(n string) bool { return strings.Contains(n, part) })
}

// A clean log gives its pulls, their gear, and the suction that was made.
func TestCleanLog(t *testing.T) {
	r := read(t, usual().text(), pulls.Options{RPM: 6000})
	if len(r.Found) != 2 || len(r.Readings) != 2 {
		t.Fatalf("%d pulls and %d readings, want 2 and 2; nearly: %+v", len(r.Found), len(r.Readings), r.Nearly)
	}
	for i, p := range r.Found {
		near(t, "start", p.StartS, 12+20+28+float64(i)*70, 0.5)
		near(t, "end", p.EndS, 12+20+34+float64(i)*70, 0.3)
		near(t, "lowest engine speed", p.RPMLow, 2000, 200)
		near(t, "highest engine speed", p.RPMHigh, 6500, 100)
		near(t, "ratio", *p.RPMPerKmh, 41, 0.5)
		if p.Gear == nil || *p.Gear != 3 || p.Doubtful != "" {
			t.Errorf("pull %+v", p)
		}
		x := r.Readings[i]
		near(t, "suction", x.Pa.Median, 3000, 30)
		near(t, "exponent", x.Exponent.Median, 1.95, 0.03)
		if x.Outside || x.Doubtful != "" {
			t.Errorf("reading %+v", x)
		}
	}
	if len(r.Gears) != 4 {
		t.Errorf("gears %+v, want 4", r.Gears)
	}
	if z := r.Zeros[0]; z.From != pulls.ZeroOff || math.Abs(z.Pa-120) > 8 {
		t.Errorf("zero %+v, want 120 Pa with the engine off", z)
	}
}

// The intervals of 95 % hold the truth that often, over made logs of every
// exponent.
func TestIntervalsHold(t *testing.T) {
	value, exponent, all := 0, 0, 0
	for seed := range uint64(60) {
		m := usual()
		m.seed, m.pulls, m.noise = seed, 3, 40
		m.exponent = 1.7 + float64(seed%9)/10
		r := read(t, m.text(), pulls.Options{RPM: 6000})
		for _, x := range r.Readings {
			all++
			if x.Pa.Low <= m.at6000 && m.at6000 <= x.Pa.High {
				value++
			}
			if x.Exponent.Low <= m.exponent && m.exponent <= x.Exponent.High {
				exponent++
			}
		}
	}
	if all < 170 {
		t.Fatalf("%d readings, want 180", all)
	}
	for what, n := range map[string]int{"suction": value, "exponent": exponent} {
		share := float64(n) / float64(all)
		t.Logf("%s: held in %.1f %% of %d", what, 100*share, all)
		if share < 0.90 || share > 0.99 {
			t.Errorf("%s: held in %.1f %%", what, 100*share)
		}
	}
}

// A path that closes up under suction is named, over engine speed and over air
// flow.
func TestAPathThatClosesUp(t *testing.T) {
	m := usual()
	m.exponent = 2.7
	if r := read(t, m.text(), pulls.Options{}); !hasNote(r, "closes up under suction. Look for") {
		t.Errorf("with air flow: %q", r.Notes)
	}
	m.flow = false
	if r := read(t, m.text(), pulls.Options{}); !hasNote(r, "closes up under suction, unless") {
		t.Errorf("without air flow: %q", r.Notes)
	}
	m.exponent = 2
	if r := read(t, m.text(), pulls.Options{}); hasNote(r, "closes up") {
		t.Errorf("a firm path: %q", r.Notes)
	}
}

// A gauge on a long hose shows late. The lag is found and allowed for.
func TestALateGauge(t *testing.T) {
	m := usual()
	m.rate, m.lag = 50, 0.4
	r := read(t, m.text(), pulls.Options{RPM: 5000})
	at := slices.IndexFunc(r.Skew, func(k pulls.Skew) bool { return k.Name == "Intake suction dp" })
	if at < 0 || r.Skew[at].LagS == nil {
		t.Fatalf("no lag: %+v", r.Skew)
	}
	near(t, "lag", *r.Skew[at].LagS, 0.4, 0.04)
	want := m.suction(5000, 1)
	for _, x := range r.Readings {
		near(t, "suction", x.Pa.Median, want, 0.02*want)
	}
}

// Spikes are left out and counted; they move nothing.
func TestSpikes(t *testing.T) {
	m := usual()
	m.spikes = true
	r := read(t, m.text(), pulls.Options{RPM: 6000})
	if len(r.Readings) != 2 {
		t.Fatalf("%d readings", len(r.Readings))
	}
	spikes := 0
	for _, x := range r.Readings {
		spikes += x.Spikes
		near(t, "suction", x.Pa.Median, 3000, 30)
	}
	if spikes == 0 {
		t.Error("no spike was left out")
	}
}

// A gauge at its end is no reading of what lies beyond it.
func TestAGaugeAtItsEnd(t *testing.T) {
	m := usual()
	m.end, m.pulls = 2500, 3
	r := read(t, m.text(), pulls.Options{RPM: 6000})
	if !hasNote(r, "end of its range") {
		t.Errorf("notes: %q", r.Notes)
	}
	for _, x := range r.Readings {
		near(t, "suction by the curve", x.Pa.Median, 3000, 60)
		if x.Clipped == 0 || !strings.Contains(x.Doubtful, "beyond the end") {
			t.Errorf("reading %+v", x)
		}
	}
	if len(r.Readings) != 3 {
		t.Errorf("%d readings, want 3", len(r.Readings))
	}
}

// A recorder that holds its values gives few fresh samples, and the interval
// knows it.
func TestHeldSamples(t *testing.T) {
	m := usual()
	m.rate, m.refresh = 20, 0.5
	r := read(t, m.text(), pulls.Options{RPM: 6000})
	if len(r.Found) != 2 {
		t.Fatalf("%d pulls; nearly %+v", len(r.Found), r.Nearly)
	}
	for _, c := range r.Channels {
		if c.Role == pulls.RPM {
			near(t, "refresh", *c.RefreshS, 0.5, 0.03)
		}
	}
	for _, x := range r.Readings {
		if x.Samples > 13 || x.Pa.Low > 3000 || x.Pa.High < 3000 {
			t.Errorf("reading %+v", x)
		}
	}
}

// Without a pedal the air per turn tells the load; without both a pull is
// doubtful.
func TestNoLoadChannel(t *testing.T) {
	m := usual()
	m.pedal = false
	r := read(t, m.text(), pulls.Options{})
	if len(r.Found) != 2 || !hasNote(r, "air that the engine takes per turn") {
		t.Errorf("%d pulls, notes %q", len(r.Found), r.Notes)
	}
	m.flow = false
	r = read(t, m.text(), pulls.Options{})
	if len(r.Found) == 0 || r.Found[0].Doubtful == "" {
		t.Errorf("found %+v", r.Found)
	}
}

// Names that say nothing are found by what they do, or named.
func TestNamesThatSayNothing(t *testing.T) {
	text := usual().text()
	_, body, _ := bytes.Cut(text, []byte("\n"))
	dumb := append([]byte("c1,c2,c3,c4,c5,c6,c7\n"), body...)
	r := read(t, dumb, pulls.Options{})
	if r.Channels[0].Role != pulls.Time || r.Channels[1].Name != "c2" || r.Channels[1].Role != pulls.RPM || r.Channels[1].By != pulls.ByBehaviour {
		t.Errorf("channels %+v", r.Channels[:2])
	}
	o := pulls.Options{RPM: 6000, Columns: []pulls.Choice{{Role: pulls.Load, Name: "C5"}, {Role: pulls.Pressure, Name: "c6 [kPa]"}, {Role: pulls.Speed, Name: "c3"}}}
	r = read(t, dumb, o)
	if len(r.Readings) != 2 {
		t.Fatalf("%d readings, channels %+v", len(r.Readings), r.Channels)
	}
	near(t, "suction", r.Readings[0].Pa.Median, 3000, 30)
}

func TestAColumnThatIsNotThere(t *testing.T) {
	_, _, err := pulls.Read("log.csv", bytes.NewReader(usual().text()), pulls.Options{Columns: []pulls.Choice{{Role: pulls.RPM, Name: "Engine sped"}}})
	f, ok := errors.AsType[strictyaml.Faults](err)
	if !ok || !strings.Contains(f.Error(), `did you mean "Engine speed"`) {
		t.Errorf("%v", err)
	}
}

func TestALogWithoutEngineSpeed(t *testing.T) {
	_, _, err := pulls.Read("log.csv", strings.NewReader("time,coolant\n0,80\n1,81\n2,82\n"), pulls.Options{})
	if err == nil || !strings.Contains(err.Error(), "log.csv:1:1: no column tells engine speed") {
		t.Errorf("%v", err)
	}
}

// A pedal that never moves, and a pull of part load only, are no pulls.
func TestPartLoadIsNoPull(t *testing.T) {
	var b bytes.Buffer
	fmt.Fprintln(&b, "t [s],rpm,pedal [%]")
	at := 0
	row := func(rpm, pedal float64) { fmt.Fprintf(&b, "%.2f,%.0f,%.0f\n", float64(at)*0.1, rpm, pedal); at++ }
	for i := range 200 {
		row(900+float64(i%3), 0)
	}
	for i := range 80 {
		row(1500+60*float64(i), 40) // half the pedal
	}
	for i := range 50 {
		row(2500-float64(i), 80) // full pedal uphill, engine speed falls
	}
	r := read(t, b.Bytes(), pulls.Options{})
	if len(r.Found) != 0 {
		t.Errorf("found %+v", r.Found)
	}
}

// Time in thousandths and as a clock give the same seconds.
func TestTimeInOtherUnits(t *testing.T) {
	want := read(t, usual().text(), pulls.Options{}).Found
	for _, unit := range []string{"ms", ""} {
		var b bytes.Buffer
		for i, line := range strings.Split(strings.TrimSpace(string(usual().text())), "\n") {
			first, rest, _ := strings.Cut(line, ",")
			if i == 0 {
				fmt.Fprintf(&b, "Time [%s],%s\n", unit, rest)
				continue
			}
			var s float64
			fmt.Sscan(first, &s)
			fmt.Fprintf(&b, "%.0f,%s\n", s*1000, rest)
		}
		got := read(t, b.Bytes(), pulls.Options{}).Found
		if len(got) != len(want) {
			t.Errorf("unit %q: %d pulls, want %d", unit, len(got), len(want))
			continue
		}
		near(t, "start", got[1].StartS, want[1].StartS, 0.001)
	}
}

// bigFile is a long log, about size bytes, whose values are held for ten rows,
// as those of the open car log are.
func bigFile(t testing.TB, size int) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "big.csv")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m := usual()
	m.pulls, m.refresh = 1<<30, 0.5
	out := bufio.NewWriterSize(f, 1<<20)
	m.write(out, size)
	if err := out.Flush(); err != nil {
		t.Fatal(err)
	}
	return path
}

// A long log takes no more memory than a short one.
func TestLongLogsTakeLittleMemory(t *testing.T) {
	path := bigFile(t, 24<<20)
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	watched := &watchedReader{in: f}
	r, _, err := pulls.Read("big.csv", watched, pulls.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if watched.peak > 60<<20 {
		t.Errorf("%d MB of memory at the peak", watched.peak>>20)
	}
	if len(r.Found) < 20 || r.Rows < 400_000 {
		t.Errorf("%d pulls in %d rows", len(r.Found), r.Rows)
	}
}

// watchedReader looks at the memory in use while it is read.
type watchedReader struct {
	in    io.Reader
	reads int
	peak  uint64
}

func (w *watchedReader) Read(p []byte) (int, error) {
	if w.reads++; w.reads%8 == 0 {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		w.peak = max(w.peak, m.HeapAlloc)
	}
	return w.in.Read(p)
}

// PULLS_MB is the size of the log in the benchmark; README and DEVELOPERS.md
// give figures for 1024.
func BenchmarkPulls(b *testing.B) {
	size := 64
	if text := os.Getenv("PULLS_MB"); text != "" {
		var err error
		if size, err = strconv.Atoi(text); err != nil {
			b.Fatal(err)
		}
	}
	path := bigFile(b, size<<20)
	b.SetBytes(int64(size) << 20)
	var peak uint64
	for b.Loop() {
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		watched := &watchedReader{in: f}
		if _, _, err := pulls.Read("big.csv", watched, pulls.Options{}); err != nil {
			b.Fatal(err)
		}
		f.Close()
		peak = max(peak, watched.peak)
	}
	b.ReportMetric(float64(peak)/(1<<20), "MiB-at-peak")
}
