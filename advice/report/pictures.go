package report

import (
	"fmt"
	"math"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/picture"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// Figures are what pictures show beside the assessment, in Pa at the reference
// point.
type Figures struct {
	Along   []assessment.Estimate // running total of the loss behind each piece
	Repeats []Repeat
}

// Repeat is the readings between two stations in their order.
type Repeat struct {
	From, To string
	Runs     []Run
	Middle   float64              // of the sound ones; NaN for none
	Drift    *assessment.Estimate // from the first sound run to the last; nil where that can't be said
}

// Run is one reading that says something.
type Run struct {
	Number           int // 0 where not stated
	Value, Low, High float64
	AtLeast, AtMost  bool // a bound only
	Doubtful         bool
}

// Showing is how pictures stand in a text.
type Showing int

// Ways of showing pictures.
const (
	Left  Showing = iota // out
	Drawn                // with characters
	Told                 // in words, where no table says the same
)

// Kinds of pictures, and how the names of those of runs begin.
const (
	losses = "losses"
	shares = "shares"
	runs1  = "runs-"
)

// Pictures are those of a report, for a form of it that shows images. In the
// text each stands as a block of code whose language is PictureBlock and its
// name.
func Pictures(a *assessment.Assessment, s *sheet.Sheet, o Options) []picture.Picture {
	return newPage(a, s, o).pictures()
}

// PictureBlock begins the language of a block of code that is a picture.
const PictureBlock = "picture "

func (p *page) pictures() []picture.Picture {
	if len(p.A.Components) == 0 {
		return nil
	}
	o := picture.Options{Unit: p.pressure(), Figure: p.Bare}
	list := []picture.Picture{picture.Losses(p.A, p.S, o), picture.Shares(p.A, p.S, o)}
	if x := picture.Path(p.A, p.S, p.o.Figures.Along, o); !x.Empty() {
		list = append(list, x)
	}
	for i, r := range p.o.Figures.Repeats {
		if len(r.Runs) > 1 && !math.IsNaN(r.Middle) {
			list = append(list, p.pictureRuns(fmt.Sprintf("%s%d", runs1, i+1), r, o))
		}
	}
	return list
}

func (p *page) pictureRuns(name string, r Repeat, o picture.Options) picture.Picture {
	var list []picture.Run
	for i, x := range r.Runs {
		run := picture.Run{Label: fmt.Sprintf("run %d", x.Number), Value: x.Value, Low: x.Low, High: x.High, Kind: picture.Dot, Middle: r.Middle}
		if x.Number == 0 {
			run.Label = fmt.Sprintf("reading %d", i+1)
		}
		switch {
		case x.AtLeast:
			run.Kind = picture.AtLeast
		case x.AtMost:
			run.Kind = picture.AtMost
		case x.Doubtful:
			run.Kind = picture.Cross
		}
		list = append(list, run)
	}
	title := fmt.Sprintf("Runs in their order, %s to %s, all carried to %s rpm and the same air", r.From, r.To, quantity.Format(p.A.Reference.RPM, 4))
	return picture.Runs(picture.Series{Name: name, Title: title, Runs: list, Drift: p.drift(r.Drift)}, o)
}

// drift says what repeats do from the first to the last.
func (p *page) drift(e *assessment.Estimate) string {
	switch {
	case e == nil:
		return ""
	case e.Low <= 0 && e.High >= 0:
		return fmt.Sprintf("Drift from the first run to the last: none that shows; %s.", p.between(*e))
	}
	return fmt.Sprintf("They drift from the first run to the last: %s. Look at the zero of the gauge, at warm air and at leaks.", p.between(*e))
}

// between is the band of a difference.
func (p *page) between(e assessment.Estimate) string {
	low := strings.TrimSuffix(p.like(e.Low, e), " "+p.pressure())
	return fmt.Sprintf("most likely between %s and %s", low, p.like(e.High, e))
}

// Drawn are the pictures of a kind as blocks of the text, "" where none is
// shown.
func (p *page) Drawn(kind string) string {
	if p.o.Pictures == Left {
		return ""
	}
	var blocks []string
	for _, x := range p.pictures() {
		if x.Name != kind && (kind != "runs" || !strings.HasPrefix(x.Name, runs1)) {
			continue
		}
		switch {
		case p.o.Pictures == Drawn:
			blocks = append(blocks, PictureAsText(x, p.o.Columns))
		case kind != losses && kind != shares:
			blocks = append(blocks, esc(x.Alt))
		}
	}
	return strings.Join(blocks, "\n\n")
}

// PictureAsText is a picture drawn with characters, as a block of a Markdown text
// with its title above.
func PictureAsText(x picture.Picture, columns int) string {
	return fmt.Sprintf("%s, in %s:\n\n```%s%s\n%s```", esc(x.Title), esc(x.Unit), PictureBlock, x.Name, picture.Text(x, columns))
}

// RestingOn names the pieces whose loss rests on something.
func (p *page) RestingOn(what string) []string {
	var out []string
	for _, c := range p.A.Components {
		if p.Rests(c) == what {
			out = append(out, c.Name)
		}
	}
	return out
}
