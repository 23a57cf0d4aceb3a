package report

import (
	"encoding/csv"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/assessment"
	"dropwalk/advice/picture"
	"dropwalk/advice/sheet"
)

// pictured are figures for the invented car.
func pictured() Figures {
	var along []assessment.Estimate
	for _, pa := range []float64{500, 720, 1360, 1810, 2020, 2190, 2560} {
		along = append(along, about(pa, 0.9*pa, 1.1*pa))
	}
	drift := about(30, -60, 120)
	return Figures{Along: along, Repeats: []Repeat{
		{From: "open-air", To: "tube", Middle: 3100, Drift: &drift, Runs: []Run{{Number: 1, Value: 3080, Low: 3080, High: 3080},
			{Number: 2, Value: 3120, Low: 3000, High: 3240, Doubtful: true}, {Value: 3110, Low: 3110, High: 3110}}},
		{From: "open-air", To: "element", Middle: math.NaN(), Runs: []Run{{Number: 3, Value: 6200, AtLeast: true}}},
	}}
}

func blocks(text string) []string {
	var names []string
	for line := range strings.Lines(text) {
		if name, ok := strings.CutPrefix(line, "```"+PictureBlock); ok {
			names = append(names, strings.TrimSpace(name))
		}
	}
	return names
}

// Each form of a report has the pictures that suit it, where they are wanted.
func TestPicturesOfAReport(t *testing.T) {
	for _, e := range examples(t) {
		if e.a == nil || len(e.a.Components) == 0 {
			continue
		}
		o := e.o
		o.Pictures, o.Columns, o.Figures = Drawn, 60, pictured()
		report, standing := []string{"runs-1", "path", "losses"}, []string{"shares"}
		if e.a.Verdict == assessment.Recheck {
			report, standing = report[:1], nil // no loss is given
		}
		if diff := cmp.Diff(report, blocks(Markdown(e.a, e.s, o))); diff != "" && len(e.s.Path) == len(pictured().Along) {
			t.Errorf("%s, tester (-want +got):\n%s", e.name, diff)
		}
		if got := blocks(Plain(e.a, e.s, o)); !slices.Equal(got, standing) {
			t.Errorf("%s, standing: pictures %v", e.name, got)
		}
		customer := blocks(Customer(e.a, e.s, o))
		if e.a.Verdict == assessment.Recheck && len(customer) > 0 || e.name == "attack" && !slices.Equal(customer, []string{"shares"}) {
			t.Errorf("%s (%s), customer: pictures %v", e.name, e.a.Verdict, customer)
		}
		o.Pictures = Left
		if got := Markdown(e.a, e.s, o) + Plain(e.a, e.s, o) + Customer(e.a, e.s, o); len(blocks(got)) > 0 || got != Markdown(e.a, e.s, e.o)+Plain(e.a, e.s, e.o)+Customer(e.a, e.s, e.o) {
			t.Errorf("%s: pictures where none are wanted", e.name)
		}
	}
}

// Every block in a text has its image, and images that stand in it are those of
// the text: one of a page can't miss.
func TestEveryBlockHasItsImage(t *testing.T) {
	e := examples(t)[0]
	o := Options{Pictures: Drawn, Columns: 60, Figures: pictured()}
	var have []string
	for _, p := range Pictures(e.a, e.s, o) {
		have = append(have, p.Name)
		if p.Alt == "" || picture.SVG(p, false) == "" {
			t.Errorf("%s is empty", p.Name)
		}
	}
	for _, text := range []string{Markdown(e.a, e.s, o), Customer(e.a, e.s, o), Plain(e.a, e.s, o)} {
		for _, name := range blocks(text) {
			if !slices.Contains(have, name) {
				t.Errorf("block %q has no image among %v", name, have)
			}
		}
	}
}

// Who reads with the ears gets in words what no table says.
func TestPicturesToldInWords(t *testing.T) {
	e := examples(t)[0]
	o := Options{Pictures: Told, Figures: pictured()}
	text := Markdown(e.a, e.s, o)
	for _, want := range []string{
		"Total pressure lost between the open air and the place behind each piece, in inH2O: mouth 2.01 (1.81 to 2.21); snorkel 2.9 (2.6 to 3.2), velocity head",
		"run 1 12.4; run 2 doubtful, 12.5; reading 3 12.5. Drift from the first run to the last: none that shows; most likely between -0.2 and 0.5 inH2O.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q:\n%s", want, text)
		}
	}
	if len(blocks(text)) > 0 || strings.ContainsAny(text, "█▒●") {
		t.Error("there are bars all the same")
	}
}

// A drift that shows is told as one, with what to look at.
func TestDriftInWords(t *testing.T) {
	p := newPage(judged(), readSheet(t, carSheet), Options{})
	e := about(-250, -400, -100)
	if got, want := p.drift(&e), "They drift from the first run to the last: most likely between -1.6 and -0.4 inH2O. Look at the zero of the gauge, at warm air and at leaks."; got != want {
		t.Errorf("drift = %q, want %q", got, want)
	}
}

// The table of pieces has a row for each and one for the whole, and the figures
// of the assessment to the last digit.
func TestCSV(t *testing.T) {
	a, s := judged(), readSheet(t, carSheet)
	rows, err := csv.NewReader(strings.NewReader(string(CSV(a, s)))).ReadAll()
	if err != nil || len(rows) != 9 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	want := [][]string{
		{"row", "name", "kind", "rests_on", "fixed", "loss_pa_median", "loss_pa_low", "loss_pa_high", "handbook_loss_pa_median", "handbook_loss_pa_low",
			"handbook_loss_pa_high", "recoverable_pa_median", "recoverable_pa_low", "recoverable_pa_high", "chance_first"},
		{"component", "mouth", "mouth", "both", "false", "500", "400", "650", "550", "300", "1000", "450", "225", "675", "0.62"},
		{"total", "", "", "", "", "2560", "2340", "2790", "", "", "", "", "", "", ""},
	}
	if diff := cmp.Diff(want, [][]string{rows[0], rows[1], rows[8]}); diff != "" {
		t.Errorf("rows 1, 2 and 9 differ (-want +got):\n%s", diff)
	}
	if rows[6][4] != "true" {
		t.Errorf("the meter is fixed, and its row says %v", rows[6])
	}
	if got := string(CSV(nil, nil)); strings.Count(got, "\n") != 1 {
		t.Errorf("of nothing the table is %q", got)
	}
}

// No spreadsheet takes a name for a formula (OWASP, CSV injection, from memory:
// cells that begin with =, +, -, @, tab or carriage return).
func TestCSVHoldsNoFormula(t *testing.T) {
	for _, name := range []string{"=1+1", "+1", "-1", "@sum(a1)", "\t=1", "\r=1", " =1", "\x00=1", "＝1", "%x", "|x", "\u200b=1", "'=1", "a=1"} {
		a := &assessment.Assessment{Components: []assessment.Component{{Name: name, Kind: name}}}
		rows, err := csv.NewReader(strings.NewReader(string(CSV(a, &sheet.Sheet{})))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, got := range rows[1][1:3] {
			if strings.ContainsAny(got[:1], "=+-@|%\t\r \x00") || strings.HasPrefix(got, "＝") || strings.HasPrefix(got, "\u200b") {
				t.Errorf("%q stands as %q", name, got)
			}
		}
	}
}
