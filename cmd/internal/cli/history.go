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
	begun time.Time // of a record
	sheet *sheet.Sheet
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
			if len(args) == 1 && !isPath(arg) && !errors.Is(err, errSimulated) {
				return nil, input(fmt.Errorf("there is no car and no record %q", arg), "dropwalk records lists the records; each begins with the name of its car")
			}
			return nil, err
		}
		list = append(list, more...)
	}
	inOrder(list)
	return list, nil
}

// visitsOf are the records of one car that make a sheet, in the order of their
// dates.
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
// a test before and after a change; none without a reading.
func (a *app) recordVisits(path string, begun time.Time) ([]visit, error) {
	blocks, err := a.blocksOf(path)
	if err != nil || len(blocks) > 0 {
		return blocks, err
	}
	s, err := a.sheetOf(path)
	if err != nil || len(s.Readings) == 0 {
		return nil, err
	}
	return []visit{{record.Name(path), path, begun, s}}, nil
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
		return cmp.Or(cmp.Compare(x.sheet.Date, y.sheet.Date), x.begun.Compare(y.begun))
	})
}

// visited is one visit for machines.
type visited struct {
	Name      string              `json:"name"`
	Title     string              `json:"title"`
	Date      string              `json:"date"`
	Changes   []string            `json:"changes"`
	To        *string             `json:"to"`         // the farthest station that was read from the open air
	Read      *float64            `json:"reading_pa"` // mean, at the reference point of the first visit
	Runs      int                 `json:"runs"`
	TotalLoss assessment.Estimate `json:"total_loss_pa"`
	Verdict   string              `json:"verdict"`
	Attack    *string             `json:"attack"`
	Compared  *compare.Comparison `json:"compared"` // with the visit before
	WhyNot    string              `json:"not_compared"`
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
		row := visited{Name: v.Name, Title: v.Title, Date: v.Date, Changes: v.Changes, TotalLoss: v.Judged.TotalLoss, Verdict: v.Judged.Verdict,
			Attack: v.Judged.Attack, Compared: v.Change, WhyNot: v.WhyNot}
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
		if len(v.sheet.Gauges) > 0 {
			return v.sheet.Gauges[0].Range.Unit
		}
	}
	return ""
}

// told is the history of the visits, each judged and compared with the one before.
func (a *app) told(list []visit) (*report.CarHistory, error) {
	h := &report.CarHistory{Refit: []compare.Fitted{}}
	var sheets []*sheet.Sheet
	for _, v := range list {
		if name := v.sheet.Car.Name; h.Car == "" {
			h.Car = name
		} else if !compare.SameCar(name, h.Car) {
			return nil, input(fmt.Errorf("these are visits of two cars: %q and %q", h.Car, name), "visits of one car")
		}
		sheets = append(sheets, v.sheet)
	}
	known := compare.NewHistory(sheets)
	h.Refit = append(h.Refit, known.Spans...)
	reached := compare.Whole(sheets)
	progress := a.progress()
	defer progress.Clear()
	for i, v := range list {
		progress.Tell(fmt.Sprintf("judging visit %d of %d", i+1, len(list)))
		row := report.Visit{Name: v.name, Date: v.sheet.Date, Title: v.sheet.Title, Changes: changesOf(v.sheet), Reached: reached[i], Judged: advice.Assess(v.sheet, advice.Options{})}
		if i > 0 {
			c, err := compare.Sheets(sheets[i-1:i+1], compare.Options{History: known})
			if refusal, ok := errors.AsType[*compare.Refusal](err); ok {
				row.WhyNot = refusal.What
			}
			row.Change = c
		}
		h.Visits = append(h.Visits, row)
	}
	return h, nil
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
