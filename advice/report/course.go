package report

import (
	"fmt"
	"slices"
	"strings"
)

// Course is how a test went, as its record tells. Texts may hold what people
// typed; nothing here is escaped.
type Course struct {
	Record  string   `json:"record,omitzero"`   // what the record is called
	Program string   `json:"program,omitzero"`  // the release that began it
	Ended   string   `json:"ended"`             // how it ended; "" while it goes on
	Owed    []Duty   `json:"owed"`              // what is still to be put back, the latest first
	Skipped []Open   `json:"skipped"`           // steps that were skipped, in order
	Unknown []Open   `json:"unknown"`           // what nobody knew, in order
	LeftOut []Open   `json:"left_out,omitzero"` // steps behind the list of what is owed that a stop cut off
	Lamps   string   `json:"lamps,omitzero"`    // the warning lamps after the drive, as answered
	Notes   []string `json:"notes"`             // what was noted on the way
	Changed bool     `json:"-"`                 // the test has blocks before and after a change
	Names   []string `json:"-"`                 // every name that was ever typed or chosen, for Unnamed
}

// Duty is something that was done to the car and not undone.
type Duty struct {
	Text  string `json:"text"`
	Level string `json:"level,omitzero"` // signal word of the step that left it: danger, warning, caution, notice; "" for none
	Why   string `json:"why,omitzero"`   // why it was skipped; "" where it is just not done yet
}

// Open is a step without its answer.
type Open struct {
	What  string `json:"what"`           // the step or question
	Why   string `json:"why,omitzero"`   // why it was skipped
	So    string `json:"so,omitzero"`    // what follows from it, whole sentences
	Check bool   `json:"check"`          // it checks the gauge, the hose or the car
	Times int    `json:"times,omitzero"` // how often, where more than once
}

// levels are the signal words of ANSI Z535.6, the gravest first.
var levels = []string{"danger", "warning", "caution", "notice"}

// Graver is the graver of two signal words; "" is none.
func Graver(a, b string) string {
	if rank(b) < rank(a) {
		return b
	}
	return a
}

func rank(level string) int {
	if i := slices.Index(levels, level); i >= 0 {
		return i
	}
	return len(levels)
}

// Gravest is the signal word of the worst of several duties, "notice" at the
// least: a car that is not as it was is no small matter.
func (c *Course) Gravest() string {
	if c == nil || len(c.Owed) == 0 {
		return ""
	}
	worst := levels[len(levels)-1]
	for _, d := range c.Owed {
		worst = Graver(worst, d.Level)
	}
	return worst
}

// noLamp are the ways to say that no warning lamp came on.
var noLamp = []string{"none", "no", "nothing", "no lamp", "no lamps", "none of them", "not any", "no one", "0", "zero", "nil", "-"}

// NoLamp tells whether an answer says that no warning lamp came on. "" is no answer.
func NoLamp(answer string) bool {
	return slices.Contains(noLamp, strings.ToLower(strings.TrimRight(strings.TrimSpace(answer), ".! ")))
}

// NoLamps tells whether somebody looked and no warning lamp came on.
func (c *Course) NoLamps() bool { return NoLamp(c.Lamps) }

// gathered joins what is open in the same words, in the order of its first.
func gathered(list []Open) []Open {
	var out []Open
	for _, o := range list {
		i := slices.IndexFunc(out, func(x Open) bool { return x.What == o.What && x.Why == o.Why && x.So == o.So })
		if i < 0 {
			o.Times = max(1, o.Times)
			out = append(out, o)
			continue
		}
		out[i].Times += max(1, o.Times)
	}
	return out
}

// Course is how the test went, empty where nothing is known of it.
func (p *page) Course() *Course {
	if p.o.Course == nil {
		return &Course{}
	}
	return p.o.Course
}

// Tested tells whether the report is on a record and not on a sheet alone.
func (p *page) Tested() bool { return p.o.Course != nil }

// Unnamed tells whether names were taken out.
func (p *page) Unnamed() bool { return p.o.Unnamed }

// Skipped are the steps that were skipped.
func (p *page) Skipped() []Open { return gathered(p.Course().Skipped) }

// LeftOut are the steps that a stop cut off.
func (p *page) LeftOut() []Open { return gathered(p.Course().LeftOut) }

// Unknown is what nobody knew.
func (p *page) Unknown() []Open { return gathered(p.Course().Unknown) }

// Unchecked are the checks among what nobody knew.
func (p *page) Unchecked() []Open {
	return slices.DeleteFunc(p.Unknown(), func(o Open) bool { return !o.Check })
}

// Often says how often, where it was more than once: " (3 times)".
func (o Open) Often() string {
	if o.Times < 2 {
		return ""
	}
	return fmt.Sprintf(" (%d times)", o.Times)
}
