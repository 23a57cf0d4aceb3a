package report

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
	"unicode"

	"dropwalk/advice/assessment"
	"dropwalk/advice/class"
	"dropwalk/advice/sheet"
)

// csvColumns are those of CSV, in their order. Pressures are in Pa at the
// reference point; low and high are the ends of the central 90 % interval.
var csvColumns = []string{"row", "name", "kind", "rests_on", "fixed",
	"loss_pa_median", "loss_pa_low", "loss_pa_high",
	"handbook_loss_pa_median", "handbook_loss_pa_low", "handbook_loss_pa_high",
	"recoverable_pa_median", "recoverable_pa_low", "recoverable_pa_high",
	"chance_first"}

// CSV is a table of the pieces of a path with their estimates: a row for each,
// whose column row says component, then the whole path, called total, which has
// a loss only. Names that a spreadsheet would take for a formula begin with an
// apostrophe.
func CSV(a *assessment.Assessment, s *sheet.Sheet) []byte {
	p := newPage(a, s, Options{})
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	write := func(row []string) { _ = w.Write(row) } // a Buffer takes everything
	write(csvColumns)
	for _, c := range p.A.Components {
		row := []string{"component", cell(c.Name), cell(c.Kind), cell(c.RestsOn), strconv.FormatBool(p.Fixed(c.Name))}
		for _, e := range []assessment.Estimate{c.Loss, c.Handbook, c.Recoverable} {
			row = append(row, numbers(e)...)
		}
		write(append(row, number(c.ChanceFirst)))
	}
	if len(p.A.Components) > 0 {
		row := append([]string{"total", "", "", "", ""}, numbers(p.A.TotalLoss)...)
		write(append(row, make([]string, len(csvColumns)-len(row))...))
	}
	w.Flush()
	return b.Bytes()
}

func numbers(e assessment.Estimate) []string {
	return []string{number(e.Median), number(e.Low), number(e.High)}
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// Cell is a text that no spreadsheet works out.
func Cell(text string) string { return cell(text) }

// cell is a text that no spreadsheet works out: =, +, - and @ begin a formula, in
// full width too, and what can't be seen ahead of them is skipped by some.
func cell(text string) string {
	text = strings.Join(strings.Fields(clean(text)), " ")
	text = strings.TrimLeftFunc(text, func(r rune) bool { return unicode.In(r, unicode.Cf, unicode.Z) })
	if strings.IndexAny(text, "=+-@＝＋－＠|%") == 0 {
		return "'" + text
	}
	return text
}

// ClassCSV is a table of a class: a row for each group and pair of stations.
func ClassCSV(c *class.Class) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	write := func(row []string) { _ = w.Write(row) } // a Buffer takes everything
	write(classColumns)
	maybe := func(v *float64) string {
		if v == nil {
			return ""
		}
		return number(*v)
	}
	for _, s := range c.Stations {
		for _, g := range s.ByGroup {
			var flags []string
			for _, f := range s.Flags {
				if f.Group == g.Group {
					flags = append(flags, f.Code+" "+f.Level)
				}
			}
			write([]string{cell(s.From), cell(s.To), cell(g.Group), strconv.Itoa(g.Runs), number(g.Mean), maybe(g.SD), number(g.Off), maybe(g.MADs), maybe(g.H), maybe(g.K), strings.Join(flags, "; ")})
		}
	}
	w.Flush()
	return b.Bytes()
}

// classColumns are those of ClassCSV. New ones come behind.
var classColumns = []string{"from", "to", "group", "runs", "mean_pa", "sd_pa", "from_median_pa", "from_median_mads", "h", "k", "flags"}
