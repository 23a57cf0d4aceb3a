package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/remedy"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// page is one assessment with its sheet as the templates see them.
type page struct {
	A *assessment.Assessment
	S *sheet.Sheet
	o Options
}

func newPage(a *assessment.Assessment, s *sheet.Sheet, o Options) *page {
	if a == nil {
		a = &assessment.Assessment{}
	}
	if s == nil {
		s = &sheet.Sheet{}
	}
	return &page{a, s, o}
}

// Is tells whether the verdict is one of those named.
func (p *page) Is(verdicts ...string) bool { return slices.Contains(verdicts, p.A.Verdict) }

// Title is that of the visit, else the name of the car, else ""; none where
// names are left out.
func (p *page) Title() string {
	if p.o.Unnamed {
		return ""
	}
	for _, t := range []string{p.A.Title, p.S.Title, p.S.Car.Name} {
		if strings.TrimSpace(t) != "" {
			return t
		}
	}
	return ""
}

// unit is the one in which estimates of a kind are shown. Size chooses among
// the units of a system.
func (p *page) unit(k quantity.Kind, size float64) string {
	if p.o.Units == quantity.AsTyped {
		if u := p.typed(k); u != "" {
			return u
		}
	}
	if math.IsNaN(size) || math.IsInf(size, 0) {
		size = 0
	}
	_, unit, _ := strings.Cut(quantity.Show(size, k, p.o.Units), " ")
	return unit
}

// typed is the unit that the user chose for a kind, "" where none shows it.
func (p *page) typed(k quantity.Kind) string {
	unit := ""
	switch k {
	case quantity.PressureDiff:
		unit = p.o.Gauge
		if unit == "" && len(p.S.Gauges) > 0 {
			unit = p.S.Gauges[0].Range.Unit
		}
	case quantity.Power:
		unit = p.S.Car.Engine.PeakPower.Unit
	case quantity.MassFlow:
		unit = p.S.Car.Engine.MassFlow.Unit
	}
	if _, err := quantity.In(1, k, unit); unit == "" || err != nil {
		return ""
	}
	return unit
}

func scaled(e assessment.Estimate, by float64) assessment.Estimate {
	return assessment.Estimate{Median: e.Median * by, Low: e.Low * by, High: e.High * by}
}

func (p *page) words(e assessment.Estimate, k quantity.Kind) string {
	return interval(e, k, p.unit(k, e.High))
}

// pressure is the unit of all pressure differences of a page: that of the whole
// path, so that the pieces compare at a glance.
func (p *page) pressure() string {
	return p.unit(quantity.PressureDiff, p.A.TotalLoss.High)
}

// Diff writes an estimate of a pressure difference in words.
func (p *page) Diff(e assessment.Estimate) string {
	return interval(e, quantity.PressureDiff, p.pressure())
}

// Bare is Diff for a table whose heading has the unit.
func (p *page) Bare(e assessment.Estimate) string {
	unit := p.pressure()
	return strings.Replace(short(e, quantity.PressureDiff, unit), " "+unit, "", 1)
}

// Pressure is the unit of pressure differences.
func (p *page) Pressure() string { return esc(p.pressure()) }

// Inches writes a rule of thumb of the trade, which counts in inches of water,
// in the unit of the page too.
func (p *page) Inches(n float64) string {
	const inches = "inH2O"
	text := quantity.Format(n, 3) + " " + inches
	if unit := p.pressure(); unit != inches {
		if si, err := quantity.From(n, quantity.PressureDiff, inches); err == nil {
			text += " (" + quantity.ShowIn(si, quantity.PressureDiff, unit) + ")"
		}
	}
	return text
}

// Percent writes an estimate in per cent.
func (p *page) Percent(e assessment.Estimate) string {
	return interval(scaled(e, 0.01), quantity.Share, "%")
}

// KW writes an estimate in kW as a power.
func (p *page) KW(e assessment.Estimate) string { return p.words(scaled(e, 1000), quantity.Power) }

// Flow writes an estimate in g/s as a mass flow.
func (p *page) Flow(e assessment.Estimate) string {
	return p.words(scaled(e, 0.001), quantity.MassFlow)
}

// Density of the reference air, as a text.
func (p *page) Density() string {
	return quantity.Show(p.A.Reference.AirDensity, quantity.Density, p.o.Units)
}

