package strictyaml

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"dropwalk/engine/spell"
)

// Shape is what a value must look like. Build one with Keys, ListOf, MapOf,
// Words, Text, Prose, Whole, Number, Truth, Custom or OneOf; it serves Check
// and Schema alike. A Shape may hold itself (see Named).
type Shape struct {
	kind     shapeKind
	name     string // of its definition in the schema
	expect   string // noun phrase for "expected ..."
	keys     []Key
	elem     *Shape
	words    []string
	least    int // items
	most     int // items or runes; 0 no limit
	lines    bool
	empty    bool
	lo, hi   float64
	read     func(text string) error
	fragment map[string]any
	options  []*Shape
	rules    []func(*Node, *Report)
}

type shapeKind int

const (
	keysShape shapeKind = iota
	listShape
	mapShape
	wordsShape
	textShape
	wholeShape
	numberShape
	truthShape
	customShape
	nothingShape
	oneOfShape
)

// Key is one row of the table of keys.
type Key struct {
	Name     string
	Shape    *Shape
	Required bool
	Doc      string // one line for the editor
	Example  any    // a value as it would stand in JSON; nil for none
}

// Keys is a map that has these keys and no others.
func Keys(keys ...Key) *Shape { return &Shape{kind: keysShape, expect: "a map of keys", keys: keys} }

// ListOf is a list of elem, with at least so many items.
func ListOf(elem *Shape, least int) *Shape {
	return &Shape{kind: listShape, expect: "a list", elem: elem, least: least}
}

// MapOf is a map with free keys and values of one shape.
func MapOf(elem *Shape) *Shape { return &Shape{kind: mapShape, expect: "a map", elem: elem} }

// Nothing is null, for use in OneOf.
func Nothing() *Shape { return &Shape{kind: nothingShape, expect: "nothing"} }

// OrEmpty lets a text be empty, as documents that a program writes need.
func (s *Shape) OrEmpty() *Shape { s.empty = true; return s }

// Words is one of several words.
func Words(words ...string) *Shape {
	return &Shape{kind: wordsShape, expect: Either(words), words: words}
}

// Text is one line of at most max runes, never empty. A number or truth value
// without quotes counts as the text that stands there.
func Text(max int) *Shape { return &Shape{kind: textShape, expect: "text", most: max} }

// Prose is text that may run over several lines.
func Prose(max int) *Shape { return &Shape{kind: textShape, expect: "text", most: max, lines: true} }

// Whole is a whole number from lo to hi, written plainly: no fraction, no
// exponent, no leading nought, no quotes.
func Whole(lo, hi int) *Shape {
	return &Shape{kind: wholeShape, lo: float64(lo), hi: float64(hi), expect: between("a whole number", float64(lo), float64(hi))}
}

// Number is a finite number from lo to hi, written plainly.
func Number(lo, hi float64) *Shape {
	return &Shape{kind: numberShape, lo: lo, hi: hi, expect: between("a number", lo, hi)}
}

func between(what string, lo, hi float64) string {
	show := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	none := func(v float64) bool { return math.Abs(v) >= math.MaxInt32 }
	switch {
	case none(lo) && none(hi):
		return what
	case none(hi):
		return what + " of " + show(lo) + " or more"
	case none(lo):
		return what + " of " + show(hi) + " or less"
	}
	return what + " from " + show(lo) + " to " + show(hi)
}

// Truth is true or false.
func Truth() *Shape { return &Shape{kind: truthShape, expect: "true or false"} }

// Custom is one line of text that read understands. Expect completes
// "expected ...". Read gets texts and bare numbers alike; its error may be a
// *Wrong. Fragment is the JSON Schema of the text; nil means any text.
func Custom(expect string, read func(text string) error, fragment map[string]any) *Shape {
	return &Shape{kind: customShape, expect: expect, read: read, fragment: fragment, most: 200}
}

// Need is a key that must be there.
func Need(name string, s *Shape, doc string) Key {
	return Key{Name: name, Shape: s, Required: true, Doc: doc}
}

// OrNull takes null as well.
func OrNull(s *Shape) *Shape { return OneOf(Nothing(), s) }

// OneOf is the first of the shapes that fits the form of the value: a map, a
// list, a number or a text.
func OneOf(options ...*Shape) *Shape {
	var expect []string
	for _, o := range options {
		expect = append(expect, o.expect)
	}
	return &Shape{kind: oneOfShape, expect: strings.Join(expect, " or "), options: options}
}

// Named gives the shape a definition of its own in the schema, which a shape
// that holds itself needs:
//
//	step := Keys().Named("step")
//	step.Add(Key{Name: "each", Shape: ListOf(step, 1)})
func (s *Shape) Named(name string) *Shape { s.name = name; return s }

