package advice

import (
	"slices"
	"strings"

	"dropwalk/engine/subject"
)

// SheetEntries turns what a procedure filled in into entries of a test sheet:
// pieces get names, sizes go to their piece, zeros go to the readings of their
// round, and what only served the procedure is left out.
//
// Of a test before and after a change it is the car as it was read last; Blocks has
// the others.
func SheetEntries(entries []subject.Entry) []subject.Entry {
	entries, changes := latestBlock(entries)
	list := pieces(entries)
	rows := map[string]string{} // of a piece's name
	var out []subject.Entry
	add := func(path, row, text string) { out = append(out, subject.Entry{Path: path, Row: row, Text: text}) }
	for _, p := range list {
		rows[p.name] = p.name
		add("path[].name", p.name, p.name)
		add("path[].kind", p.name, p.kind)
	}
	sized := map[string]string{} // name of the piece that a round of sizes is about
	own := map[string]string{}   // name of the piece in a row of an earlier sheet
	for _, e := range entries {
		switch e.Path {
		case "sizes[].name":
			sized[e.Row] = e.Text
		case "path[].name":
			own[e.Row] = e.Text
		}
	}
	for _, e := range entries {
		switch {
		case e.Path == sizePath:
			for _, p := range sizeParts(e.Text) {
				add(p.Path, sized[e.Row], p.Text)
			}
		case e.Path == "path[].name", e.Path == "path[].kind", e.Path == piecesPath:
		case strings.HasPrefix(e.Path, "path[]."):
			if name := own[e.Row]; rows[name] != "" {
				add(e.Path, name, e.Text)
			}
		case strings.HasPrefix(e.Path, gaugeList): // gaugeEntries has them
		case e.Path == noTapPath:
			for _, name := range listed(e.Text) {
				if rows[name] != "" {
					add("path[].tap", name, "none")
				}
			}
		case beside(e.Path), strings.HasPrefix(e.Path, "readings[]."), strings.HasPrefix(e.Path, "checks[]."):
		default:
			out = append(out, e)
		}
	}
	gauges := gaugeEntries(entries)
	out = append(out, gauges...)
	out = append(out, checkEntries(entries)...)
	out = append(out, changes...)
	return append(out, withGauge(gauges, readingEntries(entries))...)
}

// beside tells whether a path only serves the procedure.
func beside(path string) bool {
	for _, prefix := range []string{"test.", "visits[].", "zeros[].", "sizes[].", earlierPrefix} {
		if strings.HasPrefix(path, prefix) {
			return true
		}
	}
	return ownList(path)
}

// listed splits a list that was answered in one line; "none" is the empty one.
func listed(text string) []string {
	if text == "" || text == "none" {
		return nil
	}
	return strings.Split(text, ", ")
}

// UnnamedGauge is what a sheet calls the gauge that a procedure asked about where
// it has no card.
const UnnamedGauge = "dial"

// gaugeEntries are the gauges: the one that was asked about, else those of an
// earlier sheet, else the usual one. Readings that were taken already know a gauge
// without a card by the name that the release of their day gave it; it keeps that
// one.
func gaugeEntries(entries []subject.Entry) []subject.Entry {
	named := textsAt(entries, gaugeNamePath)
	name := UnnamedGauge
	row := "" // of the gauge that was asked about
	for _, e := range entries {
		switch {
		case e.Path == gaugeRange && e.Text != "" && named[e.Row] == "":
			row = e.Row
		case e.Path == visitGauge && e.Text != "":
			name = e.Text
		}
	}
	switch {
	case row == "" && len(named) > 0:
		return ofGauges(entries, func(e subject.Entry) bool { return named[e.Row] != "" })
	case row == "":
		row = soleRow
		out := []subject.Entry{{Path: gaugeNamePath, Row: row, Text: name}}
		for _, p := range defaultGauge {
			out = append(out, subject.Entry{Path: p.Path, Row: row, Text: p.Text})
		}
		return out
	}
	var card []subject.Entry
	if text := textsAt(entries, cardPath)[row]; text != "" {
		card, _ = cardEntries(row, text) // it was read when it was answered
	}
	if len(card) == 0 {
		card = []subject.Entry{{Path: gaugeNamePath, Row: row, Text: name}}
	}
	return append(card, ofGauges(entries, func(e subject.Entry) bool { return e.Row == row && e.Path != cardPath })...)
}