// Amount repeats what was typed, and where a system was asked for in that
// system too.
func (p *page) Amount(a quantity.Amount) string {
	if a.Form == quantity.Unreadable {
		return "not readable"
	}
	if p.o.Units == quantity.AsTyped {
		return esc(a.Text())
	}
	return esc(quantity.Echo(a, p.o.Units))
}

// Label is a component's name, with its kind where the name doesn't say it.
func (p *page) Label(name string) string {
	kind := p.kind(name)
	if kind == "" || kind == name {
		return esc(name)
	}
	return esc(name) + " (" + esc(kind) + ")"
}

func (p *page) component(name string) *assessment.Component {
	for i := range p.A.Components {
		if p.A.Components[i].Name == name {
			return &p.A.Components[i]
		}
	}
	return nil
}

func (p *page) kind(name string) string {
	if c := p.component(name); c != nil {
		return c.Kind
	}
	return ""
}

// Fixed tells whether a component is never to be changed.
func (p *page) Fixed(name string) bool { return p.S.FixedAt(name) }

// Back is what could come back from a component, nil where it isn't known.
func (p *page) Back(name string) *assessment.Estimate {
	if c := p.component(name); c != nil {
		return &c.Recoverable
	}
	return nil
}

// Chance is the chance that the component has the most to give back, in words.
func (p *page) Chance(name string) string { return chance(p.likely(name)) }

func (p *page) likely(name string) float64 {
	if c := p.component(name); c != nil {
		return c.ChanceFirst
	}
	return 0
}

// First is the component to change first or, failing that, the best guess.
func (p *page) First() string {
	switch {
	case p.A.Attack != nil:
		return *p.A.Attack
	case p.A.BestGuess != nil:
		return *p.A.BestGuess
	}
	return ""
}

