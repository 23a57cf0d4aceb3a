package advice

import (
	"math"
	"os"
	"testing"

	"dropwalk/advice/sheet"
)

// The pressure along the path begins with the loss of the first piece, never
// falls, ends at the total, and is known better than its parts added up.
func TestAlongEndsAtTheTotal(t *testing.T) {
	src, err := os.ReadFile("../testdata/sheets/yellow-estate.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, faults := sheet.Read("yellow-estate.yaml", src)
	if s == nil {
		t.Fatal(faults)
	}
	a, along := Assess(s, Options{}), Along(s, Options{})
	if len(along) != len(a.Components) || along[0] != a.Components[0].Loss || along[len(along)-1] != a.TotalLoss {
		t.Fatalf("the pressure runs from %v to %v in %d steps; the first loss is %v, the total %v of %d pieces",
			along[0], along[len(along)-1], len(along), a.Components[0].Loss, a.TotalLoss, len(a.Components))
	}
	widths := 0.0
	for k, e := range along {
		if k > 0 && (e.Median < along[k-1].Median || e.Low < along[k-1].Low || e.High < along[k-1].High) {
			t.Errorf("behind piece %d the total is %v, ahead of it %v: it falls", k+1, e, along[k-1])
		}
		widths += a.Components[k].Loss.High - a.Components[k].Loss.Low
	}
	end := along[len(along)-1]
	if width := end.High - end.Low; !(width < widths) || math.IsNaN(width) {
		t.Errorf("the total is known to %g Pa, its parts to %g Pa together: the readings of the whole count for nothing", width, widths)
	}
}
