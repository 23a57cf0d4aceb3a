package cli

import (
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice/picture"
	"dropwalk/advice/pulls"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/html"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/quantity"
	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
)

// pullsRule is the rule by which pulls are found, as the help has it. The
// figures are those of the package pulls.
const pullsRule = `FILE is the text that a recorder wrote, a table with time, engine speed and whatever else it logged; - is standard input. Any delimiter, decimal sign and coding will do. It is read once, in constant memory.

What each column tells follows from its name and its unit, and from what it does. The page shows what was taken for what; --column ROLE=NAME says otherwise. Roles: time, rpm, load (pedal, throttle, manifold pressure), pressure (the gauge on the intake path), speed, flow. A unit can stand behind the name: --column "pressure=Sensor 2 [mbar]".

A stretch is a full-load pull where all of this holds:

- The engine speed rises, without falling back by more than 2 %, by a fifth of its own span in this log.
- Every channel that tells the load stands in the upper quarter of its own span: from the level below which it stays for a twentieth of the time to the highest that it holds for 3 s in all.
- It holds 5 fresh samples of engine speed, and lasts 1.5 s. A value that is only held is no sample.
- Air flow and pressure, where they are logged, rise with the engine speed.

A channel that stands high while the engine idles, as a diesel's throttle plate does, or that never moves, can't tell full load: it is rejected, with the reason. Without any, the air that the engine takes per turn stands in; without that too, the pull is doubtful.

Pressure is zeroed where the engine stands, else where it idles. It is fitted over engine speed and read at --rpm, with an interval of 95 %. --into adds the readings to a test sheet, whose rpm of the reference then counts.`

// pullsOptions are what the command line says.
type pullsOptions struct {
	columns  []string
	rpm      string
	asJSON   bool
	into     string
	out      string
	from, to string
	gauge    string
}

func (a *app) pulls() *cobra.Command {
	var o pullsOptions
	cmd := &cobra.Command{
		Use:   "pulls FILE...",
		Short: "find full-load pulls in a recorder's log, and read pressures from them",
		Long:  pullsRule,
		Example: `dropwalk pulls log.csv
dropwalk pulls log.csv --column "pressure=Sensor 2 [mbar]" --rpm 6000
dropwalk pulls log.csv --out pulls.html
dropwalk pulls log.csv --into sheet.yaml --to tube --gauge g25
dropwalk pulls --json - < log.csv`,
		Args: arguments(1, -1, "FILE..."),
		RunE: func(_ *cobra.Command, args []string) error { return a.findPulls(args, o) },
	}
	flags := cmd.Flags()
	flags.StringArrayVar(&o.columns, "column", nil, "`role=name` of a column, where its name doesn't say what it tells; as often as needed")
	flags.StringVar(&o.rpm, "rpm", "", "engine `speed` at which pressure is read; by default that of the sheet, else the highest hundred that every pull reaches")
	flags.BoolVar(&o.asJSON, "json", false, "print one JSON object a log, one a line")
	flags.StringVar(&o.into, "into", "", "`file` of a test sheet that the readings are added to; what it holds stays")
	flags.StringVar(&o.out, "out", "", "`file` to write: "+endingWords(pullsEndings)+"; with --into, the file for the sheet with the readings, where the old one is to stay as it is")
	flags.StringVar(&o.from, "from", sheet.OpenAir, "`station` upstream of the gauge")
	flags.StringVar(&o.to, "to", "", "`station` downstream of the gauge")
	flags.StringVar(&o.gauge, "gauge", "", "`name` of the gauge in the sheet, or of a card, which is then added to it")
	return cmd
}

// The least and the most engine speed that is taken at --rpm.
const leastRPM, mostRPM = 300, 25000

// settings are what the command line says of the logs.
func (o *pullsOptions) settings() (pulls.Options, error) {
	var out pulls.Options
	if o.rpm != "" {
		amount, err := quantity.Read(o.rpm, quantity.Want{Kind: quantity.Rotation, Unit: "rpm"})
		if err != nil {
			return out, fmt.Errorf("--rpm: %w", err)
		}
		if out.RPM = amount.SI; out.RPM < leastRPM || out.RPM > mostRPM {
			return out, &usageError{fmt.Sprintf("--rpm: %q is not possible", o.rpm), fmt.Sprintf("from %d to %d", leastRPM, mostRPM)}
		}
	}
	for _, text := range o.columns {
		choice, what, hint := pulls.ParseChoice(text)
		if what != "" {
			return out, &usageError{"--column: " + what, hint}
		}
		out.Columns = append(out.Columns, choice)
	}
	return out, nil
}

