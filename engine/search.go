package engine

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"dropwalk/engine/causes"
	"dropwalk/engine/quantity"
	"dropwalk/engine/rules"
	"dropwalk/engine/strictyaml"
)

// Words of a search in a file.
const (
	byWorth    = "by-worth" // the only order of checks so far
	endWord    = "end"      // then: end
	causesPage = "causes"
)

// Outcomes of a check that is measured, and of any that can't be made.
const (
	Below      = "below"
	Inside     = "inside"
	Above      = "above"
	NotChecked = "not-checked"
)

// Search is what a procedure says about the causes of a symptom and about
// the checks that tell them apart.
type Search struct {
	Causes   []*Cause
	Openings []*Step // of kind do, each with its minutes
	Checks   []*Step // the rows, in the order of the file
	Gates    []*Step // holds between the states of the car that checks need
	None     Unfound
	Proof    float64 // minutes that it takes to see whether putting right has helped

	minutes []float64 // of the openings
	step    *Step     // the step checks
}

// Cause is one thing that can be wrong.
type Cause struct {
	ID, Text      string
	Chance        float64 // 0 to 1, before any check
	Basis, Remedy string  // where the chance comes from; what to do
	Minutes       float64 // to put it right, once everything is open
	Opens         []string
	When          *rules.Rule

	opens causes.Set
}

// Unfound is what follows where it is none of the causes.
type Unfound struct {
	Text    string
	Minutes float64
}

// CheckStep is the row of one check.
type CheckStep struct {
	Where, Condition, Tool string
	Minutes                float64
	Car                    CarState // that it needs
	Opens                  []string
	Expect                 *Range   // nil where it is answered with a word
	LooksAt                []string // causes at which it is said to look straight
	Told                   bool     // the answer is told from memory: nothing is looked at
	Source                 string   // where the range, or what the words mean, comes from
	Outcomes               []*Outcome

	opens  causes.Set
	looks  []int       // the numbers of LooksAt among the causes
	Number int         // among the rows
	likely [][]float64 // by outcome, by cause and none
}

// Range is what a measured check expects. Bounds are SI.
type Range struct {
	From, To *quantity.Amount // nil where the range is open
	Kind     quantity.Kind
	Unit     string // of a bare number
}

// Outcome is what a check can come to.
type Outcome struct {
	Word string // below, inside, above, or the word of an answer
	Says string // what it means
	Then string // the id of the check that follows in any case, or end

	usually float64            // without a cause that the check speaks of; -1 unstated
	cause   map[string]float64 // by cause
}

func (f form) search() []strictyaml.Key {
	shares := strictyaml.Text(longestLine)
	cause := strictyaml.Keys(
		strictyaml.Need("cause", text(), "what is wrong, in a sentence"),
		strictyaml.Need("id", strictyaml.Text(64), "name of the cause: small letters, digits and hyphens"),
		strictyaml.Key{Name: "chance", Shape: shares, Required: true, Doc: "how likely it is before any check", Example: "15 %"},
		strictyaml.Key{Name: "basis", Shape: strictyaml.Text(longestLine), Required: true, Doc: "where the chance comes from", Example: "common practice, no source"},
		strictyaml.Key{Name: "time", Shape: shares, Required: true, Doc: "minutes that it takes to put it right once everything is open", Example: "10 min"},
		strictyaml.Key{Name: "opens", Shape: idList(), Doc: "what has to be opened for it"},
		strictyaml.Need("remedy", text(), "what to do about it; the next step"),
		strictyaml.Key{Name: "when", Shape: strictyaml.Text(longestLine), Doc: "a rule on answers; the cause is left out where it is false"},
	)
	opening := strictyaml.Keys(
		strictyaml.Need(string(Do), text(), "opens something that several checks or remedies need"),
		strictyaml.Need("id", strictyaml.Text(64), "name of the opening: small letters, digits and hyphens"),
		strictyaml.Key{Name: "time", Shape: shares, Required: true, Doc: "minutes that it takes, there and back", Example: "5 min"},
		strictyaml.Key{Name: "why", Shape: text(), Doc: "why it is opened"},
		strictyaml.Key{Name: "see", Shape: text(), Doc: "what shows that it worked"},
		strictyaml.Key{Name: "undo", Shape: text(), Doc: "what is owed for it at the end"},
		strictyaml.Key{Name: "undoing", Shape: undoingShape(), Doc: "what goes with putting it back"},
		strictyaml.Need("cannot", text(), "what follows where it can't be opened"),
	)
	opening.Add(noticeKeys("a caution that rides on it")...)
	none := strictyaml.Keys(
		strictyaml.Need("say", text(), "what to do where no fault was found"),
		strictyaml.Key{Name: "time", Shape: shares, Required: true, Doc: "minutes that follow then, a workshop's for example", Example: "120 min"},
	)
	return []strictyaml.Key{
		{Name: "causes", Shape: f.list(cause), Doc: "what can be wrong: one of these, or none"},
		{Name: "openings", Shape: f.list(opening), Doc: "what has to be opened for checks and remedies; the time is paid once"},
		{Name: "no-fault-found", Shape: none, Doc: "what follows where it is none of the causes"},
		{Name: "proof", Shape: shares, Doc: "minutes that it takes to see whether putting a cause right has helped, such as a short drive; none where it shows at once", Example: "15 min"},
	}
}

