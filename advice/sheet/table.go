package sheet

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// A field is one key of the sheet: how it looks, how it gets into a T and out
// again. The tables in keys.go are made of them; reader, writer, schema and
// entries all go by these tables and by nothing else.
type field[T any] struct {
	strictyaml.Key
	read    func(*T, *strictyaml.Node) // never faults: what it can't read it leaves alone
	write   func(*T) *strictyaml.Node  // nil where nothing is stated
	entries func(prefix string, add func(path string, l *leaf))
	leaf    *leaf // nil for maps and lists
}

// table is the keys of a T, in the order in which they are written.
type table[T any] []field[T]

// leaf is a field that holds one answer: what a procedure may ask for.
type leaf struct {
	kind    quantity.Kind
	unit    string
	choices []string
	doc     string
	need    bool
	node    func(text string) *strictyaml.Node // from the text of an entry
	text    func(n *strictyaml.Node) string    // to the text of an entry
}

func (l *leaf) field(path string) subject.Field {
	return subject.Field{Path: path, Kind: l.kind, Unit: l.unit, Choices: l.choices, Required: l.need, Doc: l.doc}
}

func (t table[T]) shape() *strictyaml.Shape {
	s := strictyaml.Keys()
	for _, f := range t {
		s.Add(f.Key)
	}
	return s
}

func (t table[T]) readInto(v *T, n *strictyaml.Node) {
	for _, f := range t {
		if at := n.Get(f.Name); at != nil && at.Kind != strictyaml.Null {
			f.read(v, at)
		}
	}
}

// node writes v, nil where it states nothing.
func (t table[T]) node(v *T) *strictyaml.Node {
	n := strictyaml.NewMap()
	for _, f := range t {
		if at := f.write(v); at != nil {
			n.Set(f.Name, at)
		}
	}
	if len(n.Pairs) == 0 {
		return nil
	}
	return n
}

func (t table[T]) leaves(prefix string, add func(string, *leaf)) {
	for _, f := range t {
		if f.entries != nil {
			f.entries(prefix+f.Name, add)
		}
	}
}

// must marks a field without which its map says nothing.
func (f field[T]) must() field[T] {
	f.Required = true
	if f.leaf != nil {
		f.leaf.need = true
	}
	return f
}

// asking makes a field one that a procedure may fill.
func (f field[T]) asking(l leaf) field[T] {
	l.doc = f.Doc
	f.leaf = &l
	f.entries = func(path string, add func(string, *leaf)) { add(path, &l) }
	return f
}

// plainLeaf is a leaf whose entry is the text itself.
func plainLeaf(k quantity.Kind, choices ...string) leaf {
	return leaf{kind: k, choices: choices, node: strictyaml.NewText, text: (*strictyaml.Node).Str}
}

// line is a field of free text on one line.
func line[T any](name string, at func(*T) *string, most int, doc, example string) field[T] {
	return textField(name, at, strictyaml.Text(most), quantity.Text, doc, example)
}

// called replaces what stands after "expected".
func (f field[T]) called(expect string) field[T] {
	f.Shape.Called(expect)
	return f
}

func textField[T any](name string, at func(*T) *string, s *strictyaml.Shape, k quantity.Kind, doc, example string) field[T] {
	f := field[T]{
		Key:  strictyaml.Key{Name: name, Shape: s, Doc: doc, Example: example},
		read: func(v *T, n *strictyaml.Node) { *at(v) = n.Str() },
		write: func(v *T) *strictyaml.Node {
			if *at(v) == "" {
				return nil
			}
			return strictyaml.NewText(*at(v))
		},
	}
	return f.asking(plainLeaf(k))
}

// word is a field that takes one of a few words.
func word[T any](name string, at func(*T) *string, words []string, doc string) field[T] {
	f := textField(name, at, strictyaml.Words(words...), quantity.Choice, doc, words[0])
	return f.asking(plainLeaf(quantity.Choice, words...))
}

// whole is a field that takes a plain whole number; nought stands for not
// stated.
func whole[T any](name string, at func(*T) *int, s *strictyaml.Shape, doc string, example int) field[T] {
	f := field[T]{
		Key:  strictyaml.Key{Name: name, Shape: s, Doc: doc, Example: example},
		read: func(v *T, n *strictyaml.Node) { *at(v) = n.Int() },
		write: func(v *T) *strictyaml.Node {
			if *at(v) == 0 {
				return nil
			}
			return strictyaml.NewWhole(*at(v))
		},
	}
	return f.asking(numberLeaf(quantity.Whole, ""))
}

