package cli

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/terminal"
)

// demoSheet is the sheet of a finished visit to a car that nobody owns.
//
//go:embed demo/yellow-estate.yaml
var demoSheet []byte

const demoFile = "yellow-estate.yaml"

func (a *app) demo() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "show an invented test that is finished, from the car to the advice",
		Long:  "The car and its readings are invented. What they mean is worked out here and now, as for any other sheet.",
		Example: `dropwalk demo
dropwalk demo --units metric
dropwalk demo --json`,
		Args: arguments(0, 0, "[OPTION...]"),
		RunE: func(*cobra.Command, []string) error {
			units, err := a.system()
			if err != nil {
				return err
			}
			s, faults := sheet.Read(demoFile, demoSheet)
			if err := faults.Err(); err != nil {
				return err
			}
			judged := advice.Assess(s, advice.Options{})
			if asJSON {
				return a.demoJSON(s, judged)
			}
			return a.read(demoPage(s, judged, report.Options{Units: units}))
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with the sheet and its assessment")
	return cmd
}

func (a *app) demoJSON(s *sheet.Sheet, judged *assessment.Assessment) error {
	form, err := sheetJSON(s)
	if err != nil {
		return err
	}
	return a.writeVersioned("demo", struct {
		Invented   bool                   `json:"invented"`
		Sheet      json.RawMessage        `json:"sheet"`
		Assessment *assessment.Assessment `json:"assessment"`
	}{true, form, judged})
}

// demoPage is the whole example in Markdown.
func demoPage(s *sheet.Sheet, judged *assessment.Assessment, o report.Options) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# A finished test\n\n**This example is invented: no such car, no such visit.** It shows what a test comes to. "+
		"The judgement below is worked out from the readings, as for your own car.\n\n")
	fmt.Fprintf(&b, "## The car\n\n%s\n\n", demoCar(s))
	fmt.Fprintf(&b, "## The path\n\nFrom the open air to the throttle:\n\n%s\n", demoPath(s))
	fmt.Fprintf(&b, "## The readings, as they were typed\n\nEach is one run at full load: the pressure at the first place less that at the second.\n\n%s\n", demoReadings(s))
	means, advised := standing(judged, s, o)
	fmt.Fprintf(&b, "## What they mean\n\n%s\n\n## The advice\n\n%s\n\n", means, advised)
	b.WriteString(demoOwn)
	return b.String()
}

// demoOwn says how to come to such a page.
const demoOwn = `## The same for your car

- ` + "`dropwalk start`" + ` leads you through it. Have a low-range gauge, a soft hose and a second person.
- ` + "`dropwalk resume`" + ` goes on after a pause.
- ` + "`dropwalk report NAME`" + ` says what it comes to.
- ` + "`dropwalk help cautions`" + ` is to be read before the first run.
`

// standing is what the readings mean, and the advice, as the program words them
// elsewhere. Each paragraph comes once; the verdict opens the advice.
func standing(judged *assessment.Assessment, s *sheet.Sheet, o report.Options) (means, advised string) {
	first, second := paragraphs(report.Plain(judged, s, o)), paragraphs(report.Advice(judged, s, o))
	verdict := second[0]
	first = without(first, []string{verdict})
	return strings.Join(first, "\n\n"), strings.Join(append([]string{verdict}, without(second[1:], first)...), "\n\n")
}

// paragraphs are those of a text of package report, without its title.
func paragraphs(text string) []string {
	return strings.Split(strings.TrimSpace(text), "\n\n")[1:]
}

func without(list, known []string) []string {
	return slices.DeleteFunc(list, func(p string) bool { return slices.Contains(known, p) })
}

func demoCar(s *sheet.Sheet) string {
	e := s.Car.Engine
	return fmt.Sprintf("%s: %s, %d cylinders, %s, %s induction, %s at its peak. Visited on %s, on a closed %s, at %s, %s, %s humidity.",
		s.Car.Name, e.Displacement.Raw, e.Cylinders, e.Fuel, e.Induction, e.PeakPower.Raw,
		s.Date, s.Place, s.Air.Temperature.Raw, s.Air.Pressure.Raw, s.Air.Humidity.Raw)
}

func demoPath(s *sheet.Sheet) string {
	var b strings.Builder
	for _, c := range s.Path {
		parts := []string{c.Kind}
		if c.Diameter.Given() {
			parts = append(parts, c.Diameter.Raw+" bore")
		}
		if c.Length.Given() {
			parts = append(parts, c.Length.Raw+" long")
		}
		for _, word := range []string{c.Surface, c.Edge} {
			if word != "" {
				parts = append(parts, word)
			}
		}
		for _, bend := range c.Bends {
			parts = append(parts, "a bend of "+bend.Angle.Raw)
		}
		if c.Face.Given() {
			parts = append(parts, c.Face.Raw+" of face")
		}
		fmt.Fprintf(&b, "- %s: %s\n", c.Name, strings.Join(parts, ", "))
	}
	return b.String()
}

func demoReadings(s *sheet.Sheet) string {
	var b strings.Builder
	b.WriteString("| run | from | to | reading | rpm |\n|---|---|---|---|---|\n")
	for _, r := range s.Readings {
		fmt.Fprintf(&b, "| %d | %s | %s | %s | %s |\n", r.Run, r.From, r.To, terminal.CleanLine(r.Value.Raw), plain(r.RPM))
	}
	return b.String()
}
