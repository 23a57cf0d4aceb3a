package cli

import (
	"fmt"
	"strings"

	"dropwalk/engine"
	"dropwalk/engine/causes"
)

// searchPage lists the causes that a procedure looks for, nothing where it has
// none.
func searchPage(b *strings.Builder, f *engine.Search) {
	if f == nil {
		return
	}
	b.WriteString("## Causes\n\nOne of these, or none of them. The chance is that before any check.\n\n")
	for _, c := range f.Causes {
		fmt.Fprintf(b, "- %s %s (%s); %s to put right. %s\n", c.Text, causes.Percent(c.Chance), c.Basis, causes.Minutes(c.Minutes), c.Remedy)
	}
	fmt.Fprintf(b, "- None of these: %s\n\n", f.None.Text)
}

// checkRows lists the rows of a step of checks, with what is opened for them.
func checkRows(b *strings.Builder, s *engine.Step, indent string) {
	fmt.Fprintf(b, "%s- The check that tells most for its time comes next, until a cause stands out:\n", indent)
	for _, c := range s.Each {
		row := c.Row()
		fmt.Fprintf(b, "%s  - **%s** %s", indent, c.Number, c.Text)
		for _, part := range []struct{ label, text string }{
			{"Where", row.Where}, {"Meanwhile", row.Condition}, {"With", row.Tool}, {"First open", strings.Join(c.Check.Opens, ", ")}, {"Expected", row.Expect},
		} {
			if part.text != "" {
				fmt.Fprintf(b, " %s: %s.", part.label, strings.TrimSuffix(part.text, "."))
			}
		}
		fmt.Fprintf(b, " (%s; %s)\n", causes.Minutes(row.Minutes), row.Source)
		for _, n := range c.Notices {
			fmt.Fprintf(b, "%s    - %s: %s; %s. %s.\n", indent, strings.ToUpper(n.Level), n.From, n.So, n.Avoid)
		}
		for _, o := range c.Check.Outcomes {
			fmt.Fprintf(b, "%s    - %s: %s\n", indent, o.Word, o.Says)
		}
		fmt.Fprintf(b, "%s    - can't be told: %s\n", indent, c.Cannot)
	}
}
