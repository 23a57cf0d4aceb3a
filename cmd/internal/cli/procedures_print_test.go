package cli

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/cmd/internal/worksheet"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/rules"
	"dropwalk/engine/subject"
)

// paperOf is the worksheet of a procedure that comes with the program.
func paperOf(t *testing.T, name string, brief bool) (*engine.Procedure, string) {
	t.Helper()
	p, err := findProcedure(name, quantity.AsTyped)
	if err != nil {
		t.Fatal(err)
	}
	return p, worksheet.Markdown(p, worksheet.Options{Matter: &advice.Matter{}, Brief: brief})
}

func leaves(list []*engine.Step, visit func(*engine.Step)) {
	for _, s := range list {
		if s.Kind != engine.Rounds && s.Kind != engine.Checks {
			visit(s)
		}
		leaves(s.Each, visit)
	}
}

// Whoever works with the paper misses nothing that the screen would ask: every
// step stands on it under its number, each caution before its step, each line of
// a hold, and every undo in the list at the end.
func TestWorksheetHasEveryStep(t *testing.T) {
	for _, name := range shipped() {
		for _, brief := range []bool{false, true} {
			p, paper := paperOf(t, name, brief)
			body, closing, found := strings.Cut(paper, "Put back everything that was done")
			if !found {
				t.Fatalf("%s has no list of what is put back", name)
			}
			at := 0
			for _, part := range p.Parts {
				leaves(part.Steps, func(s *engine.Step) {
					if needsASheet(s) {
						return
					}
					if s.When != nil && slices.Contains(s.When.Facts(), "block") {
						// It stands in the block in which it comes, which may not be the first.
						if strings.Count(paper, "**"+s.Number+"** ") < 1 {
							t.Errorf("%s, brief %v: step %s (%s) is missing", name, brief, s.Number, s.ID)
						}
						return
					}
					next := strings.Index(paper[at:], "**"+s.Number+"**")
					if next < 0 {
						t.Fatalf("%s, brief %v: step %s (%s) doesn't stand behind the one before", name, brief, s.Number, s.ID)
					}
					for _, n := range s.Notices {
						if !strings.Contains(paper[at:at+next], "**"+strings.ToUpper(n.Level)+": "+n.From) {
							t.Errorf("%s, brief %v: step %s lacks its %s ahead of it", name, brief, s.Number, n.Level)
						}
					}
					at += next
					for _, line := range s.Lines {
						if !strings.Contains(paper[at:], line+"\n") {
							t.Errorf("%s, brief %v: the hold %s lacks %q", name, brief, s.Number, line)
						}
					}
					if undo, _, _ := strings.Cut(s.Undo, "{"); !strings.Contains(closing, undo) {
						t.Errorf("%s, brief %v: %q isn't put back at the end", name, brief, s.Undo)
					}
				})
			}
			if strings.Contains(body, "{") {
				t.Errorf("%s: a name in braces stands on the paper", name)
			}
		}
	}
}

// needsASheet tells whether a step only comes where an earlier sheet brings
// something.
func needsASheet(s *engine.Step) bool {
	matter := &advice.Matter{}
	return s.When != nil && s.When.Eval(func(name string) subject.Value {
		if f, _ := matter.Fact(name); f.Brought {
			return matter.Look(nil).Value(name)
		}
		return subject.Value{}
	}) == rules.False
}

// The numbers on paper are those on the screen.
func TestNumbersAreThoseOfTheScreen(t *testing.T) {
	p, paper := paperOf(t, usualProcedure, false)
	j := engine.NewRun(p, &advice.Matter{})
	j.Apply(j.Start(nil))
	shown := 0
	through(t, j, func(open engine.Prompt) (engine.Answer, bool) {
		var screen strings.Builder
		lines := terminal.NewLines(terminal.Streams{In: strings.NewReader("pause\n"), Err: &screen, Width: 80})
		_, _ = lines.Ask(t.Context(), open, nil)
		text, _, _ := strings.Cut(open.Text, " ")
		if open.Kind != engine.Show && !strings.Contains(screen.String(), "\n"+open.Number+" "+text) {
			t.Errorf("%s is not shown under its number %q:\n%s", open.Step, open.Number, screen.String())
		}
		if !strings.Contains(paper, "**"+open.Number+"** ") {
			t.Errorf("%s (%s) is not on the paper", open.Number, open.Step)
		}
		shown++
		return engine.Answer{Text: firstTimer.answer(open)}, shown < 60
	})
	if shown < 40 {
		t.Errorf("%d screens were looked at", shown)
	}
}