func idList() *strictyaml.Shape {
	return strictyaml.OneOf(strictyaml.Text(64), strictyaml.ListOf(strictyaml.Text(64), 1))
}

func checkKeys() []strictyaml.Key {
	outcome := strictyaml.Keys(
		strictyaml.Need("says", text(), "what this outcome means"),
		strictyaml.Key{Name: "usually", Shape: strictyaml.Text(longestLine), Doc: "how often it comes where none of the causes named at this check is there", Example: "5 %"},
		strictyaml.Key{Name: "if", Shape: strictyaml.MapOf(strictyaml.Text(longestLine)), Doc: "how often it comes where a cause is there: the id of the cause and a share"},
		strictyaml.Key{Name: "then", Shape: strictyaml.Text(64), Doc: "the check that follows in any case, or end"},
	).Named("outcome")
	bounds := strictyaml.Keys(
		strictyaml.Key{Name: "from", Shape: strictyaml.Text(longestLine), Doc: "the least that is expected", Example: "1 kPa"},
		strictyaml.Key{Name: "to", Shape: strictyaml.Text(longestLine), Doc: "the most that is expected", Example: "2 kPa"},
	)
	return []strictyaml.Key{
		{Name: "where", Shape: text(), Doc: "of a check: the place"},
		{Name: "condition", Shape: text(), Doc: "of a check: what must be so meanwhile"},
		{Name: "tool", Shape: strictyaml.Text(longestLine), Doc: "of a check: what it is made with"},
		{Name: "time", Shape: strictyaml.Text(longestLine), Doc: "of a check: minutes, once everything is open", Example: "3 min"},
		{Name: "opens", Shape: idList(), Doc: "of a check: what has to be opened for it"},
		{Name: "looks-at", Shape: idList(), Doc: "of a check: the ids of causes at which it looks straight; a cause of which an answer is 20 times as likely as usual needs no naming"},
		{Name: "expect", Shape: bounds, Doc: "of a check that is measured: the range where all is well"},
		{Name: "source", Shape: strictyaml.Text(longestLine), Doc: "of a check: where the range or the meaning of its answers comes from", Example: "common practice, no source"},
		{Name: Below, Shape: outcome, Doc: "of a measured check: less than expected"},
		{Name: Inside, Shape: outcome, Doc: "of a measured check: as expected"},
		{Name: Above, Shape: outcome, Doc: "of a measured check: more than expected"},
		{Name: "told", Shape: strictyaml.Truth(), Doc: "of a check: it is told from memory, and nothing is looked at or measured"},
		{Name: "answers", Shape: strictyaml.MapOf(outcome), Doc: "of a check that is answered with a word: its answers"},
	}
}

