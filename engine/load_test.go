package engine

import (
	"flag"
	"fmt"
	"strings"
	"testing"

	"dropwalk/engine/strictyaml/schematest"
)

var update = flag.Bool("update", false, "write the schema file anew")

// with is a small procedure with the given lines in place of its last part.
func with(lines string) string {
	return `procedure: 1
name: trial
title: A trial
purpose: Try one thing.
if-stopped:
  parked: [Lock up.]
parts:
- part: One
  car: parked
- ask: Who?
  id: who
  fills: name
` + lines
}

// Each fault gives one message with its place, and all faults come at once.
func TestLoadFaults(t *testing.T) {
	for _, c := range []struct{ lines, want string }{
		{"- say: Hello.\n", `trial.yaml:13:3: parts[3].say: unknown key "say", expected part, car, ask, do`},
		{"- id: x\n", "trial.yaml:13:3: parts[3]: this step has no verb, expected ask, do, hold, tell, page, rounds, checks, check or owed"},
		{"- do: This.\n  tell: That.\n", "trial.yaml:14:3: parts[3].tell: a step has one verb, and this one has do and tell, expected one of them"},
		{"- do: This.\n  fills: name\n", "trial.yaml:14:3: parts[3].fills: the key fills does not go with do"},
		{"- do: This.\n  sea: Water.\n", `trial.yaml:14:3: parts[3].sea: unknown key "sea" (did you mean "see"?)`},
		{"- ask: How?\n  fills: colr\n", `trial.yaml:14:10: parts[3].fills: nobody knows the place "colr", expected colour, items[].count, items[].price, name or weight`},
		{"- ask: How?\n", "trial.yaml:13:3: parts[3]: an ask fills nothing, expected fills: and a place in the document"},
		{"- ask: How?\n  id: who\n  fills: colour\n", `trial.yaml:13:3: parts[3]: another step is called "who" already, expected an id of its own`},
		{"- ask: How?\n  id: Who Else\n  fills: colour\n", `trial.yaml:14:7: parts[3].id: "Who Else" is no name, expected small letters, digits and hyphens, beginning with a letter`},
		{"- do: This.\n  when: colour is gren\n", `trial.yaml:14:19: parts[3].when: "gren" is none of the words of colour, expected red, blue`},
		{"- do: This.\n  when: \"colr is red\"\n", `trial.yaml:14:10: parts[3].when: nobody knows the fact "colr", expected the name of a fact`},
		{"- do: Lift {nme}.\n", `trial.yaml:13:12: parts[3].do: nobody knows {nme}, expected a fact, or a value of the rounds around it (did you mean {name}?)`},
		{"- do: Lift {item}.\n", "trial.yaml:13:12: parts[3].do: nobody knows {item}"},
		{"- do: This.\n  undo: That.\n", "trial.yaml:14:9: parts[3].undo: this leaves something to undo, and no step lists what is owed, expected a step owed: all near the end"},
		{"- hold: Go?\n  then-car: moving\n", "trial.yaml:5:1: if-stopped: the car moves in this procedure"},
		{"- hold: Go?\n  then-car: moving\n", "trial.yaml:7:1: parts: the procedure ends with the car moving, expected a hold with then-car: parked"},
		{"- hold: Go?\n  then-car: moving\n- ask: Fast?\n  fills: colour\n", "trial.yaml:15:3: parts[4]: the car is moving here, and nobody types in a moving car, expected a hold with then-car: parked"},
		{"- part: Two\n  car: off\n", "trial.yaml:14:3: parts[3].car: this part begins with the car off, but the step before leaves it parked, expected a hold with then-car: off before it"},
		{"- hold: Off?\n  when: colour is red\n  then-car: off\n", "trial.yaml:14:3: parts[3].when: a hold that changes the state of the car can't depend on a rule"},
		{"- rounds: next-item\n  each:\n  - do: This.\n", "trial.yaml:13:3: parts[3]: these rounds have no end, expected at-most: and a number"},
		{"- rounds: next-item\n  at-least: 5\n  at-most: 2\n  each:\n  - do: This.\n", "trial.yaml:14:3: parts[3].at-least: at least 5 rounds and at most 2, expected at-least below at-most"},
		{"- rounds: next-itm\n  at-most: 2\n  each:\n  - do: This.\n", `trial.yaml:13:11: parts[3].rounds: nobody knows the source "next-itm", expected next-item (did you mean "next-item"?)`},
		{"- rounds: next-item\n  at-most: 2\n  each:\n  - hold: Off?\n    then-car: off\n", "trial.yaml:13:3: parts[3]: a round begins with the car parked and leaves it off, expected a round that ends as it begins"},
		{"- rounds: next-item\n  at-most: 2\n  each:\n  - part: Two\n", "trial.yaml:16:5: parts[3].each[1]: a part can't stand inside rounds, expected a step"},
		{"- rounds: next-item\n  at-most: 2\n", "trial.yaml:13:3: parts[3]: these rounds have no steps"},
		{"- page: bil\n", `trial.yaml:13:9: parts[3].page: nobody knows the page "bil", expected bill (did you mean "bill"?)`},
		{"- do: This.\n  shows: shlf\n", `trial.yaml:14:10: parts[3].shows: nobody knows the picture "shlf", expected shelf (did you mean "shelf"?)`},
		{"- tell: Out.\n  back-to: later\n  when: colour is red\n", `trial.yaml:14:12: parts[3].back-to: nobody knows the earlier step "later", expected who or tell-2`},
		{"- tell: Out.\n  back-to: who\n", "trial.yaml:13:3: parts[3]: a tell that leads back never ends without a rule"},
		{"- do: This.\n  danger: {from: a, so: b}\n", `trial.yaml:14:11: parts[3].danger: the key "avoid" is missing`},
		{"- owed: all\n- owed: all\n  id: again\n", "trial.yaml:14:3: parts[4]: what is owed is listed already, expected one step owed: all"},
		{"- owed: some\n", `trial.yaml:13:9: parts[3].owed: "some" is not known here, expected all`},
		{"- do: [This]\n", "trial.yaml:13:7: parts[3].do: a list stands here, expected text"},
		{"- do: This.\n  cannot: {say: That.}\n", `trial.yaml:14:11: parts[3].cannot: the key "then" is missing`},
	} {
		p, faults := Load("trial.yaml", []byte(with(c.lines)), &shop{})
		if p != nil || len(faults) == 0 {
			t.Errorf("%q loads", c.lines)
			continue
		}
		if got := "\n" + faults.Error(); !strings.Contains(got, "\n"+c.want) {
			t.Errorf("%q\n gives %s\n want  %s", c.lines, got, c.want)
		}
	}
}