// A paper says in words which steps are left out when, and where it goes on; runs
// have rows enough, and numbers their units.
func TestWorksheetSaysWhereToGoOn(t *testing.T) {
	_, paper := paperOf(t, usualProcedure, false)
	for _, want := range []string{
		"*Only if the answer to 1.5 is not natural; else go to 1.7:*",
		"*Only if the numbers of the latest leak check say that it failed; else go to 6.8:*",
		`*Only if "how" is port; else go to 6.2:*`,
		"**Go back to 6.5 and 6.6.**",
		"**1.2** How large is the engine? `________`&nbsp;cc (for example 1998 cc)",
		"| no. | 6.11 hold | 6.12 hold | 6.13 value, inH2O | 6.13 rpm |",
		"| 8 | `[ ]` `[ ]` `[ ]` `[ ]` `[ ]` `____` | `[ ]` `____` | `________` | `________` |",
		"**Runs: a row each, at least 3, at most 8.**",
		"### Readings, block 3: from `________` to `________`",
		"From here the car is moving.",
	} {
		if !strings.Contains(paper, want) {
			t.Errorf("the paper lacks %q", want)
		}
	}
	if strings.Contains(paper, "| 9 |") && !strings.Contains(paper, "at most 40") {
		t.Error("more runs have a row than there can be")
	}
	if _, after := paperOf(t, "before-after", true); !strings.Contains(after, "*Only if the outcome, as the program works it out, is better; else go to ") {
		t.Error("what only the program can find out isn't said to be so")
	}
}

// From the sheet of an earlier visit the car is printed, and what is settled by it
// is left out.
func TestWorksheetFromASheet(t *testing.T) {
	code, out, errs := tried(t, "", "procedures", "print", "intake", "--sheet", "../../../testdata/sheets/yellow-estate.yaml", "--brief")
	if code != exitDone {
		t.Fatal(errs)
	}
	for _, want := range []string{"1.2 How large is the engine? 1998 cc (from the earlier sheet)", "4.3 At 6000 rpm in that gear", "Car yellow-estate"} {
		if !strings.Contains(out, want) {
			t.Errorf("the paper lacks %q", want)
		}
	}
	for _, unwanted := range []string{"What boost does it hold", "Which pieces does the air pass", "Sizes: a row each", "2. The path"} {
		if strings.Contains(out, unwanted) {
			t.Errorf("the paper still has %q", unwanted)
		}
	}
}

// The units are those of the instrument that is known already, else those that
// were asked for.
func TestWorksheetHasUnits(t *testing.T) {
	_, metric, _ := tried(t, "", "--units", "metric", "procedures", "print", "intake", "--brief")
	if !strings.Contains(metric, "6.9 What does the gauge show at rest? ________ kPa") && !strings.Contains(metric, "6.9 What does the gauge show at rest? ________ Pa") {
		t.Errorf("metric paper has no metric units:\n%.300s", metric[strings.Index(metric, "6.9 "):])
	}
	src, err := os.ReadFile("../../../testdata/sheets/yellow-estate.yaml")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "mbar.yaml")
	text := strings.ReplaceAll(string(src), "range: 25 inH2O, division: 0.5 inH2O", "range: 60 mbar, division: 1 mbar")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, out, _ := tried(t, "", "procedures", "print", "intake", "--brief", "--sheet", file); !strings.Contains(out, "6.13 value, mbar") {
		t.Error("the gauge is marked in mbar, and the paper asks for another unit")
	}
}

