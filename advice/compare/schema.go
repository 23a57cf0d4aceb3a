package compare

import (
	"fmt"
	"math"

	"dropwalk/engine/strictyaml"
)

// Schema is the JSON Schema of a comparison, draft 7.
func Schema() []byte {
	return shape.Schema("compare-1.schema.json", "Comparison of an intake path before and after a change, version 1")
}

// Check holds one JSON object against the schema and against what a schema can't
// say: that intervals are ordered and that a cure goes with its number.
func Check(file string, src []byte) strictyaml.Faults {
	n, faults := strictyaml.ParseJSON(file, src, 1)
	if n == nil {
		return faults
	}
	return append(faults, shape.Check(file, n)...).Sorted()
}

// Bounds of texts.
const (
	nameLength = 64
	textLength = 4000
)

var (
	anything = strictyaml.Number(math.Inf(-1), math.Inf(1))
	positive = strictyaml.Number(0, math.Inf(1))
	words    = func() *strictyaml.Shape { return strictyaml.Prose(textLength).OrEmpty() }
	named    = strictyaml.Text(nameLength)
	orNull   = func(s *strictyaml.Shape) *strictyaml.Shape { return strictyaml.OneOf(strictyaml.Nothing(), s) }
	estimate = strictyaml.Keys(
		need("median", anything, "middle of the distribution"),
		need("low", anything, "2.5 in 100 lie below"),
		need("high", anything, "2.5 in 100 lie above"),
	).Named("estimate").Called("an estimate").Also(ordered)
)

func need(name string, s *strictyaml.Shape, doc string) strictyaml.Key {
	return strictyaml.Key{Name: name, Shape: s, Required: true, Doc: doc}
}

var change = strictyaml.Keys(
	need("from", named, "upstream station"),
	need("to", named, "downstream station"),
	need("change_pa", estimate, "change of the loss at the reference point, after less before, Pa: below nought is better"),
	need("verdict", strictyaml.Words(Verdicts()...), "better and worse: the 95 % interval leaves nought out; no-meaningful-change: the 90 % interval lies within worth_pa"),
	need("measurable", strictyaml.Truth(), "the 95 % interval leaves nought out, whatever the verdict"),
	need("runs_needed", orNull(strictyaml.Whole(1, math.MaxInt32)), "about how many further runs in each block would settle it; null where they would not, or nothing is open"),
	need("refits_needed", orNull(strictyaml.Whole(1, math.MaxInt32)), "about how many further rounds of before and after would settle it, where further runs would not"),
	need("cure", strictyaml.Words("", cureRuns, cureRefits, cureNone), "which of the two settles it; empty where nothing is open"),
	need("beyond_worth", strictyaml.Truth(), "the whole interval lies beyond worth_pa"),
	need("before_pa", anything, "mean reading before, velocity head inside, Pa"),
	need("after_pa", anything, "mean reading after, Pa"),
	need("heads_pa", anything, "velocity head that other bores at the taps add to the reading; taken off the change, Pa"),
	need("worth_pa", positive, "smallest change worth having, Pa"),
	need("standard_error_pa", positive, "of the change, all errors together, Pa"),
	need("freedom", orNull(positive), "degrees of freedom of that error (Welch and Satterthwaite); null: endless"),
	need("scatter_pa", positive, "standard deviation of one run, Pa"),
	need("refit", strictyaml.Keys(
		need("sd_pa", positive, "standard deviation from one fitting to the next, Pa"),
		need("from", strictyaml.Words(RefitStated, RefitHistory, RefitUsual), "who knows it: the user, the car's earlier visits, or nobody"),
	), "what taking parts off and fitting them again adds to each block"),
	need("shared_error_pa", positive, "part of the error that gauges, days and the way to the reference point share, Pa"),
	need("drift_pa_per_run", orNull(estimate), "drift from run to run, taken off the change, Pa; null where two blocks can't tell it"),
	need("runs", strictyaml.ListOf(strictyaml.Whole(0, math.MaxInt32), 2), "runs in each block"),
	need("pieces", strictyaml.ListOf(named, 0), "components between the stations, before the change"),
).Named("change").Called("a change").Also(cured)

var shape = strictyaml.Keys(
	need("compare", strictyaml.Whole(Version, Version).Called("1"), "version of the format"),
	need("pairs", strictyaml.ListOf(change, 1), "every pair of stations that all sheets read"),
	need("total", orNull(change), "the longest pair from the open air; null where none was read"),
	need("power_percent", orNull(estimate), "power that comes back, percent; null where nothing honest can be said"),
	need("power_note", words(), "what the power rests on, or why there is none"),
	need("losses", strictyaml.ListOf(change, 0), "changes between neighbouring stations, in the order of the path"),
	need("design", strictyaml.Words(AB, ABA), "before and after, or before, after and before again"),
	need("blocks", strictyaml.ListOf(strictyaml.Keys(
		need("title", words(), "title of the sheet"),
		need("car", words(), "name of the car"),
		need("date", words(), "date of the visit"),
		need("changes", words(), "what was done to the car, as the sheet states it"),
	), 2), "the sheets"),
	need("reference", strictyaml.Keys(
		need("rpm", positive, "engine speed"),
		need("air_density_kg_m3", positive, "density of the air, kg/m3"),
	), "the point at which all is compared"),
	need("notes", strictyaml.ListOf(strictyaml.Keys(
		need("code", strictyaml.Text(nameLength).With(map[string]any{"type": "string", "pattern": "^[a-z]+(-[a-z]+)*$"}), "what kind of note; more may come with later releases, none changes its name"),
		need("text", words(), "the note in words"),
	), 0), "what the reader should know"),
).Called("a comparison")

func ordered(n *strictyaml.Node, r *strictyaml.Report) {
	low, median, high := n.Get("low"), n.Get("median"), n.Get("high")
	if low == nil || median == nil || high == nil {
		return
	}
	if low.Float() > median.Float() || median.Float() > high.Float() {
		r.At(n, fmt.Sprintf("low %s, median %s, high %s", low.Str(), median.Str(), high.Str()), "them in rising order", "")
	}
}

func cured(n *strictyaml.Node, r *strictyaml.Report) {
	cure := n.Get("cure").Str()
	for key, want := range map[string]bool{"runs_needed": cure == cureRuns, "refits_needed": cure == cureRefits} {
		if v := n.Get(key); v != nil && (v.Kind != strictyaml.Null) != want {
			r.AtKey(n, key, fmt.Sprintf("%s where the cure is %q", key, cure), "a number with its own cure, and null without", "")
		}
	}
	if n.Has("cure") && (n.Get("verdict").Str() == CannotTell) != (cure != "") {
		r.AtKey(n, "cure", fmt.Sprintf("the cure %q under the verdict %q", cure, n.Get("verdict").Str()), "one only where the verdict is "+CannotTell, "")
	}
}