func TestLoadAllFaultsAtOnce(t *testing.T) {
	_, faults := Load("trial.yaml", []byte(with("- do: Lift {nme}.\n- page: bil\n- do: This.\n  when: colour is gren\n")), &shop{})
	if len(faults) != 3 {
		t.Errorf("%d faults, want 3:\n%v", len(faults), faults)
	}
}

func TestLoadHeads(t *testing.T) {
	good := with("- do: This.\n")
	if _, faults := Load("trial.yaml", []byte(good), &shop{}); len(faults) > 0 {
		t.Fatalf("the trial itself: %v", faults)
	}
	for from, to := range map[string][2]string{
		"procedure: 1": {"procedure: 2", "out of range"},
		"name: trial":  {"name: ../../etc", "is no name"},
		"car: parked":  {"car: flying", `"flying" is not known here`},
		"title:":       {"titel:", `did you mean "title"?`},
		"  parked: [":  {"  off: [", "nothing is said for a stop"},
		"parts:":       {"parts: []\nrest:", "at least 1"},
	} {
		_, faults := Load("trial.yaml", []byte(strings.Replace(good, from, to[0], 1)), &shop{})
		if len(faults) == 0 || !strings.Contains(faults.Error(), to[1]) {
			t.Errorf("%s: %v, want %q", to[0], faults, to[1])
		}
	}
}

// A thousand steps load in a moment: users keep their own procedures, and a
// stranger's file must not hang the program.
func BenchmarkLoad100Steps(b *testing.B) {
	var steps strings.Builder
	for i := range 100 {
		fmt.Fprintf(&steps, "- do: Lift {name}.\n  id: lift-%d\n  when: colour is red or not (colour is blue)\n  see: It is up.\n", i)
	}
	src := []byte(with(steps.String()))
	for b.Loop() {
		if _, faults := Load("trial.yaml", src, &shop{}); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}

// The schema in the repository is the one that the table of keys gives.
func TestSchemaFile(t *testing.T) {
	const file = "procedure-1.schema.json"
	schematest.Current(t, file, Schema(), *update)
}

// FuzzLoad holds that no text hangs or breaks the loader, that every fault has
// a place in the file, and that what loads can be run.
func FuzzLoad(f *testing.F) {
	f.Add([]byte(order))
	f.Add([]byte(with("- do: Lift {name}.\n  when: colour is red\n")))
	f.Add([]byte("procedure: 1\nparts: [{part: x, car: off}]\n"))
	f.Add([]byte("a: &x [*x]\n"))
	f.Add([]byte(bell))
	f.Add([]byte(strings.ReplaceAll(bell, "chance: 25 %", "chance: 0 %")))
	f.Fuzz(func(t *testing.T, src []byte) {
		s := &shop{items: 1}
		p, faults := Load("f.yaml", src, s)
		_, more := Check("f.yaml", src, s)
		for _, fault := range append(more, faults...) {
			if fault.Line < 1 || fault.Col < 1 {
				t.Errorf("a fault without a place: %v", fault)
			}
		}
		if p == nil {
			if len(faults) == 0 {
				t.Error("neither procedure nor fault")
			}
			return
		}
		r := NewRun(p, s)
		r.Apply(r.Start(nil))
		for range 20 {
			if e, due := r.Settle(); due {
				r.Apply(e)
				continue
			}
			prompt, open := r.Next()
			if !open {
				return
			}
			texts := []string{"", "ready", "red"}
			if prompt.Row != nil {
				texts = append(append(prompt.Row.Words, "25 mm"), texts...)
			}
			for _, text := range texts {
				if events, err := r.Propose(prompt, Answer{Text: text}); err == nil {
					for _, e := range events {
						r.Apply(e)
					}
					break
				}
			}
		}
	})
}
