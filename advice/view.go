package advice

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/model"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// defaultGauge is taken where a tester doesn't know the gauge: a usual dial for
// a first test (common practice, no source).
var defaultGauge = []subject.Part{{Path: gaugeRange, Text: "25 inH2O"}, {Path: "gauges[].division", Text: "0.5 inH2O"}}

// usualPaths are taken where a tester doesn't know the pieces: the first, unless
// the record of an older release speaks of the names of a later one. Add at the
// front, and take none out: a record says "not known" and no more.
var usualPaths = []string{
	"mouth, snorkel (duct), box-entry, filter, box-exit, meter, tube (duct)",
	"mouth, duct, box-entry, filter, box-exit, meter, duct",
}

// usualPieces are the pieces of the first usual path that has all places that
// the entries speak of.
func usualPieces(entries []subject.Entry) []piece {
	for _, path := range usualPaths {
		if list := named(strings.Split(path, ", ")); holdsPlaces(list, entries) {
			return list
		}
	}
	return named(strings.Split(usualPaths[0], ", "))
}

// holdsPlaces tells whether every place that the program chose or that was
// named as closed is on the path.
func holdsPlaces(list []piece, entries []subject.Entry) bool {
	for _, e := range entries {
		var places []string
		switch e.Path {
		case visitFrom, visitTo, "sizes[].name":
			places = []string{e.Text}
		case noTapPath:
			places = listed(e.Text)
		}
		for _, place := range places {
			if place != sheet.OpenAir && !slices.ContainsFunc(list, func(p piece) bool { return p.name == place }) {
				return false
			}
		}
	}
	return true
}

// view is the matter at one place of a procedure.
type view struct {
	matter  *Matter
	entries []subject.Entry

	read   bool
	sheet  *sheet.Sheet
	faults strictyaml.Faults
	judged *assessment.Assessment
}

// doc is the sheet that the entries make, nil where they don't make one.
func (v *view) doc() *sheet.Sheet {
	if !v.read {
		v.read = true
		v.sheet, v.faults = sheet.FromEntries(SheetEntries(v.entries))
	}
	return v.sheet
}

// assess judges the sheet, once.
func (v *view) assess() *assessment.Assessment {
	if v.judged == nil && v.doc() != nil {
		v.judged = Assess(v.sheet, v.matter.Options)
	}
	return v.judged
}

// Value works out a fact.
func (v *view) Value(name string) subject.Value {
	for _, f := range facts {
		if f.Name == name {
			return f.value(v)
		}
	}
	return subject.Value{}
}

// Offer makes one more offer from a source.
func (v *view) Offer(name string, at subject.Round) (subject.Offer, bool) {
	for _, s := range sources {
		if s.Name == name {
			return s.offer(v, at)
		}
	}
	return subject.Offer{}, false
}

// entry is the latest text at path in row; the row doesn't count where it is "".
func (v *view) entry(path, row string) string {
	for _, e := range slices.Backward(v.entries) {
		if e.Path == path && (row == "" || e.Row == row) {
			return e.Text
		}
	}
	return ""
}

func word(text string) subject.Value {
	return subject.Value{Known: text != "", Word: text, Text: text}
}

func (v *view) measured(si float64, kind quantity.Kind) subject.Value {
	return subject.Value{Known: true, Number: si, Text: quantity.Show(si, kind, v.matter.Units)}
}

// stated is the amount at path, as a value.
func (v *view) stated(path string, kind quantity.Kind) subject.Value {
	text := v.entry(path, "")
	a, err := quantity.Read(text, quantity.Want{Kind: kind})
	if text == "" || err != nil || !a.Known() {
		return subject.Value{}
	}
	return subject.Value{Known: true, Number: a.SI, Text: text}
}

func (v *view) fuel() subject.Value      { return word(v.entry("car.engine.fuel", "")) }
func (v *view) induction() subject.Value { return word(v.entry("car.engine.induction", "")) }
func (v *view) place() subject.Value     { return word(v.entry("place", "")) }
func (v *view) sizes() subject.Value     { return word(v.entry(sizesPath, "")) }
func (v *view) kinds() subject.Value     { return word(strings.Join(sheet.Kinds(), ", ")) }

