package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"dropwalk/advice/class"
	"dropwalk/advice/report"
	"dropwalk/cmd/internal/classroom"
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
		Long: "For each pair of stations that two groups or more read: how far runs scatter and how far groups (ISO 5725-2), each group against the median of the groups, and what " +
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
		return a.putJSON(form.out, doc)
	}
	show := a.drawn(report.Options{Units: units, Gauge: unit}, form.out)
	return a.showClass(doc, room, form, show)
}

// showClass prints or writes a summary in the form that was asked for.
func (a *app) showClass(doc *class.Class, room report.ClassRoom, form summaryForm, show report.Options) error {
	if endOf(form.out) == endCSV {
		return a.put(form.out, report.ClassCSV(doc))
	}
	o := illustrated(report.ClassPictures(doc, show))
	o.Large = !form.names
	if form.names {
		o.Style += instructorStyle
	}
	return a.putPage(form.out, report.Class(doc, room, show), o)
}

// instructorStyle frames the word at the top of the page that names people, and the
// whole page, so that nobody takes it for the one that is projected.
const instructorStyle = `
main{border:6px double currentColor}
blockquote{margin:0 0 1rem;padding:.6rem 1rem;border:3px solid currentColor;font-size:1.15em}
blockquote p{margin:0}
`

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

// judgeClass judges what the records say that count.
func (a *app) judgeClass(dir string, c *classroom.Class, car string) (*class.Class, string, error) {
	in, err := a.cameIn(dir, c)
	if err != nil {
		return nil, "", err
	}
	chosen, err := chooseCar(in.cars, car)
	if err != nil {
		return nil, "", err
	}
	for k := range in.Items {
		i := &in.Items[k]
		if of := in.visits[i.At].car; i.Counts && of != chosen {
			i.Exclude(classroom.OtherCar, fmt.Sprintf("a test of the car %s, and this summary is about %s", of.Car(), chosen.Car()))
		}
	}
	doc := chosen.Judge()
	doc.Missing = append(doc.Missing, in.Lacking()...)
	for _, i := range in.Items {
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
