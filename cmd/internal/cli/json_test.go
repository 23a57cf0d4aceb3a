package cli

import (
	"encoding/json"
	"strings"
	"testing"

	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/strictyaml"
)

// What a terminal might obey is escaped, and the value stays what it was.
func TestJSONLineIsSafeAndTrue(t *testing.T) {
	for _, text := range []string{
		"plain", "Prüfstand 18 °C", "\x1b[2J", "a\u009b31mb", "a\u202eb", "a\x7fb", "a\U000e0041b", "<b> & 'c'", "a\nb\tc", "a\u2028b",
	} {
		line, err := jsonLine(map[string]string{"text": text})
		if err != nil {
			t.Fatal(err)
		}
		if clean := terminal.Clean(string(line)); clean != string(line) {
			t.Errorf("%q: the line %q is not safe to show", text, line)
		}
		var back map[string]string
		if err := json.Unmarshal(line, &back); err != nil || back["text"] != text {
			t.Errorf("%q reads back as %q, %v", text, back["text"], err)
		}
		if line[len(line)-1] != '\n' {
			t.Errorf("%q: no line end", line)
		}
	}
}

// keysOf are the keys of an object in their order.
func keysOf(t *testing.T, object string) string {
	t.Helper()
	d := json.NewDecoder(strings.NewReader(object))
	var keys []string
	if _, err := d.Token(); err != nil {
		t.Fatalf("%v: %s", err, object)
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			t.Fatalf("%v: %s", err, object)
		}
		keys = append(keys, key.(string))
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			t.Fatalf("%v: %s", err, object)
		}
	}
	return strings.Join(keys, " ")
}

// The keys of each object are promised, and so is their order: the version
// first.
func TestKeysOfResults(t *testing.T) {
	dir, _ := pausedTest(t)
	for line, want := range map[string]string{
		"records --json":                  "records folder list",
		"records show grey --json":        "record name path header events unverified_lines car owed",
		"records check grey --json":       "record_check name path sound sound_lines unverified_lines repairable findings",
		"records where --json":            "records_where folder",
		"procedures --json":               "procedures list",
		"procedures check intake --json":  "procedures_check files",
		"procedures check --rules --json": "procedures_rules rules",
		"procedures try intake --json":    "procedures_try files",
		"procedures where --json":         "procedures_where folder",
		"demo --json":                     "demo invented sheet assessment",
		`convert "12.5 inH2O" kPa --json`: "value unit",
	} {
		code, out, errs := tried(t, "", append(words(line), "--dir", dir)...)
		if code != exitDone || strings.Count(out, "\n") != 1 {
			t.Errorf("%s ends with %d and prints %d lines: %s", line, code, strings.Count(out, "\n"), errs)
			continue
		}
		if got := keysOf(t, out); got != want {
			t.Errorf("%s has the keys %q, want %q", line, got, want)
		}
		if _, again, _ := tried(t, "", append(words(line), "--dir", dir)...); again != out {
			t.Errorf("%s prints another object the second time", line)
		}
	}
}

func TestNodeJSON(t *testing.T) {
	for yaml, want := range map[string]string{
		"b: 1\na: [x, 2.50, true, null, 1e3]\n": `{"b":1,"a":["x",2.50,true,null,1e3]}`,
		"a: \"2\"\nb: {}\nc: []\n":              `{"a":"2","b":{},"c":[]}`,
		"a: .5\nb: 0x10\nc: 2026-11-25\n":       `{"a":".5","b":"0x10","c":"2026-11-25"}`,
		"a: \"<b> & \\\"c\\\"\"\n":              `{"a":"<b> & \"c\""}`,
	} {
		n, faults := strictyaml.ParseYAML("f", []byte(yaml), 1)
		if n == nil {
			t.Fatal(faults)
		}
		if got := string(nodeJSON(n)); got != want {
			t.Errorf("%q comes to %s, want %s", yaml, got, want)
		}
	}
}
