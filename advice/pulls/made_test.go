package pulls_test

import (
	"bytes"
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
)

// madeLog is a log of an invented car, with all that recorders do to it.
type madeLog struct {
	rate     float64 // rows a second
	refresh  float64 // seconds from sample to sample of every channel; 0: each row
	exponent float64 // of suction over engine speed
	at6000   float64 // suction at 6000 rpm, Pa
	zero     float64 // what the gauge shows without flow, kPa
	lag      float64 // of the gauge, seconds
	noise    float64 // of the gauge, Pa
	spikes   bool
	end      float64 // of the gauge, Pa; 0: none
	flow     bool    // air flow is logged
	pedal    bool    // the pedal is logged
	pulls    int
	off      bool // the log begins with the engine off
	seed     uint64
}

// gearing of the invented car: engine speed over road speed.
var gearing = []float64{112, 62, 41, 30}

// moment is the state of the invented car.
type moment struct{ t, rpm, speed, load float64 }

// drive is the course of the log: the engine off, idling, cruising, and pulls
// from 2000 to 6500 rpm in third gear, with part-load accelerations between.
func (m madeLog) drive(yield func(moment) bool) {
	t := 0.0
	phase := func(seconds, from, to, load float64, gear int) bool {
		n := int(seconds * m.rate)
		for i := range n {
			rpm := from + (to-from)*float64(i)/float64(n)
			speed := 0.0
			if gear > 0 {
				speed = rpm / gearing[gear-1]
			}
			if !yield(moment{t, rpm, speed, load}) {
				return false
			}
			t += 1 / m.rate
		}
		return true
	}
	if m.off && !phase(12, 0, 0, 0, 0) {
		return
	}
	_ = phase(20, 850, 850, 0.02, 0)
	for range m.pulls {
		ok := phase(4, 1500, 3000, 0.3, 1) && phase(6, 2000, 3500, 0.35, 2) && phase(15, 2500, 2500, 0.2, 3) && phase(3, 2500, 2000, 0.05, 3) &&
			phase(6, 2000, 6500, 1, 3) && phase(8, 6400, 2000, 0, 3) && phase(12, 2300, 2600, 0.25, 4) && phase(10, 2400, 900, 0.02, 2) && phase(6, 850, 850, 0.02, 0)
		if !ok {
			return
		}
	}
}

// suction of the intake, Pa; it goes with the square of the load.
func (m madeLog) suction(rpm, load float64) float64 {
	fill := 0.15 + 0.85*load
	return m.at6000 * math.Pow(rpm/6000, m.exponent) * fill * fill
}

// write writes the log, and stops after about size bytes where size > 0.
func (m madeLog) write(out io.Writer, size int) {
	dice := rand.New(rand.NewPCG(m.seed, 7))
	head := "Time [s],Engine speed [rpm],Road speed [km/h],Coolant [C]"
	if m.pedal {
		head += ",Pedal [%]"
	}
	head += ",Intake suction dp [kPa]"
	if m.flow {
		head += ",Air flow [g/s]"
	}
	fmt.Fprintln(out, head)
	written, row := 0, 0
	var late []float64 // suction that the gauge is still to show
	var heldRow string
	m.drive(func(x moment) bool {
		late = append(late, m.suction(x.rpm, x.load))
		back := min(int(m.lag*m.rate), len(late)-1)
		p := late[len(late)-1-back] + dice.NormFloat64()*m.noise
		if len(late) > 4096 {
			late = append(late[:0], late[2048:]...)
		}
		if m.spikes && row%173 == 5 {
			p += 4000
		}
		if m.end > 0 {
			p = min(p, m.end)
		}
		if every := max(int(m.refresh*m.rate), 1); row%every == 0 {
			heldRow = fmt.Sprintf(",%.0f,%.1f,89", x.rpm, x.speed)
			if m.pedal {
				heldRow += fmt.Sprintf(",%.1f", 15+70*x.load)
			}
			heldRow += fmt.Sprintf(",%.4f", m.zero+p/1000)
			if m.flow {
				heldRow += fmt.Sprintf(",%.2f", 110*x.rpm/6000*(0.15+0.85*x.load)+0.01*dice.NormFloat64())
			}
		}
		n, _ := fmt.Fprintf(out, "%.3f%s\n", x.t, heldRow)
		written += n
		row++
		return size == 0 || written < size
	})
}

func (m madeLog) text() []byte {
	var b bytes.Buffer
	m.write(&b, 0)
	return b.Bytes()
}

// usual is a clean log at 20 rows a second.
func usual() madeLog {
	return madeLog{rate: 20, exponent: 1.95, at6000: 3000, zero: 0.12, noise: 15, pedal: true, flow: true, off: true, pulls: 2, seed: 1}
}

var update = flag.Bool("update", false, "write invented log and schema anew")

// inventedLog is that of README and of the stories: semicolons, decimal commas,
// a comment ahead.
func inventedLog() []byte {
	m := usual()
	m.rate, m.at6000, m.zero, m.pulls, m.flow, m.lag = 5, 3050, 0.06, 1, false, 0
	text := strings.NewReplacer(",", ";", ".", ",").Replace(string(m.text()))
	return []byte("# An invented car and an invented drive: example data, no car of this world.\n" + text)
}

const inventedPath = "../../testdata/logs/yellow-estate.csv"

func TestInventedLogIsCurrent(t *testing.T) {
	if *update {
		if err := os.WriteFile(inventedPath, inventedLog(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(inventedPath)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, inventedLog()) {
		t.Errorf("%s is not current; run this test with -update", inventedPath)
	}
}
