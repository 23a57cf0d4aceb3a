package terminal

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/engine"
	"dropwalk/engine/subject"
)

var shelf = subject.Picture{Title: "The shelf:", Places: []subject.Spot{
	{Name: "left", Mark: subject.End},
	{Name: "jar", Notes: []string{"no lid"}},
	{Name: "tin", Mark: subject.Possible, Next: true, Notes: []string{"lid: loose", "work goes on here"}},
	{Name: "box", Mark: subject.Present, Notes: []string{"lid on", "12.5 g of salt, weighed twice on a good day"}},
	{Name: "right", Mark: subject.End},
}}

// The same picture drawn wide, drawn narrow, in ASCII and in words.
func TestPicture(t *testing.T) {
	wide := strings.TrimPrefix(`
The shelf:
   ┬ left
   │ jar    no lid
=> ○ tin    lid: loose
   │        work goes on here
   ● box    lid on
   │        12.5 g of salt, weighed twice on a good day
   ┴ right
`, "\n")
	narrow := strings.TrimPrefix(`
The shelf:
   ┬ left
   │ jar    no lid
=> ○ tin
   │   lid: loose
   │   work goes
   │     on here
   ● box    lid on
   │   12.5 g of
   │     salt,
   │     weighed
   │     twice on
   │     a good
   │     day
   ┴ right
`, "\n")
	spoken := strings.TrimPrefix(`
The shelf:
  left.
  jar: no lid.
  tin: lid: loose; work goes on here.
  box: lid on; 12.5 g of salt, weighed twice on a good day.
  right.
`, "\n")
	for _, c := range []struct {
		name, got, want string
	}{
		{"wide", picture(shelf, 78, true), wide},
		{"narrow", picture(shelf, 18, true), narrow},
		{"in words", picture(shelf, 78, false), spoken},
		{"ASCII", ASCII(picture(shelf, 78, true)), strings.NewReplacer("┬", "+", "┴", "+", "│", "|", "○", "o", "●", "*").Replace(wide)},
	} {
		if diff := cmp.Diff(c.want, c.got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

// However narrow the terminal and however long the names, no line is wider, and
// every name and note stands whole.
func TestPictureFits(t *testing.T) {
	p := subject.Picture{Title: "A long shelf that has many places:"}
	for _, name := range []string{"a", "pipe", "a-name-of-sixty-four-characters-which-is-the-longest-that-there-can", "größer", "漢字漢字"} {
		p.Places = append(p.Places, subject.Spot{Name: name, Notes: []string{"tap: drill", "12.5 inH2O from open air (3 runs)"}})
	}
	squeeze := func(s string) string {
		return strings.NewReplacer("│", "", "┬", "", "┴", "", " ", "", "\n", "").Replace(s)
	}
	for width := 20; width <= 78; width++ {
		for _, draw := range []bool{true, false} {
			got := picture(p, width, draw)
			for line := range strings.Lines(got) {
				if columns(strings.TrimRight(line, "\n")) > width {
					t.Errorf("width %d: %q is wider", width, line)
				}
			}
			for _, s := range p.Places {
				for _, text := range append(s.Notes, s.Name) {
					if !strings.Contains(squeeze(got), squeeze(text)) {
						t.Errorf("width %d: %q is missing:\n%s", width, text, got)
					}
				}
			}
		}
	}
}

// A picture stands above its question, and at every prompt its name shows it
// again. Plain lines hold no drawing.
func TestPictureAtAPrompt(t *testing.T) {
	p := asks
	p.Pictures, p.Shows = []string{"shelf"}, "shelf"
	p.Picture = func(string) subject.Picture { return shelf }
	for _, draw := range []bool{true, false} {
		var b strings.Builder
		l := NewLines(Streams{In: strings.NewReader("shelf\n\"shelf\"\n"), Err: &b, Width: 78})
		l.draw = draw
		a, err := l.Ask(t.Context(), p, nil)
		if err != nil || a != (engine.Answer{Text: "shelf"}) {
			t.Errorf("comes to %+v, %v; want the quoted answer", a, err)
		}
		if got := strings.Count(b.String(), "The shelf:"); got != 2 {
			t.Errorf("the picture shows %d times, want above the question and on request:\n%s", got, &b)
		}
		if got := strings.Contains(b.String(), "●"); got != draw {
			t.Errorf("drawn: %v, want %v:\n%s", got, draw, &b)
		}
	}
	if help := helpFor(p, 78); !strings.Contains(help, "  shelf") {
		t.Errorf("help lacks the picture:\n%s", help)
	}
}
