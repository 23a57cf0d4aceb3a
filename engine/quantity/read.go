package quantity

import (
	"fmt"
	"math/big"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Want says what a text is to state.
type Want struct {
	Kind       Kind
	Unit       string // unit of a bare number; "" where a bare number is refused
	Swing      bool   // "12-13 inH2O" is taken
	Bounds     bool   // ">25 inH2O" and "<0.5 inH2O" are taken
	Unreadable bool   // "?" is taken
}

// Limits on what is read. A number as written lies between 1e-18 and 1e18, or
// is nought; together with 40 decimals that leaves room for the canonical text
// of every amount that was read.
const (
	maxText     = 200 // bytes
	maxWhole    = 18  // digits before the point
	maxDecimals = 40
)

// Read reads one quantity as people write it. The error is a *Ambiguous where
// the text can mean several things, otherwise a *Fault.
func Read(text string, w Want) (Amount, error) {
	meanings, err := read(text, w)
	if err != nil {
		return Amount{}, err
	}
	if len(meanings) > 1 {
		return Amount{}, &Ambiguous{Text: text, Choices: texts(meanings)}
	}
	a := meanings[0].amount
	a.Raw = text
	return a, nil
}

// reading is one thing that a text can mean; value is the exact number in SI
// before it is rounded.
type reading struct {
	amount Amount
	value  *big.Rat
}

func texts(meanings []reading) []string {
	var choices []string
	for _, m := range meanings {
		choices = append(choices, m.amount.Text())
	}
	return choices
}

// read returns everything that the text can mean, at least one.
func read(text string, w Want) ([]reading, error) {
	if _, ok := dimensions[w.Kind]; !ok {
		return nil, &Fault{What: fmt.Sprintf("%q cannot be read as a number", string(w.Kind))}
	}
	line, fault := clean(text)
	if fault != nil {
		return nil, fault.expecting(w)
	}
	statements, fault := parse(line, w.Kind)
	if fault != nil {
		return nil, fault.expecting(w)
	}
	var found []reading
	for _, s := range statements {
		more, why := s.readings(w)
		found = appendNew(found, more)
		if fault == nil {
			fault = why
		}
	}
	if len(found) == 0 {
		return nil, fault.expecting(w)
	}
	return found, nil
}

func appendNew(list, more []reading) []reading {
	for _, m := range more {
		seen := false
		for _, have := range list {
			seen = seen || have.amount == m.amount
		}
		if !seen {
			list = append(list, m)
		}
	}
	return list
}

// clean refuses what is no line of text and writes the many dashes, quotes and
// spaces in one way.
func clean(text string) (string, *Fault) {
	switch {
	case len(text) > maxText:
		return "", &Fault{What: fmt.Sprintf("the text is longer than %d bytes", maxText)}
	case !utf8.ValidString(text):
		return "", &Fault{What: fmt.Sprintf("%q is not valid UTF-8", text)}
	}
	for _, r := range text {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			return "", &Fault{What: fmt.Sprintf("%q holds a control character", text)}
		}
	}
	line := strings.TrimSpace(joinGroups(signs.Replace(text)))
	if line == "" {
		return "", &Fault{What: "nothing is written"}
	}
	return line, nil
}

var signs = strings.NewReplacer(
	"\u2212", "-", "\u2010", "-", "\u2011", "-", "\u2012", "-", "\u2013", "-", "\u2014", "-",
	"…", "..", "⁄", "/", "±", "+-", "+/-", "+-", "≥", ">=", "≤", "<=",
	"″", `"`, "”", `"`, "“", `"`, "′", "'", "’", "'",
)

// joinGroups takes out the thin and unbreakable spaces that part thousands
// before the decimal mark, and makes plain spaces of all others.
func joinGroups(text string) string {
	runes := []rune(text)
	var b strings.Builder
	start := 0 // of the digits that end here
	for i, r := range runes {
		switch {
		case isDigit(r):
		case isGroupSpace(r) && isGroup(runes[:i], start) && digitsAt(runes[i+1:]) == 3:
			start = i + 1
			continue
		default:
			start = i + 1
			if unicode.IsSpace(r) {
				r = ' '
			}
		}
		b.WriteRune(r)
	}
	return b.String()
}

func isGroupSpace(r rune) bool { return r == '\u00a0' || r == '\u2009' || r == '\u202f' }

// isGroup tells whether the digits from start on can stand before a group of
// three: one to three of them, not decimals, not a nought in front.
func isGroup(before []rune, start int) bool {
	n := len(before) - start
	if start == 0 || !strings.ContainsRune(".,", before[start-1]) {
		inner := start > 0 && isGroupSpace(before[start-1])
		return n == 3 || !inner && 0 < n && n < 3 && before[start] != '0'
	}
	return false
}

func digitsAt(runes []rune) int {
	n := 0
	for n < len(runes) && isDigit(runes[n]) {
		n++
	}
	return n
}

func isDigit(r rune) bool { return '0' <= r && r <= '9' }

// statement is what was written, before units and commas are understood.
type statement struct {
	form    Form
	numbers []numeral // one; two for a swing
	half    *numeral  // after +-
	unit    string
}

