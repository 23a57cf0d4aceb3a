package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// longestHarm is how long one command may take on a file that means harm, on a
// machine with other work to do.
const longestHarm = 90 * time.Second

// hostile writes a procedure of somebody who means harm, and runs every command
// that reads one on it. It returns what they print, for further questions.
func hostile(t *testing.T, text string) (all string, codes map[string]int) {
	t.Helper()
	o := newOwner(t)
	o.writes("harm.yaml", text)
	records := t.TempDir()
	codes = map[string]int{}
	for _, args := range [][]string{
		{"procedures"}, {"procedures", "--json"}, {"procedures", "check", "harm"}, {"procedures", "check", "harm", "--json"}, {"procedures", "check", "harm", "--format", "github"},
		{"procedures", "show", "harm"}, {"procedures", "try", "harm"}, {"start", "harm"}, {"start", "harm", "--answers-template"},
	} {
		begun := time.Now()
		r := o.runs(append(args, "--dir", records)...)
		if took := time.Since(begun); took > longestHarm {
			t.Errorf("%v took %v", args, took)
		}
		codes[strings.Join(args, " ")] = r.code
		all += r.out + r.err
	}
	if strings.ContainsFunc(all, func(r rune) bool { return r < ' ' && r != '\n' || r == 0x7f || r >= 0x80 && r < 0xa0 || r == 0x202e }) {
		t.Errorf("something that a terminal obeys comes through")
	}
	left, err := os.ReadDir(records)
	if err != nil || len(left) > 0 {
		t.Errorf("records were made: %v, %v", left, err)
	}
	return all, codes
}

// harmRefused runs hostile and holds that nothing was shown, tried or started.
func harmRefused(t *testing.T, text, want string) {
	t.Helper()
	all, codes := hostile(t, text)
	for _, line := range []string{"procedures check harm", "procedures show harm", "procedures try harm", "start harm"} {
		if codes[line] != exitInput {
			t.Errorf("%s ends with %d", line, codes[line])
		}
	}
	if codes["procedures"] != exitDone {
		t.Errorf("one bad file takes the list away: %d", codes["procedures"])
	}
	if !strings.Contains(all, want) {
		t.Errorf("nothing says %q:\n%.600s", want, all)
	}
}

