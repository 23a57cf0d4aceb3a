package cli

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/class"
	"dropwalk/advice/compare"
	"dropwalk/advice/picture"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/classroom"
	"dropwalk/cmd/internal/html"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
)

// summaryForm is how the summary of a class is shown.
type summaryForm struct {
	asJSON, names bool
	out, car      string
}

// summaryEndings are those of the files of a summary.
var summaryEndings = []ending{
	{endHTML, "a page in large type, for a screen that a whole class sees"}, {endMarkdown, "Markdown"}, {endText, "plain text"},
	{endCSV, "a row for each group and pair"}, {endJSON, "for programs"},
}

func (a *app) classSummary() *cobra.Command {
	var form summaryForm
	cmd := &cobra.Command{
		Use:   "summary DIR",
		Short: "say how well runs and groups agree, and which tap to look at",
		Long: "For each pair of stations that two groups or more read: how far runs scatter and how far groups (ISO 5725-2), each group against the median of the class, and what " +
			"stands out (Cochran, Grubbs, Mandel), which is flagged and never left out. What points to a single tap is named. People are called by ids unless --names is given; " +
			"then the page is for the instructor.\n\nThe table (.csv) has the columns from, to, group, runs, mean_pa, sd_pa, from_median_pa, from_median_mads, h, k, flags. The JSON form " +
			"is what dropwalk compare --class takes.",
		Example: `dropwalk class summary autumn
dropwalk class summary autumn --out summary.html
dropwalk class summary autumn --names --out for-me.html
dropwalk class summary autumn --json > class.json`,
		Args: arguments(1, 1, "DIR"),
		RunE: func(_ *cobra.Command, args []string) error {
			asJSON, err := formOf("summary", form.out, form.asJSON, summaryEndings)
			if err != nil {
				return err
			}
			form.asJSON = asJSON
			return a.summariseClass(args[0], form)
		},
	}
	cmd.Flags().BoolVar(&form.asJSON, "json", false, "print one JSON object")
	cmd.Flags().BoolVar(&form.names, "names", false, "say who is in each group: for the instructor, not for a screen")
	cmd.Flags().StringVar(&form.car, "about", "", "`name` of the car, where the class tested several; usually that of most groups")
	cmd.Flags().StringVar(&form.out, "out", "", "`file` to write: "+endingWords(summaryEndings)+"; an old one is replaced at one stroke")
	return cmd
}

func (a *app) summariseClass(dir string, form summaryForm) error {
	units, err := a.system()
	if err != nil {
		return err
	}
	c, err := classroom.Open(dir)
	if err != nil {
		return classFault(err)
	}
	room := report.ClassRoom{Title: c.Title, Code: c.ID, Groups: c.GroupNames()}
	if form.names {
		if room.Members, err = members(dir, c); err != nil {
			return classFault(err)
		}
	}
	doc, unit, err := a.judgeClass(dir, c, form.car)
	if err != nil {
		return err
	}
	if form.asJSON {
		line, err := jsonLine(doc)
		if err != nil {
			return err
		}
		return a.put(form.out, line)
	}
	width := a.Width
	if form.out != "" {
		width = reportWidth
	}
	show := report.Options{Units: units, Gauge: unit, Pictures: report.Drawn, Columns: min(width, reportWidth) - codeIndent}
	if a.spoken() && endOf(form.out) != endHTML {
		show.Pictures = report.Told
	}
	return a.showClass(doc, room, form, show)
}

func (a *app) showClass(doc *class.Class, room report.ClassRoom, form summaryForm, show report.Options) error {
	page := terminal.Clean(report.Class(doc, room, show))
	switch endOf(form.out) {
	case endHTML:
		images := map[string]string{}
		for _, p := range report.ClassPictures(doc, show) {
			images[report.PictureBlock+p.Name] = picture.SVG(p, false)
		}
		text, err := html.Page(page, html.Options{Images: images, Style: picture.Style, Large: !form.names})
		if err != nil {
			return err
		}
		return a.put(form.out, text)
	case endCSV:
		return a.put(form.out, report.ClassCSV(doc))
	case endMarkdown:
		return a.put(form.out, []byte(page))
	case endText:
		return a.put(form.out, []byte(terminal.Plain(page, reportWidth)))
	}
	return a.show(page)
}

func members(dir string, c *classroom.Class) (map[string][]report.Member, error) {
	names, err := classroom.Names(dir)
	if err != nil {
		return nil, err
	}
	out := map[string][]report.Member{}
	for _, g := range c.Groups {
		for _, p := range g.People {
			out[g.Name] = append(out[g.Name], report.Member{ID: p.ID, Name: names[p.ID]})
		}
	}
	return out, nil
}

// gathered is what the sheets of one car in a class say.
type gathered struct {
	class.Gatherer
	unit string // of the first gauge
}

// takenIn is what one record says, or why it says nothing.
type takenIn struct {
	car   *gathered
	said  class.Said
	fault error
}

