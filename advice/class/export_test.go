package class

import (
	"math"

	"dropwalk/advice/stats"
)

// Flagged tells whether any of these means is farther from their median than honest
// ones come.
func Flagged(means []float64) bool {
	middle, mad := stats.Median(means), stats.MAD(means)
	for _, m := range means {
		if farLevel(math.Abs(m-middle)/mad, len(means)) > 0 {
			return true
		}
	}
	return false
}
