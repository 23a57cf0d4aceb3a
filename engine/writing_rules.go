package engine

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"dropwalk/engine/causes"
	"dropwalk/engine/prose"
	"dropwalk/engine/quantity"
	"dropwalk/engine/rules"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// Limits of texts, from the writer's guides that the rules come from: sentence
// lengths of ASD-STE100 (2025: 20 words where something is done, 25 elsewhere,
// six sentences a paragraph); pauses of at most nine items (A. Gawande, The
// Checklist Manifesto, 2009); grade eight is the usual target for mixed adult
// readers.
const (
	mostActionWords = 20
	mostWords       = 25
	mostSentences   = 6
	mostLines       = 9
	mostStopItems   = 5
	mostStopWords   = 8
	highestGrade    = 8.0

	// mostTries bounds the search for facts under which rules differ, over a whole
	// file; what is left out by it is not found fault with.
	mostTries = 200_000
)

func (r *review) triedExamples() {
	for _, t := range r.loader.tests {
		if got, why := t.outcome(); got != t.want {
			r.at(t.at, fmt.Sprintf("this example comes out %s: %s", got, why), t.want+", as it says", "put the rule right, or the example")
		}
	}
}

func (r *review) owedLast() {
	for _, part := range r.p.Parts {
		for _, s := range part.Steps {
			if s.Kind == Owed && part.When != nil {
				r.at(r.loader.nodes[s], "this list is left out with its part, and what is owed is owed in any case", "a part without a when", "")
			}
		}
	}
	listed := false
	for _, w := range r.steps {
		if listed && w.Undo != "" {
			r.at(w.node.Get("undo"), "what is owed is listed before this step", "owed: all behind every step with an undo", "")
		}
		listed = listed || w.Kind == Owed
	}
}

var markForm = regexp.MustCompile(`<[A-Za-z/!?]|\|`)

func (r *review) rawMarks(w *written) {
	for _, t := range w.texts {
		text := t.node.Str()
		if at := markForm.FindStringIndex(text); at != nil {
			mark := text[at[0]:at[1]]
			r.in(t.node, len([]rune(text[:at[0]])), mark, fmt.Sprintf("the mark %q", mark), "plain words", "write less than, or put a blank behind <")
		}
	}
}

func (r *review) front() {
	root := r.loader.root
	for _, f := range []struct{ key, what, like string }{
		{"takes", "how long it takes", "takes: 30 min"},
		{"people", "who is needed", "people: [driver, passenger]"},
		{"tools", "what is needed", "tools: [tape measure]"},
		{"stop-if", "what ends it at once", "stop-if: [warning lamp, anything loose]"},
	} {
		if !root.Has(f.key) {
			r.at(root, "nothing says "+f.what, f.key+":", "for example "+f.like)
		}
	}
}

func (r *review) oneAction(w *written) {
	t, ok := w.action(Do)
	if !ok {
		return
	}
	const hint = "make two steps of it"
	if before, _, found := strings.Cut(t.node.Str(), ";"); found {
		r.in(t.node, len([]rune(before)), ";", "a semicolon joins two actions", "one action", hint)
		return
	}
	if len(t.sentences) > 1 {
		second := t.sentences[1]
		r.in(t.node, second.Col, second.Words[0].Text, "a second sentence stands in a do", "one action", hint+", or say it in why or see")
		return
	}
	for _, s := range t.sentences {
		for i, word := range s.Words {
			if word.Lower() == "then" && i > 0 && !conditional(s) {
				r.in(t.node, word.Col, word.Text, "one action follows another", "one action", hint)
				return
			}
		}
	}
}

// conditional tells whether a sentence begins with its condition.
func conditional(s prose.Sentence) bool {
	return slices.Contains([]string{"if", "when", "where", "while", "once", "before", "after", "until"}, s.Words[0].Lower())
}

// noVerbs can't be verbs of an instruction: articles, pronouns, other helpers.
var noVerbs = words(`the a an this that these those you your we our i they he she it its there please now next then first also
	finally should must can may might will shall is are was were of in on at by for from to with and or but`)

func words(list string) map[string]bool {
	set := map[string]bool{}
	for _, w := range strings.Fields(list) {
		set[w] = true
	}
	return set
}

func (r *review) verbFirst(w *written) {
	t, ok := w.action(Do)
	if !ok || len(t.sentences) == 0 {
		return
	}
	word := t.sentences[0].Words[0]
	if noVerbs[word.Lower()] || !startsWithLetter(word.Text) {
		r.in(t.node, word.Col, word.Text, fmt.Sprintf("the step begins with %q", word.Text), "its verb first", "say what to do: Fit ..., Read ..., Close ...")
	}
}

