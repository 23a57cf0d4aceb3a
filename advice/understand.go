package advice

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/spell"
	"dropwalk/engine/subject"
)

// dontKnow are the ways to say that one doesn't know. A choice that has the
// word "unknown" of its own takes it as that choice.
var dontKnow = []string{"?", "don't know", "dont know", "do not know", "i don't know", "i dont know", "i do not know", "unknown", "not known", "not sure", "no idea", "dunno"}

// Read understands one line that fills the fields at paths.
func (v *view) Read(paths []string, at subject.Round, raw string) (subject.Reply, error) {
	raw = strings.TrimSpace(strings.ReplaceAll(raw, "\u2019", "'"))
	if slices.Contains(dontKnow, strings.ToLower(raw)) && !v.takesUnknown(paths[0], raw) {
		if paths[0] != readingPath {
			return notKnown(paths[0]), nil
		}
		raw = "?"
	}
	line, why, sure, err := insisted(paths, raw)
	if err != nil {
		return subject.Reply{}, err
	}
	asked, card := line, ""
	if paths[0] == gaugeRange {
		if asked, card, err = v.fromCard(paths, line); err != nil {
			return subject.Reply{}, err
		}
		asked = fromNought.ReplaceAllString(asked, "")
	}
	if paths[0] == readingPath {
		if err := v.swapped(line); err != nil {
			return subject.Reply{}, err
		}
	}
	texts, err := shares(paths, asked)
	if err == nil && why == "" {
		err = halfAnswer(paths, texts)
	}
	if err != nil {
		return subject.Reply{}, err
	}
	var reply subject.Reply
	var echoes []string
	if reply.Parts, echoes, err = v.readEach(paths, at, texts); err != nil {
		return subject.Reply{}, err
	}
	if said := notUsed(paths, reply.Parts); said != "" && why == "" {
		echoes = append(echoes, said)
	}
	if card != "" {
		reply.Parts = append(reply.Parts, subject.Part{Path: cardPath, Text: card})
		echoes = append(echoes, cardEcho(card, v.entry("date", "")))
	}
	if paths[0] == readingPath && len(reply.Parts) == 1 && reply.Parts[0].Text != "?" {
		echoes = append(echoes, "the engine speed was not stated; it is taken as "+v.rpm().Text)
	}
	if pa, ok := v.columnSays(reply.Parts); ok {
		echoes = []string{"the column says " + quantity.ShowIn(pa, quantity.PressureDiff, v.gaugeUnit()), "the needle stands at " + v.needleAt(reply.Parts, at)}
	}
	if why != "" {
		reply.Parts = append(reply.Parts, subject.Part{Path: doubtfulAt(paths[0]), Text: doubtfulMark + why})
		echoes = append(echoes, "kept as doubtful")
	}
	if err := v.holds(reply.Parts, at, line); err != nil {
		return subject.Reply{}, err
	}
	if !sure {
		if err := v.inDoubt(typedLine{paths, texts, line}, reply.Parts, at); err != nil {
			return subject.Reply{}, err
		}
	}
	reply.Echo = strings.Join(echoes, ", ")
	return reply, nil
}

// readEach reads the texts of a line, one for each path; echoes say how they were
// understood. A part that isn't known is left out where the others say something.
func (v *view) readEach(paths []string, at subject.Round, texts []string) (parts []subject.Part, echoes []string, err error) {
	for i, text := range texts {
		if len(texts) > 1 && slices.Contains(dontKnow, strings.ToLower(text)) && paths[i] != readingPath {
			continue
		}
		canonical, echo, err := v.readOne(paths[i], at, text)
		if err != nil {
			return nil, nil, v.possible(paths, at, v.whole(err, paths, at, texts, i))
		}
		parts = append(parts, subject.Part{Path: paths[i], Text: canonical})
		if echo != "" {
			echoes = append(echoes, echo)
		}
	}
	return parts, echoes, incomplete(paths, parts)
}