func (v *view) speedLimit() subject.Value { return v.stated(limitPath, quantity.Speed) }
func (v *view) gaugeRange() subject.Value { return v.stated(gaugeRange, quantity.PressureDiff) }

func (v *view) places() subject.Value {
	var names []string
	for _, p := range pieces(v.entries) {
		names = append(names, p.name)
	}
	return word(strings.Join(names, ", "))
}

func (v *view) pathKnown() subject.Value {
	if v.entry("path[].name", "") != "" {
		return word("yes")
	}
	return word("no")
}

func (v *view) sizesKnown() subject.Value {
	for _, e := range v.entries {
		if e.Path == "path[].diameter" || e.Path == "path[].width" {
			return word("yes")
		}
	}
	return word("no")
}

func (v *view) rpm() subject.Value {
	n := model.UsualRPM(sheet.Engine{Fuel: v.entry("car.engine.fuel", ""), Induction: v.entry("car.engine.induction", "")})
	if a, err := quantity.Read(v.entry("reference.rpm", ""), quantity.Want{Kind: quantity.Rotation, Unit: "rpm"}); err == nil {
		n = a.SI
	}
	return subject.Value{Known: true, Number: n, Text: fmt.Sprintf("%.0f rpm", n)}
}

func (v *view) roadSpeed() subject.Value {
	per := v.stated(per1000Path, quantity.SpeedPer1000)
	if !per.Known {
		return subject.Value{}
	}
	sys := v.matter.Units
	if sys == quantity.AsTyped && strings.Contains(per.Text, "mph") {
		sys = quantity.Imperial
	}
	speed := per.Number * v.rpm().Number / 1000
	return subject.Value{Known: true, Number: speed, Text: quantity.Show(speed, quantity.Speed, sys)}
}

// A leak check fails where it loses a twentieth or more in half a minute
// (common practice, no source).
const (
	leakMost    = 0.05
	leakSeconds = 30.0
)

// leaking tells whether the numbers of the latest leak check say that it
// failed. A check that was judged by eye counts as passed.
func (v *view) leaking() subject.Value {
	row := v.checked()
	read := func(path string, kind quantity.Kind) float64 {
		a, err := quantity.Read(v.entry(path, row), quantity.Want{Kind: kind, Unit: map[quantity.Kind]string{quantity.Duration: "s"}[kind]})
		if err != nil || !a.Known() {
			return 0
		}
		return a.SI
	}
	start, left := read("checks[].start", quantity.PressureDiff), read("checks[].end", quantity.PressureDiff)
	seconds := read("checks[].seconds", quantity.Duration)
	if row == "" || start <= 0 || seconds <= 0 {
		return word("no")
	}
	const exactly = 1e-9 // a bare twentieth is a leak, however it was rounded
	if (start-left)/start*leakSeconds/seconds >= leakMost-exactly {
		return word("yes")
	}
	return word("no")
}

// checked is the row of the leak check that counts: that of the reading which is
// being taken, and where a procedure takes none, that of the latest check.
func (v *view) checked() string {
	visit, check := "", ""
	for _, e := range v.entries {
		switch e.Path {
		case visitTo:
			visit = e.Row
		case checkStart:
			check = e.Row
		}
	}
	return cmp.Or(visit, check)
}

// visit is the reading that the visit at this place is about.
func (v *view) visit() (from, to string) {
	for _, e := range v.entries {
		switch e.Path {
		case visitFrom:
			from = e.Text
		case visitTo:
			to = e.Text
		}
	}
	return from, to
}

