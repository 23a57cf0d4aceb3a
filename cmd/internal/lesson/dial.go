package lesson

import (
	"fmt"
	"math"
	"strings"

	"dropwalk/advice/practice"
)

// dialWords tells a needle in a sentence, as an eye finds it between two marks.
func dialWords(n practice.Needle) string {
	g := n.Gauge
	switch {
	case n.Unreadable:
		return "The needle flutters too fast to be read."
	case n.Stop:
		return fmt.Sprintf("The needle lies against its stop, past %s.", g.Number(g.Range))
	case n.Low == n.High:
		return fmt.Sprintf("The needle stands %s.", between(g, n.Low))
	}
	return fmt.Sprintf("The needle swings: at one end it is %s, at the other %s.", between(g, n.Low), between(g, n.High))
}

// between says where v lies among the marks of a scale, in quarters of a division.
func between(g practice.Gauge, v float64) string {
	mark := func(k float64) string { return g.Number(k * g.Division) }
	at := v / g.Division
	k := math.Floor(at)
	switch part := at - k; {
	case part < 0.125:
		return "on " + mark(k)
	case part < 0.375:
		return "a little past " + mark(k)
	case part < 0.625:
		return "midway between " + mark(k) + " and " + mark(k+1)
	case part < 0.875:
		return "just short of " + mark(k+1)
	}
	return "on " + mark(k+1)
}

// Columns of a drawn dial: of the whole, and of one division.
const (
	dialColumns = 37
	markColumns = 8
	mostColumns = 40 // of a row with its margin; the unit stands at its end
)

// dial draws the part of the scale around a needle, at most 38 columns wide: the
// numbers, the marks, the needle. A narrow screen has 40 columns.
func dial(n practice.Needle) []string {
	g := n.Gauge
	if n.Unreadable {
		return nil
	}
	step := markColumns
	for step > 2 && (n.High-n.Low)/g.Division*float64(step) > dialColumns-2*float64(step) {
		step /= 2
	}
	marks := dialColumns / step
	first := math.Floor((n.Low+n.High)/2/g.Division) - float64(marks/2)
	first = math.Max(-2, math.Min(first, math.Round(g.Range/g.Division)-float64(marks)+1))
	if n.Low < 0 {
		first = math.Floor(n.Low/g.Division) - 1
	}
	column := func(v float64) int { return int(math.Round((v/g.Division - first) * float64(step))) }
	return []string{
		"  " + numbers(g, first, marks, step),
		"  " + scale(g, first, marks, step),
		"  " + pointer(n, column),
	}
}

func numbers(g practice.Gauge, first float64, marks, step int) string {
	row := []rune(strings.Repeat(" ", marks*step+8))
	free := 0
	for i := range marks {
		v := (first + float64(i)) * g.Division
		text := []rune(g.Number(v))
		if end := i*step + len(text) + 1 + len(g.Unit); i*step < free || end > mostColumns-2 || v > g.Range*1.0001 || v < -g.Range {
			continue
		}
		copy(row[i*step:], text)
		free = i*step + len(text) + 1
	}
	return strings.TrimRight(string(row), " ") + " " + g.Unit
}

func scale(g practice.Gauge, first float64, marks, step int) string {
	var b strings.Builder
	for i := range marks {
		if v := (first + float64(i)) * g.Division; v > g.Range*0.9999 {
			b.WriteString("|")
			break
		}
		half := strings.Repeat("-", step/2-1)
		b.WriteString("|" + half + "." + half)
		if step == 2 {
			b.WriteString("")
		}
	}
	return b.String()
}

// pointer is where the needle is: one mark, a row of them where it swings.
func pointer(n practice.Needle, column func(float64) int) string {
	from, to := column(n.Low), column(n.High)
	if n.Stop {
		return strings.Repeat(" ", max(0, to+1)) + "^ stop"
	}
	return strings.Repeat(" ", max(0, from)) + strings.Repeat("^", max(1, to-from+1))
}
