package compare

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/advice/sheet"
	"dropwalk/advice/stats"
)

// Options are what the user can say. The zero value leaves everything to the
// defaults.
type Options struct {
	Worth      float64 // smallest change worth having, Pa
	WorthShare float64 // the same as a share of the reading before; Worth beats it
	Refit      float64 // scatter from one fitting to the next, Pa; 0: from Class or History, else as usual
	History    *History
	Class      *History // what the groups of a class scattered by; goes before History
	Learnt     Learnt   // what a workshop's own cars say where none of these does
}

// Learnt is how far blocks scattered from one fitting to the next on other cars of a
// workshop, as a share of the reading. The zero value is nothing.
type Learnt struct{ Share, Freedom float64 }

// Refusal says why nothing can be judged, and what would help.
type Refusal struct{ What, Hint string }

func (r *Refusal) Error() string { return r.What }

// leastRuns in a block: one reading has no spread.
const leastRuns = 2

// Sheets compares two sheets of one car, or three where the last is as the first.
// The error is a *Refusal.
func Sheets(sheets []*sheet.Sheet, o Options) (*Comparison, error) {
	if n := len(sheets); n != 2 && n != 3 {
		return nil, &Refusal{fmt.Sprintf("%d sheets can't be compared", n), "two: before and after; or three: before, after and before again"}
	}
	if err := oneCar(sheets); err != nil {
		return nil, err
	}
	blocks := newBlocks(sheets)
	c := &Comparison{
		Version: Version, Design: AB, Pairs: []Change{}, Losses: []Change{}, Notes: []Note{},
		Reference: Reference{tidy(blocks[0].car.RPM), tidy(blocks[0].car.Density)},
	}
	if len(sheets) == 3 {
		c.Design = ABA
	}
	for i := range blocks {
		c.Blocks = append(c.Blocks, blocks[i].describe())
	}
	effects, err := c.effects(blocks, o)
	if err != nil {
		return nil, err
	}
	c.judgeAll(effects, blocks, o)
	c.remark(effects, blocks, o)
	c.remarkClass(effects, o.Class)
	return c, nil
}

func oneCar(sheets []*sheet.Sheet) error {
	first := sheets[0].Car.Name
	for _, s := range sheets[1:] {
		if name := s.Car.Name; !SameCar(first, name) {
			return &Refusal{fmt.Sprintf("two cars can't be compared: %q and %q", first, name), "sheets of one car; if it is one, give both sheets the same car.name"}
		}
	}
	return nil
}

// SameCar tells whether two names can mean one car: capitals, blanks and dashes
// don't count, and a sheet that names no car may be of any.
func SameCar(a, b string) bool {
	plain := func(name string) string { return strings.Join(strings.FieldsFunc(strings.ToLower(name), apart), "-") }
	return a == "" || b == "" || plain(a) == plain(b)
}

func apart(r rune) bool { return r == ' ' || r == '-' || r == '_' }

// effects measures every pair that all blocks read. Pairs that can't be judged are
// named in the notes; where none can, the error says why.
func (c *Comparison) effects(blocks []block, o Options) ([]effect, error) {
	var out []effect
	var why []string
	for _, p := range blocks[0].spans() {
		fault := unfit(p, blocks)
		if fault == "" {
			var runs [][]run
			for i := range blocks {
				runs = append(runs, blocks[i].runs(p))
			}
			e, err := measure(p, blocks, runs)
			if err == nil {
				e.refitted(o.refit(e))
				out = append(out, e)
				continue
			}
			fault = err.Error()
		}
		why = append(why, fmt.Sprintf("%s to %s: %s", p.from, p.to, fault))
	}
	if len(out) == 0 {
		return nil, nothing(why, blocks)
	}
	for _, w := range why {
		c.note(LeftOut, "not judged, "+w)
	}
	return out, nil
}

