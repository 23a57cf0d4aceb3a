package class

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/stats"
	"dropwalk/engine/spell"
)

// leastGroups from which on a scatter between groups is told.
const leastGroups = 3

// Judge is what the sheets so far say of the class.
func (g *Gatherer) Judge() *Class {
	c := &Class{Version: Version, Stations: []Station{}, Car: g.car, Groups: append([]string{}, slices.Sorted(slices.Values(g.groups))...), Reference: g.reference,
		Taps: []Tap{}, Askew: []Askew{}, Notes: []Note{}, HandIns: []HandIn{}, Missing: []string{}}
	var shared []*span
	for _, s := range g.inOrder() {
		if len(s.readers()) > 1 {
			shared = append(shared, s)
			c.Stations = append(c.Stations, s.judge())
		}
	}
	c.across(shared)
	g.remark(c)
	return c
}

// judge is what the groups say of one pair.
func (s *span) judge() Station {
	names := s.readers()
	var groups [][]float64
	var all, means []float64
	for _, name := range names {
		groups = append(groups, s.runs[name])
		all = append(all, s.runs[name]...)
		means = append(means, stats.Mean(s.runs[name]))
	}
	st := Station{From: s.from, To: s.to, Groups: len(names), Runs: len(all), Mean: tidy(stats.Mean(all)), Flags: []Flag{}}
	for i, name := range names {
		one := Group{Group: name, Runs: len(groups[i]), Mean: tidy(means[i]), Values: []float64{}}
		for _, v := range groups[i] {
			one.Values = append(one.Values, tidy(v))
		}
		if len(groups[i]) > 1 {
			one.SD = figure(stats.SD(groups[i]))
		}
		st.ByGroup = append(st.ByGroup, one)
	}
	st.scatter(groups)
	st.stragglers(names, groups, means)
	st.without(names, groups)
	st.offMedian(names, means)
	if len(means) > 1 {
		half := stats.TQuantile(0.975, float64(len(means)-1)) * stats.SD(means) / math.Sqrt(float64(len(means)))
		middle := stats.Mean(means)
		st.Interval = &Bounds{tidy(middle - half), tidy(middle + half)}
	}
	return st
}

// scatter is the model of ISO 5725-2 for groups of any size.
func (st *Station) scatter(groups [][]float64) {
	o := stats.NewOneWay(groups)
	if o.WithinFreedom < 1 {
		st.flag(TooFew, "", 0)
		return
	}
	r := o.Repeatability()
	st.Repeatability, st.LimitRuns = figure(r), figure(stats.PairLimit*r)
	if len(groups) < leastGroups {
		st.flag(TooFew, "", 0)
		return
	}
	between, freedom := o.Groups()
	all, _ := o.Reproducibility()
	st.Between, st.Reproduced, st.LimitGroups = figure(between), figure(all), figure(stats.PairLimit*all)
	st.Freedom = figure(freedom)
	if f := o.F(); !math.IsInf(f, 0) && !math.IsNaN(f) {
		st.F = figure(f)
		if f < 1 {
			st.BelowNought = true
			st.flag(BelowNought, "", 0)
		}
	}
}

// stragglers are the tests of single groups.
func (st *Station) stragglers(names []string, groups [][]float64, means []float64) {
	if t, ok := stats.Cochran(groups); ok {
		st.Cochran, st.CochranLimits = figure(t.C), limitsOf(t.Limits)
		st.flag(ScattersMore, names[t.Group], levelOf(t.P))
	}
	if t, ok := stats.Grubbs(means); ok {
		st.Grubbs, st.GrubbsLimits = figure(t.G), limitsOf(t.Limits)
		level := 0
		switch {
		case t.G > t.Limits.Outlier:
			level = 2
		case t.G > t.Limits.Straggler:
			level = 1
		}
		st.flag(LiesApart, names[t.At], level)
	}
	for i, m := range stats.MandelOf(groups) {
		st.ByGroup[i].H = figure(m.H)
		st.flag(HighH, names[i], m.HOff)
		if !math.IsNaN(m.K) {
			st.ByGroup[i].K = figure(m.K)
			st.flag(HighK, names[i], m.KOff)
		}
	}
}

