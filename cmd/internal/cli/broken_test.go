package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
)

const brokenFolder = "../../../testdata/procedures/broken"

// toldFaults is what the table of faults says, by file.
func toldFaults(t *testing.T) map[string][]string {
	t.Helper()
	table, err := os.ReadFile(filepath.Join(brokenFolder, "faults.txt"))
	if err != nil {
		t.Fatal(err)
	}
	told := map[string][]string{}
	for line := range strings.Lines(string(table)) {
		name, _, _ := strings.Cut(line, ":")
		told[name] = append(told[name], strings.TrimSuffix(line, "\n"))
	}
	return told
}

// Every broken procedure gets exactly the faults that the table has, each with
// its place, and every rule of the table of rules is broken by some file.
func TestBrokenProcedures(t *testing.T) {
	told := toldFaults(t)
	files, err := filepath.Glob(filepath.Join(brokenFolder, "*.yaml"))
	if err != nil || len(files) < 60 || len(files) != len(told) {
		t.Fatalf("%d files, %v, and %d in the table; want 60 or more of each", len(files), err, len(told))
	}
	codes := map[string]bool{}
	for _, file := range files {
		name := filepath.Base(file)
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		p, faults := newProcedureFile(name, src).check(quantity.AsTyped)
		if diff := cmp.Diff(told[name], strings.Split(faults.Error(), "\n")); diff != "" {
			t.Errorf("%s (-table +check):\n%s", name, diff)
		}
		if (p == nil) != (len(faults.Errors()) > 0) {
			t.Errorf("%s: passes %v with %d faults", name, p != nil, len(faults.Errors()))
		}
		for _, f := range faults {
			codes[f.Code] = true
		}
	}
	for _, r := range engine.WritingRules() {
		if !codes[r.Code] {
			t.Errorf("no file breaks the rule %s", r.Code)
		}
	}
}

// The files that the broken ones are made from have nothing wrong, so that each
// fault is of what was broken.
func TestSoundProcedureIsSound(t *testing.T) {
	for _, name := range []string{"sound.yaml", "sound-search.yaml"} {
		r := runLine("procedures check --strict " + filepath.Join(brokenFolder, "..", name))
		if r.code != exitDone || r.err != "" || !strings.Contains(r.out, ": sound, ") {
			t.Errorf("%s: it ends with %d: %s%s", name, r.code, r.out, r.err)
		}
	}
}

// The command tells the same, with the line of the file below each fault.
func TestCheckTellsPlaceAndLine(t *testing.T) {
	file := filepath.Join(brokenFolder, "bare-word.yaml")
	r := runLine("procedures check " + file)
	for _, want := range []string{"bare-word.yaml:21:21: parts[3].see: warning: ", "\n  21 |   see: The joint is good.\n", "^\n"} {
		if !strings.Contains(r.err, want) {
			t.Errorf("the message lacks %q:\n%s", want, r.err)
		}
	}
	if r.code != exitDone || !strings.Contains(r.out, ": sound, 1 parts, 1 warning\n") {
		t.Errorf("it ends with %d: %s", r.code, r.out)
	}
	if r := runLine("procedures check --strict " + file); r.code != exitInput {
		t.Errorf("a strict check of warnings ends with %d", r.code)
	}
	if r := runLine("procedures check " + filepath.Join(brokenFolder, "raw-mark.yaml")); r.code != exitInput || strings.Contains(r.out, "sound") {
		t.Errorf("a check of a fault ends with %d: %s", r.code, r.out)
	}
}

// A long list of faults is cut for people and whole for machines.
func TestManyFaults(t *testing.T) {
	file := filepath.Join(t.TempDir(), "many.yaml")
	var src strings.Builder
	src.WriteString("procedure: 1\n")
	for i := range 5000 {
		fmt.Fprintf(&src, "key%d: 1\n", i)
	}
	if err := os.WriteFile(file, []byte(src.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	r := runLine("procedures check " + file)
	if n := strings.Count(r.err, "[form]"); r.code != exitInput || n > mostTold || !strings.Contains(r.err, "more; put these right first") {
		t.Errorf("it ends with %d and tells %d faults:\n%.400s", r.code, n, r.err)
	}
	if n := strings.Count(runLine("procedures check --format json "+file).out, `"code": "form"`); n < 1000 {
		t.Errorf("for machines there are %d faults", n)
	}
}

// The list of rules stands in the help as in the table.
func TestRulesAreListed(t *testing.T) {
	r := runLine("procedures check --rules")
	list := strings.Join(strings.Fields(r.out), " ")
	for _, rule := range engine.WritingRules() {
		if !strings.Contains(list, "- "+rule.Code+": "+rule.Says) {
			t.Errorf("the list lacks %s", rule.Code)
		}
	}
	asJSON := runLine("procedures check --rules --json")
	if n := strings.Count(asJSON.out, `"severity":"warning"`); asJSON.code != exitDone || n < 15 {
		t.Errorf("as JSON it ends with %d and has %d warnings: %.200s", asJSON.code, n, asJSON.out)
	}
	if r := runLine("procedures check --rules intake"); r.code != exitInput || !slices.Contains(strings.Fields(r.err), "hint:") {
		t.Errorf("with a file it ends with %d: %s", r.code, r.err)
	}
}

// hundredSteps is a procedure of 100 steps of every kind that people write most.
func hundredSteps(name string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "procedure: 1\nname: %s\ntitle: Many steps\npurpose: Be long.\ntakes: 10 min\npeople: [one person]\ntools: [gauge]\nstop-if: [anything loose]\n", name)
	b.WriteString("if-stopped:\n  parked: [Engine off.]\nparts:\n- part: All\n  car: parked\n")
	for i := range 33 {
		fmt.Fprintf(&b, "- do: Join hose %d to the gauge.\n  id: join-%d\n  why: The path draws below the open air.\n  see: It holds a pull.\n  undo: Take the hose off.\n  cannot: Use another hose.\n", i, i)
		fmt.Fprintf(&b, "- ask: What does the gauge show?\n  id: shows-%d\n  fills: checks[].start\n  like: %d inH2O\n  unknown: It counts as tight.\n  when: induction is not natural or restriction > %d Pa\n", i, i+1, i)
		fmt.Fprintf(&b, "- hold: Is the place clear?\n  id: clear-%d\n  caution: {from: hot parts, so: burns, avoid: let them cool}\n  lines: [Nobody is near., The key is out., Parts have cooled.]\n", i)
	}
	b.WriteString("- owed: all\n")
	return b.String()
}

// BenchmarkCheck200 checks 200 files of 100 steps, as one call does.
func BenchmarkCheck200(b *testing.B) {
	dir := b.TempDir()
	line := "procedures check --strict"
	for i := range 200 {
		file := filepath.Join(dir, fmt.Sprintf("many-%d.yaml", i))
		if err := os.WriteFile(file, []byte(hundredSteps(fmt.Sprintf("many-%d", i))), 0o600); err != nil {
			b.Fatal(err)
		}
		line += " " + file
	}
	for b.Loop() {
		if r := runLine(line); r.code != exitDone || r.err != "" {
			b.Fatalf("it ends with %d: %.500s", r.code, r.err)
		}
	}
}

func BenchmarkTryIntake(b *testing.B) {
	for b.Loop() {
		if r := runLine("procedures try intake"); r.code != exitDone {
			b.Fatal(r.err)
		}
	}
}
