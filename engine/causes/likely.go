package causes

// Usual fills in how often each outcome of a check comes where none of the
// causes that the check speaks of is there: what is not stated, a negative
// number, shares the rest alike. It reports false where the stated shares sum to
// more than one, or all are stated and sum to less.
func Usual(stated []float64) ([]float64, bool) {
	return spread(stated, nil)
}

// Under fills in how often each outcome comes under one cause, from what is
// stated for it: the rest is shared in proportion to what is usual.
func Under(stated, usual []float64) ([]float64, bool) {
	return spread(stated, usual)
}

const sumTolerance = 0.0051

func spread(stated, by []float64) ([]float64, bool) {
	sum, share, free := 0.0, 0.0, 0
	for i, v := range stated {
		if v >= 0 {
			sum += v
			continue
		}
		free++
		if by != nil {
			share += by[i]
		}
	}
	if sum > 1+sumTolerance || free == 0 && sum < 1-sumTolerance {
		return nil, false
	}
	rest := max(1-sum, 0)
	full := make([]float64, len(stated))
	for i, v := range stated {
		switch {
		case v >= 0:
			full[i] = v
		case share > 0:
			full[i] = rest * by[i] / share
		default:
			full[i] = rest / float64(free)
		}
	}
	return full, true
}
