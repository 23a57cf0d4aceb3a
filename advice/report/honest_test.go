package report

import (
	"encoding/json"
	"math"
	"regexp"
	"strings"
	"testing"

	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
)

// chancesOf is the invented car with other chances; those that are not named
// have none.
func chancesOf(verdict, first string, chances map[string]float64) *assessment.Assessment {
	a := judged()
	a.Verdict, a.Attack, a.BestGuess, a.Together = verdict, &first, &first, nil
	if verdict != assessment.Attack {
		a.Attack = nil
	}
	for i := range a.Components {
		a.Components[i].ChanceFirst = chances[a.Components[i].Name]
	}
	return a
}

// A low chance never reads sure: the headline says in words how sure it is, and
// the chance stands beside it.
func TestHeadlineSaysHowSureItIs(t *testing.T) {
	tests := []struct {
		how      string
		chances  map[string]float64
		tester   []string
		customer string
	}{
		{"sure", map[string]float64{"mouth": 0.93, "tube": 0.07},
			[]string{"**Change mouth first.**", "has the most to give back is 93 %, about 9 in 10."}, "**The place to work on is the opening for the air.** The chance that this is right is about 9 in 10."},
		{"likely", map[string]float64{"mouth": 0.62, "tube": 0.3},
			[]string{"**Change mouth first.**", "62 %, about 6 in 10. That is more likely than not, and no more."}, "**The place to work on is probably the opening"},
		{"toss-up", map[string]float64{"mouth": 0.44, "tube": 0.5},
			[]string{"**A toss-up: change mouth or tube (duct) first.**", "44 %, about 4 in 10. That of tube is larger, 50 %, about 1 in 2; but if it is mouth, more comes back, and what can be expected to come back decides. Take the easier one"}, "it is a toss-up which one more: the opening for the air, or the duct called tube.** The chances are about 4 in 10 and about 1 in 2."},
		{"bet", map[string]float64{"mouth": 0.34, "tube": 0.2, "snorkel": 0.2},
			[]string{"**Begin with mouth, as the best bet.**", "34 %, about 3 in 10. No other piece is likelier, but it may well be another one"}, "and it is no sure thing.** The chance that this is right is about 3 in 10."},
		{"behind", map[string]float64{"mouth": 0.3, "tube": 0.6},
			[]string{"**Begin with mouth, as the best bet.**", "That of tube is larger, 60 %, about 6 in 10; but if it is mouth, more comes back"}, "and it is no sure thing.** The chance that this is right is about 3 in 10. The duct called tube is likelier, about 6 in 10; but less would come back there, and the best bet weighs both."},
	}
	s := readSheet(t, carSheet)
	for _, tt := range tests {
		a := chancesOf(assessment.Attack, "mouth", tt.chances)
		if got := newPage(a, s, Options{}).How(); got != tt.how {
			t.Errorf("%v: how = %q, want %q", tt.chances, got, tt.how)
		}
		for _, want := range tt.tester {
			for kind, text := range map[string]string{"report": Markdown(a, s, Options{}), "advice": Advice(a, s, Options{})} {
				if want = strings.Trim(want, "*"); !strings.Contains(text, want) {
					t.Errorf("%s: the %s lacks %q:\n%s", tt.how, kind, want, head(text))
				}
			}
		}
		if text := Customer(a, s, Options{}); !strings.Contains(text, tt.customer) {
			t.Errorf("%s: the customer's page lacks %q:\n%s", tt.how, tt.customer, head(text))
		}
	}
}

// head is the beginning of a text, for messages.
func head(text string) string { return text[:min(len(text), 600)] }

// What the readings don't part counts together: the chance is that of the group.
func TestGroupCountsTogether(t *testing.T) {
	s := readSheet(t, carSheet)
	a := chancesOf(assessment.Attack, "mouth", map[string]float64{"mouth": 0.4, "snorkel": 0.35, "tube": 0.2, "box-in": 0.05})
	a.AttackGroup = []string{"mouth", "snorkel", "tube"}
	p := newPage(a, s, Options{})
	if got, want := p.Chosen(), 0.95; math.Abs(got-want) > 1e-9 {
		t.Errorf("chance of the group = %v, want %v", got, want)
	}
	if got := p.How(); got != "sure" {
		t.Errorf("how = %q, want sure: one of the group it is", got)
	}
	if got, want := Markdown(a, s, Options{}), "**Work on mouth, snorkel and tube first, as one group.** No further reading is worth its cost. The chance that one of them has the most to give back is 95 %, about 9 in 10. Of mouth alone it is 40 %, about 4 in 10;"; !strings.Contains(got, want) {
		t.Errorf("the report lacks %q:\n%s", want, head(got))
	}
}

