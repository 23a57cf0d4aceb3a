package class_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"dropwalk/advice/class"
	"dropwalk/advice/internal/published"
	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml/schematest"
)

var update = flag.Bool("update", false, "write the schema file anew")

const inch = 249.08891 // Pa, an inch of water at 4 °C (NIST SP 811)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: got %.10g, want %.10g within %g", what, got, want, tol)
	}
}

// plain is a sheet whose readings are at the reference point as they stand.
func plain(readings map[string][]float64) *sheet.Sheet {
	s, faults := sheet.Read("car", []byte(`
sheet: 1
place: rolling-road
car: {name: yellow-estate, engine: {displacement: 1998 cc, cylinders: 4}}
reference: {rpm: 6000, air: {temperature: 25 C, pressure: 99 kPa, humidity: 0 %}}
path:
  - {name: mouth, kind: mouth, diameter: 60 mm}
  - {name: box, kind: box-entry, diameter: 60 mm}
  - {name: filter, kind: filter, face: 0.04 m2, tap: port}
  - {name: tube, kind: duct, diameter: 65 mm, length: 500 mm}
air: {temperature: 25 C, pressure: 99 kPa, humidity: 0 %}
`))
	if s == nil {
		panic(faults.Error())
	}
	run := 0
	for _, to := range []string{"box", "filter", "tube"} {
		for _, v := range readings[to] {
			run++
			s.Readings = append(s.Readings, sheet.Reading{Run: run, From: sheet.OpenAir, To: to, RPM: 6000, Value: pressure(v)})
		}
	}
	return s
}

// pressure is a reading in inches of water.
func pressure(inches float64) quantity.Amount {
	pa := inches * inch
	return quantity.Amount{Kind: quantity.PressureDiff, Form: quantity.Exact, SI: pa, Low: pa, High: pa}
}

// The constructed class of class_example.csv through sheets: the same figures as by
// the formulas of ISO 5725-2.
func TestPublishedClass(t *testing.T) {
	groups := map[string][]float64{}
	for _, row := range published.Table(t, "class_example.csv")[1:] {
		groups[row[0]] = append(groups[row[0]], published.Number(t, row[2]))
	}
	var g class.Gatherer
	for _, name := range []string{"1", "2", "3", "4", "5"} {
		g.Add(name, g.Take(plain(map[string][]float64{"tube": groups[name]})))
	}
	c := g.Judge()
	if len(c.Stations) != 1 {
		t.Fatalf("got %d pairs, want one", len(c.Stations))
	}
	s := c.Stations[0]
	if s.From != "open-air" || s.To != "tube" || s.Groups != 5 || s.Runs != 20 || len(s.Flags) != 0 {
		t.Errorf("got %s to %s, %d groups, %d runs, flags %v; want open-air to tube, 5, 20 and no flag", s.From, s.To, s.Groups, s.Runs, s.Flags)
	}
	near(t, "mean", s.Mean/inch, 13.73, 1e-5)
	near(t, "s_r", *s.Repeatability/inch, 0.1238278, 1e-5)
	near(t, "s_L", *s.Between/inch, 0.2905455, 1e-5)
	near(t, "s_R", *s.Reproduced/inch, 0.3158322, 1e-5)
	near(t, "R", *s.LimitGroups/inch, 2.8*0.3158322, 1e-5)
	near(t, "C", *s.Cochran, 0.260870, 1e-5)
	near(t, "its limit", s.CochranLimits.Straggler, 0.5981, 1e-4)
	near(t, "G", *s.Grubbs, 1.413813, 1e-5)
	near(t, "its limit", s.GrubbsLimits.Straggler, 1.7150, 1e-4)
	near(t, "median", s.Median/inch, 13.65, 1e-5)
	near(t, "group 5 off the median", s.ByGroup[4].Off/inch, 0.5, 1e-5)
	if s.BelowNought {
		t.Error("s_L is said to be set to nought")
	}
	h := c.Refits()
	near(t, "for compare", h.Spans[0].SD/inch, 0.2905455, 1e-5)
}

