package study

import (
	"slices"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
)

const (
	inch = 249.08891 // Pa, conventional inch of water
	// A component stands out if it loses more than standFloor and standTimes what
	// any other does.
	standFloor = 3 * inch
	standTimes = 1.8
	// faultFloor is the change of a loss from which a setup fault has to be noticed.
	faultFloor = 2 * inch
	// mostAsked ends a visit whose advice never has enough.
	mostAsked = 15
)

// claim is an interval and what it should hold.
type claim struct {
	practice.Interval
	truth float64
}

// outcome is what was found on one car.
type outcome struct {
	bare bool // described by names and kinds alone

	parts               []claim
	kinds               []string // of parts
	total               claim
	gain, gainAll       *claim
	alarm               bool // recheck on sound readings
	blame               bool // or a remark that names a fault of the setup
	falls               bool // a faultless gauge would read less downstream
	stands              bool
	standsGroup, picked bool
	pickedFull          bool // the full walk picks right
	worth               bool // the best change gives back what is worth its work
	stations            int
	regret              float64 // % of power
	unended             bool    // the advice asked for more than mostAsked readings

	fault   practice.SetupFault // tried on this car; none where all would be too small
	noticed bool
}

// try takes one car through its visits.
func try(p Plan, i int) *outcome {
	car, seed, detail := p.draw(i)
	o := &outcome{bare: detail == practice.Bare}
	everything := p.assess(car.Session(seed, practice.Setup{}).FullWalk(detail))
	advised := o.visit(p, car.Session(seed, practice.Setup{}), detail)

	judged := everything
	if p.Walk == Advice {
		judged = advised
	}
	o.claims(car, judged)
	o.alarm = judged.Verdict == assessment.Recheck
	o.blame = o.alarm || names(judged, blaming...)
	o.falls = car.Falls()
	o.pick(car, advised, everything)
	o.spoil(p, car, seed, i, detail)
	return o
}

func (p Plan) assess(sh *sheet.Sheet) *assessment.Assessment {
	return advice.Assess(sh, advice.Options{Priors: p.Priors})
}

// visit follows the advice from the first reading to its verdict.
func (o *outcome) visit(p Plan, s *practice.Session, detail practice.Detail) *assessment.Assessment {
	var last *assessment.Assessment
	_, asked, err := s.Play(detail, mostAsked+1, func(sh *sheet.Sheet) (practice.Ask, bool) {
		last = p.assess(sh)
		if last.Next == nil {
			return practice.Ask{}, false
		}
		gauge := last.Next.Gauge
		if gauge == "" {
			gauge = s.Gauges[0].Name
		}
		return practice.Ask{From: last.Next.From, To: last.Next.To, Gauge: gauge, Runs: max(last.Next.Runs, 1)}, true
	})
	if err != nil {
		panic("study: the advice asks for a reading that can't be had: " + err.Error())
	}
	o.stations = practice.Stations(asked)
	o.unended = len(asked) > mostAsked
	return last
}

// claims compares intervals with the truth.
func (o *outcome) claims(car *practice.Car, a *assessment.Assessment) {
	t := &car.Truth
	for c, part := range a.Components {
		o.parts = append(o.parts, claimed(part.Loss, t.Loss[c]))
		o.kinds = append(o.kinds, part.Kind)
	}
	o.total = claimed(a.TotalLoss, t.Total)
	if g := a.GainAll.PowerPercent; g != nil {
		o.gainAll = new(claimed(*g, 100*t.GainAll))
	}
	if g := a.Gain.PowerPercent; g != nil && a.BestGuess != nil {
		o.gain = new(claimed(*g, 100*t.Gain[car.Index(*a.BestGuess)]))
	}
}

func claimed(e assessment.Estimate, truth float64) claim {
	return claim{practice.Interval{Low: e.Low, High: e.High}, truth}
}

// pick compares the component that the short visit would change with the one that
// the full walk would, and with the one that stands out.
func (o *outcome) pick(car *practice.Car, advised, everything *assessment.Assessment) {
	short, long := picked(car, advised), picked(car, everything)
	o.regret = 100 * practice.RegretAgainst(car.Truth.Gain, short, long)
	group, ok := car.Standout(car.Truth.Loss, standFloor, standTimes)
	// What is fixed can't be changed, however much it loses.
	free := func(c int) bool { return !car.Path[c].Fixed }
	if o.stands = ok && slices.ContainsFunc(group, free); o.stands {
		o.standsGroup = len(group) > 1
		o.picked = slices.Contains(group, short)
		o.pickedFull = slices.Contains(group, long)
		best := car.Truth.Best
		o.worth = best >= 0 && car.Truth.Gain[best] >= practice.Worth
	}
}

// picked is the component that an assessment would change, -1 for none.
func picked(car *practice.Car, a *assessment.Assessment) int {
	if a.BestGuess == nil {
		return -1
	}
	return car.Index(*a.BestGuess)
}

// remarks that name the setup fault, beside a recheck, which names any.
var remarks = map[practice.SetupFault][]string{
	practice.LeakOne:     {assessment.Leak, assessment.LossFalls, assessment.TapDoubtful},
	practice.LeakAll:     {assessment.Leak},
	practice.SwappedTaps: {assessment.Swapped, assessment.LossFalls},
	practice.ZeroOff:     {assessment.ZeroShift},
	practice.Burr:        {assessment.TapDoubtful, assessment.LossFalls},
	practice.PartLoad:    {assessment.NotFullLoad},
	practice.WrongGear:   {assessment.NotFullLoad},
	practice.OverRange:   {assessment.OffScale},
}

// blaming are the remarks that a sound visit must not get. A reading off the scale
// is no fault of the program on any visit.
var blaming = []string{assessment.Leak, assessment.LossFalls, assessment.TapDoubtful, assessment.Swapped, assessment.ZeroShift, assessment.NotFullLoad}

func names(a *assessment.Assessment, codes ...string) bool {
	return slices.ContainsFunc(a.Remarks, func(r assessment.Remark) bool { return slices.Contains(codes, r.Code) })
}

// spoil repeats the full walk with a fault of the setup: of the kinds in turn, the
// first that changes a loss enough on this car. Zero faults are tried where the
// zeros are written down; without them nobody can tell.
func (o *outcome) spoil(p Plan, car *practice.Car, seed uint64, i int, detail practice.Detail) {
	kinds := practice.SetupFaults()
	for k := range kinds {
		f := kinds[(i/6+k)%len(kinds)]
		setup := practice.Setup{Fault: f}
		if f == practice.ZeroOff {
			setup.Zeros = practice.Yes
		}
		s := car.Session(seed, setup)
		if s.Impact().Largest <= faultFloor {
			continue
		}
		a := p.assess(s.FullWalk(detail))
		o.fault = f
		o.noticed = a.Verdict == assessment.Recheck || names(a, remarks[f]...)
		return
	}
}
