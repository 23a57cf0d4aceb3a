package compare

import (
	"fmt"
	"math"

	"dropwalk/advice/assessment"
	"dropwalk/engine/strictyaml"
)

// Schema is the JSON Schema of a comparison, draft 7.
func Schema() []byte {
	return shape.Schema("compare-1.schema.json", "Comparison of an intake path before and after a change, version 1")
}

// Check holds one JSON object against the schema and against what a schema can't
// say: that intervals are ordered and that a cure goes with its number.
func Check(file string, src []byte) strictyaml.Faults {
	return shape.CheckJSON(file, src)
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
	estimate = assessment.Interval("2.5 in 100 lie below", "2.5 in 100 lie above")
)

var change = strictyaml.Keys(
	strictyaml.Need("from", named, "upstream station"),
	strictyaml.Need("to", named, "downstream station"),
	strictyaml.Need("change_pa", estimate, "change of the loss at the reference point, after less before, Pa: below nought is better"),
	strictyaml.Need("verdict", strictyaml.Words(Verdicts()...), "better and worse: the 95 % interval leaves nought out; no-meaningful-change: the 90 % interval lies within worth_pa"),
	strictyaml.Need("measurable", strictyaml.Truth(), "the 95 % interval leaves nought out, whatever the verdict"),
	strictyaml.Need("runs_needed", strictyaml.OrNull(strictyaml.Whole(1, math.MaxInt32)), "about how many further runs in each block would settle it; null where they would not, or nothing is open"),
	strictyaml.Need("refits_needed", strictyaml.OrNull(strictyaml.Whole(1, math.MaxInt32)), "about how many further rounds of before and after would settle it, where further runs would not"),
	strictyaml.Need("cure", strictyaml.Words("", cureRuns, cureRefits, cureNone), "which of the two settles it; empty where nothing is open"),
	strictyaml.Need("beyond_worth", strictyaml.Truth(), "the whole interval lies beyond worth_pa"),
	strictyaml.Need("before_pa", anything, "mean reading before, velocity head inside, Pa"),
	strictyaml.Need("after_pa", anything, "mean reading after, Pa"),
	strictyaml.Need("heads_pa", anything, "velocity head that other bores at the taps add to the reading; taken off the change, Pa"),
	strictyaml.Need("worth_pa", positive, "smallest change worth having, Pa"),
	strictyaml.Need("standard_error_pa", positive, "of the change, all errors together, Pa"),
	strictyaml.Need("freedom", strictyaml.OrNull(positive), "degrees of freedom of that error (Welch and Satterthwaite); null: endless"),
	strictyaml.Need("scatter_pa", positive, "standard deviation of one run, Pa"),
	strictyaml.Need("refit", strictyaml.Keys(
		strictyaml.Need("sd_pa", positive, "standard deviation from one fitting to the next, Pa"),
		strictyaml.Need("from", strictyaml.Words(RefitStated, RefitHistory, RefitUsual, RefitClass, RefitLearnt), "who knows it: the user, the car's earlier visits, nobody, a class whose groups measured one car, or other cars of the workshop"),
	), "what taking parts off and fitting them again adds to each block"),
	strictyaml.Need("shared_error_pa", positive, "part of the error that gauges, days and the way to the reference point share, Pa"),
	strictyaml.Need("drift_pa_per_run", strictyaml.OrNull(estimate), "drift from run to run, taken off the change, Pa; null where two blocks can't tell it"),
	strictyaml.Need("runs", strictyaml.ListOf(strictyaml.Whole(0, math.MaxInt32), 2), "runs in each block"),
	strictyaml.Need("pieces", strictyaml.ListOf(named, 0), "components between the stations, before the change"),
).Named("change").Called("a change").Also(cured)

var shape = strictyaml.Keys(
	strictyaml.Need("compare", strictyaml.Whole(Version, Version).Called("1"), "version of the format"),
	strictyaml.Need("pairs", strictyaml.ListOf(change, 1), "every pair of stations that all sheets read"),
	strictyaml.Need("total", strictyaml.OrNull(change), "the longest pair from the open air; null where none was read"),
	strictyaml.Need("power_percent", strictyaml.OrNull(estimate), "power that comes back, percent; null where nothing honest can be said"),
	strictyaml.Need("power_note", words(), "what the power rests on, or why there is none"),
	strictyaml.Need("losses", strictyaml.ListOf(change, 0), "changes between neighbouring stations, in the order of the path"),
	strictyaml.Need("design", strictyaml.Words(AB, ABA), "before and after, or before, after and before again"),
	strictyaml.Need("blocks", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("title", words(), "title of the sheet"),
		strictyaml.Need("car", words(), "name of the car"),
		strictyaml.Need("date", words(), "date of the visit"),
		strictyaml.Need("changes", words(), "what was done to the car, as the sheet states it"),
	), 2), "the sheets"),
	strictyaml.Need("reference", strictyaml.Keys(
		strictyaml.Need("rpm", positive, "engine speed"),
		strictyaml.Need("air_density_kg_m3", positive, "density of the air, kg/m3"),
	), "the point at which all is compared"),
	strictyaml.Need("notes", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("code", strictyaml.Text(nameLength).With(map[string]any{"type": "string", "pattern": "^[a-z]+(-[a-z]+)*$"}), "what kind of note; more may come with later releases, none changes its name"),
		strictyaml.Need("text", words(), "the note in words"),
	), 0), "what the reader should know"),
).Called("a comparison")

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
