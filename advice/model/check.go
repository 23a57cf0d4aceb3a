package model

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"dropwalk/advice/assessment"
	"dropwalk/advice/infer"
	"dropwalk/advice/sheet"
)

// Finding is something that the readings say about themselves. A grave one
// means that no diagnosis should rest on them before somebody has looked.
type Finding struct {
	assessment.Remark
	Grave bool
}

// Limits of the checks. Chances are those of a false alarm on sound readings
// with the noise that the model expects.
const (
	rareRepeats = 1e-3
	rareNetwork = 1e-3
	fallLimit   = 8.0  // chi-square of one freedom, one-sided chance 2.5e-3
	lowLimit    = -2.6 // standard deviations below what the handbook expects
	lowBlind    = -3.3 // the same where sizes are missing
	leakShare   = 0.05 // lost in leakSeconds (common practice, no source)
	leakSeconds = 30.0
	farRPM      = 0.88 // of the reference rpm
	slackFlow   = 0.10 // log of a run's measured flow below that of its rpm and weather
	gaugeYears  = 1.0
	graveShift  = 250.0 // Pa, about an inch of water
)

// Checks looks at every reading by itself, at repeats, at the network of
// stations and at the handbook. Findings come in a fixed order.
func (c *Car) Checks() []Finding {
	var f []Finding
	f = append(f, c.checkShown()...)
	f = append(f, c.checkZeros()...)
	f = append(f, c.checkLeaks()...)
	f = append(f, c.checkGauges()...)
	f = append(f, c.checkSpeed()...)
	f = append(f, c.checkRepeats()...)
	f = append(f, c.checkNetwork()...)
	return f
}

func finding(grave bool, code string, runs []int, format string, args ...any) Finding {
	if runs == nil {
		runs = []int{}
	}
	slices.Sort(runs)
	return Finding{assessment.Remark{Code: code, Text: fmt.Sprintf(format, args...), Runs: slices.Compact(runs)}, grave}
}

// run is the run number of sheet reading i, as a list: empty where it has none.
func (c *Car) run(i int) []int {
	if n := c.Sheet.Readings[i].Run; n > 0 {
		return []int{n}
	}
	return nil
}

func (c *Car) runs(readings []int) []int {
	var out []int
	for _, i := range readings {
		out = append(out, c.run(c.Readings[i].At)...)
	}
	return out
}

// span names the stations of sheet reading i.
func (c *Car) span(i int) string {
	r := c.Sheet.Readings[i]
	return r.From + " to " + r.To
}

func (c *Car) checkShown() []Finding {
	var out []Finding
	for i, r := range c.Sheet.Readings {
		if !usable(r.Value) {
			out = append(out, finding(false, assessment.UnreadableValue, c.run(i), "the reading from %s could not be read and is not used", c.span(i)))
		}
	}
	for _, r := range c.Readings {
		in := c.Sheet.Readings[r.At]
		g := c.gauge(in)
		switch {
		case g.beyond(in.Value):
			out = append(out, finding(true, assessment.OffScale, c.run(r.At), "the reading from %s is larger than gauge %s can show: a slip of the pen, or another gauge was used; put it right, or read again", c.span(r.At), g.name))
		case r.Bound == infer.AtLeast:
			out = append(out, finding(false, assessment.OffScale, c.run(r.At), "the reading from %s went to the end of the scale or off it: it only says more than the gauge can show; use a gauge with a larger range", c.span(r.At)))
		case r.Bound == infer.AtMost || g.divisionGiven && math.Abs(in.Value.SI) < 0.999*g.division:
			out = append(out, finding(false, assessment.BelowResolution, c.run(r.At), "the reading from %s is below what the gauge can tell; a gauge with a smaller range would", c.span(r.At)))
		}
	}
	return out
}

