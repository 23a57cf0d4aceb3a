// Package report makes text of an assessment: a long report in Markdown for the
// tester, one page for a workshop's customer, a short page for between readings,
// and the advice at the end. The sentences stand in texts/*.md.tmpl; Go only
// chooses and prints the figures. It never judges: what isn't in the assessment,
// on the sheet or in the record isn't in the report.
//
// Start with Markdown. Unnamed takes the names out of a sheet before it is
// judged.
package report

import (
	"embed"
	"regexp"
	"strings"
	"sync"
	"text/template"

	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// Options are how figures are shown.
type Options struct {
	Units quantity.System
	// Gauge is the unit of pressure differences where Units is AsTyped: "" stands
	// for the unit of the sheet's first gauge, and inH2O where there is none.
	Gauge string
	// Course is how the test went; nil where only its sheet is known.
	Course *Course
	// Unnamed says that names were taken out, so that the report says it too.
	Unnamed bool
	// Pictures says how pictures stand in the text: not at all, as it is, or drawn
	// in so many Columns. Figures are what they show beside the assessment.
	Pictures Showing
	Columns  int
	Figures  Figures
}

//go:embed texts/*.md.tmpl
var texts embed.FS

var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(words).ParseFS(texts, "texts/*.md.tmpl"))
})

// Markdown is the long report, for the tester: what was measured, what it means, what to do
// next, what to change, what it can bring and what all this rests on. A nil
// assessment or sheet counts as an empty one.
func Markdown(a *assessment.Assessment, s *sheet.Sheet, o Options) string {
	return render("report.md.tmpl", newPage(a, s, o))
}

// Customer is the report for whom the test was made: one page in plain words,
// without a table. A nil assessment or sheet counts as an empty one.
func Customer(a *assessment.Assessment, s *sheet.Sheet, o Options) string {
	return render("customer.md.tmpl", newPage(a, s, o))
}

// Plain is the short form, paragraphs and lists only, fit for 40 columns: the
// standing between two readings.
func Plain(a *assessment.Assessment, s *sheet.Sheet, o Options) string {
	return render("plain.md.tmpl", newPage(a, s, o))
}

// Advice is the closing page: the verdict, what to change first and how, and
// to measure again. Paragraphs and lists only, as in Plain.
func Advice(a *assessment.Assessment, s *sheet.Sheet, o Options) string {
	return render("advice.md.tmpl", newPage(a, s, o))
}

var headings = regexp.MustCompile(`(?m)^## (.+)$`)

// Headings are the headings of the long report, in order. Every report has all
// of them.
func Headings() []string { return headingsOf("report.md.tmpl") }

// CustomerHeadings are those of the customer's page, likewise.
func CustomerHeadings() []string { return headingsOf("customer.md.tmpl") }

func headingsOf(file string) []string {
	src, err := texts.ReadFile("texts/" + file)
	if err != nil {
		panic(err) // the file is compiled in
	}
	var out []string
	for _, m := range headings.FindAllSubmatch(src, -1) {
		out = append(out, string(m[1]))
	}
	return out
}

var (
	blankEnds = regexp.MustCompile(`[ \t]+\n`)
	manyLines = regexp.MustCompile(`\n{3,}`)
)

// render runs a template. Text of users is escaped where it is printed, so that
// a fault can only lie in the templates, and tests run every branch of them.
func render(name string, p any) string {
	var b strings.Builder
	if err := templates().ExecuteTemplate(&b, name, p); err != nil {
		panic("report: " + err.Error())
	}
	text := blankEnds.ReplaceAllString(b.String(), "\n")
	return strings.TrimSpace(manyLines.ReplaceAllString(text, "\n\n")) + "\n"
}
