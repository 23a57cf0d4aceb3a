package report

import (
	"fmt"
	"math"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/compare"
	"dropwalk/advice/picture"
	"dropwalk/advice/sheet"
	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
)

// comparedPage is a comparison as its template sees it.
type comparedPage struct {
	*page
	C *compare.Comparison
}

// Compared is the page on whether a change helped: in short, pair by pair, piece by
// piece, what it brings and what it rests on. Paragraphs and lists only, fit for 40
// columns. The sheet is that of before.
func Compared(c *compare.Comparison, s *sheet.Sheet, o Options) string {
	return render("compared.md.tmpl", &comparedPage{newPage(nil, s, o), c})
}

// ComparedPictures are the pictures of that page, for a form of it that shows images;
// in the text each stands as a block of code, as those of Pictures do.
func ComparedPictures(c *compare.Comparison, s *sheet.Sheet, o Options) []picture.Picture {
	return (&comparedPage{newPage(nil, s, o), c}).pictures()
}

func (p *comparedPage) pictures() []picture.Picture {
	list := []picture.Picture{p.changes()}
	if x := p.inOrder(); !x.Empty() {
		list = append(list, x)
	}
	return list
}

// inOrder shows the runs of the main pair in their order, before against after, each
// with the mean of its block, and the drift.
func (p *comparedPage) inOrder() picture.Picture {
	c := p.Main()
	s := picture.Series{Name: "runs", Title: fmt.Sprintf("Runs in their order, %s to %s, all carried to %s rpm and the same air", c.From, c.To, quantity.Format(p.C.Reference.RPM, 4)),
		Key: map[picture.Kind]string{picture.Mean: "the mean of the block"}}
	for i, block := range c.Values {
		name, kind := [...]string{"before", "after", "again"}[i], picture.Ring
		if i == 1 {
			kind = picture.Square
		} else if p.ABA() {
			s.Key[picture.Ring] = "before, and as it was again"
		}
		mean := 0.0
		for _, v := range block {
			mean += v / float64(len(block))
		}
		for k, v := range block {
			s.Runs = append(s.Runs, picture.Run{Label: fmt.Sprintf("%s %d", name, k+1), Value: v, Low: v, High: v, Kind: kind, Middle: mean})
		}
	}
	switch {
	case c.Drift == nil:
		s.Drift = "Two blocks can't tell a drift from the change."
	case c.Drift.Low <= 0 && c.Drift.High >= 0:
		s.Drift = "No drift shows: " + p.Moved(*c.Drift) + " with each run."
	default:
		s.Drift = "They drift: " + p.Moved(*c.Drift) + " with each run."
	}
	return picture.Runs(s, p.shown())
}

// changes shows each pair, and each piece where the taps part them.
func (p *comparedPage) changes() picture.Picture {
	var list []picture.Moved
	add := func(label string, c compare.Change) {
		list = append(list, picture.Moved{Label: label, Before: c.Before, After: c.After, Worth: c.Worth, Verdict: comparedWords[c.Verdict],
			Change: assessment.Estimate{Median: c.Change.Median, Low: c.Change.Low, High: c.Change.High}})
	}
	for _, c := range p.C.Pairs {
		add(c.From+" to "+c.To, c)
	}
	if p.Parted() {
		for _, c := range p.C.Losses[1:] { // the first is a pair
			add(strings.Join(c.Pieces, ", "), c)
		}
	}
	return picture.Changes(list, Sure95, p.shown())
}

// Sure95 is how sure an interval of 95 % is, in words.
const Sure95 = "19 times in 20"

// shown is how pictures show figures.
func (p *comparedPage) shown() picture.Options { return PictureOptions(p.unitOf()) }

// PictureOptions are how a picture shows pressure differences in a unit, with as many
// digits as their intervals allow.
func PictureOptions(unit string) picture.Options {
	return picture.Options{Unit: unit, Figure: func(e assessment.Estimate) string {
		if e.High == e.Low {
			return strings.TrimSuffix(quantity.ShowIn(rounded(e.Median), quantity.PressureDiff, unit), " "+unit)
		}
		return strings.Replace(short(e, quantity.PressureDiff, unit), " "+unit, "", 1)
	}}
}

// comparedWords are the verdicts in the words of the page.
var comparedWords = map[string]string{
	compare.Better: "better", compare.Worse: "worse", compare.NoChange: "no change that matters", compare.CannotTell: "can't tell",
}

// Pictured are the pictures as blocks of the text. Who reads with the ears finds
// everything in the lists.
func (p *comparedPage) Pictured() string {
	if p.o.Pictures != Drawn {
		return ""
	}
	var blocks []string
	for _, x := range p.pictures() {
		blocks = append(blocks, PictureAsText(x, p.o.Columns))
	}
	return strings.Join(blocks, "\n\n")
}

// ComparedHeadings are the headings of that page, in order.
func ComparedHeadings() []string { return headingsOf("compared.md.tmpl") }

// Main is the change that counts most: that of the whole path, else the first pair.
func (p *comparedPage) Main() *compare.Change {
	if p.C.Total != nil {
		return p.C.Total
	}
	return &p.C.Pairs[0]
}

