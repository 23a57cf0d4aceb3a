package cli

import (
	"fmt"
	"strings"

	"dropwalk/engine"
)

// procedurePage is a procedure in Markdown, to be read before it is run.
func procedurePage(p *engine.Procedure) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\n\n%s\n\n", p.Title, p.Purpose)
	list := func(title string, items []string) {
		if len(items) > 0 {
			fmt.Fprintf(&b, "%s:\n\n- %s\n\n", title, strings.Join(items, "\n- "))
		}
	}
	if p.Takes != "" {
		fmt.Fprintf(&b, "It takes about %s.\n\n", p.Takes)
	}
	list("People", p.People)
	list("Tools", p.Tools)
	list("Stop if there is", p.StopIf)
	searchPage(&b, p.Search)
	for i, part := range p.Parts {
		fmt.Fprintf(&b, "## %d. %s\n\n", i+1, part.Title)
		if part.Car != "" {
			fmt.Fprintf(&b, "Car: %s.\n\n", part.Car)
		}
		steps(&b, part.Steps, "")
	}
	return b.String()
}

func steps(b *strings.Builder, list []*engine.Step, indent string) {
	for _, s := range list {
		for _, n := range s.Notices {
			fmt.Fprintf(b, "%s- %s: %s; %s. %s.\n", indent, strings.ToUpper(n.Level), n.From, n.So, n.Avoid)
		}
		switch s.Kind {
		case engine.Rounds:
			fmt.Fprintf(b, "%s- Round by round, as the advice asks (%s):\n", indent, s.Source)
			steps(b, s.Each, indent+"  ")
			continue
		case engine.Checks:
			checkRows(b, s, indent)
			continue
		case engine.Owed:
			fmt.Fprintf(b, "%s- **%s** Put back everything that is owed to the car; it is listed then.\n", indent, s.Number)
			continue
		case engine.Show:
			fmt.Fprintf(b, "%s- **%s** The %s is shown.\n", indent, s.Number, s.Page)
			continue
		}
		fmt.Fprintf(b, "%s- **%s** %s\n", indent, s.Number, s.Text)
		for _, line := range s.Lines {
			fmt.Fprintf(b, "%s  - %s\n", indent, line)
		}
	}
}
