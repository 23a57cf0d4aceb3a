// Package remedy holds what can be done about each kind of component: the
// sentences stand in remedies/*.yaml, one file a kind, best remedy first. It
// judges no car; package report puts remedies beside an assessment.
//
// Start with For.
package remedy

import (
	"embed"
	"fmt"
	"path"
	"sync"

	"dropwalk/engine/strictyaml"
)

//go:embed remedies/*.yaml
var files embed.FS

// Remedy is one thing that can be done. Texts are whole sentences.
type Remedy struct {
	ID      string
	Do      string
	Effort  int    // 1 easy to 5 fabrication
	Gives   string // what it can give back at best
	Upsets  []string
	Test    string // how to see afterwards whether it helped
	Caution string // "" where the usual care will do
	Legal   string // "" where no rule is known to matter
	Leave   bool   // the advice is to leave the part alone
}

// sentence is the longest text of a remedy, in characters.
const sentence = 400

var shape = strictyaml.Keys(
	strictyaml.Key{Name: "kind", Shape: strictyaml.Text(40), Required: true, Doc: "kind of component"},
	strictyaml.Key{Name: "remedies", Required: true, Doc: "best first", Shape: strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Key{Name: "id", Shape: strictyaml.Text(40), Required: true, Doc: "name of the remedy"},
		strictyaml.Key{Name: "do", Shape: strictyaml.Text(sentence), Required: true, Doc: "what to do"},
		strictyaml.Key{Name: "effort", Shape: strictyaml.Whole(1, 5), Required: true, Doc: "1 easy to 5 fabrication"},
		strictyaml.Key{Name: "gives", Shape: strictyaml.Text(sentence), Required: true, Doc: "what it can give back at best"},
		strictyaml.Key{Name: "upsets", Shape: strictyaml.ListOf(strictyaml.Text(sentence), 1), Required: true, Doc: "what else it can upset"},
		strictyaml.Key{Name: "test", Shape: strictyaml.Text(sentence), Required: true, Doc: "how to test it afterwards"},
		strictyaml.Key{Name: "caution", Shape: strictyaml.Text(sentence), Doc: "what can hurt"},
		strictyaml.Key{Name: "legal", Shape: strictyaml.Text(sentence), Doc: "what rules can say"},
		strictyaml.Key{Name: "leave", Shape: strictyaml.Truth(), Doc: "true where the advice is to leave the part alone"},
	), 1)},
)

// For gives the remedies for a kind of component, best first, nil for a kind
// that has none. The slice is shared: don't change it.
func For(kind string) []Remedy { return shelf()[kind] }

// shelf reads all files once. A fault in them is a fault of the program; a
// test reads them first.
var shelf = sync.OnceValue(func() map[string][]Remedy {
	all, faults := load()
	if err := faults.Err(); err != nil {
		panic(fmt.Sprintf("the shipped remedies: %v", err))
	}
	return all
})

func load() (map[string][]Remedy, strictyaml.Faults) {
	entries, err := files.ReadDir("remedies")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	all := map[string][]Remedy{}
	var faults strictyaml.Faults
	for _, e := range entries {
		name := path.Join("remedies", e.Name())
		src, err := files.ReadFile(name)
		if err != nil {
			panic(err)
		}
		kind, list, bad := read(name, src)
		faults = append(faults, bad...)
		all[kind] = append(all[kind], list...)
	}
	return all, faults
}

// read reads one file.
func read(name string, src []byte) (kind string, list []Remedy, faults strictyaml.Faults) {
	n, faults := strictyaml.ParseYAML(name, src, 1)
	if len(faults.Errors()) > 0 {
		return "", nil, faults
	}
	if faults = append(faults, shape.Check(name, n)...); len(faults.Errors()) > 0 {
		return "", nil, faults
	}
	for _, r := range n.Get("remedies").Items {
		list = append(list, Remedy{
			ID: r.Get("id").Str(), Do: r.Get("do").Str(), Effort: r.Get("effort").Int(), Gives: r.Get("gives").Str(),
			Upsets: r.Get("upsets").Strs(), Test: r.Get("test").Str(),
			Caution: r.Get("caution").Str(), Legal: r.Get("legal").Str(), Leave: r.Get("leave").True(),
		})
	}
	return n.Get("kind").Str(), list, faults
}