// without is what the other groups say where the runs of one scatter more: with those
// in, they can hide how far the groups differ. ISO 5725-2 (7.3) has the outlier looked
// into; nothing is left out for it here.
func (st *Station) without(names []string, groups [][]float64) {
	at := slices.IndexFunc(names, func(name string) bool { return st.Flagged(name, ScattersMore) })
	if at < 0 || len(groups) <= leastGroups {
		return
	}
	o := stats.NewOneWay(slices.Delete(slices.Clone(groups), at, at+1))
	if f := o.F(); o.WithinFreedom >= 1 && !math.IsInf(f, 0) && !math.IsNaN(f) {
		between, _ := o.Groups()
		all, _ := o.Reproducibility()
		st.Rest = &Rest{names[at], tidy(o.Repeatability()), tidy(between), tidy(all), tidy(f), tidy(stats.FTail(f, o.BetweenFreedom, o.WithinFreedom))}
	}
}

func levelOf(p float64) int {
	switch {
	case p < stats.OutlierSize:
		return 2
	case p < stats.StragglerSize:
		return 1
	}
	return 0
}

// flag adds a flag; that of a group only where it has a level.
func (st *Station) flag(code, group string, level int) {
	if group == "" || level > 0 {
		st.Flags = append(st.Flags, Flag{code, group, [...]string{"", Straggler, Outlier}[level]})
	}
}

// Flagged tells whether a flag of one of these codes stands at a group.
func (st *Station) Flagged(group string, codes ...string) bool {
	return slices.ContainsFunc(st.Flags, func(f Flag) bool { return f.Group == group && slices.Contains(codes, f.Code) })
}

// remark adds what the reader should know of the whole.
func (g *Gatherer) remark(c *Class) {
	note := func(code, text string) { c.Notes = append(c.Notes, Note{code, text}) }
	if n := len(g.groups); n > 0 && n < leastGroups {
		note(FewClass, fmt.Sprintf("%s measured the car: how far groups scatter is told from three on", counted(n, "group")))
	}
	var sittings []string
	for _, s := range g.inOrder() {
		readers := s.readers()
		if len(readers) == 1 {
			note(Alone, g.alone(s, readers[0]))
		}
		left, groups := 0, []string{}
		for name, n := range s.left {
			if n > 0 {
				left, groups = left+n, append(groups, name)
			}
		}
		if slices.Sort(groups); left > 0 {
			note(LeftOut, fmt.Sprintf("%s to %s: %s of group %s doubtful, off the scale or not read: not in the mean", s.from, s.to, counted(left, "reading"), some(groups)))
		}
		for name, n := range s.sheets {
			if n > 1 && !slices.Contains(sittings, name) {
				sittings = append(sittings, name)
			}
		}
	}
	if slices.Sort(sittings); len(sittings) > 0 {
		note(Sittings, "several tests of one group are counted together, so that its scatter of runs holds fitting the taps anew; that goes for group "+some(sittings))
	}
}

// alone tells of a pair that one group read, with the name that it probably is.
func (g *Gatherer) alone(s *span, group string) string {
	text := fmt.Sprintf("only group %s reads %s to %s", group, s.from, s.to)
	var others []string
	for _, o := range g.spans {
		if len(o.readers()) > 1 {
			others = append(others, o.to)
		}
	}
	if near, ok := spell.Nearest(s.to, others); ok && near != s.to {
		text += fmt.Sprintf("; is it what the others call %s?", near)
	}
	return text
}

// mostNamed is how many groups a note names at the most.
const mostNamed = 8

// some lists names, and how many more there are.
func some(names []string) string {
	if len(names) <= mostNamed {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:mostNamed], ", "), len(names)-mostNamed)
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func limitsOf(l stats.Limits) *Limits { return &Limits{tidy(l.Straggler), tidy(l.Outlier)} }

func figure(x float64) *float64 { return new(tidy(x)) }

// tidy keeps seven digits: more would differ between machines. What is no finite
// number becomes nought.
func tidy(x float64) float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return 0
	}
	return stats.Digits(x, 7)
}
