package lesson

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice"
	"dropwalk/advice/model"
	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// answered takes what was typed at a question and holds it against what there
// was to see.
func (b *Bench) answered(step string, e engine.Event) {
	text := func(path string) string {
		for _, p := range e.Parts {
			if p.Path == path {
				return p.Text
			}
		}
		return ""
	}
	switch {
	case step == "pieces":
		b.path(e, text(piecesPath))
	case step == "peak-rpm":
		b.aim(text("reference.rpm"))
		b.copied(step, e)
	case step == "gauge":
		b.picked(e, text(gaugeRange), text(gaugeDivision))
	case has(e.Parts, checkStart):
		b.checked(e)
	case has(e.Parts, beforePath):
		b.rested(e, text(beforePath))
	case has(e.Parts, afterPath):
		b.rested(e, text(afterPath))
	case has(e.Parts, readingPath):
		b.read(e, text(readingPath), text(rpmPath), text(doubtfulPath))
	case step == "zero" || step == "zero-after" || step == "leak-numbers" || step == "value":
		b.number(e.Slot, false, "Not known, you said, and it was there to be read.")
	default:
		b.copied(step, e)
	}
}

func has(parts []subject.Part, path string) bool {
	return slices.ContainsFunc(parts, func(p subject.Part) bool { return p.Path == path })
}

// missed says once that a fault of the setup was passed over.
func (b *Bench) missed(slot, text string) {
	if !slices.ContainsFunc(b.found, func(f Finding) bool { return f.Topic == aboutSetup && f.Text == text }) {
		b.say(Finding{Topic: aboutSetup, Slot: slot, Text: text})
	}
}

// number counts a number that was typed. One that is typed anew at the same place
// stands in for the first.
func (b *Bench) number(slot string, good bool, text string) {
	for i := range b.found {
		if f := &b.found[i]; f.Topic == aboutNumber && f.Slot == slot {
			b.typed--
			if f.Good {
				b.good--
			}
			f.Topic, f.plain = aboutNumber+" before", true
		}
	}
	b.typed++
	if good {
		b.good++
	}
	b.say(Finding{Topic: aboutNumber, Slot: slot, Good: good, Text: text})
}

// path compares the learner's pieces with the car.
func (b *Bench) path(e engine.Event, text string) {
	b.mine = advice.Pieces(text)
	if e.Unknown || text == "" {
		b.mine = advice.Pieces(usualPath)
	}
	car := b.Sim.Case.Car
	b.at = places(b.mine, car)
	var lost, more []string
	for i := range car.Path {
		if !slices.ContainsFunc(b.mine, func(p sheet.Component) bool { return b.at[p.Name] == i }) {
			lost = append(lost, car.Path[i].Name)
		}
	}
	for _, p := range b.mine {
		if b.at[p.Name] == missing {
			more = append(more, p.Name)
		}
	}
	switch {
	case len(lost) == 0 && len(more) == 0:
		b.say(Finding{Topic: aboutPath, Slot: e.Slot, Good: true, Text: "That is the path of this car, piece by piece. Each place behind a piece can now be named."})
	case len(lost) > 0:
		b.say(Finding{Topic: aboutPath, Slot: e.Slot, Text: fmt.Sprintf("The car also has: %s. What such a piece loses will be blamed on its neighbour. back pieces puts it right.", strings.Join(lost, ", "))})
	default:
		b.say(Finding{Topic: aboutPath, Slot: e.Slot, Text: fmt.Sprintf("The car has no such piece: %s. back pieces puts it right.", strings.Join(more, ", "))})
	}
}

// usualPath is the path that intake takes where a tester doesn't know.
const usualPath = "mouth, snorkel (duct), box-entry, filter, box-exit, meter, tube (duct)"

