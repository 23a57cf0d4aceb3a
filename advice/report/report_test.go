package report

import (
	"encoding/json"
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/assessment"
	"dropwalk/advice/remedy"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

var update = flag.Bool("update", false, "write the golden files anew")

// carSheet is an invented car: seven pieces, two readings and a leak check.
const carSheet = `sheet: 1
title: "Green van, first visit"
date: 2026-10-03
place: track
car:
  name: green-van
  engine: {displacement: 1600 cc, cylinders: 4, fuel: petrol, induction: natural, peak_power: 80 kW}
path:
  - {name: mouth, kind: mouth, diameter: 55 mm}
  - {name: snorkel, kind: duct, diameter: 55 mm, length: 400 mm}
  - {name: box-in, kind: box-entry, diameter: 55 mm}
  - {name: element, kind: filter}
  - {name: box-out, kind: box-exit, diameter: 60 mm}
  - {name: meter, kind: meter, diameter: 60 mm}
  - {name: tube, kind: duct, diameter: 60 mm, length: 500 mm}
gauges:
  - {name: g25, range: 25 inH2O, division: 0.5 inH2O, accuracy: 2 %, checked: 2026-09-01}
air: {temperature: 18 C, pressure: 101.1 kPa, humidity: 60 %}
checks:
  - {kind: leak, at: tube, start: 15 inH2O, end: 14.8 inH2O, seconds: 30}
readings:
  - {run: 1, from: open-air, to: tube, gauge: g25, value: "12.5 inH2O", rpm: 5950}
  - {run: 2, from: open-air, to: tube, gauge: g25, value: "12-13 inH2O", rpm: 6010, doubtful: "a gust"}
  - {run: 3, from: open-air, to: element, gauge: g25, value: ">25 inH2O", rpm: 6000, note: "needle on its stop"}
  - {run: 4, from: open-air, to: tube, gauge: g25, value: "?"}
changes:
  - {date: 2026-09-20, component: element, what: "new standard element"}
`

func readSheet(t *testing.T, src string) *sheet.Sheet {
	t.Helper()
	s, faults := sheet.Read("car.yaml", []byte(src))
	if s == nil {
		t.Fatal(faults)
	}
	return s
}

func about(median, low, high float64) assessment.Estimate {
	return assessment.Estimate{Median: median, Low: low, High: high}
}

// judged is an assessment of the invented car. The figures are made up, only
// their form matters here.
func judged() *assessment.Assessment {
	percent, kw := about(0.62, 0.31, 0.93), about(0.5, 0.25, 0.74)
	all, allKW := about(1.6, 1.2, 2.2), about(1.28, 0.96, 1.76)
	piece := func(name, kind, rests string, loss, back, chance float64) assessment.Component {
		return assessment.Component{Name: name, Kind: kind, RestsOn: rests, ChanceFirst: chance, Loss: about(loss, 0.8*loss, 1.3*loss),
			Handbook: about(1.1*loss, 0.6*loss, 2*loss), Recoverable: about(back, 0.5*back, 1.5*back)}
	}
	const note = "petrol, natural: an invented note on the exponent"
	return &assessment.Assessment{
		Version: 1, Title: "Green van, first visit", Seed: 1,
		Reference:    assessment.Reference{RPM: 6000, AirDensity: 1.157, MassFlow: about(98.2, 92.1, 104.3)},
		TotalLoss:    about(2560, 2340, 2790),
		TotalGauge:   about(3080, 2870, 3300),
		VelocityHead: map[string]assessment.Estimate{"tube": about(520, 450, 590), "snorkel": about(700, 600, 800)},
		Components: []assessment.Component{
			piece("mouth", "mouth", "both", 500, 450, 0.62),
			piece("snorkel", "duct", "handbook", 220, 60, 0.004),
			piece("box-in", "box-entry", "readings", 640, 400, 0.34),
			piece("element", "filter", "handbook", 450, 0, 0.006),
			piece("box-out", "box-exit", "both", 210, 180, 0),
			piece("meter", "meter", "handbook", 170, 0, 0),
			piece("tube", "duct", "handbook", 300, 170, 0.03),
		},
		Together: [][]string{{"mouth", "snorkel", "tube"}, {"element", "meter"}},
		Gain:     assessment.Gain{PowerPercent: &percent, PowerKW: &kw, Note: note},
		GainAll:  assessment.Gain{PowerPercent: &all, PowerKW: &allKW, Note: note},
	}
}

type example struct {
	name  string
	a     *assessment.Assessment
	s     *sheet.Sheet
	o     Options
	first string // what the closing page must name, "" for nothing
}

// examples run every verdict and every branch that a verdict has.
func examples(t *testing.T) []example {
	s := readSheet(t, carSheet)
	name := func(n string) *string { return &n }
	change := func(verdict string, f func(*assessment.Assessment)) *assessment.Assessment {
		a := judged()
		a.Verdict = verdict
		f(a)
		return a
	}
	attack := change(assessment.Attack, func(a *assessment.Assessment) { a.Attack, a.BestGuess = name("box-in"), name("box-in") })
	group := change(assessment.Attack, func(a *assessment.Assessment) {
		a.Attack, a.BestGuess, a.AttackGroup = name("mouth"), name("mouth"), []string{"mouth", "snorkel", "meter", "tube"}
	})
	measure := change(assessment.Measure, func(a *assessment.Assessment) {
		a.BestGuess = name("mouth")
		a.Next = &assessment.Next{From: "open-air", To: "element", Gauge: "g25", Runs: 3, Reason: "it parts the loss",
			Taps: []assessment.Tap{{Station: "element", How: "drill"}}}
		a.Remarks = []assessment.Remark{{Code: assessment.OffScale, Text: "the reading went off the scale", Runs: []int{3}}}
	})
	across := change(assessment.Measure, func(a *assessment.Assessment) {
		a.Next = &assessment.Next{From: "snorkel", To: "box-out", Runs: 1, Reason: "more runs would make it surer",
			Taps: []assessment.Tap{{Station: "snorkel", How: "fitted"}, {Station: "box-out", How: "port"}}}
	})
	tossUp := change(assessment.Attack, func(a *assessment.Assessment) {
		a.Attack, a.BestGuess, a.Together = name("mouth"), name("mouth"), nil
		a.Components[0].ChanceFirst, a.Components[2].ChanceFirst = 0.46, 0.43
	})
	bet := change(assessment.Attack, func(a *assessment.Assessment) {
		a.Attack, a.BestGuess, a.Together = name("mouth"), name("mouth"), nil
		for i, p := range []float64{0.38, 0.14, 0.2, 0.1, 0.09, 0, 0.09} {
			a.Components[i].ChanceFirst = p
		}
	})
	alone := change(assessment.LeaveAlone, func(a *assessment.Assessment) { a.Together = nil })
	recheck := change(assessment.Recheck, func(a *assessment.Assessment) {
		a.Gain = assessment.Gain{Note: "the readings contradict each other, so no gain is named"}
		for i, code := range codes(t) {
			a.Remarks = append(a.Remarks, assessment.Remark{Code: code, Text: "an invented finding on " + code, Runs: []int{1, 2, 5}[:i%4%3]})
		}
	})
	mute := change(assessment.Attack, func(a *assessment.Assessment) {
		a.Attack = name("mouth")
		a.Gain, a.GainAll = assessment.Gain{Note: "the induction is not stated"}, assessment.Gain{Note: "the induction is not stated"}
	})
	bare := readSheet(t, "sheet: 1\ncar: {engine: {displacement: 1.6 L, induction: turbo}}\npath:\n  - {name: tube, kind: duct}\n")
	return []example{
		{"attack", attack, s, Options{}, "box-in"},
		{"attack-group", group, s, Options{Units: quantity.Metric}, "mouth"},
		{"measure", measure, s, Options{Units: quantity.Imperial}, "mouth"},
		{"measure-across", across, s, Options{Gauge: "mbar"}, ""},
		{"toss-up", tossUp, s, Options{Course: courseOf()}, "mouth"},
		{"bet", renamed(t, bet, s), Unnamed(s), Options{Course: UnnamedCourse(courseOf(), s), Unnamed: true}, "mouth"},
		{"leave-alone", alone, s, Options{}, ""},
		{"recheck", recheck, s, Options{}, ""},
		{"no-gain", mute, bare, Options{}, "mouth"},
		{"nothing", nil, nil, Options{}, ""},
		{"nameless", change(assessment.Attack, func(*assessment.Assessment) {}), s, Options{}, ""},
		{"no-verdict", &assessment.Assessment{Components: []assessment.Component{{}}}, bare, Options{}, ""},
	}
}

// courseOf is the course of an invented test that ended with something owed.
func courseOf() *Course {
	return &Course{
		Record: "green-van-2026-10-03", Program: "dropwalk 0.1.0", Ended: "complete with 2 open",
		Owed: []Duty{
			{Text: "Plug the hole at element with a screw-in plug.", Level: "notice", Why: "no plug of that size"},
			{Text: "Take the hose out of the cabin.", Level: "caution"},
			{Text: "Take the gauge out of the cabin."},
		},
		Skipped: []Open{{What: "Check every joint behind the meter.", Why: "no light left", So: "Air that enters unmeasured can upset the mixture."}},
		Unknown: []Open{
			{What: "How many cylinders has it?", So: "Nothing is lost."},
			{What: "What does the gauge show at rest?", So: "The zero stays uncertain.", Check: true},
			{What: "What does the gauge show at rest?", So: "The zero stays uncertain.", Check: true},
		},
		Lamps: "none", Notes: []string{"the second clamp was loose at element"},
		Names: []string{"green-van", "element"},
	}
}

// renamed is the assessment as that of the unnamed sheet would be.
func renamed(t *testing.T, a *assessment.Assessment, s *sheet.Sheet) *assessment.Assessment {
	t.Helper()
	line, err := a.Line()
	if err != nil {
		t.Fatal(err)
	}
	out := new(assessment.Assessment)
	if err := json.Unmarshal([]byte(namesOf(s).swapper(nil)(string(line))), out); err != nil {
		t.Fatal(err)
	}
	out.Title = ""
	return out
}

// codes are the remark codes as the assessment declares them.
func codes(t *testing.T) []string {
	t.Helper()
	tree, err := parser.ParseFile(token.NewFileSet(), "../assessment/assessment.go", nil, parser.ParseComments)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, d := range tree.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.CONST || !strings.Contains(g.Doc.Text(), "Remark codes") {
			continue
		}
		for _, spec := range g.Specs {
			text, err := strconv.Unquote(spec.(*ast.ValueSpec).Values[0].(*ast.BasicLit).Value)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, text)
		}
	}
	if len(out) < 12 {
		t.Fatalf("only %d remark codes found", len(out))
	}
	return out
}

