package learn

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
	"dropwalk/engine/strictyaml"
)

// Limits of what a file may say. A factor of ten either way is no prior any more but a
// slip of the point.
const (
	leastFactor, mostFactor = 0.1, 10
	leastSpread, mostSpread = 0.1, 5
	mostShare               = 0.2
)

var (
	part  = strictyaml.Number(0, 1)
	count = strictyaml.Whole(0, math.MaxInt32)
)

var shape = strictyaml.Keys(
	strictyaml.Need(keyPriors, strictyaml.Whole(Version, Version).Called("1"), "version of the format"),
	strictyaml.Need(keyCars, count, "how many cars were learned from"),
	strictyaml.Key{Name: keyPieces, Shape: strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need(keyKind, strictyaml.Words(sheet.Kinds()...), "kind of component"),
		strictyaml.Key{Name: keyForm, Shape: strictyaml.Words(Forms()...), Doc: "its edge or surface, or no-sizes where the size that counts isn't known; left out: all other pieces of the kind"},
		strictyaml.Need(keyFactor, strictyaml.Number(leastFactor, mostFactor), "loss of a sound piece over the handbook's"),
		strictyaml.Need(keyWeight, part, "of these cars against the handbook: how well the factor is known"),
		strictyaml.Key{Name: keySeen, Shape: count, Doc: "pieces that readings span"},
	), 0).Also(distinctPieces), Doc: "like pieces"},
	strictyaml.Key{Name: keyKinds, Shape: strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need(keyKind, strictyaml.Words(sheet.Kinds()...), "kind of component"),
		strictyaml.Need(keySpread, strictyaml.Number(leastSpread, mostSpread), "scatter of single sound pieces over the handbook's"),
		strictyaml.Need(keySpoilt, strictyaml.Number(0, 0.9), "chance that one is crushed, blocked or dirty"),
		strictyaml.Key{Name: keyWeight, Shape: part, Doc: "of these cars in that chance"},
		strictyaml.Key{Name: keySeen, Shape: count, Doc: "pieces that readings span"},
	), 0).Also(distinctKinds), Doc: "kinds of components"},
	strictyaml.Key{Name: keyRuns, Shape: strictyaml.Keys(
		strictyaml.Need(keyScatter, strictyaml.Number(0.2, 5), "scatter from run to run over the usual one"),
		strictyaml.Key{Name: keyFreedom, Shape: strictyaml.Number(0, math.MaxInt32), Doc: "degrees of freedom that tell it"},
		strictyaml.Key{Name: keyWeight, Shape: part, Doc: "of these cars"},
	), Doc: "runs"},
	strictyaml.Key{Name: keyRefits, Shape: strictyaml.Keys(
		strictyaml.Need(keyShare, strictyaml.Number(0, mostShare), "scatter of a block from one fitting to the next, as a share of the reading"),
		strictyaml.Key{Name: keyVisits, Shape: count, Doc: "visits that tell it"},
		strictyaml.Key{Name: keyWeight, Shape: part, Doc: "of these cars"},
	), Doc: "fittings"},
).Called("priors")

// Forms lists the forms of all kinds.
func Forms() []string {
	var out []string
	for _, kind := range sheet.Kinds() {
		for _, form := range model.Forms(kind) {
			if !slices.Contains(out, form) {
				out = append(out, form)
			}
		}
	}
	return out
}

func distinctPieces(n *strictyaml.Node, r *strictyaml.Report) {
	met := map[model.Group]bool{}
	for _, row := range n.Items {
		g := model.Group{Kind: row.Get(keyKind).Str(), Form: row.Get(keyForm).Str()}
		forms := model.Forms(g.Kind)
		switch {
		case g.Form != "" && slices.Contains(sheet.Kinds(), g.Kind) && slices.Contains(Forms(), g.Form) && !slices.Contains(forms, g.Form):
			r.At(row.Get(keyForm), fmt.Sprintf("a %s has no form %q", g.Kind, g.Form), "one of "+strings.Join(forms, ", "), "")
		case met[g]:
			r.At(row, strings.TrimSpace(g.Kind+" "+g.Form)+" stands twice", "each form of a kind once", "leave out one of them")
		}
		met[g] = true
	}
}

func distinctKinds(n *strictyaml.Node, r *strictyaml.Report) {
	met := map[string]bool{}
	for _, row := range n.Items {
		kind := row.Get(keyKind).Str()
		if met[kind] {
			r.At(row, fmt.Sprintf("the kind %q stands twice", kind), "each kind once", "leave out one of them")
		}
		met[kind] = true
	}
}

// Schema is the JSON Schema of a file of priors, draft 7.
func Schema() []byte { return shape.Schema("priors-1.schema.json", "Priors of a workshop, version 1") }