// notKnown is what "don't know" comes to at a place.
func notKnown(path string) subject.Reply {
	switch path {
	case checkStart:
		return subject.Reply{Parts: []subject.Part{{Path: checkStart, Text: byEye}}, Echo: "Taken as passed by eye, without numbers."}
	case sizesPath:
		return subject.Reply{Parts: []subject.Part{{Path: sizesPath, Text: "later"}}, Echo: "Taken as later. The program goes on without sizes."}
	}
	return subject.Reply{Unknown: true}
}

// incomplete refuses an answer whose parts say nothing without each other.
func incomplete(paths []string, parts []subject.Part) error {
	if paths[0] == markUpper {
		return oneLevel(parts)
	}
	if check, ok := losses[paths[0]]; ok && len(paths) > 1 {
		return check.fault(parts)
	}
	return nil
}

// halfAnswer refuses an answer to a further test that ends before a place without which
// the rest says nothing, and names what is missing. A "?" in that place is no slip: the
// answer is kept, and notUsed says what becomes of it.
func halfAnswer(paths, texts []string) error {
	var missing []string
	for i, path := range paths {
		if name := memberName(paths[0], path); name != "" && i >= len(texts) {
			missing = append(missing, name)
		}
	}
	if len(missing) == 0 {
		return nil
	}
	return &subject.Refusal{What: strings.Join(missing, " and ") + " missing", Expected: "all of it in one line with commas between; ? in the place of what nobody could read"}
}

// notUsed says of an answer that is kept that it counts for nothing, and for want of
// what; "" where it does count.
func notUsed(paths []string, parts []subject.Part) string {
	var missing []string
	for _, path := range paths {
		if name := memberName(paths[0], path); name != "" && partAt(parts, path) == "" {
			missing = append(missing, name)
		}
	}
	if len(missing) == 0 || len(parts) == 0 {
		return ""
	}
	return "kept and not used: " + strings.Join(missing, " and ") + " not known"
}

// memberName is what a place is called in the answers that begin at first and say nothing
// without it; "" where they do.
func memberName(first, path string) string {
	for _, t := range tests {
		for _, group := range t.pairs {
			i := slices.IndexFunc(group, func(m member) bool { return m.path == path })
			if i >= 0 && group[0].path == first {
				return group[i].name
			}
		}
	}
	return ""
}

// fromNought is the beginning of a range that a dial is said to have: 0-25 inH2O.
var fromNought = regexp.MustCompile(`^0\s*(?:-|\x{2013}|\.\.|to\s)\s*`)

// swapped refuses a reading and an engine speed in the wrong order: the first
// lies beyond the gauge and is an engine speed, the second is none.
func (v *view) swapped(line string) error {
	texts := separator.Split(line, -1)
	full := v.gaugeRange()
	if len(texts) != 2 || !full.Known {
		return nil
	}
	rpm, err := quantity.Read(texts[0], quantity.Want{Kind: quantity.Rotation, Unit: "rpm"})
	if err != nil || !rpm.Known() || rpm.SI < limits[rpmPath].low || rpm.SI > limits[rpmPath].high {
		return nil
	}
	value, err := quantity.Read(texts[1], quantity.Want{Kind: quantity.PressureDiff, Unit: v.gaugeUnit(), Swing: true})
	if err != nil || value.SI > full.Number {
		return nil
	}
	if first, err := quantity.Read(texts[0], quantity.Want{Kind: quantity.PressureDiff, Unit: v.gaugeUnit()}); err == nil && first.SI <= full.Number {
		return nil
	}
	return &subject.Refusal{What: "the reading comes first, then the engine speed", Expected: "such as 12.5 inH2O at 6000", Choices: []string{value.Text() + ", " + rpm.Text()}}
}

