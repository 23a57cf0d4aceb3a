package lesson

import (
	"fmt"
	"math"
	"strings"

	"dropwalk/engine/quantity"
)

// Headings of a debrief.
func Headings() []string {
	return []string{"The truth", "Your answer", "Taps", "The setup", "What you saw and what you missed", "The score"}
}

// Page is a debrief in Markdown.
func (d *Debrief) Page(units quantity.System) string {
	var b strings.Builder
	h := Headings()
	fmt.Fprintf(&b, "# Debrief: %s\n\nThis car is invented. Practice at level %d%s; it ended: %s.\n\n**%d of 100 points.**\n\n", d.Title, d.Level, d.seedText(), orStopped(d.Ended), d.Score)
	fmt.Fprintf(&b, "## %s\n\n%s\n\n%s\n", h[0], d.Story, d.pieceTable(units))
	fmt.Fprintf(&b, "## %s\n\n%s\n", h[1], d.answerText())
	fmt.Fprintf(&b, "## %s\n\nYou made %s.\n\nThe program's own advice, on the same car: %s. Runs you made: %d.\n\n", h[2], tapsText(d.Taps.Used), tapsText(d.Taps.Best), d.Taps.Runs)
	fmt.Fprintf(&b, "## %s\n\n%s\n", h[3], d.setupText())
	fmt.Fprintf(&b, "## %s\n\n%s", h[4], d.findingsText())
	fmt.Fprintf(&b, "## %s\n\n| part | points | why |\n|---|---|---|\n", h[5])
	for _, p := range d.Points {
		fmt.Fprintf(&b, "| %s | %d of %d | %s |\n", p.Part, p.Got, p.Of, p.Why)
	}
	b.WriteString("\nThe rules of the score: dropwalk help scores.\n")
	return b.String()
}

func (d *Debrief) seedText() string {
	if d.Seed == 0 {
		return ""
	}
	return fmt.Sprintf(", seed %d", d.Seed)
}

func orStopped(how string) string {
	if how == "" {
		return "stopped"
	}
	return how
}

func (d *Debrief) pieceTable(units quantity.System) string {
	var b strings.Builder
	b.WriteString("What each piece truly costs at full load, and what its change alone gives back in power. Beside it, what the program made of your readings: the truth should lie in there nine times in ten.\n\n")
	b.WriteString("| piece | true loss | gives back | from your readings |\n|---|---|---|---|\n")
	show := func(pa float64) string { return shortly(pa, units) }
	for _, p := range d.Pieces {
		name := p.Name
		if p.Fault != "" {
			name = "**" + name + "**: " + p.Fault
		}
		judged := "nothing"
		if p.Judged != nil {
			low, _, _ := strings.Cut(show(p.Judged.Low), " ")
			judged = low + " to " + show(p.Judged.High)
		}
		fmt.Fprintf(&b, "| %s | %s | %.1f %% | %s |\n", name, show(p.Loss), p.Gain, judged)
	}
	b.WriteString(d.outsideText())
	return b.String()
}

// outside tells whether the truth about a piece lies beyond what the readings gave.
func (p *Piece) outside() bool {
	return p.Judged != nil && (p.Loss < p.Judged.Low || p.Loss > p.Judged.High)
}

// outsideText says of a truth beyond its interval how often that is so, "" where all lie
// within theirs.
func (d *Debrief) outsideText() string {
	var names []string
	for i := range d.Pieces {
		if d.Pieces[i].outside() {
			names = append(names, d.Pieces[i].Name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf("\nHere the truth lies outside for: %s. Of ten pieces that are measured well it does so for one, about; an answer that has to be surer wants more readings.\n", strings.Join(names, ", "))
}

// shortly is a pressure to a tenth of an inch of water, or to ten pascals: enough to
// compare pieces.
func shortly(pa float64, units quantity.System) string {
	if units == quantity.Metric {
		return fmt.Sprintf("%.0f Pa", 10*math.Round(pa/10))
	}
	return fmt.Sprintf("%.1f inH2O", pa/inch)
}

// inch of water, conventional, in Pa.
const inch = 249.08891

func (d *Debrief) answerText() string {
	var b strings.Builder
	truth := "No change is worth its work: leave the car alone."
	if len(d.Answer) > 0 {
		truth = "To change first: " + strings.Join(d.Answer, " or ") + "."
		if len(d.Answer) > 1 {
			truth += " No tap parts these, so either counts."
		}
	}
	fmt.Fprintf(&b, "%s\n\n- You: %s\n- The program, on readings of its own: %s\n", truth, d.Guess.text(), d.Program.text())
	if g := d.Guess; g != nil && g.Chance != nil {
		fmt.Fprintf(&b, "\nBy the program's reckoning your own readings give %s, with what no tap parts from it, a chance of %.0f %%.", *g.Piece, 100**g.Chance)
		if g.Beyond() {
			b.WriteString(" Yours was a claim beyond the data: where the readings leave a choice, say so, or take the reading that parts it.")
		}
		b.WriteString("\n")
	}
	return b.String()
}

func (s *Said) text() string {
	if s == nil {
		return "no piece named."
	}
	what := "leave the car alone"
	if s.Piece != nil {
		what = *s.Piece
	}
	verdict := "wrong"
	if s.Right {
		verdict = "right"
	}
	return fmt.Sprintf("%s, %.0f %% sure: %s.", what, 100*s.Sure, verdict)
}

func tapsText(list []string) string {
	switch len(list) {
	case 0:
		return "no tap"
	case 1:
		return "1 tap: " + list[0]
	}
	return fmt.Sprintf("%d taps: %s", len(list), strings.Join(list, ", "))
}

func (d *Debrief) setupText() string {
	s := d.Setup
	text := "Nothing was wrong with gauge, hose, taps and driver."
	switch {
	case s.Fault == "":
	case s.Fixed && !s.Late:
		text = "There was a fault: " + s.Fault + ". You saw it in time and put it right."
	case s.Fixed:
		text = "There was a fault: " + s.Fault + ". You put it right, but only after you had gone past it."
	default:
		text = "There was a fault: " + s.Fault + ". It was still there at the end."
	}
	if s.Loose > 0 {
		text += fmt.Sprintf(" Things that were sound and mended all the same: %d.", s.Loose)
	}
	return text + "\n"
}

// findingsText lists what was missed in full, and counts what was done well beyond
// the most telling.
func (d *Debrief) findingsText() string {
	var missed, well strings.Builder
	good := 0
	for _, f := range d.Findings {
		line := fmt.Sprintf("- %s\n", f.Text)
		switch {
		case !f.Good:
			missed.WriteString(line)
		case f.Topic == aboutNumber || f.Topic == aboutPath || f.Topic == aboutGauge:
			good++
		default:
			well.WriteString(line)
		}
	}
	var b strings.Builder
	if missed.Len() > 0 {
		b.WriteString("Missed:\n\n" + missed.String() + "\n")
	} else {
		b.WriteString("You missed nothing that could be seen.\n\n")
	}
	if well.Len() > 0 {
		b.WriteString("Well seen:\n\n" + well.String() + "\n")
	}
	if good > 0 {
		fmt.Fprintf(&b, "Answers that were as shown: %d.\n\n", good)
	}
	return b.String()
}