// A class in which nobody differs: the variance between groups comes out below nought,
// is set to nought, and the document says so.
func TestGroupsAlike(t *testing.T) {
	var g class.Gatherer
	for i, runs := range [][]float64{{12, 12.4}, {12.4, 12, 12.2}, {12.1, 12.3}, {12.2}} {
		g.Add(fmt.Sprint("G", i), g.Take(plain(map[string][]float64{"tube": runs})))
	}
	s := g.Judge().Stations[0]
	if s.Between == nil || *s.Between != 0 || !s.BelowNought || !slices.Contains(s.Flags, class.Flag{Code: class.BelowNought}) {
		t.Errorf("got s_L %v, below nought %v, flags %v; want 0, true and a flag", s.Between, s.BelowNought, s.Flags)
	}
	if *s.Reproduced != *s.Repeatability {
		t.Errorf("got s_R %g and s_r %g, want them alike", *s.Reproduced, *s.Repeatability)
	}
	if s.ByGroup[3].SD != nil || s.ByGroup[3].K != nil {
		t.Errorf("a group with one run has a scatter: %+v", s.ByGroup[3])
	}
}

// A class whose own runs hide how far it differs: one group's scatter more (Cochran's C
// 0.950, limit at 1 % for four groups of three 0.864, ISO 5725-2 table 4), and without it
// the others differ by far more than theirs explain. It is information: the figures of
// all hold it.
func TestRestWithoutARestlessGroup(t *testing.T) {
	var g class.Gatherer
	for name, runs := range map[string][]float64{"A": {11.2, 11.4, 11.1}, "B": {11.5, 11.7, 11.6}, "C": {11.0, 11.1, 10.9}, "D": {11.3, 12.7, 10.4}} {
		g.Add(name, g.Take(plain(map[string][]float64{"tube": runs})))
	}
	s := g.Judge().Stations[0]
	if !slices.Contains(s.Flags, class.Flag{Code: class.ScattersMore, Group: "D", Level: class.Outlier}) || s.Groups != 4 || s.Runs != 12 {
		t.Fatalf("got flags %+v of %d groups with %d runs, want D an outlier of 4 with 12", s.Flags, s.Groups, s.Runs)
	}
	near(t, "the limit of C", s.CochranLimits.Outlier, 0.864, 5e-4)
	r := s.Rest
	if r == nil || r.Group != "D" {
		t.Fatalf("got %+v, want what the others say without D", r)
	}
	// By hand, in inH2O: variances 0.07/3, 0.01, 0.01, their mean 0.13/9; means 33.7/3, 11.6, 11.
	within := 0.13 / 9
	between := variance(33.7/3, 11.6, 11) * 3
	near(t, "s_r", r.Repeatability/inch, math.Sqrt(within), 1e-5)
	near(t, "s_L", r.Between/inch, math.Sqrt((between-within)/3), 1e-5)
	near(t, "F", r.F, between/within, 1e-5)
	if r.P > 0.01 || r.P <= 0 {
		t.Errorf("got a chance of %g, want a small one", r.P)
	}
	if *s.Between > 0.2**s.Repeatability {
		t.Errorf("of all: got s_L %g and s_r %g, want the first hidden", *s.Between, *s.Repeatability)
	}
}

func variance(x ...float64) float64 {
	mean, sum := 0.0, 0.0
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sum += (v - mean) * (v - mean)
	}
	return sum / float64(len(x)-1)
}

