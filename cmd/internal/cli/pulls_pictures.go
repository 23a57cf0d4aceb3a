package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/picture"
	"dropwalk/advice/pulls"
	"dropwalk/advice/report"
	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
)

// mostOverRPM is how many pictures of single pulls a page has; those of one test look
// much alike.
const mostOverRPM = 3

// pullsPictures are the pictures of what a log holds: suction over engine speed, and
// where several pulls were read, their readings in order. number tells the logs of one
// page apart.
func pullsPictures(r *pulls.Result, units quantity.System, number int) []picture.Picture {
	if len(r.Readings) == 0 {
		return nil
	}
	o := report.PictureOptions(pullsUnit(r, units))
	var list []picture.Picture
	for i := range min(len(r.Plots), mostOverRPM) {
		p := overRPM(r, &r.Plots[i], o)
		p.Name = fmt.Sprintf("over-rpm-%d-%d", number+1, i+1)
		list = append(list, p)
	}
	for i, name := range gaugesRead(r) {
		if p := pullsInOrder(r, name, o); len(p.Rows) > 1 {
			p.Name = fmt.Sprintf("pulls-%d-%d", number+1, i+1)
			list = append(list, p)
		}
	}
	return list
}

// pullsUnit is the unit of pressures in the pictures, that of the readings above them.
func pullsUnit(r *pulls.Result, units quantity.System) string {
	_, unit, _ := strings.Cut(quantity.Show(r.Readings[0].Pa.Median, quantity.PressureDiff, units), " ")
	return unit
}

func gaugesRead(r *pulls.Result) []string {
	var out []string
	for _, x := range r.Readings {
		if !slices.Contains(out, x.Name) {
			out = append(out, x.Name)
		}
	}
	return out
}

// overRPM shows the samples of a pull with the curve through them and the reading.
func overRPM(r *pulls.Result, plot *pulls.Plot, o picture.Options) picture.Picture {
	x := r.Readings[plot.Reading]
	c := picture.Curved{At: x.RPM, Sure: report.Sure95, Grows: grows(x), Curve: func(rpm float64) assessment.Estimate {
		return assessment.Estimate(plot.At(rpm))
	}}
	for _, p := range plot.Points {
		c.Points = append(c.Points, picture.Point(p))
	}
	p := picture.OverRPM(c, o)
	p.Title = fmt.Sprintf("Suction over engine speed, pull %d, %s", x.Pull, x.Name)
	return p
}

// grows says how suction grows with engine speed.
func grows(x pulls.Reading) string {
	return fmt.Sprintf("It grows with the engine speed to the power of %.2f (%.2f to %.2f).", x.Exponent.Median, x.Exponent.Low, x.Exponent.High)
}

// pullsInOrder shows what the pulls of a log read, in their order, with the drift.
func pullsInOrder(r *pulls.Result, name string, o picture.Options) picture.Picture {
	s := picture.Series{Title: fmt.Sprintf("Pulls in their order, %s at %.0f rpm", name, r.Reference),
		Key: map[picture.Kind]string{picture.Band: "it lies here " + report.Sure95, picture.Mean: "the mean of the pulls"}}
	var sound []float64
	var design [][]float64
	for _, x := range r.Readings {
		if x.Name != name {
			continue
		}
		run := picture.Run{Label: fmt.Sprintf("pull %d", x.Pull), Value: x.Pa.Median, Low: x.Pa.Low, High: x.Pa.High, Kind: picture.Dot}
		if x.Doubtful != "" {
			run.Kind = picture.Cross
		} else {
			sound, design = append(sound, x.Pa.Median), append(design, []float64{1, float64(x.Pull)})
		}
		s.Runs = append(s.Runs, run)
	}
	middle := math.NaN()
	if len(sound) > 0 {
		middle = stats.Mean(sound)
	}
	for i := range s.Runs {
		s.Runs[i].Middle = middle
	}
	s.Drift = pullsDrift(design, sound, o.Unit)
	if n := len(s.Runs); n > mostInOrder {
		s.Runs = thinned(s.Runs, mostInOrder)
		s.Drift += fmt.Sprintf(" Drawn are %d of %d pulls.", mostInOrder, n)
	}
	return picture.Runs(s, o)
}

// mostInOrder is how many pulls are drawn in their order; more fill no screen.
const mostInOrder = 40

// thinned are n of a list, evenly, the first and the last among them.
func thinned[T any](list []T, n int) []T {
	var out []T
	for i := range n {
		out = append(out, list[i*(len(list)-1)/(n-1)])
	}
	return out
}

// leastDrift is how many pulls tell a drift from their scatter.
const leastDrift = 3

// pullsDrift says what readings do from pull to pull: a straight line through them.
func pullsDrift(design [][]float64, values []float64, unit string) string {
	if len(values) < leastDrift {
		return ""
	}
	fit, err := stats.LeastSquares(design, values)
	if err != nil {
		return ""
	}
	e := fit.Estimate(1)
	half := stats.TQuantile(0.975, e.Freedom) * e.SE
	show := func(pa float64) string { return quantity.ShowIn(pa, quantity.PressureDiff, unit) }
	between := fmt.Sprintf("with each pull %s more, between %s and %s", show(e.Value), show(e.Value-half), show(e.Value+half))
	if e.Value-half <= 0 && e.Value+half >= 0 {
		return "No drift shows: " + between + "."
	}
	return "They drift: " + between + ". Look at the zero of the gauge and at warm air."
}

// pullsBlocks are the pictures as blocks of the page. Who reads with the ears gets
// them in words.
func pullsBlocks(list []picture.Picture, spoken bool, columns int) string {
	var b strings.Builder
	for _, p := range list {
		if spoken {
			fmt.Fprintf(&b, "%s: %s\n\n", report.Escape(p.Title), report.Escape(p.Alt))
		} else {
			b.WriteString(report.PictureAsText(p, columns) + "\n\n")
		}
	}
	return b.String()
}
