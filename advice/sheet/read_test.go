package sheet

import (
	"bytes"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dropwalk/engine/quantity"
)

const examplePath = "../../testdata/sheets/yellow-estate.yaml"

// example reads the example sheet, which must have no fault.
func example(t testing.TB) (*Sheet, []byte) {
	t.Helper()
	src, err := os.ReadFile(examplePath)
	if err != nil {
		t.Fatal(err)
	}
	s, faults := Read("yellow-estate.yaml", src)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	return s, src
}

// anyRaw compares amounts by what they count for, not by how they were typed.
var anyRaw = cmpopts.IgnoreFields(quantity.Amount{}, "Raw")

func TestExampleWarnsOfBoostOnly(t *testing.T) {
	_, src := example(t)
	_, faults := Read("yellow-estate.yaml", src)
	got := faults.Error()
	const want = `yellow-estate.yaml:14:12: car.engine.boost: warning: boost of an engine without a blower is not used, expected induction: turbo or induction: supercharged`
	if got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
}

func TestWriteReadsBackEqual(t *testing.T) {
	s, _ := example(t)
	back, faults := Read("written", Write(s))
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(s, back); diff != "" {
		t.Errorf("a sheet changed on its way through Write and Read (-before +after):\n%s", diff)
	}
	if got, want := Write(back), Write(s); !bytes.Equal(got, want) {
		t.Errorf("second writing differs:\n%s\nwant\n%s", got, want)
	}
}

func TestEntriesMakeTheSameSheet(t *testing.T) {
	s, _ := example(t)
	back, faults := FromEntries(s.Entries())
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(s, back, anyRaw); diff != "" {
		t.Errorf("a sheet changed on its way through entries (-before +after):\n%s", diff)
	}
}