// search reads the tables of causes and openings, ahead of the steps that name
// them.
func (l *loader) search(p *Procedure, root *strictyaml.Node) {
	list := root.Get("causes")
	if list == nil {
		for _, key := range []string{"openings", "no-fault-found", "proof"} {
			if root.Has(key) {
				l.atKey(codeCauses, root, key, key+" stands without causes", "causes: and a list", "")
			}
		}
		return
	}
	l.find = &Search{}
	p.Search = l.find
	if opened := root.Get("openings"); opened != nil {
		l.openings(opened)
	}
	sum := 0.0
	for _, n := range list.Items {
		c := l.cause(n)
		sum += c.Chance
		l.find.Causes = append(l.find.Causes, c)
	}
	if sum > 0.99+1e-9 {
		l.at(codeCauses, list, fmt.Sprintf("the chances sum to %.6g %%", 100*sum), "at most 99 %: it may be none of them", "")
	}
	if n := len(list.Items); n < 2 || n > causes.MostCauses {
		l.at(codeCauses, list, fmt.Sprintf("%d causes", n), fmt.Sprintf("2 to %d", causes.MostCauses), "")
	}
	none := root.Get("no-fault-found")
	if none == nil {
		l.atKey(codeCauses, root, "causes", "nothing says what follows where it is none of the causes", "no-fault-found: with say and time", "")
		return
	}
	if n := root.Get("proof"); n != nil {
		l.find.Proof = l.minutes(n)
	}
	l.find.None = Unfound{Text: l.text(none.Get("say"), scope{}, nil), Minutes: l.minutes(none.Get("time"))}
}

func (l *loader) openings(list *strictyaml.Node) {
	for _, n := range list.Items {
		s := l.step(n, scope{})
		s.CannotThen = Skip
		l.find.Openings = append(l.find.Openings, s)
		l.find.minutes = append(l.find.minutes, l.minutes(n.Get("time")))
	}
	if n := len(list.Items); n > causes.MostOpenings {
		l.at(codeCauses, list, fmt.Sprintf("%d openings", n), fmt.Sprintf("at most %d", causes.MostOpenings), "")
	}
}

func (l *loader) cause(n *strictyaml.Node) *Cause {
	c := &Cause{
		ID: n.Get("id").Str(), Text: l.text(n.Get("cause"), scope{}, nil), Basis: n.Get("basis").Str(), Remedy: l.text(n.Get("remedy"), scope{}, nil),
		Chance: l.share(codeCauses, n.Get("chance")), Minutes: l.minutes(n.Get("time")),
	}
	l.id(n.Get("id"))
	if c.Chance <= 0 {
		l.at(codeCauses, n.Get("chance"), "a cause without a chance", "more than 0 %", "leave the cause out")
	}
	if slices.ContainsFunc(l.find.Causes, func(o *Cause) bool { return o.ID == c.ID }) {
		l.at(codeSameID, n.Get("id"), fmt.Sprintf("another cause is called %q already", c.ID), "an id of its own", "")
	}
	c.Opens, c.opens = l.opens(n.Get("opens"))
	c.When = l.given(n)
	return c
}

// given reads the rule of a cause or a check: one on answers alone.
func (l *loader) given(n *strictyaml.Node) *rules.Rule {
	rule, judged := l.rule(n, scope{})
	if judged {
		l.atKey(codeCauses, n, "when", "this rule rests on an assessment", "a rule on answers alone", "")
	}
	return rule
}

// opens reads the ids of openings.
func (l *loader) opens(n *strictyaml.Node) ([]string, causes.Set) {
	if n == nil {
		return nil, 0
	}
	list := n.Strs()
	var set causes.Set
	for _, id := range list {
		i := slices.IndexFunc(l.find.Openings, func(s *Step) bool { return s.ID == id })
		if i < 0 {
			l.unknown(n, "opening", id, idsOf(l.find.Openings))
			continue
		}
		set |= 1 << i
	}
	return list, set
}

func idsOf(list []*Step) []string {
	ids := make([]string, len(list))
	for i, s := range list {
		ids[i] = s.ID
	}
	return ids
}

// minutes reads a time above nought.
func (l *loader) minutes(n *strictyaml.Node) float64 {
	a, err := quantity.Read(n.Str(), quantity.Want{Kind: quantity.Duration})
	if err != nil || !a.Known() || a.SI <= 0 {
		l.at(codeCauses, n, fmt.Sprintf("%q is no time", n.Str()), "a time above nought with its unit, such as 5 min", "")
		return 1
	}
	return a.SI / 60
}

