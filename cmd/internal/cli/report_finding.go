package cli

import (
	"fmt"

	"dropwalk/advice"
	"dropwalk/advice/finding"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/html"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
)

// foundTest is what the report on a further test is made of.
type foundTest struct {
	tested
	gauge string // the unit of the gauge, "" for none
}

// foundBy is the further test of a record; nil for one of the whole path.
func (a *app) foundBy(c *record.Content, r *rebuilt, noNames bool) *foundTest {
	found := foundIn(r)
	if found == nil {
		return nil
	}
	t := &foundTest{tested: tested{found: found, noNames: noNames, course: courseOf(c, r)}, gauge: advice.TypedGauge(r.run.Entries())}
	t.options.Priors = r.matter.Options.Priors
	if s, faults := sheet.FromEntries(advice.SheetEntries(r.run.Entries())); faults.Err() == nil {
		t.sheet = s
	}
	if noNames {
		t.unname(r)
	}
	if t.sheet != nil {
		t.judged = advice.Assess(t.sheet, t.options)
	}
	return t
}

// unname takes out what people named, before anything is judged.
func (t *foundTest) unname(r *rebuilt) {
	named := t.sheet
	if named == nil {
		named = &sheet.Sheet{} // the test makes none
	} else {
		t.sheet = report.Unnamed(named)
	}
	t.course = report.UnnamedCourse(t.course, named)
	if f := advice.Found(advice.UnnamedEntries(r.run.Entries()), advice.Options{}); f != nil {
		t.found = f
	}
}

// foundIn is what a run of a further test found; one that has found nothing yet is
// told by the places that its procedure fills. It is nil for the whole path.
func foundIn(r *rebuilt) *finding.Finding {
	if f := advice.Found(r.run.Entries(), advice.Options{}); f != nil {
		return f
	}
	var places []string
	for _, s := range stepsOf(r.run.Procedure()) {
		places = append(places, s.Fills...)
	}
	return advice.NotYet(places)
}

// noSheet says that a record makes no test sheet. Some further tests make one, so what
// kind of test it is, is no reason.
func (a *app) noSheet(name string) error {
	return input(fmt.Errorf("%s has no readings between places of the intake path, so it makes no test sheet", name), a.command("report", quoted(name))+" tells what it found")
}

// reportFinding prints or writes the report on a further test.
func (a *app) reportFinding(t *foundTest, o reportOptions, units quantity.System) error {
	show := report.Options{Units: units, Gauge: t.gauge, Course: t.course, Unnamed: t.noNames}
	text, err := t.form(o, show)
	if err != nil {
		return err
	}
	return a.putReport(o, text)
}

// form is the report in the form that was asked for.
func (t *foundTest) form(o reportOptions, show report.Options) ([]byte, error) {
	end := endOf(o.out)
	if o.asJSON {
		t.found = report.Filled(t.found, show)
		return t.json()
	}
	if end == endCSV {
		return report.FoundCSV(t.found), nil
	}
	tell := report.Found
	if o.reader == forCustomer {
		tell = report.FoundCustomer
	}
	page := tell(t.found, show)
	return formed(page, end, html.Options{})
}
