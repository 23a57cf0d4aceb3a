package class

import (
	"math"
	"sort"

	"dropwalk/advice/stats"
)

// far is how far from the median, in MADs, the farthest of some normal numbers lies
// seldom: in one set of twenty, in one of a hundred. With so few numbers the MAD is
// no safe measure, so the limits are wide; of three they say next to nothing. Worked
// out by 100,000 to 400,000 draws; TestFarLimits draws again.
var far = []struct {
	n                  int
	straggler, outlier float64
}{
	{3, 22.0, 111}, {4, 6.92, 16.0}, {5, 7.89, 18.2}, {6, 5.55, 10.1}, {7, 5.87, 10.7}, {8, 4.91, 7.98}, {9, 5.06, 8.26}, {10, 4.59, 6.94},
	{11, 4.68, 7.09}, {12, 4.38, 6.31}, {13, 4.42, 6.38}, {14, 4.23, 5.90}, {15, 4.28, 5.95}, {16, 4.13, 5.62}, {20, 4.01, 5.24}, {25, 3.94, 5.07},
	{30, 3.84, 4.80}, {40, 3.80, 4.61}, {60, 3.75, 4.42}, {100, 3.75, 4.31}, {200, 3.81, 4.29},
}

// farLimits are those for n numbers; between the rows, those of the row before.
func farLimits(n int) stats.Limits {
	i := sort.Search(len(far), func(i int) bool { return far[i].n > n })
	if i == 0 {
		return stats.Limits{Straggler: math.Inf(1), Outlier: math.Inf(1)}
	}
	return stats.Limits{Straggler: far[i-1].straggler, Outlier: far[i-1].outlier}
}

func farLevel(size float64, n int) int {
	switch l := farLimits(n); {
	case size > l.Outlier:
		return 2
	case size > l.Straggler:
		return 1
	}
	return 0
}

// offMedian holds each group to the median of the class, in units and in MADs. Where
// groups happen to lie closer than their own runs explain, the scatter of a mean by
// its runs takes the place of the MAD.
func (st *Station) offMedian(names []string, means []float64) {
	middle, mad := stats.Median(means), stats.MAD(means)
	if st.Repeatability != nil {
		least := *st.Repeatability / math.Sqrt(float64(st.Runs)/float64(st.Groups))
		st.MADIsFloor = least > mad
		mad = max(mad, least)
	}
	st.Median, st.MAD = tidy(middle), tidy(mad)
	for i, m := range means {
		g := &st.ByGroup[i]
		g.Off = tidy(m - middle)
		if mad > 0 {
			g.MADs = figure((m - middle) / mad)
			st.flag(FarOff, names[i], farLevel(math.Abs(m-middle)/mad, len(means)))
		}
	}
}
