package engine

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"dropwalk/engine/rules"
	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

var idForm = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

// Load reads a procedure and checks it against the matter that it is about.
// It reports every fault of the file at once, in the order of their places.
// Warnings don't stop it; a procedure comes back where nothing is worse. What
// loads once loads in every later release; Check asks for more.
func Load(file string, src []byte, matter subject.Subject) (*Procedure, strictyaml.Faults) {
	l, faults := load(file, src, matter)
	return l.loaded, faults
}

// load leaves the procedure in the loader, nil where something is worse than a
// warning.
func load(file string, src []byte, matter subject.Subject) (*loader, strictyaml.Faults) {
	l := &loader{matter: matter, report: &strictyaml.Report{File: file}, ids: map[string]bool{}, nodes: map[*Step]*strictyaml.Node{}}
	root, faults := strictyaml.ParseYAML(file, src, 1)
	if faults = faults.Coded(codeYAML); root == nil || len(faults.Errors()) > 0 {
		return l, faults
	}
	faults = append(faults, fileShape.Check(file, root).Coded(codeForm)...)
	if len(faults.Errors()) > 0 {
		return l, faults.Sorted()
	}
	l.root = root
	p := l.procedure(root)
	p.Source = src
	faults = append(faults, l.report.Faults...).Sorted()
	if len(faults.Errors()) == 0 {
		l.loaded = p
	}
	return l, faults
}

// loader turns a tree whose form is right into a procedure, and checks what a
// table of keys can't: names, rules, the state of the car, what is owed.
type loader struct {
	matter subject.Subject
	report *strictyaml.Report
	ids    map[string]bool
	order  []string // ids of steps so far, for back-to
	car    CarState
	undo   *strictyaml.Node // the first undo
	find   *Search          // what the checks serve; nil where there are no causes
	owed   bool

	root   *strictyaml.Node
	nodes  map[*Step]*strictyaml.Node // where each step stands
	tests  []ruleTest
	loaded *Procedure
}

// at reports a fault under the code of the rule that is broken.
func (l *loader) at(code string, n *strictyaml.Node, what, expected, hint string) {
	l.report.At(n, what, expected, hint)
	l.report.Faults[len(l.report.Faults)-1].Code = code
}

func (l *loader) atKey(code string, n *strictyaml.Node, key, what, expected, hint string) {
	l.report.AtKey(n, key, what, expected, hint)
	l.report.Faults[len(l.report.Faults)-1].Code = code
}

// scope is what steps inside rounds can name besides facts.
type scope struct {
	values []subject.Fact
	depth  int
}

func (l *loader) procedure(root *strictyaml.Node) *Procedure {
	p := &Procedure{
		Name: root.Get("name").Str(), Title: root.Get("title").Str(), Purpose: root.Get("purpose").Str(),
		Takes: root.Get("takes").Str(), People: root.Get("people").Strs(), Tools: root.Get("tools").Strs(),
		StopIf: root.Get("stop-if").Strs(), IfStopped: map[CarState][]string{}, OnReturn: map[CarState]Gate{},
	}
	l.id(root.Get("name"))
	for _, s := range states {
		if n := root.Get("if-stopped").Get(s); n != nil {
			p.IfStopped[CarState(s)] = n.Strs()
		}
		if n := root.Get("on-return").Get(s); n != nil {
			p.OnReturn[CarState(s)] = Gate{Text: n.Get("hold").Str(), Lines: n.Get("lines").Strs(), Notices: l.notices(n, scope{}, nil)}
		}
	}
	l.search(p, root)
	l.parts(p, root.Get("parts"))
	l.searched(p, root)
	l.closing(p, root)
	p.number()
	return p
}

