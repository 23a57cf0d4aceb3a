package learn_test

import (
	"flag"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice/learn"
	"dropwalk/advice/model"
	"dropwalk/engine/strictyaml/schematest"
)

var update = flag.Bool("update", false, "write the schema anew")

func TestSchemaFileIsCurrent(t *testing.T) {
	schematest.Current(t, "priors-1.schema.json", learn.Schema(), *update)
}

// some are priors of an invented workshop.
func some() *learn.Priors {
	return &learn.Priors{
		Cars: 42, Left: []learn.LeftOut{}, Runs: learn.Runs{Scatter: 0.83, Freedom: 210, Weight: 0.875}, Refits: learn.Refits{Share: 0.008, Visits: 6, Weight: 0.33},
		Groups: []learn.Group{{Group: model.Group{Kind: "duct", Form: "ribbed"}, Factor: 1.33, Weight: 0.71, Pieces: 38}, {Group: model.Group{Kind: "duct"}, Factor: 1.04, Weight: 0.55}},
		Kinds:  []learn.Kind{{Kind: "duct", Spread: 1.1, Spoilt: 0.1, Weight: 0.6, Pieces: 40}},
	}
}

// What is written reads back the same.
func TestFileThereAndBack(t *testing.T) {
	text := learn.Write(some())
	got, faults := learn.Read("priors.yaml", text)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if diff := cmp.Diff(got, some()); diff != "" {
		t.Errorf("%s\n%s", diff, text)
	}
}

// A file with a fault is refused with the place of it.
func TestFileFaults(t *testing.T) {
	for text, want := range map[string]string{
		"priors: 2\ncars: 3\n": "p.yaml:1:9: ",
		"priors: 1\n":          `"cars" is missing`,
		"priors: 1\ncars: 3\npieces: [{kind: duckt, factor: 1, weight: 0}]\n":                                     `did you mean "duct"`,
		"priors: 1\ncars: 3\npieces: [{kind: duct, form: flush, factor: 1, weight: 0}]\n":                         `p.yaml:3:29: pieces[1].form: a duct has no form "flush"`,
		"priors: 1\ncars: 3\npieces: [{kind: duct, factor: 11.8, weight: 0}]\n":                                   "from 0.1 to 10",
		"priors: 1\ncars: 3\npieces: [{kind: duct, factor: 1, weight: 71}]\n":                                     "from 0 to 1",
		"priors: 1\ncars: 3\npieces: [{kind: duct, factor: 1, weight: 0}, {kind: duct, factor: 2, weight: 0}]\n":  "stands twice",
		"priors: 1\ncars: 3\nkinds: [{kind: duct, spread: 1, spoilt: 0}, {kind: duct, spread: 1, spoilt: 0.1}]\n": "stands twice",
		"priors: 1\ncars: 3\nrun: {scatter: 1}\n":                                                                 `did you mean "runs"`,
		"priors: 1\ncars: &a 3\n": "p.yaml:2:7: ",
	} {
		p, faults := learn.Read("p.yaml", []byte(text))
		if p != nil || !strings.Contains(faults.Error(), want) {
			t.Errorf("%q: %v, want %q", text, faults, want)
		}
	}
}
