package compare

import (
	"math"
	"slices"
	"strings"

	"dropwalk/advice/sheet"
	"dropwalk/advice/stats"
)

// UsualRefit is how far the mean of a block scatters from one fitting of parts,
// hose and taps to the next, as a share of the reading, where nobody knows it
// (common practice, no source: about half of what a single run scatters).
const UsualRefit = 0.01

// guessFreedom is how much that figure is trusted: as one from five blocks.
// usualFreedom is the say that it has beside a car's own figure.
const (
	guessFreedom = 4
	usualFreedom = 2
)

// History is how far one car scattered from one fitting to the next.
type History struct {
	Spans []Fitted
}

// Fitted is the scatter between two stations.
type Fitted struct {
	From    string  `json:"from"`
	To      string  `json:"to"`
	SD      float64 `json:"sd_pa"`
	Freedom float64 `json:"freedom"`
	Visits  int     `json:"visits"` // that tell it

	// Taps are the stations of the pair at which a group of a class had a bad tap, as
	// far as its readings show; the scatter holds what that tap did.
	Taps []BadTap `json:"-"`
}

// BadTap is one of them.
type BadTap struct{ Group, Station string }

// NewHistory finds the scatter in the visits of one car, in the order in which they
// were made. Visits that follow each other with the same path and no change between
// them were refitted and nothing else; so were those that come back to a state which
// was left, where a later sheet states the change anew. Readings are compared at the
// reference point of the first visit.
func NewHistory(visits []*sheet.Sheet) *History {
	h := &History{}
	if len(visits) < 2 {
		return h
	}
	blocks := newBlocks(visits)
	sets := likeSets(visits)
	for _, p := range spansOf(blocks) {
		if f, ok := fitted(p, blocks, sets); ok {
			h.Spans = append(h.Spans, f)
		}
	}
	return h
}

func spansOf(blocks []block) []span {
	var out []span
	for i := range blocks {
		for _, p := range blocks[i].spans() {
			if !slices.Contains(out, p) {
				out = append(out, p)
			}
		}
	}
	return out
}

// fitted pools the scatter of one pair over the sets of visits that differ by
// refitting alone.
func fitted(p span, blocks []block, sets [][]int) (Fitted, bool) {
	f := Fitted{From: p.from, To: p.to}
	var pooled []stats.OneWay
	for _, set := range sets {
		var groups [][]float64
		for _, i := range set {
			if runs := blocks[i].runs(p); len(runs) > 0 {
				groups = append(groups, valuesOf(runs))
			}
		}
		if len(groups) > 1 {
			pooled = append(pooled, stats.NewOneWay(groups))
			f.Visits += len(groups)
		}
	}
	o := stats.Pool(pooled)
	if o.BetweenFreedom < 1 || o.WithinFreedom < 1 {
		return f, false
	}
	f.SD, f.Freedom = o.Groups()
	f.SD, f.Freedom = tidy(f.SD), tidy(f.Freedom)
	return f, true
}

// of is what the history tells of a pair, nil for nothing.
func (h *History) of(p span) *Fitted {
	if h == nil {
		return nil
	}
	for i := range h.Spans {
		if f := &h.Spans[i]; f.From == p.from && f.To == p.to {
			return f
		}
	}
	return nil
}

// refit is the scatter of a pair, false where the history doesn't tell it.
func (h *History) refit(p span) (sd, freedom float64, ok bool) {
	if f := h.of(p); f != nil {
		return f.SD, f.Freedom, true
	}
	return 0, 0, false
}

// likeSets are the visits, by number, that differ from each other by refitting
// alone: sets of two and more.
func likeSets(visits []*sheet.Sheet) [][]int {
	at := map[string][]int{}
	var order []string
	returns := false
	for i, s := range visits {
		state := stateOf(s)
		if list := at[state]; len(list) > 0 && list[len(list)-1] < i-1 && len(s.Changes) > 0 {
			// A change that is stated anew after a visit without it was off in between:
			// these sheets tell how the car is, not what was done since the last one.
			returns = true
		}
		if at[state] == nil {
			order = append(order, state)
		}
		at[state] = append(at[state], i)
	}
	var out [][]int
	for _, state := range order {
		set := []int{at[state][0]}
		for _, i := range at[state][1:] {
			if !returns && i != set[len(set)-1]+1 {
				out = append(out, set)
				set = nil
			}
			set = append(set, i)
		}
		out = append(out, set)
	}
	return slices.DeleteFunc(out, func(set []int) bool { return len(set) < 2 })
}

// stateOf is the car as a sheet describes it: its path and what was changed.
func stateOf(s *sheet.Sheet) string {
	var b strings.Builder
	b.Write(sheet.Write(&sheet.Sheet{Path: s.Path}))
	for _, c := range s.Changes {
		b.WriteString("\n" + c.Component + ": " + c.What)
	}
	return b.String()
}

// Reached is what one visit says of the whole path: the mean reading of the longest
// pair from the open air at the reference point of the first visit.
type Reached struct {
	To    string
	Value float64 // Pa
	Runs  int
}

// Whole finds the longest pair from the open air of each visit, nil where there is
// none, all at one reference point.
func Whole(visits []*sheet.Sheet) []*Reached {
	var out []*Reached
	if len(visits) == 0 {
		return nil
	}
	for _, b := range newBlocks(visits) {
		var best *Reached
		for _, p := range b.spans() {
			runs := b.runs(p)
			if p.from != sheet.OpenAir || len(runs) == 0 {
				continue
			}
			if best == nil || b.sheet.Index(p.to) > b.sheet.Index(best.To) {
				best = &Reached{p.to, tidy(stats.Mean(valuesOf(runs))), len(runs)}
			}
		}
		out = append(out, best)
	}
	return out
}

func sqrt(x float64) float64 { return math.Sqrt(max(x, 0)) }