func pages(e example) map[string]string {
	return map[string]string{
		"report":   Markdown(e.a, e.s, e.o),
		"customer": Customer(e.a, e.s, e.o),
		"plain":    Plain(e.a, e.s, e.o),
		"advice":   Advice(e.a, e.s, e.o),
	}
}

func TestGolden(t *testing.T) {
	for _, e := range examples(t) {
		for kind, got := range pages(e) {
			path := filepath.Join("testdata", e.name+"."+kind+".md")
			if *update {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				continue
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Error(err)
				continue
			}
			if diff := cmp.Diff(string(want), got); diff != "" {
				t.Errorf("%s differs (-want +got); -update writes it anew:\n%s", path, diff)
			}
		}
	}
}

func TestEveryReportHasAllHeadings(t *testing.T) {
	if len(Headings()) < 5 {
		t.Fatalf("got headings %q", Headings())
	}
	for _, e := range examples(t) {
		all := pages(e)
		for kind, want := range map[string][]string{"report": Headings(), "customer": CustomerHeadings()} {
			var got []string
			for line := range strings.SplitSeq(all[kind], "\n") {
				if title, ok := strings.CutPrefix(line, "## "); ok {
					got = append(got, title)
				}
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("%s: headings of the %s differ (-want +got):\n%s", e.name, kind, diff)
			}
		}
	}
}

