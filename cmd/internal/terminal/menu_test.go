package terminal

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"

	"dropwalk/cmd/internal/session"
)

var tools = Menu{Title: "Which tool?", Items: []Item{
	{"spanner", "turns a nut"}, {"screwdriver", "turns a screw, which takes longer to say"}, {"saw", "cuts"},
}}

// choose types lines at a menu.
func choose(typed string) (n int, shown string, err error) {
	var b bytes.Buffer
	l := NewLines(Streams{In: strings.NewReader(typed), Err: &b, Width: 78, InTTY: true})
	n, err = l.Choose(context.Background(), tools)
	return n, b.String(), err
}

func TestChooseTakesNumbersAndWords(t *testing.T) {
	for typed, want := range map[string]int{
		"1\n": 0, "3)\n": 2, "saw\n": 2, "SAW \n": 2, "sp\n": 0, "\nscrew\n": 1, "4\nsx\ns\n0\n2\n": 1, "help\n1\n": 0,
	} {
		n, shown, err := choose(typed)
		if n != want || err != nil {
			t.Errorf("%q chooses %d, %v; want %d", typed, n, err, want)
		}
		if slips := strings.Count(typed, "\n") - 1; strings.Count(shown, "\n? type a number") != slips && strings.Count(shown, "> ? type a number") != slips {
			t.Errorf("%q: it is shown\n%s\nwant %d slips told", typed, shown, slips)
		}
	}
}

func TestEnterTakesTheFirstWhereItMay(t *testing.T) {
	m, b := tools, bytes.Buffer{}
	m.First = true
	l := NewLines(Streams{In: strings.NewReader("x\n\n"), Err: &b, Width: 78, InTTY: true})
	if n, err := l.Choose(context.Background(), m); n != 0 || err != nil || !strings.Contains(b.String(), "Enter takes the first.") {
		t.Errorf("got %d, %v after\n%s", n, err, &b)
	}
}

func TestChooseIsLeft(t *testing.T) {
	for _, typed := range []string{"", "2", "leave\n", "pause\n", "quit\n"} {
		if _, _, err := choose(typed); !errors.Is(err, session.ErrPause) {
			t.Errorf("%q: got %v, want a pause", typed, err)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	l := NewLines(Streams{In: strings.NewReader("1\n"), Err: &bytes.Buffer{}, Width: 78})
	if _, err := l.Choose(ctx, tools); !errors.Is(err, context.Canceled) {
		t.Errorf("after a signal: got %v", err)
	}
}

func TestMenuPage(t *testing.T) {
	for width, want := range map[int]string{
		78: `Which tool?
  1) spanner      turns a nut
  2) screwdriver  turns a screw, which takes longer to say
  3) saw          cuts
Type a number or its word.
`,
		30: `Which tool?
  1) spanner
       turns a nut
  2) screwdriver
       turns a screw, which
       takes longer to say
  3) saw
       cuts
Type a number or its word.
`,
	} {
		if got := menuPage(tools, width); got != want {
			t.Errorf("at %d columns:\n%s\nwant\n%s", width, got, want)
		}
	}
}
