package learn

import (
	"cmp"
	"math"
	"slices"

	"dropwalk/advice/compare"
	"dropwalk/advice/sheet"
)

// Visit is one test of a car.
type Visit struct {
	Name  string
	Sheet *sheet.Sheet
}

// LeftOut is a visit that says nothing here, and why.
type LeftOut struct {
	Name   string `json:"name"`
	Reason string `json:"reason"`
}

// Reasons that package learn finds itself.
const (
	NoReadings = "it has no reading"
	Doubtful   = "a reading in it is doubtful"
	SameCar    = "another visit of the same car tells more of its pieces; here its runs and fittings count"
)

// sorted parts the visits that count from those that don't. Of several visits of one car
// the one with the most readings tells of its pieces, the later one among equals; a
// sheet that names no car is a car of its own.
func sorted(visits []Visit) (cars []Visit, all [][]Visit, left []LeftOut) {
	for _, v := range visits {
		switch {
		case len(v.Sheet.Readings) == 0:
			left = append(left, LeftOut{v.Name, NoReadings})
			continue
		case slices.ContainsFunc(v.Sheet.Readings, func(r sheet.Reading) bool { return r.Doubtful != "" }):
			left = append(left, LeftOut{v.Name, Doubtful})
			continue
		}
		k := len(all)
		if name := v.Sheet.Car.Name; name != "" {
			same := slices.IndexFunc(all, func(of []Visit) bool {
				return of[0].Sheet.Car.Name != "" && compare.SameCar(of[0].Sheet.Car.Name, name)
			})
			if same >= 0 {
				k = same
			}
		}
		if k == len(all) {
			all = append(all, nil)
		}
		all[k] = append(all[k], v)
	}
	for _, of := range all {
		best := 0
		for i, v := range of {
			if len(v.Sheet.Readings) >= len(of[best].Sheet.Readings) {
				best = i
			}
		}
		cars = append(cars, of[best])
		for i, v := range of {
			if i != best {
				left = append(left, LeftOut{v.Name, SameCar})
			}
		}
	}
	return cars, all, left
}

// Refits is how far the mean of a block scatters from one fitting to the next, as a
// share of the reading.
type Refits struct {
	Share  float64
	Visits int // that tell it
	Weight float64
}

// Compared is what package compare takes: nothing where no visit tells it.
func (r Refits) Compared() compare.Learnt {
	if r.Visits == 0 || r.Weight >= 1 {
		return compare.Learnt{}
	}
	return compare.Learnt{Share: r.Share, Freedom: usualFreedom / (1 - r.Weight)}
}

// usualFreedom is how many degrees of freedom the usual refit scatter counts for.
const usualFreedom = 8

// refits pools what visits of one car with nothing changed between them tell.
func refits(all [][]Visit) Refits {
	squares, freedom := usualFreedom*compare.UsualRefit*compare.UsualRefit, float64(usualFreedom)
	out := Refits{}
	for _, of := range all {
		var sheets []*sheet.Sheet
		for _, v := range byDate(of) {
			sheets = append(sheets, v.Sheet)
		}
		h := compare.NewHistory(sheets)
		reached := compare.Whole(sheets)
		for _, f := range h.Spans {
			if f.From != sheet.OpenAir {
				continue // of a part of the path; the whole tells it already
			}
			mean := meanOf(reached, f.To)
			if !(mean > 0) || !(f.Freedom > 0) || math.IsInf(f.Freedom, 0) {
				continue
			}
			squares += f.Freedom * (f.SD / mean) * (f.SD / mean)
			freedom += f.Freedom
			out.Visits += f.Visits
			break // one pair a car: pairs of one fitting share it
		}
	}
	out.Share = tidy(math.Sqrt(squares / freedom))
	out.Weight = tidy(1 - usualFreedom/freedom)
	return out
}

func byDate(of []Visit) []Visit {
	out := slices.Clone(of)
	slices.SortStableFunc(out, func(a, b Visit) int { return cmp.Compare(a.Sheet.Date, b.Sheet.Date) })
	return out
}

// meanOf is the mean of what visits read up to a station; NaN for none.
func meanOf(reached []*compare.Reached, to string) float64 {
	sum, n := 0.0, 0
	for _, r := range reached {
		if r != nil && r.To == to {
			sum, n = sum+r.Value, n+1
		}
	}
	return sum / float64(n)
}
