package strictyaml

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"dropwalk/engine/strictyaml/schematest"
)

// step is a shape that holds itself, as steps of rounds do.
var step = func() *Shape {
	s := Keys().Named("step")
	return s.Add(
		Key{Name: "say", Shape: Prose(80), Required: true, Doc: "what is shown", Example: "Stop."},
		Key{Name: "each", Shape: ListOf(s, 1), Doc: "steps of a round"})
}()

// table is one of every shape.
var table = Keys(
	Key{Name: "title", Shape: Text(20), Required: true, Doc: "a name", Example: "First"},
	Key{Name: "note", Shape: Prose(80)},
	Key{Name: "count", Shape: Whole(1, 100), Example: 3},
	Key{Name: "limit", Shape: Number(0, 1000)},
	Key{Name: "fixed", Shape: Truth()},
	Key{Name: "place", Shape: Words("road", "track", "off")},
	Key{Name: "names", Shape: ListOf(Text(20), 0)},
	Key{Name: "people", Shape: ListOf(Text(20), 2)},
	Key{Name: "free", Shape: MapOf(Whole(0, 9))},
	Key{Name: "code", Shape: Custom("three letters", threeLetters, map[string]any{"type": "string", "pattern": "^[a-z]{3}$"})},
	Key{Name: "mixed", Shape: OneOf(Words("all"), ListOf(Text(20), 1), Keys(Key{Name: "x", Shape: Truth(), Required: true}))},
	Key{Name: "remark", Shape: OneOf(Nothing(), Text(20).OrEmpty())},
	Key{Name: "steps", Shape: ListOf(step, 0)},
)

func threeLetters(text string) error {
	switch {
	case len(text) > 3:
		return &Wrong{What: "too long", Expected: "three letters", Hint: "cut it"}
	case len(text) < 3:
		return errors.New("too short")
	}
	return nil
}

