package engine

import (
	"slices"
	"strings"
	"testing"

	"dropwalk/engine/strictyaml"
)

// Each rule has a code of its own and says what it asks in one sentence. Those
// that Load holds are no warnings: what they refuse can't be run.
func TestTableOfWritingRules(t *testing.T) {
	var codes []string
	for _, r := range WritingRules() {
		if !idForm.MatchString(r.Code) || slices.Contains(codes, r.Code) {
			t.Errorf("the code %q is no name, or stands twice", r.Code)
		}
		codes = append(codes, r.Code)
		if !strings.HasSuffix(strings.TrimSuffix(r.Says, `"`), ".") || r.Says[:1] == strings.ToLower(r.Says[:1]) && r.Code != codeIfStopped {
			t.Errorf("%s says %q, which is no sentence", r.Code, r.Says)
		}
		if r.step == nil && r.file == nil && r.Warning {
			t.Errorf("%s is a warning that nobody holds", r.Code)
		}
	}
	if len(codes) < 35 {
		t.Errorf("only %d rules", len(codes))
	}
}

// What is a warning only lets a procedure through; what is more doesn't, though
// Load takes it: an old record must open whatever is asked of new files.
func TestCheckAsksMoreThanLoad(t *testing.T) {
	for lines, passes := range map[string]bool{
		"- do: Lift it; turn it.\n": true,
		"- do: Lift it.\n  when: colour is red\n  examples:\n  - {given: {colour: blue}, then: shown}\n": false,
		"- do: Lift <b>it</b>.\n": false,
	} {
		src := []byte(with(lines))
		if p, faults := Load("trial.yaml", src, &shop{}); p == nil {
			t.Errorf("%q doesn't load: %v", lines, faults)
		}
		p, faults := Check("trial.yaml", src, &shop{})
		if (p != nil) != passes || len(faults) == 0 {
			t.Errorf("%q passes: %v, with %v", lines, p != nil, faults)
		}
	}
}

// An example names a fact with a value of any kind that rules compare.
func TestExamplesOfEveryKind(t *testing.T) {
	for example, want := range map[string]string{
		"{given: {colour: red, sum: 12}, then: shown}":    "",
		"{given: {colour: red, sum: 9}, then: hidden}":    "",
		"{given: {colour: blue}, then: hidden}":           "", // decided without the sum
		"{given: {colour: red}, then: shown}":             "", // can't be decided
		"{given: {dear: true, colour: red}, then: shown}": "",
		"{given: {dear: maybe}, then: shown}":             `"dear" can't be "maybe", expected true or false`,
		"{given: {sum: much}, then: shown}":               `"sum" can't be "much", expected a value of the kind number`,
		"{given: {colour: red}, then: hidden}":            "this example comes out shown: the rule can't be decided without sum",
	} {
		src := with("- do: Lift it.\n  skip: Nothing follows.\n  when: colour is red and sum > 10\n  examples:\n  - " + example + "\n")
		_, faults := Check("trial.yaml", []byte(src), &shop{})
		got := ""
		for _, f := range faults.Errors() {
			got = f.What + ", expected " + f.Expected
		}
		if !strings.HasPrefix(got, want) || (want == "") != (got == "") {
			t.Errorf("%s: %q, want %q", example, got, want)
		}
	}
}

// A fault lies on its word, where the text stands on one line.
func TestFaultsPointAtTheWord(t *testing.T) {
	for text, want := range map[string]string{
		"Lift it; turn it.":         "13:14",
		`"Lift it; turn it."`:       "13:15",
		"Lift it when it is light.": "13:15",
		"|\n    Lift it; turn it.":  "13:7",
	} {
		_, faults := Check("trial.yaml", []byte(with("- do: "+text+"\n")), &shop{})
		at := slices.IndexFunc(faults, func(f strictyaml.Fault) bool { return f.Code == "one-action" || f.Code == "condition-first" })
		if at < 0 {
			t.Errorf("%q passes: %v", text, faults)
			continue
		}
		if got := faults[at].Error(); !strings.HasPrefix(got, "trial.yaml:"+want+": ") {
			t.Errorf("%q: %s, want it at %s", text, got, want)
		}
	}
}
