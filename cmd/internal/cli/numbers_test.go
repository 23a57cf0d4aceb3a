package cli

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"dropwalk/engine/strictyaml"
	"dropwalk/procedures"
)

// amount finds a number with a unit in a sentence, written with digits or as a word.
var amount = regexp.MustCompile(`(?i)(?:\b\d+(?:[.,]\d+)?|\b(?:two|three|four|five|six|seven|eight|nine|ten|twelve|fifteen|twenty|thirty|sixty))(?:\s|-)?` +
	`(?:inH2O|mmH2O|Pa|kPa|hPa|mbar|bar|psi|inHg|mm|cm|km|m|in|inch(?:es)?|feet|ft|km/h|mph|m/s|rpm|g/s|kg|g|%|s|sec|min|h|C|F|K|L|cc|kW|hp|PS|deg|degrees|seconds?|minutes?|hours?|metres?|kilometres?|bores?|litres?|percent)(?:\W|$)`)

// noStatement is what holds numbers and states none: a unit, and how an answer is written.
var noStatement = regexp.MustCompile(`per 1000 rpm|[^.:]*, (?:doubtful|keep)\b`)

// sourced tells what makes a remark beside a step a source.
var sourced = regexp.MustCompile(`(?i)common practice|no source|from memory|worked out|examples? of an answer|\bISO\b|\bSAE\b|\bANSI\b|\bEPA\b|\bCFR\b|\bDOE\b|\b(?:19|20)\d\d\b`)

// silentKeys are those whose texts are no statement: examples of an answer, names, rules,
// and how long the test itself or its step takes.
var silentKeys = []string{"like", "id", "when", "fills", "given", "then", "takes", "time", "insert", "shows", "back-to", "car", "then-car"}

// stepStart of a step, a part or a key of the front.
var stepStart = regexp.MustCompile(`^(?:\s*- [a-z-]+:|[a-z-]+:)`)

// numbered lists the texts of a file that state a number with a unit and neither say
// that it is common practice nor have a source in a remark beside their step.
func numbered(file string, src []byte) []string {
	root, faults := strictyaml.ParseYAML(file, src, 1)
	if root == nil || len(faults.Errors()) > 0 {
		return []string{fmt.Sprintf("%s can't be read: %v", file, faults)}
	}
	lines := strings.Split(string(src), "\n")
	var out []string
	var look func(n *strictyaml.Node)
	look = func(n *strictyaml.Node) {
		if sourced.MatchString(n.Get("basis").Str() + n.Get("source").Str()) { // of a cause or a check
			return
		}
		for _, p := range n.Pairs {
			if !slices.Contains(silentKeys, p.Key) {
				look(p.Value)
			}
		}
		for _, item := range n.Items {
			look(item)
		}
		if n.Kind == strictyaml.Scalar && amount.MatchString(noStatement.ReplaceAllString(n.Text, " ")) && !strings.Contains(n.Text, "(common practice") && !strings.Contains(n.Text, "from memory)") && !remarked(lines, n.Line-1) {
			out = append(out, fmt.Sprintf("%s:%d: %q has %q", file, n.Line, n.Text, strings.TrimSpace(amount.FindString(n.Text))))
		}
	}
	look(root)
	return out
}

// remarked tells whether a remark beside the step at a line names a source.
func remarked(lines []string, at int) bool {
	first := at
	for first > 0 && !stepStart.MatchString(lines[first]) {
		first--
	}
	for first > 0 && strings.HasPrefix(strings.TrimSpace(lines[first-1]), "#") {
		first--
	}
	for i := first; i < len(lines) && (i <= at || !stepStart.MatchString(lines[i])); i++ {
		if _, remark, ok := strings.Cut(lines[i], "#"); ok && sourced.MatchString(remark) {
			return true
		}
	}
	return false
}

// Every number that a shipped procedure or block states has a source beside it or is
// marked as common practice.
func TestNumbersHaveASource(t *testing.T) {
	n := 0
	for _, dir := range []string{".", sharedFolder} {
		entries, err := procedures.FS.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if e.IsDir() {
				continue
			}
			path := strings.TrimPrefix(dir+"/"+e.Name(), "./")
			src, err := procedures.FS.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			n += len(amount.FindAll(src, -1))
			for _, fault := range numbered("procedures/"+path, src) {
				t.Error(fault)
			}
		}
	}
	if n < 40 {
		t.Errorf("only %d numbers in all procedures; does the pattern still find them?", n)
	}
}

// The law bites, and lets pass what it should.
func TestNumbersAreFound(t *testing.T) {
	for _, c := range []struct {
		src  string
		want int
	}{
		{"- do: Wait for 5 s.\n  id: x\n", 1},
		{"- do: Wait for 5 s (common practice).\n", 0},
		{"- do: Wait.\n  why: Ten minutes are enough.\n", 1},
		{"# ISO 5167, from memory.\n- do: Wait.\n  why: Ten minutes are enough.\n", 0},
		{"- do: Wait.\n  # common practice, no source\n  why: Ten minutes are enough.\n", 0},
		{"- do: Wait.\n  why: Ten minutes are enough.\n- do: Go.\n  # common practice, no source\n  why: It is time.\n", 1},
		{"# Waits a while.\n- do: Wait.\n  why: Ten minutes are enough.\n", 1},
		{"- ask: How long?\n  like: 30 s\n", 0},
		{"- ask: How long?\n  why: \"Something went wrong: 30 s, doubtful: and why.\"\n", 0},
		{"- ask: How far per 1000 rpm?\n", 0},
		{"- hold: \"{rpm} for {seconds}\"\n  lines: [It stands still., It is below 40 C.]\n", 1},
		{"tools:\n- a hose of 4-6 mm bore\n- a gauge\n", 1},
		{"tools: # sizes are common practice, no source\n- a hose of 4-6 mm bore\n", 0},
		{"- do: Count 3 runs of the 2 hoses.\n", 0},
	} {
		if got := numbered("x.yaml", []byte(c.src)); len(got) != c.want {
			t.Errorf("%q: found %q, want %d", c.src, got, c.want)
		}
	}
}