// Group is what the readings don't part from First, First itself among it and
// ahead; empty where it stands alone.
func (p *page) Group() []string {
	first := p.First()
	if first == "" {
		return nil
	}
	others := p.A.AttackGroup
	if p.A.Attack == nil {
		for _, g := range p.A.Together {
			if slices.Contains(g, first) {
				others = g
			}
		}
	}
	out := []string{first}
	for _, n := range others {
		if !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	if len(out) == 1 {
		return nil
	}
	return out
}

// work is one kind of component that the advice covers.
type work struct {
	Names    []string
	Kind     string
	Fixed    bool // stays as it is
	Back     *assessment.Estimate
	Stated   string // what the sheet says of effort and cost
	Remedies []remedy.Remedy
}

// Works are what the advice covers: First and its group, First ahead and the
// others by their chance, those of one kind together because their remedies are
// the same; and Rival, where it is a toss-up.
func (p *page) Works() []work {
	names := p.Group()
	if first := p.First(); len(names) == 0 && first != "" {
		names = []string{first}
	}
	if p.Is(assessment.Attack) && p.How() == "toss-up" && p.Rival() != "" {
		names = append(names, p.Rival())
	}
	if len(names) > 1 {
		slices.SortStableFunc(names[1:], func(a, b string) int { return cmp.Compare(p.likely(b), p.likely(a)) })
	}
	var out []work
	for _, n := range names {
		kind, fixed := p.kind(n), p.Fixed(n)
		i := slices.IndexFunc(out, func(w work) bool { return w.Kind == kind && w.Fixed == fixed })
		if i < 0 {
			out = append(out, work{Names: []string{n}, Kind: kind, Fixed: fixed, Remedies: remedy.For(kind)})
			continue
		}
		out[i].Names = append(out[i].Names, n)
	}
	for i := range out {
		out[i].Stated = p.Stated(out[i].Names)
		if len(out[i].Names) == 1 {
			out[i].Back = p.Back(out[i].Names[0])
		}
	}
	return out
}

// End is the last station that the air passes, "" where there is none.
func (p *page) End() string {
	if n := len(p.A.Components); n > 0 {
		return p.A.Components[n-1].Name
	}
	return ""
}

// Head is the velocity head at the end of the path, nil where it isn't known.
func (p *page) Head() *assessment.Estimate {
	e, ok := p.A.VelocityHead[p.End()]
	if !ok {
		return nil
	}
	return &e
}

// Still tells whether the air is known to stand still at the end of the path.
func (p *page) Still() bool { return p.S.Passage(p.End()).Still }

// Judged is the usual opinion on a whole-path reading: "high" above 10 inH2O,
// "low" below 4, "middle" between, all with their whole interval; "" where the
// interval lies across a limit, nothing was read or the readings are in doubt.
// Common practice, no source.
func (p *page) Judged() string {
	const inch = 249.08891 // Pa, conventional
	g := p.A.TotalGauge
	switch {
	case p.Used() == 0 || len(p.A.Components) == 0 || p.Is(assessment.Recheck):
		return ""
	case g.Low > 10*inch:
		return "high"
	case g.High < 4*inch:
		return "low"
	case g.Low >= 4*inch && g.High <= 10*inch:
		return "middle"
	}
	return ""
}

func (p *page) count(is func(sheet.Reading) bool) int {
	n := 0
	for _, r := range p.S.Readings {
		if is(r) {
			n++
		}
	}
	return n
}

// Used counts the readings that count for something.
func (p *page) Used() int {
	return p.count(func(r sheet.Reading) bool {
		return r.Value.Known() || r.Value.Form == quantity.Above || r.Value.Form == quantity.Below
	})
}

// Bounds counts the readings that only say more or less than.
func (p *page) Bounds() int {
	return p.count(func(r sheet.Reading) bool { return r.Value.Form == quantity.Above || r.Value.Form == quantity.Below })
}

// Lost counts the readings that nobody could read.
func (p *page) Lost() int {
	return p.count(func(r sheet.Reading) bool { return r.Value.Form == quantity.Unreadable })
}

// Doubtful counts the readings that weigh less.
func (p *page) Doubtful() int {
	return p.count(func(r sheet.Reading) bool { return r.Doubtful != "" })
}

// Unmeasured names the components without a size.
func (p *page) Unmeasured() []string {
	var out []string
	for i := range p.S.Path {
		c := &p.S.Path[i]
		if _, ok := c.Area(); !ok && !c.Face.Known() {
			out = append(out, c.Name)
		}
	}
	return out
}

// Drills tells whether the next reading needs a hole.
func (p *page) Drills() bool {
	return p.A.Next != nil && slices.ContainsFunc(p.A.Next.Taps, func(t assessment.Tap) bool { return t.How == sheet.TapDrill })
}

// Boosted tells whether the path ends at a compressor or blower, or may do so.
func (p *page) Boosted() bool { return p.S.Car.Engine.Induction != sheet.Natural }

// Engine is the point at which the path ends, in words.
func (p *page) Engine() string {
	switch p.S.Car.Engine.Induction {
	case sheet.Natural:
		return "the throttle"
	case sheet.Turbo:
		return "the compressor"
	case sheet.Supercharged:
		return "the blower"
	}
	return "the engine"
}

// Called names what the work is on, with the kind where no name says it.
func (w work) Called() string {
	if w.Kind == "" || slices.Contains(w.Names, w.Kind) {
		return list(w.Names)
	}
	return list(w.Names) + " (" + esc(w.Kind) + ")"
}

// InGroup tells whether a set of names is that of Group.
func (p *page) InGroup(names []string) bool {
	group := p.Group()
	return len(group) == len(names) && !slices.ContainsFunc(names, func(n string) bool { return !slices.Contains(group, n) })
}

// Names lists the components of the path as the sheet has them.
func (p *page) Names() []string {
	var out []string
	for i := range p.S.Path {
		out = append(out, p.S.Path[i].Name)
	}
	return out
}

// Car lists what the sheet knows of the car, escaped, "" for nothing.
func (p *page) Car() string {
	e := p.S.Car.Engine
	items := []string{esc(p.S.Car.Name), p.Amount(e.Displacement)}
	if e.Cylinders > 0 {
		items = append(items, strconv.Itoa(e.Cylinders)+" cylinders")
	}
	items = append(items, esc(e.Fuel), esc(e.Induction))
	if e.MassFlow.Given() {
		items = append(items, "air flow "+p.Amount(e.MassFlow))
	}
	if e.PeakPower.Given() {
		items = append(items, "peak power "+p.Amount(e.PeakPower))
	}
	return given(items)
}

// Visit lists what the sheet knows of the day, escaped, "" for nothing.
func (p *page) Visit() string {
	return given([]string{esc(p.S.Date), esc(p.S.Place), p.Amount(p.S.Air.Temperature), p.Amount(p.S.Air.Pressure), humidity(p.Amount(p.S.Air.Humidity))})
}

func humidity(text string) string {
	if text == "" {
		return ""
	}
	return text + " relative humidity"
}

func given(items []string) string {
	return strings.Join(slices.DeleteFunc(items, func(s string) bool { return s == "" }), ", ")
}