// possible takes out of a refusal the choices that would be refused in turn.
func (v *view) possible(paths []string, at subject.Round, err error) error {
	r, ok := errors.AsType[*subject.Refusal](err)
	if !ok || len(r.Choices) == 0 {
		return err
	}
	kept := *r
	kept.Choices = slices.DeleteFunc(slices.Clone(r.Choices), func(choice string) bool {
		_, err := v.Read(paths, at, choice)
		again, refused := errors.AsType[*subject.Refusal](err)
		return refused && again.Doubt == nil && len(again.Choices) == 0
	})
	return &kept
}

// loss is a fall of a depression that was watched, as three places.
type loss struct{ start, end, seconds string }

// losses are those that procedures ask for, by their first place.
var losses = map[string]loss{
	checkStart: {checkStart, checkEnd, "checks[].seconds"},
	pinchStart: {pinchStart, pinchEnd, pinchSeconds},
}

// fault refuses a leak check that is not one: a figure is missing, or the
// depression grew.
func (l loss) fault(parts []subject.Part) error {
	example := "such as 15 inH2O, 14.8 inH2O, 30"
	if l.start == checkStart {
		example += "; or ? where it was judged by eye"
	}
	if len(parts) == 1 && parts[0].Text == byEye {
		return nil
	}
	var missing []string
	amounts := map[string]quantity.Amount{}
	for _, want := range []struct{ path, name string }{{l.start, "the start"}, {l.end, "the end"}, {l.seconds, "the seconds"}} {
		i := slices.IndexFunc(parts, func(p subject.Part) bool { return p.Path == want.path })
		if i < 0 {
			missing = append(missing, want.name)
			continue
		}
		amounts[want.path], _ = quantity.Read(parts[i].Text, quantity.Want{Kind: quantity.PressureDiff})
	}
	start, end := amounts[l.start], amounts[l.end]
	switch {
	case len(missing) > 0:
		return &subject.Refusal{What: strings.Join(missing, " and ") + " of the check missing", Expected: "the start, the end and the seconds, " + example}
	case math.Abs(end.SI) > math.Abs(start.SI):
		return &subject.Refusal{
			What:     fmt.Sprintf("the check ends at %s, above its start at %s: a check that rises is none", end.Text(), start.Text()),
			Expected: "the figures of a check that is made again, " + example}
	case start.SI == 0:
		return &subject.Refusal{What: "a check that starts at nought shows nothing", Expected: "the figures of a check at about half the range, " + example}
	}
	return nil
}

// byEye stands for the numbers of a check that was judged by eye: it was made,
// and that is what the sheet says.
const byEye = "?"

// soleRow is the row of a list that an answer outside rounds fills.
const soleRow = "1"

// holds refuses an answer that the sheet can't hold: one that the sheet's own
// reader would find fault with later, where nobody could put it right.
func (v *view) holds(parts []subject.Part, at subject.Round, raw string) error {
	row := at.Slot
	if row == "" {
		row = soleRow
	}
	entries := slices.Clone(v.entries)
	for _, p := range parts {
		e := subject.Entry{Path: p.Path, Text: p.Text}
		if strings.Contains(p.Path, "[]") {
			e.Row = row
		}
		entries = append(entries, e)
	}
	v.doc()
	_, after := sheet.FromEntries(SheetEntries(entries))
	for _, f := range after.Errors() {
		// What is still missing is no fault of this answer.
		if about(f.Path, parts) && !slices.Contains(v.faults, f) {
			return &subject.Refusal{What: fmt.Sprintf("%q can't be right: %s", raw, f.What), Expected: f.Expected}
		}
	}
	return nil
}

var itemNumber = regexp.MustCompile(`\[\d+\]`)

// about tells whether a fault lies at a place that one of the parts fills.
func about(path string, parts []subject.Part) bool {
	path = itemNumber.ReplaceAllString(path, "[]")
	return slices.ContainsFunc(parts, func(p subject.Part) bool {
		return p.Path == path || p.Path == sizePath && strings.HasPrefix(path, "path[].") || p.Path == cardPath && strings.HasPrefix(path, gaugeList)
	})
}