// While more is to be measured, a piece with a low chance is a bet, whatever
// stands in one group with it.
func TestLowChanceIsABetWhileMeasuring(t *testing.T) {
	s := readSheet(t, carSheet)
	for _, tt := range []struct {
		chance           float64
		tester, customer string
	}{
		{0.3, "So far mouth is the best bet of several, and no more. The chance that it has the most to give back is 30 %, about 3 in 10.", "So far the opening for the air is the best bet, and no more; the chance that it has the most to give back is about 3 in 10."},
		{0.6, "So far mouth looks like the piece with the most to give back. The chance of that is 60 %, about 6 in 10.", "So far the opening for the air looks like the place with the most to give back; the chance of that is about 6 in 10."},
	} {
		a := chancesOf(assessment.Measure, "mouth", map[string]float64{"mouth": tt.chance, "snorkel": 0.9 - tt.chance, "tube": 0.1})
		a.Together = [][]string{{"mouth", "snorkel", "tube"}}
		if text := Markdown(a, s, Options{}); !strings.Contains(text, tt.tester) {
			t.Errorf("the report lacks %q:\n%s", tt.tester, head(text))
		}
		if text := Customer(a, s, Options{}); !strings.Contains(text, tt.customer) {
			t.Errorf("the customer's page lacks %q:\n%s", tt.customer, head(text))
		}
	}
}

// A piece that is sure enough by itself is named by itself, with its own chance.
func TestSurePieceOfAGroupIsNamedAlone(t *testing.T) {
	s := readSheet(t, carSheet)
	a := chancesOf(assessment.Attack, "mouth", map[string]float64{"mouth": 0.78, "snorkel": 0.21, "tube": 0.01})
	a.AttackGroup = []string{"mouth", "snorkel"}
	for text, want := range map[string]string{
		Markdown(a, s, Options{}): "**Change mouth first.** No further reading is worth its cost. The chance that mouth has the most to give back is 78 %, about 8 in 10; that one of its group has, 99 %.",
		Customer(a, s, Options{}): "**The place to work on is the opening for the air.** The chance that this is right is about 8 in 10. The test can't tell it from its neighbours, so the opening for the air and the duct called snorkel are looked at together.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("a text lacks %q:\n%s", want, head(text))
		}
	}
}

// Before the first reading nothing sounds as if there had been one.
func TestFirstReadingIsNoFurtherOne(t *testing.T) {
	s := readSheet(t, carSheet[:strings.Index(carSheet, "readings:")])
	e := examples(t)
	for _, x := range e {
		if x.a == nil || x.a.Verdict != assessment.Measure {
			continue
		}
		for kind, text := range pages(example{a: x.a, s: s}) {
			if m := regexp.MustCompile(`(?i)measure again: one more|one more reading|further reading`).FindString(text); m != "" {
				t.Errorf("%s, %s: nothing was read, and it says %q:\n%s", x.name, kind, m, head(text))
			}
			if !strings.Contains(text, "irst reading") {
				t.Errorf("%s, %s: no word of a first reading:\n%s", x.name, kind, head(text))
			}
		}
	}
}

func TestOdds(t *testing.T) {
	for p, want := range map[float64]string{
		0: "below 1 in 20", 0.049: "below 1 in 20", 0.06: "about 1 in 10", 0.34: "about 3 in 10", 0.5: "about 1 in 2",
		0.94: "about 9 in 10", 0.951: "above 19 in 20", 1: "above 19 in 20", math.NaN(): "unknown",
	} {
		if got := odds(p); got != want {
			t.Errorf("odds(%v) = %q, want %q", p, got, want)
		}
	}
	if got := odds(math.NaN()); got != "unknown" {
		t.Errorf("odds(NaN) = %q, want unknown", got)
	}
}

