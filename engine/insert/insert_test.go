package insert_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/engine/insert"
	"dropwalk/engine/strictyaml"
)

// kitchen has two blocks, one of which holds the other.
var kitchen = insert.Blocks{
	"knead": {File: "shared/knead.yaml", Src: []byte("# Kneads the dough,\n# by hand.\n- do: Knead.\n  why: |\n    It binds.\n\n    It takes ten minutes.\n- insert: rest\n")},
	"rest":  {File: "shared/rest.yaml", Src: []byte("# Lets it rest.\n\n- do: Wait.\n  # no longer than this\n  id: wait\n")},
	"tools": {File: "shared/tools.yaml", Src: []byte("- a bowl\n- a cloth\n")},
}

func block(text string) insert.Block { return insert.Block{File: "shared/x.yaml", Src: []byte(text)} }

// What comes out is the file with each block in the place of its line, as deep as
// that line, with the blank lines and remarks that belong to texts.
func TestBlocksStandInTheirPlace(t *testing.T) {
	src := "parts:\r\n- part: Bread\r\n  each:\r\n  - insert: knead   # by hand\r\n  - do: Bake.\r\ntools:\r\n- insert: tools\r\n"
	text, faults := insert.Expand("bread.yaml", []byte(src), kitchen)
	want := `parts:
- part: Bread
  each:
  # The shared block knead.
  - do: Knead.
    why: |
      It binds.

      It takes ten minutes.
  # The shared block rest.
  - do: Wait.
    # no longer than this
    id: wait
  - do: Bake.
tools:
# The shared block tools.
- a bowl
- a cloth
`
	if diff := cmp.Diff(want, string(text.Src)); diff != "" || len(faults) > 0 {
		t.Errorf("faults %v, text (-want +got):\n%s", faults, diff)
	}
	again, faults := insert.Expand("bread.yaml", text.Src, nil)
	if len(faults) > 0 || string(again.Src) != want {
		t.Errorf("what came out is not complete: %v", faults)
	}
}

// A file that inserts nothing is left byte for byte, with its carriage returns.
func TestWhatInsertsNothingStays(t *testing.T) {
	for _, src := range []string{"a: 1\r\n", "a: insert\r\n", "why: |\n  - insert: knead\n", "# - insert: knead\n", "", "a: [\n- insert: x"} {
		text, faults := insert.Expand("x.yaml", []byte(src), kitchen)
		if string(text.Src) != src || len(faults) > 0 {
			t.Errorf("%q becomes %q, %v", src, text.Src, faults)
		}
	}
}

// A fault of the complete text is told where somebody wrote it.
func TestFaultsHaveTheirPlace(t *testing.T) {
	src := "parts:\n- part: Bread\n  each:\n  - insert: knead\n  - do: Bake.\n"
	text, _ := insert.Expand("bread.yaml", []byte(src), kitchen)
	lines := strings.Split(string(text.Src), "\n")
	at := func(word string) strictyaml.Fault {
		for i, line := range lines {
			if col := strings.Index(line, word); col >= 0 {
				return strictyaml.Fault{File: "bread.yaml", Line: i + 1, Col: col + 1, Path: "parts[9].do", What: "w"}
			}
		}
		t.Fatalf("nobody wrote %q", word)
		return strictyaml.Fault{}
	}
	hinted := at("Knead")
	hinted.Hint = "did you mean \"Need\"?"
	got := text.Placed(strictyaml.Faults{at("Bake"), hinted, at("Wait"), {File: "bread.yaml", What: "nowhere"}})
	want := []string{
		"bread.yaml:5:9: w",
		`shared/knead.yaml:3:7: w (did you mean "Need"?; inserted at bread.yaml:4)`,
		"shared/rest.yaml:3:7: w (inserted at shared/knead.yaml:8, inserted at bread.yaml:4)",
		"bread.yaml: nowhere",
	}
	for i, f := range got {
		if f.Error() != want[i] {
			t.Errorf("told is %q, want %q", f.Error(), want[i])
		}
		if f.Line > 0 && !strings.Contains(strings.Split(string(text.Original(f.File)), "\n")[f.Line-1], []string{"Bake", "Knead", "Wait"}[i]) {
			t.Errorf("%s:%d is not the line", f.File, f.Line)
		}
	}
}