// Of three groups none is left out: two tell no scatter between groups. And a class in
// which no group's runs scatter more has no rest.
func TestNoRestOfTwoGroups(t *testing.T) {
	for name, groups := range map[string][][]float64{
		"three groups": {{11.2, 11.21, 11.2}, {11.1, 11.1, 11.11}, {11.3, 14.7, 8.4}},
		"all alike":    {{11.2, 11.4, 11.1}, {11.5, 11.7, 11.6}, {11.0, 11.2, 10.9}, {11.3, 11.5, 11.2}},
	} {
		var g class.Gatherer
		for i, runs := range groups {
			g.Add(fmt.Sprint("G", i), g.Take(plain(map[string][]float64{"tube": runs})))
		}
		if s := g.Judge().Stations[0]; s.Rest != nil {
			t.Errorf("%s: got %+v, want none", name, s.Rest)
		}
	}
}

// Where groups happen to lie closer than their runs explain, what runs explain stands in
// for the MAD and is said to.
func TestFloorOfTheMAD(t *testing.T) {
	for want, groups := range map[bool][][]float64{
		true:  {{12, 13, 11}, {12.01, 13, 11}, {12, 13.01, 11}},
		false: {{12, 12.01, 11.99}, {13, 13.01, 12.99}, {14, 14.01, 13.99}},
	} {
		var g class.Gatherer
		for i, runs := range groups {
			g.Add(fmt.Sprint("G", i), g.Take(plain(map[string][]float64{"tube": runs})))
		}
		s := g.Judge().Stations[0]
		floor := *s.Repeatability / math.Sqrt(3)
		if s.MADIsFloor != want || want != (math.Abs(s.MAD-floor) < 1e-4*floor) {
			t.Errorf("got floor %v with MAD %g and s_r over root 3 %g, want %v", s.MADIsFloor, s.MAD, floor, want)
		}
	}
}

// Of two groups, or of single runs, no scatter between groups is told.
func TestTooFew(t *testing.T) {
	for name, groups := range map[string][][]float64{
		"two groups":  {{12, 12.4, 12.1}, {13, 13.1, 13.2}},
		"single runs": {{12}, {12.5}, {13}},
	} {
		var g class.Gatherer
		for i, runs := range groups {
			g.Add(fmt.Sprint("G", i), g.Take(plain(map[string][]float64{"tube": runs})))
		}
		c := g.Judge()
		s := c.Stations[0]
		if s.Between != nil || s.Reproduced != nil || !slices.Contains(s.Flags, class.Flag{Code: class.TooFew}) || len(c.Refits().Spans) != 0 {
			t.Errorf("%s: got s_L %v, s_R %v, flags %v; want none and a flag", name, s.Between, s.Reproduced, s.Flags)
		}
	}
	var g class.Gatherer
	g.Add("A", g.Take(plain(map[string][]float64{"tube": {12, 13}})))
	c := g.Judge()
	if len(c.Stations) != 0 || len(c.Notes) != 2 || c.Notes[0].Code != class.FewClass || c.Notes[1].Code != class.Alone {
		t.Errorf("one group: got %d pairs and notes %+v", len(c.Stations), c.Notes)
	}
}

// A station that one group calls otherwise is told with what it probably is.
func TestOtherName(t *testing.T) {
	var g class.Gatherer
	for _, name := range []string{"A", "B", "C"} {
		g.Add(name, g.Take(plain(map[string][]float64{"filter": {5, 5.1}, "tube": {12, 12.2}})))
	}
	odd := plain(map[string][]float64{"filter": {5, 5.1}, "tube": {12, 12.1}})
	odd.Path[3].Name = "tubes"
	for i := range odd.Readings {
		if odd.Readings[i].To == "tube" {
			odd.Readings[i].To = "tubes"
		}
	}
	g.Add("D", g.Take(odd))
	c := g.Judge()
	want := class.Note{Code: class.Alone, Text: "only group D reads open-air to tubes; is it what the others call tube?"}
	if !slices.Contains(c.Notes, want) {
		t.Errorf("got %+v, want among them %+v", c.Notes, want)
	}
}