// Every broken text gives exactly these faults. Where the schema can know, it
// refuses the text too; loose marks what only the reader sees.
func TestCheck(t *testing.T) {
	const ok = ""
	for _, c := range []struct {
		src   string
		want  string
		loose bool
	}{
		{"title: a", ok, false},
		{"title: 2026", ok, false},
		{"title: 2026-11-25", ok, false},
		{"title: 1:30", ok, false},
		{"title: true", ok, false},
		{"title: yes", ok, false},
		{"title: é°µ", ok, false},
		{"{title: a, count: 5, limit: 0.5, fixed: true, place: off, names: [], free: {a: 1, b c: 2}, code: abc, mixed: all}", ok, false},
		{"{title: a, limit: 1e2, mixed: [x], note: \"a\\nb\"}", ok, false},
		{"{title: a, mixed: {x: false}, steps: [{say: a, each: [{say: b, each: [{say: c}]}]}]}", ok, false},

		{"{title: a, remark: ~}", ok, false},
		{"{title: a, remark: ''}", ok, false},
		{"{title: a, remark: b}", ok, false},
		{"{title: a, remark: [b]}", "f:1:20: remark: a list stands here, expected nothing or text", false},

		{"count: 1", `f:1:1: the key "title" is missing, expected title: text (for example title: First)`, false},
		{"title:\ncount: 1", "f:1:7: title: nothing is written here, expected text (leave the key out where it is not known)", false},
		{"title: ~", "f:1:8: title: nothing is written here, expected text (leave the key out where it is not known)", false},
		{`title: ""`, "f:1:8: title: the text is empty, expected text (leave the key out where it is not known)", false},
		{`title: "  "`, "f:1:8: title: the text is empty, expected text (leave the key out where it is not known)", false},
		{"title: [a]", "f:1:8: title: a list stands here, expected text", false},
		{"title: {a: 1}", "f:1:8: title: a map stands here, expected text", false},
		{"title: aaaaaaaaaaaaaaaaaaaaa", "f:1:8: title: the text is 21 characters long, expected at most 20", false},
		{`title: "a\nb"`, "f:1:8: title: the text runs over several lines or holds a tab, expected one line", false},
		{"title: step #3 is", `f:1:8: title: warning: "step" ends at the # that follows (quote the text if the # belongs to it; else put two spaces before the # and one after it)`, true},
		{"title: step # 3", `f:1:8: title: warning: "step" ends at the # that follows (quote the text if the # belongs to it; else put two spaces before the # and one after it)`, true},
		{"title: step  # a remark", ok, false},
		{"title: step\n# a remark", ok, false},

		{"{title: a, count: 1.5}", `f:1:19: count: "1.5" is no whole number, expected a whole number from 1 to 100`, false},
		{"{title: a, count: 2.999}", `f:1:19: count: "2.999" is no whole number, expected a whole number from 1 to 100`, false},
		{"{title: a, count: 010}", `f:1:19: count: "010" is no whole number, expected a whole number from 1 to 100 (no leading nought)`, true},
		{"{title: a, count: 08}", `f:1:19: count: "08" is no whole number, expected a whole number from 1 to 100 (no leading nought)`, true},
		{"{title: a, count: 0o10}", `f:1:19: count: "0o10" is no whole number, expected a whole number from 1 to 100`, true},
		{"{title: a, count: 0x1F}", `f:1:19: count: "0x1F" is no whole number, expected a whole number from 1 to 100`, true},
		{"{title: a, count: 1_0}", `f:1:19: count: "1_0" is no whole number, expected a whole number from 1 to 100`, true},
		{"{title: a, count: 1e1}", `f:1:19: count: "1e1" is no whole number, expected a whole number from 1 to 100`, true},
		{`{title: a, count: "5"}`, `f:1:19: count: "5" is no whole number, expected a whole number from 1 to 100 (without quotes)`, false},
		{"{title: a, count: 0}", `f:1:19: count: 0 is out of range, expected a whole number from 1 to 100`, false},
		{"{title: a, count: 99999999999999999999}", `f:1:19: count: 99999999999999999999 is out of range, expected a whole number from 1 to 100`, false},
		{"{title: a, count: many}", `f:1:19: count: "many" is no whole number, expected a whole number from 1 to 100`, false},

		{"{title: a, limit: .nan}", `f:1:19: limit: ".nan" is no number, expected a number from 0 to 1000`, true},
		{"{title: a, limit: .inf}", `f:1:19: limit: ".inf" is no number, expected a number from 0 to 1000`, true},
		{"{title: a, limit: 1e400}", `f:1:19: limit: 1e400 is out of range, expected a number from 0 to 1000`, true},
		{"title: a\nlimit: 12,5", `f:2:8: limit: "12,5" is no number, expected a number from 0 to 1000 (the decimal mark is a point)`, false},
		{"{title: a, limit: 010}", `f:1:19: limit: "010" is no number, expected a number from 0 to 1000 (no leading nought)`, true},
		{"{title: a, limit: -1}", `f:1:19: limit: -1 is out of range, expected a number from 0 to 1000`, false},

		{"{title: a, fixed: yes}", `f:1:19: fixed: "yes" is no truth value, expected true or false`, false},
		{"{title: a, fixed: on}", `f:1:19: fixed: "on" is no truth value, expected true or false`, false},
		{"{title: a, fixed: True}", `f:1:19: fixed: "True" is no truth value, expected true or false`, true},
		{"{title: a, fixed: 1}", `f:1:19: fixed: "1" is no truth value, expected true or false`, false},

		{"{title: a, place: trakc}", `f:1:19: place: "trakc" is not known here, expected road, track or off (did you mean "track"?)`, false},
		{"{title: a, place: moon}", `f:1:19: place: "moon" is not known here, expected road, track or off`, false},

		{"{title: a, names: [b, ~, c]}", "f:1:23: names[2]: nothing is written here, expected text", false},
		{"title: a\nnames:\n- b\n-\n", "f:4:2: names[2]: nothing is written here, expected text", false},
		{"title: a\nnames: b", `f:2:8: names: "b" stands here, expected a list`, false},
		{"title: a\nnames:\n  -a\n  -b", `f:3:3: names: "-a -b" stands here, expected a list (a space belongs behind each -)`, false},
		{"{title: a, people: [b]}", "f:1:20: people: a list of 1, expected at least 2", false},

		{"{title: a, limt: 5}", `f:1:12: limt: unknown key "limt" (did you mean "limit"?)`, false},
		{"{title: a, Limit: 5}", `f:1:12: Limit: unknown key "Limit" (did you mean "limit"?)`, false},
		{"{title: a, mixed: {y: 1, x: true}}", `f:1:20: mixed.y: unknown key "y" (did you mean "x"?)`, false},
		{"{title: a, mixed: {gearbox: 1, x: true}}", `f:1:20: mixed.gearbox: unknown key "gearbox", expected x`, false},
		{"{title: dry, sunny}", `f:1:9: title: the text ends at the comma: "dry", expected quotes round the whole text (inside {} texts with commas, ? or > need quotes: write "dry, sunny")`, false},
		{"{title: dry,sunny,  mild, count: 5}", `f:1:9: title: the text ends at the comma: "dry", expected quotes round the whole text (inside {} texts with commas, ? or > need quotes: write "dry,sunny,  mild")`, false},
		{"{title: a, limit: 12,5 x, count: 101}", `f:1:19: limit: a comma in the number "12,5 x", expected a number from 0 to 1000 (the decimal mark is a point, and nothing parts thousands)` +
			"\nf:1:34: count: 101 is out of range, expected a whole number from 1 to 100", false},
		{"{title: a, sunny}", `f:1:9: title: the text ends at the comma: "a", expected quotes round the whole text (inside {} texts with commas, ? or > need quotes: write "a, sunny")`, false},
		{"{sunny, title: a}", `f:1:2: sunny: "sunny" stands where a key should, expected key: value (inside {} texts with commas, ? or > need quotes)`, false},
		{"{title: a, limit: 12 mm}", `f:1:19: limit: "12 mm" is no number, expected a number from 0 to 1000 (a plain number, without a unit)`, false},
		{"{title: a, free: {a: 10}}", "f:1:22: free.a: 10 is out of range, expected a whole number from 0 to 9", false},
		{"{title: a, free: {a b: x}}", `f:1:24: free."a b": "x" is no whole number, expected a whole number from 0 to 9`, false},

		{"{title: a, code: abcd}", "f:1:18: code: too long, expected three letters (cut it)", false},
		{"{title: a, code: ab}", "f:1:18: code: too short, expected three letters", false},
		{"{title: a, code: [a]}", "f:1:18: code: a list stands here, expected three letters", false},
		{"{title: a, mixed: []}", "f:1:19: mixed: a list of 0, expected at least 1", false},
		{"{title: a, mixed: some}", `f:1:19: mixed: "some" is not known here, expected all`, false},
		{"title: a\nmixed: ", "f:2:7: mixed: nothing is written here, expected all or a list or a map of keys (leave the key out where it is not known)", false},

		{"title: a\nsteps:\n- say: b\n  each:\n  - sya: c\n", `f:5:5: steps[1].each[1].sya: unknown key "sya" (did you mean "say"?)` +
			"\nf:5:5: steps[1].each[1]: the key \"say\" is missing, expected say: text (for example say: Stop.)", false},
		{"", "f:1:1: nothing is written here, expected a map of keys", false},
		{"just text", `f:1:1: "just text" stands here, expected a map of keys`, false},
	} {
		n, fs := ParseYAML("f", []byte(c.src), 1)
		if len(fs) > 0 {
			t.Errorf("%q does not parse: %v", c.src, fs)
			continue
		}
		got := table.Check("f", n).Error()
		if got != c.want {
			t.Errorf("Check(%q)\n got %s\nwant %s", c.src, got, c.want)
		}
		err := tableSchema(t).Validate(plain(t, n))
		if c.want == ok && err != nil {
			t.Errorf("the schema refuses %q: %v", c.src, err)
		}
		if c.want != ok && !c.loose && err == nil {
			t.Errorf("the schema takes %q, which has the fault %s", c.src, c.want)
		}
	}
}