// Middles that visibly don't add up are explained; those that do are not.
func TestSumIsExplainedWhereItShows(t *testing.T) {
	const said = "The middle figures of the pieces add up to "
	s := readSheet(t, carSheet)
	tests := []struct {
		total assessment.Estimate
		want  string // "" for nothing
	}{
		{about(2560, 2340, 2790), said + "10.0 inH2O and not to 10.3 inH2O"},
		{about(2490, 2270, 2720), ""},
		{about(2510, 1000, 6000), ""}, // a band so wide that nobody sees it
		{about(2600, 2590, 2610), said + "10.00 inH2O and not to 10.44 inH2O"},
	}
	for _, tt := range tests {
		a := chancesOf(assessment.Attack, "mouth", map[string]float64{"mouth": 1})
		a.TotalLoss = tt.total
		for kind, text := range map[string]string{"report": Markdown(a, s, Options{}), "plain": Plain(a, s, Options{})} {
			if tt.want == "" && strings.Contains(text, said) || !strings.Contains(text, tt.want) {
				t.Errorf("total %v: the %s should say %q:\n%s", tt.total, kind, tt.want, text)
			}
		}
	}
}

// The gauge is only called the sum of loss and velocity head where it is.
func TestGaugeIsNoSumWhereReadingsContradict(t *testing.T) {
	const sum = "That is the loss plus the velocity head"
	s := readSheet(t, carSheet)
	tests := []struct {
		verdict string
		gauge   assessment.Estimate
		want    string
	}{
		{assessment.Attack, about(3080, 2870, 3300), sum},
		{assessment.Attack, about(3300, 3100, 3500), "the readings pull the three apart, each within its band."},
		{assessment.Recheck, about(4500, 4300, 4700), "No loss is given here, because the readings contradict each other."},
	}
	for _, tt := range tests {
		a := chancesOf(tt.verdict, "mouth", map[string]float64{"mouth": 1})
		a.TotalGauge = tt.gauge
		for kind, text := range map[string]string{"report": Markdown(a, s, Options{}), "plain": Plain(a, s, Options{})} {
			if !strings.Contains(text, tt.want) || tt.want != sum && strings.Contains(text, sum) {
				t.Errorf("%s, gauge %v: the %s should say %q:\n%s", tt.verdict, tt.gauge, kind, tt.want, text)
			}
		}
	}
}

// What is owed to the car stands ahead of everything, under the gravest of its
// signal words, with the reason or as not done yet.
func TestOwedStandsAtTheTop(t *testing.T) {
	e := examples(t)[0]
	c := courseOf()
	for _, tt := range []struct{ level, want string }{
		{"caution", "**CAUTION: the car is not as it was."}, {"danger", "**DANGER: the car is not as it was."}, {"", "**NOTICE: the car is not as it was."},
	} {
		c.Owed[1].Level = tt.level
		for kind, text := range map[string]string{"report": Markdown(e.a, e.s, Options{Course: c}), "customer": Customer(e.a, e.s, Options{Course: c})} {
			top, _, _ := strings.Cut(text, "\n## ")
			for _, want := range []string{tt.want, "- Notice: Plug the hole at element with a screw-in plug. It was skipped: no plug of that size.", "Take the hose out of the cabin. It is not done yet."} {
				if !strings.Contains(top, want) {
					t.Errorf("%s: the top lacks %q:\n%s", kind, want, top)
				}
			}
		}
	}
	c.Ended = ""
	if text := Markdown(e.a, e.s, Options{Course: c}); !strings.Contains(text, "the test is not finished, and the car is not as it was.") {
		t.Errorf("an unfinished test reads as if it were over:\n%s", head(text))
	}
	if text := Customer(e.a, e.s, Options{Course: &Course{Ended: "complete"}}); strings.Contains(text, "not as it was") {
		t.Errorf("nothing is owed, and the page says:\n%s", head(text))
	}
	lamp := Customer(e.a, e.s, Options{Course: &Course{Ended: "complete", Lamps: "engine lamp"}})
	if top, _, _ := strings.Cut(lamp, "\n## "); !strings.Contains(top, "NOTICE: a warning lamp came on in the drive after the test: engine lamp.") {
		t.Errorf("the lamp isn't at the top:\n%s", top)
	}
}

