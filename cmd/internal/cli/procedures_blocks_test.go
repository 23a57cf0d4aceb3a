package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropwalk/advice"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
)

// Every block says what it holds in a line, and some procedure uses it: so it
// is checked with every rule of writing wherever it stands.
func TestSharedBlocksAreUsed(t *testing.T) {
	used := map[string]bool{}
	for _, name := range shipped() {
		w, err := shippedText(name)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(w.text.Src)) {
			if block, ok := strings.CutPrefix(strings.TrimSpace(line), "# The shared block "); ok {
				used[strings.TrimSuffix(block, ".")] = true
			}
		}
	}
	if len(sharedBlocks()) < 20 {
		t.Fatalf("only %d blocks", len(sharedBlocks()))
	}
	for name, block := range sharedBlocks() {
		switch about := block.About(); {
		case !engine.IsName(name):
			t.Errorf("%q is no name", name)
		case !used[name]:
			t.Errorf("nobody inserts %s", name)
		case about == "" || len(about) > 160:
			t.Errorf("%s says %q of itself", name, about)
		}
	}
}

// inserting is a procedure of somebody's own that takes the safety texts by name.
const inserting = `procedure: 1
name: my-run
title: One run of my own
purpose: Make one run at full load.
takes: 20 min
people: [driver, passenger]
tools: [gauge]
stop-if:
- insert: stop-signs
if-stopped:
  moving:
  - insert: stopped-moving
  parked: [Engine off.]
on-return:
  parked:
    hold: Is the car parked?
    lines:
    - insert: back-parked
parts:
- part: Place, law and people
  car: parked
- insert: place-law-people

- part: Look
  car: parked
- insert: leak-check
- do: Look at the hose.
  id: look
  see: It is whole.
  cannot: Use another hose.
`

// One's own file takes a shipped block, everywhere a file is read; what is kept
// and shown is complete.
func TestOwnFileInserts(t *testing.T) {
	o := newOwner(t)
	o.writes("my-run.yaml", inserting)
	for _, line := range []string{"procedures check --strict my-run", "procedures try my-run", "procedures show my-run", "start my-run --answers-template"} {
		if r := o.runs(strings.Fields(line)...); r.code != exitDone || strings.Contains(r.err, "warning") {
			t.Fatalf("%s ends with %d: %s%s", line, r.code, r.out, r.err)
		}
	}
	source := o.runs("procedures", "show", "my-run", "--source").out
	if strings.Contains(source, "insert:") || !strings.Contains(source, "The driver is licensed and insured for this.") {
		t.Errorf("the source is not complete:\n%s", source)
	}
	alone := filepath.Join(t.TempDir(), "my-run.yaml")
	if err := os.WriteFile(alone, []byte(source), 0o600); err != nil {
		t.Fatal(err)
	}
	if r := runLine("procedures show " + alone + " --source"); r.code != exitDone || r.out != source {
		t.Errorf("alone it is another: %d, %s", r.code, r.err)
	}
}

// A record holds every word that was shown: it needs no block to be gone on with.
func TestRecordHoldsTheCompleteText(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "my-run.yaml")
	if err := os.WriteFile(file, []byte(inserting), 0o600); err != nil {
		t.Fatal(err)
	}
	tried(t, "track\npause\n", "start", file, "--dir", dir)
	names, err := record.Names(dir)
	if err != nil || len(names) != 1 {
		t.Fatalf("records %v, %v", names, err)
	}
	c, err := record.View(filepath.Join(dir, names[0]+record.Ext))
	if err != nil {
		t.Fatal(err)
	}
	kept, _, err := session.Events(c.Lines)
	if err != nil || strings.Contains(kept.Text, "insert:") || !strings.Contains(kept.Text, "The driver is licensed and insured for this.") {
		t.Errorf("%v, the record holds\n%s", err, kept.Text)
	}
	if _, faults := engine.Load("kept.yaml", []byte(kept.Text), &advice.Matter{}); len(faults) > 0 {
		t.Errorf("it doesn't stand alone: %v", faults)
	}
}

