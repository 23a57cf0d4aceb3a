package picture

import (
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"
)

// Style is what SVG pictures look like, for a page that holds several: light,
// dark and on paper. It names classes of pictures only.
const Style = `.picture{--ink:#1b1f23;--faint:#6a737d;--bar:#a8c8ea;--edge:#2b5f96;--back:#fbe3c8;--strokes:#9a4a00;--ground:#ffffff;` +
	`display:block;width:100%;overflow:visible;font:13px/1.2 system-ui,"Segoe UI",Roboto,"Helvetica Neue",Arial,sans-serif}
.picture text{fill:var(--ink)}.picture .faint{fill:var(--faint)}
.picture .scale{stroke:var(--faint);stroke-width:1}.picture .grid{stroke:var(--faint);stroke-width:1;stroke-dasharray:1 4}
.picture .bar{fill:var(--bar);stroke:var(--edge);stroke-width:1}
.picture .under{fill:var(--back);stroke:none}.picture .strokes{stroke:var(--strokes);stroke-width:2.5}
.picture .back{stroke:var(--strokes);stroke-width:1}
.picture .head{fill:none;stroke:var(--ink);stroke-width:1.2;stroke-dasharray:3 2}
.picture .band{stroke:var(--ink);stroke-width:1.5}.picture .middle{stroke:var(--ink);stroke-width:3}
.picture .worth{stroke:var(--ink);stroke-width:2.5;stroke-dasharray:2.5 2.5}.picture .mean{stroke:var(--ink);stroke-width:1.2;stroke-dasharray:5 3}
.picture .fit{stroke:var(--ink);stroke-width:2.5}.picture .limit{stroke:var(--ink);stroke-width:1.5}
.picture .solid{fill:var(--edge);stroke:var(--ink);stroke-width:.5}.picture .open{fill:var(--ground);stroke:var(--ink);stroke-width:1.8}
.picture .cross{stroke:var(--strokes);stroke-width:2.5}
@media screen and (prefers-color-scheme:dark){.picture{--ink:#e8eaed;--faint:#9aa4af;--bar:#2c5685;--edge:#8fc1f5;--back:#4a2f14;--strokes:#f2ac66;--ground:#14181d}}
`

// Sizes in pixels. Across, everything is in per cent, so that the picture fits
// any width while its text keeps its size.
const (
	lineText = 17
	lineBar  = 14
	rowGap   = 9
	axisRoom = 26
	keyLine  = 19
	plotTall = 220
	mostText = 24 // columns of a name beside a figure on a narrow screen

	briefRow  = 22
	briefText = 10 // columns of a name ahead of the scale
)

// Where the scale stands across the picture, as shares of it: half a per cent
// and more at both ends is for marks that stand there.
const (
	wholeFrom, wholeSpan = 0.01, 0.98
	briefFrom, briefSpan = 0.25, 0.58
)

// SVG draws p as one element with title and description, its text as text. The
// looks are those of Style, which has to be on the page; alone makes the
// element one that can stand in a file by itself.
func SVG(p Picture, alone bool) string {
	if p.Empty() {
		return ""
	}
	d := drawing{Picture: p, y: 4, from: wholeFrom, span: wholeSpan}
	switch {
	case p.plot != nil:
		d.twoScales()
	case p.Brief:
		d.from, d.span = briefFrom, briefSpan
		for _, r := range p.Rows {
			d.briefRow(r)
		}
		d.axis()
	default:
		for _, r := range p.Rows {
			d.row(r)
		}
		d.axis()
	}
	d.key()
	space, style := "", ""
	if alone {
		space, style = ` xmlns="http://www.w3.org/2000/svg"`, "<style>"+Style+".picture{background:var(--ground)}</style>"
	}
	return fmt.Sprintf(`<svg%s class="picture" role="img" aria-labelledby="%s-title %s-alt" width="100%%" height="%s">`, space, p.Name, p.Name, px(d.y+4)) +
		fmt.Sprintf(`<title id="%s-title">%s</title><desc id="%s-alt">%s</desc>%s`, p.Name, escape(p.Title), p.Name, escape(p.Alt), style) +
		d.hatching() + d.b.String() + "</svg>\n"
}