// No heading stands over nothing.
func TestNoSectionIsEmpty(t *testing.T) {
	empty := regexp.MustCompile(`(?m)^##+ .*\n+(## .*|\z)`)
	for _, e := range examples(t) {
		for kind, text := range pages(e) {
			if m := empty.FindString(text); m != "" {
				t.Errorf("%s, %s: nothing under %q", e.name, kind, m)
			}
		}
	}
}

func TestAdviceNamesWhatToChange(t *testing.T) {
	for _, e := range examples(t) {
		got := Advice(e.a, e.s, e.o)
		if e.first == "" {
			if strings.Contains(got, "What can be done about") {
				t.Errorf("%s: the advice names something to change:\n%s", e.name, got)
			}
			continue
		}
		if !strings.Contains(got, "What can be done about "+e.first) {
			t.Errorf("%s: the advice doesn't say what can be done about %s:\n%s", e.name, e.first, got)
		}
		kind := newPage(e.a, e.s, e.o).kind(e.first)
		for _, r := range remedy.For(kind) {
			for page, text := range map[string]string{"advice": got, "report": Markdown(e.a, e.s, e.o)} {
				for _, part := range []string{r.Do, r.Gives, r.Upsets, r.Test, r.Law} {
					if !strings.Contains(text, part) {
						t.Errorf("%s: the %s lacks %q", e.name, page, part)
					}
				}
			}
		}
	}
}