// A fault inside a block is told where the block stands, and names the insert;
// one behind it keeps its own line. Both are quoted.
func TestFaultsOfInserts(t *testing.T) {
	o := newOwner(t)
	o.writes("my-run.yaml", strings.Replace(strings.Replace(inserting, "  see: It is whole.\n", "", 1), "- insert: leak-check\n", "- insert: leak-check\n- insert: zero-after\n- insert: zero-after\n", 1))
	r := o.runs("procedures", "check", "my-run")
	for _, want := range []string{
		"procedures/shared/zero-after.yaml:2:3: another step is called \"zero-after\" already, expected an id of its own (inserted at ", "my-run.yaml:28) [same-id]",
		"\n  2 | - ask: What does the gauge show at rest now?\n",
	} {
		if !strings.Contains(r.err, want) {
			t.Errorf("nothing says %q:\n%s", want, r.err)
		}
	}
	o.writes("my-run.yaml", strings.Replace(strings.Replace(inserting, "  see: It is whole.\n", "", 1), "leak-check", "leak-chek", 1))
	r = o.runs("procedures", "check", "my-run")
	if r.code != exitInput || !strings.Contains(r.err, "my-run.yaml:26:11: there is no shared block \"leak-chek\"") || !strings.Contains(r.err, "did you mean \"leak-check\"?") || !strings.Contains(r.err, "  26 | - insert: leak-chek\n") {
		t.Errorf("an unknown block ends with %d: %s", r.code, r.err)
	}
	o.writes("my-run.yaml", strings.Replace(inserting, "  see: It is whole.\n", "  see: It is good.\n", 1))
	r = o.runs("procedures", "check", "my-run")
	if !strings.Contains(r.err, "my-run.yaml:29:14: warning: ") || !strings.Contains(r.err, "  29 |   see: It is good.\n") {
		t.Errorf("a fault behind the blocks is told as\n%s", r.err)
	}
}

func TestProceduresBlocks(t *testing.T) {
	list := runLine("procedures blocks")
	for name := range sharedBlocks() {
		if !strings.Contains(list.out, name) {
			t.Errorf("the list lacks %s", name)
		}
	}
	one := runLine("procedures blocks leak-check")
	if one.code != exitDone || one.out != string(sharedBlocks()["leak-check"].Src) {
		t.Errorf("one block ends with %d and prints\n%s", one.code, one.out)
	}
	var all struct {
		Version int `json:"procedures_blocks"`
		List    []struct{ Name, About, Text string }
	}
	if err := json.Unmarshal([]byte(runLine("procedures blocks --json").out), &all); err != nil || all.Version != 1 || len(all.List) != len(sharedBlocks()) || all.List[0].About == "" || all.List[0].Text != "" {
		t.Errorf("as JSON: %v, %+v", err, all)
	}
	if err := json.Unmarshal([]byte(runLine("procedures blocks leak-check --json").out), &all); err != nil || len(all.List) != 1 || all.List[0].Text != one.out {
		t.Errorf("one as JSON: %v, %+v", err, all)
	}
	for _, name := range []string{"leak-chek", "../intake", "/etc/passwd", ""} {
		if r := runLine("procedures blocks '" + name + "'"); r.code != exitInput {
			t.Errorf("%q ends with %d: %s", name, r.code, r.out)
		}
	}
	if r := runLine("procedures blocks leak-chek"); !strings.Contains(r.err, `did you mean "leak-check"?`) {
		t.Errorf("a slip is told as %s", r.err)
	}
}

// A stranger's file can insert too much, or something that is no block; it
// comes to nothing.
func TestHostileInserts(t *testing.T) {
	harmRefused(t, soundWith(t, strings.Repeat("- insert: place-law-people\n", 3000)), "too many inserts")
	harmRefused(t, soundWith(t, strings.Repeat("- insert: taps\n", 900)), "grows too large")
	harmRefused(t, soundWith(t, "- insert: ../intake\n"), `no shared block "../intake"`)
	harmRefused(t, soundWith(t, "- insert: /dev/zero\n"), "no shared block")
	harmRefused(t, soundWith(t, "- insert: \"\\e[31mred\"\n"), "invisible character")
	harmRefused(t, soundWith(t, "- tell: x\n  insert: taps\n"), "stands for no item of a list")
	harmRefused(t, soundWith(t, "- insert: stop-signs\n"), "expected a part or a step")
}

// A procedure of the program's name whose complete text is the program's own is
// the program's own.
func TestSourceOfAShippedOneIsNoStranger(t *testing.T) {
	file := filepath.Join(t.TempDir(), "intake.yaml")
	if err := os.WriteFile(file, []byte(runLine("procedures show intake --source").out), 0o600); err != nil {
		t.Fatal(err)
	}
	p, err := findProcedure(file, quantity.AsTyped)
	if err != nil || passesFor(p) {
		t.Errorf("it passes for another: %v", err)
	}
}
