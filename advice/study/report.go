package study

import (
	"maps"
	"math"
	"slices"

	"dropwalk/advice/practice"
)

// Confidence of all intervals in a report.
const Confidence = 0.95

// miss is the chance with which the intervals of an assessment are to miss.
const miss = 0.10

// fewest items from which the coverage of a kind is compared with others.
const fewest = 30

// Figure is a mean over cars with its interval, whole cars resampled: the
// components of one car share its gauge and its weather. A rate that is nought or
// one has Wilson's interval, because resampling can't widen it.
type Figure struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Cars  int     `json:"cars"`
	Items int     `json:"items"`
}

// Report is the score of a study.
type Report struct {
	Asked   int      `json:"cars_asked"`
	Done    int      `json:"cars_done"`
	Seed    uint64   `json:"seed"`
	Walk    Walk     `json:"walk"`
	Hands   []string `json:"hands"`
	With    Score    `json:"with_geometry"`
	Without Score    `json:"without_geometry"`
}

// Score is what cars of one description give. A figure is nil where no car had
// anything to say on it. Rates and coverages are shares of 1.
type Score struct {
	Cars int `json:"cars"`

	Coverage      *Figure            `json:"coverage"`         // components, pooled
	CoverageKind  map[string]*Figure `json:"coverage_by_kind"` // by kind of component
	Worst         string             `json:"worst_kind"`
	IntervalScore *Figure            `json:"interval_score_pa"`
	Total         *Figure            `json:"coverage_total_loss"`
	Gain          *Figure            `json:"coverage_gain"`
	GainAll       *Figure            `json:"coverage_gain_all"`

	RightPicks *Figure `json:"right_picks"`           // where one component stands out
	WorthPicks *Figure `json:"right_picks_worth"`     // of those: some change is worth its work
	FullPicks  *Figure `json:"right_picks_full_walk"` // of those worth it, by the full walk
	Grouped    *Figure `json:"grouped_standouts"`     // of those: stands for components no tap can part
	Stations   *Figure `json:"stations_tapped"`       // of those
	AllTapped  *Figure `json:"stations_tapped_all"`
	Unended    *Figure `json:"visits_without_end"`
	Regret     *Figure `json:"regret_power_percent"`

	Alarms  *Figure            `json:"false_alarms"`         // recheck on sound readings
	Falling *Figure            `json:"false_alarms_falling"` // where the gauge properly falls downstream
	Blame   *Figure            `json:"false_remarks"`        // recheck or a remark that blames the setup
	Noticed map[string]*Figure `json:"setup_faults_noticed"`
}

func sumUp(p Plan, cars []*outcome) *Report {
	r := &Report{Asked: p.Cars, Seed: p.Seed, Walk: p.Walk}
	for _, h := range p.Hands {
		r.Hands = append(r.Hands, h.String())
	}
	var with, without []*outcome
	for _, o := range cars {
		switch {
		case o == nil:
			continue
		case o.bare:
			without = append(without, o)
		default:
			with = append(with, o)
		}
		r.Done++
	}
	r.With, r.Without = tally(p.Seed).score(with), tally(p.Seed).score(without)
	return r
}

// tally makes figures; it is the seed of the resampling.
type tally uint64

// mean is the figure of what each car has to say, nil where none has.
func (t tally) mean(cars []*outcome, rate bool, of func(*outcome) []float64) *Figure {
	var rows [][]float64
	hits, items := 0.0, 0
	for _, o := range cars {
		if row := of(o); len(row) > 0 {
			rows = append(rows, row)
			items += len(row)
			for _, x := range row {
				hits += x
			}
		}
	}
	if len(rows) == 0 {
		return nil
	}
	m := practice.CarMean(rows, Confidence, uint64(t))
	f := &Figure{m.Value, m.Interval.Low, m.Interval.High, len(rows), items}
	if rate && (hits == 0 || hits == float64(items)) {
		// Cars count, not items.
		wide := practice.Wilson(int(math.Round(m.Value))*len(rows), len(rows), Confidence)
		f.Low, f.High = wide.Low, wide.High
	}
	return f
}

