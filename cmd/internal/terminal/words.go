package terminal

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dropwalk/engine"
	"dropwalk/engine/spell"
	"dropwalk/engine/subject"
)

// Words that do something other than answer. They are the same at every
// prompt. An answer that begins with one of them is put in double quotes.
var words = []string{"help", "why", "back", "skip", "cannot", "note", "pause", "stop", briefWord, guidedWord}

// backWord goes back; the name of an answer may stand behind it.
const backWord = "back"

// Words that stand beside an answer in doubt, and there only.
const (
	keepWord     = "keep"
	doubtfulWord = "doubtful"
	retypeWord   = "retype"
)

// Words lists every word that a prompt knows, beside those of its choices.
func Words() []string {
	return append(slices.Clone(words), keepWord, doubtfulWord, retypeWord, "ready", "done")
}

// said is what a line typed at a prompt comes to: an answer, one of the words
// that stay at the terminal, or a problem that has to be told.
type said struct {
	answer      engine.Answer
	pause, help bool
	why         bool   // why this is asked, and how a search stands
	retype      bool   // the question once more
	picture     string // name of a picture to show
	view        string // how prompts are to be shown from now on: brief or guided
	problem     string
}

func answered(text string) said { return said{answer: engine.Answer{Text: text}} }
func problem(format string, args ...any) said {
	return said{problem: fmt.Sprintf(format, args...)}
}

// understand reads one line typed at p. Refused is why the last answer wasn't
// taken, empty where none was given: its choices stand on the screen under
// numbers of their own, in place of those of p.
func understand(p engine.Prompt, refused *subject.Refusal, line string) said {
	if strings.IndexFunc(line, hostile) >= 0 {
		return problem("that line holds key codes or control characters that aren't part of an answer; type it again")
	}
	line = strings.TrimSpace(line)
	if text, ok := quoted(line); ok {
		return answered(text)
	}
	if s, ok := word(line); ok {
		return passable(p, s)
	}
	if s, ok := further(p, line); ok {
		return s
	}
	for _, name := range p.Pictures {
		if strings.EqualFold(line, name) {
			return said{picture: name}
		}
	}
	if s, ok := inDoubt(refused.Doubt, line); ok {
		return s
	}
	if n, ok := number(line, len(refused.Choices)); ok {
		return offered(refused.Choices[n-1])
	}
	if len(p.Group) > 0 {
		return groupAnswer(p, line)
	}
	switch p.Kind {
	case engine.Ask, engine.Examine:
		return askAnswer(p, line)
	case engine.Hold:
		return holdAnswer(p, line)
	case engine.Do, engine.Owed:
		return doAnswer(p, line)
	}
	if line == "" {
		return answered("")
	}
	return problem("there is nothing to answer here: press Enter to go on%s", meant(line, words))
}

// offered reads a complete line that a refusal offers: an answer, or a way back.
func offered(line string) said {
	if s, ok := word(line); ok && s.answer.Move == engine.Back {
		return s
	}
	return answered(line)
}

// passable says at once that a step can't be left out, before a reason is asked
// for.
func passable(p engine.Prompt, s said) said {
	asked := s.problem == skipWhy || s.answer.Move == engine.Skip
	if len(p.Group) > 0 && (asked || s.answer.Move == engine.Cannot) {
		return problem("type the number of the step first: it then comes by itself, and takes skip and cannot")
	}
	if !asked || p.Skip != "" || p.Kind == engine.Owed {
		return s
	}
	text := "this step can't be skipped"
	switch {
	case p.Kind == engine.Examine || p.Kind == engine.Ask && !required(p):
		text += "; ? says that you don't know"
	case p.Cannot != "":
		text += "; cannot and why says that it can't be done"
	}
	return problem("%s; pause keeps the test for later, stop ends it", text)
}

// skipWhy asks for the reason of a skip.
const skipWhy = `"skip" needs a reason, such as: skip no time today`

// quoted returns the text between double quotes that enclose line.
func quoted(line string) (string, bool) {
	if len(line) < 2 || line[0] != '"' || line[len(line)-1] != '"' {
		return "", false
	}
	text := strings.TrimSpace(line[1 : len(line)-1])
	return text, text != ""
}

// word reads a line that begins with one of the words.
func word(line string) (said, bool) {
	first, rest, _ := strings.Cut(line, " ")
	rest = strings.TrimSpace(rest)
	first = strings.ToLower(strings.TrimRight(first, "!.,:"))
	switch first {
	case "help", "pause", "why":
		return lonely(first, rest), true
	case "stop": // it is asked for twice, so that what stands behind it may be a reason or an answer
		return said{answer: engine.Answer{Move: engine.Stop, Text: rest}}, true
	case briefWord, guidedWord:
		return said{view: first}, rest == ""
	case backWord:
		return said{answer: engine.Answer{Move: engine.Back, Text: rest}}, true
	case "skip":
		return reasoned(engine.Skip, rest, skipWhy), true
	case "cannot":
		return reasoned(engine.Cannot, rest, `"cannot" needs a reason, such as: cannot the hose is cracked`), true
	case "note":
		if rest == "" {
			return problem(`"note" needs a text, such as: note rain set in`), true
		}
		return said{answer: engine.Answer{Move: engine.Note, Text: rest}}, true
	}
	return said{}, false
}

