package record

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// The file was written when format 1 was made and is never written again.
func TestRecordOfFormat1(t *testing.T) {
	data := readBytes(t, filepath.Join("..", "..", "testdata", "records", "v1", "yellow-estate.jsonl"))
	if got, want := Hash(data), "2a4bf2288d1488005065f234a149e7a3209055400c421a766c949d9e05488e2e"; got != want {
		t.Fatalf("the kept file has changed: SHA-256 %s, want %s", got, want)
	}
	path := Path(t.TempDir(), "yellow-estate")
	writeBytes(t, path, data)
	l, rec := mustOpen(t, path, testEnv())
	checkV1Header(t, rec.Header)
	checkV1Lines(t, rec.Lines)
	checkFindings(t, rec.Findings, []string{"line 8: note: the clock was set back by 29m53s"})
	appendAnswers(t, l, 1)
	after := readBytes(t, path)
	if !bytes.HasPrefix(after, data) || len(mustView(t, path).Lines) != 11 {
		t.Error("an append has altered what was there, or is missing")
	}
}

func checkV1Header(t *testing.T, got Header) {
	t.Helper()
	want := Header{Format: 1, Program: "dropwalk 0.1.0", Procedure: "first-look",
		ProcedureSHA256: "ef949d9f0d0d6be6af170ee209f2c0ea43d615602dceffaf8a83b6273f9f506a", Car: "yellow-estate", ID: "2ji4ptjdv5lkpeg7ciz6hasl5m",
		Created: time.Date(2026, 11, 25, 9, 2, 3, 123e6, time.UTC), Zone: "CET"}
	if d := diff(got, want); d != "" {
		t.Errorf("header (-want +got):\n%s", d)
	}
}

func checkV1Lines(t *testing.T, lines []Line) {
	t.Helper()
	var kinds []string
	for _, l := range lines {
		kinds = append(kinds, l.Kind)
	}
	if got, want := strings.Join(kinds, " "), "started answered refused answered noted stopped resumed corrected weighed finished"; got != want {
		t.Fatalf("kinds: got %s, want %s", got, want)
	}
	want := Line{Seq: 6, Time: time.Date(2026, 11, 25, 10, 2, 38, 123e6, time.FixedZone("", 3600)), Mono: 35000, Kind: "noted",
		Body: []byte(`{"kind":"noted","text":"zweite Schelle war locker; \u0000 came from a stuck key"}`), ID: "ijuqf2g42jlym7jowhoi2di5e4", Version: 1}
	if d := diff(lines[4], want); d != "" {
		t.Errorf("line 6 (-want +got):\n%s", d)
	}
	if got, want := lines[6].Time.Format(time.RFC3339Nano), "2026-11-25T08:32:52.123Z"; got != want {
		t.Errorf("time of line 8: got %s, want %s", got, want)
	}
}
