package advice

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"

	"dropwalk/advice/air"
	"dropwalk/advice/calibrate"
	"dropwalk/advice/finding"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// gaugeTest is the name of the check of a gauge against a column of water.
const gaugeTest = "gauge-check"

// Places of the check of a gauge against a column of water.
const (
	markShown = "marks[].shown" // where the needle stood
	markWay   = "marks[].way"   // from which side the mark was come to
	markUpper = "marks[].upper"
	markLower = "marks[].lower"

	columnReach = "test.column_reach"
	waterPath   = "test.water_temperature"
	latitude    = "test.latitude"
	elevation   = "test.elevation"
	cardCalled  = "test.card_name"
	cardTake    = "test.card_take"
)

const (
	fromBelow = "rising"
	fromAbove = "falling"
)

// What is taken where nobody says it, and how well levels are read; common practice,
// no source.
const (
	levelWithin   = 1e-3   // m, either way, with the eye level with the water
	markWithin    = 0.2    // of a division, either way: a needle set on a mark, without parallax
	usualWater    = 293.15 // K
	waterSpread   = 10.0   // K either way, where nobody measured it
	waterRead     = 1.0    // K either way, where somebody did
	gravitySpread = 0.026  // m/s2 either way, equator to pole (Moritz 2000: 9.780 to 9.832)
	gravityLocal  = 0.001  // m/s2 either way at a known latitude: local rock
	columnUsual   = 0.7    // m between the levels, a U-tube on a board of a metre
	leastSteps    = 10.0   // divisions that the column has to reach: five marks, two divisions apart
	zeroTolerated = 1.0    // of the stated accuracy, by which a zero may have moved
)

