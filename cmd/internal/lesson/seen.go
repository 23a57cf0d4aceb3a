package lesson

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
)

// Seen is what a person at the car sees when a prompt comes.
type Seen struct {
	Lines  []string
	Needle *practice.Needle // a gauge that can be read now; nil for none

	Offer string // the answer that the card or the tape gives, as it is typed; "" for none
	Line  int    // the line of a hold that isn't true, 0 for none
	Amiss string // what isn't as the step says, "" where all is well
}

// See is what there is to see at a prompt. It changes nothing.
func (b *Bench) See(p engine.Prompt) Seen {
	step, _, _ := strings.Cut(p.Step, "~")
	values := b.values(p.Slot)
	var s Seen
	switch p.Kind {
	case engine.Hold:
		s = b.atThings(step, p.Lines)
	case engine.Ask:
		s = b.atQuestion(step, p.Slot, values)
	case engine.Do:
		s = b.atThings(step, []string{p.See})
		if more := b.atWork(step, values); len(more.Lines) > 0 {
			s = more
		}
	}
	return s
}

// atThings is what is seen where a list of lines is worked through, or something
// done.
func (b *Bench) atThings(step string, lines []string) Seen {
	if x, ok := b.isAmiss(step); ok {
		if n := x.lineOf(lines); n > 0 {
			return Seen{Lines: []string{x.seen}, Line: n, Amiss: x.seen}
		}
	}
	if x, ok := b.right[step]; ok && (step != "run" || b.Sim.Pulls()+1 == b.hurry) {
		return Seen{Lines: []string{x.then}}
	}
	if text := theThings().calm[step]; text != "" {
		return Seen{Lines: []string{text}}
	}
	return Seen{}
}

// atQuestion is what answers a question.
func (b *Bench) atQuestion(step, slot string, values map[string]string) Seen {
	s := Seen{Offer: b.offered(step, values)}
	say := func(format string, args ...any) { s.Lines = append(s.Lines, fmt.Sprintf(format, args...)) }
	switch step {
	case "gauge":
		b.shelf(&s)
	case "air":
		if s.Offer != "?" {
			say("The weather station at the gate shows %s.", s.Offer)
		}
	case "leak-numbers":
		start, end := b.Sim.Leak()
		say("You draw with the syringe. %s You close the end and count to thirty.", dialWords(start))
		say("After 30 s: %s", dialWords(end))
		s.Needle = &end
	case "zero", "zero-after":
		n := b.Sim.Rest()
		say("Nothing moves. %s", dialWords(n))
		s.Needle = &n
	case "value":
		b.run(&s, b.pull(slot))
	case "place":
		say("You have the use of: %s.", placeNames[b.Sim.Place()])
	case "measure-pieces":
		text := "Every piece can be reached with a tape, and the figures can be had."
		switch b.Sim.Case.Tape {
		case practice.Partly:
			text = "A tape reaches some of the pieces."
		case practice.Bare:
			text = "Everything sits too deep for a tape."
		}
		say("%s", text)
	case "size":
		if s.Offer == "?" {
			say("The tape does not reach it.")
		} else {
			say("The tape shows %s.", s.Offer)
		}
	case "no-tap":
		say("%s", b.alongThePath(s.Offer))
	case "road-speed":
		per, limit := b.Sim.RoadSpeed()
		say("At a steady 2000 rpm in second gear the speedometer shows %.0f km/h. The sign at the road says %.0f.", 2*per, limit)
	case "lamps":
		say("No lamp is lit.")
	default:
		b.fromCard(&s)
	}
	return s
}

// fromCard answers a question from the card of the car.
func (b *Bench) fromCard(s *Seen) {
	switch s.Offer {
	case "":
	case "?":
		s.Lines = append(s.Lines, "No answer to this.")
	default:
		s.Lines = append(s.Lines, s.Offer+".")
	}
}

// title is the heading above what is seen at a step.
func (b *Bench) title(step string) string {
	switch step {
	case "measure-pieces", "size", "no-tap", "air", "place", "road-speed":
		return "At the car:"
	}
	if b.onCard(step) {
		return onTheCard
	}
	return "At the car:"
}

// onTheCard is the heading above what the card answers, onCardTitle how a prompt
// says where its offer is from.
const (
	onTheCard   = "On the card:"
	onCardTitle = "on the card"
)

