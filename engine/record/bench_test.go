package record

import (
	"fmt"
	"runtime"
	"testing"
	"time"
)

// manyLines is a record of n answers of about 270 bytes, as a run makes them.
func manyLines(n int) []byte {
	env := testEnv()
	l := &Log{env: env.filled(), path: "many.jsonl"}
	h, _ := l.complete(testHeader)
	var data []byte
	for i := range n + 1 {
		kind, body := "answered", any(map[string]any{"slot": fmt.Sprintf("walk.%d/runs.%d/value", i/10, i%10), "raw": "12,5", "text": "3111 Pa",
			"seen": "What did the gauge show between open air and the filter?"})
		if i == 0 {
			kind, body = HeaderKind, h
		}
		e, line, err := l.next(kind, body)
		if err != nil {
			panic(err)
		}
		data = append(data, line...)
		l.seq, l.sum = e.Seq, e.sum
	}
	return data
}

func BenchmarkOpen100000(b *testing.B) {
	path := Path(b.TempDir(), "many")
	data := manyLines(100_000)
	writeBytes(b, path, data)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		l, rec, err := Open(path, Env{})
		if err != nil || len(rec.Lines) != 100_000 {
			b.Fatal(err)
		}
		l.Close()
	}
}

func BenchmarkList100000(b *testing.B) {
	dir := b.TempDir()
	writeBytes(b, Path(dir, "many"), manyLines(100_000))
	b.ReportAllocs()
	for b.Loop() {
		if got, err := List(dir); err != nil || got[0].Lines != 100_001 {
			b.Fatal(got, err)
		}
	}
}

func BenchmarkAppend(b *testing.B) {
	l, err := Create(b.TempDir(), "yellow", testHeader, Env{})
	if err != nil {
		b.Fatal(err)
	}
	defer l.Close()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := l.Append("answered", answerNo(2)); err != nil {
			b.Fatal(err)
		}
	}
}

// A record of 100,000 answers must open, and what is kept in memory must stay
// near the size of the file. The time is the benchmark's matter; the limit here
// only catches work that grows with the square of the length.
func TestManyLines(t *testing.T) {
	path := Path(t.TempDir(), "many")
	data := manyLines(100_000)
	size := len(data)
	writeBytes(t, path, data)
	data = nil
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	start := time.Now()
	l, rec := mustOpen(t, path, testEnv())
	took := time.Since(start)
	runtime.GC()
	runtime.ReadMemStats(&after)
	if len(rec.Lines) != 100_000 || len(rec.Findings) != 0 {
		t.Fatalf("%d lines, findings %v", len(rec.Lines), rec.Findings)
	}
	kept := int(after.HeapAlloc) - int(before.HeapAlloc)
	t.Logf("%d bytes opened in %v, %d bytes kept", size, took, kept)
	if kept > 2*size {
		t.Errorf("%d bytes are kept in memory of a file of %d", kept, size)
	}
	if took > 20*time.Second {
		t.Errorf("opened in %v", took)
	}
	appendAnswers(t, l, 1)
	runtime.KeepAlive(rec)
}