// bounds are the ways to write that the needle left the scale.
var bounds = []struct {
	word string
	form Form
}{
	{">=", Above}, {">", Above}, {"over ", Above}, {"above ", Above}, {"more than ", Above},
	{"<=", Below}, {"<", Below}, {"under ", Below}, {"below ", Below}, {"less than ", Below},
}

// parse splits a clean line into statements: more than one where a dash can be
// a sign, a range or the hyphen of a fraction.
func parse(line string, k Kind) ([]statement, *Fault) {
	if line == "?" {
		return []statement{{form: Unreadable}}, nil
	}
	form := Exact
	for _, b := range bounds {
		if len(line) >= len(b.word) && strings.EqualFold(line[:len(b.word)], b.word) {
			form, line = b.form, strings.TrimSpace(line[len(b.word):])
			break
		}
	}
	first, rest, fault := scan(line)
	if fault != nil {
		return nil, fault
	}
	s := statement{form: form, numbers: []numeral{first}, unit: strings.TrimSpace(rest)}
	if s.unit == "" || len(units().lookup(s.unit, k)) > 0 {
		return []statement{s}, nil
	}
	if first.whole && digitsAt([]rune(s.unit)) == 3 {
		head := strings.TrimSuffix(line, rest)
		return nil, &Fault{What: fmt.Sprintf("%q follows the number", s.unit), Hint: head + s.unit}
	}
	if before, after, ok := strings.Cut(rest, "+-"); ok {
		return s.plusMinus(before, after, k)
	}
	if before, after, dash, ok := cutRange(rest, k); ok {
		if form != Exact {
			return nil, &Fault{What: "a bound takes one number, not a range"}
		}
		return s.swing(before, after, dash, k)
	}
	return []statement{s}, nil
}

// plusMinus finishes "12.5 inH2O +- 0.5 inH2O".
func (s statement) plusMinus(before, after string, k Kind) ([]statement, *Fault) {
	half, rest, fault := scan(strings.TrimSpace(after))
	_, _, _, swings := cutRange(before, k)
	switch {
	case swings:
		return nil, &Fault{What: "a swing takes no +-"}
	case fault != nil:
		return nil, fault
	case half.negative:
		return nil, &Fault{What: "the half-width after +- is negative"}
	case s.form != Exact:
		return nil, &Fault{What: "a bound takes no +-"}
	}
	s.half = &half
	s.unit, fault = oneUnit(before, rest, k)
	return []statement{s}, fault
}

// swing finishes "12-13 inH2O" and lists what else a dash can mean.
func (s statement) swing(before, after string, dash bool, k Kind) ([]statement, *Fault) {
	second, rest, fault := scan(after)
	if fault != nil {
		return nil, fault
	}
	if strings.Contains(rest, "+-") {
		return nil, &Fault{What: "a swing takes no +-"}
	}
	if s.unit, fault = oneUnit(before, rest, k); fault != nil {
		return nil, fault
	}
	first := s.numbers[0]
	s.form, s.numbers = Swing, []numeral{first, second}
	var all []statement
	if dash && strings.TrimSpace(before) == "" && !second.signed {
		all = s.otherDashes(first, second)
	}
	return append(all, s), nil
}

// otherDashes lists what the dash of first-second means where it parts no
// range: the hyphen of 12-1/2, and the minus that -12-13 writes once for both.
func (s statement) otherDashes(first, second numeral) []statement {
	var all []statement
	if first.whole && second.proper {
		hyphen := s
		hyphen.form, hyphen.numbers = Exact, []numeral{first.plus(second)}
		all = append(all, hyphen)
	}
	if first.negative {
		both := s
		both.numbers = []numeral{first, second.negated()}
		all = append(all, both)
	}
	return all
}

// oneUnit joins the units that stand at the two numbers of one statement.
func oneUnit(a, b string, k Kind) (string, *Fault) {
	a, b = strings.TrimSpace(a), strings.TrimSpace(b)
	switch {
	case a == "" || key(a) == key(b):
		return b, nil
	case b == "":
		return a, nil
	}
	x, y := units().lookup(a, k), units().lookup(b, k)
	if len(x) == 1 && len(y) == 1 && x[0].unit == y[0].unit {
		return x[0].unit.name, nil
	}
	switch { // an unknown unit is the plainer fault
	case len(x) == 0:
		return a, nil
	case len(y) == 0:
		return b, nil
	}
	return "", &Fault{What: fmt.Sprintf("two units stand in one quantity, %q and %q", a, b), Expected: "one unit"}
}

// cutRange cuts at the dash, the dots or the word that parts two numbers; what
// stands before is a unit or nothing.
func cutRange(rest string, k Kind) (before, after string, dash, ok bool) {
	for i := range rest {
		for _, mark := range []string{"-", "..", "to"} {
			before, after = rest[:i], rest[i:]
			if !strings.HasPrefix(after, mark) {
				continue
			}
			after = after[len(mark):]
			if mark == "to" && !wordAlone(before, after) {
				continue
			}
			after = strings.TrimSpace(after)
			known := strings.TrimSpace(before) == "" || len(units().lookup(before, k)) > 0
			if known && startsNumber(after) {
				return before, after, mark == "-", true
			}
		}
	}
	return "", "", false, false
}

