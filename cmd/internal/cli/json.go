package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"unicode"
)

// writeJSON prints v as one line.
func (a *app) writeJSON(v any) error {
	line, err := jsonLine(v)
	if err != nil {
		return err
	}
	_, err = a.Out.Write(line)
	return err
}

// jsonLine encodes v on one line. Characters that a terminal might obey or that
// change the direction of writing are written as \u escapes, so that the line is
// safe to look at and still means the same.
func jsonLine(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	for _, r := range b.String() {
		if r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r)) {
			out.WriteString(escaped(r))
			continue
		}
		out.WriteRune(r)
	}
	return out.Bytes(), nil
}

// escaped writes r as JSON does: beyond the basic plane as two halves.
func escaped(r rune) string {
	if r > 0xffff {
		r -= 0x10000
		return fmt.Sprintf(`\u%04x\u%04x`, 0xd800+r>>10, 0xdc00+r&0x3ff)
	}
	return fmt.Sprintf(`\u%04x`, r)
}
