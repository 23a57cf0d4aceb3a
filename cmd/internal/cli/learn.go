package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/learn"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
)

// learnEndings are those of the files of learn, with what they are.
var learnEndings = []ending{{".yaml", "for --priors"}, {endJSON, "for programs, and for --priors"}}

func (a *app) learn() *cobra.Command {
	var asJSON bool
	var out string
	cmd := &cobra.Command{
		Use:   "learn [DIR|FILE|RECORD...]",
		Short: "learn from your own cars what pieces usually cost",
		Long: "DIR is a folder of records, of test sheets, or of both; files and records can be named too; without any it is the folder of your records. From the finished tests in it dropwalk learns, by kind " +
			"and make of pieces, how their losses differ from the handbook's and how far they scatter, how often a piece is spoilt, and how far runs and " +
			"fittings scatter. With few cars all of that stays close to the handbook; the weight of your cars says how close.\n\n" +
			"Nothing of it is used by itself. --out writes a file; assess, report, start and compare take it with --priors, and every assessment made with " +
			"it says so. A record that was begun with it keeps it.\n\n" +
			"Left out, and named: tests that are not finished, whose readings contradict each other, that hold a doubtful reading, or that were practice. " +
			"Several visits of one car count once for its pieces.",
		Example: `dropwalk learn --out workshop.yaml
dropwalk learn sheets-of-2026 --out workshop.yaml
dropwalk assess sheet.yaml --priors workshop.yaml
dropwalk learn . --json`,
		Args: arguments(0, -1, "[DIR|FILE|RECORD...]"),
		RunE: func(_ *cobra.Command, args []string) error {
			fileJSON, err := formOf("file of priors", out, asJSON && out != "", learnEndings)
			if err != nil {
				return err
			}
			if len(args) == 0 {
				dir, err := a.folder()
				if err != nil {
					return err
				}
				args = []string{dir}
			}
			return a.learnFrom(args, out, asJSON, fileJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	cmd.Flags().StringVar(&out, "out", "", "`file` to write: "+endingWords(learnEndings)+"; an old one is replaced at one stroke")
	return cmd
}

func (a *app) learnFrom(words []string, out string, asJSON, fileJSON bool) error {
	g := &gathering{app: a}
	for _, word := range words {
		if err := g.take(word); err != nil {
			return err
		}
	}
	visits := g.judged()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	progress := a.progress()
	p, err := learn.Fit(ctx, visits, learn.Options{Progress: func(step, car int) { progress.Tell(fmt.Sprintf("going through the cars, round %d: %d", step, car)) }})
	progress.Clear()
	if err != nil {
		return err
	}
	p.Left = append(append([]learn.LeftOut{}, g.left...), p.Left...)
	if p.Cars == 0 {
		return input(fmt.Errorf("there is no car to learn from: of %s none counts", counted(len(p.Left), "test")), leftHint(p.Left))
	}
	return a.showLearnt(p, out, asJSON, fileJSON)
}

// leftHint names the first tests that were left out.
func leftHint(left []learn.LeftOut) string {
	var list []string
	for i, l := range left {
		if i == 3 {
			list = append(list, "...")
			break
		}
		list = append(list, l.Name+": "+l.Reason)
	}
	if len(list) == 0 {
		return "a folder of finished records, or of test sheets with readings"
	}
	return strings.Join(list, "; ")
}

func (a *app) showLearnt(p *learn.Priors, out string, asJSON, fileJSON bool) error {
	text := learn.Write(p)
	tree, faults := strictyaml.ParseYAML("priors", text, 1)
	if err := faults.Err(); err != nil {
		return err // what was written reads back
	}
	form := nodeJSON(tree)
	if asJSON && out == "" {
		return a.writeVersioned("learn", struct {
			Priors json.RawMessage `json:"priors"`
			Left   []learn.LeftOut `json:"left_out"`
		}{form, p.Left})
	}
	if fileJSON {
		text = append(form, '\n')
	}
	if err := a.show(learnPage(p)); err != nil || out == "" {
		return err
	}
	return a.save(out, text)
}

// gathering finds the tests that folders, files and records hold.
type gathering struct {
	*app
	found []learn.Visit
	left  []learn.LeftOut
}

// take takes what one argument calls.
func (g *gathering) take(word string) error {
	if info, err := os.Stat(word); err == nil && info.IsDir() {
		return g.folderOf(word)
	}
	src, err := g.findSource(word)
	if err != nil {
		return err
	}
	return g.one(src)
}

// folderOf takes every record and every sheet in a folder. What is neither is left out
// and named.
func (g *gathering) folderOf(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return plainPath(err)
	}
	progress := g.progress()
	defer progress.Clear()
	for i, e := range entries {
		ext := strings.ToLower(filepath.Ext(e.Name()))
		if e.IsDir() || !slices.Contains(sheetFiles, ext) {
			continue
		}
		progress.Tell(fmt.Sprintf("reading test %d of %d", i+1, len(entries)))
		path := filepath.Join(dir, e.Name())
		if !isFile(path) {
			g.leave(e.Name(), "it is no plain file") // a pipe would be waited for
			continue
		}
		isRecord, err := holdsRecord(path)
		if err == nil {
			err = g.one(source{name: path, path: path, isRecord: isRecord})
		}
		if err != nil {
			g.leave(e.Name(), err.Error())
		}
	}
	return nil
}

func (g *gathering) leave(name, reason string) {
	g.left = append(g.left, learn.LeftOut{Name: name, Reason: reason})
}

// one takes one record, or all sheets of one file.
func (g *gathering) one(src source) error {
	if src.isRecord {
		return g.record(src.path)
	}
	in := g.In
	if src.path != "" {
		file, err := os.Open(src.path)
		if err != nil {
			return plainPath(err)
		}
		defer file.Close()
		in = file
	}
	n := 0
	sheet.ReadAll(src.name, in, func(s *sheet.Sheet, faults strictyaml.Faults) bool {
		n++
		name := filepath.Base(src.name)
		if n > 1 {
			name = fmt.Sprintf("%s, sheet %d", name, n)
		}
		if s == nil {
			g.leave(name, "it is no test sheet: "+faults.Err().Error())
			return true
		}
		g.found = append(g.found, learn.Visit{Name: name, Sheet: s})
		return true
	})
	return nil
}

// record takes one record: a visit, or one for each block of a test before and after a
// change.
func (g *gathering) record(path string) error {
	name := record.Name(path)
	c, r, err := g.opened(path)
	if err != nil {
		return err
	}
	if isPractice(c.Header) {
		g.leave(name, "it is practice on a simulated car")
		return nil
	}
	if _, ended := r.run.Ended(); !ended {
		g.leave(name, "it is not finished")
		return nil
	}
	visits, err := g.recordVisits(path, c.Header.Created)
	if err != nil {
		return err
	}
	visits = slices.DeleteFunc(visits, func(v visit) bool { return v.sheet == nil })
	if len(visits) == 0 {
		g.leave(name, learn.NoReadings)
	}
	for i, v := range visits {
		if i > 0 {
			name = fmt.Sprintf("%s, block %d", record.Name(path), i+1)
		}
		g.found = append(g.found, learn.Visit{Name: name, Sheet: v.sheet})
	}
	return nil
}

// judged are the tests whose readings don't contradict each other, by the handbook.
func (g *gathering) judged() []learn.Visit {
	progress := g.progress()
	defer progress.Clear()
	var out []learn.Visit
	for i, v := range g.found {
		progress.Tell(fmt.Sprintf("judging test %d of %d", i+1, len(g.found)))
		if len(v.Sheet.Readings) > 0 && advice.Assess(v.Sheet, advice.Options{}).Verdict == assessment.Recheck {
			g.leave(v.Name, "its readings contradict each other")
			continue
		}
		out = append(out, v)
	}
	return out
}

// fewCars is how many cars say little (see TestThreeCarsHardlyMove of package learn).
const fewCars = 10

// learnPage is what was learnt, for people.
func learnPage(p *learn.Priors) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# What your cars say of pieces\n\nLearnt from %s. The weight says how far your cars count against the handbook: nought is the handbook, one is your cars alone.", counted(p.Cars, "car"))
	if p.Cars < fewCars {
		b.WriteString(" So few cars say little, and everything stays close to the handbook.")
	}
	b.WriteString("\n\n")
	b.WriteString("## What pieces cost\n\nFactor on the handbook's loss of a sound piece, with what holds it nine times in ten:\n\n| pieces | factor | holds it | number | weight |\n|---|---|---|---|---|\n")
	for _, g := range p.Groups {
		if g.Pieces == 0 {
			continue
		}
		low, high := g.Interval()
		fmt.Fprintf(&b, "| %s | %.2f | %.2f to %.2f | %d | %.0f %% |\n", groupName(g), g.Factor, low, high, g.Pieces, 100*g.Weight)
	}
	b.WriteString("\n## How far they scatter, and how often one is spoilt\n\n| kind | scatter, over the handbook's | spoilt | number |\n|---|---|---|---|\n")
	for _, k := range p.Kinds {
		fmt.Fprintf(&b, "| %s | %.2f | %.0f %% | %d |\n", k.Kind, k.Spread, 100*k.Spoilt, k.Pieces)
	}
	fmt.Fprintf(&b, "\n## Runs and fittings\n\n- Runs scatter %.2f times as far as usual; the weight of your cars is %.0f %%.\n", p.Runs.Scatter, 100*p.Runs.Weight)
	if p.Refits.Visits > 0 {
		fmt.Fprintf(&b, "- From one fitting to the next a block scatters by %.2g %% of the reading, as %d visits show; their weight is %.0f %%.\n", 100*p.Refits.Share, p.Refits.Visits, 100*p.Refits.Weight)
	} else {
		b.WriteString("- No two visits of one car with nothing changed between them show how far fitting scatters; the usual figure stays.\n")
	}
	learnLeft(&b, p.Left)
	b.WriteString("\nNothing of this is used by itself: `--priors FILE` does.\n")
	return terminal.Clean(b.String())
}

// groupName calls like pieces.
func groupName(g learn.Group) string {
	if g.Form == "" {
		return g.Kind
	}
	return g.Kind + ", " + strings.ReplaceAll(g.Form, "-", " ")
}

// mostLeft is how many tests that were left out are named on a page; the JSON form has
// all.
const mostLeft = 20

func learnLeft(b *strings.Builder, left []learn.LeftOut) {
	if len(left) == 0 {
		return
	}
	fmt.Fprintf(b, "\n## Left out\n\n")
	for i, l := range left {
		if i == mostLeft {
			fmt.Fprintf(b, "- and %d more; --json names all\n", len(left)-i)
			break
		}
		fmt.Fprintf(b, "- %s: %s\n", cellText(l.Name), cellText(l.Reason))
	}
}
