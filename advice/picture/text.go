package picture

import (
	"strings"
	"unicode"
)

// cell is how a kind of mark looks among characters. An interval is told by the
// shades around the middle of a bar: full up to its low end, paler to the
// middle, palest to the high end.
var cells = map[Kind]rune{
	Bar: '█', Back: '▒', Head: '·', Dot: '●', Ring: '○', Square: '■', Cross: 'x', AtLeast: '>', AtMost: '<', Mean: '│', Speck: '●', Nought: '│', Worth: ':',
}

const (
	below = '▓' // the part of a bar that may not be there
	above = '░' // what may be there beyond the bar
	swing = '-' // an interval without a bar
)

// Columns of a picture in characters.
const (
	leastBar  = 20 // of a bar beside which words stand
	briefBar  = 12
	leastName = 8 // of a name beside a figure
	mostName  = 22
	mostWords = 26
	indent    = "  "
)

// Text draws p with characters in lines of at most width columns, 20 at the
// least, with its notes and its key. Names are cut; backquotes, which could end
// a block of code, are not in it. The result ends with a newline, or is empty.
func Text(p Picture, width int) string {
	if p.Empty() {
		return ""
	}
	width = max(width, 20)
	name, figure := p.columns()
	var b strings.Builder
	for _, r := range p.Rows {
		if name+1+p.leastBar()+1+figure <= width {
			p.beside(&b, r, name, figure, width)
		} else {
			p.under(&b, r, width)
		}
	}
	for _, n := range p.Notes {
		b.WriteString(wrap(n, width))
	}
	b.WriteString(wrap(p.keyText(), width))
	return strings.ReplaceAll(b.String(), "`", "'")
}

// leastBar are the columns of a bar beside which words stand.
func (p Picture) leastBar() int {
	if p.Brief {
		return briefBar
	}
	return leastBar
}

// columns are those that the longest name or label and the longest figure need.
func (p Picture) columns() (name, figure int) {
	for _, r := range p.Rows {
		name = max(name, columns(r.head()))
		for _, l := range r.Lines {
			figure = max(figure, columns(l.Figure))
			if l.Label != "" {
				name = max(name, columns(indent+l.Label))
			}
		}
	}
	return min(name, mostName), min(figure, mostWords)
}

func (r Row) head() string {
	if r.Sign == None {
		return r.Name
	}
	return string(cells[r.Sign]) + " " + r.Name
}

// beside sets each line as name, bar, figure.
func (p Picture) beside(b *strings.Builder, r Row, name, figure, width int) {
	bar := width - name - figure - 2
	for i, l := range r.Lines {
		head := r.head()
		if i > 0 {
			head = indent + l.Label
		}
		text := pad(cut(head, name), name) + " " + pad(p.bar(l, bar), bar) + " " + cut(l.Figure, figure)
		b.WriteString(strings.TrimRight(text, " ") + "\n")
	}
}

// under sets the name with the figure of the first line, then the bars; where
// the first line has none, each line has its label.
func (p Picture) under(b *strings.Builder, r Row, width int) {
	for i, l := range r.Lines {
		labelled := i > 0 && (len(r.Lines[0].Marks) == 0 || len(l.Marks) == 0)
		switch {
		case i == 0:
			b.WriteString(ends(r.head(), l.Figure, width))
		case labelled:
			b.WriteString(ends(indent+l.Label, l.Figure, width))
		}
		if bar := p.bar(l, width-len(indent)); strings.TrimSpace(bar) != "" {
			b.WriteString(strings.TrimRight(indent+bar, " ") + "\n")
		}
	}
}

// ends sets one text at the left and one at the right, or under it where only a
// stump of the first would be left.
func ends(left, right string, width int) string {
	right = cut(right, width)
	room := width - columns(right) - 1
	switch {
	case right == "":
		return cut(left, width) + "\n"
	case room < min(columns(left), leastName):
		return cut(left, width) + "\n" + strings.Repeat(" ", width-columns(right)) + right + "\n"
	}
	left = cut(left, room)
	return left + strings.Repeat(" ", width-columns(left)-columns(right)) + right + "\n"
}

// bar draws the marks of a line into so many columns.
func (p Picture) bar(l Line, width int) string {
	line := []rune(strings.Repeat(" ", width))
	at := func(v float64) int { return int(p.place(v)*float64(width) + 0.5) }
	fill := func(from, to float64, with rune) {
		for i := at(from); i < at(to); i++ {
			line[i] = with
		}
	}
	barred := false
	for _, m := range l.Marks {
		switch {
		case m.Kind == Band && !barred:
			fill(m.From, m.To, swing)
		case m.Kind == Band:
			for i := at(m.From); i < at(m.To); i++ {
				switch line[i] {
				case cells[Bar]:
					line[i] = below
				case ' ', cells[Head]:
					line[i] = above
				}
			}
		case m.extends():
			fill(m.From, m.To, cells[m.Kind])
			barred = barred || m.Kind != Head
		case m.Kind != Middle:
			line[min(at(m.To), width-1)] = cells[m.Kind]
		}
	}
	return string(line)
}

// keyText explains the characters of p in one paragraph.
func (p Picture) keyText() string {
	var parts []string
	barred := false
	for _, s := range p.Key {
		barred = barred || s.Kind == Bar
	}
	for _, s := range p.Key {
		switch {
		case s.Kind == Fit:
			parts = append(parts, string(cells[Bar])+" "+s.Text)
		case s.Kind == Limit, s.Kind == Band && barred:
			parts = append(parts, string([]rune{below, above})+" "+s.Text)
		case s.Kind == Band:
			parts = append(parts, "-- "+s.Text)
		case cells[s.Kind] != 0:
			parts = append(parts, string(cells[s.Kind])+" "+s.Text)
		}
	}
	return strings.Join(parts, "; ") + "."
}

// columns is how wide text is on a terminal, near enough for a picture: marks
// that combine take none, wide characters two.
func columns(text string) int {
	n := 0
	for _, r := range text {
		n += wide(r)
	}
	return n
}

func wide(r rune) int {
	switch {
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	case r >= 0x1100 && unicode.In(r, unicode.Han, unicode.Hangul, unicode.Hiragana, unicode.Katakana), r >= 0x1F300 && r <= 0x1FAFF, r >= 0xFF01 && r <= 0xFF60:
		return 2
	}
	return 1
}

// cut shortens text to so many columns and says that it did.
func cut(text string, most int) string {
	if columns(text) <= most {
		return text
	}
	n, out := 1, []rune{}
	for _, r := range text {
		if n += wide(r); n > most {
			break
		}
		out = append(out, r)
	}
	return strings.TrimRight(string(out), " ") + "…"
}

func pad(text string, to int) string {
	return text + strings.Repeat(" ", max(0, to-columns(text)))
}

func wrap(text string, width int) string {
	var b strings.Builder
	line := ""
	for _, word := range strings.Fields(text) {
		switch {
		case line == "":
			line = word
		case columns(line)+1+columns(word) > width:
			b.WriteString(line + "\n")
			line = word
		default:
			line += " " + word
		}
	}
	return b.String() + line + "\n"
}