// takesUnknown tells whether the field has raw among its choices.
func (v *view) takesUnknown(path, raw string) bool {
	f, ok := v.matter.Field(path)
	return ok && slices.Contains(f.Choices, raw)
}

// separator parts the answers to a question that fills several fields.
var separator = regexp.MustCompile(`\s*;\s*|,\s+|\s+at\s+|\s+by\s+`)

// shares gives each field its share of a line. Fields at the end may be left
// out.
func shares(paths []string, raw string) ([]string, error) {
	if len(paths) == 1 {
		return []string{raw}, nil
	}
	texts := separator.Split(raw, -1)
	if len(texts) > len(paths) {
		return nil, &subject.Refusal{
			What:     fmt.Sprintf("%d answers where %d are asked for", len(texts), len(paths)),
			Expected: "one line such as the example, with commas between",
		}
	}
	return texts, nil
}

// spread puts a unit behind each bare number of texts that can't do without one and
// can be read with it.
func (v *view) spread(unit string, paths []string, at subject.Round, texts []string) {
	for k, text := range texts {
		if _, err := strconv.ParseFloat(text, 64); err != nil {
			continue
		}
		_, _, bare := v.readOne(paths[k], at, text)
		if _, _, err := v.readOne(paths[k], at, text+" "+unit); bare != nil && err == nil {
			texts[k] = text + " " + unit
		}
	}
}

// whole puts the choices of one share back into the line that they belong to. The unit
// that a choice adds goes to the shares behind it that lack one too, where it suits
// them: whoever typed 24, 18 is asked once.
func (v *view) whole(err error, paths []string, at subject.Round, texts []string, i int) error {
	refusal, ok := errors.AsType[*subject.Refusal](err)
	if !ok || len(texts) == 1 {
		return err
	}
	full := *refusal
	full.Choices = nil
	for _, choice := range refusal.Choices {
		line := slices.Clone(texts)
		line[i] = choice
		if unit, ok := strings.CutPrefix(choice, texts[i]+" "); ok {
			v.spread(unit, paths[i+1:], at, line[i+1:])
		}
		full.Choices = append(full.Choices, strings.Join(line, ", "))
	}
	return &full
}

// readOne reads the share of one field.
func (v *view) readOne(path string, at subject.Round, text string) (canonical, echo string, err error) {
	switch path {
	case piecesPath:
		canonical, err = readPieces(text)
		return canonical, "", err
	case sizePath:
		return readSize(text, at.Values["kind"], v.matter.Units)
	case noTapPath:
		canonical, err = v.readStations(text)
		return canonical, "", err
	case lampsPath:
		canonical, err = readLamps(text)
		return canonical, "", err
	case changedPath, nextPiecePath:
		canonical, err = v.readPiece(text)
		return canonical, "", err
	case piecePath, spanPath:
		canonical, err = v.readPlace(text)
		return canonical, "", err
	}
	if read := ownReader(path); read != nil {
		canonical, err = read(text)
		return canonical, "", err
	}
	field, ok := v.matter.Field(path)
	if !ok {
		return "", "", &subject.Refusal{What: fmt.Sprintf("nothing is called %q here", path)}
	}
	switch field.Kind {
	case quantity.Choice:
		canonical, err = readChoice(field, text)
		return canonical, "", err
	case quantity.Text:
		canonical, err = readText(text)
		return canonical, "", err
	}
	return v.readAmount(field, at, text)
}

// longestText is how much a person may write into a text field.
const longestText = 200

func readText(text string) (string, error) {
	clean := strings.Join(strings.FieldsFunc(text, func(c rune) bool { return c < ' ' || c == 0x7f }), " ")
	if len([]rune(clean)) > longestText {
		return "", &subject.Refusal{What: fmt.Sprintf("that is %d characters long", len([]rune(clean))), Expected: fmt.Sprintf("at most %d", longestText)}
	}
	return clean, nil
}