// Each way of doing it wrong has its place and what was expected.
func TestWrongInserts(t *testing.T) {
	for _, c := range []struct{ src, want string }{
		{"a:\n- insert: kned\n", `x.yaml:2:11: there is no shared block "kned", expected one that dropwalk procedures blocks lists (did you mean "knead"?) [insert]`},
		{"a:\n- insert: ../../etc/passwd\n", `x.yaml:2:11: there is no shared block "../../etc/passwd", expected one that`},
		{"a:\n- insert: /dev/zero\n", `x.yaml:2:11: there is no shared block "/dev/zero"`},
		{"a:\n- insert: knead.yaml\n", `x.yaml:2:11: there is no shared block "knead.yaml"`},
		{"a:\n- insert: KNEAD\n", `x.yaml:2:11: there is no shared block "KNEAD"`},
		{"insert: knead\n", "x.yaml:1:1: an insert that stands for no item of a list, expected a line of its own in a list: - insert: NAME [insert]"},
		{"a:\n- {insert: knead}\n", "x.yaml:2:4: an insert that stands for no item"},
		{`{"a": [{"insert": "knead"}]}`, "x.yaml:1:9: an insert that stands for no item"},
		{"a:\n- do: x\n  insert: knead\n", "x.yaml:3:3: an insert that stands for no item"},
		{"a:\n- insert: [knead]\n", "x.yaml:2:3: an insert that stands for no item"},
		{"a:\n- insert:\n", "x.yaml:2:3: an insert that stands for no item"},
		{"a:\n-\n  insert: knead\n", "x.yaml:3:3: an insert that stands for no item"},
		{"a:\n- - insert: knead\n", "x.yaml:2:5: an insert that stands for no item"},
		{"a:\n- insert: two words\n", "x.yaml:2:3: an insert that stands for no item"},
	} {
		text, faults := insert.Expand("x.yaml", []byte(c.src), kitchen)
		if got := faults.Error(); !strings.HasPrefix(got, c.want) || strings.Contains(got, "\n") {
			t.Errorf("%q: told is %q, want %q", c.src, got, c.want)
		}
		if string(text.Src) != c.src {
			t.Errorf("%q: a text with a fault becomes %q", c.src, text.Src)
		}
	}
}

// Whoever means harm comes to an end, and so does the work.
func TestHostileInserts(t *testing.T) {
	bomb := insert.Blocks{"z": block("- do: x\n")}
	deep := insert.Blocks{"d9": block("- do: x\n")}
	empty := insert.Blocks{"e": block("# nothing\n")}
	for c := byte('y'); c > 'm'; c-- {
		bomb[string(c)] = block(strings.Repeat(fmt.Sprintf("- insert: %c\n", c+1), 9))
	}
	for i := range 9 {
		deep[fmt.Sprintf("d%d", i)] = block(fmt.Sprintf("- insert: d%d\n", i+1))
	}
	large := insert.Blocks{"l": block("- do: |\n" + strings.Repeat("    "+strings.Repeat("x", 98)+"\n", 500))}
	for _, c := range []struct {
		name, src, want string
		blocks          insert.Blocks
	}{
		{"bomb", "a:\n- insert: t\n", "too many inserts, expected at most 1000", bomb},
		{"deep", "a:\n- insert: d0\n", "too deep, expected at most 8 levels", deep},
		{"large", "a:\n" + strings.Repeat("- insert: l\n", 40), "grows too large with its blocks, expected at most 1024 KiB", large},
		{"indented", "a:\n" + strings.Repeat(" ", 3000) + "- insert: l\n", "grows too large", large},
		{"many", "a:\n" + strings.Repeat("- insert: z\n", 5000), "too many inserts", bomb},
		{"itself", "a:\n- insert: s\n", "the block s inserts itself: s, s, expected blocks that end (inserted at x.yaml:2)", insert.Blocks{"s": block("- insert: s\n")}},
		{"circle", "a:\n- insert: s\n", "inserts itself: s, t, s", insert.Blocks{"s": block("- insert: t\n"), "t": block("- insert: s\n")}},
		{"no list", "a:\n- insert: e\n", "shared/x.yaml:1:1: a shared block is no list", empty},
		{"a map", "a:\n- insert: m\n", "shared/x.yaml:1:1: a shared block is no list", insert.Blocks{"m": block("a: 1\n")}},
		{"indented list", "a:\n- insert: m\n", "shared/x.yaml:1:1: a shared block is no list", insert.Blocks{"m": block("  - a\n")}},
		{"no YAML", "a:\n- insert: m\n", "shared/x.yaml:1:", insert.Blocks{"m": block("- a: [\n")}},
		{"unknown inside", "a:\n- insert: m\n", `shared/x.yaml:1:11: there is no shared block "gone"`, insert.Blocks{"m": block("- insert: gone\n")}},
	} {
		text, faults := insert.Expand("x.yaml", []byte(c.src), c.blocks)
		if !strings.Contains(faults.Error(), c.want) || string(text.Src) != c.src {
			t.Errorf("%s: told is %.300q, want %q", c.name, faults.Error(), c.want)
		}
		for _, f := range faults {
			if f.Line < 1 || f.Code != insert.Code {
				t.Errorf("%s: no place or code: %+v", c.name, f)
			}
		}
	}
}

func TestAbout(t *testing.T) {
	if got := kitchen["knead"].About(); got != "Kneads the dough, by hand." {
		t.Errorf("the head says %q", got)
	}
	if got := kitchen["tools"].About(); got != "" {
		t.Errorf("a block without a head says %q", got)
	}
}
