package answers

import (
	"errors"
	"slices"
	"strings"
	"testing"
)

// Where the judge asks for one more bed than was dug, a file can say that no more
// were: the rounds beyond the least end there, and the run goes to its end.
func TestNoMoreWereMade(t *testing.T) {
	short := strings.Replace(whole, "- {row: south, side: west, mark: done, digs: [15, 16]}\n", "", 1)
	_, _, err := run(t, read(t, short))
	missing, ok := errors.AsType[*Missing](err)
	if !ok || missing.NoMore != "no-more: [beds]" {
		t.Fatalf("it ends with %v, want a pause that says how to go on", err)
	}
	got, asker, err := run(t, read(t, short+missing.NoMore+"\n"))
	if err != nil || got[len(got)-1] != "complete" || len(asker.Unasked()) > 0 {
		t.Errorf("it ends %q, %v, not asked for %v", got[len(got)-1:], err, texts(asker))
	}
	if slices.ContainsFunc(got, func(line string) bool { return strings.HasPrefix(line, "walk.2/") }) {
		t.Errorf("a bed that nobody dug is in the record: %q", got)
	}
}

// What the procedure needs at least is missing all the same, and what the file has
// is taken all the same.
func TestNoMoreKeepsTheLeastAndWhatIsThere(t *testing.T) {
	got, _, err := run(t, read(t, whole+"no-more: beds\n"))
	if err != nil || !slices.Contains(got, "walk.2/dig.1/depth 15") {
		t.Errorf("the second bed is lost: %q, %v", got, err)
	}
	none := strings.Replace(whole[:strings.Index(whole, "beds:")], "steps:", "no-more: [beds]\nsteps:", 1)
	found := read(t, none).Rehearse(nil)
	if diff := wheres(found.Certain); !slices.Equal(diff, []string{"beds"}) && !slices.Equal(diff, []string{"beds (row north, side east)"}) {
		t.Errorf("certainly missing: %q, want the first bed", diff)
	}
	_, faults := Read("a.yaml", []byte(whole+"no-more: bedz\n"), dig(t), garden{})
	if !strings.Contains(faults.Error(), `a.yaml:12:10: no-more: "bedz" is not known here`) || !strings.Contains(faults.Error(), `did you mean "beds"?`) {
		t.Errorf("a list that there isn't: %v", faults)
	}
}
