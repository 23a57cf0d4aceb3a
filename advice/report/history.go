package report

import (
	"dropwalk/advice/assessment"
	"dropwalk/advice/compare"
	"dropwalk/advice/finding"
	"dropwalk/engine/quantity"
)

// Visit is one test of a car among several.
type Visit struct {
	Name    string // of the record or the file
	Date    string
	Title   string
	Changes []string // what was done to the car, as the sheet states it
	Reached *compare.Reached
	Found   *finding.Finding       // of a further test, nil for the whole path
	Judged  *assessment.Assessment // of the whole path, nil for a further test
	Change  *compare.Comparison    // against the visit before of its kind; nil for the first, and where it can't be told
	WhyNot  string                 // why there is no Change, as a clause
}

// CarHistory is one car over many visits.
type CarHistory struct {
	Car    string
	Visits []Visit
	Refit  []compare.Fitted
}

type historyPage struct {
	*page
	H *CarHistory
}

// History is the page on one car over many visits: the whole path, the verdict, what
// was changed and what that did. Paragraphs and lists only, fit for 40 columns.
func History(h *CarHistory, o Options) string {
	return render("history.md.tmpl", &historyPage{newPage(nil, nil, o), h})
}

// HistoryHeadings are the headings of that page, in order.
func HistoryHeadings() []string { return headingsOf("history.md.tmpl") }

// Pa writes a pressure difference.
func (p *historyPage) Pa(si float64) string {
	return quantity.ShowIn(rounded(si), quantity.PressureDiff, p.unit(quantity.PressureDiff, si))
}

// Loss writes the loss of the whole path of a visit.
func (p *historyPage) Loss(e assessment.Estimate) string {
	return interval(e, quantity.PressureDiff, p.unit(quantity.PressureDiff, e.High))
}

// Found is what a further test found, its figures in the sentence.
func (p *historyPage) Found(f *finding.Finding) *finding.Finding {
	return f.Filled(newFound(f, p.o).inShort)
}

// Against is a comparison as the page of comparisons shows it.
func (p *historyPage) Against(c *compare.Comparison) *comparedPage {
	return &comparedPage{p.page, c}
}

// Asked is a verdict in words.
func (p *historyPage) Asked(a *assessment.Assessment) string {
	switch a.Verdict {
	case assessment.Measure:
		return "one more reading is worth its cost"
	case assessment.Attack:
		if a.Attack != nil {
			return "change " + esc(*a.Attack) + " first"
		}
	case assessment.LeaveAlone:
		return "leave the intake alone"
	case assessment.Recheck:
		return "check the readings first"
	}
	return "nothing has been worked out"
}