// number is a field that takes a plain number, in the one unit that its kind
// has in a sheet; nought stands for not stated.
func number[T any](name string, at func(*T) *float64, lo, hi float64, k quantity.Kind, unit, doc string, example float64) field[T] {
	f := field[T]{
		Key:  strictyaml.Key{Name: name, Shape: strictyaml.Number(lo, hi), Doc: doc, Example: example},
		read: func(v *T, n *strictyaml.Node) { *at(v) = n.Float() },
		write: func(v *T) *strictyaml.Node {
			if *at(v) == 0 {
				return nil
			}
			return strictyaml.NewNumber(*at(v))
		},
	}
	return f.asking(numberLeaf(k, unit))
}

// numberLeaf reads and writes entries such as "6050 rpm" for plain numbers.
func numberLeaf(k quantity.Kind, unit string) leaf {
	return leaf{kind: k, unit: unit,
		node: func(text string) *strictyaml.Node {
			a, err := quantity.Read(text, quantity.Want{Kind: k, Unit: unit})
			if err != nil {
				return strictyaml.NewText(text) // the shape says what is wrong with it
			}
			return strictyaml.NewNumber(a.SI)
		},
		text: func(n *strictyaml.Node) string { return strings.TrimSpace(n.Text + " " + unit) },
	}
}

// truth is a field that takes true or false; nil stands for not stated.
func truth[T any](name string, at func(*T) **bool, doc string) field[T] {
	f := field[T]{
		Key:  strictyaml.Key{Name: name, Shape: strictyaml.Truth(), Doc: doc, Example: true},
		read: func(v *T, n *strictyaml.Node) { *at(v) = new(n.True()) },
		write: func(v *T) *strictyaml.Node {
			if *at(v) == nil {
				return nil
			}
			return strictyaml.NewTruth(**at(v))
		},
	}
	return f.asking(leaf{kind: quantity.Truth,
		node: func(text string) *strictyaml.Node {
			switch text {
			case "yes", "true":
				return strictyaml.NewTruth(true)
			case "no", "false":
				return strictyaml.NewTruth(false)
			}
			return strictyaml.NewText(text)
		},
		text: func(n *strictyaml.Node) string {
			if n.True() {
				return "yes"
			}
			return "no"
		},
	})
}

// measure is a kind of quantity with what is sensible for it in a sheet.
type measure struct {
	quantity.Want
	low, high string // the smallest and largest that are taken, with units
	example   string
	span      func() (low, high float64) // the same in SI
}

// sensible makes a measure. Its limits are worked out when first needed.
func sensible(w quantity.Want, low, high, example string) measure {
	return measure{w, low, high, example, sync.OnceValues(func() (float64, float64) {
		return must(low, w.Kind).SI, must(high, w.Kind).SI
	})}
}

// like is the same measure with another example.
func (m measure) like(example string) measure {
	m.example = example
	return m
}

// wordless patterns of JSON Schema: a quantity names its unit, or is "?".
const unitPattern = `^\?$|[A-Za-z%°"']`

func (m measure) shape() *strictyaml.Shape {
	return strictyaml.Custom(m.expect(), func(text string) error { _, err := m.parse(text); return err },
		map[string]any{"type": "string", "minLength": 1, "pattern": unitPattern}).Called(m.expect())
}

func (m measure) expect() string {
	article := "a"
	if strings.ContainsRune("aeiou", rune(m.Kind[0])) {
		article = "an"
	}
	return fmt.Sprintf("%s %s with its unit, from %s to %s", article, m.Kind, m.low, m.high)
}

var bareNumber = regexp.MustCompile(`^[-+]?[0-9][0-9.,]*$`)

// parse reads a quantity. The error is a *strictyaml.Wrong.
func (m measure) parse(text string) (quantity.Amount, error) {
	if bareNumber.MatchString(text) {
		_, unit, _ := strings.Cut(m.example, " ")
		return quantity.Amount{}, &strictyaml.Wrong{What: text + " has no unit", Expected: m.expect(),
			Hint: fmt.Sprintf("write the unit, for example %q", text+" "+unit)}
	}
	a, err := quantity.Read(text, m.Want)
	if err != nil {
		return a, m.wrong(text, err)
	}
	if low, high := m.span(); a.Form != quantity.Unreadable && (a.Low < low || a.High > high) {
		return a, &strictyaml.Wrong{What: fmt.Sprintf("%q is out of range", text), Expected: m.expect()}
	}
	return a, nil
}