// drawing is a picture on its way to SVG; y is where the next thing goes, from
// and span where the scale stands across.
type drawing struct {
	Picture
	b          strings.Builder
	y          float64
	from, span float64
}

// at is a place on the scale, given as a share of it; wide a width.
func (d *drawing) at(share float64) string   { return percent(d.from + d.span*share) }
func (d *drawing) wide(share float64) string { return percent(max(0, d.span*share)) }

// Ends of the text, left and right.
var left, right = percent(wholeFrom), percent(wholeFrom + wholeSpan)

func (d *drawing) put(format string, args ...any) { fmt.Fprintf(&d.b, format, args...) }

// hatching is the pattern of bars that can come back. It has a name of its own
// in every picture of a page.
func (d *drawing) hatching() string {
	return `<defs><pattern id="` + d.Name + `-hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">` +
		`<rect class="under" width="7" height="7"/><line class="strokes" x1="0" y1="0" x2="0" y2="7"/></pattern></defs>`
}

func (d *drawing) row(r Row) {
	for i, l := range r.Lines {
		if i == 0 {
			d.words(r.Name, r.Sign, l.Figure, "")
		} else {
			d.words(l.Label, None, l.Figure, ` class="faint"`)
		}
		if len(l.Marks) == 0 {
			continue
		}
		d.marks(l)
		d.y += lineBar + 3
	}
	d.y += rowGap
}

// briefRow has name, scale and figure beside each other.
func (d *drawing) briefRow(r Row) {
	for _, l := range r.Lines {
		d.text(left, d.y+12, "", briefText, r.Name)
		d.put(`<text x="%s" y="%s" text-anchor="end">%s</text>`, right, px(d.y+12), escape(l.Figure))
		d.marks(l)
	}
	d.y += briefRow
}

func (d *drawing) marks(l Line) {
	d.put(`<line class="grid" x1="%s" y1="%s" x2="%s" y2="%s"/>`, d.at(0), px(d.y+lineBar), d.at(1), px(d.y+lineBar))
	for _, m := range l.Marks {
		d.mark(m.Kind, d.at(d.place(m.From)), d.at(d.place(m.To)), d.wide(d.place(m.To)-d.place(m.From)), d.y)
	}
}

// words sets a name at the left and a figure at the right. A name that is cut
// has its whole text as a hint.
func (d *drawing) words(name string, sign Kind, figure, class string) {
	x := left
	if sign != None {
		d.put(`<svg x="%s" y="%s" width="14" height="14" overflow="visible">`, x, px(d.y+1))
		d.mark(sign, "0", "5", "", 0)
		d.put(`</svg><svg x="%s" y="0" overflow="visible">`, x)
		d.text("16", d.y+12, class, mostText, name)
		d.put(`</svg>`)
	} else {
		d.text(x, d.y+12, class, mostText, name)
	}
	if figure != "" {
		d.put(`<text%s x="%s" y="%s" text-anchor="end">%s</text>`, class, right, px(d.y+12), escape(figure))
	}
	d.y += lineText
}

// text sets a name, cut to so many columns; its whole is a hint then.
func (d *drawing) text(x string, y float64, class string, most int, text string) {
	short, hint := cut(text, most), ""
	if short != text {
		hint = "<title>" + escape(text) + "</title>"
	}
	d.put(`<text%s x="%s" y="%s">%s%s</text>`, class, x, px(y), escape(short), hint)
}

