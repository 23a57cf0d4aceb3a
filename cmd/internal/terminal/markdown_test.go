package terminal

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestPlain(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"heading and paragraph", "# Result\n\nOne **strong** and\none *mild* word.\n", "Result\n======\n\nOne strong and one mild word.\n"},
		{"second heading", "## Losses\ntext", "Losses\n------\n\ntext\n"},
		{"list", "- first\n- second\n  goes on\n1. third", "- first\n- second goes on\n1. third\n"},
		{"paragraphs apart", "a\n\nb", "a\n\nb\n"},
		{"hard break", "a  \nb\\\nc", "a\nb\nc\n"},
		{"angle brackets stay", "if dp <limit and rpm> 3000 stop", "if dp <limit and rpm> 3000 stop\n"},
		{"comment stays", "<!-- seen -->", "<!-- seen -->\n"},
		{"named entity", "a &lt; b &amp; c", "a < b & c\n"},
		{"numeric entity is no escape", "a &#27;[2J b", "a &#27;[2J b\n"},
		{"code keeps its marks", "type `*x*` now", "type *x* now\n"},
		{"backslash", `5 \* 3 \< 16`, "5 * 3 < 16\n"},
		{"lone star and underscore", "5 * 3 and box_in", "5 * 3 and box_in\n"},
		{"link", "see [the sheet](docs/x.md)", "see the sheet (docs/x.md)\n"},
		{"picture", "![path](path.svg)", "picture: path (path.svg)\n"},
		{"quote", "> mind this\n> well", "  | mind this well\n"},
		{"fence", "```\na  b\n# no heading\n```\nafter", "    a  b\n    # no heading\n\nafter\n"},
		{"rule", "a\n\n---\n\nb", "a\n\n--------------------\n\nb\n"},
		{"tilde", "H~2~O", "H~2~O\n"},
		{"escape is taken out", "a\x1b[31mb", "ab\n"},
	}
	for _, tt := range tests {
		if diff := cmp.Diff(tt.want, Plain(tt.in, 60)); diff != "" {
			t.Errorf("%s: Plain(%q) differs (-want +got):\n%s", tt.name, tt.in, diff)
		}
	}
}

const lossTable = "| component | loss (inH2O) | chance |\n|---|---:|---|\n| snorkel | 2.5 | 81 % |\n| box-in | 0.75 | 9 % |\n"

func TestPlainTable(t *testing.T) {
	wide := "component  loss (inH2O)  chance\n---------  ------------  ------\nsnorkel             2.5  81 %\nbox-in             0.75  9 %\n"
	if diff := cmp.Diff(wide, Plain(lossTable, 60)); diff != "" {
		t.Errorf("wide table differs (-want +got):\n%s", diff)
	}
	narrow := "component: snorkel\n  loss (inH2O): 2.5\n  chance: 81 %\n\ncomponent: box-in\n  loss (inH2O): 0.75\n  chance: 9 %\n"
	if diff := cmp.Diff(narrow, Plain(lossTable, 24)); diff != "" {
		t.Errorf("narrow table differs (-want +got):\n%s", diff)
	}
}

// A table at any width keeps every cell and every heading with its unit.
func TestPlainTableLosesNothing(t *testing.T) {
	for width := leastWidth; width <= widestLines; width++ {
		got := strings.Join(strings.Fields(Plain(lossTable, width)), " ")
		for _, want := range []string{"(inH2O)", "2.5", "0.75", "81 %", "9 %", "snorkel", "box-in"} {
			if !strings.Contains(got, want) {
				t.Errorf("at %d columns %q is missing in:\n%s", width, want, got)
			}
		}
	}
}