func startsWithLetter(s string) bool {
	c := s[0] | 0x20
	return 'a' <= c && c <= 'z' || s[0] >= 0x80
}

func (r *review) conditionFirst(w *written) {
	t, ok := w.action(Do)
	if !ok {
		return
	}
	for _, s := range t.sentences {
		for i, word := range s.Words {
			if l := word.Lower(); i > 0 && (l == "if" || l == "when" || l == "unless") {
				r.in(t.node, word.Col, word.Text, fmt.Sprintf("the condition %q comes after the action", word.Text), "the condition first, with a comma behind it", "If it is hot, wait")
				return
			}
		}
	}
}

func (r *review) positive(w *written) {
	t, ok := w.action(Do)
	if !ok {
		return
	}
	for _, s := range t.sentences {
		for _, word := range s.Words {
			l := word.Lower()
			if l == "not" || l == "except" || l == "unless" || strings.HasSuffix(l, "n't") || l == "cannot" {
				r.in(t.node, word.Col, word.Text, fmt.Sprintf("%q in an action", word.Text), "what to do instead", "what to keep from belongs into a caution")
				return
			}
		}
	}
}

func (r *review) longSentences(w *written) {
	for _, t := range w.texts {
		most := mostWords
		if t.action {
			most = mostActionWords
		}
		for _, s := range t.sentences {
			if n := len(s.Words); n > most {
				r.in(t.node, s.Col, s.Words[0].Text, fmt.Sprintf("a sentence of %d words", n), fmt.Sprintf("at most %d", most), "make two of it")
			}
		}
	}
}

func (r *review) longTexts(w *written) {
	for _, t := range w.texts {
		if n := len(t.sentences); n > mostSentences {
			r.at(t.node, fmt.Sprintf("a text of %d sentences", n), fmt.Sprintf("at most %d", mostSentences), "")
		}
	}
}

// injury is told by these beginnings of words.
var injury = regexp.MustCompile(`(?i)\b(kill|injur|burn|hurt|wound|dies?\b|death|blind|crush|trapped|poison|scald)`)

func (r *review) noticeLevel(w *written) {
	for _, t := range w.texts {
		if t.key != "notice.so" {
			continue
		}
		if at := injury.FindStringIndex(t.node.Str()); at != nil {
			word := t.node.Str()[at[0]:at[1]]
			r.in(t.node, len([]rune(t.node.Str()[:at[0]])), word, "people can be hurt here, and a notice is for damage to things", "caution, warning or danger", "")
		}
	}
}

func (r *review) holdLines(w *written) {
	if t, ok := w.action(Hold); ok && len(w.Lines) == 0 && !strings.HasSuffix(strings.TrimSpace(t.node.Str()), "?") {
		r.at(t.node, "this hold says nothing of what must be true", "lines: and a list, or a question", "")
	}
}

func (r *review) listLength(w *written) {
	if n := len(w.Lines); n > mostLines {
		r.at(w.node.Get("lines"), fmt.Sprintf("a hold of %d lines", n), fmt.Sprintf("at most %d", mostLines), "make two holds of it, what matters most first")
	}
}

func (r *review) stopList() {
	for _, state := range states {
		list := r.loader.root.Get("if-stopped").Get(state)
		if list == nil {
			continue
		}
		if n := len(list.Items); n > mostStopItems {
			r.at(list, fmt.Sprintf("%d items to do first after a stop", n), fmt.Sprintf("at most %d", mostStopItems), "")
		}
		for _, item := range list.Items {
			n := 0
			for _, s := range prose.Sentences(item.Str()) {
				n += len(s.Words)
			}
			if n > mostStopWords {
				r.at(item, fmt.Sprintf("an item of %d words", n), fmt.Sprintf("at most %d", mostStopWords), "it is read in a hurry")
			}
		}
	}
}

func (r *review) saysSee(w *written) {
	if w.Kind == Do && w.See == "" && (w.Undo != "" || len(w.Notices) > 0) {
		r.at(w.node, "nothing says how to see that this step worked", "see:", "say what shows: It sits flush. It loses less than 5 % in 30 s.")
	}
}

func (r *review) wayOut(w *written) {
	if w.Kind == Do && w.Cannot == "" && w.Skip == "" {
		r.at(w.node, "nothing says what becomes of this step where it can't be done", "cannot: or skip:", "cannot: what to do instead; skip: what follows from leaving it out")
	}
}