var gaugeCheck = test{
	name:     gaugeTest,
	verdicts: []string{calibrate.Within, calibrate.UseTable, calibrate.DontUse, finding.CannotTell},
	places:   []string{markShown, markUpper},
	lists:    []string{"marks[]"},
	named:    map[string]string{cardCalled: "gauge"},
	find:     (*view).foundGauge,

	read:   map[string]func(string) (string, error){cardCalled: readCardName},
	doubts: map[string]doubter{markUpper: (*view).strangeLevels},
	limits: map[string]limit{
		markUpper: {0, 4, "0 to 4 m"}, markLower: {0, 4, "0 to 4 m"}, columnReach: {0.02, 4, "20 mm to 4 m"}, waterPath: {273.15, 313.15, "0 C to 40 C"},
		latitude: {-math.Pi / 2, math.Pi / 2, "-90 to 90 deg"}, elevation: {-500, 6000, "-500 to 6000 m"},
	},

	fields: []subject.Field{
		{Path: markShown, Kind: quantity.PressureDiff, Doc: "where the needle stood at this mark; of the check of a gauge"},
		{Path: markUpper, Kind: quantity.Length, Unit: "mm", Doc: "the higher level of the water on its scale"},
		{Path: markLower, Kind: quantity.Length, Unit: "mm", Doc: "the lower level of the water on its scale"},
		{Path: columnReach, Kind: quantity.Length, Doc: "the largest difference of levels that the U-tube has room for"},
		{Path: waterPath, Kind: quantity.Temperature, Doc: "temperature of the water in the U-tube"},
		{Path: latitude, Kind: quantity.Angle, Unit: "deg", Doc: "geographical latitude of the bench, north or south alike"},
		{Path: elevation, Kind: quantity.Length, Unit: "m", Doc: "height of the bench above the sea"},
		{Path: cardCalled, Kind: quantity.Text, Doc: "what the gauge is called on its card"},
		{Path: cardTake, Kind: quantity.Choice, Choices: []string{"yes", "no"}, Required: true, Doc: "whether the outcome is kept on the card of the gauge"},
	},
	facts: []fact{
		{subject.Fact{Name: "on_card", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the gauge was named by its card"},
			func(v *view) subject.Value { return yesNo(v.entry(cardPath, "") != "") }},
		{subject.Fact{Name: "accuracy_known", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the accuracy of the gauge was stated, on its card or in an answer"},
			func(v *view) subject.Value { return yesNo(v.onBench().stated) }},
		{subject.Fact{Name: "card_name", Kind: quantity.Text, Doc: "what the gauge is called on its card"},
			func(v *view) subject.Value { return word(cardNameIn(v.entries)) }},
		{subject.Fact{Name: "card_ready", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Judged: true, Doc: "whether the check of a gauge has something for its card"},
			(*view).cardReady},
		{subject.Fact{Name: "column_short", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the U-tube reaches less than ten divisions of the gauge"},
			func(v *view) subject.Value { g := v.onBench(); return yesNo(v.reach(g) < leastSteps*g.division) }},
		{subject.Fact{Name: "column_top", Kind: quantity.PressureDiff, Doc: "the largest pressure that the U-tube can show, up to the end of the scale"},
			func(v *view) subject.Value {
				g := v.onBench()
				return subject.Value{Known: true, Number: v.reach(g), Text: quantity.ShowIn(v.reach(g), quantity.PressureDiff, g.unit)}
			}},
		{subject.Fact{Name: "card_change", Kind: quantity.Text, Judged: true, Doc: "what the check of a gauge would put on its card"},
			(*view).cardChange},
	},
	sources: []source{{subject.Source{Name: "next-mark", Doc: "the marks of a gauge that are held against a column: five rising, four falling, three rising once more", Rows: "marks",
		Values: []subject.Fact{{Name: "mark", Kind: quantity.Text, Doc: "where the needle is set"},
			{Name: "way", Kind: quantity.Choice, Choices: []string{fromBelow, fromAbove}, Doc: "from which side it comes to the mark"},
			{Name: "nth", Kind: quantity.Number, Doc: "number of the mark"}, {Name: "marks", Kind: quantity.Number, Doc: "how many there are"},
			{Name: "height", Kind: quantity.Text, Doc: "about how far the levels lie apart there"}}}, (*view).nextMark}},
}

// markPlan are the marks as shares of the range, in order. Twelve in all: five up and
// four down show errors and hysteresis, three once more whether it repeats.
var markPlan = []struct {
	share float64
	way   string
}{
	{0.2, fromBelow}, {0.4, fromBelow}, {0.6, fromBelow}, {0.8, fromBelow}, {1, fromBelow},
	{0.8, fromAbove}, {0.6, fromAbove}, {0.4, fromAbove}, {0.2, fromAbove},
	{0.2, fromBelow}, {0.6, fromBelow}, {1, fromBelow},
}

// gaugeOnBench is the gauge that is checked, in Pa; what nobody stated is usual.
type gaugeOnBench struct {
	full, division, accuracy float64
	unit                     string
	stated                   bool // the accuracy
}

func (v *view) onBench() gaugeOnBench {
	g := gaugeOnBench{accuracy: usualAccuracy, unit: v.gaugeUnit()}
	full := amountOf(v.entry(gaugeRange, ""), quantity.PressureDiff)
	if !full.Known() {
		full = amountOf(defaultGauge[0].Text, quantity.PressureDiff)
	}
	g.full = full.SI
	if g.division = amountOf(v.entry("gauges[].division", ""), quantity.PressureDiff).SI; g.division <= 0 {
		g.division = g.full / 50
	}
	accuracy := v.entry(accuracyPath, "")
	if entries, err := cardEntries(soleRow, v.entry(cardPath, "")); err == nil && accuracy == "" {
		accuracy = textsAt(entries, accuracyPath)[soleRow]
	}
	if a := amountOf(accuracy, quantity.Share); a.Known() && a.SI > 0 {
		g.accuracy, g.stated = a.SI, true
	}
	return g
}

// usualAccuracy is taken of a gauge that nobody described, as the assessment does.
const usualAccuracy = 0.02

// reach is the largest pressure that the column can show, or the end of the scale.
func (v *view) reach(g gaugeOnBench) float64 {
	height := columnUsual
	if a := amountOf(v.entry(columnReach, ""), quantity.Length); a.Known() && a.SI > 0 {
		height = a.SI
	}
	pa, _ := v.column().Pressure(0, height)
	return min(pa, g.full)
}

// column is the U-tube as described.
func (v *view) column() calibrate.Column {
	c := calibrate.Column{Temperature: usualWater, TemperatureSE: finding.Limit(waterSpread), Gravity: air.Gravity, GravitySE: finding.Limit(gravitySpread), LevelSE: finding.Limit(levelWithin)}
	if a := amountOf(v.entry(waterPath, ""), quantity.Temperature); a.Known() {
		c.Temperature, c.TemperatureSE = a.SI, finding.Limit(waterRead)
	}
	if a := amountOf(v.entry(latitude, ""), quantity.Angle); a.Known() {
		c.Gravity = air.NormalGravity(a.SI, amountOf(v.entry(elevation, ""), quantity.Length).SI)
		c.GravitySE = finding.Limit(gravityLocal)
	}
	return c
}

// nextMark offers the marks in turn, each on a line of the scale.
func (v *view) nextMark(at subject.Round) (subject.Offer, bool) {
	if at.Done >= len(markPlan) {
		return subject.Offer{}, false
	}
	g := v.onBench()
	plan := markPlan[at.Done]
	pa := math.Floor(plan.share*v.reach(g)/g.division+1e-9) * g.division
	if pa <= 0 {
		pa = plan.share * v.reach(g)
	}
	size, err := quantity.From(1, quantity.PressureDiff, g.unit)
	if err != nil {
		return subject.Offer{}, false
	}
	mark := strconv.FormatFloat(math.Round(pa/size*1e4)/1e4, 'f', -1, 64) + " " + g.unit
	column := v.column()
	one, _ := column.Pressure(0, 1)
	return subject.Offer{
		Values: map[string]string{"mark": mark, "way": plan.way, "nth": fmt.Sprint(at.Done + 1), "marks": fmt.Sprint(len(markPlan)),
			"height": quantity.Show(pa/one, quantity.Length, v.matter.Units)},
		Parts: []subject.Part{{Path: markShown, Text: mark}, {Path: markWay, Text: plan.way}},
	}, true
}

// columnSays is what two levels come to; false where the parts are none.
func (v *view) columnSays(parts []subject.Part) (float64, bool) {
	upper, lower := amountOf(partAt(parts, markUpper), quantity.Length), amountOf(partAt(parts, markLower), quantity.Length)
	pa, _ := v.column().Pressure(upper.SI, lower.SI)
	return pa, upper.Known() && lower.Known()
}

// partAt is the text of the part at a path, "" for none.
func partAt(parts []subject.Part, path string) string {
	for _, p := range parts {
		if p.Path == path {
			return p.Text
		}
	}
	return ""
}

// needleAt is where the needle stands: as typed, else at the mark of the round.
func (v *view) needleAt(parts []subject.Part, at subject.Round) string {
	return cmp.Or(partAt(parts, markShown), v.entry(markShown, at.Slot))
}

// Levels that lie so far from what the needle shows are probably a slip: a share of
// the mark and some divisions (common practice, no source).
const (
	levelsShare = 0.15
	levelsSteps = 2.0
)

// oneLevel refuses a pair of levels of which one is missing.
func oneLevel(parts []subject.Part) error {
	if partAt(parts, markUpper) != "" && partAt(parts, markLower) != "" {
		return nil
	}
	return &subject.Refusal{What: "one level alone says nothing", Expected: "both levels, such as 427 mm, 173 mm"}
}

// strangeLevels doubts levels that say something quite different from the needle.
func (v *view) strangeLevels(parts []subject.Part, at subject.Round) *strange {
	pa, ok := v.columnSays(parts)
	needle := amountOf(v.needleAt(parts, at), quantity.PressureDiff)
	if !ok || !needle.Known() || math.Abs(pa-needle.SI) <= levelsShare*needle.SI+levelsSteps*v.onBench().division {
		return nil
	}
	return &strange{what: []string{fmt.Sprintf("the column says %s where the needle stands at %s", quantity.ShowIn(pa, quantity.PressureDiff, v.gaugeUnit()), needle.Text())}}
}

// checkOf is the check as numbers, and what reading the levels leaves open of one
// point.
func (v *view) checkOf() (c calibrate.Check, zeroKnown bool) {
	g, column := v.onBench(), v.column()
	before, after := amountOf(v.entry(beforePath, ""), quantity.PressureDiff), amountOf(v.entry(afterPath, ""), quantity.PressureDiff)
	zero := before.SI
	switch {
	case before.Known() && after.Known():
		zero = (before.SI + after.SI) / 2
		c.ZeroMoved = after.SI - before.SI
	case after.Known():
		zero = after.SI
	}
	c.Full, c.Division, c.Limit, c.Shared = g.full, g.division, g.accuracy*g.full, column.Shared()
	for _, r := range v.rowsFilled(markUpper) {
		shown, upper, lower := r.amount(markShown, quantity.PressureDiff), r.amount(markUpper, quantity.Length), r.amount(markLower, quantity.Length)
		if !shown.Known() || !upper.Known() || !lower.Known() {
			continue
		}
		pa, se := column.Pressure(upper.SI, lower.SI)
		c.Points = append(c.Points, calibrate.Point{Shown: shown.SI - zero, True: pa,
			SE: math.Hypot(se, finding.Limit(markWithin*g.division)), Rising: r.texts[markWay] != fromAbove})
	}
	return c, before.Known() || after.Known()
}

func (v *view) foundGauge() *finding.Finding {
	f := finding.New(gaugeTest)
	c, zeroKnown := v.checkOf()
	r := c.Judge()
	if r.Verdict == calibrate.TooFew {
		f.Say("Marks that were held against the column so far: %d. It takes five different ones at least, and three of them twice.", len(c.Points))
		return f
	}
	v.gaugeFigures(f, c, r, zeroKnown)
	v.gaugeSentences(f, c, r)
	return f.Conclude(r.Verdict)
}

// gaugeFigures adds what was found of a gauge.
func (v *view) gaugeFigures(f *finding.Finding, c calibrate.Check, r calibrate.Result, zeroKnown bool) {
	g := v.onBench()
	on := fmt.Sprintf("%d marks beside the column", len(c.Points))
	f.Add(finding.Between("error", "Largest error, less the zero", quantity.PressureDiff, r.Error, r.Error-ninety(r.ErrorHalf), r.Error+ninety(r.ErrorHalf), finding.Measured, on))
	f.Add(finding.Of("gain", "What it shows of the truth, by the line through all marks", quantity.Share, r.Gain, finding.Inferred, "a line by least squares through "+on))
	f.Add(exactly("bend", "Largest distance of a mark from that line", r.Bend, on))
	accuracy := "its card"
	if !g.stated {
		accuracy = "nobody stated it; 2 % of the range is usual (common practice, no source)"
	}
	f.Add(finding.Figure{Name: "accuracy", Label: "Its stated accuracy", Kind: quantity.PressureDiff, Value: c.Limit, Low: c.Limit, High: c.Limit, How: finding.Inferred, On: accuracy})
	if math.IsNaN(r.Hysteresis) {
		f.Add(finding.Unknown("hysteresis", "Falling less rising at one mark", quantity.PressureDiff, "no mark was come to from both sides"))
	} else {
		f.Add(exactly("hysteresis", "Falling less rising, the most at one mark", r.Hysteresis, "marks that were come to from both sides"))
	}
	if math.IsNaN(r.Repeat) {
		f.Add(finding.Unknown("repeat", "Scatter of coming to one mark the same way", quantity.PressureDiff, "no mark was come to twice the same way"))
	} else {
		f.Add(exactly("repeat", "Scatter of coming to one mark the same way", r.Repeat, "marks that were come to twice the same way, one standard deviation"))
	}
	if zeroKnown {
		f.Add(exactly("zero-moved", "How far the zero moved", c.ZeroMoved, "the gauge at rest before and after"))
	} else {
		f.Add(finding.Unknown("zero-moved", "How far the zero moved", quantity.PressureDiff, "nobody read the gauge at rest"))
	}
	worst := 0.0
	for _, p := range c.Points {
		worst = max(worst, math.Hypot(p.SE, c.Shared*p.True))
	}
	f.Add(finding.Figure{Name: "column", Label: "How well one mark is known by the column and the eye, 95 %", Kind: quantity.PressureDiff, Value: 2 * worst, Low: 2 * worst, High: 2 * worst,
		How: finding.Inferred, On: "levels within 1 mm each, the needle within a fifth of a division (common practice), density by Tanaka et al. (2001), gravity by Moritz (2000)"})
	f.Add(exactly("reach", "How far up the scale it was checked", r.Reach, "the highest mark"))
}

// ninety makes half a 90 % interval of half a 95 % one.
func ninety(half float64) float64 { return half * 1.6449 / 2 }

// exactly is a figure of the measurement that needs no interval.
func exactly(name, label string, pa float64, on string) finding.Figure {
	return finding.Figure{Name: name, Label: label, Kind: quantity.PressureDiff, Value: pa, Low: pa, High: pa, How: finding.Measured, On: on}
}

// gaugeSentences says what the figures come to.
func (v *view) gaugeSentences(f *finding.Finding, c calibrate.Check, r calibrate.Result) {
	share := 100 * (r.Gain.Value - 1)
	switch {
	case math.Abs(share) < 0.5:
		f.Say("Over the scale it shows the truth within half a percent; the largest error is {error}.")
	case share < 0:
		f.Say("Over the scale it reads about %.1f %% low; the largest error is {error}.", -share)
	default:
		f.Say("Over the scale it reads about %.1f %% high; the largest error is {error}.", share)
	}
	f.Say("Its stated accuracy is {accuracy}. Column and eye leave {column} open at one mark.")
	if r.Sticks {
		f.Say("At one place the needle rose and the column didn't: it sticks, or a level was misread.")
	}
	if math.Abs(r.Gain.Value-1) > 0.25 {
		f.Say("That is far more than a gauge that still works errs by. Look for another unit on its scale, a blocked leg or a leak.")
	}
	if math.Abs(c.ZeroMoved) > zeroTolerated*c.Limit {
		f.Say("Its zero moved by {zero-moved}, more than its accuracy.")
	}
	if g := v.onBench(); r.Reach < 0.75*g.full {
		f.Say("It was checked up to {reach}. Above that nothing is known of it.")
	}
	if r.Verdict == calibrate.CannotTell && !r.Worth {
		f.Say("The column is known no better than that, so no table is made of it.")
	}
	if givesTable(r) {
		f.Say("What it shows and what is true: %s.", v.tableText(r.Table))
	}
}

// tableText is a correction table in a sentence, in the unit of the gauge.
func (v *view) tableText(table []calibrate.Row) string {
	var rows []string
	for _, k := range v.correction(table) {
		rows = append(rows, k.Shown.Text()+" is "+k.True.Text())
	}
	return strings.Join(rows, ", ")
}

// correction is a table as a card holds it: in the unit of the gauge, to a
// hundredth of a division.
func (v *view) correction(table []calibrate.Row) []sheet.Correction {
	g := v.onBench()
	size, err := quantity.From(1, quantity.PressureDiff, g.unit)
	if err != nil {
		return nil
	}
	digits := max(0, int(math.Ceil(-math.Log10(g.division/size/20))))
	amount := func(pa float64) quantity.Amount {
		scale := math.Pow(10, float64(digits))
		a, _ := quantity.Of(math.Round(pa/size*scale)/scale, quantity.PressureDiff, g.unit)
		return a
	}
	var out []sheet.Correction
	for _, row := range table {
		out = append(out, sheet.Correction{Shown: amount(row.Shown), True: amount(row.True)})
	}
	return out
}

// cardNameIn is the name of the card that a check of a gauge is about, "" for none.
func cardNameIn(entries []subject.Entry) string {
	v := &view{matter: &Matter{}, entries: entries}
	if card := v.entry(cardPath, ""); card != "" {
		return CardIn(subject.Part{Path: cardPath, Text: card})
	}
	return v.entry(cardCalled, "")
}

// givesTable tells whether a check makes a table that is worth keeping.
func givesTable(r calibrate.Result) bool {
	return r.Verdict == calibrate.UseTable || r.Verdict == calibrate.CannotTell && r.Worth
}

// gaugeResult is the outcome of the check.
func (v *view) gaugeResult() calibrate.Result {
	c, _ := v.checkOf()
	return c.Judge()
}

// cardReady tells whether the check has something for the card.
func (v *view) cardReady() subject.Value {
	r := v.gaugeResult()
	return yesNo(r.Verdict == calibrate.Within || givesTable(r))
}

// cardChange says what would go on the card.
func (v *view) cardChange() subject.Value {
	r := v.gaugeResult()
	switch {
	case r.Verdict == calibrate.Within:
		return word("the day of this check, and no table, because it needs none")
	case givesTable(r):
		return word(fmt.Sprintf("the day of this check and its table of %d rows", len(r.Table)))
	}
	return word("nothing")
}

// TakenCard is the card that a check of a gauge makes: the old one, where there is
// one of that name, with the day of the check and its correction table. Asked tells
// whether the tester wanted it kept. It is nil where the entries are of no such check,
// or of one that lets nothing be kept; then why says so.
func TakenCard(entries []subject.Entry, cards []sheet.Card) (card *sheet.Card, asked bool, why string) {
	v := &view{matter: &Matter{}, entries: entries}
	if t := testOf(entries); t == nil || t.name != gaugeTest {
		return nil, false, "it is no check of a gauge against a column of water"
	}
	asked = v.entry(cardTake, "") == "yes"
	r := v.gaugeResult()
	switch {
	case r.Verdict == calibrate.TooFew:
		return nil, asked, "too few marks were held against the column"
	case r.Verdict == calibrate.DontUse:
		return nil, asked, "the check says not to use that gauge"
	case v.cardReady().Word == "no":
		return nil, asked, "the column is known no better than the gauge is said to be"
	}
	name := cardNameIn(entries)
	if name == "" {
		return nil, asked, "nobody said what the gauge is called"
	}
	made := v.cardOnRecord(name)
	for _, old := range cards {
		if old.Name == name {
			stated := made.Accuracy
			if made = old; !made.Accuracy.Given() {
				made.Accuracy = stated
			}
		}
	}
	made.Checked, made.Correction = v.entry("date", ""), nil
	if r.Verdict != calibrate.Within {
		made.Correction = v.correction(r.Table)
	}
	return &made, asked, ""
}

// cardOnRecord is the gauge as it was described in the record.
func (v *view) cardOnRecord(name string) sheet.Card {
	s := sheet.Card{Gauge: sheet.Gauge{Name: name}}
	answers := map[string]string{"name": name}
	for _, e := range gaugeEntries(v.entries) {
		if key := strings.TrimPrefix(e.Path, gaugeList); key != "name" && e.Text != "" {
			answers[key] = e.Text
		}
	}
	if card, _ := sheet.CardOf(answers); card != nil {
		return *card
	}
	return s
}
