package assessment

import (
	"fmt"
	"math"
	"slices"

	"dropwalk/engine/strictyaml"
)

// Version is the version of the assessment that this package writes.
const Version = 1

// What a component's loss rests on.
const (
	RestsOnReadings = "readings"
	RestsOnHandbook = "handbook"
	RestsOnBoth     = "both"
)

// How a tap of the next reading is made.
const (
	Fitted = "fitted" // in use already
	Port   = "port"
	Drill  = "drill"
)

// Verdicts lists the verdicts.
func Verdicts() []string { return []string{Measure, Attack, LeaveAlone, Recheck} }

// Codes lists the codes of remarks. More may come with later releases; none
// changes its name.
func Codes() []string {
	return []string{OffScale, UnreadableValue, BelowResolution, RunsDisagree, LossFalls, NotFullLoad, ZeroShift, Leak, Swapped, TapDoubtful, GaugeOverdue, Wide, FlowDoubtful, FarRPM, ClosesUp, OwnPriors}
}

// Schema is the JSON Schema of an assessment, draft 7.
func Schema() []byte {
	return shape.Schema("assessment-1.schema.json", "Assessment of an intake path, version 1")
}

// Check holds one JSON object against the schema and against what a schema
// can't say: that intervals are ordered, that chances add up, that verdict,
// attack, best guess and next reading agree, and that names name components.
func Check(file string, src []byte) strictyaml.Faults {
	return shape.CheckJSON(file, src)
}

var (
	anything = strictyaml.Number(math.Inf(-1), math.Inf(1))
	chance   = strictyaml.Number(0, 1)
	words    = func(most int) *strictyaml.Shape { return strictyaml.Prose(most).OrEmpty() }
	named    = strictyaml.Text(64)
	estimate = Interval("5 in 100 lie below", "5 in 100 lie above")
)

// Interval is the shape of an estimate, its three figures in rising order. Low and
// high say what lies beyond its ends.
func Interval(low, high string) *strictyaml.Shape {
	return strictyaml.Keys(
		strictyaml.Need("median", anything, "middle of the distribution"),
		strictyaml.Need("low", anything, low),
		strictyaml.Need("high", anything, high),
	).Named("estimate").Called("an estimate").Also(ordered)
}

// textLength bounds a sentence of the assessment.
const textLength = 4000

var component = strictyaml.Keys(
	strictyaml.Need("name", named, "the name in the sheet"),
	strictyaml.Need("kind", named, "the kind in the sheet"),
	strictyaml.Need("rests_on", strictyaml.Words(RestsOnReadings, RestsOnHandbook, RestsOnBoth), "what the loss rests on"),
	strictyaml.Need("loss_pa", estimate, "drop of total pressure at the reference point, Pa"),
	strictyaml.Need("handbook_loss_pa", estimate, "what the handbook alone would say, Pa"),
	strictyaml.Need("recoverable_pa", estimate, "the part that a well-made replacement of the same size would not have, Pa"),
	strictyaml.Need("chance_first", chance, "probability that this component has the largest recoverable loss; nought where it is fixed"),
).Named("component")

var gain = strictyaml.Keys(
	strictyaml.Need("power_percent", strictyaml.OrNull(estimate), "power that comes back, percent; null where nothing honest can be said"),
	strictyaml.Need("power_kw", strictyaml.OrNull(estimate), "the same in kW; null where the peak power is not known"),
	strictyaml.Need("note", words(textLength), "what the gain rests on, or why there is none"),
).Named("gain")

var tap = strictyaml.Keys(
	strictyaml.Need("station", named, "where"),
	strictyaml.Need("how", strictyaml.Words(Fitted, Port, Drill), "fitted already, a port, or a hole to be drilled"),
)

var next = strictyaml.Keys(
	strictyaml.Need("from", named, "upstream station"),
	strictyaml.Need("to", named, "downstream station"),
	strictyaml.Need("gauge", words(64), "name of the gauge; empty where none is known"),
	strictyaml.Need("taps", strictyaml.ListOf(tap, 0), "connections that it takes"),
	strictyaml.Need("runs", strictyaml.Whole(1, 99), "full-load runs"),
	strictyaml.Need("reason", words(textLength), "why it is worth its cost"),
).Named("next")

var remark = strictyaml.Keys(
	strictyaml.Need("code", strictyaml.Text(64).With(map[string]any{"type": "string", "pattern": "^[a-z]+(-[a-z]+)*$"}), "what kind of remark; more may come with later releases, none changes its name"),
	strictyaml.Need("text", words(textLength), "the remark in words"),
	strictyaml.Need("runs", strictyaml.ListOf(strictyaml.Whole(0, 9999), 0), "the runs that it is about"),
)