// share reads a share from 0 to 1.
func (l *loader) share(code string, n *strictyaml.Node) float64 {
	a, err := quantity.Read(n.Str(), quantity.Want{Kind: quantity.Share})
	if err != nil || !a.Known() || a.SI < 0 || a.SI > 1 {
		l.at(code, n, fmt.Sprintf("%q is no share", n.Str()), "a share from 0 % to 100 %", "")
		return 0
	}
	return a.SI
}

// checks reads the step that offers checks.
func (l *loader) checks(s *Step, n *strictyaml.Node, in scope) {
	switch {
	case l.find == nil:
		l.at(codeCauses, n, "these checks have no causes to tell apart", "causes: at the top of the file", "")
		return
	case l.find.step != nil:
		l.at(codeCauses, n, "a second step checks", "one", "")
	case in.depth > 0:
		l.at(codeCauses, n, "checks inside rounds", "checks in a part", "")
	}
	l.find.step = s
	if !n.Has("each") {
		l.at(codeCheckRow, n, "these checks have no rows", "each: and a list of checks", "")
		return
	}
	for _, item := range n.Get("each").Items {
		if !item.Has(string(Examine)) {
			l.at(codeCheckRow, item, "only a check can stand under checks", "check: and a question", "")
			continue
		}
		l.checkRow(item)
	}
	s.Each = l.find.Checks
	if s.AtMost = n.Get("at-most").Int(); s.AtMost == 0 {
		s.AtMost = len(s.Each)
	}
	if len(s.Each) > causes.MostChecks {
		l.at(codeCheckRow, n, fmt.Sprintf("%d checks", len(s.Each)), fmt.Sprintf("at most %d", causes.MostChecks), "")
	}
	l.gates()
}

// checkRow reads one row. Its words are held here; which check follows which is
// held once all are known.
func (l *loader) checkRow(n *strictyaml.Node) {
	s := &Step{Kind: Examine, line: n.Line, col: n.Col, Check: &CheckStep{Number: len(l.find.Checks)}}
	c := s.Check
	l.nodes[s] = n
	l.identify(s, n)
	s.Text = l.text(n.Get(string(Examine)), scope{}, s)
	s.Why = l.text(n.Get("why"), scope{}, nil)
	s.When = l.given(n)
	s.Notices = l.notices(n, scope{}, s)
	l.cannot(s, n, scope{})
	l.undone(s, n, scope{})
	c.Where, c.Condition, c.Tool = l.text(n.Get("where"), scope{}, nil), l.text(n.Get("condition"), scope{}, nil), n.Get("tool").Str()
	c.Source = n.Get("source").Str()
	c.Told = n.Get("told").True()
	c.Car = CarState(n.Get("car").Str())
	if c.Car == "" {
		c.Car = l.car
	}
	if c.Car == Moving {
		l.atKey(codeCarMoves, n, "car", "nothing is checked in a moving car", "off, idling or parked", "name a procedure with runs as the remedy")
		c.Car = l.car
	}
	c.Opens, c.opens = l.opens(n.Get("opens"))
	l.looksAt(c, n.Get("looks-at"))
	for _, key := range []string{"time", "source", "cannot"} {
		if !n.Has(key) {
			l.at(codeCheckRow, n, "this check lacks "+key, key+":", checkHints[key])
		}
	}
	if t := n.Get("time"); t != nil {
		c.Minutes = l.minutes(t)
	}
	if faults := len(l.report.Faults); l.outcomes(c, n) && faults == len(l.report.Faults) {
		l.likelihoods(c, n)
	}
	l.find.Checks = append(l.find.Checks, s)
}

// looksAt reads the causes at which a check looks straight.
func (l *loader) looksAt(c *CheckStep, n *strictyaml.Node) {
	if n == nil {
		return
	}
	if c.Told {
		l.at(codeCheckRow, n, "what is told from memory looks at nothing", "looks-at, or told: true", "")
	}
	for _, id := range n.Strs() {
		i := slices.Index(l.find.ids(), id)
		if i < 0 {
			l.unknown(n, "cause", id, l.find.ids())
			continue
		}
		c.LooksAt, c.looks = append(c.LooksAt, id), append(c.looks, i)
	}
}

var checkHints = map[string]string{
	"time":   "for example time: 3 min",
	"source": "for example source: common practice, no source",
	"cannot": "say what follows where it can't be measured or seen",
}

