package terminal

import (
	"strings"

	"dropwalk/engine/subject"
)

// bars are the marks of a drawn picture, each on the line that runs from its
// first place to its last.
var bars = map[subject.Mark]string{
	subject.Passed:   "│",
	subject.Possible: "○",
	subject.Present:  "●",
}

// Columns of a drawn picture: the place where work goes on, the line, the names.
const (
	longestName = 16
	gapToNotes  = 2
)

// picture sets p in lines of at most width columns: drawn along a line, or in
// words alone, which a screen reader can read out. Both say the same.
func picture(p subject.Picture, width int, draw bool) string {
	var b strings.Builder
	b.WriteString(Wrap(CleanLine(p.Title), width, "", ""))
	column := 0
	for _, s := range p.Places {
		column = max(column, min(columns(CleanLine(s.Name)), longestName))
	}
	for i, s := range p.Places {
		if draw {
			b.WriteString(drawnSpot(s, mark(p.Places, i), column, width))
		} else {
			b.WriteString(spokenSpot(s, width))
		}
	}
	return b.String()
}

// mark is the mark of place i: the line has a first and a last one.
func mark(places []subject.Spot, i int) string {
	switch {
	case places[i].Mark != subject.End:
		return bars[places[i].Mark]
	case i == 0:
		return "┬"
	}
	return "┴"
}

// drawnSpot sets the first note beside the name where there is room, the others
// under it.
func drawnSpot(s subject.Spot, mark string, column, width int) string {
	head, below := "   "+mark+" ", "   │   "
	if s.Next {
		head = "=> " + mark + " "
	}
	if mark == "┴" {
		below = "       "
	}
	name, notes := CleanLine(s.Name), s.Notes
	if len(notes) > 0 {
		if first := CleanLine(notes[0]); columns(name) <= column && columns(head)+column+gapToNotes+columns(first) <= width {
			line := head + pad(name, column+gapToNotes) + first + "\n"
			return line + notesBelow(notes[1:], pad("   │", columns(head)+column+gapToNotes), below, width)
		}
	}
	return Wrap(name, width, head, below) + notesBelow(notes, below, below, width)
}

// notesBelow sets notes under a name, each at the column where the first one
// stands if it fits there.
func notesBelow(notes []string, beside, below string, width int) string {
	var b strings.Builder
	for _, n := range notes {
		n = CleanLine(n)
		if columns(beside)+columns(n) <= width {
			b.WriteString(beside + n + "\n")
		} else {
			b.WriteString(Wrap(n, width, below, below+"  "))
		}
	}
	return b.String()
}

// spokenSpot says one place in a sentence.
func spokenSpot(s subject.Spot, width int) string {
	text := CleanLine(s.Name)
	for i, n := range s.Notes {
		if i == 0 {
			text += ": " + CleanLine(n)
		} else {
			text += "; " + CleanLine(n)
		}
	}
	return Wrap(text+".", width, "  ", "    ")
}
