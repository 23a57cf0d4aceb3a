package advice

import (
	"dropwalk/advice/assessment"
	"dropwalk/advice/infer"
	"dropwalk/advice/model"
	"dropwalk/advice/plan"
	"dropwalk/advice/sheet"
)

// Options are what the user can say about how a sheet is judged. The zero
// value stands for the shipped ones.
type Options struct {
	Worth float64     // smallest gain worth having, % of power; 0: DefaultWorth
	Seed  int64       // 0: DefaultSeed
	Costs *plan.Costs // nil: plan.Shipped

	// Priors are what a workshop learnt from its own cars; nil: the handbook alone.
	// Every assessment made with them says so.
	Priors *model.Priors
}

// What an Options leaves open.
const (
	DefaultWorth = 0.5 // % of power
	DefaultSeed  = 1
)

func (o Options) filled() Options {
	if o.Worth <= 0 {
		o.Worth = DefaultWorth
	}
	if o.Seed == 0 {
		o.Seed = DefaultSeed
	}
	if o.Costs == nil {
		c := plan.Shipped()
		o.Costs = &c
	}
	return o
}

// Assess says what the readings of one sheet mean: losses, what can be won
// back, what to do. It takes any sheet that sheet.Read passed; what is missing
// there widens the answer. The same sheet and options give the same result.
func Assess(s *sheet.Sheet, o Options) *assessment.Assessment {
	j := newJudge(s, o.filled())
	a := &assessment.Assessment{Version: 1, Title: s.Title, Seed: j.Seed, Reference: j.reference()}
	a.TotalLoss, a.TotalGauge = j.totals()
	a.VelocityHead = j.heads()
	a.Components = j.components()
	a.Together = j.together()
	a.GainAll = j.gainAll()
	grave := false
	a.Remarks, grave = j.remarks(a.TotalLoss)
	j.decide(a, grave)
	return a
}

// judge holds one sheet in numbers and the draws that speak for it.
type judge struct {
	Options
	car     *model.Car
	options []candidate // readings that could be taken
	blocks  [][]int     // components that can be told apart by some tap
	post    infer.Posterior

	total    []float64   // loss of the whole path, one number a draw
	answer   []float64   // exponent of power over pressure
	open     []float64   // a normal number a draw, for what the readings leave open
	back     [][]float64 // recoverable loss of each component
	known    bool        // something honest can be said about power
	middle   float64     // exponent for planning
	chance   float64     // that some component gives back what is worth having
	gainNote string
}

func newJudge(s *sheet.Sheet, o Options) *judge {
	j := &judge{Options: o, car: model.NewWith(s, o.Priors)}
	j.blocks = blocksOf(j.car)
	j.options = j.candidates()
	var planned []model.Reading
	for _, c := range j.options {
		planned = append(planned, c.reading)
	}
	p := j.car.Problem(o.Seed, planned...)
	p.Extra = 2
	post, err := infer.Solve(p)
	if err != nil {
		// The noise of readings always holds a part of each reading's own, so this
		// is a fault in package model, not in the sheet.
		panic("advice: noise of the readings: " + err.Error())
	}
	j.post = post
	j.weighGains()
	j.chance = j.chanceWorth()
	return j
}

// decide fills in the verdict and what follows from it.
func (j *judge) decide(a *assessment.Assessment, grave bool) {
	a.AttackGroup = []string{}
	best := j.best()
	a.Gain = assessment.Gain{Note: "no component stands out, so there is no gain to name"}
	if best >= 0 {
		a.Gain = j.gainOf(best)
	}
	next := j.next()
	switch {
	case grave:
		a.Verdict = assessment.Recheck
		a.Gain = assessment.Gain{Note: "the readings contradict each other or physics, so no gain is named"}
		return
	case next != nil:
		a.Verdict, a.Next = assessment.Measure, next
	case j.chance < leaveChance || best < 0:
		a.Verdict = assessment.LeaveAlone
		return
	default:
		a.Verdict = assessment.Attack
		a.Attack = new(j.car.Pieces[best].Name)
		a.AttackGroup = j.groupOf(best)
	}
	if best >= 0 {
		a.BestGuess = new(j.car.Pieces[best].Name)
	}
}

// leaveChance is the chance of a worthwhile gain below which the path is left
// alone.
const leaveChance = 0.1

// groupOf names the components that the readings don't part from c, c among
// them; none where c stands alone.
func (j *judge) groupOf(c int) []string {
	for _, g := range j.post.Groups {
		for _, k := range g {
			if k == c {
				return j.namesOf(g)
			}
		}
	}
	return []string{}
}

func (j *judge) namesOf(pieces []int) []string {
	out := []string{}
	for _, k := range pieces {
		out = append(out, j.car.Pieces[k].Name)
	}
	return out
}