func readChoice(f subject.Field, text string) (string, error) {
	for _, c := range f.Choices {
		if strings.EqualFold(c, text) {
			return c, nil
		}
	}
	refusal := &subject.Refusal{What: fmt.Sprintf("%q is none of the choices", text), Expected: strings.Join(f.Choices, ", ")}
	if meant := f.Everyday[strings.ToLower(text)]; meant != "" {
		refusal.What += fmt.Sprintf(" (did you mean %q?)", meant)
	} else if near, ok := spell.Nearest(text, f.Choices); ok {
		refusal.What += fmt.Sprintf(" (did you mean %q?)", near)
	}
	return "", refusal
}

// readAmount reads a quantity. A bare number takes the unit of the gauge where
// the gauge reads it.
func (v *view) readAmount(f subject.Field, at subject.Round, text string) (canonical, echo string, err error) {
	want := quantity.Want{Kind: f.Kind, Unit: f.Unit}
	if at := gaugeOf(f.Path); f.Kind == quantity.PressureDiff && f.Path != gaugeRange && f.Path != highRange {
		want.Unit = v.unitOf(at)
	}
	if f.Path == readingPath || gaugeReads(f.Path) {
		want.Swing, want.Bounds, want.Unreadable = true, true, true
	}
	a, err := quantity.Read(text, want)
	if err != nil {
		return "", "", refusal(err, f, text)
	}
	if err := sensible(f, a); err != nil {
		return "", "", err
	}
	if f.Path == readingPath || f.Path == beforePath || f.Path == afterPath || f.Path == checkStart || gaugeReads(f.Path) {
		if err := v.withinGauge(f.Path, a, at); err != nil {
			return "", "", err
		}
	}
	canonical = a.Text()
	if f.Kind == quantity.Whole || f.Kind == quantity.Number {
		return canonical, "", nil
	}
	return canonical, quantity.Echo(a, v.matter.Units), nil
}

// gaugeUnit is the unit in which the gauge is marked.
func (v *view) gaugeUnit() string {
	text := v.entry(gaugeRange, "")
	if text == "" {
		text = defaultGauge[0].Text
	}
	a, err := quantity.Read(text, quantity.Want{Kind: quantity.PressureDiff})
	if err != nil {
		return ""
	}
	return a.Unit
}

// withinGauge refuses a reading that the gauge can't show, and offers the unit
// that was probably meant.
func (v *view) withinGauge(path string, a quantity.Amount, at subject.Round) error {
	full, err := quantity.Read(v.entry(gaugeOf(path), ""), quantity.Want{Kind: quantity.PressureDiff})
	const slack = 1.02 // a needle can stand a little beyond the last mark
	if err != nil || !full.Known() || !a.Known() || a.High <= slack*full.SI {
		return nil
	}
	r := &subject.Refusal{
		What:     fmt.Sprintf("the gauge ends at %s, and %s lies beyond it", full.Text(), a.Text()),
		Expected: "what it showed; or, with another gauge, first: back gauge",
	}
	if path != readingPath {
		return r
	}
	r.Choices = []string{">" + full.Text()}
	if b, ok := v.expected(at.Values["from"], at.Values["to"], v.rpm().Number); ok {
		most := min(b.high, full.SI)
		if meant := slipOf(a, max(b.low, most/slipDepth), most); meant != "" {
			r.Choices = append(r.Choices, meant)
		}
	}
	return r
}

// usualUnits are offered where a bare number has no unit that one could guess.
var usualUnits = map[quantity.Kind][]string{
	quantity.Volume:          {"cc", "L"},
	quantity.Length:          {"mm", "in"},
	quantity.Area:            {"m2", "in2"},
	quantity.PressureDiff:    {"inH2O", "mbar", "kPa", "mmH2O"},
	quantity.GaugePressure:   {"bar", "kPa", "psi"},
	quantity.Pressure:        {"kPa", "hPa", "inHg"},
	quantity.Power:           {"kW", "hp", "PS"},
	quantity.Temperature:     {"C", "F"},
	quantity.TemperatureDiff: {"K", "F"},
	quantity.Speed:           {"km/h", "mph"},
	quantity.SpeedPer1000:    {"km/h", "mph"},
}