func (r *review) unknownSaid(w *written) {
	if w.Kind != Ask {
		return
	}
	switch needed := r.needed(w); {
	case needed && w.Unknown != "":
		r.at(w.node.Get("unknown"), "this one can't be done without, so nobody can answer ?", "no unknown: here", "")
	case !needed && w.Unknown == "":
		r.at(w.node, "nothing says what follows where the answer isn't known", "unknown:", "for example unknown: A usual value is taken.")
	}
}

func (r *review) needed(w *written) bool {
	return slices.ContainsFunc(w.Fills, func(path string) bool {
		f, _ := r.loader.matter.Field(path)
		return f.Required
	})
}

func (r *review) likeRead(w *written) {
	if w.Kind != Ask || strings.Contains(w.Like, "{") {
		return
	}
	if w.Like == "" {
		r.at(w.node, "this ask has no example of an answer", "like:", "")
		return
	}
	if err := r.read(w); err != nil {
		r.at(w.node.Get("like"), fmt.Sprintf("the example %q is not understood: %v", w.Like, err), "", "")
	}
}

// read has the matter read the example of an ask. Steps that ask alike are read
// once.
func (r *review) read(w *written) error {
	key := strings.Join(w.Fills, ",") + "\n" + w.Like
	err, known := r.likes[key]
	if !known {
		_, err = r.view.Read(w.Fills, roundsOf(w), w.Like)
		r.likes[key] = err
	}
	return err
}

// bareWords judge without saying by what.
var bareWords = words("ok okay good normal normally properly correct correctly acceptable satisfactory adequate")

func (r *review) bareWord(w *written) {
	for _, t := range w.texts {
		if t.key != "see" && t.key != "lines" && !(t.action && w.Kind == Hold) {
			continue
		}
		for _, s := range t.sentences {
			for _, word := range s.Words {
				if bareWords[word.Lower()] {
					r.in(t.node, word.Col, word.Text, fmt.Sprintf("%q says nothing that can be seen", word.Text), "a state, or a range with its unit", "")
				}
			}
		}
	}
}

var (
	limitWords = regexp.MustCompile(`(?i)\b(at most|at least|more than|less than|up to|above|below|over|under|within|exceeds?)\s+([0-9][0-9.,]*)\b\s*([^\s.,;:!?)]*)`)
	joining    = words("and or to in at on before after when while if for until from with then but")
)

func (r *review) bareNumber(w *written) {
	for _, t := range w.texts {
		text := t.node.Str()
		if !strings.ContainsAny(text, "0123456789") {
			continue
		}
		for _, m := range limitWords.FindAllStringSubmatchIndex(text, -1) {
			if behind := text[m[6]:m[7]]; behind != "" && !joining[strings.ToLower(behind)] {
				continue
			}
			number := strings.TrimRight(text[m[4]:m[5]], ".,")
			r.in(t.node, len([]rune(text[:m[4]])), number, fmt.Sprintf("the limit %s has no unit", number), "a number with its unit", "")
		}
	}
}

var (
	capitals = regexp.MustCompile(`^[A-Z][A-Z0-9]+s?$`)
	lettered = regexp.MustCompile(`[A-Z]{2}`)
)

// abbreviations asks for each once, where it first stands. A unit is none.
func (r *review) abbreviations() {
	seen := map[string]bool{}
	for _, w := range r.steps {
		for _, t := range w.texts {
			text := t.node.Str()
			for _, s := range t.sentences {
				for _, word := range s.Words {
					name := strings.TrimSuffix(word.Text, "s")
					if !capitals.MatchString(word.Text) || !lettered.MatchString(name) || seen[name] || len(quantity.KindOf(name)) > 0 {
						continue
					}
					seen[name] = true
					if !strings.Contains(text, "("+name) && !strings.Contains(text, word.Text+" (") {
						r.in(t.node, word.Col, word.Text, fmt.Sprintf("%q is not spelt out", word.Text), "what it stands for, in parentheses behind it", "")
					}
				}
			}
		}
	}
}

