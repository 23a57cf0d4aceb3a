package advice

import (
	"slices"
	"strings"

	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/engine/subject"
)

// namePlaces are the places of a procedure where the pieces of the path are named.
var namePlaces = []string{
	piecePath, spanPath, acrossPath, elementAcross, noTapPath, changedPath, nextPiecePath, visitFrom, visitTo,
	"sizes[].name", "path[].name", "readings[].from", "readings[].to",
}

// unnamedPieces are the entries with the pieces called after their kinds, as an unnamed
// sheet calls them. What makes no sheet has no path to name.
func unnamedPieces(entries []subject.Entry) []subject.Entry {
	s, _ := sheet.FromEntries(SheetEntries(entries))
	if s == nil {
		return entries
	}
	to := report.PieceNames(s)
	out := slices.Clone(entries)
	for i, e := range out {
		path := strings.TrimPrefix(e.Path, earlierPrefix)
		switch {
		case e.Path == piecesPath:
			var list []string
			for _, p := range named(strings.Split(e.Text, ", ")) {
				list = append(list, to[p.name]+" ("+p.kind+")")
			}
			out[i].Text = strings.Join(list, ", ")
		case e.Path == elementPath: // free text
			out[i].Text = ""
		case slices.Contains(namePlaces, path):
			items := strings.Split(e.Text, ", ")
			for k, item := range items {
				if name, ok := to[item]; ok {
					items[k] = name
				}
			}
			out[i].Text = strings.Join(items, ", ")
		}
	}
	return out
}
