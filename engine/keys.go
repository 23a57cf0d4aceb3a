package engine

import (
	"slices"
	"strings"

	"dropwalk/engine/insert"
	"dropwalk/engine/strictyaml"
)

// Limits of a procedure file. They are far above what a person would write and
// bound the work that a stranger's file can cause.
const (
	longestText   = 2000
	longestLine   = 500
	deepestRounds = 3
	mostRounds    = 100
)

// verbs are the keys that make a step, and what else each may have.
var verbs = map[Kind][]string{
	Ask:     {"fills", "like", "unknown", "skip", "cannot", "again-after-pause"},
	Do:      {"see", "undo", "undoing", "again-after-pause", "cannot", "skip"},
	Hold:    {"lines", "then-car"},
	Tell:    {"back-to"},
	Show:    {},
	Rounds:  {"at-least", "at-most", "each"},
	Checks:  {"at-most", "each"},
	Examine: {"where", "condition", "tool", "time", "car", "opens", "expect", "source", "below", "inside", "above", "answers", "told", "cannot", "undo", "undoing"},
	Owed:    {},
}

// always are the keys that any step may have.
var always = []string{"id", "when", "examples", "why", "shows", "danger", "warning", "caution", "notice"}

// partKeys are the keys of a part's own line.
var partKeys = []string{"part", "car", "when", "examples"}

// levels of a notice, by the injury that it warns of, as ANSI Z535.6 orders
// them; the last is for damage to things only.
var levels = []string{"danger", "warning", "caution", "notice"}

var states = []string{string(Off), string(Idling), string(Parked), string(Moving)}

func text() *strictyaml.Shape { return strictyaml.Prose(longestText) }

// form makes the table of keys of a procedure file, as it is read or as people
// write it: then an item of a list may be an insert as well.
type form struct{ inserts bool }

// fileShape is the table of keys of a complete file; the JSON Schema comes from
// the same table with inserts.
var fileShape = form{}.file()

func (f form) list(elem *strictyaml.Shape) *strictyaml.Shape {
	if f.inserts {
		elem = strictyaml.OneOf(elem, strictyaml.Keys(strictyaml.Key{Name: insert.Key, Shape: strictyaml.Text(64), Required: true,
			Doc: "stands for the items of a shared block; dropwalk procedures blocks lists them"}))
	}
	return strictyaml.ListOf(elem, 1)
}

func (f form) texts() *strictyaml.Shape { return f.list(strictyaml.Text(longestLine)) }

func (f form) file() *strictyaml.Shape {
	state := strictyaml.Words(states...)
	lists := strictyaml.Keys()
	gates := strictyaml.Keys()
	for _, s := range states {
		lists.Add(strictyaml.Key{Name: s, Shape: f.texts(), Doc: "what to do first while the car is " + s})
		gates.Add(strictyaml.Key{Name: s, Shape: f.gate(), Doc: "what must be true before a session goes on with the car " + s})
	}
	file := strictyaml.Keys(
		strictyaml.Key{Name: "procedure", Shape: strictyaml.Whole(1, 1), Required: true, Doc: "version of this file format", Example: 1},
		strictyaml.Key{Name: "name", Shape: strictyaml.Text(64), Required: true, Doc: "short name: small letters, digits and hyphens", Example: "intake"},
		strictyaml.Key{Name: "title", Shape: strictyaml.Text(longestLine), Required: true, Doc: "what it answers, in a few words"},
		strictyaml.Key{Name: "purpose", Shape: text(), Required: true, Doc: "what it is for, in a sentence"},
		strictyaml.Key{Name: "takes", Shape: strictyaml.Text(longestLine), Doc: "how long it takes", Example: "90 min"},
		strictyaml.Key{Name: "people", Shape: f.texts(), Doc: "who is needed"},
		strictyaml.Key{Name: "tools", Shape: f.texts(), Doc: "what is needed"},
		strictyaml.Key{Name: "stop-if", Shape: f.texts(), Doc: "what ends a run at once"},
		strictyaml.Key{Name: "if-stopped", Shape: lists, Doc: "what to do first after a stop, by state of the car"},
		strictyaml.Key{Name: "on-return", Shape: gates, Doc: "what is asked when a session goes on, by state of the car"},
		strictyaml.Key{Name: "parts", Shape: f.list(f.step(state)), Required: true, Doc: "parts, each followed by its steps"},
	)
	return file.Add(f.search()...)
}