func (c *Car) checkZeros() []Finding {
	var out []Finding
	for _, r := range c.Readings {
		in := c.Sheet.Readings[r.At]
		g, z := c.gauge(in), c.zeroOf(r.At)
		moved := math.Abs(z.moved)
		limit := max(1.01*g.division, g.accuracy*g.full)
		switch {
		case !in.ZeroAfter.Known(): // one finding a set, where its zero was written down
		case moved > limit:
			grave := moved > max(graveShift, 0.1*math.Abs(r.Shown))
			out = append(out, finding(grave, assessment.ZeroShift, c.run(r.At), "the zero of the gauge moved during the runs from %s; look for a knocked or tilted gauge, then read again", c.span(r.At)))
		case math.Abs(z.mean) > limit:
			out = append(out, finding(false, assessment.ZeroShift, c.run(r.At), "the gauge did not stand at nought before and after the runs from %s; that was taken off, but set or mend the gauge", c.span(r.At)))
		}
	}
	return out
}

func (c *Car) checkLeaks() []Finding {
	var out []Finding
	for _, k := range c.Sheet.Checks {
		lost, ok := leakLost(k)
		if !ok {
			continue
		}
		if lost < -leakShare/2 {
			out = append(out, finding(false, assessment.Leak, c.runsAt(k.At), "the leak check at %s shows more at its end than at its start: were the figures swapped? it counts as no check", k.At))
		}
		if lost > leakShare*1.001 {
			where := ""
			if k.At != "" {
				where = " at " + k.At
			}
			out = append(out, finding(true, assessment.Leak, c.runsAt(k.At), "the leak check%s failed: more than 5 %% was lost in 30 s; find the leak and read again", where))
		}
	}
	return out
}

// leakLost is the share that a leak check lost in leakSeconds; false where its
// numbers are missing or it is another check.
func leakLost(k sheet.Check) (lost float64, ok bool) {
	if k.Kind != "leak" || !k.Start.Known() || !k.End.Known() || k.Start.SI <= 0 || k.Seconds <= 0 {
		return 0, false
	}
	return (k.Start.SI - k.End.SI) / k.Start.SI * leakSeconds / k.Seconds, true
}

// runsAt are the runs with a tap at the station; all runs where it is "".
func (c *Car) runsAt(station string) []int {
	var out []int
	for i, r := range c.Sheet.Readings {
		if station == "" || r.From == station || r.To == station {
			out = append(out, c.run(i)...)
		}
	}
	return out
}

func (c *Car) checkGauges() []Finding {
	day, err := time.Parse(time.DateOnly, c.Sheet.Date)
	if err != nil {
		return nil
	}
	var out []Finding
	for _, g := range c.Sheet.Gauges {
		if Overdue(g.Checked, day) {
			out = append(out, finding(false, assessment.GaugeOverdue, nil, "gauge %s was last checked against a standard on %s, more than a year before", g.Name, g.Checked))
		}
	}
	return out
}

// Overdue tells whether a gauge that was last checked on the given day, as
// year-month-day, is to be checked again by now. Nobody knows that of one without
// such a day.
func Overdue(checked string, now time.Time) bool {
	day, err := time.Parse(time.DateOnly, checked)
	return err == nil && now.Sub(day).Hours() > gaugeYears*366*24
}

// checkSpeed: a run far below the reference rpm was in the wrong gear or given
// up early; how the loss follows the flow so far down is uncertain.
func (c *Car) checkSpeed() []Finding {
	var out []Finding
	for _, r := range c.Readings {
		in := c.Sheet.Readings[r.At]
		if c.slowReading(in) {
			out = append(out, finding(false, assessment.NotFullLoad, c.run(r.At), "the run from %s was read at %.0f rpm, far below the reference of %.0f rpm", c.span(r.At), in.RPM, c.RPM))
		}
	}
	out = append(out, c.checkHigh()...)
	out = append(out, c.checkGrowth()...)
	out = append(out, c.checkGear()...)
	out = append(out, c.checkNominal()...)
	return append(out, c.checkFlows()...)
}

// checkHigh: how the flow goes on far above the reference rpm nobody knows.
func (c *Car) checkHigh() []Finding {
	var far []int
	for _, r := range c.Readings {
		if in := c.Sheet.Readings[r.At]; in.RPM > c.RPM/farRPM && !in.MassFlow.Known() {
			far = append(far, c.run(r.At)...)
		}
	}
	if len(far) == 0 {
		return nil
	}
	return []Finding{finding(false, assessment.FarRPM, far, "read far above the reference of %.0f rpm: what it comes to there is uncertain; read at the reference rpm, or state another one", c.RPM)}
}

