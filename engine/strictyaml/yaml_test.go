package strictyaml

import (
	"strings"
	"testing"
)

// Each broken text gives this first fault, at this place.
func TestParseYAMLFaults(t *testing.T) {
	for _, c := range []struct{ src, want string }{
		{"a: 1\nb: {value: ?, rpm: 1}\nc: 3", `f.yaml:2:12: a text that begins with ? without quotes, expected quotes round the text (inside { texts with commas, ? or > need quotes: write "?")`},
		{"{value: >25 inH2O, rpm: 1}", `f.yaml:1:9: a text that begins with > without quotes, expected quotes round the text (inside { texts with commas, ? or > need quotes: write ">25 inH2O")`},
		{"x: 1\ny: 2\nvalue: >25 inH2O", `f.yaml:3:8: a text that begins with > without quotes, expected quotes round the text (write ">25 inH2O")`},
		{"a: \"x\" y", `f.yaml:1:8: text after the closing quote, expected the whole text in one pair of quotes`},
		{"a: [x", `f.yaml:1:4: the bracket [ is not closed, expected a closing ]`},
		{"a: 'x\nb: 1\nc: 3\n", `f.yaml:1:4: the quote ' is not closed, expected a closing quote`},
		{"note: Note: do not", `f.yaml:1:11: ": " inside a text without quotes, expected quotes round the text`},
		{"- a: 1\n - b: 2\n", `f.yaml:2:2: an indentation of 1 that fits no line above, expected the indentation of the line that it belongs with`},
		{"a:\n    b: 1\n    d: 2\n  c: 2", `f.yaml:4:3: an indentation of 2 that fits no line above, expected the indentation of the line that it belongs with`},
		{"a: 1\n  b: 2", `f.yaml:2:3: a line indented below one that has its value already, expected an indentation of 0`},
		{"a: |\n  x: y: z\n  \"\nb: c: d", `f.yaml:4:5: ": " inside a text without quotes, expected quotes round the text`},
		{"a: b\nfoo\n", `f.yaml:2:1: this is not YAML near here: could not find expected ':', expected keys and values, indented with spaces`},
		{"a: @b", `f.yaml:1:4: a text that begins with @ without quotes, expected quotes round the text (write "@b")`},
		{"a: *b", `f.yaml:1:4: a text that begins with * without quotes, expected quotes round the text (write "*b")`},
		{"a: &b 1", `f.yaml:1:4: the anchor "&b", expected the value alone (a text that begins with & needs quotes)`},
		{"a: !x", `f.yaml:1:4: the tag "!x", expected the value alone (a text that begins with ! needs quotes)`},
		{"x:\n\t- 1\n", `f.yaml:2:1: a tab in the indentation, expected spaces`},
		{"{a: [1,2}", `f.yaml:1:9: the bracket } does not fit the [ on line 1, expected ]`},
		{"a: 1\n---\nb: 2", `f.yaml:3:1: a second document begins here, expected one document`},
		{"a: 1\na: 2", `f.yaml:2:1: the key "a" stands twice, expected it once (first on line 1, column 1)`},
		{"<<: {a: 1}", `f.yaml:1:1: the merge key "<<", expected the keys themselves`},
		{"é: \xff", `f.yaml:1:4: the byte 0xff is not UTF-8, expected UTF-8 text (save it as UTF-8)`},
		{"a: \x1b[2J", `f.yaml:1:4: the invisible character U+001B, expected text that shows (take it out)`},
		{`a: "\e[2J"`, `f.yaml:1:4: the text holds an invisible character, expected text that shows (take the escape out)`},
	} {
		_, fs := ParseYAML("f.yaml", []byte(c.src), 1)
		got, _, _ := strings.Cut(fs.Error(), "\n")
		if got != c.want {
			t.Errorf("ParseYAML(%q):\n got %s\nwant %s", c.src, got, c.want)
		}
	}
}