// Add adds keys to a shape made by Keys.
func (s *Shape) Add(keys ...Key) *Shape { s.keys = append(s.keys, keys...); return s }

// Called replaces what stands after "expected".
func (s *Shape) Called(expect string) *Shape { s.expect = expect; return s }

// Also adds a rule that a table can't hold. It sees the node after the table
// has been checked, faults or not, but only where the form fits.
func (s *Shape) Also(rule func(*Node, *Report)) *Shape { s.rules = append(s.rules, rule); return s }

// With adds to the JSON Schema of the shape, for rules given to Also.
func (s *Shape) With(fragment map[string]any) *Shape { s.fragment = fragment; return s }

// Table returns the keys of a shape made by Keys.
func (s *Shape) Table() []Key { return slices.Clone(s.keys) }

// Wrong is an error that a Custom reader gives to say more than one sentence.
type Wrong struct{ What, Expected, Hint string }

func (w *Wrong) Error() string {
	return Fault{What: w.What, Expected: w.Expected, Hint: w.Hint}.Error()
}

// Report collects faults of one file.
type Report struct {
	File   string
	Faults Faults
}

// At reports a fault at n.
func (r *Report) At(n *Node, what, expected, hint string) {
	r.Faults = append(r.Faults, Fault{File: r.File, Line: n.Line, Col: n.Col, Path: n.Path(), What: what, Expected: expected, Hint: hint})
}

// Warn reports at n what is allowed and probably not meant.
func (r *Report) Warn(n *Node, what, expected, hint string) {
	r.At(n, what, expected, hint)
	r.Faults[len(r.Faults)-1].Warning = true
}

// AtKey reports a fault at a key of the map n, at n where it has no such key.
func (r *Report) AtKey(n *Node, key, what, expected, hint string) {
	f := Fault{File: r.File, Line: n.Line, Col: n.Col, Path: n.Path(), What: what, Expected: expected, Hint: hint}
	if p := find(n, key); p != nil {
		f.Line, f.Col = p.KeyLine, p.KeyCol
		f.Path = join(n.Path(), stepOfKey(key))
	}
	r.Faults = append(r.Faults, f)
}

// Check holds n against the shape and returns everything that is wrong, in
// the order of places.
func (s *Shape) Check(file string, n *Node) Faults {
	n.link()
	r := &Report{File: file}
	s.check(n, r)
	return r.Faults.Sorted()
}

// CheckJSON is Check for the text of one JSON value, with what is wrong in the text
// itself.
func (s *Shape) CheckJSON(file string, src []byte) Faults {
	n, faults := ParseJSON(file, src, 1)
	if n == nil {
		return faults
	}
	return append(faults, s.Check(file, n)...).Sorted()
}

func (s *Shape) check(n *Node, r *Report) {
	if s.kind == oneOfShape {
		s.choose(n).checkForm(n, r)
		return
	}
	s.checkForm(n, r)
}

// choose picks the option that fits the form of n; where none does, s itself
// stands for the fault.
func (s *Shape) choose(n *Node) *Shape {
	for _, o := range s.options {
		if o.kind == oneOfShape {
			o = o.choose(n)
		}
		if o.fits(n) {
			return o
		}
	}
	return s
}

func (s *Shape) fits(n *Node) bool {
	switch s.kind {
	case keysShape, mapShape:
		return n.Kind == Map
	case listShape:
		return n.Kind == List
	case wholeShape, numberShape:
		return n.Kind == Scalar && (n.Type == Int || n.Type == Float)
	case truthShape:
		return n.Kind == Scalar && n.Type == Bool
	case nothingShape:
		return n.Kind == Null
	case oneOfShape:
		return false
	}
	return n.Kind == Scalar
}

func (s *Shape) checkForm(n *Node, r *Report) {
	switch {
	case n.Kind == Null && s.kind == nothingShape:
		return
	case n.Kind == Null:
		r.At(n, "nothing is written here", s.expect, nullHint(n))
		return
	case !s.fits(n) && (n.Kind != Scalar || !s.scalar()):
		r.At(n, form(n), s.expect, s.dashHint(n))
		return
	}
	switch s.kind {
	case keysShape:
		s.checkKeys(n, r)
	case mapShape:
		for _, p := range n.Pairs {
			s.elem.check(p.Value, r)
		}
	case listShape:
		s.checkList(n, r)
	default:
		s.checkScalar(n, r)
	}
	for _, rule := range s.rules {
		rule(n, r)
	}
}

func (s *Shape) scalar() bool { return s.kind >= wordsShape && s.kind <= customShape }

func nullHint(n *Node) string {
	if n.parent != nil && n.parent.Kind == Map {
		return "leave the key out where it is not known"
	}
	return ""
}

