package advice

import (
	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
)

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
