package finding

import (
	"fmt"
	"math"
	"regexp"

	"dropwalk/engine/strictyaml"
)

// Schema is the JSON Schema of a finding, draft 7.
func Schema() []byte {
	return documentShape.Schema("finding-1.schema.json", "What a further test found, version 1")
}

// Check holds one JSON object against the schema and against what a schema can't
// say: that the ends of an interval are in order, and that what nobody tested has no
// figures.
func Check(file string, src []byte) strictyaml.Faults {
	return documentShape.CheckJSON(file, src)
}

// textLength bounds a sentence of a finding.
const textLength = 4000

var (
	orNumber = func(doc, name string) strictyaml.Key {
		return strictyaml.Need(name, strictyaml.OrNull(strictyaml.Number(math.Inf(-1), math.Inf(1))), doc)
	}
	prose  = func() *strictyaml.Shape { return strictyaml.Prose(textLength) }
	kebab  = strictyaml.Text(longest).With(map[string]any{"type": "string", "pattern": figureName.String()}).Also(named)
	proses = func(least int) *strictyaml.Shape { return strictyaml.ListOf(prose(), least) }
)

// figureName is what figures, tests and verdicts are called.
var figureName = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

func named(n *strictyaml.Node, r *strictyaml.Report) {
	if !figureName.MatchString(n.Str()) {
		r.At(n, fmt.Sprintf("%q is no name of small letters, digits and hyphens", n.Str()), "such as rise-steady", "")
	}
}

var figureShape = strictyaml.Keys(
	strictyaml.Need("name", kebab, "name of the figure; it stays from release to release"),
	strictyaml.Need("label", prose(), "what it is, for people"),
	orNumber("the figure; null where only a bound is known, or nothing", "value"),
	orNumber("5 in 100 lie below, or a lower bound; null where that isn't known", "low"),
	orNumber("5 in 100 lie above, or an upper bound; null where that isn't known", "high"),
	strictyaml.Need("unit", strictyaml.Text(longest), "its unit: SI, % for shares, 1 for plain numbers"),
	strictyaml.Need("how", strictyaml.Words(Measured, Inferred, NotTested), "whether it was read on the car, worked out, or not looked at"),
	strictyaml.Need("rests_on", prose().OrEmpty(), "what it rests on, or why nobody knows it"),
).Named("figure").Called("a figure").Also(inOrder)

var documentShape = strictyaml.Keys(
	strictyaml.Need("finding", strictyaml.Whole(Version, Version).Called("1"), "version of the format"),
	strictyaml.Need("test", kebab, "name of the test"),
	strictyaml.Need("title", prose(), "the question that it answers"),
	strictyaml.Need("verdict", kebab, "the verdict; which there are depends on the test"),
	strictyaml.Need("says", prose(), "the verdict in words"),
	strictyaml.Need("figures", strictyaml.ListOf(figureShape, 0), "what was found"),
	strictyaml.Need("sentences", proses(0), "more on it"),
	strictyaml.Need("next", prose(), "what to do now"),
	strictyaml.Need("not_tested", proses(0), "what the test can't tell"),
	strictyaml.Need("cautions", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("level", strictyaml.Words(levels...), "signal word of ANSI Z535.6"),
		strictyaml.Need("text", prose(), "hazard, what it does, how to avoid it"),
	), 0), "what can hurt somebody"),
).Called("a finding")

func inOrder(n *strictyaml.Node, r *strictyaml.Report) {
	last, known := math.Inf(-1), 0
	for _, key := range []string{"low", "value", "high"} {
		x := n.Get(key)
		if x == nil || x.Kind == strictyaml.Null {
			continue
		}
		known++
		if v := x.Float(); v < last {
			r.AtKey(n, key, fmt.Sprintf("%s lies below what stands before it", key), "low, value and high in rising order", "")
		} else {
			last = v
		}
	}
	if (n.Get("how").Str() == NotTested) != (known == 0) {
		r.AtKey(n, "how", fmt.Sprintf("%q with %d figures", n.Get("how").Str(), known), NotTested+" where value, low and high are null, and nowhere else", "")
	}
}