// further reads a line that begins with a word that p alone knows.
func further(p engine.Prompt, line string) (said, bool) {
	first, rest, _ := strings.Cut(line, " ")
	first, rest = strings.ToLower(strings.TrimRight(first, "!.,:")), strings.TrimSpace(rest)
	for _, w := range p.Words {
		if w.Word != first || w.With == "" && rest != "" {
			continue
		}
		return said{answer: engine.Answer{Move: engine.Note, Text: strings.TrimSpace(first + " " + strings.ToLower(rest))}}, true
	}
	return said{}, false
}

// inDoubt reads what is to become of an answer far outside what was expected.
func inDoubt(d *subject.Doubt, line string) (said, bool) {
	if d == nil {
		return said{}, false
	}
	first, why, _ := strings.Cut(line, " ")
	first = strings.ToLower(strings.TrimRight(first, "!.,:"))
	why = strings.TrimSpace(why)
	switch {
	case first == "":
		return problem("type keep, retype or another word of these: Enter alone takes nothing"), true
	case first == doubtfulWord && d.Doubtful != "":
		if why == "" {
			why = d.Reason
		}
		return answered(d.Doubtful + why), true
	case first == keepWord && why == "":
		return answered(d.Keep), true
	case first == retypeWord && why == "":
		return said{retype: true}, true
	}
	return said{}, false
}

// doubtHelp lists what can become of an answer in doubt.
func doubtHelp(d *subject.Doubt) [][2]string {
	list := [][2]string{{keepWord, "it is right"}}
	if d.Doubtful != "" {
		list[0][1] = "it stands as it was measured"
		list = append(list, [2]string{doubtfulWord + " WHY", "it is kept, with less weight"})
	}
	return append(list, [2]string{retypeWord, "it was a slip: ask again"})
}

// lonely reads a word that takes nothing behind it. More text may be an answer
// that happens to begin with the word, so it is asked, not guessed.
func lonely(word, rest string) said {
	if rest != "" {
		return problem("%q stands alone; an answer that begins with it goes in double quotes", word)
	}
	switch word {
	case "help":
		return said{help: true}
	case "pause":
		return said{pause: true}
	}
	return said{why: true}
}

func reasoned(move engine.Move, why, missing string) said {
	if why == "" {
		return said{problem: missing}
	}
	return said{answer: engine.Answer{Move: move, Why: why}}
}

// askAnswer reads the answer to an ask. What it means is for the engine; here
// numbers of choices become their words, and the ways of not knowing become "?".
func askAnswer(p engine.Prompt, line string) said {
	choices := p.Choices()
	if i := slices.IndexFunc(choices, func(c string) bool { return strings.EqualFold(c, line) }); i >= 0 {
		return answered(choices[i])
	}
	switch {
	case line == "" && p.Previous != "":
		return answered(p.Previous)
	case line == "" && required(p):
		return problem("an answer is needed here%s", instance(p.Like))
	case line == "":
		return problem("an answer is needed; ? if you don't know")
	case unknowing(line):
		return answered("?")
	case len(choices) == 0:
		return answered(line)
	}
	if n, ok := number(line, len(choices)); ok && numbered(choices) {
		return answered(choices[n-1])
	}
	if c, ok := only(choices, line); ok {
		return answered(c)
	}
	if c := everyday(p, line); c != "" {
		return problem("%q is none of the choices (did you mean %q?)", line, c)
	}
	return problem("%q is none of the choices%s", line, meant(line, append(slices.Clone(choices), words...)))
}

// everyday is the choice that people mean by a word of their own, "" for none.
func everyday(p engine.Prompt, line string) string {
	if len(p.Fields) == 0 {
		return ""
	}
	return p.Fields[0].Everyday[strings.ToLower(line)]
}

// numbered tells whether choices may stand under numbers: not where a choice
// is a number itself.
func numbered(choices []string) bool {
	return !slices.ContainsFunc(choices, func(c string) bool {
		_, err := strconv.Atoi(c)
		return err == nil
	})
}

// only returns the one choice that begins with line.
func only(choices []string, line string) (string, bool) {
	var found []string
	for _, c := range choices {
		if strings.HasPrefix(strings.ToLower(c), strings.ToLower(line)) {
			found = append(found, c)
		}
	}
	if len(found) != 1 {
		return "", false
	}
	return found[0], true
}

func unknowing(line string) bool {
	line = strings.ToLower(strings.NewReplacer("’", "'", "?", "").Replace(line))
	switch strings.Join(strings.Fields(line), " ") {
	case "", "don't know", "dont know", "do not know", "i don't know", "not known":
		return true
	}
	return false
}