// placeNames tells a place of runs in words.
var placeNames = map[string]string{"track": "a closed track", "rolling-road": "a rolling road", "road": "a public road outside the village"}

func (b *Bench) shelf(s *Seen) {
	shelf := b.Sim.Shelf()
	for i, g := range shelf {
		where := "In the car lies"
		if i > 0 {
			where = "On the club's shelf lies"
		}
		s.Lines = append(s.Lines, fmt.Sprintf("%s a dial: %s.", where, g.Text()))
	}
}

func (b *Bench) run(s *Seen, p *practice.Pull) {
	if p == nil {
		return
	}
	text := "The highest steady reading, as the passenger saw it. " + dialWords(p.Needle)
	s.Lines = append(s.Lines, text, fmt.Sprintf("The rev counter reached %.0f rpm%s.", p.RPM, gear(p.Gear)))
	if !p.Foot {
		s.Lines = append(s.Lines, "The driver says: there was a little of the pedal left.")
		s.Amiss = "the pedal was not on the floor"
	}
	if b.Sim.Slow(p) {
		s.Amiss = fmt.Sprintf("only %.0f rpm were reached", p.RPM)
	}
	s.Needle = &p.Needle
	s.Offer = fmt.Sprintf("%s at %.0f", p.Text(), p.RPM)
	if p.Unreadable {
		s.Offer = "?"
	}
}

func gear(n int) string {
	switch n {
	case 2:
		return " in second gear"
	case 3:
		return " in third gear"
	}
	return ""
}

// atWork is what is seen at a step that is done by hand.
func (b *Bench) atWork(step string, values map[string]string) Seen {
	var s Seen
	say := func(format string, args ...any) { s.Lines = append(s.Lines, fmt.Sprintf(format, args...)) }
	if did := b.fixed[step]; did != "" {
		say("%s", did)
	}
	switch step {
	case "drill", "port", "fitting":
		name := values["station"]
		at := b.station(name)
		switch {
		case at < 0:
			say("You look for %s and find no room for a tap there.", name)
			s.Amiss = "there is no room for a tap"
		case step != "fitting":
		case b.Sim.BadTap(at) != practice.NoSetupFault:
			say("%s", badTaps[b.Sim.BadTap(at)])
			s.Amiss = badTaps[b.Sim.BadTap(at)]
		default:
			say("It sits flush, the rim inside is smooth, and it holds a hard pull.")
		}
	case "connect":
		b.hoseEnd(&s, values["to"])
	case "leak-check":
		say("The syringe is on the hose, and the free end is closed with a plug.")
	}
	return s
}

func (b *Bench) hoseEnd(s *Seen, to string) {
	at := b.station(to)
	if at < 0 {
		s.Lines = append(s.Lines, fmt.Sprintf("You look for the tap at %s. There is none on this car.", to))
		s.Amiss = "there is no such tap"
		return
	}
	end := b.Sim.Ends(at)
	s.Lines = append(s.Lines, fmt.Sprintf("The label on the hose says %s. You follow it by hand: it ends at %s.", to, named(b.at, b.Sim.Case.Car, end)))
	if end != at {
		s.Amiss = "the hose ends at another place"
	}
}

// offered is what the card, the tape or the gauge answers to a question, as it is
// typed: "?" where nobody knows, "" where it is no question about the car.
func (b *Bench) offered(step string, values map[string]string) string {
	switch step {
	case "pieces":
		return pathText(b.Sim.Case.Car)
	case "measure-pieces":
		if b.Sim.Case.Tape == practice.Bare {
			return "later"
		}
		return "now"
	case "no-tap":
		return b.untappable()
	case "size":
		return b.size(values["piece"])
	case "gauge":
		return b.bestGauge()
	case "air":
		air := &b.Sim.Sheet.Air
		if !air.Temperature.Given() {
			return "?"
		}
		return fmt.Sprintf("%s, %s, %s", air.Temperature.Raw, air.Pressure.Raw, air.Humidity.Raw)
	case "place":
		return b.Sim.Place()
	case "road-speed":
		per, limit := b.Sim.RoadSpeed()
		return fmt.Sprintf("%g km/h, %.0f km/h", per, limit)
	case "leak-numbers":
		start, end := b.Sim.Leak()
		return fmt.Sprintf("%s, %s, 30", start.Text(), end.Text())
	case "zero", "zero-after":
		n := b.Sim.Rest()
		return n.Text()
	case "lamps":
		return none
	}
	return b.papers(step)
}