// Shares of the flow that an engine draws by its size, in logarithms, and in
// standard deviations of both, beyond which a measured flow can't be.
const (
	strangeFlow   = 0.35
	strangeFlowSD = 4.0
)

// checkNominal: a flow that somebody measured is held against the engine's size.
func (c *Car) checkNominal() []Finding {
	if c.FlowFrom == "estimate" {
		return nil
	}
	by, sd, ok := c.Engine.AirFlow(c.Air.Pressure, c.Air.Temperature, c.Density)
	apart := math.Log(c.Flow / by)
	if !ok || math.Abs(apart) < max(strangeFlow, strangeFlowSD*math.Hypot(sd, c.FlowSD)) {
		return nil
	}
	what, look := "more", "the unit, the displacement and the boost on the sheet"
	if apart < 0 {
		what, look = "less", "the unit, the meter, and whether the pedal was down"
	}
	return []Finding{finding(true, assessment.FlowDoubtful, nil, "the measured flow of %.0f g/s is far %s than the %.0f g/s that an engine of this size draws at %.0f rpm: check %s", 1000*c.Flow, what, 1000*by, c.RPM, look)}
}

// checkGear: a run in another gear than the rest has another load on the engine
// and another road wind.
func (c *Car) checkGear() []Finding {
	count := map[int]int{}
	usual := 0
	for _, r := range c.Sheet.Readings {
		if count[r.Gear]++; r.Gear > 0 && (usual == 0 || count[r.Gear] > count[usual]) {
			usual = r.Gear
		}
	}
	var odd []int
	for i, r := range c.Sheet.Readings {
		if r.Gear > 0 && r.Gear != usual {
			odd = append(odd, c.run(i)...)
		}
	}
	switch {
	case len(odd) == 0:
		return nil
	case 2*count[usual] <= count[usual]+len(odd):
		return []Finding{finding(false, assessment.NotFullLoad, odd, "the runs were in several gears: read all of them in the same one")}
	}
	return []Finding{finding(false, assessment.NotFullLoad, odd, "most runs were in gear %d, these were not: read again in the same gear", usual)}
}

// checkFlows: a run that drew far less air than its rpm and the weather ask for
// was not at full load.
func (c *Car) checkFlows() []Finding {
	var slack []int
	for _, r := range c.Readings {
		w := c.way(c.Sheet.Readings[r.At])
		if w.hasFlow && w.rpmKnown && w.measured-w.flow(c.control) < -slackFlow-w.doubt(c.control) {
			slack = append(slack, r.At)
		}
	}
	if len(slack) == 0 {
		return nil
	}
	var runs []int
	for _, i := range slack {
		runs = append(runs, c.run(i)...)
	}
	return []Finding{finding(true, assessment.NotFullLoad, runs, "the engine drew much less air than at full load: check that the pedal was down and the plate open, then read again")}
}

func (c *Car) checkRepeats() []Finding {
	var out []Finding
	for _, set := range c.repeats() {
		chi := c.misfit(set)
		if infer.ChiSquareTail(chi, float64(len(set)-1)) > rareRepeats {
			continue
		}
		odd, rest := c.oddOne(set)
		at := c.Readings[set[0]].At
		grave := c.apart(set) > max(2*graveShift, 0.2*math.Abs(c.Readings[set[0]].Value))
		if odd >= 0 && len(set) > 2 && infer.ChiSquareTail(rest, float64(len(set)-2)) > 0.01 {
			out = append(out, finding(false, assessment.RunsDisagree, c.run(c.Readings[odd].At), "one run from %s stands apart from the others; look for a hose that slipped, a lifted pedal or a slip of the pen", c.span(at)))
			continue
		}
		out = append(out, finding(grave, assessment.RunsDisagree, c.runs(set), "the runs from %s disagree by more than gauge and road explain; read again", c.span(at)))
	}
	return out
}

// misfit is the chi-square of repeats about their weighted mean.
func (c *Car) misfit(set []int) float64 {
	sum, weight := 0.0, 0.0
	for _, i := range set {
		w := 1 / c.own(i)
		sum, weight = sum+w*c.Readings[i].Value, weight+w
	}
	chi := 0.0
	for _, i := range set {
		chi += square(c.Readings[i].Value-sum/weight) / c.own(i)
	}
	return chi
}