func (f form) gate() *strictyaml.Shape {
	return strictyaml.Keys(
		strictyaml.Key{Name: "hold", Shape: text(), Required: true, Doc: "the question"},
		strictyaml.Key{Name: "lines", Shape: f.texts(), Doc: "what must be true"},
	).Add(noticeKeys("a caution that rides on the hold")...)
}

// noticeKeys are a key for each signal word.
func noticeKeys(doc string) []strictyaml.Key {
	var keys []strictyaml.Key
	for _, level := range levels {
		keys = append(keys, strictyaml.Key{Name: level, Shape: noticeShape(), Doc: doc})
	}
	return keys
}

// undoingShape is what goes with an undo once it is its turn.
func undoingShape() *strictyaml.Shape {
	return strictyaml.Keys(
		strictyaml.Key{Name: "first", Shape: strictyaml.Truth(), Doc: "it is put back ahead of what was done later"},
		strictyaml.Key{Name: "see", Shape: text(), Doc: "what shows that it is put back"},
	).Add(noticeKeys("a caution on putting it back, instead of those of the step")...)
}

func noticeShape() *strictyaml.Shape {
	return strictyaml.Keys(
		strictyaml.Key{Name: "from", Shape: strictyaml.Text(longestLine), Required: true, Doc: "the hazard"},
		strictyaml.Key{Name: "so", Shape: strictyaml.Text(longestLine), Required: true, Doc: "the consequence"},
		strictyaml.Key{Name: "avoid", Shape: strictyaml.Text(longestLine), Required: true, Doc: "how to avoid it"},
	)
}

func (f form) step(state *strictyaml.Shape) *strictyaml.Shape {
	step := strictyaml.Keys().Named("step").Called("a part or a step")
	step.Add(
		strictyaml.Key{Name: "part", Shape: strictyaml.Text(longestLine), Doc: "begins a part with this title"},
		strictyaml.Key{Name: "car", Shape: state, Doc: "of a part: the state of the car in which it begins; of a check: the state that it needs"},
		strictyaml.Key{Name: string(Ask), Shape: text(), Doc: "asks a question"},
		strictyaml.Key{Name: string(Do), Shape: text(), Doc: "has one thing done"},
		strictyaml.Key{Name: string(Hold), Shape: text(), Doc: "goes no further until everything is as it should be"},
		strictyaml.Key{Name: string(Tell), Shape: text(), Doc: "says something"},
		strictyaml.Key{Name: string(Show), Shape: strictyaml.Text(64), Doc: "shows a page of results"},
		strictyaml.Key{Name: string(Rounds), Shape: strictyaml.Text(64), Doc: "repeats steps while a source offers work"},
		strictyaml.Key{Name: string(Owed), Shape: strictyaml.Words("all"), Doc: "lists what must be undone"},
		strictyaml.Key{Name: string(Checks), Shape: strictyaml.Words(byWorth), Doc: "offers checks until a cause stands out"},
		strictyaml.Key{Name: string(Examine), Shape: text(), Doc: "has one thing looked at or measured that tells causes apart"},
		strictyaml.Key{Name: "id", Shape: strictyaml.Text(64), Doc: "name of the step: small letters, digits and hyphens"},
		strictyaml.Key{Name: "when", Shape: strictyaml.Text(longestLine), Doc: "a rule; the step is left out where it is false"},
		strictyaml.Key{Name: "examples", Shape: strictyaml.ListOf(exampleShape(), 1), Doc: "what the rule must do for given facts; tried by procedures check"},
		strictyaml.Key{Name: "why", Shape: text(), Doc: "why this is asked; shown on request"},
		strictyaml.Key{Name: "shows", Shape: strictyaml.Text(64), Doc: "a picture that stands above the text"},
		strictyaml.Key{Name: "fills", Shape: text(), Doc: "of an ask: places in the document, with commas between"},
		strictyaml.Key{Name: "like", Shape: strictyaml.Text(longestLine), Doc: "of an ask: an example of an answer"},
		strictyaml.Key{Name: "unknown", Shape: text(), Doc: "of an ask: what follows where the answer is not known"},
		strictyaml.Key{Name: "skip", Shape: text(), Doc: "allows skipping; says what follows from it"},
		strictyaml.Key{Name: "cannot", Shape: strictyaml.OneOf(text(), cannotShape()), Doc: "what to do where it can't be done"},
		strictyaml.Key{Name: "see", Shape: text(), Doc: "of a do: what shows that it worked"},
		strictyaml.Key{Name: "undo", Shape: text(), Doc: "of a do or a check: what is owed for it at the end"},
		strictyaml.Key{Name: "undoing", Shape: undoingShape(), Doc: "of a step with an undo: what goes with putting it back"},
		strictyaml.Key{Name: "again-after-pause", Shape: strictyaml.Truth(), Doc: "of a do or an ask: comes again when a session goes on"},
		strictyaml.Key{Name: "lines", Shape: f.texts(), Doc: "of a hold: what must be true"},
		strictyaml.Key{Name: "then-car", Shape: state, Doc: "of a hold: the state of the car after it"},
		strictyaml.Key{Name: "back-to", Shape: strictyaml.OneOf(strictyaml.Text(64), strictyaml.ListOf(strictyaml.Text(64), 1)), Doc: "of a tell: the steps that are asked again"},
		strictyaml.Key{Name: "at-least", Shape: strictyaml.Whole(0, mostRounds), Doc: "of rounds: how many are asked for in any case"},
		strictyaml.Key{Name: "at-most", Shape: strictyaml.Whole(1, mostRounds), Doc: "of rounds and checks: where it ends in any case"},
		strictyaml.Key{Name: "each", Shape: f.list(step), Doc: "of rounds: the steps of one round; of checks: its rows"},
	)
	step.Add(noticeKeys("a caution that rides on the step")...)
	step.Add(checkKeys()...)
	return step.Also(checkVerb).With(map[string]any{"oneOf": oneVerb()})
}