// A component that is marked as fixed never gets a remedy, whatever group it
// stands in.
func TestFixedStaysAsItIs(t *testing.T) {
	e := examples(t)[1]
	for page, text := range pages(e) { // no remedy for it, whoever reads
		for _, r := range remedy.For("meter") {
			if strings.Contains(text, r.Do) {
				t.Errorf("the %s says of a fixed meter: %q", page, r.Do)
			}
		}
	}
}

func TestEveryRemarkCodeSaysWhatToLookFor(t *testing.T) {
	look := func(code string) string {
		var b strings.Builder
		if err := templates().ExecuteTemplate(&b, "look", code); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	for _, code := range codes(t) {
		if look(code) == look("a code of a later release") {
			t.Errorf("nothing is said on what to look for at %q", code)
		}
	}
}

const hostile = "\x1b[31m<script>alert(1)</script>\u202e|\n# x](http://a.b)`*_~&lt;&#60;www.a.b\x07 \xff"

// hostileExample puts a hostile text wherever a user's own can stand.
func hostileExample(t *testing.T, verdict string) (*assessment.Assessment, *sheet.Sheet) {
	a, s := judged(), readSheet(t, carSheet)
	a.Verdict, a.Title, s.Title, s.Date, s.Place, s.Car.Name = verdict, hostile, hostile, hostile, hostile, hostile
	a.VelocityHead = map[string]assessment.Estimate{hostile: about(1, 0, 2)}
	for i := range a.Components {
		a.Components[i].Name, a.Components[i].Kind, a.Components[i].RestsOn = hostile+strconv.Itoa(i), hostile, hostile
	}
	first := a.Components[0].Name
	a.BestGuess, a.Attack, a.AttackGroup = &first, &first, []string{first, hostile + "1"}
	a.Together = [][]string{{first, hostile}}
	a.Gain.Note, a.GainAll.Note = hostile, hostile+"2"
	a.Next = &assessment.Next{From: hostile, To: hostile, Gauge: hostile, Reason: hostile, Taps: []assessment.Tap{{Station: hostile, How: hostile}, {Station: hostile, How: "drill"}}}
	a.Remarks = []assessment.Remark{{Code: hostile, Text: hostile}}
	for i := range s.Path {
		s.Path[i].Name = hostile + strconv.Itoa(i)
	}
	for i := range s.Readings {
		r := &s.Readings[i]
		r.From, r.To, r.Gauge, r.Doubtful, r.Note = hostile, hostile, hostile, hostile, hostile
	}
	s.Gauges[0].Name, s.Gauges[0].Checked = hostile, hostile
	s.Gauges[0].Range.Unit = hostile
	s.Checks[0].Kind, s.Checks[0].At = hostile, hostile
	s.Changes[0] = sheet.Change{Date: hostile, Component: hostile, What: hostile}
	s.Car.Engine.Fuel, s.Car.Engine.Induction = hostile, hostile
	for i := range s.Readings {
		s.Readings[i].Reader, s.Readings[i].Time, s.Readings[i].Direction = hostile, hostile, hostile
	}
	for i := range s.Path {
		c := &s.Path[i]
		c.Kind, c.Cost, c.Edge, c.Surface, c.Tap = hostile, hostile, hostile, hostile, hostile
	}
	s.Gauges[0].Position = hostile
	return a, s
}

// hostileCourse is a record in which every text is hostile.
func hostileCourse() *Course {
	open := []Open{{What: hostile, Why: hostile, So: hostile, Check: true}}
	return &Course{Record: hostile, Program: hostile, Ended: hostile, Lamps: hostile, Notes: []string{hostile}, Names: []string{hostile},
		Owed: []Duty{{Text: hostile, Level: hostile, Why: hostile}}, Skipped: open, Unknown: open}
}

var bareMark = regexp.MustCompile("(^|[^\\\\])([`~]|\\]\\()")

func TestHostileTextIsHarmless(t *testing.T) {
	for _, verdict := range []string{assessment.Measure, assessment.Attack, assessment.LeaveAlone, assessment.Recheck, hostile} {
		a, s := hostileExample(t, verdict)
		for kind, text := range pages(example{"hostile", a, s, Options{Gauge: hostile, Course: hostileCourse()}, ""}) {
			if i := strings.IndexFunc(text, func(r rune) bool { return r != '\n' && (unicode.IsControl(r) || r == '\u202e') }); i >= 0 {
				t.Errorf("%s, %s: a control character at %q", verdict, kind, text[i:min(len(text), i+20)])
			}
			for _, bad := range []string{"<", ">", "http:/" + "/", "www.a"} {
				if strings.Contains(text, bad) {
					t.Errorf("%s, %s: holds %q", verdict, kind, bad)
				}
			}
			if m := bareMark.FindString(text); m != "" {
				t.Errorf("%s, %s: a mark that isn't escaped: %q", verdict, kind, m)
			}
			if !strings.Contains(text, `&lt;script&gt;`) {
				t.Errorf("%s, %s: the text vanished", verdict, kind)
			}
		}
		want := []int{7, 3, 4}
		if verdict == assessment.Recheck {
			want = want[:1] // no loss is given
		}
		if got := tableWidths(Markdown(a, s, Options{})); !cmp.Equal(got, want) {
			t.Errorf("%s: rows of a table differ in their cells: %v", verdict, got)
		}
	}
}

// tableWidths are the numbers of cells that rows of tables have: the report has
// three tables, of seven, three and four columns.
func tableWidths(text string) []int {
	var out []int
	for line := range strings.SplitSeq(text, "\n") {
		if !strings.HasPrefix(line, "|") {
			continue
		}
		n := strings.Count(strings.ReplaceAll(line, `\|`, ""), "|") - 1
		if !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

func TestEscKeepsPlainNames(t *testing.T) {
	for _, name := range []string{"box-in", "2026-11-25", "12.5 inH2O", "Tom's 2nd tube (left)", "60 %", "-0.22 inH2O", "+3 K", "M\u00fcndung", "0.5"} {
		if got := esc(name); got != name {
			t.Errorf("got %q, want %q as it is", got, name)
		}
	}
	tests := map[string]string{
		"- x": `\- x`, "---": `\---`, "-": `\-`, "1. x": `1\. x`, "7) x": `7\) x`, "a|b": `a\|b`, "# x": `\# x`, "a & b": "a &amp; b", "": "",
		"a\nb": "a?b", "https://a.b": `https:\/\/a.b`, `a\`: `a\\`,
	}
	for name, want := range tests {
		if got := esc(name); got != want {
			t.Errorf("%q: got %q, want %q", name, got, want)
		}
	}
}

// The short pages have no tables and no headings, and none of their words is
// too long for a screen of 40 columns with a list mark. Names of users may be.
func TestShortPagesFitNarrowScreens(t *testing.T) {
	const widest = 38
	for _, e := range examples(t) {
		all := pages(e)
		for _, kind := range []string{"plain", "advice"} {
			for line := range strings.SplitSeq(all[kind], "\n") {
				if strings.HasPrefix(line, "|") || strings.HasPrefix(line, "#") || strings.HasPrefix(line, " ") || strings.Contains(line, "**") {
					t.Errorf("%s, %s: more than paragraphs and lists: %q", e.name, kind, line)
				}
				for _, word := range strings.Fields(line) {
					if n := len([]rune(word)); n > widest {
						t.Errorf("%s, %s: a word of %d characters: %q", e.name, kind, n, word)
					}
				}
			}
		}
	}
}

func TestShortPagesAreParagraphsAndLists(t *testing.T) {
	for _, e := range examples(t) {
		all := pages(e)
		for _, kind := range []string{"plain", "advice"} {
			if strings.Contains(all[kind], "\n\n\n") || strings.HasPrefix(all[kind], "\n") || !strings.HasSuffix(all[kind], "\n") {
				t.Errorf("%s, %s: blank lines astray:\n%s", e.name, kind, all[kind])
			}
			lines := strings.Split(all[kind], "\n")
			for i, line := range lines[1:] {
				if strings.HasPrefix(line, "- ") && lines[i] != "" && !strings.HasPrefix(lines[i], "- ") {
					t.Errorf("%s, %s: a list begins right below %q", e.name, kind, lines[i])
				}
				if line != "" && !strings.HasPrefix(line, "- ") && strings.HasPrefix(lines[i], "- ") {
					t.Errorf("%s, %s: %q runs into the list above it", e.name, kind, line)
				}
			}
		}
	}
}

func TestInterval(t *testing.T) {
	tests := []struct {
		e    assessment.Estimate
		k    quantity.Kind
		unit string
		want string
	}{
		{about(3100, 2800, 3400), quantity.PressureDiff, "kPa", "3.1 kPa, most likely between 2.8 and 3.4"},
		{about(3100, 3090, 3111), quantity.PressureDiff, "Pa", "3100 Pa, most likely between 3090 and 3111"},
		{about(1234, 1002, 1492), quantity.PressureDiff, "Pa", "1230 Pa, most likely between 1000 and 1490"},
		{about(0, 0, 40), quantity.PressureDiff, "Pa", "below 40 Pa"},
		{about(12, 0, 40), quantity.PressureDiff, "Pa", "12 Pa, most likely between 0 and 40"},
		{about(-0.01, -0.2, 0.4), quantity.PressureDiff, "Pa", "0.0 Pa, most likely between -0.2 and 0.4"},
		{about(249.08891, 249.08891, 249.08891), quantity.PressureDiff, "inH2O", "1 inH2O"},
		{about(0, 0, 0), quantity.PressureDiff, "inH2O", "0 inH2O"},
		{about(0.0062, 0.0031, 0.0093), quantity.Share, "%", "0.6 %, most likely between 0.3 and 0.9"},
		{about(math.NaN(), 0, 1), quantity.PressureDiff, "Pa", "unknown"},
		{about(1, math.Inf(-1), 1), quantity.PressureDiff, "Pa", "unknown"},
		{about(1, 0, 2), quantity.PressureDiff, "no unit", "unknown"},
	}
	for _, test := range tests {
		if got := interval(test.e, test.k, test.unit); got != test.want {
			t.Errorf("%v: got %q, want %q", test.e, got, test.want)
		}
	}
	if got, want := short(tests[0].e, quantity.PressureDiff, "kPa"), "3.1 kPa (2.8 to 3.4)"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestChanceIsNeverCertain(t *testing.T) {
	for p, want := range map[float64]string{0: "below 1 %", 0.004: "below 1 %", 0.006: "1 %", 0.5: "50 %", 0.994: "99 %", 1: "above 99 %"} {
		if got := chance(p); got != want {
			t.Errorf("%v: got %q, want %q", p, got, want)
		}
	}
}

func TestRunsAreNamedShortly(t *testing.T) {
	tests := []struct {
		runs []int
		want string
	}{
		{[]int{4}, "Run 4"}, {[]int{1, 2}, "Runs 1 and 2"}, {[]int{1, 2, 5}, "Runs 1, 2 and 5"}, {[]int{1, 2, 3, 4, 5, 6}, "Runs 1 to 6"},
		{[]int{1, 3, 4, 5, 9, 8}, "Runs 1, 3 to 5, 9 and 8"},
	}
	for _, tt := range tests {
		if got := runs(tt.runs); got != tt.want {
			t.Errorf("runs(%v) = %q, want %q", tt.runs, got, tt.want)
		}
	}
}

// Units follow the request, then the gauge, then the trade.
func TestUnitsOfPressure(t *testing.T) {
	s := readSheet(t, strings.Replace(carSheet, "range: 25 inH2O", "range: 60 mbar", 1))
	tests := []struct {
		s    *sheet.Sheet
		o    Options
		want string
	}{
		{s, Options{}, "mbar"},
		{s, Options{Gauge: "mmH2O"}, "mmH2O"},
		{s, Options{Gauge: "kg"}, "inH2O"},
		{s, Options{Units: quantity.Metric}, "kPa"},
		{s, Options{Units: quantity.Metric, Gauge: "mmH2O"}, "kPa"},
		{s, Options{Units: quantity.Imperial}, "inH2O"},
		{nil, Options{}, "inH2O"},
	}
	for _, test := range tests {
		if got := newPage(judged(), test.s, test.o).pressure(); got != test.want {
			t.Errorf("%+v: got %q, want %q", test.o, got, test.want)
		}
	}
}

// A usual opinion is given only where the whole interval bears it out and
// something was read.
func TestJudgedByTheRuleOfThumb(t *testing.T) {
	const inch = 249.08891
	s := readSheet(t, carSheet)
	tests := []struct {
		low, high float64 // inH2O
		s         *sheet.Sheet
		want      string
	}{
		{10.5, 12, s, "high"}, {9, 12, s, ""}, {5, 9, s, "middle"}, {3, 5, s, ""}, {2, 3.5, s, "low"}, {10.5, 12, nil, ""},
	}
	for _, test := range tests {
		a := judged()
		a.TotalGauge = about((test.low+test.high)/2*inch, test.low*inch, test.high*inch)
		if got := newPage(a, test.s, Options{}).Judged(); got != test.want {
			t.Errorf("%v to %v: got %q, want %q", test.low, test.high, got, test.want)
		}
	}
}

// Whatever stands in an assessment, a report comes out.
func TestStrangeFiguresDoNotPanic(t *testing.T) {
	nan := about(math.NaN(), math.Inf(-1), math.Inf(1))
	for _, verdict := range []string{assessment.Measure, assessment.Attack, assessment.LeaveAlone, assessment.Recheck, ""} {
		a := judged()
		gone := "no such component"
		a.Verdict, a.Attack, a.TotalLoss, a.TotalGauge, a.Reference = verdict, &gone, nan, nan, assessment.Reference{RPM: math.NaN(), AirDensity: math.Inf(1), MassFlow: nan}
		a.Gain.PowerPercent, a.GainAll.PowerKW = &nan, &nan
		a.Components[0].Loss, a.Components[0].ChanceFirst = nan, math.NaN()
		for kind, text := range pages(example{"strange", a, &sheet.Sheet{}, Options{}, ""}) {
			if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") || strings.Contains(text, "%!") {
				t.Errorf("%q, %s: raw figures in the text:\n%s", verdict, kind, text)
			}
			if !strings.Contains(text, "unknown") && kind == "report" && verdict != "" {
				t.Errorf("%q: nothing is said to be unknown", verdict)
			}
		}
	}
}