func (a *app) findPulls(files []string, o pullsOptions) error {
	settings, err := o.settings()
	if err != nil {
		return err
	}
	units, err := a.system()
	if err != nil {
		return err
	}
	form, err := o.form()
	if err != nil {
		return err
	}
	target, err := a.pullsTarget(o)
	if err != nil {
		return err
	}
	for _, file := range files {
		if sameFile(form.out, file) {
			return &usageError{fmt.Sprintf("--out %s would replace the log", form.out), "another file name"}
		}
	}
	if target != nil && o.rpm == "" {
		settings.RPM = target.old.Reference.RPM
	}
	var bad error
	var page pulledPage
	for i, file := range files {
		result, err := a.readLog(file, settings)
		if err != nil {
			a.complain(err)
			bad = shown(err)
			continue
		}
		if err := a.addPulls(&page, result, form, i, units); err != nil {
			return err
		}
		if target != nil {
			if err := target.add(result); err != nil {
				return err
			}
		}
	}
	if err := a.putPulls(&page, form); err != nil {
		return err
	}
	if target == nil || bad != nil {
		return bad
	}
	return a.savePulls(target)
}

// readLog reads one log. What could not be read in it goes to standard error.
func (a *app) readLog(file string, o pulls.Options) (*pulls.Result, error) {
	in, name := a.In, "stdin"
	var size int64
	if file != "-" {
		f, err := os.Open(file)
		if err != nil {
			return nil, plainPath(err)
		}
		defer f.Close()
		if info, err := f.Stat(); err == nil {
			size = info.Size()
		}
		in, name = f, file
	}
	progress := a.progress()
	result, warnings, err := pulls.Read(name, &progressReader{in: in, size: size, tell: progress.Tell}, o)
	progress.Clear()
	if faults, ok := err.(strictyaml.Faults); ok {
		return nil, faults
	}
	if err != nil {
		return nil, plainPath(err)
	}
	printFaults(a.Err, warnings)
	return result, nil
}

// progressReader tells how much of a long log is read.
type progressReader struct {
	in   io.Reader
	size int64
	done int64
	told int64
	tell func(string)
}

// A long log is told of at every so many bytes.
const progressBytes = 64 << 20

func (p *progressReader) Read(b []byte) (int, error) {
	n, err := p.in.Read(b)
	p.done += int64(n)
	if p.done-p.told >= progressBytes {
		p.told = p.done
		if p.size > 0 {
			p.tell(fmt.Sprintf("%d %% of the log", 100*p.done/p.size))
		} else {
			p.tell(fmt.Sprintf("%d MB of the log", p.done>>20))
		}
	}
	return n, err
}

// pullsEndings are those of the files of a page on pulls, with what they are.
var pullsEndings = []ending{
	{endMarkdown, "Markdown"}, {endText, "plain text"}, {endHTML, "a page for a browser and for paper, with pictures"}, {endJSON, "for programs, one object a log"},
}

// form is how the pulls are shown. With --into, what --out names is the sheet, and the
// page goes to standard output.
func (o *pullsOptions) form() (comparedForm, error) {
	if o.into == "" {
		asJSON, err := formOf("page on pulls", o.out, o.asJSON, pullsEndings)
		return comparedForm{asJSON, o.out}, err
	}
	if end := endOf(o.out); end == endHTML || end == endMarkdown {
		return comparedForm{}, &usageError{fmt.Sprintf("--out %s: with --into it names the sheet, and no sheet has the ending %q", o.out, end), "leave out --into for the page; .yaml or .json for the sheet"}
	}
	return comparedForm{asJSON: o.asJSON}, nil
}

// pulledPage gathers what is said of the logs, where it goes to a file.
type pulledPage struct {
	text   strings.Builder
	images map[string]string
}