// measured is one class of groups on one simulated car: each group with its own day,
// gauge and hands, and with taps fitted anew, which scatters each by a hundredth; one of
// them with a fault at one tap, if any.
func measured(car *practice.Car, seed uint64, groups, bad int, fault practice.SetupFault) (*class.Class, string) {
	var g class.Gatherer
	name := ""
	for i := range groups {
		o := practice.Setup{Place: "track", Zeros: practice.Yes, Air: practice.Yes, Scan: practice.No}
		if i == bad {
			o.Fault = fault
		}
		s := car.Session(seed*1000+uint64(i), o)
		sh := s.FullWalk(practice.Full)
		group := string(rune('A' + i))
		if i == bad {
			name = group
		}
		sh.Car.Name = "club-car"
		refit(sh, seed*1000+uint64(i))
		g.Add(group, g.Take(sh))
	}
	return g.Judge(), name
}

// refit scatters what a sheet reads at each station by a hundredth.
func refit(s *sheet.Sheet, seed uint64) {
	dice := rand.New(rand.NewPCG(seed, 17))
	at := map[string]float64{}
	for i := range s.Readings {
		r := &s.Readings[i]
		if at[r.To] == 0 {
			at[r.To] = 1 + 0.01*dice.NormFloat64()
		}
		for _, v := range []*float64{&r.Value.SI, &r.Value.Low, &r.Value.High} {
			*v *= at[r.To]
		}
	}
}

// Simulated classes of eight groups on one car: an honest class is seldom told that a
// tap is bad; a leak at one tap of one group is found, at the right group.
func TestBadTap(t *testing.T) {
	const classes = 120
	var honest, found, wrong, told int
	for k := range uint64(classes) {
		car := practice.Draw(100+k, practice.Options{})
		if c, _ := measured(car, k, 8, -1, practice.NoSetupFault); len(c.Taps) > 0 {
			honest++
		}
		c, bad := measured(car, k, 8, 3, practice.LeakOne)
		if c.Across == nil && len(c.Taps) == 0 {
			continue // too few taps on this car
		}
		told++
		for _, tap := range c.Taps {
			if tap.Group == bad {
				found++
			} else {
				wrong++
			}
		}
	}
	t.Logf("honest classes told of a bad tap: %d of %d; leaks found: %d of %d, at a wrong group: %d", honest, classes, found, told, wrong)
	if honest > classes/15 {
		t.Errorf("honest classes told of a bad tap: %d of %d", honest, classes)
	}
	if found < told*3/4 || wrong > classes/15 {
		t.Errorf("leaks found: %d of %d, at a wrong group: %d", found, told, wrong)
	}
}

// A class of three or four groups with a leak at one tap: what is named is right far
// oftener than not, and an honest class is told of a bad tap in few cases.
func TestBadTapInASmallClass(t *testing.T) {
	const classes = 150
	for _, groups := range []int{3, 4, 5} {
		var honest, found, wrong int
		for k := range uint64(classes) {
			car := practice.Draw(900+k, practice.Options{})
			if c, _ := measured(car, k, groups, -1, practice.NoSetupFault); len(c.Taps) > 0 {
				honest++
			}
			c, bad := measured(car, k, groups, 1, practice.LeakOne)
			for _, tap := range c.Taps {
				if tap.Group == bad {
					found++
				} else {
					wrong++
				}
			}
		}
		t.Logf("%d groups: honest classes told of a bad tap: %d of %d; leaks found: %d, at a wrong group: %d", groups, honest, classes, found, wrong)
		if honest > classes/15 || wrong > classes/12 || found < classes*3/4 {
			t.Errorf("%d groups: honest %d, found %d, wrong %d of %d", groups, honest, found, wrong, classes)
		}
	}
}