// unused lists the taps that are there and that the visit has no hose on, in the
// order of the path: those of earlier visits and those that a sheet says are
// fitted.
func (v *view) unused() []string {
	from, to := v.visit()
	there := map[string]bool{}
	for _, e := range v.entries {
		if e.Path == visitFrom || e.Path == visitTo {
			there[e.Text] = true
		}
	}
	if s := v.doc(); s != nil {
		for _, p := range s.Path {
			there[p.Name] = there[p.Name] || s.TapAt(p.Name) == "fitted"
		}
	}
	var list []string
	for _, p := range pieces(v.entries) {
		if there[p.name] && p.name != from && p.name != to {
			list = append(list, p.name)
		}
	}
	return list
}

func (v *view) unusedTaps() subject.Value { return word(strings.Join(v.unused(), ", ")) }

func (v *view) tapsUnused() subject.Value { return yesNo(len(v.unused()) > 0) }

func yesNo(yes bool) subject.Value {
	if yes {
		return word("yes")
	}
	return word("no")
}

// otherPort says what becomes of the port of the gauge that isn't on the tap
// further in.
func (v *view) otherPort() subject.Value {
	switch from, _ := v.visit(); from {
	case "":
		return subject.Value{}
	case sheet.OpenAir:
		return word("with the high-pressure port of the gauge open to still outside air")
	default:
		return word("and a second hose from " + from + " to the high-pressure port of the gauge")
	}
}

func (v *view) lamps() subject.Value { return word(v.entry(lampsPath, "")) }

func (v *view) lampOn() subject.Value {
	lamps := v.entry(lampsPath, "")
	return yesNo(lamps != "" && !report.NoLamp(lamps))
}

// noLampName are words of a prompt and answers that name no lamp.
var noLampName = []string{"ready", "done", "yes", "y", "ok", "okay", "next", "enter", "go", "continue"}

// readLamps reads which warning lamps came on. A word of the prompt is no lamp: it is
// asked back.
func readLamps(text string) (string, error) {
	clean, err := readText(text)
	if slices.Contains(noLampName, strings.ToLower(strings.TrimRight(clean, ".! "))) {
		return "", &subject.Refusal{What: fmt.Sprintf("%q names no lamp", clean), Expected: "the lamps that came on, such as engine; none where none did; or ? where nobody looked"}
	}
	return clean, err
}

func (v *view) verdict() subject.Value {
	if a := v.assess(); a != nil {
		return word(a.Verdict)
	}
	return subject.Value{}
}

func (v *view) restriction() subject.Value {
	if a := v.assess(); a != nil {
		return v.measured(a.TotalGauge.Median, quantity.PressureDiff)
	}
	return subject.Value{}
}

func (v *view) loss() subject.Value {
	if a := v.assess(); a != nil {
		return v.measured(a.TotalLoss.Median, quantity.PressureDiff)
	}
	return subject.Value{}
}

// piece is one component as a procedure knows it.
type piece struct{ name, kind string }

// label is the name, with the kind where the name doesn't say it.
func (p piece) label() string {
	if strings.HasPrefix(strings.ToLower(p.name), p.kind) {
		return p.name
	}
	return p.name + " (" + p.kind + ")"
}

// pieces are the components in order: those of an earlier sheet, else those of
// the list that was answered, else the usual ones.
func pieces(entries []subject.Entry) []piece {
	var listed string
	var rows []string
	names, kinds := map[string]string{}, map[string]string{}
	for _, e := range entries {
		switch e.Path {
		case piecesPath:
			listed = e.Text
		case "path[].name":
			if names[e.Row] == "" {
				rows = append(rows, e.Row)
			}
			names[e.Row] = e.Text
		case "path[].kind":
			kinds[e.Row] = e.Text
		}
	}
	if listed == "" {
		var list []piece
		for _, row := range rows {
			if kinds[row] != "" {
				list = append(list, piece{names[row], kinds[row]})
			}
		}
		if len(list) > 0 {
			return list
		}
		return usualPieces(entries)
	}
	return named(strings.Split(listed, ", "))
}

