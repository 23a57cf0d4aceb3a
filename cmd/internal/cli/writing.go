package cli

import (
	_ "embed"
	"fmt"
	"strings"

	"dropwalk/advice"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// exampleProcedure is the one that the guide to writing one shows whole.
//
//go:embed starter/example.yaml
var exampleProcedure string

func exampleBlock() string { return "```\n" + exampleProcedure + "```\n" }

// sourceList is a Markdown list of the sources of rounds, from the table that
// has them.
func sourceList() string {
	var b strings.Builder
	matter := &advice.Matter{}
	for _, name := range matter.Names().Sources {
		s, _ := matter.Source(name)
		fmt.Fprintf(&b, "- `%s`: %s. Each brings %s.\n", name, s.Doc, bracesOf(s.Values))
	}
	return b.String()
}

func bracesOf(values []subject.Fact) string {
	var names []string
	for _, v := range values {
		names = append(names, "`{"+v.Name+"}`")
	}
	return strings.Join(names, ", ")
}

func fieldList() string {
	var b strings.Builder
	matter := &advice.Matter{}
	for _, path := range matter.Names().Fields {
		f, _ := matter.Field(path)
		fmt.Fprintf(&b, "- `%s`: %s (%s)\n", path, f.Doc, kindOf(f.Kind, f.Choices))
	}
	return b.String()
}

func factList() string {
	var b strings.Builder
	matter := &advice.Matter{}
	for _, name := range matter.Names().Facts {
		f, _ := matter.Fact(name)
		fmt.Fprintf(&b, "- `%s`: %s (%s)\n", name, f.Doc, kindOf(f.Kind, f.Choices))
	}
	return b.String()
}

func kindOf(kind quantity.Kind, choices []string) string {
	if len(choices) > 0 {
		return strings.Join(choices, ", ")
	}
	return string(kind)
}