// Plain text comes in sheets that A4 and Letter hold, and says which is which.
func TestWorksheetAsText(t *testing.T) {
	for _, name := range shipped() {
		code, out, errs := tried(t, "", "procedures", "print", name)
		if code != exitDone {
			t.Fatal(errs)
		}
		sheets := strings.Split(out, "\f")
		for i, sheet := range sheets {
			lines := strings.Split(strings.TrimSuffix(sheet, "\n"), "\n")
			if len(lines) > 60 {
				t.Errorf("%s: sheet %d has %d lines", name, i+1, len(lines))
			}
			for _, line := range lines {
				if terminal.Width(line) > 78 {
					t.Errorf("%s: %d columns: %s", name, terminal.Width(line), line)
				}
			}
			if last := lines[len(lines)-1]; !regexp.MustCompile(`page \d+ of \d+$`).MatchString(last) {
				t.Errorf("%s: sheet %d ends with %q", name, i+1, last)
			}
		}
		t.Logf("%s: %d sheets of text", name, len(sheets))
	}
}

// What a stranger's sheet calls a car stays a name.
func TestWorksheetOfAHostileSheet(t *testing.T) {
	dir := t.TempDir()
	sheet := filepath.Join(dir, "hostile.yaml")
	if err := os.WriteFile(sheet, []byte(hostileSheet), 0o600); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "paper.html")
	if code, _, errs := tried(t, "", "procedures", "print", "intake", "--sheet", sheet, "--out", out); code != exitDone {
		t.Fatal(errs)
	}
	page, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	for _, tag := range []string{"<img", "<script", "<svg", "<a "} {
		if strings.Contains(string(page), tag) {
			t.Errorf("the page holds %q", tag)
		}
	}
	if !strings.Contains(string(page), "&lt;img src=x onerror=window.ran=1&gt;") {
		t.Error("the name of the car is not on the page")
	}
}

func TestWorksheetOptions(t *testing.T) {
	sheet := "../../../testdata/sheets/yellow-estate.yaml"
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"intake", "--out", "x.pdf"}, `no worksheet can be written with the ending ".pdf"`},
		{[]string{"intake", "--sheet", sheet, "--out", sheet}, "no worksheet can be written"},
		{[]string{"intke"}, "intake"},
		{[]string{"intake", "--rounds", "-1"}, "--rounds"},
		{[]string{"intake", "--rounds", "9999"}, "--rounds"},
	} {
		code, _, errs := tried(t, "", append([]string{"procedures", "print"}, c.args...)...)
		if code != exitInput || !strings.Contains(errs, c.want) {
			t.Errorf("%v: code %d, want %d with %q:\n%s", c.args, code, exitInput, c.want, errs)
		}
	}
}

// onPapers are those that are printed in every test: paper takes its time.
var onPapers = map[string]bool{"intake full": true, "before-after brief": true, "power-down full": true, "hose-check full": true, "charge-cooler brief": true, "rollers brief": true}

// Printed on either paper nothing runs over the edge, and a caution stays with
// its step.
func TestWorksheetsInABrowser(t *testing.T) {
	b := startBrowser(t)
	b.tab()
	dir := t.TempDir()
	for _, name := range shipped() {
		for base, args := range map[string][]string{"full": nil, "brief": {"--brief"}} {
			if *looks == "" && !onPapers[name+" "+base] {
				continue
			}
			file := filepath.Join(dir, name+"-"+base+".html")
			if code, _, errs := tried(t, "", append([]string{"procedures", "print", name, "--out", file}, args...)...); code != exitDone {
				t.Fatal(errs)
			}
			b.open(file, 360, "light")
			b.fits(name+" "+base, 360)
			for _, c := range b.complaints() {
				t.Errorf("%s %s: %s", name, base, c)
			}
			b.picture("paper-" + name + "-" + base)
			b.paperFits(name + "-" + base)
		}
	}
}