// notices reads the cautions of a step.
func (l *loader) notices(n *strictyaml.Node, in scope, s *Step) []Notice {
	var list []Notice
	for _, level := range levels {
		if m := n.Get(level); m != nil {
			list = append(list, Notice{level, l.text(m.Get("from"), in, s), l.text(m.Get("so"), in, s), l.text(m.Get("avoid"), in, s)})
		}
	}
	return list
}

// outcomes reads what a check can come to: those of its range, or its words. It
// reports false where there are none.
func (l *loader) outcomes(c *CheckStep, n *strictyaml.Node) bool {
	expect, answers := n.Get("expect"), n.Get("answers")
	switch {
	case expect == nil && answers == nil:
		l.at(codeCheckRow, n, "this check has no outcomes", "expect: with below, inside and above; or answers: and words", "")
		return false
	case expect != nil && answers != nil:
		l.atKey(codeCheckRow, n, "answers", "a check is measured or answered with a word, not both", "expect or answers", "")
		return false
	case answers != nil:
		l.wordOutcomes(c, answers)
	default:
		c.Expect = l.expected(expect)
	}
	for _, key := range []string{Below, Inside, Above} {
		wanted := expect != nil && (key == Inside || key == Below && expect.Has("from") || key == Above && expect.Has("to"))
		switch o := n.Get(key); {
		case wanted && o == nil:
			l.at(codeCheckRow, n, "nothing says what "+key+" means", key+": with says", "")
		case !wanted && o != nil:
			l.atKey(codeCheckRow, n, key, "this can't come out "+key, "no "+key+", or a bound under expect", "")
		case o != nil:
			c.Outcomes = append(c.Outcomes, l.outcome(key, o))
		}
	}
	return true
}

func (l *loader) wordOutcomes(c *CheckStep, answers *strictyaml.Node) {
	if k := len(answers.Pairs); k < 2 || k > causes.MostOutcomes {
		l.at(codeCheckRow, answers, fmt.Sprintf("a check of %d answers", k), fmt.Sprintf("2 to %d", causes.MostOutcomes), "")
	}
	for _, pair := range answers.Pairs {
		first, _, _ := strings.Cut(pair.Key, " ")
		if slices.Contains(moveWords, first) || pair.Key == NotChecked || len([]rune(pair.Key)) > 40 || strings.ContainsAny(pair.Key, "?\"") {
			l.atKey(codeCheckRow, answers, pair.Key, fmt.Sprintf("%q can't be an answer", pair.Key), "a few words that mean nothing else at a prompt", "")
		}
		c.Outcomes = append(c.Outcomes, l.outcome(pair.Key, pair.Value))
	}
}

// moveWords mean something else at a prompt.
var moveWords = []string{string(Back), string(Skip), string(Cannot), string(Note), string(Stop), "pause", "help", "why"}

func (l *loader) outcome(word string, n *strictyaml.Node) *Outcome {
	o := &Outcome{Word: word, Says: l.text(n.Get("says"), scope{}, nil), Then: n.Get("then").Str(), usually: -1, cause: map[string]float64{}}
	if u := n.Get("usually"); u != nil {
		o.usually = l.share(codeLikelihood, u)
	}
	shares := n.Get("if")
	if shares == nil {
		return o
	}
	for _, pair := range shares.Pairs {
		if !slices.ContainsFunc(l.find.Causes, func(c *Cause) bool { return c.ID == pair.Key }) {
			l.unknown(pair.Value, "cause", pair.Key, l.find.ids())
			continue
		}
		o.cause[pair.Key] = l.share(codeLikelihood, pair.Value)
	}
	return o
}

func (f *Search) ids() []string {
	ids := make([]string, len(f.Causes))
	for i, c := range f.Causes {
		ids[i] = c.ID
	}
	return ids
}

// kindsOfRange are what a check measures, where a unit can mean several things
// the first of them.
var kindsOfRange = []quantity.Kind{quantity.PressureDiff, quantity.Temperature, quantity.Share, quantity.Duration, quantity.Rotation, quantity.Length,
	quantity.Speed, quantity.MassFlow, quantity.VolumeFlow, quantity.Volume, quantity.Angle, quantity.Power, quantity.Density, quantity.Area, quantity.Number}

