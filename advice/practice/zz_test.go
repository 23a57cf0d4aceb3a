package practice

import (
	"fmt"
	"testing"
	"time"
)

func TestZZ(t *testing.T) {
	for _, c := range Cars() {
		start := time.Now()
		n := 0
		for s := uint64(1); s <= 5; s++ {
			if c.With(s) == c {
				n++
			}
		}
		fmt.Println(c.Name, c.Level, n, time.Since(start), c.Setup.Fault, c.Setup.Place, c.Car.Truth.Total/inch, c.Answer())
	}
}