// closing checks what a procedure owes its user at a stop and at the end.
func (l *loader) closing(p *Procedure, root *strictyaml.Node) {
	if l.car == Moving {
		l.atKey(codeCarMoves, root, "parts", "the procedure ends with the car moving", "a hold with then-car: parked", "")
	}
	if l.undo != nil && !l.owed {
		l.at(codeOwed, l.undo, "this leaves something to undo, and no step lists what is owed", "a step owed: all near the end", "")
	}
	if len(p.IfStopped[Parked]) == 0 {
		l.atKey(codeIfStopped, root, "if-stopped", "nothing is said for a stop while the car is parked", "if-stopped with a list for parked", "")
	}
	if l.moves(p) && (len(p.IfStopped[Moving]) == 0 || p.OnReturn[Parked].Text == "") {
		l.atKey(codeIfStopped, root, "if-stopped", "the car moves in this procedure", "a list for moving under if-stopped, and a hold for parked under on-return", "")
	}
}

func (l *loader) moves(p *Procedure) bool {
	for _, part := range p.Parts {
		if slices.ContainsFunc(part.Steps, (*Step).moves) {
			return true
		}
	}
	return false
}

func (s *Step) moves() bool {
	return s.ThenCar == Moving || slices.ContainsFunc(s.Each, (*Step).moves)
}

func (l *loader) parts(p *Procedure, list *strictyaml.Node) {
	var part *Part
	for i, n := range list.Items {
		if n.Has("part") {
			if part != nil {
				l.partEnds(part)
			}
			part = l.part(n, i == 0)
			p.Parts = append(p.Parts, part)
			continue
		}
		if part == nil {
			l.at(codeParts, n, "a step stands before the first part", "a line such as - part: Preparation", "")
			part = &Part{}
		}
		part.Steps = append(part.Steps, l.step(n, scope{}))
	}
	if part != nil {
		l.partEnds(part)
	}
}

func (l *loader) part(n *strictyaml.Node, first bool) *Part {
	part := &Part{Title: n.Get("part").Str(), Car: CarState(n.Get("car").Str()), line: n.Line}
	switch {
	case part.Car == "" && first:
		l.at(codeCarState, n, "the first part says nothing of the car", "car: "+strictyaml.Either(states), "")
		part.Car = Parked
	case part.Car == "":
		part.Car = l.car
	case !first && part.Car != l.car:
		l.atKey(codeCarState, n, "car", fmt.Sprintf("this part begins with the car %s, but the step before leaves it %s", part.Car, l.car),
			fmt.Sprintf("a hold with then-car: %s before it", part.Car), "")
	}
	l.car = part.Car
	part.When, part.judged = l.rule(n, scope{})
	return part
}

func (l *loader) partEnds(part *Part) {
	if part.When != nil && l.car != part.Car {
		l.report.Faults = append(l.report.Faults, strictyaml.Fault{Code: codeCarState, File: l.report.File, Line: part.line, Col: 1,
			What:     fmt.Sprintf("this part may be left out, but it leaves the car %s instead of %s", l.car, part.Car),
			Expected: "a part that ends as it begins"})
	}
}

// step reads one step. Its verb is known to be one and to have fitting keys.
func (l *loader) step(n *strictyaml.Node, in scope) *Step {
	s := &Step{Kind: verbOf(n), line: n.Line, col: n.Col}
	l.nodes[s] = n
	l.identify(s, n)
	s.When, s.judged = l.rule(n, in)
	s.Why = l.text(n.Get("why"), in, nil)
	s.Skip = l.text(n.Get("skip"), in, nil)
	s.AgainAfterPause = n.Get("again-after-pause").True()
	l.shows(s, n)
	s.Notices = l.notices(n, in, s)
	l.cannot(s, n, in)
	l.moving(s, n)
	switch s.Kind {
	case Ask:
		l.ask(s, n, in)
	case Do:
		l.do(s, n, in)
	case Hold:
		l.hold(s, n, in)
	case Tell:
		l.tell(s, n, in)
	case Show:
		l.page(s, n)
	case Checks:
		l.checks(s, n, in)
	case Examine:
		l.at(codeCheckRow, n, "a check stands outside checks", "a step checks: "+byWorth+", with the check under each", "")
	case Rounds:
		l.rounds(s, n, in)
	case Owed:
		l.theOwed(s, n, in)
	}
	return s
}