// Measured, worked out and not tested stand apart; what was skipped or not known
// is named with what follows from it.
func TestUntestedIsNamed(t *testing.T) {
	e := examples(t)[0]
	text := Markdown(e.a, e.s, Options{Course: courseOf()})
	_, rest, _ := strings.Cut(text, "\n## What was not tested\n")
	section, _, _ := strings.Cut(rest, "\n## ")
	for _, want := range []string{
		"- Check every joint behind the meter. The reason: no light left. What follows: Air that enters unmeasured can upset the mixture.",
		"- How many cylinders has it? What follows: Nothing is lost.",
		"- What does the gauge show at rest? (2 times) What follows: The zero stays uncertain.",
		"mouth, snorkel, element, meter and tube: no reading shows any of them alone.",
		"- Power, fuel and the effect of a change",
	} {
		if !strings.Contains(section, want) {
			t.Errorf("the section lacks %q:\n%s", want, section)
		}
	}
	page := Customer(e.a, e.s, Options{Course: courseOf()})
	if strings.Contains(page, "How many cylinders") || !strings.Contains(page, "- Not known: What does the gauge show at rest? (2 times)") {
		t.Errorf("the customer should hear of checks only:\n%s", page)
	}
}

// Each thing that the sheet can leave untested is said where it is so, and not
// where it isn't.
func TestUntestedFollowsTheSheet(t *testing.T) {
	full := strings.NewReplacer(
		"run: 1,", "run: 1, direction: out, zero_before: 0 inH2O, intake_temperature: 30 C,", "run: 2,", "run: 2, direction: back,", "rpm: 6010", "rpm: 4000").Replace(carSheet)
	bare := strings.NewReplacer("checks:\n", "", "  - {kind: leak, at: tube, start: 15 inH2O, end: 14.8 inH2O, seconds: 30}\n", "", ", checked: 2026-09-01", "").Replace(carSheet)
	rolling := strings.Replace(carSheet, "place: track", "place: rolling-road", 1)
	said := map[string]map[string]bool{
		"no numbers of a leak check":                {bare: true, full: false},
		"What the gauge shows at rest.":             {carSheet: true, full: false},
		"Whether g25 reads true":                    {bare: true, full: false},
		"How the losses grow with the speed":        {carSheet: true, full: false},
		"nothing says that slope and wind":          {carSheet: true, full: false, rolling: false},
		"a rolling road has none":                   {carSheet: false, rolling: true},
		"How warm the air in the intake is.":        {carSheet: true, full: false},
		"Everything: no reading counts.":            {carSheet: false},
		"- Power, fuel and the effect of a change:": {carSheet: true, full: true},
	}
	a := examples(t)[0].a
	for text, sheets := range said {
		for src, want := range sheets {
			if got := strings.Contains(Markdown(a, readSheet(t, src), Options{}), text); got != want {
				t.Errorf("%q is said: %v, want %v, on\n%s", text, got, want, src)
			}
		}
	}
}

// What is known of several runs alike stands there once.
func TestCircumstancesOfRuns(t *testing.T) {
	src := strings.NewReplacer(
		"run: 1,", `run: 1, zero_before: 0 inH2O, gear: 2, reader: "A. B.", time: "10:42", reference: cabin,`,
		"run: 2,", `run: 2, zero_before: 0 inH2O, zero_after: 0.5 inH2O,`, "run: 3,", `run: 3, zero_before: 0 inH2O, zero_after: 0.5 inH2O,`,
		"start: 15 inH2O, end: 14.8 inH2O, seconds: 30", "seconds: 30").Replace(carSheet)
	text := Markdown(judged(), readSheet(t, src), Options{})
	for _, want := range []string{
		"- Run 1: gauge at rest before it 0 inH2O, gear 2, other port in the cabin, at 10:42, read by A. B.\n",
		"- Runs 2 and 3: gauge at rest before it 0 inH2O, gauge at rest after it 0.5 inH2O\n",
		"- leak check at tube, by eye: no numbers, 30 s\n",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the report lacks %q:\n%s", want, text)
		}
	}
}