var shape = strictyaml.Keys(
	strictyaml.Need("assessment", strictyaml.Whole(Version, Version).Called("1"), "version of the format"),
	strictyaml.Need("title", words(200), "title of the sheet"),
	strictyaml.Need("seed", strictyaml.Whole(math.MinInt64, math.MaxInt64), "seed of the random numbers: the same sheet, release and seed give the same bytes"),
	strictyaml.Need("reference", strictyaml.Keys(
		strictyaml.Need("rpm", strictyaml.Number(0, 25000), "engine speed"),
		strictyaml.Need("air_density_kg_m3", strictyaml.Number(0, 5), "density of the air, kg/m3"),
		strictyaml.Need("mass_flow_g_s", estimate, "air that the engine draws, g/s"),
	), "the point at which losses are quoted"),
	strictyaml.Need("verdict", strictyaml.Words(Verdicts()...), "what to do: measure on, attack a component, leave alone, or check the readings"),
	strictyaml.Need("total_loss_pa", estimate, "loss of the whole path, Pa"),
	strictyaml.Need("total_restriction_pa", estimate, "static pressure at the end of the path below the open air, Pa"),
	strictyaml.Need("velocity_head_pa", strictyaml.MapOf(estimate), "velocity head at each tap in use, Pa, by station"),
	strictyaml.Need("components", strictyaml.ListOf(component, 1), "the components in the order of the path"),
	strictyaml.Need("together", strictyaml.ListOf(strictyaml.ListOf(named, 1), 0), "sets of components of which the readings show only the sum"),
	strictyaml.Need("best_guess", strictyaml.OrNull(named), "the present best component to change"),
	strictyaml.Need("attack", strictyaml.OrNull(named), "the component to change first; null unless the verdict is attack"),
	strictyaml.Need("attack_group", strictyaml.ListOf(named, 0), "the components from which the readings can't tell attack apart"),
	strictyaml.Need("gain", gain, "what changing the best guess gives"),
	strictyaml.Need("gain_all", gain, "what recovering everything recoverable gives"),
	strictyaml.Need("next", strictyaml.OrNull(next), "the next reading worth taking; null unless the verdict is measure"),
	strictyaml.Need("remarks", strictyaml.ListOf(remark, 0), "what the reader should know about the readings"),
).Called("an assessment").Also(agreeing)

func ordered(n *strictyaml.Node, r *strictyaml.Report) {
	low, median, high := n.Get("low"), n.Get("median"), n.Get("high")
	if low == nil || median == nil || high == nil {
		return
	}
	if low.Float() > median.Float() || median.Float() > high.Float() {
		r.At(n, fmt.Sprintf("low %s, median %s, high %s", low.Str(), median.Str(), high.Str()), "them in rising order", "")
	}
}

// chanceSlack is how far a sum of chances may lie from 1: far above rounding,
// far below anything that shows.
const chanceSlack = 1e-6

func agreeing(n *strictyaml.Node, r *strictyaml.Report) {
	var names []string
	sum, largest := 0.0, 0.0
	list := n.Get("components")
	if list == nil || list.Kind != strictyaml.List {
		return
	}
	for _, c := range list.Items {
		names = append(names, c.Get("name").Str())
		sum += c.Get("chance_first").Float()
		largest = max(largest, c.Get("chance_first").Float())
	}
	if math.Abs(sum-1) > chanceSlack && sum != 0 && largest <= 1 {
		r.At(list, fmt.Sprintf("chances that add up to %g", sum), "1, or 0 where every component is fixed", "")
	}
	agreeOnVerdict(n, sum > 0, r)
	for _, name := range namesIn(n) {
		if !slices.Contains(names, name.Str()) {
			r.At(name, fmt.Sprintf("%q is no component", name.Str()), "a name that components has", "")
		}
	}
}

// namesIn lists the nodes that must name components.
func namesIn(n *strictyaml.Node) []*strictyaml.Node {
	var out []*strictyaml.Node
	add := func(m *strictyaml.Node) {
		if m != nil && m.Kind == strictyaml.Scalar {
			out = append(out, m)
		}
	}
	add(n.Get("best_guess"))
	add(n.Get("attack"))
	for i := 0; n.Get("attack_group").Item(i) != nil; i++ {
		add(n.Get("attack_group").Item(i))
	}
	for i := 0; n.Get("together").Item(i) != nil; i++ {
		set := n.Get("together").Item(i)
		for k := 0; set.Item(k) != nil; k++ {
			add(set.Item(k))
		}
	}
	return out
}

// agreeOnVerdict sees to what each verdict fills in. Choice is false where every
// component is fixed: then there is nothing to guess.
func agreeOnVerdict(n *strictyaml.Node, choice bool, r *strictyaml.Report) {
	verdict := n.Get("verdict").Str()
	is := func(key string) bool { return n.Get(key) != nil && n.Get(key).Kind != strictyaml.Null }
	for _, c := range []struct {
		key  string
		want bool
	}{
		{"next", verdict == Measure},
		{"attack", verdict == Attack},
		{"best_guess", choice && (verdict == Measure || verdict == Attack)},
	} {
		if n.Has(c.key) && slices.Contains(Verdicts(), verdict) && is(c.key) != c.want {
			expected := "null"
			if c.want {
				expected = "it filled in"
			}
			r.AtKey(n, c.key, fmt.Sprintf("%s under the verdict %q", c.key, verdict), expected, "")
		}
	}
}
