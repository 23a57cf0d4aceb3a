package terminal

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dropwalk/engine"
)

// Words that change how prompts are shown.
const (
	briefWord  = "brief"
	guidedWord = "guided"
)

// briefScreen is p for somebody who knows the work: a line where we are, cautions
// in a line each, then what to do with how to answer behind it. Why and how to
// see that it worked stand under help.
func briefScreen(p engine.Prompt, width int) string {
	return Wrap(briefPlace(p), width, "", "  ") + briefNotices(p, width) + briefQuestion(p, width)
}

func briefPlace(p engine.Prompt) string {
	at := p.Place
	var parts []string
	if at.Parts > 0 {
		parts = append(parts, fmt.Sprintf("%d/%d %s", at.PartNo, at.Parts, CleanLine(at.Part)))
	}
	return placed(p, parts)
}

// briefNotices sets the cautions of p, or of all of its group, a paragraph each.
// None is left out; the same words stand once, with the steps that they ride on.
func briefNotices(p engine.Prompt, width int) string {
	type said struct {
		text    string
		numbers []string
	}
	var list []said
	for _, q := range together(p) {
		for _, n := range q.Notices {
			text := fmt.Sprintf("%s: %s. To avoid it: %s.", CleanLine(n.From), CleanLine(n.So), CleanLine(n.Avoid))
			text = strings.ToUpper(CleanLine(n.Level)) + "%s: " + strings.ReplaceAll(text, "%", "%%")
			i := slices.IndexFunc(list, func(s said) bool { return s.text == text })
			if i < 0 {
				i = len(list)
				list = append(list, said{text: text})
			}
			list[i].numbers = append(list[i].numbers, q.Number)
		}
	}
	var b strings.Builder
	for _, s := range list {
		on := ""
		if len(p.Group) > 0 {
			on = " " + strings.Join(s.numbers, ", ")
		}
		b.WriteString(Wrap(fmt.Sprintf(s.text, on), width, "! ", "  "))
	}
	return b.String()
}

// together are the prompts of a group, or p alone.
func together(p engine.Prompt) []engine.Prompt {
	if len(p.Group) > 0 {
		return p.Group
	}
	return []engine.Prompt{p}
}

// briefQuestion is what p asks, with how to answer behind it.
func briefQuestion(p engine.Prompt, width int) string {
	if len(p.Group) > 0 {
		return groupQuestion(p, width)
	}
	if p.Kind == engine.Show {
		return Plain(Clean(p.Page), width) + asked(p, width)
	}
	text := withNumber(p.Number, CleanLine(inline(Clean(p.Text))))
	if p.Again {
		text = "After the pause once more: " + text
	}
	var b strings.Builder
	b.WriteString(Wrap(text+" ("+briefAnswers(p)+")", width, "", "  ") + briefRow(p.Row, width))
	for i, line := range p.Lines {
		b.WriteString(item(i+1, CleanLine(line), width))
	}
	return b.String()
}

// briefAnswers says which answers will do, in a few words.
func briefAnswers(p engine.Prompt) string {
	switch p.Kind {
	case engine.Ask, engine.Examine:
		return strings.Join(briefAskAnswers(p), "; ")
	case engine.Hold:
		if len(p.Lines) == 0 {
			return "ready"
		}
		return "ready, or a number"
	case engine.Do, engine.Owed:
		if typedOut(p) {
			return "done"
		}
	}
	return "Enter"
}

func briefAskAnswers(p engine.Prompt) []string {
	var parts []string
	choices := p.Choices()
	switch {
	case len(choices) > 0 && numbered(choices):
		for i, c := range choices {
			parts = append(parts, fmt.Sprintf("%d %s", i+1, c))
		}
		parts = []string{strings.Join(parts, ", ")}
	case len(choices) > 0:
		parts = []string{strings.Join(choices, ", ")}
	case p.Row != nil:
		parts = []string{"expected " + CleanLine(p.Row.Expect)}
	case p.Like != "":
		parts = []string{"such as " + CleanLine(p.Like)}
	}
	if names := offeredNames(p); len(names) > 0 {
		parts = append(parts, "or "+strings.Join(names, ", "))
	}
	if p.Previous != "" {
		parts = append(parts, "so far "+CleanLine(p.Previous))
	}
	if !required(p) {
		parts = append(parts, "?")
	}
	if len(parts) == 0 {
		parts = []string{"needed"}
	}
	return parts
}

