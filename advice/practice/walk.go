package practice

import (
	"fmt"

	"dropwalk/advice/sheet"
)

// RunsEach is how many runs a careful tester makes for a reading.
const RunsEach = 3

// Ask is one reading that somebody wants: stations, gauge, number of runs.
type Ask struct {
	From, To, Gauge string
	Runs            int
}

// Policy decides what to read next from the sheet so far; false ends the visit.
type Policy func(*sheet.Sheet) (Ask, bool)

// FullWalk reads the whole path and then, from the mouth inwards, every other
// station that can be tapped, each against the open air with the first gauge.
func (s *Session) FullWalk(detail Detail) *sheet.Sheet {
	taps := s.Car.taps()
	end := len(taps) - 1
	order := append([]int{taps[end]}, taps[:end]...)
	at := 0
	sh, _, err := s.Play(detail, len(order), func(*sheet.Sheet) (Ask, bool) {
		at++
		return Ask{sheet.OpenAir, s.name(order[at-1]), s.Gauges[0].Name, RunsEach}, true
	})
	if err != nil {
		panic(err) // the stations are this car's own
	}
	return sh
}

// Play makes a whole visit: it asks the policy, takes the reading, and asks
// again, until the policy ends it or most readings were asked for. It returns
// the sheet and what was asked. A reading that can't be had is an error, with
// the sheet as far as it went.
func (s *Session) Play(detail Detail, most int, next Policy) (*sheet.Sheet, []Ask, error) {
	sh := s.Describe(detail)
	var asked []Ask
	for range most {
		ask, more := next(sh)
		if !more {
			break
		}
		readings, err := s.Measure(ask.From, ask.To, ask.Gauge, ask.Runs)
		if err != nil {
			return sh, asked, fmt.Errorf("reading %d: %w", len(asked)+1, err)
		}
		sh.Readings = append(sh.Readings, readings...)
		asked = append(asked, ask)
	}
	return sh, asked, nil
}

// Stations counts the different taps that a visit used.
func Stations(asked []Ask) int {
	used := map[string]bool{}
	for _, a := range asked {
		used[a.From], used[a.To] = true, true
	}
	delete(used, sheet.OpenAir)
	return len(used)
}

// YAML is a sheet as a file that assess reads.
func YAML(sh *sheet.Sheet) []byte { return sheet.Write(sh) }
