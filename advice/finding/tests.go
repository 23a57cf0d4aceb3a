package finding

import (
	"embed"
	"fmt"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"

	"dropwalk/engine/strictyaml"
)

// kind is what is the same at every run of a test.
type kind struct {
	title     string
	outcomes  map[string]outcome // by verdict
	notTested []string
	cautions  []Caution
}

// outcome is what a verdict says and what is done next.
type outcome struct{ says, next string }

//go:embed tests/*.yaml
var files embed.FS

// longest text of one row, in runes.
const longest = 600

// levels are the signal words of ANSI Z535.6, the gravest first.
var levels = []string{"danger", "warning", "caution", "notice"}

var outcomeShape = strictyaml.Keys(
	strictyaml.Need("verdict", strictyaml.Text(longest).Also(wordOnly), "one word of small letters and hyphens, a fact that rules of a procedure may name"),
	strictyaml.Need("says", strictyaml.Text(longest).Also(whole), "the verdict in words"),
	strictyaml.Need("next", strictyaml.Text(longest).Also(whole), "what to do now"),
)

var fileShape = strictyaml.Keys(
	strictyaml.Need("test", strictyaml.Text(longest).Also(wordOnly), "name of the test, which the file is called after"),
	strictyaml.Need("title", strictyaml.Text(longest), "the question that it answers"),
	strictyaml.Need("outcomes", strictyaml.ListOf(outcomeShape, 2), "the verdicts; one is "+NotYet),
	strictyaml.Need("not-tested", strictyaml.ListOf(strictyaml.Text(longest).Also(whole), 1), "what the test can't tell"),
	strictyaml.Need("cautions", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("level", strictyaml.Words(levels...), "signal word"),
		strictyaml.Need("text", strictyaml.Text(longest).Also(whole), "hazard, what it does, and how to avoid it"),
	), 1), "what can hurt somebody in this test, or in what is done next"),
)

var verdictWord = regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)

func wordOnly(n *strictyaml.Node, r *strictyaml.Report) {
	if !verdictWord.MatchString(n.Str()) {
		r.At(n, fmt.Sprintf("%q is no word of small letters and hyphens", n.Str()), "such as leave-alone", "")
	}
}

func whole(n *strictyaml.Node, r *strictyaml.Report) {
	if !strings.HasSuffix(n.Str(), ".") {
		r.At(n, fmt.Sprintf("%q is no whole sentence", n.Str()), "a full stop at its end", "")
	}
}

// read reads the file of one test, which must be called after it.
func read(file string, src []byte) (name string, k kind, faults strictyaml.Faults) {
	n, faults := strictyaml.ParseYAML(file, src, 1)
	if len(faults.Errors()) > 0 {
		return "", kind{}, faults
	}
	r := strictyaml.Report{File: file}
	name = n.Get("test").Str()
	if called := strings.TrimSuffix(path.Base(file), ".yaml"); name != called {
		r.AtKey(n, "test", fmt.Sprintf("a file called %s.yaml about the test %q", called, name), "the test that the file is called after", "")
	}
	k = kind{title: n.Get("title").Str(), outcomes: map[string]outcome{}}
	for _, item := range n.Get("outcomes").Items {
		verdict := item.Get("verdict").Str()
		if _, twice := k.outcomes[verdict]; twice {
			r.AtKey(item, "verdict", fmt.Sprintf("the verdict %q stands here twice", verdict), "each once", "")
		}
		k.outcomes[verdict] = outcome{item.Get("says").Str(), item.Get("next").Str()}
	}
	if _, ok := k.outcomes[NotYet]; !ok {
		r.At(n, "no verdict "+NotYet, "what is said before the test has come far enough", "")
	}
	for _, item := range n.Get("not-tested").Items {
		k.notTested = append(k.notTested, item.Str())
	}
	for _, item := range n.Get("cautions").Items {
		k.cautions = append(k.cautions, Caution{item.Get("level").Str(), item.Get("text").Str()})
	}
	return name, k, append(append(faults, fileShape.Check(file, n)...), r.Faults...).Sorted()
}

// load reads all shipped files.
func load() (map[string]kind, strictyaml.Faults) { return strictyaml.ReadFolder(files, "tests", read) }

var shipped = sync.OnceValue(func() map[string]kind {
	all, faults := load()
	if err := faults.Err(); err != nil {
		panic(fmt.Sprintf("the shipped tests: %v", err)) // a test reads them
	}
	return all
})

// Tests lists the tests that have a file, sorted.
func Tests() []string { return slices.Sorted(maps.Keys(shipped())) }

// VerdictsOf lists the verdicts of one test, sorted.
func VerdictsOf(test string) []string { return slices.Sorted(maps.Keys(shipped()[test].outcomes)) }