// wordAlone tells whether the "to" between a and b is a word of its own.
func wordAlone(a, b string) bool {
	return (a == "" || strings.HasSuffix(a, " ")) && (strings.HasPrefix(b, " ") || startsNumber(b))
}

// readings works out everything that the statement can mean: commas both ways,
// doubtful units every way. The fault says why there is none.
func (s statement) readings(w Want) ([]reading, *Fault) {
	if fault := s.allowed(w); fault != nil {
		return nil, fault
	}
	if s.form == Unreadable {
		return []reading{{amount: Amount{Kind: w.Kind, Form: Unreadable}}}, nil
	}
	senses, fault := s.senses(w)
	if fault != nil {
		return nil, fault
	}
	var found []reading
	for comma := range s.commaReadings() {
		for _, m := range senses {
			r, why := s.count(comma, m, w.Kind)
			if why != nil {
				fault = why
				continue
			}
			found = appendNew(found, []reading{r})
		}
	}
	return found, fault
}

// commaReadings is 2 where a comma can mark thousands or decimals, else 1.
func (s statement) commaReadings() int {
	n := 1
	for _, x := range s.numbers {
		n = max(n, len(x.values))
	}
	if s.half != nil {
		n = max(n, len(s.half.values))
	}
	return n
}

// allowed checks the form against what is wanted.
func (s statement) allowed(w Want) *Fault {
	switch {
	case s.form == Unreadable && !w.Unreadable:
		return &Fault{What: `"?" is not enough here`}
	case s.form == Swing && !w.Swing:
		return &Fault{What: "a range is not taken here"}
	case (s.form == Above || s.form == Below) && !w.Bounds:
		return &Fault{What: "a bound is not taken here"}
	}
	return nil
}

// senses returns what the unit can mean; one sense without a unit for plain
// numbers.
func (s statement) senses(w Want) ([]meaning, *Fault) {
	if dimensions[w.Kind] == noDimension {
		if s.unit != "" {
			return nil, &Fault{What: fmt.Sprintf("%q follows the number", s.unit)}
		}
		return []meaning{{}}, nil
	}
	written := s.unit
	if written == "" {
		written = w.Unit
	}
	if written == "" {
		return nil, &Fault{What: "the unit is missing"}
	}
	if found := units().lookup(written, w.Kind); len(found) > 0 {
		return found, nil
	}
	return nil, unknownUnit(written, w.Kind)
}

// count turns the statement into an amount under one reading of its commas and
// its unit.
func (s statement) count(comma int, m meaning, k Kind) (reading, *Fault) {
	first := s.numbers[0].value(comma)
	low, fault := m.si(first, k)
	if fault != nil {
		return reading{}, fault
	}
	high := low
	if s.form == Swing {
		if high, fault = m.si(s.numbers[1].value(comma), k); fault != nil {
			return reading{}, fault
		}
		if high.Cmp(low) < 0 {
			low, high = high, low
		}
	}
	a := Amount{Kind: k, Form: s.form, Low: round(low), High: round(high)}
	a.SI = a.Low
	if s.form == Swing {
		a.SI = middle(a.Low, a.High)
	}
	if m.unit != nil {
		a.Unit = m.unit.name
	}
	if s.half != nil {
		if a.PlusMinus, fault = m.half(s.half.value(comma), k); fault != nil {
			return reading{}, fault
		}
	}
	return reading{a, low}, nil
}

// si converts a number as written, refusing what no scale has.
func (m meaning) si(v *big.Rat, k Kind) (*big.Rat, *Fault) {
	if k == Whole && !v.IsInt() {
		return nil, &Fault{What: fmt.Sprintf("%s is not a whole number", decimal(v, 6))}
	}
	if m.unit == nil {
		return v, nil
	}
	si := m.unit.toSI(new(big.Rat).Mul(v, m.count), k)
	if si.Sign() < 0 && (k == Temperature || k == Pressure) {
		return nil, &Fault{What: fmt.Sprintf("%s %s lies below absolute zero", decimal(v, 6), m.unit.name)}
	}
	return si, nil
}

// half converts a half-width: a difference even where the value is none.
func (m meaning) half(v *big.Rat, k Kind) (float64, *Fault) {
	if k == Whole {
		return 0, &Fault{What: "a whole number takes no +-"}
	}
	if m.unit == nil {
		return round(v), nil
	}
	return round(new(big.Rat).Mul(new(big.Rat).Mul(v, m.count), m.unit.factor)), nil
}

// middle depends on the ends as they are kept, so that canonical text gives the
// same middle again.
func middle(low, high float64) float64 {
	sum := new(big.Rat).Add(rational(low), rational(high))
	return round(sum.Quo(sum, big.NewRat(2, 1)))
}

func round(v *big.Rat) float64 {
	f, _ := v.Float64()
	return f
}