// paperFits prints the page on both papers and holds that nothing is wider than
// what their margins leave.
func (b *browser) paperFits(base string) {
	for name, size := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
		width := int((size[0] - 2*0.59) * 96) // margins of 15 mm, pixels of 1/96 inch
		b.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false})
		b.call("Emulation.setEmulatedMedia", map[string]any{"media": "print"})
		b.fits(base+" on "+name, width)
		b.call("Emulation.setEmulatedMedia", map[string]any{"media": ""})
		sheets := len(pdfPages.FindAll(b.paper("paper-"+base+"-"+name, size[0], size[1]), -1))
		if sheets < 2 || sheets > 20 {
			b.t.Errorf("%s on %s has %d sheets", base, name, sheets)
		}
		b.t.Logf("%s on %s: %d sheets", base, name, sheets)
	}
}

// The blocks of a test before and after come in an order that is known: each has its
// name, and no step that comes in another block only.
func TestBlocksHaveTheirNamesOnPaper(t *testing.T) {
	p, paper := paperOf(t, "before-after", false)
	blocks := strings.Split(paper, "### Blocks, block ")[1:]
	if len(blocks) != 3 {
		t.Fatalf("%d blocks", len(blocks))
	}
	number := map[string]string{}
	leaves(p.Parts[5].Steps, func(s *engine.Step) { number[s.ID] = "**" + s.Number + "** " })
	for i, c := range []struct {
		name     string
		has, not []string
	}{
		{"1: before", []string{"connect"}, []string{"fit-new", "fit-old", "standing", "again"}},
		{"2: after", []string{"fit-new", "standing", "again"}, []string{"fit-old"}},
		{"3: again", []string{"fit-old", "standing"}, []string{"fit-new", "again"}},
	} {
		if !strings.HasPrefix(blocks[i], c.name+"\n") {
			t.Errorf("block %d begins %.20q", i+1, blocks[i])
		}
		for _, id := range c.has {
			if !strings.Contains(blocks[i], number[id]) {
				t.Errorf("%s lacks %s (%s)", c.name, number[id], id)
			}
		}
		for _, id := range c.not {
			if strings.Contains(blocks[i], number[id]) {
				t.Errorf("%s has %s (%s), which never comes in it", c.name, number[id], id)
			}
		}
		if strings.Contains(blocks[i], `Only if "block"`) {
			t.Errorf("%s asks which block it is", c.name)
		}
	}
	// What comes in a later block for the first time stands there in full.
	if !strings.Contains(blocks[1], "Look for: It sits as it should") {
		t.Error("the new part is fitted without what to look for")
	}
	if strings.Contains(paper, "open-air to tube") {
		t.Error("places of a path that nobody has told stand on the paper")
	}
}

// A walk along a path that an earlier sheet describes has a block for each place,
// named; one along a path that is open has blanks.
func TestPlacesOfAKnownPathHaveABlockEach(t *testing.T) {
	blocks := regexp.MustCompile(`(?m)^Readings, block \d: .*$`)
	code, out, errs := tried(t, "", "procedures", "print", "component-walk", "--brief", "--sheet", "../../../testdata/sheets/yellow-estate.yaml")
	if code != exitDone {
		t.Fatal(errs)
	}
	want := []string{"Readings, block 1: from open-air to tube", "Readings, block 2: from open-air to box-out", "Readings, block 3: from open-air to filter",
		"Readings, block 4: from open-air to box-in", "Readings, block 5: from open-air to snorkel"}
	if diff := cmp.Diff(want, blocks.FindAllString(out, -1)); diff != "" {
		t.Errorf("blocks (-want +got):\n%s", diff)
	}
	if strings.Contains(out, "print or copy the last block") {
		t.Error("more blocks are spoken of than there are places")
	}
	_, paper := paperOf(t, "component-walk", true)
	if got := strings.Count(paper, "from `________` to `________`"); got != 3 {
		t.Errorf("%d open blocks of an open path, want 3", got)
	}
}
