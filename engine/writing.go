package engine

import (
	"slices"
	"strings"

	"dropwalk/engine/insert"
	"dropwalk/engine/prose"
	"dropwalk/engine/rules"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// WritingRule is a rule that a procedure file keeps. A file that breaks one
// whose Warning is false doesn't pass.
type WritingRule struct {
	Code    string // stable name, as faults carry it
	Says    string // the rule in a sentence, for whoever writes a procedure
	Warning bool

	// How it is held: step by step, or over the whole file. Both are nil where
	// Load holds it while it reads, or package insert before that.
	step func(*review, *written)
	file func(*review)
}

// WritingRules lists the rules: first those without which a file can't be
// read, then those that Check adds.
func WritingRules() []WritingRule { return slices.Clone(writingRules) }

var writingRules []WritingRule

// Filled here because the rules look back at the limits that they state.
func init() {
	writingRules = []WritingRule{
		{Code: codeYAML, Says: "The file is plain YAML or JSON: no tabs in the indentation, no anchors, no tags, at most 1 MiB."},
		{Code: codeForm, Says: "Every key is known and stands once, every step has one verb, and words and numbers have the form that their key asks for."},
		{Code: insert.Code, Says: "An insert is a line of its own in a list, and names a shared block that there is."},
		{Code: codeName, Says: "Names and ids are small letters, digits and hyphens, beginning with a letter."},
		{Code: codeSameID, Says: "No two steps have the same id."},
		{Code: codeParts, Says: "Steps stand behind the part that they belong to."},
		{Code: codeUnknownName, Says: "Places, sources, pages, pictures and earlier steps that are named exist."},
		{Code: codeFills, Says: "An ask fills a place in the document."},
		{Code: codeRule, Says: "A when compares facts that exist with words, units and values that fit them."},
		{Code: codeBraces, Says: "A name in braces is a fact, or a value of the rounds around it."},
		{Code: codeExamples, Says: "An example stands beside a when and gives facts that exist values that they can have."},
		{Code: codeRounds, Says: "Rounds have steps, an end (at-most), and lie at most three deep."},
		{Code: codeBackTo, Says: "A tell that leads back leads to earlier steps and has a when that can become false."},
		{Code: codeCarState, Says: "Every change in what the car is doing goes through a hold, and each part says how it begins."},
		{Code: codeCarMoves, Says: "Nothing is typed while the car moves: after a hold that sets it moving comes one that stops it."},
		{Code: codeOwed, Says: "What is undone at the end is listed by one step owed: all, outside rounds and without a when."},
		{Code: codeIfStopped, Says: "if-stopped says what to do first after a stop, for every state that matters; on-return does for going on."},
		{Code: codeCauses, Says: "Causes have a chance and a time above nought, chances that sum to at most 99 %, and one step checks that parts them."},
		{Code: codeCheckRow, Says: "A check says what each of its outcomes means, and what becomes of it where it can't be made."},
		{Code: codeLikelihood, Says: "How often an outcome comes is a share from 0 to 100 %, and the shares of one cause sum to no more than 100 %."},

		{Code: "example-fails", Says: "An example beside a when comes out as it says.", file: (*review).triedExamples},
		{Code: "owed-last", Says: "Nothing that leaves something to undo comes after owed: all, and no when can hide that list.", file: (*review).owedLast},
		{Code: "raw-mark", Says: "Texts hold no marks of HTML and no bars of tables: what a screen takes for a mark vanishes.", step: (*review).rawMarks},

		{Code: "front", Warning: true, Says: "The front says how long it takes, who and what is needed, and what ends it at once: takes, people, tools, stop-if.", file: (*review).front},
		{Code: "one-action", Warning: true, Says: "A do is one action in one sentence: no semicolon, no second sentence, no \"then\".", step: (*review).oneAction},
		{Code: "verb-first", Warning: true, Says: "A do begins with its verb.", step: (*review).verbFirst},
		{Code: "condition-first", Warning: true, Says: "A condition comes ahead of the action: \"If it is hot, wait.\"", step: (*review).conditionFirst},
		{Code: "positive", Warning: true, Says: "A do says what to do, not what not to do: no \"not\", \"except\" or \"unless\".", step: (*review).positive},
		{Code: "long-sentence", Warning: true, Says: "A step's own sentence has at most 20 words, any other at most 25.", step: (*review).longSentences},
		{Code: "long-text", Warning: true, Says: "A text has at most six sentences.", step: (*review).longTexts},
		{Code: "notice-level", Warning: true, Says: "A notice is for damage to things; where people can be hurt it is a caution, a warning or a danger.", step: (*review).noticeLevel},
		{Code: "hold-lines", Warning: true, Says: "A hold lists what must be true, or asks one question.", step: (*review).holdLines},
		{Code: "list-length", Warning: true, Says: "A hold has at most nine lines; a longer list is two holds.", step: (*review).listLength},
		{Code: "stop-list", Warning: true, Says: "What to do first after a stop is at most five items of at most eight words.", file: (*review).stopList},
		{Code: "see", Warning: true, Says: "A do that changes the car, or bears a caution, says what shows that it worked: see.", step: (*review).saysSee},
		{Code: "way-out", Warning: true, Says: "A do says what becomes of it where it can't be done: cannot or skip.", step: (*review).wayOut},
		{Code: "unknown-said", Warning: true, Says: "An ask says what follows where the answer isn't known, unless it can't do without one.", step: (*review).unknownSaid},
		{Code: "like", Warning: true, Says: "An ask has an example of an answer that the program understands.", step: (*review).likeRead},
		{Code: "bare-word", Warning: true, Says: "What must be true is a state or a range that can be seen, not \"OK\", \"good\" or \"correct\".", step: (*review).bareWord},
		{Code: "bare-number", Warning: true, Says: "A limit has its unit.", step: (*review).bareNumber},
		{Code: "abbreviation", Warning: true, Says: "An abbreviation in capitals is spelt out where it first stands.", file: (*review).abbreviations},
		{Code: "rule-idle", Warning: true, Says: "A when makes a difference: with everything known it can be true and it can be false.", step: (*review).ruleIdle},
		{Code: "back-hidden", Warning: true, Says: "A tell leads back to a step that is shown whenever the tell is.", step: (*review).backHidden},
		{Code: "cause-untouched", Warning: true, Says: "Each cause is told from others by some check.", file: (*review).causesTouched},
		{Code: "search-idle", Warning: true, Says: "Some check is worth its time at the beginning: what follows where no fault is found has a time that says what that costs.", file: (*review).searchIdle},
		{Code: "check-idle", Warning: true, Says: "Each check tells some causes from others.", step: (*review).checkIdle},
		{Code: "reading-grade", Warning: true, Says: "The whole reads at school grade eight or below (Flesch-Kincaid).", file: (*review).readingGrade},
	}
}

// Check loads a procedure and holds it against every rule of writing. The
// procedure is nil where one is broken that is more than a warning.
func Check(file string, src []byte, matter subject.Subject) (*Procedure, strictyaml.Faults) {
	l, faults := load(file, src, matter)
	if l.loaded == nil {
		return nil, faults
	}
	faults = append(faults, newReview(l, file, src).all()...).Sorted()
	if len(faults.Errors()) > 0 {
		return nil, faults
	}
	return l.loaded, faults
}

// review is one file held against the rules.
type review struct {
	loader *loader
	p      *Procedure
	file   string
	lines  []string
	steps  []*written
	rule   *WritingRule // that is being held
	tries  int          // that are left for searching through facts
	view   subject.View // of nothing answered yet
	likes  map[string]error
	faults strictyaml.Faults
}

// written is a step with its texts as they stand in the file.
type written struct {
	*Step
	node  *strictyaml.Node
	texts []piece
	under []*rules.Rule // of its part and the rounds around it
	facts names         // what its rule can name
}

// piece is one text of a step.
type piece struct {
	key       string // "do", "why", "lines", "warning.from"
	action    bool   // what the step itself says
	node      *strictyaml.Node
	sentences []prose.Sentence
}

func newReview(l *loader, file string, src []byte) *review {
	r := &review{loader: l, p: l.loaded, file: file, lines: strings.Split(string(src), "\n"), tries: mostTries,
		view: l.matter.Look(nil), likes: map[string]error{}}
	if r.p.Search != nil {
		r.collectSearch(r.p.Search)
	}
	for _, part := range r.p.Parts {
		var under []*rules.Rule
		if part.When != nil {
			under = append(under, part.When)
		}
		r.collect(part.Steps, under, scope{})
	}
	return r
}

// collectSearch gathers the texts of causes, of what follows where none is it, and
// of what is opened: they are read as those of steps are.
func (r *review) collectSearch(f *Search) {
	texts := func(n *strictyaml.Node, rule *rules.Rule, keys ...string) {
		w := &written{Step: &Step{When: rule}, node: n, facts: names{r.loader, scope{}}}
		for _, key := range keys {
			w.texts = append(w.texts, piece{key, false, n.Get(key), prose.Sentences(n.Get(key).Str())})
		}
		r.steps = append(r.steps, w)
	}
	for i, c := range f.Causes {
		texts(r.loader.root.Get("causes").Item(i), c.When, "cause", "remedy")
	}
	texts(r.loader.root.Get("no-fault-found"), nil, "say")
	r.collect(f.Openings, nil, scope{})
}

func (r *review) collect(list []*Step, under []*rules.Rule, in scope) {
	for _, s := range list {
		w := &written{Step: s, node: r.loader.nodes[s], under: under, facts: names{r.loader, in}}
		w.texts = piecesOf(w.node, s.Kind)
		r.steps = append(r.steps, w)
		if s.Kind == Checks {
			r.collect(s.Each, under, in)
		}
		if s.Kind != Rounds {
			continue
		}
		source, _ := r.loader.matter.Source(s.Source)
		inner := scope{append(slices.Clone(in.values), source.Values...), in.depth + 1}
		around := slices.Clone(under)
		if s.When != nil {
			around = append(around, s.When)
		}
		r.collect(s.Each, around, inner)
	}
}

// piecesOf gathers the texts of a step in the order of the file.
func piecesOf(n *strictyaml.Node, kind Kind) []piece {
	var list []piece
	add := func(key string, node *strictyaml.Node) {
		list = append(list, piece{key, key == string(kind), node, prose.Sentences(node.Str())})
	}
	for _, pair := range n.Pairs {
		switch key := pair.Key; {
		case slices.Contains(textKeys, key) && pair.Value.Kind == strictyaml.Scalar:
			add(key, pair.Value)
		case key == "lines":
			for _, item := range pair.Value.Items {
				add(key, item)
			}
		case key == "cannot":
			add(key, pair.Value.Get("say"))
		case slices.Contains([]string{Below, Inside, Above}, key):
			add(key+".says", pair.Value.Get("says"))
		case key == "answers":
			for _, answer := range pair.Value.Pairs {
				add("answers.says", answer.Value.Get("says"))
			}
		case key == "undoing":
			for _, part := range piecesOf(pair.Value, kind) {
				part.key = key + "." + part.key
				list = append(list, part)
			}
		case slices.Contains(levels, key):
			for _, part := range pair.Value.Pairs {
				add(key+"."+part.Key, part.Value)
			}
		}
	}
	return list
}

var textKeys = []string{string(Ask), string(Do), string(Hold), string(Tell), string(Examine), "where", "condition", "tool", "why", "see", "undo", "skip", "unknown", "cannot"}

// all holds every rule.
func (r *review) all() strictyaml.Faults {
	for i := range writingRules {
		r.rule = &writingRules[i]
		if r.rule.file != nil {
			r.rule.file(r)
		}
		if r.rule.step == nil {
			continue
		}
		for _, s := range r.steps {
			r.rule.step(r, s)
		}
	}
	return r.faults
}

// at reports that the present rule is broken at n.
func (r *review) at(n *strictyaml.Node, what, expected, hint string) {
	r.faults = append(r.faults, strictyaml.Fault{Code: r.rule.Code, Warning: r.rule.Warning, File: r.file,
		Line: n.Line, Col: n.Col, Path: n.Path(), What: what, Expected: expected, Hint: hint})
}

// in reports at a word of the text at n, so many runes into it. A text that runs
// over lines is reported at its beginning.
func (r *review) in(n *strictyaml.Node, col int, word, what, expected, hint string) {
	r.at(n, what, expected, hint)
	f := r.loader.inside("", n, col, "", "", "")
	if n.Line > len(r.lines) {
		return
	}
	line := []rune(r.lines[n.Line-1])
	if end := f.Col - 1 + len([]rune(word)); end <= len(line) && string(line[f.Col-1:end]) == word {
		r.faults[len(r.faults)-1].Col = f.Col
	}
}

// action is what the step itself says, false where it has no text of its own.
func (w *written) action(kinds ...Kind) (piece, bool) {
	if !slices.Contains(kinds, w.Kind) {
		return piece{}, false
	}
	for _, t := range w.texts {
		if t.action {
			return t, true
		}
	}
	return piece{}, false
}