// mark draws one mark whose top is at y, from x to to, so wide. It is the table
// of marks.
func (d *drawing) mark(k Kind, x, to, width string, y float64) {
	top, half := px(y+1), px(y+7)
	stroke := func(class, x string, from, until float64) {
		d.put(`<line class="%s" x1="%s" y1="%s" x2="%s" y2="%s"/>`, class, x, px(y+from), x, px(y+until))
	}
	switch k {
	case Bar:
		d.put(`<rect class="bar" x="%s" y="%s" width="%s" height="12"/>`, x, top, width)
	case Back:
		d.put(`<rect class="back" fill="url(#%s-hatch)" x="%s" y="%s" width="%s" height="12"/>`, d.Name, x, top, width)
	case Head:
		d.put(`<rect class="head" x="%s" y="%s" width="%s" height="12"/>`, x, top, width)
	case Band:
		d.put(`<line class="band" x1="%s" y1="%s" x2="%s" y2="%s"/>`, x, half, to, half)
		stroke("band", x, 3, 11)
		stroke("band", to, 3, 11)
	case Middle:
		stroke("middle", to, 1, 13)
	case Mean:
		stroke("mean", to, -4, 17)
	case Nought:
		stroke("scale", to, 1, 17)
	case Worth:
		stroke("worth", to, 1, 17)
	case Dot:
		d.put(`<circle class="solid" cx="%s" cy="%s" r="5"/>`, to, half)
	case Ring:
		d.put(`<circle class="open" cx="%s" cy="%s" r="4.5"/>`, to, half)
	case Square:
		d.put(`<svg x="%s" y="%s" overflow="visible"><rect class="solid" x="-5" y="-5" width="10" height="10"/></svg>`, to, half)
	case Cross:
		d.put(`<svg x="%s" y="%s" overflow="visible"><path class="cross" d="M-5-5L5 5M5-5L-5 5"/></svg>`, to, half)
	case AtLeast:
		d.put(`<svg x="%s" y="%s" overflow="visible"><path class="solid" d="M-5-6L6 0L-5 6Z"/></svg>`, to, half)
	case AtMost:
		d.put(`<svg x="%s" y="%s" overflow="visible"><path class="solid" d="M5-6L-6 0L5 6Z"/></svg>`, to, half)
	case Fit:
		d.put(`<line class="fit" x1="%s" y1="%s" x2="%s" y2="%s"/>`, x, half, to, half)
	case Speck:
		d.put(`<circle class="bar" cx="%s" cy="%s" r="2.5"/>`, to, half)
	case Limit:
		d.put(`<line class="limit" stroke-dasharray="6 5" x1="%s" y1="%s" x2="%s" y2="%s"/>`, x, half, to, half)
	}
}

// axis draws the scale under the rows.
func (d *drawing) axis() {
	d.put(`<line class="scale" x1="%s" y1="%s" x2="%s" y2="%s"/>`, d.at(0), px(d.y), d.at(1), px(d.y))
	for _, t := range d.ticks() {
		d.tick(d.place(t), number(t))
	}
	d.y += axisRoom
	d.put(`<text class="faint" x="%s" y="%s" text-anchor="end">%s</text>`, right, px(d.y+7), escape(d.Unit))
	d.y += 14
}

func (d *drawing) tick(at float64, text string) {
	anchor := "middle"
	switch {
	case at < 0.03:
		anchor = "start"
	case at > 0.97:
		anchor = "end"
	}
	d.put(`<line class="scale" x1="%s" y1="%s" x2="%s" y2="%s"/>`, d.at(at), px(d.y), d.at(at), px(d.y+5))
	d.put(`<text class="faint" x="%s" y="%s" text-anchor="%s">%s</text>`, d.at(at), px(d.y+18), anchor, escape(text))
}

// key explains the marks, a line each; notes stand under it.
func (d *drawing) key() {
	d.y += 4
	for _, s := range d.Key {
		d.put(`<svg x="%s" y="%s" width="30" height="14" overflow="visible">`, left, px(d.y))
		switch s.Kind {
		case Bar, Back, Head, Band, Fit, Limit:
			d.mark(s.Kind, "1", "25", "24", 0)
		default:
			d.mark(s.Kind, "0", "12", "", 0)
		}
		d.put(`<text class="faint" x="34" y="12">%s</text></svg>`, escape(s.Text))
		d.y += keyLine
	}
	for _, n := range d.Notes {
		for line := range strings.Lines(wrap(n, 46)) {
			d.put(`<text x="%s" y="%s">%s</text>`, left, px(d.y+12), escape(strings.TrimSpace(line)))
			d.y += lineText
		}
	}
}

