package cli

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/finding"
	"dropwalk/advice/learn"
	"dropwalk/advice/report"
	"dropwalk/cmd/internal/classroom"
	"dropwalk/cmd/internal/lesson"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
)

// wordRow is a row of the tables under Words: the words in backquotes, then
// where they come from.
var wordRow = regexp.MustCompile("(?m)^\\| ((?:`[^`]+`(?:, )?)+) \\| (trade|standard|ours|usual)[^|]* \\|$")

// documented lists the words of DEVELOPERS.md that have an origin.
func documented(t *testing.T) []string {
	t.Helper()
	page, err := os.ReadFile("../../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	_, words, found := strings.Cut(string(page), "\n## Words\n")
	if !found {
		t.Fatal("DEVELOPERS.md has no chapter Words")
	}
	var list []string
	for _, row := range wordRow.FindAllStringSubmatch(words, -1) {
		for word := range strings.SplitSeq(row[1], ", ") {
			list = append(list, strings.Trim(word, "`"))
		}
	}
	return list
}

// commandWords are the names of all commands and options.
func commandWords(cmd *cobra.Command) []string {
	var words []string
	collect := func(f *pflag.Flag) { words = append(words, "--"+f.Name) }
	cmd.Flags().VisitAll(collect)
	cmd.PersistentFlags().VisitAll(collect)
	for _, sub := range cmd.Commands() {
		words = append(words, strings.TrimPrefix(sub.CommandPath(), program+" "))
		words = append(words, commandWords(sub)...)
	}
	return words
}

// constants are the texts of the string constants that a file declares.
func constants(t *testing.T, file string) []string {
	t.Helper()
	tree, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	var words []string
	for _, d := range tree.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.CONST {
			continue
		}
		for _, spec := range g.Specs {
			for _, v := range spec.(*ast.ValueSpec).Values {
				if lit, ok := v.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					if text, err := strconv.Unquote(lit.Value); err == nil && text != "" {
						words = append(words, text)
					}
				}
			}
		}
	}
	return words
}

// answerWords are the keys of a file of answers.
func answerWords(t *testing.T) []string {
	t.Helper()
	words := append(constants(t, "../answers/table.go"), engine.OnPaper)
	matter := &advice.Matter{}
	for _, name := range matter.Names().Sources {
		source, _ := matter.Source(name)
		words = append(words, source.Rows)
		for _, k := range source.Keys {
			words = append(words, k.Name)
		}
	}
	return words
}

// properties are the names of all properties in a JSON Schema.
func properties(t *testing.T, schema []byte) (keys []string) {
	t.Helper()
	var look func(x any)
	look = func(x any) {
		switch x := x.(type) {
		case map[string]any:
			if named, ok := x["properties"].(map[string]any); ok {
				keys = slices.AppendSeq(keys, maps.Keys(named))
			}
			for _, v := range x {
				look(v)
			}
		case []any:
			for _, v := range x {
				look(v)
			}
		}
	}
	var tree any
	if err := json.Unmarshal(schema, &tree); err != nil {
		t.Fatal(err)
	}
	look(tree)
	return keys
}

// Every word that a user meets as a name stands in DEVELOPERS.md with its
// origin, and nothing stands there that the program doesn't have.
func TestWordsAreDocumented(t *testing.T) {
	root := (&app{}).root()
	root.InitDefaultHelpFlag()
	root.InitDefaultVersionFlag()
	want := commandWords(root)
	want = append(want, constants(t, "../../../engine/types.go")...)
	want = append(want, constants(t, "../../../advice/assessment/assessment.go")...)
	want = append(want, constants(t, "../../../advice/pulls/result.go")...)
	want = append(want, "danger", "warning", "caution", "notice", "readings", "handbook", "both", "fitted", "port", "drill")
	want = append(want, report.Headings()...)
	want = append(want, report.ComparedHeadings()...)
	want = append(want, report.HistoryHeadings()...)
	want = append(want, report.FoundHeadings()...)
	want = append(want, report.SearchedHeadings()...)
	want = append(want, constants(t, "../../../advice/finding/finding.go")...)
	for _, test := range finding.Tests() {
		want = append(want, finding.VerdictsOf(test)...)
	}
	want = append(want, constants(t, "../../../advice/compare/document.go")...)
	want = append(want, constants(t, "../../../advice/class/document.go")...)
	want = append(want, constants(t, "../../../advice/learn/file.go")...)
	want = append(want, learn.Forms()...)
	want = append(want, classroom.Codes()...)
	want = append(want, classroom.Roles...)
	want = append(want, classroom.ByRun, classroom.ByRound)
	want = append(want, report.ClassHeadings()...)
	want = append(want, menuWords...)
	want = append(want, lesson.Headings()...)
	for _, w := range lesson.Words() {
		want = append(want, w.Word)
	}
	want = append(want, report.CustomerHeadings()...)
	want = append(want, forTester, forCustomer)
	want = append(want, answerWords(t)...)
	want = append(want, properties(t, engine.Schema())...)
	want = append(want, terminal.Words()...)
	want = append(want, (&advice.Matter{}).Names().Pictures...)
	have := documented(t)
	slices.Sort(want)
	for _, word := range slices.Compact(want) {
		if !slices.Contains(have, word) {
			t.Errorf("%q is not under Words in DEVELOPERS.md", word)
		}
	}
	for _, word := range have {
		if !slices.Contains(want, word) {
			t.Errorf("%q stands under Words in DEVELOPERS.md and is no word of the program", word)
		}
	}
}

// The list of codes that programs may meet leaves none out.
func TestCodesAreListed(t *testing.T) {
	listed := append(assessment.Verdicts(), assessment.Codes()...)
	for _, word := range constants(t, "../../../advice/assessment/assessment.go") {
		if !slices.Contains(listed, word) {
			t.Errorf("%q is neither among the verdicts nor among the codes", word)
		}
	}
}
