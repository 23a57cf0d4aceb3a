package terminal

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Clean makes text from files and people fit to print: terminal escapes,
// control characters (all but newline and tab), and characters that reorder or
// hide text are taken out, invalid UTF-8 becomes U+FFFD. Clean text passes
// unchanged.
func Clean(s string) string {
	if isClean(s) {
		return s
	}
	s = strings.ToValidUTF8(s, "\uFFFD")
	s = strings.ReplaceAll(s, "\r\n", "\n")
	var b strings.Builder
	for i := 0; i < len(s); {
		r, size := utf8.DecodeRuneInString(s[i:])
		if n := escapeLength(s[i:]); n > 0 {
			i += n
			continue
		}
		if !hostile(r) {
			b.WriteRune(r)
		}
		i += size
	}
	return b.String()
}

// CleanLine is Clean for text that must stay on one line: runs of white space
// become one blank.
func CleanLine(s string) string { return strings.Join(strings.Fields(Clean(s)), " ") }

func isClean(s string) bool {
	if !utf8.ValidString(s) {
		return false
	}
	return strings.IndexFunc(s, hostile) < 0
}

// hostile tells whether r can move the cursor, switch a terminal's mode,
// reorder a line or hide in it.
func hostile(r rune) bool {
	switch {
	case r == '\n' || r == '\t':
		return false
	case r < 0x20 || r >= 0x7f && r < 0xa0: // C0, DEL, C1
		return true
	case r == '\u2028' || r == '\u2029': // line breaks that a terminal may follow
		return true
	case r >= 0xE0000 && r <= 0xE007F: // tags: text that nobody sees
		return true
	case r == '\u200d': // joins the parts of one picture; harmless
		return false
	}
	return unicode.Is(unicode.Cf, r) && r != '\u00ad'
}

// escapeLength is the length in bytes of the terminal escape at the start of s,
// 0 where none stands there. The forms are those of ECMA-48: CSI with
// parameters, the strings that ST or BEL ends, and two-character escapes. A
// string that nothing ends gives up only its introducer, so that an open
// escape can't swallow the rest of a report.
func escapeLength(s string) int {
	rest, lead := s, 0
	switch {
	case strings.HasPrefix(s, "\x1b"):
		if len(s) == 1 {
			return 1
		}
		rest, lead = s[1:], 1
	case strings.HasPrefix(s, "\u009b"):
		return 2 + controlSequence(s[2:])
	case strings.HasPrefix(s, "\u0090"), strings.HasPrefix(s, "\u0098"),
		strings.HasPrefix(s, "\u009d"), strings.HasPrefix(s, "\u009e"), strings.HasPrefix(s, "\u009f"):
		return 2 + controlString(s[2:])
	default:
		return 0
	}
	switch c := rest[0]; {
	case c == '[':
		return lead + 1 + controlSequence(rest[1:])
	case strings.IndexByte("]PX^_", c) >= 0:
		return lead + 1 + controlString(rest[1:])
	case c >= 0x20 && c <= 0x2f: // intermediate bytes, then one final byte
		n := len(rest) - len(strings.TrimLeft(rest, " !\"#$%&'()*+,-./"))
		return lead + min(n+1, len(rest))
	case c >= 0x30 && c <= 0x7e:
		return lead + 1
	}
	return lead
}

// controlSequence is the length of the parameters, intermediates and final
// byte that follow a CSI.
func controlSequence(s string) int {
	i := 0
	for i < len(s) && s[i] >= 0x20 && s[i] <= 0x3f {
		i++
	}
	if i < len(s) && s[i] >= 0x40 && s[i] <= 0x7e {
		i++
	}
	return i
}

// controlString is the length of a string up to and including its end (BEL or
// ST), 0 where nothing ends it before the line does.
func controlString(s string) int {
	line, _, _ := strings.Cut(s, "\n")
	end := 0
	for _, st := range []string{"\a", "\x1b\\", "\u009c"} {
		if i := strings.Index(line, st); i >= 0 && (end == 0 || i+len(st) < end) {
			end = i + len(st)
		}
	}
	return end
}

// plainer holds what stands in for characters that our own texts and reports
// use, on a terminal that has ASCII only.
var plainer = strings.NewReplacer(
	"–", "-", "—", "-", "−", "-", "…", "...", "·", ".", "•", "*", "×", "x", "±", "+-",
	"°", " deg ", "²", "2", "³", "3", "½", "1/2", "¼", "1/4", "¾", "3/4", "→", "->", "←", "<-",
	"│", "|", "┬", "+", "┴", "+", "○", "o", "●", "*",
	"█", "#", "▓", "+", "▒", "%", "░", "-", "■", "x",
	"≤", "<=", "≥", ">=", "≈", "~", "µ", "u", "μ", "u", "ρ", "rho", "Δ", "delta ",
	"“", `"`, "”", `"`, "„", `"`, "‘", "'", "’", "'", "\u00a0", " ", "\u202f", " ", "\u2009", " ",
	"ä", "ae", "ö", "oe", "ü", "ue", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue", "ß", "ss",
)

// ASCII puts s into ASCII: known characters become what people write instead,
// others a question mark.
func ASCII(s string) string {
	s = plainer.Replace(s)
	return strings.Map(func(r rune) rune {
		if r > unicode.MaxASCII {
			return '?'
		}
		return r
	}, s)
}
