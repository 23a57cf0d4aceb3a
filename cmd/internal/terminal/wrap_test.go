package terminal

import (
	"strings"
	"testing"
)

func TestWrap(t *testing.T) {
	tests := []struct {
		name, text  string
		width       int
		first, rest string
		want        string
	}{
		{"fits", "one two", 20, "", "", "one two\n"},
		{"breaks at blanks", "one two three", 8, "", "", "one two\nthree\n"},
		{"hanging indent", "one two three", 10, "1) ", "   ", "1) one two\n   three\n"},
		{"keeps line breaks", "one\ntwo", 20, "- ", "  ", "- one\n  two\n"},
		{"long word is broken", "abcdefghij", 4, "", "", "abcd\nefgh\nij\n"},
		{"wide characters count two", "漢字漢字", 4, "", "", "漢字\n漢字\n"},
		{"accents count nothing", "e\u0301e\u0301 e\u0301e\u0301", 5, "", "", "e\u0301e\u0301 e\u0301e\u0301\n"},
		{"empty", "", 10, "", "", "\n"},
		{"indent wider than the line", "ab", 2, "   ", "   ", "   a\n   b\n"},
	}
	for _, tt := range tests {
		if got := Wrap(tt.text, tt.width, tt.first, tt.rest); got != tt.want {
			t.Errorf("%s: Wrap = %q, want %q", tt.name, got, tt.want)
		}
	}
}

// No line is wider than asked for, and every character of the text survives.
func FuzzWrap(f *testing.F) {
	f.Add("Draw a gentle depression with the syringe", 20)
	f.Add("漢字 e\u0301 x", 3)
	f.Fuzz(func(t *testing.T, text string, width int) {
		text = CleanLine(text)
		width = 2 + max(width, -width)%80
		got := Wrap(text, width, "", "")
		for line := range strings.Lines(got) {
			if w := columns(strings.TrimSuffix(line, "\n")); w > width && len([]rune(line)) > 3 {
				t.Errorf("Wrap(%q, %d): line %q is %d wide", text, width, line, w)
			}
		}
		squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
		if squeeze(got) != squeeze(text) {
			t.Errorf("Wrap(%q, %d) = %q loses text", text, width, got)
		}
	})
}