// papers are what the papers of the car answer to a question about its engine.
func (b *Bench) papers(step string) string {
	sh := b.Sim.Sheet
	e := &sh.Car.Engine
	known := func(a quantity.Amount) string {
		if !a.Given() {
			return "?"
		}
		return a.Raw
	}
	switch step {
	case "car-name":
		return sh.Car.Name
	case "displacement":
		return known(e.Displacement)
	case "cylinders":
		return fmt.Sprint(e.Cylinders)
	case "fuel":
		return e.Fuel
	case "induction":
		return e.Induction
	case "boost":
		return known(e.Boost)
	case "boost-control":
		return cmp.Or(e.BoostControl, "unknown")
	case "peak-rpm":
		return fmt.Sprintf("%.0f rpm", sh.Reference.RPM)
	case "peak-power":
		return known(e.PeakPower)
	case "mass-flow":
		return known(e.MassFlow)
	}
	return ""
}

// bestGauge is the gauge of the shelf with the largest range.
func (b *Bench) bestGauge() string {
	shelf := b.Sim.Shelf()
	g := slices.MaxFunc(shelf, func(x, y practice.Gauge) int {
		if x.Pascals(x.Range) < y.Pascals(y.Range) {
			return -1
		}
		return 1
	})
	return g.Text()
}

// untappable are the learner's places at which no tap can be made, beyond those
// where none is made anyhow.
func (b *Bench) untappable() string {
	var list []string
	for _, p := range b.mine {
		i := b.at[p.Name]
		switch p.Kind {
		case sheet.Mouth, sheet.Meter, sheet.Throttle:
			continue // neverTapped
		}
		if i < 0 || !b.Sim.CanTap(i) {
			list = append(list, p.Name)
		}
	}
	if len(list) == 0 {
		return none
	}
	return strings.Join(list, ", ")
}

// alongThePath says where there is room for taps, in agreement with the card. Full are
// the other pieces without, none where there are none.
func (b *Bench) alongThePath(full string) string {
	never := b.neverTapped()
	switch {
	case full != none:
		return "You look along the path. " + never + "There is no room for a tap at " + full + "."
	case never != "":
		return "You look along the path. " + never + "There is room everywhere else."
	}
	return "You look along the path. There is room for a tap everywhere."
}

// neverTapped says at which of the learner's pieces nobody makes a tap, "" for none.
func (b *Bench) neverTapped() string {
	var list []string
	for _, p := range b.mine {
		switch p.Kind {
		case sheet.Mouth, sheet.Meter, sheet.Throttle:
			list = append(list, p.Name)
		}
	}
	if len(list) == 0 {
		return ""
	}
	return fmt.Sprintf("At %s nobody makes a tap. ", strings.Join(list, " and "))
}

// size is what the tape shows of a piece, as it is typed.
func (b *Bench) size(name string) string {
	i, ok := b.at[name]
	if !ok || i < 0 {
		return "?"
	}
	return b.sizeAt(i)
}

// sizeAt is the same for a component of the car.
func (b *Bench) sizeAt(i int) string {
	c := &b.Sim.Sheet.Path[i]
	var parts []string
	add := func(text string) { parts = append(parts, text) }
	switch {
	case c.Diameter.Given():
		add(c.Diameter.Raw)
	case c.Width.Given():
		add(c.Width.Raw + " x " + c.Height.Raw)
	}
	if c.Face.Given() {
		add("face " + c.Face.Raw)
	}
	if c.Length.Given() {
		add("length " + c.Length.Raw)
	}
	for _, word := range []string{c.Surface, c.Edge} {
		if word != "" {
			add(word)
		}
	}
	if c.Radius.Given() {
		add("radius " + c.Radius.Raw)
	}
	for _, bend := range c.Bends {
		text := bend.Angle.Raw
		if bend.Radius.Given() {
			text += "/" + bend.Radius.Raw
		}
		add(text)
	}
	for _, share := range []quantity.Amount{c.OpenArea, c.Share} {
		if share.Given() && (share != c.Share || c.Kind != sheet.Screen) {
			add(share.Raw)
		}
	}
	if len(parts) == 0 {
		return "?"
	}
	return strings.Join(parts, ", ")
}
