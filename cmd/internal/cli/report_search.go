package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"

	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/html"
	"dropwalk/engine/causes"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
)

// searchTest is what the report on a search for a cause is made of.
type searchTest struct {
	standing *causes.Standing
	course   *report.Course
	noNames  bool
}

// typedAway stands for what somebody typed, where names are left out.
const typedAway = "(left out)"

// searchBy is the search for a cause that a record holds.
func searchBy(c *record.Content, r *rebuilt, noNames bool) *searchTest {
	t := &searchTest{standing: r.run.Standing(), course: courseOf(c, r), noNames: noNames}
	if noNames {
		t.standing = t.standing.Unnamed(typedAway)
		t.course = report.UnnamedCourse(t.course, &sheet.Sheet{})
	}
	return t
}

// reportSearch prints or writes the report on a search for a cause.
func (a *app) reportSearch(t *searchTest, o reportOptions, units quantity.System) error {
	text, err := t.form(o, report.Options{Units: units, Course: t.course, Unnamed: t.noNames})
	if err != nil {
		return err
	}
	return a.putReport(o, text)
}

// form is the report in the form that was asked for.
func (t *searchTest) form(o reportOptions, show report.Options) ([]byte, error) {
	end := endOf(o.out)
	switch {
	case o.asJSON:
		return t.json()
	case end == endCSV:
		return t.csv(), nil
	}
	tell := report.Searched
	if o.reader == forCustomer {
		tell = report.SearchedCustomer
	}
	s := t.standing
	page := tell(report.Search{Title: s.Symptom, Head: s.Head(), Ranking: s.Ranking(), Moves: s.Moves(), NotMade: s.NotMade(),
		Sources: s.Sources(), Legend: causes.Legend}, show)
	return formed(page, end, html.Options{})
}

// json has the keys of every report, and how the causes stand beside them.
func (t *searchTest) json() ([]byte, error) {
	null := json.RawMessage("null")
	return jsonLine(struct {
		Version    int              `json:"report"`
		Names      bool             `json:"names"`
		Sheet      json.RawMessage  `json:"sheet"`
		Assessment json.RawMessage  `json:"assessment"`
		Course     *report.Course   `json:"course"`
		Finding    json.RawMessage  `json:"finding"`
		Search     *causes.Standing `json:"search"`
	}{1, !t.noNames, null, null, t.course, null, t.standing})
}

// causeColumns are those of the table of causes, in their order.
var causeColumns = []string{"row", "id", "text", "chance", "before", "minutes", "mark"}

// csv is a table of the causes: a row for each in the order of putting right, and
// one for none of them. Chances are 0 to 1.
func (t *searchTest) csv() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	write := func(row ...string) { _ = w.Write(row) } // a Buffer takes everything
	write(causeColumns...)
	number := func(v float64) string { return fmt.Sprintf("%.4g", v) }
	for _, c := range t.standing.Causes {
		write("cause", c.ID, report.Cell(c.Text), number(c.Chance), number(c.Before), number(c.Minutes), string(c.Mark))
	}
	write("none", "", "", number(t.standing.None), "", "", "")
	w.Flush()
	return b.Bytes()
}