// Pieces are the components that an answer lists as the record keeps it: kinds with
// commas between, a name of one's own as in "snorkel (duct)". Of each only name and
// kind are known.
func Pieces(answer string) []sheet.Component {
	var list []sheet.Component
	for _, p := range named(strings.Split(answer, ", ")) {
		list = append(list, sheet.Component{Name: p.name, Kind: p.kind})
	}
	return list
}

// named gives each piece that has no name of its own one after its kind,
// numbered from the second.
func named(items []string) []piece {
	count := map[string]int{}
	list := make([]piece, len(items))
	for i, item := range items {
		if m := ownName.FindStringSubmatch(item); m != nil {
			list[i] = piece{m[1], m[2]}
			continue
		}
		count[item]++
		list[i] = piece{item, item}
		if n := count[item]; n > 1 {
			list[i].name = fmt.Sprintf("%s-%d", item, n)
		}
	}
	return list
}

func (v *view) nextPiece(at subject.Round) (subject.Offer, bool) {
	list := pieces(v.entries)
	if at.Done >= len(list) {
		return subject.Offer{}, false
	}
	p := list[at.Done]
	return subject.Offer{
		Values: map[string]string{"piece": p.name, "kind": p.kind, "label": p.label(), "example": sizeExamples[p.kind]},
		Parts:  []subject.Part{{Path: "sizes[].name", Text: p.name}},
	}, true
}

func (v *view) nextReading(at subject.Round) (subject.Offer, bool) {
	a := v.assess()
	if a == nil || a.Next == nil {
		return subject.Offer{}, false
	}
	n := a.Next
	var taps []string
	for _, t := range n.Taps {
		taps = append(taps, t.Station+" "+t.How)
	}
	return subject.Offer{
		Values: map[string]string{"from": n.From, "to": n.To, "gauge": n.Gauge, "taps": strings.Join(taps, ", "), "reason": n.Reason},
		Parts:  []subject.Part{{Path: visitFrom, Text: n.From}, {Path: visitTo, Text: n.To}, {Path: visitGauge, Text: n.Gauge}},
		Reason: n.Reason,
	}, true
}

func (v *view) nextTap(at subject.Round) (subject.Offer, bool) {
	var open [][2]string
	for tap := range strings.SplitSeq(at.Values["taps"], ", ") {
		if station, how, ok := strings.Cut(tap, " "); ok && how != "fitted" {
			open = append(open, [2]string{station, how})
		}
	}
	if at.Done >= len(open) {
		return subject.Offer{}, false
	}
	tap := open[at.Done]
	return subject.Offer{Values: map[string]string{"station": tap[0], "how": tap[1], "part": v.partOf(tap[0])}}, true
}

// partOf says in which part the hole of a tap at a station goes. A station is named after
// the piece just ahead of it, and those in the box have a wall of it.
func (v *view) partOf(station string) string {
	for _, p := range pieces(v.entries) {
		switch {
		case p.name != station:
		case p.kind == sheet.Filter:
			return "the half of the filter box behind the element (its clean side)"
		case p.kind == "box-entry":
			return "the half of the filter box ahead of the element (where the air comes in)"
		case p.kind == "box-exit":
			return "the tube just behind the filter box"
		}
	}
	return "the part that ends at " + station
}

// offScale is why a needle against its stop ends the runs.
const offScale = "the needle is against its stop: more of the same teaches nothing and can break the gauge"

// nextRun asks for the runs that the procedure wants at least, then for more
// while they disagree. A needle against its stop ends it, unless another run
// could be read: then it is the one that is strange.
func (v *view) nextRun(at subject.Round) (subject.Offer, bool) {
	runs := v.runsOf(at.Slot)
	if allOffScale(runs) {
		return subject.Offer{Reason: offScale}, false
	}
	if at.Done >= at.Least && agree(runs, at.Least) {
		return subject.Offer{}, false
	}
	reason := ""
	if at.Done >= at.Least {
		reason = "the runs disagree, or too few of them could be read"
	}
	number := fmt.Sprint(v.runCount() + 1)
	return subject.Offer{
		Values: map[string]string{"run": number, "nth": fmt.Sprint(at.Done + 1), "runs": howMany(at, tooFew(runs, at.Least))},
		Parts: []subject.Part{
			{Path: "readings[].run", Text: number},
			{Path: "readings[].from", Text: at.Values["from"]},
			{Path: "readings[].to", Text: at.Values["to"]},
			{Path: readingGauge, Text: at.Values["gauge"]},
		},
		Reason: reason,
	}, true
}

