package advice

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"dropwalk/advice/finding"
	"dropwalk/advice/report"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// test is a test that isn't the one of the whole path, and how its answers become a
// finding. Which test the answers are of follows from the places that they fill,
// never from the name of a procedure: anybody may write one with the same places.
type test struct {
	name     string            // of its file in package finding
	verdicts []string          // beside finding.NotYet
	places   []string          // what only this test fills
	lists    []string          // lists of its own, such as heat[]: a sheet doesn't have them
	named    map[string]string // places where people name things, and what such a thing is called where names are left out
	find     func(*view) *finding.Finding
	// enough tells whether the repeats at a slot that are done say enough; nil where
	// the number that the procedure asks for will do.
	enough func(v *view, at subject.Round) bool

	read   map[string]func(text string) (string, error) // places that are read in a way of their own
	gauges map[string]string                            // places that a gauge reads, and the place of its range
	limits map[string]limit                             // of what a place can hold
	doubts map[string]doubter                           // what is asked back, by the first place of an answer
	pairs  [][]member                                   // places of one answer that say nothing without each other

	// What procedures can name beside what all tests share.
	fields  []subject.Field
	facts   []fact
	sources []source
}

// member is a place of an answer whose places belong together, and what it is called
// where it is missing.
type member struct{ path, name string }

// tests lists them. It is filled by init because what is in it looks back at it.
var tests []test

// addTests puts the further tests into the tables of what procedures can name.
func addTests() {
	tests = []test{
		intakeAir,
		mouthPosition,
		chargeCooler,
		backPressure,
		gaugeCheck,
		hoseCheck,
		oneComponent,
		filterTest,
		collapse,
	}
	verdicts := []string{finding.NotYet}
	for _, t := range tests {
		verdicts = append(verdicts, t.verdicts...)
	}
	slices.Sort(verdicts)
	facts = append(facts, fact{subject.Fact{Name: "finding", Kind: quantity.Choice, Choices: slices.Compact(verdicts), Judged: true,
		Doc: "the verdict of a test that isn't the one of the whole path"}, (*view).verdictFound})
	for _, t := range tests {
		fields = append(fields, t.fields...)
		for _, list := range t.lists {
			fields = append(fields, subject.Field{Path: list + doubtfulKey, Kind: quantity.Text, Doc: "why the reading is doubtful; written behind it"})
		}
		facts = append(facts, t.facts...)
		sources = append(sources, t.sources...)
		maps.Copy(limits, t.limits)
	}
}

// testOf is the test whose places were filled last, nil where none of them were.
func testOf(entries []subject.Entry) *test {
	for _, e := range slices.Backward(entries) {
		for i, t := range tests {
			if e.Text != "" && slices.Contains(t.places, e.Path) {
				return &tests[i]
			}
		}
	}
	return nil
}

// Found is what a further test found, as the entries of its procedure tell; nil
// where they are of none, as those of the test of the whole path are.
func Found(entries []subject.Entry, o Options) *finding.Finding {
	return (&view{matter: &Matter{Options: o}, entries: entries}).found()
}

// NotYet is what a test has found of which only the places are known that its
// procedure fills: nothing so far. It is nil where they are of no further test.
func NotYet(places []string) *finding.Finding {
	for _, t := range tests {
		if slices.ContainsFunc(places, func(place string) bool { return slices.Contains(t.places, place) }) {
			return finding.New(t.name)
		}
	}
	return nil
}

func (v *view) found() *finding.Finding {
	t := testOf(v.entries)
	if t == nil {
		return nil
	}
	f := t.find(v)
	for _, e := range v.entries {
		if why, ok := strings.CutPrefix(e.Text, doubtfulMark); ok && strings.HasSuffix(e.Path, doubtfulKey) && ownList(e.Path) {
			f.Say("One reading was marked doubtful and counts for nothing: %s.", strings.TrimSuffix(why, "."))
		}
	}
	return f
}

