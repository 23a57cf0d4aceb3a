package rules

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"testing"

	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// tree is a rule built by hand, with its own evaluator: Kleene's tables as they
// are printed in S. C. Kleene, Introduction to Metamathematics (1952), section
// 64 (from memory), looked up and not worked out.
type tree struct {
	op          string // "", not, and, or
	leaf        string // a fact of yes or no
	left, right *tree
}

var (
	andTable = map[[2]Truth]Truth{
		{True, True}: True, {True, Unknown}: Unknown, {True, False}: False,
		{Unknown, True}: Unknown, {Unknown, Unknown}: Unknown, {Unknown, False}: False,
		{False, True}: False, {False, Unknown}: False, {False, False}: False,
	}
	orTable = map[[2]Truth]Truth{
		{True, True}: True, {True, Unknown}: True, {True, False}: True,
		{Unknown, True}: True, {Unknown, Unknown}: Unknown, {Unknown, False}: Unknown,
		{False, True}: True, {False, Unknown}: Unknown, {False, False}: False,
	}
	notTable = map[Truth]Truth{True: False, Unknown: Unknown, False: True}
)

func (n *tree) eval(facts map[string]Truth) Truth {
	switch n.op {
	case "not":
		return notTable[n.left.eval(facts)]
	case "and":
		return andTable[[2]Truth{n.left.eval(facts), n.right.eval(facts)}]
	case "or":
		return orTable[[2]Truth{n.left.eval(facts), n.right.eval(facts)}]
	}
	return facts[n.leaf]
}

// String puts every term in parentheses, so that it rests on no precedence.
func (n *tree) String() string {
	switch n.op {
	case "":
		return n.leaf
	case "not":
		return "not (" + n.left.String() + ")"
	}
	return "(" + n.left.String() + ") " + n.op + " (" + n.right.String() + ")"
}

func grow(rng *rand.Rand, depth int) *tree {
	if depth == 0 || rng.IntN(4) == 0 {
		return &tree{leaf: leaves[rng.IntN(len(leaves))]}
	}
	switch rng.IntN(5) {
	case 0:
		return &tree{op: "not", left: grow(rng, depth-1)}
	case 1, 2:
		return &tree{op: "and", left: grow(rng, depth-1), right: grow(rng, depth-1)}
	}
	return &tree{op: "or", left: grow(rng, depth-1), right: grow(rng, depth-1)}
}

var leaves = []string{"a", "b", "c", "d"}

// truths knows the leaves as facts of yes or no.
type truths struct{}

func (truths) Fact(name string) (subject.Fact, bool) {
	for _, l := range leaves {
		if l == name {
			return subject.Fact{Name: l, Kind: quantity.Truth}, true
		}
	}
	return subject.Fact{}, false
}

func (truths) FactNames() []string { return leaves }

func values(facts map[string]Truth) Values {
	return func(name string) subject.Value {
		return subject.Value{Known: facts[name] != Unknown, Truth: facts[name] == True}
	}
}

// worlds lists every way in which the leaves can stand.
func worlds(n int, each func(map[string]Truth)) {
	facts := map[string]Truth{}
	var set func(i int)
	set = func(i int) {
		if i == len(leaves) {
			each(facts)
			return
		}
		for v := range n {
			facts[leaves[i]] = []Truth{False, True, Unknown}[v]
			set(i + 1)
		}
	}
	set(0)
}

// Random rules, as written and as printed, in all 81 worlds of four facts,
// against the slow evaluator.
func TestEvalAgainstTables(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	for range 300 {
		n := grow(rng, 4)
		text := n.String()
		if len(text) > longest {
			continue
		}
		r, err := Compile(text, truths{})
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		printed, err := Compile(r.String(), truths{})
		if err != nil {
			t.Fatalf("%q prints %q: %v", text, r, err)
		}
		worlds(3, func(facts map[string]Truth) {
			want := n.eval(facts)
			if got := r.Eval(values(facts)); got != want {
				t.Fatalf("%q with %v is %v, want %v", text, facts, got, want)
			}
			if got := printed.Eval(values(facts)); got != want {
				t.Fatalf("%q, printed %q, with %v is %v, want %v", text, r, facts, got, want)
			}
		})
	}
}

// True and false are never taken back: whatever an unknown fact turns out to
// be, the outcome stays. Nor does an unknown outcome change as long as what
// Missing names is unknown.
func TestKnownOutcomesStay(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	for range 100 {
		n := grow(rng, 3)
		r, err := Compile(n.String(), truths{})
		if err != nil {
			t.Fatal(err)
		}
		outcomes := map[string]Truth{}
		worlds(2, func(facts map[string]Truth) { outcomes[fmt.Sprint(facts)] = r.Eval(values(facts)) })
		worlds(3, func(facts map[string]Truth) {
			now := r.Eval(values(facts))
			if now == Unknown {
				checkMissing(t, r, facts)
				return
			}
			worldsWithin(facts, func(full map[string]Truth) {
				if later := outcomes[fmt.Sprint(full)]; later != now {
					t.Fatalf("%q is %v with %v, then %v with %v", n, now, facts, later, full)
				}
			})
		})
	}
}

func checkMissing(t *testing.T, r *Rule, facts map[string]Truth) {
	missing := r.Missing(values(facts))
	if len(missing) == 0 {
		t.Fatalf("%q is unknown with %v and waits for nothing", r, facts)
	}
	worldsWithin(facts, func(full map[string]Truth) {
		for _, name := range missing {
			full[name] = Unknown
		}
		if got := r.Eval(values(full)); got != Unknown {
			t.Fatalf("%q waits for %q, but %v makes it %v", r, missing, full, got)
		}
	})
}

// worldsWithin lists the worlds without unknowns that agree with facts.
func worldsWithin(facts map[string]Truth, each func(map[string]Truth)) {
	known := maps.Clone(facts)
	full := map[string]Truth{}
	var set func(i int)
	set = func(i int) {
		if i == len(leaves) {
			each(maps.Clone(full))
			return
		}
		for _, v := range []Truth{False, True} {
			if known[leaves[i]] == Unknown || known[leaves[i]] == v {
				full[leaves[i]] = v
				set(i + 1)
			}
		}
	}
	set(0)
}
