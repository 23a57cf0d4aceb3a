package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/class"
	"dropwalk/advice/compare"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
)

func (a *app) compare() *cobra.Command {
	var form comparedForm
	cmd := &cobra.Command{
		Use:   "compare BEFORE AFTER [AGAIN]|RECORD",
		Short: "say whether a change helped",
		Long: "BEFORE, AFTER and AGAIN are records or test sheets of one car: as it was, changed, and as it was once more. With AGAIN a drift of " +
			"the engine, the gauge or the weather is told from the change. A record of the procedure before-after holds all of them and stands alone. Each needs two runs or more between the same two stations; three are usual. " +
			"Earlier visits of the car in the folder of records tell how far it scatters from one fitting to the next, unless --refit or --class does; where none of these tells it, --priors does what your other cars say.",
		Example: `dropwalk compare yellow-before yellow-after yellow-again
dropwalk compare yellow-estate-2026-11-25
dropwalk compare before.yaml after.yaml --worth "0.5 inH2O"
dropwalk compare before.yaml after.yaml --refit "0.1 inH2O" --json
dropwalk compare before.yaml after.yaml --class class.json`,
		Args: arguments(1, 3, "BEFORE AFTER [AGAIN]|RECORD"),
	}
	cmd.Flags().BoolVar(&form.asJSON, "json", false, "print one JSON object")
	cmd.Flags().StringVar(&form.out, "out", "", "`file` to write: "+endingWords(comparedEndings)+"; an old one is replaced at one stroke")
	textOptions(cmd,
		"worth", "smallest `change` worth having, as a pressure or in %; 5 % of the reading before or 0.3 inH2O where not stated, whichever is larger",
		"refit", "standard `deviation` of a block from one fitting of the parts to the next")
	var own priors
	own.flag(cmd)
	classFile := ""
	cmd.Flags().StringVar(&classFile, "class", "", "`file` of a class (class summary DIR --json): how far its groups differ is taken for that deviation")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		units, err := a.system()
		if err != nil {
			return err
		}
		in := &options{cmd: cmd, units: units}
		o := in.comparing()
		if in.bad != nil {
			return in.bad
		}
		if err := form.check(); err != nil {
			return err
		}
		learnt, _, err := a.priorsAndText(own)
		if err != nil {
			return err
		}
		if learnt != nil {
			o.Learnt = learnt.Refits.Compared()
		}
		if o.Class, err = classRefits(classFile, o.Refit); err != nil {
			return err
		}
		return a.compareAll(args, o, form, units)
	}
	return cmd
}

// classRefits is what the groups of a class scatter by, nil where no file is named.
func classRefits(file string, stated float64) (*compare.History, error) {
	if file == "" {
		return nil, nil
	}
	if stated > 0 {
		return nil, &usageError{"--refit and --class both say how far fittings scatter", "one of them"}
	}
	src, err := readBounded(file)
	if err != nil {
		return nil, plainPath(err)
	}
	h, faults := class.ReadRefits(file, src)
	return h, faults.Err()
}

// comparing reads what the user says about a comparison.
func (o *options) comparing() compare.Options {
	c := compare.Options{Refit: o.amount("refit", quantity.PressureDiff, "", anyAbove, 0)}
	raw, _ := o.cmd.Flags().GetString("worth")
	if strings.HasSuffix(strings.TrimSpace(raw), "%") {
		c.WorthShare = o.amount("worth", quantity.Share, "%", span{1e-6, 1}, 0)
		return c
	}
	c.Worth = o.amount("worth", quantity.PressureDiff, "", anyAbove, 0)
	return c
}

// comparedForm is how a comparison is shown.
type comparedForm struct {
	asJSON bool
	out    string // "" for standard output
}

// comparedEndings are those of the files of a comparison, with what they are.
var comparedEndings = []ending{
	{endMarkdown, "Markdown"}, {endText, "plain text"}, {endHTML, "a page for a browser and for paper, with a picture"}, {endJSON, "for programs"},
}

// check refuses what can't be carried out, before anything is read.
func (f *comparedForm) check() error {
	asJSON, err := formOf("comparison", f.out, f.asJSON, comparedEndings)
	f.asJSON = asJSON
	return err
}

func (a *app) compareAll(words []string, o compare.Options, form comparedForm, units quantity.System) error {
	sheets, err := a.toCompare(words)
	if err != nil {
		return err
	}
	if o.Refit == 0 {
		o.History = compare.NewHistory(a.otherVisits(words, sheets[0].Car.Name))
	}
	c, err := compare.Sheets(sheets, o)
	if err != nil {
		return refused(err)
	}
	for _, word := range words {
		if sameFile(form.out, word) {
			return &usageError{fmt.Sprintf("--out %s would replace what is compared", form.out), "another file name"}
		}
	}
	return a.showCompared(c, sheets[0], form, units)
}