// nothing says why no pair can be judged.
func nothing(why []string, blocks []block) error {
	if len(why) == 0 {
		return &Refusal{"the first sheet has no readings", "a sheet with three full-load runs or more between two stations"}
	}
	hint := "read the same two stations in each, three full-load runs or more"
	if slices.ContainsFunc(why, func(w string) bool { return strings.HasSuffix(w, loneRun) }) {
		hint = "a mean without spread proves nothing: three full-load runs or more before and after, each written down"
	}
	var read []string
	for i := range blocks {
		var pairs []string
		for _, p := range blocks[i].spans() {
			pairs = append(pairs, p.from+" to "+p.to)
		}
		read = append(read, fmt.Sprintf("sheet %d reads %s", i+1, strings.Join(pairs, ", ")))
	}
	return &Refusal{"nothing can be compared: " + strings.Join(why, "; ") + " (" + strings.Join(read, "; ") + ")", hint}
}

const loneRun = "has a single run, and one run has no spread"

// unfit says why a pair can't be judged, "" where it can.
func unfit(p span, blocks []block) string {
	for i := range blocks {
		b := &blocks[i]
		from, to := b.sheet.Index(p.from), b.sheet.Index(p.to)
		for _, station := range []string{p.from, p.to} {
			switch {
			case b.sheet.Index(station) < 0:
				return fmt.Sprintf("sheet %d has no station %s", i+1, station)
			case b.kind(station) != blocks[0].kind(station):
				return fmt.Sprintf("the station %s differs: after a %s in sheet 1, after a %s in sheet %d", station, blocks[0].kind(station), b.kind(station), i+1)
			}
		}
		switch n := len(b.runs(p)); {
		case from >= to:
			return fmt.Sprintf("the stations stand the other way round in sheet %d", i+1)
		case n == 0:
			return fmt.Sprintf("sheet %d has no reading that counts", i+1)
		case n < leastRuns:
			return fmt.Sprintf("sheet %d %s", i+1, loneRun)
		}
	}
	return ""
}

// refit is the scatter from one fitting to the next, as well as it is known.
func (o Options) refit(e effect) (Refit, float64) {
	if o.Refit > 0 {
		return Refit{o.Refit, RefitStated}, stats.Endless
	}
	// What a class shows is taken as it is; nought would claim that fitting adds nothing.
	if sd, freedom, ok := o.Class.refit(e.span); ok && sd > 0 {
		return Refit{sd, RefitClass}, freedom
	}
	usual, from, trust := UsualRefit*max(e.before, 0), RefitUsual, float64(guessFreedom)
	if o.Learnt.Share > 0 {
		usual, from, trust = o.Learnt.Share*max(e.before, 0), RefitLearnt, max(o.Learnt.Freedom, guessFreedom)
	}
	if sd, freedom, ok := o.History.refit(e.span); ok {
		// A few visits say little, so the usual figure has a small say too.
		v, all := (freedom*sd*sd+usualFreedom*usual*usual)/(freedom+usualFreedom), freedom+usualFreedom
		return Refit{sqrt(v), RefitHistory}, all
	}
	return Refit{usual, from}, trust
}

// judgeAll fills in pairs, losses, the whole path and its worth.
func (c *Comparison) judgeAll(effects []effect, blocks []block, o Options) {
	judge := func(e *effect) Change {
		if i := slices.IndexFunc(c.Pairs, func(p Change) bool { return p.From == e.from && p.To == e.to }); i >= 0 && !e.made {
			return c.Pairs[i]
		}
		ch := e.judge(o.worth(e.before))
		ch.Pieces = blocks[0].pieces(e.span)
		return ch
	}
	for i := range effects {
		c.Pairs = append(c.Pairs, judge(&effects[i]))
	}
	for _, e := range losses(effects, &blocks[0]) {
		c.Losses = append(c.Losses, judge(&e))
	}
	reached := walk(effects, &blocks[0])
	if len(reached) == 0 {
		c.PowerNote = "no pair reaches from the open air, so the whole path is not known"
		return
	}
	last := reached[len(reached)-1]
	c.Total = new(judge(last))
	c.Power, c.PowerNote = gain(last, &blocks[0])
	if end := blocks[0].sheet.Stations(); last.to != end[len(end)-1] {
		c.note(PartOnly, fmt.Sprintf("the path was read as far as %s: what lies behind it is not in the total", last.to))
	}
}

func (c *Comparison) note(code, text string) { c.Notes = append(c.Notes, Note{code, text}) }
