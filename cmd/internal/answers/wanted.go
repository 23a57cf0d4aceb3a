package answers

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/rules"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// Wanted is an answer that a file doesn't have.
type Wanted struct {
	Where   string   // as a message calls its place
	Text    string   // the question
	Choices []string // the words that it takes, nil where it is free
	Like    string   // how it would stand in the file; may have several lines
	When    string   // the rule on which it depends, "" where there is none

	// NoMore is what says in the file, in place of the answer, that it has no further
	// one; "" where the procedure can't do without.
	NoMore string

	step string
}

// wanted describes the question p.
func (t *table) wanted(a *Asker, p engine.Prompt) Wanted {
	w := Wanted{Where: p.Step, Text: p.Text, step: p.Step, Choices: p.Choices()}
	s := t.step[p.Step]
	if s != nil && s.When != nil {
		w.When = s.When.String()
	}
	if part := t.part[p.Step]; w.When == "" && part != nil && part.When != nil {
		w.When = part.When.String()
	}
	switch p.Kind {
	case engine.Hold:
		return Wanted{Where: holdsKey, Text: "Was every hold worked through on paper, line by line? The first of them: " + p.Text, Like: line(holdsKey, engine.OnPaper)}
	case engine.Owed:
		return t.wantedDuty(a, p)
	case engine.Do:
		w.Like = line(p.Step, doneWord)
	default:
		w.Like = line(p.Step, exampleOf(p))
	}
	return t.placed(a, p, w)
}

// wantedDuty asks for all duties at once where the file says nothing of any.
func (t *table) wantedDuty(a *Asker, p engine.Prompt) Wanted {
	if len(a.file.owed) == 0 {
		return Wanted{Where: t.owedID, Text: "Was everything put back? The first thing: " + p.Text, Like: line(t.owedID, doneWord)}
	}
	_, from, _ := strings.Cut(p.Slot, "/")
	return Wanted{Where: t.owedID + ": " + from, Text: p.Text, Like: t.owedID + ":\n  " + line(from, doneWord)}
}

// placed says in which list and item the answer to p belongs.
func (t *table) placed(a *Asker, p engine.Prompt, w Wanted) Wanted {
	segments := strings.Split(p.Slot, "/")
	where, in := "", a.file.root
	for i, segment := range segments[:len(segments)-1] {
		id, number := cutNumber(segment)
		g := t.rounds[id]
		if len(g.keys) > 0 {
			where = called(g, p.Round.Values)
		} else {
			where = strings.TrimPrefix(where+fmt.Sprintf(", %s %d", g.rows, number), ", ")
		}
		if in = a.bind(in, strings.Join(segments[:i+1], "/"), p.Round.Values); in == nil {
			w.Where, w.Like, w.step = where, itemLike(g, p.Round.Values), ""
			w.When, w.Choices = "", nil
			if number > t.step[id].AtLeast && slices.Contains(t.furtherRows(), g.rows) {
				w.NoMore = noMoreKey + ": [" + strings.Join(append(slices.Clone(a.file.noMore), g.rows), ", ") + "]"
			}
			if len(g.keys) > 0 {
				w.Text = p.Round.Values["reason"]
			}
			return w
		}
	}
	if where != "" {
		w.Where = where + ": " + p.Step
	}
	return w
}

func firstOf(texts ...string) string {
	for _, t := range texts {
		if t != "" {
			return t
		}
	}
	return ""
}

// itemLike shows an item of a list: what says which it is about, and an example
// of each answer that such a round can ask for.
func itemLike(g *group, values map[string]string) string {
	return g.rows + ":\n" + strings.TrimRight(string(strictyaml.Write(strictyaml.NewList(itemNode(g, values)))), "\n")
}

func itemNode(g *group, values map[string]string) *strictyaml.Node {
	if s := g.sole(); s != nil {
		return strictyaml.NewText(likeOf(s, values))
	}
	n := strictyaml.NewMap()
	for _, k := range g.keys {
		n.Set(k.Name, strictyaml.NewText(firstOf(values[k.Name], "...")))
	}
	for _, s := range g.steps {
		if (s.Kind == engine.Ask || s.Kind == engine.Do) && !leftOut(s, values) {
			n.Set(s.ID, strictyaml.NewText(likeOf(s, values)))
		}
	}
	for _, inner := range g.inner {
		list := strictyaml.NewList()
		for range max(1, inner.least) {
			list.Items = append(list.Items, itemNode(inner, values))
		}
		n.Set(inner.rows, list)
	}
	return n
}

// leftOut tells whether the values of a round leave a step out.
func leftOut(s *engine.Step, values map[string]string) bool {
	return s.When != nil && s.When.Eval(func(name string) subject.Value {
		text := values[name]
		return subject.Value{Known: text != "", Word: text, Text: text}
	}) == rules.False
}

// likeOf is an example of an answer to s in a round with values.
func likeOf(s *engine.Step, values map[string]string) string {
	if s.Kind == engine.Do {
		return doneWord
	}
	return firstOf(withValues(s.Like, values), "?")
}

// withValues puts the values of a round in place of their names in braces.
func withValues(text string, values map[string]string) string {
	var pairs []string
	for name, value := range values {
		pairs = append(pairs, "{"+name+"}", value)
	}
	return strings.NewReplacer(pairs...).Replace(text)
}

// line is one key with its value as it stands in a file.
func line(key, value string) string {
	return strings.TrimRight(string(strictyaml.Write(strictyaml.NewMap().Set(key, strictyaml.NewText(value)))), "\n")
}

// exampleOf is an answer that p could take.
func exampleOf(p engine.Prompt) string {
	switch {
	case p.Kind == engine.Do || p.Kind == engine.Owed:
		return doneWord
	case p.Like != "":
		return p.Like
	}
	if c := p.Choices(); len(c) > 0 {
		return c[0]
	}
	return "?"
}

// Tell writes what w asks for in lines of width columns; where it may be
// needed, with the rule that decides it.
func (w Wanted) Tell(width int, maybe bool) string {
	text := w.Where
	if w.Text != "" {
		text += ": " + w.Text
	}
	out := terminal.Wrap(terminal.CleanLine(text), width, "  ", "    ")
	if maybe && w.When != "" {
		out += terminal.Wrap("only where "+terminal.CleanLine(w.When), width, "    ", "    ")
	}
	if len(w.Choices) > 0 {
		out += terminal.Wrap("one of: "+terminal.CleanLine(strings.Join(w.Choices, ", ")), width, "    ", "    ")
	}
	return out + w.Example("    ")
}

// Example is how the answer would stand in the file.
func (w Wanted) Example(indent string) string {
	var b strings.Builder
	for row := range strings.SplitSeq(w.Like, "\n") {
		b.WriteString(indent + strictyaml.Clean(row) + "\n")
	}
	return b.String()
}

func sameWanted(list []Wanted, w Wanted) bool {
	return slices.ContainsFunc(list, func(o Wanted) bool { return o.Where == w.Where })
}
