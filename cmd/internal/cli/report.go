package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/finding"
	"dropwalk/advice/model"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/html"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/causes"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
)

// For whom a report is.
const (
	forTester   = "tester"
	forCustomer = "customer"
)

// Endings of files that a report can be written to.
const (
	endMarkdown = ".md"
	endText     = ".txt"
	endJSON     = ".json"
	endHTML     = ".html"
	endCSV      = ".csv"
)

// ending is how the name of a file ends, and what it then is.
type ending struct{ end, what string }

// endings are those of the files of a report, with what they are.
var endings = []ending{
	{endMarkdown, "Markdown"}, {endText, "plain text"}, {endHTML, "a page for a browser and for paper, with pictures"},
	{endCSV, "a table of the pieces"}, {endJSON, "for programs"},
}

// reportWidth is that of a report in plain text: a page of a printer.
const reportWidth = 78

// reportOptions are what the command line says of a report.
type reportOptions struct {
	reader  string // forTester, forCustomer
	noNames bool
	priors  priors
	asJSON  bool
	out     string // "" for standard output
	chosen  bool   // the reader was named
}

func (a *app) report() *cobra.Command {
	var o reportOptions
	cmd := &cobra.Command{
		Use:   "report RECORD|SHEET",
		Short: "report on a test: what was measured, what it means, what to do",
		Long: "For the tester it has every figure; for a customer it is one page in plain words. --no-names leaves out names of people, of the car, of " +
			"pieces and gauges, and all free text; date, place, weather, sizes and readings remain. The JSON form holds the test sheet, its assessment " +
			"and how the test went.\n\n" +
			"The page for a browser (.html) is one file that loads nothing; it prints on A4 and Letter. " +
			"The table (.csv) has a row for each piece, and one called total for the whole path. Its columns: row (component or total), name, kind, " +
			"rests_on (readings, handbook or both), fixed (true or false); loss_pa, handbook_loss_pa and recoverable_pa, each with _median, _low and " +
			"_high, in Pa at the reference point, low and high being what holds it nine times in ten; chance_first (0 to 1). New columns come behind " +
			"these. A name that a spreadsheet would take for a formula begins with an apostrophe.\n\n" +
			"The report on any other test, such as intake-air, tells what it found, what each figure rests on, what was not tested, the next step, and " +
			"what is still to be put back. In its JSON form that is the key finding; sheet and assessment are null where the test makes none. Its table has a row " +
			"for each figure: row (figure), name, label, value, low, high, unit, how (measured, inferred or not-tested), rests_on. dropwalk help findings says how these tests judge.\n\n" +
			"The report on a search for a cause, such as power-down, ranks the causes, tells which answer moved what, and what was not tested. In its JSON form that is the " +
			"key search. Its table has a row for each cause: row (cause or none), id, text, chance and before (0 to 1, now and before any check), minutes, mark (measured, inferred or not-tested).",
		Example: `dropwalk report yellow
dropwalk report yellow --for customer --out page.txt
dropwalk report yellow --out report.html
dropwalk report sheet.yaml --no-names --out report.md
dropwalk report yellow --json`,
		Args: arguments(1, 1, "RECORD|SHEET"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.chosen = cmd.Flags().Changed("for")
			if err := o.check(); err != nil {
				return err
			}
			return a.makeReport(args[0], o)
		},
	}
	cmd.Flags().StringVar(&o.reader, "for", forTester, "`reader`: tester (every figure) or customer (one page, plain words)")
	o.priors.flag(cmd)
	cmd.Flags().BoolVar(&o.noNames, "no-names", false, "leave out names and free text")
	cmd.Flags().BoolVar(&o.asJSON, "json", false, "print one JSON object: the sheet, its assessment and how the test went")
	cmd.Flags().StringVar(&o.out, "out", "", "`file` to write: "+endingWords(endings)+"; an old one is replaced at one stroke")
	return cmd
}