// Named is the car, "" where no sheet names it.
func (p *comparedPage) Named() string {
	for _, b := range p.C.Blocks {
		if b.Car != "" {
			return b.Car
		}
	}
	return ""
}

// Done lists what the changed sheet says was done.
func (p *comparedPage) Done() string { return p.C.Blocks[1].Change }

// ABA tells whether there are three blocks.
func (p *comparedPage) ABA() bool { return p.C.Design == compare.ABA }

// Parted tells whether the losses say more than the pairs do.
func (p *comparedPage) Parted() bool {
	return len(p.C.Losses) > 1
}

// unitOf is the unit of all pressures of the page.
func (p *comparedPage) unitOf() string {
	return p.unit(quantity.PressureDiff, p.Main().Before)
}

// Pa writes a pressure difference on its own.
func (p *comparedPage) Pa(si float64) string {
	return quantity.ShowIn(rounded(si), quantity.PressureDiff, p.unitOf())
}

// Rough writes a pressure difference that is only roughly known: an error.
func (p *comparedPage) Rough(si float64) string {
	v, err := quantity.In(si, quantity.PressureDiff, p.unitOf())
	if err != nil {
		return p.Pa(si)
	}
	return quantity.Format(v, 2) + " " + p.unitOf()
}

// rounded keeps three digits.
func rounded(x float64) float64 { return stats.Digits(x, 3) }

// Moved writes a change with its interval: "0.61 inH2O less, between 0.52 and 0.69
// less"; "0.1 inH2O less, between 0.4 less and 0.2 more".
func (p *comparedPage) Moved(e compare.Estimate) string {
	return moved(e, func(x float64, s int) string {
		text, _ := shown{quantity.PressureDiff, p.unitOf(), s}.bare(x)
		return text
	}, p.widthIn(e), p.unitOf(), "less", "more")
}

// widthIn is the width of an interval in the unit of the page.
func (p *comparedPage) widthIn(e compare.Estimate) float64 {
	v, err := quantity.In(e.High-e.Low, quantity.PressureDiff, p.unitOf())
	if err != nil || !(v > 0) {
		return 1
	}
	return v
}

// Gained writes a change of power in per cent.
func (p *comparedPage) Gained(e compare.Estimate) string {
	return moved(e, func(x float64, s int) string {
		text, _ := shown{quantity.Share, "%", s}.bare(x / 100)
		return text
	}, max(e.High-e.Low, 1e-6), "%", "less", "more")
}

// Further writes how many more of something are needed at the start of a sentence.
func (p *comparedPage) Further(n *int, what string) string {
	if *n == 1 {
		return "One further " + what
	}
	return fmt.Sprintf("About %d further %ss", *n, what)
}

// moved puts an estimate of a change into words. Below nought is down, above it up.
func moved(e compare.Estimate, bare func(x float64, step int) string, width float64, unit, down, up string) string {
	s := step(width)
	word := func(x float64) string {
		if x < 0 {
			return down
		}
		return up
	}
	size := func(x float64) string { return bare(math.Abs(x), s) }
	nought := func(x float64) bool { return strings.Trim(size(x), "0.") == "" }
	text, first := size(e.Median)+" "+unit+" "+word(e.Median)+", between ", ""
	if nought(e.Median) { // nought is neither up nor down
		text, first = "no more and no less, between ", " "+unit
	}
	if word(e.Low) == word(e.High) {
		from, to := e.Low, e.High
		if math.Abs(from) > math.Abs(to) {
			from, to = to, from
		}
		return text + size(from) + first + " and " + size(to) + " " + word(e.High)
	}
	end := func(x float64, unit, way string) string {
		if nought(x) {
			return size(x) + unit
		}
		return size(x) + unit + " " + way
	}
	return text + end(e.Low, first, down) + " and " + end(e.High, "", up)
}

// Counted writes the numbers of runs of the blocks: "3 and 4", "3, 3 and 3".
func (p *comparedPage) Counted(runs []int) string {
	var texts []string
	for _, n := range runs {
		texts = append(texts, quantity.Format(float64(n), 4))
	}
	return joined(texts)
}

// TooMany tells of a number of further runs that no test on a car has.
func (p *comparedPage) TooMany(runs *int) bool { return runs != nil && *runs > mostFurther }

// mostFurther is a long day on the track (common practice, no source).
const mostFurther = 12

// Understated are the false verdicts of a test whose scatter from fitting to fitting
// is twice what was taken, in 100.
func (p *comparedPage) Understated() (out struct{ Low, High float64 }) {
	out.Low, out.High = 100*compare.UnderstatedLow, 100*compare.UnderstatedHigh
	return out
}

// Share writes a pressure as a part of another, in per cent.
func (p *comparedPage) Share(part, whole float64) string {
	if !(math.Abs(whole) > 0) {
		return "?"
	}
	return quantity.Format(100*part/math.Abs(whole), 2) + " %"
}

// Pieces names the components of a stretch.
func (p *comparedPage) Pieces(c compare.Change) string {
	if len(c.Pieces) == 0 {
		return esc(c.From) + " to " + esc(c.To)
	}
	return strings.Join(strings.Fields(list(c.Pieces)), " ")
}
