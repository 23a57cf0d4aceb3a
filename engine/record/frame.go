package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

const (
	framePrefix = `{"crc":"`
	frameMiddle = `","r":`
	frameStart  = len(framePrefix) + 8 + len(frameMiddle)
	timeLayout  = "2006-01-02T15:04:05.000Z07:00"
)

// entry is a line with its links.
type entry struct {
	Line
	prev, sum uint32
}

// appendHead appends r up to the body, which stands last so that it can be
// found without parsing what comes before it as JSON.
func appendHead(b []byte, e *entry) []byte {
	b = append(b, `{"v":`...)
	b = strconv.AppendInt(b, int64(e.Version), 10)
	b = append(b, `,"id":"`...)
	b = append(b, e.ID...)
	b = append(b, `","seq":`...)
	b = strconv.AppendInt(b, int64(e.Seq), 10)
	b = append(b, `,"t":"`...)
	b = e.Time.AppendFormat(b, timeLayout)
	b = append(b, `","mono_ms":`...)
	b = strconv.AppendInt(b, e.Mono, 10)
	b = append(b, `,"kind":"`...)
	b = append(b, e.Kind...)
	b = append(b, `","prev":"`...)
	b = appendSum(b, e.prev)
	return append(b, `","body":`...)
}

func appendSum(b []byte, sum uint32) []byte {
	const digits = "0123456789abcdef"
	for shift := 28; shift >= 0; shift -= 4 {
		b = append(b, digits[sum>>shift&15])
	}
	return b
}

// encode returns the whole line with its line feed and sets e.sum.
func encode(e *entry) []byte {
	r := append(appendHead(make([]byte, 0, 160+len(e.Body)), e), e.Body...)
	r = append(r, '}')
	e.sum = crc32.Checksum(r, castagnoli)
	b := make([]byte, 0, frameStart+len(r)+2)
	b = append(b, framePrefix...)
	b = appendSum(b, e.sum)
	b = append(b, frameMiddle...)
	b = append(b, r...)
	return append(b, "}\n"...)
}

// Faults of a line by itself.
var (
	errFrame = errors.New("this is no line of a record")
	errSum   = errors.New("the checksum doesn't match: the line was altered")
	errForm  = errors.New("the checksum holds but the line isn't in the form of this version")
)

// newerError marks a sound line of a version that this release can't read.
type newerError int

func (v newerError) Error() string {
	return fmt.Sprintf("the line has format version %d, this release reads up to %d", int(v), Format)
}

// decoder reads lines. It keeps what repeats from line to line.
type decoder struct {
	zones map[int]*time.Location
	kinds map[string]string
	head  []byte
}

// decode reads one line without its line feed. The body of the result is part
// of text.
func (d *decoder) decode(text []byte) (entry, error) {
	var e entry
	r, sum, err := unframe(text)
	if err != nil {
		return e, err
	}
	e.sum = sum
	rest, ok := bytes.CutPrefix(r, []byte(`{"v":`))
	digits, _, found := bytes.Cut(rest, []byte(","))
	if e.Version, err = strconv.Atoi(string(digits)); !ok || !found || err != nil || e.Version < 1 {
		return e, errForm
	}
	if !d.fields(&e, r) {
		if e.Version > Format {
			return e, newerError(e.Version)
		}
		return e, errForm
	}
	return e, nil
}

// unframe checks the frame and the checksum and returns r.
func unframe(text []byte) (r []byte, sum uint32, err error) {
	if len(text) < frameStart+3 || string(text[:len(framePrefix)]) != framePrefix ||
		string(text[frameStart-len(frameMiddle):frameStart]) != frameMiddle || text[len(text)-1] != '}' {
		return nil, 0, errFrame
	}
	r = text[frameStart : len(text)-1]
	sum = crc32.Checksum(r, castagnoli)
	var want [8]byte
	if !bytes.Equal(appendSum(want[:0], sum), text[len(framePrefix):len(framePrefix)+8]) {
		return nil, 0, errSum
	}
	return r, sum, nil
}

