package record

import (
	"bytes"
	"fmt"
)

// Read is View of the bytes of a record that came from elsewhere than a file of its
// own; name is how they are called. Size and Modified tell of no file.
func Read(name string, data []byte) (*Content, error) {
	s := scan(name, data, true)
	if s.alien(data) {
		return nil, fmt.Errorf("%s: %w", name, ErrNotRecord)
	}
	return s.Content, nil
}

// Sound returns the proved lines of such bytes in plain form: those before the first
// bad place, each with its line feed. Of a sound record they are the record.
func Sound(name string, data []byte) []byte { return plainLines(data[:scan(name, data, false).good]) }

// plainLines are lines without what editors and mail programs put between them.
func plainLines(data []byte) []byte {
	var out []byte
	for line := range bytes.Lines(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))) {
		if line = bytes.TrimRight(line, "\r\n"); len(line) > 0 {
			out = append(append(out, line...), '\n')
		}
	}
	return out
}
