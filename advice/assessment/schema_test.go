package assessment

import (
	"bytes"
	"flag"
	"math"
	"strings"
	"testing"

	"dropwalk/engine/strictyaml/schematest"
	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the schema file anew")

const schemaPath = "assessment-1.schema.json"

// example is an invented assessment of an invented car; no number in it was
// worked out.
func example() *Assessment {
	e := func(low, median, high float64) Estimate { return Estimate{Median: median, Low: low, High: high} }
	return &Assessment{
		Version: Version, Title: "Yellow estate, <first> visit", Seed: 1,
		Reference:    Reference{RPM: 6000, AirDensity: 1.157, MassFlow: e(110, 118, 126)},
		Verdict:      Measure,
		TotalLoss:    e(2000, 2500, 3000),
		TotalGauge:   e(2700, 3100, 3500),
		VelocityHead: map[string]Estimate{"tube": e(500, 600, 700)},
		Components: []Component{
			{Name: "mouth", Kind: "mouth", RestsOn: RestsOnHandbook, Loss: e(600, 900, 1200), Handbook: e(700, 900, 1100), Recoverable: e(300, 500, 800), ChanceFirst: 0.75},
			{Name: "snorkel", Kind: "duct", RestsOn: RestsOnBoth, Loss: e(600, 900, 1200), Handbook: e(700, 900, 1100), Recoverable: e(0, 100, 300), ChanceFirst: 0.25},
		},
		Together:  [][]string{{"mouth", "snorkel"}},
		BestGuess: new("mouth"),
		Gain:      Gain{PowerPercent: new(e(0.2, 0.4, 0.7)), Note: "petrol, natural"},
		GainAll:   Gain{PowerPercent: new(e(0.3, 0.5, 0.9)), PowerKW: new(e(0.3, 0.5, 0.9)), Note: "petrol, natural"},
		Next:      &Next{From: "open-air", To: "mouth", Gauge: "g25", Taps: []Tap{{Station: "mouth", How: Drill}}, Runs: 3, Reason: "it parts mouth and snorkel"},
		Remarks:   []Remark{{Code: Wide, Text: "the path has no sizes"}},
	}
}

func TestSchemaFileIsCurrent(t *testing.T) {
	schematest.Current(t, schemaPath, Schema(), *update)
}

func validate(t *testing.T, src []byte) error {
	t.Helper()
	return schematest.Validate(t, Schema(), src)
}

func line(t *testing.T, a *Assessment) []byte {
	t.Helper()
	b, err := a.Line()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestLineReadsBackEqual(t *testing.T) {
	a := example()
	src := line(t, a)
	if got := bytes.Count(src, []byte("\n")); got != 1 || src[len(src)-1] != '\n' {
		t.Errorf("got %d line ends, want one at the end", got)
	}
	if !bytes.Contains(src, []byte("<first>")) {
		t.Error("a < is written as an escape")
	}
	if err := validate(t, src); err != nil {
		t.Error(err)
	}
	back, faults := Parse("f", src)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if diff := cmp.Diff(a.filled(), back); diff != "" {
		t.Error(diff)
	}
	if a.AttackGroup != nil || a.Remarks[0].Runs != nil {
		t.Error("Line changed the assessment that it wrote")
	}
}

// Lists that nobody filled in stand as empty lists: readers need no second case.
func TestLineHasNoNullLists(t *testing.T) {
	src := string(line(t, &Assessment{Version: 1}))
	for _, key := range []string{"components", "together", "attack_group", "remarks"} {
		if !strings.Contains(src, `"`+key+`":[]`) {
			t.Errorf("%s is not [] in %s", key, src)
		}
	}
	if !strings.Contains(src, `"velocity_head_pa":{}`) {
		t.Errorf("velocity_head_pa is not {} in %s", src)
	}
}

func TestLineRefusesWhatIsNoNumber(t *testing.T) {
	a := example()
	a.TotalLoss.High = math.NaN()
	if _, err := a.Line(); err == nil {
		t.Error("NaN was written")
	}
}

// What breaks the form fails by schema and by Check; what breaks an agreement
// between two places only Check can see.
func TestCheck(t *testing.T) {
	for _, c := range []struct {
		spoil  func(*Assessment)
		want   string
		schema bool
	}{
		{func(a *Assessment) { a.Version = 2 }, "assessment: 2 is out of range, expected 1", true},
		{func(a *Assessment) { a.Verdict = "wait" }, `verdict: "wait" is not known here, expected measure, attack, leave-alone or recheck`, true},
		{func(a *Assessment) { a.Components[0].RestsOn = "" }, `components[1].rests_on: "" is not known here, expected readings, handbook or both`, true},
		{func(a *Assessment) { a.Components[0].ChanceFirst = 1.2 }, "components[1].chance_first: 1.2 is out of range, expected a number from 0 to 1", true},
		{func(a *Assessment) { a.Next.Taps[0].How = "weld" }, `next.taps[1].how: "weld" is not known here, expected fitted, port or drill`, true},
		{func(a *Assessment) { a.Next.Runs = 0 }, "next.runs: 0 is out of range, expected a whole number from 1 to 99", true},
		{func(a *Assessment) { a.Components = nil }, "components: a list of 0, expected at least 1", true},
		{func(a *Assessment) { a.Gain.PowerPercent = nil }, "", false},
		{func(a *Assessment) { a.TotalLoss.Low = 2600 }, "total_loss_pa: low 2600, median 2500, high 3000, expected them in rising order", false},
		{func(a *Assessment) { a.Components[0].ChanceFirst = 0.5 }, "components: chances that add up to 0.75, expected 1, or 0 where every component is fixed", false},
		{func(a *Assessment) { a.Verdict = Attack }, `attack: attack under the verdict "attack", expected it filled in`, false},
		{func(a *Assessment) { a.Next = nil }, `next: next under the verdict "measure", expected it filled in`, false},
		{func(a *Assessment) { a.Attack = new("mouth") }, `attack: attack under the verdict "measure", expected null`, false},
		{func(a *Assessment) { a.Verdict, a.Next = LeaveAlone, nil }, `best_guess: best_guess under the verdict "leave-alone", expected null`, false},
		{func(a *Assessment) { a.BestGuess = new("snorkle") }, `best_guess: "snorkle" is no component, expected a name that components has`, false},
		{func(a *Assessment) { a.Together[0][1] = "tube" }, `together[1][2]: "tube" is no component, expected a name that components has`, false},
		{func(a *Assessment) { a.AttackGroup = []string{"tube"} }, `attack_group[1]: "tube" is no component, expected a name that components has`, false},
	} {
		a := example()
		c.spoil(a)
		src := line(t, a)
		got := ""
		if faults := Check("f", src); len(faults) > 0 {
			_, got, _ = strings.Cut(faults[0].Error(), " ")
		}
		if got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
		if err := validate(t, src); (err != nil) != c.schema {
			t.Errorf("%s: the schema says %v, want a fault: %v", c.want, err, c.schema)
		}
	}
	if faults := Check("f", []byte("{")); faults.Err() == nil {
		t.Error("half an object has no fault")
	}
}

func TestLooksUp(t *testing.T) {
	a := example()
	if a.ComponentByName("snorkel") != &a.Components[1] || a.ComponentByName("tube") != nil {
		t.Error("ComponentByName finds the wrong component")
	}
	if got := a.TogetherWith("snorkel"); len(got) != 2 {
		t.Errorf("TogetherWith(snorkel) = %v, want mouth and snorkel", got)
	}
	if got := a.TogetherWith("tube"); got != nil {
		t.Errorf("TogetherWith(tube) = %v, want nil", got)
	}
	if got := len(a.RemarksOf(Wide)); got != 1 {
		t.Errorf("got %d remarks, want 1", got)
	}
	if got := a.RemarksOf(Leak); got != nil {
		t.Errorf("got %v, want none", got)
	}
}