// form says what n is, for a fault.
func form(n *Node) string {
	if n.Kind == Scalar {
		return show(n) + " stands here"
	}
	return n.Kind.String() + " stands here"
}

// dashHint explains a list whose dashes have no space behind them: YAML takes
// it for one text.
func (s *Shape) dashHint(n *Node) string {
	if s.kind == listShape && !n.Quoted && strings.HasPrefix(n.Text, "-") {
		return "a space belongs behind each -"
	}
	return ""
}

// show quotes the text of n, cut where it is long.
func show(n *Node) string {
	text := []rune(n.Text)
	if len(text) > 40 {
		return strconv.Quote(string(text[:40]) + "...")
	}
	return strconv.Quote(n.Text)
}

func (s *Shape) checkKeys(n *Node, r *Report) {
	for i := 0; i < len(n.Pairs); i++ {
		p := n.Pairs[i]
		at := s.row(p.Key)
		switch {
		case at >= 0 && s.cutAtComma(n, i):
			i = s.keys[at].Shape.reportComma(n, i, s.cutAtComma, r)
		case at >= 0:
			s.keys[at].Shape.check(p.Value, r)
		default:
			s.unknown(n, p, r)
		}
	}
	for _, k := range s.keys {
		if k.Required && !n.Has(k.Name) {
			r.At(n, fmt.Sprintf("the key %q is missing", k.Name), k.Name+": "+k.Shape.expect, example(k))
		}
	}
}

// row finds a key in the table, -1 where it has none.
func (s *Shape) row(key string) int {
	return slices.IndexFunc(s.keys, func(k Key) bool { return k.Name == key })
}

// cutAtComma tells whether the pair behind pair i is the tail of a text with a
// comma: inside {} YAML takes the tail for a key without a value.
func (s *Shape) cutAtComma(n *Node, i int) bool {
	if !n.Flow || i+1 >= len(n.Pairs) || n.Pairs[i].Value.Quoted || n.Pairs[i].Value.Kind > Scalar {
		return false
	}
	tail := n.Pairs[i+1]
	return tail.Value.Kind == Null && tail.Value.Col <= tail.KeyCol+utf8.RuneCountInString(tail.Key) && s.row(tail.Key) < 0
}

// reportComma tells of the value of pair i, which ends at a comma, and returns
// the last pair that belongs to it.
func (s *Shape) reportComma(n *Node, i int, cut func(*Node, int) bool, r *Report) int {
	value := n.Pairs[i].Value
	text := value.Text
	for ; cut(n, i); i++ {
		text += "," + strings.Repeat(" ", max(0, gapBefore(n, i+1))) + n.Pairs[i+1].Key
	}
	if s.kind == wholeShape || s.kind == numberShape {
		r.At(value, fmt.Sprintf("a comma in the number %q", text), s.expect, "the decimal mark is a point, and nothing parts thousands")
		return i
	}
	r.At(value, fmt.Sprintf("the text ends at the comma: %q", value.Text), "quotes round the whole text",
		fmt.Sprintf("inside {} texts with commas, ? or > need quotes: write %q", text))
	return i
}

// gapBefore counts the spaces between the comma and pair i.
func gapBefore(n *Node, i int) int {
	before := n.Pairs[i-1]
	end := before.Value.Col + utf8.RuneCountInString(before.Value.Text)
	if before.Value.Kind == Null {
		end = before.KeyCol + utf8.RuneCountInString(before.Key)
	}
	if n.Pairs[i].KeyLine != before.KeyLine {
		return 1
	}
	return n.Pairs[i].KeyCol - end - 1
}

func example(k Key) string {
	switch k.Example.(type) {
	case string, int, float64, bool:
		return fmt.Sprintf("for example %s: %v", k.Name, k.Example)
	}
	return ""
}

// unknown reports a key that the table does not have. Inside {} it may be the
// tail of a text with a comma.
func (s *Shape) unknown(n *Node, p Pair, r *Report) {
	var names []string
	for _, k := range s.keys {
		names = append(names, k.Name)
	}
	if n.Flow && p.Value.Kind == Null && p.Value.Text == "" {
		r.AtKey(n, p.Key, fmt.Sprintf("%q stands where a key should", p.Key), "key: value", "inside {} texts with commas, ? or > need quotes")
		return
	}
	if near, ok := spell.Nearest(p.Key, names); ok {
		r.AtKey(n, p.Key, fmt.Sprintf("unknown key %q", p.Key), "", fmt.Sprintf("did you mean %q?", near))
		return
	}
	r.AtKey(n, p.Key, fmt.Sprintf("unknown key %q", p.Key), Either(names), "")
}