// own is the variance of a reading by the usual scatter, not by what these
// very repeats made of it.
func (c *Car) own(i int) float64 {
	r := c.Readings[i]
	return r.Own - (square(c.Scatter)-1)*r.Usual
}

// oddOne is the repeat without which the others agree best, and the
// chi-square that is left.
func (c *Car) oddOne(set []int) (odd int, left float64) {
	odd, left = -1, math.Inf(1)
	for k := range set {
		rest := slices.Delete(slices.Clone(set), k, k+1)
		if chi := c.misfit(rest); chi < left {
			odd, left = set[k], chi
		}
	}
	return odd, left
}

func (c *Car) apart(set []int) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, i := range set {
		low, high = min(low, c.Readings[i].Value), max(high, c.Readings[i].Value)
	}
	return high - low
}

// network is the set of station pairs that were read, each gauge by itself,
// repeats averaged.
type network struct {
	from, to []int
	gauge    []string
	sets     [][]int // readings behind each
	y        []float64
	head     []float64
	noise    infer.Matrix
}

func (c *Car) network() network {
	var n network
	type key struct {
		from, to int
		gauge    string
	}
	at := map[key]int{}
	for i, r := range c.Readings {
		if r.Bound != infer.Value {
			continue
		}
		this := key{r.From, r.To, c.Sheet.Readings[r.At].Gauge}
		k, ok := at[this]
		if !ok {
			k = len(n.sets)
			at[this] = k
			n.gauge = append(n.gauge, this.gauge)
			n.from, n.to, n.sets, n.head = append(n.from, r.From), append(n.to, r.To), append(n.sets, nil), append(n.head, r.Head)
		}
		n.sets[k] = append(n.sets[k], i)
	}
	n.average(c)
	return n
}

// average weighs repeats by their own variances; what they share stays.
func (n *network) average(c *Car) {
	m := len(n.sets)
	n.y, n.noise = make([]float64, m), infer.NewMatrix(m, m)
	full := c.noise()
	weights := make([][]float64, m)
	for k, set := range n.sets {
		total := 0.0
		for _, i := range set {
			w := 1 / c.Readings[i].Own
			weights[k], total = append(weights[k], w), total+w
		}
		for j, i := range set {
			weights[k][j] /= total
			n.y[k] += weights[k][j] * c.Readings[i].Value
		}
	}
	for k, a := range n.sets {
		for l, b := range n.sets {
			v := 4 * (square(c.FlowSD) + square(c.pace)) * n.head[k] * n.head[l]
			for i, ra := range a {
				for j, rb := range b {
					v += weights[k][i] * weights[l][j] * full.At(ra, rb)
				}
			}
			n.noise.Set(k, l, v)
		}
	}
}

// without leaves out the pairs for which drop is true.
func (n network) without(drop func(k int) bool) network {
	var keep []int
	for k := range n.sets {
		if !drop(k) {
			keep = append(keep, k)
		}
	}
	out := network{noise: infer.NewMatrix(len(keep), len(keep))}
	for i, k := range keep {
		out.from, out.to = append(out.from, n.from[k]), append(out.to, n.to[k])
		out.gauge = append(out.gauge, n.gauge[k])
		out.sets, out.y, out.head = append(out.sets, n.sets[k]), append(out.y, n.y[k]), append(out.head, n.head[k])
		for j, l := range keep {
			out.noise.Set(i, j, n.noise.At(k, l))
		}
	}
	return out
}

// verdict of a network: how badly the best losses fit, free and not below nought.
type fits struct {
	free, nonneg float64
	freedom      int
}

func (n network) fit(pieces int) fits {
	w, b, ok := n.white(pieces)
	if !ok {
		return fits{}
	}
	both := infer.NewMatrix(w.Rows, 2*w.Cols)
	for i := range w.Rows {
		for j := range w.Cols {
			both.Set(i, j, w.At(i, j))
			both.Set(i, j+w.Cols, -w.At(i, j))
		}
	}
	_, free := infer.NonNeg(both, b)
	_, nonneg := infer.NonNeg(w, b)
	return fits{free, nonneg, len(n.sets) - infer.Rank(w)}
}

