package report

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// doubts say in plain words what a remark means for somebody who pays for work.
// A remark that only widens a band has none: the band says it.
var doubts = map[string]string{
	assessment.OffScale:        "A reading went beyond the end of the gauge, so it is only known to be more.",
	assessment.UnreadableValue: "A reading could not be read, and does not count.",
	assessment.RunsDisagree:    "Runs that should have shown the same did not.",
	assessment.LossFalls:       "The pressure seems to rise on the way in, which can't be: something was wrong when it was read.",
	assessment.NotFullLoad:     "A run was not at full throttle, or not at the engine speed that these figures are for. It was worked out for that speed, and may be wrong there.",
	assessment.FarRPM:          "A run was read at an engine speed far from the one that these figures are for. It was worked out for that speed, and may be wrong there.",
	assessment.ZeroShift:       "The gauge did not stand at nought before and after the runs.",
	assessment.Leak:            "The hose of the gauge may have leaked. Then its readings are too low.",
	assessment.Swapped:         "Two hoses may have been swapped.",
	assessment.TapDoubtful:     "One place where it was read may have shown a wrong pressure: a burr, a leak, or a jet of air at the hole.",
	assessment.GaugeOverdue:    "The gauge has not been checked for more than a year.",
	assessment.FlowDoubtful:    "The air flow that was stated does not fit an engine of this size.",
	assessment.ClosesUp:        "A piece seems to close up when the engine sucks hard.",
	assessment.OwnPriors:       "What is usual for such pieces was taken from earlier cars of this workshop, not from books alone.",
}

