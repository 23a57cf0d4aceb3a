package trial

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// garden is a small matter: it has two facts, one source, and nothing to do with
// cars.
type garden struct{}

var gardenFacts = []subject.Fact{
	{Name: "soil", Kind: quantity.Choice, Choices: []string{"sand", "clay"}},
	{Name: "dry", Kind: quantity.Truth},
	{Name: "depth", Kind: quantity.Length, Judged: true},
}

func (garden) Field(path string) (subject.Field, bool) {
	switch path {
	case "soil":
		return subject.Field{Path: path, Kind: quantity.Choice, Choices: []string{"sand", "clay"}}, true
	case "name":
		return subject.Field{Path: path, Kind: quantity.Text, Required: true}, true
	}
	return subject.Field{}, false
}

func (garden) Fact(name string) (subject.Fact, bool) {
	i := slices.IndexFunc(gardenFacts, func(f subject.Fact) bool { return f.Name == name })
	if i < 0 {
		return subject.Fact{}, false
	}
	return gardenFacts[i], true
}

func (garden) Source(name string) (subject.Source, bool) {
	return subject.Source{Name: name, Values: []subject.Fact{
		{Name: "bed", Kind: quantity.Text}, {Name: "side", Kind: quantity.Choice, Choices: []string{"sun", "shade"}}, {Name: "row", Kind: quantity.Number},
	}}, name == "next-bed"
}

func (garden) Page(string) bool     { return false }
func (garden) Names() subject.Names { return subject.Names{} }

// Look is never called: a trial supposes.
func (garden) Look([]subject.Entry) subject.View { panic("a trial looked at the real matter") }

// walked loads and walks a procedure with the given lines behind its first
// steps.
func walked(t *testing.T, lines string) *Trial {
	t.Helper()
	return Walk(garden{}.load(t, lines), garden{}, Usual)
}

func (g garden) load(t *testing.T, lines string) *engine.Procedure {
	t.Helper()
	src := `procedure: 1
name: dig
title: Dig
purpose: Dig the garden.
if-stopped:
  parked: [Put the spade away.]
parts:
- part: Digging
  car: parked
- ask: Which soil is it?
  id: soil
  fills: soil
` + lines
	p, faults := engine.Load("dig.yaml", []byte(src), g)
	if p == nil {
		t.Fatal(faults)
	}
	return p
}

// A procedure with everything in it is walked to the last branch, and there is
// nothing to find.
func TestEveryBranchIsTaken(t *testing.T) {
	got := walked(t, `- ask: What is it called?
  id: name
  fills: name
  skip: It stays without a name.
- hold: Is the place clear?
  id: clear
  lines: [Nobody stands there., No cable runs there.]
- do: Water it.
  id: water
  when: dry
  undo: Roll up the hose.
  cannot: {say: Wait for rain., then: skip}
- rounds: next-bed
  id: beds
  at-least: 0
  at-most: 3
  when: depth > 10 cm
  each:
  - do: Dig bed {bed}.
    id: sunny
    when: side is sun and row < 3
    cannot: {say: Stop., then: stop}
  - tell: Too wet.
    id: wet
    when: not dry
    back-to: soil
- part: Clay
  when: soil is clay
- do: Break it up.
  id: break
- part: End
- owed: all
  id: owed
`)
	if got.Reached != got.Steps || got.Taken != got.Branches || !got.Whole || !got.Sound() || len(got.Idle) > 0 {
		t.Errorf("it comes to %+v", got)
	}
	// soil 2+?+stop; name answered, skipped, stop; clear passed, 2 lines, stop;
	// water 3 outcomes, done, cannot, stop; beds 3 outcomes, least, most; sunny 2
	// outcomes, done, cannot, stop; wet 3 outcomes, back, stop; part 3 outcomes;
	// break done, stop; owed done, skipped.
	if want := 4 + 3 + 4 + 6 + 5 + 5 + 5 + 3 + 2 + 2; got.Branches != want {
		t.Errorf("it has %d branches, want %d", got.Branches, want)
	}
}