// white is the whitened design over the stretches between stations that were
// read, and the whitened readings less their velocity heads.
func (n network) white(pieces int) (infer.Matrix, []float64, bool) {
	cuts := append(slices.Clone(n.from), n.to...)
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	h := infer.NewMatrix(len(n.sets), max(len(cuts)-1, 0))
	y := make([]float64, len(n.sets))
	for k := range n.sets {
		y[k] = n.y[k] - n.head[k]
		for j := range h.Cols {
			if n.from[k] <= cuts[j] && cuts[j] < n.to[k] {
				h.Set(k, j, 1)
			}
		}
	}
	return infer.Whiten(h, y, n.noise)
}

// checkNetwork asks whether losses that are not below nought explain the
// readings, and, where they don't, what would.
func (c *Car) checkNetwork() []Finding {
	n := c.network()
	if len(n.sets) == 0 {
		return nil
	}
	if found := c.checkBounds(n); len(found) > 0 {
		return found
	}
	f := n.fit(len(c.Pieces))
	if f.nonneg-f.free > fallLimit {
		return c.explainFall(n)
	}
	if f.freedom > 0 && infer.ChiSquareTail(f.free, float64(f.freedom)) < rareNetwork {
		return c.explainMisfit(n)
	}
	found := c.checkSetup(n)
	if slices.ContainsFunc(found, func(f Finding) bool { return f.Grave }) {
		return found
	}
	return append(c.checkLow(n), found...)
}

func (n network) sound(pieces int) bool {
	f := n.fit(pieces)
	if f.nonneg-f.free > fallLimit/2 {
		return false
	}
	return f.freedom <= 0 || infer.ChiSquareTail(f.free, float64(f.freedom)) > 0.01
}

func (c *Car) explainFall(n network) []Finding {
	if len(n.sets) == 1 {
		return []Finding{c.explainNothing(n)}
	}
	if a, b, ok := c.swap(n); ok {
		return []Finding{finding(true, assessment.Swapped, c.runsOf(n, a, b), "the readings at %s and %s fit the other way round: check whether the hoses or the lines on the sheet were swapped; if not, look for a leak or a lifted pedal", c.Stations[a].Name, c.Stations[b].Name)}
	}
	bad := c.suspects(n)
	text := "the loss falls downstream, which air does not do"
	out := []Finding{finding(true, assessment.LossFalls, c.runsOf(n, bad...), "%s: check taps, hoses, leaks and the zero of the gauge", text+c.near(bad))}
	if len(bad) == 1 {
		out = append(out, finding(true, assessment.TapDoubtful, c.runsOf(n, bad...), "without the tap at %s the readings agree: look for a burr, a leak or a tap in a jet there", c.Stations[bad[0]].Name))
	}
	return out
}

// explainNothing speaks of a single pair of stations that shows less than the
// velocity head alone.
func (c *Car) explainNothing(n network) Finding {
	if n.y[0] < -3*math.Sqrt(n.noise.At(0, 0)) {
		return finding(true, assessment.Swapped, c.runs(n.sets[0]), "the reading from %s is negative: check whether the two hoses were swapped at the gauge", c.span(c.Readings[n.sets[0][0]].At))
	}
	return finding(true, assessment.LossFalls, c.runs(n.sets[0]), "the reading from %s is less than the moving air alone makes: check for full throttle, a hose that is off, kinked or leaking, and the bore on the sheet", c.span(c.Readings[n.sets[0][0]].At))
}

// quarrel is a pair of stations that two gauges read further apart than both can
// err.
func (c *Car) quarrel(n network) []Finding {
	for i := range n.sets {
		for j := range i {
			if n.from[i] == n.from[j] && n.to[i] == n.to[j] && c.apartEnough(n, i, j) {
				return []Finding{finding(true, assessment.RunsDisagree, append(c.runs(n.sets[j]), c.runs(n.sets[i])...),
					"the gauges %s and %s differ between %s by more than both can err: check both against a column of water, then read again", n.gauge[j], n.gauge[i], c.span(c.Readings[n.sets[i][0]].At))}
			}
		}
	}
	return nil
}