// showCompared prints or writes a comparison in the form that was asked for.
func (a *app) showCompared(c *compare.Comparison, s *sheet.Sheet, form comparedForm, units quantity.System) error {
	if form.asJSON {
		return a.putJSON(form.out, c)
	}
	show := a.drawn(report.Options{Units: units}, form.out)
	return a.putPage(form.out, report.Compared(c, s, show), illustrated(report.ComparedPictures(c, s, show)))
}

// toCompare are the sheets that the words call: one each, or all blocks of the one
// record that holds them.
func (a *app) toCompare(words []string) ([]*sheet.Sheet, error) {
	if len(words) == 1 {
		src, err := a.findSource(words[0])
		if err != nil {
			return nil, err
		}
		var blocks []visit
		if src.isRecord {
			if blocks, err = a.blocksOf(src.path); err != nil {
				return nil, err
			}
		}
		if len(blocks) < 2 {
			return nil, &usageError{fmt.Sprintf("%s alone can't be compared: it holds no block before and none after a change", src.name), "dropwalk compare BEFORE AFTER; dropwalk start before-after makes a record that holds both"}
		}
		return sheetsOf(blocks), nil
	}
	if err := a.differ(words); err != nil {
		return nil, err
	}
	var sheets []*sheet.Sheet
	for _, word := range words {
		if err := a.countsAsVisit(word); err != nil {
			return nil, err
		}
		s, err := a.oneSheet(word)
		if err != nil {
			return nil, err
		}
		sheets = append(sheets, s)
	}
	return sheets, nil
}

// differ refuses words of which one calls nothing, before anything is said of the
// others, and two words for one test.
func (a *app) differ(words []string) error {
	var paths []string
	for i, word := range words {
		src, err := a.findSource(word)
		if err != nil {
			return err
		}
		same := slices.IndexFunc(paths, func(path string) bool { return path == src.path || sameFile(path, src.path) })
		if same >= 0 {
			return &usageError{fmt.Sprintf("%q and %q are one and the same test: %s", words[same], words[i], src.name), "two tests of one car: BEFORE and AFTER the change"}
		}
		paths = append(paths, src.path)
	}
	return nil
}

func sheetsOf(visits []visit) []*sheet.Sheet {
	var out []*sheet.Sheet
	for _, v := range visits {
		out = append(out, v.sheet)
	}
	return out
}

// blocksOf are the blocks of a test before and after a change, each as a visit; none
// for a record of another kind.
func (a *app) blocksOf(path string) ([]visit, error) {
	c, err := a.view(path)
	if err != nil {
		return nil, err
	}
	if err := a.noRealCar(path, c.Header); err != nil {
		return nil, err
	}
	r, err := a.rebuild(record.Name(path), c.Lines)
	if err != nil {
		return nil, a.strangeProcedure(record.Name(path), c.Header, err)
	}
	var out []visit
	for i, b := range advice.Blocks(r.run.Entries()) {
		s, faults := sheet.FromEntries(b.Entries)
		if fault := faults.Err(); fault != nil {
			return nil, input(fault, a.command("records show", quoted(record.Name(path)))+" shows what was answered")
		}
		out = append(out, visit{name: record.Name(path), path: path, begun: c.Header.Created.Add(time.Duration(i)), sheet: s})
	}
	return out, nil
}

// refused is a refusal of the comparison with its hint.
func refused(err error) error {
	if r, ok := errors.AsType[*compare.Refusal](err); ok {
		return input(r, r.Hint)
	}
	return err
}

// otherVisits are the sheets of the other records of the same car, in the order of
// their dates. The sheets that are compared are not among them: what is asked is
// whether they differ by more than fitting. A record that makes no sheet is no help
// here and no fault either.
func (a *app) otherVisits(words []string, car string) []*sheet.Sheet {
	visits, err := a.visitsOf(car)
	if err != nil || car == "" {
		return nil
	}
	var out []*sheet.Sheet
	for _, v := range visits {
		asked := slices.ContainsFunc(words, func(word string) bool {
			src, err := a.findSource(word)
			return err == nil && sameFile(src.path, v.path)
		})
		if !asked && v.sheet != nil {
			out = append(out, v.sheet)
		}
	}
	return out
}