// rate is the share of cars, among those that count, of which something is true.
func (t tally) rate(cars []*outcome, counts, is func(*outcome) bool) *Figure {
	return t.mean(cars, true, func(o *outcome) []float64 {
		if !counts(o) {
			return nil
		}
		return []float64{one(is(o))}
	})
}

func one(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (c claim) held() float64 { return one(c.Holds(c.truth)) }

func (t tally) score(cars []*outcome) Score {
	all := func(*outcome) bool { return true }
	stands := func(o *outcome) bool { return o.stands }
	s := Score{Cars: len(cars)}
	t.intervals(&s, cars)
	s.RightPicks = t.rate(cars, stands, func(o *outcome) bool { return o.picked })
	worth := func(o *outcome) bool { return o.stands && o.worth }
	s.WorthPicks = t.rate(cars, worth, func(o *outcome) bool { return o.picked })
	s.FullPicks = t.rate(cars, worth, func(o *outcome) bool { return o.pickedFull })
	s.Grouped = t.rate(cars, stands, func(o *outcome) bool { return o.standsGroup })
	s.Stations = t.mean(cars, false, func(o *outcome) []float64 {
		if !o.stands {
			return nil
		}
		return []float64{float64(o.stations)}
	})
	s.AllTapped = t.mean(cars, false, func(o *outcome) []float64 { return []float64{float64(o.stations)} })
	s.Unended = t.rate(cars, all, func(o *outcome) bool { return o.unended })
	s.Regret = t.mean(cars, false, func(o *outcome) []float64 { return []float64{o.regret} })

	alarm := func(o *outcome) bool { return o.alarm }
	s.Alarms = t.rate(cars, all, alarm)
	s.Falling = t.rate(cars, func(o *outcome) bool { return o.falls }, alarm)
	s.Blame = t.rate(cars, all, func(o *outcome) bool { return o.blame })
	s.Noticed = map[string]*Figure{}
	for _, f := range practice.SetupFaults() {
		s.Noticed[string(f)] = t.rate(cars, func(o *outcome) bool { return o.fault == f }, func(o *outcome) bool { return o.noticed })
	}
	return s
}

// intervals scores what the 90 % intervals hold.
func (t tally) intervals(s *Score, cars []*outcome) {
	parts := func(of func(o *outcome, c int) (float64, bool)) func(*outcome) []float64 {
		return func(o *outcome) []float64 {
			var row []float64
			for c := range o.parts {
				if x, ok := of(o, c); ok {
					row = append(row, x)
				}
			}
			return row
		}
	}
	s.Coverage = t.mean(cars, true, parts(func(o *outcome, c int) (float64, bool) { return o.parts[c].held(), true }))
	s.IntervalScore = t.mean(cars, false, parts(func(o *outcome, c int) (float64, bool) { return o.parts[c].Score(o.parts[c].truth, miss), true }))
	s.CoverageKind = map[string]*Figure{}
	for _, o := range cars {
		for _, k := range o.kinds {
			s.CoverageKind[k] = nil
		}
	}
	for _, k := range slices.Sorted(maps.Keys(s.CoverageKind)) {
		f := t.mean(cars, true, parts(func(o *outcome, c int) (float64, bool) { return o.parts[c].held(), o.kinds[c] == k }))
		s.CoverageKind[k] = f
		if f.Items >= fewest && (s.Worst == "" || f.Value < s.CoverageKind[s.Worst].Value) {
			s.Worst = k
		}
	}
	held := func(of func(*outcome) *claim) *Figure {
		return t.mean(cars, true, func(o *outcome) []float64 {
			if c := of(o); c != nil {
				return []float64{c.held()}
			}
			return nil
		})
	}
	s.Total = held(func(o *outcome) *claim { return &o.total })
	s.Gain = held(func(o *outcome) *claim { return o.gain })
	s.GainAll = held(func(o *outcome) *claim { return o.gainAll })
}