// ruleIdle looks for facts under which a rule is true, and for some under which
// it is false, while the rules around it are true.
func (r *review) ruleIdle(w *written) {
	if w.When == nil {
		return
	}
	search := rules.Search{Fact: w.facts.Fact, Left: &r.tries}
	var around []rules.Wanted
	for _, rule := range w.under {
		around = append(around, rules.Wanted{Rule: rule, OK: []rules.Truth{rules.True}})
	}
	if _, ok, _ := search.Find(around); !ok {
		return // the fault lies further out
	}
	for _, c := range []struct {
		truth          rules.Truth
		what, expected string
	}{
		{rules.True, "this rule is never true, whatever is known", "a rule that can be true"},
		{rules.False, "this rule is never false, so it makes no difference", "no when, or a rule that can be false"},
	} {
		wanted := append(slices.Clone(around), rules.Wanted{Rule: w.When, OK: []rules.Truth{c.truth}})
		if _, ok, whole := search.Find(wanted); !ok && whole {
			r.at(w.node.Get("when"), c.what, c.expected, aroundHint(around))
		}
	}
}

func aroundHint(around []rules.Wanted) string {
	if len(around) == 0 {
		return ""
	}
	return "the rules of the part and the rounds around it count too"
}

// backHidden looks for facts that show a tell and hide every step that it leads
// back to: nobody could get on from there.
func (r *review) backHidden(w *written) {
	if len(w.BackTo) == 0 || w.When == nil {
		return
	}
	wanted := []rules.Wanted{{Rule: w.When, OK: []rules.Truth{rules.True}}}
	for _, s := range r.steps {
		if !slices.Contains(w.BackTo, s.ID) {
			continue
		}
		if s.When == nil {
			return
		}
		wanted = append(wanted, rules.Wanted{Rule: s.When, OK: []rules.Truth{rules.False}})
	}
	if _, found, _ := (rules.Search{Fact: w.facts.Fact, Left: &r.tries}).Find(wanted); found {
		r.at(w.node.Get("back-to"), "every step that this leads back to can be hidden while this is shown", "a step that is shown then", "")
	}
}

// readingGrade is of the whole file: a formula of averages says little about
// one sentence. It is told at the text that is hardest.
func (r *review) readingGrade() {
	const enough = 100 // words
	var all prose.Counts
	var hardest *strictyaml.Node
	worst := 0.0
	for _, w := range r.steps {
		for _, t := range w.texts {
			var own prose.Counts
			own.Count(t.sentences)
			all.Count(t.sentences)
			if g := own.Grade(); own.Words >= 10 && g > worst {
				worst, hardest = g, t.node
			}
		}
	}
	if g := all.Grade(); all.Words >= enough && g > highestGrade && hardest != nil {
		r.at(hardest, fmt.Sprintf("the whole reads at grade %.1f, and this is its hardest text, of grade %.0f", g, worst),
			fmt.Sprintf("grade %.0f or below", highestGrade), "shorter sentences, shorter words")
	}
}

// roundsOf stands for the round in which the example of a step is read: what the
// round fills in is not known here.
func roundsOf(w *written) subject.Round {
	if w.facts.in.depth == 0 {
		return subject.Round{}
	}
	return subject.Round{Slot: w.ID + ".1", Values: map[string]string{}}
}

// causesTouched looks for causes that no check speaks of.
func (r *review) causesTouched() {
	if r.p.Search == nil {
		return
	}
	for i, c := range r.p.Search.Causes {
		if !slices.ContainsFunc(r.p.Search.Checks, func(s *Step) bool { return s.Check.speaks(c.ID) }) {
			r.at(r.loader.root.Get("causes").Item(i), fmt.Sprintf("no check speaks of the cause %q", c.ID), "a check with "+c.ID+" under if", "without one it can only be told by ruling out the others")
		}
	}
}

// checkIdle looks for a check all of whose outcomes are alike under every cause.
func (r *review) checkIdle(w *written) {
	if w.Kind != Examine {
		return
	}
	for _, row := range w.Check.likely {
		for _, v := range row {
			if diff := v - row[len(row)-1]; diff > 1e-9 || diff < -1e-9 {
				return
			}
		}
	}
	r.at(w.node, "this check tells no cause from another", "an outcome with if: and the causes that it speaks of", "")
}

// searchIdle looks for a search that ends before its first check: usually the
// time that follows where no fault is found is so short that giving up is cheapest.
func (r *review) searchIdle() {
	if r.p.Search == nil {
		return
	}
	m := r.p.Search.Model()
	if verdict, _ := m.Next(m.Begin()); verdict != causes.GoOn {
		r.at(r.loader.root.Get("no-fault-found"), "no check is worth its time: the search ends at once, because "+verdict.Says(),
			"a check that takes less time than it saves", "is the time too short that follows where no fault is found?")
	}
}
