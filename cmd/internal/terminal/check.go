package terminal

import (
	"strings"

	"dropwalk/engine"
)

// checkRow is what stands in the row of a check beside its question.
func checkRow(r *engine.Row, width int) string {
	if r == nil {
		return ""
	}
	var b strings.Builder
	say := func(label, text string) {
		if text != "" {
			b.WriteString(Wrap(CleanLine(text), width, "  "+label+": ", "    "))
		}
	}
	say("Where", r.Where)
	say("Meanwhile", r.Condition)
	say("With", r.Tool)
	if r.Expect != "" {
		say("Expected", r.Expect+" ("+r.Source+")")
	}
	return b.String()
}

// briefRow is the same in one paragraph, for who knows the work.
func briefRow(r *engine.Row, width int) string {
	if r == nil {
		return ""
	}
	var parts []string
	for _, text := range []string{r.Where, r.Condition, r.Tool} {
		if text != "" {
			parts = append(parts, strings.TrimSuffix(CleanLine(text), "."))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return Wrap(strings.Join(parts, "; "), width, "  ", "  ")
}

// checkAnswers says what answers a check.
func checkAnswers(p engine.Prompt) string {
	text := "Type a number or its word."
	switch {
	case len(p.Row.Words) == 0:
		text = "Type what it shows, with its unit."
	case !numbered(p.Row.Words):
		text = "One of: " + strings.Join(p.Row.Words, ", ") + "."
	}
	if p.Previous != "" {
		text += " So far: " + CleanLine(p.Previous) + " (Enter keeps it)."
	}
	return text + " Type ? if it can't be told."
}

// whyFor answers "why" at p: why it is asked, why it comes now, and how the search
// stands.
func whyFor(p engine.Prompt, width int) string {
	var b strings.Builder
	if p.Why != "" {
		b.WriteString(Wrap(CleanLine(p.Why), width, "", ""))
	}
	if p.Row != nil && p.Row.Reason != "" {
		b.WriteString(Wrap("It comes now because "+CleanLine(p.Row.Reason)+".", width, "", ""))
	}
	if p.Standing != nil {
		b.WriteString("\n" + Plain(Clean(p.Standing().Brief()), width))
	}
	if b.Len() == 0 {
		return Wrap("Nothing more is written about this one; help lists what can be typed.", width, "", "")
	}
	return b.String()
}

// whyHelp says what the word why shows at p.
func whyHelp(p engine.Prompt) string {
	if p.Standing != nil {
		return "how the search stands, and which answer moved it"
	}
	return "why this is asked"
}
