package practice

import (
	"bytes"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dropwalk/advice/sheet"
)

// What a simulated tester writes must be a sheet that anybody's program reads,
// and read back as the same sheet.
func TestSheetsReadBack(t *testing.T) {
	faults := append(SetupFaults(), NoSetupFault)
	for seed := range uint64(120) {
		c := Draw(seed, Options{Hand: Hand(seed % 3)})
		s := c.Session(seed, Setup{Fault: faults[int(seed)%len(faults)]})
		sh := s.FullWalk(Detail(seed % 3))
		src := YAML(sh)
		got, problems := sheet.Read("walk.yaml", src)
		if err := problems.Errors().Err(); err != nil {
			t.Fatalf("seed %d: %v\n%s", seed, err, src)
		}
		if d := cmp.Diff(got, sh, cmpopts.EquateEmpty()); d != "" {
			t.Fatalf("seed %d: read back, the sheet differs:\n%s", seed, d)
		}
		if again := YAML(got); !bytes.Equal(again, src) {
			t.Fatalf("seed %d: written again, the bytes differ", seed)
		}
	}
}

func TestCaseSheetsRead(t *testing.T) {
	for _, c := range Cars() {
		if _, problems := sheet.Read(c.Name, YAML(c.Session(1).FullWalk(c.Tape))); problems.Err() != nil {
			t.Errorf("%s: %v", c.Name, problems)
		}
	}
}
