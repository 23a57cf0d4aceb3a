package infer

import "slices"

// Quantile is the p-quantile of weighted values. Each value stands in the
// middle of its weight; between two values the quantile runs straight.
func Quantile(x, weight []float64, p float64) float64 {
	return Quantiles(x, weight, p)[0]
}

// Quantiles are several quantiles in one sorting. The values are not changed.
func Quantiles(x, weight []float64, ps ...float64) []float64 {
	type item struct{ x, w float64 }
	items := make([]item, len(x))
	total := 0.0
	for i := range x {
		items[i] = item{x[i], weight[i]}
		total += weight[i]
	}
	slices.SortFunc(items, func(a, b item) int {
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	out := make([]float64, len(ps))
	for k, p := range ps {
		want, at := p*total, 0.0
		last, lastAt := items[0].x, 0.0
		out[k] = items[len(items)-1].x
		for _, it := range items {
			mid := at + it.w/2
			if mid >= want {
				out[k] = it.x
				if mid > lastAt {
					out[k] = last + (it.x-last)*(want-lastAt)/(mid-lastAt)
				}
				break
			}
			at += it.w
			last, lastAt = it.x, mid
		}
	}
	return out
}

// Largest is the chance of each row of x to hold the largest value of its
// point. Rows whose skip is true are left out (nil: none is). Points at which
// nothing exceeds nought are shared out equally.
func Largest(x [][]float64, weight []float64, skip []bool) []float64 {
	out := make([]float64, len(x))
	var open []int
	for c := range x {
		if skip == nil || !skip[c] {
			open = append(open, c)
		}
	}
	for i, w := range weight {
		best, at := 0.0, -1
		for _, c := range open {
			if x[c][i] > best {
				best, at = x[c][i], c
			}
		}
		if at >= 0 {
			out[at] += w
			continue
		}
		for _, c := range open {
			out[c] += w / float64(len(open))
		}
	}
	return out
}