// holdAnswer passes on "ready" and the number of a line that isn't true;
// nothing else, and above all not Enter, opens a hold.
func holdAnswer(p engine.Prompt, line string) said {
	if strings.EqualFold(line, "ready") {
		return answered("ready")
	}
	if n, ok := number(line, len(p.Lines)); ok {
		return answered(strconv.Itoa(n))
	}
	if line != "" && unknowing(line) {
		return problem("%s", notSure(p))
	}
	if len(p.Lines) == 0 {
		return problem("type ready when it is so%s", meant(line, append([]string{"ready"}, words...)))
	}
	hint := meant(line, append([]string{"ready"}, words...))
	if slices.Contains(doneWords, strings.ToLower(strings.TrimRight(line, "!."))) {
		hint = ` (did you mean "ready"?)`
	}
	return problem("type ready if every line is true, or the number of one that isn't%s", hint)
}

// notSure answers whoever doesn't know at a hold: not known is not yet so.
func notSure(p engine.Prompt) string {
	if len(p.Lines) == 0 {
		return "not known is not yet so: look, and type ready once it is; why says what it is for"
	}
	return "not known is not yet true: look, and type ready once every line is, or the number of one that isn't; why says what it is for"
}

// instance gives an example behind a problem, nothing where there is none.
func instance(like string) string {
	if like == "" {
		return ""
	}
	return ", such as " + like
}

// doneWords are what people type when something is done.
var doneWords = []string{"done", "ready", "ok", "okay", "yes"}

// doAnswer reads the answer to a step that is done by hand. Enter will do
// unless the step can hurt someone or is a duty that closes up the car.
func doAnswer(p engine.Prompt, line string) said {
	word := strings.ToLower(strings.TrimRight(line, "!."))
	if slices.Contains(doneWords, word) || line == "" && !typedOut(p) {
		return answered("done")
	}
	return problem("type done when it is done%s", meant(line, append([]string{"done"}, words...)))
}

// typedOut tells whether "done" has to be typed.
func typedOut(p engine.Prompt) bool {
	return p.Kind == engine.Owed || slices.ContainsFunc(p.Notices, func(n engine.Notice) bool {
		return n.Level == "danger" || n.Level == "warning"
	})
}

func number(line string, most int) (int, bool) {
	n, err := strconv.Atoi(strings.TrimRight(line, ".)"))
	return n, err == nil && n >= 1 && n <= most
}

// meant is the tail of a message that offers the nearest word, "" where none
// is near.
func meant(line string, known []string) string {
	first, _, _ := strings.Cut(line, " ")
	if near, ok := spell.Nearest(first, known); ok && !strings.EqualFold(near, first) {
		return fmt.Sprintf(" (did you mean %q?)", near)
	}
	return ""
}

// completions lists what a line at p may be completed to: the answers that
// stand on the screen, then the words. What opens a hold, and "done" where it
// has to be typed, are never among them.
func completions(p engine.Prompt, refused *subject.Refusal) []string {
	if len(p.Group) > 0 {
		return append([]string{"help", backWord, guidedWord, "note ", "pause", "stop"}, p.Pictures...)
	}
	list := slices.Clone(refused.Choices)
	if d := refused.Doubt; d != nil {
		list = append(list, keepWord, retypeWord)
		if d.Doubtful != "" {
			list = append(list, doubtfulWord+" ")
		}
	}
	if len(list) == 0 {
		list = append(slices.Clone(p.Choices()), p.Offered()...)
	}
	if (p.Kind == engine.Do || p.Kind == engine.Owed) && !typedOut(p) {
		list = append(list, "done")
	}
	if p.Kind == engine.Ask || p.Kind == engine.Examine {
		list = append(list, "?")
	}
	list = append(list, "help", backWord)
	list = append(list, p.Pictures...)
	for _, w := range p.Words {
		list = append(list, w.Word)
	}
	if p.Skip != "" {
		list = append(list, "skip ")
	}
	if p.Cannot != "" {
		list = append(list, "cannot ")
	}
	list = append(list, "why", "note ", "pause", "stop")
	if p.Earlier != nil && !leadsBack(refused) {
		for _, name := range p.Earlier() {
			list = append(list, backWord+" "+name)
		}
	}
	return list
}

// leadsBack tells whether a refusal lists ways back.
func leadsBack(r *subject.Refusal) bool {
	return slices.ContainsFunc(r.Choices, func(c string) bool { return strings.HasPrefix(c, backWord+" ") })
}

// Completes tells whether typed may be completed to whole. Ways back are listed
// once somebody is on one: there are as many as there were answers.
func Completes(typed, whole string) bool {
	if len(whole) < len(typed) || !strings.EqualFold(whole[:len(typed)], typed) {
		return false
	}
	return !strings.HasPrefix(whole, backWord+" ") || len(typed) > len(backWord)
}