// What a step comes to under a rule.
const (
	shown  = "shown"
	hidden = "hidden"
)

func exampleShape() *strictyaml.Shape {
	return strictyaml.Keys(
		strictyaml.Key{Name: "given", Shape: strictyaml.MapOf(strictyaml.Text(longestLine)), Required: true, Doc: "values of facts; those that are left out are not known"},
		strictyaml.Key{Name: "then", Shape: strictyaml.Words(shown, hidden), Required: true, Doc: "what becomes of the step"},
	)
}

func cannotShape() *strictyaml.Shape {
	return strictyaml.Keys(
		strictyaml.Key{Name: "say", Shape: text(), Required: true, Doc: "what to do"},
		strictyaml.Key{Name: "then", Shape: strictyaml.Words("again", string(Skip), string(Stop)), Required: true, Doc: "where it leads"},
	)
}

func verbWords() []string {
	return []string{string(Ask), string(Do), string(Hold), string(Tell), string(Show), string(Rounds), string(Checks), string(Examine), string(Owed)}
}

func oneVerb() []any {
	var options []any
	for _, v := range append([]string{"part"}, verbWords()...) {
		options = append(options, map[string]any{"required": []string{v}})
	}
	return options
}

// checkVerb holds that a step has one verb and only the keys that go with it.
func checkVerb(n *strictyaml.Node, r *strictyaml.Report) {
	var found []string
	for _, v := range append([]string{"part"}, verbWords()...) {
		if n.Has(v) {
			found = append(found, v)
		}
	}
	if len(found) == 0 {
		r.At(n, "this step has no verb", strictyaml.Either(verbWords()), "")
		return
	}
	if len(found) > 1 {
		r.AtKey(n, found[1], "a step has one verb, and this one has "+strings.Join(found, " and "), "one of them", "make two steps of it")
		return
	}
	allowed := partKeys
	if found[0] != "part" {
		allowed = slices.Concat([]string{found[0]}, always, verbs[Kind(found[0])])
	}
	for _, p := range n.Pairs {
		if allKeys[p.Key] && !slices.Contains(allowed, p.Key) {
			r.AtKey(n, p.Key, "the key "+p.Key+" does not go with "+found[0], strictyaml.Either(allowed[1:]), "")
		}
	}
}

// allKeys are the keys that some step may have; a key that is none of them is
// reported by the table already.
var allKeys = func() map[string]bool {
	keys := map[string]bool{}
	for _, k := range slices.Concat(verbWords(), always, partKeys) {
		keys[k] = true
	}
	for _, own := range verbs {
		for _, k := range own {
			keys[k] = true
		}
	}
	return keys
}()

// Schema is the JSON Schema of a procedure file as people write it.
func Schema() []byte {
	return form{inserts: true}.file().Schema("procedure-1.schema.json", "A procedure")
}