func (l *loader) expected(n *strictyaml.Node) *Range {
	r := &Range{}
	for key, bound := range map[string]**quantity.Amount{"from": &r.From, "to": &r.To} {
		at := n.Get(key)
		if at == nil {
			continue
		}
		for _, kind := range kindsOfRange {
			if a, err := quantity.Read(at.Str(), quantity.Want{Kind: kind}); err == nil && a.Known() {
				*bound = &a
				break
			}
		}
		if *bound == nil {
			l.at(codeCheckRow, at, fmt.Sprintf("%q is no bound", at.Str()), "a number with its unit", "")
		}
	}
	switch {
	case r.From == nil && r.To == nil:
		if !n.Has("from") && !n.Has("to") {
			l.at(codeCheckRow, n, "a range without bounds", "from, to, or both", "")
		}
	case r.From != nil && r.To != nil && (r.From.Kind != r.To.Kind || r.From.SI >= r.To.SI):
		l.atKey(codeCheckRow, n, "to", "the range ends before it begins", "from below to, in units of one kind", "")
	}
	for _, a := range []*quantity.Amount{r.From, r.To} {
		if a != nil {
			r.Kind, r.Unit = a.Kind, a.Unit
		}
	}
	return r
}

// likelihoods fills in what is not stated, so that every cause has one for each
// outcome.
func (l *loader) likelihoods(c *CheckStep, n *strictyaml.Node) {
	stated := make([]float64, len(c.Outcomes))
	for i, o := range c.Outcomes {
		stated[i] = o.usually
	}
	usual, ok := causes.Usual(stated)
	if !ok {
		l.at(codeLikelihood, n, "what usually comes sums to "+percentOf(stated), "100 %, or one of the shares left out", "")
		return
	}
	table := make([][]float64, len(c.Outcomes))
	for i := range table {
		table[i] = make([]float64, len(l.find.Causes)+1)
		table[i][len(l.find.Causes)] = usual[i]
	}
	for k, cause := range l.find.Causes {
		for i, o := range c.Outcomes {
			stated[i] = -1
			if v, named := o.cause[cause.ID]; named {
				stated[i] = v
			}
		}
		full, ok := causes.Under(stated, usual)
		if !ok {
			l.at(codeLikelihood, n, fmt.Sprintf("what comes with %s sums to %s", cause.ID, percentOf(stated)), "100 %, or one of the shares left out", "")
			continue
		}
		for i := range table {
			table[i][k] = full[i]
		}
	}
	c.likely = table
}

// percentOf sums the shares that are stated.
func percentOf(stated []float64) string {
	sum := 0.0
	for _, v := range stated {
		sum += max(v, 0)
	}
	return fmt.Sprintf("%.4g %%", 100*sum)
}

// startLast is the hold ahead of a check at idle: nobody starts the engine before its
// lines are true.
const startLast = "Make every line true first. Then start the engine and let it idle."

// leads are what a hold between two checks has done first.
var leads = map[CarState]string{
	Off: "Switch the engine off.", Parked: "Bring the car to rest with the handbrake on.", Idling: "Start the engine and let it idle.",
}

// gates makes a hold for each state of the car that a check or its openings need.
func (l *loader) gates() {
	needed := map[CarState]bool{}
	for _, s := range l.find.Checks {
		needed[s.Check.Car] = true
	}
	if needed[l.car] = true; len(needed) == 1 {
		return
	}
	for _, state := range slices.Sorted(maps.Keys(needed)) {
		gate, ok := l.onReturn(state)
		if !ok {
			l.atKey(codeCarState, l.root, "on-return", fmt.Sprintf("a check needs the car %s, and nothing says what must be true then", state), "a hold for "+string(state)+" under on-return", "")
			continue
		}
		s := &Step{ID: gateID(state), Kind: Hold, Text: leads[state] + " " + gate.Get("hold").Str(), Lines: gate.Get("lines").Strs(), ThenCar: state,
			Notices: l.notices(gate, scope{}, nil), Why: "Checks differ in what the car has to do meanwhile."}
		if state == Idling {
			former := *s
			s.former, s.Text = &former, startLast
		}
		l.ids[s.ID] = true
		l.find.Gates = append(l.find.Gates, s)
	}
}

