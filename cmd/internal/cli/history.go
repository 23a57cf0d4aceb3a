package cli

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/compare"
	"dropwalk/advice/finding"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
)

func (a *app) history() *cobra.Command {
	asJSON := false
	cmd := &cobra.Command{
		Use:   "history CAR|RECORD|SHEET...",
		Short: "show one car over many visits",
		Long: "CAR takes every record of the car with that name. Records and files of test sheets can be named one by one too. Visits stand in the order " +
			"of their dates. Each is compared with the one before it, and visits with nothing changed between them tell how far this car scatters from " +
			"one fitting to the next, which dropwalk compare then reckons with.",
		Example: `dropwalk history yellow-estate
dropwalk history first.yaml second.yaml third.yaml --json`,
		Args: arguments(1, -1, "CAR|RECORD|SHEET..."),
		RunE: func(_ *cobra.Command, args []string) error {
			visits, err := a.visits(args)
			if err != nil {
				return err
			}
			return a.showHistory(visits, asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	return cmd
}

// visit is one test of a car.
type visit struct {
	name  string // of its record or file
	path  string
	begun time.Time        // of a record
	sheet *sheet.Sheet     // nil where a further test makes none
	found *finding.Finding // of a further test, nil for the whole path

	date, car string // of a visit without a sheet, of the record
}

// day is the date of a visit, "" for none.
func (v *visit) day() string {
	if v.sheet == nil {
		return v.date
	}
	return v.sheet.Date
}

// carName is the name of the car of a visit, "" for none.
func (v *visit) carName() string {
	if v.sheet == nil {
		return v.car
	}
	return v.sheet.Car.Name
}

// kind is the further test of a visit, "" for the whole path: visits of one kind are
// compared with each other.
func (v *visit) kind() string {
	if v.found == nil {
		return ""
	}
	return v.found.Test
}

// visits are those that the arguments call: of a car, or named one by one.
func (a *app) visits(args []string) ([]visit, error) {
	if len(args) == 1 && !isPath(args[0]) {
		list, err := a.visitsOf(args[0])
		if err != nil || len(list) > 0 {
			return list, err
		}
	}
	var list []visit
	for _, arg := range args {
		more, err := a.visitsIn(arg)
		if err != nil {
			if len(args) == 1 && errors.Is(err, errNoName) {
				return nil, input(fmt.Errorf("there is no car and no record %q", arg), "dropwalk records lists the records, each with its car")
			}
			return nil, err
		}
		list = append(list, more...)
	}
	if len(list) == 0 {
		return nil, input(fmt.Errorf("nothing was measured yet in %s", strings.Join(args, ", ")), "dropwalk resume goes on with a test that is open")
	}
	inOrder(list)
	return list, nil
}

// visitsOf are the records of one car that have something to tell, in the order of
// their dates.
func (a *app) visitsOf(car string) ([]visit, error) {
	dir, err := a.folder()
	if err != nil {
		return nil, err
	}
	var list []visit
	err = record.Each(dir, func(s record.Summary, c *record.Content) {
		if c == nil {
			return
		}
		if name := carNow(c); name == "" || record.NameFrom(name) != record.NameFrom(car) {
			return
		}
		if more, err := a.recordVisits(s.Path, s.Header.Created); err == nil {
			list = append(list, more...)
		}
	})
	if err != nil {
		return nil, plainPath(err)
	}
	inOrder(list)
	return list, nil
}

// recordVisits is what a record says of the car: one visit, or one for each block of
// a test before and after a change; none without a reading or a finding. The visit of
// a further test may have no sheet.
func (a *app) recordVisits(path string, begun time.Time) ([]visit, error) {
	blocks, err := a.blocksOf(path)
	if err != nil || len(blocks) > 0 {
		return blocks, err
	}
	c, r, err := a.opened(path)
	if err != nil {
		return nil, err
	}
	v := visit{name: record.Name(path), path: path, begun: begun, date: c.Header.Created.Local().Format(time.DateOnly), car: carNow(c)}
	if found := foundIn(r); found != nil {
		v.found = found
		if s, faults := sheet.FromEntries(advice.SheetEntries(r.run.Entries())); faults.Err() == nil && len(s.Readings) > 0 {
			v.sheet = s
		}
		if v.sheet == nil && found.Verdict == finding.NotYet {
			return nil, nil
		}
		return []visit{v}, nil
	}
	if v.sheet, _, err = a.sheetIn(c, r); err != nil || len(v.sheet.Readings) == 0 {
		return nil, err
	}
	return []visit{v}, nil
}

// visitsIn are the sheets of one record or file.
func (a *app) visitsIn(word string) ([]visit, error) {
	src, err := a.findSource(word)
	if err != nil {
		return nil, err
	}
	if src.isRecord {
		list, err := a.recordVisits(src.path, time.Time{})
		for i := range list {
			list[i].begun = time.Time{} // named one by one, those of one day stay as they were named
		}
		return list, err
	}
	in := a.In
	if src.path != "" {
		file, err := os.Open(src.path)
		if err != nil {
			return nil, plainPath(err)
		}
		defer file.Close()
		in = file
	}
	var list []visit
	var bad error
	sheet.ReadAll(src.name, in, func(s *sheet.Sheet, faults strictyaml.Faults) bool {
		printFaults(a.Err, faults)
		if s == nil {
			bad = shown(errInput)
			return false
		}
		list = append(list, visit{name: src.name, path: src.path, sheet: s})
		return true
	})
	return list, bad
}

// inOrder sorts visits by date; of one day, by when their records were begun.
// Those without a date stay where they are, ahead of the others.
func inOrder(list []visit) {
	slices.SortStableFunc(list, func(x, y visit) int {
		return cmp.Or(cmp.Compare(x.day(), y.day()), x.begun.Compare(y.begun))
	})
}

// visited is one visit for machines.
type visited struct {
	Name      string               `json:"name"`
	Test      *string              `json:"test"` // the further test that it was, null for the whole path
	Title     string               `json:"title"`
	Date      string               `json:"date"`
	Changes   []string             `json:"changes"`
	To        *string              `json:"to"`         // the farthest station that was read from the open air
	Read      *float64             `json:"reading_pa"` // mean, at the reference point of the first visit
	Runs      int                  `json:"runs"`
	TotalLoss *assessment.Estimate `json:"total_loss_pa"` // null for a further test
	Verdict   string               `json:"verdict"`
	Attack    *string              `json:"attack"`
	Compared  *compare.Comparison  `json:"compared"` // with the visit before
	WhyNot    string               `json:"not_compared"`
}

func (a *app) showHistory(list []visit, asJSON bool) error {
	units, err := a.system()
	if err != nil {
		return err
	}
	h, err := a.told(list)
	if err != nil {
		return err
	}
	if !asJSON {
		return a.show(report.History(h, report.Options{Units: units, Gauge: gaugeUnit(list)}))
	}
	rows := []visited{}
	for _, v := range h.Visits {
		row := visited{Name: v.Name, Title: v.Title, Date: v.Date, Changes: v.Changes, Compared: v.Change, WhyNot: v.WhyNot}
		if v.Found != nil {
			row.Test, row.Verdict = &v.Found.Test, v.Found.Verdict
		} else {
			row.TotalLoss, row.Verdict, row.Attack = &v.Judged.TotalLoss, v.Judged.Verdict, v.Judged.Attack
		}
		if v.Reached != nil {
			row.To, row.Read, row.Runs = &v.Reached.To, &v.Reached.Value, v.Reached.Runs
		}
		rows = append(rows, row)
	}
	return a.writeVersioned("history", struct {
		Car    string           `json:"car"`
		Visits []visited        `json:"visits"`
		Refit  []compare.Fitted `json:"refit"`
	}{h.Car, rows, h.Refit})
}

// gaugeUnit is the unit of the first gauge that any of the visits describes.
func gaugeUnit(list []visit) string {
	for _, v := range list {
		if v.sheet != nil && len(v.sheet.Gauges) > 0 {
			return v.sheet.Gauges[0].Range.Unit
		}
	}
	return ""
}

// told is the history of the visits. Each is judged, or has its finding, and is
// compared with the last one before it of its kind.
func (a *app) told(list []visit) (*report.CarHistory, error) {
	h := &report.CarHistory{Refit: []compare.Fitted{}}
	for _, v := range list {
		if name := v.carName(); h.Car == "" {
			h.Car = name
		} else if !compare.SameCar(name, h.Car) {
			return nil, input(fmt.Errorf("these are visits of two cars: %q and %q", h.Car, name), "visits of one car")
		}
	}
	measured := slices.DeleteFunc(slices.Clone(list), func(v visit) bool { return v.sheet == nil })
	known := compare.NewHistory(sheetsOf(measured))
	h.Refit = append(h.Refit, known.Spans...)
	reached := reachedBy(measured)
	progress := a.progress()
	defer progress.Clear()
	before := map[string]*sheet.Sheet{} // the last one of each kind
	for i, v := range list {
		progress.Tell(fmt.Sprintf("judging visit %d of %d", i+1, len(list)))
		row := report.Visit{Name: v.name, Date: v.day(), Found: v.found, Changes: []string{}}
		if v.sheet != nil {
			row.Title, row.Changes = v.sheet.Title, changesOf(v.sheet)
			row.Change, row.WhyNot = against(before[v.kind()], v.sheet, known)
			before[v.kind()] = v.sheet
		}
		if v.found == nil {
			row.Reached, row.Judged = reached[v.sheet], advice.Assess(v.sheet, advice.Options{})
		}
		h.Visits = append(h.Visits, row)
	}
	return h, nil
}

// reachedBy is how far each visit read from the open air.
func reachedBy(list []visit) map[*sheet.Sheet]*compare.Reached {
	by := map[*sheet.Sheet]*compare.Reached{}
	for i, r := range compare.Whole(sheetsOf(list)) {
		by[list[i].sheet] = r
	}
	return by
}

// against compares a visit with the one before, or says why that can't be; of the
// first there is nothing to say.
func against(before, now *sheet.Sheet, known *compare.History) (*compare.Comparison, string) {
	if before == nil {
		return nil, ""
	}
	c, err := compare.Sheets([]*sheet.Sheet{before, now}, compare.Options{History: known})
	if refusal, ok := errors.AsType[*compare.Refusal](err); ok {
		return c, refusal.What
	}
	return c, ""
}

func changesOf(s *sheet.Sheet) []string {
	out := []string{}
	for _, c := range s.Changes {
		out = append(out, strings.TrimPrefix(c.Component+": "+c.What, ": "))
	}
	return out
}

// show prints a page: well set on a terminal, plain lines elsewhere.
func (a *app) show(page string) error {
	page = terminal.Clean(page)
	if a.OutTTY {
		return a.read(page)
	}
	_, err := fmt.Fprint(a.Out, terminal.Plain(page, a.Width))
	return err
}