func (c *Car) explainMisfit(n network) []Finding {
	if found := c.quarrel(n); len(found) > 0 {
		return found
	}
	bad := c.suspects(n)
	out := []Finding{finding(true, assessment.RunsDisagree, c.runsOf(n, bad...), "readings over different stretches contradict each other%s; read again", c.near(bad))}
	if len(bad) == 1 {
		out = append(out, finding(true, assessment.TapDoubtful, c.runsOf(n, bad...), "without the tap at %s the readings agree: look for a burr, a leak or a tap in a jet there", c.Stations[bad[0]].Name))
	}
	return out
}

func (c *Car) near(stations []int) string {
	if len(stations) == 0 {
		return ""
	}
	var names []string
	for _, k := range stations {
		names = append(names, c.Stations[k].Name)
	}
	return " (at " + strings.Join(names, " or ") + ")"
}

// suspects are the stations without which the other readings agree.
func (c *Car) suspects(n network) []int {
	var out []int
	for k := 1; k < len(c.Stations); k++ {
		touched := false
		rest := n.without(func(i int) bool {
			hit := n.from[i] == k || n.to[i] == k
			touched = touched || hit
			return hit
		})
		if touched && len(rest.sets) > 0 && rest.sound(len(c.Pieces)) {
			out = append(out, k)
		}
	}
	return out
}

// swap looks for two stations whose readings from the open air fit when they
// change places.
func (c *Car) swap(n network) (a, b int, ok bool) {
	for i := range n.sets {
		for j := i + 1; j < len(n.sets); j++ {
			if n.from[i] != n.from[j] || n.to[i] == n.to[j] {
				continue
			}
			other := n.without(func(int) bool { return false })
			other.y[i], other.y[j] = n.y[j], n.y[i]
			if other.sound(len(c.Pieces)) && c.apartEnough(n, i, j) {
				return min(n.to[i], n.to[j]), max(n.to[i], n.to[j]), true
			}
		}
	}
	return 0, 0, false
}

// apartEnough: two readings that differ by little prove no swap.
func (c *Car) apartEnough(n network, i, j int) bool {
	v := n.noise.At(i, i) + n.noise.At(j, j) - 2*n.noise.At(i, j)
	return math.Abs(n.y[i]-n.y[j]) > 3*math.Sqrt(max(v, 1))
}

func (c *Car) runsOf(n network, stations ...int) []int {
	var out []int
	for i, set := range n.sets {
		if len(stations) == 0 || slices.Contains(stations, n.from[i]) || slices.Contains(stations, n.to[i]) {
			out = append(out, c.runs(set)...)
		}
	}
	return out
}

// checkLow asks whether a stretch shows less than its geometry can lose at
// full load.
func (c *Car) checkLow(n network) []Finding {
	worst, at := 1.0, -1 // over the limit
	for k := range n.sets {
		limit := lowLimit
		for _, p := range c.Pieces[n.from[k]:n.to[k]] {
			if !p.Known {
				limit = lowBlind
			}
		}
		if z := c.below(n, k) / limit; z > worst {
			worst, at = z, k
		}
	}
	if at < 0 {
		return nil
	}
	return []Finding{finding(true, assessment.NotFullLoad, c.runs(n.sets[at]),
		"the reading from %s is far less than this path can lose at full load: check for full throttle, the gear, a hose that is off, kinked or leaking, and the sizes on the sheet", c.span(c.Readings[n.sets[at][0]].At))}
}

// below is how many standard deviations reading k lies below what the sound
// state of its pieces and its velocity head come to; lognormal in the sum.
func (c *Car) below(n network, k int) float64 {
	mean, variance := n.head[k], 0.0
	for _, p := range c.Pieces[n.from[k]:n.to[k]] {
		m := p.Median * math.Exp(p.LogSD*p.LogSD/2)
		mean += m
		variance += square(m) * math.Expm1(p.LogSD*p.LogSD)
	}
	if mean <= 0 {
		return 0
	}
	sd := math.Sqrt(n.noise.At(k, k))
	variance += (4*square(c.FlowSD) + 4*square(c.pace) + square(common)) * square(mean-n.head[k])
	s := math.Sqrt(math.Log1p(variance / square(mean)))
	y := max(n.y[k], 0.02*mean)
	return (math.Log(y/mean) + s*s/2) / math.Hypot(s, sd/max(y, sd))
}
