package main

import (
	"fmt"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// arrows is the law of who may import whom among our own packages. The row of
// a folder is the longest one that fits; "x/..." fits x and all that lies below.
// A folder without a row may not exist.
var arrows = []struct {
	from string
	to   []string
}{
	{"cmd/dropwalk", []string{"cmd/internal/cli"}},
	{"cmd/internal/cli", []string{"cmd/internal/answers", "cmd/internal/classroom", "cmd/internal/lesson", "cmd/internal/html", "cmd/internal/prompts", "cmd/internal/reading", "cmd/internal/session", "cmd/internal/terminal", "cmd/internal/trial", "cmd/internal/worksheet", "advice/...", "engine/...", "procedures"}},
	{"cmd/internal/answers", []string{"cmd/internal/session", "cmd/internal/terminal", "engine", "engine/quantity", "engine/rules", "engine/spell", "engine/strictyaml", "engine/subject"}},
	{"cmd/internal/classroom", []string{"cmd/internal/session", "engine/record", "engine/spell", "engine/strictyaml"}},
	{"cmd/internal/html", nil},
	{"cmd/internal/lesson", []string{"cmd/internal/session", "advice", "advice/assessment", "advice/model", "advice/practice", "advice/sheet", "engine", "engine/insert", "engine/prose", "engine/quantity", "engine/spell", "engine/strictyaml", "engine/subject", "procedures"}},
	{"cmd/internal/prompts", []string{"cmd/internal/session", "cmd/internal/terminal", "engine", "engine/quantity", "engine/subject"}},
	{"cmd/internal/reading", []string{"cmd/internal/terminal"}},
	{"cmd/internal/terminal", []string{"cmd/internal/session", "engine", "engine/causes", "engine/quantity", "engine/spell", "engine/subject"}},
	{"cmd/internal/session", []string{"engine", "engine/quantity", "engine/record", "engine/subject"}},
	{"cmd/internal/trial", []string{"engine", "engine/quantity", "engine/rules", "engine/subject"}},
	{"cmd/internal/worksheet", []string{"cmd/internal/html", "cmd/internal/terminal", "advice/report", "engine", "engine/causes", "engine/quantity", "engine/rules", "engine/subject"}},
	{"procedures", nil},

	// advice judges; it never runs a procedure and never writes a record. Its
	// children never import it, so that each can be read on its own;
	// study alone judges it from outside.
	{"advice", append([]string{"advice/..."}, advised...)},
	{"advice/...", append([]string{"advice/*"}, advised...)},
	{"advice/study", append([]string{"advice", "advice/*"}, advised...)},
	{"advice/assessment", advised},
	{"advice/sheet", advised},

	// The root of engine imports its children, never the reverse, and nobody
	// else: it doesn't know what a car is.
	{"engine", []string{"engine/causes", "engine/insert", "engine/prose", "engine/quantity", "engine/rules", "engine/spell", "engine/strictyaml", "engine/subject"}},
	{"engine/insert", []string{"engine/spell", "engine/strictyaml"}},
	{"engine/subject", []string{"engine/quantity"}},
	{"engine/rules", []string{"engine/quantity", "engine/spell", "engine/subject"}},
	{"engine/quantity", []string{"engine/spell"}},
	{"engine/strictyaml", []string{"engine/spell"}},
	{schemas, nil},
	{"engine/prose", nil},
	{"engine/causes", nil},
	{"engine/record", nil},
	{"engine/spell", nil},
}

// advised is the part of engine that advice rests on.
var advised = []string{"engine/quantity", "engine/spell", "engine/strictyaml", "engine/subject"}

// doors names the one package that uses each borrowed library. The libraries
// of tests may be used by any test.
var doors = map[string]string{
	"gopkg.in/yaml.v3":       "engine/strictyaml",
	"github.com/spf13/cobra": "cmd/internal/cli",
	"github.com/spf13/pflag": "cmd/internal/cli",
	"golang.org/x/term":      "cmd/internal/terminal",
	"github.com/rivo/uniseg": "cmd/internal/terminal",
	"github.com/gofrs/flock": "engine/record",
	"gonum.org/v1/gonum":     "advice/stats",

	"github.com/AlecAivazis/survey/v2":      "cmd/internal/prompts",
	"github.com/santhosh-tekuri/jsonschema": schemas,
	"github.com/charmbracelet/glamour":      "cmd/internal/reading",
	"github.com/yuin/goldmark":              "cmd/internal/html",

	"github.com/creack/pty":           inTests,
	"github.com/google/go-cmp":        inTests,
	"github.com/hinshun/vt10x":        inTests,
	"github.com/rogpeppe/go-internal": scripts,
}

const (
	inTests = "tests"
	schemas = "engine/strictyaml/schematest" // serves tests and nothing else
	scripts = "scripts"                      // the tests of cmd/dropwalk only
)

// edge is one import in one file.
type edge struct {
	from string // folder, "." for the top
	file string
	to   string // import path
}

func (e edge) test() bool { return strings.HasSuffix(e.file, "_test.go") }

// against says which law e breaks, "" if none.
func against(e edge) string {
	if to, ours := strings.CutPrefix(e.to, "dropwalk"); ours && (to == "" || to[0] == '/') {
		return againstArrows(e, strings.TrimPrefix(to, "/"))
	}
	first, _, _ := strings.Cut(e.to, "/")
	if !strings.Contains(first, ".") {
		return "" // the standard library
	}
	for library, user := range doors {
		if e.to != library && !strings.HasPrefix(e.to, library+"/") {
			continue
		}
		switch {
		case user == inTests && e.test(), user == scripts && e.test() && e.from == "cmd/dropwalk", user == e.from:
			return ""
		}
		return fmt.Sprintf("%s is for %s alone", library, user)
	}
	return "nobody may use this library; give it a door first"
}

func againstArrows(e edge, to string) string {
	switch {
	case e.test() && to == e.from, // a test from outside its package
		e.test() && to == schemas:
		return ""
	}
	row := -1
	for i, r := range arrows {
		if fits(r.from, e.from) && (row < 0 || len(r.from) > len(arrows[row].from)) {
			row = i
		}
	}
	switch {
	case row < 0:
		return "no arrow leads out of this folder; give it a row first"
	case !slices.ContainsFunc(arrows[row].to, func(pattern string) bool { return fits(pattern, to) }):
		return "no arrow leads there"
	}
	return ""
}

// fits tells whether folder is meant by pattern: "x/..." is x and all below,
// "x/*" only what lies below.
func fits(pattern, folder string) bool {
	if root, ok := strings.CutSuffix(pattern, "/..."); ok {
		return folder == root || strings.HasPrefix(folder, root+"/")
	}
	if root, ok := strings.CutSuffix(pattern, "/*"); ok {
		return strings.HasPrefix(folder, root+"/")
	}
	return pattern == folder
}

// edges lists the imports of every Go file of the repository.
func edges(t *testing.T) []edge {
	t.Helper()
	top := filepath.Join("..", "..")
	var list []edge
	err := filepath.WalkDir(top, func(file string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && file != top && strings.HasPrefix(d.Name(), "."), d.Name() == "testdata":
			return fs.SkipDir
		case d.IsDir() || filepath.Ext(file) != ".go":
			return nil
		}
		tree, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(top, file)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		for _, spec := range tree.Imports {
			to, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			list = append(list, edge{from: path.Dir(rel), file: rel, to: to})
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestArrows(t *testing.T) {
	list := edges(t)
	if len(list) < 100 {
		t.Fatalf("only %d imports were found; is this the top of the repository?", len(list))
	}
	used := map[string]bool{}
	for _, e := range list {
		if law := against(e); law != "" {
			t.Errorf("%s imports %s: %s", e.file, e.to, law)
		}
		for library := range doors {
			if e.to == library || strings.HasPrefix(e.to, library+"/") {
				used[library] = true
			}
		}
	}
	for library, user := range doors {
		if !used[library] {
			t.Errorf("nobody imports %s, whose door is %s: take the row out", library, user)
		}
	}
}

// procedures holds files for people; its Go is one file that embeds them.
func TestProceduresStaysOneFile(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("..", "..", "procedures", "*.go"))
	if err != nil || len(files) != 1 {
		t.Errorf("Go files in procedures: %v, %v; want one", files, err)
	}
}

// The law bites: each of these would be found, and what is allowed is not.
func TestArrowsBite(t *testing.T) {
	broken := []edge{
		{"engine", "engine/run.go", "dropwalk/advice"},
		{"engine", "engine/run.go", "dropwalk/procedures"},
		{"engine", "engine/run.go", "dropwalk/engine/record"},
		{"engine/subject", "engine/subject/subject.go", "dropwalk/engine"},
		{"engine/record", "engine/record/log.go", "dropwalk/engine"},
		{"engine/rules", "engine/rules/eval.go", "dropwalk/engine/strictyaml"},
		{"engine/spell", "engine/spell/spell.go", "dropwalk/engine/quantity"},
		{"engine/new", "engine/new/new.go", "dropwalk/engine/quantity"},
		{"advice", "advice/assess.go", "dropwalk/engine"},
		{"advice", "advice/assess.go", "dropwalk/engine/rules"},
		{"advice", "advice/assess.go", "dropwalk/engine/record"},
		{"advice/sheet", "advice/sheet/read.go", "dropwalk/advice"},
		{"advice/sheet", "advice/sheet/read.go", "dropwalk/advice/report"},
		{"advice/report", "advice/report/report.go", "dropwalk/advice"},
		{"advice/report", "advice/report/report.go", "dropwalk/cmd/internal/terminal"},
		{"advice/report", "advice/report/report_test.go", "dropwalk/engine/record"},
		{"procedures", "procedures/procedures.go", "dropwalk/engine"},
		{"cmd/internal/terminal", "cmd/internal/terminal/lines.go", "dropwalk/cmd/internal/cli"},
		{"cmd/internal/terminal", "cmd/internal/terminal/lines.go", "dropwalk/advice"},
		{"cmd/internal/session", "cmd/internal/session/session.go", "dropwalk/cmd/internal/terminal"},
		{"cmd/dropwalk", "cmd/dropwalk/main.go", "dropwalk/engine"},
		{"util", "util/util.go", "dropwalk/engine"},
		{"engine", "engine/load.go", "gopkg.in/yaml.v3"},
		{"cmd/dropwalk", "cmd/dropwalk/main.go", "github.com/spf13/cobra"},
		{"cmd/internal/cli", "cmd/internal/cli/start.go", "golang.org/x/term"},
		{"engine", "engine/run.go", "github.com/google/go-cmp/cmp"},
		{"engine", "engine/run_test.go", "github.com/rogpeppe/go-internal/testscript"},
		{"cmd/dropwalk", "cmd/dropwalk/main.go", "github.com/rogpeppe/go-internal/testscript"},
		{"engine", "engine/run.go", "github.com/somebody/something"},
	}
	for _, e := range broken {
		if against(e) == "" {
			t.Errorf("%s may import %s, and should not", e.file, e.to)
		}
	}
	sound := []edge{
		{"cmd/internal/cli", "cmd/internal/cli/start.go", "dropwalk/advice/sheet"},
		{"advice", "advice/assess.go", "dropwalk/advice/sheet"},
		{"advice/report", "advice/report/report.go", "dropwalk/advice/sheet"},
		{"advice/sheet", "advice/sheet/read.go", "dropwalk/engine/strictyaml"},
		{"engine", "engine/run.go", "dropwalk/engine/rules"},
		{"engine/quantity", "engine/quantity/read_test.go", "dropwalk/engine/quantity"},
		{"engine/strictyaml", "engine/strictyaml/yaml.go", "gopkg.in/yaml.v3"},
		{"engine", "engine/run_test.go", "github.com/google/go-cmp/cmp"},
		{"engine", "engine/run.go", "go/parser"},
	}
	for _, e := range sound {
		if law := against(e); law != "" {
			t.Errorf("%s may not import %s (%s), and should", e.file, e.to, law)
		}
	}
}