func (m measure) wrong(text string, err error) error {
	if a, ok := errors.AsType[*quantity.Ambiguous](err); ok {
		var choices []string
		for _, c := range a.Choices {
			choices = append(choices, fmt.Sprintf("%q", c))
		}
		return &strictyaml.Wrong{What: fmt.Sprintf("%q can mean several things", text), Expected: strictyaml.Either(choices)}
	}
	if f, ok := errors.AsType[*quantity.Fault](err); ok {
		w := &strictyaml.Wrong{What: f.What, Expected: f.Expected}
		if !strings.Contains(f.What, text) {
			w.What = fmt.Sprintf("%q: %s", text, f.What)
		}
		if f.Hint != "" {
			w.Hint = fmt.Sprintf("did you mean %q?", f.Hint)
		}
		return w
	}
	return err
}

// amount is a field that takes a quantity with its unit.
func amount[T any](name string, at func(*T) *quantity.Amount, m measure, doc string) field[T] {
	f := field[T]{
		Key: strictyaml.Key{Name: name, Shape: m.shape(), Doc: doc, Example: m.example},
		read: func(v *T, n *strictyaml.Node) {
			if a, err := m.parse(n.Str()); err == nil {
				*at(v) = a
			}
		},
		write: func(v *T) *strictyaml.Node { return m.node(*at(v)) },
	}
	return f.asking(m.leaf())
}

// node writes an amount as it was typed where that can be read again, else in
// its canonical form.
func (m measure) node(a quantity.Amount) *strictyaml.Node {
	if !a.Given() {
		return nil
	}
	if back, err := m.parse(a.Raw); a.Raw != "" && err == nil && back == a {
		return strictyaml.NewText(a.Raw)
	}
	return strictyaml.NewText(a.Text())
}

// leaf fills a sheet with canonical text: what a bare number was taken for when
// it was typed is settled there.
func (m measure) leaf() leaf {
	l := plainLeaf(m.Kind)
	l.text = func(n *strictyaml.Node) string {
		a, err := m.parse(n.Str())
		if err != nil {
			return n.Str()
		}
		return a.Text()
	}
	return l
}

// group is a field that holds a map of its own.
func group[T, U any](name string, at func(*T) *U, t table[U], doc string) field[T] {
	return field[T]{
		Key:     strictyaml.Key{Name: name, Shape: t.shape(), Doc: doc},
		read:    func(v *T, n *strictyaml.Node) { t.readInto(at(v), n) },
		write:   func(v *T) *strictyaml.Node { return t.node(at(v)) },
		entries: func(path string, add func(string, *leaf)) { t.leaves(path+".", add) },
	}
}

// flowing writes a group on one line.
func (f field[T]) flowing() field[T] {
	block := f.write
	f.write = func(v *T) *strictyaml.Node {
		n := block(v)
		if n != nil {
			n.Flow = true
		}
		return n
	}
	return f
}

// notEmpty refuses a row that says nothing.
func notEmpty(n *strictyaml.Node, r *strictyaml.Report) {
	if len(n.Pairs) == 0 {
		r.At(n, "an empty row", "at least one key", "")
	}
}

// rows is a field that holds a list of maps. Each row becomes an entry of its
// own for every field in it.
func rows[T, U any](name string, at func(*T) *[]U, t table[U], least int, doc string) field[T] {
	return field[T]{
		Key: strictyaml.Key{Name: name, Shape: strictyaml.ListOf(t.shape().Also(notEmpty), least), Doc: doc},
		read: func(v *T, n *strictyaml.Node) {
			for _, item := range n.Items {
				var row U
				t.readInto(&row, item)
				*at(v) = append(*at(v), row)
			}
		},
		write: func(v *T) *strictyaml.Node {
			if len(*at(v)) == 0 {
				return nil
			}
			list := strictyaml.NewList()
			for i := range *at(v) {
				row := t.node(&(*at(v))[i])
				if row == nil {
					row = strictyaml.NewMap()
				}
				row.Flow = true
				list.Items = append(list.Items, row)
			}
			return list
		},
		entries: func(path string, add func(string, *leaf)) { t.leaves(path+"[].", add) },
	}
}

// inline makes of a list of rows one answer, its rows parted by commas and
// written by the given pair of functions.
func (f field[T]) inline(row func(text string) (*strictyaml.Node, bool), text func(*strictyaml.Node) string) field[T] {
	return f.flowing().asking(leaf{kind: quantity.Text,
		node: func(s string) *strictyaml.Node {
			list := strictyaml.NewList()
			for _, part := range strings.Split(strings.ReplaceAll(s, ";", ", "), ", ") {
				item, ok := row(strings.TrimSpace(part))
				if !ok {
					return strictyaml.NewText(s)
				}
				list.Items = append(list.Items, item)
			}
			return list
		},
		text: func(n *strictyaml.Node) string {
			var parts []string
			for _, item := range n.Items {
				parts = append(parts, text(item))
			}
			return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), ", ")
		},
	})
}
