package table

import (
	"bytes"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// Encodings that are told apart.
const (
	UTF8    = "UTF-8"
	UTF16LE = "UTF-16, little end first"
	UTF16BE = "UTF-16, big end first"
	Latin1  = "Latin-1"
)

// encodingOf finds the encoding of a text from its beginning, and how long its
// mark is. Text without a mark is taken for UTF-16 where every other byte of
// nearly all of it is nought, as it is in a table of numbers.
func encodingOf(head []byte) (encoding string, mark int) {
	switch {
	case bytes.HasPrefix(head, []byte{0xef, 0xbb, 0xbf}):
		return UTF8, 3
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}):
		return UTF16LE, 2
	case bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		return UTF16BE, 2
	}
	var noughts [2]int
	for i, b := range head {
		if b == 0 {
			noughts[i%2]++
		}
	}
	switch half := len(head) / 2; {
	case half > 0 && noughts[1] > half*9/10 && noughts[0] == 0:
		return UTF16LE, 0
	case half > 0 && noughts[0] > half*9/10 && noughts[1] == 0:
		return UTF16BE, 0
	case !utf8.Valid(trimPartial(head)):
		return Latin1, 0
	}
	return UTF8, 0
}

// trimPartial cuts a character off that the end of the buffer cut in two.
func trimPartial(b []byte) []byte {
	for i := 1; i < utf8.UTFMax && i <= len(b); i++ {
		if c := b[len(b)-i]; utf8.RuneStart(c) {
			if !utf8.FullRune(b[len(b)-i:]) {
				return b[:len(b)-i]
			}
			break
		}
	}
	return b
}

// fromUTF16 turns a stream of UTF-16 into UTF-8. Half a pair becomes the mark
// of a broken character.
type fromUTF16 struct {
	in      io.Reader
	high    int // index of the high byte within two
	raw     []byte
	pending []byte // UTF-8 that is not handed out yet
	lead    rune   // first half of a pair, 0 if none
	err     error
}

func newUTF16(in io.Reader, bigEnd bool) *fromUTF16 {
	high := 1
	if bigEnd {
		high = 0
	}
	return &fromUTF16{in: in, high: high, raw: make([]byte, 0, 32<<10)}
}

func (f *fromUTF16) Read(p []byte) (int, error) {
	for len(f.pending) == 0 && f.err == nil {
		f.fill()
	}
	n := copy(p, f.pending)
	f.pending = f.pending[n:]
	if n > 0 || len(p) == 0 {
		return n, nil
	}
	return 0, f.err
}

func (f *fromUTF16) fill() {
	have := len(f.raw)
	n, err := f.in.Read(f.raw[have:cap(f.raw)])
	f.raw, f.err = f.raw[:have+n], err
	f.pending = f.pending[:0]
	i := 0
	for ; i+1 < len(f.raw); i += 2 {
		f.take(rune(f.raw[i+f.high])<<8 | rune(f.raw[i+1-f.high]))
	}
	left := copy(f.raw, f.raw[i:])
	f.raw = f.raw[:left]
	if err != nil && (left > 0 || f.lead != 0) {
		f.pending, f.raw, f.lead = utf8.AppendRune(f.pending, utf8.RuneError), f.raw[:0], 0
	}
}

func (f *fromUTF16) take(r rune) {
	if f.lead != 0 {
		if both := utf16.DecodeRune(f.lead, r); both != utf8.RuneError {
			f.pending, f.lead = utf8.AppendRune(f.pending, both), 0
			return
		}
		f.pending, f.lead = utf8.AppendRune(f.pending, utf8.RuneError), 0
	}
	if r >= 0xd800 && r < 0xdc00 {
		f.lead = r
		return
	}
	f.pending = utf8.AppendRune(f.pending, r)
}

// latin1 turns bytes that are no UTF-8 into text: each is the character of its
// number.
func latin1(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	out := make([]rune, len(b))
	for i, c := range b {
		out[i] = rune(c)
	}
	return string(out)
}
