package advice

import (
	"fmt"
	"math"

	"dropwalk/advice/assessment"
	"dropwalk/advice/infer"
	"dropwalk/advice/model"
)

func (j *judge) reference() assessment.Reference {
	flow := make([]float64, len(j.post.Flow))
	for i, f := range j.post.Flow {
		flow[i] = 1000 * j.car.Flow * f
	}
	return assessment.Reference{RPM: tidy(j.car.RPM), AirDensity: tidy(j.car.Density), MassFlow: j.estimate(flow)}
}

// totals are the loss of the whole path and what a gauge at its end would show.
func (j *judge) totals() (loss, shown assessment.Estimate) {
	end := j.car.Stations[len(j.car.Stations)-1]
	x := make([]float64, len(j.total))
	for i, t := range j.total {
		x[i] = max(0, t+end.Head*square(j.post.Flow[i]*j.post.Pace[i])+j.post.Shared[0][i]+j.post.SharedSD[0]*j.open[i])
	}
	return j.estimate(j.total), j.estimate(x)
}

func square(x float64) float64 { return x * x }

// heads are the velocity heads of the stations where the air moves: as the flow
// and the air speed have it, moved by what the readings say of each bore. What a
// jet or a burr does to a tap moves the reading, not the head.
func (j *judge) heads() map[string]assessment.Estimate {
	out := map[string]assessment.Estimate{}
	at := len(j.post.Shared) - len(j.car.Stations) + 1 // the stations' errors come last
	x := make([]float64, len(j.post.Flow))
	for k, s := range j.car.Stations[1:] {
		if s.Still {
			continue
		}
		share, rest := s.Bore()
		sd := math.Hypot(share*j.post.SharedSD[at+k], rest)
		for i, f := range j.post.Flow {
			x[i] = max(0, s.Head*square(f*j.post.Pace[i])+share*j.post.Shared[at+k][i]+sd*j.open[i])
		}
		out[s.Name] = j.estimate(x)
	}
	return out
}

func lognormal(median, sd float64) assessment.Estimate {
	const z = 1.6448536
	return assessment.Estimate{Median: tidy(median), Low: tidy(median * math.Exp(-z*sd)), High: tidy(median * math.Exp(z*sd))}
}

func (j *judge) components() []assessment.Component {
	var fixed []bool
	free := false
	for _, p := range j.car.Pieces {
		fixed = append(fixed, p.Fixed)
		free = free || !p.Fixed
	}
	chance := make([]float64, len(fixed))
	if free {
		chance = infer.Largest(j.back, j.post.Weight, fixed)
	}
	out := []assessment.Component{}
	for c, p := range j.car.Pieces {
		loss := j.estimate(j.post.X[c])
		out = append(out, assessment.Component{
			Name: p.Name, Kind: p.Kind, RestsOn: j.restsOn(c, loss), Loss: loss,
			Handbook:    lognormal(p.Median, j.car.HandbookSD(c)),
			Recoverable: j.estimate(j.back[c]), ChanceFirst: math.Round(chance[c]*1e9) / 1e9,
		})
	}
	return out
}

// restsOn tells by how much the readings narrowed what was believed of c.
func (j *judge) restsOn(c int, loss assessment.Estimate) string {
	const narrow, narrower = 0.75, 0.5
	if !j.post.Seen[c] {
		return "handbook"
	}
	low, high := j.believed(c)
	share := (loss.High - loss.Low) / max(high-low, 1e-9)
	alone := len(j.groupOf(c)) == 0
	switch {
	case alone && share < narrower:
		return "readings"
	case alone || share < narrow:
		return "both"
	}
	return "handbook"
}

// believed is the central 90 % of a component's loss before any reading, its
// spoilt state left out: a few pounds of prior doubt should not make every
// estimate look well measured.
func (j *judge) believed(c int) (low, high float64) {
	p := j.car.Pieces[c]
	e := lognormal(p.Median, j.car.HandbookSD(c))
	return e.Low, e.High
}

func (j *judge) together() [][]string {
	out := [][]string{}
	for _, g := range j.post.Groups {
		out = append(out, j.namesOf(g))
	}
	return out
}

// remarks are the findings of the checks and one on width; grave tells whether
// the diagnosis must wait.
func (j *judge) remarks(total assessment.Estimate) (list []assessment.Remark, grave bool) {
	list = []assessment.Remark{}
	for _, f := range j.car.Checks() {
		list = append(list, f.Remark)
		grave = grave || f.Grave
	}
	if total.High-total.Low > wideShare*total.Median {
		text := "the total loss is known only roughly; " + narrower[j.car.Widest()]
		list = append(list, assessment.Remark{Code: assessment.Wide, Text: text, Runs: []int{}})
	}
	if p := j.Priors; p != nil {
		text := "what is expected of pieces was learnt from one car of one's own; wherever handbook is said here, it is the handbook corrected by it"
		if p.Cars != 1 {
			text = fmt.Sprintf("what is expected of pieces was learnt from %d cars of one's own; wherever handbook is said here, it is the handbook corrected by them", p.Cars)
		}
		list = append(list, assessment.Remark{Code: assessment.OwnPriors, Text: text, Runs: []int{}})
	}
	return list, grave
}

// narrower says what would narrow a total, by what makes it wide.
var narrower = map[model.Width]string{
	"":              "nothing has been measured yet",
	model.ByWind:    "the wind of the road adds to the readings or takes from them; the speed of each run and the place of the gauge's open port on the sheet would narrow it, a rolling road more",
	model.ByFlow:    "a measured mass flow would narrow it",
	model.ByBore:    "the bores at the taps would narrow it",
	model.ByGauge:   "a better gauge, or its zero written down before and after the runs, would narrow it",
	model.ByWeather: "rpm, air temperature and pressure of the runs, near the reference point, would narrow it",
	model.ByRuns:    "more runs would narrow it",
	model.ByRange:   "a gauge with a larger range would narrow it",
}

// wideShare is the width of the 90 % interval of the total over its middle from
// which it is called wide.
const wideShare = 0.6