// ofGauges are those entries of gauges that keep wants.
func ofGauges(entries []subject.Entry, keep func(subject.Entry) bool) []subject.Entry {
	var out []subject.Entry
	for _, e := range entries {
		if strings.HasPrefix(e.Path, gaugeList) && keep(e) {
			out = append(out, e)
		}
	}
	return out
}

// withGauge gives readings whose gauge was put right since the one that stands on
// the sheet now.
func withGauge(gauges, readings []subject.Entry) []subject.Entry {
	var names []string
	for _, e := range gauges {
		if e.Path == gaugeNamePath {
			names = append(names, e.Text)
		}
	}
	for i, e := range readings {
		if e.Path == readingGauge && len(names) > 0 && !slices.Contains(names, e.Text) {
			readings[i].Text = names[0]
		}
	}
	return readings
}

// checkEntries makes leak checks of those rows that were answered; one that was
// judged by eye has no numbers.
func checkEntries(entries []subject.Entry) []subject.Entry {
	at := textsAt(entries, visitTo)
	var out []subject.Entry
	eye := textsAt(entries, checkStart)
	for _, row := range rowsOf(entries, checkStart) {
		out = append(out,
			subject.Entry{Path: "checks[].kind", Row: row, Text: "leak"},
			subject.Entry{Path: "checks[].at", Row: row, Text: at[row]})
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Path, "checks[].") && at[e.Row] != "" && eye[e.Row] != byEye {
			out = append(out, e)
		}
	}
	return out
}

// readingEntries are the rows of readings that have a value, with the zeros of
// their round.
func readingEntries(entries []subject.Entry) []subject.Entry {
	values := textsAt(entries, readingPath)
	before, after := textsAt(entries, beforePath), textsAt(entries, afterPath)
	var out []subject.Entry
	for _, e := range entries {
		if !strings.HasPrefix(e.Path, "readings[].") || values[e.Row] == "" || e.Text == "" {
			continue
		}
		if e.Path == doubtfulPath {
			e.Text = strings.TrimPrefix(e.Text, doubtfulMark)
		}
		out = append(out, e)
		if e.Path != readingPath {
			continue
		}
		if text := aroundRow(before, e.Row); text != "" {
			out = append(out, subject.Entry{Path: "readings[].zero_before", Row: e.Row, Text: text})
		}
		if text := aroundRow(after, e.Row); text != "" {
			out = append(out, subject.Entry{Path: "readings[].zero_after", Row: e.Row, Text: text})
		}
	}
	return out
}

// aroundRow is the text of the nearest round around a row that has one: runs can lie in
// rounds of engine speeds, and the zero is that of the reading around those.
func aroundRow(texts map[string]string, row string) string {
	for round, _, inside := cutLast(row, "/"); inside; round, _, inside = cutLast(round, "/") {
		if text := texts[round]; text != "" {
			return text
		}
	}
	return ""
}

// textsAt maps each row to its latest text at path.
func textsAt(entries []subject.Entry, path string) map[string]string {
	texts := map[string]string{}
	for _, e := range entries {
		if e.Path == path {
			texts[e.Row] = e.Text
		}
	}
	return texts
}

// rowsOf lists the rows that have a text at path, in order.
func rowsOf(entries []subject.Entry, path string) []string {
	var rows []string
	seen := map[string]bool{}
	for _, e := range entries {
		if e.Path == path && e.Text != "" && !seen[e.Row] {
			seen[e.Row] = true
			rows = append(rows, e.Row)
		}
	}
	return rows
}
