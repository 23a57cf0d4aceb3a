package lesson

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
)

// Levels of coaching: from a remark after each decision to silence.
const (
	Coached  = 1
	Mistakes = 2
	Hinted   = 3
	Silent   = 4
)

// Bench is a simulated car under a run of a procedure. It changes with the
// events of the run and with nothing else, so that a record brings it back to
// where it was. It is not safe for two goroutines.
type Bench struct {
	Sim   *practice.Bench
	Level int

	chosen map[string]map[string]string // values of rounds, by their slot
	mine   []sheet.Component
	at     map[string]int            // the learner's names on the car
	amiss  map[string]thing          // by step
	right  map[string]thing          // what was put right, by step
	fixed  map[string]string         // what was done about a step that could not be done
	hurry  int                       // the run before which something is amiss
	driven map[string]*practice.Pull // runs, by the slot of their round

	found    []Finding
	guess    *Guess
	typed    int // numbers typed
	good     int // of those, as they were shown
	taps     []string
	needless int // repairs of what was sound
	holds    int // holds passed
	ended    string
}

// New puts a learner at a car. Sim is used up by it.
func New(sim *practice.Bench, level int) *Bench {
	b := &Bench{Sim: sim, Level: level, chosen: map[string]map[string]string{}, right: map[string]thing{}, fixed: map[string]string{}, driven: map[string]*practice.Pull{}}
	b.at = places(nil, sim.Case.Car)
	count := 2 + sim.Case.Level/2
	dice := sim.Dice("things")
	b.amiss = theThings().draw(dice, count, sim.Place() == "rolling-road")
	b.hurry = 1 + dice(3)
	return b
}

// Guess is what the learner would change first, before the advice is shown.
type Guess struct {
	Piece string  // the learner's name; "" to leave the car alone
	Known bool    // false where the learner didn't say
	Sure  float64 // 0 to 1
}

// Finding is something that the learner did well or not, at the time.
type Finding struct {
	Topic string `json:"topic"` // see Topics
	Slot  string `json:"slot"`
	Good  bool   `json:"good"`
	Text  string `json:"text"`

	plain bool // a remark in passing, no part of the debrief
}

// Topics of findings.
const (
	aboutCard   = "card"
	aboutPath   = "path"
	aboutGauge  = "gauge"
	aboutTap    = "tap"
	aboutSetup  = "setup"
	aboutNumber = "number"
	aboutHold   = "hold"
	aboutSkip   = "skip"
)

// Paths that the learner's answers fill.
const (
	piecesPath    = "path"
	gaugeRange    = "gauges[].range"
	gaugeDivision = "gauges[].division"
	checkStart    = "checks[].start"
	beforePath    = "zeros[].before"
	afterPath     = "zeros[].after"
	readingPath   = "readings[].value"
	rpmPath       = "readings[].rpm"
	doubtfulPath  = "readings[].doubtful"
)

// notePrefix marks the notes by which a practice record keeps what a real test
// has no place for.
const (
	guessNote = "practice: change first "
	mendNote  = "mend "
)

// values are those of the rounds around a slot.
func (b *Bench) values(slot string) map[string]string {
	all := map[string]string{}
	for i, c := range slot {
		if c == '/' {
			for k, v := range b.chosen[slot[:i]] {
				all[k] = v
			}
		}
	}
	return all
}

// Apply takes an event of the run and returns what there is to say about it, in
// the order in which it came to light.
func (b *Bench) Apply(e engine.Event) []Finding {
	before := len(b.found)
	step, _, _ := strings.Cut(e.Step, "~")
	switch e.Kind {
	case engine.Chosen:
		b.choose(e)
	case engine.Answered:
		if len(e.Parts) > 0 || e.Unknown {
			b.answered(step, e)
		} else {
			b.done(step, e)
		}
	case engine.Refused:
		b.refused(step, e)
	case engine.Skipped:
		b.say(Finding{Topic: aboutSkip, Slot: e.Slot, Text: "Left out: " + question(e) + " Why: " + e.Why})
	case engine.Corrected:
		// The procedure itself sends back whoever has found a leak: hose and clamps
		// are renewed on the way.
		if step == "leak-check" && e.Why != "" {
			b.mendFound(practice.LeakAll, e.Slot)
		}
	case engine.Noted:
		b.noted(e)
	case engine.Finished:
		b.ended = e.Text
	}
	return b.found[before:]
}

