package causes

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// ToldToEnd is the verdict where the row of a check says that nothing follows.
const ToldToEnd Verdict = "told-to-end"

// Says is the verdict as it stands in a sentence.
func (v Verdict) Says() string {
	switch v {
	case StandsOut:
		return "one cause stands out"
	case NoFault:
		return "most likely it is none of these causes"
	case FixInOrder:
		return "what is left is quicker to put right than to tell apart"
	case NoMore:
		return "nothing is left to check"
	case ToldToEnd:
		return "the last answer settles it"
	}
	return ""
}

// Mark tells how far a cause was looked into.
type Mark string

// Marks: some check looked straight at it; others moved it; nothing did.
const (
	Measured  Mark = "measured"
	Inferred  Mark = "inferred"
	NotTested Mark = "not-tested"
)

// Says is the mark as it stands in a sentence.
func (m Mark) Says() string { return strings.ReplaceAll(string(m), "-", " ") }

// Standing is what a search has come to: the causes in the order in which to put
// them right, and every check with what it moved. Chances are 0 to 1.
type Standing struct {
	Symptom   string   `json:"symptom"`
	Verdict   Verdict  `json:"verdict"` // "" while the search goes on
	Causes    []Ranked `json:"causes"`
	None      float64  `json:"none"`      // chance that it is none of them
	Otherwise string   `json:"otherwise"` // what to do then
	Checks    []Seen   `json:"checks"`    // those made, in their order, then those that were not
}

// Ranked is one cause.
type Ranked struct {
	ID      string   `json:"id"`
	Text    string   `json:"text"`
	Chance  float64  `json:"chance"`
	Before  float64  `json:"before"` // before any check
	Basis   string   `json:"basis"`  // of Before
	Minutes float64  `json:"minutes"`
	Opens   []string `json:"opens,omitzero"` // what has to be opened for it yet
	Mark    Mark     `json:"mark"`
	Remedy  string   `json:"remedy"`
}

// Seen is one check. Outcome is "" where it was not made.
type Seen struct {
	ID       string  `json:"id"`
	Question string  `json:"question"`
	Expect   string  `json:"expect,omitzero"`
	Source   string  `json:"source"`
	Answer   string  `json:"answer,omitzero"`
	Outcome  string  `json:"outcome,omitzero"`
	Why      string  `json:"why,omitzero"` // why it was not made
	Says     string  `json:"says,omitzero"`
	Shifts   []Shift `json:"shifts,omitzero"`
}

// Shift is how an answer moved a cause; Cause is "" for none of them.
type Shift struct {
	Cause string  `json:"cause"`
	Text  string  `json:"text,omitzero"`
	From  float64 `json:"from"`
	To    float64 `json:"to"`
}

// Made tells whether the check came to an outcome.
func (s Seen) Made() bool { return len(s.Shifts) > 0 && s.Answer != "" }

// told is the least shift that is worth a word: five in a hundred.
const told = 0.05

// Moved lists the shifts that are worth a word, the largest first, at most three.
func (s Seen) Moved() []Shift {
	list := slices.DeleteFunc(slices.Clone(s.Shifts), func(m Shift) bool { return math.Abs(m.To-m.From) < told })
	slices.SortStableFunc(list, func(a, b Shift) int { return cmp.Compare(math.Abs(b.To-b.From), math.Abs(a.To-a.From)) })
	return list[:min(len(list), 3)]
}

// Minutes writes a time in whole minutes.
func Minutes(v float64) string {
	if v < 1 {
		return "less than a minute"
	}
	return fmt.Sprintf("%.0f min", v)
}

// Percent writes a chance without a nought or a hundred that nobody can know.
func Percent(v float64) string {
	switch {
	case v < 0.01:
		return "under 1 %"
	case v > 0.99:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*v)
}

// Page is the standing as a page of Markdown: how it ended, the causes in order
// with what to do, then the checks.
func (s *Standing) Page() string {
	return s.Head() + "\n\n## What to do, in this order\n\n" + s.Ranking() + "\n## What moved it\n\n" + s.Moves() + "\n" + Legend + "\n"
}

// Brief is the standing while the search goes on: the ranking and what moved it.
func (s *Standing) Brief() string {
	return "## How it stands\n\n" + s.ranking(false) + "\n## What moved it\n\n" + s.Moves()
}

// Legend says what the marks mean.
const Legend = "Measured: it was itself looked at or measured here. Inferred: from what was told, or from checks of something else. Not tested: nothing speaks of it."

// Head says in a sentence or two what was found.
func (s *Standing) Head() string {
	switch {
	case s.Verdict == NoFault:
		return fmt.Sprintf("**No fault found.** Chance that it is none of these causes: %s. %s", Percent(s.None), plain(s.Otherwise))
	case len(s.Causes) == 0:
		return "**No cause is left.** " + plain(s.Otherwise)
	}
	likeliest := slices.MaxFunc(s.Causes, func(a, b Ranked) int { return cmp.Compare(a.Chance, b.Chance) })
	head := fmt.Sprintf("**Likeliest: %s** (%s, %s)", sentence(likeliest.Text), Percent(likeliest.Chance), likeliest.Mark.Says())
	switch says := s.Verdict.Says(); {
	case says != "":
		head += " The search ended because " + says + "."
	default:
		head += " The search is not finished."
	}
	if s.untested() {
		head += " Nothing could be checked, so this is what is usual and no more."
	}
	return head
}

