package engine

import (
	"crypto/sha256"
	"encoding/hex"
	"iter"
	"slices"

	"dropwalk/engine/rules"
)

// Procedure is one procedure, checked and ready to run.
type Procedure struct {
	Name, Title, Purpose string
	Takes                string   // how long it takes, as a sentence would say it
	People, Tools        []string // who and what is needed
	StopIf               []string // what ends a run at once
	IfStopped            map[CarState][]string
	OnReturn             map[CarState]Gate // asked when a session goes on after a pause
	Parts                []*Part
	Search               *Search // the causes of a symptom and the checks on them; nil where there are none
	Source               []byte  // the file as read
}

// SHA256 is the hash of the file, in hex: a record says by it which text it ran.
func (p *Procedure) SHA256() string {
	sum := sha256.Sum256(p.Source)
	return hex.EncodeToString(sum[:])
}

// Steps are all steps in the order of the file: rounds and searches, each ahead of the
// steps inside it. What a search takes ahead of its checks stands in Ahead.
func (p *Procedure) Steps() iter.Seq[*Step] {
	return func(yield func(*Step) bool) {
		for _, part := range p.Parts {
			if !each(part.Steps, yield) {
				return
			}
		}
	}
}

// each yields steps and those inside them until nobody wants more.
func each(steps []*Step, yield func(*Step) bool) bool {
	for _, s := range steps {
		if !yield(s) || !each(s.Each, yield) {
			return false
		}
	}
	return true
}

// Gate is a hold that belongs to no step: what must be true of the car before
// a session goes on.
type Gate struct {
	Text    string
	Lines   []string
	Notices []Notice
}

// Undoing is what goes with an undo once it is its turn.
type Undoing struct {
	First   bool // ahead of what was done later
	See     string
	Notices []Notice // none: those of the step count
}

// Part is a stretch of a procedure in which the car begins in one state.
type Part struct {
	Title string
	Car   CarState
	When  *rules.Rule
	Steps []*Step

	judged bool
	line   int
}

// Step is one thing to do, to say or to ask. Which fields count depends on Kind.
type Step struct {
	ID      string
	Number  string // of its part and its place in it, such as 6.3; "" of rounds
	Kind    Kind
	Text    string // with names in braces
	When    *rules.Rule
	Notices []Notice
	Why     string

	Fills         []string // of an ask: paths in the document
	Like, Unknown string

	Lines   []string // of a hold
	ThenCar CarState // of a hold: the state that passing it leads to

	See, Undo       string // of a do; a check has an undo too
	Undoing         Undoing
	AgainAfterPause bool
	Cannot          string // what to do where it can't be done
	CannotThen      Move   // "", skip or stop: where "can't be done" leads
	Skip            string // what follows from skipping; "" where it may not be skipped

	BackTo []string // of a tell: the steps that are asked again

	Source          string // of rounds
	AtLeast, AtMost int
	Each            []*Step

	Check *CheckStep // of a check

	Page  string // of a page
	Shows string // name of a picture

	former     *Step // of a hold: as earlier releases worded it; nil where they did as this one
	judged     bool  // When rests on an assessment
	textJudged bool  // a text in braces rests on an assessment
	line, col  int
}

// pictures are the names of the pictures that a step of p shows: elsewhere there is
// nothing to draw.
func (p *Procedure) pictures() []string {
	var list []string
	var look func([]*Step)
	look = func(steps []*Step) {
		for _, s := range steps {
			if s.Shows != "" && !slices.Contains(list, s.Shows) {
				list = append(list, s.Shows)
			}
			look(s.Each)
		}
	}
	for _, part := range p.Parts {
		look(part.Steps)
	}
	return list
}
