package advice

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/finding"
	"dropwalk/advice/infer"
	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Places of the test of one component.
const (
	piecePath  = "test.piece"     // the piece that is read across
	acrossPath = "visits[].piece" // the same, on the round that reads it
)

// Verdicts of the test: where the loss lies beside what the handbook expects.
const (
	belowHandbook  = "below-handbook"
	asHandbook     = "as-handbook"
	aboveHandbook  = "above-handbook"
	sureOf         = 0.9 // the chance from which a verdict is given
	worthOf        = DefaultWorth
	handbookSpread = 1.6448536 // standard deviations of the central 90 %
)

var oneComponent = test{
	name:     "one-component",
	verdicts: []string{belowHandbook, asHandbook, aboveHandbook, finding.CannotTell},
	places:   []string{piecePath, acrossPath},
	find:     (*view).foundOneComponent,

	fields: []subject.Field{
		{Path: piecePath, Kind: quantity.Text, Required: true, Doc: "the piece that is read across"},
	},
	facts: []fact{
		{subject.Fact{Name: "piece", Kind: quantity.Text, Doc: "the piece that is read across"}, (*view).pieceAsked},
		{subject.Fact{Name: "piece_readable", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether a place behind that piece can take a tap"}, (*view).pieceReadable},
		{subject.Fact{Name: "piece_alone", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether both places beside that piece can take a tap, so that nothing else lies between"}, (*view).pieceAlone},
		{subject.Fact{Name: "open_port", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the high-pressure port of the gauge stays open to the air; known where one piece is read across"}, (*view).openPort},
		{subject.Fact{Name: "between", Kind: quantity.Text, Doc: "the pieces that lie between the taps of that reading"}, (*view).piecesBetween},
	},
	sources: []source{acrossSource("across-piece", "the one reading across a piece, from the last place ahead of it that can take a tap to the first one behind it", (*view).pieceName)},
}

// acrossSource is a source of one round that reads across the piece that name gives.
func acrossSource(called, doc string, name func(*view) string) source {
	return source{subject.Source{Name: called, Doc: doc, Rows: "readings",
		Keys:   []subject.Key{{Name: "from", Among: "places", Also: []string{sheet.OpenAir}}, {Name: "to", Among: "places"}},
		Values: readingValues()},
		func(v *view, at subject.Round) (subject.Offer, bool) {
			s := v.drawn()
			if s == nil || at.Done > 0 {
				return subject.Offer{}, false
			}
			piece := name(v)
			sp, ok := across(s, piece)
			if !ok {
				return subject.Offer{}, false
			}
			return v.readingOffer(s, sp.from, sp.to, subject.Part{Path: acrossPath, Text: piece}), true
		}}
}

// spanOf is a stretch of the path around one piece.
type spanOf struct {
	from, to string
	piece    int   // of the path
	others   []int // pieces that lie in the stretch as well
}

// across is the shortest stretch between places that can take a tap which holds a
// piece; false where none behind it can, or there is no such piece.
func across(s *sheet.Sheet, piece string) (spanOf, bool) {
	stations := s.Stations()
	i := slices.IndexFunc(s.Path, func(c sheet.Component) bool { return c.Name == piece })
	if i < 0 {
		return spanOf{}, false
	}
	can := func(k int) bool { return k == 0 || s.TapAt(stations[k]) != sheet.TapNone }
	from, to := i, i+1
	for !can(from) {
		from--
	}
	for to < len(stations) && !can(to) {
		to++
	}
	if to == len(stations) {
		return spanOf{}, false
	}
	sp := spanOf{from: stations[from], to: stations[to], piece: i}
	for k := from; k < to; k++ {
		if k != i {
			sp.others = append(sp.others, k)
		}
	}
	return sp, true
}

func (v *view) pieceName() string { return v.entry(piecePath, "") }

func (v *view) pieceAsked() subject.Value { return word(v.pieceName()) }

func (v *view) pieceSpan() (spanOf, bool) {
	s := v.drawn()
	if s == nil {
		return spanOf{}, false
	}
	return across(s, v.pieceName())
}

func (v *view) pieceReadable() subject.Value {
	if v.pieceName() == "" || v.drawn() == nil {
		return subject.Value{}
	}
	_, ok := v.pieceSpan()
	return yesNo(ok)
}

func (v *view) pieceAlone() subject.Value {
	sp, ok := v.pieceSpan()
	if !ok {
		return subject.Value{}
	}
	return yesNo(len(sp.others) == 0)
}

func (v *view) openPort() subject.Value {
	sp, ok := v.pieceSpan()
	if !ok {
		return subject.Value{}
	}
	return yesNo(sp.from == sheet.OpenAir)
}

func (v *view) piecesBetween() subject.Value {
	sp, ok := v.pieceSpan()
	if !ok {
		return subject.Value{}
	}
	s := v.drawn()
	var names []string
	for k := range s.Path {
		if k == sp.piece || slices.Contains(sp.others, k) {
			names = append(names, s.Path[k].Name)
		}
	}
	return word(strings.Join(names, ", "))
}

// acrossPiece is one piece as its reading has it.
type acrossPiece struct {
	f    *finding.Finding
	v    *view
	car  *model.Car
	span spanOf
	read model.Measured
	loss stats.Estimate // of the piece alone, Pa at the reference point
}

// newAcross works out what the readings across a piece say of it, with what lies between
// the taps besides taken off; false where the piece can't be read across.
func newAcross(s *sheet.Sheet, piece string) (*acrossPiece, bool) {
	sp, ok := across(s, piece)
	if !ok {
		return nil, false
	}
	a := &acrossPiece{car: model.New(s), span: sp}
	a.read = a.car.Measured(sp.from, sp.to)
	a.loss = a.read.Loss
	if len(sp.others) > 0 && a.read.Runs > 0 {
		others := a.car.Unread(sp.others...)
		a.loss = finding.Propagated(a.loss.Value-others.Value, finding.Term{By: 1, From: a.loss}, finding.Term{By: -1, From: others})
	}
	return a, true
}

// readAcross works out what a piece costs by its own reading, and tells it as figures
// of a finding. It is false where nothing that was read says anything.
func (v *view) readAcross(f *finding.Finding, piece string) (*acrossPiece, bool) {
	s := v.doc()
	if s == nil {
		return nil, false
	}
	a, ok := newAcross(s, piece)
	if !ok {
		return nil, false
	}
	a.f, a.v = f, v
	sp := a.span
	if a.read.Runs == 0 {
		a.bound()
		return a, !math.IsNaN(a.read.Most)
	}
	f.Add(finding.Of("shown", fmt.Sprintf("What the gauge shows from %s to %s", sp.from, sp.to), quantity.PressureDiff, a.read.Shown, finding.Measured,
		fmt.Sprintf("the mean of %s, at %.0f rpm and the air of the reference point", runCount(a.read.Runs), a.car.RPM)))
	how, on := finding.Measured, "what the gauge shows: the air stands still at both taps"
	if a.read.Heads.Value != 0 || a.read.Heads.SE != 0 {
		f.Add(finding.Of("heads", "Of that, velocity head and no loss", quantity.PressureDiff, a.read.Heads, finding.Inferred, "the air flow and the bores at the two taps"))
		how, on = finding.Inferred, "what the gauge shows, less the velocity head"
	}
	if len(sp.others) > 0 {
		others := a.car.Unread(sp.others...)
		low, high := others.Interval(sureOf)
		f.Add(finding.Between("others", "Of that, the other pieces between the taps: "+a.names(sp.others), quantity.PressureDiff, others.Value, max(0, low), high, finding.Inferred,
			"the handbook; they were not read apart, and one of them may be spoilt"))
		how, on = finding.Inferred, on+", less what the other pieces are expected to cost"
	}
	f.Add(finding.Of("loss", "Loss of "+piece, quantity.PressureDiff, a.loss, how, on))
	return a, true
}

// bound tells of a needle that went off its scale on every run that could be read.
func (a *acrossPiece) bound() {
	if math.IsNaN(a.read.Most) {
		return
	}
	head := a.car.Stations[a.car.Index(a.span.to)].Shown() - a.car.Stations[a.car.Index(a.span.from)].Shown()
	others := 0.0
	if len(a.span.others) > 0 {
		_, others = a.car.Unread(a.span.others...).Interval(sureOf)
	}
	a.f.Add(finding.AtLeast("loss", "Loss of "+a.name(), quantity.PressureDiff, a.read.Most-head-others, finding.Inferred, "the end of the gauge's scale, less the velocity head and the other pieces"))
}

func runCount(n int) string {
	if n == 1 {
		return "one run"
	}
	return fmt.Sprintf("%d runs", n)
}

func (a *acrossPiece) name() string { return a.car.Pieces[a.span.piece].Name }

func (a *acrossPiece) names(pieces []int) string {
	var list []string
	for _, k := range pieces {
		list = append(list, a.car.Pieces[k].Name)
	}
	return strings.Join(list, ", ")
}

// expectation is what the handbook expects, lognormal.
type expectation struct{ median, sd float64 }

func (a *acrossPiece) handbook(pieces ...int) expectation {
	median, sd := a.car.Expected(pieces...)
	return expectation{median, sd}
}

func (e expectation) low() float64  { return e.median * math.Exp(-handbookSpread*e.sd) }
func (e expectation) high() float64 { return e.median * math.Exp(handbookSpread*e.sd) }

func (e expectation) figure(name, label, on string) finding.Figure {
	return finding.Between(name, label, quantity.PressureDiff, e.median, e.low(), e.high(), finding.Inferred, on)
}

// chances that the loss lies below a range, within it and above it.
func (a *acrossPiece) chances(low, high float64) (below, within, above float64) {
	below, above = less(a.loss, low), 1-less(a.loss, high)
	return below, 1 - below - above, above
}

// less is the chance that what an estimate is of lies below x.
func less(e stats.Estimate, x float64) float64 {
	switch {
	case e.SE > 0:
		return infer.NormalCDF((x - e.Value) / e.SE)
	case e.Value < x:
		return 1
	}
	return 0
}

func (v *view) foundOneComponent() *finding.Finding {
	f := finding.New("one-component")
	piece := v.pieceName()
	a, ok := v.readAcross(f, piece)
	if !ok {
		return f
	}
	expect := a.handbook(a.span.piece)
	on := "published figures for a piece of its kind and size"
	if !a.car.Pieces[a.span.piece].Known {
		on = "published figures for a piece of its kind, of a usual size: nobody measured it"
	}
	f.Add(expect.figure("handbook", "What the handbook expects of it", on))
	if a.read.Runs == 0 {
		if bound, _ := f.Figure("loss"); bound.Low > expect.high() && a.parted() {
			f.Say("The needle went off its scale. Even the end of the scale is more than the handbook expects.")
			return f.Conclude(aboveHandbook)
		}
		f.Say("The needle went off its scale, so the loss has no upper end. Read again with a gauge of a larger range.")
		return f.Conclude(finding.CannotTell)
	}
	back := a.recoverable()
	a.cost(back)
	below, within, above := a.chances(expect.low(), expect.high())
	f.Say("Of {loss} a well-made piece of the same size would give back {recoverable}.")
	switch {
	case a.read.Runs < fewest:
		f.Say(oneRun)
		return f.Conclude(finding.CannotTell)
	case a.loss.Value+2*a.loss.SE < 0:
		f.Say("The loss comes out below nought, which no piece can have. Look for hoses that are swapped, a leak, or a tap beside a jet.")
		return f.Conclude(finding.CannotTell)
	case above >= sureOf && !a.parted():
		return f.Conclude(finding.CannotTell)
	case above >= sureOf:
		return f.Conclude(aboveHandbook)
	case below >= sureOf:
		return f.Conclude(belowHandbook)
	case within >= sureOf:
		a.sayWorth()
		return f.Conclude(asHandbook)
	}
	f.Say("The loss is %s to lie above what the handbook expects, and %s to lie below it.", odds(above), odds(below))
	a.narrower()
	return f.Conclude(finding.CannotTell)
}

// oneRun is said where a verdict would rest on one run.
const oneRun = "One run counts, and one shows no scatter. Read again until two or three do."

// parted tells whether a loss that is too large can be laid to the piece. Whatever else
// lies between the taps may be the spoilt one just as well: over simulated cars the piece
// was it in little more than every second case.
func (a *acrossPiece) parted() bool {
	if len(a.span.others) == 0 {
		return true
	}
	a.f.Say("Something between %s and %s costs more than the handbook expects. Whether it is %s or one of %s, these taps can't tell. A tap next to %s would.",
		a.span.from, a.span.to, a.name(), a.names(a.span.others), a.name())
	return false
}

func odds(p float64) string { return fmt.Sprintf("%.0f %% likely", math.Round(100*p)) }

// recoverable is what a well-made piece of the same size would give back.
func (a *acrossPiece) recoverable() finding.Figure {
	p := a.car.Pieces[a.span.piece]
	if p.Fixed {
		return a.f.Add(finding.Unknown("recoverable", "What a well-made piece would give back", quantity.PressureDiff, a.name()+" is one that is not to be changed"))
	}
	best := expectation{p.Best, a.handbook(a.span.piece).sd}
	low, high := a.loss.Interval(sureOf)
	value, lo, hi := finding.Around(func(x []float64) float64 { return max(0, x[0]-x[1]) }, finding.Band(a.loss.Value, low, high), finding.Band(best.median, best.low(), best.high()))
	return a.f.Add(finding.Between("recoverable", "What a well-made piece of the same size would give back", quantity.PressureDiff, value, max(0, lo), hi,
		finding.Inferred, "the loss, less what the best piece of this kind is published to cost"))
}

// cost is the power that comes back with it.
func (a *acrossPiece) cost(back finding.Figure) {
	if !back.Known() {
		return
	}
	r := a.car.Engine.Response()
	if !r.Known {
		a.f.Add(finding.Unknown("gain", "Power that this would bring", quantity.Share, r.Note))
		return
	}
	gain := func(x []float64) float64 {
		return math.Pow((a.car.Air.Pressure)/(a.car.Air.Pressure-x[0]), x[1]) - 1
	}
	value, low, high := finding.Around(gain, finding.Band(back.Value, back.Low, back.High), finding.Band(r.Exponent.Median, r.Exponent.Low, r.Exponent.High))
	a.f.Add(finding.Between("gain", "Power that this would bring", quantity.Share, value, max(0, low), high, finding.Inferred, r.Note))
}

// sayWorth tells whether what comes back is worth work.
func (a *acrossPiece) sayWorth() {
	gain, ok := a.f.Figure("gain")
	switch {
	case !ok || !gain.Known():
	case 100*gain.High < worthOf:
		a.f.Say("That would bring {gain} of power, which is not worth work: less than 0.5 %% in any case.")
	case 100*gain.Low >= worthOf:
		a.f.Say("That would bring {gain} of power. A better piece is worth thinking about.")
	default:
		a.f.Say("That would bring {gain} of power. Whether that is worth work is open.")
	}
}

// narrower says what would part the loss from the handbook's ends.
func (a *acrossPiece) narrower() {
	others := 0.0
	if len(a.span.others) > 0 {
		others = a.car.Unread(a.span.others...).SE
	}
	switch {
	case others > max(a.read.Heads.SE, a.read.Shown.SE):
		a.f.Say("Most of the doubt lies with the other pieces between the taps. A tap next to %s would take it away.", a.name())
	case a.read.Heads.SE > a.read.Shown.SE:
		a.f.Say("Most of the doubt lies with the velocity head. Measure the bores at both taps, and the air flow.")
	default:
		a.f.Say("Most of the doubt lies with the gauge. A gauge of a smaller range, or more runs, would take it away.")
	}
}