// addPulls shows what one log holds, or adds it to the page that is written.
func (a *app) addPulls(page *pulledPage, r *pulls.Result, form comparedForm, number int, units quantity.System) error {
	if form.asJSON && form.out == "" {
		return a.writeJSON(r)
	}
	if form.asJSON {
		line, err := jsonLine(r)
		page.text.Write(line)
		return err
	}
	width, asHTML := a.Width, endOf(form.out) == endHTML
	if form.out != "" {
		width = reportWidth
	}
	pictures := pullsPictures(r, units, number)
	text := terminal.Clean(pullsPage(r, units, pullsBlocks(pictures, a.spoken() && !asHTML, min(width, reportWidth)-codeIndent)))
	if form.out == "" {
		if number > 0 {
			fmt.Fprintln(a.Out)
		}
		_, err := io.WriteString(a.Out, terminal.Plain(text, width))
		return err
	}
	page.text.WriteString(text)
	if page.images == nil {
		page.images = map[string]string{}
	}
	for _, p := range pictures {
		page.images[report.PictureBlock+p.Name] = picture.SVG(p, false)
	}
	return nil
}

// putPulls writes the page to the file that was asked for.
func (a *app) putPulls(page *pulledPage, form comparedForm) error {
	if form.out == "" || page.text.Len() == 0 {
		return nil
	}
	text := []byte(page.text.String())
	if !form.asJSON {
		var err error
		if text, err = formed(page.text.String(), endOf(form.out), html.Options{Images: page.images, Style: picture.Style}); err != nil {
			return err
		}
	}
	return a.save(form.out, text)
}

// pullsTarget is the sheet that readings are added to, nil where none is asked
// for. What doesn't fit it is told before a log is read.
func (a *app) pullsTarget(o pullsOptions) (*pullsSheet, error) {
	if o.into == "" {
		for _, said := range []struct{ option, value string }{{"--to", o.to}, {"--gauge", o.gauge}} {
			if said.value != "" {
				return nil, &usageError{said.option + " says where readings go, and there is no sheet for them", "--into SHEET"}
			}
		}
		return nil, nil
	}
	src, err := os.ReadFile(o.into)
	if err != nil {
		return nil, plainPath(err)
	}
	old, err := a.soleSheet(o.into, strings.NewReader(string(src)))
	if err != nil {
		return nil, err
	}
	t := &pullsSheet{path: o.into, out: o.out, src: src, old: old, from: o.from, to: o.to, gauge: o.gauge}
	if t.out == "" {
		t.out = o.into
	}
	return t, t.check(a.cards())
}

// check holds what was said of the gauge and its stations against the sheet. A
// gauge that the sheet doesn't have can have a card.
func (t *pullsSheet) check(cards []sheet.Card) error {
	stations := t.old.Stations()
	if t.to == "" {
		return &usageError{"--into needs to know between which stations the gauge was", "--to STATION, one of: " + strings.Join(stations[1:], ", ")}
	}
	for _, s := range []struct{ option, name string }{{"--from", t.from}, {"--to", t.to}} {
		if !slices.Contains(stations, s.name) {
			return &usageError{fmt.Sprintf("%s: the sheet has no station %q", s.option, s.name), nearestOf(s.name, stations)}
		}
	}
	if t.old.Index(t.from) >= t.old.Index(t.to) {
		return &usageError{fmt.Sprintf("%q doesn't stand upstream of %q", t.from, t.to), "name them in the direction of flow"}
	}
	var gauges, known []string
	for _, g := range t.old.Gauges {
		gauges = append(gauges, g.Name)
	}
	for _, c := range cards {
		known = append(known, c.Name)
		if c.Name == t.gauge && !slices.Contains(gauges, t.gauge) {
			t.card = &c
		}
	}
	switch {
	case t.card != nil:
	case t.gauge != "" && !slices.Contains(gauges, t.gauge):
		return &usageError{fmt.Sprintf("--gauge: neither the sheet nor a card has a gauge %q", t.gauge), nearestOf(t.gauge, append(gauges, known...))}
	case t.gauge == "" && len(gauges) > 1:
		return &usageError{"the sheet has several gauges", "--gauge, one of: " + strings.Join(gauges, ", ")}
	case t.gauge == "" && len(gauges) == 1:
		t.gauge = gauges[0]
	}
	return nil
}

func nearestOf(word string, known []string) string {
	if near, ok := spell.Nearest(word, known); ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	if len(known) == 0 {
		return "it has none; leave the option out"
	}
	return "one of: " + strings.Join(known, ", ")
}
