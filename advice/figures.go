package advice

import (
	"math"

	"dropwalk/advice/assessment"
	"dropwalk/advice/infer"
	"dropwalk/advice/model"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
)

// Figures are what the pictures of a report need beside its assessment.
func Figures(s *sheet.Sheet, o Options) report.Figures {
	return report.Figures{Along: Along(s, o), Repeats: repeatsOf(s)}
}

// Along is the running total of the loss in Pa from the open air to behind each
// piece of the path; the last one is the total loss of the assessment. It has
// its own draws' spread: intervals of single pieces can't be added up.
func Along(s *sheet.Sheet, o Options) []assessment.Estimate {
	j := newJudge(s, o.filled())
	sum := make([]float64, len(j.post.Weight))
	var out []assessment.Estimate
	for c := range j.car.Pieces {
		for i, x := range j.post.X[c] {
			sum[i] += x
		}
		out = append(out, j.estimate(sum))
	}
	return out
}

// repeatsOf gathers the readings of each pair of stations, carried to the
// reference point, in the order of the sheet.
func repeatsOf(s *sheet.Sheet) []report.Repeat {
	car := model.New(s)
	var out []report.Repeat
	at := map[[2]int]int{}
	var own [][]float64 // variances
	for _, r := range car.Readings {
		key := [2]int{r.From, r.To}
		k, met := at[key]
		if !met {
			k = len(out)
			at[key] = k
			out = append(out, report.Repeat{From: car.Stations[r.From].Name, To: car.Stations[r.To].Name})
			own = append(own, nil)
		}
		in := s.Readings[r.At]
		out[k].Runs = append(out[k].Runs, report.Run{Number: in.Run, Value: r.Value, Doubtful: in.Doubtful != "",
			Low: r.Value + (in.Value.Low-in.Value.SI)/r.Phi, High: r.Value + (in.Value.High-in.Value.SI)/r.Phi,
			AtLeast: r.Bound == infer.AtLeast, AtMost: r.Bound == infer.AtMost})
		own[k] = append(own[k], r.Own)
	}
	for k := range out {
		out[k].Middle, out[k].Drift = drift(out[k].Runs, own[k])
	}
	return out
}

// drift is the mean of the sound runs and, for three and more of them, by how
// much a straight line through them moves from the first to the last. Its 90 %
// interval rests on the scatter that the inference reckons with: three runs say
// too little of their own.
func drift(runs []report.Run, own []float64) (middle float64, d *assessment.Estimate) {
	var order, values []float64
	variance := 0.0
	for i, r := range runs {
		if r.Doubtful || r.AtLeast || r.AtMost {
			continue
		}
		order, values = append(order, float64(i)), append(values, r.Value)
		variance += own[i]
	}
	n := float64(len(values))
	if n == 0 {
		return math.NaN(), nil
	}
	centre := 0.0
	for i := range values {
		middle, centre = middle+values[i]/n, centre+order[i]/n
	}
	if n < 3 {
		return middle, nil
	}
	spread, along := 0.0, 0.0
	for i := range values {
		spread += square(order[i] - centre)
		along += (order[i] - centre) * (values[i] - middle)
	}
	const z = 1.6448536
	reach := order[len(order)-1] - order[0]
	move, half := reach*along/spread, z*reach*math.Sqrt(variance/n/spread)
	return middle, &assessment.Estimate{Median: tidy(move), Low: tidy(move - half), High: tidy(move + half)}
}
