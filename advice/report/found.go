package report

import (
	"bytes"
	"encoding/csv"
	"math"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/finding"
	"dropwalk/engine/quantity"
)

// foundPage is a finding as its templates see it.
type foundPage struct {
	*page
	F *finding.Finding
}

func newFound(f *finding.Finding, o Options) *foundPage {
	p := &foundPage{page: newPage(nil, nil, o)}
	p.F = f.Filled(p.inShort)
	return p
}

// Found is the report on what a further test found: in short, its figures with what
// each rests on, what was not tested, the next step and cautions. Paragraphs and
// lists only, fit for 40 columns.
func Found(f *finding.Finding, o Options) string { return render("found.md.tmpl", newFound(f, o)) }

// FoundShort is the page on it at the end of its procedure, likewise.
func FoundShort(f *finding.Finding, o Options) string {
	return render("foundshort.md.tmpl", newFound(f, o))
}

// FoundCustomer is the page for whom the test was made: plain words, no figure that
// nobody took.
func FoundCustomer(f *finding.Finding, o Options) string {
	return render("foundcustomer.md.tmpl", newFound(f, o))
}

// FoundHeadings are the headings of the report on a further test, in order.
func FoundHeadings() []string { return headingsOf("found.md.tmpl") }

// Filled is a finding whose sentences have their figures in them, in the units of
// the options.
func Filled(f *finding.Finding, o Options) *finding.Finding { return newFound(f, o).F }

// inWords writes a figure with its interval or its bound.
func (p *foundPage) inWords(x finding.Figure) string {
	size := 0.0
	for _, v := range []float64{x.Value, x.Low, x.High} {
		if !math.IsNaN(v) {
			size = max(size, math.Abs(v))
		}
	}
	unit := p.unit(x.Kind, size)
	switch {
	case !x.Given():
		return "not known"
	case x.Known() && (math.IsNaN(x.Low) || math.IsNaN(x.High)):
		return quantity.ShowIn(x.Value, x.Kind, unit)
	case x.Known():
		text := interval(assessment.Estimate{Median: x.Value, Low: x.Low, High: x.High}, x.Kind, unit)
		return strings.TrimSpace(strings.Replace(text, " ,", ",", 1)) // plain numbers have no unit
	case math.IsNaN(x.High):
		return "at least " + quantity.ShowIn(x.Low, x.Kind, unit)
	}
	return "at most " + quantity.ShowIn(x.High, x.Kind, unit)
}

// inShort is the same for the middle of a sentence: "11 K (9.5 to 12.5)".
func (p *foundPage) inShort(x finding.Figure) string {
	middle, rest, ok := strings.Cut(p.inWords(x), ", most likely between ")
	if !ok {
		return middle
	}
	return middle + " (" + strings.Replace(rest, " and ", " to ", 1) + ")"
}

// Worded is a figure as a line of a list has it.
func (p *foundPage) Worded(x finding.Figure) string { return esc(p.inWords(x)) }

// Told are the figures about which something is known.
func (p *foundPage) Told() []finding.Figure { return p.figures(true) }

// Open are those about which nothing is known.
func (p *foundPage) Open() []finding.Figure { return p.figures(false) }

func (p *foundPage) figures(given bool) []finding.Figure {
	var out []finding.Figure
	for _, x := range p.F.Figures {
		if x.Given() == given {
			out = append(out, x)
		}
	}
	return out
}

// foundColumns are those of FoundCSV, in their order.
var foundColumns = []string{"row", "name", "label", "value", "low", "high", "unit", "how", "rests_on"}

// FoundCSV is a table of the figures of a finding: a row for each, in the units of
// its JSON form. What isn't known is empty.
func FoundCSV(f *finding.Finding) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	write := func(row []string) { _ = w.Write(row) } // a Buffer takes everything
	write(foundColumns)
	for _, x := range f.Figures {
		row := []string{"figure", cell(x.Name), cell(x.Label)}
		for _, v := range []float64{x.Value, x.Low, x.High} {
			text := ""
			if n, ok := x.Number(v); ok {
				text = number(n)
			}
			row = append(row, text)
		}
		write(append(row, finding.Unit(x.Kind), x.How, cell(x.On)))
	}
	w.Flush()
	return b.Bytes()
}
