package report

import (
	"fmt"
	"math"
	"slices"

	"dropwalk/advice/assessment"
	"dropwalk/engine/quantity"
)

// visible is how many of the last digits shown two figures must differ by
// before a reader sees that they don't add up.
const visible = 2

// apart tells whether two pressures differ visibly where they are shown as
// finely as e is.
func (p *page) apart(a, b float64, e assessment.Estimate) bool {
	unit := p.pressure()
	width, err := quantity.In(e.High-e.Low, quantity.PressureDiff, unit)
	off, err2 := quantity.In(math.Abs(a-b), quantity.PressureDiff, unit)
	if err != nil || err2 != nil || !(width > 0) {
		return false
	}
	return off > (visible-0.5)*math.Pow(10, float64(step(width)))
}

// Sum is what the middle figures of the pieces add up to, where that visibly
// isn't the middle of the whole; "" elsewhere.
func (p *page) Sum() string {
	sum := 0.0
	for _, c := range p.A.Components {
		sum += c.Loss.Median
	}
	total := p.A.TotalLoss
	if len(p.A.Components) < 2 || !p.apart(sum, total.Median, total) {
		return ""
	}
	return p.like(sum, total)
}

// like shows a pressure as finely as e is shown.
func (p *page) like(pa float64, e assessment.Estimate) string {
	unit := p.pressure()
	width, err := quantity.In(e.High-e.Low, quantity.PressureDiff, unit)
	if err != nil || !(width > 0) {
		return quantity.ShowIn(pa, quantity.PressureDiff, unit)
	}
	text, _ := shown{quantity.PressureDiff, unit, step(width)}.bare(pa)
	return text + " " + unit
}

// Total is the middle of the loss of the whole path.
func (p *page) Total() string { return p.like(p.A.TotalLoss.Median, p.A.TotalLoss) }

// Fits tells whether loss and velocity head at the end of the path add up to
// what the gauge there would show. Readings that contradict each other pull the
// three apart.
func (p *page) Fits() bool {
	head := p.Head()
	return head != nil && !p.apart(p.A.TotalLoss.Median+head.Median, p.A.TotalGauge.Median, p.A.TotalGauge)
}

// Chances of being the piece with the most to give back, from which words change.
// Ours: they only choose words.
const (
	sure   = 0.75
	likely = 0.5
	// near is how close the chance of a second piece must come to call it a
	// toss-up.
	near = 0.1
)

// Odds writes a chance as people say it: "about 3 in 10".
func odds(p float64) string {
	switch tenth := math.Round(10 * p); {
	case math.IsNaN(p):
		return "unknown"
	case p < 0.05:
		return "below 1 in 20"
	case tenth < 1:
		return "about 1 in 10"
	case p > 0.95:
		return "above 19 in 20"
	case tenth == 5:
		return "about 1 in 2"
	default:
		return fmt.Sprintf("about %.0f in 10", min(tenth, 9))
	}
}

// Chosen is the chance of First or, where the readings don't part it from
// others, of one of its group.
func (p *page) Chosen() float64 {
	group := p.Group()
	if len(group) == 0 {
		return p.likely(p.First())
	}
	sum := 0.0
	for _, name := range group {
		sum += p.likely(name)
	}
	return min(sum, 1)
}

// Rival is the likeliest piece beside First and its group, "" where none has
// any chance.
func (p *page) Rival() string {
	group := append(p.Group(), p.First())
	name, most := "", 0.0
	for _, c := range p.A.Components {
		if c.ChanceFirst > most && !slices.Contains(group, c.Name) && !p.Fixed(c.Name) {
			name, most = c.Name, c.ChanceFirst
		}
	}
	return name
}

// How sure it is that First, or one of its group, has the most to give back:
// "sure", "likely", "toss-up" where Rival comes close, "behind" where Rival is
// likelier and First is expected to give back more all the same, "bet" where it
// is the likeliest of several.
func (p *page) How() string {
	chance, rival := p.Chosen(), p.likely(p.Rival())
	switch {
	case chance >= sure:
		return "sure"
	case rival-chance >= near:
		return "behind"
	case math.Abs(chance-rival) < near:
		return "toss-up"
	case chance >= likely:
		return "likely"
	}
	return "bet"
}

// Alone tells whether First is named by itself: nothing stands in one group with
// it, or it is sure enough all the same.
func (p *page) Alone() bool { return len(p.Group()) == 0 || p.likely(p.First()) >= sure }

// Promising tells whether First is more likely than not the piece with the most
// to give back, by itself.
func (p *page) Promising() bool { return p.likely(p.First()) >= likely }

// Odds is a chance that a template works out.
func (p *page) Odds(chance float64) string { return odds(chance) }

// Both writes a chance in per cent and, between the ends, as people say it.
func (p *page) Both(c float64) string {
	if !(c >= 0.05 && c <= 0.95) {
		return chance(c)
	}
	return chance(c) + ", " + odds(c)
}

// Likely is the chance of one component.
func (p *page) Likely(name string) float64 { return p.likely(name) }
