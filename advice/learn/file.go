package learn

import (
	"dropwalk/advice/model"
	"dropwalk/engine/strictyaml"
)

// Version of the file of priors.
const Version = 1

// Keys of the file.
const (
	keyPriors  = "priors"
	keyCars    = "cars"
	keyPieces  = "pieces"
	keyKinds   = "kinds"
	keyRuns    = "runs"
	keyRefits  = "refits"
	keyKind    = "kind"
	keyForm    = "form"
	keyFactor  = "factor"
	keyWeight  = "weight"
	keySeen    = "seen"
	keySpread  = "spread"
	keySpoilt  = "spoilt"
	keyScatter = "scatter"
	keyFreedom = "freedom"
	keyShare   = "share"
	keyVisits  = "visits"
)

// Write is the file of p, in YAML. Read gives the same priors back, what was left out
// excepted.
func Write(p *Priors) []byte {
	doc := strictyaml.NewMap()
	doc.Set(keyPriors, strictyaml.NewWhole(Version))
	doc.Set(keyCars, strictyaml.NewWhole(p.Cars))
	pieces := strictyaml.NewList()
	for _, g := range p.Groups {
		row := strictyaml.NewMap().Set(keyKind, strictyaml.NewText(g.Kind))
		if g.Form != "" {
			row.Set(keyForm, strictyaml.NewText(g.Form))
		}
		row.Set(keyFactor, strictyaml.NewNumber(g.Factor)).Set(keyWeight, strictyaml.NewNumber(g.Weight)).Set(keySeen, strictyaml.NewWhole(g.Pieces))
		pieces.Items = append(pieces.Items, row)
	}
	kinds := strictyaml.NewList()
	for _, k := range p.Kinds {
		kinds.Items = append(kinds.Items, strictyaml.NewMap().Set(keyKind, strictyaml.NewText(k.Kind)).Set(keySpread, strictyaml.NewNumber(k.Spread)).
			Set(keySpoilt, strictyaml.NewNumber(k.Spoilt)).Set(keyWeight, strictyaml.NewNumber(k.Weight)).Set(keySeen, strictyaml.NewWhole(k.Pieces)))
	}
	doc.Set(keyPieces, pieces).Set(keyKinds, kinds)
	doc.Set(keyRuns, strictyaml.NewMap().Set(keyScatter, strictyaml.NewNumber(p.Runs.Scatter)).Set(keyFreedom, strictyaml.NewNumber(p.Runs.Freedom)).
		Set(keyWeight, strictyaml.NewNumber(p.Runs.Weight)))
	doc.Set(keyRefits, strictyaml.NewMap().Set(keyShare, strictyaml.NewNumber(p.Refits.Share)).Set(keyVisits, strictyaml.NewWhole(p.Refits.Visits)).
		Set(keyWeight, strictyaml.NewNumber(p.Refits.Weight)))
	return append([]byte(heading), strictyaml.Write(doc)...)
}

var heading = `# What a workshop learnt from its own cars, for: dropwalk assess --priors FILE
# factor: loss of like pieces over the handbook's. weight: of these cars against the
# handbook, 0 to 1. A kind without a form stands for its other pieces.
`

// Read reads a file of priors, in YAML or JSON. Faults have their places; with an error
// among them there are no priors.
func Read(file string, src []byte) (*Priors, strictyaml.Faults) {
	n, faults := strictyaml.ParseYAML(file, src, 1)
	if len(faults.Errors()) > 0 {
		return nil, faults
	}
	if faults = append(faults, shape.Check(file, n)...); len(faults.Errors()) > 0 {
		return nil, faults
	}
	p := &Priors{Cars: n.Get(keyCars).Int(), Groups: []Group{}, Kinds: []Kind{}, Left: []LeftOut{}, Runs: Runs{Scatter: 1}}
	for _, row := range items(n.Get(keyPieces)) {
		p.Groups = append(p.Groups, Group{model.Group{Kind: row.Get(keyKind).Str(), Form: row.Get(keyForm).Str()},
			row.Get(keyFactor).Float(), row.Get(keyWeight).Float(), row.Get(keySeen).Int()})
	}
	for _, row := range items(n.Get(keyKinds)) {
		p.Kinds = append(p.Kinds, Kind{row.Get(keyKind).Str(), row.Get(keySpread).Float(), row.Get(keySpoilt).Float(), row.Get(keyWeight).Float(), row.Get(keySeen).Int()})
	}
	if r := n.Get(keyRuns); r != nil {
		p.Runs = Runs{r.Get(keyScatter).Float(), r.Get(keyFreedom).Float(), r.Get(keyWeight).Float()}
	}
	if r := n.Get(keyRefits); r != nil {
		p.Refits = Refits{r.Get(keyShare).Float(), r.Get(keyVisits).Int(), r.Get(keyWeight).Float()}
	}
	return p, faults
}

func items(n *strictyaml.Node) []*strictyaml.Node {
	if n == nil {
		return nil
	}
	return n.Items
}