// picked takes a gauge from the shelf, by its range. Division is as it was typed, ""
// where it was not.
func (b *Bench) picked(e engine.Event, text, division string) {
	a, ok := pressure(text)
	if !ok || !a.Known() {
		a.SI = 25 * inch // what the program takes: a usual dial
	}
	there := b.Sim.Take(a.SI)
	if b.Sim.Fault() == practice.OverRange && !b.Sim.TooSmall() {
		b.mendFound(practice.OverRange, e.Slot)
	}
	g := b.Sim.Gauge()
	switch {
	case !there:
		b.say(Finding{Topic: aboutGauge, Slot: e.Slot, Text: "No such gauge lies there. You take the one that comes nearest: " + g.Text() + ". Type its own figures: back gauge."})
	case b.Sim.TooSmall(), g.Pascals(g.Range) < 3500 && b.larger():
		b.say(Finding{Topic: aboutGauge, Slot: e.Slot, Text: "That is a small range for the whole path of a car. Begin with the larger one: a needle at its stop tells nothing and can break."})
	case division == "":
		b.say(Finding{Topic: aboutGauge, Slot: e.Slot, Text: "A range that holds the whole path. You left out how far apart its marks are; a reading is as good as half of that. " +
			"Type both, such as " + g.Text() + ": back gauge."})
	default:
		b.say(Finding{Topic: aboutGauge, Slot: e.Slot, Good: true, Text: "A range that holds the whole path, read to half a division."})
	}
}

// aim has the driver end the runs where the procedure says: at the engine speed
// that was stated, else at the usual one.
func (b *Bench) aim(stated string) {
	a, err := quantity.Read(stated, quantity.Want{Kind: quantity.Rotation, Unit: "rpm"})
	if err != nil || !a.Known() {
		e := &b.Sim.Sheet.Car.Engine
		a.SI = model.UsualRPM(sheet.Engine{Fuel: e.Fuel, Induction: e.Induction})
	}
	b.Sim.Aim(a.SI)
}

// larger tells whether a gauge with a larger range lies there.
func (b *Bench) larger() bool {
	g := b.Sim.Gauge()
	for _, other := range b.Sim.Shelf() {
		if other.Pascals(other.Range) > g.Pascals(g.Range) {
			return true
		}
	}
	return false
}

// checked compares the levels of a leak check with those that were seen.
func (b *Bench) checked(e engine.Event) {
	start, end := b.Sim.Leak()
	from, fromOK := pressure(partOf(e.Parts, checkStart))
	to, toOK := pressure(partOf(e.Parts, "checks[].end"))
	lost := 100 * (1 - end.Value()/start.Value())
	seen := fromOK && toOK && from.Known() && to.Known() && start.Holds(from.SI) && end.Holds(to.SI)
	if b.Sim.Leaks() && !seen {
		b.missed(e.Slot, "The hose leaked, and you went on.")
	}
	switch {
	case !fromOK || !toOK || !from.Known() || !to.Known():
		if b.Sim.Leaks() {
			b.number(e.Slot, false, fmt.Sprintf("By eye, you said. The needle fell by %.0f %% in half a minute: that is a leak.", lost))
		} else {
			b.number(e.Slot, false, "By eye, you said. The levels were there to be read.")
		}
	case seen && b.Sim.Leaks():
		b.number(e.Slot, true, fmt.Sprintf("Well seen: %.0f %% lost in half a minute is a leak.", lost))
	case seen:
		b.number(e.Slot, true, fmt.Sprintf("%.0f %% lost in half a minute: the hose holds.", lost))
	default:
		b.number(e.Slot, false, fmt.Sprintf("The needle went from %s to %s. You wrote %s to %s.", start.Text(), end.Text(), from.Text(), to.Text()))
	}
}

func partOf(parts []subject.Part, path string) string {
	for _, p := range parts {
		if p.Path == path {
			return p.Text
		}
	}
	return ""
}

// rested compares a zero with the needle at rest.
func (b *Bench) rested(e engine.Event, text string) {
	n := b.Sim.Rest()
	a, ok := pressure(text)
	off := b.Sim.ZeroOff()
	if off && (!ok || !a.Known() || !n.Holds(a.SI)) {
		b.missed(e.Slot, "The needle did not rest at nought, and you went on.")
	}
	switch {
	case !ok || !a.Known():
		b.number(e.Slot, false, "Not known, you said. The needle rested at "+n.Text()+".")
	case n.Holds(a.SI) && off:
		b.number(e.Slot, true, "Well seen: the needle does not rest at nought. Written down it is taken off; mend zero sets it.")
	case n.Holds(a.SI):
		b.number(e.Slot, true, "The zero is as the needle shows it.")
	default:
		b.number(e.Slot, false, fmt.Sprintf("The needle rested at %s. You wrote %s. Every reading carries that error.", n.Text(), a.Text()))
	}
}