// howMany says how many rounds it takes: those that the procedure asks for, else the most,
// and why there is one more.
func howMany(at subject.Round, few bool) string {
	why := "they lie apart"
	if few {
		why = "too few count so far"
	}
	switch {
	case at.Done < at.Least:
		return fmt.Sprint(at.Least)
	case at.Most > 0:
		return fmt.Sprintf("up to %d (%s)", at.Most, why)
	}
	return fmt.Sprintf("%d (%s)", at.Done+1, why)
}

// tooFew tells whether fewer runs count than the procedure asks for.
func tooFew(runs []run, least int) bool {
	n := 0
	for _, r := range runs {
		if r.value.Known() && !r.doubtful {
			n++
		}
	}
	return n < least
}

// allOffScale tells whether the needle was against its stop on every run that
// could be read, and on one at least.
func allOffScale(runs []run) bool {
	n := 0
	for _, r := range runs {
		switch {
		case r.value.Form == quantity.Above:
			n++
		case r.value.Known() && !r.doubtful:
			return false
		}
	}
	return n > 0
}

func (v *view) runCount() int {
	n := 0
	for _, e := range v.entries {
		if e.Path == "readings[].run" {
			n++
		}
	}
	return n
}

// run is one reading of a round of runs.
type run struct {
	value    quantity.Amount
	rpm      float64
	doubtful bool
}

// runsOf are the runs that were made in the same rounds as slot, such as
// "walk.2/runs.3".
func (v *view) runsOf(slot string) []run {
	rounds, _, _ := cutLast(slot, ".")
	byRow := map[string]*run{}
	var rows []string
	for _, e := range v.entries {
		if at, _, ok := cutLast(e.Row, "."); !ok || at != rounds {
			continue
		}
		r := byRow[e.Row]
		if r == nil {
			r = &run{}
			byRow[e.Row] = r
			rows = append(rows, e.Row)
		}
		switch e.Path {
		case doubtfulPath:
			r.doubtful = e.Text != ""
		case readingPath:
			r.value, _ = quantity.Read(e.Text, quantity.Want{Kind: quantity.PressureDiff, Swing: true, Bounds: true, Unreadable: true})
		case rpmPath:
			if a, err := quantity.Read(e.Text, quantity.Want{Kind: quantity.Rotation, Unit: "rpm"}); err == nil {
				r.rpm = a.SI
			}
		}
	}
	var runs []run
	for _, row := range rows {
		runs = append(runs, *byRow[row])
	}
	return runs
}

func cutLast(text, sep string) (before, after string, found bool) {
	i := strings.LastIndex(text, sep)
	if i < 0 {
		return text, "", false
	}
	return text[:i], text[i+len(sep):], true
}

// Runs agree within 5 % or half an inch of water, whichever is larger (common
// practice, no source).
const (
	agreeShare = 0.05
	agreePa    = 0.5 * 249.08891
)

// agree tells whether enough runs could be read and lie together, each brought
// to the engine speed of the first by the square law. Doubtful ones don't count.
func agree(runs []run, least int) bool {
	var values []float64
	first := 0.0
	for _, r := range runs {
		if !r.value.Known() || r.doubtful {
			continue
		}
		x := r.value.SI
		if first == 0 {
			first = r.rpm
		} else if r.rpm > 0 && first > 0 {
			x *= first / r.rpm * first / r.rpm
		}
		values = append(values, x)
	}
	if len(values) < least {
		return false
	}
	low, high := slices.Min(values), slices.Max(values)
	return high-low <= max(agreePa, agreeShare*(low+high)/2)
}
