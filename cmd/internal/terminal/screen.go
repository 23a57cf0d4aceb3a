package terminal

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// screen lays out p in full: where we are, a picture, cautions, then what to do,
// then how to answer. It ends with a newline.
func screen(p engine.Prompt, picture string, width int) string {
	var b strings.Builder
	b.WriteString(Wrap(place(p), width, "", "  "))
	b.WriteString(picture)
	for _, n := range p.Notices {
		b.WriteString("\n" + notice(n, width))
	}
	b.WriteString("\n")
	if p.Again {
		b.WriteString(Wrap("Once more after the pause:", width, "", ""))
	}
	b.WriteString(question(p, width))
	b.WriteString(asked(p, width))
	return b.String()
}

// place is the line that says where the prompt stands.
func place(p engine.Prompt) string {
	at := p.Place
	var parts []string
	if at.Parts > 0 {
		parts = append(parts, fmt.Sprintf("Part %d of %d, %s", at.PartNo, at.Parts, CleanLine(at.Part)))
	}
	return placed(p, parts)
}

// placed sets the step and the state of the car behind the part.
func placed(p engine.Prompt, parts []string) string {
	at := p.Place
	switch {
	case at.Steps > 0 && at.About:
		parts = append(parts, fmt.Sprintf("step %d of about %d", at.StepNo, at.Steps))
	case at.Steps > 0:
		parts = append(parts, fmt.Sprintf("step %d of %d", at.StepNo, at.Steps))
	}
	if at.Skipped > 0 {
		parts = append(parts, fmt.Sprintf("%d skipped", at.Skipped))
	}
	if p.Car != "" {
		parts = append(parts, "car "+string(p.Car))
	}
	return "[" + strings.Join(parts, "; ") + "]"
}

// notice sets the signal word first, then what can happen and how to keep
// clear of it.
func notice(n engine.Notice, width int) string {
	return Wrap(strings.ToUpper(CleanLine(n.Level))+": "+CleanLine(n.From), width, "! ", "  ") +
		Wrap("What can happen: "+CleanLine(n.So)+".", width, "  ", "  ") +
		Wrap("To avoid it: "+CleanLine(n.Avoid)+".", width, "  ", "  ")
}

// question is what p asks or says, without cautions: enough to answer after a
// slip, with the full screen still in sight above.
func question(p engine.Prompt, width int) string {
	var b strings.Builder
	if p.Text != "" {
		b.WriteString(Plain(withNumber(p.Number, Clean(p.Text)), width))
	}
	if p.Kind == engine.Show {
		b.WriteString(Plain(Clean(p.Page), width))
	}
	b.WriteString(checkRow(p.Row, width))
	for i, line := range p.Lines {
		b.WriteString(item(i+1, CleanLine(line), width))
	}
	if p.See != "" {
		b.WriteString(Wrap(CleanLine(p.See), width, "Look for: ", "  "))
	}
	if choices := p.Choices(); numbered(choices) {
		for i, c := range choices {
			b.WriteString(item(i+1, c, width))
		}
	}
	return b.String()
}

// withNumber puts the number of a step before its text, as it stands on paper.
func withNumber(number, text string) string {
	if number == "" {
		return text
	}
	return number + " " + text
}

// asked says which answers will do.
func asked(p engine.Prompt, width int) string {
	return Wrap(answers(p), width, "", "")
}

func answers(p engine.Prompt) string {
	switch p.Kind {
	case engine.Ask:
		return askAnswers(p)
	case engine.Examine:
		return checkAnswers(p)
	case engine.Hold:
		if len(p.Lines) == 0 {
			return "Type ready when it is so."
		}
		return "Type ready if every line is true, or the number of one that isn't."
	case engine.Do, engine.Owed:
		if typedOut(p) {
			return "Type done when it is done."
		}
		return "Press Enter when it is done."
	}
	return "Press Enter to go on."
}

func askAnswers(p engine.Prompt) string {
	var parts []string
	if choices := p.Choices(); len(choices) > 0 {
		if numbered(choices) {
			parts = append(parts, "Type a number or its word.")
		} else {
			parts = append(parts, "One of: "+strings.Join(choices, ", ")+".")
		}
	} else if p.Like != "" {
		parts = append(parts, "For example: "+CleanLine(p.Like)+".")
	}
	if names := offeredNames(p); len(names) > 0 {
		parts = append(parts, "Or one of yours: "+strings.Join(names, ", ")+".")
	}
	switch {
	case p.Previous == "":
	case p.Source != "":
		parts = append(parts, sentence(p.Source)+": "+CleanLine(p.Previous)+" (Enter takes it).")
	default:
		parts = append(parts, "So far: "+CleanLine(p.Previous)+" (Enter keeps it).")
	}
	if len(parts) == 0 {
		parts = append(parts, "Type the answer.")
	}
	text := strings.Join(parts, " ")
	switch {
	case required(p):
		return text
	case strings.HasPrefix(text, "Type "):
		return strings.TrimSuffix(text, ".") + "; ? if you don't know."
	}
	return text + " Type ? if you don't know."
}

