package cli

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
)

// rows of the menu of a folder.
func menuRows(t *testing.T, dir string) []way {
	t.Helper()
	a := &app{Streams: terminal.Streams{Width: 78}, env: func(string) string { return "" },
		now: func() time.Time { return time.Date(2026, 12, 1, 13, 0, 0, 0, time.UTC) }}
	root := a.root() // sets the options to what they are by themselves
	a.dir = dir
	ways, err := a.ways(root, nil)
	if err != nil {
		t.Fatal(err)
	}
	return ways
}

// The menu offers what there is: the latest test that can go on, results where
// a record can be read. Its words are under Words.
func TestMenuOffersWhatThereIs(t *testing.T) {
	words := func(ways []way) string {
		var list []string
		for _, w := range ways {
			list = append(list, w.Word)
			if !slices.Contains(menuWords, w.Word) {
				t.Errorf("%q is no word of the menu", w.Word)
			}
		}
		return strings.Join(list, " ")
	}
	if got, want := words(menuRows(t, t.TempDir())), "start test symptom demo practice help leave"; got != want {
		t.Errorf("without records it offers %q, want %q", got, want)
	}
	dir, data := pausedTest(t)
	ways := menuRows(t, dir)
	if got, want := words(ways), "resume start test symptom results demo practice help leave"; got != want {
		t.Errorf("with a test it offers %q, want %q", got, want)
	}
	for _, want := range []string{"car grey van", "ago, at part 1 of ", ", step "} {
		if !strings.Contains(ways[0].Text, want) {
			t.Errorf("of the test it says %q, want %q in it", ways[0].Text, want)
		}
	}
	put(t, dir, "second", data)
	if text := menuRows(t, dir)[0].Text; !strings.HasSuffix(text, "; or with another one") {
		t.Errorf("with two tests it says %q", text)
	}
	broken := t.TempDir()
	put(t, broken, "nothing", head(data, 2))
	put(t, broken, "other", []byte("hello\n"))
	if got, want := words(menuRows(t, broken)), "start test symptom demo practice help leave"; got != want {
		t.Errorf("with nothing that can be read it offers %q, want %q", got, want)
	}
}

// Where a thousand tests lie, a choice shows the latest of them.
func TestChoiceOfManyIsShort(t *testing.T) {
	var list []record.Summary
	for range 50 {
		list = append(list, record.Summary{Name: "x"})
	}
	seen := choice{}
	a := &app{}
	err := a.oneOf(&seen, "Which?", list, func(record.Summary) string { return "" }, nil)
	if err != errBack || len(seen.Items) != mostShown+1 || !strings.Contains(seen.Title, "the latest 9 of 50; dropwalk records") {
		t.Errorf("it shows %d rows under %q and ends with %v", len(seen.Items), seen.Title, err)
	}
}

// choice takes the last row.
type choice struct{ terminal.Menu }

func (c *choice) Choose(_ context.Context, m terminal.Menu) (int, error) {
	c.Menu = m
	return len(m.Items) - 1, nil
}
