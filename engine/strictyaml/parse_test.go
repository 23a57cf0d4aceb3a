package strictyaml

import (
	"fmt"
	"strings"
	"testing"
)

// Limits and encodings, one text each, with the first fault. Line and column
// count runes; a byte order mark has no column.
func TestParseYAMLLimits(t *testing.T) {
	deep := strings.Repeat("[", MaxDepth+1) + strings.Repeat("]", MaxDepth+1)
	veryDeep := strings.Repeat("[", 20_000) + strings.Repeat("]", 20_000)
	wide := "[" + strings.Repeat("1,", MaxNodes) + "1]"
	for name, c := range map[string]struct{ src, want string }{
		"2 MiB":            {strings.Repeat("a: 1\n", 2<<20/5+1), "f:1:1: the text is 2049 KiB long, expected at most 1024 KiB"},
		"depth 50":         {deep[1 : len(deep)-1], ""},
		"depth 51":         {deep, "f:1:51: nested too deeply, expected at most 50 levels"},
		"depth 20000":      {veryDeep, "f:1:1: nested too deeply, expected at most 50 levels"},
		"many nodes":       {wide, "f:1:200000: too many values, expected at most 100000"},
		"byte order mark":  {"\uFEFFa: @b", "f:1:4: a text that begins with @ without quotes, expected quotes round the text (write \"@b\")"},
		"UTF-16":           {"\xFF\xFEa\x00", "f:1:1: the text is UTF-16, expected UTF-8 (save it as UTF-8)"},
		"Latin-1 degree":   {"a: 1\nb: 90 \xB0C", "f:2:7: the byte 0xb0 is not UTF-8, expected UTF-8 text (save it as UTF-8)"},
		"CRLF":             {"a: 1\r\nb: @c\r\n", "f:2:4: a text that begins with @ without quotes, expected quotes round the text (write \"@c\")"},
		"CR":               {"a: 1\rb: @c\r", "f:2:4: a text that begins with @ without quotes, expected quotes round the text (write \"@c\")"},
		"bell":             {"a: \a", "f:1:4: the invisible character U+0007, expected text that shows (take it out)"},
		"C1":               {"a: \u009b2J", "f:1:4: the invisible character U+009B, expected text that shows (take it out)"},
		"next line":        {"a: b\u0085c", "f:1:5: the invisible character U+0085, expected text that shows (take it out)"},
		"line separator":   {"a: b\u2028c", "f:1:5: the invisible character U+2028, expected text that shows (take it out)"},
		"right to left":    {"a: b\u202Ec", "f:1:5: the invisible character U+202E, expected text that shows (take it out)"},
		"escape in key":    {`"\e[2J": 1`, `f:1:1: the key "\x1b[2J" holds an invisible character, expected a word that shows`},
		"nul":              {"a: b\x00", "f:1:5: the invisible character U+0000, expected text that shows (take it out)"},
		"tab in value":     {"a: b\tc", ""},
		"cyclic alias":     {"&a [*a]", `f:1:1: the anchor "&a", expected the value alone (a text that begins with & needs quotes)`},
		"unknown alias":    {"a: 1\nb: 2\nc: *d", `f:3:4: a text that begins with * without quotes, expected quotes round the text (write "*d")`},
		"tag":              {"a: !!str 3", `f:1:4: the tag "!!str", expected the value alone (a text that begins with ! needs quotes)`},
		"binary":           {"a: !!binary aGk=", `f:1:4: the tag "!!binary", expected the value alone (a text that begins with ! needs quotes)`},
		"key is a list":    {"? [a]\n: b", "f:1:3: a key that is no plain word, expected a word before the colon"},
		"no key":           {": b", "f:1:1: this is not YAML near here: did not find expected key, expected keys and values, indented with spaces"},
		"null key":         {"~: b", "f:1:1: a value without a key, expected a word before the colon"},
		"rule > 3":         {"a: 1\nwhen: > 3", `f:2:7: a text that begins with > without quotes, expected quotes round the text (write "> 3")`},
		"rule in quotes":   {"a: 1\nb: 2\nwhen: \"a\" == b", "f:3:11: text after the closing quote, expected the whole text in one pair of quotes"},
		"unclosed bracket": {"a: 1\nb: 2\nc: 3\nd: [x\ne: 5", "f:4:4: the bracket [ is not closed, expected a closing ]"},
		"quote in line 1":  {"a: \"x\nb: 1\nc: 2\nd: 3\n", `f:1:4: the quote " is not closed, expected a closing quote`},
		"apostrophe":       {"a: 'it's'\n", "f:1:8: text after the closing quote, expected the whole text in one pair of quotes"},
		"percent":          {"a: %b", `f:1:4: a text that begins with % without quotes, expected quotes round the text (write "%b")`},
		"backtick":         {"a: `b`", "f:1:4: a text that begins with ` without quotes, expected quotes round the text (write \"`b`\")"},
	} {
		t.Run(name, func(t *testing.T) {
			_, fs := ParseYAML("f", []byte(c.src), 1)
			got, _, _ := strings.Cut(fs.Error(), "\n")
			if got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

// An alias bomb is refused at its first anchor and never grown.
func TestParseYAMLAliasBomb(t *testing.T) {
	var b strings.Builder
	b.WriteString("a0: &a0 [lol, lol]\n")
	for i := 1; i < 30; i++ {
		fmt.Fprintf(&b, "a%d: &a%d [*a%d, *a%d]\n", i, i, i-1, i-1)
	}
	_, fs := ParseYAML("f", []byte(b.String()), 1)
	if got, want := len(fs), 30+2*29; got != want {
		t.Errorf("got %d faults, want %d: every anchor and every alias", got, want)
	}
	if got, want := fs[0].Error(), `f:1:5: the anchor "&a0", expected the value alone (a text that begins with & needs quotes)`; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// Lines are counted from where the text stands in its file.
func TestParseCountsFromTheFirstLine(t *testing.T) {
	n, fs := ParseYAML("f", []byte("# x\na: 1\nb:\n- é: 2"), 100)
	if len(fs) > 0 {
		t.Fatal(fs)
	}
	at := n.Get("b").Item(0).Get("é")
	if at.Line != 103 || at.Col != 6 || at.Path() != "b[1].é" {
		t.Errorf("got %d:%d %s, want 103:6 b[1].é", at.Line, at.Col, at.Path())
	}
	n, fs = ParseJSONAt("f", []byte("{\"é\": {\"b\":\n 2}}"), 100, 20)
	if len(fs) > 0 {
		t.Fatal(fs)
	}
	at = n.Get("é")
	if at.Line != 100 || at.Col != 26 {
		t.Errorf("got %d:%d, want 100:26", at.Line, at.Col)
	}
	if at = at.Get("b"); at.Line != 101 || at.Col != 2 {
		t.Errorf("got %d:%d, want 101:2", at.Line, at.Col)
	}
}

func TestParseJSON(t *testing.T) {
	for _, c := range []struct{ src, want string }{
		{`{"a": [1, -2.5e3, true, null, "x\u00e9\n\ud83d\ude00"], "b": {}, "c": []}`, ""},
		{"\uFEFF \r\n{}\n", ""},
		{``, "f:1:1: the text ends in the middle, expected a value"},
		{`{"a": 1, "a": 2}`, `f:1:10: the key "a" stands twice, expected it once (first on line 1, column 2)`},
		{`{"a": 1,}`, `f:1:9: unexpected '}', expected a key in double quotes (no comma may stand before a closing bracket)`},
		{`[1,]`, `f:1:4: unexpected ']', expected a value (no comma may stand before a closing bracket)`},
		{`{'a': 1}`, `f:1:2: unexpected '\'', expected a key in double quotes (JSON uses double quotes)`},
		{`{a: 1}`, `f:1:2: unexpected 'a', expected a key in double quotes`},
		{"{\"a\" 1}", `f:1:6: unexpected '1', expected a colon after the key`},
		{"{\n\"a\": 1\n\"b\": 2}", `f:3:1: unexpected '"', expected a comma or the } that closes the { on line 1`},
		{"[1, 2", `f:1:6: the text ends in the middle, expected a comma or the ] that closes the [ on line 1`},
		{`{"a": 010}`, `f:1:7: "010" is neither text nor number, expected a value (texts stand in double quotes)`},
		{`{"a": -1E700}`, `f:1:7: the number -1E700 is too large, expected a number that can be counted with`},
		{`{"a": .5}`, `f:1:7: ".5" is neither text nor number, expected a value (texts stand in double quotes)`},
		{`{"a": NaN}`, `f:1:7: "NaN" is neither text nor number, expected a value (texts stand in double quotes)`},
		{`{"a": True}`, `f:1:7: "True" is neither text nor number, expected a value (texts stand in double quotes)`},
		{`{"a": "x`, `f:1:7: the quote " is not closed on this line, expected a closing quote`},
		{"{\"a\": \"x\ny\"}", `f:1:7: the quote " is not closed on this line, expected a closing quote`},
		{`{"a": "\x"}`, `f:1:7: the text "\x" holds what JSON does not know, expected JSON escapes such as \n or \u00e9`},
		{`{"a": "\ud800"}`, `f:1:7: the text "\ud800" holds what JSON does not know, expected JSON escapes such as \n or \u00e9`},
		{`{"a": "\ufffd"}`, ""},
		{`{"a": "\u001b[2J"}`, `f:1:7: the text holds an invisible character, expected text that shows (take the escape out)`},
		{`{"\u001b": 1}`, `f:1:2: the text holds an invisible character, expected text that shows (take the escape out)`},
		{`{"": 1}`, `f:1:2: the key "" does not show, expected a word that shows`},
		{`{"a": 1} x`, `f:1:10: 'x' after the end of the value, expected nothing more`},
		{"{\"a\": \"\xff\"}", `f:1:8: the byte 0xff is not UTF-8, expected UTF-8 text (save it as UTF-8)`},
		{strings.Repeat("[", 51) + strings.Repeat("]", 51), "f:1:51: nested too deeply, expected at most 50 levels"},
		{"[" + strings.Repeat("1,", MaxNodes) + "1]", "f:1:200000: too many values, expected at most 100000"},
		{strings.Repeat(" ", 1<<20) + "{}", "f:1:1: the text is 1025 KiB long, expected at most 1024 KiB"},
	} {
		_, fs := ParseJSON("f", []byte(c.src), 1)
		got, _, _ := strings.Cut(fs.Error(), "\n")
		if got != c.want {
			t.Errorf("ParseJSON(%.60q)\n got %s\nwant %s", c.src, got, c.want)
		}
	}
}

// The same document in both forms is the same tree.
func TestYAMLAndJSONAgree(t *testing.T) {
	y, yf := ParseYAML("f", []byte("a: [1, 2.5, true, null, \"x y\", '12']\nb: {c: d}\ne: {}\n"), 1)
	j, jf := ParseJSON("f", []byte(`{"a": [1, 2.5, true, null, "x y", "12"], "b": {"c": "d"}, "e": {}}`), 1)
	if len(yf)+len(jf) > 0 || !Equal(y, j) {
		t.Errorf("got %s%v\nwant %s%v", Write(y), yf, Write(j), jf)
	}
}

// Texts that YAML would take for something else come back as they were.
func TestWriteReadsBack(t *testing.T) {
	texts := []string{"", " ", "a", "yes", "No", "on", "off", "y", "true", "null", "~", "1", "010", "1e3", ".5", ".inf", "0x1F", "1_000", "2026-11-25", "2026-11-25 10:00",
		"12:30", "a: b", "a #b", "#b", "-", "- a", "-a", "?", "? a", "!a", "*a", "&a", "<<", "=", "%a", "@a", "`a`", "{a}", "[a]", "a, b", "\"", "'", "\\", "a\nb\n", "\ta", "a\t",
		" a ", "12.5 inH2O", "12-13 inH2O", ">25 inH2O", "50 %", "90 °", "12.5\"", "é", "日本", "😀", "...", "---", "--- a", strings.Repeat("long ", 100)}
	list := NewList()
	m := NewMap()
	for _, s := range texts {
		list.Items = append(list.Items, NewText(s))
		if s != "" && !strings.ContainsAny(s, "\n\t") {
			m.Set(s, NewMap().Set("k", NewList(NewText(s), NewMap(), NewList())))
		}
	}
	root := NewMap().Set("texts", list).Set("maps", m).Set("numbers", NewList(NewWhole(-3), NewNumber(0.1), NewNumber(1e21), NewTruth(true), &Node{}))
	out := Write(root)
	back, fs := ParseYAML("f", out, 1)
	if len(fs) > 0 || !Equal(root, back) {
		t.Errorf("does not read back:\n%s\n%v", out, fs)
	}
	for _, n := range []*Node{NewMap(), NewList(), NewText("x"), NewText("a: b"), {}, NewWhole(3), NewList(NewList(NewList(list)))} {
		back, fs := ParseYAML("f", Write(n), 1)
		if len(fs) > 0 || !Equal(n, back) {
			t.Errorf("%q does not read back: %v", Write(n), fs)
		}
	}
}

// What parses can be written and parses again to the same tree; whatever comes
// in, nothing panics and every fault has its place.
func FuzzParseYAML(f *testing.F) {
	for _, s := range []string{"a: 1\nb: [x, {c: d}]\n", "{value: ?}", "a: 'x\nb: 1", "a: |\n  x\n y: 2", "- a\n - b", "\"\\u0041\": \"\\x41\"", "a: &b 1\nc: *b", "? x\n: y", "a: \"b\\\n  c\"\n", "%YAML 1.1\n---\na: 1\n...\n---\nb", "a: b #c", "\t", "a:\t1", "{\"a\":1,b: '2'}", "\"\n0\"\n0:", `"\uffff"`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		n, fs := ParseYAML("f", src, 7)
		for _, fault := range fs {
			if fault.Line < 7 || fault.Col < 1 || strings.ContainsAny(fault.Error(), "\n\x1b") {
				t.Errorf("fault without a place or not on one line: %q", fault.Error())
			}
		}
		if n == nil || len(fs) > 0 {
			return
		}
		out := Write(n)
		back, fs := ParseYAML("f", out, 1)
		if len(fs) > 0 || !Equal(n, back) {
			t.Errorf("written as\n%s\nit reads back with %v as\n%s", out, fs, Write(back))
		}
	})
}

func FuzzParseJSON(f *testing.F) {
	for _, s := range []string{`{"a": [1, -2.5e3, true, null, "x\u00e9\n"]}`, `{"a": 1,}`, `[[[`, `"\ud800"`, "{\"a\":\n1}"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		n, fs := ParseJSON("f", src, 7)
		for _, fault := range fs {
			if fault.Line < 7 || fault.Col < 1 {
				t.Errorf("fault without a place: %q", fault.Error())
			}
		}
		if n == nil || len(fs) > 0 {
			return
		}
		out := Write(n)
		back, fs := ParseYAML("f", out, 1)
		if len(fs) > 0 || !Equal(n, back) {
			t.Errorf("written as\n%s\nit reads back with %v as\n%s", out, fs, Write(back))
		}
	})
}