// twoScales draws points and a curve, engine speed across.
func (d *drawing) twoScales() {
	q := d.plot
	d.put(`<text class="faint" x="%s" y="%s">%s</text>`, left, px(d.y+12), escape(d.Unit))
	d.y += lineText + 4
	top := d.y
	height := func(v float64) string { return px(top + plotTall*(1-d.place(v))) }
	across := func(rpm float64) string { return d.at((rpm - q.low) / (q.high - q.low)) }
	for _, t := range d.ticks() {
		d.put(`<line class="grid" x1="%s" y1="%s" x2="%s" y2="%s"/>`, left, height(t), right, height(t))
		d.put(`<text class="faint" x="%s" y="%s">%s</text>`, left, px(top+plotTall*(1-d.place(t))-3), escape(number(t)))
	}
	for _, x := range q.points {
		d.put(`<circle class="bar" cx="%s" cy="%s" r="2.5"/>`, across(x.RPM), height(x.Pa))
	}
	for i := 1; i < len(q.curve); i++ {
		a, b := q.curve[i-1], q.curve[i]
		if i%2 == 1 { // every other step, so that the line is dashed
			d.put(`<line class="limit" x1="%s" y1="%s" x2="%s" y2="%s"/>`, across(a.rpm), height(a.low), across(b.rpm), height(b.low))
			d.put(`<line class="limit" x1="%s" y1="%s" x2="%s" y2="%s"/>`, across(a.rpm), height(a.high), across(b.rpm), height(b.high))
		}
		d.put(`<line class="fit" x1="%s" y1="%s" x2="%s" y2="%s"/>`, across(a.rpm), height(a.middle), across(b.rpm), height(b.middle))
	}
	d.read(across, height)
	d.y += plotTall
	d.put(`<line class="scale" x1="%s" y1="%s" x2="%s" y2="%s"/>`, d.at(0), px(d.y), d.at(1), px(d.y))
	for _, t := range ticks(q.low, q.high) {
		d.tick((t-q.low)/(q.high-q.low), number(t))
	}
	d.y += axisRoom
	d.put(`<text class="faint" x="%s" y="%s" text-anchor="end">rpm</text>`, right, px(d.y+7))
	d.y += 14
}

// read marks what is read from the curve, with its interval upright.
func (d *drawing) read(across, height func(float64) string) {
	r := d.plot.read
	if r == nil {
		return
	}
	x, low, high := across(r.rpm), height(r.low), height(r.high)
	d.put(`<line class="band" x1="%s" y1="%s" x2="%s" y2="%s"/>`, x, low, x, high)
	for _, end := range []string{low, high} {
		d.put(`<svg x="%s" y="%s" overflow="visible"><line class="band" x1="-6" y1="0" x2="6" y2="0"/></svg>`, x, end)
	}
	d.put(`<svg x="%s" y="%s" overflow="visible"><rect class="solid" x="-4" y="-4" width="8" height="8"/></svg>`, x, height(r.middle))
}

func percent(share float64) string { return trim(100*share) + "%" }

func px(v float64) string { return trim(v) }

func trim(v float64) string { return strconv.FormatFloat(float64(int(v*100+0.5))/100, 'f', -1, 64) }

// number writes a round value of a scale.
func number(v float64) string {
	return strconv.FormatFloat(float64(int(v*1e6+sgn(v)*0.5))/1e6, 'f', -1, 64)
}

func sgn(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}

// escape makes text safe in SVG and HTML, in elements and attributes.
func escape(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(clean(text))) // a Builder takes everything
	return b.String()
}