// untested tells whether no check came to an outcome.
func (s *Standing) untested() bool { return !slices.ContainsFunc(s.Checks, Seen.Made) }

// shown is how many causes a page lists in full; the others have less than a
// hundredth each.
func (s *Standing) shown() (list []Ranked, left float64) {
	for _, c := range s.Causes {
		if c.Chance < 0.01 && len(s.Causes) > 3 {
			left += c.Chance
			continue
		}
		list = append(list, c)
	}
	return list, left
}

// Ranking lists the causes in order with what to do about each.
func (s *Standing) Ranking() string { return s.ranking(true) }

func (s *Standing) ranking(full bool) string {
	var b strings.Builder
	list, left := s.shown()
	for i, c := range list {
		takes := Minutes(c.Minutes)
		if len(c.Opens) > 0 {
			takes += " and opening " + plain(strings.Join(c.Opens, ", "))
		}
		fmt.Fprintf(&b, "%d. %s: %s %s, %s; %s.", i+1, plain(c.ID), sentence(c.Text), Percent(c.Chance), c.Mark.Says(), takes)
		if full {
			b.WriteString(" " + sentence(c.Remedy))
		}
		b.WriteString("\n")
	}
	b.WriteString("\n")
	if left > 0 {
		fmt.Fprintf(&b, "All other causes together: %s. ", Percent(left))
	}
	fmt.Fprintf(&b, "None of these: %s.", Percent(s.None))
	if full && s.Verdict != NoFault {
		b.WriteString(" What follows then: " + plain(s.Otherwise))
	}
	return b.String() + "\n"
}

// Moves lists the checks that were answered, with what each moved.
func (s *Standing) Moves() string {
	var b strings.Builder
	for _, c := range s.Checks {
		if c.Outcome != "" {
			b.WriteString("- " + c.line() + "\n")
		}
	}
	if b.Len() == 0 {
		return "Nothing was checked yet: the chances are what is usual.\n"
	}
	return b.String()
}

// line is one check that was answered: what was asked, what came of it, and what
// that moved.
func (c Seen) line() string {
	question := sentence(c.Question)
	if !c.Made() {
		return question + " Not checked" + because(c.Why) + ". It moved nothing."
	}
	text := fmt.Sprintf("%s %s", question, plain(c.Answer))
	if c.Expect != "" {
		text += fmt.Sprintf(" (%s; expected %s)", c.Outcome, plain(c.Expect))
	}
	var moved []string
	for _, m := range c.Moved() {
		moved = append(moved, fmt.Sprintf("%s went from %s to %s", m.name(), Percent(m.From), Percent(m.To)))
	}
	if len(moved) == 0 {
		return text + ". It moved little."
	}
	return text + ": " + strings.Join(moved, "; ") + "."
}

// because is a reason behind a clause, "" where none was given.
func because(why string) string {
	if why == "" {
		return ""
	}
	return ": " + strings.TrimRight(plain(why), ".")
}

// NotMade lists the checks that came to no outcome, each with why where somebody
// said so.
func (s *Standing) NotMade() string {
	var b strings.Builder
	for _, c := range s.Checks {
		if !c.Made() {
			fmt.Fprintf(&b, "- %s\n", strings.TrimSuffix(sentence(c.Question), ".")+because(c.Why))
		}
	}
	return b.String()
}

// Sources says what the chances and the ranges rest on.
func (s *Standing) Sources() string {
	var b strings.Builder
	for _, c := range s.Causes {
		fmt.Fprintf(&b, "- %s %s before any check: %s.\n", sentence(c.Text), Percent(c.Before), strings.TrimSuffix(plain(c.Basis), "."))
	}
	for _, c := range s.Checks {
		if c.Made() {
			fmt.Fprintf(&b, "- %s What it says rests on: %s.\n", sentence(c.Question), strings.TrimSuffix(plain(c.Source), "."))
		}
	}
	return b.String()
}

// Unnamed is the standing without what somebody typed by hand; said stands in its
// place.
func (s *Standing) Unnamed(said string) *Standing {
	out := *s
	out.Checks = slices.Clone(s.Checks)
	for i, c := range out.Checks {
		if c.Outcome != "" && c.Why != "" {
			out.Checks[i].Why = said
		}
	}
	return &out
}

func (m Shift) name() string {
	if m.Cause == "" {
		return "none of these"
	}
	return m.Cause
}

// marks of Markdown, which a text of somebody else's must not set.
var marks = strings.NewReplacer("\\", "\\\\", "`", "\\`", "*", "\\*", "_", "\\_", "[", "\\[", "]", "\\]", "<", "\\<", ">", "\\>", "#", "\\#", "|", "\\|",
	"~", "\\~", "&", "\\&", "\n", " ", "\r", " ", "\t", " ")

// plain is a text of a file or of a person as it can stand in Markdown.
func plain(text string) string { return marks.Replace(strings.TrimSpace(text)) }

// sentence ends a plain text with a point.
func sentence(text string) string {
	text = plain(text)
	if text == "" || strings.HasSuffix(text, ".") || strings.HasSuffix(text, "?") || strings.HasSuffix(text, "!") {
		return text
	}
	return text + "."
}