func tableSchema(t *testing.T) *schematest.Schema {
	t.Helper()
	return schematest.Compile(t, table.Schema("", "a table"))
}

// plain makes of a tree what a validator takes.
func plain(t *testing.T, n *Node) any {
	t.Helper()
	switch n.Kind {
	case Null:
		return nil
	case Map:
		m := map[string]any{}
		for _, p := range n.Pairs {
			m[p.Key] = plain(t, p.Value)
		}
		return m
	case List:
		list := []any{}
		for _, item := range n.Items {
			list = append(list, plain(t, item))
		}
		return list
	}
	switch {
	case n.Type == Bool:
		return n.Text == "true" || n.Text == "True"
	case n.Type != Str && numberForm.MatchString(n.Text):
		return json.Number(n.Text)
	}
	return n.Text
}

func TestAlsoSeesThePlace(t *testing.T) {
	s := Keys(Key{Name: "low", Shape: Whole(0, 9)}, Key{Name: "high", Shape: Whole(0, 9)}).Also(func(n *Node, r *Report) {
		if n.Get("low").Int() > n.Get("high").Int() {
			r.AtKey(n, "high", "high is below low", "high above low", "")
			r.Warn(n.Get("low"), "a warning", "", "")
			r.AtKey(n, "none", "no such key", "", "")
		}
	})
	outer := Keys(Key{Name: "span", Shape: s})
	n, _ := ParseYAML("f", []byte("span:\n  low: 5\n  high: 3\n"), 10)
	fs := outer.Check("f", n)
	got := fs.Error()
	want := "f:11:3: span: no such key\nf:11:8: span.low: warning: a warning\nf:12:3: span.high: high is below low, expected high above low"
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if got, want := len(fs.Errors()), 2; got != want {
		t.Errorf("got %d errors, want %d", got, want)
	}
	if got, want := len(fs.Warnings()), 1; got != want {
		t.Errorf("got %d warnings, want %d", got, want)
	}
	if fs.Warnings().Err() != nil {
		t.Error("a warning alone is an error")
	}
}

