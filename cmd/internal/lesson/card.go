package lesson

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/engine"
)

// carded are the questions that the card of a car answers, in their order.
var carded = []struct{ step, what string }{
	{"car-name", "Name"}, {"displacement", "Size of the engine"}, {"cylinders", "Cylinders"}, {"fuel", "Fuel"}, {"induction", "It breathes"},
	{"boost", "Boost at full load"}, {"boost-control", "The boost control holds"}, {"peak-rpm", "Peak power at"}, {"peak-power", "Peak power"},
	{"mass-flow", "Air flow by the scan tool"}, {"pieces", "The path, from the open air inwards"}, {"no-tap", "No room for a tap at"},
	{"place", "The runs are made on"},
}

// sized are further questions that the card or the tape answers.
var sized = []string{"measure-pieces", "size", "air", "road-speed"}

// onCard tells whether a question is answered from the card, the tape or the
// weather station, and not by an instrument.
func (b *Bench) onCard(step string) bool {
	if slices.Contains(sized, step) {
		return true
	}
	for _, c := range carded {
		if c.step == step {
			return true
		}
	}
	return false
}

// Card is all that is known of the car before the first run.
func (b *Bench) Card() []string {
	var lines []string
	for _, c := range carded {
		text := b.offered(c.step, nil)
		if c.step == "boost" || c.step == "boost-control" {
			if b.Sim.Case.Car.Engine.Induction == "natural" {
				continue
			}
		}
		if c.step == "no-tap" {
			text = b.noRoom()
		}
		if c.step == "place" {
			text = placeNames[text]
		}
		switch text {
		case "?":
			lines = append(lines, c.what+": nobody knows.")
		default:
			lines = append(lines, c.what+": "+text+".")
		}
	}
	for i := range b.Sim.Sheet.Path {
		name := b.Sim.Case.Car.Path[i].Name
		if size := b.sizeAt(i); size != "?" {
			lines = append(lines, fmt.Sprintf("By the tape, %s: %s.", name, size))
		}
	}
	return lines
}

// noRoom are the true pieces behind which no tap can be made.
func (b *Bench) noRoom() string {
	var list []string
	for i, c := range b.Sim.Case.Car.Path {
		if !b.Sim.CanTap(i) {
			list = append(list, c.Name)
		}
	}
	if len(list) == 0 {
		return none
	}
	return strings.Join(list, ", ")
}

// hint is what a learner who asks for help is told at a prompt.
func (b *Bench) hint(p engine.Prompt) string {
	switch p.Step {
	case "value":
		return "Read the needle to half a division. A swing has two ends. Look at the engine speed and at the driver before you type."
	case "zero", "zero-after":
		return "Type what the needle shows, even if it should be nought. mend zero turns the screw."
	case "leak-numbers":
		return "Type both levels as they were. A twentieth lost in half a minute is a leak."
	case "connect":
		return "Follow the hose by hand. cannot and why says that it ends elsewhere."
	case "fitting":
		return "Feel inside, and pull. cannot and why says that it isn't right."
	case "gauge":
		return "Begin with the range that holds the whole path: 20 to 25 inH2O for most cars (common practice)."
	case "pieces":
		return "Type card to read what the car has. Name every piece."
	case adviceStep:
		return "Subtract neighbouring readings, velocity heads taken off, and see which stretch loses most."
	}
	if p.Kind == engine.Hold {
		return "Hold each line against what you see. The number of a line says that it isn't true."
	}
	return ""
}