// Either joins words to "a, b or c".
func Either(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

func (s *Shape) checkList(n *Node, r *Report) {
	if len(n.Items) < s.least {
		r.At(n, fmt.Sprintf("a list of %d", len(n.Items)), fmt.Sprintf("at least %d", s.least), "")
	}
	for _, item := range n.Items {
		s.elem.check(item, r)
	}
}

func (s *Shape) checkScalar(n *Node, r *Report) {
	switch s.kind {
	case wordsShape:
		s.checkWord(n, r)
	case textShape:
		s.checkText(n, r)
	case wholeShape:
		s.checkWhole(n, r)
	case numberShape:
		s.checkNumber(n, r)
	case truthShape:
		s.checkTruth(n, r)
	case customShape:
		s.checkCustom(n, r)
	}
}

func (s *Shape) checkWord(n *Node, r *Report) {
	if slices.Contains(s.words, n.Text) {
		return
	}
	hint := ""
	if near, ok := spell.Nearest(n.Text, s.words); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	r.At(n, show(n)+" is not known here", s.expect, hint)
}

func (s *Shape) checkText(n *Node, r *Report) {
	length := utf8.RuneCountInString(n.Text)
	switch {
	case n.Text == "" && s.empty:
	case strings.TrimSpace(n.Text) == "":
		r.At(n, "the text is empty", s.expect, nullHint(n))
	case s.most > 0 && length > s.most:
		r.At(n, fmt.Sprintf("the text is %d characters long", length), fmt.Sprintf("at most %d", s.most), "")
	case strings.ContainsAny(n.Text, "\n\t") && !s.lines:
		r.At(n, "the text runs over several lines or holds a tab", "one line", "")
	case strings.ContainsFunc(n.Text, func(c rune) bool { return c != '\n' && c != '\t' && harmful(c) }):
		r.At(n, "the text holds an invisible character", "text that shows", "")
	case n.Hash:
		r.Warn(n, show(n)+" ends at the # that follows", "", "quote the text if the # belongs to it; else put two spaces before the # and one after it")
	}
}

var (
	wholeForm  = regexp.MustCompile(`^-?(0|[1-9][0-9]*)$`)
	numberForm = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?$`)
	zeroLed    = regexp.MustCompile(`^-?0[0-9]`)
	withUnit   = regexp.MustCompile(`^-?[0-9][0-9.]* ?[\pL%°]+$`)
	commaForm  = regexp.MustCompile(`^-?[0-9]+,[0-9]+$`)
)

// numberHint says what is odd about a text that should be a number.
func numberHint(n *Node) string {
	switch {
	case n.Quoted && numberForm.MatchString(n.Text):
		return "without quotes"
	case zeroLed.MatchString(n.Text):
		return "no leading nought"
	case commaForm.MatchString(n.Text):
		return "the decimal mark is a point"
	case withUnit.MatchString(n.Text):
		return "a plain number, without a unit"
	}
	return ""
}

func (s *Shape) checkWhole(n *Node, r *Report) {
	if n.Quoted || !wholeForm.MatchString(n.Text) {
		r.At(n, show(n)+" is no whole number", s.expect, numberHint(n))
		return
	}
	s.checkRange(n, r)
}

func (s *Shape) checkNumber(n *Node, r *Report) {
	if n.Quoted || !numberForm.MatchString(n.Text) {
		r.At(n, show(n)+" is no number", s.expect, numberHint(n))
		return
	}
	s.checkRange(n, r)
}

func (s *Shape) checkRange(n *Node, r *Report) {
	v, err := strconv.ParseFloat(n.Text, 64)
	if err != nil || v < s.lo || v > s.hi {
		r.At(n, n.Text+" is out of range", s.expect, "")
	}
}

func (s *Shape) checkTruth(n *Node, r *Report) {
	if n.Type != Bool || n.Text != "true" && n.Text != "false" {
		r.At(n, show(n)+" is no truth value", s.expect, "")
	}
}

func (s *Shape) checkCustom(n *Node, r *Report) {
	if strings.ContainsAny(n.Text, "\n\t") || utf8.RuneCountInString(n.Text) > s.most || strings.TrimSpace(n.Text) == "" {
		r.At(n, show(n)+" is not one short line", s.expect, "")
		return
	}
	err := s.read(n.Text)
	if w, ok := errors.AsType[*Wrong](err); ok {
		r.At(n, w.What, w.Expected, w.Hint)
	} else if err != nil {
		r.At(n, err.Error(), s.expect, "")
	} else if n.Hash {
		r.Warn(n, show(n)+" ends at the # that follows", "", "quote the text if the # belongs to it; else put two spaces before the # and one after it")
	}
}
