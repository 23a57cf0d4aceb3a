package picture

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
)

// Losses shows the loss of each piece with its interval, and under it what of
// it can come back. Those that the sheet calls fixed have no such bar.
func Losses(a *assessment.Assessment, s *sheet.Sheet, o Options) Picture {
	p := Picture{Name: "losses", Title: "What each piece costs, and what of it can come back", Unit: o.Unit, Key: []Sign{
		{Bar, "the loss, to its middle figure"}, {Back, "what of it can come back"}, {Band, "it lies here nine times in ten"}}}
	var told []string
	for _, c := range a.Components {
		name := clean(c.Name)
		row := Row{Name: called(c.Name, c.Kind), Lines: []Line{{Figure: o.figure(c.Loss), Marks: o.bar(Bar, 0, c.Loss)}}}
		text := name + " " + o.figure(c.Loss)
		if s.FixedAt(c.Name) {
			row.Lines = append(row.Lines, Line{Label: "not to be changed"})
			text += ", not to be changed"
		} else {
			row.Lines = append(row.Lines, Line{Label: "can come back", Figure: o.figure(c.Recoverable), Marks: o.bar(Back, 0, c.Recoverable)})
			text += ", of which " + o.figure(c.Recoverable) + " can come back"
		}
		p.Rows, told = append(p.Rows, row), append(told, text)
	}
	p.Alt = "Loss of each piece in " + o.Unit + ", with the band that holds it nine times in ten: " + strings.Join(told, "; ") + "."
	p.fit(true)
	return p
}

// Shares is Losses in little room: what can come back is a part of the bar of
// each loss, at its end, and has no interval of its own.
func Shares(a *assessment.Assessment, s *sheet.Sheet, o Options) Picture {
	p := Picture{Name: "shares", Title: "What each piece costs, and how much of it can come back", Unit: o.Unit, Key: []Sign{
		{Bar, "the loss, to its middle figure"}, {Back, "the part of it that can come back"}, {Band, "the loss lies here nine times in ten"}}}
	var told []string
	for _, c := range a.Components {
		text := clean(c.Name) + " " + o.figure(c.Loss)
		marks := o.bar(Bar, 0, c.Loss)
		if back := min(c.Recoverable.Median, c.Loss.Median); back > 0 && !s.FixedAt(c.Name) {
			marks = slices.Insert(marks, 1, Mark{Back, o.in(c.Loss.Median - back), o.in(c.Loss.Median)})
			text += fmt.Sprintf(", about %.0f %% of it can come back", 100*back/c.Loss.Median)
		}
		p.Rows = append(p.Rows, Row{Name: called(c.Name, c.Kind), Lines: []Line{{Figure: o.figure(c.Loss), Marks: marks}}})
		told = append(told, text)
	}
	p.Alt = "Loss of each piece in " + o.Unit + ", with the band that holds it nine times in ten: " + strings.Join(told, "; ") + "."
	p.fit(true)
	return p
}

// bar is a bar from a value to the middle of an estimate, and its interval.
func (o Options) bar(kind Kind, from float64, e assessment.Estimate) []Mark {
	return append([]Mark{{kind, o.in(from), o.in(e.Median)}}, o.around(e)...)
}

// called is the name of a piece, with its kind where the name doesn't say it.
func called(name, kind string) string {
	name, kind = clean(name), clean(kind)
	if kind == "" || kind == name {
		return name
	}
	return name + " (" + kind + ")"
}

// Path shows the pressure along the path: at each station what was lost since
// the open air, with its interval, the velocity head set apart behind it, and
// where taps are. along is the running total after each piece of the sheet, in
// Pa; without one for each the picture is empty.
func Path(a *assessment.Assessment, s *sheet.Sheet, along []assessment.Estimate, o Options) Picture {
	p := Picture{Name: "path", Title: "The pressure along the path, from the open air inwards", Unit: o.Unit, Key: []Sign{
		{Bar, "lost since the open air"}, {Head, "velocity head: shown by a gauge, not lost"}, {Band, "the loss lies here nine times in ten"},
		{Dot, "a tap was used here"}, {Ring, "a tap can be had here"}}}
	if len(along) == 0 || len(along) != len(s.Path) {
		return p
	}
	used := tapped(s)
	p.Rows = []Row{{Name: sheet.OpenAir, Sign: sign(s, used, sheet.OpenAir), Lines: []Line{{Figure: "0"}}}}
	var told []string
	for i, c := range s.Path {
		marks, text := o.bar(Bar, 0, along[i]), clean(c.Name)+" "+o.figure(along[i])
		if head, ok := a.VelocityHead[c.Name]; ok && head.Median > 0 {
			from := o.in(along[i].Median)
			marks = slices.Insert(marks, 1, Mark{Head, from, from + o.in(head.Median)})
			text += ", velocity head " + o.figure(head)
		}
		if used[c.Name] {
			text += ", tap used"
		}
		p.Rows = append(p.Rows, Row{Name: clean(c.Name), Sign: sign(s, used, c.Name), Lines: []Line{{Figure: o.figure(along[i]), Marks: marks}}})
		told = append(told, text)
	}
	p.Alt = "Total pressure lost between the open air and the place behind each piece, in " + o.Unit + ": " + strings.Join(told, "; ") + "."
	p.fit(true)
	return p
}

