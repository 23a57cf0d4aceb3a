// Package finding is the outcome of a test that isn't the test of the whole path:
// a verdict, figures with what each rests on, sentences, and the next step. It
// is data only. Who makes a test builds one with New; package report tells it.
//
// What is the same at every run of a test, what each verdict says and what is done
// next, stands in tests/NAME.yaml. Sentences name figures in braces, and are
// filled in when they are told, in the reader's units.
package finding

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
)

// Version is the version of the form that programs read.
const Version = 1

// What a figure rests on.
const (
	Measured  = "measured"   // read on the car in this test
	Inferred  = "inferred"   // worked out from what was measured and from what is published
	NotTested = "not-tested" // nobody looked
)

// Verdicts that many tests have.
const (
	NotYet     = "not-yet"     // the test has not come far enough for another
	CannotTell = "cannot-tell" // the readings leave it open
)

// level of the intervals of figures.
const level = 0.9

// Figure is one number that a test found, in SI.
type Figure struct {
	Name  string // in kebab-case; sentences name it so
	Label string // for people, without a full stop
	Kind  quantity.Kind
	Value float64 // NaN where only a bound is known, or nothing
	Low   float64 // the central 90 % interval; NaN where that end isn't known
	High  float64
	How   string // Measured, Inferred or NotTested
	On    string // what it rests on, a clause
}

// Known tells whether a figure has a value.
func (f Figure) Known() bool { return !math.IsNaN(f.Value) }

// Given tells whether anything is known of a figure.
func (f Figure) Given() bool { return f.Known() || !math.IsNaN(f.Low) || !math.IsNaN(f.High) }

// Apart tells whether the interval of a figure leaves a value out.
func (f Figure) Apart(from float64) bool { return f.Low > from || f.High < from }

// Caution is a safety message with its signal word.
type Caution struct {
	Level string `json:"level"`
	Text  string `json:"text"`
}

// Finding is what a test found.
type Finding struct {
	Test      string
	Title     string // the question that the test answers
	Verdict   string
	Says      string // the verdict in words
	Figures   []Figure
	Sentences []string // more on it
	Next      string   // what to do now
	NotTested []string
	Cautions  []Caution

	outcomes map[string]outcome
}

// New begins a finding of a test whose file stands in tests. It has no verdict
// yet. A name without a file is a fault of the program.
func New(test string) *Finding {
	k, ok := shipped()[test]
	if !ok {
		panic(fmt.Sprintf("finding: no test is called %q", test))
	}
	f := &Finding{Test: test, Title: k.title, NotTested: slices.Clone(k.notTested), Cautions: slices.Clone(k.cautions), outcomes: k.outcomes}
	return f.Conclude(NotYet)
}

// Add takes a figure in and gives it back.
func (f *Finding) Add(x Figure) Figure {
	f.Figures = append(f.Figures, x)
	return x
}

// Say takes a sentence in, with figures by their names in braces.
func (f *Finding) Say(format string, args ...any) {
	f.Sentences = append(f.Sentences, fmt.Sprintf(format, args...))
}

// Conclude sets the verdict, with what the file of the test has on it.
func (f *Finding) Conclude(verdict string) *Finding {
	o, ok := f.outcomes[verdict]
	if !ok {
		panic(fmt.Sprintf("finding: %s has no verdict %q", f.Test, verdict))
	}
	f.Verdict, f.Says, f.Next = verdict, o.says, o.next
	return f
}

// Figure is the figure of a name.
func (f *Finding) Figure(name string) (Figure, bool) {
	i := slices.IndexFunc(f.Figures, func(x Figure) bool { return x.Name == name })
	if i < 0 {
		return Figure{}, false
	}
	return f.Figures[i], true
}

// Filled is a copy whose sentences have figures in place of their names, as show
// writes them. A name that there is no figure of stays as it is.
func (f *Finding) Filled(show func(Figure) string) *Finding {
	fill := func(text string) string {
		for _, x := range f.Figures {
			text = strings.ReplaceAll(text, "{"+x.Name+"}", show(x))
		}
		return text
	}
	out := *f
	out.Says, out.Next = fill(f.Says), fill(f.Next)
	out.Sentences, out.NotTested = slices.Clone(f.Sentences), slices.Clone(f.NotTested)
	for _, list := range [][]string{out.Sentences, out.NotTested} {
		for i := range list {
			list[i] = fill(list[i])
		}
	}
	return &out
}

// Of makes a figure of an estimate: its value and the central 90 % interval.
func Of(name, label string, k quantity.Kind, e stats.Estimate, how, on string) Figure {
	low, high := e.Value, e.Value
	if e.SE > 0 {
		low, high = e.Interval(level)
	}
	return Figure{name, label, k, e.Value, low, high, how, on}
}

// Between makes a figure of a value and the ends of its interval.
func Between(name, label string, k quantity.Kind, value, low, high float64, how, on string) Figure {
	return Figure{name, label, k, value, low, high, how, on}
}

// AtLeast makes a figure of which only a lower bound is known.
func AtLeast(name, label string, k quantity.Kind, bound float64, how, on string) Figure {
	return Figure{name, label, k, math.NaN(), bound, math.NaN(), how, on}
}

// AtMost makes a figure of which only an upper bound is known.
func AtMost(name, label string, k quantity.Kind, bound float64, how, on string) Figure {
	return Figure{name, label, k, math.NaN(), math.NaN(), bound, how, on}
}

// Unknown makes a figure of which nothing is known, for the reason given.
func Unknown(name, label string, k quantity.Kind, why string) Figure {
	return Figure{name, label, k, math.NaN(), math.NaN(), math.NaN(), NotTested, why}
}