// groupQuestion lists the prompts of a group.
func groupQuestion(p engine.Prompt, width int) string {
	var b strings.Builder
	if p.OnPaper {
		b.WriteString(Wrap("Ticked on the paper, holds with initials?", width, "", ""))
	}
	for i, q := range p.Group {
		text := withNumber(q.Number, CleanLine(inline(Clean(q.Text))))
		if q.Kind == engine.Hold {
			text = "HOLD " + text
		}
		b.WriteString(item(i+1, text, width))
		for _, line := range q.Lines {
			b.WriteString(Wrap(CleanLine(line), width, "     - ", "       "))
		}
	}
	return b.String() + Wrap(groupAnswers(p), width, "", "")
}

func groupAnswers(p engine.Prompt) string {
	if p.OnPaper {
		return "Type done if all are, or the numbers of those that aren't."
	}
	return "Type done when all of it is done, or the numbers of what couldn't be."
}

// groupAnswer reads the answer to a group: done, or the numbers of what isn't,
// which then comes by itself. Enter alone passes nothing.
func groupAnswer(p engine.Prompt, line string) said {
	word := strings.ToLower(strings.TrimRight(line, "!."))
	if slices.Contains(doneWords, word) {
		return answered("done")
	}
	var numbers []string
	for _, field := range strings.FieldsFunc(line, func(r rune) bool { return r == ' ' || r == ',' || r == ';' }) {
		n, ok := number(field, len(p.Group))
		if !ok {
			return problem("%s%s", lowFirst(groupAnswers(p)), meant(line, append([]string{"done"}, words...)))
		}
		if text := strconv.Itoa(n); !slices.Contains(numbers, text) {
			numbers = append(numbers, text)
		}
	}
	if len(numbers) == 0 {
		return problem("%s", lowFirst(groupAnswers(p)))
	}
	return answered(strings.Join(numbers, " "))
}

func lowFirst(s string) string { return strings.ToLower(s[:1]) + strings.TrimSuffix(s[1:], ".") }

// groupHelp answers help at a group: what the steps would say one by one.
func groupHelp(p engine.Prompt, width int) string {
	var b strings.Builder
	for _, q := range p.Group {
		b.WriteString("\n" + Wrap(withNumber(q.Number, CleanLine(inline(Clean(q.Text)))), width, "", "  "))
		for _, row := range [][2]string{{"Look for", q.See}, {"Why", q.Why}, {"If it can't be done", cannotHelp(q)}, {"If it is left out", q.Skip}} {
			if row[1] != "" {
				b.WriteString(Wrap(CleanLine(row[1]), width, "  "+row[0]+": ", "    "))
			}
		}
	}
	list := [][2]string{{"done", "all of it is done"}, {"2 3", "these could not be done; they come one by one, and cannot WHY or skip WHY says more"}}
	return b.String() + "\n" + rows(append(list, wordHelp(engine.Prompt{Pictures: p.Pictures})...), width)
}

// Brief tells whether prompts are shown in brief.
func (l *Lines) Brief() bool { return l.brief }

// SetBrief has prompts shown in brief from now on, or with everything.
func (l *Lines) SetBrief(brief bool) { l.brief = brief }

// ask is what p asks with how to answer it, as after a slip.
func (l *Lines) ask(p engine.Prompt) string {
	if l.brief || len(p.Group) > 0 {
		return briefQuestion(p, l.width)
	}
	return question(p, l.width) + asked(p, l.width)
}

// unsaid is what the brief screen of p leaves out ahead of why.
func (l *Lines) unsaid(p engine.Prompt) string {
	if !l.brief || len(p.Group) > 0 || p.See == "" {
		return ""
	}
	return Wrap(CleanLine(p.See), l.width, "Look for: ", "  ")
}