// A group whose gauge reads a tenth too much is told as one that is off all over, and
// not as one with bad taps.
func TestAskew(t *testing.T) {
	var g class.Gatherer
	dice := rand.New(rand.NewPCG(3, 3))
	for i := range 7 {
		gain := 1.0
		if i == 2 {
			gain = 1.1
		}
		readings := map[string][]float64{}
		for to, v := range map[string]float64{"box": 4, "filter": 6, "tube": 12} {
			fit := 1 + 0.005*dice.NormFloat64()
			for range 3 {
				readings[to] = append(readings[to], v*gain*fit*(1+0.008*dice.NormFloat64()))
			}
		}
		g.Add(fmt.Sprint("G", i), g.Take(plain(readings)))
	}
	c := g.Judge()
	if len(c.Askew) != 1 || c.Askew[0].Group != "G2" || math.Abs(c.Askew[0].Share-0.1) > 0.02 || len(c.Taps) != 0 {
		t.Errorf("got askew %+v and taps %+v, want G2 by about 10 %% and none", c.Askew, c.Taps)
	}
}

// The limits in MADs let one honest class of twenty be flagged, for every size that a
// class has: drawn anew.
func TestFarLimits(t *testing.T) {
	dice := rand.New(rand.NewPCG(11, 11))
	const classes = 20000
	for _, n := range []int{3, 4, 5, 6, 7, 8, 9, 12, 20, 30} {
		flagged := 0
		for range classes {
			x := make([]float64, n)
			for i := range x {
				x[i] = dice.NormFloat64()
			}
			if class.Flagged(x) {
				flagged++
			}
		}
		if rate := float64(flagged) / classes; math.Abs(rate-0.05) > 0.006 {
			t.Errorf("%d groups: flagged in %.4f of honest classes, want 0.05", n, rate)
		}
	}
}

func TestSchemaFileIsCurrent(t *testing.T) {
	schematest.Current(t, "class-1.schema.json", class.Schema(), *update)
}

// Documents of every kind fit the schema, and lists are never null.
func TestDocumentsFitTheSchema(t *testing.T) {
	car := practice.Draw(7, practice.Options{})
	full, _ := measured(car, 1, 6, 2, practice.LeakOne)
	var empty, lone class.Gatherer
	lone.Add("A", lone.Take(plain(map[string][]float64{"tube": {12}})))
	for name, c := range map[string]*class.Class{"full": full, "empty": empty.Judge(), "alone": lone.Judge()} {
		src, err := json.Marshal(c)
		if err != nil {
			t.Fatal(err)
		}
		if err := schematest.Validate(t, class.Schema(), src); err != nil {
			t.Errorf("%s: %v\n%s", name, err, src)
		}
		if faults := class.Check(name, src); len(faults) > 0 {
			t.Errorf("%s: %v", name, faults)
		}
	}
	if err := schematest.Validate(t, class.Schema(), []byte(`{"class": 1}`)); err == nil {
		t.Error("an object without its keys fits the schema")
	}
}

// What compare takes from a file: the keys that it needs, with the place of what is
// wrong.
func TestReadRefits(t *testing.T) {
	h, faults := class.ReadRefits("c.json", []byte(`{"class":1,"stations":[{"from":"open-air","to":"tube","groups":5,"s_L_pa":72.5,"new":[]},{"from":"a","to":"b","groups":2,"s_L_pa":null}]}`))
	if len(faults) > 0 || len(h.Spans) != 1 || h.Spans[0].SD != 72.5 || h.Spans[0].Freedom != 4 {
		t.Errorf("got %+v, %v; want one pair with 72.5 Pa and four degrees of freedom", h, faults)
	}
	for text, place := range map[string]int{
		`{"compare":1}`:                  1,
		"{\"class\":1,\n\"stations\":3}": 2,
		"{\"class\":1,\"stations\":[\n{\"from\":\"a\",\"to\":\"b\",\"groups\":4,\"s_L_pa\":-1}]}": 2,
		"{\"class\":1,\"stations\":[]}": 1,
		"{\"class\":1,":                 1,
	} {
		if _, faults := class.ReadRefits("c.json", []byte(text)); len(faults) == 0 || faults[0].Line != place {
			t.Errorf("%s: got %v, want a fault in line %d", text, faults, place)
		}
	}
}
