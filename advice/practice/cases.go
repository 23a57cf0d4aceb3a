package practice

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
)

// Worth is the share of power below which a change is not worth its work, unless
// the user says otherwise.
const Worth = 0.005

//go:embed cars.yaml
var carsFile []byte

// Case is one of the learners' cars.
type Case struct {
	Name, Title    string
	Story, Debrief string // Debrief tells the truth: for afterwards
	Level          int    // 1 to 4
	Tape           Detail // how much of the path was measured
	Seed           uint64 // 0: the car of the file
	Faults         []Fault
	Car            *Car
	Setup          Setup

	spec Engine // of the file
}

// Cars are the learners' cars, easy ones first. They belong to an invented club
// in an invented valley.
func Cars() []*Case { return slices.Clone(cases()) }

// Find is the learners' car of that name.
func Find(name string) (*Case, error) {
	var names []string
	for _, c := range cases() {
		if c.Name == name {
			return c, nil
		}
		names = append(names, c.Name)
	}
	if near, ok := spell.Nearest(name, names); ok {
		return nil, fmt.Errorf("no practice car %q (did you mean %q?)", name, near)
	}
	return nil, fmt.Errorf("no practice car %q; there are %s", name, strings.Join(names, ", "))
}

// Session is a visit to the car of this case, with what the tester does wrong in it.
func (c *Case) Session(seed uint64) *Session {
	s := c.Car.Session(seed, c.Setup)
	s.title, s.carName = c.Title, c.Name
	return s
}

// Answer names the components of the group to change, none where the car is best
// left alone: no change of one component gives back Worth. A group is what no tap
// can part.
func (c *Case) Answer() []string {
	t := &c.Car.Truth
	if t.Best < 0 || t.Gain[t.Best] < Worth {
		return nil
	}
	for _, g := range c.Car.Groups() {
		if slices.Contains(g, t.Best) {
			var names []string
			for _, i := range g {
				names = append(names, c.Car.Path[i].Name)
			}
			return names
		}
	}
	return nil
}

var cases = sync.OnceValue(func() []*Case {
	all, err := readCases("cars.yaml", carsFile)
	if err != nil {
		panic(err) // the file is part of the program and its tests read it
	}
	return all
})

// caseShape is the table of keys of the file.
var caseShape = strictyaml.Keys(
	key("name", strictyaml.Text(sheet.NameLength)).must(),
	key("title", strictyaml.Text(100)).must(),
	key("story", strictyaml.Prose(800)).must(),
	key("debrief", strictyaml.Prose(800)).must(),
	key("level", strictyaml.Whole(1, 4)).must(),
	key("hand", strictyaml.Words("draughtsman", "fitter", "tinker")).must(),
	key("engine", strictyaml.Keys(
		key("displacement", strictyaml.Text(20)).must(),
		key("cylinders", strictyaml.Whole(1, 16)).must(),
		key("fuel", strictyaml.Words("petrol", diesel)).must(),
		key("induction", strictyaml.Words(natural, turbo, blown)).must(),
		key("boost_control", strictyaml.Words("absolute", "ratio")).Key,
	)).must(),
	key("faults", strictyaml.ListOf(strictyaml.Words(texts(Faults())...), 0)).must(),
	key("setup", strictyaml.Words(texts(SetupFaults())...)).Key,
	key("visit", strictyaml.Keys(
		key("place", strictyaml.Words("road", "track", "rolling-road")).must(),
		key("tape", strictyaml.Words("full", "partly", "bare")).must(),
		key("zeros", strictyaml.Truth()).Key,
		key("check", strictyaml.Truth()).Key,
		key("air", strictyaml.Truth()).Key,
		key("fine", strictyaml.Truth()).Key,
	)).must(),
	key("seed", strictyaml.Whole(0, 1_000_000)).must(),
)

type caseKey struct{ strictyaml.Key }

func key(name string, s *strictyaml.Shape) caseKey {
	return caseKey{strictyaml.Key{Name: name, Shape: s}}
}

func (k caseKey) must() strictyaml.Key {
	k.Required = true
	return k.Key
}

func texts[T ~string](words []T) []string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = string(w)
	}
	return out
}

// readCases reads a file of learners' cars and draws them.
func readCases(file string, src []byte) ([]*Case, error) {
	root, faults := strictyaml.ParseYAML(file, src, 1)
	if err := faults.Err(); err != nil {
		return nil, err
	}
	list := strictyaml.Key{Name: "cars", Shape: strictyaml.ListOf(caseShape, 1), Required: true}
	if err := strictyaml.Keys(list).Check(file, root).Err(); err != nil {
		return nil, err
	}
	var all []*Case
	for _, n := range root.Get("cars").Items {
		c, err := readCase(n)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", file, n.Line, err)
		}
		all = append(all, c)
	}
	return all, nil
}

func readCase(n *strictyaml.Node) (*Case, error) {
	engine, err := readEngine(n.Get("engine"))
	if err != nil {
		return nil, err
	}
	faults := []Fault{}
	for _, f := range n.Get("faults").Strs() {
		faults = append(faults, Fault(f))
	}
	hand := Hand(slices.IndexFunc(Hands(), func(h Hand) bool { return h.String() == n.Get("hand").Str() }))
	visit := n.Get("visit")
	return &Case{
		Name: n.Get("name").Str(), Title: n.Get("title").Str(),
		Story: strings.TrimSpace(n.Get("story").Str()), Debrief: strings.TrimSpace(n.Get("debrief").Str()),
		Level:  n.Get("level").Int(),
		Tape:   Detail(slices.Index([]string{"full", "partly", "bare"}, visit.Get("tape").Str())),
		Faults: faults, spec: engine,
		Car: Draw(uint64(n.Get("seed").Int()), Options{Hand: hand, Engine: engine, Faults: faults}),
		Setup: Setup{
			Place: visit.Get("place").Str(), Fault: SetupFault(n.Get("setup").Str()),
			Zeros: choice(visit, "zeros"), Check: choice(visit, "check"), Air: choice(visit, "air"), Fine: choice(visit, "fine"),
		},
	}, nil
}

// choice is Yes or No where the key stands, else left to the dice.
func choice(n *strictyaml.Node, name string) Choice {
	switch {
	case !n.Has(name):
		return Drawn
	case n.Get(name).True():
		return Yes
	}
	return No
}

func readEngine(n *strictyaml.Node) (Engine, error) {
	swept, err := quantity.Read(n.Get("displacement").Str(), quantity.Want{Kind: quantity.Volume})
	return Engine{
		Displacement: swept.SI, Cylinders: n.Get("cylinders").Int(),
		Fuel: n.Get("fuel").Str(), Induction: n.Get("induction").Str(), BoostControl: n.Get("boost_control").Str(),
	}, err
}
