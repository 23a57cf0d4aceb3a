package strictyaml

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Limits on one document. They stand far above what a person writes and far
// below what would tie the program up.
const (
	MaxBytes = 1 << 20
	MaxDepth = 50
	MaxNodes = 100_000
)

// at is where a text begins in its file.
type at struct {
	file      string
	line, col int
}

func (a at) fault(line, col int, what, expected, hint string) Fault {
	return Fault{File: a.file, Line: line, Col: col, What: what, Expected: expected, Hint: hint}
}

// prepare checks what must hold for any text before a parser sees it. It
// returns the text without a byte order mark and with plain line ends.
func prepare(a at, src []byte, tabs bool) ([]byte, Faults) {
	if len(src) > MaxBytes {
		return nil, Faults{a.fault(a.line, a.col, fmt.Sprintf("the text is %d KiB long", (len(src)+1023)/1024),
			fmt.Sprintf("at most %d KiB", MaxBytes/1024), "")}
	}
	src = bytes.TrimPrefix(src, []byte("\uFEFF"))
	if bytes.HasPrefix(src, []byte{0xFF, 0xFE}) || bytes.HasPrefix(src, []byte{0xFE, 0xFF}) {
		return nil, Faults{a.fault(a.line, a.col, "the text is UTF-16", "UTF-8", "save it as UTF-8")}
	}
	if bytes.IndexByte(src, '\r') >= 0 {
		src = bytes.ReplaceAll(src, []byte("\r\n"), []byte("\n"))
		src = bytes.ReplaceAll(src, []byte("\r"), []byte("\n"))
	}
	return src, characters(a, src, tabs)
}

// faultsShown bounds the faults that one kind of bad character gives: a binary
// file would otherwise give one for every byte.
const faultsShown = 20

// characters finds bytes that are not UTF-8, control characters and, where
// tabs is set, tabs in the indentation.
func characters(a at, src []byte, tabs bool) Faults {
	var fs Faults
	line, col, indent := a.line, a.col, true
	for i := 0; i < len(src) && len(fs) < faultsShown; {
		r, size := utf8.DecodeRune(src[i:])
		switch {
		case r == utf8.RuneError && size == 1:
			fs = append(fs, a.fault(line, col, fmt.Sprintf("the byte %#02x is not UTF-8", src[i]), "UTF-8 text", "save it as UTF-8"))
		case r == '\t' && indent && tabs:
			fs = append(fs, a.fault(line, col, "a tab in the indentation", "spaces", ""))
			indent = false
		case r != '\n' && r != '\t' && forbidden(r):
			fs = append(fs, a.fault(line, col, fmt.Sprintf("the invisible character %U", r), "text that shows", "take it out"))
		}
		i += size
		col++
		if r == '\n' {
			line, col, indent = line+1, 1, true
		} else if r != ' ' {
			indent = false
		}
	}
	return fs
}

// forbidden tells whether r may not stand in a file even as text: control
// characters, and the line ends that YAML counts and editors do not.
func forbidden(r rune) bool {
	return unicode.IsControl(r) || harmful(r)
}

func splitLines(s string) []string {
	s = strings.ReplaceAll(s, "\r\n", "\n")
	return strings.Split(strings.ReplaceAll(s, "\r", "\n"), "\n")
}