func TestPartsOfPower(t *testing.T) {
	p := newPage(nil, nil, Options{})
	tests := []struct {
		e    assessment.Estimate
		want string
	}{
		{about(2, 1.04, 3.4), "about 1 to 3 of 100 parts of power"},
		{about(0.6, 0.31, 0.93), "about 0.3 to 0.9 of 100 parts of power"},
		{about(0.3, 0.01, 0.8), "at most about 0.8 of 100 parts of power"},
		{about(1, 0.98, 1.02), "about 1 of 100 parts of power"},
		{about(0, -1, 0.01), "nothing that can be named"},
		{about(1, math.NaN(), 2), "an unknown share of power"},
		{about(12, 9.6, 15.2), "about 10 to 15 of 100 parts of power"},
	}
	for _, tt := range tests {
		if got := p.Parts(tt.e); got != tt.want {
			t.Errorf("Parts(%v) = %q, want %q", tt.e, got, tt.want)
		}
	}
}

// Effort and cost stand on the customer's page as the sheet has them.
func TestCostAsTheSheetHasIt(t *testing.T) {
	src := strings.Replace(carSheet, "{name: box-in, kind: box-entry,", `{name: box-in, kind: box-entry, effort: 2, cost: "about 40 for the flare",`, 1)
	a := examples(t)[0].a
	for kind, text := range map[string]string{"customer": Customer(a, readSheet(t, src), Options{}), "report": Markdown(a, readSheet(t, src), Options{})} {
		if want := "effort 2 of 5, an hour or so, cost about 40 for the flare."; !strings.Contains(text, want) {
			t.Errorf("the %s lacks %q", kind, want)
		}
	}
}

// No word on the customer's page is one of the test sheet's or of fluid
// mechanics: what is used is said in plain words.
func TestCustomerReadsPlainWords(t *testing.T) {
	jargon := regexp.MustCompile(`(?i)velocity head|total pressure|restriction|handbook|open-air|box-entry|box-exit|interval|median|\bprior\b|\btaps?\b|exponent|pressure ratio`)
	for _, e := range examples(t) {
		if e.a == nil {
			continue
		}
		e.a.Gain.Note, e.a.GainAll.Note = "the induction is not stated", ""
		text := Customer(e.a, e.s, e.o)
		if m := jargon.FindString(text); m != "" {
			t.Errorf("%s: the page says %q:\n%s", e.name, m, text)
		}
		for _, code := range append(codes(t), assessment.Verdicts()...) {
			if len(code) > 8 && strings.Contains(text, code) {
				t.Errorf("%s: the page says %q", e.name, code)
			}
		}
		if strings.Contains(text, "inH2O") && !strings.Contains(text, "inH2O is inches of water") {
			t.Errorf("%s: the unit isn't explained:\n%s", e.name, text)
		}
	}
}

// named is a sheet with a name of its own at every place where people type one.
const named = `sheet: 1
title: "Qtitle of Qowner"
date: 2026-10-03
place: track
car:
  name: Qcar
  engine: {displacement: 1600 cc, cylinders: 4, fuel: petrol, induction: natural, peak_power: 80 kW}
path:
  - {name: Qmouth, kind: mouth, diameter: 55 mm, cost: "Qcost at Qshop"}
  - {name: Qsnorkel, kind: duct, diameter: 55 mm, length: 400 mm}
  - {name: duct-2, kind: duct, diameter: 60 mm}
  - {name: filter, kind: filter}
  - {name: Qtube, kind: duct, diameter: 60 mm, length: 500 mm}
gauges:
  - {name: Qgauge, range: 25 inH2O, division: 0.5 inH2O}
  - {name: Qsecond, range: 5 inH2O}
checks:
  - {kind: leak, at: Qtube, start: 15 inH2O, end: 14.8 inH2O, seconds: 30}
readings:
  - {run: 1, from: open-air, to: Qtube, gauge: Qgauge, value: "12.5 inH2O", rpm: 5950, reader: Qreader, note: "Qnote", time: "10:42"}
  - {run: 2, from: Qsnorkel, to: filter, gauge: Qsecond, value: "2 inH2O", rpm: 6010, doubtful: "Qdoubt"}
changes:
  - {date: 2026-09-20, component: Qmouth, what: "Qwhat"}
`