// verdictFound is the verdict word of the test.
func (v *view) verdictFound() subject.Value {
	if f := v.found(); f != nil {
		return word(f.Verdict)
	}
	return word(finding.NotYet)
}

// findingPage tells what the test found.
func (v *view) findingPage() string {
	f := v.found()
	if f == nil {
		return "Nothing has been read yet, so nothing can be said.\n"
	}
	return report.FoundShort(f, report.Options{Units: v.matter.Units, Gauge: v.typedGauge()})
}

// typedGauge is the unit of the gauge that the tester described, "" for none.
func (v *view) typedGauge() string {
	for _, at := range []string{highRange, gaugeRange} {
		if v.entry(at, "") != "" {
			return v.unitOf(at)
		}
	}
	return ""
}

// gaugeOf is the place of the range of the gauge that reads at a path, that of the
// low-range gauge where no test says otherwise.
func gaugeOf(path string) string {
	for _, t := range tests {
		if at := t.gauges[path]; at != "" {
			return at
		}
	}
	return gaugeRange
}

// gaugeReads tells whether a place holds what a gauge shows in a further test.
func gaugeReads(path string) bool {
	return slices.ContainsFunc(tests, func(t test) bool { return t.gauges[path] != "" })
}

// unitOf is the unit of the gauge whose range stands at a place, "" for none.
func (v *view) unitOf(at string) string {
	if at == gaugeRange {
		return v.gaugeUnit()
	}
	return amountOf(v.entry(at, ""), quantity.PressureDiff).Unit
}

// ownReader reads a place of a further test that is read in a way of its own.
func ownReader(path string) func(string) (string, error) {
	for _, t := range tests {
		if read := t.read[path]; read != nil {
			return read
		}
	}
	return nil
}

// TypedGauge is that unit for a record's entries.
func TypedGauge(entries []subject.Entry) string {
	return (&view{matter: &Matter{}, entries: entries}).typedGauge()
}

// ownList tells whether a path lies in a list that only a further test has.
func ownList(path string) bool {
	return slices.ContainsFunc(tests, func(t test) bool {
		return slices.ContainsFunc(t.lists, func(list string) bool { return strings.HasPrefix(path, list+".") })
	})
}

// NamePlaces are the places of further tests where people name things.
func NamePlaces() []string {
	var all []string
	for _, t := range tests {
		for path := range t.named {
			all = append(all, path)
		}
	}
	slices.Sort(all)
	return all
}

// leftOut stands for a text that people typed where names are left out.
const leftOut = "(left out)"

// UnnamedEntries are the entries with neutral names in place of those that people
// gave: the same name gives the same one everywhere. Members of a list in one
// entry, with commas between, are names each. Reasons for doubt are gone.
func UnnamedEntries(entries []subject.Entry) []subject.Entry {
	to, count := map[string]string{}, map[string]int{}
	neutral := func(name, kind string) string {
		key := kind + "\x00" + strings.ToLower(name)
		if to[key] == "" {
			count[kind]++
			to[key] = kind + " " + strconv.Itoa(count[kind])
		}
		return to[key]
	}
	out := slices.Clone(unnamedPieces(entries))
	for i, e := range out {
		if strings.HasSuffix(e.Path, doubtfulKey) && ownList(e.Path) && e.Text != "" {
			out[i].Text = doubtfulMark + leftOut
		}
		for _, t := range tests {
			kind, ok := t.named[e.Path]
			if !ok || e.Text == "" {
				continue
			}
			items := strings.Split(e.Text, ", ")
			for j, item := range items {
				items[j] = neutral(item, kind)
			}
			out[i].Text = strings.Join(items, ", ")
			break
		}
	}
	return out
}