// page reads a page: one of the matter, or what a search has come to.
func (l *loader) page(s *Step, n *strictyaml.Node) {
	s.Page = n.Get("page").Str()
	if s.Page == causesPage && l.find != nil || l.matter.Page(s.Page) {
		return
	}
	known := l.matter.Names().Pages
	if l.find != nil {
		known = append([]string{causesPage}, known...)
	}
	l.unknown(n.Get("page"), "page", s.Page, known)
}

func (l *loader) shows(s *Step, n *strictyaml.Node) {
	shows := n.Get("shows")
	if shows == nil {
		return
	}
	s.Shows = shows.Str()
	if known := l.matter.Names().Pictures; !slices.Contains(known, s.Shows) {
		l.unknown(shows, "picture", s.Shows, known)
	}
}

func verbOf(n *strictyaml.Node) Kind {
	for _, v := range verbWords() {
		if n.Has(v) {
			return Kind(v)
		}
	}
	return ""
}

// identify gives the step its id. One that is not written follows from what
// the step fills, else from its place.
func (l *loader) identify(s *Step, n *strictyaml.Node) {
	s.ID = n.Get("id").Str()
	switch {
	case s.ID != "":
		l.id(n.Get("id"))
	case s.Kind == Ask:
		first, _, _ := strings.Cut(n.Get("fills").Str(), ",")
		s.ID = strings.ReplaceAll(first[strings.LastIndex(first, ".")+1:], "_", "-")
	default:
		s.ID = fmt.Sprintf("%s-%d", s.Kind, len(l.order)+1)
	}
	if l.ids[s.ID] || s.ID == endWord {
		l.at(codeSameID, n, fmt.Sprintf("another step is called %q already", s.ID), "an id of its own", "")
	}
	l.ids[s.ID] = true
	l.order = append(l.order, s.ID)
}

// IsName tells whether s can be the name of a procedure or the id of a step.
func IsName(s string) bool { return idForm.MatchString(s) }

func (l *loader) id(n *strictyaml.Node) {
	if !IsName(n.Str()) {
		l.at(codeName, n, fmt.Sprintf("%q is no name", n.Str()), "small letters, digits and hyphens, beginning with a letter", "")
	}
}

// moving holds that nothing is typed in a moving car: what follows a hold that
// sets the car moving is a hold that brings it to rest.
func (l *loader) moving(s *Step, n *strictyaml.Node) {
	if l.car != Moving {
		return
	}
	then := CarState(n.Get("then-car").Str())
	if s.Kind != Hold || then == "" || then == Moving {
		l.at(codeCarMoves, n, "the car is moving here, and nobody types in a moving car", "a hold with then-car: parked", "")
	}
}

func (l *loader) ask(s *Step, n *strictyaml.Node, in scope) {
	s.Text = l.text(n.Get("ask"), in, s)
	s.Like = l.text(n.Get("like"), in, nil)
	s.Unknown = l.text(n.Get("unknown"), in, nil)
	fills := n.Get("fills")
	if fills == nil {
		l.at(codeFills, n, "an ask fills nothing", "fills: and a place in the document", "")
		return
	}
	for path := range strings.SplitSeq(fills.Str(), ",") {
		path = strings.TrimSpace(path)
		if _, ok := l.matter.Field(path); !ok {
			l.unknown(fills, "place", path, l.matter.Names().Fields)
		}
		s.Fills = append(s.Fills, path)
	}
}

func (l *loader) do(s *Step, n *strictyaml.Node, in scope) {
	s.Text = l.text(n.Get("do"), in, s)
	s.See = l.text(n.Get("see"), in, nil)
	l.undone(s, n, in)
}

// undone reads what a step leaves to put back, and what goes with that.
func (l *loader) undone(s *Step, n *strictyaml.Node, in scope) {
	s.Undo = l.text(n.Get("undo"), in, nil)
	if s.Undo != "" && l.undo == nil {
		l.undo = n.Get("undo")
	}
	m := n.Get("undoing")
	if m == nil {
		return
	}
	if s.Undo == "" {
		l.atKey(codeOwed, n, "undoing", "nothing is left to undo here", "undo: beside it", "")
	}
	s.Undoing = Undoing{First: m.Get("first").True(), See: l.text(m.Get("see"), in, nil), Notices: l.notices(m, in, nil)}
}