// namedCourse speaks of those names, and of one that was corrected since.
func namedCourse() *Course {
	return &Course{
		Record: "Qcar-2026-10-03", Program: "dropwalk 0.1.0", Ended: "complete with 1 open", Lamps: "Qlamp", Notes: []string{"Qsaid"},
		Owed:    []Duty{{Text: "Plug the hole at Qsnorkel and Qearlier.", Why: "Qwhy"}},
		Skipped: []Open{{What: "Look at (Qtube), Qmouth's end.", Why: "Qreason", So: "Qtube stays."}},
		Unknown: []Open{{What: "What size is Qmouth (mouth)?"}},
		Names:   []string{"Qcar", "Qearlier", "Qearlier (duct)", "Qtube"},
	}
}

// Nothing that was typed as a name or as free text is on the unnamed sheet, in
// what the record tells or on any page; figures, places and dates stay.
func TestUnnamed(t *testing.T) {
	s := readSheet(t, named)
	u, c := Unnamed(s), UnnamedCourse(namedCourse(), s)
	told, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	a := judged()
	a.Verdict, a.Title = assessment.Attack, u.Title
	first := u.Path[0].Name
	a.Attack, a.BestGuess, a.Together = &first, &first, nil
	a.Components = a.Components[:len(u.Path)]
	for i := range u.Path {
		a.Components[i].Name, a.Components[i].Kind = u.Path[i].Name, u.Path[i].Kind
	}
	all := pages(example{"unnamed", a, u, Options{Course: c, Unnamed: true}, ""})
	all["sheet"], all["course"] = string(sheet.Write(u)), string(told)
	for kind, text := range all {
		if i := strings.Index(text, "Q"); i >= 0 {
			t.Errorf("the %s still says %q", kind, text[i:min(len(text), i+30)])
		}
	}
	for _, want := range []string{"2026-10-03", "10:42", "12.5 inH2O", "5950", "track", "duct-2", "duct-3", "(left out)", "What remains: the date and times"} {
		if !strings.Contains(all["report"], want) {
			t.Errorf("the report lacks %q:\n%s", want, all["report"])
		}
	}
	if got, faults := sheet.Read("unnamed.yaml", sheet.Write(u)); got == nil || faults.Err() != nil {
		t.Errorf("the unnamed sheet can't be read: %v", faults)
	}
	if s.Title == "" || s.Path[0].Name != "Qmouth" || s.Readings[0].Reader != "Qreader" {
		t.Error("the sheet itself has changed")
	}
}

// Neutral names differ from each other, and what bears a neutral one already
// keeps it, so that no text is changed without need.
func TestNeutralNames(t *testing.T) {
	n := namesOf(readSheet(t, named))
	for name, want := range map[string]string{"Qmouth": "mouth", "Qsnorkel": "duct", "duct-2": "duct-2", "Qtube": "duct-3", "filter": "filter"} {
		if got := n.pieces[name]; got != want {
			t.Errorf("%q becomes %q, want %q", name, got, want)
		}
	}
	swap := n.swapper([]string{"Qold"})
	for text, want := range map[string]string{
		"Take the gauge out of Qtube.": "Take the gauge out of duct-3.",
		"Qtubes, xQtube, Qtube-end":    "Qtubes, xQtube, duct-3-end",
		"Qold and Qsnorkel":            "(left out) and duct",
		"at duct-2, at open-air":       "at duct-2, at open-air",
	} {
		if got := swap(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

// A stop cuts steps off behind what is owed; both readers learn which.
func TestStepsNeverReachedAreNamed(t *testing.T) {
	e := examples(t)[0]
	course := &Course{Ended: "stopped", LeftOut: []Open{{What: "Check every joint behind the meter.", So: "Air that enters unmeasured can upset the mixture.", Check: true}}}
	for name, text := range map[string]string{
		"tester":   Markdown(e.a, e.s, Options{Course: course}),
		"customer": Customer(e.a, e.s, Options{Course: course}),
	} {
		flat := strings.Join(strings.Fields(text), " ")
		if !strings.Contains(flat, "Never reached, because the test was stopped") || !strings.Contains(flat, "Check every joint behind the meter.") {
			t.Errorf("%s: the step that was never reached is missing in\n%s", name, text)
		}
	}
}