// mostNames is how many names of the person's own things a prompt lists; Tab and
// the commands know them all.
const mostNames = 12

// offeredNames are the names that are answers at p, as many as a screen has room
// for.
func offeredNames(p engine.Prompt) []string {
	var names []string
	for _, name := range p.Offered() {
		names = append(names, CleanLine(name))
	}
	if more := len(names) - mostNames; more > 0 {
		names = append(names[:mostNames], fmt.Sprintf("and %d more", more))
	}
	return names
}

// sentence begins text with a capital letter.
func sentence(text string) string {
	for i := range text {
		if i > 0 {
			return strings.ToUpper(text[:i]) + text[i:]
		}
	}
	return strings.ToUpper(text)
}

// item is one numbered line.
func item(n int, text string, width int) string {
	return Wrap(text, width, fmt.Sprintf("  %d) ", n), "     ")
}

// helpFor answers "help" at p: why it is asked, what follows from not knowing,
// and what can be typed.
func helpFor(p engine.Prompt, width int) string {
	if len(p.Group) > 0 {
		return groupHelp(p, width)
	}
	var b strings.Builder
	say := func(label, text string) {
		if text != "" {
			b.WriteString(Wrap(CleanLine(text), width, label+": ", "  "))
		}
	}
	say("Why", p.Why)
	say("For example", p.Like)
	say("Not known", unknownHelp(p))
	say("If it is skipped", p.Skip)
	say("If it can't be done", cannotHelp(p))
	b.WriteString(rows(wordHelp(p), width))
	return b.String()
}

// rows sets words beside what they do.
func rows(list [][2]string, width int) string {
	column := 14
	for _, row := range list {
		column = max(column, columns(row[0])+3)
	}
	var b strings.Builder
	for _, row := range list {
		b.WriteString(Wrap(CleanLine(row[1]), width, pad("  "+row[0], column), strings.Repeat(" ", column)))
	}
	return b.String()
}

// cannotHelp says what is left where something isn't so or can't be done.
func cannotHelp(p engine.Prompt) string {
	switch {
	case p.Cannot != "":
		return p.Cannot
	case p.Kind == engine.Hold:
		return "put it right first; pause keeps the test for later, stop ends it"
	case p.Kind == engine.Owed:
		return "type cannot and why; it stays on the list of what is owed"
	case p.Kind == engine.Do && p.Skip == "":
		return "pause keeps the test for later, stop ends it"
	}
	return ""
}

func unknownHelp(p engine.Prompt) string {
	if p.Kind == engine.Examine {
		return "type ?; nothing follows from it"
	}
	if p.Kind != engine.Ask {
		return ""
	}
	if required(p) {
		return "this one is needed; pause, find it out, and go on later"
	}
	if p.Unknown != "" {
		return p.Unknown
	}
	return "type ?; the result only gets wider"
}

// required tells whether "don't know" is refused at p.
func required(p engine.Prompt) bool {
	return slices.ContainsFunc(p.Fields, func(f subject.Field) bool { return f.Required })
}

// wordHelp lists the words with what they do at p.
func wordHelp(p engine.Prompt) [][2]string {
	rows := [][2]string{
		{"why", whyHelp(p)},
		{"back", "go back one answer; back WORD finds an earlier one"},
		{"note TEXT", "keep a remark"},
		{briefWord, "a line a step from now on; guided turns it back"},
		{"pause", "leave for now; everything is saved"},
		{"stop", "end the test; shows what to make safe first"},
	}
	for _, w := range slices.Backward(p.Words) {
		rows = append([][2]string{{strings.TrimSpace(w.Word + " " + w.With), w.Does}}, rows...)
	}
	for _, name := range p.Pictures {
		rows = append([][2]string{{name, "show the " + name + " as it stands"}}, rows...)
	}
	if p.Cannot != "" {
		rows = append([][2]string{{"cannot WHY", "it can't be done, and why"}}, rows...)
	}
	if p.Skip != "" {
		rows = append([][2]string{{"skip WHY", "leave it out, and why"}}, rows...)
	}
	if p.Kind == engine.Ask || p.Kind == engine.Examine {
		rows = append([][2]string{{`"..."`, "an answer that begins with one of these words"}}, rows...)
	}
	return rows
}