func (b *Bench) say(f Finding) { b.found = append(b.found, f) }

func (b *Bench) choose(e engine.Event) {
	if e.Taken == nil || !*e.Taken || e.Offer == nil {
		return
	}
	b.chosen[e.Slot] = e.Offer.Values
	if why := e.Offer.Values["reason"]; why != "" {
		b.say(Finding{Topic: aboutTap, Slot: e.Slot, Good: true, plain: true, Text: fmt.Sprintf("Next: from %s to %s. Why there: %s.",
			e.Offer.Values["from"], e.Offer.Values["to"], why)})
	}
}

// done takes a step that was done or a hold that was passed.
func (b *Bench) done(step string, e engine.Event) {
	if x, ok := b.isAmiss(step); ok {
		b.say(Finding{Topic: aboutHold, Slot: e.Slot, Text: fmt.Sprintf("You went on. %s", x.seen)})
		delete(b.amiss, step)
	}
	delete(b.right, step)
	delete(b.fixed, step)
	values := b.values(e.Slot)
	switch step {
	case "fitting":
		b.fitted(e, b.station(values["station"]))
	case "connect":
		b.connected(e, values)
	case "run":
		b.Sim.Drive(b.station(values["from"]), b.station(values["to"]))
		b.driven[roundOf(e.Slot)] = b.Sim.Last()
	}
	if e.Car != "" {
		b.holds++
	}
}

// pull is the run of the round in which a slot lies, as its dial was left: whoever goes
// back to the reading of an earlier run reads that one. It is nil before the run.
func (b *Bench) pull(slot string) *practice.Pull { return b.driven[roundOf(slot)] }

// roundOf is the slot of the round in which a slot lies, "" outside of rounds.
func roundOf(slot string) string { return slot[:max(0, strings.LastIndex(slot, "/"))] }

// station is the component at whose end a place lies; missing where the car has
// none.
func (b *Bench) station(name string) int {
	i, ok := b.at[name]
	if !ok || i >= 0 && !b.Sim.CanTap(i) {
		return missing
	}
	return i
}

func (b *Bench) fitted(e engine.Event, at int) {
	if at < 0 {
		return
	}
	name := named(b.at, b.Sim.Case.Car, at)
	if f := b.Sim.BadTap(at); f != practice.NoSetupFault {
		b.missed(e.Slot, fmt.Sprintf("The tap at %s was not right, and you went on. %s", name, badTaps[f]))
	}
	b.Sim.Fit(at)
	if !slices.Contains(b.taps, name) {
		b.taps = append(b.taps, name)
	}
}

func (b *Bench) connected(e engine.Event, values map[string]string) {
	at := b.station(values["to"])
	if at >= 0 && b.Sim.Ends(at) != at {
		b.missed(e.Slot, fmt.Sprintf("The hose ended at %s, not at %s, and you went on.", named(b.at, b.Sim.Case.Car, b.Sim.Ends(at)), values["to"]))
	}
}

// refused takes a line that isn't true, or a step that can't be done.
func (b *Bench) refused(step string, e engine.Event) {
	if x, ok := b.isAmiss(step); ok {
		delete(b.amiss, step)
		b.right[step] = x
		b.say(Finding{Topic: aboutHold, Slot: e.Slot, Good: true, Text: "Seen in time: " + x.seen})
		return
	}
	values := b.values(e.Slot)
	fixed := false
	switch step {
	case "fitting", "drill":
		if at := b.station(values["station"]); at >= 0 {
			fixed = b.mendFound(b.Sim.BadTap(at), e.Slot)
		}
	case "connect":
		if at := b.station(values["to"]); at >= 0 && b.Sim.Ends(at) != at {
			fixed = b.mendFound(practice.SwappedTaps, e.Slot)
		}
	case "leak-check":
		fixed = b.mendFound(practice.LeakAll, e.Slot)
	case "run":
		fixed = b.mendDriver(e.Slot)
	}
	if fixed {
		b.fixed[step] = fixedAt[step]
	} else {
		b.say(Finding{Topic: aboutHold, Slot: e.Slot, Good: true, plain: true, Text: "Nothing was wrong there. To ask once more costs nothing."})
	}
}