// judgeClass makes sheets of the records that may count, one at a time, and judges what
// those say that do.
func (a *app) judgeClass(dir string, c *classroom.Class, car string) (*class.Class, string, error) {
	readers := make(chan *app, idleReaders)
	var cars []*gathered
	visits := map[int]takenIn{}
	type read struct {
		sheet *sheet.Sheet
		fault error
	}
	got, err := a.collected(dir, c, classroom.Visitor{
		Read: func(i *classroom.Item, content *record.Content) any {
			reader := a.reader(readers)
			s, fault := reader.sheetOfItem(i.Record, content)
			select {
			case readers <- reader:
			default:
			}
			return read{s, fault}
		},
		Keep: func(at int, v any) {
			r := v.(read)
			if r.fault != nil {
				visits[at] = takenIn{fault: r.fault}
				return
			}
			of := carOf(&cars, r.sheet)
			visits[at] = takenIn{car: of, said: of.Take(r.sheet)}
		},
	})
	if err != nil {
		return nil, "", err
	}
	for k := range got.Items {
		i := &got.Items[k]
		switch v := visits[i.At]; {
		case !i.Counts:
		case v.fault != nil:
			i.Exclude(classroom.NoReadings, strings.ReplaceAll(v.fault.Error(), "\n", "; "))
		default:
			v.car.Add(i.Group, v.said)
		}
	}
	chosen, err := chooseCar(cars, car)
	if err != nil {
		return nil, "", err
	}
	for k := range got.Items {
		i := &got.Items[k]
		if v := visits[i.At]; i.Counts && v.car != chosen {
			i.Exclude(classroom.OtherCar, fmt.Sprintf("a test of the car %s, and this summary is about %s", v.car.Car(), chosen.Car()))
		}
	}
	doc := chosen.Judge()
	doc.Missing = append(doc.Missing, got.Lacking()...)
	for _, i := range got.Items {
		doc.HandIns = append(doc.HandIns, handedIn(i))
	}
	return doc, chosen.unit, nil
}

// handedIn is a file as the document of the class has it.
func handedIn(i classroom.Item) class.HandIn {
	in := class.HandIn{File: i.File, Group: i.Group, Record: i.Record, Code: i.Code, Counts: i.Counts, Remarks: []class.Note{}}
	for _, r := range i.Remarks {
		in.Remarks = append(in.Remarks, class.Note{Code: r.Code, Text: r.Text})
	}
	return in
}

// idleReaders is how many readers wait for work at the most.
const idleReaders = 16

// reader is an app of a thread's own: it keeps the procedures that it has read, and
// says nothing.
func (a *app) reader(idle chan *app) *app {
	select {
	case r := <-idle:
		return r
	default:
	}
	r := *a
	r.loaded, r.known, r.Err, r.In = nil, session.Known{}, io.Discard, strings.NewReader("")
	return &r
}

// sheetOfItem is the sheet of a record that was handed in; of one before and after a
// change it is the car as it was.
func (a *app) sheetOfItem(name string, c *record.Content) (*sheet.Sheet, error) {
	r, err := a.rebuild(name, c.Lines)
	if err != nil {
		return nil, err
	}
	entries := r.run.Entries()
	if blocks := advice.Blocks(entries); len(blocks) > 0 {
		entries = blocks[0].Entries
	} else {
		entries = advice.SheetEntries(entries)
	}
	s, faults := sheet.FromEntries(entries)
	if fault := faults.Err(); fault != nil {
		if missing := lacking(entries); len(missing) > 0 {
			return nil, fmt.Errorf("the test has not come far enough; still missing: %s", strings.Join(missing, ", "))
		}
		return nil, errors.New("the record makes no test sheet")
	}
	if len(s.Readings) == 0 {
		return nil, errors.New("the test has no readings yet")
	}
	return s, nil
}

// carOf finds the car of a sheet among those so far. A sheet that names no car may be
// of any.
func carOf(cars *[]*gathered, s *sheet.Sheet) *gathered {
	for _, g := range *cars {
		if compare.SameCar(g.Car(), s.Car.Name) {
			return g
		}
	}
	g := &gathered{}
	if len(s.Gauges) > 0 {
		g.unit = s.Gauges[0].Range.Unit
	}
	*cars = append(*cars, g)
	return g
}

// chooseCar is the car of a name, or that of most groups; an empty one where nothing
// was read at all.
func chooseCar(cars []*gathered, name string) (*gathered, error) {
	var names []string
	best := &gathered{}
	for _, g := range cars {
		names = append(names, g.Car())
		if name != "" && compare.SameCar(g.Car(), name) {
			return g, nil
		}
		if g.Groups() > best.Groups() {
			best = g
		}
	}
	if name != "" {
		return nil, &usageError{fmt.Sprintf("--about: no group tested a car called %q", name), "one of: " + strings.Join(names, ", ")}
	}
	return best, nil
}
