package stats

import "math"

// Mean of some numbers, NaN of none. The second pass takes out what rounding
// left in the first.
func Mean(x []float64) float64 {
	n := float64(len(x))
	first := 0.0
	for _, v := range x {
		first += v / n
	}
	rest := 0.0
	for _, v := range x {
		rest += v - first
	}
	return first + rest/n
}

// SD is the standard deviation with n-1 below the line, NaN of fewer than two
// numbers.
func SD(x []float64) float64 { return math.Sqrt(Variance(x)) }

// Variance is the square of SD, by two passes with the correction of Chan, Golub
// and LeVeque (American Statistician 37, 1983, from memory).
func Variance(x []float64) float64 {
	if len(x) < 2 {
		return math.NaN()
	}
	return squares(x) / float64(len(x)-1)
}

// squares is the sum of squares about the mean.
func squares(x []float64) float64 {
	mean, sum, rest := Mean(x), 0.0, 0.0
	for _, v := range x {
		sum += (v - mean) * (v - mean)
		rest += v - mean
	}
	return sum - rest*rest/float64(len(x))
}

// Digits rounds x to n significant digits. What is nought or no finite number stays.
func Digits(x float64, n int) float64 {
	if x == 0 || math.IsInf(x, 0) || math.IsNaN(x) {
		return x
	}
	scale := math.Pow(10, float64(n-1)-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*scale) / scale
}

// Lag1 is the autocorrelation of neighbours.
func Lag1(x []float64) float64 {
	mean, sum := Mean(x), 0.0
	for i := range x[1:] {
		sum += (x[i] - mean) * (x[i+1] - mean)
	}
	return sum / squares(x)
}
