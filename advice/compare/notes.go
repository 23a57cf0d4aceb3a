package compare

import (
	"fmt"
	"strings"
)

// remark says what widens the answer and what it rests on.
func (c *Comparison) remark(effects []effect, blocks []block, o Options) {
	c.remarkDays(blocks)
	c.remarkGauges(effects, blocks)
	if blocks[0].car.Engine.Boosted() && !measuredFlow(blocks) {
		c.note(Boosted, "the engine is boosted and its flow was not measured on the runs: how it follows the weather is uncertain, which widens the answer on days that differ")
	}
	if c.Design == AB {
		c.note(NoDrift, "two blocks can't tell a change from a drift of the engine, the gauge or the weather: before once more would")
	}
	usual := false
	for _, e := range effects {
		usual = usual || e.refit.From == RefitUsual && o.Class.of(e.span) == nil
	}
	if usual {
		c.note(GuessedRefit, fmt.Sprintf("nobody knows how far this car scatters from one fitting to the next, so %g %% of the reading is taken (common practice, no source)", 100*UsualRefit))
	}
	if !sameMouth(&blocks[0], &blocks[1]) && blocks[0].sheet.Place != "rolling-road" {
		c.note(OtherMouth, "the path begins at another mouth: what the wind of the road does to each is uncertain, which widens the answer")
	}
	for i := range blocks {
		c.remarkReadings(&blocks[i], effects)
	}
}

// remarkClass says where the class told nought and something else is taken, and where
// what it told holds a bad tap.
func (c *Comparison) remarkClass(effects []effect, h *History) {
	for _, e := range effects {
		f := h.of(e.span)
		switch {
		case f == nil || e.refit.From == RefitStated:
		case f.SD == 0:
			c.note(ClassNought, fmt.Sprintf("%s to %s: the class told nought, since its groups differ by no more than their runs explain. That doesn't say that fitting adds nothing, so %s",
				e.from, e.to, insteadOfClass[e.refit.From]))
		default:
			for _, tap := range f.Taps {
				c.note(ClassTap, fmt.Sprintf("%s to %s: group %s of the class had a bad tap at %s, as far as its readings show. How far the groups differed holds that too, and may be more than fitting scatters",
					e.from, e.to, tap.Group, tap.Station))
			}
		}
	}
}

// insteadOfClass says what is taken where a class told nought.
var insteadOfClass = map[string]string{
	RefitHistory: "what the earlier visits of this car show is taken",
	RefitLearnt:  "what your other cars show is taken",
	RefitUsual:   fmt.Sprintf("%g %% of the reading is taken (common practice, no source)", 100*UsualRefit),
}

func (c *Comparison) remarkDays(blocks []block) {
	for i := range blocks[1:] {
		if !sameDay(&blocks[0], &blocks[i+1]) {
			text := "the sheets are of different days: weather, fuel and heat are not the same, which widens the answer"
			if blocks[0].sheet.Date == "" || blocks[i+1].sheet.Date == "" {
				text = "not every sheet has a date, so they count as different days, which widens the answer"
			}
			c.note(OtherDay, text)
			return
		}
	}
}

func (c *Comparison) remarkGauges(effects []effect, blocks []block) {
	for _, e := range effects {
		if e.gauges {
			c.note(OtherGauge, fmt.Sprintf("%s to %s was not read with one gauge: what each of them may be off widens the answer", e.from, e.to))
		}
		for i := range blocks[1:] {
			for _, station := range []string{e.from, e.to} {
				if !sameBore(&blocks[0], &blocks[i+1], station) && i == 0 {
					c.note(OtherBore, fmt.Sprintf("the bore at %s is not the same: the velocity head there is taken off the change, as far as it is known", station))
				}
			}
		}
	}
}

func measuredFlow(blocks []block) bool {
	for _, b := range blocks {
		for _, r := range b.sheet.Readings {
			if !r.MassFlow.Known() {
				return false
			}
		}
	}
	return true
}

// remarkReadings names readings that don't count and sheets whose readings
// contradict each other.
func (c *Comparison) remarkReadings(b *block, effects []effect) {
	for _, e := range effects {
		doubtful, beyond := b.left(e.span)
		if doubtful > 0 {
			c.note(Doubtful, fmt.Sprintf("sheet %d: %d doubtful of %s to %s left out", b.at+1, doubtful, e.from, e.to))
		}
		if beyond > 0 {
			c.note(LeftOut, fmt.Sprintf("sheet %d: %d of %s to %s without a value left out", b.at+1, beyond, e.from, e.to))
		}
	}
	for _, f := range b.car.Checks() {
		if f.Grave {
			c.note(Recheck, fmt.Sprintf("sheet %d: %s", b.at+1, strings.TrimSuffix(f.Text, ".")))
		}
	}
}