// fields reads r and reports whether it is exactly what encode writes: it
// encodes again and compares, so that the reading itself may be loose.
func (d *decoder) fields(e *entry, r []byte) bool {
	before, _, found := bytes.Cut(r, []byte(`,"body":`))
	body := len(before) + len(`,"body":`)
	if !found || body >= len(r) || r[len(r)-1] != '}' {
		return false
	}
	rest, ok := r[:body], true
	take := func(before, until string) []byte {
		_, after, found := bytes.Cut(rest, []byte(before))
		value, _, closed := bytes.Cut(after, []byte(until))
		ok = ok && found && closed
		rest = after
		return value
	}
	e.ID = string(take(`"id":"`, `"`))
	seq, err1 := strconv.Atoi(string(take(`"seq":`, ",")))
	when, err2 := d.time(take(`"t":"`, `"`))
	mono, err3 := strconv.ParseInt(string(take(`"mono_ms":`, ",")), 10, 64)
	e.Kind = d.kind(take(`"kind":"`, `"`))
	prev, err4 := hex.DecodeString(string(take(`"prev":"`, `"`)))
	if !ok || errors.Join(err1, err2, err3, err4) != nil || len(prev) != 4 || !plainID(e.ID) || !goodKind(e.Kind) {
		return false
	}
	e.Seq, e.Time, e.Mono = seq, when, mono
	for _, p := range prev {
		e.prev = e.prev<<8 | uint32(p)
	}
	d.head = appendHead(d.head[:0], e)
	e.Body = r[body : len(r)-1 : len(r)-1]
	return bytes.Equal(d.head, r[:body]) && json.Valid(e.Body) && utf8.Valid(e.Body)
}

// time reads t and gives it a nameless zone, so that a record reads the same in
// every place.
func (d *decoder) time(b []byte) (time.Time, error) {
	t, err := time.Parse(timeLayout, string(b))
	if err != nil {
		return t, err
	}
	_, offset := t.Zone()
	if offset == 0 {
		return t.UTC(), nil
	}
	zone := d.zones[offset]
	if zone == nil {
		zone = time.FixedZone("", offset)
		if d.zones == nil {
			d.zones = map[int]*time.Location{}
		}
		d.zones[offset] = zone
	}
	return t.In(zone), nil
}

// kind keeps one copy of each kind, however many lines carry it.
func (d *decoder) kind(b []byte) string {
	if k, ok := d.kinds[string(b)]; ok {
		return k
	}
	if d.kinds == nil {
		d.kinds = map[string]string{}
	}
	k := string(b)
	if len(d.kinds) < 1000 {
		d.kinds[k] = k
	}
	return k
}

// goodKind reports whether kind is a word of a-z, 0-9 and -, up to 32 long.
func goodKind(kind string) bool {
	return 1 <= len(kind) && len(kind) <= 32 && strings.Trim(kind, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
}

func plainID(id string) bool {
	return 1 <= len(id) && len(id) <= 64 && strings.Trim(id, "abcdefghijklmnopqrstuvwxyz0123456789") == ""
}

var base32Lower = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// newID returns 128 random bits in 26 characters.
func newID(random io.Reader) (string, error) {
	var b [16]byte
	if _, err := io.ReadFull(random, b[:]); err != nil {
		return "", fmt.Errorf("no random bytes for an id: %w", err)
	}
	return base32Lower.EncodeToString(b[:]), nil
}

// encodeBody returns body as compact JSON on one line, valid UTF-8.
func encodeBody(body any) (json.RawMessage, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false) // people read the file
	if err := enc.Encode(body); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrBody, err)
	}
	out := bytes.TrimSuffix(b.Bytes(), []byte("\n"))
	if len(out) > MaxBody {
		return nil, fmt.Errorf("%w: it takes %d bytes, at most %d fit", ErrBody, len(out), MaxBody)
	}
	if at := invalidUTF8(out, body); at >= 0 {
		return nil, fmt.Errorf("%w: it isn't valid UTF-8 near %q", ErrBody, out[max(0, at-20):at])
	}
	return out, nil
}

// invalidUTF8 returns where out shows that a text of body was not UTF-8, or -1.
// The encoder replaces a bad byte by the escape \ufffd and writes a true U+FFFD
// as it is, so the escape gives the loss away. A body that is JSON already may
// hold the escape by right.
func invalidUTF8(out []byte, body any) int {
	if _, raw := body.(json.RawMessage); raw {
		for at := 0; at < len(out); {
			r, n := utf8.DecodeRune(out[at:])
			if r == utf8.RuneError && n == 1 {
				return at
			}
			at += n
		}
		return -1
	}
	for at := 0; at < len(out); at++ {
		if out[at] != '\\' {
			continue
		}
		if bytes.HasPrefix(out[at:], []byte(`\ufffd`)) {
			return at
		}
		at++ // the escaped character
	}
	return -1
}

// Hash returns the SHA-256 of a text in lower-case hex. With it the caller can
// tell whether the procedure that a record was made with is still the same.
func Hash(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}