// tapped names the stations that a reading used.
func tapped(s *sheet.Sheet) map[string]bool {
	used := map[string]bool{}
	for _, r := range s.Readings {
		used[r.From], used[r.To] = true, true
	}
	return used
}

func sign(s *sheet.Sheet, used map[string]bool, station string) Kind {
	switch {
	case station == sheet.OpenAir:
		return None
	case used[station]:
		return Dot
	case s.TapAt(station) != sheet.TapNone:
		return Ring
	}
	return None
}

// Run is one reading, in Pa.
type Run struct {
	Label     string // "run 3"
	Low, High float64
	Value     float64
	Kind      Kind    // Dot, Ring, Square, Cross (doubtful), AtLeast or AtMost
	Middle    float64 // what it and its like come to; NaN for nothing
}

// Series is readings in their order.
type Series struct {
	Name, Title string
	Runs        []Run
	Drift       string          // what they do from the first to the last, in words; "" for nothing
	Key         map[Kind]string // what marks mean here, where that isn't the usual
}

// Runs shows readings in their order, each with what it and its like come to. The
// scale need not begin at nought.
func Runs(s Series, o Options) Picture {
	p := Picture{Name: s.Name, Title: clean(s.Title), Unit: o.Unit, Brief: true}
	kinds := map[Kind]bool{}
	var told []string
	middle := 0.0
	for _, r := range s.Runs {
		value := o.figure(exactly(r.Value))
		var marks []Mark
		if !math.IsNaN(r.Middle) {
			marks, kinds[Mean], middle = append(marks, Mark{Kind: Mean, To: o.in(r.Middle)}), true, o.in(r.Middle)
		}
		if r.High > r.Low {
			marks, kinds[Band] = append(marks, Mark{Band, o.in(r.Low), o.in(r.High)}), true
		}
		p.Rows = append(p.Rows, Row{Name: clean(r.Label), Lines: []Line{{Figure: value, Marks: append(marks, Mark{Kind: r.Kind, To: o.in(r.Value)})}}})
		kinds[r.Kind] = true
		told = append(told, strings.TrimSpace(clean(r.Label)+" "+bounds[r.Kind]+value))
	}
	if p.Empty() {
		return p
	}
	for _, k := range []Kind{Dot, Ring, Square, Cross, AtLeast, AtMost, Band, Mean} {
		if kinds[k] {
			p.Key = append(p.Key, Sign{k, cmp.Or(s.Key[k], runKey[k])})
		}
	}
	p.Alt = p.Title + ", in " + o.Unit + ": " + strings.Join(told, "; ") + "."
	if s.Drift != "" {
		p.Notes = append(p.Notes, clean(s.Drift))
		p.Alt += " " + clean(s.Drift)
	}
	p.fit(false)
	p.widen(middle)
	return p
}

var bounds = map[Kind]string{AtLeast: "more than ", AtMost: "less than ", Cross: "doubtful, "}

var runKey = map[Kind]string{Dot: "what was read", Ring: "before", Square: "after", Cross: "doubtful", AtLeast: "more than this", AtMost: "less than this",
	Band: "how far the needle swung", Mean: "the middle of the runs"}

// widen keeps small scatter small: the scale spans a tenth of the middle at the
// least, and no mark stands at its very end.
func (p *Picture) widen(middle float64) {
	span := max(p.High-p.Low, middle/10, -middle/10)
	if span == 0 {
		span = 1
	}
	centre := (p.High + p.Low) / 2
	p.Low, p.High = centre-0.56*span, centre+0.56*span
}

// Moved is one figure before and after a change, and the change with its
// interval, in Pa.
type Moved struct {
	Label         string
	Before, After float64
	Change        assessment.Estimate // after less before
	Worth         float64             // a change counts from this size on
	Verdict       string              // in a word or two
}

// Changes shows changes against nought and against what counts as worth having.
// Sure says how sure their intervals are: "19 times in 20".
func Changes(list []Moved, sure string, o Options) Picture {
	p := Picture{Name: "changes", Title: "What changed, and what counts", Unit: o.Unit, Key: []Sign{
		{Square, "the change; to the left it is for the better"}, {Band, "it lies here " + clean(sure)}, {Nought, "no change"}, {Worth, "from here on a change counts"}}}
	var told []string
	for _, x := range list {
		marks := []Mark{{Kind: Nought}, {Kind: Worth, To: o.in(-x.Worth)}, {Kind: Worth, To: o.in(x.Worth)}, {Band, o.in(x.Change.Low), o.in(x.Change.High)}, {Kind: Square, To: o.in(x.Change.Median)}}
		before, after := o.figure(exactly(x.Before)), o.figure(exactly(x.After))
		p.Rows = append(p.Rows, Row{Name: clean(x.Label), Lines: []Line{{Figure: o.figure(x.Change), Marks: marks}, {Label: clean(x.Verdict), Figure: before + " to " + after}}})
		told = append(told, fmt.Sprintf("%s: from %s to %s, a change of %s, %s", clean(x.Label), before, after, o.figure(x.Change), clean(x.Verdict)))
	}
	p.Alt = "What changed, in " + o.Unit + ": " + strings.Join(told, "; ") + "."
	p.fit(true)
	p.Low, p.High = p.Low-0.03*(p.High-p.Low), p.High+0.03*(p.High-p.Low)
	return p
}

func exactly(pa float64) assessment.Estimate {
	return assessment.Estimate{Median: pa, Low: pa, High: pa}
}
