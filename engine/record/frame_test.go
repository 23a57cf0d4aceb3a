package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"math"
	"strings"
	"testing"
	"time"
)

// The check values of CRC-32C are those of RFC 3720, appendix B.4, read there in
// the byte order of the wire; the last is the usual check value for the digits
// 1 to 9 (from memory: 0xe3069283).
func TestChecksumIsCRC32C(t *testing.T) {
	up, down := make([]byte, 32), make([]byte, 32)
	for i := range up {
		up[i], down[i] = byte(i), byte(31-i)
	}
	for _, c := range []struct {
		name string
		data []byte
		want uint32
	}{
		{"32 bytes of zeroes", make([]byte, 32), 0x8a9136aa},
		{"32 bytes of ones", []byte(strings.Repeat("\xff", 32)), 0x62a8ab43},
		{"32 incrementing bytes", up, 0x46dd794e},
		{"32 decrementing bytes", down, 0x113fdb5c},
		{"123456789", []byte("123456789"), 0xe3069283},
	} {
		if got := crc32.Checksum(c.data, castagnoli); got != c.want {
			t.Errorf("%s: got %08x, want %08x", c.name, got, c.want)
		}
	}
}

func sampleEntry() *entry {
	return &entry{prev: 0x0badf00d, Line: Line{Seq: 14, Time: time.Date(2026, 11, 25, 10, 2, 3, 123e6, time.FixedZone("", 3600)),
		Mono: 81234, Kind: "answered", Body: json.RawMessage(`{"raw":"12,5"}`), ID: "abc234", Version: 1}}
}

func TestLineStandsAsDocumented(t *testing.T) {
	e := sampleEntry()
	r := `{"v":1,"id":"abc234","seq":14,"t":"2026-11-25T10:02:03.123+01:00","mono_ms":81234,"kind":"answered","prev":"0badf00d","body":{"raw":"12,5"}}`
	want := fmt.Sprintf("{\"crc\":\"%08x\",\"r\":%s}\n", crc32.Checksum([]byte(r), castagnoli), r)
	if got := string(encode(e)); got != want {
		t.Errorf("encode:\n got %s\nwant %s", got, want)
	}
	if !json.Valid(encode(e)) {
		t.Error("a line is no JSON")
	}
}

