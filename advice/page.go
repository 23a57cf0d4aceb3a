package advice

import (
	"strings"

	"dropwalk/advice/report"
	"dropwalk/engine/strictyaml"
)

// Page is a page of results as Markdown. Where the answers make no sheet it
// says what is wrong with them.
func (v *view) Page(name string) string {
	if name == "finding" { // it needs no sheet
		return v.findingPage()
	}
	if v.doc() == nil {
		return faultPage(v.faults)
	}
	o := report.Options{Units: v.matter.Units}
	switch name {
	case "assessment":
		return report.Plain(v.assess(), v.sheet, o)
	case "comparison":
		return v.comparisonPage()
	case "advice":
		return report.Advice(v.assess(), v.sheet, o)
	}
	return ""
}

func faultPage(faults strictyaml.Faults) string {
	var b strings.Builder
	b.WriteString("The answers contradict each other. Go back and put this right:\n\n")
	for _, f := range faults.Errors() {
		b.WriteString("- " + f.Path + ": " + f.What + "\n")
	}
	return b.String()
}
