package strictyaml

import (
	"regexp"
	"strconv"
	"strings"
)

// Kind is the form of a Node.
type Kind int

// Kinds of Node.
const (
	Null   Kind = iota // nothing is written, or null
	Scalar             // one text or number
	Map                // keys with values
	List               // items
)

func (k Kind) String() string { return [...]string{"nothing", "a single value", "a map", "a list"}[k] }

// Type is what a scalar is by the rules of YAML 1.2 (core schema) or JSON.
type Type int

// Types of scalars. A date is a Str: only its reader knows what it means.
const (
	Str Type = iota
	Int
	Float
	Bool
)

// Node is one value of a document, with its place in runes of the file.
type Node struct {
	Kind      Kind
	Type      Type
	Line, Col int
	Text      string // of a Scalar, as written, quotes and escapes resolved
	Quoted    bool   // written in quotes
	Literal   bool   // a block scalar, | or >
	Flow      bool   // a map or list written with {} or []
	Hash      bool   // a plain scalar that a # cuts short, and not plainly a comment
	Pairs     []Pair
	Items     []*Node

	parent *Node
	step   string // last step of the path
}

// Pair is one key of a Map with its value.
type Pair struct {
	Key             string
	KeyLine, KeyCol int
	Value           *Node
}

// Get returns the value at key, nil where n is nil, no Map, or has no such key.
func (n *Node) Get(key string) *Node {
	if n == nil {
		return nil
	}
	if p := find(n, key); p != nil {
		return p.Value
	}
	return nil
}

// find returns the pair with a key, nil where n has none.
func find(n *Node, key string) *Pair {
	for i := range n.Pairs {
		if n.Pairs[i].Key == key {
			return &n.Pairs[i]
		}
	}
	return nil
}

// Has tells whether the Map n has the key.
func (n *Node) Has(key string) bool { return n.Get(key) != nil }

// Item returns item i of a List, counted from zero, nil where there is none.
func (n *Node) Item(i int) *Node {
	if n == nil || i < 0 || i >= len(n.Items) {
		return nil
	}
	return n.Items[i]
}

// Str returns the text of a scalar, "" for everything else and for nil.
func (n *Node) Str() string {
	if n == nil || n.Kind != Scalar {
		return ""
	}
	return n.Text
}

// Strs returns the texts of a list of scalars; a scalar alone is a list of one.
func (n *Node) Strs() []string {
	switch {
	case n == nil:
		return nil
	case n.Kind == Scalar:
		return []string{n.Text}
	}
	var out []string
	for _, item := range n.Items {
		out = append(out, item.Str())
	}
	return out
}

// Int returns a whole number that Whole has accepted, 0 for everything else.
func (n *Node) Int() int {
	v, _ := strconv.Atoi(n.Str())
	return v
}

// Float returns a number that Number has accepted, 0 for everything else.
func (n *Node) Float() float64 {
	v, _ := strconv.ParseFloat(n.Str(), 64)
	return v
}

// True tells whether n is the truth value true.
func (n *Node) True() bool { return n != nil && n.Type == Bool && n.Text == "true" }

// Path names the place of n in its document, such as path[2].diameter. Items
// count from one. The document itself is "".
func (n *Node) Path() string {
	if n == nil || n.parent == nil {
		return ""
	}
	return join(n.parent.Path(), n.step)
}

func join(path, step string) string {
	if path == "" || strings.HasPrefix(step, "[") {
		return path + step
	}
	return path + "." + step
}

var plainKey = regexp.MustCompile(`^[\pL\pN_-]+$`)

func stepOfKey(key string) string {
	if plainKey.MatchString(key) {
		return key
	}
	return strconv.Quote(key)
}

func stepOfItem(i int) string { return "[" + strconv.Itoa(i+1) + "]" }

// link tells every node below n where it hangs, for Path.
func (n *Node) link() {
	for i := range n.Pairs {
		if v := n.Pairs[i].Value; v != nil {
			v.parent, v.step = n, stepOfKey(n.Pairs[i].Key)
			v.link()
		}
	}
	for i, item := range n.Items {
		if item != nil {
			item.parent, item.step = n, stepOfItem(i)
			item.link()
		}
	}
}

// NewMap returns an empty map, for building trees to write.
func NewMap() *Node { return &Node{Kind: Map} }

// NewList returns a list of items.
func NewList(items ...*Node) *Node { return &Node{Kind: List, Items: items} }

// NewText returns a text.
func NewText(s string) *Node { return &Node{Kind: Scalar, Text: s} }

// NewWhole returns a whole number.
func NewWhole(v int) *Node { return &Node{Kind: Scalar, Type: Int, Text: strconv.Itoa(v)} }

// NewNumber returns a finite number, as short as reads back equal and without
// an exponent.
func NewNumber(v float64) *Node {
	text := strconv.FormatFloat(v, 'f', -1, 64)
	n := &Node{Kind: Scalar, Type: Float, Text: text}
	if !strings.Contains(text, ".") {
		n.Type = Int
	}
	return n
}

// NewTruth returns true or false.
func NewTruth(v bool) *Node {
	return &Node{Kind: Scalar, Type: Bool, Text: strconv.FormatBool(v)}
}

// Set adds or replaces a key of a Map and returns the map.
func (n *Node) Set(key string, value *Node) *Node {
	if p := find(n, key); p != nil {
		p.Value = value
		return n
	}
	n.Pairs = append(n.Pairs, Pair{Key: key, Value: value})
	return n
}

// Equal tells whether a and b hold the same values, whatever their places and
// their way of writing. Keys keep their order.
func Equal(a, b *Node) bool {
	if a == nil || b == nil {
		return a == b
	}
	if a.Kind != b.Kind || a.Type != b.Type || a.Text != b.Text ||
		len(a.Pairs) != len(b.Pairs) || len(a.Items) != len(b.Items) {
		return false
	}
	for i := range a.Pairs {
		if a.Pairs[i].Key != b.Pairs[i].Key || !Equal(a.Pairs[i].Value, b.Pairs[i].Value) {
			return false
		}
	}
	for i := range a.Items {
		if !Equal(a.Items[i], b.Items[i]) {
			return false
		}
	}
	return true
}