func TestDecodeGivesWhatWasEncoded(t *testing.T) {
	e := sampleEntry()
	text := strings.TrimSuffix(string(encode(e)), "\n")
	got, err := new(decoder).decode([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if d := diff(got.Line, e.Line); d != "" || got.prev != e.prev || got.sum != e.sum {
		t.Errorf("decode: prev %08x sum %08x, want %08x %08x; %s", got.prev, got.sum, e.prev, e.sum, d)
	}
}

// reframe gives r a right checksum: somebody who means to, not a fault of the disk.
func reframe(r string) string {
	return fmt.Sprintf(`{"crc":"%08x","r":%s}`, crc32.Checksum([]byte(r), castagnoli), r)
}

func TestOnlyTheCanonicalFormIsRead(t *testing.T) {
	good := `{"v":1,"id":"abc","seq":2,"t":"2026-11-25T10:02:03.123Z","mono_ms":5,"kind":"noted","prev":"0badf00d","body":"x"}`
	if _, err := new(decoder).decode([]byte(reframe(good))); err != nil {
		t.Fatalf("the good line: %v", err)
	}
	for _, c := range []struct{ from, to string }{
		{`"seq":2`, `"seq":02`},
		{`"seq":2`, `"Seq":2`},
		{`"seq":2`, `"seq":2,"seq":2`},
		{`"seq":2`, `"seq": 2`},
		{`"mono_ms":5`, `"mono_ms":+5`},
		{`"mono_ms":5`, `"mono_ms":5.0`},
		{`10:02:03.123Z`, `10:02:03.1234Z`},
		{`10:02:03.123Z`, `10:02:03Z`},
		{`10:02:03.123Z`, `10:02:03.123+00:00`},
		{`0badf00d`, `0BADF00D`},
		{`0badf00d`, `badf00d`},
		{`"noted"`, `"no\u0074ed"`},
		{`"noted"`, `"Noted"`},
		{`"noted"`, `""`},
		{`"abc"`, `""`},
		{`"body":"x"`, `"body":`},
		{`"body":"x"}`, `"body":`},
		{`"body":"x"}`, `"body":"x"`},
		{`"body":"x"`, `"body":x`},
		{`"body":"x"`, `"body":"x","body":"y"`},
		{`"body":"x"`, "\"body\":\"\xff\""},
		{`"v":1,`, `"v":0,`},
		{`"v":1,`, `"v":01,`},
		{`"v":1,`, `"v":"1",`},
		{`,"kind":"noted"`, ``},
	} {
		r := strings.Replace(good, c.from, c.to, 1)
		if _, err := new(decoder).decode([]byte(reframe(r))); err != errForm {
			t.Errorf("%s in place of %s: got error %v, want %v", c.to, c.from, err, errForm)
		}
	}
}

func TestBodies(t *testing.T) {
	type wrapped struct{ Text string }
	for _, c := range []struct {
		name string
		body any
		want string
	}{
		{"nothing", nil, `null`},
		{"NUL and control characters", wrapped{"a\x00b\x1b\n"}, `{"Text":"a\u0000b\u001b\n"}`},
		{"marks of HTML stay readable", "<12> & more", `"<12> & more"`},
		{"a true replacement character", "a\ufffdb", "\"a\ufffdb\""},
		{"a backslash before ufffd", `C:\ufffd`, `"C:\\ufffd"`},
		{"JSON with spaces", json.RawMessage("{\"a\": [1,\n 2]}"), `{"a":[1,2]}`},
		{"JSON with an escape of its own", json.RawMessage(`"\ufffd"`), `"\ufffd"`},
		{"line separators of Unicode", "a\u2028b", "\"a\\u2028b\""},
	} {
		got, err := encodeBody(c.body)
		if err != nil || string(got) != c.want {
			t.Errorf("%s: got %s, %v, want %s", c.name, got, err, c.want)
		}
	}
	for _, c := range []struct {
		name, says string
		body       any
	}{
		{"invalid UTF-8 in a text", "isn't valid UTF-8 near \"{\\\"Text\\\":\\\"b", wrapped{"b\xe4r"}},
		{"invalid UTF-8 in JSON", "isn't valid UTF-8", json.RawMessage("\"b\xe4r\"")},
		{"broken JSON", "unexpected end of JSON", json.RawMessage(`{"a":`)},
		{"not a number", "NaN", math.NaN()},
		{"a thing without JSON", "unsupported type", make(chan int)},
		{"too large", "at most 1052672 fit", strings.Repeat("x", MaxBody-1)},
	} {
		_, err := encodeBody(c.body)
		if !errors.Is(err, ErrBody) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want ErrBody that says %q", c.name, err, c.says)
		}
	}
}

func TestStoredTimes(t *testing.T) {
	for _, c := range []struct {
		name string
		in   time.Time
		want string
	}{
		{"an offset", time.Date(2026, 7, 1, 9, 0, 0, 123_999_999, time.FixedZone("X", -3*3600-1800)), "2026-07-01T09:00:00.123-03:30"},
		{"UTC", time.Date(2026, 7, 1, 9, 0, 0, 0, time.UTC), "2026-07-01T09:00:00.000Z"},
		{"year 1970", time.Unix(0, 0).UTC(), "1970-01-01T00:00:00.000Z"},
		{"before 1970", time.Unix(-1, 0).UTC(), "1969-12-31T23:59:59.000Z"},
		{"an offset with seconds", time.Date(1890, 1, 1, 0, 53, 28, 0, time.FixedZone("LMT", 53*60+28)), "1890-01-01T00:53:00.000+00:53"},
		{"beyond four digits", time.Date(12000, 1, 1, 0, 0, 0, 0, time.UTC), "1970-01-01T00:00:00.000Z"},
	} {
		e := sampleEntry()
		e.Time = stored(c.in)
		if got := e.Time.Format(timeLayout); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
		back, err := new(decoder).decode([]byte(strings.TrimSuffix(string(encode(e)), "\n")))
		if err != nil || !back.Time.Equal(e.Time) {
			t.Errorf("%s: read back as %v, %v, want %v", c.name, back.Time, err, e.Time)
		}
	}
}