// check refuses what can't be carried out, before anything is read.
func (o *reportOptions) check() error {
	if readers := []string{forTester, forCustomer}; !slices.Contains(readers, o.reader) {
		hint := "one of " + strings.Join(readers, ", ")
		if near, ok := spell.Nearest(o.reader, readers); ok {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		return &usageError{fmt.Sprintf("--for: there is no report for %q", o.reader), hint}
	}
	end := endOf(o.out)
	asJSON, err := formOf("report", o.out, o.asJSON, endings)
	if err != nil {
		return err
	}
	o.asJSON = asJSON
	switch {
	case !o.chosen:
	case o.asJSON:
		return &usageError{"--for is about a text, and the JSON form has everything", "leave out --for, or --json"}
	case end == endCSV:
		return &usageError{"--for is about a text, and a table of the pieces has none", "leave out --for, or another ending"}
	}
	return nil
}

// endOf is the ending of the file to write, in small letters; "" for none.
func endOf(out string) string { return strings.ToLower(filepath.Ext(out)) }

// formOf tells whether a result is printed as JSON, by --json or by the ending of
// --out, "" for none. It refuses an ending that isn't known, and both at odds.
func formOf(what, out string, asJSON bool, known []ending) (bool, error) {
	end := endOf(out)
	switch {
	case out == "":
		return asJSON, nil
	case end == endJSON:
		return true, nil
	case !slices.ContainsFunc(known, func(e ending) bool { return e.end == end }):
		return false, wrongEnding(what, out, known)
	case asJSON:
		return false, &usageError{fmt.Sprintf("--json and --out %s contradict each other", out), "an ending of " + endJSON + ", or no --json"}
	}
	return false, nil
}

func wrongEnding(what, out string, known []ending) error {
	return &usageError{fmt.Sprintf("--out %s: no %s can be written with the ending %q", out, what, endOf(out)), "one of " + endingWords(known)}
}

// endingWords lists endings with what they are.
func endingWords(known []ending) string {
	var list []string
	for _, e := range known {
		list = append(list, fmt.Sprintf("%s (%s)", e.end, e.what))
	}
	return strings.Join(list, ", ")
}

// tested is what a report is made of.
type tested struct {
	sheet   *sheet.Sheet
	judged  *assessment.Assessment
	course  *report.Course   // nil where only the sheet is known
	found   *finding.Finding // of a further test; then sheet and judged may be nil
	options advice.Options
	noNames bool
}

func (a *app) makeReport(word string, o reportOptions) error {
	units, err := a.system()
	if err != nil {
		return err
	}
	t := tested{noNames: o.noNames}
	if sameFile(o.out, word) {
		return &usageError{fmt.Sprintf("--out %s would replace what the report is made of", o.out), "another file name"}
	}
	c, r, err := a.recordBy(word)
	switch {
	case err != nil:
		return err
	case r == nil:
	case r.run.Standing() != nil:
		return a.reportSearch(searchBy(c, r, o.noNames), o, units)
	default:
		if found := a.foundBy(c, r, o.noNames); found != nil {
			return a.reportFinding(found, o, units)
		}
	}
	learnt, _, err := a.priorsAndText(o.priors)
	if err != nil {
		return err
	}
	if t.sheet, t.course, t.options.Priors, err = a.oneTestWith(word); err != nil {
		return err
	}
	if learnt != nil {
		t.options.Priors = learnt.Model()
	}
	if o.noNames {
		t.course = report.UnnamedCourse(t.course, t.sheet)
		t.sheet = report.Unnamed(t.sheet)
	}
	t.judged = advice.Assess(t.sheet, t.options)
	text, err := a.form(&t, o, units)
	if err != nil {
		return err
	}
	return a.putReport(o, text)
}

// putReport writes a report, or shows it where it is a text for a terminal.
func (a *app) putReport(o reportOptions, text []byte) error {
	if o.out == "" && !o.asJSON && a.OutTTY {
		return a.read(string(text))
	}
	return a.put(o.out, text)
}

// recordBy is the record that word calls, with its run; nil for a sheet.
func (a *app) recordBy(word string) (*record.Content, *rebuilt, error) {
	src, err := a.findSource(word)
	if err != nil || !src.isRecord {
		return nil, nil, err
	}
	return a.opened(src.path)
}

// form is the report in the form that was asked for.
func (a *app) form(t *tested, o reportOptions, units quantity.System) ([]byte, error) {
	show := report.Options{Units: units, Course: t.course, Unnamed: t.noNames}
	switch end := endOf(o.out); {
	case o.asJSON:
		return t.json()
	case end == endCSV:
		return report.CSV(t.judged, t.sheet), nil
	case end == endHTML:
		return t.html(o.reader, show)
	case end == endText:
		a.pictured(&show, t, reportWidth, o.reader)
		return []byte(terminal.Plain(terminal.Clean(t.page(o.reader, show)), reportWidth)), nil
	case end == endMarkdown:
		a.pictured(&show, t, reportWidth, o.reader)
	default:
		a.pictured(&show, t, a.Width, o.reader)
	}
	return []byte(terminal.Clean(t.page(o.reader, show))), nil
}

// codeIndent is how far a block of code is set in, and with it a picture.
const codeIndent = 4

// pictured has pictures drawn in a text of so many columns, or told in words to
// who reads with the ears. The customer's page, short as it is, has none.
func (a *app) pictured(o *report.Options, t *tested, width int, reader string) {
	if reader == forCustomer {
		return
	}
	o.Pictures, o.Columns = report.Drawn, min(width, reportWidth)-codeIndent
	if a.spoken() {
		o.Pictures = report.Told
	}
	o.Figures = advice.Figures(t.sheet, t.options)
}

// spoken tells whether plain lines were asked for, as a screen reader needs them.
func (a *app) spoken() bool {
	switch strings.ToLower(a.env("ACCESSIBLE")) {
	case "", "0", "false":
		return a.plain
	}
	return true
}

// put writes a result to a file, or to standard output where none is named.
func (a *app) put(out string, text []byte) error {
	if out != "" {
		return a.save(out, text)
	}
	_, err := a.Out.Write(text)
	return err
}

// page is the report in Markdown.
func (t *tested) page(reader string, o report.Options) string {
	if reader == forCustomer {
		return report.Customer(t.judged, t.sheet, o)
	}
	return report.Markdown(t.judged, t.sheet, o)
}

// html is the report as one page for a browser: the same Markdown, with images
// in place of what is drawn with characters.
func (t *tested) html(reader string, o report.Options) ([]byte, error) {
	o.Pictures, o.Columns = report.Drawn, reportWidth
	o.Figures = advice.Figures(t.sheet, t.options)
	return html.Page(terminal.Clean(t.page(reader, o)), illustrated(report.Pictures(t.judged, t.sheet, o)))
}

// json is the report as one object on one line. Its sheet is a test sheet that
// dropwalk assess takes, its assessment what that prints; both are null where the
// test makes none. Its finding is null for the test of the whole path, its search for
// everything but a search for a cause.
func (t *tested) json() ([]byte, error) {
	form := json.RawMessage("null")
	if t.sheet != nil {
		var err error
		if form, err = sheetJSON(t.sheet); err != nil {
			return nil, err
		}
	}
	return jsonLine(struct {
		Version    int                    `json:"report"`
		Names      bool                   `json:"names"`
		Sheet      json.RawMessage        `json:"sheet"`
		Assessment *assessment.Assessment `json:"assessment"`
		Course     *report.Course         `json:"course"`
		Finding    *finding.Finding       `json:"finding"`
		Search     *causes.Standing       `json:"search"`
	}{1, !t.noNames, form, t.judged, t.course, t.found, nil})
}

// sameFile tells whether two paths lead to one file that exists.
func sameFile(a, b string) bool {
	x, errA := os.Stat(a)
	y, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(x, y)
}

// oneSheet is the sheet that word calls: that of a record, or the only one in a
// file or on standard input.
func (a *app) oneSheet(word string) (*sheet.Sheet, error) {
	s, _, err := a.oneTest(word)
	return s, err
}

// oneTest is oneSheet with how the test went, nil where no record tells.
func (a *app) oneTest(word string) (*sheet.Sheet, *report.Course, error) {
	s, course, _, err := a.oneTestWith(word)
	return s, course, err
}

// oneTestWith is oneTest with the priors that the test went by, nil for the handbook
// alone.
func (a *app) oneTestWith(word string) (*sheet.Sheet, *report.Course, *model.Priors, error) {
	src, err := a.findSource(word)
	if err != nil {
		return nil, nil, nil, err
	}
	if src.isRecord {
		return a.testWith(src.path)
	}
	in := a.In
	if src.path != "" {
		file, err := os.Open(src.path)
		if err != nil {
			return nil, nil, nil, plainPath(err)
		}
		defer file.Close()
		in = file
	}
	s, err := a.soleSheet(src.name, in)
	return s, nil, nil, err
}

func (a *app) soleSheet(name string, in io.Reader) (*sheet.Sheet, error) {
	var found *sheet.Sheet
	var faults strictyaml.Faults
	count := 0
	sheet.ReadAll(name, in, func(s *sheet.Sheet, f strictyaml.Faults) bool {
		count++
		if count == 1 {
			found, faults = s, f
		}
		return count == 1
	})
	if count > 1 {
		return nil, input(fmt.Errorf("%s holds more than one sheet", name), "a report is about one; dropwalk assess takes them all")
	}
	printFaults(a.Err, faults)
	if found == nil {
		return nil, shown(errInput)
	}
	return found, nil
}