func TestFindings(t *testing.T) {
	for _, c := range []struct {
		name, lines string
		dead        []DeadEnd
		never, idle []string
	}{
		{"a rule that is never true while all is known", "- do: This.\n  id: this\n  when: soil is sand and soil is clay\n", []DeadEnd{}, []string{}, []string{"this"}},
		{"a rule that is never false", "- do: This.\n  id: this\n  when: dry or not dry\n", []DeadEnd{}, []string{}, []string{"this"}},
		{"a tell that nobody gets past", "- tell: Dig again.\n  id: again\n  when: dry or not dry\n  back-to: soil\n- do: This.\n  id: this\n",
			[]DeadEnd{{"again", "its rule is never false, so nobody gets past it"}}, []string{"this"}, []string{"again"}},
		{"a tell that leads to a hidden step", "- do: Water it.\n  id: water\n  when: dry\n- tell: Not wet.\n  id: again\n  when: not dry\n  back-to: water\n",
			[]DeadEnd{{"again", "none of the steps that it leads back to is shown when it is"}}, []string{}, []string{}},
		{"an undo behind the list of what is owed", "- do: Open it.\n  id: open\n  undo: Close it.\n- owed: all\n- do: Lift it.\n  id: lift\n  undo: Lower it.\n",
			[]DeadEnd{{"lift", "what it leaves is still owed at the end"}}, []string{}, []string{}},
	} {
		got := walked(t, c.lines)
		for what, diff := range map[string]string{"dead ends": cmp.Diff(c.dead, got.DeadEnds), "never": cmp.Diff(c.never, got.Never), "idle": cmp.Diff(c.idle, got.Idle)} {
			if diff != "" {
				t.Errorf("%s: %s (-want +got):\n%s", c.name, what, diff)
			}
		}
		if got.Sound() != (len(c.dead) == 0 && len(c.never) == 0) {
			t.Errorf("%s: sound is %v", c.name, got.Sound())
		}
	}
}

// A trial is the same every time.
func TestWalkIsDeterministic(t *testing.T) {
	const lines = "- do: This.\n  id: this\n  when: dry and soil is clay\n- do: That.\n  id: that\n  when: depth > 1 m\n"
	first := walked(t, lines)
	for range 5 {
		if diff := cmp.Diff(first, walked(t, lines)); diff != "" {
			t.Fatal(diff)
		}
	}
}

// The work is bounded however large the procedure is; what was left is counted.
func TestWalkIsBounded(t *testing.T) {
	var lines strings.Builder
	for i := range 3000 {
		fmt.Fprintf(&lines, "- do: Dig.\n  id: dig-%d\n  when: depth > %d m\n  skip: Nothing follows.\n", i, i)
	}
	lines.WriteString("- rounds: next-bed\n  id: a\n  at-most: 100\n  each:\n  - rounds: next-bed\n    id: b\n    at-most: 100\n    each:\n    - do: Dig.\n      id: deep\n")
	const budget = 100_000
	got := Walk(garden{}.load(t, lines.String()), garden{}, budget)
	if got.Whole || len(got.Untaken) == 0 || got.Prompts > budget {
		t.Errorf("whole is %v with %d branches left and %d prompts", got.Whole, len(got.Untaken), got.Prompts)
	}
	if len(got.Never) > 0 || len(got.DeadEnds) > 0 {
		t.Errorf("what was not tried is called unreached or a dead end: %v, %v", got.Never, got.DeadEnds)
	}
}

// A search is walked to every outcome of every check, by the choices of the real
// run; a check that is never worth its time is one that nobody comes to.
func TestSearchesAreWalked(t *testing.T) {
	const front = `procedure: 1
name: dig
title: Why is it dry?
purpose: Find out.
if-stopped:
  parked: [Put the spade away.]
causes:
- cause: The pump is off.
  id: pump
  chance: 40 %
  basis: invented
  time: 30 min
  remedy: Switch it on.
- cause: The pipe is split.
  id: pipe
  chance: 40 %
  basis: invented
  time: 90 min
  opens: lid
  remedy: Mend it.
openings:
- do: Lift the lid.
  id: lid
  time: 2 min
  undo: Put the lid back.
  cannot: The pipe stays unseen.
no-fault-found: {say: Wait for rain., time: 600 min}
parts:
- part: Looking
  car: off
- checks: by-worth
  id: search
  each:
  - check: Does it hum?
    id: hum
    time: 1 min
    source: invented
    cannot: It stays open.
    answers:
      yes it hums: {says: It runs., usually: 95 %, if: {pump: 5 %}}
      no: {says: It stands.}
  - check: How deep is the water?
    id: depth
    time: TIME
    opens: lid
    source: invented
    cannot: It stays open.
    expect: {from: 1 cm, to: 5 cm}
    below: {says: It runs out., usually: 5 %, if: {pipe: 95 %}}
    inside: {says: It holds., usually: 90 %}
    above: {says: It rises., usually: 5 %}
- page: causes
- owed: all
  id: owed
`
	walk := func(time string) *Trial {
		p, faults := engine.Load("dig.yaml", []byte(strings.Replace(front, "TIME", time, 1)), garden{})
		if p == nil {
			t.Fatal(faults)
		}
		return Walk(p, garden{}, Usual)
	}
	got := walk("3 min")
	// lid done, cannot, stop; hum 2 words, can't be told, stop; depth 3, can't be
	// told, stop; page read, stop; owed done, skipped.
	if want := 3 + 4 + 5 + 2 + 2; got.Branches != want || got.Taken != want || !got.Sound() || !got.Whole {
		t.Errorf("it comes to %+v, want %d branches, all taken", got, want)
	}
	got = walk("900 min")
	if diff := cmp.Diff([]string{"lid", "depth"}, got.Never); diff != "" {
		t.Errorf("what nobody comes to (-want +got):\n%s", diff)
	}
}