// read compares a reading with the needle of the run.
func (b *Bench) read(e engine.Event, value, rpm, doubt string) {
	p := b.pull(e.Slot)
	if p == nil {
		return
	}
	a, _ := pressure(value)
	turns, err := quantity.Read(rpm, quantity.Want{Kind: quantity.Rotation, Unit: "rpm"})
	spun := math.Abs(turns.SI/p.RPM-1) < 0.015
	if err != nil {
		spun = math.Abs(b.Sim.Aimed()/p.RPM-1) < 0.015
	}
	slow := b.Sim.Slow(p)
	wrong := (!p.Foot || slow) && !p.Unreadable
	if wrong && doubt == "" {
		b.missed(e.Slot, wrongRun(p, slow))
	}
	if p.Stop && b.Sim.TooSmall() {
		b.missed(e.Slot, "The gauge was too small for this path, and a larger one lay there.")
	}
	switch {
	case !b.shown(a, p):
		b.number(e.Slot, false, fmt.Sprintf("%s You wrote %s.", dialWords(p.Needle), orUnread(a)))
	case !spun:
		b.number(e.Slot, false, fmt.Sprintf("The rev counter reached %.0f rpm. Write down what it showed, not what was planned.", p.RPM))
	case wrong && doubt == "":
		b.number(e.Slot, true, "The figures are as they were shown.")
	case wrong:
		b.number(e.Slot, true, "Kept as doubtful, with its reason: that is where it belongs. mend driver sees to the next runs.")
	case err != nil && math.Abs(b.Sim.Aimed()-p.RPM) > 5:
		b.number(e.Slot, true, fmt.Sprintf("As the needle stood. You typed no engine speed, so the runs' mark, %.0f rpm, is taken for it; the rev counter reached %.0f. Type both, such as %s at %.0f.",
			b.Sim.Aimed(), p.RPM, p.Text(), p.RPM))
	case a.Form == quantity.Exact && p.Low != p.High:
		b.number(e.Slot, true, "The middle of a swing. Both ends with a dash between, such as 12-13, tell the program how wide it is.")
	case p.Low != p.High:
		b.number(e.Slot, true, "Both ends of the swing: the air comes in pulses, and the fewer the cylinders the wider it swings.")
	case p.Stop:
		b.number(e.Slot, true, "Off the scale is a lower bound and no reading. Take a larger gauge: back gauge.")
	default:
		b.number(e.Slot, true, "As the needle stood.")
	}
}

func orUnread(a quantity.Amount) string {
	if a.Form == quantity.Unreadable || a.Text() == "" {
		return "that it could not be read"
	}
	return a.Text()
}

func wrongRun(p *practice.Pull, slow bool) string {
	if slow {
		return fmt.Sprintf("The run only reached %.0f rpm, in gear %d. It draws less air than the others. Mark it doubtful, and mend driver.", p.RPM, p.Gear)
	}
	return "The pedal was not on the floor. Such a run draws less air and reads too low. Mark it doubtful, and mend driver."
}

// shown tells whether a reading is one that the needle of p allows.
func (b *Bench) shown(a quantity.Amount, p *practice.Pull) bool {
	switch {
	case p.Unreadable || a.Form == quantity.Unreadable:
		return p.Unreadable && a.Form == quantity.Unreadable
	case p.Stop || a.Form == quantity.Above:
		return p.Stop && a.Form == quantity.Above
	case !a.Known():
		return false
	}
	return p.Holds(a.Low) && p.Holds(a.High)
}

// copied compares an answer about the car with its card.
func (b *Bench) copied(step string, e engine.Event) {
	want := b.offered(step, b.values(e.Slot))
	if want == "" || want == "?" || e.Unknown || len(e.Parts) != 1 {
		return
	}
	kind, ok := cardKinds[e.Parts[0].Path]
	if !ok {
		return
	}
	got, errGot := quantity.Read(e.Parts[0].Text, quantity.Want{Kind: kind, Unit: "rpm"})
	card, errCard := quantity.Read(want, quantity.Want{Kind: kind, Unit: "rpm"})
	if errGot == nil && errCard == nil && math.Abs(got.SI-card.SI) > 0.02*math.Abs(card.SI) {
		b.say(Finding{Topic: aboutCard, Slot: e.Slot, Text: fmt.Sprintf("The card says %s. You wrote %s.", want, got.Text())})
	}
}

// cardKinds are the answers about the car that are measures.
var cardKinds = map[string]quantity.Kind{
	"car.engine.displacement": quantity.Volume, "reference.rpm": quantity.Rotation, "car.engine.peak_power": quantity.Power,
	"car.engine.mass_flow": quantity.MassFlow, "car.engine.boost": quantity.GaugePressure,
}