func (l *loader) onReturn(state CarState) (*strictyaml.Node, bool) {
	n := l.root.Get("on-return").Get(string(state))
	return n, n != nil
}

// searched holds what only the whole file shows: that the checks are there, and
// which of them follows which.
func (l *loader) searched(p *Procedure, root *strictyaml.Node) {
	if p.Search == nil {
		return
	}
	if p.Search.step == nil {
		l.atKey(codeCauses, root, "causes", "no step parts these causes", "a step checks: "+byWorth, "")
	}
	for _, s := range p.Search.Checks {
		for _, o := range s.Check.Outcomes {
			if o.Then == "" || o.Then == endWord {
				continue
			}
			if i := slices.IndexFunc(p.Search.Checks, func(c *Step) bool { return c.ID == o.Then }); i < 0 || o.Then == s.ID {
				l.unknown(l.outcomeNode(s, o.Word), "other check", o.Then, append(idsOf(p.Search.Checks), endWord))
			}
		}
	}
}

func (l *loader) outcomeNode(s *Step, word string) *strictyaml.Node {
	n := l.nodes[s]
	if a := n.Get("answers"); a != nil {
		n = a
	}
	return n.Get(word).Get("then")
}

// Model is the search in numbers, with every cause possible.
func (f *Search) Model() *causes.Model { return f.model(func(*Cause) bool { return true }) }

// model is the search in numbers. Of its causes those count that are possible.
func (f *Search) model(possible func(*Cause) bool) *causes.Model {
	m := &causes.Model{Openings: f.minutes, Unfound: f.None.Minutes, None: 1}
	for _, c := range f.Causes {
		m.None -= c.Chance
		cause := causes.Cause{Chance: c.Chance, Cost: c.Minutes + f.Proof, Opens: c.opens}
		if !possible(c) {
			cause.Chance = 0
		}
		m.Causes = append(m.Causes, cause)
	}
	for _, s := range f.Checks {
		m.Checks = append(m.Checks, causes.Check{Cost: s.Check.Minutes, Opens: s.Check.opens, Likely: s.Check.likely, LooksAt: s.Check.looks})
	}
	return m
}

// speaks tells whether a check names a cause under some outcome.
func (c *CheckStep) speaks(cause string) bool {
	return slices.ContainsFunc(c.Outcomes, func(o *Outcome) bool { _, named := o.cause[cause]; return named })
}

// Outcome finds an outcome by its word, nil where there is none.
func (c *CheckStep) Outcome(word string) *Outcome {
	if i := c.index(word); i >= 0 {
		return c.Outcomes[i]
	}
	return nil
}

func (c *CheckStep) index(word string) int {
	return slices.IndexFunc(c.Outcomes, func(o *Outcome) bool { return o.Word == word })
}

// Check finds the row with the given id, nil where there is none.
func (f *Search) Check(id string) *Step {
	for _, s := range f.Checks {
		if s.ID == id {
			return s
		}
	}
	return nil
}

// Likeliest is the outcome that comes most often under the cause with the given
// number, or under none where that is the number of causes.
func (c *CheckStep) Likeliest(cause int) string {
	best := 0
	for i := range c.likely {
		if c.likely[i][cause] > c.likely[best][cause] {
			best = i
		}
	}
	return c.Outcomes[best].Word
}

// Sample is an answer that comes to an outcome.
func (c *CheckStep) Sample(word string) string {
	r := c.Expect
	if r == nil {
		return word
	}
	var at, step float64
	switch {
	case r.From != nil && r.To != nil:
		at, step = (r.From.SI+r.To.SI)/2, r.To.SI-r.From.SI
	case r.From != nil:
		at, step = r.From.SI, max(r.From.SI, -r.From.SI)/2
	default:
		at, step = r.To.SI, max(r.To.SI, -r.To.SI)/2
	}
	switch word {
	case Below:
		at -= step
	case Above:
		at += step
	}
	v, err := quantity.In(at, r.Kind, r.Unit)
	if err != nil {
		return ""
	}
	a, err := quantity.Of(v, r.Kind, r.Unit)
	if err != nil {
		return ""
	}
	return a.Text()
}
