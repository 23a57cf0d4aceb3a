package practice

// Options says what a car must be. What is nought is drawn.
type Options struct {
	Hand   Hand
	Engine Engine  // fields that are set are kept; only the exported ones count, MassFlow and Power excepted
	Faults []Fault // nil: drawn; empty: a car with nothing wrong
	School *School // nil: cars of anywhere
}

// Car is one simulated car. Nothing in it changes once it is drawn.
type Car struct {
	Seed   uint64
	Hand   Hand
	Engine Engine
	Path   []Component // from the open air inwards
	Truth  Truth

	heating float64 // of the air on its way in, K
}

// Draw makes the car that belongs to a seed. The same seed and options give the
// same car. It takes some tens of microseconds.
func Draw(seed uint64, o Options) *Car {
	m := &manners[o.Hand]
	faults := o.Faults
	if faults == nil {
		faults = drawFaults(roll(seed, "faults"), o.School.faultWeights())
	}
	c := &Car{Seed: seed, Hand: o.Hand, Engine: drawEngine(roll(seed, "engine"), o.Engine)}
	c.Path = layOut(roll(seed, "layout"), &c.Engine, faults)
	size := newSizer(roll(seed, "size"), m, c.Engine.MassFlow)
	size.sizePath(c.Path)
	afflict(roll(seed, "afflict"), c.Path, faults)
	placeTaps(roll(seed, "taps"), c.Path)
	size.varyBores(c.Path)
	c.heating = roll(seed, "heat").between(m.heating[0], m.heating[1])
	(&maker{roll(seed, "loss"), m, &c.Engine, o.School}).make(c.Path)
	c.Truth = c.reveal()
	return c
}

// Index is the place of a component in the path, -1 where there is none of that name.
func (c *Car) Index(name string) int {
	for i := range c.Path {
		if c.Path[i].Name == name {
			return i
		}
	}
	return -1
}

// Groups parts the path into runs of neighbours that no tap can part: each run
// ends at a station where a gauge can be connected. Indices of components.
func (c *Car) Groups() [][]int {
	var groups [][]int
	var run []int
	for i := range c.Path {
		run = append(run, i)
		if c.Path[i].tappable() {
			groups = append(groups, run)
			run = nil
		}
	}
	return groups
}

// Standout returns the group whose sum of values is above floor and above times
// as large as that of any other, and false where there is none. Values are by
// component, in Pa, such as Truth.Loss or Truth.Recoverable.
func (c *Car) Standout(values []float64, floor, times float64) ([]int, bool) {
	var best []int
	first, second := 0.0, 0.0
	for _, g := range c.Groups() {
		s := 0.0
		for _, i := range g {
			s += values[i]
		}
		switch {
		case s > first:
			best, first, second = g, s, first
		case s > second:
			second = s
		}
	}
	return best, first > floor && first > times*second
}

// Leader returns the component whose value is above floor and above times as
// large as that of any other, taps or no taps, and false where there is none.
func (c *Car) Leader(values []float64, floor, times float64) (int, bool) {
	best, second := 0, 0.0
	for i, v := range values {
		switch {
		case i == 0:
		case v > values[best]:
			best, second = i, values[best]
		default:
			second = max(second, v)
		}
	}
	return best, values[best] > floor && values[best] > times*second
}

// Falls tells whether a perfect gauge would properly show less at some station
// than at one before it, among those where it can be connected.
func (c *Car) Falls() bool {
	highest := 0.0
	for i := range c.Path {
		if !c.Path[i].tappable() {
			continue
		}
		if c.Truth.Reading[i] < highest {
			return true
		}
		highest = c.Truth.Reading[i]
	}
	return false
}
