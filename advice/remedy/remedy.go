// Package remedy knows what can be done about each kind of component. The
// sentences stand in remedies/*.yaml, one file a kind; this package only reads
// them, strictly. It doesn't know the car: package report puts the two together.
package remedy

import (
	"embed"
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"

	"dropwalk/advice/sheet"
	"dropwalk/engine/strictyaml"
)

// Remedy is one thing that can be done about a component. All texts are whole
// sentences.
type Remedy struct {
	Do     string // what to do
	Effort int    // 1 easy to 5 fabrication
	Gives  string // what it can give back at best
	Upsets string // what else it can upset
	Test   string // how to test it afterwards
	Law    string // caution on law and emissions, "" where none is needed
}

//go:embed remedies/*.yaml
var files embed.FS

// noLaw is what the file says where a remedy needs no caution on law: so that
// nobody forgets to think of it.
const noLaw = "none"

// longest sentence or two that a tester reads at a bench, in runes.
const longest = 300

var remedyShape = strictyaml.Keys(
	strictyaml.Key{Name: "do", Shape: sentence(), Required: true, Doc: "what to do"},
	strictyaml.Key{Name: "effort", Shape: strictyaml.Whole(1, 5), Required: true, Doc: "1 (easy) to 5 (fabrication)"},
	strictyaml.Key{Name: "gives", Shape: sentence(), Required: true, Doc: "what it can give back at best"},
	strictyaml.Key{Name: "upsets", Shape: sentence(), Required: true, Doc: "what else it can upset"},
	strictyaml.Key{Name: "test", Shape: sentence(), Required: true, Doc: "how to test it afterwards"},
	strictyaml.Key{Name: "law", Shape: sentence(noLaw), Required: true, Doc: "caution on law and emissions, or none"},
)

var fileShape = strictyaml.Keys(
	strictyaml.Key{Name: "kind", Shape: strictyaml.Words(sheet.Kinds()...), Required: true, Doc: "kind of component"},
	strictyaml.Key{Name: "remedies", Shape: strictyaml.ListOf(remedyShape, 1).Also(eachOnce), Required: true, Doc: "best first"},
)

// sentence is a text that ends as a sentence does, or one of a few words.
func sentence(words ...string) *strictyaml.Shape {
	return strictyaml.Text(longest).Also(func(n *strictyaml.Node, r *strictyaml.Report) {
		if text := n.Str(); !strings.HasSuffix(text, ".") && !slices.Contains(words, text) {
			r.At(n, fmt.Sprintf("%q is no whole sentence", text), strictyaml.Either(append([]string{"a full stop at its end"}, words...)), "")
		}
	})
}

func eachOnce(n *strictyaml.Node, r *strictyaml.Report) {
	seen := map[string]bool{}
	for _, item := range n.Items {
		do := item.Get("do").Str()
		if do != "" && seen[do] {
			r.AtKey(item, "do", fmt.Sprintf("%q stands here twice", do), "each remedy once", "")
		}
		seen[do] = true
	}
}

// read reads the remedies of one kind. The file must be called after its kind.
func read(file string, src []byte) (kind string, list []Remedy, faults strictyaml.Faults) {
	n, faults := strictyaml.ParseYAML(file, src, 1)
	if len(faults.Errors()) > 0 {
		return "", nil, faults
	}
	faults = append(faults, fileShape.Check(file, n)...)
	kind = n.Get("kind").Str()
	if named := strings.TrimSuffix(path.Base(file), ".yaml"); kind != "" && kind != named {
		r := strictyaml.Report{File: file}
		r.AtKey(n, "kind", fmt.Sprintf("a file called %s.yaml about the kind %q", named, kind), "the kind that the file is called after", "")
		faults = append(faults, r.Faults...)
	}
	if len(faults.Errors()) > 0 {
		return "", nil, faults.Sorted()
	}
	for _, item := range n.Get("remedies").Items {
		list = append(list, one(item))
	}
	return kind, list, faults
}

func one(n *strictyaml.Node) Remedy {
	r := Remedy{
		Do:     n.Get("do").Str(),
		Effort: n.Get("effort").Int(),
		Gives:  n.Get("gives").Str(),
		Upsets: n.Get("upsets").Str(),
		Test:   n.Get("test").Str(),
		Law:    n.Get("law").Str(),
	}
	if r.Law == noLaw {
		r.Law = ""
	}
	return r
}

// load reads all shipped files.
func load() (map[string][]Remedy, strictyaml.Faults) {
	return strictyaml.ReadFolder(files, "remedies", read)
}

var shipped = sync.OnceValue(func() map[string][]Remedy {
	byKind, faults := load()
	if err := faults.Err(); err != nil {
		panic(fmt.Sprintf("the shipped remedies: %v", err)) // a test reads them
	}
	return byKind
})

// For lists what can be done about a kind of component, best first; nil for a
// kind that doesn't exist.
func For(kind string) []Remedy { return slices.Clone(shipped()[kind]) }