// soundWith is a procedure with lines behind its first steps.
func soundWith(t *testing.T, lines string) string {
	t.Helper()
	src, err := os.ReadFile("../../../testdata/procedures/sound.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(src), "name: trial", "name: harm", 1)
	return strings.Replace(text, "- owed: all\n", lines+"- owed: all\n", 1)
}

func TestHostileAliasBomb(t *testing.T) {
	bomb := "procedure: 1\na: &a [x, x, x, x, x, x, x, x, x]\n"
	for c := 'b'; c < 'k'; c++ {
		bomb += fmt.Sprintf("%c: &%c [%s]\n", c, c, strings.TrimSuffix(strings.Repeat(fmt.Sprintf("*%c, ", c-1), 9), ", "))
	}
	harmRefused(t, bomb, "the anchor")
}

func TestHostileEscapes(t *testing.T) {
	harmRefused(t, soundWith(t, "- tell: \"\\e[2J\\e]0;title\\a\"\n"), "invisible character")
	harmRefused(t, soundWith(t, "- tell: a\u202eb\n"), "invisible character")
	harmRefused(t, soundWith(t, "- tell: \x1b[31mred\n"), "invisible character")
	harmRefused(t, soundWith(t, "- \"\\e[31mask\": x\n"), "invisible character")
	harmRefused(t, strings.Replace(soundWith(t, ""), "id: join", "id: \"\\e[31m\"", 1), "invisible character")
}

func TestHostileMarks(t *testing.T) {
	for _, text := range []string{"Look <script>alert(1)</script> here.", "<img src=x onerror=y>", "<!-- gone", "</pre>gone", "\"| a | b |\""} {
		harmRefused(t, soundWith(t, "- tell: "+text+"\n  why: It is tried.\n"), "[raw-mark]")
	}
}

// Marks of Markdown are no harm: they come out as text, in a page too.
func TestHostileMarkdown(t *testing.T) {
	all, codes := hostile(t, soundWith(t, "- tell: \"[press](https://example.com) ![x](file.png) `code` **bold** # head\"\n"))
	if codes["procedures show harm"] != exitDone || !strings.Contains(strings.Join(strings.Fields(all), " "), "https://example.com") {
		t.Errorf("where a link leads is hidden: %v\n%.600s", codes, all)
	}
}

func TestHostileRules(t *testing.T) {
	harmRefused(t, soundWith(t, "- tell: x\n  when: "+strings.Repeat("induction is turbo or ", 40_000)+"induction is turbo\n"), "characters long")
	harmRefused(t, soundWith(t, "- tell: x\n  when: "+strings.Repeat("(", 200)+"induction is turbo"+strings.Repeat(")", 200)+"\n"), "nested too deep")
	harmRefused(t, soundWith(t, "- tell: x\n  when: "+strings.Repeat("not ", 100)+"leaking is yes\n"), "nested too deep")

	// A thousand rules, each as much to search through as one rule may be.
	var lines strings.Builder
	for i := range 1000 {
		fmt.Fprintf(&lines, "- tell: x\n  id: t-%d\n  when: restriction > %d Pa and loss > 1 Pa and rpm > 1 and road_speed > 1 m/s and speed_limit > 2 m/s and gauge_range > 3 Pa and restriction < 0 Pa\n", i, i)
	}
	if all, codes := hostile(t, soundWith(t, lines.String())); codes["procedures check harm"] != exitDone {
		t.Errorf("a thousand rules: %v\n%.400s", codes, all)
	}
}

// Rounds in rounds in rounds, each a hundred times: a million of them.
func TestHostileRounds(t *testing.T) {
	all, codes := hostile(t, soundWith(t, `- rounds: next-piece
  id: a
  at-least: 100
  at-most: 100
  each:
  - rounds: next-run
    id: b
    at-least: 100
    at-most: 100
    each:
    - rounds: next-tap
      id: c
      at-least: 100
      at-most: 100
      each:
      - tell: Again.
        id: again
`))
	if codes["procedures try harm"] != exitDone || !strings.Contains(all, "too large to be walked to the end") {
		t.Errorf("it ends with %v:\n%.600s", codes, all)
	}
}

func TestHostileLength(t *testing.T) {
	harmRefused(t, soundWith(t, "- tell: "+strings.Repeat("word ", 1<<18)+"\n"), "at most 1024 KiB")
	harmRefused(t, soundWith(t, "- tell: "+strings.Repeat("x", 1_000_000)+"\n"), "characters long, expected at most 2000")
	harmRefused(t, soundWith(t, "- tell: \""+strings.Repeat("{x", 900)+strings.Repeat("}", 100)+"\"\n"), "nobody knows")
	harmRefused(t, strings.Replace(soundWith(t, ""), "name: harm", "name: "+strings.Repeat("a", 100_000), 1), "characters long")
	harmRefused(t, strings.Repeat("- ", 5000), "nested too deep")
}

// Names that are paths, devices or nothing lead nowhere.
func TestHostileNames(t *testing.T) {
	for _, name := range []string{"../../../etc/passwd", "/etc/passwd", `..\..\x`, "harm/../x", ".", "con:", "\"a\\0b\"", "\"\"", "-rf"} {
		harmRefused(t, strings.Replace(soundWith(t, ""), "name: harm", "name: "+name, 1), "harm.yaml:2:")
	}
	harmRefused(t, strings.Replace(soundWith(t, ""), "name: harm", "name: intake", 1), `calls itself "intake"`)
	harmRefused(t, soundWith(t, "- page: ../../etc/passwd\n"), "nobody knows the page")
	harmRefused(t, soundWith(t, "- tell: x\n  shows: /dev/zero\n"), "nobody knows the picture")
	harmRefused(t, soundWith(t, "- ask: x\n  fills: ../../etc/passwd\n"), "nobody knows the place")
	harmRefused(t, soundWith(t, "- do: x\n  id: a/b\n"), "is no name")
}

// Thousands of steps are read, checked and, as far as the budget goes, walked.
func TestHostileManySteps(t *testing.T) {
	var lines strings.Builder
	for i := range 4000 {
		fmt.Fprintf(&lines, "- do: Lift lid %d.\n  id: lid-%d\n  skip: It stays shut.\n  when: restriction > %d Pa\n", i, i, i)
	}
	all, codes := hostile(t, soundWith(t, lines.String()))
	if codes["procedures check harm"] != exitDone || !strings.Contains(all, "too large to be walked to the end") {
		t.Errorf("it ends with %v:\n%.600s", codes, all)
	}
}

// A link, a pipe or a device in the folder is not opened.
func TestHostileFolder(t *testing.T) {
	o := newOwner(t)
	if err := os.Symlink("/dev/zero", filepath.Join(o.folder(), "zero.yaml")); err != nil {
		t.Skip("no links here")
	}
	if err := os.Symlink("loop.yaml", filepath.Join(o.folder(), "loop.yaml")); err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{"procedures", "procedures show zero", "procedures show loop"} {
		if r := o.runs(strings.Fields(line)...); line == "procedures" && r.code != exitDone || line != "procedures" && r.code != exitInput {
			t.Errorf("%s ends with %d: %s", line, r.code, r.err)
		}
	}
}