// isAmiss tells what is not as a hold says at this time.
func (b *Bench) isAmiss(step string) (thing, bool) {
	x, ok := b.amiss[step]
	if step == "run" && b.Sim.Pulls()+1 != b.hurry {
		return thing{}, false
	}
	return x, ok
}

// mendFound puts a fault of the setup right that the learner found.
func (b *Bench) mendFound(f practice.SetupFault, slot string) bool {
	if !b.Sim.Mend(f) {
		return false
	}
	b.say(Finding{Topic: aboutSetup, Slot: slot, Good: true, Text: "Noticed and put right: " + mended[f]})
	return true
}

func (b *Bench) mendDriver(slot string) bool {
	return b.mendFound(practice.PartLoad, slot) || b.mendFound(practice.WrongGear, slot)
}

// mends are the things that can be put right by a word, with the faults that
// this cures.
var mends = []struct {
	word   string
	faults []practice.SetupFault
	did    string // what is done, whether it helps or not
}{
	{"hose", []practice.SetupFault{practice.LeakAll}, "You renew hose and clamps."},
	{"fitting", []practice.SetupFault{practice.LeakOne, practice.Burr}, "You take the fitting out, smooth the rim of the hole and seat it anew."},
	{"labels", []practice.SetupFault{practice.SwappedTaps}, "You follow each hose by hand and label both ends."},
	{"zero", []practice.SetupFault{practice.ZeroOff}, "You turn the screw of the gauge."},
	{"driver", []practice.SetupFault{practice.PartLoad, practice.WrongGear}, "You tell the driver again: second gear, pedal to the floor, up to the mark."},
	{"gauge", []practice.SetupFault{practice.OverRange}, "You fetch the other gauge."},
}

// Mendable are the words that can stand behind mend.
func Mendable() []string {
	var list []string
	for _, m := range mends {
		list = append(list, m.word)
	}
	return list
}

func (b *Bench) noted(e engine.Event) {
	if rest, ok := strings.CutPrefix(e.Text, guessNote); ok {
		if g, err := readGuess(rest, b.names()); err == nil {
			b.guess = g
		}
		return
	}
	what, ok := strings.CutPrefix(e.Text, mendNote)
	if !ok {
		return
	}
	for _, m := range mends {
		if m.word != what {
			continue
		}
		helped := slices.ContainsFunc(m.faults, func(f practice.SetupFault) bool { return b.mendFound(f, e.Slot) })
		if !helped {
			b.needless++
			b.say(Finding{Topic: aboutSetup, Slot: e.Slot, Text: fmt.Sprintf("Mended: %s. %s", m.word, soundText)})
		}
	}
}

// names are the learner's pieces.
func (b *Bench) names() []string {
	var list []string
	for _, p := range b.mine {
		list = append(list, p.Name)
	}
	return list
}

// mended is what was wrong, told once it is right.
var mended = map[practice.SetupFault]string{
	practice.LeakOne:     "a fitting that leaked.",
	practice.LeakAll:     "a hose that leaked.",
	practice.SwappedTaps: "two hoses whose labels had changed places.",
	practice.ZeroOff:     "a needle that did not rest at nought.",
	practice.Burr:        "a rim around the hole of a tap.",
	practice.PartLoad:    "a pedal that was not on the floor.",
	practice.WrongGear:   "a gear too high to reach the engine speed.",
	practice.OverRange:   "a gauge too small for this path.",
}

// fixedAt is what was done at a step that could not be done as things stood.
var fixedAt = map[string]string{
	"fitting":    "You take it out, smooth the rim of the hole and seat it anew.",
	"drill":      "You smooth the rim of the hole.",
	"connect":    "You follow each hose by hand and change the labels.",
	"leak-check": "You renew hose and clamps.",
}

// badTaps is what a tap with a fault looks like.
var badTaps = map[practice.SetupFault]string{
	practice.LeakOne: "The fitting turns in its hole when you pull at it.",
	practice.Burr:    "A fingertip finds a sharp rim inside, around the hole.",
}

func question(e engine.Event) string {
	text, _, _ := strings.Cut(e.Seen, "\n")
	return text
}

// pressure reads a pressure that the engine has understood.
func pressure(text string) (quantity.Amount, bool) {
	a, err := quantity.Read(text, quantity.Want{Kind: quantity.PressureDiff, Swing: true, Bounds: true, Unreadable: true})
	return a, err == nil
}