// refusal turns what package quantity says into what a prompt can show.
func refusal(err error, f subject.Field, text string) error {
	if a, ok := errors.AsType[*quantity.Ambiguous](err); ok {
		return &subject.Refusal{What: fmt.Sprintf("%q can mean several things", text), Expected: "one of these", Choices: a.Choices}
	}
	r := &subject.Refusal{What: err.Error()}
	if fault, ok := errors.AsType[*quantity.Fault](err); ok {
		r.What, r.Expected = fault.What, fault.Expected
		if fault.Hint != "" {
			r.What += fmt.Sprintf(" (did you mean %q?)", fault.Hint)
		}
	}
	if _, err := quantity.Read(text, quantity.Want{Kind: quantity.Number}); err == nil {
		for _, unit := range usualUnits[f.Kind] {
			r.Choices = append(r.Choices, text+" "+unit)
		}
	}
	return r
}

// limit is a least and a most in SI, and both in words.
type limit struct {
	low, high float64
	text      string
}

// limits of what a field can hold, in SI. They are far outside what a car can
// have: they catch slips, not rarities.
var limits = map[string]limit{
	"car.engine.displacement": {5e-5, 0.05, "0.05 L to 50 L"},
	"car.engine.cylinders":    {1, 24, "1 to 24"},
	"car.engine.strokes":      {2, 4, "2 or 4"},
	"car.engine.boost":        {0, 6e5, "0 to 600 kPa"},
	"car.engine.mass_flow":    {1e-3, 5, "1 g/s to 5 kg/s"},
	"car.engine.peak_power":   {1e3, 3e6, "1 kW to 3 MW"},
	"reference.rpm":           {500, 25000, "500 to 25000 rpm"},
	"readings[].rpm":          {300, 25000, "300 to 25000 rpm"},
	gaugeRange:                {1, 2e5, "1 Pa to 200 kPa"},
	"gauges[].division":       {0.01, 2e5, "a division smaller than the range"},
	"air.temperature":         {213, 343, "-60 C to 70 C"},
	"air.pressure":            {4e4, 1.1e5, "400 to 1100 hPa, at the place itself"},
	"air.humidity":            {0, 1, "0 to 100 %"},
	per1000Path:               {0.1, 100, "a speed per 1000 rpm"},
	limitPath:                 {0.5, 150, "a speed"},
	"checks[].seconds":        {1, 3600, "1 to 3600 s"},
	accuracyPath:              {1e-4, 0.2, "0.01 to 20 %"},
}

func sensible(f subject.Field, a quantity.Amount) error {
	l, ok := limits[f.Path]
	if !ok || a.Low >= l.low && a.High <= l.high {
		return nil
	}
	return &subject.Refusal{What: fmt.Sprintf("%s can't be right", a.Text()), Expected: l.text}
}

// listSeparator parts the members of a list in one line.
var listSeparator = regexp.MustCompile(`\s*[,;>]+\s*|\s+then\s+|\s*->\s*`)

// ownName is a piece with a name of its own, such as "snorkel (duct)".
var ownName = regexp.MustCompile(`^(\S[^()]*?)\s*\(\s*(\S+?)\s*\)$`)

// calledPieces are what people call pieces: a hint to the kind, never taken.
var calledPieces = map[string]string{
	"scoop": "mouth", "inlet": "mouth", "intake": "mouth", "opening": "mouth", "horn": "mouth",
	"snorkel": "snorkel (duct)", "hose": "hose (duct)", "pipe": "pipe (duct)", "tube": "tube (duct)", "runner": "runner (duct)",
	"maf": "meter", "air-flow meter": "meter", "airflow meter": "meter", "flow meter": "meter", "sensor": "meter",
	"airbox": "box-entry, filter, box-exit", "air box": "box-entry, filter, box-exit", "filter box": "box-entry, filter, box-exit", "box": "box-entry, filter, box-exit",
	"element": "filter", "air filter": "filter", "mesh": "screen", "grid": "screen", "grille": "screen", "butterfly": "throttle", "throttle body": "throttle",
}