func TestFormat(t *testing.T) {
	fs := Faults{{File: "b.yaml", Line: 2, Col: 1, What: "x", Warning: true}, {File: "a\x1b.yaml", Line: 3, Col: 4, Path: "p", What: "y", Expected: "z", Hint: "h"}, {What: "no place"}}
	for form, want := range map[string]string{
		"text":   "no place\na?.yaml:3:4: p: y, expected z (h)\nb.yaml:2:1: warning: x",
		"github": "::error file=,line=0,col=0::no place\n::error file=a?.yaml,line=3,col=4::p: y, expected z (h)\n::warning file=b.yaml,line=2,col=1::warning: x",
	} {
		if got, err := fs.Format(form); err != nil || got != want {
			t.Errorf("Format(%q) = %q, %v, want %q", form, got, err, want)
		}
	}
	text, err := fs.Format("json")
	var back Faults
	if err != nil || json.Unmarshal([]byte(text), &back) != nil || back.Error() != fs.Error() {
		t.Errorf("Format(json) = %s, %v, does not read back", text, err)
	}
	if _, err := fs.Format("xml"); err == nil {
		t.Error("Format(xml) gave no error")
	}
}

func TestQuote(t *testing.T) {
	src := []byte("a: 1\nb: \x1b[2J " + strings.Repeat("x", 100) + "\n")
	for _, c := range []struct {
		f    Fault
		want string
	}{
		{Fault{Line: 5, Col: 4}, "  5 | a: 1\n    |    ^"},
		{Fault{Line: 6, Col: 50}, "  6 | " + strings.Repeat("x", 60) + "\n    | " + strings.Repeat(" ", 29) + "^"},
		{Fault{Line: 99, Col: 1}, ""},
		{Fault{}, ""},
	} {
		if got := c.f.Quote(src, 5); got != c.want {
			t.Errorf("Quote at %d:%d:\n%s\nwant\n%s", c.f.Line, c.f.Col, got, c.want)
		}
	}
	if got := (Fault{Line: 6, Col: 1}).Quote(src, 5); strings.Contains(got, "\x1b") {
		t.Errorf("Quote lets an escape through: %q", got)
	}
}
