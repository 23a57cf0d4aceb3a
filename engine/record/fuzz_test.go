package record

import (
	"bytes"
	"errors"
	"strings"
	"testing"
)

// seeds are records with one fault each, and without.
func seeds(f *testing.F) {
	_, data := makeRecord(f, f.TempDir(), 3)
	f.Add(data)
	f.Add(data[:len(data)-7])
	f.Add(data[:len(data)-1])
	f.Add(bytes.ReplaceAll(data, []byte("\n"), []byte("\r\n")))
	f.Add(append([]byte("\xef\xbb\xbf"), data...))
	p := lines(data)
	f.Add(joinLines(p[0], p[2], p[1]))
	f.Add(joinLines(p[0], p[0]))
	f.Add(joinLines(p[0], reframe(`{"v":2,"x":1}`)))
	f.Add([]byte(reframe(`{"v":1,"id":"a","seq":1,"t":"2026-11-25T10:02:03.123Z","mono_ms":-5,"kind":"header","prev":"00000000","body":{"format":1}}`)))
	f.Add([]byte(""))
	f.Add([]byte("\xff\xfe{"))
}

// Laws of the reader: every line is shown once, as proved, unverified or torn;
// what is proved encodes to the very bytes of the file; and where Repair says
// that it can mend a record, the result is sound and has the proved lines.
func FuzzView(f *testing.F) {
	seeds(f)
	f.Fuzz(checkReader)
}

// The same laws where the fuzzer writes only what the checksums cover: each line
// gets its frame, and @ stands for the checksum of the line before.
func FuzzViewBehindTheChecksum(f *testing.F) {
	const head = `{"v":1,"id":"a","seq":1,"t":"2026-11-25T10:02:03.123Z","mono_ms":5,"kind":"header","prev":"00000000","body":{"format":1,"id":"x"}}` + "\n"
	f.Add([]byte(head + `{"v":1,"id":"b","seq":2,"t":"2026-11-25T10:02:03.123+01:00","mono_ms":-5,"kind":"noted","prev":"@","body":[1,"x"]}`))
	f.Add([]byte(head + `{"v":2,"id":"b","seq":2,"t":"1970-01-01T00:00:00.000Z","mono_ms":0,"kind":"noted","prev":"@","body":{"body":"@"}}` + "\n" + `{"v":3}`))
	f.Add([]byte(head + head))
	f.Add([]byte(`{"v":1,"id":"b","seq":1,"body":`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var framed []byte
		sum := "00000000"
		for r := range bytes.Lines(data) {
			text := reframe(strings.ReplaceAll(strings.TrimSuffix(string(r), "\n"), "@", sum))
			sum = text[len(framePrefix) : len(framePrefix)+8]
			framed = append(append(framed, text...), '\n')
		}
		checkReader(t, framed)
	})
}

func checkReader(t *testing.T, data []byte) {
	s := scan("x.jsonl", data, true)
	var out []byte
	for i, line := range s.Lines {
		e := entry{Line: line, prev: s.sums[i]}
		out = append(out, encode(&e)...)
		if e.sum != s.sums[i+1] {
			t.Fatalf("line %d encodes to another checksum", line.Seq)
		}
	}
	checkBytes(t, s, data, out)
	mended, err := mend("x.jsonl", data)
	if err != nil {
		return
	}
	m := scan("x.jsonl", mended, true)
	if m.refusal() != nil || m.Torn != nil || m.Unended || len(m.Lines) < len(s.Lines) {
		t.Fatalf("mended to %q with findings %v", mended, m.Findings)
	}
	if again, err := mend("x.jsonl", mended); err != nil || !bytes.Equal(again, mended) {
		t.Fatalf("mending twice differs: %v", err)
	}
}

// checkBytes fails unless the encoded lines stand in the file one after another
// and every line of the file is accounted for.
func checkBytes(t *testing.T, s *scanner, data, out []byte) {
	t.Helper()
	plain := bytes.ReplaceAll(append(bytes.Clone(data), '\n'), []byte("\r\n"), []byte("\n"))
	for bytes.Contains(plain, []byte("\n\n")) {
		plain = bytes.ReplaceAll(plain, []byte("\n\n"), []byte("\n"))
	}
	if len(out) > 0 && !bytes.Contains(plain, out) {
		t.Fatalf("the proved lines don't stand in the file:\n%q\n%q", out, plain)
	}
	if s.foreign() {
		return
	}
	full := 0
	for text := range bytes.SplitSeq(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), []byte("\n")) {
		if len(bytes.TrimSuffix(text, []byte("\r"))) > 0 {
			full++
		}
	}
	shown := len(s.sums) + len(s.Content.Unverified) + s.Unshown
	if s.Torn != nil {
		shown++
	}
	if shown != full {
		t.Fatalf("%d lines shown of %d", shown, full)
	}
}

// Laws of Open: it agrees with View on whether the record can be continued and
// what is in it; if it refuses, no byte changes; if it accepts, the next append
// gives a sound record with one line more, and no byte of a torn tail is lost.
func FuzzOpen(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		dir := t.TempDir()
		path := Path(dir, "x")
		writeBytes(t, path, data)
		before, viewErr := View(path)
		l, rec, err := Open(path, testEnv())
		if viewErr != nil || before.CanContinue() != nil {
			known := errors.Is(err, ErrReadOnly) || errors.Is(err, ErrNoHeader) || errors.Is(err, ErrNotRecord)
			if !known || !bytes.Equal(readBytes(t, path), data) || len(dirNames(t, dir)) != 1 {
				t.Fatalf("refused with %v and files %v", err, dirNames(t, dir))
			}
			return
		}
		if err != nil {
			t.Fatalf("View says it can be continued, Open says %v", err)
		}
		defer l.Close()
		if rec.Torn != nil && !bytes.HasSuffix(data, readBytes(t, rec.Torn.MovedTo)) {
			t.Fatal("the torn tail is not what stood in the file")
		}
		if _, err := l.Append("noted", "x"); err != nil {
			t.Fatal(err)
		}
		after := mustView(t, path)
		if len(after.Lines) != len(before.Lines)+1 || after.CanContinue() != nil || after.Torn != nil {
			t.Fatalf("after an append: %d lines of %d, findings %v", len(after.Lines), len(before.Lines)+1, after.Findings)
		}
	})
}
