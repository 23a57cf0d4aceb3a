package picture

import (
	"fmt"
	"strings"

	"dropwalk/advice/assessment"
)

// Group is the runs of one group of people, in Pa.
type Group struct {
	Label string
	Runs  []float64
	Mean  float64
	Out   bool   // it stands out
	Said  string // beside its mean, in a word or two
}

// Groups shows the runs of several groups that measured one thing, and the mean of the
// groups with its interval; sure says how sure that is: "19 times in 20".
func Groups(title string, list []Group, all assessment.Estimate, sure string, o Options) Picture {
	p := Picture{Name: "groups", Title: clean(title), Unit: o.Unit, Brief: true, Key: []Sign{{Speck, "one run"}, {Square, "mean of a group"}}}
	var told []string
	out := false
	for _, g := range list {
		kind := Square
		if g.Out {
			kind, out = Cross, true
		}
		marks := []Mark{{Kind: Mean, To: o.in(all.Median)}}
		for _, v := range g.Runs {
			marks = append(marks, Mark{Kind: Speck, To: o.in(v)})
		}
		figure := o.figure(exactly(g.Mean))
		p.Rows = append(p.Rows, Row{Name: clean(g.Label), Lines: []Line{{Figure: figure, Marks: append(marks, Mark{Kind: kind, To: o.in(g.Mean)})}}})
		told = append(told, strings.TrimSpace(fmt.Sprintf("%s %s %s", clean(g.Label), figure, clean(g.Said))))
	}
	if p.Empty() {
		return p
	}
	p.Rows = append(p.Rows, Row{Name: "mean", Lines: []Line{{Figure: o.figure(exactly(all.Median)), Marks: append([]Mark{{Kind: Mean, To: o.in(all.Median)}}, o.around(all)...)}}})
	if out {
		p.Key = append(p.Key, Sign{Cross, "mean of a group that stands out"})
	}
	p.Key = append(p.Key, Sign{Mean, "mean of the groups"}, Sign{Band, "where that mean lies " + clean(sure)})
	p.Alt = fmt.Sprintf("%s, in %s: %s; the mean of the groups %s, %s.", p.Title, o.Unit, strings.Join(told, "; "), o.figure(all), clean(sure))
	p.fit(false)
	p.widen(o.in(all.Median))
	return p
}
