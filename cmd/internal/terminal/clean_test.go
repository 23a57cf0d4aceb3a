package terminal

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"
)

func TestClean(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"plain", "Yellow estate, 12.5 inH2O", "Yellow estate, 12.5 inH2O"},
		{"letters beyond ASCII stay", "Prüfstand 18 °C × 2", "Prüfstand 18 °C × 2"},
		{"newline and tab stay", "a\n\tb", "a\n\tb"},
		{"colour", "\x1b[31mred\x1b[0m", "red"},
		{"screen wipe", "a\x1b[2J\x1b[Hb", "ab"},
		{"window title, ended by BEL", "a\x1b]0;owned\ab", "ab"},
		{"window title, ended by ST", "a\x1b]0;owned\x1b\\b", "ab"},
		{"hyperlink", "\x1b]8;;http://x.example\x1b\\click\x1b]8;;\x1b\\", "click"},
		{"open string keeps the rest", "a\x1b]0;no end\nb", "a0;no end\nb"},
		{"device control", "a\x1bPq#1\x1b\\b", "ab"},
		{"character set", "a\x1b(0b", "ab"},
		{"reset", "a\x1bcb", "ab"},
		{"one-byte CSI as C1", "a\u009b31mb", "ab"},
		{"one-byte OSC as C1", "a\u009d0;t\u009cb", "ab"},
		{"escape at the end", "a\x1b", "a"},
		{"bell, backspace, NUL, DEL", "a\a\b\x00\x7fb", "ab"},
		{"carriage return can't overwrite", "safe\rFAKE", "safeFAKE"},
		{"line ends of Windows", "a\r\nb", "a\nb"},
		{"bidi override", "user\u202egpj.exe", "usergpj.exe"},
		{"bidi isolates and marks", "a\u2066b\u2069c\u200fd\u061ce", "abcde"},
		{"byte order mark and zero width blank", "\ufeffa\u200bb", "ab"},
		{"line separator", "a\u2028b", "ab"},
		{"tag letters", "a\U000e0041b", "ab"},
		{"invalid UTF-8", "a\xffb", "a\ufffdb"},
	}
	for _, tt := range tests {
		if got := Clean(tt.in); got != tt.want {
			t.Errorf("%s: Clean(%q) = %q, want %q", tt.name, tt.in, got, tt.want)
		}
	}
}

func TestCleanLine(t *testing.T) {
	if got, want := CleanLine(" a\n\tb  c "), "a b c"; got != want {
		t.Errorf("CleanLine = %q, want %q", got, want)
	}
}

// Clean is idempotent and lets no control through, whatever comes in.
func FuzzClean(f *testing.F) {
	for _, s := range []string{"\x1b[31mred", "a\x1b]0;t\ab", "\u009b1m", "\xff\x1b", "\x1b\x1b[[mm", "plain\r\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := Clean(s)
		if i := strings.IndexFunc(got, hostile); i >= 0 {
			t.Errorf("Clean(%q) = %q lets %q through", s, got, got[i:])
		}
		if !utf8.ValidString(got) {
			t.Errorf("Clean(%q) = %q is not UTF-8", s, got)
		}
		if again := Clean(got); again != got {
			t.Errorf("Clean(Clean(%q)) = %q, want %q", s, again, got)
		}
	})
}

func TestASCII(t *testing.T) {
	if got, want := ASCII("18 °C × 2 – „Prüfstand“ 漢"), `18  deg C x 2 - "Pruefstand" ?`; got != want {
		t.Errorf("ASCII = %q, want %q", got, want)
	}
}

// A character whose bytes come in two writes is neither lost nor broken.
func TestFilterSplitCharacter(t *testing.T) {
	var b bytes.Buffer
	f := &filter{w: &b}
	text := "größe 3 °C\x1b[2J"
	for i := range len(text) - len("\x1b[2J") {
		if n, err := f.Write([]byte{text[i]}); n != 1 || err != nil {
			t.Fatalf("Write = %d, %v; want 1, nil", n, err)
		}
	}
	f.Write([]byte("\x1b[2J"))
	if got, want := b.String(), "größe 3 °C"; got != want {
		t.Errorf("written %q, want %q", got, want)
	}
}
