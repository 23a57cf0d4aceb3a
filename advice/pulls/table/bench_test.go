package table_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"testing"

	"dropwalk/advice/pulls/table"
)

// bigLog is a log as a car's recorder writes it, 11 columns with held values,
// about size bytes of it.
func bigLog(size int) []byte {
	var b bytes.Buffer
	b.WriteString("Time [s],Coolant [C],Manifold pressure [kPa],Engine speed [rpm],Road speed [km/h],Intake air [C],Air flow [g/s],Throttle [%],Outside [C],Pedal D [%],Pedal E [%]\n")
	for i := 0; b.Len() < size; i++ {
		k := i / 10 % 400
		fmt.Fprintf(&b, "%.3f,89,%.1f,%.1f,%.1f,%.1f,%.2f,83.5,0.0,%.1f,%.1f\n",
			float64(i)*0.09, 98+float64(k)/4, 800+float64(k)*9, float64(k)/4, 5+float64(k%9), 8+float64(k)/3.3, 14.1+float64(k)/9, 14.5+float64(k)/9)
	}
	return b.Bytes()
}

const benchSize = 16 << 20

func BenchmarkReader(b *testing.B) {
	log := bigLog(benchSize)
	b.SetBytes(int64(len(log)))
	for b.Loop() {
		r, err := table.Open("log.csv", bytes.NewReader(log))
		if err != nil {
			b.Fatal(err)
		}
		rows := 0
		for r.Next() != nil {
			rows++
		}
		if rows < benchSize/100 {
			b.Fatalf("%d rows", rows)
		}
	}
}

// The same file through encoding/csv and strconv, for comparison.
func BenchmarkStandardCSV(b *testing.B) {
	log := bigLog(benchSize)
	b.SetBytes(int64(len(log)))
	for b.Loop() {
		r := csv.NewReader(bytes.NewReader(log))
		r.ReuseRecord = true
		row := make([]float64, 11)
		for head := true; ; head = false {
			cells, err := r.Read()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				b.Fatal(err)
			}
			for i, c := range cells {
				if head {
					continue
				}
				if row[i], err = strconv.ParseFloat(c, 64); err != nil {
					b.Fatal(err)
				}
			}
		}
	}
}