func (l *loader) hold(s *Step, n *strictyaml.Node, in scope) {
	s.Text = l.text(n.Get("hold"), in, s)
	if lines := n.Get("lines"); lines != nil {
		for _, item := range lines.Items {
			s.Lines = append(s.Lines, l.text(item, in, s))
		}
	}
	s.ThenCar = CarState(n.Get("then-car").Str())
	if s.ThenCar == "" {
		return
	}
	if s.When != nil {
		l.atKey(codeCarState, n, "when", "a hold that changes the state of the car can't depend on a rule", "two parts, each with a rule of its own", "")
	}
	l.car = s.ThenCar
}

func (l *loader) tell(s *Step, n *strictyaml.Node, in scope) {
	s.Text = l.text(n.Get("tell"), in, s)
	back := n.Get("back-to")
	if back == nil {
		return
	}
	s.BackTo = back.Strs()
	if back.Kind == strictyaml.Scalar {
		s.BackTo = []string{back.Str()}
	}
	for _, id := range s.BackTo {
		if id == s.ID || !l.ids[id] {
			l.unknown(back, "earlier step", id, l.order)
		}
	}
	if s.When == nil {
		l.at(codeBackTo, n, "a tell that leads back never ends without a rule", "a when that becomes false once it is put right", "")
	}
}

func (l *loader) cannot(s *Step, n *strictyaml.Node, in scope) {
	c := n.Get("cannot")
	if c == nil {
		return
	}
	if c.Kind == strictyaml.Scalar {
		s.Cannot = l.text(c, in, nil)
		return
	}
	s.Cannot = l.text(c.Get("say"), in, nil)
	if then := c.Get("then").Str(); then != "again" {
		s.CannotThen = Move(then)
	}
}

func (l *loader) rounds(s *Step, n *strictyaml.Node, in scope) {
	s.Source = n.Get("rounds").Str()
	source, ok := l.matter.Source(s.Source)
	if !ok {
		l.unknown(n.Get("rounds"), "source", s.Source, l.matter.Names().Sources)
	}
	s.AtLeast, s.AtMost = n.Get("at-least").Int(), n.Get("at-most").Int()
	switch {
	case !n.Has("at-most"):
		l.at(codeRounds, n, "these rounds have no end", "at-most: and a number", "")
	case s.AtLeast > s.AtMost:
		l.atKey(codeRounds, n, "at-least", fmt.Sprintf("at least %d rounds and at most %d", s.AtLeast, s.AtMost), "at-least below at-most", "")
	}
	if in.depth++; in.depth > deepestRounds {
		l.at(codeRounds, n, "rounds inside rounds inside rounds", fmt.Sprintf("at most %d deep", deepestRounds), "")
	}
	if !n.Has("each") {
		l.at(codeRounds, n, "these rounds have no steps", "each: and a list of steps", "")
		return
	}
	in.values = append(slices.Clone(in.values), source.Values...)
	before := l.car
	for _, item := range n.Get("each").Items {
		if item.Has("part") {
			l.at(codeRounds, item, "a part can't stand inside rounds", "a step", "")
			continue
		}
		s.Each = append(s.Each, l.step(item, in))
	}
	if l.car != before {
		l.at(codeCarState, n, fmt.Sprintf("a round begins with the car %s and leaves it %s", before, l.car), "a round that ends as it begins", "")
		l.car = before
	}
}

func (l *loader) theOwed(s *Step, n *strictyaml.Node, in scope) {
	switch {
	case l.owed:
		l.at(codeOwed, n, "what is owed is listed already", "one step owed: all", "")
	case in.depth > 0:
		l.at(codeOwed, n, "what is owed can't be listed inside rounds", "owed: all near the end", "")
	case s.When != nil:
		l.atKey(codeOwed, n, "when", "what is owed is owed in any case", "owed: all without a rule", "")
	}
	l.owed = true
}