// repeats makes a source of repeats of one reading: as many as the procedure asks for
// at least, then more while they don't say enough. Each round fills parts of its own.
// What the rounds are called where answers come from a file must differ from source to
// source.
func repeats(name, rows, doc string, parts ...subject.Part) source {
	return source{subject.Source{Name: name, Doc: doc, Rows: rows,
		Values: []subject.Fact{{Name: "nth", Kind: quantity.Number, Doc: "number of the repeat"},
			{Name: "repeats", Kind: quantity.Text, Doc: "how many it takes, as far as is known; of more than were asked for also why"}}},
		func(v *view, at subject.Round) (subject.Offer, bool) {
			reason := ""
			if at.Done >= at.Least {
				t := testOf(v.entries)
				if t == nil || t.enough == nil || t.enough(v, at) {
					return subject.Offer{}, false
				}
				reason = "the repeats lie too far apart, or too few of them could be read"
			}
			return subject.Offer{
				Values: map[string]string{"nth": fmt.Sprint(at.Done + 1), "repeats": howMany(at, v.fewIn(at))},
				Parts:  parts, Reason: reason,
			}, true
		}}
}

// fewIn tells whether fewer repeats count at a slot than the procedure asks for: those
// that could be read and that nobody doubts.
func (v *view) fewIn(at subject.Round) bool {
	rounds, _, _ := cutLast(at.Slot, ".")
	t := testOf(v.entries)
	if t == nil {
		return true
	}
	most := 0
	for _, group := range t.pairs {
		n := 0
		for _, r := range v.rowsFilled(group[0].path) {
			if in, _, _ := cutLast(r.at, "."); in == rounds && r.whole(group) {
				n++
			}
		}
		most = max(most, n)
	}
	return most < at.Least
}

// whole tells whether a row has something that could be read at every place of a group.
func (r row) whole(group []member) bool {
	return !slices.ContainsFunc(group, func(m member) bool { return r.texts[m.path] == "" || r.texts[m.path] == "?" })
}

// row is one row of a list: its texts by place.
type row struct {
	at    string // its slot, such as states.1/repeats.2
	texts map[string]string
}

// rowsFilled are the rows that have a text at path, in order, each with all that
// stands in it. Rows that somebody marked doubtful are not among them.
func (v *view) rowsFilled(path string) []row {
	var out []row
	for _, at := range rowsOf(v.entries, path) {
		r := row{at, map[string]string{}}
		for _, e := range v.entries {
			if e.Row == at && e.Text != "" {
				r.texts[e.Path] = e.Text
			}
		}
		list, _, _ := strings.Cut(path, "[].")
		if r.texts[list+"[]"+doubtfulKey] == "" {
			out = append(out, r)
		}
	}
	return out
}

// amount is what stands at a place of a row; not known where nothing does.
func (r row) amount(path string, k quantity.Kind) quantity.Amount {
	return amountOf(r.texts[path], k)
}

func amountOf(text string, k quantity.Kind) quantity.Amount {
	a, err := quantity.Read(text, quantity.Want{Kind: k, Swing: true, Bounds: true, Unreadable: true})
	if text == "" || err != nil {
		return quantity.Amount{}
	}
	return a
}

// rowIn tells whether some row of the rounds at a slot has a text at path.
func (v *view) rowIn(rounds, path, text string) bool {
	return slices.ContainsFunc(v.entries, func(e subject.Entry) bool {
		at, _, _ := cutLast(e.Row, ".")
		return e.Path == path && e.Text == text && at == rounds
	})
}

// around is the text at path in a row, or in the innermost round around it that has
// one; "" where none has.
func (v *view) around(at, path string) string {
	texts := textsAt(v.entries, path)
	for found := true; found; at, _, found = cutLast(at, "/") {
		if text := texts[at]; text != "" {
			return text
		}
	}
	return ""
}

// partsIn are the amounts in an answer by their places; what isn't one known amount is
// left out.
func (v *view) partsIn(parts []subject.Part) map[string]quantity.Amount {
	out := map[string]quantity.Amount{}
	for _, p := range parts {
		field, _ := v.matter.Field(p.Path)
		if a := amountOf(p.Text, field.Kind); a.Known() {
			out[p.Path] = a
		}
	}
	return out
}

// odd is a doubt with one sentence.
func odd(format string, args ...any) *strange {
	return &strange{what: []string{fmt.Sprintf(format, args...)}}
}