// readPieces reads the kinds of the pieces in order.
func readPieces(text string) (string, error) {
	if words := strings.Fields(text); len(words) > 1 && !slices.ContainsFunc(words, func(w string) bool { return !slices.Contains(sheet.Kinds(), strings.ToLower(w)) }) {
		return "", &subject.Refusal{What: "put commas between the pieces", Expected: "such as mouth, duct, filter", Choices: []string{strings.ToLower(strings.Join(words, ", "))}}
	}
	var list []string
	taken := map[string]bool{}
	for _, item := range listSeparator.Split(strings.Trim(text, " ,;"), -1) {
		name, kind := "", strings.ToLower(item)
		if m := ownName.FindStringSubmatch(item); m != nil {
			name, kind = m[1], strings.ToLower(m[2])
		}
		if !slices.Contains(sheet.Kinds(), kind) {
			r := &subject.Refusal{What: fmt.Sprintf("%q is no kind of piece", kind), Expected: strings.Join(sheet.Kinds(), ", ") + "; a name of your own as in: snorkel (duct)"}
			if meant := calledPieces[kind]; meant != "" {
				r.What += fmt.Sprintf(" (did you mean %q?)", meant)
			} else if near, ok := spell.Nearest(kind, sheet.Kinds()); ok {
				r.What += fmt.Sprintf(" (did you mean %q?)", near)
			}
			return "", r
		}
		if name != "" && (taken[name] || name == sheet.OpenAir || len([]rune(name)) > 64) {
			return "", &subject.Refusal{What: fmt.Sprintf("the name %q can't be used here", name), Expected: "a name that no other piece has, at most 64 characters"}
		}
		taken[name] = true
		if name != "" {
			kind = name + " (" + kind + ")"
		}
		list = append(list, kind)
	}
	return strings.Join(list, ", "), nil
}

// readPiece is one piece of the path.
func (v *view) readPiece(text string) (string, error) {
	return v.readOneOf(text, "one: change one piece at a time, else nobody knows which of them did it")
}

// readPlace is one piece or the place behind it.
func (v *view) readPlace(text string) (string, error) { return v.readOneOf(text, "one of them") }

func (v *view) readOneOf(text, expected string) (string, error) {
	name, err := v.readStations(text)
	if r, ok := errors.AsType[*subject.Refusal](err); ok {
		r.Expected = strings.TrimSuffix(r.Expected, ", or none")
		return "", r
	}
	if name == "none" || strings.Contains(name, ", ") {
		return "", &subject.Refusal{What: fmt.Sprintf("%q is not one piece", text), Expected: expected}
	}
	return name, err
}

// readStations reads a list of stations, or none.
func (v *view) readStations(text string) (string, error) {
	if strings.EqualFold(text, "none") || strings.EqualFold(text, "no") {
		return "none", nil
	}
	var known []string
	for _, p := range pieces(v.entries) {
		known = append(known, p.name)
	}
	var list []string
	for _, item := range listSeparator.Split(strings.Trim(text, " ,;"), -1) {
		i := slices.IndexFunc(known, func(name string) bool { return strings.EqualFold(name, item) })
		if i < 0 {
			r := &subject.Refusal{What: fmt.Sprintf("there is no place called %q", item), Expected: strings.Join(known, ", ") + ", or none"}
			if near, ok := spell.Nearest(item, known); ok {
				r.What += fmt.Sprintf(" (did you mean %q?)", near)
			}
			return "", r
		}
		list = append(list, known[i])
	}
	return strings.Join(list, ", "), nil
}