func (l *loader) unknown(n *strictyaml.Node, what, name string, known []string) {
	hint := ""
	if near, ok := spell.Nearest(name, known); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	l.at(codeUnknownName, n, fmt.Sprintf("nobody knows the %s %q", what, name), strictyaml.Either(shortened(known)), hint)
}

// shortened keeps a message on a line.
func shortened(names []string) []string {
	const most = 8
	if len(names) <= most {
		return names
	}
	return append(slices.Clone(names[:most]), "others")
}

// names is what rules and texts at a place can name.
type names struct {
	loader *loader
	in     scope
}

// Fact finds a value of the rounds around the place, else a fact.
func (k names) Fact(name string) (subject.Fact, bool) {
	for _, f := range k.in.values {
		if f.Name == name {
			return f, true
		}
	}
	return k.loader.matter.Fact(name)
}

// FactNames lists what there is.
func (k names) FactNames() []string {
	var list []string
	for _, f := range k.in.values {
		list = append(list, f.Name)
	}
	return append(list, k.loader.matter.Names().Facts...)
}

// rule compiles the rule of a step and tells whether it rests on an assessment.
func (l *loader) rule(n *strictyaml.Node, in scope) (*rules.Rule, bool) {
	when := n.Get("when")
	if when == nil {
		if n.Has("examples") {
			l.atKey(codeExamples, n, "examples", "examples show what a rule does, and there is no rule here", "a when beside them", "")
		}
		return nil, false
	}
	known := names{l, in}
	rule, err := rules.Compile(when.Str(), known)
	if err != nil {
		l.report.Faults = append(l.report.Faults, l.inside(codeRule, when, err.Col-1, err.What, err.Expected, err.Hint))
		return nil, false
	}
	l.examples(rule, n.Get("examples"), known)
	for _, name := range rule.Facts() {
		if f, _ := known.Fact(name); f.Judged {
			return rule, true
		}
	}
	return rule, false
}

// inside is a fault so many runes into the text of a scalar.
func (l *loader) inside(code string, n *strictyaml.Node, offset int, what, expected, hint string) strictyaml.Fault {
	f := strictyaml.Fault{Code: code, File: l.report.File, Line: n.Line, Col: n.Col, Path: n.Path(), What: what, Expected: expected, Hint: hint}
	if !n.Literal {
		f.Col += offset
		if n.Quoted {
			f.Col++
		}
	}
	return f
}

// text reads a text and checks the names in braces. A name that rests on an
// assessment marks s, whose text then says nothing about a correction.
func (l *loader) text(n *strictyaml.Node, in scope, s *Step) string {
	if n == nil {
		return ""
	}
	known := names{l, in}
	braces(n.Str(), func(name string, col int) string {
		f, ok := known.Fact(name)
		if !ok && (name != "round" || in.depth == 0) {
			hint := ""
			if near, found := spell.Nearest(name, known.FactNames()); found {
				hint = fmt.Sprintf("did you mean {%s}?", near)
			}
			l.report.Faults = append(l.report.Faults, l.inside(codeBraces, n, col, fmt.Sprintf("nobody knows {%s}", name), "a fact, or a value of the rounds around it", hint))
		}
		if s != nil && f.Judged {
			s.textJudged = true
		}
		return ""
	})
	return n.Str()
}

// owedSlot is the address of the step that lists what is owed.
func (p *Procedure) owedSlot() string {
	for _, part := range p.Parts {
		for _, s := range part.Steps {
			if s.Kind == Owed {
				return s.ID
			}
		}
	}
	return string(Owed)
}

// isPage tells whether the step with the given id shows a page.
func (p *Procedure) isPage(id string) bool {
	for _, part := range p.Parts {
		if s := stepIn(part.Steps, id); s != nil {
			return s.Kind == Show
		}
	}
	return false
}

func stepIn(list []*Step, id string) *Step {
	for _, s := range list {
		if s.ID == id {
			return s
		}
		if inner := stepIn(s.Each, id); inner != nil {
			return inner
		}
	}
	return nil
}
