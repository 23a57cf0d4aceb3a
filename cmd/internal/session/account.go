package session

import (
	"slices"
	"strings"

	"dropwalk/engine"
)

// Account tells an event in one line: what was asked and what came of it. It
// is "" for events that a reader needn't see. The text may hold what people
// typed; whoever shows it cleans it.
func Account(e engine.Event) string {
	switch e.Kind {
	case engine.Started:
		return "begun"
	case engine.Answered:
		if e.Seen == "" && passed(e) {
			return "page " + e.Step + " read"
		}
		return strings.TrimSpace(Question(e) + " " + given(e))
	case engine.Skipped:
		return Question(e) + " skipped: " + e.Why
	case engine.Refused:
		return Question(e) + " not so: " + e.Why
	case engine.Corrected:
		return "back to " + e.Step
	case engine.Chosen:
		return chosen(e)
	case engine.Noted:
		return "note: " + e.Text
	case engine.Resumed:
		return "gone on"
	case engine.Stopped:
		return strings.TrimSpace("STOPPED " + e.Why)
	case engine.Finished:
		return "finished, " + e.Text
	}
	return e.Kind
}

func given(e engine.Event) string {
	switch {
	case e.Outcome == engine.NotChecked && e.Why != "":
		return "not checked: " + e.Why
	case e.Outcome == engine.NotChecked:
		return "not checked"
	case e.Unknown:
		return "not known"
	case e.Outcome != "" && e.Outcome != e.Text:
		return e.Text + ", " + e.Outcome
	case e.Raw == engine.OnPaper:
		return e.Text + ", done on paper"
	case e.First != "":
		return e.Text + " (typed first: " + e.First + ")"
	}
	return e.Text
}

func chosen(e engine.Event) string {
	if e.Taken == nil || !*e.Taken || e.Offer == nil || e.Offer.Reason == "" {
		return ""
	}
	return "advice: " + e.Offer.Reason
}

// Question is the question itself in the text that an event keeps: cautions
// stand ahead of it, lines of a hold behind.
func Question(e engine.Event) string {
	for line := range strings.SplitSeq(e.Seen, "\n") {
		level, _, isNotice := strings.Cut(line, ": ")
		if !isNotice || !slices.Contains([]string{"danger", "warning", "caution", "notice"}, level) {
			return line
		}
	}
	return e.Seen
}
