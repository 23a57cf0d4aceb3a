package cli

import (
	"encoding/json"
	"testing"

	"dropwalk/cmd/internal/terminal"
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