// Doubts are the remarks in plain words, each once.
func (p *page) Doubts() []string {
	var out []string
	for _, r := range p.A.Remarks {
		if text := doubts[r.Code]; text != "" && !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	if p.Doubtful() > 0 {
		out = append(out, "A reading was marked as doubtful by those who took it.")
	}
	return out
}

// Remarks are the remarks with those gathered that say the same of several
// runs. Where they differ in a figure, its least and its most stand.
func (p *page) Remarks() []assessment.Remark {
	var out []assessment.Remark
	alike := map[string][]string{} // texts, by code and shape
	at := map[string]int{}
	for _, r := range p.A.Remarks {
		key := r.Code + "\x00" + figures.ReplaceAllString(r.Text, "#")
		i, seen := at[key]
		if !seen || len(r.Runs) == 0 || len(out[i].Runs) == 0 {
			at[key] = len(out)
			r.Runs = slices.Clone(r.Runs)
			out, alike[key] = append(out, r), []string{r.Text}
			continue
		}
		alike[key] = append(alike[key], r.Text)
		out[i].Text = between(alike[key])
		runs := slices.Concat(out[i].Runs, r.Runs)
		slices.Sort(runs)
		out[i].Runs = slices.Compact(runs)
	}
	return out
}

var figures = regexp.MustCompile(`\d+(\.\d+)?`)

// between is a text that stands for several of the same shape: "at 2950 to
// 3050 rpm".
func between(texts []string) string {
	all := make([][]string, len(texts))
	for i, text := range texts {
		all[i] = figures.FindAllString(text, -1)
	}
	n := -1
	return figures.ReplaceAllStringFunc(texts[0], func(string) string {
		n++
		low, high := all[0][n], all[0][n]
		for _, list := range all {
			if value(list[n]) < value(low) {
				low = list[n]
			}
			if value(list[n]) > value(high) {
				high = list[n]
			}
		}
		if low == high {
			return low
		}
		return low + " to " + high
	})
}

func value(figure string) float64 {
	v, _ := strconv.ParseFloat(figure, 64) // the pattern lets nothing else through
	return v
}

// Ahead is the piece that is likelier than First to have the most to give back,
// "" where none is: First is chosen by what can be expected to come back.
func (p *page) Ahead() string {
	first := p.First()
	name, most := "", math.Round(100*p.likely(first))
	for _, c := range p.A.Components {
		if c := c; !p.Fixed(c.Name) && math.Round(100*c.ChanceFirst) > most {
			name, most = c.Name, math.Round(100*c.ChanceFirst)
		}
	}
	if first == "" {
		return ""
	}
	return name
}

// OfGroup is the chance of the whole group in words, "" where First stands
// alone or is as likely as they are together.
func (p *page) OfGroup() string {
	if len(p.Group()) == 0 || p.Both(p.Chosen()) == p.Both(p.likely(p.First())) {
		return ""
	}
	return p.Both(p.Chosen())
}

// Rests says what the loss of a piece rests on. Where readings show a sum that
// it is a part of, only its share is the handbook's: "split".
func (p *page) Rests(c assessment.Component) string {
	if c.RestsOn != assessment.RestsOnHandbook || p.Used() == 0 {
		return c.RestsOn
	}
	if slices.ContainsFunc(p.A.Together, func(set []string) bool { return slices.Contains(set, c.Name) }) {
		return "split"
	}
	return c.RestsOn
}

// gap is why a gauge between two places shows something else than the loss.
type gap struct {
	From, To      string
	Shown, Hidden string // with units
	Slows         bool   // the air slows down on the way, which hides loss; else it speeds up
}

// Gaps are the pairs of places where what the gauge showed and what is lost
// differ by the speed of the air, and visibly so. The pair that ends the path is
// not among them: it is told by itself.
func (p *page) Gaps() []gap {
	var out []gap
	for _, x := range p.Pairs() {
		middle, ok := p.middle(x)
		before, knownBefore := p.head(x.From)
		behind, knownBehind := p.head(x.To)
		if !ok || !knownBefore || !knownBehind || x.From == sheet.OpenAir && x.To == p.End() {
			continue
		}
		hidden := before - behind
		if math.Abs(hidden) < max(gapShare*math.Abs(middle), least) {
			continue
		}
		unit := p.pressure()
		out = append(out, gap{From: x.From, To: x.To, Slows: hidden > 0,
			Shown: digits(middle, unit, 3), Hidden: digits(math.Abs(hidden), unit, 2)})
	}
	return out
}

// A difference is told from a tenth of the reading on, and not below 25 Pa, a
// tenth of an inch of water. Ours: they only choose words.
const (
	gapShare = 0.1
	least    = 25 // Pa
)

func digits(pa float64, unit string, n int) string {
	v, err := quantity.In(pa, quantity.PressureDiff, unit)
	if err != nil {
		return quantity.ShowIn(pa, quantity.PressureDiff, unit)
	}
	return quantity.Format(v, n) + " " + unit
}

// middle is what the gauge showed between two places on average, Pa.
func (p *page) middle(x pair) (float64, bool) {
	sum, n := 0.0, 0
	for _, r := range p.S.Readings {
		if r.From == x.From && r.To == x.To && r.Value.Known() {
			sum, n = sum+r.Value.SI, n+1
		}
	}
	return sum / float64(max(n, 1)), n > 0
}

// head is the velocity head at a station, Pa; nought where the air stands still.
func (p *page) head(station string) (float64, bool) {
	if station == sheet.OpenAir || p.S.Passage(station).Still {
		return 0, true
	}
	e, ok := p.A.VelocityHead[station]
	return e.Median, ok
}

// Read is what was read over the whole path on average, where that visibly isn't
// what a gauge would show at the reference point; "" elsewhere.
func (p *page) Read() string {
	middle, ok := p.middle(pair{From: sheet.OpenAir, To: p.End()})
	if !ok || p.End() == "" || !p.apart(middle, p.A.TotalGauge.Median, p.A.TotalGauge) {
		return ""
	}
	return p.like(middle, p.A.TotalGauge)
}

// Carried tells whether the runs over the whole path were at other engine speeds
// than the reference, by enough to explain what Read tells.
func (p *page) Carried() bool {
	for _, r := range p.S.Readings {
		if r.From == sheet.OpenAir && r.To == p.End() && r.Value.Known() && r.RPM > 0 && math.Abs(r.RPM/p.A.Reference.RPM-1) > 0.01 {
			return true
		}
	}
	return false
}

// Looked tells whether the air box can be opened and looked into before a hole is
// drilled for the next reading.
func (p *page) Looked() bool {
	return p.Drills() && slices.ContainsFunc(p.S.Path, func(c sheet.Component) bool {
		return c.Kind == sheet.Filter || strings.HasPrefix(c.Kind, "box-")
	})
}
